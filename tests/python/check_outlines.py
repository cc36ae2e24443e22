"""Holds outlines of lines and arcs against shapely (GEOS), one JSON line each.

usage: check_outlines.py OUTLINES.jsonl [FROM TO]

Each line gives the shapes, the fillet radius, the discs that bridge pinched
gaps, and the loops that were built. For each outline this checks

* one valid outer ring, openings valid, inside it and apart from each other;
* arcs whose ends lie on their circles, no concave corner, every concave radius
  at least the fillet radius;
* the closed-form area of the loops against the closing of the shapes by a disc
  of the fillet radius, 256 segments a quadrant, within 1e-4 relative, and the
  ends and middles of all pieces on the closing's boundary within 0.005 mm;
* that all bare shapes lie within the outline;
* that each bridge stands where the closing without it is at most a tenth of the
  fillet radius thick, or open with cusps.

The closing is grown shapes united, less a strip along their boundary. (A
negative buffer would be the usual way; GEOS drops parts of it on such input.)
GEOS at times cuts a chord off that strip too, so an outline that disagrees is
compared again with the strip put together from short stretches of the boundary;
how often that was needed is printed. Where a gap is as wide as the cutter to
within what polygons resolve, the area must lie between the closings with a
radius 2e-4 mm smaller and larger.

Exit status 0 only if every outline passes.
"""

import collections
import json
import math
import sys

import shapely
from shapely.geometry import LineString, Point, Polygon

QUAD = 256
AREA = 1e-4
FIT_MM = 2e-4
RADIUS_MM = 1e-9
ON_CIRCLE_MM = 1e-6
BLUNT_MM = 1e-9
ON_CLOSING_MM = 5e-3


def disc(x, y, r):
    return Point(x, y).buffer(r, quad_segs=QUAD)


def sweep_of(piece, end):
    """Signed sweep of an arc piece that stops at `end`."""
    x, y, cx, cy, _, turn = piece
    if (x, y) == tuple(end):
        return turn * math.tau
    sweep = math.atan2(end[1] - cy, end[0] - cx) - math.atan2(y - cy, x - cx)
    sweep %= math.tau
    return sweep if turn > 0 else sweep - math.tau


def ends(loop):
    return [loop[(k + 1) % len(loop)][:2] for k in range(len(loop))]


def drawn(loop):
    """The loop as a polygon."""
    points = []
    for piece, end in zip(loop, ends(loop)):
        points.append(piece[:2])
        if len(piece) == 6:
            x, y, cx, cy, r, _ = piece
            sweep = sweep_of(piece, end)
            n = max(1, math.ceil(abs(sweep) / (math.pi / 2 / QUAD)))
            start = math.atan2(y - cy, x - cx)
            points += [
                (cx + r * math.cos(start + sweep * k / n), cy + r * math.sin(start + sweep * k / n))
                for k in range(1, n)
            ]
    return Polygon(points)


def on_loops(loops):
    """Ends and middles of all pieces."""
    points = []
    for loop in loops:
        for piece, end in zip(loop, ends(loop)):
            x, y = piece[:2]
            points.append((x, y))
            if len(piece) == 2:
                points.append(((x + end[0]) / 2, (y + end[1]) / 2))
            else:
                cx, cy, r = piece[2:5]
                mid = math.atan2(y - cy, x - cx) + sweep_of(piece, end) / 2
                points.append((cx + r * math.cos(mid), cy + r * math.sin(mid)))
    return shapely.points(points)


def area(loop):
    """Closed-form area: shoelace over the ends, a circular segment for each arc."""
    x0, y0 = loop[0][:2]
    total = 0.0
    for piece, end in zip(loop, ends(loop)):
        x, y = piece[:2]
        total += ((x - x0) * (end[1] - y0) - (end[0] - x0) * (y - y0)) / 2
        if len(piece) == 6:
            sweep = sweep_of(piece, end)
            total += piece[4] ** 2 / 2 * (sweep - math.sin(sweep))
    return total


def direction(piece, end, at_end):
    x, y = piece[:2]
    if len(piece) == 2:
        return math.atan2(end[1] - y, end[0] - x)
    px, py = end if at_end else (x, y)
    return math.atan2(py - piece[3], px - piece[2]) + piece[5] * math.pi / 2


def loop_faults(loop, fillet, metal_left):
    """Faults of one loop; `metal_left` tells on which side of travel the metal lies."""
    side = 1 if metal_left else -1
    stops = ends(loop)
    for k, (piece, end) in enumerate(zip(loop, stops)):
        if len(piece) == 6:
            x, y, cx, cy, r, turn = piece
            for px, py in ((x, y), end):
                if abs(math.hypot(px - cx, py - cy) - r) > ON_CIRCLE_MM:
                    yield f"piece {k}: end off its circle"
            if turn * side < 0 and r < fillet - RADIUS_MM:
                yield f"piece {k}: concave radius {r} below {fillet}"
        if len(loop) > 1:
            after = (k + 1) % len(loop)
            turn = direction(loop[after], stops[after], False) - direction(piece, end, True)
            turn = math.remainder(turn, math.tau) * side
            # A fillet of radius r over a turn of t leaves the corner by r t^2 / 8.
            if turn < 0 and fillet * turn * turn / 8 > BLUNT_MM:
                yield f"piece {k}: concave corner of {turn:.2e} rad"


