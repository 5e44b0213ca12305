//! Errors that many readings of a network share: one tape that is too long, one mark that is beside its point.
//!
//! Each is an unknown of the adjustment, counted in its deviations, and known beforehand to be none give or take one of them. So it
//! needs no reading to be told, checks none, and takes nothing from what is over.

use nalgebra::{DVectorView, Point3, Vector3};

use super::{Observation, ObservationKind};

/// By which part a tape is too long or too short: it is held slack or bent round things. Common practice, no source.
const TAPE: f64 = 0.001;
/// By how much its hook is off, mm: common practice, no source.
const HOOK: f64 = 0.5;
/// How far each coordinate of the mark of a wheel's centre is from the middle of its bearing, mm: common practice, no source.
const BESIDE: f64 = 1.5;

/// Errors that many readings share; none unless it is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shared {
    /// The spot of which a mark is measured, by one tape.
    mark: Option<usize>,
}

impl Shared {
    /// Those of everything that was measured by hand with one tape, of a wheel whose centre is a mark, at this spot.
    pub fn by_hand(mark: usize) -> Self {
        Self { mark: Some(mark) }
    }

    /// How many there are: the tape's, its hook's, and three coordinates of the mark.
    pub(super) fn count(self) -> usize {
        if self.mark.is_some() { 5 } else { 0 }
    }

    /// What is measured where the points are these: each point, or its mark.
    pub(super) fn marked(self, points: &[Point3<f64>], errors: &DVectorView<'_, f64>) -> Vec<Point3<f64>> {
        let mut marked = points.to_vec();
        if let Some(point) = self.mark.and_then(|mark| marked.get_mut(mark)) {
            *point += Vector3::from_fn(|axis, _| BESIDE * errors[2 + axis]);
        }
        marked
    }

    /// How much more is read for each of them, in its unit for a deviation of theirs; `slopes` are the derivatives of what is read with
    /// the places of spots.
    pub(super) fn slopes(self, seen: &Observation, slopes: &[(usize, Vector3<f64>)]) -> [f64; 5] {
        if self.mark.is_none() {
            return [0.0; 5];
        }
        let beside: Vector3<f64> =
            slopes.iter().filter(|(spot, _)| Some(*spot) == self.mark).map(|(_, slope)| slope * BESIDE).sum();
        let by_tape = matches!(
            seen.kind,
            ObservationKind::Distance { .. } | ObservationKind::Difference { axis: 0 | 1, .. }
        );
        let [tape, hook] = if by_tape { [TAPE * seen.reads, HOOK * seen.reads.signum()] } else { [0.0; 2] };
        [tape, hook, beside.x, beside.y, beside.z]
    }
}
