"""An independent reference for the answers of `lower`, `plan` and `cams`.

It is written from the project's definitions alone and shares no code and no formulation with the program.
The knuckle is not a pose here but a cloud of points (wheel centre, spindle tip, outer pivots) whose Cartesian
coordinates are the unknowns ("natural coordinates"). Equations: every distance between two knuckle points stays
what it was, every rod keeps its length, the wheel centre stands at the prescribed height; and, for the inverse
questions, camber and toe, which are linear in the points. There are no rotations anywhere. The system has more
equations than unknowns but is consistent; it is solved by least squares along small steps of drop, then polished by
Gauss-Newton with residuals in extended precision.

Units: mm and degrees at the edges, mm and radians inside. Axes: x forward, y left, z up. A right side is computed as
its mirror image (all y negated), so that everything below may think of a left wheel.
Only plain numbers are read from profiles, no quantities with units.
"""

import argparse
import itertools
import json
import math
import re
import sys
import tomllib
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import brentq, least_squares

X = np.longdouble  # 64-bit mantissa where the machine has it; plain double is still good for about 1e-12 mm
PI = X(4) * np.arctan(X(1))
DEG = PI / X(180)
SPINDLE = X(250)  # mm from the wheel centre to the spindle tip: about the size of the knuckle, for good conditioning
DROP_STEP = 5.0  # mm of drop per continuation step
MIRROR = np.array([1, -1, 1], dtype=X)
FIGURES = ("camber", "toe")


class NoPosition(Exception):
    """The rods cannot be assembled as asked (or not on the branch that starts at the reference)."""


# ---------------------------------------------------------------------------------------------------------------------
# Profile


@dataclass
class Cam:
    eccentricity: X
    along: np.ndarray  # unit
    setting: X  # rad, from the slot centre
    centre: np.ndarray  # the slot centre


@dataclass
class Arm:
    shortest: X
    longest: X
    lead: X  # mm per turn
    step: X  # turns


@dataclass
class Link:
    name: str
    sets: str | None
    subframe: np.ndarray
    knuckle: np.ndarray
    length: X  # stock length
    cam: Cam | None
    arm: Arm | None


@dataclass
class Side:
    name: str
    centre: np.ndarray
    camber: X
    toe: X
    links: list[Link]
    # natural coordinates, filled by `knuckle_points`
    points: np.ndarray = None
    outer: list[int] = field(default_factory=list)  # the point each link holds
    pairs: tuple = None
    distances: np.ndarray = None


def vector(values):
    return np.array([X(v) for v in values], dtype=X)


def norm(v):
    return np.sqrt(np.sum(v * v))


def thread(text):
    """Pitch in mm and hand (+1 right, -1 left) of "M16x1.5 LH" or "5/8-18 UNF RH"."""
    metric = re.fullmatch(r"M(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?) (RH|LH)", text)
    if metric:
        return X(metric[2]), 1 if metric[3] == "RH" else -1
    inch = re.fullmatch(r"(?:\d+ )?\d+(?:/\d+)?-(\d+)(?: UN[A-Z]*)? (RH|LH)", text)
    if inch:
        return X("25.4") / X(inch[1]), 1 if inch[2] == "RH" else -1
    raise SystemExit(f"thread not understood: {text!r}")


def lead(threads):
    """Opposite hands add up, equal hands subtract."""
    if len(threads) == 1:
        return thread(threads[0])[0]
    (p, hand), (q, other) = map(thread, threads)
    return p + q if hand != other else abs(p - q)


def merged(base, over):
    """`over` laid on `base`, table by table, so that an override may name a single key of a table."""
    result = dict(base)
    for key, value in over.items():
        result[key] = merged(base[key], value) if isinstance(value, dict) and isinstance(base.get(key), dict) else value
    return result


def mirrored_override(table):
    """An override for the right side, brought to the mirrored frame: points and directions change the sign of y."""
    result = {}
    for key, value in table.items():
        if isinstance(value, dict):
            result[key] = mirrored_override(value)
        elif key in ("centre", "subframe", "knuckle", "along"):
            result[key] = [value[0], -value[1], value[2]]
        else:
            result[key] = value
    return result


def read_link(table):
    subframe, knuckle = vector(table["subframe"]), vector(table["knuckle"])
    cam = arm = None
    if "cam" in table:
        t = table["cam"]
        e, u, setting = X(t["eccentricity"]), vector(t["along"]), X(t.get("setting", 0.0)) * DEG
        u = u / norm(u)
        cam = Cam(e, u, setting, subframe - e * np.sin(setting) * u)
    if "arm" in table:
        t = table["arm"]
        default = X(1) / X(12) if len(t["threads"]) == 2 else X(1) / X(2)
        arm = Arm(X(t["shortest"]), X(t["longest"]), lead(t["threads"]), X(t["step"]) if "step" in t else default)
    return Link(table["name"], table.get("sets"), subframe, knuckle, norm(knuckle - subframe), cam, arm)


def read_side(name, wheel, links):
    side = Side(
        name, vector(wheel["centre"]), X(wheel["camber"]) * DEG, X(wheel["toe"]) * DEG, [read_link(t) for t in links]
    )
    knuckle_points(side)
    return side


def read_profile(text):
    """The left and the right side and the rest of the profile."""
    profile = tomllib.loads(text)
    if profile["format"] != 1:
        raise SystemExit("only format 1 is known")
    left = read_side("left", profile["wheel"], profile["link"])
    over = profile.get("right", {})
    by_name = {t["name"]: mirrored_override(t) for t in over.get("link", [])}
    links = [merged(t, by_name.get(t["name"], {})) for t in profile["link"]]
    right = read_side("right", merged(profile["wheel"], mirrored_override(over.get("wheel", {}))), links)
    return left, right, profile


# ---------------------------------------------------------------------------------------------------------------------
# Natural coordinates


def spindle_axis(camber, toe):
    """Unit, outboard, of a left wheel over level ground."""
    return np.array([np.sin(toe) * np.cos(camber), np.cos(toe) * np.cos(camber), -np.sin(camber)], dtype=X)


def knuckle_points(side):
    """Point 0: wheel centre; 1: spindle tip; then the outer pivots, a shared one once."""
    points = [side.centre, side.centre + SPINDLE * spindle_axis(side.camber, side.toe)]
    side.outer = []
    for link in side.links:
        for i in range(2, len(points)):
            if np.all(points[i] == link.knuckle):
                break
        else:
            i = len(points)
            points.append(link.knuckle)
        side.outer.append(i)
    side.points = np.array(points, dtype=X)
    i, j = np.triu_indices(len(points), 1)
    side.pairs = (i, j)
    side.distances = np.sqrt(np.sum((side.points[i] - side.points[j]) ** 2, axis=1))


@dataclass
class State:
    """What is imposed: height, inner pivots, rod lengths; and the knuckle points that answer it."""

    drop: X
    inner: np.ndarray
    lengths: np.ndarray
    points: np.ndarray


@dataclass
class Free:
    """One further unknown: a common change of some rods' lengths, or a shift of one inner pivot along a direction."""

    links: list[int]
    along: np.ndarray | None = None  # a cam's slot direction; None: a length


def residuals(side, state, free, rows, q, points):
    """All equations in mm. Squared distances over twice their nominal value: polynomials, no square roots."""
    i, j = side.pairs
    inner, lengths = shifted(state, free, q)
    between = points[i] - points[j]
    rods = points[side.outer] - inner
    tip = points[1] - points[0]
    return np.concatenate(
        [
            (np.sum(between**2, axis=1) - side.distances**2) / (2 * side.distances),
            (np.sum(rods**2, axis=1) - lengths**2) / (2 * state.lengths),
            [points[0, 2] - side.centre[2] - state.drop],
            [np.dot(v, tip if line is None else line @ points) - b for v, b, line in rows],
        ]
    )


