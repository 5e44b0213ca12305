//! All that is known of a car, from how it was measured and from everything that was read on it since.
//!
//! Of all numbers `p` the most likely are wanted, given what was measured before, `p0` with covariance `S`, and readings `y`
//! with covariance `R`:
//!
//! ```text
//! (p - p0)' S^-1 (p - p0) + (f(p) - y)' R^-1 (f(p) - y)   least
//! ```
//!
//! With `S = L L'` and `p = p0 + L z` both parts are plain squares, also where some numbers are fixed or go together (A.
//! Tarantola, *Inverse Problem Theory*, SIAM 2005, chapter 3, cited from memory). What a reading rests on besides the car is
//! unknown too and stands in `z`: see [`unknowns`]. So the errors of the readings themselves are independent, and with `J` the
//! derivatives of the readings over their deviations and `r` their misfits a step of Gauss and Newton is
//!
//! ```text
//! z <- J' (J J' + 1)^-1 (J z - r)
//! ```
//!
//! which takes a matrix as large as there are readings, and not as there are unknowns. It is mixed with the steps before, and shortened until the sum of squares falls. The covariance after it is `1 - J' (J J' + 1)^-1 J`.

mod known;
mod state;
mod unknowns;

use nalgebra::{DMatrix, DVector, RowDVector};

pub use known::{Expected, Known, WIDEST};
pub use state::State;
pub use unknowns::{CLAMPED, LOCKED, setting_sigma};

use self::unknowns::{Unknown, Unknowns};
use super::both_sides::BothSides;
use super::{Round, rarely};
use crate::car::{ArmLength, Car, Hand, Measurand, Setup, Side};
use crate::geometry::{Position, solve};

/// No posterior took more steps than a part of these.
const MOST_STEPS: usize = 100;
/// A step that promises less than this of the sum of squares is none,
const SETTLED: f64 = 1e-12;
/// and one that promises less than this and gives nothing is lost in rounding.
const NOISE: f64 = 1e-7;
/// So many steps are mixed.
const REMEMBERED: usize = 6;
/// A step is shortened no further than to this part.
const SHORTEST: f64 = 1e-6;
/// The part of the promised fall of the sum of squares that a step must keep (Armijo's rule).
const KEPT: f64 = 1e-4;

/// A car as it was measured, and how its errors go together.
#[derive(Debug, Clone)]
pub struct Prior<'a> {
    car: &'a Car,
    errors: BothSides,
}

/// A car, the states in which it was read, and all that is not known of both.
#[derive(Debug, Clone)]
pub struct Model<'a> {
    car: &'a Car,
    /// A column for each way in which the car's own numbers may be off.
    factor: DMatrix<f64>,
    unknowns: Vec<Unknown>,
    states: Vec<State>,
}

/// Something that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Read {
    /// A figure of one wheel or the toe of both, in one of the states: weights of left camber, left toe, right camber and right
    /// toe, and what they come to, rad.
    Figure {
        /// The place of the state.
        state: usize,
        /// The weights.
        weights: [f64; 4],
        /// What was read, rad.
        value: f64,
        /// Its standard deviation, rad.
        sigma: f64,
    },
    /// The length of a stock arm.
    Length {
        /// Its side.
        hand: Hand,
        /// Its link.
        link: usize,
        /// What was read.
        of: ArmLength,
    },
}

/// From where on a wheel reads otherwise than its setting explains: something moved, or a reading was wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Jump {
    /// The first state in which it does.
    pub from: usize,
    /// The wheel.
    pub hand: Hand,
}

/// Readings at a place: misfits over deviations, and their derivatives with all unknowns.
struct There {
    car: Car,
    misfits: DVector<f64>,
    slopes: DMatrix<f64>,
}

impl There {
    /// Half the derivative of the sum of squares.
    fn slope(&self, z: &DVector<f64>) -> DVector<f64> {
        z + self.slopes.tr_mul(&self.misfits)
    }

    /// Whether the misfits are such as they are in all but one of a thousand cases.
    fn gives_the_readings(&self) -> bool {
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let count = self.misfits.len() as f64;
        self.misfits.norm_squared() <= count * rarely(count)
    }

    fn cost(&self, z: &DVector<f64>) -> f64 {
        z.norm_squared() + self.misfits.norm_squared()
    }
}

impl<'a> Prior<'a> {
    /// Of a car.
    pub fn of(car: &'a Car) -> Self {
        Self { car, errors: BothSides::of(car) }
    }
}

