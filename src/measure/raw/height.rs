//! How high the car stood: drops, or the gaps over the hubs.

use std::f64::consts::SQRT_2;

use super::reduce::Reduction;
use super::{Corner, Flaw, FrontHeight, RawHeight, RearHeight};
use crate::car::{Hand, PerSide, Stance, is_ordinary};

/// No car is lowered or raised by more than this, mm.
const FURTHEST: f64 = 400.0;
/// A body does not twist by more than this between its axles, mm.
const TWIST: f64 = 15.0;

/// How the car stood.
pub(super) struct Height {
    pub(super) drops: PerSide<f64>,
    pub(super) sigma: Option<f64>,
    pub(super) front: Option<f64>,
}

impl Reduction<'_> {
    /// Drops of the rear sides and of the front.
    pub(super) fn height(&mut self, raw: &RawHeight) -> Option<Height> {
        let before = self.before.rear;
        let drops = PerSide::of(|hand| {
            let at = Corner::Rear(hand);
            let arch_gap = self.car.sides[hand].ride.arch_gap;
            match raw.rear {
                RearHeight::Drops(drops) => self.possible(at, drops[hand]),
                RearHeight::Gaps(now) => self.drop_of_gap(at, now[hand], before[hand].or(arch_gap)),
            }
        });
        let drops = drops.all()?;
        for (side, drop) in self.car.sides.iter().zip(drops) {
            if side.past_travel(drop) {
                self.tell(Flaw::PastTravel(side.hand, drop));
            }
        }
        if !is_ordinary("drops apart", (drops.left - drops.right).abs()) {
            self.tell(Flaw::Uneven([drops.left, drops.right]));
        }
        let front = match &raw.front {
            Some(front) => Some(self.front(front, drops)?),
            None => None,
        };
        // drop = before - now: two gaps, each with its own error
        let of_gaps = match raw.rear {
            RearHeight::Drops(_) => None,
            RearHeight::Gaps(_) => self.instruments.gap.map(|gap| SQRT_2 * gap),
        };
        Some(Height { drops, sigma: raw.drop_sigma.or(of_gaps), front })
    }

    /// The drop of the front; `rear` are those of the rear.
    fn front(&mut self, raw: &FrontHeight, rear: PerSide<f64>) -> Option<f64> {
        let (drop, sides) = match *raw {
            FrontHeight::Drop(drop) => (self.possible(Corner::Front(Hand::Left), drop)?, PerSide::default()),
            FrontHeight::Gaps(now) => {
                let mut sides = PerSide::default();
                for hand in Hand::BOTH {
                    if let Some(now) = now[hand] {
                        let before = self.before.front[hand];
                        sides[hand] = Some(self.drop_of_gap(Corner::Front(hand), now, before)?);
                    }
                }
                match sides {
                    PerSide { left: Some(left), right: Some(right) } => (f64::midpoint(left, right), sides),
                    PerSide { left, right } => (left.or(right)?, sides),
                }
            }
        };
        if Stance::new(self.car, rear, Some(0.0)).is_none() {
            return self.fail(Flaw::NoWheelbase);
        }
        // Front and rear lean alike: a body is stiff.
        if let Some(PerSide { left, right }) = sides.all() {
            let leans = [left - right, rear.left - rear.right];
            if (leans[0] - leans[1]).abs() > TWIST {
                self.tell(Flaw::Twisted(leans));
            }
        }
        Some(drop)
    }

    /// `drop = gap before - gap now`
    fn drop_of_gap(&mut self, at: Corner, now: f64, before: Option<f64>) -> Option<f64> {
        match before {
            Some(before) => self.possible(at, before - now),
            None => self.fail(Flaw::NoGapBefore(at)),
        }
    }

    /// A drop that a car can have, mm.
    fn possible(&mut self, at: Corner, drop: f64) -> Option<f64> {
        if drop.abs() > FURTHEST {
            return self.fail(Flaw::Drop(at, drop));
        }
        if !is_ordinary("drop when a car is read", drop) {
            self.tell(Flaw::Odd(at, drop));
        }
        Some(drop)
    }
}
