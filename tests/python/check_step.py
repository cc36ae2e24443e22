"""Reads STEP files with an independent kernel and holds them against a manifest.

Usage: check_step.py MANIFEST.json

The manifest is a list of files. Each has `file`, `parts` (name, colour,
volume_mm3, planes, cylinders: radii, cones: half angles in rad, box: six
numbers) and, for an assembly, `placements` (part, name, origin, x, normal).
A file with `crossing_only` is checked for validity and for faces that cross
each other, and nothing else.
Prints one line a fault and exits 1 where there is any; the last line counts
files and parts. Needs cadquery-ocp 8.0.1.1.0.
"""

import json
import math
import sys
from collections import Counter

from OCP.collections import Sequence_TDF_Label
from OCP.BOPAlgo import BOPAlgo_ArgumentAnalyzer
from OCP.Bnd import Bnd_Box
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder, GeomAbs_Plane
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.ShapeAnalysis import ShapeAnalysis_ShapeTolerance
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_FACE, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from OCP.XCAFDoc import (
    XCAFDoc_ColorTool,
    XCAFDoc_ColorType,
    XCAFDoc_DocumentTool,
    XCAFDoc_ShapeTool,
)

TOLERANCE_MM = 1e-7
VOLUME_SHARE = 1e-9
PLACE_MM = 1e-9
BOX_MM = 1e-6
COLOUR = 1e-4


def label_name(label):
    """The name stored at a label, or an empty string."""
    name = TDataStd_Name()
    if not label.FindAttribute(TDataStd_Name.GetID_s(), name):
        return ""
    text = name.Get()
    return "".join(text.Value(i) for i in range(1, text.Length() + 1))


def messages(iterator):
    """Every warning and failure of a check list."""
    found = []
    iterator.Start()
    while iterator.More():
        check = iterator.Value()
        for i in range(1, check.NbFails() + 1):
            found.append("fail: " + check.CFail(i, True))
        for i in range(1, check.NbWarnings() + 1):
            found.append("warning: " + check.CWarning(i, True))
        iterator.Next()
    return found


def explore(shape, kind):
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def faces(shape):
    """Number of planes, radii of cylinders, half angles of cones, number of other faces."""
    planes, cylinders, cones, others = 0, [], [], 0
    for face in explore(shape, TopAbs_FACE):
        surface = BRepAdaptor_Surface(TopoDS.Face(face))
        kind = surface.GetType()
        if kind == GeomAbs_Plane:
            planes += 1
        elif kind == GeomAbs_Cylinder:
            cylinders.append(surface.Cylinder().Radius())
        elif kind == GeomAbs_Cone:
            cones.append(abs(surface.Cone().SemiAngle()))
        else:
            others += 1
    return planes, sorted(cylinders), sorted(cones), others


def box(shape):
    bounds = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, bounds, False, False)
    if bounds.IsVoid():
        return [math.inf] * 6
    bounds.SetGap(0.0)
    low, high = bounds.CornerMin(), bounds.CornerMax()
    return [low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z()]


def colour(label):
    """The surface colour of a part, sRGB 0 to 1, or None."""
    found = Quantity_Color()
    for kind in (XCAFDoc_ColorType.XCAFDoc_ColorSurf, XCAFDoc_ColorType.XCAFDoc_ColorGen):
        if XCAFDoc_ColorTool.GetColor_s(label, kind, found):
            # The kernel keeps linear RGB; the file speaks sRGB.
            return [float(v) for v in found.Values(Quantity_TypeOfColor.Quantity_TOC_sRGB)]
    return None


def check_part(label, want, fault):
    shape = XCAFDoc_ShapeTool.GetShape_s(label)
    if shape.ShapeType() != TopAbs_SOLID:
        fault(f"type is {shape.ShapeType()}, not SOLID")
    solids = sum(1 for _ in explore(shape, TopAbs_SOLID))
    if solids != 1:
        fault(f"{solids} solids")
    if not BRepCheck_Analyzer(shape).IsValid():
        fault("not valid")
    tolerance = ShapeAnalysis_ShapeTolerance().Tolerance(shape, 1)
    if not tolerance <= TOLERANCE_MM * (1 + 1e-12):
        fault(f"tolerance {tolerance}")
    mass = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, mass)
    if not abs(mass.Mass() - want["volume_mm3"]) <= VOLUME_SHARE * want["volume_mm3"]:
        fault(f"volume {mass.Mass()}, not {want['volume_mm3']}")
    planes, cylinders, cones, others = faces(shape)
    if others:
        fault(f"{others} faces that are no plane, cylinder or cone")
    if planes != want["planes"]:
        fault(f"{planes} planes, not {want['planes']}")
    if cylinders != sorted(want["cylinders"]):
        extra = Counter(cylinders)
        extra.subtract(Counter(want["cylinders"]))
        fault(f"radii differ: {dict((r, n) for r, n in extra.items() if n)}")
    angles = sorted(want["cones"])
    if len(cones) != len(angles) or any(abs(a - b) > 1e-12 for a, b in zip(cones, angles)):
        fault(f"cones of {cones}, not {angles}")
    if any(abs(a - b) > BOX_MM for a, b in zip(box(shape), want["box"])):
        fault(f"box {box(shape)}, not {want['box']}")
    found = colour(label)
    if found is None or any(abs(a - b) > COLOUR for a, b in zip(found, want["colour"])):
        fault(f"colour {found}, not {want['colour']}")


