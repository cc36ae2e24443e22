"""Reads nested DXF files with ezdxf and holds their parts against gap, margin and length of cut with shapely.

Usage: check_nest.py CASES.json, a list of objects as tests/nests.rs writes them.
Prints "N sheets without fault" and leaves with 0, or every fault and 1.
"""

import json
import math
import sys

import ezdxf
import shapely
from shapely.geometry import LineString, Polygon

if ezdxf.__version__ != "1.4.5":
    sys.exit(f"ezdxf 1.4.5 is pinned, this is {ezdxf.__version__}")
if shapely.__version__ != "2.2.0":
    sys.exit(f"shapely 2.2.0 is pinned, this is {shapely.__version__}")

SAG = 0.0005  # greatest distance of a chord from its arc, mm
CUT_BY_OUTLINE = {"OUTLINE_CUT", "INSIDE_CUT"}
ROUND_THROUGH = {"DRILL", "REAM", "TAP_DRILL"}


def points(entity):
    """Points of a closed entity, arcs in chords whose ends lie on them (a path of splines would not)."""
    if entity.dxftype() == "CIRCLE":
        return [(v.x, v.y) for v in entity.flattening(SAG)]
    ring = [tuple(entity.get_points("xy")[0])]
    for piece in entity.virtual_entities():
        if piece.dxftype() == "ARC":
            run = [(v.x, v.y) for v in piece.flattening(SAG)]
        else:
            run = [(v.x, v.y) for v in (piece.dxf.start, piece.dxf.end)]
        if math.dist(ring[-1], run[0]) > math.dist(ring[-1], run[-1]):
            run.reverse()
        if math.dist(ring[-1], run[0]) > 1e-6:
            raise ValueError(f"a gap of {math.dist(ring[-1], run[0])} in a polyline")
        ring += run[1:]
    return ring


def faults(case):
    doc = ezdxf.readfile(case["file"])
    if doc.audit().errors:
        yield f"ezdxf's auditor finds {doc.audit().errors}"
    parts, length, loops, border, inner = [], 0.0, 0, None, []
    for e in doc.modelspace():
        layer = e.dxf.layer
        if layer == "SHEET":
            border = Polygon(points(e)).bounds
            continue
        if e.dxftype() in ("TEXT", "LINE"):
            if layer not in ("NOTE", "MARK"):
                yield f"{e.dxftype()} on layer {layer}"
            continue
        if layer == "NOTE":
            yield f"{e.dxftype()} on layer NOTE"
        ring = points(e)
        if layer == "OUTLINE_CUT":
            parts.append(Polygon(ring))
        elif not layer.startswith("MARK"):
            inner.append(Polygon(ring))
        if layer in CUT_BY_OUTLINE or (layer in ROUND_THROUGH and not case.get("drilled", True)):
            length += LineString(ring + [ring[0]]).length
            loops += 1
    w, h = case["size"]
    if border is None or max(abs(a - b) for a, b in zip(border, (0, 0, w, h))) > 1e-6:
        yield f"the border is {border}, the sheet {w} x {h}"
    if len(parts) != len(case["areas"]):
        yield f"{len(parts)} parts, {len(case['areas'])} laid"
    for got, wanted in zip(sorted(p.area for p in parts), sorted(case["areas"])):
        if abs(got / wanted - 1) > 1e-4:
            yield f"a part of {got} mm2, {wanted} wanted"
    for i, a in enumerate(parts):
        if not a.is_valid:
            yield f"part {i} is no simple polygon"
        x0, y0, x1, y1 = a.bounds
        edge = min(x0, y0, w - x1, h - y1)
        if edge < case["margin"] - 2 * SAG:
            yield f"part {i} is {edge} from the edge, {case['margin']} wanted"
        for j in range(i + 1, len(parts)):
            gap = a.distance(parts[j])
            # Chords stand off their arcs by the sag at most, either way.
            if gap < case["gap"] - 2 * SAG:
                yield f"parts {i} and {j} are {gap} apart, {case['gap']} wanted"
    for k, o in enumerate(inner):
        if not any(p.buffer(2 * SAG).contains(o) for p in parts):
            yield f"opening {k} lies in no part"
    if "cut" in case:
        # Chords are shorter than their arcs by less than 1e-4 of them at this sag.
        if not (-1e-4 * length - 0.1 <= case["cut"] - length <= 3e-4 * length + 0.1):
            yield f"{length} mm of cut, the list says {case['cut']}"
        if loops != case["pierces"]:
            yield f"{loops} closed cuts, the list says {case['pierces']}"
        covered = 100 * sum(p.area for p in parts) / (w * h)
        if abs(covered - case["covered"]) > 0.06:
            yield f"{covered} % covered, the list says {case['covered']}"


cases = json.load(open(sys.argv[1]))
found = [f"{c['file']}: {f}" for c in cases for f in faults(c)]
print("\n".join(found) if found else f"{len(cases)} sheets without fault")
sys.exit(1 if found else 0)
