//! A floor that slopes sideways, and readings that do not repeat: what two readings of one state tell.

use nalgebra::Matrix2;

use super::flag::Flag;
use super::learn::DOUBT;
use super::state::{Seen, State};
use crate::car::{Car, Hand, PerSide, Stance};
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
    pub(super) states: PerSide<State<'a>>,
    pub(super) seen: PerSide<Seen>,
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
        Hand::BOTH.into_iter().all(|hand| same(self.stance.drop(hand), other.stance.drop(hand)))
            && self.stance.front.zip(other.stance.front).is_none_or(|(a, b)| same(a, b))
    }

    /// Covariance of camber and toe of a wheel from the heights of this reading and of the one before, rad2: two heights that
    /// were measured each by itself differ by both errors.
    pub(super) fn height_noise(&self, before: &Self, hand: Hand) -> Matrix2<f64> {
        if self.is_height_of(before) {
            return Matrix2::zeros();
        }
        let State { side, setup, position, .. } = &self.states[hand];
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
        self.is_height_of(other)
            && Hand::BOTH
                .into_iter()
                .all(|hand| self.states[hand].turned_since(&other.states[hand]).is_empty())
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
            for (seen, sign) in visit.seen.iter_mut().zip([1.0, -1.0]) {
                if let Some(camber) = &mut seen.camber {
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
    let rise = |hand| Some(turned_round(plain.seen[hand].camber?, turned.seen[hand].camber?, hand).1);
    let PerSide { left, right } = PerSide::of(rise).all()?;
    // They find how far the floor rises to the left.
    let slope = -f64::midpoint(left.value, right.value);
    Some((slope, (left.sigma.powi(2) + right.sigma.powi(2)) / 4.0))
}

/// Whether the cambers are off what the profile says as they would be on a floor that slopes.
///
/// `off` are the differences of the two wheels, rad, `spreads` the covariances of the profile's own readings.
pub(super) fn suspect(
    car: &Car,
    off: PerSide<Measured>,
    spreads: &PerSide<Matrix2<f64>>,
    round: usize,
) -> Option<Flag> {
    let half = (off.left.value - off.right.value) / 2.0;
    let mean = f64::midpoint(off.left.value, off.right.value);
    let variance: f64 = off
        .zip(*spreads)
        .into_iter()
        .map(|(off, spread)| DOUBT * DOUBT * spread[(0, 0)] + off.sigma.powi(2))
        .sum();
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
///
/// Of `n` readings of one thing the sum of squares about their mean has `n - 1` degrees of freedom; they are added up over the
/// states, the wheels and, for camber, the ways round.
pub(super) fn repeat(visits: &mut [Visit<'_>]) -> Vec<Flag> {
    let mut flags = Vec::new();
    for figure in [Figure::Camber, Figure::Toe] {
        let (mut freedom, mut stated, mut squares) = (0.0, 0.0, 0.0);
        for readings in repeats(visits, figure) {
            #[expect(clippy::cast_precision_loss, reason = "a count")]
            let count = readings.len() as f64;
            let mean = readings.iter().map(|reading| reading.value).sum::<f64>() / count;
            squares += readings.iter().map(|reading| (reading.value - mean).powi(2)).sum::<f64>();
            stated +=
                (count - 1.0) * readings.iter().map(|reading| reading.sigma.powi(2)).sum::<f64>() / count;
            freedom += count - 1.0;
        }
        if freedom == 0.0 || squares <= stated * rarely(freedom) {
            continue;
        }
        let [stated, repeat] = [stated, squares].map(|sum| (sum / freedom).sqrt());
        for reading in visits.iter_mut().flat_map(|visit| &mut visit.seen) {
            if let Some(Some(reading)) = reading.get_mut(figure) {
                reading.sigma = reading.sigma.max(repeat);
            }
        }
        let [stated_deg, repeat_deg] = [stated, repeat].map(f64::to_degrees);
        flags.push(Flag::Noise { figure, stated_deg, repeat_deg });
    }
    flags
}

/// Readings of one figure of one wheel in one state, made alike, at least two of each.
fn repeats(visits: &[Visit<'_>], figure: Figure) -> Vec<Vec<Measured>> {
    let alike = |a: &Visit<'_>, b: &Visit<'_>| {
        let of_camber = figure != Figure::Camber || a.turned_round == b.turned_round;
        a.floor == b.floor && of_camber && a.is_state_of(b)
    };
    let mut repeats: Vec<Vec<Measured>> = Vec::new();
    for run in visits.chunk_by(alike) {
        for hand in Hand::BOTH {
            let readings: Vec<Measured> =
                run.iter().filter_map(|visit| *visit.seen[hand].get(figure)?).collect();
            // Two that differ by something that happened are not readings of one thing.
            let one =
                |a: &Measured, b: &Measured| (a.value - b.value).abs() <= HAPPENED * a.sigma.hypot(b.sigma);
            repeats.extend(readings.chunk_by(one).filter(|run| run.len() > 1).map(<[Measured]>::to_vec));
        }
    }
    repeats
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
