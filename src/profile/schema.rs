//! The shape of a profile file, as serde reads it: every key optional, every value with its place in the text.
//!
//! Base and `[right]` share these types, "by the same keys"; which of them must be there is for
//! [`check`](super::check) to say.

use serde::Deserialize;
use toml::Spanned;

use super::load::{Force, Mass, Rate, Stress, Torque};
use super::{CamPosition, Quantity};

pub(super) type Value = Option<Spanned<Quantity>>;
/// Three coordinates; a list, because an array of three would silently drop a fourth.
pub(super) type Point = Option<Spanned<Vec<Quantity>>>;
/// Standard deviations of the three coordinates of a point.
pub(super) type Deviations = Option<Spanned<Vec<Quantity>>>;
/// Several points, or pairs of lengths.
pub(super) type Corners = Option<Spanned<Vec<Spanned<Vec<Quantity>>>>>;
/// What an arm turns in, subframe end first.
pub(super) type JointNames = Option<Spanned<Vec<Spanned<JointName>>>>;
pub(super) type Text = Option<Spanned<String>>;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Profile {
    pub(super) format: Option<Spanned<i64>>,
    pub(super) car: Option<Spanned<Car>>,
    pub(super) wheel: Option<Spanned<Wheel>>,
    pub(super) ride: Option<Spanned<Ride>>,
    pub(super) spec: Option<Spanned<Spec>>,
    pub(super) sigma: Option<Spanned<Sigma>>,
    pub(super) correlation: Option<Spanned<Correlation>>,
    pub(super) survey: Option<Spanned<Survey>>,
    pub(super) tyre: Option<Spanned<Tyre>>,
    pub(super) driveshaft: Option<Spanned<Driveshaft>>,
    pub(super) spring: Option<Spanned<Spring>>,
    pub(super) damper: Option<Spanned<Damper>>,
    pub(super) loads: Option<Spanned<Loads>>,
    #[serde(default)]
    pub(super) keepout: Vec<Spanned<Keepout>>,
    #[serde(default)]
    pub(super) link: Vec<Spanned<Link>>,
    pub(super) right: Option<Spanned<Right>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Right {
    pub(super) wheel: Option<Spanned<Wheel>>,
    pub(super) ride: Option<Spanned<Ride>>,
    pub(super) spec: Option<Spanned<Spec>>,
    pub(super) tyre: Option<Spanned<Tyre>>,
    pub(super) driveshaft: Option<Spanned<Driveshaft>>,
    pub(super) spring: Option<Spanned<Spring>>,
    pub(super) damper: Option<Spanned<Damper>>,
    #[serde(default)]
    pub(super) link: Vec<Spanned<Link>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Car {
    pub(super) name: Text,
    pub(super) wheelbase: Value,
    pub(super) gravity_height: Value,
    pub(super) rear_brake_share: Value,
    pub(super) rear_steering: Option<Spanned<bool>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Wheel {
    pub(super) centre: Point,
    pub(super) centre_sigma: Deviations,
    pub(super) camber: Value,
    pub(super) toe: Value,
    pub(super) rim_diameter: Value,
    pub(super) loaded_radius: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Ride {
    pub(super) loading: Text,
    pub(super) arch_gap: Value,
    pub(super) bump: Value,
    pub(super) droop: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Spec {
    pub(super) camber: Value,
    pub(super) camber_tolerance: Value,
    pub(super) toe: Value,
    pub(super) total_toe: Value,
    pub(super) toe_tolerance: Value,
    pub(super) pitch: Value,
    pub(super) cross_camber: Value,
    pub(super) thrust_angle: Value,
}

/// Standard deviations.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sigma {
    pub(super) point: Value,
    pub(super) camber: Value,
    pub(super) toe: Value,
    pub(super) drop: Value,
    pub(super) preset: Value,
    pub(super) slack: Value,
}

/// How errors go together: the lower triangle of a correlation matrix, in the order of [`Measurand`].
///
/// [`Measurand`]: crate::car::Measurand
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Correlation {
    pub(super) links: Option<Spanned<Vec<String>>>,
    pub(super) rows: Option<Spanned<Vec<Spanned<Vec<f64>>>>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Link {
    pub(super) name: Text,
    pub(super) sets: Option<Spanned<Sets>>,
    pub(super) subframe: Point,
    pub(super) subframe_sigma: Deviations,
    pub(super) knuckle: Point,
    pub(super) knuckle_sigma: Deviations,
    pub(super) measured_length: Value,
    pub(super) measured_length_sigma: Value,
    pub(super) measured_length_used: Option<Spanned<bool>>,
    pub(super) cam: Option<Spanned<Cam>>,
    pub(super) arm: Option<Spanned<Arm>>,
    pub(super) radius: Value,
    pub(super) bend: Corners,
    pub(super) bend_towards: Point,
    pub(super) subframe_axis: Point,
    pub(super) knuckle_axis: Point,
    pub(super) joints: JointNames,
    pub(super) misalignment: Value,
    pub(super) section: Option<Spanned<Section>>,
    pub(super) joint_rating: Option<Spanned<Force>>,
    pub(super) bracket_rating: Option<Spanned<Force>>,
    pub(super) bolt: Option<Spanned<Bolt>>,
    pub(super) knuckle_bolt: Option<Spanned<Bolt>>,
}

/// What an arm's bar is made of.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Section {
    pub(super) outer: Value,
    pub(super) inner: Value,
    pub(super) area: Option<Spanned<f64>>,
    pub(super) inertia: Option<Spanned<f64>>,
    pub(super) edge: Value,
    #[serde(rename = "yield")]
    pub(super) yields: Option<Spanned<Stress>>,
    pub(super) modulus: Option<Spanned<Stress>>,
}

/// The bolt at an end of a link.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Bolt {
    pub(super) thread: Text,
    pub(super) class: Text,
    pub(super) torque: Option<Spanned<Torque>>,
    pub(super) threads: Text,
    pub(super) nut_factor: Option<Spanned<Vec<f64>>>,
    pub(super) friction: Option<Spanned<Vec<f64>>>,
    pub(super) faces: Option<Spanned<i64>>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Sets {
    Camber,
    Toe,
    Pitch,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Cam {
    pub(super) eccentricity: Value,
    pub(super) along: Point,
    pub(super) setting: Option<Spanned<CamPosition>>,
    pub(super) marks: Option<Spanned<i64>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Arm {
    pub(super) shortest: Value,
    pub(super) longest: Value,
    pub(super) threads: Option<Spanned<Vec<Spanned<String>>>>,
    pub(super) step: Value,
    pub(super) engaged: Option<Spanned<Engaged>>,
    pub(super) radius: Value,
    pub(super) bend: Corners,
    pub(super) bend_towards: Point,
    pub(super) joints: JointNames,
    pub(super) misalignment: Value,
    pub(super) section: Option<Spanned<Section>>,
    pub(super) joint_rating: Option<Spanned<Force>>,
    pub(super) thread_class: Text,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Engaged {
    pub(super) at: Value,
    pub(super) length: Value,
    pub(super) minimum: Value,
}

/// What was measured under the car, in place of the points.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Survey {
    pub(super) sigma: Option<Spanned<SurveySigma>>,
    #[serde(default)]
    pub(super) mark: Vec<Spanned<Mark>>,
    #[serde(default)]
    pub(super) same: Vec<Spanned<Vec<Spanned<String>>>>,
    #[serde(default)]
    pub(super) height: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) forward: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) across: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) pair: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) offset: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) tape: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) arm: Vec<Spanned<Seen>>,
    #[serde(default)]
    pub(super) slope: Vec<Spanned<Seen>>,
}

