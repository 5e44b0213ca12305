//! Where the pivots and the wheel are: at the reference, lowered, and planned.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::adjusting::Fitting;
use super::planning::settings;
use super::wheel::{NoPosition, forward};
use crate::car::{Car, Hand, Hold, PerSide, Setup, Side, Spec, Stance};
use crate::geometry::{Ground, Position};

/// Both sides in all states.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Outlines {
    /// Left, then right.
    pub sides: PerSide<OutlineSide>,
    /// Why there is no planned state, where there is none.
    pub unplanned: Option<String>,
}

/// One side in all states.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct OutlineSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// As measured, lowered, and planned where there is a plan.
    pub outlines: Vec<Outline>,
}

/// A state of a side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum OutlineState {
    /// As it was measured.
    Measured,
    /// Lowered, nothing adjusted.
    Lowered,
    /// Lowered, with the planned arms.
    Planned,
}

/// Pivots and wheel of a side in one state, in car axes, mm; the subframe stays where it is, the floor comes up.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Outline {
    /// Which state.
    pub state: OutlineState,
    /// The five links; of what is no rod, each member once: a blade from its bush to the wheel's middle, a strut from its top.
    pub links: Vec<LinkEnds>,
    /// The wheel centre.
    pub centre_mm: [f64; 3],
    /// Where the tyre stands.
    pub contact_mm: [f64; 3],
    /// The highest point of the wheel's plane, as far above the centre as the contact is below it.
    pub top_mm: [f64; 3],
    /// The foremost and the rearmost point of the wheel's plane at hub height.
    pub front_rear_mm: [[f64; 3]; 2],
    /// The corners of the tyre, where the profile gives its width.
    pub tyre: Option<TyreCorners>,
}

/// The corners of a tyre, cut through the wheel centre, in car axes.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TyreCorners {
    /// Of the upright cut, as it is seen from behind, mm.
    pub behind_mm: [[f64; 3]; 4],
    /// Of the level cut, as it is seen from above, mm.
    pub above_mm: [[f64; 3]; 4],
}

/// The ends of a link.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LinkEnds {
    /// Its name.
    pub link: String,
    /// Its pivot on the subframe.
    pub subframe_mm: [f64; 3],
    /// Its pivot on the knuckle.
    pub knuckle_mm: [f64; 3],
    /// By how much its arm is set longer than the stock arm; negative: shorter, mm.
    pub longer_mm: f64,
}

/// Places the links of both sides; without specs there is no planned state.
///
/// # Errors
///
/// [`NoPosition`] where the links do not let a wheel come so far.
pub fn outline(
    car: &Car,
    stance: &Stance,
    specs: Option<&PerSide<Spec>>,
    fitting: &Fitting,
) -> Result<Outlines, NoPosition> {
    let planned = specs.map(|specs| settings(car, stance, specs, fitting));
    let (planned, unplanned) = match planned {
        Some(Ok(planned)) => (Some(planned), None),
        Some(Err(error)) => (None, Some(error.to_string())),
        None => (None, Some("the profile has no [spec], so there is nothing to aim for".to_owned())),
    };
    let of = |hand: Hand| {
        let side = &car.sides[hand];
        let (drop, found) = (stance.drop(hand), Setup::as_found(side));
        let state = |state: OutlineState, setup: &Setup, drop: f64, ground: &Ground| {
            Ok(outline_of(side, state, setup, &forward(side, setup, drop)?, ground))
        };
        let ground = stance.ground(hand);
        let mut outlines = vec![
            state(OutlineState::Measured, &found, 0.0, &Ground::level())?,
            state(OutlineState::Lowered, &found, drop, &ground)?,
        ];
        if let Some(planned) = &planned {
            outlines.push(state(OutlineState::Planned, &planned[hand], drop, &ground)?);
        }
        Ok(OutlineSide { side: hand, drop_mm: drop, outlines })
    };
    Ok(Outlines { sides: PerSide::try_of(of)?, unplanned })
}

fn outline_of(
    side: &Side,
    state: OutlineState,
    setup: &Setup,
    position: &Position,
    ground: &Ground,
) -> Outline {
    let pose = &position.pose;
    let contact = side.contact(&position.pose, ground);
    let up = pose.centre - contact;
    let spindle = pose.rotation * side.wheel.spindle;
    // The wheel rolls this way: square to its spindle and along the ground.
    let ahead = spindle.cross(&ground.up()).normalize() * up.norm();
    let at = |offset: Vector3<f64>| side.car_point(&(pose.centre + offset));
    let found = Setup::as_found(side);
    let ends = |i: usize| {
        let link = &side.links[i];
        if !(link.hold.is_rod() || link.hold.is_first_of_member()) {
            return None;
        }
        let [subframe, knuckle]: [Point3<f64>; 2] = side.ends(i, setup, pose);
        // A blade is drawn from its bush to the wheel's middle.
        let [subframe, knuckle] =
            if link.hold == Hold::BushAhead { [knuckle, pose.centre] } else { [subframe, knuckle] };
        Some(LinkEnds {
            link: if link.hold.is_rod() { &link.name } else { link.member() }.to_owned(),
            subframe_mm: side.car_point(&subframe),
            knuckle_mm: side.car_point(&knuckle),
            longer_mm: setup.lengths[i] - found.lengths[i],
        })
    };
    let tyre = side.tyre.as_ref().map(|tyre| {
        let out = spindle * (tyre.width / 2.0);
        let corners = |way: Vector3<f64>| [way + out, way - out, -way - out, -way + out].map(at);
        TyreCorners { behind_mm: corners(up), above_mm: corners(ahead) }
    });
    Outline {
        state,
        links: (0..side.links.len()).filter_map(ends).collect(),
        centre_mm: side.car_point(&pose.centre),
        contact_mm: side.car_point(&contact),
        top_mm: at(up),
        front_rear_mm: [at(ahead), at(-ahead)],
        tyre,
    }
}
