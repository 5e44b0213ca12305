"""Writes surveys.jsonl: random surveys of invented cars with their adjustment by scipy. Everything here is invented, random data.

What an observation measures is written from the definitions in the documentation of `src/measure/network/observation.rs`, in
other formulas where there are others. scipy.optimize.least_squares adjusts, its derivatives by complex steps, which lose no
digits; a few steps of numpy.linalg.lstsq polish. Run: python survey.py [output]. Seeded.

Each line: "id"; "spots", each its rough place and which coordinates are held; "observations", with a point as [spot, mirrored];
"expect": "points"; "deviations" of the coordinates that are not held, in their order, for the stated deviations of the
observations; "redundancy" and "standardized" of each observation; "slip", the observation with the largest standardized
residual, in surveys into which a gross slip was put, else null.
"""

import json
import sys

import numpy as np
from scipy.optimize import least_squares

SEED = 4211
SURVEYS, SLIPS = 40, 20

POINTS = [  # an invented left rear wheel: its centre, then subframe and knuckle pivot of five links
    (0, 742, 305),
    (-10, 452, 446), (-6, 663, 461),
    (-158, 371, 231), (-139, 674, 214),
    (232, 489, 409), (18, 650, 428),
    (121, 352, 206), (24, 671, 199),
    (-71, 331, 222), (-17, 676, 195),
]
MARKS = [(-420, 310, 0), (-380, 905, 0), (405, 290, 0), (430, 900, 0), (60, 60, 0), (520, 610, 395), (-480, 560, 350)]
LINKS = [(1, 2), (3, 4), (5, 6), (7, 8), (9, 10)]


def place(x, at):
    """Where a point is; its mirror image has the other y."""
    spot, mirrored = at
    return x[spot] * np.array([1, -1 if mirrored else 1, 1])


def distance(x, o):
    d = place(x, o["to"]) - place(x, o["from"])
    return np.sqrt(np.dot(d, d))


def difference(x, o):
    value = place(x, o["of"])[o["axis"]]
    return value - place(x, o["from"])[o["axis"]] if o["from"] is not None else value


