//! Which reading to make next: of all that could still be made the one that narrows a plan most for the time that it takes.
//!
//! What the plan's wheels will read, and what each possible reading would read, change linearly with all that is not known, which
//! has the covariance 1: with `A` these slopes, a row each, `M = A A'` is the covariance of all of them together. A reading `i` with
//! the variance `r` takes `M e_i e_i' M / (M_ii + r)` off (the filter of R. E. Kalman, 1960; cited from memory). So nothing has to be
//! read to know what it would be worth. Where points are only guessed the slopes differ from one car that may be this one to the
//! next: several are drawn, and what is promised is what holds over all of them.

mod answer;
mod candidates;

use std::ops::Range;

use nalgebra::{DMatrix, Matrix2};

pub use answer::{Next, NextArm, NextReading, NextWay, Outlook};

use self::candidates::{Candidate, candidates};
use crate::car::{Car, Hand, PerSide, Stance};
use crate::geometry::{Angles, Figure};
use crate::measure::posterior::{KnownCar, Model, Prior};
use crate::measure::{Round, SIGMAS_OF_95, USUAL_RACK, half_width_of_95, probability_within};
use crate::plan::adjusting::Fitting;
use crate::plan::planning::{ArmSetting, Plan, PlanSide};
use crate::plan::wheel::{ArmBand, Corrector};

/// So many readings are looked ahead.
const AHEAD: usize = 6;
/// So many cars are looked at that may be this one, where its points are only guessed.
const DRAWN: usize = 16;
/// Pairs are tried of so many of the best.
const PAIRED: usize = 24;
/// Fitting is done in any case; to set up strings, read the wheels after it and turn once takes so many minutes: common practice, no
/// source.
const CORRECTION: f64 = 60.0;
/// Less than this part of what is not known is no gain worth a line.
const LEAST: f64 = 0.01;

/// The readings that narrow a plan most for their time; `None` where a wheel cannot be in the states that are asked for.
pub fn next(car: &Car, stance: &Stance, plan: &Plan, fitting: &Fitting) -> Option<Next> {
    let prior = Prior::of(car);
    let mut rounds = vec![planned(car, stance, plan, fitting)];
    let all = candidates(car, &mut rounds);
    let model = Model::new(&prior, &rounds, &[], 1.0).ok()?;
    let likeliest = model.learn(Vec::new())?;
    // A state that the car cannot be in, such as a height past its travel, is not read.
    let all: Vec<&Candidate> =
        all.iter().filter(|candidate| candidate.slopes(&likeliest).is_some()).collect();
    let mut cars: Vec<DMatrix<f64>> =
        model.drawn(DRAWN).iter().filter_map(|known| together(known, &all)).collect();
    if cars.is_empty() {
        cars.push(together(&likeliest, &all)?);
    }
    let mut search = Search::new(cars, &all, plan);
    let now = search.outlook();
    let by_correction = search.gain_of_correction() / CORRECTION;
    let (mut readings, mut enough_after, mut is_enough) = (Vec::new(), 0, false);
    while readings.len() < AHEAD {
        let Some(chosen) = search.best() else { break };
        for place in chosen {
            let worth = search.gain(&[place]) / search.minutes(&[place]);
            let [set_up, minutes] = [search.set_up(place), all[place].way.minutes()[1]];
            search.take(place);
            is_enough |= worth < by_correction;
            let candidate = all[place];
            let (sigma, unit) = candidate.shown_sigma();
            readings.push(NextReading {
                what: candidate.what.clone(),
                key: candidate.key.clone(),
                way: candidate.way,
                sigma,
                unit,
                minutes,
                set_up_minutes: set_up,
                after: search.outlook(),
            });
            if !is_enough {
                enough_after = readings.len();
            }
        }
    }
    readings.truncate(AHEAD);
    let enough_after = enough_after.min(readings.len());
    let spent = readings[..enough_after].iter().map(|of| of.minutes + of.set_up_minutes);
    Some(Next { now, enough_after, enough_minutes: spent.sum(), readings })
}

/// The covariance of the four figures of the plan and of all readings behind them, of one car that may be this one; `None` where it
/// cannot be in all their states.
fn together(known: &KnownCar<'_>, candidates: &[&Candidate]) -> Option<DMatrix<f64>> {
    let mut rows = vec![known.slopes(known.state(0))?];
    for candidate in candidates {
        rows.push(candidate.slopes(known)?);
    }
    let mut slopes = DMatrix::zeros(rows.iter().map(DMatrix::nrows).sum(), rows[0].ncols());
    let mut at = 0;
    for of in rows {
        slopes.rows_mut(at, of.nrows()).copy_from(&of);
        at += of.nrows();
    }
    // What is taken for granted of the travel keeps the cars to those that there are; it is no reading that narrows their plan.
    Some(&slopes * slopes.transpose())
}

