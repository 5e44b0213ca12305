//! Readings at several heights put into a car: its points and its reference reading move as little as they must, each in
//! proportion to how well it is known.
//!
//! Of all numbers `p` the most likely are wanted, given what was measured before, `p0` with covariance `S`, and readings `y`
//! with covariance `R`:
//!
//! ```text
//! (p - p0)' S^-1 (p - p0) + (f(p) - y)' R^-1 (f(p) - y)   least
//! ```
//!
//! With `S = L L'` and `p = p0 + L z` both parts are plain squares, also where some numbers are fixed or go together (A.
//! Tarantola, *Inverse Problem Theory*, SIAM 2005, chapter 3, cited from memory). The covariance after it is
//! `L (I + J'J)^-1 L'`. A reading's own deviation counts together with what the deviation of its height does to it.

mod answer;
mod lengths;
mod readings;
mod state;

use nalgebra::{DMatrix, DVector};

pub use self::answer::{Fitted, FittedLength, FittedReading, Moved, NoFit};

use self::lengths::Taped;
use self::readings::{Wanted, Whitening};
use self::state::{Seen, State};
use super::both_sides::BothSides;
use super::network::CRITICAL;
use super::{Least, Linearised, Round, SIGMAS_OF_95, least_squares};
use crate::car::{Car, Errors, Hand, Measurand};

/// Puts the readings of rounds, and the measured lengths of stock arms, into a car.
///
/// A reading that does not go with the others and with what was measured is set aside, the worst first, and the rest is put
/// in again, as [`suspects`](super::network::suspects) does with the observations of a survey.
///
/// # Errors
///
/// [`NoFit`] where there is nothing to learn, or nothing fits.
pub fn fit(car: &Car, rounds: &[Round]) -> Result<Fitted, NoFit> {
    let states: Vec<State> =
        (0..).zip(rounds).map(|(i, round)| State::of(car, round, i)).collect::<Result<_, _>>()?;
    let wanted: Vec<Wanted> = (0..).zip(rounds).flat_map(|(i, round)| Wanted::of(i, round)).collect();
    let taped = Taped::of(car);
    if wanted.is_empty() && taped.is_empty() {
        return Err(NoFit::NoReading);
    }
    let prior = BothSides::of(car);
    let before = states.iter().map(|state| state.seen(car));
    let before: Vec<Seen> =
        (0..).zip(before).map(|(i, seen)| seen.ok_or(NoFit::NoPosition(i))).collect::<Result<_, _>>()?;
    let question = Question { car, prior: &prior, states: &states, before: &before };
    // Figures first, lengths behind them.
    let count = wanted.len() + taped.len();
    let mut kept: Vec<usize> = (0..count).collect();
    let mut standardized = vec![0.0; count];
    loop {
        let rows: Vec<Wanted> = kept.iter().filter_map(|&i| wanted.get(i).copied()).collect();
        let lengths: Vec<Taped> =
            kept.iter().filter_map(|&i| taped.get(i.checked_sub(wanted.len())?).copied()).collect();
        let (least, whitening) = question.fit(&rows, &lengths)?;
        let misfits = whitening.standardized(&least, lengths.len());
        for (misfit, &i) in misfits.iter().zip(&kept) {
            standardized[i] = *misfit;
        }
        let size = |place: &usize| misfits[*place].abs();
        let worst = (0..kept.len()).max_by(|a, b| size(a).total_cmp(&size(b)));
        match worst.filter(|place| size(place) > CRITICAL && kept.len() > 1) {
            Some(worst) => kept.remove(worst),
            None => return question.fitted(&wanted, &taped, &standardized, &least),
        };
    }
}

/// What readings are to be put into.
struct Question<'a> {
    car: &'a Car,
    prior: &'a BothSides,
    states: &'a [State],
    before: &'a [Seen],
}

impl Question<'_> {
    /// Puts some readings and lengths in.
    fn fit(&self, wanted: &[Wanted], taped: &[Taped]) -> Result<(Least, Whitening), NoFit> {
        let whitening = Whitening::of(wanted, self.states, self.before).ok_or(NoFit::Unsettled)?;
        let model = |z: &DVector<f64>| {
            let moved = self.prior.car(self.car, z);
            let seen: Vec<Seen> =
                self.states.iter().map(|state| state.seen(&moved)).collect::<Option<_>>()?;
            Some(linearised((self.prior, &moved), (wanted, taped), &seen, &whitening, z))
        };
        let start = DVector::zeros(self.prior.factor.ncols());
        let least = least_squares(start, model).map_err(|_| NoFit::Unsettled)?;
        Ok((least, whitening))
    }

    /// The answer, with all readings, those that were set aside too.
    fn fitted(
        &self,
        wanted: &[Wanted],
        taped: &[Taped],
        standardized: &[f64],
        least: &Least,
    ) -> Result<Fitted, NoFit> {
        let Self { car, prior, states, before } = self;
        let fitted = prior.car(car, &least.unknowns);
        let after = states.iter().map(|state| state.seen(&fitted)).collect::<Option<Vec<Seen>>>();
        let after = after.ok_or(NoFit::Unsettled)?;
        let covariance = &prior.factor * least.covariance() * prior.factor.transpose();
        let reading = |(wanted, standardized): (&Wanted, &f64)| {
            wanted.reading(&states[wanted.round], &before[wanted.round], &after[wanted.round], *standardized)
        };
        let count = least.there.residuals.len() - prior.factor.ncols();
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let unit_weight = (least.sum_of_squares() / count.max(1) as f64).sqrt();
        Ok(Fitted {
            readings: wanted.iter().zip(standardized).map(reading).collect(),
            lengths: (taped.iter().zip(standardized.iter().skip(wanted.len())))
                .map(|(taped, standardized)| taped.fitted(car, &fitted, *standardized))
                .collect(),
            unit_weight,
            moved: moved(car, prior, &fitted, &covariance),
            car: with_errors(fitted, &covariance),
        })
    }
}

