"""Writes cases.jsonl: random layouts with the answers of `reference.py`. Everything here is invented, random data.

Each line: {"id", "command", "profile" (TOML text), "args" (options after the profile), "exit" (left out where in doubt),
"expect"}. Keys inside "expect" are those of the program's JSON; what is not deterministic is left out, and a plan's side
has "rounded" besides: "links", "step_mm" (one step of each arm) and rows [steps of each arm ..., camber, toe].
Run: python make_cases.py [output]. Seeded: the same versions give the same layouts.
"""

import json
import multiprocessing
import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are tiny

import numpy as np

import reference as ref
from reference import DEG, FIGURES, NoPosition, X

SEED = 20240
COUNTS = {"lower": 150, "plan": 150, "cams": 60}

# Base layouts of a left wheel at (0, 750, 300): link -> (inner pivot, outer pivot). Equal outer pivots stay shared.
LAYOUTS = [
    {  # five separate rods, toe rod behind the axle
        "upper": ((15, 440, 430), (8, 655, 452)),
        "traction": ((215, 480, 395), (45, 660, 425)),
        "lower-rear": ((-70, 335, 225), (-35, 690, 212)),
        "lower-front": ((245, 430, 220), (40, 685, 205)),
        "toe": ((-160, 390, 265), (-135, 680, 258)),
    },
    {  # wide-based lower arm on one joint
        "upper": ((-40, 445, 440), (-20, 655, 458)),
        "traction": ((200, 470, 420), (30, 650, 440)),
        "lower-rear": ((-110, 340, 226), (2, 702, 205)),
        "lower-front": ((190, 380, 222), (2, 702, 205)),
        "toe": ((-170, 400, 262), (-140, 684, 255)),
    },
    {  # lower and upper pair each on one joint
        "upper": ((-70, 450, 445), (-12, 660, 462)),
        "traction": ((180, 475, 425), (-12, 660, 462)),
        "lower-rear": ((-120, 345, 230), (5, 700, 200)),
        "lower-front": ((180, 360, 222), (5, 700, 200)),
        "toe": ((-150, 395, 270), (-145, 688, 268)),
    },
    {  # toe rod ahead of the axle
        "upper": ((-20, 450, 435), (-10, 655, 455)),
        "traction": ((-230, 490, 400), (-50, 655, 425)),
        "lower-rear": ((-170, 400, 225), (-30, 690, 208)),
        "lower-front": ((30, 345, 222), (20, 695, 206)),
        "toe": ((150, 400, 275), (140, 680, 270)),
    },
    {  # long trailing rod, rods all across otherwise
        "upper": ((5, 430, 440), (0, 650, 455)),
        "traction": ((420, 560, 330), (70, 680, 360)),
        "lower-rear": ((-60, 330, 235), (-50, 695, 220)),
        "lower-front": ((70, 335, 230), (55, 695, 215)),
        "toe": ((-145, 380, 290), (-140, 685, 285)),
    },
]
SETS = {"upper": "camber", "traction": "pitch", "toe": "toe"}
METRIC = [(12, 1.25), (14, 1.5), (16, 1.5), (18, 1.5), (20, 1.5), (16, 2.0)]
INCH = ["7/16-20 UNF", "1/2-20 UNF", "5/8-18 UNF", "3/4-16 UNF"]


class Unsound(Exception):
    """A random layout that is no plausible car, or whose answer is not beyond doubt: draw another."""


def require(condition):
    if not condition:
        raise Unsound


# ---------------------------------------------------------------------------------------------------------------------
# Random profiles


def point(rng, at, jitter, digits):
    values = np.array(at, float) + rng.normal(0, jitter, 3)
    return [float(v) for v in (values if digits is None else np.round(values, digits))]


def number(rng, low, high, digits=2):
    return float(round(rng.uniform(low, high), digits))