def shifted(state, free, q):
    inner, lengths = state.inner.copy(), state.lengths.copy()
    for f, value in zip(free, q):
        for k in f.links:
            if f.along is None:
                lengths[k] += value
            else:
                inner[k] += value * f.along
    return inner, lengths


def jacobian(side, state, free, rows, q, points):
    """Of `residuals`; columns: 3 per point, then the further unknowns. Double precision is enough for the direction."""
    i, j = side.pairs
    n, m, p, k = len(i), len(side.links), len(points), len(free)
    inner, lengths = shifted(state, free, q)
    J = np.zeros((n + m + 1 + len(rows), 3 * p + k))
    between = ((points[i] - points[j]) / side.distances[:, None]).astype(float)
    r = np.arange(n)
    rods = ((points[side.outer] - inner) / state.lengths[:, None]).astype(float)
    for c in range(3):
        J[r, 3 * i + c] = between[:, c]
        J[r, 3 * j + c] = -between[:, c]
        J[n + np.arange(m), 3 * np.array(side.outer) + c] = rods[:, c]
    J[n + m, 2] = 1
    for row, (v, _, line) in enumerate(rows):
        if line is None:
            J[n + m + 1 + row, 0:3] = -v.astype(float)
            J[n + m + 1 + row, 3:6] = v.astype(float)
        else:
            J[n + m + 1 + row, : 3 * p] = np.outer(line, v).astype(float).ravel()
    for column, f in enumerate(free):
        for link in f.links:
            if f.along is None:
                J[n + link, 3 * p + column] = -float(lengths[link] / state.lengths[link])
            else:
                J[n + link, 3 * p + column] = -float(np.dot(rods[link], f.along.astype(float)))
    return J


def polish(side, state, free=(), rows=(), q=None, points=None, steps=25):
    """Gauss-Newton with residuals in extended precision. Returns the points and the further unknowns."""
    points = (state.points if points is None else points).copy()
    q = np.zeros(len(free), dtype=X) if q is None else q.copy()
    size = math.inf
    for _ in range(steps):
        r = residuals(side, state, free, rows, q, points)
        J = jacobian(side, state, free, rows, q, points)
        step = np.linalg.lstsq(J, -r.astype(float), rcond=None)[0]
        points = points + step[: points.size].reshape(-1, 3)
        q = q + step[points.size :]
        before, size = size, np.max(np.abs(step))
        if not np.isfinite(size) or size > 1e4:
            raise NoPosition
        if size < 1e-15 or (size < 1e-13 and size >= before / 2):
            break
    r = np.max(np.abs(residuals(side, state, free, rows, q, points)))
    if r > 1e-12:
        raise NoPosition(f"residual {float(r):.1e} mm left")
    return points, q


def solve(side, state, free=(), rows=(), q=None, points=None):
    """One continuation step: least squares, then polish."""
    start = state.points if points is None else points
    q = np.zeros(len(free), dtype=X) if q is None else q
    shape, size = start.shape, start.size

    def unpack(x):
        return x[:size].reshape(shape).astype(X), x[size:].astype(X)

    def f(x):
        p, s = unpack(x)
        return residuals(side, state, free, rows, s, p).astype(float)

    def df(x):
        p, s = unpack(x)
        return jacobian(side, state, free, rows, s, p)

    x0 = np.concatenate([start.astype(float).ravel(), q.astype(float)])
    found = least_squares(f, x0, jac=df, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=200)
    p, s = unpack(found.x)
    return polish(side, state, free, rows, s, p)


def reference_state(side):
    return State(
        X(0), np.array([l.subframe for l in side.links]), np.array([l.length for l in side.links]), side.points
    )


def forward(side, drop, inner=None, lengths=None, start=None):
    """The knuckle at `drop`, with other inner pivots or lengths if given, followed from `start` (the reference)."""
    state = start or reference_state(side)
    first, drop = state.drop, X(drop)
    n = max(1, math.ceil(abs(float(drop - first)) / DROP_STEP))
    for k in range(1, n + 1):
        state = replace(state, drop=first + (drop - first) * X(k) / X(n))
        state = replace(state, points=solve(side, state)[0])
    new_inner = state.inner if inner is None else inner
    new_lengths = state.lengths if lengths is None else lengths
    change = max(np.max(np.abs(new_inner - state.inner)), np.max(np.abs(new_lengths - state.lengths)))
    n = math.ceil(float(change) / DROP_STEP)
    old_inner, old_lengths = state.inner, state.lengths
    for k in range(1, n + 1):
        t = X(k) / X(n)
        state = replace(
            state, inner=old_inner + t * (new_inner - old_inner), lengths=old_lengths + t * (new_lengths - old_lengths)
        )
        state = replace(state, points=solve(side, state)[0])
    return state


# ---------------------------------------------------------------------------------------------------------------------
# Ground and figures


def ground(profile, left, right, drop_left, drop_right, front_drop):
    """Ground normal in car axes. Without a front drop the front goes down like the rear: no rake.
    Track: between the wheel centres as the profile gives them (the right one stored mirrored)."""
    dl, dr = X(drop_left), X(drop_right)
    rake = X(0)
    if front_drop is not None:
        rake = (X(front_drop) - (dl + dr) / 2) / X(profile["car"]["wheelbase"])
    track = left.centre[1] + right.centre[1]
    n = np.array([-rake, -(dl - dr) / track, X(1)], dtype=X)
    return n / norm(n)


def ground_axes(n):
    xg = np.array([1, 0, 0], dtype=X)
    xg = xg - n[0] * n
    xg = xg / norm(xg)
    return xg, np.cross(n, xg)


def figures(points, n):
    """Camber and toe in rad of the (mirrored) left wheel over ground with normal n."""
    a = points[1] - points[0]
    a = a / norm(a)
    xg, yg = ground_axes(n)
    return {"camber": -np.arcsin(np.dot(a, n)), "toe": np.arctan2(np.dot(a, xg), np.dot(a, yg))}


def figure_row(figure, value, n, side=None):
    """(v, b, line) with v . (line @ points) = b: the figure as a linear equation in the knuckle points. Without a line it
    is the spindle, from the centre to the tip; pitch needs the side."""
    if figure == "camber":
        return n, -SPINDLE * np.sin(value), None
    if figure == "pitch":
        return np.array([np.cos(value), 0, -np.sin(value)], dtype=X), X(0), plumb(side)
    xg, yg = ground_axes(n)
    return xg * np.cos(value) - yg * np.sin(value), X(0), None


def plumb(side):
    """Weights of the knuckle points, 0 in all, that give the line of the knuckle that was vertical at the reference, 250 mm
    of it: the points keep their distances, so the same weights give it wherever the knuckle is."""
    arms = side.points[1:] - side.points[0]
    wanted = np.array([X(0), X(0), SPINDLE])
    weights = np.zeros(len(arms), dtype=X)
    for _ in range(4):  # refined to extended precision
        rest = (wanted - weights @ arms).astype(float)
        weights = weights + np.linalg.lstsq(arms.T.astype(float), rest, rcond=None)[0]
    return np.concatenate([[-np.sum(weights)], weights])


def pitch(side, points):
    """Turn of the knuckle about the car's y axis since the reference, rad, positive: top forward."""
    line = plumb(side) @ points
    return np.arctan2(line[0], line[2])


def degrees(figure_values):
    return {f"{k}_deg": float(v / DEG) for k, v in figure_values.items()}


# ---------------------------------------------------------------------------------------------------------------------
# Adjusting: which arms and cams meet the figures. The rule is written out in `settle`, the one place that knows it; the
# settings of all states that it compares are found together, in plain doubles, and the one taken is polished afterwards.

