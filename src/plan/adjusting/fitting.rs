//! Which arms are fitted, and which cams may be turned.

use super::adjust::{Adjuster, adjusters};
use crate::car::{Link, PerLink, PerSide, Setup, Side};
use crate::geometry::Figure;

/// Which arms are fitted and what becomes of the cams under them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fitting {
    /// Names of the links whose arms are fitted; `None`: every link with an arm and a role, but not one that sets pitch.
    pub arms: Option<Vec<String>>,
    /// Leave cams under fitted arms as they are set, instead of locked out at the middle of the slot.
    pub keep_cams: bool,
    /// Names of the links on the left and on the right whose cams may be turned; `None`: any.
    pub turnable: Option<PerSide<Vec<String>>>,
}

impl Fitting {
    /// Whether the arm of each link is fitted.
    pub fn fitted(&self, side: &Side) -> PerLink<bool> {
        side.links.each(|link| self.fits(link))
    }

    /// The links before anything is turned: stock lengths, and the cams under fitted arms locked out or kept.
    pub(crate) fn found(&self, side: &Side) -> Setup {
        Setup::locked_out(side, |link| self.fits(link) && !self.keep_cams)
    }

    /// The adjusters of a side: its fitted arms, and its cams.
    pub(crate) fn adjusters(&self, side: &Side) -> Vec<Adjuster> {
        let mut adjusters = adjusters(side, |link| self.fits(link));
        if let Some(turnable) = &self.turnable {
            let turns = |link: usize| turnable[side.hand].contains(&side.links[link].name);
            adjusters.retain(|adjuster| !adjuster.is_cam() || turns(adjuster.link));
        }
        adjusters
    }

    /// Whether the arm of a link is fitted.
    pub fn fits(&self, link: &Link) -> bool {
        link.arm.is_some()
            && match &self.arms {
                Some(names) => link.sets.is_some() && names.contains(&link.name),
                None => matches!(link.sets, Some(Figure::Camber | Figure::Toe)),
            }
    }
}
