//! What arms measure on the bench, beside the stock arms that they replace.
//!
//! `measured_length` of a link: what its stock arm measures. A new arm is matched to that, so `bench_mm` = measured + turns
//! times lead, and the arm's ends and thread count on the bench; inside, a fitted arm's lengths count between the pivots
//! (`Link::measure`). Absent where nothing is measured; `stock_mm` and `set_mm` stay the pivots'. Lengths of a record in mm are
//! of the bench. `check` tells a length that is off by more than 2.58 standard deviations of points and tape; `fit` takes it as
//! an observation, a side that goes by the other one's arm not again; `measured_length_used` keeps it out of both.

use serde::Serialize;

use crate::car::{Arm, Link};

/// What a tape reads of an arm on the bench; nothing where the stock arm was not measured.
///
/// The lengths of an answer count between the pivots, as the points have them. A new arm is matched to the stock arm as it really
/// is, so its own length is that and what it was turned.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Bench {
    /// What the stock arm measures, to which the new one is matched, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_mm: Option<f64>,
    /// What the new arm measures once it is set, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bench_mm: Option<f64>,
}

impl Bench {
    /// Of an arm in the place of a link's stock one that is `between` mm between the pivots.
    pub(crate) fn of(link: &Link, between: f64) -> Self {
        let measured_mm = link.measured.map(|measured| measured.length);
        Self { measured_mm, bench_mm: measured_mm.map(|_| link.on_bench(between)) }
    }
}

/// How far a new arm is screwed out where it is as long as the stock arm: what finds the wrong arm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Matched {
    /// What the new arm measures at its shortest, mm.
    pub shortest_mm: f64,
    /// How many turns it is out from there once it is matched to the stock arm.
    pub out_turns: f64,
}

impl Matched {
    pub(crate) fn of(link: &Link, arm: &Arm) -> Self {
        let out_turns = (link.stock_length() - arm.shortest) / arm.lead();
        Self { shortest_mm: link.on_bench(arm.shortest), out_turns }
    }
}

/// The thread that holds an arm at a length.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ThreadIn {
    /// Thread left in the body at that length, per end, mm; empty where it was not measured.
    #[serde(rename = "thread_remaining_mm")]
    pub remaining_mm: Vec<f64>,
    /// The least that must be left, per end, mm.
    #[serde(rename = "thread_least_mm")]
    pub least_mm: Vec<f64>,
    /// Whether too little is left.
    #[serde(rename = "short_of_thread")]
    pub short: bool,
}

impl ThreadIn {
    /// Of an arm that is `between` mm long between the pivots.
    pub(crate) fn of(arm: &Arm, between: f64) -> Self {
        Self {
            remaining_mm: arm.thread_left(between),
            least_mm: (0..arm.threads.len()).map(|end| arm.least_thread(end)).collect(),
            short: !arm.holds_at(between),
        }
    }

    /// The least that is left at an end, mm; `None` where it was not measured.
    pub(crate) fn worst_mm(&self) -> Option<f64> {
        self.remaining_mm.iter().copied().reduce(f64::min)
    }

    /// The most that must be left at an end, mm.
    pub(crate) fn wanted_mm(&self) -> f64 {
        self.least_mm.iter().copied().fold(0.0, f64::max)
    }
}