PARALLEL = 0.05  # sine of the angle between two effects in tolerances, below which two adjusters do not set two figures
ROUNDING = 1e-9  # mm; within this of an end is within it
LOW, HIGH = 0, 1


@dataclass(eq=False)
class Adjuster:
    link: int
    label: str | None  # what the link is used to set
    kind: str  # "arm" or "cam"
    low: X  # limits of the length (arm) or of the shift from the slot centre (cam)
    high: X
    home: X  # where it stays if it is not used

    def end(self, which):
        return self.high if which == HIGH else self.low


def adjusters(side, fitted, keep=False):
    """Every fitted arm and every cam that does not sit on a link that sets pitch, in the order of the file."""
    result = []
    for k, link in enumerate(side.links):
        if link.name in fitted:
            result.append(Adjuster(k, link.sets, "arm", link.arm.shortest, link.arm.longest, link.length))
        if link.cam and link.sets != "pitch":
            e = link.cam.eccentricity
            locked = link.name in fitted and not keep
            home = X(0) if locked else e * np.sin(link.cam.setting)
            result.append(Adjuster(k, link.sets, "cam", -e, e, home))
    return result


def imposed(side, base, values):
    """`base` with arms and cams at `values`, a list of (adjuster, length or shift)."""
    inner, lengths = base.inner.copy(), base.lengths.copy()
    for a, value in values:
        if a.kind == "arm":
            lengths[a.link] = value
        else:
            cam = side.links[a.link].cam
            inner[a.link] = cam.centre + value * cam.along
    return inner, lengths


def unknowns(side, usable):
    return [Free([a.link], None if a.kind == "arm" else side.links[a.link].cam.along) for a in usable]


def slopes(side, state, n, usable, of=FIGURES):
    """What a mm of each adjuster alone does to a figure, rad: {figure: one number an adjuster}."""
    J = jacobian(side, state, unknowns(side, usable), (), np.zeros(len(usable), dtype=X), state.points)
    p = state.points.size
    dx = np.linalg.lstsq(J[:, :p], -J[:, p:], rcond=None)[0]
    return {f: figure_slope(f, state.points, n, dx, side) for f in of}


def together(side, base, n, usable, values, free=None, rows=()):
    """Many settings of one side at once: `values`, a row of lengths and shifts each. With `free` (per row the adjusters
    that may take any value) and `rows` (as many linear figures) those are solved for. Returns values, camber and toe;
    not-a-number where Newton's way does not end."""
    K, P = len(values), len(base.points)
    i, j = side.pairs
    pairs, m = len(i), len(side.links)
    V = np.array(values, float).reshape(K, len(usable)).copy()
    free = np.zeros((K, 0), int) if free is None else np.array(free, int).reshape(K, -1)
    nf, size = free.shape[1], 3 * P + free.shape[1]
    points = np.repeat(base.points.astype(float)[None], K, axis=0)
    nominal, distances = base.lengths.astype(float), side.distances.astype(float)
    outer, height = np.array(side.outer), float(side.centre[2] + base.drop)
    along = np.array(
        [np.zeros(3) if a.kind == "arm" else side.links[a.link].cam.along.astype(float) for a in usable]
    ).reshape(-1, 3)
    centre = np.array(
        [np.zeros(3) if a.kind == "arm" else side.links[a.link].cam.centre.astype(float) for a in usable]
    ).reshape(-1, 3)
    is_arm = np.array([a.kind == "arm" for a in usable], bool)
    at = np.array([a.link for a in usable], int)
    every, r, k = np.arange(K), np.arange(pairs), pairs + np.arange(m)
    worst, alive = np.full(K, np.inf), np.ones(K, bool)
    for _ in range(60):
        inner = np.repeat(base.inner.astype(float)[None], K, axis=0)
        lengths = np.repeat(nominal[None], K, axis=0)
        for c, a in enumerate(usable):
            if a.kind == "arm":
                lengths[:, a.link] = V[:, c]
            else:
                inner[:, a.link] = centre[c] + V[:, c, None] * along[c]
        between, rods = points[:, i] - points[:, j], points[:, outer] - inner
        R = np.zeros((K, pairs + m + 1 + len(rows)))
        R[:, :pairs] = (np.sum(between**2, axis=2) - distances**2) / (2 * distances)
        R[:, pairs : pairs + m] = (np.sum(rods**2, axis=2) - lengths**2) / (2 * nominal)
        R[:, pairs + m] = points[:, 0, 2] - height
        J = np.zeros((K, R.shape[1], size))
        for c in range(3):
            J[:, r, 3 * i + c] = between[:, :, c] / distances
            J[:, r, 3 * j + c] = -between[:, :, c] / distances
            J[:, k, 3 * outer + c] = rods[:, :, c] / nominal
        J[:, pairs + m, 2] = 1
        for row, (v, b, line) in enumerate(rows):
            weights = np.zeros(P) if line is None else line.astype(float)
            if line is None:
                weights[:2] = -1, 1
            full = np.outer(weights, v.astype(float)).ravel()
            J[:, pairs + m + 1 + row, : 3 * P] = full
            R[:, pairs + m + 1 + row] = points.reshape(K, -1) @ full - float(b)
        for c in range(nf):
            u, link = free[:, c], at[free[:, c]]
            rod = rods[every, link]
            J[every, pairs + link, 3 * P + c] = np.where(
                is_arm[u], -lengths[every, link] / nominal[link], -np.sum(rod * along[u], axis=1) / nominal[link]
            )
        Jt = J.transpose(0, 2, 1)
        try:
            step = np.linalg.solve(Jt @ J + 1e-18 * np.eye(size), -(Jt @ R[:, :, None]))[:, :, 0]
        except np.linalg.LinAlgError:
            step = np.array([np.linalg.lstsq(J[q], -R[q], rcond=None)[0] for q in range(K)])
        longest = np.max(np.abs(step), axis=1, initial=0.0)
        step *= np.minimum(1.0, 15.0 / np.maximum(longest, 1e-300))[:, None]
        alive &= np.all(np.isfinite(step), axis=1) & (np.max(np.abs(V), axis=1, initial=0.0) < 1e4)
        step[~alive] = 0.0
        points += step[:, : 3 * P].reshape(K, P, 3)
        for c in range(nf):
            V[every, free[:, c]] += step[:, 3 * P + c]
        worst = np.where(alive, np.max(np.abs(R), axis=1), np.inf)
        if np.all(~alive | ((longest < 1e-9) & (worst < 1e-9))):
            break
    good = alive & (worst < 1e-8) & (longest < 1e-8)
    nx, (xg, yg) = n.astype(float), (g.astype(float) for g in ground_axes(n))
    a = (points[:, 1] - points[:, 0]) / float(SPINDLE)
    camber = np.where(good, -np.arcsin(np.clip(a @ nx, -1, 1)), np.nan)
    toe = np.where(good, np.arctan2(a @ xg, a @ yg), np.nan)
    V[~good] = np.nan
    return V, camber, toe


@dataclass
class Settled:
    """What the rule takes: every adjuster at home, at an end or free."""

    state: State
    values: list  # one an adjuster
    free: tuple  # places in the list of adjusters
    ends: dict  # place: LOW or HIGH
    sets: dict  # place of a free one: the figure, where only one way to match them keeps the most labels
    unset: tuple  # figures that nothing sets
    met: bool
    level: int
    doubts: list  # what the answer would hang on besides the rule: rounding, or more than one reading of it

    def turned(self, place):
        return place in self.free or place in self.ends


