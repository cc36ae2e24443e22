"""Adjusts networks with scipy's least squares and compares coordinates, deviations and residuals.

Reads a JSON list of cases from standard input; each has the network and the result to be checked.
The observation model is written afresh here; only the coordinates serve as a start, shifted by up to 2 mm.
Prints the largest differences; exit status 1 when one exceeds its limit.
"""

import json
import math
import sys

import numpy as np
from scipy.optimize import least_squares

COORDINATE_MM = 1e-8
DEVIATION_MM = 1e-8


def adjust(case):
    holes = [h["name"] for h in case["holes"]]
    index = {name: i for i, name in enumerate(holes)}
    origin, level = index[case["origin"]], [index[n] for n in case["level"]]
    # Unknowns: every x and y but the origin's; the level pair shares its y.
    slots = {}
    count = 0
    for i in range(len(holes)):
        for axis in (0, 1):
            if i == origin:
                slots[i, axis] = None
            elif axis == 1 and i in level:
                slots[i, axis] = None if origin in level else ("shared",)
            else:
                slots[i, axis] = count
                count += 1
    if any(v == ("shared",) for v in slots.values()):
        for key, v in slots.items():
            if v == ("shared",):
                slots[key] = count
        count += 1
    rims = {}
    for r in case["readings"]:
        if r["surface"]:
            for end in ("a", "b"):
                rims.setdefault((r[end], r["surface"]), None)
    for key in rims:
        rims[key] = count
        count += 1

    def place(x, i):
        return [0.0 if slots[i, axis] is None else x[slots[i, axis]] for axis in (0, 1)]

    factors = {"inside": (-0.5, -0.5), "over": (0.5, 0.5), "same": (0.5, -0.5), "centres": (0.0, 0.0)}

    def residuals(x):
        out = []
        for r in case["readings"]:
            p, q = place(x, index[r["a"]]), place(x, index[r["b"]])
            value = math.hypot(q[0] - p[0], q[1] - p[1])
            if r["surface"]:
                for end, f in zip(("a", "b"), factors[r["kind"]]):
                    value += f * x[rims[r[end], r["surface"]]]
            out.append((r["value"] - value) / r["sd"])
        for (hole, surface), k in rims.items():
            size, sd = case["holes"][index[hole]][surface]
            out.append((size - x[k]) / sd)
        return np.array(out)

    rng = np.random.default_rng(case["seed"])
    start = np.zeros(count)
    for (i, axis), k in slots.items():
        if k is not None:
            start[k] = case["result"][i][axis] + rng.uniform(-2.0, 2.0)
    for (hole, surface), k in rims.items():
        start[k] = case["holes"][index[hole]][surface][0]
    jac = lambda x: complex_free_jacobian(residuals, x)
    best = least_squares(residuals, start, jac=jac, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    # Gauss-Newton steps to the last digit: the library's own tests stop at the square root of rounding.
    x = best.x
    for _ in range(4):
        j, r = jac(x), residuals(x)
        x = x - np.linalg.lstsq(j, r, rcond=None)[0]
    covariance = np.linalg.inv(jac(x).T @ jac(x))
    places = np.array([place(x, i) for i in range(len(holes))])
    deviations = np.array(
        [[0.0 if slots[i, a] is None else math.sqrt(covariance[slots[i, a], slots[i, a]]) for a in (0, 1)] for i in range(len(holes))]
    )
    return places, deviations


def complex_free_jacobian(f, x):
    """Central differences of fourth order; the model is smooth, errors stay near 1e-11."""
    columns = []
    for k in range(len(x)):
        h = 1e-2
        e = np.zeros(len(x))
        e[k] = h
        columns.append((8 * (f(x + e) - f(x - e)) - (f(x + 2 * e) - f(x - 2 * e))) / (12 * h))
    return np.array(columns).T


def main():
    worst = [0.0, 0.0]
    for case in json.load(sys.stdin):
        places, deviations = adjust(case)
        worst[0] = max(worst[0], np.abs(places - np.array(case["result"])).max())
        worst[1] = max(worst[1], np.abs(deviations - np.array(case["deviations"])).max())
    print(f"coordinates {worst[0]:.2e} mm, deviations {worst[1]:.2e} mm")
    return 0 if worst[0] <= COORDINATE_MM and worst[1] <= DEVIATION_MM else 1


if __name__ == "__main__":
    sys.exit(main())
