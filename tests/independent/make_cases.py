"""Writes cases.jsonl and adjusters.jsonl: random layouts with the answers of `reference.py`. Everything is invented.

Each line: {"id", "command", "profile" (TOML text), "args" (options after the profile), "exit" (left out where in doubt),
"expect"}. Keys inside "expect" are those of the program's JSON; what is not deterministic is left out, and a plan's side
has "rounded" besides: "links", "step_mm" (one step of each arm) and rows [steps of each arm ..., camber, toe].
In adjusters.jsonl, cars with several adjusters for one figure, "id" names a family of `FAMILIES`. There and in plans, what the
rule does not settle is left out and the verdict kept: settings that are found by search within the tolerances, and all
that hangs on rounding or on how the rule is read.
Run: python make_cases.py [folder]. Seeded: the same versions give the same layouts.
"""

import itertools
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
# What a link sets, and how often it has a cam and an arm; whether its arm's ends are near: "never", "often" or "always".
USUAL = {
    command: {"upper": ("camber", cam, arm, "often"), "traction": ("pitch", 0, 0, "never"), "toe": ("toe", cam, arm, "often")}
    for command, cam, arm in (("lower", 0.3, 0.3), ("plan", 0.6, 0.85), ("cams", 0.88, 0.3))
}
FAMILIES = {
    "lower-cam": {
        "upper": ("camber", 0.4, 1, "often"),
        "lower-rear": ("camber", 1, 0, "never"),
        "toe": ("toe", 0.8, 0.7, "often"),
    },
    "unnamed-lower-cam": {
        "upper": ("camber", 0.4, 1, "often"),
        "lower-rear": (None, 1, 0, "never"),
        "toe": ("toe", 0.8, 0.7, "often"),
    },
    "two-cams": {
        "upper": ("camber", 0, 0.5, "often"),
        "lower-rear": ("camber", 1, 0, "never"),
        "lower-front": ("camber", 1, 0, "never"),
        "toe": ("toe", 0, 0, "never"),
    },
    "two-cams-and-toe": {
        "upper": ("camber", 0.2, 0.5, "often"),
        "lower-rear": ("camber", 1, 0, "never"),
        "lower-front": ("camber", 1, 0, "never"),
        "toe": ("toe", 1, 0.3, "often"),
    },
    "cam-of-no-figure": {
        "upper": ("camber", 0.8, 0.8, "often"),
        "lower-front": (None, 1, 0, "never"),
        "toe": ("toe", 0.8, 0.8, "often"),
    },
    "two-arms": {
        "upper": ("camber", 0.3, 1, "often"),
        "traction": ("camber", 0.2, 1, "often"),
        "toe": ("toe", 0.7, 0.8, "often"),
    },
    "short-arms": {
        "upper": ("camber", 0.8, 1, "always"),
        "lower-rear": ("camber", 0.9, 0, "never"),
        "toe": ("toe", 0.9, 1, "always"),
    },
    "pitch-arm": {
        "traction": ("pitch", 0.3, 1, "never"),
        "upper": ("camber", 0.6, 1, "often"),
        "lower-rear": ("camber", 0.7, 0, "never"),
        "toe": ("toe", 0.7, 0.8, "often"),
    },
}
FAMILIES["right-differs"] = FAMILIES["two-cams-and-toe"]
EACH = 20  # cases of a family
PLAN_ONLY = ("two-arms", "short-arms", "pitch-arm")
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


def random_profile(rng, command, means=None):
    """`means`: as `USUAL` has them, of a family; its spec is one that its cams come near."""
    near, means = command == "cams" or means is not None, means or USUAL[command]
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
        if means.get(name, (None,))[0]:
            link["sets"] = means[name][0]
        links.append(link)
    order = rng.permutation(len(links))
    links = [links[k] for k in order]
    for link in links:
        _, cam, arm, short = means.get(link["name"], (None, 0, 0, "never"))
        if not (cam or arm):
            continue
        length = float(np.linalg.norm(np.array(link["knuckle"]) - np.array(link["subframe"])))
        if rng.uniform() < cam:
            link["cam"] = random_cam(rng, link)
        if rng.uniform() < arm:
            tight = rng.uniform() < {"never": 0.0, "often": 0.3, "always": 1.0}[short]
            link["arm"] = random_arm(rng, length, tight)
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
        if near:  # something the cams can hold for a while
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


