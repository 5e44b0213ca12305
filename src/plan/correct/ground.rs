//! A floor that slopes sideways, and readings that do not repeat: what two readings of one state tell.

use nalgebra::Matrix2;

use super::flag::Flag;
use super::learn::DOUBT;
use super::state::{Seen, State};
use crate::car::{Car, Hand, Stance};
use crate::geometry::Figure;
use crate::measure::{Measured, ReadWith, Sensitivity, turned_round};

/// A slope is told when it is this many of its standard deviations.
const TOLD: f64 = 2.5;
/// Cambers are off by opposite amounts if their mean is no more than this part of half their difference.
const OPPOSITE: f64 = 0.3;
/// ... and that by so many of its standard deviations.
const SUSPECT: f64 = 2.5;
/// Readings of one state that differ by more than so many standard deviations differ by something that happened.
const HAPPENED: f64 = 4.5;

/// Heights closer than this are the same, mm: nobody measures them better.
const SAME_HEIGHT: f64 = 0.5;

/// One round of both wheels.
#[derive(Debug, Clone)]
pub(super) struct Visit<'a> {
    /// Its place among all rounds.
    pub(super) index: usize,
    pub(super) stance: Stance,
    /// Standard deviation of each drop, mm.
    pub(super) drop_sigma: f64,
    pub(super) states: [State<'a>; 2],
    pub(super) seen: [Seen; 2],
    /// The toe of both wheels together, where only that was read.
    pub(super) total_toe: Option<Measured>,
    /// Whether the car stood the other way round.
    pub(super) turned_round: bool,
    /// The floor on which it stood.
    pub(super) floor: Floor,
}

/// The floor under a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Floor {
    /// Its slope has been taken out already.
    Level,
    /// The one on which readings with this are made.
    Of(ReadWith),
    /// Nobody said; only the car turned round on the same spots stands on the same.
    Unknown,
}

impl Visit<'_> {
    /// Whether the car stood as high. A height that was not measured anew is off by what it was off before.
    fn is_height_of(&self, other: &Self) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() <= SAME_HEIGHT;
        (0..2).all(|i| same(self.stance.drops[i], other.stance.drops[i]))
            && self.stance.front.zip(other.stance.front).is_none_or(|(a, b)| same(a, b))
    }

    /// Covariance of camber and toe of a wheel from the heights of this reading and of the one before, rad2: two heights that
    /// were measured each by itself differ by both errors.
    pub(super) fn height_noise(&self, before: &Self, side: usize) -> Matrix2<f64> {
        if self.is_height_of(before) {
            return Matrix2::zeros();
        }
        let State { side, setup, position, .. } = &self.states[side];
        let drops = Sensitivity::of(side, &self.stance, setup, position).drops;
        drops * drops.transpose() * (self.drop_sigma.powi(2) + before.drop_sigma.powi(2))
    }

    /// Whether the other one is of the same state on the same floor, with the car turned round.
    fn is_turned_round_in(&self, other: &Self) -> bool {
        self.turned_round != other.turned_round
            && self.floor == other.floor
            && self.floor != Floor::Level
            && self.is_state_of(other)
    }

    fn is_state_of(&self, other: &Self) -> bool {
        self.is_height_of(other) && (0..2).all(|i| self.states[i].turned_since(&other.states[i]).is_empty())
    }
}

