//! How `plan` comes about: each side worked out exactly, confirmed, rounded to whole steps, and the two sides held together.

use super::adjust::{Adjusted, Adjuster, End, Means, Question};
use super::arms::{ArmSetting, AxleResult, CamSetting, Fitting, KeptArm, PitchResult, Plan, PlanSide};
use super::band::{ArmBand, Bands};
use super::bench::Bench;
use super::calibration::Calibration;
use super::cams::cams;
use super::describe::Effect;
use super::position::{Certainty, NoPosition, Reason, forward};
use super::reading::{Reading, Target, thrust};
use super::round::{Rounded, round, stepped};
use crate::car::{Arm, Car, Hand, Limit, Link, Setup, Side, Sigmas, Spec, Stance};
use crate::geometry::{Figure, Ground, Position};

/// The exact answer, put back into the car, must give its figures again to this, rad.
const CONFIRMED: f64 = 1e-10;

/// Plans both sides.
///
/// `specs` are the specs of the left and the right wheel.
///
/// # Examples
///
/// ```
/// # use rodset::plan::{Fitting, plan};
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// # let specs = [0, 1].map(|side| car.sides[side].spec.expect("its profile has a spec"));
/// let plan = plan(&car, &stance, &specs, &Fitting::default())?;
/// for side in &plan.sides {
///     for arm in &side.arms {
///         println!("{:?} {}: {:.1} mm, {:+.3} turns from stock", side.side, arm.link, arm.set_mm, arm.turns);
///     }
///     assert!(side.result.within_spec);
/// }
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where a wheel cannot be where it would have to be.
pub fn plan(car: &Car, stance: &Stance, specs: &[Spec; 2], fitting: &Fitting) -> Result<Plan, NoPosition> {
    let grounds = Hand::BOTH.map(|hand| stance.ground(hand));
    let (lowered, worked) = work(car, stance, &grounds, specs, fitting)?;
    let chosen = choose(car, &worked);
    let sides = [0, 1].map(|i| {
        answer(&worked[i], &lowered[i], stance, &car.sigmas, fitting, &worked[i].choices[chosen[i]])
    });
    let axle = AxleResult::of(car, sides.each_ref().map(|side| side.result.reading));
    Ok(Plan { sides, axle, stock_cams: cams(car, stance, specs).ok() })
}

/// The links of both sides as [`plan`] sets them, arms in whole steps.
pub(super) fn settings(
    car: &Car,
    stance: &Stance,
    specs: &[Spec; 2],
    fitting: &Fitting,
) -> Result<[Setup; 2], NoPosition> {
    let grounds = Hand::BOTH.map(|hand| stance.ground(hand));
    let (_, worked) = work(car, stance, &grounds, specs, fitting)?;
    let chosen = choose(car, &worked);
    Ok([0, 1].map(|i| worked[i].choices[chosen[i]].setup))
}

