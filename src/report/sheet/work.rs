//! What is done on the car, in order, and the readings.

use super::{SheetPage, wound_sentence};
use crate::report::cams::put_cams;
use crate::report::heading::Readings;
use crate::report::page::{BLANK, BOX, Page};

impl SheetPage<'_> {
    pub(super) fn order_of_work(&self, page: &mut Page) {
        let gap = |i: usize| {
            let before = self.car.sides[i].ride.arch_gap.filter(|_| !self.past_travel());
            before.map_or(BLANK.to_owned(), |before| self.units.with_unit(before - self.stance.drops[i]))
        };
        let mut links: Vec<&str> = self.arms().iter().map(|shown| shown.item.link.as_str()).collect();
        links.extend(self.kept_arms().iter().map(|shown| shown.item.link.as_str()));
        links.dedup();
        links.push("others");
        let blanks: Vec<String> = links.iter().map(|link| format!("{link} {BLANK}")).collect();
        page.heading("C. ON THE CAR, in this order");
        let without_arms = links.len() == 1;
        let fit = if without_arms {
            "Car on stands, wheels chocked. Undo what has to be undone."
        } else {
            "Car on stands, wheels chocked. Cams as under D. Fit the arms with the bolts finger-tight; move hoses, cables, \
             wheel speed and height sensors and brackets over."
        };
        let steps = [
            "Write down readings, heights and where each cam stands, before anything is undone.".to_owned(),
            fit.to_owned(),
            "With the spring out or let down, move the knuckle from droop to full bump, both sides: no arm may touch \
             anything, no joint may bind, no half-shaft may bottom."
                .to_owned(),
            "Springs back, wheels on, down on the ground: set the ride heights first, both sides, loaded as above.".to_owned(),
            format!(
                "Back on stands, wheels chocked. Jack each knuckle until hub centre to arch lip is: left {}, right {}. Only now tighten rubber bushes, all \
                 of them, also those that were not touched: clamped hanging they hold the car up and twist.{} Spherical \
                 joints do not care. Watch that the car does not lift off its stands.",
                gap(0),
                gap(1),
                self.joints.map(wound_sentence).unwrap_or_default()
            ),
            format!("Torque every bolt to the manual's figure: {}", blanks.join(" ")),
            format!(
                "{} nipped up, wheels on, down on the ground, roll and bounce to settle. Measure the heights again.",
                if without_arms { "Cam nuts" } else { "Lock nuts" }
            ),
            "Read. Set camber before toe, because camber drags toe along.".to_owned(),
            if without_arms {
                format!("Cam nuts: hold the cam, torque {BLANK}, paint mark.")
            } else {
                format!(
                    "Lock nuts, both ends: hold the arm, torque {BLANK}, paint mark. A left-hand nut tightens the other way."
                )
            },
            "Read again after tightening, because tightening moves the setting.".to_owned(),
            "Reset the steering angle and headlight levelling sensors where the car has them.".to_owned(),
            "Short drive. Check marks, subframe bolts, heights and readings, and once more when the springs have settled."
                .to_owned(),
        ];
        for (number, step) in (1..).zip(steps) {
            page.item(format!("{BOX} {number:>2}."), step);
        }
        page.gap();
    }

    pub(super) fn cam_bolts(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        page.heading("D. CAM BOLTS");
        let locked = self.cams_under_arms();
        if !locked.is_empty() && self.fitting.keep_cams {
            page.item(
                "-",
                format!("The cams under the new arms stay as they are set: {}.", locked.join(", ")),
            );
        } else if !locked.is_empty() {
            let text = format!(
                "Write down where each stands (step 1), then lock it out at the middle of its slot, {} in all: {}.",
                if locked.len() == 1 { "one bolt".to_owned() } else { format!("{} bolts", locked.len()) },
                locked.join(", ")
            );
            page.item(BOX, text);
            page.item("-",
                "Lock-out bolts: property class 8.8 is common practice; where the car's maker used a higher class, that \
                 class or better. New self-locking nuts. A seized cam is a reason to stop, not to pull harder.",
            );
        }
        if sides.iter().any(|side| !side.cams.is_empty()) {
            page.item(
                BOX,
                "Turn the cams that stay in use to about this, then to the reading; never past 90 degrees:",
            );
            put_cams(page, sides.each_ref().map(|side| side.cams.as_slice()), self.units);
        } else if locked.is_empty() {
            page.item("-", "None has to be touched.");
        }
        page.gap();
    }

    pub(super) fn readings(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        page.heading("E. READINGS");
        let mut readings = Readings::new(self.units.toe);
        readings.row("expected", sides.each_ref().map(|side| side.result.reading));
        readings.good_to(sides.each_ref().map(|side| &side.band));
        readings.wanted(sides.each_ref().map(|side| side.spec));
        readings.blank("before the work");
        readings.blank("first reading");
        readings.blank("after tightening");
        readings.blank("after the drive");
        readings.put(page);
        page.gap();
    }
}
