//! What is known of a car after its readings.

use nalgebra::{DMatrix, DVector, Matrix2, Matrix4, Vector4};

use super::model::{CarReading, Model, There};
use super::slopes::Slopes;
use super::state::State;
use super::unknown::What;
use super::weight::Weight;
use crate::car::{Car, Errors, Hand, Measurand, PerSide, Setup};
use crate::geometry::search::least;
use crate::geometry::{Angles, Position};
use crate::measure::both_sides::BothSides;
use crate::measure::{Measured, WIDEST, rarely};

/// How closely the factor is looked for.
const WITHIN: f64 = 0.01;
/// Less than this part of a reading's weight in its own check is rounding.
const NONE: f64 = 1e-6;

/// What is known of a car after its readings.
#[derive(Debug, Clone)]
pub(crate) struct KnownCar<'a> {
    model: &'a Model<'a>,
    read: Vec<CarReading>,
    z: DVector<f64>,
    misfits: DVector<f64>,
    slopes: Slopes,
    /// So many of the first rows are no readings.
    granted: usize,
    weight: Weight,
    /// The car as it is most likely to be, with the errors that are left.
    pub(crate) car: Car,
}

/// What a wheel is expected to read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Expected {
    /// Camber and toe, rad.
    pub(crate) figures: Angles,
    /// Their covariance, rad2.
    pub(crate) covariance: Matrix2<f64>,
}

impl Expected {
    /// Each figure with its own deviation.
    pub(crate) fn each(&self) -> Angles<Measured> {
        let [camber, toe] = [0, 1].map(|i| self.covariance[(i, i)].max(0.0).sqrt());
        Angles {
            camber: Measured { value: self.figures.camber, sigma: camber },
            toe: Measured { value: self.figures.toe, sigma: toe },
        }
    }
}

impl<'a> KnownCar<'a> {
    pub(super) fn new(
        model: &'a Model<'a>,
        read: Vec<CarReading>,
        z: DVector<f64>,
        There { car, misfits, slopes, granted }: There,
        weight: Weight,
    ) -> Self {
        let mut known = Self { model, read, z, misfits, slopes, granted, weight, car };
        let covariance = known.of_numbers();
        for side in &mut known.car.sides {
            side.errors = Errors::of(BothSides::between(&covariance, [side.hand; 2]));
        }
        known.car.between = BothSides::between(&covariance, Hand::BOTH);
        known
    }

    /// The covariance of the numbers of both sides.
    pub(crate) fn of_numbers(&self) -> DMatrix<f64> {
        let factor = &self.model.factor;
        let mut slope = DMatrix::zeros(BothSides::NUMBERS, self.model.count());
        slope.columns_mut(0, factor.ncols()).copy_from(factor);
        self.covariance(&slope)
    }

    /// The covariance of what changes so with all unknowns, a row each: `G G' - G J' (J J' + 1)^-1 J G'`.
    fn covariance(&self, slope: &DMatrix<f64>) -> DMatrix<f64> {
        let with = self.slopes.across(slope);
        slope * slope.transpose() - &with * self.weight.solve(&with.transpose())
    }

    /// What everything that was read gives, beside one reading: of `J J' + 1`, the misfits as they would be without the
    /// readings.
    fn forecast(&self) -> DVector<f64> {
        &self.misfits - self.slopes.times(&self.z)
    }

    /// The misfit of each reading over its own deviation (W. Baarda 1968, as in `network`): in whitened misfits `u` with the
    /// cofactors `(J J' + 1)^-1` that is `u_i / sqrt(cofactor_ii)`. Where nothing checks a reading it is 0.
    pub(crate) fn standardized(&self) -> Vec<f64> {
        let off = self.misfits.iter().zip(self.weight.cofactors()).skip(self.granted);
        off.map(|(misfit, cofactor)| if cofactor > NONE { misfit / cofactor.sqrt() } else { 0.0 }).collect()
    }

    /// How far the readings are off what was expected of all of them together, and how many they are: a sum of squares that
    /// follows the chi-squared law for so many where everything is as good as was said.
    fn surprise(&self) -> (f64, usize) {
        (self.weight.beyond(self.granted, &self.forecast()).0, self.read.len())
    }

    /// How many times as large as stated the misfits of readings and points together look.
    pub(crate) fn unit_weight(&self) -> f64 {
        let (surprise, count) = self.surprise();
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let count = count.max(1) as f64;
        (surprise / count).sqrt()
    }

    /// By how much left camber and toe, right camber and toe of a state are off if a height in it is, in each by its deviation, rad.
    pub(crate) fn by_heights(&self, place: usize) -> Vec<Vector4<f64>> {
        let state = self.state(place);
        let Some((_, slopes)) = self.model.figures(&self.car, state, &self.z) else { return Vec::new() };
        let is_height = |of: &usize| matches!(self.model.unknowns[*of].what, What::Drop(_) | What::Front);
        let heights = state.touches.iter().map(|(of, _)| *of).filter(is_height);
        heights.map(|of| Vector4::from_column_slice(slopes.column(of).as_slice())).collect()
    }

    /// Minus twice the logarithm of how likely these readings were if the errors of the car's own numbers count so many times, up
    /// to a constant.
    fn unlikely(&self, times: f64) -> Option<f64> {
        let mut slopes = self.slopes.clone();
        slopes.own.scale_mut(times);
        let (squares, size) = Weight::of(&slopes, self.granted)?.beyond(self.granted, &self.forecast());
        Some(squares + size)
    }

