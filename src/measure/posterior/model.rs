//! A car, the states in which it was read, and what is then read.

use nalgebra::{DMatrix, DVector, RowDVector, Vector2};

use super::slopes::Slopes;
use super::state::State;
use super::travel::travel;
use super::unknown::{Jump, Unknown, What};
use super::unknowns::Unknowns;
use crate::car::{ArmLength, Car, Hand, Link, Measurand, Setup, Side};
use crate::geometry::{Angles, Figure, Position, solve};
use crate::measure::both_sides::BothSides;
use crate::measure::roadworthy::is_rough;
use crate::measure::{Measured, Round, Sensitivity, rarely};

/// What is known to this part of the deviation that is taken for granted anyhow has no need of it.
const KNOWN: f64 = 0.3;

/// A car as it was measured, and how its errors go together.
#[derive(Debug, Clone)]
pub(crate) struct Prior<'a> {
    pub(super) car: &'a Car,
    errors: BothSides,
}

/// A car, the states in which it was read, and all that is not known of both.
#[derive(Debug, Clone)]
pub(crate) struct Model<'a> {
    pub(super) car: &'a Car,
    /// A column for each way in which the car's own numbers may be off.
    pub(super) factor: DMatrix<f64>,
    pub(super) unknowns: Vec<Unknown>,
    pub(super) states: Vec<State>,
    /// What every car is taken to do over its travel; see [`travel`].
    pub(super) travel: Vec<CarReading>,
}

/// Something that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum CarReading {
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

/// Readings at a place: misfits over deviations, and their derivatives with all unknowns.
pub(super) struct There {
    pub(super) car: Car,
    pub(super) misfits: DVector<f64>,
    pub(super) slopes: Slopes,
    /// So many of the first rows are what is taken for granted of the travel, and no readings.
    pub(super) granted: usize,
}

impl There {
    /// Half the derivative of the sum of squares.
    pub(super) fn slope(&self, z: &DVector<f64>) -> DVector<f64> {
        z + self.slopes.back(&self.misfits)
    }

    /// Whether the misfits are such as they are in all but one of a thousand cases.
    pub(super) fn gives_the_readings(&self) -> bool {
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let count = (self.misfits.len() - self.granted) as f64;
        self.misfits.rows_range(self.granted..).norm_squared() <= count * rarely(count)
    }

    pub(super) fn cost(&self, z: &DVector<f64>) -> f64 {
        z.norm_squared() + self.misfits.norm_squared()
    }
}

impl<'a> Prior<'a> {
    pub(crate) fn of(car: &'a Car) -> Self {
        Self { car, errors: BothSides::of(car) }
    }

    pub(crate) fn car(&self) -> &'a Car {
        self.car
    }
}

impl<'a> Model<'a> {
    /// A car and the states of some rounds. The errors of its points count `doubt` times.
    ///
    /// # Errors
    ///
    /// The place of a round with a front drop of a car without a wheelbase.
    pub(crate) fn new(
        prior: &Prior<'a>,
        rounds: &[Round],
        jumps: &[Jump],
        doubt: f64,
    ) -> Result<Self, usize> {
        let (car, mut factor) = (prior.car, prior.errors.factor.clone());
        for place in (0..BothSides::NUMBERS).filter(|&place| BothSides::measurand(place).1.is_some()) {
            factor.row_mut(place).scale_mut(doubt);
        }
        let mut states: Vec<State> =
            (0..).zip(rounds).map(|(i, round)| State::of(car, round, i)).collect::<Result<_, _>>()?;
        let unknowns = Unknowns::of(car, rounds, &mut states, jumps);
        let mut model = Self { car, factor, unknowns, states, travel: Vec::new() };
        model.take_for_granted();
        Ok(model)
    }

    /// Adds what is known of every car, where this one is known no better.
    fn take_for_granted(&mut self) {
        let z = DVector::zeros(self.count());
        let states = if self.car.sides.iter().any(is_rough) { travel(self.car) } else { Vec::new() };
        for (round, off) in states {
            let Ok(state) = State::of(self.car, &round, 0) else { continue };
            // A car that is not thought to go so far says nothing of another one.
            let Some((figures, slopes)) = self.figures(self.car, &state, &z) else { continue };
            let slopes = slopes.dense();
            if (0..4).all(|i| slopes.row(i).norm() <= KNOWN * off[i % 2]) {
                continue;
            }
            self.travel.extend((0..4).map(|i| CarReading::Figure {
                state: self.states.len(),
                weights: std::array::from_fn(|k| f64::from(u8::from(k == i))),
                value: figures[i],
                sigma: off[i % 2],
            }));
            self.states.push(state);
        }
    }

