//! Whether the stock cams can still reach the spec, and up to which drop.
//!
//! `reach_from_drop_mm`, `run_out_drop_mm`: the drop is counted up from 0 with the body's attitude held as asked; the end of
//! the first stretch of drops over which some settings of all cams keep both figures of the wheel within tolerance; `reach` is
//! what it reads at the corners of all settings.

use serde::Serialize;

use super::Asked;
use super::adjusting::{
    AdjustedSide, AtMark, CamSetting, Fitting, OtherCam, Reach, Task, cams_left, cams_turned, exact_pair,
};
use super::over_travel::travel_ends;
use super::wheel::{
    AxleResult, Band, Bands, Certainty, Judged, NoPosition, Reading, Reason, Target, forward,
};
use crate::car::{Car, Hand, PerSide, Setup, Sigmas, Spec, Stance};
use crate::geometry::{Angles, Figure, Position};

/// What the stock cams can do, on both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamVerdict {
    /// Left, then right.
    pub sides: PerSide<CamVerdictSide>,
    /// Both wheels together, with the cams set like this.
    pub axle: AxleResult,
}

/// What the stock cams of one side can do.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamVerdictSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// What it reads when it is only lowered.
    pub lowered: Reading,
    /// Whether some cam settings in reach put both figures within tolerance.
    pub within_spec: bool,
    /// The best reading that the cams give.
    pub best: Judged,
    /// How good that is before anything is corrected.
    pub band: Band,
    /// The probability that it is within spec before anything is corrected, 0 to 1.
    pub probability_within_spec: f64,
    /// How sure the position with these settings is.
    pub certainty: Certainty,
    /// The cams that are turned for it, as they are to stand.
    pub cams: Vec<CamSetting>,
    /// All other cams, which stay as they were found.
    pub other_cams: Vec<OtherCam>,
    /// Figures that no cam sets.
    pub unset: Vec<Figure>,
    /// What the wheel reads at the corners of all that its cams reach together at this drop, in order round it; between two corners
    /// one cam goes from end to end.
    pub reach: Vec<Reading>,
    /// What it reads at the marks of the cams on the way round, where the profile counts them.
    pub reach_marks: Vec<AtMark>,
    /// The smallest drop, counted up from 0, at which the cams do, mm; `None` if never.
    pub reach_from_drop_mm: Option<f64>,
    /// The largest drop, counted up from there, at which they still do, mm; `None` if they do to full bump, 0 if never.
    pub run_out_drop_mm: Option<f64>,
    /// The drop up to which that was looked for, mm: full bump, where the profile gives it.
    pub bump_mm: f64,
}

impl CamVerdict {
    /// Whether the cams of both sides reach the spec and keep the limits between the wheels.
    pub fn succeeds(&self) -> bool {
        self.reach_each_spec() && self.axle.within_limits
    }

    /// The links on the left and on the right whose cams are turned.
    pub(crate) fn turned(&self) -> PerSide<Vec<String>> {
        self.sides.each(|side| side.cams.iter().map(|cam| cam.link.clone()).collect())
    }

    /// Whether the cams of both sides reach the spec of each wheel by itself.
    pub(crate) fn reach_each_spec(&self) -> bool {
        self.sides.iter().all(|side| side.within_spec)
    }
}

/// Asks what the stock cams can do; no arm is fitted.
///
/// `specs` are the specs of the left and the right wheel.
///
/// # Examples
///
/// ```
/// # use rodset::plan::cams;
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// # let specs = car.sides.each(|side| side.spec.expect("its profile has a spec"));
/// let verdict = cams(&car, &stance, &specs)?;
/// assert!(!verdict.succeeds(), "the stock cams do not reach the spec at this drop");
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where the links do not let a wheel come so far.
pub fn cams(car: &Car, stance: &Stance, specs: &PerSide<Spec>) -> Result<CamVerdict, NoPosition> {
    cams_turning(car, stance, specs, None, Asked::ALL)
}

/// The same, with no other cams turned than those of some links on the left and on the right, and no more worked out than is asked for.
pub(crate) fn cams_turning(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    turnable: Option<PerSide<Vec<String>>>,
    asked: Asked<'_>,
) -> Result<CamVerdict, NoPosition> {
    let no_arm = Fitting { arms: Some(Vec::new()), turnable, ..Fitting::default() };
    let grounds = PerSide::of(|hand| stance.ground(hand));
    let tasks = PerSide::of(|hand| Task {
        side: &car.sides[hand],
        ground: &grounds[hand],
        drop: stance.drops[hand],
        spec: specs[hand],
        setup: Setup::as_found(&car.sides[hand]),
        adjusters: no_arm.adjusters(&car.sides[hand]),
        offset: Angles::default(),
        only: None,
        stays: false,
    });
    let lowered = tasks.each(|task| forward(task.side, &task.setup, task.drop)).ok()?;
    let exact = exact_pair(&car.axle, tasks.as_ref())?;
    let side = |hand| cams_side(&tasks[hand], &lowered[hand], &exact[hand].0, stance, &car.sigmas, asked);
    let sides = PerSide::try_of(side)?;
    let axle = AxleResult::of(car, sides.each(|side| side.best.reading));
    Ok(CamVerdict { sides, axle })
}

fn cams_side(
    task: &Task<'_>,
    lowered: &Position,
    best: &AdjustedSide,
    stance: &Stance,
    sigmas: &Sigmas,
    asked: Asked<'_>,
) -> Result<CamVerdictSide, NoPosition> {
    let Task { side, ground, drop, spec, setup: found, adjusters, .. } = task;
    let question = task.question();
    let reach = Reach { side, ground, found, spec, adjusters };
    let linkage =
        question.linkage(best).map_err(|stuck| NoPosition::new(side, *drop, &stuck, Reason::NotHeld))?;
    let reading = Reading::of(side, &linkage.pose, ground);
    let bands = Bands::new(side, stance, &best.setup, &linkage, &[], sigmas);
    let bump = travel_ends(side)[1];
    let stretch = reach.stretch(bump, asked);
    Ok(CamVerdictSide {
        side: side.hand,
        drop_mm: *drop,
        spec: Target::from(spec),
        lowered: Reading::of(side, &lowered.pose, ground),
        within_spec: reading.judged(spec).within_spec,
        best: reading.judged(spec),
        band: bands.band(asked),
        probability_within_spec: bands.within_spec(reading, spec),
        certainty: Certainty::from(&linkage),
        cams: cams_turned(&question, best, &best.values),
        other_cams: cams_left(side, adjusters, best, |_| false),
        unset: question.unset(),
        reach: if asked.wants("reach") { reach.outline(*drop)? } else { Vec::new() },
        reach_marks: if asked.wants("reach_marks") { reach.marks(*drop)? } else { Vec::new() },
        reach_from_drop_mm: stretch.from,
        run_out_drop_mm: stretch.to,
        bump_mm: bump,
    })
}
