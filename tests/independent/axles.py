"""An independent reference for axles of other members than five rods.

It shares neither code nor formulation with the program. Unknowns are natural coordinates: the wheel centre and three vectors of the
knuckle, whose squares and products are six of the equations; every member has equations between points, with unknowns of its own:

    rod          the square of the distance between its two ends
    blade        its bush lies at (x, y + slide, z): three equations, the slide unknown
    strut        its top is the knuckle's point plus so much of its line: three equations, that much unknown; what leans or moves it is
                 one unknown more
    wishbone     its joint lies where its legs' circle about the line of its pivots is at an angle: three equations, the angle unknown
    upright link its foot goes round that line by the same angle: the square of a distance

Newton's method, derivatives by complex steps, elimination with pivots; Python's own numbers, no packages. Heights are followed in steps
of 5 mm. Rates are solutions of the same linear system.

A line of `axles.jsonl` is a car: its kind, its points and what it is to read, then for each drop the drop, camber, toe, x and y of the
wheel centre; camber and toe per mm of drop at the last; what its two adjusters must be to meet the spec there; and the drop up to
which the camber cam alone keeps its tolerance. Angles in degrees, else mm.

    python3 axles.py > axles.jsonl     (seven minutes)
"""

import cmath
import json
import math
import random

DROPS = (-35.0, 20.0, 40.0)
SPEC = (-1.1, 0.12)
STEP = 5.0


def sub(a, b):
    return [x - y for x, y in zip(a, b)]


def add(a, b):
    return [x + y for x, y in zip(a, b)]


def mul(a, s):
    return [x * s for x in a]


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def unit(a):
    return mul(a, 1 / math.sqrt(dot(a, a)))


def solve_linear(a, b):
    n = len(b)
    m = [row[:] + [b[i]] for i, row in enumerate(a)]
    for k in range(n):
        best = max(range(k, n), key=lambda i: abs(m[i][k]))
        m[k], m[best] = m[best], m[k]
        for i in range(k + 1, n):
            f = m[i][k] / m[k][k]
            if f:
                for j in range(k, n + 1):
                    m[i][j] -= f * m[k][j]
    x = [0.0] * n
    for k in reversed(range(n)):
        x[k] = (m[k][n] - sum(m[k][j] * x[j] for j in range(k + 1, n))) / m[k][k]
    return x


