//! What comes how near to what over the whole travel, with the planned arms and with the stock ones.
//!
//! Clearances: the travel is bump and droop from the reference, planned or not, with the drop asked for in it. `height_mm`
//! counts from the reference. A gap below zero is how far the rounding (an arm's radius, a tyre's shoulder) reaches in, and
//! ends at `inside_at_mm`, where the core itself is inside. Tyre and rim are filled drums about the spindle. Corners of a bend
//! go in proportion to the arm's length; its clocking is in `car/bar.rs`. A shape has its mirror image on the other side unless
//! it stands across the centreline or says `mirrored = false`.

use std::cmp::Ordering;

use serde::Serialize;

use super::Asked;
use super::adjusting::Fitting;
use super::over_travel::{Gaps, Missing, Sweep, Travel, once};
use super::planning::Plan;
use super::wheel::NoPosition;
use crate::car::{
    Car, Driveshaft, Hand, Keepout, Part, PerLink, PerSide, Seat, Setup, Side, Sigmas, Spring, Stance,
};
use crate::geometry::Pose;
use crate::geometry::solids::{Obstacle, gap};
use crate::measure::SIGMAS_OF_95;

/// The gaps of both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Clearance {
    /// Left, then right.
    pub sides: PerSide<ClearanceSide>,
    /// How far a gap may be off: the half-width that holds 95 errors of 100, mm.
    pub good_to_mm: f64,
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// The gaps of one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ClearanceSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// The travel that was looked at with the planned arms, or with the stock ones where nothing is planned.
    pub travel: Travel,
    /// Each part against each shape, in the order of the profile.
    pub gaps: Vec<Gap>,
}

/// One part against one shape.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Gap {
    /// The link whose arm it is, "tyre" or "rim".
    pub part: String,
    /// The shape; or "spring" or "driveshaft".
    pub keepout: String,
    /// With the planned arms, where there is a plan.
    pub planned: Option<Nearest>,
    /// With the stock arms and cams as found.
    pub stock: Nearest,
    /// The gap where the car was measured, with the stock arms and cams as found, mm. The two were both there, so zero or
    /// less is a slip of the tape or what holds the part itself.
    pub as_measured_mm: f64,
}

/// How near a part comes to a shape.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Nearest {
    /// The least gap over the travel, mm. Negative: they overlap by as much.
    pub least_mm: f64,
    /// No gap is told below this, mm: minus the arm's radius or the tyre's shoulder. One that comes so low says that the core
    /// itself is inside, by how much is not known.
    pub inside_at_mm: f64,
    /// The height of the wheel centre above the reference where it is least, mm: drop and bump are positive. Where the core is
    /// inside over a stretch, the lowest of that.
    pub height_mm: f64,
    /// Hub centre to arch lip there, mm, where the profile gives it for the reference.
    pub arch_gap_mm: Option<f64>,
    /// The gap at the drop that was asked for, mm.
    pub at_drop_mm: f64,
    /// The stretches of heights over which they touch, the lowest first, each from its first height to its last, mm.
    pub touches_mm: Vec<[f64; 2]>,
}

impl Clearance {
    /// Whether nothing touches anything: with the planned arms, or with the stock ones where nothing is planned.
    pub fn succeeds(&self) -> bool {
        self.sides.iter().flat_map(|side| &side.gaps).all(|gap| gap.counts().touches_mm.is_empty())
    }
}

impl Nearest {
    /// Whether the part's core lies inside the shape at the worst, so that nobody can say how deep it is.
    pub fn inside(&self) -> bool {
        self.is_inside(self.least_mm)
    }

    /// Whether it does at the drop that was asked for.
    pub fn inside_at_drop(&self) -> bool {
        self.is_inside(self.at_drop_mm)
    }

    fn is_inside(&self, gap: f64) -> bool {
        gap <= self.inside_at_mm
    }

    /// The order from the worst: what is inside first, then by the gap.
    pub fn from_the_worst(&self, other: &Self) -> Ordering {
        other.inside().cmp(&self.inside()).then(self.least_mm.total_cmp(&other.least_mm))
    }
}

impl Gap {
    /// Whether the two overlap where the car was measured, which they cannot have done.
    pub fn overlaps_as_measured(&self) -> bool {
        self.as_measured_mm <= 0.0
    }

    /// The gap that counts: the planned one, where there is a plan.
    pub(crate) fn counts(&self) -> &Nearest {
        self.planned.as_ref().unwrap_or(&self.stock)
    }
}

