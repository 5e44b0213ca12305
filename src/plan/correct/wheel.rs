//! What to turn on one wheel, from what is known of it.

use nalgebra::{Matrix2, Vector2};

use super::answer::{ArmTurn, CamTurn, CorrectedSide, Leave, Origin};
use super::learn::Learnt;
use super::state::State;
use crate::car::{Car, PerSide, Sigmas, Spec};
use crate::geometry::{Angles, Figure};
use crate::measure::{Measured, probability_within};
use crate::plan::adjusting::{
    Adjuster, BOTH, Bench, Calibration, Part, Rounded, Task, ThreadIn, Worked, cam_setting, in_play, keeps,
    work_out,
};
use crate::plan::planning::limit;
use crate::plan::wheel::{Band, Certainty, Effect, NoPosition, Reading, Step, Target};

/// A shift smaller than this is none, mm: pages show tenths, and no cam is set finer.
const NO_SHIFT: f64 = 0.05;

/// One wheel as it is now, with all that is known of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wheel<'a> {
    pub(super) state: &'a State<'a>,
    pub(super) learnt: &'a Learnt,
    pub(super) spec: &'a Spec,
    pub(super) adjusters: &'a [Adjuster],
    pub(super) sigmas: &'a Sigmas,
    /// What the toe may be off because only the total was read, rad2.
    pub(super) apart: f64,
    /// Whether what was read last cannot be right; then nothing is turned.
    pub(super) impossible: bool,
}

/// Works out both wheels; one that is near enough is left as it is, unless the limits between the wheels are then broken.
pub(super) fn settle<'a>(
    car: &Car,
    wheels: &'a PerSide<Wheel<'a>>,
) -> Result<PerSide<Worked<'a>>, NoPosition> {
    let stuck = wheels.each(|wheel| wheel.impossible);
    let left = wheels.each(|wheel| wheel.impossible || wheel.is_near_enough());
    let work = |stays: PerSide<bool>| work_out(&car.axle, PerSide::of(|hand| wheels[hand].task(stays[hand])));
    let choice = |stays: PerSide<bool>| {
        let worked = work(stays)?;
        // Where nothing comes nearer the spec, it is better left alone.
        let alone = PerSide::of(|hand| stays[hand] || wheels[hand].comes_no_nearer(&worked[hand]));
        if alone == stays { Ok(worked) } else { work(alone) }
    };
    let worked = choice(left)?;
    if left == stuck || keeps(&car.axle, worked.each(|worked| worked.rounded.figures)) {
        return Ok(worked);
    }
    choice(stuck)
}

impl<'a> Wheel<'a> {
    /// What it reads now, rad.
    fn now(&self) -> Angles<Measured> {
        let Angles { camber, toe } = self.learnt.expected(self.state.model);
        Angles { camber, toe: Measured { sigma: toe.sigma.hypot(self.apart.sqrt()), ..toe } }
    }

    /// Whether it is within spec and nearer the target than its reading is good for.
    fn is_near_enough(&self) -> bool {
        let now = self.now();
        let near = |figure: Figure| {
            let near = |reading: &Measured| (reading.value - self.spec.target(figure)).abs() <= reading.sigma;
            now.get(figure).is_some_and(near)
        };
        let unset = self.all().question().unset();
        let set = |figure: &Figure| !unset.contains(figure) && self.learnt.was_read(*figure);
        self.turnable().next().is_some()
            && BOTH.into_iter().filter(set).all(near)
            && self.spec.holds(now.camber.value, now.toe.value)
    }