def settle(side, base, n, usable, targets, tolerances):
    """Adjusts to the target.

    A state puts each adjuster at home, at an end, or lets it go free to meet a figure. The first of these that has a
    state with all figures on target and all free adjusters within their ends: none at an end; one at the end that it lay
    beyond before; two; and so on. Of several: the fewest cams away from home, the least movement in ranges, the order of
    the file. If there is none, as many figures as can be are met by one free adjuster each."""
    answers = []
    for lost in ("linear", "skip", HIGH):  # what is made of an adjuster that no value of its own brings to the target
        search = Search(side, base, n, usable, targets, tolerances, lost)
        answers.append(search.answer())
        if not search.were_lost:
            break
    first = answers[0]
    if any(a.free != first.free or a.ends != first.ends for a in answers):
        first.doubts.append("an adjuster that has no value at all")
    return first


class Search:
    def __init__(self, side, base, n, usable, targets, tolerances, lost):
        self.side, self.base, self.n, self.usable = side, base, n, usable
        self.targets, self.tolerances, self.lost = targets, tolerances, lost
        self.labels = {a.label for a in usable}
        self.arms = {a.label for a in usable if a.kind == "arm"}
        self.figures = FIGURES + (("pitch",) if "pitch" in self.arms else ())
        slope = slopes(side, base, n, usable, self.figures)
        self.slope = slope
        self.effects = np.array([slope[f] / float(tolerances[f]) for f in FIGURES]).reshape(2, len(usable))
        self.home = np.array([float(a.home) for a in usable])
        self.low = np.array([float(a.low) for a in usable])
        self.high = np.array([float(a.high) for a in usable])
        self.doubts, self.were_lost = [], False

    # -- what the rule allows

    def may_set(self, place, figure):
        a = self.usable[place]
        if figure == "pitch":
            return a.kind == "arm" and a.label == "pitch"
        return a.kind == "cam" or a.label == figure or (figure not in self.labels and a.label != "pitch")

    def may_leave_home(self, place, ends):
        a = self.usable[place]
        if a.kind == "arm":
            return True
        ended = {self.usable[e].label for e in ends if self.usable[e].kind == "arm"}
        if any(f not in self.labels for f in FIGURES):
            return True
        return any(f not in self.arms or f in ended for f in ((a.label,) if a.label else FIGURES))

    def may_miss(self, place, figure):
        """Where not all figures are met, a link sets what it is used to set, if any link is used for that."""
        a = self.usable[place]
        if figure == "pitch" or a.label == "pitch":
            return self.may_set(place, figure)
        return a.label in (None, figure) or figure not in self.labels

    def parallel(self, p, q):
        u, v = self.effects[:, p], self.effects[:, q]
        sine = abs(u[0] * v[1] - u[1] * v[0]) / (np.linalg.norm(u) * np.linalg.norm(v))
        if abs(sine - PARALLEL) < 2e-3:
            self.doubts.append("nearly parallel or not")
        return sine < PARALLEL

    def matchings(self, free, figures):
        """Ways to match the free adjusters one to one with the figures."""
        result = []
        for order in itertools.permutations(free):
            if not all(self.may_set(p, f) for p, f in zip(order, figures)):
                continue
            by = dict(zip(figures, order))
            if "camber" in by and "toe" in by:
                own = all(self.usable[by[f]].label == f for f in FIGURES)
                if not own and self.parallel(by["camber"], by["toe"]):
                    continue
            result.append(by)
        return result

    def admissible(self, free, figures, ends):
        moved = [*free, *ends]
        return all(self.may_leave_home(p, ends) for p in moved) and bool(self.matchings(free, figures))

    # -- solving

    def row(self, figure):
        return figure_row(figure, self.targets[figure], self.n, self.side)

    def solved(self, states, figures):
        """Values, camber and toe of (free, ends) pairs, free ones meeting the figures."""
        if not states:
            return np.zeros((0, len(self.usable))), np.zeros(0), np.zeros(0)
        values = np.repeat(self.home[None], len(states), axis=0)
        for row, (_, ends) in zip(values, states):
            for p, which in ends.items():
                row[p] = float(self.usable[p].end(which))
        V, camber, toe = together(
            self.side, self.base, self.n, self.usable, values, [f for f, _ in states], [self.row(f) for f in figures]
        )
        for k, (free, ends) in enumerate(states):
            if np.isnan(V[k, 0]):  # too far for Newton's way from home in one go
                self.were_lost = True
        return V, camber, toe

    def beyond(self, state, values, figures):
        """(place, end) of the free adjusters of a state that lie beyond an end."""
        free, _ = state
        if np.isnan(values[0]):
            if self.lost == "skip":
                return set()
            if self.lost == HIGH:
                return {(p, HIGH) for p in free}
            values = self.linear(state, figures)
        out = set()
        for p in free:
            if values[p] > self.high[p] + ROUNDING:
                out.add((p, HIGH))
            elif values[p] < self.low[p] - ROUNDING:
                out.add((p, LOW))
            if min(abs(values[p] - self.high[p]), abs(values[p] - self.low[p])) < 1e-4:
                self.doubts.append("just within an end, or just beyond")
        return out

    def linear(self, state, figures):
        free, ends = state
        values = self.home.copy()
        for p, which in ends.items():
            values[p] = float(self.usable[p].end(which))
        now = figures_of(self.side, self.base.points, self.n, figures)
        A = np.array([[self.slope[f][p] for p in free] for f in figures])
        moved = np.array([self.slope[f] for f in figures]) @ (values - self.home)
        rest = np.array([float(self.targets[f] - now[f]) for f in figures]) - moved
        values[list(free)] += np.linalg.lstsq(A, rest, rcond=None)[0]
        return values

    # -- the search

    def answer(self):
        figures, unset = self.wanted_figures()
        if not figures:
            return self.taken((), {}, (), self.home, unset, True, 0)
        joined, count = set(), len(figures)
        for level in range(0, max(1, len(self.usable) - count + 1)):
            states = self.states_at(level, joined, figures)
            V, _, _ = self.solved(states, figures)
            within, found = [], set()
            for state, values in zip(states, V):
                out = self.beyond(state, values, figures)
                found |= out
                if not out and not np.isnan(values[0]):
                    within.append((state, values))
            if within:
                (free, ends), values = self.least_moved(within)
                if unset and level > 0 and self.pairs_exist(ends):
                    self.doubts.append("another figure could be set now that an arm stands at its end")
                return self.taken(free, ends, figures, values, unset, True, level)
            if level == 0:
                joined = found
            elif found <= joined and level >= len(joined):
                break
            else:
                joined |= found
        return self.as_near_as_it_gets(figures, unset, joined)

    def pairs_exist(self, ends):
        rest = [p for p in range(len(self.usable)) if p not in ends]
        return any(self.admissible(pair, FIGURES, ends) for pair in itertools.combinations(rest, 2))

    def wanted_figures(self):
        """The figures that are set at once, and those of camber and toe that nothing sets."""
        pitch = self.figures[2:]
        places = range(len(self.usable))
        if self.pairs_exist({}):
            return self.figures, ()
        movers = [p for p in places if self.may_leave_home(p, {}) and self.usable[p].label != "pitch"]
        if not movers:
            return pitch, FIGURES
        labelled = {self.usable[p].label for p in movers} - {None}
        if not labelled:
            labelled = {FIGURES[int(np.argmax(np.abs(self.effects[:, p])))] for p in movers}
            if any(abs(abs(self.effects[0, p] / self.effects[1, p]) - 1) < 0.02 for p in movers):
                self.doubts.append("moves camber and toe alike")
        if len(labelled) > 1:
            self.doubts.append("two figures and nothing to set both")
        one = min(labelled)
        return (one, *pitch), tuple(f for f in FIGURES if f != one)

    def states_at(self, level, joined, figures):
        states = []
        for at_ends in itertools.combinations(sorted(joined), level):
            ends = dict(at_ends)
            if len(ends) < level:  # one adjuster at both its ends
                continue
            rest = [p for p in range(len(self.usable)) if p not in ends]
            for free in itertools.combinations(rest, len(figures)):
                if self.admissible(free, figures, ends):
                    states.append((free, ends))
        return states

    def movement(self, values):
        return float(np.sum(np.abs(values - self.home) / (self.high - self.low)))

    def least_moved(self, within):
        def cams(state):
            free, ends = state
            return sum(self.usable[p].kind == "cam" for p in (*free, *ends))

        ranked = sorted(within, key=lambda w: (cams(w[0]), self.movement(w[1])))
        first = ranked[0]
        for other in ranked[1:]:
            same = np.max(np.abs(other[1] - first[1])) < 1e-7
            if cams(other[0]) == cams(first[0]) and not same:
                if self.movement(other[1]) - self.movement(first[1]) < 1e-5:
                    self.doubts.append("two states with the same movement")
                break
        return first

    def as_near_as_it_gets(self, figures, unset, joined):
        """No state meets the target. Of camber and toe one is met if it can be, and the others stand at the ends that
        bring the unmet ones nearer and would have to pass them; a pitch that cannot be met is left in doubt."""
        pitch = tuple(f for f in figures if f == "pitch")
        level = [f for f in figures if f != "pitch"]
        always = tuple(p for p, a in enumerate(self.usable) if a.label == "pitch") if pitch else ()
        places = [p for p in range(len(self.usable)) if p not in always]
        for count in range(len(level) - 1, -1, -1):
            strict, loose = [], []
            for met in itertools.combinations(level, count):
                unmet = [f for f in level if f not in met]
                for free in itertools.combinations(places, count):
                    if not all(self.may_miss(p, f) for p, f in zip(free, met)):
                        continue
                    rest = [p for p in places if p not in free]
                    s, l = self.stood(free, always, rest, met + pitch, unmet, joined)
                    strict += s
                    loose += l
            if strict:
                best = min(strict, key=lambda c: c[0])
                others = [c for c in strict + loose if np.max(np.abs(c[3] - best[3])) > 1e-6]
                if any(c[0] < best[0] + 1e-4 for c in others):
                    self.doubts.append("which state misses the target least")
                _, free, ends, values, met = best
                return self.taken((*free, *always), ends, met, values, unset, False, None)
            if loose:
                self.doubts.append("no adjuster stands where it has to")
        self.doubts.append("no state at all")
        return self.taken((), {}, (), self.home, unset, False, None)

    def stood(self, free, always, rest, met, unmet, joined):
        """States with `free` meeting `met`, the others at home or at ends: those that are as the rule says (none at home
        that could bring an unmet figure nearer), and those that would be if cams could stay at home."""
        choices = []
        for p in rest:
            of_unmet = any(self.may_miss(p, f) for f in unmet)
            if self.usable[p].kind == "arm":
                choices.append((LOW, HIGH) if of_unmet else (None, LOW, HIGH))
            else:
                choices.append((None, LOW, HIGH))
        states = []
        for combination in itertools.product(*choices):
            ends = {p: which for p, which in zip(rest, combination) if which is not None}
            links = {self.usable[p].link for p in free}
            beside = [p for p in ends if self.usable[p].link in links]
            if any(self.usable[p].kind == "cam" or (p, ends[p]) not in joined for p in beside):
                continue  # beside a free one on the same link it changes nothing
            if all(self.may_leave_home(p, ends) for p in (*free, *ends)):
                states.append(((*free, *always), ends))
        V, camber, toe = self.solved(states, met)
        strict, loose = [], []
        off = np.array(
            [(v - float(self.targets[f])) / float(self.tolerances[f]) for f, v in (("camber", camber), ("toe", toe))]
        )
        for k, (state, values) in enumerate(zip(states, V)):
            if np.isnan(values[0]) or self.beyond(state, values, met):
                continue
            (all_free, ends) = state
            pulls = self.pulls(all_free, met, off[:, k])
            ok, all_used = True, True
            for p in rest:
                may = [f for f in unmet if self.may_miss(p, f)]
                if not may:  # it stands for a figure that is met
                    ok = ok and (p not in ends or (p, ends[p]) in joined)
                    continue
                if not self.may_leave_home(p, ends):
                    continue
                if self.usable[p].link in {self.usable[f].link for f in all_free} and p not in ends:
                    continue
                if p in ends:
                    # moving it outward must bring nearer what it may set
                    outward = 1.0 if ends[p] == HIGH else -1.0
                    ok = ok and any(pulls[f][p] * outward < 0 for f in may)
                else:
                    all_used = False
            if ok:
                miss = float(np.linalg.norm([off[FIGURES.index(f), k] for f in (*met, *unmet) if f != "pitch"]))
                (strict if all_used else loose).append((miss, state[0][: len(free)], ends, values, met))
        return strict, loose

    def pulls(self, free, met, off):
        """How the size of each miss changes with each adjuster while the free ones hold what they meet, per mm."""
        free = list(free)
        hold = np.array([self.slope[f] for f in met]).reshape(len(met), len(self.usable))
        answer = np.linalg.lstsq(hold[:, free], hold, rcond=None)[0] if free else np.zeros((0, len(self.usable)))
        result = {}
        for f, o in zip(FIGURES, off):
            row = np.asarray(self.slope[f]) / float(self.tolerances[f])
            result[f] = np.sign(o) * (row - row[free] @ answer)
        return result

    def taken(self, free, ends, figures, values, unset, met, level):
        side, base, usable = self.side, self.base, self.usable
        inner, lengths = imposed(
            side, base, [(a, a.end(ends[p]) if p in ends else a.home) for p, a in enumerate(usable) if p not in free]
        )
        start = replace(base, inner=inner, lengths=lengths)
        state, final = start, [a.end(ends[p]) if p in ends else a.home for p, a in enumerate(usable)]
        if free:
            movers = unknowns(side, [usable[p] for p in free])
            inner, lengths = imposed(side, start, [(usable[p], X(values[p])) for p in free])
            near = forward(side, base.drop, inner, lengths, start=base)
            rows = [self.row(f) for f in figures]
            points, q = polish(side, near, movers, rows, points=near.points)
            inner, lengths = shifted(near, movers, q)
            for p in free:
                a = usable[p]
                cam = side.links[a.link].cam
                final[p] = lengths[a.link] if a.kind == "arm" else np.dot(inner[a.link] - cam.centre, cam.along)
                if abs(float(final[p]) - values[p]) > 1e-6:
                    self.doubts.append("another branch")
                if met and min(a.high - final[p], final[p] - a.low) < 1e-3:
                    self.doubts.append("just within an end")
            state = State(base.drop, inner, lengths, points)
        else:
            state = forward(side, base.drop, inner, lengths, start=base)
        sets = {}
        ways = self.matchings(free, figures) if met else [dict(zip(figures, free))]

        def kept(by):
            return sum(self.usable[p].label == f for f, p in by.items())

        most = max(map(kept, ways), default=0)
        best = [by for by in ways if kept(by) == most]
        if len(best) == 1:
            sets = {p: f for f, p in best[0].items()}
        return Settled(state, final, tuple(sorted(free)), ends, sets, unset, met, level, self.doubts)