/// Both sides only lowered, and worked out.
fn work<'a>(
    car: &'a Car,
    stance: &Stance,
    grounds: &'a [Ground; 2],
    specs: &'a [Spec; 2],
    fitting: &Fitting,
) -> Result<([Position; 2], [Worked<'a>; 2]), NoPosition> {
    let [left, right] = [0, 1].map(|i| {
        let (side, drop) = (&car.sides[i], stance.drop(Hand::BOTH[i]));
        let lowered = forward(side, &Setup::as_found(side), drop)?;
        let setup = fitting.found(side);
        let adjusters = adjusters(side, |link| fitting.fits(link));
        let (ground, spec, calibration) = (&grounds[i], &specs[i], Calibration::NONE);
        Worked::new(Task { side, ground, drop, spec, setup, adjusters, calibration }).map(|w| (lowered, w))
    });
    let [left, right] = [left?, right?];
    Ok(([left.0, right.0], [left.1, right.1]))
}

/// Which whole steps each side takes: its best, or, where those break the limits that compare the two sides, the best pair
/// that keeps them.
pub(super) fn choose(car: &Car, worked: &[Worked<'_>; 2]) -> [usize; 2] {
    let keeps = |[left, right]: [usize; 2]| {
        let figures = [worked[0].choices[left].figures, worked[1].choices[right].figures];
        car.axle.hold(figures[0][0] - figures[1][0], thrust([figures[0][1], figures[1][1]]))
    };
    let in_spec = |side: usize| {
        let Worked { choices, task: Task { spec, .. }, .. } = &worked[side];
        (0..choices.len()).filter(move |&i| spec.holds(choices[i].figures[0], choices[i].figures[1]))
    };
    // A wheel that is out of its own spec gains nothing from steps that please the other one.
    if keeps([0, 0]) || [0, 1].into_iter().any(|side| in_spec(side).next() != Some(0)) {
        return [0, 0];
    }
    let miss = |[left, right]: [usize; 2]| {
        worked[0].choices[left].rank.miss.hypot(worked[1].choices[right].rank.miss)
    };
    in_spec(0)
        .flat_map(|left| in_spec(1).map(move |right| [left, right]))
        .filter(|pair| keeps(*pair))
        .min_by(|a, b| miss(*a).total_cmp(&miss(*b)))
        .unwrap_or([0, 0])
}

/// A side's question with everything that belongs to it; see [`Question`].
#[derive(Debug, Clone)]
pub(super) struct Task<'a> {
    pub(super) side: &'a Side,
    pub(super) ground: &'a Ground,
    pub(super) drop: f64,
    pub(super) spec: &'a Spec,
    pub(super) setup: Setup,
    pub(super) adjusters: Vec<Adjuster>,
    pub(super) calibration: Calibration,
}

/// A side that has been worked out, up to the choice of its whole steps.
#[derive(Debug, Clone)]
pub(super) struct Worked<'a> {
    pub(super) task: Task<'a>,
    pub(super) exact: Adjusted,
    pub(super) confirmed: Reading,
    /// The best first.
    pub(super) choices: Vec<Rounded>,
}

impl Task<'_> {
    pub(super) fn question(&self) -> Question<'_> {
        let Self { side, ground, drop, spec, setup, adjusters, calibration } = self;
        Question { side, ground, drop: *drop, setup, spec, adjusters, calibration }
    }
}

impl<'a> Worked<'a> {
    pub(super) fn new(task: Task<'a>) -> Result<Self, NoPosition> {
        let question = task.question();
        let exact = question.adjust()?;
        let confirmed = confirm(&question, &exact)?;
        let choices = round(&question, &exact)?;
        Ok(Self { task, exact, confirmed, choices })
    }
}

fn answer(
    worked: &Worked<'_>,
    lowered: &Position,
    stance: &Stance,
    sigmas: &Sigmas,
    fitting: &Fitting,
    rounded: &Rounded,
) -> PlanSide {
    let Worked { task, exact, .. } = worked;
    let Task { side, ground, drop, spec, adjusters, .. } = task;
    let reading = |position: &Position| Reading::of(side, &position.pose, ground);
    let result = reading(&rounded.position);
    let is_arm = |adjuster: &&Adjuster| !adjuster.is_cam();
    let matched: Vec<usize> = adjusters.iter().filter(is_arm).map(|adjuster| adjuster.link).collect();
    let bands = Bands::new(side, stance, &rounded.setup, &rounded.position, &matched, sigmas);
    let sets = |figure: Figure| adjusters.iter().any(|adjuster| adjuster.figure == figure);
    let order = in_file_order(adjusters);
    let mut arms: Vec<ArmSetting> =
        order.iter().filter_map(|&i| arm_setting(&task.question(), i, exact, rounded)).collect();
    let effects: Vec<(Figure, Effect, f64)> =
        arms.iter().map(|arm| (arm.sets, arm.per_turn, arm.lead_mm)).collect();
    for (arm, band) in arms.iter_mut().zip(bands.arms(&effects)) {
        arm.band = band;
    }
    PlanSide {
        side: side.hand,
        drop_mm: *drop,
        spec: Target::from(*spec),
        bump_left_mm: side.ride.bump.map(|bump| bump - drop),
        lowered: reading(lowered),
        pitch: sets(Figure::Pitch).then(|| pitch(task, lowered, rounded)),
        arms,
        // Who names the arms that are fitted has no others.
        kept_arms: match fitting.arms {
            Some(_) => Vec::new(),
            None => side.links.iter().filter(|link| !fitting.fits(link)).filter_map(kept).collect(),
        },
        cams: order.iter().filter_map(|&i| cam_setting(&task.question(), i, exact)).collect(),
        unset: unset(adjusters),
        exact: worked.confirmed.judged(spec),
        result: result.judged(spec),
        band: bands.band(),
        probability_within_spec: bands.within_spec(result, spec),
        certainty: Certainty::from(&rounded.position),
    }
}

