"""Gaps of random scenes by independent libraries.

Reads a JSON list of scenes from the file named first, writes one list of gaps
(null where two bodies overlap) to standard output.

* Prisms of one direction: shapely on cores. A disc is a point and a radius, a
  slot a line and a radius, a rounded polygon a polygon and a radius, so that
  the distance of two shapes is that of their cores less both radii, without
  any faceting. A ring and a window add the greatest distance of the other core
  from their centre. Only the centre line of an arc slot is faceted, to 1e-7 mm.
* Hoses: dense points along each centre line, then a bounded minimisation about
  every local minimum, on the same cores.
* Prisms of different directions: the geometry kernel's extrema of solids.
"""

import json
import math
import sys

import numpy as np
import shapely
from scipy.optimize import minimize_scalar
from shapely.geometry import LineString, Point, Polygon

# Largest distance between an arc and its facets, mm.
FACET_MM = 1e-7


class Shape:
    """A plane shape: a core grown by a radius, less a round opening if it has one."""

    def __init__(self, spec, move):
        kind = spec["kind"]
        self.kind = kind
        self.opening = None
        self.rough = None
        self.r = spec.get("r", 0.0)
        points = [move(p) for p in spec["points"]]
        if kind == "disc":
            self.core = Point(points[0])
        elif kind == "slot":
            self.core = LineString(points)
        elif kind in ("polygon", "rounded"):
            self.core = Polygon(points)
        elif kind == "ring":
            self.core = Point(points[0])
            self.opening = (points[0], spec["hole"])
        elif kind == "window":
            # Corners first, the window's centre last.
            self.core = Polygon(points[:-1])
            self.opening = (points[-1], spec["hole"])
        elif kind == "arcslot":
            # Pivot, then the directions of both ends as points on the centre line.
            pivot, track = spec["points"][0], spec["track"]
            start, end = spec["start"], spec["end"]
            n = max(2, math.ceil((end - start) / (2 * math.sqrt(2 * FACET_MM / track))))
            # Facets half inside and half outside halve the error once more.
            mean = track * (1 + 0.25 * ((end - start) / n) ** 2 / 4)
            angles = np.linspace(start, end, n + 1)
            line = [move((pivot[0] + mean * math.cos(a), pivot[1] + mean * math.sin(a))) for a in angles]
            self.core = LineString(line)
            # A hundredth of the facets to look round with, before the fine ones decide.
            self.rough = LineString(line[:: max(1, n // 300)] + [line[-1]])
        else:
            raise ValueError(f"unknown shape {kind}")

    def gap(self, other):
        """Plane distance to another shape; 0 or less where they overlap."""
        plain = self.core.distance(other.core) - self.r - other.r
        best = plain
        for a, b in ((self, other), (other, self)):
            if a.opening is not None and plain <= 0:
                centre, radius = a.opening
                reach = Point(centre).hausdorff_distance(b.core) + b.r
                best = max(best, radius - reach)
        return best

    def of_points(self, xy, rough=False):
        """Plane distances of many points; 0 inside."""
        p = shapely.points(xy)
        core = self.rough if rough and self.rough is not None else self.core
        d = np.maximum(shapely.distance(p, core) - self.r, 0.0)
        if self.opening is not None:
            centre, radius = self.opening
            inside = radius - np.hypot(xy[:, 0] - centre[0], xy[:, 1] - centre[1])
            d = np.where(inside > 0, inside, d)
        return d


class Frame:
    def __init__(self, spec):
        self.o = np.array(spec["origin"])
        self.n = np.array(spec["normal"]) / np.linalg.norm(spec["normal"])
        x = np.array(spec["x"])
        x = x - self.n * np.dot(x, self.n)
        self.x = x / np.linalg.norm(x)
        self.y = np.cross(self.n, self.x)

    def engine(self, p, h=0.0):
        return self.o + self.x * p[0] + self.y * p[1] + self.n * h

    def local(self, q):
        d = np.asarray(q) - self.o
        return d @ self.x, d @ self.y, d @ self.n


class Prism:
    """A prism in the reference frame all prisms of a scene share."""

    def __init__(self, spec, reference):
        own = Frame(spec["frame"])
        self.frame = reference

        def move(p):
            u, v, _ = reference.local(own.engine(p))
            return (u, v)

        self.shape = Shape(spec["shape"], move)
        heights = [reference.local(own.engine((0, 0), h))[2] for h in spec["heights"]]
        self.low, self.high = min(heights), max(heights)


def seg_seg(p0, p1, q0, q1):
    """Least distance of two segments, by minimising over one parameter in closed form of the other."""

    def at(s):
        p = p0 + s * (p1 - p0)
        v = q1 - q0
        t = np.clip(np.dot(p - q0, v) / np.dot(v, v), 0, 1)
        return np.linalg.norm(p - (q0 + t * v))

    s = np.linspace(0, 1, 201)
    return refine(at, s, np.array([at(k) for k in s]))


def refine(f, t, values):
    """Least value of a function about every local minimum of the looked-at ones that may still win."""
    near = values.min() + 0.5
    best = math.inf
    for i in range(len(t)):
        if values[i] <= near and (i == 0 or values[i] <= values[i - 1]) and (i == len(t) - 1 or values[i] < values[i + 1]):
            low, high = t[max(i - 1, 0)], t[min(i + 1, len(t) - 1)]
            r = minimize_scalar(f, bounds=(low, high), method="bounded", options={"xatol": 1e-13})
            best = min(best, r.fun, f(low), f(high))
    return best


def hose_prism(hose, prism):
    best = math.inf
    for a, b in zip(hose["centres"], hose["centres"][1:]):
        a, b = np.array(a), np.array(b)

        def at_many(t, rough=False):
            q = a + np.outer(t, b - a)
            u, v, h = prism.frame.local(q)
            plan = prism.shape.of_points(np.column_stack([u, v]), rough)
            axial = np.maximum(0, np.maximum(prism.low - h, h - prism.high))
            return np.hypot(plan, axial)

        t = np.linspace(0, 1, 801)
        best = min(best, refine(lambda k: float(at_many(np.array([k]))[0]), t, at_many(t, True)))
    return best - hose["radius"]


def hose_hose(a, b):
    best = math.inf
    for p in zip(a["centres"], a["centres"][1:]):
        for q in zip(b["centres"], b["centres"][1:]):
            best = min(best, seg_seg(*map(np.array, p), *map(np.array, q)))
    return best - a["radius"] - b["radius"]


def same_direction(a, b):
    plan = a.shape.gap(b.shape)
    axial = max(b.low - a.high, a.low - b.high)
    if plan <= 0 and axial <= 0:
        return None
    return math.hypot(max(plan, 0), max(axial, 0))


# ---- prisms of different directions, by the kernel


def kernel_solid(spec):
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec

    f = Frame(spec["frame"])
    low, high = spec["heights"]

    def pnt(p):
        return gp_Pnt(*map(float, f.engine(p, low)))

    def circle(c, r):
        ax = gp_Ax2(pnt(c), gp_Dir(*map(float, f.n)), gp_Dir(*map(float, f.x)))
        return BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(gp_Circ(ax, r)).Edge()).Wire()

    def drawn(wire):
        face = BRepBuilderAPI_MakeFace(wire, True).Face()
        return BRepPrimAPI_MakePrism(face, gp_Vec(*map(float, f.n * (high - low)))).Shape()

    shape = spec["shape"]
    kind, pts, r = shape["kind"], [np.array(p) for p in shape["points"]], shape.get("r", 0.0)
    if kind in ("disc", "ring"):
        solid = drawn(circle(pts[0], r))
        if kind == "ring":
            solid = BRepAlgoAPI_Cut(solid, drawn(circle(pts[0], shape["hole"]))).Shape()
        return solid
    make = BRepBuilderAPI_MakeWire()
    n = len(pts)
    if kind == "polygon":
        for i in range(n):
            make.Add(BRepBuilderAPI_MakeEdge(pnt(pts[i]), pnt(pts[(i + 1) % n])).Edge())
        return drawn(make.Wire())
    if kind == "slot":
        pts = [pts[0], pts[1]]
        n = 2
    normals = []
    for i in range(n):
        d = pts[(i + 1) % n] - pts[i]
        d = d / np.linalg.norm(d)
        normals.append(np.array([d[1], -d[0]]))
    for i in range(n):
        a, b = pts[i] + r * normals[i], pts[(i + 1) % n] + r * normals[i]
        make.Add(BRepBuilderAPI_MakeEdge(pnt(a), pnt(b)).Edge())
        c = pts[(i + 1) % n]
        m = normals[i] + normals[(i + 1) % n]
        if np.linalg.norm(m) < 1e-9:
            m = np.array([-normals[i][1], normals[i][0]])
        m = c + r * m / np.linalg.norm(m)
        e = c + r * normals[(i + 1) % n]
        make.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(pnt(b), pnt(m), pnt(e)).Value()).Edge())
    return drawn(make.Wire())