class Car:
    """Members are closures from (knuckle, own unknowns, setting) to residuals."""

    def __init__(self, centre, reading):
        self.centre = centre
        camber, toe = (math.radians(x) for x in reading)
        self.spindle = [math.sin(toe) * math.cos(camber), math.cos(toe) * math.cos(camber), -math.sin(camber)]
        self.members = []  # name, unknowns at the reference, function
        self.points = {}

    def rod(self, name, inner, outer):
        length2 = dot(sub(outer, inner), sub(outer, inner))
        scale = 2 * math.sqrt(length2)
        self.points[name] = (inner, outer)

        def residuals(body, own, moved):
            d = sub(body(outer), add(inner, moved))
            return [(dot(d, d) - length2) / scale]

        self.members.append((name, [], residuals))

    def blade(self, name, bush):
        def residuals(body, own, moved):
            return sub(body(bush), [bush[0], bush[1] + own[0], bush[2]])

        self.members.append((name, [0.0], residuals))

    def strut(self, name, top, foot):
        line = unit(sub(top, foot))
        forward = unit(sub([1, 0, 0], mul(line, line[0])))
        across = cross(line, forward)
        self.points[name] = (top, foot, line, across)
        length = math.sqrt(dot(sub(top, foot), sub(top, foot)))

        def residuals(body, own, moved):
            # moved: the top's shift, and how the line leans against the knuckle
            shift, lean = moved
            way = sub(body.way(line), mul(body.way(across), lean))
            return sub(add(top, shift), add(body(foot), mul(way, own[0])))

        self.members.append((name, [length], residuals))

    def wishbone(self, name, front, rear, joint, link=None):
        """With the upright link's ends, where it carries one: D on the arm, E on the knuckle."""
        axis = unit(sub(rear, front))
        legs = [math.sqrt(dot(sub(joint, p), sub(joint, p))) for p in (front, rear)]

        def turned(point, angle, about):
            r = sub(point, about)
            c, s = cmath.cos(angle), cmath.sin(angle)
            return add(about, add(add(mul(r, c), mul(cross(axis, r), s)), mul(axis, dot(axis, r) * (1 - c))))

        def residuals(body, own, moved):
            there = sub(body(joint), turned(joint, own[0], front))
            if link is None:
                return there
            d = sub(body(link[1]), turned(link[0], own[0], front))
            e = sub(link[1], link[0])
            return there + [(dot(d, d) - dot(e, e)) / (2 * math.sqrt(dot(e, e)))]

        self.members.append((name, [0.0], residuals))
        self.wish = (front, rear, joint, link, legs)

    def start(self, extra):
        x = self.centre + [1, 0, 0, 0, 1, 0, 0, 0, 1]
        for _, own, _ in self.members:
            x = x + own
        return [float(v) for v in x] + [0.0] * extra

    def equations(self, x, z, moved, free=(), target=None):
        """`free`: members whose equations are left to unknown settings at the end of x."""
        c, u, v, w = x[0:3], x[3:6], x[6:9], x[9:12]

        class Body:
            def __call__(_, point):
                k = sub(point, self.centre)
                return add(c, self._way(k, u, v, w))

            def way(_, k):
                return self._way(k, u, v, w)

        body = Body()
        out = [dot(u, u) - 1, dot(v, v) - 1, dot(w, w) - 1, dot(u, v), dot(u, w), dot(v, w), c[2] - z]
        out = [100 * e for e in out[:6]] + out[6:]
        place = 12
        settings = {}
        count = sum(len(own) for _, own, _ in self.members)
        for i, name in enumerate(free):
            settings[name] = x[12 + count + i]
        for name, own, residuals in self.members:
            mine = x[place:place + len(own)]
            place += len(own)
            by = moved(name, settings.get(name))
            if by is None:
                continue  # a rod whose length is free
            out += residuals(body, mine, by)
        if target is not None:
            o = body.way(self.spindle)
            camber, toe = (math.radians(t) for t in target)
            out += [100 * (o[2] + math.sin(camber)), 100 * (o[0] * math.cos(toe) - o[1] * math.sin(toe))]
        return out

    @staticmethod
    def _way(k, u, v, w):
        return add(add(mul(u, k[0]), mul(v, k[1])), mul(w, k[2]))

    def newton(self, x, f):
        for _ in range(30):
            r = f(x)
            jacobian = self.jacobian(x, f)
            step = solve_linear(jacobian, [-complex(v).real for v in r])
            x = add(x, step)
            if max(abs(s) for s in step) < 1e-11:
                return x, jacobian
        raise ArithmeticError("no position")

    @staticmethod
    def jacobian(x, f):
        columns = []
        for i in range(len(x)):
            y = [complex(v) for v in x]
            y[i] += 1e-30j
            columns.append([complex(v).imag / 1e-30 for v in f(y)])
        return [list(row) for row in zip(*columns)]

    def at(self, drop, moved):
        """Followed from the reference."""
        x, steps = self.start(0), max(1, math.ceil(abs(drop) / STEP))
        for k in range(steps + 1):
            z = self.centre[2] + drop * k / steps
            x, jacobian = self.newton(x, lambda x: self.equations(x, z, moved))
        return x, jacobian

    def reads(self, x):
        o = self._way(self.spindle, x[3:6], x[6:9], x[9:12])
        camber, toe = -cmath.asin(o[2]), cmath.atan(o[0] / o[1])
        return camber, toe

    def rates(self, x, jacobian):
        dx = solve_linear(jacobian, [1.0 if i == 6 else 0.0 for i in range(len(x))])
        moved = [complex(a, 1e-30 * b) for a, b in zip(x, dx)]
        return [math.degrees(v.imag / 1e-30) for v in self.reads(moved)]


def shaken(rng, point, by=15.0):
    return [x + rng.uniform(-by, by) for x in point]


def plain(name, setting):
    return ([0, 0, 0], 0.0) if name == "strut" else [0, 0, 0]


