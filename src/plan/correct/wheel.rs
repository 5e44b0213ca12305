//! What to turn on one wheel, from what is known of it.

use nalgebra::{Matrix2, Matrix4, Vector4};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

use super::answer::{ArmTurn, CamTurn, CorrectedSide, Fewer, FigureOrigin, Leave, Settles};
use super::standing::Standing;
use crate::car::{Car, PerLink, PerSide, Side, Sigmas, Spec};
use crate::geometry::{Angles, Figure};
use crate::measure::posterior::{KnownCar, State};
use crate::measure::probability_within;
use crate::plan::adjusting::{
    Adjuster, AdjusterPart, BOTH, Bench, Rounded, Task, ThreadIn, Worked, cam_setting, in_play, keeps,
    work_alone, work_out,
};
use crate::plan::planning::limit;
use crate::plan::wheel::{Band, Certainty, Effect, NoPosition, Reading, Step, Target};

/// A shift smaller than this is none, mm: pages show tenths, and no cam is set finer.
const NO_SHIFT: f64 = 0.05;
/// Nothing is turned that makes a wheel worse in more than this part of all cases.
const WORSE: f64 = 0.1;
/// Parts of the way that are tried where the whole is too unsure.
const PARTS: [f64; 3] = [1.0, 0.5, 0.25];
/// Cases in which that is looked at: enough for a part of 0.1 to be told from one of 0.13.
const CASES: u32 = 1000;

/// One wheel as it is now, with all that is known of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct WheelNow<'a> {
    pub(super) profile: &'a Side,
    pub(super) known: &'a KnownCar<'a>,
    pub(super) state: &'a State,
    pub(super) standing: &'a Standing<'a>,
    /// By how much each link truly is longer than noted, mm.
    pub(super) more: &'a PerLink<f64>,
    pub(super) spec: &'a Spec,
    pub(super) adjusters: &'a [Adjuster],
    pub(super) sigmas: &'a Sigmas,
    /// Which figures were ever read near this height.
    pub(super) read: Angles<bool>,
    /// Whether what was read last cannot be right; then nothing is turned.
    pub(super) impossible: bool,
    /// The link whose turns were answered with the other sign; then nothing is turned either.
    pub(super) other_way: Option<&'a str>,
}

/// A wheel that has been worked out.
#[derive(Debug, Clone)]
pub(super) struct Turned<'a> {
    pub(super) worked: Worked<'a>,
    /// Why more than one thing is turned.
    pub(super) fewer: Option<Fewer>,
    /// How much of the way to the target is gone.
    pub(super) part: f64,
    /// Why nothing is turned, where it is because turning might make it worse.
    pub(super) unsure: Option<Settles>,
}

/// Works out both wheels; one that is near enough is left as it is, unless the limits between the wheels are then broken.
pub(super) fn settle<'a>(
    car: &Car,
    wheels: &'a PerSide<WheelNow<'a>>,
) -> Result<PerSide<Turned<'a>>, NoPosition> {
    let plain = |worked: PerSide<Worked<'a>>| {
        worked.map(|worked| Turned { worked, fewer: None, part: 1.0, unsure: None })
    };
    let stuck = wheels.each(WheelNow::is_stuck);
    let left = wheels.each(|wheel| wheel.is_stuck() || wheel.is_near_enough(wheel.now()));
    let work = |stays: PerSide<bool>| {
        work_out(&car.axle, PerSide::of(|hand| wheels[hand].task(stays[hand], None, 1.0)))
    };
    let choice = |stays: PerSide<bool>| {
        let worked = work(stays)?;
        // Where nothing comes nearer the spec, it is better left alone.
        let alone = PerSide::of(|hand| stays[hand] || wheels[hand].comes_no_nearer(&worked[hand]));
        if alone == stays { Ok(worked) } else { work(alone) }
    };
    let Ok(mut worked) = choice(left) else { return each_alone(wheels) };
    let keep = |worked: &PerSide<Worked<'a>>| keeps(&car.axle, worked.each(|worked| worked.rounded.figures));
    if left != stuck && !keep(&worked) {
        worked = choice(stuck)?;
    }
    // The fewest arms that do it as well as a reading can tell.
    let mut turned = plain(worked.clone());
    for (wheel, turned) in wheels.iter().zip(&mut turned) {
        wheel.with_fewer(turned);
    }
    if keep(&worked) && !keep(&turned.each(|turned| turned.worked.clone())) {
        turned = plain(worked);
    }
    // Never a turn that may well make it worse.
    for (wheel, turned) in wheels.iter().zip(&mut turned) {
        wheel.only_if_sure(turned)?;
    }
    Ok(turned)
}