def figures_of(side, points, n, wanted):
    values = figures(points, n)
    if "pitch" in wanted:
        values["pitch"] = pitch(side, points)
    return values


def wanted(profile, options):
    spec = profile["spec"]
    toe = spec["toe"] if "toe" in spec else spec.get("total_toe", 0.0) / 2
    camber = spec.get("camber")
    camber = options.camber if options.camber is not None else camber
    toe = options.toe if options.toe is not None else toe
    targets = {"camber": X(camber) * DEG, "toe": X(toe) * DEG, "pitch": X(spec.get("pitch", 0.0)) * DEG}
    tolerances = {"camber": X(spec["camber_tolerance"]) * DEG, "toe": X(spec["toe_tolerance"]) * DEG}
    return targets, tolerances


def excess(values, targets, tolerances):
    """The worse of the two errors in units of its tolerance; up to 1 is within the spec."""
    return max(abs(values[f] - targets[f]) / tolerances[f] for f in FIGURES)


def verdict(points, n, targets, tolerances):
    values = figures(points, n)
    # 1e-12 of a tolerance: an exact hit on the edge is inside
    return degrees(values) | {"within_spec": bool(excess(values, targets, tolerances) <= 1 + X("1e-12"))}


def cam_entry(link, a, shift, inside):
    e = link.cam.eccentricity
    return {
        "link": link.name,
        "setting_deg": float(np.arcsin(shift / e) / DEG),
        "shift_mm": float(shift),
        "in_reach": inside,
    }


