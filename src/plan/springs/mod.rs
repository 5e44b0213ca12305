//! Collar turns for the drop, wheel rates, ride frequency, and the travel that is left.

mod answer;
mod damper;

pub use answer::{Collar, SpringAnswer, SpringSide, SpringState, Springs};
pub use damper::DamperTravel;

use crate::car::{Car, Factors, LoadCase, Setup, Side, Spring, Stance, body_and_wheel, frequency};
use crate::geometry::{Ground, Pose, Rise};
use crate::plan::Asked;
use crate::plan::adjusting::Fitting;
use crate::plan::over_travel::{Gaps, Missing, Sweep, once};
use crate::plan::planning::Plan;
use crate::plan::wheel::{NoPosition, forward};
use damper::damper;

/// The figures for which the wheel is followed over its travel.
const OVER_TRAVEL: [&str; 7] = [
    "travel",
    "loose_below_mm",
    "at_bump_mm",
    "at_droop_mm",
    "to_stop_mm",
    "remaining_closing_mm",
    "remaining_opening_mm",
];

/// Asks for collar turns, rates and the travel that is left.
///
/// `plan` is the plan for this stance, if there is one, and `fitting` the fitting that it was made with; no more is worked out than is
/// `asked` for.
///
/// # Errors
///
/// [`NoPosition`] where a side has no position at the drop.
pub fn springs(
    car: &Car,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<Springs, NoPosition> {
    let sides = car.sides.each(|side| spring_side(side, stance, plan, fitting, asked)).ok()?;
    let missing = once(car.sides.each(not_given));
    Ok(Springs { sides, missing })
}

fn spring_side(
    side: &Side,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<SpringSide, NoPosition> {
    let drop = stance.drop(side.hand);
    let setup = match plan {
        Some(plan) => plan.sides[side.hand].setup(side, fitting),
        None => Setup::as_found(side),
    };
    let over_travel = OVER_TRAVEL.iter().any(|key| asked.wants(key));
    let sweep = if over_travel { Sweep::new } else { Sweep::standing }(side, setup, drop)?;
    let spring = match &side.spring {
        Some(spring) => Some(answer(spring, &sweep, drop, &stance.ground(side.hand))?),
        None => None,
    };
    let damper = side.damper.as_ref().and_then(|own| damper(own, &sweep, drop));
    Ok(SpringSide {
        side: side.hand,
        drop_mm: drop,
        bump_remaining_mm: side.ride.bump_left(drop),
        travel: sweep.travel,
        spring,
        damper,
        on_stop: damper.is_some_and(|damper| damper.to_stop_mm.is_some_and(|left| left < 0.0)),
    })
}

fn answer(
    spring: &Spring,
    sweep: &Sweep<'_>,
    drop: f64,
    ground: &Ground,
) -> Result<SpringAnswer, NoPosition> {
    let side = sweep.side;
    let reference = state(spring, side, &Setup::as_found(side), 0.0, &Ground::level())?;
    let at_drop = state(spring, side, &sweep.setup, drop, ground)?;
    let motion_mm = reference.length_mm - at_drop.length_mm;
    let forces = reference.force_n.zip(at_drop.force_n).zip(spring.rate);
    let force_mm = forces.map(|((before, after), rate)| (before - after) / rate);
    let down_mm = motion_mm + force_mm.unwrap_or(0.0);
    let down_turns = spring.lead.map(|lead| down_mm / lead);
    let load = |pose: &Pose| {
        let stretched = spring.line.length(side, &sweep.setup, pose) - at_drop.length_mm;
        at_drop.force_n.zip(spring.rate).map_or(f64::INFINITY, |(force, rate)| force - rate * stretched)
    };
    let loose = sweep.not_above_zero(load, sweep.least(load));
    Ok(SpringAnswer {
        reference,
        at_drop,
        collar: Collar { motion_mm, force_mm, down_mm, down_turns },
        loose_below_mm: loose.first().map(|[_, last]| *last),
    })
}

/// A spring with the links set as given, at a height of the wheel.
fn state(
    spring: &Spring,
    side: &Side,
    setup: &Setup,
    height: f64,
    ground: &Ground,
) -> Result<SpringState, NoPosition> {
    let position = forward(side, setup, height)?;
    let rise = Rise::of(&position);
    let [length, slope, bend] =
        spring.line.moving(side, setup, &position, &rise).distance(&spring.line.upper);
    let (ratio, change) = (-slope, -bend);
    let sprung = spring.sprung_mass();
    // Past the height where the spring's line turns there is no force that would carry the car.
    let load = side.load(ground, &position, LoadCase::Standing, Factors::STANDING);
    let force = (spring.corner_mass.and_then(|_| Spring::holding(&load, &position, ratio)))
        .filter(|force| force.is_finite() && *force > 0.0);
    let second = match sprung {
        Some(_) => force.map(|force| force * change),
        None => Some(0.0),
    };
    let wheel_rate = spring.rate.zip(second).map(|(rate, second)| rate * ratio * ratio + second);
    let firm = wheel_rate.filter(|rate| *rate > 0.0);
    let with_tyre = firm.zip(spring.tyre_rate).zip(sprung.zip(spring.unsprung_mass));
    Ok(SpringState {
        length_mm: length,
        motion_ratio: ratio,
        motion_ratio_per_mm: change,
        force_n: force,
        wheel_rate_n_per_mm: wheel_rate,
        first_part_only: wheel_rate.is_some() && sprung.is_none(),
        frequency_hz: firm.zip(sprung).map(|(rate, mass)| frequency(rate, mass)),
        with_tyre_hz: with_tyre
            .map(|((rate, tyre), (body, wheel))| body_and_wheel(rate, tyre, body, wheel)[0]),
    })
}

fn not_given(side: &Side) -> Vec<Missing> {
    let mut gaps = Gaps::over_travel(side);
    gaps.spring(["", "", "; until it is there, all of the mass is taken to sit on the spring"]);
    if let Some(spring) = &side.spring {
        gaps.unless(
            spring.rate.is_some(),
            "rate = ... in [spring]",
            "what the spring's maker says, N/mm or \"250 lb/in\"",
        );
        gaps.unless(
            spring.lead.is_some(),
            "lead = ... in [spring]",
            "how far its collar goes in one turn: measure ten turns",
        );
        gaps.unless(
            spring.tyre_rate.is_some(),
            "tyre_rate = ... in [spring]",
            "N/mm; some 150 to 250 is common practice for road tyres, no source",
        );
    }
    let damper = side.damper.as_ref();
    gaps.unless(
        damper.is_some(),
        "[damper] with upper and lower",
        "the middles of its two mounts, or on and from_inner like the spring; with stop_gap, closed and open its travel is told",
    );
    gaps.unless(
        damper.is_none_or(|damper| damper.stop_gap.is_some()),
        "stop_gap = ... in [damper]",
        "bare rod between the damper's body and the bump stop, car standing as measured",
    );
    gaps.unless(
        damper.is_none_or(|damper| damper.closed.is_some() && damper.open.is_some()),
        "closed = ... and open = ... in [damper]",
        "its length from mount to mount, pushed together and pulled out",
    );
    gaps.list()
}