    /// What the figures of rounds were read to be, of those that have not gone into the car before.
    pub(crate) fn read(car: &Car, rounds: &[Round]) -> Vec<CarReading> {
        (0..).zip(rounds).flat_map(|(state, round)| CarReading::of(car, state, round)).collect()
    }

    /// How many unknowns there are.
    pub(super) fn count(&self) -> usize {
        self.factor.ncols() + self.unknowns.len()
    }

    /// How so many readings change with all unknowns: not at all yet.
    fn slopes(&self, rows: usize) -> Slopes {
        Slopes::zeros(rows, self.factor.ncols(), self.count())
    }

    /// The car as it is where the unknowns are `z`.
    fn moved(&self, z: &DVector<f64>) -> Car {
        BothSides::moved(self.car, &(&self.factor * z.rows(0, self.factor.ncols())))
    }

    /// How something changes with all unknowns that changes so with the numbers of both sides.
    pub(super) fn through(&self, numbers: &RowDVector<f64>) -> RowDVector<f64> {
        let own = self.through_own(numbers);
        own.resize_horizontally(self.count(), 0.0)
    }

    /// The same with the car's own unknowns alone.
    fn through_own(&self, numbers: &RowDVector<f64>) -> RowDVector<f64> {
        // Most of the numbers are of the other side or of other links.
        let touched: Vec<(usize, f64)> =
            numbers.iter().copied().enumerate().filter(|(_, slope)| *slope != 0.0).collect();
        RowDVector::from_fn(self.factor.ncols(), |_, column| {
            touched.iter().map(|&(number, slope)| slope * self.factor[(number, column)]).sum()
        })
    }

    /// Everything where the unknowns are `z`; `None` where the car cannot be in a state.
    pub(super) fn there(&self, read: &[CarReading], z: &DVector<f64>) -> Option<There> {
        let car = self.moved(z);
        let granted = self.travel.len();
        let count = granted + read.len();
        let mut misfits = DVector::zeros(count);
        let mut slopes = self.slopes(count);
        let mut seen: Vec<Option<(DVector<f64>, Slopes)>> = vec![None; self.states.len()];
        for (row, read) in self.travel.iter().chain(read).enumerate() {
            match *read {
                CarReading::Figure { state, weights, value, sigma } => {
                    if seen[state].is_none() {
                        seen[state] = Some(self.figures(&car, &self.states[state], z)?);
                    }
                    let (figures, slope) = seen[state].as_ref()?;
                    let weights = RowDVector::from_row_slice(&weights);
                    misfits[row] = ((&weights * figures)[0] - value) / sigma;
                    slopes.put(row, &(weights / sigma), slope);
                }
                CarReading::Length { hand, link, of } => {
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
                    slopes.own.row_mut(row).copy_from(&self.through_own(&numbers));
                }
            }
        }
        let sound = misfits.iter().all(|x| x.is_finite()) && slopes.is_sound();
        sound.then_some(There { car, misfits, slopes, granted })
    }

    /// Left camber and toe, right camber and toe in a state, rad, and how they change with all unknowns.
    pub(super) fn figures(
        &self,
        car: &Car,
        state: &State,
        z: &DVector<f64>,
    ) -> Option<(DVector<f64>, Slopes)> {
        let mut figures = DVector::zeros(4);
        let mut slopes = self.slopes(4);

        for hand in Hand::BOTH {
            let (setup, position) = self.position(&car.sides[hand], state, z)?;
            let (own, slope) = self.wheel(car, hand, state, (&setup, &position), z)?;
            let row = if hand == Hand::Left { 0 } else { 2 };
            figures.rows_mut(row, 2).copy_from(&own);
            slopes.put_all(row, &slope);
        }
        Some((figures, slopes))
    }