/// The state in which the wheels will be set.
fn planned(car: &Car, stance: &Stance, plan: &Plan, fitting: &Fitting) -> Round {
    let mut round = Round { drops: stance.drops, front: stance.front, ..Round::default() };
    for hand in Hand::BOTH {
        let side = &car.sides[hand];
        let place = |name: &str| side.links.iter().position(|link| link.name == name);
        for arm in &plan.sides[hand].arms {
            let Some(link) = place(&arm.link) else { continue };
            round.lengths[hand][link] = Some(arm.set_mm);
            if side.links[link].cam.is_some() && !fitting.keep_cams {
                round.shifts[hand][link] = Some(0.0);
            }
        }
        for cam in &plan.sides[hand].cams {
            if let Some(link) = place(&cam.link) {
                round.shifts[hand][link] = Some(cam.shift_mm);
            }
        }
    }
    round
}

/// What is known, and what could be read.
struct Search<'a> {
    /// Cars that may be this one.
    cars: Vec<Ahead>,
    /// The place of each reading's rows, and the variances of their own errors.
    rows: Vec<(Range<usize>, Vec<f64>)>,
    ways: Vec<NextWay>,
    /// Which of them are made.
    made: Vec<bool>,
    plan: &'a Plan,
}

/// One car that may be this one.
struct Ahead {
    /// The covariance of the four figures of the plan and of all readings behind them.
    all: DMatrix<f64>,
    /// The squares of both wheels' misses before anything is read, in tolerances.
    before: f64,
}

impl Ahead {
    /// The covariance of the four figures of the plan.
    fn wheels(&self) -> DMatrix<f64> {
        self.all.view((0, 0), (4, 4)).into_owned()
    }

    /// What readings of some rows together, with errors of these variances, take off the covariance of the figures of the plan.
    fn falls(&self, places: &[usize], variances: &[f64]) -> Option<DMatrix<f64>> {
        let count = places.len();
        let with = DMatrix::from_fn(4, count, |i, j| self.all[(i, places[j])]);
        let own = DMatrix::from_fn(count, count, |i, j| {
            self.all[(places[i], places[j])] + if i == j { variances[i] } else { 0.0 }
        });
        Some(&with * own.cholesky()?.solve(&with.transpose()))
    }

    /// Takes the readings of some rows as made.
    fn take(&mut self, places: Range<usize>, variances: &[f64]) {
        for (row, variance) in places.zip(variances) {
            let with = self.all.column(row).into_owned();
            let own = with[row] + variance;
            if own > 0.0 {
                self.all -= &with * with.transpose() / own;
            }
        }
    }
}

impl<'a> Search<'a> {
    fn new(cars: Vec<DMatrix<f64>>, candidates: &[&Candidate], plan: &'a Plan) -> Self {
        let mut count = 4;
        let rows = candidates.iter().map(|candidate| {
            let first = count;
            count += candidate.variances.len();
            (first..count, candidate.variances.clone())
        });
        let rows = rows.collect();
        let cars = cars.into_iter().map(|all| {
            let before = squares(plan, &all);
            Ahead { all, before }
        });
        Self {
            cars: cars.collect(),
            rows,
            ways: candidates.iter().map(|candidate| candidate.way).collect(),
            made: vec![false; candidates.len()],
            plan,
        }
    }

    /// Minutes of some readings together, with what is not set up yet.
    fn minutes(&self, of: &[usize]) -> f64 {
        let mut ways: Vec<NextWay> = Vec::new();
        of.iter().fold(0.0, |sum, &place| {
            let new = !ways.contains(&self.ways[place]);
            ways.push(self.ways[place]);
            sum + self.ways[place].minutes()[1] + if new { self.set_up(place) } else { 0.0 }
        })
    }

    /// Minutes to set up for a reading.
    fn set_up(&self, place: usize) -> f64 {
        let same = |i: &usize| self.made[*i] && self.ways[*i] == self.ways[place];
        if (0..self.ways.len()).any(|i| same(&i)) { 0.0 } else { self.ways[place].minutes()[0] }
    }

    /// The part of the squares of the misses that readings of some rows together take off, on average over the cars.
    fn takes_off(&self, places: &[usize], variances: &[f64]) -> f64 {
        let of = |car: &Ahead| {
            car.falls(places, variances).map_or(0.0, |falls| squares(self.plan, &falls) / car.before)
        };
        self.mean(of)
    }

    #[expect(clippy::cast_precision_loss, reason = "a handful of cars")]
    fn mean(&self, of: impl Fn(&Ahead) -> f64) -> f64 {
        self.cars.iter().map(of).sum::<f64>() / self.cars.len() as f64
    }

    /// The part that some readings together take off.
    fn gain(&self, of: &[usize]) -> f64 {
        let places: Vec<usize> = of.iter().flat_map(|&place| self.rows[place].0.clone()).collect();
        let variances: Vec<f64> = of.iter().flat_map(|&place| self.rows[place].1.clone()).collect();
        self.takes_off(&places, &variances)
    }