def threads(rng):
    draw = rng.uniform()
    if draw < 0.5:
        d, p = METRIC[rng.integers(len(METRIC))]
        pair = [f"M{d}x{p:g} RH", f"M{d}x{p:g} LH"]
    elif draw < 0.7:
        t = INCH[rng.integers(len(INCH))]
        pair = [f"{t} LH", f"{t} RH"]
    elif draw < 0.8:  # two pitches, opposite hands
        pair = ["M16x1.5 RH", "M14x2 LH"] if rng.uniform() < 0.5 else ["5/8-18 UNF RH", "M16x1.5 LH"]
    elif draw < 0.87:  # two pitches, same hand: a small lead
        pair = ["M16x2 RH", "M14x1.5 RH"]
    else:  # one thread
        d, p = METRIC[rng.integers(len(METRIC))]
        hand = "RH" if rng.uniform() < 0.6 else "LH"
        pair = [f"M{d}x{p:g} {hand}"] if rng.uniform() < 0.6 else [f"{INCH[rng.integers(len(INCH))]} {hand}"]
    return pair


def random_arm(rng, length, tight):
    """Limits around the stock length; tight ones are often reached."""
    room = (0.3, 6.0) if tight else (12.0, 30.0)
    arm = {
        "shortest": float(np.floor((length - rng.uniform(*room)) * 100) / 100),
        "longest": float(np.ceil((length + rng.uniform(*room)) * 100) / 100),
        "threads": threads(rng),
    }
    if rng.uniform() < 0.5:
        arm["step"] = float(rng.choice([0.25, 0.5, 0.125]))
    return arm


def random_cam(rng, link):
    """Mostly along the link, pointing outboard, not always given as a unit vector."""
    direction = np.array(link["knuckle"]) - np.array(link["subframe"])
    direction = direction / np.linalg.norm(direction)
    along = direction + rng.normal(0, 0.12, 3)
    if rng.uniform() < 0.2:
        along = np.array([0.0, 1.0, 0.0])
    elif rng.uniform() < 0.7:
        along /= np.linalg.norm(along)
    if along[1] < 0:
        along = -along
    cosine = abs(along @ direction) / np.linalg.norm(along)
    require(cosine > 0.6)
    cam = {"eccentricity": number(rng, 3, 7), "along": [float(v) for v in along]}
    if rng.uniform() < 0.75:
        cam["setting"] = number(rng, -30, 30, 1)
    if rng.uniform() < 0.3:
        cam["marks"] = int(rng.integers(4, 9))
    return cam


