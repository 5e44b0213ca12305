//! How far the car is lowered, and how it then stands on the ground.
//!
//! Drop of a side: the wheel centre's rise in the car's axes. The ground normal is along `(-(df - (dl+dr)/2)/wheelbase,
//! -(dl-dr)/track, 1)`, track between the wheel centres at the reference. Without a front drop there is no rake.

use nalgebra::Vector3;

use super::{Car, Hand, PerSide};
use crate::geometry::Ground;

/// The drops of the two rear sides and of the front.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// Drop of each rear side, mm.
    pub drops: PerSide<f64>,
    /// Drop of the front, mm. Without one the front is taken to come down with the rear, so there is no rake.
    pub front: Option<f64>,
    ground: Ground,
    /// Slopes forward and outward per mm of a side's own drop, of the other side's, and of the front's.
    tilts: [[f64; 2]; 3],
}

impl Stance {
    /// The stance after the given drops; `None` when a front drop is asked of a car without a wheelbase.
    pub fn new(car: &Car, drops: impl Into<PerSide<f64>>, front: Option<f64>) -> Option<Self> {
        let drops = drops.into();
        // n is along (-(df - (dl + dr)/2)/wheelbase, -(dl - dr)/track, 1)
        let (rise_forward, per_front) = match front {
            Some(front) => {
                let wheelbase = car.wheelbase?;
                ((front - f64::midpoint(drops.left, drops.right)) / wheelbase, 1.0 / wheelbase)
            }
            None => (0.0, 0.0),
        };
        let per_side = 1.0 / car.track();
        let ground = Ground::tilted(rise_forward, (drops.left - drops.right) * per_side);
        let tilts = [[-per_front / 2.0, per_side], [-per_front / 2.0, -per_side], [per_front, 0.0]];
        Some(Self { drops, front, ground, tilts })
    }

    /// The drop of a side, mm.
    pub fn drop(&self, hand: Hand) -> f64 {
        self.drops[hand]
    }

    /// How the ground turns under a side, in its own mirrored axes, per mm of its own drop, of the other side's, and of the
    /// front's, rad/mm.
    pub(crate) fn turns(&self, hand: Hand) -> [Vector3<f64>; 3] {
        let ground = self.ground(hand);
        self.tilts.map(|[forward, outward]| ground.turn(forward, outward))
    }

    /// The ground as a side sees it, mirrored for the right one.
    pub fn ground(&self, hand: Hand) -> Ground {
        match hand {
            Hand::Left => self.ground,
            Hand::Right => self.ground.mirrored(),
        }
    }
}
