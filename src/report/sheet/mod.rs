//! The page of `sheet`: what lies on the bench.

mod arm_drawing;
mod bench;
mod cams;
mod correction;
mod work;

use super::heading::running;
use super::hint::Hint;
use super::joints::end_name;
use super::limits::Limits;
use super::number::{Units, fixed};
use super::page::{Page, Printable, STOP};
use super::plan::{kept_alike, set_alike, verdict};
use super::sides::{Shown, apart, by_side};
use super::words::{CAUTIONS, axle_sentence, loading, misfit_sentences, travel_sentence};
use crate::car::{Car, Limit, Stance};
use crate::plan::{ArmSetting, Fitting, JointAngles, KeptArm, Plan};

pub(super) use correction::{correction_table, step_cells};

/// Where a sheet comes from, so that it can be matched to its profile.
#[derive(Debug, Clone, Copy)]
pub struct SheetOrigin<'a> {
    /// Name of the profile.
    pub profile: &'a str,
    /// SHA-256 of the profile's bytes, hexadecimal.
    pub digest: &'a str,
    /// The day on which it was worked out, as in 2026-11-25.
    pub made: &'a str,
}

/// The bench sheet.
#[derive(Debug)]
pub struct SheetPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// Where it comes from.
    pub origin: SheetOrigin<'a>,
    /// How it stands.
    pub stance: &'a Stance,
    /// Which arms are fitted.
    pub fitting: &'a Fitting,
    /// The answer.
    pub answer: &'a Plan,
    /// The units shown.
    pub units: Units,
    /// How far bushes would be wound, where the profile gives their bolts.
    pub joints: Option<&'a JointAngles>,
}

impl SheetOrigin<'_> {
    pub(super) fn put(&self, page: &mut Page) {
        let Self { made, profile, digest } = self;
        let begins = digest.get(..12).unwrap_or(digest);
        page.foot(
            format!("Worked out on {made} from {profile}\nSHA-256 of the profile begins {begins}"),
            format!("Worked out on {made} from {profile}; SHA-256 of the profile begins {begins}: {digest}"),
        );
    }
}

/// What becomes of a bush that is forgotten; empty where no bolt is known.
fn wound_sentence(joints: &JointAngles) -> String {
    joints.most_wound().map_or_else(String::new, |(hand, bush, angle)| {
        format!(
            " Left as it was, {} ({} end, {hand}) would stand wound by {} deg.",
            bush.link,
            end_name(bush.end),
            fixed(angle, 1)
        )
    })
}

impl Printable for SheetPage<'_> {
    fn put(&self, page: &mut Page) {
        running(page, "Bench sheet", self.car, self.stance, self.units);
        self.origin.put(page);
        let travel = travel_sentence(self.car, self.stance, self.units).unwrap_or_default();
        page.note(format!("{} {travel}", loading(self.car)));
        page.gap();
        self.refusals(page);
        self.misfits(page);
        page.heading("CAUTIONS");
        page.columns(|page| page.items("!", CAUTIONS));
        page.gap();
        self.preset(page);
        self.turns(page);
        page.new_sheet();
        self.order_of_work(page);
        self.readings(page);
    }
}

impl<'a> SheetPage<'a> {
    pub(super) fn arms(&self) -> Vec<Shown<'a, ArmSetting>> {
        by_side(self.answer.sides.each(|side| side.arms.as_slice()), |arm| &arm.link, set_alike)
    }

    pub(super) fn kept_arms(&self) -> Vec<Shown<'a, KeptArm>> {
        by_side(self.answer.sides.each(|side| side.kept_arms.as_slice()), |arm| &arm.link, kept_alike)
    }

    /// The arms of the bench: each side has its own.
    fn each_arm(&self) -> Vec<Shown<'a, ArmSetting>> {
        apart(self.answer.sides.each(|side| side.arms.as_slice()), |arm| &arm.link)
    }

    /// The same of those that stay as they are matched.
    fn each_kept_arm(&self) -> Vec<Shown<'a, KeptArm>> {
        apart(self.answer.sides.each(|side| side.kept_arms.as_slice()), |arm| &arm.link)
    }

    pub(super) fn past_travel(&self) -> bool {
        self.car.sides.iter().any(|side| side.past_travel(self.stance.drop(side.hand)))
    }

    /// Stock arms that say that a point is wrong, or are measured wrongly themselves.
    fn misfits(&self, page: &mut Page) {
        let sentences = misfit_sentences(self.car, self.units);
        if sentences.is_empty() {
            return;
        }
        page.heading("MEASURE AGAIN FIRST");
        page.items("!", sentences);
        page.gap();
    }

    /// What one more step does, for the correction after the first reading.
    fn corrections(&self, page: &mut Page) {
        if self.arms().is_empty() {
            return;
        }
        page.heading("E. TO CORRECT A READING: one step LONGER");
        page.table(correction_table(&self.arms(), self.units));
        page.gap();
    }

    /// What must stop the reader before the first turn.
    fn refusals(&self, page: &mut Page) {
        let past_travel = self.past_travel();
        let kept = self.answer.sides.iter().flat_map(|side| &side.kept_arms);
        let refused = kept.into_iter().any(|arm| arm.limit == Limit::Thread);
        if self.answer.succeeds() && !past_travel && !refused {
            return;
        }
        page.heading(STOP);
        if past_travel {
            page.item("!", "This drop is beyond the wheel's travel: the car would stand on its stops.");
        }
        if !self.answer.succeeds() {
            page.item("!", format!("{}.", verdict(self.answer)));
        }
        page.items("!", self.answer.sides.iter().flat_map(|side| Limits::from(side).stops()));
        page.items("!", axle_sentence(self.car, &self.answer.axle));
        page.item("!", format!("{} shows what each wheel would read, and why.", page.hint(Hint::Plan)));
        page.gap();
    }
}
