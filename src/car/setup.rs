//! The points of a side, and its links as they were found or locked out.

use super::{Hardpoints, Link, Setup, Side};
use crate::geometry::Row;

impl Hardpoints {
    /// Those of a side.
    pub fn of(side: &Side) -> Self {
        Self {
            subframe: side.links.each(|link| link.subframe),
            knuckle: side.links.each(|link| link.knuckle),
            wheel: side.wheel,
            holds: side.links.each(|link| link.hold),
        }
    }
}

impl Setup {
    /// Every link at its stock length, every cam as it was found.
    pub fn as_found(side: &Side) -> Self {
        Hardpoints::of(side).as_found()
    }

    /// The same, but with the cams of some links locked out at the middle of their slots.
    pub(crate) fn locked_out(side: &Side, locked: impl Fn(&Link) -> bool) -> Self {
        let mut setup = Self::as_found(side);
        for (i, link) in side.links.iter().enumerate().filter(|(_, link)| locked(link)) {
            setup.put_cam(i, link, 0.0);
        }
        setup
    }

    /// The forward question: these five rods, and the wheel centre raised by `drop` mm.
    pub fn rows(&self, side: &Side, drop: f64) -> [Row; 6] {
        Hardpoints::of(side).rows(self, drop)
    }
}