def random_profile(rng, command):
    layout = LAYOUTS[rng.integers(len(LAYOUTS))]
    digits = None if rng.uniform() < 0.6 else int(rng.choice([0, 1]))
    jitter = rng.uniform(4, 14)
    centre = point(rng, (0, 750, 300), 12, digits)
    shift = np.array(centre) - np.array([0, 750, 300])  # the layout goes with the wheel
    if rng.uniform() < 0.15:
        shift = shift + np.array([2500.0, 0, 0])  # x may start anywhere
        centre[0] += 2500.0
    shared, links = {}, []
    for name, (inner, outer) in layout.items():
        if outer not in shared:
            shared[outer] = point(rng, np.array(outer) + shift, jitter, digits)
        link = {
            "name": name,
            "subframe": point(rng, np.array(inner) + shift, jitter * 1.5, digits),
            "knuckle": shared[outer],
        }
        if name in SETS:
            link["sets"] = SETS[name]
        links.append(link)
    order = rng.permutation(len(links))
    links = [links[k] for k in order]
    for link in links:
        if link.get("sets") not in FIGURES:
            continue
        length = float(np.linalg.norm(np.array(link["knuckle"]) - np.array(link["subframe"])))
        if rng.uniform() < {"lower": 0.3, "plan": 0.6, "cams": 0.88}[command]:
            link["cam"] = random_cam(rng, link)
        if rng.uniform() < {"lower": 0.3, "plan": 0.85, "cams": 0.3}[command]:
            link["arm"] = random_arm(rng, length, tight=rng.uniform() < 0.3)
    profile = {
        "format": 1,
        "car": {"name": "random layout", "wheelbase": number(rng, 2300, 2900, 0)},
        "wheel": {"centre": centre, "camber": number(rng, -1.5, 0.5), "toe": number(rng, -0.1, 0.35)},
        "ride": {
            "loading": "invented",
            "arch_gap": number(rng, 340, 400, 0),
            "bump": number(rng, 80, 100, 0),
            "droop": number(rng, 65, 90, 0),
        },
        "link": links,
    }
    if command != "lower":
        spec = {
            "camber": number(rng, -2, 0),
            "camber_tolerance": number(rng, 0.25, 0.75),
            "toe_tolerance": number(rng, 0.04, 0.15),
        }
        if command == "cams":  # something the cams can hold for a while
            off, width = [(-0.3, 1.0), (4.0, 1.0), (-0.6, 8.0)][
                rng.choice(3, p=[0.6, 0.18, 0.22])
            ]  # usual, hopeless, generous
            spec["camber"] = round(profile["wheel"]["camber"] + off + number(rng, -0.6, 0.6), 2)
            spec["camber_tolerance"] = round(spec["camber_tolerance"] * width, 2)
            spec["toe_tolerance"] = round(spec["toe_tolerance"] * width, 2)
        toe = number(rng, 0, 0.3)
        spec |= {"total_toe": 2 * toe} if rng.uniform() < 0.2 else {"toe": toe}
        profile["spec"] = spec
    if rng.uniform() < 0.4:
        profile["right"] = random_right(rng, profile)
    return profile


def random_right(rng, profile):
    right, links = {}, []
    wheel = {}
    if rng.uniform() < 0.6:
        wheel["camber"] = number(rng, -1.5, 0.5)
    if rng.uniform() < 0.6:
        wheel["toe"] = number(rng, -0.1, 0.35)
    if rng.uniform() < 0.2:
        c = profile["wheel"]["centre"]
        wheel["centre"] = [float(v) for v in np.round(np.array([c[0], -c[1], c[2]]) + rng.normal(0, 2, 3), 2)]
    if wheel:
        right["wheel"] = wheel
    for link in profile["link"]:
        over = {}
        if rng.uniform() < 0.25:
            s = link["subframe"]
            over["subframe"] = [float(v) for v in np.round(np.array([s[0], -s[1], s[2]]) + rng.normal(0, 2, 3), 2)]
        if "cam" in link and rng.uniform() < 0.4:
            over["cam"] = {"setting": number(rng, -30, 30, 1)}
        if over:
            links.append({"name": link["name"]} | over)
    if links:
        right["link"] = links
    return right


def value_text(value):
    if isinstance(value, str):
        return json.dumps(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(value_text, value)) + "]"
    return repr(value)


def toml_text(profile):
    """Only what the profiles above hold: tables, arrays of tables one level down, plain values."""
    out = [f"format = {profile['format']}"]

    def table(path, values, array=False):
        head = ("[[%s]]" if array else "[%s]") % path
        out.append(head)
        inner = []
        for key, value in values.items():
            if isinstance(value, dict):
                inner.append((key, value))
            else:
                out.append(f"{key} = {value_text(value)}")
        for key, value in inner:
            table(f"{path}.{key}", value)

    for name in ("car", "wheel", "ride", "spec"):
        if name in profile:
            table(name, profile[name])
    for link in profile["link"]:
        table("link", link, array=True)
    right = profile.get("right", {})
    if "wheel" in right:
        table("right.wheel", right["wheel"])
    for link in right.get("link", []):
        table("right.link", link, array=True)
    return "\n".join(out) + "\n"


# ---------------------------------------------------------------------------------------------------------------------
# Soundness of a layout