# ---------------------------------------------------------------------------------------------------------------------
# Feasibility over the cam box


def vertices_minimum(values, slopes, lows, highs, targets, tolerances):
    """min over s in the box of max over figures of |value + slope . s - target| / tolerance, exactly, by visiting the
    vertices of this small linear programme. Returns s (relative to the present point)."""
    k = len(lows)
    rows, rhs = [], []  # rows . (s, t) <= rhs
    for f in FIGURES:
        g, c = slopes[f] / float(tolerances[f]), float((values[f] - targets[f]) / tolerances[f])
        rows += [np.append(g, -1.0), np.append(-g, -1.0)]
        rhs += [-c, c]
    for i in range(k):
        unit = np.zeros(k + 1)
        unit[i] = 1.0
        rows += [unit, -unit]
        rhs += [float(highs[i]), -float(lows[i])]
    rows, rhs = np.array(rows), np.array(rhs)
    active = np.array(list(itertools.combinations(range(len(rows)), k + 1)))
    active = active[np.abs(np.linalg.det(rows[active])) >= 1e-12]
    corners = np.linalg.solve(rows[active], rhs[active][:, :, None])[:, :, 0]
    corners = corners[np.all(corners @ rows.T <= rhs + 1e-9, axis=1)]
    return corners[np.argmin(corners[:, -1])][:-1]


def least_excess(side, base, n, cams, targets, tolerances, start=None, enough=0.99):
    """The least excess (see `excess`) any setting of the cams within reach gives at this height, the shifts and the state; or
    the first below `enough`, for then it matters no more how far below. Where toe has a small tolerance its curvature
    leaves more than one place that no small step betters, so the way down begins at the best of a coarse grid as well."""
    found = descent(side, base, n, cams, targets, tolerances, start, enough)
    if not cams or found[0] < enough:
        return found
    axes = [np.linspace(float(c.low), float(c.high), 5 if len(cams) < 4 else 3) for c in cams]
    grid = np.array(np.meshgrid(*axes)).reshape(len(cams), -1).T
    _, camber, toe = together(side, base, n, cams, grid)
    miss = worst_miss(camber, toe, targets, tolerances)
    count = 1 if found[0] > 2 else 4  # near the edge with more care
    for k in np.argsort(miss)[:count]:  # not-a-number comes last
        if miss[k] < 1.3 * found[0] or (count > 1 and not np.isnan(miss[k])):
            other = descent(side, base, n, cams, targets, tolerances, [X(v) for v in grid[k]], enough)
            found = min(found, other, key=lambda f: f[0])
    return found


def worst_miss(camber, toe, targets, tolerances):
    """`excess` of many readings."""
    off = [np.abs(v - float(targets[f])) / float(tolerances[f]) for f, v in (("camber", camber), ("toe", toe))]
    return np.maximum(*off)


def descent(side, base, n, cams, targets, tolerances, start, enough):
    """Linear programmes on the slopes, each solved exactly, until none brings anything: a few, then rounding error."""
    shifts = [c.home for c in cams] if start is None else list(start)
    inner, lengths = imposed(side, base, list(zip(cams, shifts)))
    state = forward(side, base.drop, inner, lengths, start=base)
    value = excess(figures(state.points, n), targets, tolerances)
    trust = math.inf  # mm; made smaller only where a step brings nothing, as between equally good corners
    for _ in range(60):
        if not cams or trust < 1e-10 or value < enough:
            break
        now = figures(state.points, n)
        low = [max(c.low - s, X(-trust)) for c, s in zip(cams, shifts)]
        high = [min(c.high - s, X(trust)) for c, s in zip(cams, shifts)]
        move = vertices_minimum(now, slopes(side, state, n, cams), low, high, targets, tolerances)
        size = float(np.max(np.abs(move)))
        if size < 1e-13:
            break
        there = [min(max(s + X(m), c.low), c.high) for s, m, c in zip(shifts, move, cams)]
        inner, lengths = imposed(side, state, list(zip(cams, there)))
        moved = replace(state, inner=inner, lengths=lengths)
        moved = replace(moved, points=polish(side, moved)[0])
        nearer = excess(figures(moved.points, n), targets, tolerances)
        if nearer < value:
            value, shifts, state = nearer, there, moved
        else:
            trust = size / 4
    return value, shifts, state


def figure_slope(figure, points, n, dx, side=None):
    """d(figure)/d(shift), rad per mm: the linear equation of the figure, differentiated at its present value."""
    if figure == "pitch":
        line, angle = plumb(side) @ points, pitch(side, points)
        change = np.array([np.cos(angle), 0, -np.sin(angle)], dtype=float) @ np.tensordot(
            plumb(side).astype(float), dx.reshape(len(points), 3, -1), 1
        )
        return change / float(line[0] * np.sin(angle) + line[2] * np.cos(angle))
    value = figures(points, n)[figure]
    v, _, _ = figure_row(figure, value, n)
    tip = points[1] - points[0]
    change = v.astype(float) @ (dx[3:6] - dx[0:3])
    if figure == "camber":
        return change / float(-SPINDLE * np.cos(value))
    xg, yg = ground_axes(n)
    return change / float(np.dot(xg, tip) * np.sin(value) + np.dot(yg, tip) * np.cos(value))


def run_out(side, cams, targets, tolerances, bump, scan=1.0):
    """The drop, counted up from 0, where the first stretch ends over which some setting is within the spec: both sides
    lowered alike, level ground. None: holds to full bump. 0: nowhere. Second answer: no doubt, that is, there is one such
    stretch at most and none shorter than a scan step."""
    level = np.array([0, 0, 1], dtype=X)
    cache = {}

    def above(d):
        start = shifts = None
        if cache:
            _, start, shifts = cache[min(cache, key=lambda known: abs(known - d))]
        base = forward(side, d, start=start)
        value, shifts, state = least_excess(side, base, level, cams, targets, tolerances, shifts)
        cache[d] = (float(value - 1), state, shifts)
        return cache[d][0]

    stops, failing = [*np.arange(0.0, bump, scan), bump], []
    for k, d in enumerate(stops):  # beyond the first stretch only to see whether there is another: every fifth stop
        ended = False in failing and failing[-1]
        failing.append(True if ended and k % 5 and d != bump else above(float(d)) > 0)
    clear = all(abs(v) > 1e-3 for v, _, _ in (cache[float(d)] for d in (stops[0], stops[-1])))
    if all(failing):
        return 0.0, clear and min(v for v, _, _ in cache.values()) > 1e-3
    first = failing.index(False)
    if not any(failing[first:]):
        return None, clear and max(cache[float(d)][0] for d in stops[first + 1 :]) < 0
    last = failing.index(True, first)
    sure = all(failing[last:]) and last - first > 2
    return brentq(above, float(stops[last - 1]), float(stops[last]), xtol=1e-12, rtol=1e-14), sure


# ---------------------------------------------------------------------------------------------------------------------
# The three commands


