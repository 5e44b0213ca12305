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
            [np.dot(v, tip) - b for v, b in rows],
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
    for row, (v, _) in enumerate(rows):
        J[n + m + 1 + row, 0:3] = -v.astype(float)
        J[n + m + 1 + row, 3:6] = v.astype(float)
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


def figure_row(figure, value, n):
    """(v, b) with v . (tip - centre) = b: the figure as a linear equation in the knuckle points."""
    if figure == "camber":
        return n, -SPINDLE * np.sin(value)
    xg, yg = ground_axes(n)
    return xg * np.cos(value) - yg * np.sin(value), X(0)


def degrees(figure_values):
    return {f"{k}_deg": float(v / DEG) for k, v in figure_values.items()}


# ---------------------------------------------------------------------------------------------------------------------
# Adjusting: arms and cams that meet figures


@dataclass
class Adjuster:
    link: int
    figure: str
    kind: str  # "arm" or "cam"
    low: X  # limits of the length (arm) or of the shift from the slot centre (cam)
    high: X
    start: X


def adjusters(side, fitted, cams_for_rest=True):
    """The figure a link sets is met by its fitted arm, else by its cam, else by nothing. Pitch is never asked for."""
    result = []
    for k, link in enumerate(side.links):
        if link.sets not in FIGURES:
            continue
        if link.name in fitted:
            result.append(Adjuster(k, link.sets, "arm", link.arm.shortest, link.arm.longest, link.length))
        elif link.cam and cams_for_rest:
            e = link.cam.eccentricity
            result.append(Adjuster(k, link.sets, "cam", -e, e, e * np.sin(link.cam.setting)))
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


def met(side, base, n, held, free, targets):
    """Hold some adjusters at given values and let the free ones meet their figures, without regard to limits.
    Returns the state and the values of the free ones."""
    inner, lengths = imposed(side, base, held)
    state = forward(side, base.drop, inner, lengths, start=base)
    if not free:
        return state, []
    unknowns = [Free([a.link], None if a.kind == "arm" else side.links[a.link].cam.along) for a in free]
    now = figures(state.points, n)
    wanted = {a.figure: targets[a.figure] for a in free}
    steps = max(1, math.ceil(max(abs(float((wanted[f] - now[f]) / DEG)) for f in wanted) / 0.5))
    q, points = np.zeros(len(free), dtype=X), state.points
    for k in range(1, steps + 1):
        t = X(k) / X(steps)
        rows = [figure_row(a.figure, now[a.figure] + t * (wanted[a.figure] - now[a.figure]), n) for a in free]
        points, q = solve(side, state, unknowns, rows, q, points)
    inner, lengths = shifted(state, unknowns, q)
    values = []
    for a, change in zip(free, q):
        if a.kind == "arm":
            values.append(lengths[a.link])
        else:
            cam = side.links[a.link].cam
            values.append(np.dot(inner[a.link] - cam.centre, cam.along))
    return State(state.drop, inner, lengths, points), values


def outside(a, value):
    """How far a value lies beyond a limit, as a share of the range; 0 inside."""
    return float(max(a.low - value, value - a.high, X(0)) / (a.high - a.low))


def met_within_limits(side, base, n, free, targets, order="worst"):
    """Adjusters that cannot go far enough stay at their limit and the others are solved again around them.
    Where two are out at once, `order` says which is stopped first: the worst, all, or one named figure."""
    free, held = list(free), []
    while True:
        state, values = met(side, base, n, held, free, targets)
        out = [(outside(a, v), a, v) for a, v in zip(free, values) if outside(a, v) > 0]
        if not out:
            break
        if order in FIGURES and any(a.figure == order for _, a, _ in out):
            out = [o for o in out if o[1].figure == order]
        elif order != "all":
            out = [max(out, key=lambda o: o[0])]
        for _, a, v in out:
            free.remove(a)
            held.append((a, a.low if v < a.low else a.high))
    settled = {a.link: (a, v, True) for a, v in zip(free, values)}
    settled |= {a.link: (a, v, False) for a, v in held}
    return state, settled