def case(rng, kind, number):
    centre = shaken(rng, [0.0, 750.0, 305.0])
    reading = [rng.uniform(-1.4, -0.6), rng.uniform(0.0, 0.2)]
    car = Car(centre, reading)
    p = {}

    def at(name, point):
        p[name] = shaken(rng, point)
        return p[name]

    if kind == "blade":
        car.blade("blade", at("bush", [465, 560, 296]))
        car.rod("upper", at("upper in", [-15, 412, 452]), at("upper out", [-10, 668, 462]))
        car.rod("lower", at("lower in", [-105, 232, 212]), at("lower out", [-95, 690, 196]))
        car.rod("toe", at("toe in", [118, 366, 234]), at("toe out", [108, 694, 216]))
        sets, cam = ("upper", "toe"), ("lower", 3.5)
    elif kind == "strut":
        car.strut("strut", at("top", [-25, 560, 792]), at("foot", [0, 652, 330]))
        car.rod("front", at("front in", [125, 322, 214]), at("front out", [78, 694, 200]))
        car.rod("toe", at("toe in", [-135, 318, 218]), at("toe out", [-112, 698, 202]))
        car.rod("trailing", at("trailing in", [455, 610, 246]), at("trailing out", [18, 676, 196]))
        sets, cam = ("strut", "toe"), ("strut", (3.0 if number % 2 else 9.0) / (5 if number % 4 > 1 else 1))
        p["slot"] = [rng.uniform(-0.3, 0.3), 1.0, rng.uniform(-0.1, 0.1)]
        p["above"] = rng.uniform(45, 75)
    else:
        arm = (at("front", [175, 372, 208]), at("rear", [-190, 352, 216]), at("joint", [40, 706, 192]))
        link = (at("foot", [-92, 652, 200]), at("head", [-84, 664, 352]))
        car.wishbone("lower", *arm, link)
        car.rod("upper", at("upper in", [5, 436, 472]), at("upper out", [0, 676, 486]))
        car.rod("toe", at("toe in", [-222, 392, 270]), at("toe out", [-178, 700, 262]))
        sets, cam = ("upper", "toe"), ("upper", 3.0)

    drops = []
    for drop in DROPS:
        x, jacobian = car.at(drop, plain)
        camber, toe = (math.degrees(v.real) for v in map(complex, car.reads(x)))
        drops.append([drop, camber, toe, x[0], x[1]])
    rates = car.rates(x, jacobian)

    slot = unit(p["slot"]) if kind == "strut" else None

    def set_to(name, value):
        """How a strut stands whose bolt, or whose top, is moved by so many mm."""
        if number % 2:
            return [0, 0, 0], value / p["above"]
        return mul(slot, value), 0.0

    # The inverse question: what the two adjusters must be.
    def moved(name, setting):
        if name == "strut":
            return set_to(name, setting)
        return None if name in sets else [0, 0, 0]

    free = ("strut",) if kind == "strut" else ()
    z = centre[2] + DROPS[-1]
    y = x + [0.0] * len(free)
    # From what it reads to what it is to read, in steps.
    here = drops[-1][1:3]
    for k in range(1, 11):
        target = [a + (b - a) * k / 10 for a, b in zip(here, SPEC)]
        y, _ = car.newton(y, lambda y: car.equations(y, z, moved, free, target))
    def out(name):
        inner, outer = car.points[name][:2]
        k = add(y[0:3], car._way(sub(outer, centre), y[3:6], y[6:9], y[9:12]))
        return math.sqrt(dot(sub(k, inner), sub(k, inner)))
    set_at = [y[-1] if kind == "strut" else out("upper"), out("toe")]

    # The camber cam alone: up to which drop its better end keeps camber within 0.5 of -1.1.
    def with_cam(value):
        def moved(name, _):
            if name == "strut":
                return set_to(name, value) if kind == "strut" else ([0, 0, 0], 0.0)
            return [0, value, 0] if name == cam[0] else [0, 0, 0]
        return moved

    ends = [with_cam(-cam[1]), with_cam(cam[1])]
    def best(drop):
        return max(math.degrees(complex(car.reads(car.at(drop, end)[0])[0]).real) for end in ends)
    low, high = 0.0, 80.0
    floor = SPEC[0] - 0.5
    run_out = None
    if best(low) > floor > best(high):
        # Regula falsi by halves, to the end.
        f_low, f_high = best(low) - floor, best(high) - floor
        for _ in range(60):
            middle = (low * f_high - high * f_low) / (f_high - f_low)
            f = best(middle) - floor
            if abs(f) < 1e-13:
                break
            if f > 0:
                low, f_low, f_high = middle, f, f_high / 2
            else:
                high, f_high, f_low = middle, f, f_low / 2
        run_out = middle
    return {"kind": kind, "number": number, "centre": centre, "reading": reading, "points": p, "drops": drops,
            "rates": rates, "set": set_at, "run_out": run_out}


def main():
    for kind in ("blade", "strut", "integral"):
        rng = random.Random(f"{kind} 1")
        number = done = 0
        while done < 60:
            number += 1
            try:
                made = case(rng, kind, number)
            except ArithmeticError:
                continue
            print(json.dumps(made))
            done += 1


if __name__ == "__main__":
    main()
