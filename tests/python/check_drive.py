"""Checks random belt drives independently: reads cases on standard input, answers on standard output.

Length: the taut belt is the shortest closed curve that stays outside the
pulleys, so the two contact angles on every pulley are found by constrained
minimisation (scipy), without any tangent formula. Convex drives: the perimeter of the convex hull of finely
buffered discs (shapely). Tension: virtual work with the length differentiated
numerically, and the hub load from the minimised contact points.
"""

import json
import sys

import numpy as np
from scipy.optimize import minimize, root
from shapely.geometry import GeometryCollection, Point

QUADRANT = 1024


def parts(angles, c):
    """Length and its gradient; how far each span leans off the tangent at its two ends (0 where it is tangent,
    positive outside), and the derivatives of that."""
    arrive, leave = angles[0::2], angles[1::2]
    n = len(arrive)
    n_in = np.column_stack((np.cos(arrive), np.sin(arrive)))
    n_out = np.column_stack((np.cos(leave), np.sin(leave)))
    t_in = np.column_stack((-n_in[:, 1], n_in[:, 0]))
    t_out = np.column_stack((-n_out[:, 1], n_out[:, 0]))
    r = c["r"][:, None]
    after = (np.arange(n) + 1) % n
    span = (c["xy"] + r * n_in)[after] - (c["xy"] + r * n_out)
    size = np.hypot(span[:, 0], span[:, 1])
    unit = span / size[:, None]
    total = size.sum() + (c["r"] * c["turn"] * (leave - arrive)).sum()
    gradient = np.empty(2 * n)
    gradient[1::2] = -(unit * r * t_out).sum(axis=1) + c["r"] * c["turn"]
    gradient[0::2][after] = (unit * (r * t_in)[after]).sum(axis=1) - (c["r"] * c["turn"])[after]
    lean, slope = np.empty(2 * n), np.zeros((2 * n, 2 * n))
    for i in range(n):
        j = after[i]
        # How the unit vector of span i turns with its two contact angles.
        flat = (np.eye(2) - np.outer(unit[i], unit[i])) / size[i]
        by_leave, by_arrive = flat @ (-c["r"][i] * t_out[i]), flat @ (c["r"][j] * t_in[j])
        lean[2 * i + 1] = unit[i] @ n_out[i]
        slope[2 * i + 1, 2 * i + 1] = by_leave @ n_out[i] + unit[i] @ t_out[i]
        slope[2 * i + 1, 2 * j] = by_arrive @ n_out[i]
        lean[2 * j] = -unit[i] @ n_in[j]
        slope[2 * j, 2 * i + 1] = -by_leave @ n_in[j]
        slope[2 * j, 2 * j] = -by_arrive @ n_in[j] - unit[i] @ t_in[j]
    return total, gradient, lean, slope


def start(c):
    """Contact angles square to the lines of centres, unwrapped so that each arc runs with its turn."""
    ahead = np.roll(c["xy"], -1, axis=0) - c["xy"]
    heading = np.arctan2(ahead[:, 1], ahead[:, 0])
    side = -c["turn"] * np.pi / 2
    arrive = np.roll(heading, 1) + side
    leave = heading + side
    swept = np.mod(c["turn"] * (leave - arrive) + np.pi / 2, 2 * np.pi) - np.pi / 2
    angles = np.empty(2 * len(arrive))
    angles[0::2] = arrive
    angles[1::2] = arrive + c["turn"] * swept
    return angles


def shortest(c):
    """Shortest belt that stays outside the discs: its length and contact angles."""
    angles = start(c)
    last = {}

    def at(a):
        # The solver asks for value, gradient and constraints of one point in separate calls.
        key = a.tobytes()
        if key not in last:
            last.clear()
            last[key] = parts(a, c)
        return last[key]

    for _ in range(len(c["r"]) + 1):
        found = minimize(lambda a: tuple(v / 100.0 for v in at(a)[:2]), angles, jac=True,
                         method="SLSQP",
                         constraints={"type": "ineq", "fun": lambda a: at(a)[2],
                                      "jac": lambda a: at(a)[3]},
                         options={"ftol": 1e-14, "maxiter": 1000})
        # A belt that winds once too often about a pulley is not the shortest: unwind it.
        extra = np.floor(c["turn"] * (found.x[1::2] - found.x[0::2]) / (2 * np.pi) + 1e-9)
        if not extra.any():
            break
        angles = found.x.copy()
        angles[1::2] -= 2 * np.pi * extra * c["turn"]
    return 100.0 * found.fun, found.x


def settle(c, angles):
    """Contact angles at which every span is tangent, from near ones (the length is flat there, the angles are not)."""
    found = root(lambda a: parts(a, c)[2:], angles, jac=True, method="hybr",
                 options={"xtol": 1e-14})
    return parts(found.x, c)[0], found.x


def circles(case):
    return {
        "xy": np.array([[q["x"], q["y"]] for q in case["circles"]]),
        "r": np.array([q["r"] for q in case["circles"]]),
        "turn": np.array([float(q["turn"]) for q in case["circles"]]),
    }


def main():
    request = json.load(sys.stdin)
    worst = {k: 0.0 for k in ("worst_length_mm", "worst_wrap_deg", "worst_hull_relative",
                              "worst_rate_relative", "worst_tension_relative",
                              "worst_hub_relative")}
    count = {"minimised": 0, "hulls": 0, "arms": 0}

    def note(key, value):
        worst[key] = max(worst[key], float(value))

    for case in request["cases"]:
        c = circles(case)
        length, near = shortest(c)
        note("worst_length_mm", abs(length - case["length_mm"]))
        _, angles = settle(c, near)
        wraps = np.degrees(c["turn"] * (angles[1::2] - angles[0::2]))
        stated = np.array([q["wrap_deg"] for q in case["circles"]])
        note("worst_wrap_deg", np.abs(wraps - stated).max())
        count["minimised"] += 1
        if case["all_ribbed"]:
            discs = [Point(*xy).buffer(r, quad_segs=QUADRANT) for xy, r in zip(c["xy"], c["r"])]
            hull = GeometryCollection(discs).convex_hull.length
            note("worst_hull_relative", abs(hull / case["length_mm"] - 1.0))
            count["hulls"] += 1
        arm = case["arm"]
        if arm:
            k, h = arm["index"], 1e-3
            lengths = []
            for step in (-2 * h, -h, h, 2 * h):
                angle = np.radians(arm["deg"]) + step
                moved = {**c, "xy": c["xy"].copy()}
                moved["xy"][k] = np.array(arm["pivot"]) + arm["arm"] * np.array(
                    [np.cos(angle), np.sin(angle)])
                lengths.append(settle(moved, angles)[0])
            rate = (lengths[0] - 8 * lengths[1] + 8 * lengths[2] - lengths[3]) / (12 * h)
            note("worst_rate_relative", abs(rate / arm["rate_mm_per_rad"] - 1.0))
            tension = 1000.0 * arm["torque_nm"] / abs(rate)
            note("worst_tension_relative", abs(tension / arm["tension_n"] - 1.0))
            # Hub load: tension along both spans away from the pulley.
            a, b = angles[2 * k], angles[2 * k + 1]
            turn = c["turn"][k]
            into = turn * np.array([-np.sin(a), np.cos(a)])
            out = turn * np.array([-np.sin(b), np.cos(b)])
            hub = tension * (out - into)
            size = np.hypot(*arm["hub_load"])
            note("worst_hub_relative", np.hypot(*(hub - np.array(arm["hub_load"]))) / size)
            count["arms"] += 1
    json.dump({**count, **worst}, sys.stdout)


if __name__ == "__main__":
    main()
