"""Moves pulleys by finite rotations with scipy and compares offset and axis with the result to be checked.

Reads a JSON list of cases: mounts with frames and bolts, lifts, a pulley with its chain of mounts, the result.
The plane comes from numpy's least squares (minimum norm, so a row of bolts does not turn about itself), the turn
from scipy's rotation vectors. Exit status 1 when a difference exceeds 1e-9.
"""

import json
import sys

import numpy as np
from scipy.spatial.transform import Rotation

LIMIT = 1e-9


def motion(mount, lifts):
    origin, fx, fy, normal = (np.array(mount[k]) for k in ("origin", "x", "y", "normal"))
    bolts, lifts = np.array(mount["bolts"]), np.array(lifts)
    middle = bolts.mean(axis=0)
    slope = np.linalg.lstsq(bolts - middle, lifts - lifts.mean(), rcond=1e-10)[0]
    centre = origin + fx * middle[0] + fy * middle[1]
    steep = np.hypot(*slope)
    uphill = (fx * slope[0] + fy * slope[1]) / steep if steep > 0 else fx
    turn = Rotation.from_rotvec(np.cross(uphill, normal) * np.arctan(steep))
    return turn, centre, normal * lifts.mean()


def main():
    worst = 0.0
    for case in json.load(sys.stdin):
        place, axis = np.array(case["place"]), np.array(case["axis"])
        for name in case["chain"]:
            turn, centre, shift = motion(case["mounts"][name], case["lifts"][name])
            place = turn.apply(place - centre) + centre + shift
            axis = turn.apply(axis)
        worst = max(worst, abs(place[2] - case["plane"] - case["offset"]), np.abs(axis - np.array(case["then"])).max())
    print(f"largest difference {worst:.2e}")
    return 0 if worst <= LIMIT else 1


if __name__ == "__main__":
    sys.exit(main())
