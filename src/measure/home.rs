//! From what people measure at home to angles: string box, toe plates, plumb line and level, floor.
//!
//! ```text
//! STRING BOX, seen from above, left wheel            PLUMB LINE, seen from behind, left wheel
//!
//!      front          car's centreline                    line   wheel
//!   |  gap  /            |                                 | top  /
//!   |------/             |                                 |-----/        the line hangs outside the wheel
//!   |     / toe-in:      |   forward                       |    /         top in: the top gap is the larger,
//!   |    /  the front    |      ^                          |   /          so the camber is minus
//!   |---/   edge is      |      |                          |--/
//!   | gap   further in   |                                 |bottom
//!   |  rear              |                                 |
//!   string outside the wheel
//! ```
//!
//! Both are one thing: a chord of the rim, `across` long, whose two ends lie at measured distances from a straight line.
//! The horizontal chord at hub height lies in the wheel plane whatever the camber, and so does the steepest one whatever
//! the toe, so with the distances taken square to the line
//!
//! ```text
//! toe    = asin((front - rear) / across)    less the angle of the string itself to the centreline
//! camber = asin((bottom - top) / across)
//! ```
//!
//! No angle is taken as small. A standard deviation is carried through each formula's own derivatives. Errors of single
//! readings are taken as independent; one that enters twice (`across`) is carried through both.

use super::Measured;
use crate::car::Hand;
use crate::geometry::DEGREE;

/// No rim that is still driven runs out by more to either side, rad: 3 mm across 430. Common practice, no source.
pub(crate) const MOST_RUN_OUT: f64 = 0.4 * DEGREE;

/// What a chord of the rim says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChordAngle {
    /// Its angle to the line, rad; of two readings half a wheel turn apart, their mean.
    pub angle: Measured,
    /// The rim's run-out in this direction, rad: half of what the two readings differ by.
    pub run_out: Option<f64>,
}

/// The angle of a chord `across` mm long to a straight line, from the distances of its ends to that line, mm; `None` where
/// they differ by more than the chord is long.
///
/// The first end is the one whose greater distance counts as plus: the front for toe, the bottom for camber. A second
/// reading is the same with the wheel turned by half a turn: the rim's wobble `w` then counts the other way, and the mean of
/// the angles is free of it up to `w` squared (0.1 degree of wobble: 0.0002 degree).
///
/// ```text
/// angle = 1/n sum asin(d / a),  d = first - second
/// var   = sum (s_d / (n a cos angle_i))^2 + (s_a / (n a) sum tan angle_i)^2,  s_d^2 = 2 ruler^2
/// ```
pub fn chord_angle(
    first: [f64; 2],
    half_turn: Option<[f64; 2]>,
    ruler: f64,
    across: Measured,
) -> Option<ChordAngle> {
    let angle = |[one, other]: [f64; 2]| {
        let angle = ((one - other) / across.value).asin();
        angle.is_finite().then_some(angle)
    };
    let a = angle(first)?;
    let b = match half_turn {
        Some(ends) => Some(angle(ends)?),
        None => None,
    };
    let (n, angles) = match b {
        Some(b) => (2.0, [a, b]),
        None => (1.0, [a, 0.0]),
    };
    let count = if b.is_some() { 2 } else { 1 };
    let of_ends = angles[..count].iter().map(|angle| (n * across.value * angle.cos()).powi(-2)).sum::<f64>();
    let of_across = angles[..count].iter().map(|angle| angle.tan()).sum::<f64>() / (n * across.value);
    let variance = 2.0 * ruler * ruler * of_ends + (of_across * across.sigma).powi(2);
    Some(ChordAngle {
        angle: Measured { value: angles[..count].iter().sum::<f64>() / n, sigma: variance.sqrt() },
        run_out: b.map(|b| (a - b).abs() / 2.0),
    })
}

/// The angle of a string to the car's centreline, rad, plus where it runs outward to the front, from its distances to the
/// centreline at two places `apart` mm along the car.
///
/// `angle = atan((front - rear) / apart)`; it is taken off the wheel's angle to the string:
/// `(front gap - rear gap) / across = sin(toe + angle)`.
pub fn string_angle(front: Measured, rear: Measured, apart: Measured) -> Measured {
    let value = (front.value - rear.value).atan2(apart.value);
    // d atan2(p, q) = (q dp - p dq) / (p^2 + q^2)
    let of_gap = value.cos() * value.cos() / apart.value;
    let of_apart = value.sin() * value.cos() / apart.value;
    let sigma = (of_gap * front.sigma).hypot(of_gap * rear.sigma).hypot(of_apart * apart.sigma);
    Measured { value, sigma }
}

