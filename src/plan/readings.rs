//! What the readings of a record come to: the wheels, the axle, how the car stood, and all of it held against the spec.
//!
//! `against_spec`: `within` or `out` where the whole 95 percent band is, `cannot_tell` where it lies across the limit.
//! `readings` asks for no spec: it exits with 0 whatever they read.

use serde::Serialize;

use super::wheel::{Target, thrust};
use crate::car::{Car, Hand, PerSide, Side};
use crate::geometry::{Angles, Figure};
use crate::measure::{Measured, Round, SIGMAS_OF_95, WheelReading, Workings};

/// The readings of a record, in its order.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Readings {
    /// One state of the car each.
    pub rounds: Vec<StateRead>,
}

/// One state of the car, and what was read in it.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct StateRead {
    /// What it was, in the user's words.
    pub title: Option<String>,
    /// When it was.
    pub date: Option<String>,
    /// Left, then right.
    pub sides: PerSide<SideRead>,
    /// Left plus right toe, or the total as it was read.
    pub total_toe: Option<Read>,
    /// What the total is held against; only where a wheel by itself was not read.
    pub total_toe_spec: Option<TotalTarget>,
    /// Half of right minus left toe; positive: the rear axle steers to the left.
    pub thrust_angle: Option<Read>,
    /// Left minus right camber.
    pub cross_camber: Option<Read>,
    /// Drop of the front from the reference, mm, where it was given.
    pub front_drop_mm: Option<f64>,
    /// How far the nose points down since the reference, degrees, where the front's drop is known.
    pub rake_deg: Option<f64>,
    /// How far the body leans to the left since the reference, degrees.
    pub lean_deg: f64,
    /// Slope of the floor that was taken out of the cambers; positive: it rises to the left.
    pub floor_slope: Option<Read>,
}

/// One side in that state.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SideRead {
    /// Which side.
    pub side: Hand,
    /// Its drop from the reference, mm.
    pub drop_mm: f64,
    /// The drop is good to this in 95 of 100, mm.
    pub drop_band_mm: f64,
    /// Camber, where it was read.
    pub camber: Option<Read>,
    /// Toe of this wheel, where it was read.
    pub toe: Option<Read>,
    /// What both should be, where the profile says so.
    pub spec: Option<Target>,
    /// Run-out of the rim as camber, averaged out by half a turn of the wheel, degrees to either side.
    pub camber_run_out_deg: Option<f64>,
    /// The same as toe.
    pub toe_run_out_deg: Option<f64>,
    /// Whether no half turn took the run-out of the rim out of all that was read; how good that is then counts a usual one.
    pub run_out_remains: bool,
    /// Arms that were said to be set.
    pub arms: Vec<ArmRead>,
    /// Cams that were said to be set, and those taken to be locked under such arms.
    pub cams: Vec<CamRead>,
}

/// An angle that was read, and how good it is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Read {
    /// Its value, degrees.
    pub value_deg: f64,
    /// It is good to this in 95 of 100, degrees.
    pub band_deg: f64,
    /// Whether it keeps the spec, where there is one.
    pub against_spec: Option<Verdict>,
}

/// The spec of both wheels together, as far as it can be told from a total: each may use up its whole tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TotalTarget {
    /// Sum of the two targets, degrees.
    pub toe_deg: f64,
    /// Sum of the two tolerances, degrees.
    pub tolerance_deg: f64,
}

/// Whether a reading keeps a tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Its whole band does.
    Within,
    /// None of its band does.
    Out,
    /// The band lies across the limit.
    CannotTell,
}

/// How an arm was set.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmRead {
    /// The link.
    pub link: String,
    /// Pivot to pivot, mm.
    pub length_mm: f64,
    /// Turns from the stock length, positive: longer; `None` without an adjustable arm in the profile.
    pub turns: Option<f64>,
}

/// How a cam was set.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamRead {
    /// The link.
    pub link: String,
    /// Turn from the middle, degrees.
    pub setting_deg: f64,
    /// Shift of the pivot from the middle of its slot, mm.
    pub shift_mm: f64,
}

/// What the rounds of a record come to; `workings` are what was worked out beside each.
pub fn readings(car: &Car, rounds: &[Round], workings: &[Workings]) -> Readings {
    let state = |(round, workings)| state_read(car, round, workings);
    Readings { rounds: rounds.iter().zip(workings).map(state).collect() }
}

