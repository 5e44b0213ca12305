//! How `plan` comes about: each side worked out exactly, confirmed, rounded to whole steps, and the two sides held together.

use super::adjust::{Adjusted, Adjuster, End, Means, Part, Question};
use super::arms::{
    ArmSetting, AxleResult, CamSetting, CamUse, Fitting, KeptArm, OtherCam, PitchResult, Plan, PlanSide,
    SmallerSet,
};
use super::band::{ArmBand, Bands, Corrector};
use super::bench::{Bench, Matched, ThreadIn};
use super::calibration::Calibration;
use super::cams::cams;
use super::describe::{Effect, Step};
use super::position::{Certainty, NoPosition, Reason, forward};
use super::reading::{Reading, Target};
use super::round::{Lattice, Rounded, stepped};
use super::settle::{best_pair, keeps, settle};
use crate::car::{Arm, AxleLimits, Car, Limit, Link, PerSide, Setup, Side, Sigmas, Spec, Stance};
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
/// # let specs = car.sides.each(|side| side.spec.expect("its profile has a spec"));
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
pub fn plan(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
) -> Result<Plan, NoPosition> {
    let grounds = PerSide::of(|hand| stance.ground(hand));
    let (lowered, worked) = work(car, stance, &grounds, specs, fitting)?;
    let sides = PerSide::of(|hand| answer(&worked[hand], &lowered[hand], stance, &car.sigmas, fitting));
    let axle = AxleResult::of(car, sides.each(|side| side.result.reading));
    let smaller_set = smaller_set(car, stance, specs, fitting, &worked);
    Ok(Plan { sides, axle, stock_cams: cams(car, stance, specs).ok(), smaller_set })
}

/// The first set, in the order of the trade, of fewer arms than are fitted that misses both targets no more.
fn smaller_set(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
    planned: &PerSide<Worked<'_>>,
) -> Option<SmallerSet> {
    /// Misses closer than this, in tolerances, are alike.
    const ALIKE: f64 = 1e-9;
    let miss = |worked: &PerSide<Worked<'_>>| {
        let of = |worked: &Worked<'_>| {
            let [camber, toe, _] = worked.rounded.figures;
            let spec = worked.task.spec;
            spec.miss(Figure::Camber, camber).hypot(spec.miss(Figure::Toe, toe))
        };
        of(&worked.left).hypot(of(&worked.right))
    };
    let mut names: Vec<(Option<Figure>, &str)> = Vec::new();
    for link in car.sides.iter().flat_map(|side| &side.links).filter(|link| fitting.fits(link)) {
        if !names.iter().any(|(_, name)| *name == link.name) {
            names.push((link.sets, &link.name));
        }
    }
    names.sort_by_key(|(sets, _)| *sets);
    let mut sets: Vec<Vec<String>> = vec![Vec::new()];
    for (_, name) in &names {
        let with = |set: &Vec<String>| set.iter().cloned().chain([(*name).to_owned()]).collect();
        let more: Vec<Vec<String>> = sets.iter().map(with).collect();
        sets.extend(more);
    }
    sets.retain(|set| set.len() < names.len());
    sets.sort_by_key(Vec::len);
    let grounds = PerSide::of(|hand| stance.ground(hand));
    sets.into_iter().find_map(|links| {
        let fitting = Fitting { arms: Some(links.clone()), ..fitting.clone() };
        let (_, worked) = work(car, stance, &grounds, specs, &fitting).ok()?;
        let figures = worked.each(|worked| worked.rounded.figures);
        let sound = |worked: &Worked<'_>| {
            let ends = (0..worked.task.adjusters.len()).filter_map(|i| arm_setting(worked, i));
            let refused = ends.into_iter().any(|arm| arm.limit == Limit::Thread);
            worked.task.question().in_spec(&worked.rounded.position) && !refused
        };
        let in_spec = worked.iter().all(sound);
        let does = in_spec && keeps(&car.axle, figures) && miss(&worked) <= miss(planned) + ALIKE;
        let readings = figures.map(|[camber, toe, _]| Reading::from_radians(camber, toe));
        does.then(|| SmallerSet { links, readings, axle: AxleResult::of(car, readings) })
    })
}