/// Each wheel by itself, where the two cannot be worked out together: as far as it goes.
fn each_alone<'a>(wheels: &'a PerSide<WheelNow<'a>>) -> Result<PerSide<Turned<'a>>, NoPosition> {
    PerSide::try_of(|hand| {
        let wheel = &wheels[hand];
        let whole = work_alone(wheel.task(wheel.is_stuck(), None, 1.0));
        let mut turned = match whole {
            Ok(worked) => Turned { worked, fewer: None, part: 1.0, unsure: None },
            Err(error) => wheel.part_of_the_way().ok_or(error)?,
        };
        wheel.only_if_sure(&mut turned)?;
        Ok(turned)
    })
}

impl<'a> WheelNow<'a> {
    /// As far towards the target as a position is found.
    fn part_of_the_way(&self) -> Option<Turned<'a>> {
        let part = |part: f64| {
            let all = work_alone(self.task(false, None, part)).ok();
            let one = || self.each_alone(part).into_iter().next().map(|(_, worked)| worked);
            Some(Turned { worked: all.or_else(one)?, fewer: None, part, unsure: None })
        };
        PARTS.into_iter().find_map(part)
    }

    /// Whether nothing may be turned before it is found out what is wrong.
    fn is_stuck(&self) -> bool {
        self.impossible || self.other_way.is_some()
    }

    /// What it reads now, rad.
    fn now(&self) -> Angles {
        self.standing.expected.figures
    }

    /// Standard deviations of that, rad.
    fn sigmas_now(&self) -> Angles {
        self.standing.expected.each().map(|figure| figure.sigma)
    }

    /// Whether figures are within spec and nearer the target than what the wheel has now is known to.
    fn is_near_enough(&self, figures: Angles) -> bool {
        let sigmas = self.sigmas_now();
        let near = |figure: Figure| {
            let (Some(value), Some(sigma)) = (figures.get(figure), sigmas.get(figure)) else { return false };
            (value - self.spec.target(figure)).abs() <= *sigma
        };
        let unset = self.all().question().unset();
        let set = |figure: &Figure| !unset.contains(figure) && self.was_read(*figure);
        self.turnable().next().is_some()
            && BOTH.into_iter().filter(set).all(near)
            && self.spec.holds(figures.camber, figures.toe)
    }

    fn was_read(&self, figure: Figure) -> bool {
        self.read.get(figure).copied().unwrap_or(false)
    }

    /// What may be turned: nothing is, for a figure that was never read.
    fn turnable(&self) -> impl Iterator<Item = &'a Adjuster> {
        let read = self.read;
        let was_read = move |figure: Figure| read.get(figure).copied().unwrap_or(false);
        self.adjusters.iter().filter(move |adjuster| match adjuster.sets {
            Some(figure) => was_read(figure),
            None => BOTH.into_iter().any(was_read),
        })
    }

    /// The task with everything that is fitted, read or not.
    fn all(&self) -> Task<'a> {
        Task { adjusters: self.adjusters.to_vec(), only: None, ..self.task(false, None, 1.0) }
    }

    /// How far figures that were read are out of the way, in tolerances.
    fn miss(&self, Angles { camber, toe }: Angles) -> f64 {
        let read = BOTH.into_iter().zip([camber, toe]).filter(|(figure, _)| self.was_read(*figure));
        read.map(|(figure, value)| self.spec.miss(figure, value).powi(2)).sum::<f64>().sqrt()
    }

    /// Whether turning leaves a wheel out of spec, and no nearer to it than it is.
    fn comes_no_nearer(&self, worked: &Worked<'_>) -> bool {
        let miss = |figures: Angles| (!self.spec.holds(figures.camber, figures.toe), self.miss(figures));
        let turned = miss(after(worked));
        turned.0 && miss(self.now()) <= turned
    }

    /// What is to be turned: everything that may be, or one thing alone; all of the way to the target or a part of it.
    fn task(&self, stays: bool, one: Option<&Adjuster>, part: f64) -> Task<'a> {
        let Standing { side, ground, drop, setup, .. } = self.standing;
        let figures: Vec<Figure> = BOTH.into_iter().filter(|figure| self.was_read(*figure)).collect();
        let only = match (one, &figures[..]) {
            (Some(one), _) => one.sets,
            (None, [only]) => Some(*only),
            (None, _) => None,
        };
        Task {
            side,
            ground,
            drop: *drop,
            spec: self.aim(part),
            setup: *setup,
            adjusters: one.map_or_else(|| self.turnable().copied().collect(), |one| vec![*one]),
            offset: self.standing.offset(),
            only,
            stays,
        }
    }

    /// The spec with its target moved towards what the wheel has now.
    fn aim(&self, part: f64) -> Spec {
        let (now, spec) = (self.now(), self.spec);
        let towards = |now: f64, target: f64| now + part * (target - now);
        if part < 1.0 {
            Spec { camber: towards(now.camber, spec.camber), toe: towards(now.toe, spec.toe), ..*spec }
        } else {
            *spec
        }
    }

    /// How many things are turned.
    fn turns(&self, worked: &Worked<'_>) -> usize {
        let moved = |(i, adjuster): (usize, &Adjuster)| {
            let by = worked.rounded.values[i] - self.standing.value(adjuster);
            if adjuster.is_cam() { by.abs() > NO_SHIFT } else { worked.rounded.steps[i] != 0 }
        };
        worked.task.adjusters.iter().enumerate().filter(|of| moved(*of)).count()
    }

    /// Takes one adjuster alone where that does it as well as a reading can tell; says what is missing where it does not.
    fn with_fewer(&self, turned: &mut Turned<'a>) {
        if self.turns(&turned.worked) < 2 {
            return;
        }
        let Some((one, worked)) = self.each_alone(1.0).into_iter().next() else { return };
        if self.is_near_enough(after(&worked)) {
            turned.worked = worked;
            return;
        }
        let Angles { camber, toe } = after(&worked);
        let off = Angles { camber: camber - self.spec.camber, toe: toe - self.spec.toe };
        turned.fewer = Some(Fewer {
            link: self.profile.links[one.link].name.clone(),
            off_deg: off.map(f64::to_degrees),
        });
    }

    /// Turns nothing that makes the wheel worse in more than one of ten cases: one adjuster alone where all of them are too unsure,
    /// else part of the way, else none.
    fn only_if_sure(&self, turned: &mut Turned<'a>) -> Result<(), NoPosition> {
        let is_sure = |worked: &Worked<'_>| self.chance_of_worse(worked) <= WORSE;
        if self.turns(&turned.worked) == 0 || is_sure(&turned.worked) {
            return Ok(());
        }
        let now = self.miss(self.now());
        let helps = |worked: &Worked<'_>| self.turns(worked) > 0 && self.miss(after(worked)) < now;
        turned.fewer = None;
        for part in PARTS {
            let all = work_alone(self.task(false, None, part)).ok().filter(|_| part < 1.0);
            let one = || self.each_alone(part).into_iter().map(|(_, worked)| worked);
            if let Some(worked) = all.into_iter().chain(one()).find(|worked| helps(worked) && is_sure(worked))
            {
                (turned.worked, turned.part) = (worked, part);
                return Ok(());
            }
        }
        turned.unsure = Some(self.settles(&turned.worked));
        turned.worked = work_alone(self.task(true, None, 1.0))?;
        Ok(())
    }

    /// What comes of each adjuster that has a figure to set, turned alone, the best first.
    fn each_alone(&self, part: f64) -> Vec<(Adjuster, Worked<'a>)> {
        let adjusters: Vec<Adjuster> = self.turnable().copied().filter(|one| one.sets.is_some()).collect();
        let alone = |one: &Adjuster| Some((*one, work_alone(self.task(false, Some(one), part)).ok()?));
        let mut each: Vec<(Adjuster, Worked<'a>)> = in_play(&adjusters).iter().filter_map(alone).collect();
        each.sort_by(|a, b| self.miss(after(&a.1)).total_cmp(&self.miss(after(&b.1))));
        each
    }

    /// In which part of all cases the wheel is further out of the way after the turns than it is now.
    fn chance_of_worse(&self, worked: &Worked<'_>) -> f64 {
        let Some(mut covariance) = self.together(&worked.rounded) else { return 1.0 };
        let size = covariance.diagonal().amax();
        for i in 0..4 {
            covariance[(i, i)] += 1e-12 * size;
        }
        let Some(factor) = covariance.cholesky() else { return 1.0 };
        let (now, then) = (self.now(), after(worked));
        let mean = Vector4::new(now.camber, now.toe, then.camber, then.toe);
        let mut random = Pcg64::new(1, 1);
        let mut worse = 0;
        for _ in 0..CASES {
            let z = Vector4::from_fn(|_, _| StandardNormal.sample(&mut random));
            let one = mean + factor.l() * z;
            let miss = |at: usize| self.miss(Angles { camber: one[at], toe: one[at + 1] });
            worse += u32::from(miss(2) > miss(0));
        }
        f64::from(worse) / f64::from(CASES)
    }

    /// What would settle whether the turns help: one more reading, where it is the reading of now that is not good enough; a turn by
    /// a known amount and a reading after it, where it is what the turn does.
    fn settles(&self, worked: &Worked<'_>) -> Settles {
        let change = self.together(&worked.rounded).map_or(Matrix2::zeros(), |all| {
            let [now, then] = [(0, 0), (2, 2)].map(|at| all.fixed_view::<2, 2>(at.0, at.1).into_owned());
            let cross = all.fixed_view::<2, 2>(0, 2).into_owned();
            now + then - cross - cross.transpose()
        });
        let now = self.standing.expected.covariance;
        let tolerance = |figure: Figure| self.spec.tolerance(figure).powi(2);
        let share = |of: &Matrix2<f64>, i: usize| of[(i, i)] / tolerance(BOTH[i]);
        let worst = |of: &Matrix2<f64>| usize::from(share(of, 0) <= share(of, 1));
        let (by_reading, by_turn) = (worst(&now), worst(&change));
        if share(&now, by_reading) >= share(&change, by_turn) {
            return Settles::ReadAgain { figure: BOTH[by_reading] };
        }
        let of = |adjuster: &&Adjuster| adjuster.is_for(BOTH[by_turn]);
        let adjuster = worked.task.adjusters.iter().find(of).or(worked.task.adjusters.first());
        match adjuster {
            Some(adjuster) => Settles::TurnOnce { link: self.profile.links[adjuster.link].name.clone() },
            None => Settles::ReadAgain { figure: BOTH[by_reading] },
        }
    }

    pub(super) fn answer(&self, turned: Turned<'a>, origins: Angles<FigureOrigin>) -> CorrectedSide {
        let Self { standing, spec, .. } = self;
        let Turned { worked, fewer, part, unsure } = turned;
        let worked = &worked;
        let now = self.now();
        let rounded = &worked.rounded;
        let count = worked.task.adjusters.len();
        let arms: Vec<ArmTurn> = (0..count).filter_map(|i| self.arm(i, worked)).collect();
        let cams: Vec<CamTurn> = (0..count).filter_map(|i| self.cam(i, worked)).collect();
        let Angles { camber, toe } = after(worked);
        let result = Reading::from_radians(camber, toe).judged(spec);
        let together = self.together(rounded);
        let covariance = together.map_or(Matrix2::zeros(), |all| all.fixed_view::<2, 2>(2, 2).into_owned());
        let off = Angles { camber: camber - spec.camber, toe: toe - spec.toe };
        let within = Angles { camber: spec.camber_tolerance, toe: spec.toe_tolerance };
        let turns = self.turns(worked) > 0;
        // Within tolerance nothing has to be settled: what is missing is less than what is known.
        let settled = unsure.is_some() && spec.holds(now.camber, now.toe);
        let settles = unsure.filter(|_| !settled);
        CorrectedSide {
            side: standing.side.hand,
            drop_mm: self.state.noted_drop(standing.side.hand),
            spec: Target::from(*spec),
            now: Reading::from_radians(now.camber, now.toe).judged(spec),
            now_band: Band::plain(&standing.expected.covariance),
            camber_from: origins.camber,
            toe_from: origins.toe,
            other_way: self.other_way.map(str::to_owned),
            leave: match () {
                () if origins == Angles::of(|_| FigureOrigin::Profile) => Some(Leave::Unread),
                () if self.impossible => Some(Leave::Impossible),
                () if self.other_way.is_some() => Some(Leave::OtherWay),
                () if self.turnable().next().is_none() => Some(Leave::Nothing),
                () if turns => None,
                () if settles.is_some() => Some(Leave::Unsure),
                () if !result.within_spec => Some(Leave::Worse),
                () if settled || self.is_near_enough(now) => Some(Leave::Noise),
                () => Some(Leave::Step),
            },
            settles,
            part_of_the_way: part,
            fewer,
            chance_of_worse: if turns { self.chance_of_worse(worked) } else { 0.0 },
            arms,
            cams,
            unset: self.all().question().unset(),
            exact: worked.confirmed.judged(spec),
            result,
            band: Band::plain(&covariance),
            probability_within_spec: probability_within(&covariance, off, within),
            certainty: Certainty::from(&rounded.position),
        }
    }

    /// Covariance of camber and toe now and after the turns, rad2.
    fn together(&self, rounded: &Rounded) -> Option<Matrix4<f64>> {
        let Rounded { setup, position, .. } = rounded;
        let mut all = self.known.turned(self.state, self.standing.side.hand, setup, position)?;
        let mut after = all.fixed_view_mut::<2, 2>(2, 2);
        after += self.standing.setting_noise(setup, position, self.sigmas);
        Some(all)
    }

    fn arm(&self, index: usize, worked: &Worked<'_>) -> Option<ArmTurn> {
        let rounded = &worked.rounded;
        let adjuster = &worked.task.adjusters[index];
        if adjuster.is_cam() {
            return None;
        }
        let link = &self.profile.links[adjuster.link];
        let arm = link.arm.as_ref()?;
        // What it truly is longer than noted is no part of what is read off it.
        let noted = |length: f64| length - self.more[adjuster.link];
        let (now, lead) = (noted(self.standing.value(adjuster)), arm.lead());
        let (exact, set) = (noted(worked.exact.values[index]), noted(rounded.setup.lengths[adjuster.link]));
        let Standing { side, ground, .. } = self.standing;
        let per_turn = Effect::of(&rounded.position, side, ground, adjuster.link, lead);
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

    fn cam(&self, index: usize, worked: &Worked<'_>) -> Option<CamTurn> {
        let adjuster = &worked.task.adjusters[index];
        let link = &self.standing.side.links[adjuster.link];
        let cam = link.cam.filter(|_| adjuster.is_cam())?;
        let in_play =
            worked.exact.parts[index] != AdjusterPart::Home || in_play(self.adjusters).contains(adjuster);
        let (question, values) = (worked.task.question(), &worked.rounded.values);
        let setting = cam_setting(&question, index, &worked.exact, values[index]).filter(|_| in_play)?;
        let now = self.standing.value(adjuster);
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

/// Camber and toe after the turns, rad.
fn after(worked: &Worked<'_>) -> Angles {
    let [camber, toe, _] = worked.rounded.figures;
    Angles { camber, toe }
}