def stops_are_sound(side, base, n, settled, targets):
    """Each stopped adjuster, let go alone, still runs beyond the same limit (for generated cases: no doubt left)."""
    free = [a for a, _, inside in settled.values() if inside]
    held = [(a, v) for a, v, inside in settled.values() if not inside]
    for a, v in held:
        _, values = met(side, base, n, [h for h in held if h[0] is not a], free + [a], targets)
        beyond = values[-1] > a.high if v == a.high else values[-1] < a.low
        if not beyond:
            return False
    return True


def wanted(profile, options):
    spec = profile["spec"]
    toe = spec["toe"] if "toe" in spec else spec.get("total_toe", 0.0) / 2
    camber = spec.get("camber")
    camber = options.camber if options.camber is not None else camber
    toe = options.toe if options.toe is not None else toe
    targets = {"camber": X(camber) * DEG, "toe": X(toe) * DEG}
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
    best = None
    for active in itertools.combinations(range(len(rows)), k + 1):
        A = rows[list(active)]
        if abs(np.linalg.det(A)) < 1e-12:
            continue
        s = np.linalg.solve(A, rhs[list(active)])
        if np.all(rows @ s <= rhs + 1e-9) and (best is None or s[-1] < best[-1]):
            best = s
    return best[:-1]


def least_excess(side, base, n, cams, targets, tolerances, start=None):
    """The least excess (see `excess`) any setting of the cams within reach gives at this height, and the shifts.
    Camber and toe are nearly linear in the shifts, so a few linear programmes converge to rounding error."""
    shifts = [c.start for c in cams] if start is None else list(start)
    inner, lengths = imposed(side, base, list(zip(cams, shifts)))
    state = forward(side, base.drop, inner, lengths, start=base)
    unknowns = [Free([c.link], side.links[c.link].cam.along) for c in cams]
    for _ in range(30):
        now = figures(state.points, n)
        value = excess(now, targets, tolerances)
        if not cams:
            return value, shifts, state
        J = jacobian(side, state, unknowns, (), np.zeros(len(cams), dtype=X), state.points)
        p = state.points.size
        dx = np.linalg.lstsq(J[:, :p], -J[:, p:], rcond=None)[0]
        slopes = {f: figure_slope(f, state.points, n, dx) for f in FIGURES}
        low, high = [c.low - s for c, s in zip(cams, shifts)], [c.high - s for c, s in zip(cams, shifts)]
        move = vertices_minimum(now, slopes, low, high, targets, tolerances)
        if np.max(np.abs(move)) < 1e-13:
            break
        shifts = [min(max(s + X(m), c.low), c.high) for s, m, c in zip(shifts, move, cams)]
        inner, lengths = imposed(side, state, list(zip(cams, shifts)))
        state = replace(state, inner=inner, lengths=lengths)
        state = replace(state, points=polish(side, state)[0])
    return value, shifts, state


def figure_slope(figure, points, n, dx):
    """d(figure)/d(shift), rad per mm: the linear equation of the figure, differentiated at its present value."""
    value = figures(points, n)[figure]
    v, _ = figure_row(figure, value, n)
    tip = points[1] - points[0]
    change = v.astype(float) @ (dx[3:6] - dx[0:3])
    if figure == "camber":
        return change / float(-SPINDLE * np.cos(value))
    xg, yg = ground_axes(n)
    return change / float(np.dot(xg, tip) * np.sin(value) + np.dot(yg, tip) * np.cos(value))


