//! What the lists of a survey come to.

use std::ops::Range;

use crate::measure::Listed;
use crate::measure::network::Observation;

/// What the lists come to.
#[derive(Default)]
pub(super) struct Observed {
    pub(super) network: Vec<Observation>,
    pub(super) what: Vec<String>,
    pub(super) spans: Vec<Range<usize>>,
    pub(super) listed: Vec<Listed>,
    /// Observations that are the length of an arm, and of which link.
    pub(super) arms: Vec<(usize, usize)>,
}