/// Asks for the least gaps over the whole travel.
///
/// `plan` is the plan for this stance, if there is one, and `fitting` the fitting that it was made with; no more is worked out than is
/// `asked` for.
///
/// # Errors
///
/// [`NoPosition`] where the stock links have no position at the drop.
pub fn clearance(
    car: &Car,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<Clearance, NoPosition> {
    let sides = car.sides.each(|side| clearance_side(side, stance, plan, fitting, asked)).ok()?;
    let missing = once(car.sides.each(not_given));
    Ok(Clearance { sides, good_to_mm: good_to(&car.sigmas), missing })
}

/// The spread of a gap from the points that it lies between, each good to the sigma of a coordinate: one on the arm, which
/// is no worse than the two pivots it lies between, and one on the shape. What the wheel's height and the links' lengths add
/// is less, because both ends are measured in the same axes.
fn good_to(sigmas: &Sigmas) -> f64 {
    SIGMAS_OF_95 * sigmas.point * std::f64::consts::SQRT_2
}

fn clearance_side(
    side: &Side,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<ClearanceSide, NoPosition> {
    let drop = stance.drop(side.hand);
    let stock = Sweep::new(side, Setup::as_found(side), drop)?;
    let planned = match plan {
        Some(plan) => Some(Sweep::new(side, plan.sides[side.hand].setup(side, fitting), drop)?),
        None => None,
    };
    let fitted = fitting.fitted(side);
    let mut gaps = Vec::new();
    let mut place = 0;
    let keepouts = side.keepouts.iter().map(Against::Keepout);
    let spring = side.spring.as_ref().filter(|spring| spring.diameter.is_some()).map(Against::Spring);
    let shaft = side.driveshaft.as_ref().filter(|shaft| shaft.diameter.is_some()).map(Against::Driveshaft);
    for against in keepouts.chain(spring).chain(shaft) {
        for part in side.parts().into_iter().filter(|&part| against.concerns(side, part)) {
            let as_measured = against.gap(side, part, &stock.setup, PerLink::default(), &side.reference());
            let Some(as_measured_mm) = as_measured else { continue };
            place += 1;
            if !(asked.wants("gaps") && asked.takes("gaps", place - 1)) {
                continue;
            }
            let Some(stock) = nearest(&stock, part, PerLink::default(), &against, drop) else { continue };
            let planned = planned.as_ref().and_then(|sweep| nearest(sweep, part, fitted, &against, drop));
            gaps.push(Gap {
                part: side.part_name(part).to_owned(),
                keepout: against.name().to_owned(),
                planned,
                stock,
                as_measured_mm,
            });
        }
    }
    let travel = planned.as_ref().unwrap_or(&stock).travel;
    Ok(ClearanceSide { side: side.hand, drop_mm: drop, travel, gaps })
}

/// What parts are held against: a shape that is fixed to the car, or a part that moves with the wheel as well.
enum Against<'a> {
    Keepout(&'a Keepout),
    Spring(&'a Spring),
    Driveshaft(&'a Driveshaft),
}

impl Against<'_> {
    fn name(&self) -> &str {
        match self {
            Self::Keepout(keepout) => &keepout.name,
            Self::Spring(_) => "spring",
            Self::Driveshaft(_) => "driveshaft",
        }
    }

    /// Whether a part is to keep clear of it. The shaft ends in the wheel, whose hollow is taken as filled, and a spring sits on its link.
    fn concerns(&self, side: &Side, part: Part) -> bool {
        match self {
            Self::Keepout(keepout) => keepout.concerns(side.part_name(part)),
            Self::Spring(spring) => {
                !matches!((spring.line.lower, part), (Seat::Arm { link, .. }, Part::Arm(arm)) if link == arm)
            }
            Self::Driveshaft(_) => matches!(part, Part::Arm(_)),
        }
    }

    /// How far a part is from it in a pose, mm; `None` where a shape is not known.
    fn gap(&self, side: &Side, part: Part, setup: &Setup, fitted: PerLink<bool>, pose: &Pose) -> Option<f64> {
        let solid = side.solid(part, setup, fitted, pose)?;
        let moved: Obstacle;
        let obstacle = match self {
            Self::Keepout(keepout) => &keepout.obstacle,
            Self::Spring(spring) => {
                moved = spring.coils(side, setup, pose)?;
                &moved
            }
            Self::Driveshaft(shaft) => {
                moved = shaft.shaft(&side.wheel, pose)?;
                &moved
            }
        };
        Some(gap(&solid, obstacle))
    }
}

/// How near a part comes to a shape over a travel; `None` where the part's shape is not known.
fn nearest(
    sweep: &Sweep<'_>,
    part: Part,
    fitted: PerLink<bool>,
    against: &Against<'_>,
    drop: f64,
) -> Option<Nearest> {
    let side = sweep.side;
    let round = side.solid(part, &sweep.setup, fitted, &side.reference())?.round;
    let gap = |pose: &Pose| against.gap(side, part, &sweep.setup, fitted, pose).unwrap_or(f64::INFINITY);
    let least = sweep.least(gap);
    Some(Nearest {
        least_mm: least.value,
        inside_at_mm: 0.0 - round,
        height_mm: least.height,
        arch_gap_mm: side.ride.arch_gap_at(least.height),
        at_drop_mm: gap(&sweep.at(drop)?.pose),
        touches_mm: sweep.not_above_zero(gap, least),
    })
}

fn not_given(side: &Side) -> Vec<Missing> {
    let mut gaps = Gaps::over_travel(side);
    gaps.unless(
        !side.keepouts.is_empty(),
        "[[keepout]]",
        "the shapes that must stay clear: box, cylinder, sphere or plane, by points in the same axes as the links, such as \
         name = \"frame ear\", shape = \"box\", corners = [[-30.0, 380.0, 470.0], [40.0, 430.0, 520.0]] (two opposite \
         corners)",
    );
    gaps.of_links(
        |_, link| link.bar(true).is_none(),
        |names| {
            let key = format!("radius = ... in [[link]] of {names}");
            (key, "half the thickness of the arm's bar at its thickest, by tape or caliper")
        },
    );
    gaps.unless(
        side.spring.is_none_or(|spring| spring.diameter.is_some()),
        "diameter = ... and length = ... in [spring]",
        "over its coils, and from its upper end to their lower end: arms and tyre are then held against it",
    );
    gaps.unless(
        side.driveshaft.is_none_or(|shaft| shaft.diameter.is_some()),
        "diameter = ... in [driveshaft]",
        "over the shaft at its thickest between the joints: the arms are then held against it",
    );
    gaps.unless(
        side.tyre.is_some(),
        "[tyre] with width and diameter",
        "over the sidewalls and over the tread, wheel off the ground; with rim_width and rim_diameter the rim as well",
    );
    gaps.unless(
        side.tyre.is_none_or(|tyre| tyre.rim.is_some()),
        "rim_width = ... and rim_diameter = ... in [tyre]",
        "the rim over its flanges, across and from top to bottom",
    );
    gaps.list()
}