fn pitch(task: &Task<'_>, lowered: &Position, rounded: &Rounded) -> PitchResult {
    let pitch = |position: &Position| task.question().figures(position)[2].to_degrees();
    PitchResult {
        lowered_deg: pitch(lowered),
        wanted_deg: task.spec.pitch.to_degrees(),
        result_deg: pitch(&rounded.position),
    }
}

/// The figures of camber and toe that no adjuster sets.
pub(super) fn unset(adjusters: &[Adjuster]) -> Vec<Figure> {
    let sets = |figure: Figure| adjusters.iter().any(|adjuster| adjuster.figure == figure);
    [Figure::Camber, Figure::Toe].into_iter().filter(|figure| !sets(*figure)).collect()
}

/// For each figure the fitted arm of its link or, failing that, the link's cam.
pub(super) fn adjusters(side: &Side, fitted: impl Fn(&Link) -> bool) -> Vec<Adjuster> {
    adjusters_with(side, |link| link.arm.as_ref().filter(|_| fitted(link)).map(|arm| arm.range().ends))
}

/// The same, where a fitted arm is known by the lengths that it may take.
pub(super) fn adjusters_with(side: &Side, arm: impl Fn(&Link) -> Option<[f64; 2]>) -> Vec<Adjuster> {
    let of = |figure: Figure| {
        let link = side.setter(figure)?;
        let means = match (arm(&side.links[link]), side.links[link].cam) {
            (Some(ends), _) => Means::Arm(ends),
            // Nobody sets pitch with a cam on purpose.
            (None, Some(cam)) if figure != Figure::Pitch => Means::Cam([-cam.eccentricity, cam.eccentricity]),
            _ => return None,
        };
        Some(Adjuster { figure, link, means })
    };
    Figure::ALL.into_iter().filter_map(of).collect()
}

/// The adjusters in the order of their links in the profile, by their places in the list.
pub(super) fn in_file_order(adjusters: &[Adjuster]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..adjusters.len()).collect();
    order.sort_by_key(|&i| adjusters[i].link);
    order
}

/// Puts the exact answer back into the car and solves it as a plain linkage: it must give the same figures.
fn confirm(question: &Question<'_>, exact: &Adjusted) -> Result<Reading, NoPosition> {
    let Question { side, drop, .. } = question;
    let again = forward(side, &exact.setup, *drop)?;
    let [before, after] = [&exact.position, &again].map(|position| question.figures(position));
    let off = before.iter().zip(after).map(|(before, after)| (before - after).abs()).fold(0.0, f64::max);
    if off <= CONFIRMED * again.condition.max(1.0) {
        return Ok(Reading::from_radians(after[0], after[1]));
    }
    Err(NoPosition {
        hand: side.hand,
        drop: *drop,
        links: Vec::new(),
        reason: Reason::Unconfirmed(off.to_degrees()),
    })
}