    /// What the wheels read on a rack and corrected once would take off.
    fn gain_of_correction(&self) -> f64 {
        self.takes_off(&[0, 1, 2, 3], &[0, 1, 2, 3].map(|i| USUAL_RACK[i % 2].powi(2)))
    }

    /// The reading, or the pair, that gains most for its time; `None` where none gains anything to speak of.
    fn best(&self) -> Option<Vec<usize>> {
        let worth = |of: &[usize]| self.gain(of) / self.minutes(of);
        let mut each: Vec<(f64, usize)> =
            (0..self.rows.len()).filter(|&i| !self.made[i]).map(|i| (worth(&[i]), i)).collect();
        each.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut best = each.first().map(|&(worth, place)| (worth, vec![place]))?;
        let few: Vec<usize> = each.iter().take(PAIRED).map(|(_, place)| *place).collect();
        for (i, &a) in few.iter().enumerate() {
            for &b in &few[i + 1..] {
                let pair = worth(&[a, b]);
                if pair > best.0 {
                    // The better of the two comes first.
                    best = (pair, vec![a, b]);
                }
            }
        }
        let left = self.mean(|car| squares(self.plan, &car.wheels()) / car.before);
        (self.gain(&best.1) > LEAST * left).then_some(best.1)
    }

    /// Takes a reading as made.
    fn take(&mut self, place: usize) {
        let (places, variances) = &self.rows[place];
        for car in &mut self.cars {
            car.take(places.clone(), variances);
        }
        self.made[place] = true;
    }

    fn outlook(&self) -> Outlook {
        let of_car = |car: &Ahead| {
            PerSide::of(|hand: Hand| {
                let at = if hand == Hand::Left { 0 } else { 2 };
                car.all.fixed_view::<2, 2>(at, at).into_owned()
            })
        };
        let cars: Vec<PerSide<Matrix2<f64>>> = self.cars.iter().map(of_car).collect();
        let worse = |i: usize| {
            let of_side = |hand: Hand| {
                let each: Vec<f64> = cars.iter().map(|both| both[hand][(i, i)].max(0.0).sqrt()).collect();
                half_width_of_95(&each)
            };
            PerSide::of(of_side).iter().copied().fold(0.0, f64::max).to_degrees()
        };
        #[expect(clippy::cast_precision_loss, reason = "a handful of cars")]
        let mean =
            |of: &dyn Fn(&PerSide<Matrix2<f64>>) -> f64| cars.iter().map(of).sum::<f64>() / cars.len() as f64;
        Outlook {
            camber_deg: worse(0),
            toe_deg: worse(1),
            arms: self.arms(&cars),
            probability_within_spec: PerSide::of(|hand| {
                let side = &self.plan.sides[hand];
                let (spec, result) = (side.spec, side.result);
                let off = Angles { camber: result.camber_off_deg, toe: result.toe_off_deg };
                let within = Angles { camber: spec.camber_tolerance_deg, toe: spec.toe_tolerance_deg };
                mean(&|both| {
                    probability_within(&both[hand], off.map(f64::to_radians), within.map(f64::to_radians))
                })
            }),
        }
    }

    /// How far each arm that sets camber or toe may have to be turned.
    fn arms(&self, cars: &[PerSide<Matrix2<f64>>]) -> Vec<NextArm> {
        let mut arms: Vec<NextArm> = Vec::new();
        for hand in Hand::BOTH {
            let own: Vec<_> =
                self.plan.sides[hand].arms.iter().filter(|arm| arm.sets != Figure::Pitch).collect();
            let corrector = |arm: &&ArmSetting| Corrector {
                figure: arm.sets,
                per_turn: arm.per_turn,
                lead_mm: arm.lead_mm,
                step_turns: arm.step.turns,
            };
            let correctors: Vec<Corrector> = own.iter().map(corrector).collect();
            let bands: Vec<Vec<ArmBand>> =
                cars.iter().map(|both| ArmBand::of(&both[hand], &correctors)).collect();
            for (i, arm) in own.iter().enumerate() {
                let each: Vec<f64> = bands.iter().map(|of| of[i].turns / SIGMAS_OF_95).collect();
                let turns = half_width_of_95(&each);
                match arms.iter_mut().find(|of| of.link == arm.link) {
                    Some(of) => of.turns = of.turns.max(turns),
                    None => arms.push(NextArm { link: arm.link.clone(), turns }),
                }
            }
        }
        arms
    }
}

/// Which side a figure of the plan is of.
fn side(plan: &Plan, figure: usize) -> &PlanSide {
    &plan.sides[Hand::BOTH[figure / 2]]
}

/// Squares of both wheels' misses, in tolerances.
fn squares(plan: &Plan, covariance: &DMatrix<f64>) -> f64 {
    let tolerance = |i: usize| {
        let spec = side(plan, i).spec;
        let degrees = if i.is_multiple_of(2) { spec.camber_tolerance_deg } else { spec.toe_tolerance_deg };
        degrees.to_radians()
    };
    (0..4).map(|i| covariance[(i, i)] / tolerance(i).powi(2)).sum()
}