def offset(x, o):
    """Twice the area of the triangle seen from above, counter-clockwise, over the length of its base."""
    a, b, p = (place(x, at) for at in (*o["line"], o["of"]))
    area = a[0] * (b[1] - p[1]) + b[0] * (p[1] - a[1]) + p[0] * (a[1] - b[1])
    return area / np.sqrt((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2)


def slope(x, o):
    """Above the horizontal: its sine is the rise over the way."""
    return np.arcsin((place(x, o["to"])[2] - place(x, o["from"])[2]) / distance(x, o))


VALUE = {"distance": distance, "difference": difference, "offset": offset, "slope": slope}


def survey(rng, slip):
    """A car, its true points, and what a person would measure."""
    wheel = len(POINTS)
    truth = np.array(POINTS + MARKS, float)
    truth[:wheel] += rng.uniform(-25, 25, (wheel, 3))
    truth[wheel:, :2] += rng.uniform(-60, 60, (len(MARKS), 2)).round()
    held = [[False] * 3] * wheel + [[True] * 3] * 5 + [[False] * 3] * 2
    own = lambda spot: [int(spot), False]
    mirror = lambda spot: [int(spot), True]
    tape = lambda a, b, sigma: {"kind": "distance", "from": a, "to": b, "sigma": sigma}
    level = lambda axis, of, origin, sigma: {"kind": "difference", "axis": axis, "of": of, "from": origin, "sigma": sigma}
    observations = []
    for spot in range(wheel):
        for mark in rng.choice(len(MARKS), rng.integers(3, 6), replace=False):
            observations.append(tape(own(wheel + mark), own(spot), 1.0))
        if rng.random() < 0.7:
            observations.append(level(2, own(spot), None, 1.0))
        if rng.random() < 0.4:
            observations.append(level(int(rng.integers(2)), own(spot), own(wheel + rng.integers(5)), 1.5))
        if rng.random() < 0.3:
            a, b = rng.choice(5, 2, replace=False)
            observations.append({"kind": "offset", "of": own(spot), "line": [own(wheel + a), own(wheel + b)], "sigma": 2.0})
        if rng.random() < 0.3:
            observations.append(tape(own(spot), mirror(spot), 1.5))
    for inner, outer in LINKS:
        observations.append(tape(own(inner), own(outer), 0.5))
        if rng.random() < 0.5:
            observations.append({"kind": "slope", "from": own(inner), "to": own(outer), "sigma": 0.002})
        if rng.random() < 0.3:
            observations.append(tape(own(inner), mirror(outer), 1.5))
    for mark in range(wheel + 5, wheel + 7):  # two marks on the body are not known beforehand
        for datum in range(wheel, wheel + 5):
            observations.append(tape(own(datum), own(mark), 1.0))
        observations.append(level(2, own(mark), None, 1.0))
    slipped = int(rng.integers(len(observations))) if slip else None
    for i, o in enumerate(observations):
        noise = rng.normal() + (rng.choice([-1, 1]) * rng.uniform(12, 40) if i == slipped else 0)
        digits = 5 if o["kind"] == "slope" else 1
        o["reads"] = round(float(VALUE[o["kind"]](truth, o) + noise * o["sigma"]), digits)
    start = [[float(c) for c in (truth[i] if held[i][0] else truth[i] + rng.normal(0, 15, 3)).round()] for i in range(len(truth))]
    return {"spots": [{"start": s, "held": h} for s, h in zip(start, held)], "observations": observations}, slipped


def adjusted(case):
    start = np.array([spot["start"] for spot in case["spots"]])
    free = ~np.array([spot["held"] for spot in case["spots"]])

    def residuals(unknowns):
        x = start.astype(unknowns.dtype)
        x[free] = unknowns
        return np.array([(VALUE[o["kind"]](x, o) - o["reads"]) / o["sigma"] for o in case["observations"]])

    def jacobian(unknowns):
        step = 1e-30
        return np.column_stack([residuals(unknowns + 1j * step * e).imag / step for e in np.eye(len(unknowns))])

    found = least_squares(residuals, start[free], jac="cs", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=500)
    unknowns = found.x
    for _ in range(30):
        unknowns = unknowns - np.linalg.lstsq(jacobian(unknowns), residuals(unknowns), rcond=None)[0]
    assert np.abs(unknowns - found.x).max() < 1e-3, "scipy stopped early"
    points = start.copy()
    points[free] = unknowns
    u, s, vt = np.linalg.svd(jacobian(unknowns), full_matrices=False)
    deviations = np.sqrt(((vt.T / s) ** 2).sum(1))
    redundancy = 1 - (u**2).sum(1)
    with np.errstate(divide="ignore"):
        standardized = residuals(unknowns) / np.sqrt(redundancy.clip(0))
    return points, deviations, redundancy, standardized


def main(path):
    rng = np.random.default_rng(SEED)
    lines, slips = [], 0
    while len(lines) < SURVEYS + SLIPS:
        wants_slip = len(lines) >= SURVEYS
        case, slipped = survey(rng, wants_slip)
        points, deviations, redundancy, standardized = adjusted(case)
        if deviations.max() > 30 or redundancy.min() < 1e-3:
            continue  # a point that this choice of tapes hardly holds, or a reading that nothing checks
        expect = {
            "points": points.round(9).tolist(),
            "deviations": deviations.round(10).tolist(),
            "redundancy": redundancy.round(10).tolist(),
            "standardized": standardized.round(9).tolist(),
            "slip": None,
        }
        if wants_slip:
            order = np.argsort(-np.abs(standardized))
            if np.abs(standardized[order[1]]) > 0.95 * np.abs(standardized[order[0]]):
                continue  # nothing tells the two apart
            expect["slip"] = int(order[0])
            slips += int(order[0]) == slipped
        lines.append(json.dumps({"id": f"survey-{len(lines) + 1:02}", **case, "expect": expect}, separators=(",", ":")))
    with open(path, "w") as file:
        file.write("\n".join(lines) + "\n")
    print(f"{len(lines)} surveys; of {SLIPS} slips {slips} have the largest standardized residual")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "surveys.jsonl")
