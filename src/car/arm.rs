//! The adjustable arm: threads, turns, limits.

use serde::Serialize;

use super::{Bar, Joints, PropertyClass, Section, Thread, Twist};

/// An adjustable arm, measured pivot centre to pivot centre. In a [`Link`](super::Link) its lengths count between the pivots.
#[derive(Debug, Clone, PartialEq)]
pub struct Arm {
    /// Shortest length it can be set to, mm.
    pub shortest: f64,
    /// Longest length it can be set to, mm.
    pub longest: f64,
    /// Its threads, one or two: at the subframe end, then at the knuckle end.
    pub threads: Vec<Thread>,
    /// The least part of a turn that can be locked.
    pub step: f64,
    /// How much thread is in the body, if that was measured.
    pub engaged: Option<Engagement>,
    /// The arm as a solid, where it is of another thickness or shape than the stock one.
    pub bar: Option<Bar>,
    /// What it turns in.
    pub joints: Joints,
    /// What its bar is made of, where that is known.
    pub section: Option<Section>,
    /// What its joints may carry, N, where that is known.
    pub joint_rating: Option<f64>,
    /// The property class of its threaded shanks, where that is known.
    pub thread_class: Option<PropertyClass>,
    /// From the middle of a joint to where its threaded shank comes out of body or lock nut, mm, where that is known.
    pub shank_out: Option<f64>,
}

/// Thread in the body, per end, measured at one overall length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Engagement {
    /// Overall length at which it was measured, mm.
    pub(crate) at: f64,
    /// Thread in the body at each end, mm.
    pub(crate) length: f64,
    /// The least that must stay in at each end, mm; one nominal diameter where the profile says nothing.
    pub(crate) minimum: Option<f64>,
}

/// What stops an arm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Limit {
    /// Nothing does.
    Ok,
    /// It is as short as it goes.
    Shortest,
    /// It is as long as it goes.
    Longest,
    /// Any longer and too little thread would be left in the body.
    Thread,
}

/// The lengths an arm may take, mm, and what lies beyond either end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Shortest and longest allowed length.
    pub ends: [f64; 2],
    /// What stops it there.
    pub(crate) limits: [Limit; 2],
}

/// What turning the body clockwise does, seen from the subframe end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Clockwise {
    /// The arm becomes longer.
    Lengthens,
    /// The arm becomes shorter.
    Shortens,
}