def kernel_gap(a, b):
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    d = BRepExtrema_DistShapeShape(kernel_solid(a), kernel_solid(b))
    d.Perform()
    if not d.IsDone():
        raise RuntimeError("the kernel found no distance")
    # Where surfaces cross, the kernel gives a rounding-sized distance.
    return None if d.InnerSolution() or d.Value() <= 1e-9 else d.Value()


def scene_gaps(scene):
    bodies = scene["bodies"]
    if scene["mixed"]:
        return [
            kernel_gap(bodies[i], bodies[j])
            for i in range(len(bodies))
            for j in range(i + 1, len(bodies))
        ]
    reference = Frame({"origin": [0, 0, 0], "normal": scene["normal"], "x": scene["x"]})
    ready = [b if b["type"] == "hose" else Prism(b, reference) for b in bodies]
    gaps = []
    for i, a in enumerate(ready):
        for b in ready[i + 1 :]:
            hoses = isinstance(a, dict), isinstance(b, dict)
            if hoses == (True, True):
                gap = hose_hose(a, b)
            elif hoses == (True, False):
                gap = hose_prism(a, b)
            elif hoses == (False, True):
                gap = hose_prism(b, a)
            else:
                gap = same_direction(a, b)
            gaps.append(None if gap is not None and gap <= 0 else gap)
    return gaps


def main():
    with open(sys.argv[1], encoding="utf-8") as f:
        scenes = json.load(f)
    json.dump([scene_gaps(s) for s in scenes], sys.stdout)


main()
