//! What was read on a car in one state, as it was read: mm and rad, with nothing worked out.

use crate::car::{Hand, PerSide};
use crate::measure::ReadWith;

/// A reading as it was written down.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RawReading {
    /// What it was, in the user's words.
    pub title: Option<String>,
    /// When it was.
    pub date: Option<String>,
    /// What it was read with, where that was said.
    pub source: Option<ReadWith>,
    /// How high the car stood.
    pub height: RawHeight,
    /// Arms that are fitted; the others are the stock ones.
    pub arms: Vec<LinkSetting<RawArm>>,
    /// Shifts of cams from the middle of their slots, mm. Without one the cam of a fitted arm is locked at the middle, any other
    /// as found.
    pub cams: Vec<LinkSetting<f64>>,
    /// Camber and toe.
    pub angles: RawAngles,
    /// Whether the car stood the other way round on the same spots.
    pub turned_round: bool,
}

/// What the link of a side was set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinkSetting<T> {
    /// The side.
    pub hand: Hand,
    /// The link, by its place in [`Side::links`](crate::car::Side::links).
    pub link: usize,
    /// The setting.
    pub to: T,
}

/// How an arm was set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RawArm {
    /// Turns from the stock length, plus: longer.
    Turns(f64),
    /// What it measures on the bench from bolt to bolt, mm.
    Length(f64),
    /// What it was changed by from the stock length, mm, plus: longer.
    Change(f64),
}

/// How high the car stood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RawHeight {
    /// The rear.
    pub rear: RearHeight,
    /// The front, where it was measured.
    pub front: Option<FrontHeight>,
    /// Standard deviation of a drop, mm, where it was said.
    pub drop_sigma: Option<f64>,
}

impl RawHeight {
    /// Left and right rear let down by so much from the reference, mm.
    pub fn drops(drops: PerSide<f64>) -> Self {
        Self { rear: RearHeight::Drops(drops), front: None, drop_sigma: None }
    }
}

impl Default for RawHeight {
    /// The reference height.
    fn default() -> Self {
        Self::drops(PerSide::default())
    }
}

/// The height of the rear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RearHeight {
    /// Drops from the reference, mm.
    Drops(PerSide<f64>),
    /// Hub centre straight up to the arch lip, mm.
    Gaps(PerSide<f64>),
}

/// The height of the front.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FrontHeight {
    /// Its drop from the reference, mm.
    Drop(f64),
    /// Hub centre straight up to the arch lip, mm; one of them does.
    Gaps(PerSide<Option<f64>>),
}

/// Hub centre straight up to the arch lip at the reference, mm, where it was measured. A rear gap that is not
/// here is that of the car.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GapsBefore {
    /// The rear ones.
    pub rear: PerSide<Option<f64>>,
    /// The front ones.
    pub front: PerSide<Option<f64>>,
}

/// A corner of the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    /// At the rear.
    Rear(Hand),
    /// At the front.
    Front(Hand),
}

/// Camber and toe of both wheels, or what there is of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RawAngles {
    /// Cambers.
    pub cambers: PerSide<Option<RawCamber>>,
    /// Toes of each wheel alone.
    pub toes: PerSide<Option<RawToe>>,
    /// The toe of both wheels together.
    pub total_toe: Option<RawTotalToe>,
    /// Where the strings run; without, along the centreline.
    pub strings: Option<Strings>,
    /// What is known of the floor.
    pub floor: Option<RawFloor>,
}

/// An angle as a gauge or a rack gives it, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Angle {
    /// The angle.
    pub value: f64,
    /// Its standard deviation, where it was said.
    pub sigma: Option<f64>,
}

/// From a line to two edges of the rim that lie opposite each other, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chord {
    /// Front and rear for toe, bottom and top for camber.
    pub ends: [f64; 2],
    /// The same with the wheel turned by half a turn.
    pub half_turn: Option<[f64; 2]>,
    /// How far the edges are apart; without, the rim's diameter.
    pub across: Option<f64>,
}

/// How a camber was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RawCamber {
    /// As an angle.
    Angle(Angle),
    /// By a level on the rim, rad from upright.
    Level {
        /// What it showed.
        value: f64,
        /// The same with the wheel turned by half a turn.
        half_turn: Option<f64>,
    },
    /// From a plumb line to the rim.
    Plumb(Chord),
}

/// How the toe of a wheel was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RawToe {
    /// As an angle.
    Angle(Angle),
    /// From a string to the rim.
    Rim(Chord),
}

/// How the toe of both wheels together was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RawTotalToe {
    /// As an angle.
    Angle(Angle),
    /// Between plates against the wheels.
    Plates(Plates),
}

/// Between the ends of two plates against the wheels, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plates {
    /// In front and behind.
    pub(crate) ends: [f64; 2],
    /// The same with both wheels turned by half a turn.
    pub(crate) half_turn: Option<[f64; 2]>,
    /// How long the plates are.
    pub(crate) length: f64,
}

/// Where the strings run, front and rear, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strings {
    /// From the left and from the right string to the centreline; to the hubs where `tracks` are given.
    pub gaps: PerSide<Option<[f64; 2]>>,
    /// From hub to hub.
    pub tracks: Option<[f64; 2]>,
    /// From the front place to the rear one along the car; without, the wheelbase.
    pub apart: Option<f64>,
}

/// What is known of the floor under the rear wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RawFloor {
    /// By how much it is higher under the left tyre, over a distance, mm; without one, the track.
    Higher(f64, Option<f64>),
    /// Its slope, rad, plus where it rises to the left.
    Slope(f64),
    /// What the cambers read with the car turned round on the same spots.
    TurnedRound(PerSide<Option<RawCamber>>),
}