fn linearised(
    (prior, car): (&BothSides, &Car),
    (wanted, taped): (&[Wanted], &[Taped]),
    seen: &[Seen],
    whitening: &Whitening,
    z: &DVector<f64>,
) -> Linearised {
    let unknowns = prior.factor.ncols();
    let rows = unknowns + wanted.len() + taped.len();
    let mut residuals = DVector::zeros(rows);
    let mut jacobian = DMatrix::zeros(rows, unknowns);
    residuals.rows_mut(0, unknowns).copy_from(z);
    jacobian.view_mut((0, 0), (unknowns, unknowns)).fill_with_identity();
    for (round, (rows, whiten)) in whitening.rounds.iter().enumerate() {
        let weights = DMatrix::from_fn(rows.len(), 4, |i, k| wanted[rows[i]].weights[k]);
        let figures = DVector::from_column_slice(&seen[round].figures);
        let values = DVector::from_iterator(rows.len(), rows.iter().map(|&row| wanted[row].value));
        let off = whiten * (&weights * figures - values);
        let slopes = whiten * weights * &seen[round].slopes * &prior.factor;
        for (i, row) in rows.iter().enumerate() {
            residuals[unknowns + row] = off[i];
            jacobian.row_mut(unknowns + row).copy_from(&slopes.row(i));
        }
    }
    for (row, taped) in (unknowns + wanted.len()..).zip(taped) {
        let (off, slope) = taped.off(car);
        residuals[row] = off;
        jacobian.row_mut(row).copy_from(&(slope * &prior.factor));
    }
    Linearised { residuals, jacobian }
}

/// What moved, by measurand.
fn moved(car: &Car, prior: &BothSides, fitted: &Car, after: &DMatrix<f64>) -> Vec<Moved> {
    let own = Measurand::Camber.place().start;
    let left = Measurand::all().map(|measurand| (Hand::Left, measurand, measurand.place().start));
    let right = [Measurand::Camber, Measurand::Toe].map(|of| (Hand::Right, of, of.place().start + 2));
    let mut moved: Vec<Moved> = left
        .chain(right)
        .map(|(hand, measurand, at)| {
            let (old, new) = (car.sides[hand].numbers(), fitted.sides[hand].numbers());
            let places = measurand.place();
            let unit = |value: f64| if places.start >= own { value.to_degrees() } else { value };
            let deviation = |of: &DMatrix<f64>| -> Vec<f64> {
                (0..places.len()).map(|i| unit(of[(at + i, at + i)].max(0.0).sqrt())).collect()
            };
            let by: Vec<f64> = places.clone().map(|i| unit(new[i] - old[i])).collect();
            let [sigma_before, sigma_after] = [&prior.covariance, after].map(deviation);
            let band = |sigmas: &[f64]| sigmas.iter().map(|sigma| SIGMAS_OF_95 * sigma).collect();
            let sigmas = (by.iter().zip(&sigma_before))
                .map(|(by, sigma)| if *sigma > 0.0 { (by / sigma).abs() } else { 0.0 })
                .fold(0.0, f64::max);
            Moved {
                side: hand,
                measurand,
                what: name(car, measurand),
                by,
                good_to_before: band(&sigma_before),
                good_to_after: band(&sigma_after),
                sigma_before,
                sigma_after,
                sigmas,
            }
        })
        .collect();
    moved.sort_by(|a, b| b.sigmas.total_cmp(&a.sigmas));
    moved
}

fn name(car: &Car, of: Measurand) -> String {
    let link = |i: usize| &car.sides.left.links[i].name;
    match of {
        Measurand::Centre => "wheel centre".to_owned(),
        Measurand::Subframe(i) => format!("{} subframe", link(i)),
        Measurand::Knuckle(i) => format!("{} knuckle", link(i)),
        Measurand::Camber => "camber at the reference".to_owned(),
        Measurand::Toe => "toe at the reference".to_owned(),
    }
}

/// The car with the errors that are left, of either side.
fn with_errors(mut car: Car, covariance: &DMatrix<f64>) -> Car {
    for side in &mut car.sides {
        let place = |number: usize| BothSides::place(side.hand, number);
        let of_side =
            DMatrix::from_fn(Measurand::NUMBERS, Measurand::NUMBERS, |a, b| covariance[(place(a), place(b))]);
        side.errors = Errors::of(of_side);
    }
    let deviation =
        |of: Measurand| car.sides.iter().map(|side| side.errors.deviations(of)[0]).fold(0.0, f64::max);
    (car.sigmas.camber, car.sigmas.toe) = (deviation(Measurand::Camber), deviation(Measurand::Toe));
    car
}