/// Standard deviations of the ways to measure.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SurveySigma {
    pub(super) height: Value,
    pub(super) forward: Value,
    pub(super) across: Value,
    pub(super) pair: Value,
    pub(super) offset: Value,
    pub(super) tape: Value,
    pub(super) arm: Value,
    pub(super) slope: Value,
}

/// A mark that is measured to.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Mark {
    pub(super) name: Text,
    pub(super) at: Point,
    pub(super) about: Point,
    pub(super) on_floor: Option<Spanned<bool>>,
}

/// One thing that was measured; which of the places it needs depends on the list it stands in.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Seen {
    pub(super) of: Text,
    pub(super) from: Text,
    pub(super) to: Text,
    pub(super) line: Option<Spanned<Vec<Spanned<String>>>>,
    pub(super) link: Text,
    pub(super) reads: Value,
    pub(super) sigma: Value,
    pub(super) leave_out: Option<Spanned<bool>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Tyre {
    pub(super) width: Value,
    pub(super) diameter: Value,
    pub(super) shoulder: Value,
    pub(super) rim_width: Value,
    pub(super) rim_diameter: Value,
}

/// A shape to keep clear of; which keys it needs is for its `shape` to say.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Keepout {
    pub(super) name: Text,
    pub(super) shape: Option<Spanned<Shape>>,
    pub(super) corners: Corners,
    pub(super) ends: Corners,
    pub(super) centre: Point,
    pub(super) radius: Value,
    pub(super) points: Corners,
    pub(super) mirrored: Option<Spanned<bool>>,
    pub(super) only: Option<Spanned<Vec<Spanned<String>>>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Shape {
    Box,
    Cylinder,
    Sphere,
    Plane,
}

#[derive(Debug, Clone, Copy, Deserialize)]
pub(super) enum JointName {
    #[serde(rename = "bush")]
    Bush,
    #[serde(rename = "rod end")]
    RodEnd,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Driveshaft {
    pub(super) inner: Point,
    pub(super) outer: Point,
    pub(super) inner_axis: Point,
    pub(super) inner_limit: Value,
    pub(super) outer_limit: Value,
    pub(super) push: Value,
    pub(super) pull: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Spring {
    pub(super) upper: Point,
    pub(super) lower: Point,
    pub(super) on: Text,
    pub(super) along: Value,
    pub(super) rate: Option<Spanned<Rate>>,
    pub(super) pitch: Value,
    pub(super) corner_mass: Option<Spanned<Mass>>,
    pub(super) unsprung_mass: Option<Spanned<Mass>>,
    pub(super) tyre_rate: Option<Spanned<Rate>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Damper {
    pub(super) upper: Point,
    pub(super) lower: Point,
    pub(super) on: Text,
    pub(super) along: Value,
    pub(super) stop_gap: Value,
    pub(super) closed: Value,
    pub(super) open: Value,
}

/// Forces on the tyre in the load cases: up, inward, rearward, in parts of what the wheel carries standing.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Loads {
    pub(super) standing: Point,
    pub(super) cornering: Point,
    pub(super) braking: Point,
    pub(super) drive: Point,
    pub(super) kerb: Point,
    pub(super) pothole: Point,
}