def setup(text, options):
    left, right, profile = read_profile(text)
    if options.arch_gap is not None:
        drops = [profile["ride"]["arch_gap"] - options.arch_gap] * 2
    else:
        drops = [options.drop if d is None else d for d in (options.drop_left, options.drop_right)]
    n = ground(profile, left, right, *drops, options.front_drop)
    # each side with its drop and the normal in its own frame
    return profile, [(left, X(drops[0]), n), (right, X(drops[1]), n * MIRROR)]


def lower(text, options):
    _, sides = setup(text, options)
    result = {"sides": []}
    toes = []
    for side, drop, n in sides:
        state = forward(side, drop)
        values = figures(state.points, n)
        toes.append(values["toe"])
        centre = state.points[0] * (MIRROR if side.name == "right" else 1)
        links = []
        for k, link in enumerate(side.links):
            before, after = link.knuckle - link.subframe, state.points[side.outer[k]] - link.subframe
            swing = np.arctan2(norm(np.cross(before, after)), np.dot(before, after))
            links.append({"name": link.name, "length_mm": float(link.length), "swing_deg": float(swing / DEG)})
        result["sides"].append(
            {
                "side": side.name,
                "drop_mm": float(drop),
                "reference": degrees(figures(side.points, np.array([0, 0, 1], dtype=X))),
                "lowered": degrees(values) | {"centre_mm": [float(c) for c in centre]},
                "links": links,
            }
        )
    result["total_toe_deg"] = float((toes[0] + toes[1]) / DEG)
    result["thrust_angle_deg"] = float((toes[1] - toes[0]) / 2 / DEG)
    return result


def plan_base(side, drop, usable, fitted=(), keep=True):
    """The lowered state with every adjuster at home; the cam under a fitted arm that sets pitch is at the slot's middle
    too, unless cams are kept."""
    inner, lengths = imposed(side, reference_state(side), [(a, a.home) for a in usable])
    for k, link in enumerate(side.links):
        if link.name in fitted and link.cam and not keep:
            inner[k] = link.cam.centre
    return forward(side, drop, inner, lengths)


def fitted_names(side, options):
    if options.fit is not None:
        return set(options.fit.split(",")) & {l.name for l in side.links if l.arm and l.sets}
    return {l.name for l in side.links if l.arm and l.sets in FIGURES}


def task(side, drop, options, stock=False):
    """The fitted arms, the adjusters and the state that all is asked about. `stock`: no arm is fitted."""
    fitted = set() if stock else fitted_names(side, options)
    keep = stock or options.cams == "keep"
    usable = adjusters(side, fitted, keep)
    return fitted, usable, plan_base(side, drop, usable, fitted, keep)


def reachable(side, base, n, usable, settled, targets, tolerances):
    """Where the settings that aim at the target miss the tolerance: whether others keep it. True or False, or None where
    it hangs on which cams may be turned for it."""

    def some(places, starts):
        least = math.inf
        for start in starts:
            held = [(a, settled.values[p]) for p, a in enumerate(usable) if p not in places]
            inner, lengths = imposed(side, base, held)
            state = forward(side, base.drop, inner, lengths, start=base)
            chosen = [usable[p] for p in places]
            least = min(
                least, float(least_excess(side, state, n, chosen, targets, tolerances, [start[p] for p in places])[0])
            )
        return least

    setting = [p for p, a in enumerate(usable) if a.label != "pitch"]
    search = Search(side, base, n, usable, targets, tolerances, "skip")
    ends = {} if settled.doubts else settled.ends
    fewest = [p for p in setting if search.may_leave_home(p, ends)]
    middle = [(a.low + a.high) / 2 for a in usable]
    starts = [settled.values, [a.home for a in usable], middle]
    # the arm that sets pitch stays where it meets pitch; the answer must be the same if it need not
    least = [some(fewest, starts), some(setting, starts), some(list(range(len(usable))), starts)]
    if min(abs(value - 1) for value in least) < 1e-3:
        return None
    verdicts = {value <= 1 for value in least}
    return verdicts.pop() if len(verdicts) == 1 else None


def cam_lists(side, usable, settled, fitted, keep):
    """The cams that the answer turns, and the others."""
    cams_, others = [], []
    for k, link in enumerate(side.links):
        if not link.cam:
            continue
        place = next((p for p, a in enumerate(usable) if a.link == k and a.kind == "cam"), None)
        if place is not None and settled.turned(place):
            reached = settled.met or place in settled.free or usable[place].label in settled.sets.values()
            entry = cam_entry(link, usable[place], settled.values[place], reached)
            if place in settled.sets:
                entry["sets"] = settled.sets[place]
            cams_.append(entry)
            continue
        locked = link.name in fitted and not keep
        found = cam_entry(link, None, X(0) if locked else link.cam.eccentricity * np.sin(link.cam.setting), True)
        found.pop("in_reach")
        others.append(found | {"use": "locked" if locked else "as_found"})
    return cams_, others


def plan(text, options):
    profile, sides = setup(text, options)
    targets, tolerances = wanted(profile, options)
    result = {"sides": []}
    for side, drop, n in sides:
        fitted, usable, base = task(side, drop, options)
        settled = settle(side, base, n, usable, targets, tolerances)
        state = settled.state
        entry = {"side": side.name, "arms": []}
        for p, a in enumerate(usable):
            if a.kind != "arm":
                continue
            link, value = side.links[a.link], settled.values[p]
            entry["arms"].append(
                {
                    "link": link.name,
                    "stock_mm": float(link.length),
                    "exact_mm": float(value),
                    "turns_exact": float((value - link.length) / link.arm.lead),
                    "lead_mm": float(link.arm.lead),
                    "limit": ("shortest", "longest")[settled.ends[p]] if p in settled.ends else "ok",
                }
            )
        entry["cams"], entry["other_cams"] = cam_lists(side, usable, settled, fitted, options.cams == "keep")
        entry["exact"] = verdict(state.points, n, targets, tolerances)
        entry["unset"] = list(settled.unset)
        if (settled.unset or not settled.met) and not entry["exact"]["within_spec"]:
            entry["reachable"] = reachable(side, base, n, usable, settled, targets, tolerances)
        if options.set:  # lengths chosen elsewhere: the alignment they give, cams where the exact plan put them
            entry["result"] = verdict(with_lengths(side, state, options.set).points, n, targets, tolerances)
        entry["doubts"] = settled.doubts  # for whoever makes cases
        result["sides"].append(entry)
    return result


def with_lengths(side, state, lengths):
    new = state.lengths.copy()
    for k, link in enumerate(side.links):
        if link.name in lengths:
            new[k] = X(lengths[link.name])
    return forward(side, state.drop, state.inner, new, start=state)


def cams(text, options):
    profile, sides = setup(text, options)
    targets, tolerances = wanted(profile, options)
    result = {"sides": []}
    for side, drop, n in sides:
        _, usable, base = task(side, drop, options, stock=True)
        settled = settle(side, base, n, usable, targets, tolerances)
        value, _, _ = least_excess(side, base, n, usable, targets, tolerances)
        entry = {
            "side": side.name,
            "within_spec": bool(value <= 1),
            "best": degrees(figures(settled.state.points, n)),
        }
        entry["cams"], entry["other_cams"] = cam_lists(side, usable, settled, set(), True)
        for cam in entry["cams"]:
            link = next(l for l in side.links if l.name == cam["link"])
            cam["reserve_mm"] = float(link.cam.eccentricity) - abs(cam["shift_mm"])
        entry["run_out_drop_mm"], sure = run_out(side, usable, targets, tolerances, float(profile["ride"]["bump"]))
        # for whoever makes cases
        entry["least_excess"], entry["run_out_sure"], entry["doubts"] = float(value), sure, settled.doubts
        result["sides"].append(entry)
    return result