def run_out(side, cams, targets, tolerances, bump, scan=1.0):
    """The first drop, counted up from 0, where no setting is within the spec any more: both sides lowered alike, level
    ground. None: holds to full bump. 0: fails at 0 already. Second answer: no doubt, that is, it neither holds again
    further down nor fails for less than a scan step."""
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

    stops = [*np.arange(0.0, bump, scan), bump]
    failing = [above(float(d)) > 0 for d in stops]
    if not any(failing):
        return None, all(cache[d][0] < -1e-3 for d in cache)
    first = failing.index(True)
    sure = all(failing[first:])
    if first == 0:
        return 0.0, sure and cache[0.0][0] > 1e-3
    return brentq(above, float(stops[first - 1]), float(stops[first]), xtol=1e-12, rtol=1e-14), sure


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


def plan_base(side, drop, fitted, keep):
    """The lowered state before adjusting: fitted arms at stock length, cams under them at the slot centre or kept."""
    inner = np.array([l.subframe for l in side.links])
    if not keep:
        for k, link in enumerate(side.links):
            if link.name in fitted and link.cam:
                inner[k] = link.cam.centre
    return forward(side, drop, inner)


def fitted_names(side, options):
    if options.fit is not None:
        return set(options.fit.split(","))
    return {l.name for l in side.links if l.arm and l.sets in FIGURES}


def plan(text, options, order="worst"):
    profile, sides = setup(text, options)
    targets, tolerances = wanted(profile, options)
    result = {"sides": []}
    for side, drop, n in sides:
        fitted = fitted_names(side, options)
        base = plan_base(side, drop, fitted, options.cams == "keep")
        state, settled = met_within_limits(side, base, n, adjusters(side, fitted), targets, order)
        entry = {"side": side.name, "arms": [], "cams": []}
        for k, (a, value, inside) in sorted(settled.items()):
            link = side.links[k]
            if a.kind == "arm":
                limit = "ok" if inside else "longest" if value == a.high else "shortest"
                entry["arms"].append(
                    {
                        "link": link.name,
                        "stock_mm": float(link.length),
                        "exact_mm": float(value),
                        "turns_exact": float((value - link.length) / link.arm.lead),
                        "lead_mm": float(link.arm.lead),
                        "limit": limit,
                    }
                )
            else:
                entry["cams"].append(cam_entry(link, a, value, inside))
        entry["exact"] = verdict(state.points, n, targets, tolerances)
        if options.set:  # lengths chosen elsewhere: the alignment they give, cams where the exact plan put them
            entry["result"] = verdict(with_lengths(side, state, options.set).points, n, targets, tolerances)
        result["sides"].append(entry)
    return result


def with_lengths(side, state, lengths):
    new = state.lengths.copy()
    for k, link in enumerate(side.links):
        if link.name in lengths:
            new[k] = X(lengths[link.name])
    return forward(side, state.drop, state.inner, new, start=state)


def cams(text, options, order="worst"):
    profile, sides = setup(text, options)
    targets, tolerances = wanted(profile, options)
    result = {"sides": []}
    for side, drop, n in sides:
        base = forward(side, drop)
        usable = adjusters(side, set())
        state, settled = met_within_limits(side, base, n, usable, targets, order)
        value, _, _ = least_excess(side, base, n, usable, targets, tolerances)
        entry = {
            "side": side.name,
            "within_spec": bool(value <= 1),
            "best": degrees(figures(state.points, n)),
            "cams": [],
        }
        for k, (a, shift, inside) in sorted(settled.items()):
            reserve = {"reserve_mm": float(a.high - abs(shift))}
            entry["cams"].append(cam_entry(side.links[k], a, shift, inside) | reserve)
        entry["run_out_drop_mm"], sure = run_out(side, usable, targets, tolerances, float(profile["ride"]["bump"]))
        entry["least_excess"], entry["run_out_sure"] = float(value), sure  # for whoever makes cases
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
            (np.array([0, np.tan(X(camber) * DEG), 1], dtype=X), X(0)),  # projected camber, linear as well
            (np.array([np.cos(X(toe) * DEG), -np.sin(X(toe) * DEG), 0], dtype=X), X(0)),
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