    /// What may be turned: nothing is, for a figure that was never read.
    fn turnable(&self) -> impl Iterator<Item = &'a Adjuster> {
        let was_read = |figure: Figure| self.learnt.was_read(figure);
        self.adjusters.iter().filter(move |adjuster| match adjuster.sets {
            Some(figure) => was_read(figure),
            None => BOTH.into_iter().any(was_read),
        })
    }

    /// The task with everything that is fitted, read or not.
    fn all(&self) -> Task<'a> {
        Task { adjusters: self.adjusters.to_vec(), only: None, ..self.task(false) }
    }

    /// Whether turning leaves a wheel out of spec, and no nearer to it than it is.
    fn comes_no_nearer(&self, worked: &Worked<'_>) -> bool {
        let miss = |Angles { camber, toe }: Angles| {
            let read = BOTH.into_iter().zip([camber, toe]).filter(|(f, _)| self.learnt.was_read(*f));
            let misses = read.map(|(figure, value)| self.spec.miss(figure, value).powi(2));
            (!self.spec.holds(camber, toe), misses.sum::<f64>().sqrt())
        };
        let [camber, toe, _] = worked.rounded.figures;
        let turned = miss(Angles { camber, toe });
        turned.0 && miss(self.now().map(|reading| reading.value)) <= turned
    }

    fn task(&self, stays: bool) -> Task<'a> {
        let State { side, ground, drop, setup, model, .. } = self.state;
        let Angles { camber, toe } = self.now().map(|reading| reading.value);
        let read = Vector2::new(camber, toe);
        let figures: Vec<Figure> = BOTH.into_iter().filter(|figure| self.learnt.was_read(*figure)).collect();
        Task {
            side,
            ground,
            drop: *drop,
            spec: self.spec,
            setup: *setup,
            adjusters: self.turnable().copied().collect(),
            calibration: Calibration { at: *model, read, slope: self.learnt.slope() },
            only: if let [only] = figures[..] { Some(only) } else { None },
            stays,
        }
    }

    pub(super) fn answer(&self, worked: &Worked<'_>, origins: Angles<Origin>) -> CorrectedSide {
        let Self { state, spec, learnt, .. } = self;
        let now = self.now();
        let rounded = &worked.rounded;
        let count = worked.task.adjusters.len();
        let arms: Vec<ArmTurn> = (0..count).filter_map(|i| self.arm(i, worked)).collect();
        let cams: Vec<CamTurn> = (0..count).filter_map(|i| self.cam(i, worked)).collect();
        let [camber, toe, _] = rounded.figures;
        let result = Reading::from_radians(camber, toe).judged(spec);
        let covariance = self.covariance(rounded);
        let off = Angles { camber: camber - spec.camber, toe: toe - spec.toe };
        let within = Angles { camber: spec.camber_tolerance, toe: spec.toe_tolerance };
        let turned =
            arms.iter().any(|arm| arm.turns != 0.0) || cams.iter().any(|cam| cam.turn_mm.abs() > NO_SHIFT);
        let slope = learnt.slope();
        CorrectedSide {
            side: state.side.hand,
            drop_mm: state.drop,
            spec: Target::from(*spec),
            now: Reading::from_radians(now.camber.value, now.toe.value).judged(spec),
            now_band: Band::plain(&diagonal(now.map(|figure| figure.sigma.powi(2)))),
            camber_from: origins.camber,
            toe_from: origins.toe,
            leave: match () {
                () if origins == Angles::of(|_| Origin::Profile) => Some(Leave::Unread),
                () if self.impossible => Some(Leave::Impossible),
                () if count == 0 => Some(Leave::Nothing),
                () if turned => None,
                () if !result.within_spec => Some(Leave::Worse),
                () if self.is_near_enough() => Some(Leave::Noise),
                () => Some(Leave::Step),
            },
            arms,
            cams,
            unset: self.all().question().unset(),
            exact: worked.confirmed.judged(spec),
            result,
            band: Band::plain(&covariance),
            probability_within_spec: probability_within(&covariance, off, within),
            worth: Angles::from([0, 1]).map(|i| Angles { camber: slope[(i, 0)], toe: slope[(i, 1)] }),
            certainty: Certainty::from(&rounded.position),
        }
    }

    /// Covariance of camber and toe after the turns, rad2.
    fn covariance(&self, rounded: &Rounded) -> Matrix2<f64> {
        let Ok(after) = self.state.set(rounded.setup) else { return Matrix2::zeros() };
        let Angles { camber, toe } = self.learnt.expected(after.model).map(|figure| figure.sigma.powi(2));
        let turned = after.turned_since(self.state);
        diagonal(Angles { camber, toe: toe + self.apart }) + after.setting_noise(&turned, self.sigmas)
    }

    fn arm(&self, index: usize, worked: &Worked<'_>) -> Option<ArmTurn> {
        let rounded = &worked.rounded;
        let adjuster = &worked.task.adjusters[index];
        if adjuster.is_cam() {
            return None;
        }
        let link = &self.state.side.links[adjuster.link];
        let arm = link.arm.as_ref()?;
        let (now, lead) = (self.state.value(adjuster), arm.lead());
        let (exact, set) = (worked.exact.values[index], rounded.setup.lengths[adjuster.link]);
        let per_turn = self.effect(rounded, adjuster.link, lead);
        Some(ArmTurn {
            link: link.name.clone(),
            sets: worked.exact.parts[index].meets().or(link.sets)?,
            now_mm: now,
            exact_mm: exact,
            set_mm: set,
            longer_mm: set - now,
            turns_exact: (exact - now) / lead,
            turns: f64::from(rounded.steps[index]) * arm.step,
            turns_from_stock: (set - link.stock_length()) / lead,
            lead_mm: lead,
            step: Step::of(arm, per_turn),
            limit: limit(arm, worked.exact.parts[index].stop(), set),
            thread: ThreadIn::of(arm, set),
            per_turn,
            bench: Bench::of(link, set),
            bench_now_mm: Bench::of(link, now).bench_mm,
        })
    }

    /// What `by` mm more of a link will do on the car.
    fn effect(&self, rounded: &Rounded, link: usize, by: f64) -> Effect {
        let effect = Effect::of(&rounded.position, self.state.side, &self.state.ground, link, by);
        let worth = self.learnt.slope() * Vector2::new(effect.camber_deg, effect.toe_deg);
        Effect { camber_deg: worth.x, toe_deg: worth.y, ..effect }
    }

    fn cam(&self, index: usize, worked: &Worked<'_>) -> Option<CamTurn> {
        let adjuster = &worked.task.adjusters[index];
        let link = &self.state.side.links[adjuster.link];
        let cam = link.cam.filter(|_| adjuster.is_cam())?;
        let in_play = worked.exact.parts[index] != Part::Home || in_play(self.adjusters).contains(adjuster);
        let (question, values) = (worked.task.question(), &worked.rounded.values);
        let setting = cam_setting(&question, index, &worked.exact, values[index]).filter(|_| in_play)?;
        let now = self.state.value(adjuster);
        let now_deg = cam.setting_for(now).to_degrees();
        let turn_deg = setting.setting_deg - now_deg;
        let turn_mm = setting.shift_mm - now;
        Some(CamTurn {
            now_deg,
            turn_deg,
            turn_marks: cam.mark().map(|mark| turn_deg.to_radians() / mark),
            turn_mm,
            turns_towards_wheel: link.is_outward(turn_mm),
            setting,
        })
    }
}

/// A covariance of figures whose errors have nothing in common.
fn diagonal(variances: Angles) -> Matrix2<f64> {
    Matrix2::new(variances.camber, 0.0, 0.0, variances.toe)
}