impl<'a> Model<'a> {
    /// A car and the states of some rounds. The errors of its points count `doubt` times.
    ///
    /// # Errors
    ///
    /// The place of a round with a front drop of a car without a wheelbase.
    pub fn new(prior: &Prior<'a>, rounds: &[Round], jumps: &[Jump], doubt: f64) -> Result<Self, usize> {
        let (car, mut factor) = (prior.car, prior.errors.factor.clone());
        for place in (0..BothSides::NUMBERS).filter(|&place| BothSides::measurand(place).1.is_some()) {
            factor.row_mut(place).scale_mut(doubt);
        }
        let mut states: Vec<State> =
            (0..).zip(rounds).map(|(i, round)| State::of(car, round, i)).collect::<Result<_, _>>()?;
        let unknowns = Unknowns::of(car, rounds, &mut states, jumps);
        Ok(Self { car, factor, unknowns, states })
    }

    /// What the figures of a round, and the stock arms of the car, were read to be.
    pub fn read(rounds: &[Round]) -> Vec<Read> {
        (0..).zip(rounds).flat_map(|(state, round)| Read::of(state, round)).collect()
    }

    /// How many unknowns there are.
    fn count(&self) -> usize {
        self.factor.ncols() + self.unknowns.len()
    }

    /// The car as it is where the unknowns are `z`.
    fn moved(&self, z: &DVector<f64>) -> Car {
        BothSides::moved(self.car, &(&self.factor * z.rows(0, self.factor.ncols())))
    }

    /// How something changes with all unknowns that changes so with the numbers of both sides.
    fn through(&self, numbers: &RowDVector<f64>) -> RowDVector<f64> {
        let mut slope = RowDVector::zeros(self.count());
        slope.columns_mut(0, self.factor.ncols()).copy_from(&(numbers * &self.factor));
        slope
    }

    fn there(&self, read: &[Read], z: &DVector<f64>) -> Option<There> {
        let car = self.moved(z);
        let mut misfits = DVector::zeros(read.len());
        let mut slopes = DMatrix::zeros(read.len(), self.count());
        let mut seen: Vec<Option<(DVector<f64>, DMatrix<f64>)>> = vec![None; self.states.len()];
        for (row, read) in read.iter().enumerate() {
            match *read {
                Read::Figure { state, weights, value, sigma } => {
                    if seen[state].is_none() {
                        seen[state] = Some(self.figures(&car, &self.states[state], z)?);
                    }
                    let (figures, slope) = seen[state].as_ref()?;
                    let weights = RowDVector::from_row_slice(&weights);
                    misfits[row] = ((&weights * figures)[0] - value) / sigma;
                    slopes.row_mut(row).copy_from(&(weights * slope / sigma));
                }
                Read::Length { hand, link, of } => {
                    let side = &car.sides[hand].links[link];
                    // d = |k - s|, so grad_k d = (k - s)/d = -grad_s d
                    let way = side.knuckle - side.subframe;
                    let length = way.norm();
                    let ends = [(Measurand::Knuckle(link), 1.0), (Measurand::Subframe(link), -1.0)];
                    let numbers = BothSides::slope(hand, |number| {
                        let end = ends.iter().find(|(point, _)| point.place().contains(&number));
                        end.map_or(0.0, |(point, sign)| {
                            sign * way[number - point.place().start] / (length * of.sigma)
                        })
                    });
                    misfits[row] = (length - of.length) / of.sigma;
                    slopes.row_mut(row).copy_from(&self.through(&numbers));
                }
            }
        }
        let sound = misfits.iter().chain(slopes.iter()).all(|x| x.is_finite());
        sound.then_some(There { car, misfits, slopes })
    }

    /// Left camber and toe, right camber and toe in a state, rad, and how they change with all unknowns.
    fn figures(&self, car: &Car, state: &State, z: &DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let mut figures = DVector::zeros(4);
        let mut slopes = DMatrix::zeros(4, self.count());
        for hand in Hand::BOTH {
            let (setup, position) = self.position(&car.sides[hand], state, z)?;
            let (own, slope) = self.wheel(car, hand, state, (&setup, &position), z)?;
            let row = if hand == Hand::Left { 0 } else { 2 };
            figures.rows_mut(row, 2).copy_from(&own);
            slopes.rows_mut(row, 2).copy_from(&slope);
        }
        Some((figures, slopes))
    }

    fn position(&self, side: &Side, state: &State, z: &DVector<f64>) -> Option<(Setup, Position)> {
        let setup = state.setup(side, &self.unknowns, z);
        let drop = state.drops(&self.unknowns, z)[side.hand];
        let position = solve(&setup.rows(side, drop), &side.reference()).ok()?;
        Some((setup, position))
    }

