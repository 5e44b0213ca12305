//! What a rear axle looks like: where its links usually lie, and which figures are ordinary.
//!
//! Warnings: `data/typical.toml` alone knows what is ordinary (`car/typical.rs`); a range there goes by the noun of its key, or
//! by `.ordinary(...)`. Which slip explains a number is in `profile/guess.rs`. Pivots are held against the places of the table
//! (`car/likeness.rs`, half the square of the deviations, with gains); one slip that makes a layout likelier by `TELLING`
//! is told (`profile/check/plausible.rs`). `cli/warned.rs` keeps what a process was warned of for the head of its answer and for
//! `warnings` of its JSON.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The table of it: common practice, from memory, no source.
static TABLE: LazyLock<Typical> =
    LazyLock::new(|| toml::from_str(include_str!("../../data/typical.toml")).expect("the table is tested"));

/// What is typical of a rear axle.
#[derive(Debug, Deserialize)]
pub(crate) struct Typical {
    /// Of the wheel that the places are of, mm.
    pub(crate) wheel_radius: f64,
    /// How far sound cars are off the places.
    pub(super) spread: TypicalSpread,
    pub(super) gain: Gain,
    ordinary: BTreeMap<String, [f64; 2]>,
    /// What the variance of a coordinate is made of for a car that begins from the places.
    pub(crate) variance: Variance,
    /// The places at which a rod may lie.
    pub(crate) kind: Vec<TypicalPlace>,
    /// Those of other members, and of rods beside them.
    member: Vec<TypicalPlace>,
}

impl Typical {
    /// The place of a word, on a car that has members of some kinds.
    pub(crate) fn place(&self, lies: &str, kinds: &[&str]) -> Option<&TypicalPlace> {
        let is_so = |place: &&TypicalPlace| {
            place.lies == lies && place.beside.as_ref().is_none_or(|beside| kinds.contains(&beside.as_str()))
        };
        self.member.iter().chain(&self.kind).find(is_so)
    }
}

/// Standard deviations forward, to the left, up, mm.
#[derive(Debug, Deserialize)]
pub(super) struct TypicalSpread {
    pub(super) subframe: [f64; 3],
    pub(super) knuckle: [f64; 3],
    pub(super) link: [f64; 3],
    pub(super) frame: [f64; 3],
    pub(super) knuckles: [f64; 3],
    pub(super) corner: [f64; 3],
}

/// What a wheel gains as it rises by 100 mm, degrees, and how far apart the lower links stand, mm: the middle, and the deviation.
#[derive(Debug, Deserialize)]
pub(super) struct Gain {
    pub(super) camber: [f64; 2],
    pub(super) toe: [f64; 2],
    pub(super) lowers: [f64; 2],
}

/// Parts of the variance, of each coordinate.
#[derive(Debug, Deserialize)]
pub(crate) struct Variance {
    pub(crate) link: [f64; 3],
    pub(crate) frame: [f64; 3],
    pub(crate) knuckle: [f64; 3],
    pub(crate) corner: [f64; 3],
}

/// Where a link lies.
#[derive(Debug, Deserialize)]
pub(crate) struct TypicalPlace {
    pub(crate) lies: String,
    pub(crate) corner: String,
    /// The kind of member beside which it lies so.
    beside: Option<String>,
    /// Standard deviations of its subframe's pivot for a car that begins from the place, where they are others than usual, mm.
    pub(crate) off: Option<[f64; 3]>,
    /// Standard deviations of its subframe's pivot, where they are others than usual, mm.
    pub(super) wide: Option<[f64; 3]>,
    /// Standard deviation of both of its pivots along the car, mm.
    #[serde(default)]
    pub(super) along: f64,
    subframe: OnSubframe,
    knuckle: OnKnuckle,
}

#[derive(Debug, Deserialize)]
struct OnSubframe {
    ahead: f64,
    out: f64,
    above: f64,
}

#[derive(Debug, Deserialize)]
struct OnKnuckle {
    ahead: f64,
    inboard: f64,
    above: f64,
}

impl TypicalPlace {
    /// The two pivots about a wheel centre, subframe's first, mm.
    pub(crate) fn at(&self, [x, y, z]: [f64; 3], radius: f64) -> [[f64; 3]; 2] {
        let size = radius / TABLE.wheel_radius;
        let Self { subframe, knuckle, .. } = self;
        [
            [x + size * subframe.ahead, y * subframe.out, z + size * subframe.above],
            [x + size * knuckle.ahead, y - size * knuckle.inboard, z + size * knuckle.above],
        ]
    }
}

/// What is typical.
pub(crate) fn typical() -> &'static Typical {
    &TABLE
}

/// From - to of what a sound car has of something, by its name, in the unit of its key; none where nothing is known of it.
pub(crate) fn ordinary(of: &str) -> Option<[f64; 2]> {
    TABLE.ordinary.get(of).copied()
}

/// Whether a sound car may have that of something; of what nothing is known it may have anything.
pub(crate) fn is_ordinary(of: &str, value: f64) -> bool {
    ordinary(of).is_none_or(|[least, most]| (least..=most).contains(&value))
}

/// The largest that is ordinary.
pub(crate) fn most(of: &str) -> f64 {
    ordinary(of).map_or(f64::INFINITY, |[_, most]| most)
}
