//! How far the car is lowered, and how it then stands on the ground.

use super::{Car, Hand};
use crate::geometry::Ground;

/// The drops of the two rear sides and of the front.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// Drop of the left and of the right rear side, mm.
    pub drops: [f64; 2],
    /// Drop of the front, mm. Without one the front is taken to come down with the rear, so there is no rake.
    pub front: Option<f64>,
    ground: Ground,
}

impl Stance {
    /// The stance after the given drops; `None` when a front drop is asked of a car without a wheelbase.
    pub fn new(car: &Car, drops: [f64; 2], front: Option<f64>) -> Option<Self> {
        // n is along (-(df - (dl + dr)/2)/wheelbase, -(dl - dr)/track, 1)
        let rise_forward = match front {
            Some(front) => (front - f64::midpoint(drops[0], drops[1])) / car.wheelbase?,
            None => 0.0,
        };
        let rise_left = (drops[0] - drops[1]) / car.track();
        Some(Self { drops, front, ground: Ground::tilted(rise_forward, rise_left) })
    }

    /// The drop of a side, mm.
    pub fn drop(&self, hand: Hand) -> f64 {
        match hand {
            Hand::Left => self.drops[0],
            Hand::Right => self.drops[1],
        }
    }

    /// The ground as a side sees it, mirrored for the right one.
    pub fn ground(&self, hand: Hand) -> Ground {
        match hand {
            Hand::Left => self.ground,
            Hand::Right => self.ground.mirrored(),
        }
    }
}
