//! Readings at several heights put into a car: its points and its reference reading move as little as they must, each in
//! proportion to how well it is known. The [posterior](super::posterior) does it; here readings that do not go with the rest are
//! set aside, and it is told what became of each.
//!
//! Fit: the left side's 33 coordinates, shared by both sides as mirror images, and the two readings of each wheel move; a
//! reading's error goes with its height's through the drop. Lengths in a record count from the stock length of the profile.
//! Suspect readings are set aside as in a survey, and nothing is written while there are any.

mod answer;

use nalgebra::{DMatrix, Vector4};

pub use self::answer::{Fitted, FittedLength, FittedReading, MovedNumber, NoFit};

use super::network::CRITICAL;
use super::posterior::{CarReading, KnownCar, Model, Prior};
use super::{Round, SIGMAS_OF_95, WIDEST, point_of};
use crate::car::{Car, Hand, Measurand};
use crate::geometry::Figure;

/// Errors that are wider by less than this are not widened.
const WIDER: f64 = 1.05;

/// Puts the readings of rounds, and the measured lengths of stock arms, into a car.
///
/// A reading that does not go with the others and with what was measured is set aside, the worst first, and the rest is put
/// in again, as [`suspects`](super::network::suspects) does with the observations of a survey. Where it is rather the car as a
/// whole that was measured worse than was said, its errors are widened instead.
///
/// # Errors
///
/// [`NoFit`] where there is nothing to learn, or nothing fits.
pub fn fit(car: &Car, rounds: &[Round]) -> Result<Fitted, NoFit> {
    let all: Vec<CarReading> = Model::read(car, rounds);
    let read: Vec<CarReading> = all.into_iter().chain(CarReading::lengths(car)).collect();
    if read.is_empty() {
        let learnt = rounds.iter().any(|round| car.has_learnt(&round.fingerprint()));
        return Err(if learnt { NoFit::Learnt } else { NoFit::NoReading });
    }
    let prior = Prior::of(car);
    let measured = Model::new(&prior, rounds, &[], 1.0).map_err(NoFit::NoWheelbase)?;
    let before = &measured.learn(Vec::new()).ok_or(NoFit::Unsettled)?;
    let seen = |i: usize| before.expected(before.state(i)).ok_or(NoFit::NoPosition(i));
    (0..rounds.len()).map(seen).collect::<Result<Vec<_>, _>>()?;
    let mut standardized = vec![0.0; read.len()];
    let mut kept: Vec<usize> = (0..read.len()).collect();
    let mut widened = 1.0;
    loop {
        let model = Model::new(&prior, rounds, &[], widened).map_err(NoFit::NoWheelbase)?;
        let rows = kept.iter().map(|&i| read[i]).collect();
        let known = model.learn(rows).ok_or(NoFit::Unsettled)?;
        let misfits = known.standardized();
        for (misfit, &i) in misfits.iter().zip(&kept) {
            standardized[i] = *misfit;
        }
        let size = |place: &usize| misfits[*place].abs();
        let worst = (0..kept.len()).max_by(|a, b| size(a).total_cmp(&size(b)));
        let Some(worst) = worst.filter(|place| size(place) > CRITICAL && kept.len() > 1) else {
            return Ok(fitted(car, rounds, &read, &standardized, (before, &known), widened));
        };
        // A reading that is left out and errors that are widened are one free number each, so the likelier one is taken: without
        // the reading minus twice the logarithm of the likelihood falls by the square of its misfit.
        match known.wider(WIDEST / widened) {
            Some((times, falls)) if times > WIDER && falls > size(&worst).powi(2) => widened *= times,
            _ => {
                kept.remove(worst);
            }
        }
    }
}