def sound_side(side):
    """Plausible to look at, well conditioned, and each `sets` true."""
    rows = []
    for link in side.links:
        require(norm(link.knuckle - side.centre) < norm(link.subframe - side.centre) - 20)
        require(link.subframe[1] > 100 and link.knuckle[1] < side.centre[1] - 20)
        require(link.length > 120)
        u = (link.knuckle - link.subframe) / link.length
        rows.append(np.concatenate([u, np.cross(link.knuckle - side.centre, u) / 100]).astype(float))
        if link.arm:
            require(
                link.arm.shortest < link.length - X("0.05")
                and link.arm.longest > link.length + X("0.05")
                and link.arm.lead > 0
            )
        if link.cam:
            require(abs(np.dot(u, link.cam.along)) > 0.6)
    distinct = {tuple(map(float, l.knuckle)) for l in side.links}
    pts = [np.array(p) for p in distinct]
    require(all(np.linalg.norm(p - q) > 25 for k, p in enumerate(pts) for q in pts[:k]))
    rows.append(np.array([0, 0, 1, 0, 0, 0], float))
    J = np.array(rows)
    require(np.linalg.cond(J) < 40)
    turn = np.linalg.inv(J)[3:, :5] / 100 * 180 / np.pi  # degrees per mm of each rod about x, y, z
    effect = {"camber": np.abs(turn[0]), "pitch": np.abs(turn[1]), "toe": np.abs(turn[2])}
    at = {l.sets: k for k, l in enumerate(side.links) if l.sets}
    for figure, k in at.items():
        require(effect[figure][k] > 0.1)
        require(effect[figure][k] > 1.5 * max(effect[figure][o] for f, o in at.items() if f != figure))


def norm(v):
    return float(ref.norm(v))


def plausible(side, points, n):
    """Alignment of a car, and the same knuckle: distances alone would also allow its mirror image."""
    values = ref.figures(points, n)
    require(abs(float(values["camber"] / DEG)) < 7 and abs(float(values["toe"] / DEG)) < 4)
    before, after = (p[1:] - p[0] for p in (side.points, points))
    for i in range(1, len(before) - 1):
        volumes = [np.dot(v[0], np.cross(v[i], v[i + 1])) for v in (before, after)]
        assert abs(volumes[0] - volumes[1]) < 1e-6, "mm3"


# ---------------------------------------------------------------------------------------------------------------------
# Options and answers


def random_drops(rng, profile, command):
    low = 5 if command == "cams" else -30
    draw = rng.uniform()
    if command == "lower" and draw < 0.06:
        return ["--arch-gap", repr(profile["ride"]["arch_gap"] - number(rng, 5, 60))]
    drop = number(rng, low, 70)
    if draw < (0.75 if command == "cams" else 0.6):
        args = ["--drop", repr(drop)]
    else:
        args = [
            "--drop-left",
            repr(drop),
            "--drop-right",
            repr(round(min(70.0, max(float(low), drop + number(rng, -25, 25))), 2)),
        ]
    if rng.uniform() < (0.1 if command == "cams" else 0.35):
        args += ["--front-drop", repr(number(rng, -10, 60))]
    return args


def random_options(rng, profile, command):
    args = random_drops(rng, profile, command)
    if command == "plan":
        arms = [l["name"] for l in profile["link"] if "arm" in l]
        if arms and rng.uniform() < 0.4:
            chosen = [a for a in arms if rng.uniform() < 0.6] or arms[:1]
            args += ["--fit", ",".join(chosen)]
        if rng.uniform() < 0.3:
            args += ["--cams", "keep"]
    if command != "lower" and rng.uniform() < (0.3 if command == "plan" else 0.15):
        args += ["--camber", repr(number(rng, -2, 0))]
    if command != "lower" and rng.uniform() < 0.3:
        args += ["--toe", repr(number(rng, -0.05, 0.35))]
    return args


def away_from_edge(value):
    """A verdict must not hang on rounding."""
    require(abs(float(value) - 1) > 1e-3)


