//! What lowering does by itself.

use super::Asked;
use serde::Serialize;

use super::over_travel::angle;
use super::wheel::{Band, Bands, Certainty, NoPosition, Reading, forward, thrust_angle, total_toe};
use crate::car::{Car, Hand, PerSide, Setup, Side, Sigmas, Stance};
use crate::geometry::{Figure, Pose};

/// A car lowered with nothing adjusted.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Lowering {
    /// Left, then right.
    pub sides: PerSide<LoweredSide>,
    /// Total toe of the axle, lowered, degrees.
    pub total_toe_deg: f64,
    /// Thrust angle, lowered, degrees; positive: the rear axle steers to the left.
    pub thrust_angle_deg: f64,
}

/// One side, lowered.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LoweredSide {
    /// Which side.
    pub side: Hand,
    /// By how much, mm.
    pub drop_mm: f64,
    /// Bump travel that is left at this drop, mm, where the profile gives it; negative: lowered past it.
    pub bump_remaining_mm: Option<f64>,
    /// What was read at the reference.
    pub reference: Reading,
    /// What is read after lowering.
    pub lowered: Lowered,
    /// How good that is.
    pub band: Band,
    /// The five links.
    pub links: Vec<Swing>,
    /// How sure the position is.
    pub certainty: Certainty,
}

/// A lowered wheel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Lowered {
    /// What is read on it.
    #[serde(flatten)]
    pub reading: Reading,
    /// Turn of the knuckle about the car's y axis since the reference, degrees; positive: top forward.
    pub pitch_deg: f64,
    /// Wheel centre in car axes, mm.
    pub centre_mm: [f64; 3],
}

/// What a link goes through.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Swing {
    /// Its name.
    pub name: String,
    /// Its stock length, mm.
    pub length_mm: f64,
    /// The angle between its directions before and after, in car axes, degrees.
    pub swing_deg: f64,
}

/// Lowers a car with nothing adjusted.
///
/// # Examples
///
/// ```
/// # use rodset::plan::lower;
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// let lowered = lower(&car, &stance)?;
/// let left = &lowered.sides.left;
/// assert!(left.lowered.reading.camber_deg < left.reference.camber_deg, "lowering leans the wheel in");
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where the links do not let the wheel come so far.
pub fn lower(car: &Car, stance: &Stance) -> Result<Lowering, NoPosition> {
    lower_asked(car, stance, Asked::ALL)
}

/// The same, with no more worked out than is asked for.
pub(crate) fn lower_asked(car: &Car, stance: &Stance, asked: Asked<'_>) -> Result<Lowering, NoPosition> {
    let sides = car.sides.each(|side| lower_side(side, stance, &car.sigmas, asked)).ok()?;
    let readings = sides.each(|side| side.lowered.reading);
    Ok(Lowering { total_toe_deg: total_toe(readings), thrust_angle_deg: thrust_angle(readings), sides })
}

fn lower_side(
    side: &Side,
    stance: &Stance,
    sigmas: &Sigmas,
    asked: Asked<'_>,
) -> Result<LoweredSide, NoPosition> {
    let (drop, ground) = (stance.drop(side.hand), stance.ground(side.hand));
    let setup = Setup::as_found(side);
    let position = forward(side, &setup, drop)?;
    let pose = position.pose;
    Ok(LoweredSide {
        side: side.hand,
        drop_mm: drop,
        bump_remaining_mm: side.ride.bump_left(drop),
        reference: Reading::found(side),
        lowered: Lowered {
            reading: Reading::of(side, &pose, &ground),
            pitch_deg: Figure::Pitch.value(&pose, &side.wheel, &ground).to_degrees(),
            centre_mm: side.car_point(&pose.centre),
        },
        band: Bands::new(side, stance, &setup, &position, &[], sigmas).band(asked),
        links: side.rods().map(|link| swing(side, &setup, &pose, link)).collect(),
        certainty: Certainty::from(&position),
    })
}

fn swing(side: &Side, setup: &Setup, pose: &Pose, index: usize) -> Swing {
    let link = &side.links[index];
    let before = link.knuckle - link.subframe;
    let [inner, outer] = side.ends(index, setup, pose);
    let after = outer - inner;
    let swing_deg = angle(&before, &after).to_degrees();
    Swing { name: link.name.clone(), length_mm: link.stock_length(), swing_deg }
}
