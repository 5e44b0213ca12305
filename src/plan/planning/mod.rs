//! How `plan` comes about: each side worked out exactly, confirmed, rounded to whole steps, and the two sides held together.

mod answer;

pub use answer::{ArmSetting, KeptArm, PitchResult, Plan, PlanSide, SmallerSet};

use crate::car::{Arm, Car, Limit, Link, PerSide, Setup, Sigmas, Spec, Stance};
use crate::geometry::{Angles, Figure, Ground, Position};
use crate::plan::Asked;
use crate::plan::adjusting::{
    Adjuster, AdjusterEnd, AdjusterPart, Bench, Fitting, Matched, Means, Rounded, Task, ThreadIn, Worked,
    cams_left, cams_turned, keeps, stepped, work_out,
};
use crate::plan::cams::cams;
use crate::plan::wheel::{
    ArmBand, AxleResult, Bands, Certainty, Corrector, Effect, NoPosition, Reading, Step, Target, forward,
};

/// Plans both sides.
///
/// `specs` are the specs of the left and the right wheel.
///
/// # Examples
///
/// ```
/// # use rodset::plan::{Fitting, plan};
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../../examples/tansy-wharf.toml")).expect("a sound profile").car;
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
    plan_asked(car, stance, specs, fitting, Asked::ALL)
}

/// The same, with no more worked out than is asked for.
pub(crate) fn plan_asked(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<Plan, NoPosition> {
    let grounds = PerSide::of(|hand| stance.ground(hand));
    let (lowered, worked) = work(car, stance, &grounds, specs, fitting)?;
    let side = |hand| answer(&worked[hand], &lowered[hand], (stance, &car.sigmas), fitting, asked);
    let sides = PerSide::of(side);
    let axle = AxleResult::of(car, sides.each(|side| side.result.reading));
    let smaller = || smaller_set(car, stance, specs, fitting, &worked);
    let smaller_set = asked.wants("smaller_set").then(smaller).flatten();
    let stock_cams = || cams(car, stance, specs).ok();
    Ok(Plan { sides, axle, stock_cams: asked.wants("stock_cams").then(stock_cams).flatten(), smaller_set })
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
            spec: specs[hand],
            setup: fitting.found(side),
            adjusters: fitting.adjusters(side),
            offset: Angles::default(),
            only: None,
            stays: false,
        }
    });
    Ok((lowered, work_out(&car.axle, tasks)?))
}

fn answer(
    worked: &Worked<'_>,
    lowered: &Position,
    (stance, sigmas): (&Stance, &Sigmas),
    fitting: &Fitting,
    asked: Asked<'_>,
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
        spec: Target::from(spec),
        bump_remaining_mm: side.ride.bump_left(*drop),
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
        band: bands.band(asked),
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
pub(super) fn limit(arm: &Arm, stop: Option<AdjusterEnd>, set_mm: f64) -> Limit {
    match stop {
        _ if !arm.holds_at(set_mm) => Limit::Thread,
        Some(end) => arm.range().limits[end as usize],
        None => Limit::Ok,
    }
}

/// For each adjuster the figure for which it is turned after a reading: what it meets, or where no arm does, what its link is
/// used to set.
fn corrects(adjusters: &[Adjuster], parts: &[AdjusterPart], index: usize) -> Option<Figure> {
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