def cams_elsewhere_on_the_right(rng, profile):
    """Every cam was found at another setting on the right."""
    right = profile.setdefault("right", {}).setdefault("link", [])
    for link in profile["link"]:
        if "cam" not in link:
            continue
        over = next((o for o in right if o["name"] == link["name"]), None)
        if over is None:
            over = {"name": link["name"]}
            right.append(over)
        over["cam"] = {"setting": number(rng, -60, 60, 1)}


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


def sound_side(side, usual=True):
    """Plausible to look at, well conditioned, and each `sets` true; where it is usual, also that no other link would set
    the figure better."""
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
    at = [(l.sets, k) for k, l in enumerate(side.links) if l.sets]
    for figure, k in at:
        require(effect[figure][k] > (0.1 if usual else 0.05))
        others = [effect[figure][o] for f, o in at if f != figure]
        require(not usual or effect[figure][k] > 1.5 * max(others))


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


ARM_AS_IT_IS = ("link", "stock_mm", "lead_mm")


def plan_case(text, options, family=None):
    expected = ref.plan(text, options)
    profile, sides = ref.setup(text, options)
    targets, tolerances = ref.wanted(profile, options)
    out, sure_in = False, True
    for entry, (side, drop, n) in zip(expected["sides"], sides):
        _, usable, base = ref.task(side, drop, options)
        require(usable)
        settled = ref.settle(side, base, n, usable, targets, tolerances)
        state = settled.state
        doubts, searched = entry.pop("doubts"), "reachable" in entry
        reachable = entry.pop("reachable", None)
        require(not (searched and reachable is None))
        require(not doubts or reachable is False)
        if not doubts:
            plausible(side, state.points, n)
            away_from_edge(ref.excess(ref.figures(state.points, n), targets, tolerances))
        if family is None:
            entry.pop("other_cams")
            entry.pop("unset")
            for cam in entry["cams"]:
                cam.pop("sets", None)
        if reachable is False and len(usable) <= 4:
            nothing_in_reach(side, base, n, usable, targets, tolerances)
        if doubts or reachable:
            entry["exact"] = {"within_spec": bool(reachable)}
            entry["arms"] = [{k: v for k, v in arm.items() if k in ARM_AS_IT_IS} for arm in entry["arms"]]
            for key in ("cams", "other_cams", "unset"):
                entry.pop(key, None)
            # whole steps of arms within their ends are settings too
            arms = bool(entry["arms"])
            out, sure_in = out or not reachable, sure_in and reachable and not arms
            continue
        within = entry["exact"]["within_spec"]
        if family is None:
            entry["rounded"], inside = rounded(side, state, usable, settled, n, targets, tolerances)
        else:
            inside = whole_steps_inside(side, state, usable, settled, n, targets, tolerances)
        out = out or not (within or any(inside))
        sure_in = sure_in and within and all(inside)
    return expected, 3 if out else 0 if sure_in else None


def nothing_in_reach(side, base, n, usable, targets, tolerances):
    """Settings at random, and all ends, of adjusters that are said not to reach the spec: none does."""
    rng = np.random.default_rng(1)
    low, high = ([float(getattr(a, end)) for a in usable] for end in ("low", "high"))
    values = rng.uniform(low, high, (300, len(usable)))
    ends = np.array(np.meshgrid(*zip(low, high))).reshape(len(usable), -1).T
    _, camber, toe = ref.together(side, base, n, usable, np.vstack([values, ends]))
    assert np.nanmin(ref.worst_miss(camber, toe, targets, tolerances)) > 1