def lower_case(text, options):
    return ref.lower(text, options), 0


def plan_case(text, options):
    expected = ref.plan(text, options)
    # the answer must not depend on which of two exhausted adjusters is stopped first
    for order in ("all", *FIGURES):
        require(close(ref.plan(text, options, order), expected))
    profile, sides = ref.setup(text, options)
    targets, tolerances = ref.wanted(profile, options)
    out, sure_in = False, True
    for entry, (side, drop, n) in zip(expected["sides"], sides):
        fitted = ref.fitted_names(side, options)
        base = ref.plan_base(side, drop, fitted, options.cams == "keep")
        usable = ref.adjusters(side, fitted)
        require(usable)
        state, settled = ref.met_within_limits(side, base, n, usable, targets)
        require(ref.stops_are_sound(side, base, n, settled, targets))
        plausible(side, state.points, n)
        away_from_edge(ref.excess(ref.figures(state.points, n), targets, tolerances))
        # an adjuster that just makes it would be a matter of rounding
        require(all(min(v - a.low, a.high - v) > 1e-3 for a, v, inside in settled.values() if inside))
        entry["rounded"], inside = rounded(side, state, settled, n, targets, tolerances)
        out = out or not (entry["exact"]["within_spec"] or any(inside))
        sure_in = sure_in and entry["exact"]["within_spec"] and all(inside)
    return expected, 3 if out else 0 if sure_in else None


def rounded(side, state, settled, n, targets, tolerances):
    """Alignment with arms at whole steps near the exact plan (cams where the exact plan put them). The row of toe steps
    follows the camber arm, because a choice of steps made together runs along such a row."""
    arms = [a for _, (a, _, _) in sorted(settled.items()) if a.kind == "arm"]
    arms.sort(key=lambda a: a.figure)  # camber first
    if not arms:
        return None, [True]
    steps = [side.links[a.link].arm.lead * side.links[a.link].arm.step for a in arms]
    exact = [settled[a.link][1] for a in arms]
    at = [(v - a.start) / s for a, v, s in zip(arms, exact, steps)]

    def allowed(k, i):
        return arms[i].low - X("1e-9") <= arms[i].start + k * steps[i] <= arms[i].high + X("1e-9")

    def near(x, i, count):
        """`count` whole steps nearest x within the arm's limits."""
        candidates = sorted(
            range(int(np.floor(x)) - 2 * count, int(np.floor(x)) + 2 * count + 2), key=lambda k: abs(k - x)
        )
        return sorted([k for k in candidates if allowed(k, i)][:count])

    rows, inside = [], []
    if len(arms) == 1:
        combinations = [(k,) for k in near(at[0], 0, 6)]
    else:
        # toe arm's steps per step of the camber arm that keep the toe
        unknowns = [ref.Free([a.link]) for a in arms]
        J = ref.jacobian(side, state, unknowns, (), np.zeros(2, dtype=X), state.points)
        p = state.points.size
        slope = ref.figure_slope("toe", state.points, n, np.linalg.lstsq(J[:, :p], -J[:, p:], rcond=None)[0])
        ratio = -slope[0] * float(steps[0]) / (slope[1] * float(steps[1]))
        combinations = []
        for k in near(at[0], 0, 21):
            combinations += [(k, m) for m in near(float(at[1]) + ratio * (k - float(at[0])), 1, 2)]
    require(combinations)
    for combination in combinations:
        values = [(a, a.start + k * s) for a, k, s in zip(arms, combination, steps)]
        inner, lengths = ref.imposed(side, state, values)
        points = ref.forward(side, state.drop, inner, lengths, start=state).points
        now = ref.figures(points, n)
        excess = ref.excess(now, targets, tolerances)
        if max(abs(k - x) for k, x in zip(combination, at)) < 1:
            inside.append(bool(excess < 0.99))
        rows.append([*combination, *(round(float(now[f] / DEG), 13) for f in FIGURES)])
    table = {"links": [side.links[a.link].name for a in arms], "step_mm": [float(s) for s in steps], "rows": rows}
    return table, inside or [False]


