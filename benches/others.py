"""The same wheel in numpy and scipy: what `compare.py` holds the speed of rodset against.

The same equations as in src/geometry, rods without roots and turns by Cayley's map. Unknowns of the general solvers are the wheel
centre and twice the Cayley vector from the start, with the analytic Jacobian."""

import time

import numpy
from scipy.optimize import fsolve, least_squares

LEVER = 100.0
ONE = numpy.eye(3)


class Wheel:
    """Reads what `cargo bench --bench work -- rods` prints."""

    def __init__(self, text):
        lines = [numpy.array(line.split(), dtype=float) for line in text.splitlines()]
        rods = numpy.array(lines[:5])
        self.subframe, self.knuckle, self.length = rods[:, :3], rods[:, 3:6], rods[:, 6]
        self.height = lines[5][0]
        self.near, self.answer = ((line[:9].reshape(3, 3), line[9:]) for line in lines[6:8])


def scalar(wheel, solver):
    """One warm solve by a general solver; returns its least time in ns and how far it is from the answer, mm."""
    start, centre = wheel.near
    squares, lengths = wheel.length**2, wheel.length
    missed, jacobian = numpy.empty(6), numpy.zeros((6, 6))
    jacobian[5, 2] = 1.0

    def place(x):
        a, b, c = half = x[3:] * (0.5 / LEVER)
        cross = numpy.array([[0.0, -c, b], [c, 0.0, -a], [-b, a, 0.0]])
        share = 1.0 / (1.0 + half @ half)
        arm = wheel.knuckle @ ((ONE + (2.0 * share) * (cross + cross @ cross)) @ start).T
        return arm, arm + (x[:3] - wheel.subframe), cross, share

    def misses(x):
        _, line, _, _ = place(x)
        missed[:5] = ((line * line).sum(axis=1) - squares) / (2.0 * lengths)
        missed[5] = x[2] - wheel.height
        return missed.copy()

    def slopes(x):
        arm, line, cross, share = place(x)
        along = line / lengths[:, None]
        jacobian[:5, :3] = along
        moment = numpy.empty((5, 3))
        moment[:, 0] = arm[:, 1] * along[:, 2] - arm[:, 2] * along[:, 1]
        moment[:, 1] = arm[:, 2] * along[:, 0] - arm[:, 0] * along[:, 2]
        moment[:, 2] = arm[:, 0] * along[:, 1] - arm[:, 1] * along[:, 0]
        # dw = 2 (dt + t x dt) / (1 + t.t)
        jacobian[:5, 3:] = moment @ (ONE + cross) * (share / LEVER)
        return jacobian.copy()

    x0 = numpy.concatenate([centre, numpy.zeros(3)])
    if solver == "fsolve":
        best, answer = least(lambda: fsolve(misses, x0, fprime=slopes, xtol=1e-13), 300)
    else:
        best, answer = least(
            lambda: least_squares(misses, x0, jac=slopes, method="lm", xtol=1e-14, ftol=1e-14, gtol=1e-14).x, 300
        )
    return best, numpy.linalg.norm(answer[:3] - wheel.answer[1])


def batch(wheel, samples=100_000):
    """Newton's method on all samples at once, each with lengths of its own; ns a sample.

    In parts that stay in the cache, rows by columns of whole samples, as numpy likes it."""
    random = numpy.random.default_rng(1)
    length = wheel.length + random.normal(0.0, 0.5, (samples, 5))
    length[0] = wheel.length
    part = 2000

    def ask():
        return numpy.concatenate([solved(wheel, length[i : i + part]) for i in range(0, samples, part)])

    best, centre = least(ask, 5)
    return best / samples, numpy.linalg.norm(centre[0] - wheel.answer[1])


def solved(wheel, length):
    count = len(length)
    rotation = numpy.repeat(wheel.near[0][None], count, axis=0)
    centre = numpy.repeat(wheel.near[1][None], count, axis=0)
    jacobian = numpy.zeros((count, 6, 6))
    jacobian[:, 5, 2] = 1.0
    missed = numpy.empty((count, 6, 1))
    knuckle, per_length = wheel.knuckle.T, 1.0 / length
    for _ in range(20):
        arm = (rotation @ knuckle).swapaxes(1, 2)
        line = arm + (centre[:, None] - wheel.subframe)
        along = line * per_length[..., None]
        missed[:, :5, 0] = (length - (line * along).sum(axis=2)) * 0.5
        missed[:, 5, 0] = wheel.height - centre[:, 2]
        jacobian[:, :5, :3] = along
        jacobian[:, :5, 3] = (arm[..., 1] * along[..., 2] - arm[..., 2] * along[..., 1]) / LEVER
        jacobian[:, :5, 4] = (arm[..., 2] * along[..., 0] - arm[..., 0] * along[..., 2]) / LEVER
        jacobian[:, :5, 5] = (arm[..., 0] * along[..., 1] - arm[..., 1] * along[..., 0]) / LEVER
        motion = numpy.linalg.solve(jacobian, missed)[..., 0]
        centre += motion[:, :3]
        x, y, z = half = motion[:, 3:].T * (0.5 / LEVER)
        two = 2.0 / (1.0 + (half * half).sum(axis=0))
        turn = numpy.empty((count, 3, 3))
        turn[:, 0, 0], turn[:, 1, 1], turn[:, 2, 2] = 1 - two * (y * y + z * z), 1 - two * (x * x + z * z), 1 - two * (x * x + y * y)
        turn[:, 0, 1], turn[:, 1, 0] = two * (x * y - z), two * (x * y + z)
        turn[:, 0, 2], turn[:, 2, 0] = two * (x * z + y), two * (x * z - y)
        turn[:, 1, 2], turn[:, 2, 1] = two * (y * z - x), two * (y * z + x)
        rotation = turn @ rotation
        if numpy.abs(motion).max() < 1e-6:
            return centre
    raise RuntimeError("no answer")


def least(ask, times):
    best = numpy.inf
    for _ in range(times):
        begin = time.perf_counter()
        answer = ask()
        best = min(best, time.perf_counter() - begin)
    return best * 1e9, answer