def at_steps(side, state, n, combination, targets, tolerances):
    """Camber and toe with arms at whole steps, and whether they are well within the spec."""
    values = [(a, a.home + k * side.links[a.link].arm.lead * side.links[a.link].arm.step) for a, k in combination]
    inner, lengths = ref.imposed(side, state, values)
    now = ref.figures(ref.forward(side, state.drop, inner, lengths, start=state).points, n)
    return now, bool(ref.excess(now, targets, tolerances) < 0.99)


def whole_steps_inside(side, state, usable, settled, n, targets, tolerances):
    """Whether the whole steps on either side of the exact lengths keep the spec."""
    choices = []
    for p, a in enumerate(usable):
        if a.kind == "cam" or not settled.turned(p):
            continue
        step = side.links[a.link].arm.lead * side.links[a.link].arm.step
        at = (settled.values[p] - a.home) / step
        steps = {int(np.floor(at)), int(np.ceil(at))}
        allowed = [k for k in sorted(steps) if a.low - X("1e-9") <= a.home + k * step <= a.high + X("1e-9")]
        require(allowed)
        choices.append([(a, k) for k in allowed])
    return [at_steps(side, state, n, c, targets, tolerances)[1] for c in itertools.product(*choices)]


def rounded(side, state, usable, settled, n, targets, tolerances):
    """Alignment with arms at whole steps near the exact plan (cams where the exact plan put them). The row of toe steps
    follows the camber arm, because a choice of steps made together runs along such a row."""
    arms = [(a, p) for p, a in enumerate(usable) if a.kind == "arm"]
    arms.sort(key=lambda arm: arm[0].label)  # camber first
    if not arms:
        return None, [True]
    steps = [side.links[a.link].arm.lead * side.links[a.link].arm.step for a, _ in arms]
    at = [(settled.values[p] - a.home) / s for (a, p), s in zip(arms, steps)]

    def near(i, x, count):
        """`count` whole steps nearest x within the arm's limits; of an arm that is left at its end, the last one."""
        arm, place = arms[i]
        candidates = sorted(
            range(int(np.floor(x)) - 2 * count, int(np.floor(x)) + 2 * count + 2), key=lambda k: abs(k - x)
        )
        allowed = [k for k in candidates if arm.low - X("1e-9") <= arm.home + k * steps[i] <= arm.high + X("1e-9")]
        return sorted(allowed[: 1 if settled.met and place in settled.ends else count])

    if len(arms) == 1:
        combinations = [(k,) for k in near(0, at[0], 6)]
    else:
        # toe arm's steps per step of the camber arm that keep the toe
        slope = ref.slopes(side, state, n, [a for a, _ in arms])["toe"]
        ratio = -slope[0] * float(steps[0]) / (slope[1] * float(steps[1]))
        combinations = []
        for k in near(0, at[0], 21):
            combinations += [(k, m) for m in near(1, float(at[1]) + ratio * (k - float(at[0])), 2)]
    require(combinations)
    rows, inside = [], []
    for combination in combinations:
        chosen = [(a, k) for (a, _), k in zip(arms, combination)]
        now, well_inside = at_steps(side, state, n, chosen, targets, tolerances)
        if max(abs(k - x) for k, x in zip(combination, at)) < 1:
            inside.append(well_inside)
        rows.append([*combination, *(round(float(now[f] / DEG), 13) for f in FIGURES)])
    table = {"links": [side.links[a.link].name for a, _ in arms], "step_mm": [float(s) for s in steps], "rows": rows}
    return table, inside or [False]


