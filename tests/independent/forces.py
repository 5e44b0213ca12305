"""Writes forces.jsonl: what links carry, by numpy, body by body, on random layouts. Everything here is invented, random data.

The program asks what each rod does to the wheel and takes the transpose of that. Here nothing is transposed: every body is cut
free, the knuckle and, where the spring sits on it, that link, and the forces at its cuts are the unknowns of the six equations of
each, forces and moments about the car's origin, put to numpy.linalg.lstsq. A link with a spring on it has three unknown forces at
either bolt, so what it puts across them is found without any formula for it. Positions are those of `reference.py`.

Each line: {"id", "profile" (TOML text), "args", "expect"}; keys inside "expect" are those of the program's JSON. In half of the
cases the car has hardly any travel, so that the most over the travel, which a bolt carries, is that of one position.
Run: python forces.py [output]. Seeded.
"""

import json
import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are tiny

import numpy as np

import make_cases
import reference as ref

SEED = 20251
COUNT = 60
GRAVITY = 9.80665  # m/s2, the standard one
CASES = ("standing", "cornering", "braking", "drive", "kerb", "pothole")
HARDLY = 1e-6  # mm of travel


def about_origin(force, at):
    return np.concatenate([force, np.cross(at, force) / 1000])


def unit(v):
    return v / np.linalg.norm(v)


def contact(side, centre, spindle, up):
    """Straight down the wheel's plane; the floor is z = 0 at the reference, where the camber is the only lean."""
    radius = float(side.centre[2]) / np.cos(float(side.camber))
    down = unit(np.cross(spindle, np.cross(up, spindle)))
    return centre - radius * down


def road(side, points, up, factors, case, carries, hangs):
    """What pushes the knuckle from outside: six numbers."""
    centre, spindle = points[0], unit(points[1] - points[0])
    stands = contact(side, centre, spindle, up)
    outward = unit(spindle - up * (up @ spindle))
    rearward = np.cross(up, outward)
    push_up, inward, back = factors
    total = about_origin(carries * (push_up * up - inward * outward), stands)
    total = total + about_origin(carries * back * rearward, stands if case == "braking" else centre)
    return total + about_origin(-hangs * up, centre)


def cut_free(inner, outer, spring, outside):
    """The force along each link at both ends (positive: pulled), on both its bolts, and the spring's push."""
    knuckle, link, unknowns = [], [], []

    def unknown(name, on_knuckle, on_link=None):
        unknowns.append(name)
        knuckle.append(on_knuckle)
        link.append(np.zeros(6) if on_link is None else on_link)

    seated = spring.get("link")
    for k, (a, b) in enumerate(zip(inner, outer)):
        if k != seated:
            unknown(k, about_origin(unit(a - b), b))
            continue
        for axis in np.eye(3):
            unknown("outer", about_origin(axis, b), about_origin(-axis, b))
            unknown("inner", np.zeros(6), about_origin(axis, a))
    if seated is None:
        line, low = spring["line"], spring["low"]
        unknown("spring", about_origin(line, low))
    else:
        unknown("spring", np.zeros(6), about_origin(spring["line"], spring["low"]))
    matrix = np.vstack([np.array(knuckle).T, np.array(link).T])
    wanted = np.concatenate([-outside, np.zeros(6)])
    found, _, rank, _ = np.linalg.lstsq(matrix, wanted, rcond=1e-12)
    assert rank == len(unknowns), (rank, len(unknowns))
    assert np.max(np.abs(matrix @ found - wanted)) < 1e-7 * (1 + np.max(np.abs(wanted)))
    loads = []
    for k, (a, b) in enumerate(zip(inner, outer)):
        u = unit(b - a)
        if k != seated:
            pull = found[unknowns.index(k)]
            loads.append((pull, pull, abs(pull), abs(pull)))
            continue
        at_outer = np.array([f for f, name in zip(found, unknowns) if name == "outer"])  # on the knuckle
        at_inner = np.array([f for f, name in zip(found, unknowns) if name == "inner"])  # on the link, by the subframe
        loads.append((-at_outer @ u, -at_inner @ u, np.linalg.norm(at_inner), np.linalg.norm(at_outer)))
    return loads, found[unknowns.index("spring")]