    /// The most likely values of everything, given what was read, looked for from `near` where something near is known. `None` where
    /// the car as it was measured cannot be in the state of a reading, or no car near it gives these readings.
    ///
    /// Where the way to the most likely car ends at one that cannot be put together, the last before it is taken, if it gives the
    /// readings.
    pub fn learn(&self, read: Vec<Read>, near: Option<&Known<'_>>) -> Option<Known<'_>> {
        let nowhere = || DVector::zeros(self.count());
        let near = near.and_then(|near| {
            let mut z = nowhere();
            let known = near.unknowns();
            (known.len() <= z.len()).then(|| z.rows_mut(0, known.len()).copy_from(known))?;
            Some((self.there(&read, &z)?, z))
        });
        let (mut there, mut z) = match near {
            Some(near) => near,
            None => (self.there(&read, &nowhere())?, nowhere()),
        };
        let mut mixed = Mixed::default();
        for _ in 0..MOST_STEPS {
            let weight = known::weight(&there.slopes)?;
            let goal = there.slopes.tr_mul(&weight.solve(&(&there.slopes * &z - &there.misfits)));
            let step = goal - &z;
            let cost = there.cost(&z);
            // The slope of the sum of squares along the step.
            let fall = 2.0 * step.dot(&there.slope(&z));
            if -fall <= SETTLED * (1.0 + cost) {
                return Some(Known::new(self, read, z, there, weight));
            }
            let try_step = |by: &DVector<f64>, wanted: f64| {
                let next = &z + by;
                let found = self.there(&read, &next)?;
                (found.cost(&next) <= cost + wanted).then_some((next, found))
            };
            let further = mixed.step(&z, &step);
            let mut better = further.and_then(|by| try_step(&by, KEPT * fall));
            let mut part = 1.0;
            while better.is_none() && part > SHORTEST {
                better = try_step(&(&step * part), KEPT * part * fall);
                part /= 2.0;
            }
            match better {
                Some((next, found)) => (z, there) = (next, found),
                // Nothing is to be had but rounding.
                None if -fall <= NOISE * (1.0 + cost) => {
                    return Some(Known::new(self, read, z, there, weight));
                }
                None => break,
            }
        }
        let weight = known::weight(&there.slopes)?;
        there.gives_the_readings().then(|| Known::new(self, read, z, there, weight))
    }
}

/// The last places and the steps that were to be taken from them, mixed so that as little as possible is left to take: D. G.
/// Anderson, *Iterative procedures for nonlinear integral equations*, Journal of the ACM 12, 1965 (cited from memory). Where the
/// slopes bend much a step of Gauss and Newton leaves a good part of the way, the same each time; this takes it away.
#[derive(Debug, Default)]
struct Mixed {
    last: Option<(DVector<f64>, DVector<f64>)>,
    /// What places and steps changed by.
    changes: Vec<(DVector<f64>, DVector<f64>)>,
}

impl Mixed {
    /// A better step than the one that is to be taken from a place.
    fn step(&mut self, z: &DVector<f64>, step: &DVector<f64>) -> Option<DVector<f64>> {
        if let Some((last, before)) = self.last.replace((z.clone(), step.clone())) {
            if self.changes.len() == REMEMBERED {
                self.changes.remove(0);
            }
            self.changes.push((z - last, step - before));
        }
        if self.changes.is_empty() {
            return None;
        }
        let steps =
            DMatrix::from_columns(&self.changes.iter().map(|(_, step)| step.clone()).collect::<Vec<_>>());
        let parts = steps.svd(true, true).solve(step, 1e-10 * step.norm()).ok()?;
        let mut mixed = step.clone();
        for ((place, change), part) in self.changes.iter().zip(parts.iter()) {
            mixed -= (place + change) * *part;
        }
        Some(mixed)
    }
}

impl Read {
    /// The figures of a round.
    pub fn of(state: usize, round: &Round) -> Vec<Self> {
        let figure = |weights, read: Option<super::Measured>| {
            read.map(|read| Self::Figure { state, weights, value: read.value, sigma: read.sigma })
        };
        let one = |place: usize| std::array::from_fn(|i| f64::from(u8::from(i == place)));
        let [left, right] = [&round.wheels.left, &round.wheels.right];
        let wheels = [left.camber, left.toe, right.camber, right.toe]
            .into_iter()
            .enumerate()
            .filter_map(|(i, read)| figure(one(i), read));
        wheels.chain(figure([0.0, 1.0, 0.0, 1.0], round.total_toe)).collect()
    }

    /// Every stock arm that was measured, once: a side that goes by the other one's arm says nothing new.
    pub fn lengths(car: &Car) -> Vec<Self> {
        let of_side = |side: &'_ Side| {
            let own = |(link, of): (usize, &crate::car::Link)| {
                let measured = of.measured.filter(|measured| !measured.used && measured.hand == side.hand)?;
                Some(Self::Length { hand: side.hand, link, of: measured })
            };
            side.links.iter().enumerate().filter_map(own).collect::<Vec<_>>()
        };
        car.sides.iter().flat_map(of_side).collect()
    }
}