def cams_case(text, options, family=None):
    profile, sides = ref.setup(text, options)
    targets, tolerances = ref.wanted(profile, options)
    level = options.drop is not None and options.front_drop is None
    tasks = [ref.task(side, drop, options, stock=True) for side, drop, _ in sides]
    # cheap doubts first
    for (side, drop, n), (_, usable, base) in zip(sides, tasks):
        require(usable)
        away_from_edge(ref.least_excess(side, base, n, usable, targets, tolerances)[0])
        settled = ref.settle(side, base, n, usable, targets, tolerances)
        require(family or not settled.doubts)
        plausible(side, settled.state.points, n)
    expected = ref.cams(text, options)
    exit_code = 0
    for entry, (side, drop, n), (_, usable, base) in zip(expected["sides"], sides, tasks):
        least, sure, doubts = X(entry.pop("least_excess")), entry.pop("run_out_sure"), entry.pop("doubts")
        honest_grid(side, base, n, usable, targets, tolerances, least)
        if family is None:
            entry.pop("other_cams")
            for cam in entry["cams"]:
                cam.pop("sets", None)
        else:
            now = {f: X(entry["best"][f"{f}_deg"]) * DEG for f in FIGURES}
            excess = ref.excess(now, targets, tolerances)
            away_from_edge(excess)
            if doubts or (entry["within_spec"] and excess > 1):
                for key in ("best", "cams", "other_cams"):
                    entry.pop(key)
        if sure and level:
            run_out = entry["run_out_drop_mm"]
            if run_out:  # nothing just below it
                lower = ref.forward(side, run_out + 0.05)
                least, _, _ = ref.least_excess(side, lower, n, usable, targets, tolerances)
                require(least > 1 + 1e-6)
                honest_grid(side, lower, n, usable, targets, tolerances, least)
        else:
            entry.pop("run_out_drop_mm")  # what the other side and the front do meanwhile is left open
        exit_code = exit_code if entry["within_spec"] else 3
    return expected, exit_code


def honest_grid(side, base, n, usable, targets, tolerances, least):
    """Where the spec is said to be out of reach, no setting of a dense grid over all that the cams can do is better than the
    optimum found. Of more than two cams the grid goes through a cubic polynomial in the shifts, and what looks best there
    is solved exactly. Where it is in reach, the settings found show it."""
    if least <= 1:
        return
    count = len(usable)
    low, high = (np.array([float(getattr(a, end)) for a in usable]) for end in ("low", "high"))

    def grid(points):
        axes = np.array(np.meshgrid(*[np.linspace(-1, 1, points)] * count)).reshape(count, -1).T
        return (low + high) / 2 + axes * (high - low) / 2, axes

    def exact(values):
        _, camber, toe = ref.together(side, base, n, usable, values)
        return camber, toe

    if count <= 2:
        best = np.nanmin(ref.worst_miss(*exact(grid(41)[0]), targets, tolerances))
        require(best > float(least) - 1e-9)
        return
    powers = [p for p in itertools.product(range(4), repeat=count) if sum(p) <= 3]

    def terms(axes):
        return np.stack([np.prod(axes ** np.array(p), axis=1) for p in powers], axis=1)

    values, axes = grid(5 if count == 3 else 4)
    known = exact(values)
    fits = [np.linalg.lstsq(terms(axes), figure, rcond=None)[0] for figure in known]
    wrong = max(
        np.max(np.abs(terms(axes) @ fit - figure)) / float(tolerances[f]) for f, fit, figure in zip(FIGURES, fits, known)
    )
    values, axes = grid(41 if count == 3 else 17)
    model = ref.worst_miss(*(terms(axes) @ fit for fit in fits), targets, tolerances)
    nearest = np.argsort(model)[:200]
    best = np.nanmin(ref.worst_miss(*exact(values[nearest]), targets, tolerances))
    require(wrong < 0.05 and best > float(least) - 1e-9 and np.min(model) > float(least) - 2 * wrong - 1e-9)


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
    name, index = job
    family = name if name in FAMILIES else None
    command = name if family is None else "plan" if family in PLAN_ONLY or index % 2 else "cams"
    for attempt in range(500):
        rng = np.random.default_rng([SEED, [*COUNTS, *FAMILIES].index(name), index, attempt])
        try:
            profile = random_profile(rng, command, FAMILIES.get(family))
            if family == "right-differs":
                cams_elsewhere_on_the_right(rng, profile)
            text = toml_text(profile)
            left, right, _ = ref.read_profile(text)
            sound_side(left, family is None)
            sound_side(right, family is None)
            if command != "lower":
                require(
                    any(k in l for l in profile["link"] for k in (("arm", "cam") if command == "plan" else ("cam",)))
                )
            args = random_options(rng, profile, command)
            if family == "pitch-arm":
                args = with_pitch_arm(rng, profile, args)
            options = ref.options_from([command, "profile", *args])
            if family and rng.uniform() < 0.7:
                args = aimed(rng, text, options, args)
                options = ref.options_from([command, "profile", *args])
            _, sides = ref.setup(text, options)
            for side, drop, n in sides:
                plausible(side, ref.forward(side, drop).points, n)
                require(drop < 78 and drop > -60)
            if command == "lower":
                expected, code = lower_case(text, options)
            else:
                expected, code = {"plan": plan_case, "cams": cams_case}[command](text, options, family)
        except (Unsound, NoPosition):
            continue
        case = {"id": f"{name}-{index:03}", "command": command, "args": args, "profile": text, "expect": expected}
        if code is not None:
            case["exit"] = code
        return case
    raise SystemExit(f"no sound layout for {job}")


