//! What to turn on one wheel, from what is known of it.

use nalgebra::{Matrix2, Vector2};

use super::answer::{ArmTurn, CamTurn, CorrectedSide, Leave, Origin};
use super::learn::Learnt;
use super::state::State;
use crate::car::{Car, Sigmas, Spec};
use crate::geometry::Figure;
use crate::measure::{Measured, probability_within};
use crate::plan::adjust::{Adjusted, Adjuster, End, Means};
use crate::plan::band::Band;
use crate::plan::bench::Bench;
use crate::plan::calibration::Calibration;
use crate::plan::describe::Effect;
use crate::plan::planning::{Task, Worked, cam_setting, choose, in_file_order, limit, unset};
use crate::plan::position::{Certainty, NoPosition};
use crate::plan::reading::{Reading, Target, thrust};
use crate::plan::round::{Rank, Rounded};

/// A shift smaller than this is none, mm.
const NO_SHIFT: f64 = 1e-6;

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
    wheels: &'a [Wheel<'a>; 2],
) -> Result<([Worked<'a>; 2], [usize; 2]), NoPosition> {
    let stuck = wheels.each_ref().map(|wheel| wheel.impossible);
    let left = wheels.each_ref().map(|wheel| wheel.impossible || wheel.is_near_enough());
    let work = |i: usize, leave: bool| if leave { Ok(wheels[i].stay()) } else { wheels[i].work() };
    let choice = |leave: [bool; 2]| {
        let worked = [work(0, leave[0])?, work(1, leave[1])?];
        let chosen = choose(car, &worked);
        let figures = [0, 1].map(|i| worked[i].choices[chosen[i]].figures);
        let holds = car.axle.hold(figures[0][0] - figures[1][0], thrust([figures[0][1], figures[1][1]]));
        Ok((worked, chosen, holds))
    };
    let (worked, chosen, holds) = choice(left)?;
    if holds || left == stuck {
        return Ok((worked, chosen));
    }
    choice(stuck).map(|(worked, chosen, _)| (worked, chosen))
}

impl<'a> Wheel<'a> {
    /// What it reads now, rad.
    fn now(&self) -> [Measured; 2] {
        let [camber, toe] = self.learnt.expected(self.state.model);
        [camber, Measured { sigma: toe.sigma.hypot(self.apart.sqrt()), ..toe }]
    }

    /// Whether it is within spec and nearer the target than its reading is good for.
    fn is_near_enough(&self) -> bool {
        let now = self.now();
        let near = |figure: Figure| {
            let reading = now[figure as usize];
            (reading.value - self.spec.target(figure)).abs() <= reading.sigma
        };
        let mut turnable = self.turnable().peekable();
        turnable.peek().is_some()
            && turnable.all(|adjuster| near(adjuster.figure))
            && self.spec.holds(now[0].value, now[1].value)
    }

    /// What may be turned: nothing is, for a figure that was never read.
    fn turnable(&self) -> impl Iterator<Item = &'a Adjuster> {
        self.adjusters.iter().filter(|adjuster| self.learnt.was_read(adjuster.figure as usize))
    }

    /// Works it out. Where an adjuster ends and the other one would be set as if that did not matter, it may be better to let
    /// it help the figure that is short, or to leave the wheel alone: the nearest to the spec of these.
    fn work(&self) -> Result<Worked<'a>, NoPosition> {
        let adjusted = Worked::new(self.task())?;
        let figures = |worked: &Worked<'_>| worked.choices.first().map(|best| best.figures);
        let miss = |worked: &Worked<'_>| {
            let Some([camber, toe, _]) = figures(worked) else { return (true, f64::INFINITY) };
            let misses = self.turnable().map(|adjuster| {
                let value = if adjuster.figure == Figure::Camber { camber } else { toe };
                self.spec.miss(adjuster.figure, value).powi(2)
            });
            (!self.spec.holds(camber, toe), misses.sum::<f64>().sqrt())
        };
        if !miss(&adjusted).0 {
            return Ok(adjusted);
        }
        let mut ways = vec![self.stay()];
        ways.extend(self.helped(&adjusted));
        Ok(ways.into_iter().fold(adjusted, |best, way| if miss(&way) < miss(&best) { way } else { best }))
    }

    /// Of two adjusters one has ended: it stays there, and the other meets its figure.
    fn helped(&self, adjusted: &Worked<'a>) -> Option<Worked<'a>> {
        let mut task = self.task();
        let stopped = match adjusted.exact.stops[..] {
            [Some(_), None] => 0,
            [None, Some(_)] => 1,
            _ => return None,
        };
        let ended = &mut task.adjusters[stopped];
        let link = ended.link;
        ended.means = match ended.means {
            Means::Arm(_) => Means::Arm([adjusted.choices.first()?.setup.lengths[link]; 2]),
            Means::Cam(_) => Means::Cam([adjusted.exact.values[stopped]; 2]),
        };
        let [first, second] = &mut task.adjusters[..] else { return None };
        std::mem::swap(&mut first.figure, &mut second.figure);
        Worked::new(task).ok()
    }

    fn task(&self) -> Task<'a> {
        let State { side, ground, drop, setup, model, .. } = self.state;
        let read = Vector2::from(self.now().map(|reading| reading.value));
        Task {
            side,
            ground,
            drop: *drop,
            spec: self.spec,
            setup: *setup,
            adjusters: self.turnable().copied().collect(),
            calibration: Calibration { at: *model, read, slope: self.learnt.slope() },
        }
    }

    /// The wheel left as it is.
    fn stay(&self) -> Worked<'a> {
        let task = self.task();
        let State { setup, position, .. } = self.state;
        let values: Vec<f64> = task.adjusters.iter().map(|adjuster| self.value(adjuster)).collect();
        let stops = vec![None; values.len()];
        let figures = task.question().figures(position);
        let miss = task.question().miss(position);
        Worked {
            confirmed: Reading::from_radians(figures[0], figures[1]),
            choices: vec![Rounded {
                setup: *setup,
                position: *position,
                steps: vec![0; values.len()],
                figures,
                rank: Rank { outside_spec: false, miss },
            }],
            exact: Adjusted { setup: *setup, position: *position, values, stops },
            task,
        }
    }

    /// Where an adjuster stands now, mm.
    fn value(&self, adjuster: &Adjuster) -> f64 {
        if adjuster.is_cam() {
            self.state.shift(adjuster.link)
        } else {
            self.state.setup.lengths[adjuster.link]
        }
    }

    pub(super) fn answer(
        &self,
        worked: &Worked<'_>,
        rounded: &Rounded,
        origins: [Origin; 2],
    ) -> CorrectedSide {
        let Self { state, spec, learnt, .. } = self;
        let now = self.now();
        let order = in_file_order(&worked.task.adjusters);
        let arms: Vec<ArmTurn> = order.iter().filter_map(|&i| self.arm(i, worked, rounded)).collect();
        let cams: Vec<CamTurn> = order.iter().filter_map(|&i| self.cam(i, worked)).collect();
        let [camber, toe, _] = rounded.figures;
        let result = Reading::from_radians(camber, toe).judged(spec);
        let covariance = self.covariance(rounded);
        let off = [camber - spec.camber, toe - spec.toe];
        let within = [spec.camber_tolerance, spec.toe_tolerance];
        let turned =
            arms.iter().any(|arm| arm.turns != 0.0) || cams.iter().any(|cam| cam.turn_mm.abs() > NO_SHIFT);
        let slope = learnt.slope();
        CorrectedSide {
            side: state.side.hand,
            drop_mm: state.drop,
            spec: Target::from(*spec),
            now: Reading::from_radians(now[0].value, now[1].value).judged(spec),
            now_band: Band::plain(&Matrix2::from_diagonal(&Vector2::from(now.map(|m| m.sigma.powi(2))))),
            camber_from: origins[0],
            toe_from: origins[1],
            leave: match () {
                () if origins == [Origin::Profile; 2] => Some(Leave::Unread),
                () if self.impossible => Some(Leave::Impossible),
                () if order.is_empty() => Some(Leave::Nothing),
                () if turned => None,
                () if !result.within_spec => Some(Leave::Worse),
                () if self.is_near_enough() => Some(Leave::Noise),
                () => Some(Leave::Step),
            },
            arms,
            cams,
            unset: unset(self.adjusters),
            exact: worked.confirmed.judged(spec),
            result,
            band: Band::plain(&covariance),
            probability_within_spec: probability_within(&covariance, off, within),
            worth: [0, 1].map(|i| [slope[(i, 0)], slope[(i, 1)]]),
            certainty: Certainty::from(&rounded.position),
        }
    }

    /// Covariance of camber and toe after the turns, rad2.
    fn covariance(&self, rounded: &Rounded) -> Matrix2<f64> {
        let Ok(after) = self.state.set(rounded.setup) else { return Matrix2::zeros() };
        let known = self.learnt.expected(after.model).map(|m| m.sigma.powi(2));
        let turned = after.turned_since(self.state);
        let known = Matrix2::from_diagonal(&Vector2::new(known[0], known[1] + self.apart));
        known + after.setting_noise(&turned, self.sigmas)
    }

    fn arm(&self, index: usize, worked: &Worked<'_>, rounded: &Rounded) -> Option<ArmTurn> {
        let adjuster = &worked.task.adjusters[index];
        if adjuster.is_cam() {
            return None;
        }
        let link = &self.state.side.links[adjuster.link];
        let arm = link.arm.as_ref()?;
        let (now, lead) = (self.value(adjuster), arm.lead());
        let (exact, set) = (worked.exact.values[index], rounded.setup.lengths[adjuster.link]);
        // One that is held where it ended has both its ends there: which of the arm's own it is, its length tells.
        let [low, high] = arm.range().ends;
        let nearer = if exact - low <= high - exact { End::Low } else { End::High };
        let stop = worked.exact.stops[index].map(|_| nearer);
        Some(ArmTurn {
            link: link.name.clone(),
            sets: link.sets.unwrap_or(adjuster.figure),
            now_mm: now,
            exact_mm: exact,
            set_mm: set,
            turns_exact: (exact - now) / lead,
            turns: f64::from(rounded.steps[index]) * arm.step,
            turns_from_stock: (set - link.stock_length()) / lead,
            lead_mm: lead,
            step_turns: arm.step,
            limit: limit(arm, stop, set),
            thread_left_mm: arm.thread_left(set),
            thread_least_mm: (0..arm.threads.len()).map(|end| arm.least_thread(end)).collect(),
            short_of_thread: !arm.holds_at(set),
            per_turn: self.effect(rounded, adjuster.link, lead),
            bench: Bench::of(link, set),
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
        let cam = link.cam?;
        let mut setting = cam_setting(&worked.task.question(), index, &worked.exact)?;
        if link.sets.is_some_and(|sets| sets != adjuster.figure) {
            // It helps the other figure here, and its next mark would be told of that one.
            (setting.sets, setting.next_mark_deg) = (link.sets.unwrap_or(setting.sets), None);
        }
        let now = self.value(adjuster);
        let now_deg = cam.setting_for(now).to_degrees();
        let turn_deg = setting.setting_deg - now_deg;
        let turn_mm = setting.shift_mm - now;
        Some(CamTurn {
            now_deg,
            turn_deg,
            turn_marks: cam.mark().map(|mark| turn_deg.to_radians() / mark),
            turn_mm,
            turns_towards_wheel: turn_mm * cam.along.dot(&(link.knuckle - link.subframe)) >= 0.0,
            setting,
        })
    }
}
