//! One thing besides the car's own numbers that a reading rests on and nobody knows exactly.

use crate::car::Hand;
use crate::geometry::Figure;

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unknown {
    pub(super) what: What,
    /// Its standard deviation, mm or rad.
    pub(super) sigma: f64,
}

/// What it is of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum What {
    /// The length of a link.
    Length(Hand, usize),
    /// The place of a cam's pivot in its slot.
    Shift(Hand, usize),
    /// The drop of a side.
    Drop(Hand),
    /// That of the front.
    Front,
    /// A figure of a wheel.
    Off(Hand, Figure),
    /// How much lower the floor is on the left.
    Floor,
    /// The run-out of a rim, as a figure of its wheel.
    RunOut(Hand, Figure),
}

/// From where on a wheel reads otherwise than its setting explains: something moved, or a reading was wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Jump {
    /// The first state in which it does.
    pub(crate) from: usize,
    /// The wheel.
    pub(crate) hand: Hand,
}