def shape_polygon(shape, growth):
    if "disc" in shape:
        x, y, r = shape["disc"]
        return disc(x, y, r + growth)
    if "taper" in shape:
        ends = [disc(x, y, r + growth) for x, y, r in shape["taper"]]
        return shapely.GeometryCollection(ends).convex_hull
    if "bar" in shape:
        a, b, width = shape["bar"]
        body = LineString([a, b]).buffer(width / 2, cap_style="flat")
    else:
        body = drawn(shape["drawn"])
    return body.buffer(growth, quad_segs=QUAD)


def stretches(boundary, points=40):
    """Short stretches of a boundary, each sharing its ends with the next."""
    for ring in getattr(boundary, "geoms", [boundary]):
        at = list(ring.coords)
        for k in range(0, len(at) - 1, points):
            yield LineString(at[k : k + points + 1])


def closing(shapes, radius, careful=False):
    grown = shapely.unary_union([shape_polygon(s, radius) for s in shapes])
    if careful:
        parts = [s.buffer(radius, quad_segs=QUAD) for s in stretches(grown.boundary)]
        return grown.difference(shapely.unary_union(parts))
    return grown.difference(grown.boundary.buffer(radius, quad_segs=QUAD))


def bridge_faults(o):
    """Bridges where there was metal enough."""
    r = o["fillet"]
    for k, (x, y, _) in enumerate(o["bridges"]):
        before = closing(o["shapes"] + [{"disc": b} for b in o["bridges"][:k]], r)
        centre = Point(x, y)
        if before.contains(centre) and before.boundary.distance(centre) > 0.05 * r + 1e-3:
            yield f"bridge {k} was not needed"


def faults(o):
    """Faults of one outline, and which comparison settled its area."""
    found = list(loop_faults(o["outer"], o["fillet"], True))
    for k, opening in enumerate(o["inner"]):
        found += [f"opening {k}: {f}" for f in loop_faults(opening, o["fillet"], False)]
    outer, inner = drawn(o["outer"]), [drawn(i) for i in o["inner"]]
    if not all(p.is_valid for p in [outer, *inner]):
        found.append("a loop is not simple")
        return found, "whole"
    metal = Polygon(outer.exterior, [i.exterior for i in inner])
    if not metal.is_valid:
        found.append("an opening touches another loop")
        return found, "whole"
    found += bridge_faults(o)
    exact = area(o["outer"]) - sum(area(i) for i in o["inner"])
    shapes = o["shapes"] + [{"disc": b} for b in o["bridges"]]
    shapely.prepare(metal)
    if not all(metal.contains(shape_polygon(s, -ON_CLOSING_MM)) for s in shapes):
        found.append("part of a shape is missing")
    points = on_loops([o["outer"], *o["inner"]])

    def agrees(want):
        far = shapely.distance(want.boundary, points).max()
        return abs(exact / want.area - 1) < AREA and far < ON_CLOSING_MM

    if agrees(closing(shapes, o["fillet"])):
        return found, "whole"
    want = closing(shapes, o["fillet"], careful=True)
    if agrees(want):
        return found, "stretches"
    low = closing(shapes, o["fillet"] - FIT_MM, careful=True).area
    high = closing(shapes, o["fillet"] + FIT_MM, careful=True).area
    if low * (1 - AREA) < exact < high * (1 + AREA):
        return found, "fit"
    found.append(f"area {exact:.4f}, closing {want.area:.4f} ({low:.4f} to {high:.4f})")
    return found, "whole"


def main():
    start, stop = (int(a) for a in (sys.argv[2:4] or (0, sys.maxsize)))
    checked = bad = bridged = openings = 0
    settled = collections.Counter()
    with open(sys.argv[1], encoding="utf-8") as lines:
        for line in lines:
            outline = json.loads(line)
            if not start <= outline["n"] < stop:
                continue
            found, by = faults(outline)
            checked += 1
            settled[by] += 1
            bridged += bool(outline["bridges"])
            openings += len(outline["inner"])
            if found:
                bad += 1
                print(f"outline {outline['n']}: {'; '.join(found)}")
    print(
        f"{checked} outlines, {bad} wrong, {bridged} with bridges, "
        f"{openings} openings; {settled['stretches']} settled by stretches, "
        f"{settled['fit']} with a gap just as wide as the cutter"
    )
    sys.exit(1 if bad or not checked else 0)


if __name__ == "__main__":
    main()