/// The links of both sides as [`plan`] sets them, arms in whole steps.
pub(super) fn settings(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
) -> Result<PerSide<Setup>, NoPosition> {
    let grounds = PerSide::of(|hand| stance.ground(hand));
    let (_, worked) = work(car, stance, &grounds, specs, fitting)?;
    Ok(worked.map(|worked| worked.rounded.setup))
}

/// Both sides only lowered, and worked out.
fn work<'a>(
    car: &'a Car,
    stance: &Stance,
    grounds: &'a PerSide<Ground>,
    specs: &'a PerSide<Spec>,
    fitting: &Fitting,
) -> Result<(PerSide<Position>, PerSide<Worked<'a>>), NoPosition> {
    let lowered = PerSide::try_of(|hand| {
        let side = &car.sides[hand];
        forward(side, &Setup::as_found(side), stance.drop(hand))
    })?;
    let tasks = PerSide::of(|hand| {
        let side = &car.sides[hand];
        Task {
            side,
            ground: &grounds[hand],
            drop: stance.drop(hand),
            spec: &specs[hand],
            setup: fitting.found(side),
            adjusters: fitting.adjusters(side),
            calibration: Calibration::NONE,
            only: None,
            stays: false,
        }
    });
    Ok((lowered, work_out(&car.axle, tasks)?))
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
    pub(super) only: Option<Figure>,
    /// Whether it is left as it is.
    pub(super) stays: bool,
}

/// A side that has been worked out.
#[derive(Debug, Clone)]
pub(super) struct Worked<'a> {
    pub(super) task: Task<'a>,
    pub(super) exact: Adjusted,
    pub(super) confirmed: Reading,
    pub(super) rounded: Rounded,
}

impl Task<'_> {
    pub(super) fn question(&self) -> Question<'_> {
        let Self { side, ground, drop, spec, setup, adjusters, calibration, only, .. } = self;
        Question { side, ground, drop: *drop, setup, spec, adjusters, calibration, only: *only }
    }

    fn exact(&self) -> Result<Adjusted, NoPosition> {
        let question = self.question();
        if self.stays { question.solve(&vec![Part::Home; self.adjusters.len()]) } else { question.adjust() }
    }
}

/// The exact answers of both sides, settled with each other and each put back into the car, with what it reads there.
pub(super) fn exact_pair(
    axle: &AxleLimits,
    tasks: PerSide<&Task<'_>>,
) -> Result<PerSide<(Adjusted, Reading)>, NoPosition> {
    let exact = tasks.map(Task::exact).ok()?;
    let questions = tasks.map(Task::question);
    let settled = settle(axle, questions, exact, tasks.map(|task| task.stays));
    let confirmed = PerSide::try_of(|hand| confirm(&questions[hand], &settled[hand]))?;
    Ok(settled.zip(confirmed))
}

/// Works both sides out: exactly, then in whole steps, both together.
pub(super) fn work_out<'a>(
    axle: &AxleLimits,
    tasks: PerSide<Task<'a>>,
) -> Result<PerSide<Worked<'a>>, NoPosition> {
    let exact = exact_pair(axle, tasks.as_ref())?;
    let rounded = {
        let mut lattices = PerSide::try_of(|hand| Lattice::new(tasks[hand].question(), &exact[hand].0))?;
        let best = PerSide::try_of(|hand| lattices[hand].best())?;
        best_pair(axle, &mut lattices, best)
    };
    let worked = |((task, (exact, confirmed)), rounded)| Worked { task, exact, confirmed, rounded };
    Ok(tasks.zip(exact).zip(rounded).map(worked))
}

