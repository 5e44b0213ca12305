//! A floor that slopes sideways, and readings that do not repeat: what two readings of one state tell.

use nalgebra::Matrix2;

use super::flag::Flag;
use super::learn::DOUBT;
use super::state::{Seen, State};
use crate::car::{Car, Hand};
use crate::geometry::Figure;
use crate::measure::{Measured, turned_round};

/// A slope is told when it is this many of its standard deviations.
const TOLD: f64 = 2.5;
/// Cambers are off by opposite amounts if their mean is no more than this part of half their difference.
const OPPOSITE: f64 = 0.3;
/// ... and that by so many of its standard deviations.
const SUSPECT: f64 = 2.5;
/// Readings of one state that differ by more than so many standard deviations differ by something that happened.
const HAPPENED: f64 = 4.5;

/// One round of both wheels.
#[derive(Debug, Clone)]
pub(super) struct Visit<'a> {
    /// Its place among all rounds.
    pub(super) index: usize,
    pub(super) states: [State<'a>; 2],
    pub(super) seen: [Seen; 2],
    /// The toe of both wheels together, where only that was read.
    pub(super) total_toe: Option<Measured>,
    /// Whether the car stood the other way round.
    pub(super) turned_round: bool,
}

impl Visit<'_> {
    fn is_state_of(&self, other: &Self) -> bool {
        (0..2).all(|i| self.states[i].turned_since(&other.states[i]).is_empty())
    }
}

/// Takes the slope of the floor off, where the car was read both ways round in one state.
///
/// A floor that is lower under the left wheel by the angle `p` leans the car to the left: the left camber reads `p` more, the
/// right one `p` less. The other way round it is the opposite.
pub(super) fn level(car: &Car, visits: &mut [Visit<'_>]) -> Option<Flag> {
    let of_pair = |a: &Visit<'_>, b: &Visit<'_>| {
        let (plain, turned) = if a.turned_round { (b, a) } else { (a, b) };
        let of = |hand: Hand| {
            let i = hand.index();
            Some(turned_round(plain.seen[i][0]?, turned.seen[i][0]?, hand).1)
        };
        let [left, right] = [of(Hand::Left)?, of(Hand::Right)?];
        // They find how far the floor rises to the left.
        let slope = -f64::midpoint(left.value, right.value);
        Some((slope, (left.sigma.powi(2) + right.sigma.powi(2)) / 4.0))
    };
    let pairs: Vec<(f64, f64)> = (visits.windows(2))
        .filter(|pair| pair[0].turned_round != pair[1].turned_round && pair[0].is_state_of(&pair[1]))
        .filter_map(|pair| of_pair(&pair[0], &pair[1]))
        .collect();
    let weight: f64 = pairs.iter().map(|(_, variance)| 1.0 / variance).sum();
    let slope = pairs.iter().map(|(slope, variance)| slope / variance).sum::<f64>() / weight;
    if pairs.is_empty() || slope.abs() <= TOLD / weight.sqrt() {
        return None;
    }
    for visit in visits {
        let way = if visit.turned_round { -1.0 } else { 1.0 };
        for (i, sign) in [1.0, -1.0].into_iter().enumerate() {
            if let Some(camber) = &mut visit.seen[i][0] {
                camber.value -= sign * way * slope;
            }
        }
    }
    Some(uneven(car, slope, true))
}

/// Whether the cambers are off what the profile says as they would be on a floor that slopes.
///
/// `off` are the differences of the two wheels, rad, `spreads` the covariances of the profile's own readings.
pub(super) fn suspect(car: &Car, off: [Measured; 2], spreads: &[Matrix2<f64>; 2]) -> Option<Flag> {
    let half = (off[0].value - off[1].value) / 2.0;
    let mean = f64::midpoint(off[0].value, off[1].value);
    let variance: f64 = (0..2).map(|i| DOUBT * DOUBT * spreads[i][(0, 0)] + off[i].sigma.powi(2)).sum();
    let opposite = mean.abs() <= OPPOSITE * half.abs();
    (opposite && half.abs() > SUSPECT * variance.sqrt() / 2.0).then(|| uneven(car, half, false))
}

fn uneven(car: &Car, slope: f64, known: bool) -> Flag {
    Flag::UnevenGround { slope_deg: slope.to_degrees(), lower_left_mm: car.track() * slope.tan(), known }
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