def check_crossing(label, fault):
    """Whether the one solid is valid and none of its faces cross."""
    shape = XCAFDoc_ShapeTool.GetShape_s(label)
    if shape.ShapeType() != TopAbs_SOLID or not BRepCheck_Analyzer(shape).IsValid():
        fault("not a valid solid")
    analyzer = BOPAlgo_ArgumentAnalyzer()
    analyzer.SetShape1(shape)
    analyzer.ArgumentTypeMode = False
    analyzer.SelfInterMode = True
    analyzer.Perform()
    if analyzer.HasFaulty():
        fault("faces cross")


def placement(label):
    """Origin, x and z direction of a component."""
    matrix = XCAFDoc_ShapeTool.GetLocation_s(label).Transformation()
    column = lambda c: [matrix.Value(row, c) for row in (1, 2, 3)]
    return column(4), column(1), column(3)


def check_file(entry, fault):
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(True)
    if reader.ReadFile(entry["file"]) != IFSelect_RetDone:
        fault("cannot be read")
        return 0
    session = reader.Reader().WS()
    loading = messages(session.ModelCheckList())
    for message in loading:
        fault("load " + message)
    if loading:
        # The kernel may crash on what it could not load.
        return 0
    document = TDocStd_Document(TCollection_ExtendedString("step"))
    if not reader.Transfer(document):
        fault("cannot be transferred")
        return 0
    for message in messages(session.TransferReader().LastCheckList()):
        fault("transfer " + message)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    roots = Sequence_TDF_Label()
    shapes.GetFreeShapes(roots)
    if roots.Length() != 1:
        fault(f"{roots.Length()} roots")
        return 0
    root = roots.Value(1)
    if entry.get("crossing_only"):
        check_crossing(root, fault)
        return 1
    if "placements" not in entry:
        (want,) = entry["parts"]
        if label_name(root) != want["name"]:
            fault(f"name {label_name(root)!r}, not {want['name']!r}")
        check_part(root, want, fault)
        return 1
    return check_assembly(entry, root, fault)


def check_assembly(entry, root, fault):
    if label_name(root) != entry["name"]:
        fault(f"name {label_name(root)!r}, not {entry['name']!r}")
    components = Sequence_TDF_Label()
    XCAFDoc_ShapeTool.GetComponents_s(root, components)
    wanted = {part["name"]: part for part in entry["parts"]}
    parts, uses = {}, []
    for i in range(1, components.Length() + 1):
        component, part = components.Value(i), TDF_Label()
        if not XCAFDoc_ShapeTool.GetReferredShape_s(component, part):
            fault(f"component {i} refers to no part")
            continue
        name = label_name(part)
        if name in parts and not parts[name].IsEqual(part):
            fault(f"{name!r} is stored twice")
        parts[name] = part
        uses.append((name, label_name(component), *placement(component)))
    if sorted(parts) != sorted(wanted):
        fault(f"parts {sorted(parts)}, not {sorted(wanted)}")
    for name, label in parts.items():
        if name in wanted:
            check_part(label, wanted[name], lambda text: fault(f"{name}: {text}"))
    expected = [
        (p["part"], p["name"], p["origin"], p["x"], p["normal"]) for p in entry["placements"]
    ]
    if [u[:2] for u in uses] != [e[:2] for e in expected]:
        fault(f"uses {[u[:2] for u in uses]}, not {[e[:2] for e in expected]}")
    for use, want in zip(uses, expected):
        for got, is_wanted in zip(use[2:], want[2:]):
            if math.dist(got, is_wanted) > PLACE_MM:
                fault(f"{use[1]} lies at {use[2:]}, not {want[2:]}")
                break
    return len(parts)


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        manifest = json.load(file)
    faults, parts = [], 0
    for entry in manifest:
        parts += check_file(entry, lambda text: faults.append(f"{entry['file']}: {text}"))
    for line in faults:
        print(line)
    print(f"{len(manifest)} files, {parts} parts, {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