/// Takes the slope of the floor off, where the car was read both ways round in one state.
///
/// A floor that is lower under the left wheel by the angle `p` leans the car to the left: the left camber reads `p` more, the
/// right one `p` less. The other way round it is the opposite. It is taken off the readings that told it, and off the others
/// with the same source; a rack stands on a floor of its own.
pub(super) fn level(car: &Car, visits: &mut [Visit<'_>]) -> Vec<Flag> {
    let mut flags = Vec::new();
    for Slope { floor, told_by, value, variance } in slopes(visits) {
        if value.abs() <= TOLD * variance.sqrt() {
            continue;
        }
        let mut rounds = Vec::new();
        for (number, visit) in visits.iter_mut().enumerate() {
            if visit.floor != floor || (floor == Floor::Unknown && !told_by.contains(&number)) {
                continue;
            }
            let way = if visit.turned_round { -1.0 } else { 1.0 };
            for (i, sign) in [1.0, -1.0].into_iter().enumerate() {
                if let Some(camber) = &mut visit.seen[i][0] {
                    camber.value -= sign * way * value;
                }
            }
            rounds.push(visit.index + 1);
        }
        flags.push(uneven(car, value, true, rounds));
    }
    flags
}

/// What one floor was found to slope by.
struct Slope {
    floor: Floor,
    /// The visits that told it.
    told_by: Vec<usize>,
    /// How much lower it is on the left, rad.
    value: f64,
    variance: f64,
}

/// The slopes of the floors on which the car was turned round; no reading counts twice. The pairs of one floor are averaged.
fn slopes(visits: &[Visit<'_>]) -> Vec<Slope> {
    let mut slopes: Vec<Slope> = Vec::new();
    let mut next = 0;
    while let Some([a, b]) = visits.get(next..next + 2) {
        let slope = if a.is_turned_round_in(b) { slope_of(a, b) } else { None };
        let Some((value, variance)) = slope else {
            next += 1;
            continue;
        };
        let told_by = vec![next, next + 1];
        let known = |slope: &&mut Slope| slope.floor == a.floor && a.floor != Floor::Unknown;
        if let Some(slope) = slopes.iter_mut().find(known) {
            let weight = slope.variance / (slope.variance + variance);
            slope.value += weight * (value - slope.value);
            slope.variance *= 1.0 - weight;
            slope.told_by.extend(told_by);
        } else {
            slopes.push(Slope { floor: a.floor, told_by, value, variance });
        }
        next += 2;
    }
    slopes
}

/// How much lower the floor is on the left, from two readings of one state, and the variance of that.
fn slope_of(a: &Visit<'_>, b: &Visit<'_>) -> Option<(f64, f64)> {
    let (plain, turned) = if a.turned_round { (b, a) } else { (a, b) };
    let of = |hand: Hand| {
        let i = hand.index();
        Some(turned_round(plain.seen[i][0]?, turned.seen[i][0]?, hand).1)
    };
    let [left, right] = [of(Hand::Left)?, of(Hand::Right)?];
    // They find how far the floor rises to the left.
    let slope = -f64::midpoint(left.value, right.value);
    Some((slope, (left.sigma.powi(2) + right.sigma.powi(2)) / 4.0))
}

/// Whether the cambers are off what the profile says as they would be on a floor that slopes.
///
/// `off` are the differences of the two wheels, rad, `spreads` the covariances of the profile's own readings.
pub(super) fn suspect(
    car: &Car,
    off: [Measured; 2],
    spreads: &[Matrix2<f64>; 2],
    round: usize,
) -> Option<Flag> {
    let half = (off[0].value - off[1].value) / 2.0;
    let mean = f64::midpoint(off[0].value, off[1].value);
    let variance: f64 = (0..2).map(|i| DOUBT * DOUBT * spreads[i][(0, 0)] + off[i].sigma.powi(2)).sum();
    let opposite = mean.abs() <= OPPOSITE * half.abs();
    (opposite && half.abs() > SUSPECT * variance.sqrt() / 2.0).then(|| uneven(car, half, false, vec![round]))
}

fn uneven(car: &Car, slope: f64, known: bool, rounds: Vec<usize>) -> Flag {
    Flag::UnevenGround {
        slope_deg: slope.to_degrees(),
        lower_left_mm: car.track() * slope.tan(),
        known,
        rounds,
    }
}

/// What readings of one state show of their noise; where it is more than they are said to be good for, it is used instead.
pub(super) fn repeat(visits: &mut [Visit<'_>]) -> Vec<Flag> {
    let mut flags = Vec::new();
    for figure in [Figure::Camber, Figure::Toe] {
        let f = figure as usize;
        let mut pairs: Vec<[Measured; 2]> = Vec::new();
        for pair in visits.windows(2).filter(|pair| pair[0].is_state_of(&pair[1])) {
            if figure == Figure::Camber && pair[0].turned_round != pair[1].turned_round {
                continue;
            }
            pairs.extend((0..2).filter_map(|i| Some([pair[0].seen[i][f]?, pair[1].seen[i][f]?])));
        }
        pairs.retain(|[a, b]| (a.value - b.value).abs() <= HAPPENED * a.sigma.hypot(b.sigma));
        if pairs.is_empty() {
            continue;
        }
        #[expect(clippy::cast_precision_loss, reason = "a count")]
        let count = pairs.len() as f64;
        let mean = |of: &dyn Fn(&[Measured; 2]) -> f64| pairs.iter().map(of).sum::<f64>() / count;
        let stated = mean(&|[a, b]| f64::midpoint(a.sigma.powi(2), b.sigma.powi(2)));
        let repeat = mean(&|[a, b]| (a.value - b.value).powi(2) / 2.0);
        if repeat <= stated * rarely(count) {
            continue;
        }
        for reading in visits.iter_mut().flat_map(|visit| &mut visit.seen) {
            if let Some(reading) = &mut reading[f] {
                reading.sigma = reading.sigma.max(repeat.sqrt());
            }
        }
        let [stated_deg, repeat_deg] = [stated, repeat].map(|variance| variance.sqrt().to_degrees());
        flags.push(Flag::Noise { figure, stated_deg, repeat_deg });
    }
    flags
}

/// What a mean of so many squares of standard normal errors exceeds in 1 of 1000 cases: the chi-squared law, by the
/// approximation of E. B. Wilson and M. M. Hilferty (1931, cited from memory).
fn rarely(count: f64) -> f64 {
    const ONE_OF_1000: f64 = 3.090_232_306;
    let part = 2.0 / (9.0 * count);
    (1.0 - part + ONE_OF_1000 * part.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    use super::rarely;
    use approx::assert_relative_eq;

    /// Chi-squared tables: 13.816 for 2, 29.588 for 10, 59.703 for 30 degrees of freedom at 99.9 percent (common handbook
    /// values). Far out and for few degrees of freedom the approximation is 2 percent off, which no flag hangs on.
    #[test]
    fn the_approximation_is_that_of_the_tables() {
        assert_relative_eq!(2.0 * rarely(2.0), 13.816, max_relative = 0.025);
        assert_relative_eq!(10.0 * rarely(10.0), 29.588, max_relative = 0.007);
        assert_relative_eq!(30.0 * rarely(30.0), 59.703, max_relative = 0.002);
    }
}
