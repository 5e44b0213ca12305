"""The same wheel in numpy and scipy: what `compare.py` holds the speed of rodset against.

Unknowns are the wheel centre and a rotation vector from the start, so that the analytic Jacobian is that of the rows."""

import time

import numpy
from scipy.optimize import fsolve, least_squares

LEVER = 100.0


class Wheel:
    """Reads what `cargo bench --bench work -- rods` prints."""

    def __init__(self, text):
        lines = [numpy.array(line.split(), dtype=float) for line in text.splitlines()]
        rods = numpy.array(lines[:5])
        self.subframe, self.knuckle, self.length = rods[:, :3], rods[:, 3:6], rods[:, 6]
        self.height = lines[5][0]
        self.near, self.answer = ((line[:9].reshape(3, 3), line[9:]) for line in lines[6:8])


def turned(turn):
    """Rotation matrices of rotation vectors (..., 3), by Rodrigues' formula."""
    angle = numpy.linalg.norm(turn, axis=-1)[..., None, None]
    x, y, z = numpy.moveaxis(turn, -1, 0)
    zero = numpy.zeros_like(x)
    cross = numpy.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1).reshape(*x.shape, 3, 3)
    safe = numpy.where(angle > 0, angle, 1.0)
    first = numpy.where(angle > 0, numpy.sin(safe) / safe, 1.0)
    second = numpy.where(angle > 0, (1 - numpy.cos(safe)) / safe**2, 0.5)
    return numpy.eye(3) + first * cross + second * (cross @ cross)


def rows(wheel, rotation, centre, length):
    """Residuals (..., 6) and Jacobians (..., 6, 6) along small motions."""
    arm = numpy.einsum("...ij,kj->...ki", rotation, wheel.knuckle)
    line = centre[..., None, :] + arm - wheel.subframe
    distance = numpy.linalg.norm(line, axis=-1)
    along = line / distance[..., None]
    missed = numpy.concatenate([distance - length, centre[..., 2:] - wheel.height], axis=-1)
    jacobian = numpy.zeros((*missed.shape, 6))
    jacobian[..., :5, :3] = along
    jacobian[..., :5, 3:] = numpy.cross(arm, along) / LEVER
    jacobian[..., 5, 2] = 1.0
    return missed, jacobian


def scalar(wheel, solver):
    """One warm solve by a general solver with the analytic Jacobian; returns least ns and how far it is from the answer.

    At a rotation vector `t` the derivative of the rotation is the left Jacobian of the group times `dt`."""
    start, centre = wheel.near

    def left(turn):
        angle = numpy.sqrt(turn @ turn)
        x, y, z = turn
        cross = numpy.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
        if angle < 1e-8:
            return numpy.eye(3) + cross / 2
        return (
            numpy.eye(3)
            + (1 - numpy.cos(angle)) / angle**2 * cross
            + (angle - numpy.sin(angle)) / angle**3 * (cross @ cross)
        )

    def missed(x):
        return rows(wheel, turned(x[3:] / LEVER) @ start, x[:3], wheel.length)[0]

    def slopes(x):
        jacobian = rows(wheel, turned(x[3:] / LEVER) @ start, x[:3], wheel.length)[1]
        jacobian[:, 3:] = jacobian[:, 3:] @ left(x[3:] / LEVER)
        return jacobian

    x0 = numpy.concatenate([centre, numpy.zeros(3)])
    if solver == "fsolve":
        ask = lambda: fsolve(missed, x0, fprime=slopes, xtol=1e-13)
    else:
        ask = lambda: least_squares(missed, x0, jac=slopes, xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    best, answer = least(ask, 200)
    return best, numpy.linalg.norm(answer[:3] - wheel.answer[1])


def batch(wheel, samples=100_000):
    """Newton's method on all samples at once, each with lengths of its own; ns a sample."""
    random = numpy.random.default_rng(1)
    length = wheel.length + random.normal(0.0, 0.5, (samples, 5))
    length[0] = wheel.length

    def ask():
        rotation = numpy.broadcast_to(wheel.near[0], (samples, 3, 3))
        centre = numpy.broadcast_to(wheel.near[1], (samples, 3))
        for _ in range(20):
            missed, jacobian = rows(wheel, rotation, centre, length)
            motion = numpy.linalg.solve(jacobian, -missed[..., None])[..., 0]
            centre = centre + motion[:, :3]
            rotation = turned(motion[:, 3:] / LEVER) @ rotation
            if numpy.abs(motion).max() < 1e-8:
                return centre
        raise RuntimeError("no answer")

    best, centre = least(ask, 3)
    return best / samples, numpy.linalg.norm(centre[0] - wheel.answer[1])


def least(ask, times):
    best = numpy.inf
    for _ in range(times):
        begin = time.perf_counter()
        answer = ask()
        best = min(best, time.perf_counter() - begin)
    return best * 1e9, answer
