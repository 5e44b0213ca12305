//! Arm lengths and turns that bring a lowered car back to its spec.

use serde::Serialize;

use super::adjust::{Adjusted, Adjuster, Means, Question};
use super::band::{ArmBand, Band, Bands};
use super::cams::{CamVerdict, cams};
use super::describe::Effect;
use super::position::{Certainty, NoPosition, Reason, forward};
use super::reading::{Judged, Reading, Target, thrust_angle, total_toe};
use super::round::{Rounded, round, stepped};
use crate::car::{Car, Hand, Limit, Link, Setup, Side, Spec, Stance};
use crate::geometry::{Figure, Position};

/// The exact answer, put back into the car, must give its figures again to this, rad.
const CONFIRMED: f64 = 1e-10;

/// Which arms are fitted and what becomes of the cams under them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fitting {
    /// Names of the links whose arms are fitted; `None`: every link with an arm and a role, but not one that sets pitch.
    pub arms: Option<Vec<String>>,
    /// Leave cams under fitted arms as they are set, instead of locked out at the middle of the slot.
    pub keep_cams: bool,
}

/// Arm lengths and turns for both sides.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// Left, then right.
    pub sides: [PlanSide; 2],
    /// Both wheels together, after rounding.
    pub axle: AxleResult,
    /// Whether the stock cams alone would have done; `None` where they could not be followed so far.
    pub stock_cams: Option<CamVerdict>,
}

/// Figures of the whole axle, after rounding, degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AxleResult {
    /// Left plus right toe.
    pub total_toe_deg: f64,
    /// Half of right minus left toe; positive: the rear axle steers to the left.
    pub thrust_angle_deg: f64,
    /// Left minus right camber.
    pub cross_camber_deg: f64,
    /// Whether cross camber and thrust angle keep the limits of the spec, where it has any.
    pub within_limits: bool,
}

/// Arm lengths and turns for one side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// Bump travel that is left at this drop, mm, where the profile gives it; negative: lowered past it.
    pub bump_left_mm: Option<f64>,
    /// What it reads when it is only lowered.
    pub lowered: Reading,
    /// The knuckle's pitch, where an arm sets it.
    pub pitch: Option<PitchResult>,
    /// The fitted arms.
    pub arms: Vec<ArmSetting>,
    /// Arms that stay at stock length: those that set pitch, unless they were asked for.
    pub kept_arms: Vec<KeptArm>,
    /// Figures that are left to a stock cam.
    pub cams: Vec<CamSetting>,
    /// Figures that nothing on this side sets.
    pub unset: Vec<Figure>,
    /// What it reads with the exact lengths.
    pub exact: Judged,
    /// What it reads with whole steps.
    pub result: Judged,
    /// How good that is before anything is corrected.
    pub band: Band,
    /// The probability that it is within spec before anything is corrected, 0 to 1.
    pub probability_within_spec: f64,
    /// How sure the position with whole steps is.
    pub certainty: Certainty,
}

/// The knuckle's pitch since the reference, degrees; positive: top forward.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PitchResult {
    /// When the car is only lowered.
    pub lowered_deg: f64,
    /// What the arm aims for.
    pub wanted_deg: f64,
    /// With whole steps.
    pub result_deg: f64,
}

/// One arm: how long, how many turns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ArmSetting {
    /// The link it replaces.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Stock length, to which it is set first, mm.
    pub stock_mm: f64,
    /// Length that meets the spec exactly (at a limit: the limit), mm.
    pub exact_mm: f64,
    /// Length at whole steps, mm.
    pub set_mm: f64,
    /// Turns from stock to the exact length; positive: longer.
    pub turns_exact: f64,
    /// Turns from stock to the set length, in whole steps; positive: longer.
    pub turns: f64,
    /// Length per turn, mm.
    pub lead_mm: f64,
    /// The least part of a turn that can be locked.
    pub step_turns: f64,
    /// What stops the arm.
    pub limit: Limit,
    /// Thread left in the body at the set length, per end, mm; empty where it was not measured.
    pub thread_left_mm: Vec<f64>,
    /// The least that must be left, per end, mm.
    pub thread_least_mm: Vec<f64>,
    /// Whether too little thread is left at the set length itself.
    pub short_of_thread: bool,
    /// What a further turn longer does to the wheel.
    pub per_turn: Effect,
    /// How far it may have to be corrected after the first reading.
    pub band: ArmBand,
}

/// An arm that stays at stock length.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeptArm {
    /// The link it replaces.
    pub link: String,
    /// Stock length, mm.
    pub stock_mm: f64,
    /// Whether enough thread is in the body at that length.
    pub limit: Limit,
    /// Thread in the body at that length, per end, mm; empty where it was not measured.
    pub thread_left_mm: Vec<f64>,
}