    pub(super) fn position(&self, side: &Side, state: &State, z: &DVector<f64>) -> Option<(Setup, Position)> {
        let setup = state.setup(side, &self.unknowns, z);
        let drop = state.drops(&self.unknowns, z)[side.hand];
        let position = solve(&setup.rows(side, drop), &side.reference()).ok()?;
        Some((setup, position))
    }
}

impl CarReading {
    /// The figures of a round; none where it has gone into the car before.
    pub(crate) fn of(car: &Car, state: usize, round: &Round) -> Vec<Self> {
        if car.has_learnt(&round.fingerprint()) {
            return Vec::new();
        }
        let figure = |weights, read: Option<Measured>| {
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
    pub(crate) fn lengths(car: &Car) -> Vec<Self> {
        let of_side = |side: &'_ Side| {
            let own = |(link, of): (usize, &Link)| {
                let measured = of.measured.filter(|measured| !measured.used && measured.hand == side.hand)?;
                Some(Self::Length { hand: side.hand, link, of: measured })
            };
            side.links.iter().enumerate().filter_map(own).collect::<Vec<_>>()
        };
        car.sides.iter().flat_map(of_side).collect()
    }
}

impl Model<'_> {
    /// Whether an unknown is how far an arm was matched wrongly: the first of its link, shared by all states that have it.
    pub(super) fn matched(&self, place: usize) -> bool {
        let Unknown { what, .. } = self.unknowns[place];
        self.unknowns.iter().position(|unknown| unknown.what == what) == Some(place)
            && matches!(what, What::Length(..))
    }

    fn offset(&self, state: &State, hand: Hand, z: &DVector<f64>) -> Angles {
        let mut offset = Angles { camber: 0.0, toe: 0.0 };
        for (_, what, off) in state.errors(&self.unknowns, z) {
            match what {
                What::Off(of, figure) | What::RunOut(of, figure) if of == hand => {
                    offset.get_mut(figure).into_iter().for_each(|offset| *offset += off);
                }
                What::Floor => offset.camber += if hand == Hand::Left { off } else { -off },
                _ => {}
            }
        }
        offset
    }

    /// Camber and toe of one wheel in a position of its links, rad, and how they change with all unknowns.
    pub(super) fn wheel(
        &self,
        car: &Car,
        hand: Hand,
        state: &State,
        (setup, position): (&Setup, &Position),
        z: &DVector<f64>,
    ) -> Option<(DVector<f64>, Slopes)> {
        let side = &car.sides[hand];
        // The ground is worked out from the measured car: its wheelbase and track are far better known than its points.
        let stance = state.stance(self.car, &self.unknowns, z)?;
        let ground = stance.ground(hand);
        let sensitivity = Sensitivity::of(side, &stance, setup, position);
        let offset = self.offset(state, hand, z);
        let value = |figure: Figure| figure.value(&position.pose, &side.wheel, &ground);
        let figures = DVector::from_column_slice(&[
            value(Figure::Camber) + offset.camber,
            value(Figure::Toe) + offset.toe,
        ]);
        let mut slopes = self.slopes(2);
        for row in 0..2 {
            let numbers: RowDVector<f64> =
                BothSides::slope(hand, |number| sensitivity.measured[(row, number)]);
            slopes.own.row_mut(row).copy_from(&self.through_own(&numbers));
        }
        for &(place, times) in &state.touches {
            let Unknown { what, sigma } = self.unknowns[place];
            let slope = match what {
                What::Length(of, link) if of == hand => sensitivity.lengths[link],
                What::Shift(of, link) if of == hand => {
                    // The rod acts longer by as much of the shift as points towards the knuckle.
                    let pushes = side.pushes(link, setup, &position.pose);
                    pushes.into_iter().map(|(row, push)| sensitivity.lengths[row] * push).sum()
                }
                What::Drop(of) => sensitivity.drops.column(usize::from(of != hand)).into_owned(),
                What::Front => sensitivity.drops.column(2).into_owned(),
                What::Off(of, figure) | What::RunOut(of, figure) if of == hand => {
                    Vector2::ith(usize::from(figure != Figure::Camber), 1.0)
                }
                What::Floor => Vector2::ith(0, if hand == Hand::Left { 1.0 } else { -1.0 }),
                _ => continue,
            };
            for row in 0..2 {
                slopes.add(row, place, slope[row] * (sigma * times));
            }
        }
        Some((figures, slopes))
    }
}