def cams_case(text, options):
    profile, sides = ref.setup(text, options)
    targets, tolerances = ref.wanted(profile, options)
    level = options.drop is not None and options.front_drop is None
    # cheap doubts first
    for side, drop, n in sides:
        base, usable = ref.forward(side, drop), ref.adjusters(side, set())
        require(usable)
        state, settled = ref.met_within_limits(side, base, n, usable, targets)
        for order in ("all", *FIGURES):
            other, _ = ref.met_within_limits(side, base, n, usable, targets, order)
            require(np.max(np.abs(other.points - state.points)) < 1e-9)
        require(ref.stops_are_sound(side, base, n, settled, targets))
        plausible(side, state.points, n)
    expected = ref.cams(text, options)
    exit_code = 0
    for entry, (side, drop, n) in zip(expected["sides"], sides):
        least = X(entry.pop("least_excess"))
        away_from_edge(least)
        honest_grid(side, ref.forward(side, drop), n, ref.adjusters(side, set()), targets, tolerances, least)
        if not (entry.pop("run_out_sure") and level):
            entry.pop("run_out_drop_mm")  # what the other side and the front do meanwhile is left open
        exit_code = exit_code if entry["within_spec"] else 3
    return expected, exit_code


def honest_grid(side, base, n, usable, targets, tolerances, least):
    """No setting of a coarse grid over the cam box does better than the optimum found."""
    grids = [np.linspace(float(a.low), float(a.high), 7) for a in usable]
    for values in np.array(np.meshgrid(*grids)).reshape(len(usable), -1).T:
        inner, lengths = ref.imposed(side, base, [(a, X(v)) for a, v in zip(usable, values)])
        state = ref.forward(side, base.drop, inner, lengths, start=base)
        value = ref.excess(ref.figures(state.points, n), targets, tolerances)
        assert value > least - X("1e-9"), (float(value), float(least))


def close(a, b):
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(close(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(close, a, b))
    if isinstance(a, float):
        return abs(a - b) < 1e-9
    return a == b


# ---------------------------------------------------------------------------------------------------------------------


def one_case(job):
    command, index = job
    for attempt in range(500):
        rng = np.random.default_rng([SEED, list(COUNTS).index(command), index, attempt])
        try:
            profile = random_profile(rng, command)
            text = toml_text(profile)
            left, right, _ = ref.read_profile(text)
            sound_side(left)
            sound_side(right)
            if command != "lower":
                require(
                    any(k in l for l in profile["link"] for k in (("arm", "cam") if command == "plan" else ("cam",)))
                )
            args = random_options(rng, profile, command)
            options = ref.options_from([command, "profile", *args])
            _, sides = ref.setup(text, options)
            for side, drop, n in sides:
                plausible(side, ref.forward(side, drop).points, n)
                require(drop < 78 and drop > -60)
            expected, code = {"lower": lower_case, "plan": plan_case, "cams": cams_case}[command](text, options)
        except (Unsound, NoPosition):
            continue
        case = {"id": f"{command}-{index:03}", "command": command, "args": args, "profile": text, "expect": expected}
        if code is not None:
            case["exit"] = code
        return case
    raise SystemExit(f"no sound layout for {job}")


def main():
    output = (
        sys.argv[1] if len(sys.argv) > 1 else os.path.join(os.path.dirname(os.path.abspath(__file__)), "cases.jsonl")
    )
    jobs = [(command, k) for command, count in COUNTS.items() for k in range(1, count + 1)]
    with multiprocessing.Pool() as pool:
        cases = list(pool.imap(one_case, jobs, chunksize=2))
    with open(output, "w", encoding="utf-8") as f:
        f.writelines(json.dumps(case, separators=(",", ":")) + "\n" for case in cases)


if __name__ == "__main__":
    main()