/// A cam that sets a figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CamSetting {
    /// The link at whose subframe pivot it sits.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Turn from the middle, degrees; positive: pivot moved along the slot's direction.
    pub setting_deg: f64,
    /// Shift of the pivot from the middle of the slot, mm.
    pub shift_mm: f64,
    /// What is left of the pivot's movement towards the end it is turned to, mm.
    pub reserve_mm: f64,
    /// Whether the pivot moves towards the wheel from the middle, rather than away from it.
    pub towards_wheel: bool,
    /// The turn as it was found, degrees.
    pub found_deg: f64,
    /// Turn in marks from the middle, where the cam has marks.
    pub marks: Option<f64>,
    /// What the next mark outward would still move the pivot, mm.
    pub next_mark_mm: Option<f64>,
    /// What it would change the figure that the cam sets, degrees.
    pub next_mark_deg: Option<f64>,
    /// False where the cam stands at its end and the figure is not met.
    pub in_reach: bool,
}

impl Plan {
    /// Whether every wheel is within its spec after rounding, the axle's limits hold and no thread is short.
    pub fn succeeds(&self) -> bool {
        self.axle.within_limits && self.sides.iter().all(PlanSide::succeeds)
    }
}

impl PlanSide {
    /// Whether this wheel is within its spec after rounding and no arm is refused.
    pub fn succeeds(&self) -> bool {
        self.result.within_spec && !self.refuses_an_arm()
    }

    /// Whether an arm ends at its thread: short of the length wanted, or even at the length it is set to.
    pub fn refuses_an_arm(&self) -> bool {
        let limits = self.arms.iter().map(|arm| arm.limit).chain(self.kept_arms.iter().map(|arm| arm.limit));
        limits.into_iter().any(|limit| limit == Limit::Thread)
    }
}

/// Plans both sides.
///
/// `specs` are the specs of the left and the right wheel.
///
/// # Errors
///
/// [`NoPosition`] where a wheel cannot be where it would have to be.
pub fn plan(car: &Car, stance: &Stance, specs: &[Spec; 2], fitting: &Fitting) -> Result<Plan, NoPosition> {
    let [left, right] = [0, 1].map(|i| plan_side(car, i, stance, &specs[i], fitting));
    let sides = [left?, right?];
    let readings = sides.each_ref().map(|side| side.result.reading);
    let cross_camber = readings[0].camber_deg - readings[1].camber_deg;
    let thrust = thrust_angle(readings);
    let axle = AxleResult {
        total_toe_deg: total_toe(readings),
        thrust_angle_deg: thrust,
        cross_camber_deg: cross_camber,
        within_limits: car.axle.hold(cross_camber.to_radians(), thrust.to_radians()),
    };
    Ok(Plan { sides, axle, stock_cams: cams(car, stance, specs).ok() })
}

fn plan_side(
    car: &Car,
    side: usize,
    stance: &Stance,
    spec: &Spec,
    fitting: &Fitting,
) -> Result<PlanSide, NoPosition> {
    let side = &car.sides[side];
    let (drop, ground) = (stance.drop(side.hand), stance.ground(side.hand));
    let lowered = forward(side, &Setup::as_found(side), drop)?;
    let fitted = |link: &Link| match &fitting.arms {
        Some(names) => link.arm.is_some() && link.sets.is_some() && names.contains(&link.name),
        None => link.arm.is_some() && matches!(link.sets, Some(Figure::Camber | Figure::Toe)),
    };
    let mut setup = Setup::as_found(side);
    for (pivot, link) in setup.pivots.iter_mut().zip(&side.links) {
        if fitted(link) && !fitting.keep_cams {
            *pivot = link.pivot(0.0);
        }
    }
    let adjusters = adjusters(side, fitted);
    let question = Question { side, ground: &ground, drop, setup: &setup, spec, adjusters: &adjusters };
    let exact = question.adjust()?;
    let confirmed = confirm(&question, &exact)?;
    let rounded = round(&question, &exact)?;
    let reading = |pose| Reading::of(side, pose, &ground);
    let result = reading(&rounded.position.pose);
    let is_arm = |adjuster: &&Adjuster| matches!(adjuster.means, Means::Arm(_));
    let matched: Vec<usize> = adjusters.iter().filter(is_arm).map(|adjuster| adjuster.link).collect();
    let bands = Bands::new(side, &ground, &rounded.setup, &rounded.position, &matched, &car.sigmas);
    let mut answer = PlanSide {
        side: side.hand,
        drop_mm: drop,
        spec: Target::from(spec),
        bump_left_mm: side.ride.bump.map(|bump| bump - drop),
        lowered: reading(&lowered.pose),
        pitch: adjusters.iter().any(|adjuster| adjuster.figure == Figure::Pitch).then(|| {
            let pitch = |pose| Figure::Pitch.value(pose, &side.wheel, &ground).to_degrees();
            PitchResult {
                lowered_deg: pitch(&lowered.pose),
                wanted_deg: spec.pitch.to_degrees(),
                result_deg: pitch(&rounded.position.pose),
            }
        }),
        arms: Vec::new(),
        // Who names the arms that are fitted has no others.
        kept_arms: match fitting.arms {
            Some(_) => Vec::new(),
            None => side.links.iter().filter_map(|link| kept(link, fitted(link))).collect(),
        },
        cams: Vec::new(),
        unset: [Figure::Camber, Figure::Toe]
            .into_iter()
            .filter(|figure| adjusters.iter().all(|adjuster| adjuster.figure != *figure))
            .collect(),
        exact: confirmed.judged(spec),
        result: result.judged(spec),
        band: bands.band(),
        probability_within_spec: bands.within_spec(result, spec),
        certainty: Certainty::from(&rounded.position),
    };
    for i in in_file_order(&adjusters) {
        match adjusters[i].means {
            Means::Arm(_) => answer.arms.extend(arm_setting(&question, i, &exact, &rounded)),
            Means::Cam(_) => answer.cams.extend(cam_setting(&question, i, &exact)),
        }
    }
    let figures: Vec<(Figure, Effect, f64)> =
        answer.arms.iter().map(|arm| (arm.sets, arm.per_turn, arm.lead_mm)).collect();
    for (arm, band) in answer.arms.iter_mut().zip(bands.arms(&figures)) {
        arm.band = band;
    }
    Ok(answer)
}

