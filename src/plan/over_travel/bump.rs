//! Bump steer: how toe goes over a stretch of travel.

use serde::Serialize;

use crate::car::{Setup, Side};
use crate::geometry::search::{Until, halve};
use crate::geometry::{Figure, Ground, Position, solve};

/// Distance between the heights at which the gradient's sign is looked at, mm.
const SCAN: f64 = 2.0;
/// A turn of toe is narrowed down to this, mm.
const NARROW: f64 = 1e-6;

/// How toe goes around a height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct BumpSteer {
    /// Change of toe with bump at the height itself; positive: toe-in in bump.
    pub gradient_deg_per_100_mm: f64,
    /// The same at the rim, where its diameter is known.
    pub gradient_rim_mm_per_100_mm: Option<f64>,
    /// Least toe over the stretch, degrees.
    pub toe_least_deg: f64,
    /// Most toe over the stretch, degrees.
    pub toe_most_deg: f64,
    /// The difference of the two, degrees.
    pub toe_span_deg: f64,
}

/// A side under given links, on whose travel toe is followed.
pub(crate) struct Bumps<'a> {
    pub(crate) side: &'a Side,
    pub(crate) ground: &'a Ground,
    pub(crate) setup: &'a Setup,
}

impl Bumps<'_> {
    /// Bump steer at a position, and over the travel `down` and `up` from it, mm; where the links end that earlier, up to there.
    ///
    /// Toe is least and most at the ends of the stretch or where its gradient is zero; between two heights with gradients of
    /// opposite sign that place is narrowed down. Two turns within [`SCAN`] of each other can be missed.
    pub(crate) fn steer(&self, start: &Position, down: f64, up: f64) -> BumpSteer {
        let toe = |position: &Position| Figure::Toe.value(&position.pose, &self.side.wheel, self.ground);
        let mut extremes = [toe(start); 2];
        for travel in [-down, up] {
            let mut here = *start;
            let mut gone = 0.0_f64;
            while gone < travel.abs() {
                gone = (gone + SCAN).min(travel.abs());
                let Some(there) = self.risen(start, &here, gone.copysign(travel)) else { break };
                let turn =
                    (self.gradient(&here) * self.gradient(&there) < 0.0).then(|| self.turn(here, there));
                for position in turn.iter().chain([&there]) {
                    extremes = [extremes[0].min(toe(position)), extremes[1].max(toe(position))];
                }
                here = there;
            }
        }
        let gradient = self.gradient(start) * 100.0;
        BumpSteer {
            gradient_deg_per_100_mm: gradient.to_degrees(),
            gradient_rim_mm_per_100_mm: self.side.rim_diameter.map(|rim| rim * toe(start).cos() * gradient),
            toe_least_deg: extremes[0].to_degrees(),
            toe_most_deg: extremes[1].to_degrees(),
            toe_span_deg: (extremes[1] - extremes[0]).to_degrees(),
        }
    }

    /// Change of toe per mm of bump, rad/mm.
    pub(super) fn gradient(&self, position: &Position) -> f64 {
        position.rate(Figure::Toe, &self.side.wheel, self.ground, Setup::HEIGHT_ROW)
    }

    fn risen(&self, start: &Position, from: &Position, travel: f64) -> Option<Position> {
        let drop = start.pose.centre.z - self.side.wheel.centre.z + travel;
        solve(&self.setup.rows(self.side, drop), &from.pose).ok()
    }

    /// Where between two heights the gradient of toe is zero.
    #[expect(clippy::large_types_passed_by_value, reason = "the search keeps them")]
    fn turn(&self, a: Position, b: Position) -> Position {
        let height = |position: &Position| position.pose.centre.z;
        let look = |a: &Position, height: f64| {
            let drop = height - self.side.wheel.centre.z;
            let middle = solve(&self.setup.rows(self.side, drop), &a.pose).ok()?;
            Some((middle, self.gradient(&middle) * self.gradient(a) > 0.0))
        };
        let [_, turn] = halve([a, b], Until::Within(NARROW), height, look);
        turn
    }
}