fn kept(link: &Link) -> Option<KeptArm> {
    let arm = link.arm.as_ref().filter(|_| link.sets == Some(Figure::Pitch))?;
    let stock_mm = link.stock_length();
    let limit = if arm.holds_at(stock_mm) { Limit::Ok } else { Limit::Thread };
    let thread_left_mm = arm.thread_left(stock_mm);
    Some(KeptArm {
        link: link.name.clone(),
        stock_mm,
        limit,
        thread_left_mm,
        bench: Bench::of(link, stock_mm),
    })
}

/// What stops an arm that had to stop or not, and is set to a length.
pub(super) fn limit(arm: &Arm, stop: Option<End>, set_mm: f64) -> Limit {
    match stop {
        _ if !arm.holds_at(set_mm) => Limit::Thread,
        Some(end) => arm.range().limits[end as usize],
        None => Limit::Ok,
    }
}

fn arm_setting(
    question: &Question<'_>,
    index: usize,
    exact: &Adjusted,
    rounded: &Rounded,
) -> Option<ArmSetting> {
    let (side, adjuster) = (question.side, &question.adjusters[index]);
    let Means::Arm(_) = adjuster.means else { return None };
    let link = &side.links[adjuster.link];
    let arm = link.arm.as_ref()?;
    let (stock, lead) = (link.stock_length(), arm.lead());
    let set_mm = stepped(arm, stock, rounded.steps[index]);
    let limit = limit(arm, exact.stops[index], set_mm);
    Some(ArmSetting {
        link: link.name.clone(),
        sets: adjuster.figure,
        stock_mm: stock,
        exact_mm: exact.values[index],
        set_mm,
        turns_exact: (exact.values[index] - stock) / lead,
        turns: f64::from(rounded.steps[index]) * arm.step,
        lead_mm: lead,
        step_turns: arm.step,
        limit,
        thread_left_mm: arm.thread_left(set_mm),
        thread_least_mm: (0..arm.threads.len()).map(|end| arm.least_thread(end)).collect(),
        short_of_thread: !arm.holds_at(set_mm),
        per_turn: Effect::of(&rounded.position, side, question.ground, adjuster.link, lead),
        band: ArmBand { length_mm: 0.0, turns: 0.0 },
        bench: Bench::of(link, set_mm),
    })
}

pub(super) fn cam_setting(question: &Question<'_>, index: usize, exact: &Adjusted) -> Option<CamSetting> {
    let (side, adjuster) = (question.side, &question.adjusters[index]);
    let Means::Cam(_) = adjuster.means else { return None };
    let link = &side.links[adjuster.link];
    let cam = link.cam.as_ref()?;
    let shift = exact.values[index];
    let setting = cam.setting_for(shift);
    let next_mark_mm = cam.next_mark(setting, if shift < 0.0 { -1.0 } else { 1.0 });
    let rate = question.linkage(exact).map(|position| {
        let knuckle = position.pose.point(&side.knuckle_arm(adjuster.link));
        let push = cam.push(&knuckle, &exact.setup.pivots[adjuster.link]);
        push * position.rate(adjuster.figure, &side.wheel, question.ground, adjuster.link)
    });
    Some(CamSetting {
        link: link.name.clone(),
        sets: adjuster.figure,
        setting_deg: setting.to_degrees(),
        shift_mm: shift,
        reserve_mm: (cam.eccentricity - shift.abs()).max(0.0),
        towards_wheel: shift * cam.along.dot(&(link.knuckle - link.subframe)) >= 0.0,
        found_deg: cam.setting.to_degrees(),
        marks: cam.mark().map(|mark| setting / mark),
        next_mark_mm,
        next_mark_deg: next_mark_mm.zip(rate.ok()).map(|(mm, rate)| (mm * rate).to_degrees()),
        in_reach: exact.stops[index].is_none(),
    })
}