    /// How many times as wide as stated the errors of the car should be taken: 1 unless the readings as a whole are further off than
    /// in one of a thousand cases, then what makes them likeliest.
    pub(crate) fn widened(&self) -> f64 {
        let (surprise, count) = self.surprise();
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let freedom = count as f64;
        if count == 0 || surprise <= freedom * rarely(freedom) {
            return 1.0;
        }
        self.wider(WIDEST).map_or(1.0, |(times, _)| times)
    }

    /// How many times as wide as stated the errors of the car should be taken, and by how much minus twice the logarithm of the
    /// likelihood then falls.
    pub(crate) fn wider(&self, most: f64) -> Option<(f64, f64)> {
        let now = self.unlikely(1.0)?;
        let unlikely = |times: f64| self.unlikely(times).unwrap_or(f64::INFINITY);
        let (_, (times, there)) = least([1.0, most.max(1.0)], WITHIN, unlikely);
        Some((times, now - there))
    }

    /// The state of a reading.
    pub(crate) fn state(&self, place: usize) -> &'a State {
        &self.model.states[place]
    }

    /// How a side's links truly stand in a state, as far as is known.
    pub(crate) fn setup(&self, state: &State, hand: Hand) -> Setup {
        state.setup(&self.car.sides[hand], &self.model.unknowns, &self.z)
    }

    /// The drop of a side in it, as far as is known, mm.
    pub(crate) fn drop(&self, state: &State, hand: Hand) -> f64 {
        state.drops(&self.model.unknowns, &self.z)[hand]
    }

    /// How the car stands in it, as far as is known; `None` without the wheelbase that its front drop needs.
    pub(crate) fn stance(&self, state: &State) -> Option<crate::car::Stance> {
        state.stance(self.model.car, &self.model.unknowns, &self.z)
    }

    /// Left camber and toe, right camber and toe that are expected in a state, rad; `None` where a wheel cannot be there.
    pub(crate) fn figures(&self, state: &State) -> Option<[f64; 4]> {
        let (figures, _) = self.model.figures(&self.car, state, &self.z)?;
        Some(std::array::from_fn(|i| figures[i]))
    }

    /// What the wheels are expected to read in a state; `None` where one cannot be there.
    pub(crate) fn expected(&self, state: &State) -> Option<PerSide<Expected>> {
        let (figures, slopes) = self.model.figures(&self.car, state, &self.z)?;
        let covariance = self.covariance(&slopes.dense());
        Some(PerSide::of(|hand| {
            let at = if hand == Hand::Left { 0 } else { 2 };
            Expected {
                figures: Angles { camber: figures[at], toe: figures[at + 1] },
                covariance: covariance.fixed_view::<2, 2>(at, at).into_owned(),
            }
        }))
    }

    /// How left camber and toe, right camber and toe of a state change with all that is not known, in deviations of before, rad;
    /// `None` where a wheel cannot be in it.
    pub(crate) fn slopes(&self, state: &State) -> Option<DMatrix<f64>> {
        Some(self.model.figures(&self.car, state, &self.z)?.1.dense())
    }

    /// The same of something that changes so with the numbers of one side, a single row.
    pub(crate) fn slope_of_points(&self, hand: Hand, of_side: impl Fn(usize) -> f64) -> DMatrix<f64> {
        let of_points = |number: usize| if number < Measurand::READINGS { of_side(number) } else { 0.0 };
        let slope = self.model.through(&BothSides::slope(hand, of_points));
        DMatrix::from_rows(&[slope])
    }

    /// Whether both wheels can be in the state of a reading.
    pub(crate) fn stands(&self, place: usize) -> bool {
        self.expected(self.state(place)).is_some()
    }

    /// A state as it is rather than as it was read: on a level floor, on rims that run true.
    pub(crate) fn levelled(&self, state: &State) -> State {
        let mut level = state.clone();
        let of_reading = |what: What| matches!(what, What::Floor | What::RunOut(..));
        level.touches.retain(|(place, _)| !of_reading(self.model.unknowns[*place].what));
        level
    }

    /// The covariance of camber and toe of a wheel in a state with what they are once its links are set to stand so, in the position
    /// that they give: camber and toe now, then afterwards, rad2. What the new setting itself is off comes on top. Links that are
    /// turned forget where they had come to rest.
    pub(crate) fn turned(
        &self,
        state: &State,
        hand: Hand,
        setup: &Setup,
        position: &Position,
    ) -> Option<Matrix4<f64>> {
        let now = self.setup(state, hand);
        let turned = now.differing(setup);
        let rests = |place: usize| {
            let of = match self.model.unknowns[place].what {
                What::Length(of, link) | What::Shift(of, link) if of == hand => turned.contains(&link),
                _ => false,
            };
            // How far an arm was matched wrongly stays with it.
            of && !self.model.matched(place)
        };
        let mut after = state.clone();
        after.touches.retain(|(place, _)| !rests(*place));
        let (_, then) = self.model.wheel(&self.car, hand, &after, (setup, position), &self.z)?;
        let side = &self.car.sides[hand];
        let (setup, position) = self.model.position(side, state, &self.z)?;
        let (_, before) = self.model.wheel(&self.car, hand, state, (&setup, &position), &self.z)?;
        let mut slopes = DMatrix::zeros(4, self.model.count());
        slopes.rows_mut(0, 2).copy_from(&before.dense());
        slopes.rows_mut(2, 2).copy_from(&then.dense());
        Some(self.covariance(&slopes).fixed_view::<4, 4>(0, 0).into_owned())
    }
}
