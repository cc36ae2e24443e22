"""Reads DXF files with ezdxf, runs its auditor and holds them against what the plates are.

Usage: check_dxf.py CASES.json, a list of objects as tests/dxf_reader.rs writes them.
Prints "N files without fault" and leaves with 0, or every fault and 1.
"""

import json
import logging
import math
import sys

import ezdxf

if ezdxf.__version__ != "1.4.5":
    sys.exit(f"ezdxf 1.4.5 is pinned, this is {ezdxf.__version__}")

logging.disable()

TOLERANCE = 1e-6
CLOCK = {"$TDCREATE", "$TDUPDATE", "$TDUCREATE", "$TDUUPDATE", "$FINGERPRINTGUID", "$VERSIONGUID"}


def raw_faults(path):
    """Faults of the file's own text: handles, owners and the seed, which a reader might mend silently."""
    lines = open(path, encoding="cp1252", newline="").read().split("\n")
    if lines.pop() != "" or len(lines) % 2:
        yield "the file does not end after a whole group"
    groups = [(int(lines[i]), lines[i + 1]) for i in range(0, len(lines) - 1, 2)]
    handles, owners, seed, name, kind, variable = [], [], None, None, None, None
    in_header = False
    for code, value in groups:
        if code == 0:
            kind = value
        if code == 2 and kind == "SECTION":
            name = value
            in_header = value == "HEADER"
        if in_header:
            if code == 9:
                variable = value
                if variable in CLOCK:
                    yield f"header variable {variable} tells the time"
            elif variable == "$HANDSEED" and code == 5:
                seed = int(value, 16)
            continue
        if name == "CLASSES":
            continue
        if code == 5 or (code == 105 and kind == "DIMSTYLE"):
            handles.append(int(value, 16))
        if code in (330, 340, 350, 390):
            owners.append(int(value, 16))
        if value in ("-0", "-0.0", "nan", "inf", "-inf"):
            yield f"group {code} holds {value}"
    if len(handles) != len(set(handles)):
        yield "a handle is used twice"
    if seed is None or seed <= max(handles):
        yield f"the handle seed {seed} is not above every handle"
    for owner in set(owners) - set(handles) - {0}:
        yield f"handle {owner:X} is referred to but not there"


def arc_of(a, b, bulge):
    """Centre, radius, start angle and sweep of a bulge piece."""
    sweep = 4 * math.atan(bulge)
    dx, dy = b[0] - a[0], b[1] - a[1]
    chord = math.hypot(dx, dy)
    radius = chord / (2 * abs(math.sin(sweep / 2)))
    # Signed distance of the centre from the chord, to its left.
    off = chord / (2 * math.tan(sweep / 2))
    cx = (a[0] + b[0]) / 2 - off * dy / chord
    cy = (a[1] + b[1]) / 2 + off * dx / chord
    return cx, cy, radius, math.atan2(a[1] - cy, a[0] - cx), sweep


def measure(points):
    """Area, length and extents of a closed polyline of (x, y, bulge); None where a piece has no length."""
    area = length = 0.0
    xs, ys = [], []
    for k, a in enumerate(points):
        b = points[(k + 1) % len(points)]
        chord = math.hypot(b[0] - a[0], b[1] - a[1])
        if chord < TOLERANCE:
            return None
        area += (a[0] * b[1] - a[1] * b[0]) / 2
        xs.append(a[0])
        ys.append(a[1])
        if a[2] == 0:
            length += chord
            continue
        cx, cy, r, start, sweep = arc_of(a, b, a[2])
        area += r * r * (sweep - math.sin(sweep)) / 2
        length += r * abs(sweep)
        for quarter in range(4):
            angle = quarter * math.pi / 2
            turn = (angle - start) % math.tau if sweep > 0 else (start - angle) % math.tau
            if turn <= abs(sweep):
                xs.append(cx + r * math.cos(angle))
                ys.append(cy + r * math.sin(angle))
    return abs(area), length, (min(xs), min(ys), max(xs), max(ys))


def near(a, b):
    return all(abs(x - y) <= TOLERANCE for x, y in zip(a, b, strict=True))


def take(found, wanted, same, what):
    """Matches two lists one to one; yields what is left on either side."""
    left = list(found)
    for w in wanted:
        hit = next((f for f in left if same(f, w)), None)
        if hit is None:
            yield f"{what} {w} is missing; left over: {[f for f in left if f[0] == w['layer']][:3]}"
        else:
            left.remove(hit)
    for f in left:
        yield f"{what} {f} should not be there"