/// For each figure the fitted arm of its link or, failing that, the link's cam.
fn adjusters(side: &Side, fitted: impl Fn(&Link) -> bool) -> Vec<Adjuster> {
    let of = |figure: Figure| {
        let link = side.setter(figure)?;
        let means = match &side.links[link] {
            Link { arm: Some(arm), .. } if fitted(&side.links[link]) => Means::Arm(arm.range().ends),
            // Nobody sets pitch with a cam on purpose.
            Link { cam: Some(cam), .. } if figure != Figure::Pitch => {
                Means::Cam([-cam.eccentricity, cam.eccentricity])
            }
            _ => return None,
        };
        Some(Adjuster { figure, link, means })
    };
    [Figure::Camber, Figure::Toe, Figure::Pitch].into_iter().filter_map(of).collect()
}

/// The adjusters in the order of their links in the profile, by their places in the list.
pub(super) fn in_file_order(adjusters: &[Adjuster]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..adjusters.len()).collect();
    order.sort_by_key(|&i| adjusters[i].link);
    order
}

/// Puts the exact answer back into the car and solves it as a plain linkage: it must give the same figures.
fn confirm(question: &Question<'_>, exact: &Adjusted) -> Result<Reading, NoPosition> {
    let Question { side, ground, drop, .. } = question;
    let again = forward(side, &exact.setup, *drop)?;
    let figure = |figure: Figure, pose| figure.value(pose, &side.wheel, ground);
    let off = [Figure::Camber, Figure::Toe, Figure::Pitch]
        .map(|f| (figure(f, &again.pose) - figure(f, &exact.position.pose)).abs())
        .into_iter()
        .fold(0.0, f64::max);
    if off <= CONFIRMED * again.condition.max(1.0) {
        return Ok(Reading::of(side, &again.pose, ground));
    }
    Err(NoPosition {
        hand: side.hand,
        drop: *drop,
        links: Vec::new(),
        reason: Reason::Unconfirmed(off.to_degrees()),
    })
}

fn kept(link: &Link, fitted: bool) -> Option<KeptArm> {
    let arm = link.arm.as_ref().filter(|_| !fitted && link.sets == Some(Figure::Pitch))?;
    let stock_mm = link.stock_length();
    let limit = if arm.holds_at(stock_mm) { Limit::Ok } else { Limit::Thread };
    let thread_left_mm = arm.thread_left(stock_mm);
    Some(KeptArm { link: link.name.clone(), stock_mm, limit, thread_left_mm })
}

fn arm_setting(
    question: &Question<'_>,
    index: usize,
    exact: &Adjusted,
    rounded: &Rounded,
) -> Option<ArmSetting> {
    let (side, adjuster) = (question.side, &question.adjusters[index]);
    let link = &side.links[adjuster.link];
    let arm = link.arm.as_ref()?;
    let (stock, lead) = (link.stock_length(), arm.lead());
    let set_mm = stepped(arm, stock, rounded.steps[index]);
    let limit = match exact.stops[index] {
        _ if !arm.holds_at(set_mm) => Limit::Thread,
        Some(end) => arm.range().limits[end as usize],
        None => Limit::Ok,
    };
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
    })
}

pub(super) fn cam_setting(question: &Question<'_>, index: usize, exact: &Adjusted) -> Option<CamSetting> {
    let (side, adjuster) = (question.side, &question.adjusters[index]);
    let link = &side.links[adjuster.link];
    let cam = link.cam.as_ref()?;
    let shift = exact.values[index];
    let setting = cam.setting_for(shift);
    let next_mark_mm = cam.next_mark(setting, if shift < 0.0 { -1.0 } else { 1.0 });
    let position = Position::known(&exact.setup.rows(side, question.drop), exact.position.pose);
    let rate = position.map(|position| {
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