def aimed(rng, text, options, args):
    """Targets that the left wheel reads at some settings of its adjusters, each at home, at an end or between."""
    _, sides = ref.setup(text, options)
    side, drop, n = sides[0]
    _, usable, base = ref.task(side, drop, options, stock=options.command == "cams")
    require(usable)
    values = []
    for a in usable:
        low, high, home = float(a.low), float(a.high), float(a.home)
        if a.kind == "arm":  # not far from home, so that it is at its end where that is near
            at_end, between = home, np.clip(home + rng.uniform(-8, 8), low, high)
        else:
            at_end, between = (low, high)[rng.integers(2)], rng.uniform(low, high)
        values.append((home, at_end, between)[rng.choice(3, p=[0.3, 0.2, 0.5])])
    _, camber, toe = ref.together(side, base, n, usable, [values])
    camber, toe = (round(float(np.degrees(v[0])), 2) for v in (camber, toe))
    require(abs(camber) < 4 and abs(toe) < 1.5)
    for key, value in (("--camber", camber), ("--toe", toe)):
        if key in args:
            at = args.index(key)
            args = args[:at] + args[at + 2 :]
        args = [*args, key, repr(value)]
    return args


def with_pitch_arm(rng, profile, args):
    """The arm that sets pitch is fitted, and most of the others."""
    arms = [l["name"] for l in profile["link"] if "arm" in l]
    chosen = [a for a in arms if a == "traction" or rng.uniform() < 0.8]
    if "--fit" in args:
        at = args.index("--fit")
        args = args[:at] + args[at + 2 :]
    return [*args, "--fit", ",".join(chosen)]


def write(folder, name, jobs, pool):
    cases = pool.map(one_case, jobs, chunksize=1)
    with open(os.path.join(folder, name), "w", encoding="utf-8") as f:
        f.writelines(json.dumps(case, separators=(",", ":")) + "\n" for case in cases)


# Cars of tests/cars, asked as a workshop would; `plan` with all arms and with the upper one alone.
CARS = ["right-hand-cam", "lower-cam", "two-camber-cams", "cam-of-no-figure"]
ASKED = [("cams", "--drop 20"), ("cams", "--drop 40"), ("plan", "--drop 40"), ("plan", "--drop 40 --fit upper")]


def car_cases():
    for car in CARS:
        with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "cars", f"{car}.toml")) as f:
            text = f.read()
        for command, words in ASKED:
            options = ref.options_from([command, "profile", *words.split()])
            expected, code = {"plan": plan_case, "cams": cams_case}[command](text, options, "car")
            line = {"id": f"{car} {command} {words}", "command": command, "profile": text, "args": words.split()}
            yield line | {"expect": expected} | ({} if code is None else {"exit": code})


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))
    with multiprocessing.Pool() as pool:
        write(folder, "cases.jsonl", [(c, k) for c, count in COUNTS.items() for k in range(1, count + 1)], pool)
        write(folder, "adjusters.jsonl", [(f, k) for f in FAMILIES for k in range(1, EACH + 1)], pool)
    with open(os.path.join(folder, "adjusters.jsonl"), "a", encoding="utf-8") as f:
        f.writelines(json.dumps(line) + "\n" for line in car_cases())


if __name__ == "__main__":
    main()