fn answer(
    worked: &Worked<'_>,
    lowered: &Position,
    stance: &Stance,
    sigmas: &Sigmas,
    fitting: &Fitting,
) -> PlanSide {
    let Worked { task, exact, rounded, .. } = worked;
    let Task { side, ground, drop, spec, adjusters, .. } = task;
    let reading = |position: &Position| Reading::of(side, &position.pose, ground);
    let result = reading(&rounded.position);
    let is_arm = |adjuster: &&Adjuster| !adjuster.is_cam();
    let matched: Vec<usize> = adjusters.iter().filter(is_arm).map(|adjuster| adjuster.link).collect();
    let bands = Bands::new(side, stance, &rounded.setup, &rounded.position, &matched, sigmas);
    let count = adjusters.len();
    let mut arms: Vec<ArmSetting> = (0..count).filter_map(|i| arm_setting(worked, i)).collect();
    let corrector = |arm: &ArmSetting| {
        let ArmSetting { per_turn, lead_mm, step, .. } = *arm;
        Some(Corrector { figure: arm.corrects?, per_turn, lead_mm, step_turns: step.turns })
    };
    let correctors: Vec<Corrector> = arms.iter().filter_map(corrector).collect();
    let correcting = arms.iter_mut().filter(|arm| arm.corrects.is_some());
    for (arm, band) in correcting.zip(bands.arms(&correctors)) {
        arm.band = band;
    }
    PlanSide {
        side: side.hand,
        drop_mm: *drop,
        spec: Target::from(*spec),
        bump_left_mm: side.ride.bump_left(*drop),
        arch_gap_mm: side.ride.arch_gap_at(*drop),
        lowered: reading(lowered),
        pitch: adjusters
            .iter()
            .any(|adjuster| adjuster.is_for(Figure::Pitch))
            .then(|| pitch(task, lowered, rounded)),
        arms,
        // Who names the arms that are fitted has no others.
        kept_arms: match fitting.arms {
            Some(_) => Vec::new(),
            None => side.links.iter().filter(|link| !fitting.fits(link)).filter_map(kept).collect(),
        },
        cams: cams_turned(&task.question(), exact, &rounded.values),
        other_cams: cams_left(side, adjusters, exact, |link| fitting.fits(link) && !fitting.keep_cams),
        unset: task.question().unset(),
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
    let thread = ThreadIn::of(arm, stock_mm);
    Some(KeptArm {
        link: link.name.clone(),
        stock_mm,
        limit: if thread.short { Limit::Thread } else { Limit::Ok },
        thread,
        bench: Bench::of(link, stock_mm),
        matched: Matched::of(link, arm),
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

/// For each adjuster the figure for which it is turned after a reading: what it meets, or where no arm does, what its link is
/// used to set.
fn corrects(adjusters: &[Adjuster], parts: &[Part], index: usize) -> Option<Figure> {
    let met_by_an_arm = |figure: Figure| {
        let mut arms = adjusters.iter().zip(parts).filter(|(adjuster, _)| !adjuster.is_cam());
        arms.any(|(_, part)| part.meets() == Some(figure))
    };
    let first_for = |figure: &Figure| adjusters.iter().position(|a| !a.is_cam() && a.is_for(*figure));
    let helped =
        |figure: &Figure| parts[index].stop().is_some() && parts.iter().any(|p| p.meets() == Some(*figure));
    parts[index].meets().or_else(|| {
        let sets = adjusters[index].sets.filter(|figure| !helped(figure));
        sets.filter(|figure| !met_by_an_arm(*figure) && first_for(figure) == Some(index))
    })
}

fn arm_setting(worked: &Worked<'_>, index: usize) -> Option<ArmSetting> {
    let Worked { task, exact, rounded, .. } = worked;
    let Task { side, ground, adjusters, .. } = task;
    let adjuster = &adjusters[index];
    let Means::Arm(_) = adjuster.means else { return None };
    let link = &side.links[adjuster.link];
    let arm = link.arm.as_ref()?;
    let (stock, lead) = (link.stock_length(), arm.lead());
    let set_mm = stepped(arm, stock, rounded.steps[index]);
    let part = exact.parts[index];
    let per_turn = Effect::of(&rounded.position, side, ground, adjuster.link, lead);
    let met = |figure: &Figure| exact.parts.iter().any(|part| part.meets() == Some(*figure));
    Some(ArmSetting {
        link: link.name.clone(),
        sets: part.meets().or(adjuster.sets)?,
        stock_mm: stock,
        exact_mm: exact.values[index],
        set_mm,
        longer_mm: set_mm - stock,
        turns_exact: (exact.values[index] - stock) / lead,
        turns: f64::from(rounded.steps[index]) * arm.step,
        lead_mm: lead,
        step: Step::of(arm, per_turn),
        limit: limit(arm, part.stop(), set_mm),
        helped: part.stop().is_some() && adjuster.sets.as_ref().is_some_and(met),
        corrects: corrects(adjusters, &exact.parts, index),
        thread: ThreadIn::of(arm, set_mm),
        per_turn,
        band: ArmBand::default(),
        bench: Bench::of(link, set_mm),
        matched: Matched::of(link, arm),
    })
}

/// The cams that an answer turns, at given values of its adjusters.
pub(super) fn cams_turned(question: &Question<'_>, exact: &Adjusted, values: &[f64]) -> Vec<CamSetting> {
    let turned = |i: &usize| question.adjusters[*i].is_cam() && exact.parts[*i] != Part::Home;
    let places = (0..question.adjusters.len()).filter(turned);
    places.filter_map(|i| cam_setting(question, i, exact, values[i])).collect()
}

/// All other cams of a side: those that stay as they were found, and those that are locked out at the middle of the slot.
pub(super) fn cams_left(
    side: &Side,
    adjusters: &[Adjuster],
    exact: &Adjusted,
    locked: impl Fn(&Link) -> bool,
) -> Vec<OtherCam> {
    let turned = |link: usize| {
        let parts = adjusters.iter().zip(&exact.parts);
        parts.into_iter().any(|(a, part)| a.is_cam() && a.link == link && *part != Part::Home)
    };
    let left = |(i, link): (usize, &Link)| {
        let cam = link.cam.filter(|_| !turned(i))?;
        let setting = if locked(link) { 0.0 } else { cam.setting };
        Some(OtherCam {
            link: link.name.clone(),
            stands: if locked(link) { CamUse::Locked } else { CamUse::AsFound },
            setting_deg: setting.to_degrees(),
            shift_mm: cam.shift(setting),
            marks: cam.mark().map(|mark| setting / mark),
            towards_wheel: link.is_outward(cam.shift(setting)),
        })
    };
    side.links.iter().enumerate().filter_map(left).collect()
}

pub(super) fn cam_setting(
    question: &Question<'_>,
    index: usize,
    exact: &Adjusted,
    shift: f64,
) -> Option<CamSetting> {
    let (side, adjuster) = (question.side, &question.adjusters[index]);
    let link = &side.links[adjuster.link];
    let cam = link.cam.as_ref()?;
    let setting = cam.setting_for(shift);
    let next_mark_mm = cam.next_mark(setting, if shift < 0.0 { -1.0 } else { 1.0 });
    let part = exact.parts[index];
    let rates = question.linkage(exact).ok().map(|position| {
        let push = adjuster.push(side, &exact.setup, &position);
        [Figure::Camber, Figure::Toe]
            .map(|f| push * position.rate(f, &side.wheel, question.ground, adjuster.link))
    });
    let sets = part.meets().or(adjuster.sets).unwrap_or_else(|| {
        let in_tolerances =
            |f: Figure| rates.map_or(0.0, |r| (r[f as usize] / question.spec.tolerance(f)).abs());
        if in_tolerances(Figure::Camber) >= in_tolerances(Figure::Toe) { Figure::Camber } else { Figure::Toe }
    });
    // One that is used for no figure stands at its end for whatever is missed.
    let figures = question.figures(&exact.position);
    let off = |f: Figure| (question.spec.target(f) - figures[f as usize]).abs();
    let unset = question.unset();
    let both = [Figure::Camber, Figure::Toe].into_iter().filter(|f| !unset.contains(f));
    let off = if adjuster.sets.is_some() { off(sets) } else { both.map(off).fold(0.0, f64::max) };
    Some(CamSetting {
        link: link.name.clone(),
        sets,
        setting_deg: setting.to_degrees(),
        shift_mm: shift,
        reserve_mm: (cam.eccentricity - shift.abs()).max(0.0),
        towards_wheel: link.is_outward(shift),
        found_deg: cam.setting.to_degrees(),
        marks: cam.mark().map(|mark| setting / mark),
        next_mark_mm,
        next_mark_deg: next_mark_mm.zip(rates).map(|(mm, rates)| (mm * rates[sets as usize]).to_degrees()),
        in_reach: part.stop().is_none() || off <= CONFIRMED,
    })
}
