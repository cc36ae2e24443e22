"""Which holes go over which bolts, by brute force: every choice of bolts, each solved as a minimax
problem over turn and shift with scipy's SLSQP from the least-squares fit (Kabsch) and from its sides.

Reads cases as JSON on standard input, prints for each the fitting choices and those too close to call.
"""

import itertools
import json
import sys

import numpy as np
from scipy.optimize import minimize


def least(holes, bolts, clear):
    """Least over rigid motions of the greatest (offset - clearance)."""
    p, q = holes - holes.mean(0), bolts - bolts.mean(0)
    start = np.arctan2((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]).sum(), (p * q).sum())

    def offsets(v):
        c, s = np.cos(v[2]), np.sin(v[2])
        moved = p @ np.array([[c, s], [-s, c]]) + v[:2]
        return np.hypot(*(moved - q).T) - clear

    at_start = offsets(np.array([0.0, 0.0, start]))
    # Least squares has the least root mean square of all motions: below it nothing fits.
    rms = np.sqrt(((at_start + clear) ** 2).mean())
    if rms > clear.max() + 1e-3:
        return rms - clear.max()
    if at_start.max() < -1e-3:
        return at_start.max()
    best = np.inf
    for turn in (0.0, 0.004, -0.004):
        v = np.array([1e-4, -1e-4, start + turn])
        v = np.append(v, offsets(v).max())
        found = minimize(
            lambda v: v[3],
            v,
            jac=lambda v: np.array([0.0, 0.0, 0.0, 1.0]),
            constraints={"type": "ineq", "fun": lambda v: v[3] - offsets(v)},
            method="SLSQP",
            options={"ftol": 1e-12, "maxiter": 300},
        )
        best = min(best, offsets(found.x).max())
    return best


def solve(case):
    holes = np.array([h[:2] for h in case["holes"]])
    bolts = np.array([b[:2] for b in case["bolts"]])
    clear = np.array([0.5 * (h[2] - case["d"]) for h in case["holes"]])
    n = len(holes)
    fits, close = [], []
    for turned in (False, True):
        seen = holes * np.array([-1.0, 1.0]) if turned else holes
        for choice in itertools.permutations(range(len(bolts)), n):
            far = any(
                abs(np.hypot(*(seen[i] - seen[k])) - np.hypot(*(bolts[choice[i]] - bolts[choice[k]])))
                > clear[i] + clear[k] + 1e-3
                for i in range(n)
                for k in range(i)
            )
            if far:
                continue
            value = least(seen, bolts[list(choice)], clear)
            if abs(value) < 1e-4:
                close.append([turned, list(choice)])
            elif value < 0:
                fits.append([turned, list(choice)])
    return {"fits": fits, "close": close}


json.dump([solve(c) for c in json.load(sys.stdin)], sys.stdout)