def parser():
    p = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    p.add_argument("command", choices=["lower", "plan", "cams", "selfcheck"])
    p.add_argument("profile", nargs="?")
    for name in ("--drop", "--drop-left", "--drop-right", "--front-drop", "--arch-gap", "--camber", "--toe"):
        p.add_argument(name, type=float)
    p.add_argument("--fit")
    p.add_argument("--cams", choices=["centre", "keep"], default="centre")
    p.add_argument(
        "--set",
        type=lambda s: {k: float(v) for k, v in (pair.split("=") for pair in s.split(","))},
        help="upper=210.5,toe=301.25: lengths whose result to print (plan)",
    )
    return p


def options_from(args):
    return parser().parse_args(args)


# ---------------------------------------------------------------------------------------------------------------------
# Self-check against published geometry (a textbook double wishbone with its derived travel table) and an exact case
# (five rods whose inner pivots lie on one line: a semi-trailing arm that turns about that line)

WISHBONE = """
format = 1
[wheel]
centre = [0.0, 768.0, 0.0]
camber = 0.0
toe = 0.0
[[link]]
name = "A-C"
subframe = [-251.0, 320.0, -80.0]
knuckle = [13.0, 737.0, -145.0]
[[link]]
name = "B-C"
subframe = [148.0, 320.0, -94.0]
knuckle = [13.0, 737.0, -145.0]
[[link]]
name = "D-F"
subframe = [-105.0, 435.0, 196.0]
knuckle = [-25.0, 680.0, 162.0]
[[link]]
name = "E-F"
subframe = [122.0, 435.0, 230.0]
knuckle = [-25.0, 680.0, 162.0]
[[link]]
name = "R-Q"
subframe = [-150.0, 380.0, -38.0]
knuckle = [-137.0, 690.0, -88.0]
"""

# wheel height mm, toe-in deg, camber deg (projected on the car's axes), x and y of the wheel centre mm
WISHBONE_TABLE = [
    (-80, -0.2893181, -1.5119592, 4.077883, 742.736666),
    (-60, -0.1923306, -0.5565955, 3.039500, 751.691562),
    (-40, -0.1162817, 0.0984791, 2.015560, 758.721894),
    (-20, -0.0537609, 0.5349579, 1.002762, 764.101715),
    (-10, -0.0260093, 0.6867747, 0.500157, 766.228146),
    (0, 0.0, 0.7999480, 0.0, 768.0),
    (10, 0.0246053, 0.8775953, -0.497733, 769.429335),
    (20, 0.0480765, 0.9221735, -0.993047, 770.525877),
    (40, 0.0924211, 0.9193767, -1.976393, 771.749977),
    (60, 0.1342135, 0.8020528, -2.949899, 771.715521),
    (80, 0.1740845, 0.5754253, -3.913306, 770.444323),
]
# target camber, target toe-in deg; change of both upper rods, change of the toe rod mm
WISHBONE_INVERSE = [(-1.5, 0.10, -10.460002990, -1.803942098), (-1.5, -0.10, -10.566307661, -2.292019557)]

# drop mm, wheel centre x, y mm, camber by arcsine, toe-in deg
ARM_TABLE = [
    (-60, 6.116150817, 698.361182328, 1.870779921, 0.114460476),
    (-40, 3.251770801, 699.128690640, 1.245950751, 0.050652320),
    (-20, 1.216717256, 699.673981594, 0.622387221, 0.012621651),
    (20, -0.404858971, 700.108481634, -0.621293291, 0.012577301),
    (40, 0.0, 700.0, -1.241568413, 0.050295977),
    (60, 1.216717256, 699.673981594, -1.860894666, 0.113249030),
]


def semi_trailing_arm():
    """15 degrees of sweep; inner pivots along (sin 15, cos 15, 0) through (400, 350, 20)."""
    direction = np.array([math.sin(math.radians(15)), math.cos(math.radians(15)), 0.0])
    outer = [(-60, 660, -110), (70, 655, -100), (10, 640, 130), (-90, 665, 60), (90, 670, 40)]
    text = "format = 1\n[wheel]\ncentre = [0.0, 700.0, 0.0]\ncamber = 0.0\ntoe = 0.0\n"
    for k, (s, knuckle) in enumerate(zip((-220, -90, 40, 160, 290), outer)):
        inner = np.array([400.0, 350.0, 20.0]) + s * direction
        text += f'[[link]]\nname = "{k}"\nsubframe = {inner.tolist()}\nknuckle = {list(knuckle)}\n'
    return text


def selfcheck():
    """Largest differences to the tables; the table's last digits are 1e-7 degree and 1e-6 mm."""
    report = {}
    left, _, _ = read_profile(WISHBONE)
    # the table's spindle is (0, 1, -0.8 deg in rad) normalised, an angle of 0.799948 degrees
    left.camber = np.arctan(X(0.8) * DEG)
    knuckle_points(left)
    angle = length = 0.0
    for z, toe, camber, x, y in WISHBONE_TABLE:
        p = forward(left, z).points
        a = p[1] - p[0]
        angle = max(
            angle, abs(float(np.arctan2(a[0], a[1]) / DEG) - toe), abs(float(np.arctan2(-a[2], a[1]) / DEG) - camber)
        )
        length = max(length, abs(float(p[0, 0]) - x), abs(float(p[0, 1]) - y))
    report["wishbone_travel"] = {"angle_deg": angle, "length_mm": length}
    worst = 0.0
    for camber, toe, upper, rod in WISHBONE_INVERSE:
        rows = [
            (np.array([0, np.tan(X(camber) * DEG), 1], dtype=X), X(0), None),  # projected camber, linear as well
            (np.array([np.cos(X(toe) * DEG), -np.sin(X(toe) * DEG), 0], dtype=X), X(0), None),
        ]
        _, q = solve(left, reference_state(left), [Free([2, 3]), Free([4])], rows)
        worst = max(worst, abs(float(q[0]) - upper), abs(float(q[1]) - rod))
    report["wishbone_inverse"] = {"length_mm": worst}
    left, _, _ = read_profile(semi_trailing_arm())
    angle = length = 0.0
    level = np.array([0, 0, 1], dtype=X)
    for d, x, y, camber, toe in ARM_TABLE:
        p = forward(left, d).points
        now = degrees(figures(p, level))
        angle = max(angle, abs(now["camber_deg"] - camber), abs(now["toe_deg"] - toe))
        length = max(length, abs(float(p[0, 0]) - x), abs(float(p[0, 1]) - y))
    report["semi_trailing_arm_table"] = {"angle_deg": angle, "length_mm": length}
    # The same arm against its closed form, to all digits: the knuckle turned about the pivot line until the wheel
    # centre has risen by d, in extended precision.
    worst = 0.0
    b = 15 * DEG
    k = np.array([np.sin(b), np.cos(b), X(0)], dtype=X)
    pivot = vector([400.0, 350.0, 20.0])

    def turned(v, t):
        return v * np.cos(t) + np.cross(k, v) * np.sin(t) + k * np.dot(k, v) * (1 - np.cos(t))

    for d in (-60, -20, 35, 70):
        t = X(0)
        r = left.centre - pivot
        for _ in range(20):  # Newton for the angle at height d
            t = t - (turned(r, t)[2] - r[2] - X(d)) / np.cross(k, turned(r, t))[2]
        p = forward(left, d).points
        worst = max(worst, float(np.max(np.abs(p - np.array([pivot + turned(q - pivot, t) for q in left.points])))))
    report["semi_trailing_arm_closed_form"] = {"length_mm": worst}
    return report


def main():
    options = parser().parse_args()
    if options.command == "selfcheck":
        answer = selfcheck()
    else:
        with open(options.profile, encoding="utf-8") as f:
            text = f.read()
        answer = {"lower": lower, "plan": plan, "cams": cams}[options.command](text, options)
    json.dump(answer, sys.stdout, indent=2)
    print()


if __name__ == "__main__":
    main()