impl Arm {
    /// Signed length per clockwise turn of the body, seen from the subframe end, at each of its ends, mm.
    ///
    /// Seen from a right-hand joint the body turns clockwise off it. The far end sees the same turn the other
    /// way round, so there a left-hand joint comes out.
    fn growth(&self) -> impl Iterator<Item = f64> + '_ {
        self.threads.iter().enumerate().map(|(end, thread)| {
            let outward = (thread.twist == Twist::Right) == (end == 0);
            if outward { thread.pitch } else { -thread.pitch }
        })
    }

    /// The same arm with all its lengths counted from elsewhere, `by` mm more.
    #[must_use]
    pub(crate) fn counted_from(&self, by: f64) -> Self {
        let mut arm = self.clone();
        arm.shift(by);
        arm
    }

    /// Counts all its lengths from elsewhere, `by` mm more.
    pub(super) fn shift(&mut self, by: f64) {
        self.shortest += by;
        self.longest += by;
        if let Some(engaged) = &mut self.engaged {
            engaged.at += by;
        }
    }

    /// Length per turn, mm: the pitch of one thread, the sum of two of opposite hand, the difference of two alike.
    pub fn lead(&self) -> f64 {
        self.growth().sum::<f64>().abs()
    }

    /// What a clockwise turn of the body does, seen from the subframe end.
    pub(crate) fn clockwise(&self) -> Clockwise {
        if self.growth().sum::<f64>() > 0.0 { Clockwise::Lengthens } else { Clockwise::Shortens }
    }

    /// Thread left in the body at each end at an overall length, mm; empty where it was not measured.
    pub(crate) fn thread_left(&self, length: f64) -> Vec<f64> {
        let Some(engaged) = self.engaged else { return Vec::new() };
        let per_mm = self.growth().sum::<f64>();
        self.growth().map(|growth| engaged.length - (length - engaged.at) * growth / per_mm).collect()
    }

    /// The least thread that must stay in the body at an end, mm.
    pub(crate) fn least_thread(&self, end: usize) -> f64 {
        self.engaged.and_then(|engaged| engaged.minimum).unwrap_or(self.threads[end].diameter)
    }

    /// Whether every end has enough thread in the body at an overall length.
    pub(crate) fn holds_at(&self, length: f64) -> bool {
        const ROUNDING: f64 = 1e-9;
        (self.thread_left(length).iter().enumerate())
            .all(|(end, left)| *left >= self.least_thread(end) - ROUNDING)
    }

    /// The lengths it may take: its own limits, narrowed to where enough thread is left.
    pub fn range(&self) -> Range {
        let mut range =
            Range { ends: [self.shortest, self.longest], limits: [Limit::Shortest, Limit::Longest] };
        let Some(engaged) = self.engaged else { return range };
        let per_mm = self.growth().sum::<f64>();
        for (end, growth) in self.growth().enumerate() {
            // Thread left falls by growth/per_mm for each mm longer; this is where it meets the least.
            let bound = engaged.at + (engaged.length - self.least_thread(end)) * per_mm / growth;
            let longer = growth / per_mm > 0.0;
            if longer && bound < range.ends[1] {
                (range.ends[1], range.limits[1]) = (bound.max(self.shortest), Limit::Thread);
            } else if !longer && bound > range.ends[0] {
                (range.ends[0], range.limits[0]) = (bound.min(self.longest), Limit::Thread);
            }
        }
        range
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::Joint;
    use approx::assert_relative_eq;

    fn arm(threads: &[&str]) -> Arm {
        Arm {
            shortest: 200.0,
            longest: 240.0,
            threads: threads.iter().map(|text| text.parse().expect("a thread that exists")).collect(),
            step: 1.0 / 12.0,
            engaged: Some(Engagement { at: 210.0, length: 24.0, minimum: None }),
            bar: None,
            joints: Joints { kinds: [Joint::RodEnd; 2], limit: None },
            section: None,
            joint_rating: None,
            thread_class: None,
            shank_out: None,
        }
    }

    /// Ends of opposite hand add their pitches: an M12x1.75 pair moves 3.5 mm a turn (article 18657 on turnbuckles, read
    /// at ssprofab.com).
    #[test]
    fn opposite_hands_add_and_like_hands_subtract() {
        assert_relative_eq!(arm(&["M12x1.75 RH", "M12x1.75 LH"]).lead(), 3.5);
        assert_relative_eq!(arm(&["M16x2 RH", "M16x1.5 RH"]).lead(), 0.5);
        assert_relative_eq!(arm(&["5/8-18 UNF RH"]).lead(), 25.4 / 18.0);
    }

    #[test]
    fn clockwise_is_told_by_the_hand_at_the_subframe_end() {
        assert_eq!(arm(&["M16x1.5 RH", "M16x1.5 LH"]).clockwise(), Clockwise::Lengthens);
        assert_eq!(arm(&["M16x1.5 LH", "M16x1.5 RH"]).clockwise(), Clockwise::Shortens);
        assert_eq!(arm(&["M16x1.5 RH", "M16x2 RH"]).clockwise(), Clockwise::Shortens);
    }

    #[test]
    fn thread_is_shared_between_the_ends_by_their_pitches() {
        let even = arm(&["M16x1.5 RH", "M16x1.5 LH"]);
        assert_eq!(even.thread_left(220.0), [19.0, 19.0]);
        assert_eq!(arm(&["M16x1.5 RH"]).thread_left(220.0), [14.0]);
        // One end out by 2 mm a turn, the other in by 1.5: 10 mm longer takes 20 turns.
        assert_eq!(arm(&["M16x2 RH", "M16x1.5 RH"]).thread_left(220.0), [-16.0, 54.0]);
    }

    #[test]
    fn the_thread_ends_the_range_where_a_diameter_is_left() {
        let range = arm(&["M16x1.5 RH", "M16x1.5 LH"]).range();
        assert_relative_eq!(range.ends[1], 226.0);
        assert_eq!(range.limits, [Limit::Shortest, Limit::Thread]);
    }
}
