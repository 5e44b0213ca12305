//! What is asked of `travel`, and its answer.
//!
//! Travel counts from the new ride height, bump positive; the body goes straight down on both wheels, so the ground keeps its
//! direction. Gradients, roll centre, swing arms and support angles come from the velocity state (the last column of the same
//! inverse), with the definitions and sources of `geometry/motion.rs`: the roll centre is by the velocity of the knuckle's
//! point at the contact, so a toe link that turns the knuckle counts; where that way is drawn from two arm planes instead the
//! two can differ by some mm. `track_change_mm` and `wheelbase_change_mm` are where the tyre stands against the same set-up at
//! ride height, each side by itself.
//!
//! Anti-squat: drive at the wheel centre (shafts turn the hub), all of it at the rear; anti-lift: brakes at the wheel. Percent
//! of the load that height over wheelbase moves between the axles; the centre of gravity comes down as the middle of the
//! wheelbase does.

use serde::Serialize;

use crate::car::{Hand, PerSide, Spec};
use crate::plan::adjusting::Fitting;
use crate::plan::over_travel::{Place, Station};
use crate::plan::wheel::Target;

/// What is asked of `travel`.
#[derive(Debug, Clone)]
pub struct TravelQuestion<'a> {
    /// Which arms the planned set-up has.
    pub fitting: &'a Fitting,
    /// The specs of the left and the right wheel; without them nothing is planned.
    pub specs: Option<&'a PerSide<Spec>>,
    /// Further set-ups.
    pub variants: &'a [Variant],
    /// Travel upward from the new ride height, mm; `None`: to the bump stop.
    pub bump: Option<f64>,
    /// Travel downward, mm; `None`: to full droop.
    pub droop: Option<f64>,
    /// Distance between the heights that are shown, mm.
    pub every: f64,
    /// Where only one height is asked about; `None`: all.
    pub only: Option<OnlyStation<'a>>,
}

/// The one height that is asked about, so that nothing else is worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnlyStation<'a> {
    /// The name of the set-up.
    pub setup: &'a str,
    /// Travel from the new ride height, mm.
    pub travel: f64,
}

impl OnlyStation<'_> {
    /// No height of any set-up.
    pub const NONE: Self = Self { setup: "", travel: 0.0 };
}

/// A further set-up: the planned one, or the one as found where nothing is planned, with some links of other lengths.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// Its name.
    pub name: String,
    /// Links and by how much each is longer, mm.
    pub changes: Vec<(String, f64)>,
    /// Set camber and toe again, exactly, with what sets them.
    pub hold: bool,
}

/// Set-ups over the travel of both wheels.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TravelCurves {
    /// Left, then right.
    pub sides: PerSide<TravelSide>,
    /// What could not be set up, and why.
    pub missing: Vec<Omitted>,
}

/// A set-up that there is not.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Omitted {
    /// Its name.
    pub setup: String,
    /// Why.
    pub why: String,
}

/// Set-ups over the travel of one wheel.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TravelSide {
    /// Which side.
    pub side: Hand,
    /// Drop at the new ride height, mm.
    pub drop_mm: f64,
    /// Travel looked at, upward from the new ride height, mm.
    pub bump_mm: f64,
    /// Travel looked at, downward, mm.
    pub droop_mm: f64,
    /// Whether the profile's own stops end that travel, up and down.
    pub to_the_stops: [bool; 2],
    /// What it should read at the new ride height.
    pub spec: Option<Target>,
    /// The set-ups.
    pub setups: Vec<Curve>,
}

/// One set-up over the travel.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Curve {
    /// Its name.
    pub setup: String,
    /// The links, rods all of them.
    pub links: Vec<LinkLength>,
    /// The cams of what is no rod.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cams: Vec<CamMoved>,
    /// Least toe over the travel, degrees.
    pub toe_least_deg: f64,
    /// Most toe over the travel, degrees.
    pub toe_most_deg: f64,
    /// From droop to bump.
    pub stations: Vec<Station>,
    /// Where the links end the travel before its end.
    pub ends: Vec<TravelEnd>,
}

/// A link as a set-up has it.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LinkLength {
    /// Its name.
    pub link: String,
    /// Pivot to pivot, mm.
    pub length_mm: f64,
    /// Longer than stock, mm.
    pub longer_mm: f64,
    /// How far its cam has moved the pivot since it was found, along the slot, mm; `None` without a cam.
    pub cam_moved_mm: Option<f64>,
    /// Whether its length is beyond what its adjustable arm allows.
    pub beyond_arm: bool,
}

/// The cam of what is no rod, as a set-up has it.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CamMoved {
    /// Where it sits.
    pub link: String,
    /// How far it has moved since it was found, mm.
    pub moved_mm: f64,
}

/// Where the links let a wheel go no further.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TravelEnd {
    /// Travel there, mm.
    pub travel_mm: f64,
    /// Drop there, mm.
    pub drop_mm: f64,
    /// The links that block each other, the worst first.
    pub links: Vec<String>,
}

/// The name of the set-up with every link as it was found.
pub const AS_FOUND: &str = "as found";
/// The name of the set-up that `plan` gives.
pub const PLANNED: &str = "planned";

impl Curve {
    /// What it reads and does at the new ride height.
    pub fn at_ride(&self) -> Option<&Station> {
        self.stations.iter().find(|station| station.place == Some(Place::Ride))
    }
}
