"""Times ezdxf on the twelve-hole plate of benches/dxf.rs: new R2000 file, one polyline, twelve circles, saved to memory.

Usage: bench_dxf.py [FILE.dxf]; the geometry is read from the file platewright wrote
(tests/data/twelve_holes_R2000.dxf unless given), outside the timed part.
"""

import io
import pathlib
import statistics
import sys
import time

import ezdxf

default = pathlib.Path(__file__).parent.parent / "data" / "twelve_holes_R2000.dxf"
source = ezdxf.readfile(sys.argv[1] if len(sys.argv) > 1 else default).modelspace()
loops = [(p.dxf.layer, list(p.get_points("xyb"))) for p in source.query("LWPOLYLINE")]
circles = [(c.dxf.layer, c.dxf.center, c.dxf.radius) for c in source.query("CIRCLE")]


def write():
    doc = ezdxf.new("R2000", units=ezdxf.units.MM)
    space = doc.modelspace()
    for name in sorted({layer for layer, *_ in loops + circles}):
        doc.layers.add(name)
    for layer, points in loops:
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
    for layer, centre, radius in circles:
        space.add_circle(centre, radius, dxfattribs={"layer": layer})
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


write()
times = []
for _ in range(50):
    start = time.perf_counter()
    write()
    times.append(time.perf_counter() - start)
print(
    f"ezdxf {ezdxf.__version__}: {len(loops)} polyline, {len(circles)} circles: "
    f"median {statistics.median(times) * 1e3:.3f} ms, fastest {min(times) * 1e3:.3f} ms"
)