def faults(case):
    yield from raw_faults(case["file"])
    try:
        doc = ezdxf.readfile(case["file"])
    except ezdxf.DXFError as e:
        yield f"reader: {e}"
        return
    audit = doc.audit()
    for e in audit.errors + audit.fixes:
        yield f"auditor: {e.code} {e.message}"
    if doc.dxfversion != case["version"]:
        yield f"version {doc.dxfversion}"
    header = doc.header
    if header.get("$INSUNITS") != 4 or header.get("$MEASUREMENT") != 1:
        yield "the header does not say mm"
    box = (*header["$EXTMIN"][:2], *header["$EXTMAX"][:2])
    if not near(box, case["extents"]):
        yield f"header extents {box}, plate {case['extents']}"

    loops, circles, lines, strokes, layers = [], [], [], 0, set()
    for e in doc.modelspace():
        kind, layer = e.dxftype(), e.dxf.layer
        layers.add(layer)
        if kind in ("LWPOLYLINE", "POLYLINE"):
            if kind == "LWPOLYLINE":
                points = list(e.get_points("xyb"))
            else:
                points = [(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in e.vertices]
                if {v.dxf.layer for v in e.vertices} != {layer}:
                    yield "a vertex lies on another layer than its polyline"
            closed = e.closed if kind == "LWPOLYLINE" else e.is_closed
            measured = measure(points) if closed else None
            if layer.startswith("MARK") and (not closed or all(p[2] == 0 for p in points)):
                strokes += 1
                pieces = zip(points, points[1:])
                if any(math.dist(a[:2], b[:2]) < TOLERANCE for a, b in pieces):
                    yield "a stroke has a piece of no length"
            elif measured is None:
                yield f"a polyline on {layer} is open or has a piece of no length"
            else:
                loops.append((layer, *measured))
        elif kind == "CIRCLE":
            if e.dxf.radius <= TOLERANCE:
                yield "a circle has no size"
            circles.append((layer, e.dxf.center.x, e.dxf.center.y, 2 * e.dxf.radius))
        elif kind == "LINE":
            ends = sorted([tuple(e.dxf.start), tuple(e.dxf.end)])
            if layer != "MARK" or math.dist(*ends) < TOLERANCE:
                yield f"a line on {layer} or of no length"
            if ends in lines:
                yield "a line is drawn twice"
            lines.append(ends)
        elif kind == "TEXT":
            if layer != "NOTE" or not e.dxf.text:
                yield f"text on {layer}"
        else:
            yield f"a {kind} on {layer}"
        if not layer.startswith(("MARK", "NOTE")) and kind not in ("LWPOLYLINE", "POLYLINE", "CIRCLE"):
            yield f"a {kind} on the cutting layer {layer}"

    table = {layer.dxf.name for layer in doc.layers}
    if table - {"0", "Defpoints"} != layers:
        yield f"layers {table} in the table, {layers} in use"
    if any(layer.color != 7 for layer in doc.layers if layer.dxf.name in layers):
        yield "a layer has a colour"
    # The marks that are windows or pockets left uncut are loops with bulges.
    yield from take(
        loops,
        case["loops"],
        lambda f, w: f[0] == w["layer"] and near((*f[1:3], *f[3]), (w["area"], w["length"], *w["extents"])),
        "loop",
    )
    yield from take(
        circles,
        case["circles"],
        lambda f, w: f[0] == w["layer"] and near(f[1:], (w["x"], w["y"], w["diameter"])),
        "circle",
    )
    if len(lines) != case["mark_lines"] or strokes != case["mark_strokes"]:
        yield f"{len(lines)} mark lines and {strokes} strokes, {case['mark_lines']} and {case['mark_strokes']} expected"
    if len(set(loops)) != len(loops) or len(set(circles)) != len(circles):
        yield "something is drawn twice"
    # Nothing cut lies outside the part.
    outline = [loop for loop in loops if loop[0] == "OUTLINE_CUT"]
    whole = outline[0][3] if outline else case["extents"]
    for loop in loops:
        box = loop[3]
        if min(box[0] - whole[0], box[1] - whole[1], whole[2] - box[2], whole[3] - box[3]) < -TOLERANCE:
            yield f"a loop on {loop[0]} lies outside the part"


def main():
    cases = json.load(open(sys.argv[1], encoding="utf-8"))
    bad = 0
    for case in cases:
        for fault in faults(case):
            bad += 1
            print(f"{case['file']}: {fault}")
    if bad:
        sys.exit(1)
    print(f"{len(cases)} files without fault")


if __name__ == "__main__":
    main()