/// The answer, with all readings, those that were set aside too.
fn fitted(
    car: &Car,
    rounds: &[Round],
    read: &[CarReading],
    standardized: &[f64],
    (before, known): (&KnownCar<'_>, &KnownCar<'_>),
    widened: f64,
) -> Fitted {
    let mut answer = Fitted {
        moved: moved(car, (&before.of_numbers(), &known.of_numbers()), &known.car),
        readings: Vec::new(),
        lengths: Vec::new(),
        unit_weight: known.unit_weight(),
        widened,
        learnt: rounds.iter().map(Round::fingerprint).filter(|of| !car.has_learnt(of)).collect(),
        car: known.car.clone(),
    };
    let figures = |known: &KnownCar<'_>| -> Vec<[f64; 4]> {
        (0..rounds.len()).map(|i| known.figures(known.state(i)).unwrap_or([f64::NAN; 4])).collect()
    };
    let [first, after] = [before, known].map(figures);
    let by_heights: Vec<_> = (0..rounds.len()).map(|i| before.by_heights(i)).collect();
    for (read, standardized) in read.iter().zip(standardized) {
        match *read {
            CarReading::Figure { state, weights, value, sigma } => {
                let round = &rounds[state];
                let place = weights.iter().position(|weight| *weight != 0.0).unwrap_or(0);
                let both = weights.iter().filter(|weight| **weight != 0.0).count() > 1;
                let hand = Hand::BOTH[place / 2];
                let weights = Vector4::from(weights);
                let figure = |of: &[[f64; 4]]| weights.dot(&Vector4::from(of[state])).to_degrees();
                let of_height = by_heights[state].iter().map(|by| by.dot(&weights).powi(2)).sum::<f64>();
                let sigma_deg = sigma.hypot(of_height.sqrt()).to_degrees();
                answer.readings.push(FittedReading {
                    round: state + 1,
                    side: (!both).then_some(hand),
                    figure: if place % 2 == 0 { Figure::Camber } else { Figure::Toe },
                    drop_mm: if both {
                        f64::midpoint(round.drops.left, round.drops.right)
                    } else {
                        round.drops[hand]
                    },
                    read_deg: value.to_degrees(),
                    sigma_deg,
                    good_to_deg: SIGMAS_OF_95 * sigma_deg,
                    before_deg: figure(&first),
                    after_deg: figure(&after),
                    standardized: *standardized,
                });
            }
            CarReading::Length { hand, link, of } => {
                let between = |car: &Car| car.sides[hand].links[link].stock_length();
                answer.lengths.push(FittedLength {
                    link: car.sides[hand].links[link].name.clone(),
                    side: hand,
                    read_mm: of.length,
                    sigma_mm: of.sigma,
                    good_to_mm: SIGMAS_OF_95 * of.sigma,
                    before_mm: between(car),
                    after_mm: between(&known.car),
                    standardized: *standardized,
                });
            }
        }
    }
    answer
}

/// What moved, by measurand.
fn moved(car: &Car, (before, after): (&DMatrix<f64>, &DMatrix<f64>), fitted: &Car) -> Vec<MovedNumber> {
    let own = Measurand::Camber.place().start;
    let left = Measurand::all().map(|measurand| (Hand::Left, measurand, measurand.place().start));
    let right = [Measurand::Camber, Measurand::Toe].map(|of| (Hand::Right, of, of.place().start + 2));
    let mut moved: Vec<MovedNumber> = left
        .chain(right)
        .map(|(hand, measurand, at)| {
            let (old, new) = (car.sides[hand].numbers(), fitted.sides[hand].numbers());
            let places = measurand.place();
            let is_angle = places.start >= own;
            let unit = |value: f64| if is_angle { value.to_degrees() } else { value };
            let deviation = |of: &DMatrix<f64>| -> Vec<f64> {
                (0..places.len()).map(|i| unit(of[(at + i, at + i)].max(0.0).sqrt())).collect()
            };
            let by: Vec<f64> = places.clone().map(|i| unit(new[i] - old[i])).collect();
            let [sigma_before, sigma_after] = [before, after].map(deviation);
            let band = |sigmas: &[f64]| sigmas.iter().map(|sigma| SIGMAS_OF_95 * sigma).collect();
            let sigmas = (by.iter().zip(&sigma_before))
                .map(|(by, sigma)| if *sigma > 0.0 { (by / sigma).abs() } else { 0.0 })
                .fold(0.0, f64::max);
            MovedNumber {
                side: hand,
                measurand,
                what: name(car, measurand),
                unit: if is_angle { "deg" } else { "mm" },
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
    match of {
        Measurand::Camber => "camber at the reference".to_owned(),
        Measurand::Toe => "toe at the reference".to_owned(),
        _ => point_of(&car.sides.left.links, of),
    }
}
