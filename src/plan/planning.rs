//! How `plan` comes about: each side worked out exactly, confirmed, rounded to whole steps, and the two sides held together.

use super::adjust::{Adjusted, Adjuster, Means, Question};
use super::arms::{ArmSetting, AxleResult, CamSetting, Fitting, KeptArm, PitchResult, Plan, PlanSide};
use super::band::{ArmBand, Bands};
use super::cams::cams;
use super::describe::Effect;
use super::position::{Certainty, NoPosition, Reason, forward};
use super::reading::{Reading, Target, thrust, thrust_angle, total_toe};
use super::round::{Rounded, round, stepped};
use crate::car::{Car, Hand, Limit, Link, Setup, Side, Sigmas, Spec, Stance};
use crate::geometry::{Figure, Ground, Position};

/// The exact answer, put back into the car, must give its figures again to this, rad.
const CONFIRMED: f64 = 1e-10;

/// Plans both sides.
///
/// `specs` are the specs of the left and the right wheel.
///
/// # Errors
///
/// [`NoPosition`] where a wheel cannot be where it would have to be.
pub fn plan(car: &Car, stance: &Stance, specs: &[Spec; 2], fitting: &Fitting) -> Result<Plan, NoPosition> {
    let grounds = Hand::BOTH.map(|hand| stance.ground(hand));
    let worked = work(car, stance, &grounds, specs, fitting)?;
    let chosen = choose(car, &worked);
    let sides = [0, 1].map(|i| worked[i].answer(&car.sigmas, fitting, &worked[i].choices[chosen[i]]));
    let readings = sides.each_ref().map(|side| side.result.reading);
    let cross_camber = readings[0].camber_deg - readings[1].camber_deg;
    let thrust_angle = thrust_angle(readings);
    let axle = AxleResult {
        total_toe_deg: total_toe(readings),
        thrust_angle_deg: thrust_angle,
        cross_camber_deg: cross_camber,
        within_limits: car.axle.hold(cross_camber.to_radians(), thrust_angle.to_radians()),
    };
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
    let worked = work(car, stance, &grounds, specs, fitting)?;
    let chosen = choose(car, &worked);
    Ok([0, 1].map(|i| worked[i].choices[chosen[i]].setup))
}

fn work<'a>(
    car: &'a Car,
    stance: &Stance,
    grounds: &'a [Ground; 2],
    specs: &'a [Spec; 2],
    fitting: &Fitting,
) -> Result<[Worked<'a>; 2], NoPosition> {
    let [left, right] = [0, 1]
        .map(|i| Worked::new(&car.sides[i], &grounds[i], stance.drop(Hand::BOTH[i]), &specs[i], fitting));
    Ok([left?, right?])
}

/// Which whole steps each side takes: its best, or, where those break the limits that compare the two sides, the best pair
/// that keeps them.
fn choose(car: &Car, worked: &[Worked<'_>; 2]) -> [usize; 2] {
    let keeps = |[left, right]: [usize; 2]| {
        let figures = [worked[0].choices[left].figures, worked[1].choices[right].figures];
        car.axle.hold(figures[0][0] - figures[1][0], thrust([figures[0][1], figures[1][1]]))
    };
    let in_spec = |side: usize| {
        let Worked { choices, spec, .. } = &worked[side];
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

/// A side that has been worked out, up to the choice of its whole steps.
struct Worked<'a> {
    side: &'a Side,
    ground: &'a Ground,
    drop: f64,
    spec: &'a Spec,
    lowered: Position,
    setup: Setup,
    adjusters: Vec<Adjuster>,
    exact: Adjusted,
    confirmed: Reading,
    /// The best first.
    choices: Vec<Rounded>,
}

impl<'a> Worked<'a> {
    fn new(
        side: &'a Side,
        ground: &'a Ground,
        drop: f64,
        spec: &'a Spec,
        fitting: &Fitting,
    ) -> Result<Self, NoPosition> {
        let lowered = forward(side, &Setup::as_found(side), drop)?;
        let mut setup = Setup::as_found(side);
        for (pivot, link) in setup.pivots.iter_mut().zip(&side.links) {
            if fitting.fits(link) && !fitting.keep_cams {
                *pivot = link.pivot(0.0);
            }
        }
        let adjusters = adjusters(side, |link| fitting.fits(link));
        let question = Question { side, ground, drop, setup: &setup, spec, adjusters: &adjusters };
        let exact = question.adjust()?;
        let confirmed = confirm(&question, &exact)?;
        let choices = round(&question, &exact)?;
        Ok(Self { side, ground, drop, spec, lowered, setup, adjusters, exact, confirmed, choices })
    }

    fn question(&self) -> Question<'_> {
        let Self { side, ground, drop, spec, setup, adjusters, .. } = self;
        Question { side, ground, drop: *drop, setup, spec, adjusters }
    }

    fn answer(&self, sigmas: &Sigmas, fitting: &Fitting, rounded: &Rounded) -> PlanSide {
        let Self { side, ground, drop, spec, adjusters, exact, .. } = self;
        let reading = |position: &Position| Reading::of(side, &position.pose, ground);
        let result = reading(&rounded.position);
        let is_arm = |adjuster: &&Adjuster| matches!(adjuster.means, Means::Arm(_));
        let matched: Vec<usize> = adjusters.iter().filter(is_arm).map(|adjuster| adjuster.link).collect();
        let bands = Bands::new(side, ground, &rounded.setup, &rounded.position, &matched, sigmas);
        let sets = |figure: Figure| adjusters.iter().any(|adjuster| adjuster.figure == figure);
        let order = in_file_order(adjusters);
        let mut arms: Vec<ArmSetting> =
            order.iter().filter_map(|&i| arm_setting(&self.question(), i, exact, rounded)).collect();
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
            lowered: reading(&self.lowered),
            pitch: sets(Figure::Pitch).then(|| self.pitch(rounded)),
            arms,
            // Who names the arms that are fitted has no others.
            kept_arms: match fitting.arms {
                Some(_) => Vec::new(),
                None => side.links.iter().filter(|link| !fitting.fits(link)).filter_map(kept).collect(),
            },
            cams: order.iter().filter_map(|&i| cam_setting(&self.question(), i, exact)).collect(),
            unset: [Figure::Camber, Figure::Toe].into_iter().filter(|figure| !sets(*figure)).collect(),
            exact: self.confirmed.judged(spec),
            result: result.judged(spec),
            band: bands.band(),
            probability_within_spec: bands.within_spec(result, spec),
            certainty: Certainty::from(&rounded.position),
        }
    }

    fn pitch(&self, rounded: &Rounded) -> PitchResult {
        let pitch = |position: &Position| {
            Figure::Pitch.value(&position.pose, &self.side.wheel, self.ground).to_degrees()
        };
        PitchResult {
            lowered_deg: pitch(&self.lowered),
            wanted_deg: self.spec.pitch.to_degrees(),
            result_deg: pitch(&rounded.position),
        }
    }
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
    let Question { side, ground, drop, .. } = question;
    let again = forward(side, &exact.setup, *drop)?;
    let figure = |figure: Figure, pose| figure.value(pose, &side.wheel, ground);
    let off = Figure::ALL
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

fn kept(link: &Link) -> Option<KeptArm> {
    let arm = link.arm.as_ref().filter(|_| link.sets == Some(Figure::Pitch))?;
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
    let Means::Arm(_) = adjuster.means else { return None };
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
