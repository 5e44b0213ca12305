//! What arms measure on the bench, beside the stock arms that they replace.

use serde::Serialize;

use crate::car::Link;

/// What a tape reads of an arm on the bench; nothing where the stock arm was not measured.
///
/// The lengths of an answer count between the pivots, as the points have them. A new arm is matched to the stock arm as it really
/// is, so its own length is that and what it was turned.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, schemars::JsonSchema)]
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
