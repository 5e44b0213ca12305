//! How the arms and the cams stood.

use std::ops::RangeInclusive;

use super::reduce::Reduction;
use super::{Flaw, LinkSetting, RawArm, RawReading};
use crate::car::{PerLink, PerSide};

/// More turns than any arm has thread for.
const MOST_TURNS: f64 = 40.0;
/// An arm of another length than this part of the stock one is a slip.
const LENGTHS: RangeInclusive<f64> = 0.6..=1.6;
/// An arm is read to this, mm: its own ends are kept no closer.
const READ: f64 = 1.0;

/// Lengths and shifts of both sides, mm, where they were given.
#[derive(Default)]
pub(super) struct LinkSettings {
    pub(super) lengths: PerSide<PerLink<Option<f64>>>,
    pub(super) shifts: PerSide<PerLink<Option<f64>>>,
}

impl Reduction<'_> {
    /// How the arms and cams of a reading stood.
    pub(super) fn links(&mut self, raw: &RawReading) -> Option<LinkSettings> {
        let mut state = LinkSettings::default();
        let mut sound = true;
        for cam in &raw.cams {
            match state.shifts[cam.hand].get_mut(cam.link) {
                Some(shift) => *shift = Some(cam.to),
                None => self.tell(Flaw::NoLink(cam.hand, cam.link)),
            }
        }
        for arm in &raw.arms {
            let Some(length) = self.length(arm) else {
                sound = false;
                continue;
            };
            let (side, link) = (arm.hand, arm.link);
            state.lengths[side][link] = Some(length);
            // A fitted arm's cam is locked out at the middle of its slot, unless something else is said.
            if self.car.sides[side].links[link].cam.is_some() {
                state.shifts[side][link].get_or_insert(0.0);
            }
        }
        sound.then_some(state)
    }

    /// The length of an arm between the pivots, mm.
    fn length(&mut self, arm: &LinkSetting<RawArm>) -> Option<f64> {
        let LinkSetting { hand, link: i, to } = *arm;
        let Some(link) = self.car.sides[hand].links.get(i) else {
            return self.fail(Flaw::NoLink(hand, i));
        };
        let stock = link.stock_length();
        let length = match to {
            RawArm::Turns(turns) => match &link.arm {
                None => return self.fail(Flaw::NoThread(hand, i)),
                Some(_) if turns.abs() > MOST_TURNS => return self.fail(Flaw::Turns(hand, i, turns)),
                Some(arm) => stock + turns * arm.lead(),
            },
            // A tape on the bench reads it, beside the stock arm.
            RawArm::Length(length) => link.between_pivots(length),
            RawArm::Change(change) => stock + change,
        };
        if !LENGTHS.contains(&(length / stock)) {
            return self.fail(Flaw::Length(hand, i, length));
        }
        if let Some(arm) = &link.arm
            && !(arm.shortest - READ..=arm.longest + READ).contains(&length)
        {
            self.tell(Flaw::PastArm(hand, i, length));
        }
        Some(length)
    }
}