fn state_read(car: &Car, round: &Round, workings: &Workings) -> StateRead {
    let run_out = &round.run_out;
    let wheels = PerSide::of(|hand| WheelReading {
        camber: with_run_out(round.wheels[hand].camber, run_out[hand].camber),
        toe: with_run_out(round.wheels[hand].toe, run_out[hand].toe),
    });
    let total_toe = with_run_out(round.total_toe, run_out.left.toe.hypot(run_out.right.toe));
    let both = |pick: fn(&WheelReading) -> Option<Measured>| wheels.each(pick).all();
    let (toes, cambers) = (both(|wheel| wheel.toe), both(|wheel| wheel.camber));
    // var(a l + b r) = a^2 var l + b^2 var r + 2 a b cov
    let together =
        |PerSide { left: l, right: r }: PerSide<Measured>, [a, b]: [f64; 2], covariance: f64| Measured {
            value: a * l.value + b * r.value,
            sigma: ((a * l.sigma).powi(2) + (b * r.sigma).powi(2) + 2.0 * a * b * covariance).max(0.0).sqrt(),
        };
    let sum = toes.map(|toes| together(toes, [1.0, 1.0], workings.toe_covariance));
    let thrust_angle = toes.map(|toes| Measured {
        value: thrust(toes.left.value, toes.right.value),
        ..together(toes, [-0.5, 0.5], workings.toe_covariance)
    });
    let cross = cambers.map(|cambers| together(cambers, [1.0, -1.0], workings.camber_covariance));
    let specs = car.sides.each(|side| side.spec).all();
    let of_both =
        specs.map(|PerSide { left, right }| (left.toe + right.toe, left.toe_tolerance + right.toe_tolerance));
    let limit = |most: Option<f64>| most.map(|most| (0.0, most));
    let PerSide { left: drop_left, right: drop_right } = round.drops;
    let rake =
        |front: f64| Some((front - f64::midpoint(drop_left, drop_right)).atan2(car.wheelbase?).to_degrees());
    StateRead {
        title: round.title.clone(),
        date: round.date.clone(),
        sides: car
            .sides
            .each(|side| side_read(side, car, (round, &wheels[side.hand]), workings.run_out[side.hand])),
        total_toe: sum.map(|sum| Read::new(sum, None)).or(total_toe.map(|total| Read::new(total, of_both))),
        total_toe_spec: round.total_toe.and(of_both).map(|(toe, tolerance)| TotalTarget {
            toe_deg: toe.to_degrees(),
            tolerance_deg: tolerance.to_degrees(),
        }),
        thrust_angle: thrust_angle.map(|angle| Read::new(angle, limit(car.axle.thrust_angle))),
        cross_camber: cross.map(|cross| Read::new(cross, limit(car.axle.cross_camber))),
        front_drop_mm: round.front,
        rake_deg: round.front.and_then(rake),
        lean_deg: (drop_left - drop_right).atan2(car.track()).to_degrees(),
        floor_slope: workings.floor.map(|slope| Read::new(slope, None)),
    }
}

/// What was read, as good as it is with the run-out of a rim still in it.
fn with_run_out(read: Option<Measured>, run_out: f64) -> Option<Measured> {
    read.map(|read| Measured { sigma: read.sigma.hypot(run_out), ..read })
}

fn side_read(
    side: &Side,
    car: &Car,
    (round, wheel): (&Round, &WheelReading),
    run_out: Angles<Option<f64>>,
) -> SideRead {
    let hand = side.hand;
    let figure = |read: Option<Measured>, figure: Figure| {
        read.map(|read| Read::new(read, side.spec.map(|spec| (spec.target(figure), spec.tolerance(figure)))))
    };
    let arms = side.links.iter().zip(&round.lengths[hand]).filter_map(|(link, length)| {
        let length_mm = (*length)?;
        let turns = link.arm.as_ref().map(|arm| (length_mm - link.stock_length()) / arm.lead());
        Some(ArmRead { link: link.name.clone(), length_mm, turns })
    });
    let cams = side.links.iter().zip(&round.shifts[hand]).filter_map(|(link, shift)| {
        let (cam, shift_mm) = (link.cam?, (*shift)?);
        let setting_deg = cam.setting_for(shift_mm).to_degrees();
        Some(CamRead { link: link.name.clone(), setting_deg, shift_mm })
    });
    SideRead {
        side: side.hand,
        drop_mm: round.drops[hand],
        drop_band_mm: SIGMAS_OF_95 * round.drop_sigma.unwrap_or(car.sigmas.drop),
        camber: figure(wheel.camber, Figure::Camber),
        toe: figure(wheel.toe, Figure::Toe),
        spec: side.spec.as_ref().map(Target::from),
        camber_run_out_deg: run_out.camber.map(f64::to_degrees),
        toe_run_out_deg: run_out.toe.map(f64::to_degrees),
        run_out_remains: round.keeps_run_out(hand).iter().any(|kept| *kept),
        arms: arms.collect(),
        cams: cams.collect(),
    }
}

impl Read {
    /// What was read, held against a target and its tolerance, rad.
    fn new(read: Measured, spec: Option<(f64, f64)>) -> Self {
        let band = SIGMAS_OF_95 * read.sigma;
        let against_spec = spec.map(|(target, tolerance)| {
            let miss = (read.value - target).abs();
            if miss + band <= tolerance {
                Verdict::Within
            } else if miss - band > tolerance {
                Verdict::Out
            } else {
                Verdict::CannotTell
            }
        });
        Self { value_deg: read.value.to_degrees(), band_deg: band.to_degrees(), against_spec }
    }
}

#[cfg(test)]
mod tests {
    use super::{Read, Verdict};
    use crate::measure::{Measured, SIGMAS_OF_95};

    #[test]
    fn a_band_across_the_limit_cannot_tell() {
        let verdict = |value: f64| {
            let read = Measured { value, sigma: 0.1 / SIGMAS_OF_95 };
            Read::new(read, Some((-1.0, 0.5))).against_spec
        };
        for (value, expected) in [
            (-1.0, Verdict::Within),
            (-1.39, Verdict::Within),
            (-0.61, Verdict::Within),
            (-1.41, Verdict::CannotTell),
            (-1.59, Verdict::CannotTell),
            (-1.61, Verdict::Out),
            (-0.39, Verdict::Out),
            (1.0, Verdict::Out),
        ] {
            assert_eq!(verdict(value), Some(expected), "{value}");
        }
        assert_eq!(Read::new(Measured { value: 0.0, sigma: 0.1 }, None).against_spec, None);
    }
}