def random_spring(rng, side):
    """On the knuckle or on a lower link; nearly upright, ahead of or behind the wheel centre."""
    corner, unsprung = make_cases.number(rng, 250, 450), make_cases.number(rng, 25, 50)
    keys = {"corner_mass": corner, "unsprung_mass": unsprung}
    centre = np.array(side.centre, float)
    if rng.uniform() < 0.4:
        low = centre + [rng.uniform(-90, 40), rng.uniform(-130, -60), rng.uniform(-60, 20)]
        keys["lower"] = [float(v) for v in low]
    else:
        name = str(rng.choice(["lower-rear", "lower-front"]))
        link = next(l for l in side.links if l.name == name)
        along = float(round(float(link.length) * rng.uniform(0.45, 1.1), 1))
        low = np.array(link.subframe + (link.knuckle - link.subframe) / link.length * along, float)
        keys |= {"on": name, "along": along}
    keys["upper"] = [float(v) for v in low + [rng.uniform(-40, 40), rng.uniform(-90, 10), rng.uniform(240, 360)]]
    return keys


def random_loads(rng):
    return {
        case: [make_cases.number(rng, 0, 3), make_cases.number(rng, -2, 4), make_cases.number(rng, -2, 3)]
        for case in CASES
        if rng.uniform() < 0.8
    }


USUAL = {
    "standing": (1.0, 0.0, 0.0),
    "cornering": (1.5, 1.5, 0.0),
    "braking": (0.7, 0.0, 0.7),
    "drive": (1.2, 0.0, -1.2),
    "kerb": (1.0, 3.0, 0.0),
    "pothole": (3.0, 0.0, 2.0),
}


def answer(side, drop, up, spring, factors, one_position):
    state = ref.forward(side, drop)
    points, up = np.array(state.points, float), np.array(up, float)
    outer, inner = points[side.outer], np.array(state.inner, float)
    carries, hangs = spring["corner_mass"] * GRAVITY, spring["unsprung_mass"] * GRAVITY
    upper = np.array(spring["upper"])
    if "on" in spring:
        link = next(k for k, l in enumerate(side.links) if l.name == spring["on"])
        low = inner[link] + unit(outer[link] - inner[link]) * spring["along"]
        seat = {"link": link}
    else:
        # A point of the knuckle goes with it: the same combination of four of its points.
        reference, seat = np.array(side.points, float), {}
        frame = lambda p: np.column_stack([p[1] - p[0], p[2] - p[0], np.cross(p[1] - p[0], p[2] - p[0])])
        low = points[0] + frame(points) @ np.linalg.solve(frame(reference), np.array(spring["lower"]) - reference[0])
    line = unit(low - upper)
    rows = []
    for case in CASES:
        outside = road(side, points, up, factors.get(case, USUAL[case]), case, carries, hangs)
        loads, push = cut_free(inner, outer, {"line": line, "low": low} | seat, outside)
        links = []
        for link, (knuckle, subframe, bolt, knuckle_bolt) in zip(side.links, loads):
            entry = {"link": link.name, "at_drop_n": max(knuckle, subframe, key=abs)}
            if one_position:
                entry |= {"bolt_n": bolt, "knuckle_bolt_n": knuckle_bolt}
            links.append(entry)
        rows.append({"case": case, "spring_n": push, "links": links})
    return {"side": side.name, "cases": rows}


def one_case(index):
    one_position = index % 2 == 0
    for attempt in range(500):
        rng = np.random.default_rng([SEED, index, attempt])
        try:
            profile = make_cases.random_profile(rng, "lower")
            if one_position:
                profile["ride"] |= {"bump": HARDLY, "droop": HARDLY}
            text = make_cases.toml_text(profile)
            left, right, profile = ref.read_profile(text)
            make_cases.sound_side(left)
            make_cases.sound_side(right)
            spring, factors = random_spring(rng, left), random_loads(rng)
            drops = [0.0, 0.0] if one_position else [make_cases.number(rng, -30, 60) for _ in range(2)]
            n = ref.ground(profile, left, right, *drops, None)
            sides = [
                answer(side, drop, up, spring, factors, one_position)
                for side, drop, up in zip((left, right), drops, (n, n * ref.MIRROR))
            ]
            for side in sides:
                pulls = [abs(l["at_drop_n"]) for c in side["cases"] for l in c["links"]]
                make_cases.require(max(pulls) < 60_000)
                make_cases.require(all(abs(c["spring_n"]) < 40_000 for c in side["cases"]))
        except (make_cases.Unsound, ref.NoPosition, AssertionError):
            continue
        tables = [("spring", spring), ("loads", factors)]
        for head, keys in tables:
            text += f"[{head}]\n" + "".join(f"{k} = {make_cases.value_text(v)}\n" for k, v in keys.items())
        args = ["--drop-left", repr(drops[0]), "--drop-right", repr(drops[1])]
        return {"id": f"forces-{index:03}", "profile": text, "args": args, "expect": {"sides": sides}}
    raise SystemExit(f"no sound layout for {index}")


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    output = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "forces.jsonl")
    with open(output, "w", encoding="utf-8") as f:
        for index in range(1, COUNT + 1):
            f.write(json.dumps(one_case(index), separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
