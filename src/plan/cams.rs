//! Whether the stock cams can still reach the spec, and up to which drop.

use serde::Serialize;

use super::arms::CamSetting;
use super::band::{Band, Bands};
use super::planning::{adjusters, cam_setting, in_file_order};
use super::position::{Certainty, NoPosition, Reason, forward};
use super::reach::Reach;
use super::reading::{Judged, Reading, Target};
use super::sweep;
use crate::car::{Car, Hand, Setup, Side, Sigmas, Spec, Stance};

/// What the stock cams can do, on both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CamVerdict {
    /// Left, then right.
    pub sides: [CamVerdictSide; 2],
}

/// What the stock cams of one side can do.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
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
    /// The settings that give it.
    pub cams: Vec<CamSetting>,
    /// The smallest drop, counted up from 0, at which the cams do, mm; `None` if never.
    pub reach_from_drop_mm: Option<f64>,
    /// The largest drop, counted up from there, at which they still do, mm; `None` if they do to full bump, 0 if never.
    pub run_out_drop_mm: Option<f64>,
    /// The drop up to which that was looked for, mm: full bump, where the profile gives it.
    pub bump_mm: f64,
}

impl CamVerdict {
    /// Whether the cams of both sides reach the spec.
    pub fn succeeds(&self) -> bool {
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
/// # let specs = [0, 1].map(|side| car.sides[side].spec.expect("its profile has a spec"));
/// let verdict = cams(&car, &stance, &specs)?;
/// assert!(!verdict.succeeds(), "the stock cams do not reach the spec at this drop");
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where the links do not let a wheel come so far.
pub fn cams(car: &Car, stance: &Stance, specs: &[Spec; 2]) -> Result<CamVerdict, NoPosition> {
    let [left, right] = [0, 1].map(|i| cams_side(&car.sides[i], stance, &specs[i], &car.sigmas));
    Ok(CamVerdict { sides: [left?, right?] })
}

fn cams_side(
    side: &Side,
    stance: &Stance,
    spec: &Spec,
    sigmas: &Sigmas,
) -> Result<CamVerdictSide, NoPosition> {
    let (drop, ground) = (stance.drop(side.hand), stance.ground(side.hand));
    let found = Setup::as_found(side);
    let lowered = forward(side, &found, drop)?;
    let adjusters = adjusters(side, |_| false);
    let reach = Reach { side, ground: &ground, found: &found, spec, adjusters: &adjusters };
    let best = reach.best(drop)?;
    let reading = Reading::of(side, &best.position.pose, &ground).judged(spec);
    let linkage = reach
        .question(drop)
        .linkage(&best)
        .map_err(|stuck| NoPosition::new(side, drop, &stuck, Reason::NotHeld))?;
    let bands = Bands::new(side, stance, &best.setup, &linkage, &[], sigmas);
    let cams = (in_file_order(&adjusters).into_iter())
        .filter_map(|i| cam_setting(&reach.question(drop), i, &best))
        .collect();
    let bump = sweep::ends(side)[1];
    let stretch = reach.stretch(bump);
    Ok(CamVerdictSide {
        side: side.hand,
        drop_mm: drop,
        spec: Target::from(spec),
        lowered: Reading::of(side, &lowered.pose, &ground),
        within_spec: reading.within_spec,
        best: reading,
        band: bands.band(),
        probability_within_spec: bands.within_spec(reading.reading, spec),
        certainty: Certainty::from(&best.position),
        cams,
        reach_from_drop_mm: stretch.from,
        run_out_drop_mm: stretch.to,
        bump_mm: bump,
    })
}