/// The total toe from the distances between the ends of two plates that lie against the wheels, rad: plus where they are
/// nearer to each other in front. `None` where they differ by more than the plates allow.
///
/// `sin left + sin right = (rear - front) / length`, and with the toe shared evenly
/// `total = 2 asin((rear - front) / (2 length))`; shared as unevenly as half a degree against nothing, it is 0.000005
/// degree more. Which wheel has it the plates cannot tell.
pub fn total_toe_of_plates(
    [front, rear]: [f64; 2],
    half_turn: Option<[f64; 2]>,
    tape: f64,
    length: Measured,
) -> Option<ChordAngle> {
    let double = Measured { value: 2.0 * length.value, sigma: 2.0 * length.sigma };
    let half = chord_angle([rear, front], half_turn.map(|[front, rear]| [rear, front]), tape, double)?;
    let angle = Measured { value: 2.0 * half.angle.value, sigma: 2.0 * half.angle.sigma };
    Some(ChordAngle { angle, run_out: half.run_out.map(|run_out| 2.0 * run_out) })
}

/// The slope of the floor, rad, plus where it rises to the left, from how much higher it is under the left tyre over a
/// distance along it. `None` where it is higher than that distance.
///
/// `slope = asin(left_higher / across)`
pub fn floor_slope(left_higher: Measured, across: Measured) -> Option<Measured> {
    let slope = (left_higher.value / across.value).asin();
    let sigma =
        (left_higher.sigma / (across.value * slope.cos())).hypot(across.sigma * slope.tan() / across.value);
    slope.is_finite().then_some(Measured { value: slope, sigma })
}

/// The camber of a wheel against the floor, rad, from what a level or a plumb line reads on a floor that slopes.
///
/// With `m` as read, `k` the floor's rise towards the wheel's outside and `t` the wheel's toe:
///
/// ```text
/// sin m = sin c cos k - cos t cos c sin k        so with t = 0 just c = m + k
/// ```
///
/// A floor that rises to the left leans the car to the right: the left top leans in, the right one out.
pub fn off_floor(read: Measured, toe: f64, slope: Measured, hand: Hand) -> Measured {
    let k = outward(slope.value, hand);
    let (sin_k, cos_k) = k.sin_cos();
    let across = toe.cos() * sin_k;
    // R sin(c - d) = sin m with R = hypot(cos k, cos t sin k), d = atan2(cos t sin k, cos k)
    let c = across.atan2(cos_k) + (read.value.sin() / cos_k.hypot(across)).clamp(-1.0, 1.0).asin();
    let (sin_c, cos_c) = c.sin_cos();
    // F = sin c cos k - cos t cos c sin k - sin m = 0, so dc = -(F_m dm + F_k dk) / F_c
    let of_c = cos_c * cos_k + across * sin_c;
    let of_read = read.value.cos() / of_c;
    let of_slope = (sin_c * sin_k + toe.cos() * cos_c * cos_k) / of_c;
    Measured { value: c, sigma: (of_read * read.sigma).hypot(of_slope * slope.sigma) }
}

/// The camber of a wheel and the slope of the floor (plus: it rises to the left), rad, from what is read with the car one
/// way and then turned round on the same spots.
///
/// Turned round, the floor counts the other way: `c = (m1 + m2) / 2`, `k = (m2 - m1) / 2`. Exact for a wheel without toe; with
/// half a degree of it on a floor of one degree 0.00005 degree off. The camber is taken to be as good as one reading, not
/// better: a gauge whose zero is off is off both times. The slope is free of that zero.
pub fn turned_round(one_way: Measured, turned: Measured, hand: Hand) -> (Measured, Measured) {
    let camber = Measured {
        value: f64::midpoint(one_way.value, turned.value),
        sigma: one_way.sigma.max(turned.sigma),
    };
    let slope = outward((turned.value - one_way.value) / 2.0, hand);
    (camber, Measured { value: slope, sigma: one_way.sigma.hypot(turned.sigma) / 2.0 })
}

/// A rise to the left as a rise towards the outside of a wheel, and the other way round.
fn outward(slope: f64, hand: Hand) -> f64 {
    match hand {
        Hand::Left => slope,
        Hand::Right => -slope,
    }
}
