"""Times an independent kernel on the bench's twelve-hole plate: booleans and STEP writer.

Usage: bench_step.py [REPETITIONS]

Draws the plate of tests/data/twelve_holes.json with the kernel's own
construction: the outline extruded, each hole one turned tool, all tools cut
away at once (sequential cuts are slower). Prints the volume, the median
and the fastest times. Needs cadquery-ocp 8.0.1.1.0.
"""

import json
import math
import os
import statistics
import sys
import tempfile
import time

from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.GC import GC_MakeArcOfCircle
from OCP.GProp import GProp_GProps
from OCP.Message import Message
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.collections import List_TopoDS_Shape
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Vec

DATA = os.path.join(os.path.dirname(__file__), "..", "data", "twelve_holes.json")
DRILL_POINT_DEG = 118.0
CLEAR = 1.0  # how far tools stand out of the faces they cut, mm


def rounded(corners, z):
    """A face within a polygon with rounded corners."""
    n = len(corners)
    arcs = []
    for i, (x, y, r) in enumerate(corners):
        (ax, ay, _), (bx, by, _) = corners[i - 1], corners[(i + 1) % n]
        into, out = (x - ax, y - ay), (bx - x, by - y)
        into = [c / math.hypot(*into) for c in into]
        out = [c / math.hypot(*out) for c in out]
        turn = math.atan2(into[0] * out[1] - into[1] * out[0], into[0] * out[0] + into[1] * out[1])
        back = r * math.tan(abs(turn) / 2)
        side = math.copysign(r, turn)
        start = (x - into[0] * back, y - into[1] * back)
        end = (x + out[0] * back, y + out[1] * back)
        centre = (start[0] - into[1] * side, start[1] + into[0] * side)
        toward = (x - centre[0], y - centre[1])
        scale = r / math.hypot(*toward)
        middle = (centre[0] + toward[0] * scale, centre[1] + toward[1] * scale)
        arcs.append((start, middle, end))
    wire = BRepBuilderAPI_MakeWire()
    for i, (start, middle, end) in enumerate(arcs):
        points = [gp_Pnt(*p, z) for p in (start, middle, end)]
        wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(*points).Value()).Edge())
        following = gp_Pnt(*arcs[(i + 1) % n][0], z)
        wire.Add(BRepBuilderAPI_MakeEdge(points[2], following).Edge())
    return BRepBuilderAPI_MakeFace(wire.Wire()).Face()


def prism(corners, z, height):
    return BRepPrimAPI_MakePrism(rounded(corners, z), gp_Vec(0, 0, height)).Shape()


def profile(hole, t):
    """(radius, height) along a hole's wall, from its start to its end, heights from the start inwards."""
    r = hole["diameter_mm"] / 2
    if "drilled" in hole:
        deep = hole["drilled"]["depth_mm"]
        tip = deep + r / math.tan(math.radians(DRILL_POINT_DEG / 2))
        return hole["drilled"]["face"], [(0, -CLEAR), (r, -CLEAR), (r, deep), (0, tip)]
    if "counterbore" in hole:
        m = hole["counterbore"]
        big, deep = m["diameter_mm"] / 2, m["depth_mm"]
        steps = [(big, -CLEAR), (big, deep), (r, deep)]
    elif "countersink" in hole:
        m = hole["countersink"]
        big = m["diameter_mm"] / 2
        steps = [(big, -CLEAR), (big, 0), (r, big - r)]
    else:
        m, steps = {"face": "front"}, [(r, -CLEAR)]
    return m["face"], [(0, -CLEAR), *steps, (r, t + CLEAR), (0, t + CLEAR)]


def tool(hole, t):
    face, points = profile(hole, t)
    polygon = BRepBuilderAPI_MakePolygon()
    for radius, depth in points:
        z = t - depth if face == "front" else depth
        polygon.Add(gp_Pnt(hole["x"] + radius, hole["y"], z))
    polygon.Close()
    axis = gp_Ax1(gp_Pnt(hole["x"], hole["y"], 0), gp_Dir(0, 0, 1))
    half = BRepBuilderAPI_MakeFace(polygon.Wire()).Face()
    return BRepPrimAPI_MakeRevol(half, axis).Shape()


def build(data):
    t = data["thickness_mm"]
    blanks, tools = List_TopoDS_Shape(), List_TopoDS_Shape()
    blanks.Append(prism(data["outline"], 0, t))
    for hole in data["holes"]:
        tools.Append(tool(hole, t))
    for window in data["windows"]:
        tools.Append(prism(window, -CLEAR, t + 2 * CLEAR))
    cut = BRepAlgoAPI_Cut()
    cut.SetArguments(blanks)
    cut.SetTools(tools)
    cut.Build()
    return cut.Shape()


def write(shape, path):
    writer = STEPControl_Writer()
    writer.Transfer(shape, STEPControl_AsIs)
    writer.Write(path)


def main():
    repetitions = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    with open(DATA, encoding="utf-8") as file:
        data = json.load(file)
    # The kernel's own reports would be timed with it.
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    builds, writes = [], []
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "plate.step")
        for _ in range(repetitions):
            start = time.perf_counter()
            shape = build(data)
            middle = time.perf_counter()
            write(shape, path)
            end = time.perf_counter()
            builds.append(middle - start)
            writes.append(end - middle)
    mass = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, mass)
    totals = [b + w for b, w in zip(builds, writes)]
    print(f"volume {mass.Mass()!r} mm3")
    for word, pick in (("median", statistics.median), ("fastest", min)):
        booleans, writer, both = (1e3 * pick(times) for times in (builds, writes, totals))
        print(f"{word} of {repetitions}: booleans {booleans:.2f} ms, "
              f"writer {writer:.2f} ms, both {both:.2f} ms")


if __name__ == "__main__":
    main()
