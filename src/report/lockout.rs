//! The page of `lockout`.

use super::heading::{AnswerPage, ReadingsTable};
use super::limits::{AtEnd, limit_sentence};
use super::number::{Units, fixed, turns};
use super::page::{Page, Printable};
use super::sides::by_side;
use super::table::Table;
use super::words::{CAUTIONS, NO_APPROVAL};
use crate::car::{Hand, Limit, PerSide};
use crate::strength::{LockedArm, Lockout};

impl Printable for AnswerPage<'_, Lockout> {
    fn put(&self, page: &mut Page) {
        let Lockout { sides, .. } = self.answer;
        let arms = sides.each(|side| side.arms.as_slice());
        let staying = self.cams_that_stay();
        let verdict = if arms.iter().all(|arms| arms.is_empty()) && !staying.is_empty() {
            "No arm can take the place of a cam of this profile, so there is nothing to lock out."
        } else if arms.iter().all(|arms| arms.is_empty()) {
            "No link of this profile has a cam, so there is nothing to lock out."
        } else if self.answer.succeeds() {
            "EVERY CAM CAN BE LOCKED OUT and the wheels read as today: set each arm as below, to its stock length first."
        } else {
            "NO. NOT EVERY CAM CAN GO: an arm is missing or does not reach the length it needs, see the marks."
        };
        self.head(page, "Cams locked out, alignment kept", verdict);
        if !staying.is_empty() {
            let text = "no arm takes the place of a strut's top mount or bolt: they stay as they are.";
            page.item("-", format!("{}: {text}", staying.join(", ")));
            page.gap();
        }
        if arms.iter().all(|arms| arms.is_empty()) {
            return;
        }
        let takes_an_arm =
            |name: &str| self.car.sides.left.link(name).is_some_and(|link| link.hold.takes_an_arm());
        settings(page, arms, takes_an_arm, self.units);

        let mut readings = ReadingsTable::headed("THE WHEELS READ", self.units.toe);
        readings.row("today", sides.each(|side| side.today));
        readings.row("after, whole steps", sides.each(|side| side.result));
        readings.row("cams out, arms as stock", sides.each(|side| side.stock_lengths));
        readings.put(page);
        page.gap();

        page.rest(|page| {
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            self.before(page);
        });
    }
}

impl AnswerPage<'_, Lockout> {
    /// The cams of what is no rod.
    fn cams_that_stay(&self) -> Vec<&str> {
        let links = self.car.sides.left.links.iter();
        links
            .filter(|link| link.cam.is_some() && !link.hold.is_rod())
            .map(|link| link.name.as_str())
            .collect()
    }

    fn before(&self, page: &mut Page) {
        page.item("-", format!(
                "At the exact lengths nothing moves at this height; whole steps, those of a side chosen together, leave what stands \
                 above. Away from this height, up to full bump and down to full droop, longer or shorter arms swing a little \
                 otherwise: camber by up to {} deg and toe by up to {} {} from today's.",
                fixed(self.answer.travel_camber_deg, 3),
                self.units.toe.show_size_fine(Hand::Left, self.answer.travel_toe_deg),
                self.units.toe.name()
            ));
        page.item("-", "Mark each cam before it is loosened and do one arm at a time. Both plates of a bolt sit in their guides with their holes \
             opposite each other before the nut is torqued, the car at ride height. Then read both wheels: the rack decides.");
        page.item("-", NO_APPROVAL);
        page.item("-", CAUTIONS[1]);
        page.item("-", CAUTIONS[2]);
    }
}

fn settings(page: &mut Page, arms: PerSide<&[LockedArm]>, takes_an_arm: impl Fn(&str) -> bool, units: Units) {
    page.heading("SET EACH NEW ARM TO ITS STOCK ARM'S LENGTH, THEN TURN IT BY");
    let name = units.length_name();
    let [stock, set, exact] = ["stock", "set", "exact"].map(|what| format!("{what} {name}"));
    let mut table = Table::new(&["<arm", "<side", "turns", "<", &stock, &set, &exact, "cam at", "plate at"]);
    let same = units.to_compare();
    let shown = by_side(arms, |arm| &arm.link, |a, b| row(a, same) == row(b, same));
    table.sides(arms, units, |arm| [arm.link.clone()], row);
    page.table(table);
    page.paragraph(format!(
            "cam at, plate at: how far the bolt is from the middle of its slot, {}; plus: the way the slot's direction points in the \
             profile. A plate with its hole where the cam holds the bolt today needs no other arm.",
            units.length_word()
        ));
    for shown in &shown {
        let LockedArm { link, arm, shift_mm, .. } = shown.item;
        match arm {
            None => {
                let or_arm = if takes_an_arm(link) { ", or with an arm of the exact length" } else { "" };
                let text = format!(
                    "{link}, {}: no adjustable arm in the profile, so its cam STAYS as it is. It can go with a plate whose hole \
                     is {} {name} from the middle{or_arm}.",
                    shown.words(),
                    units.caliper_signed(*shift_mm)
                );
                page.item("!", text);
            }
            Some(set) => {
                page.items("!", limit_sentence(shown.hand, link, set.limit, AtEnd::Missed));
            }
        }
    }
    page.gap();
}

fn row(arm: &LockedArm, units: Units) -> [String; 7] {
    let (turned, way, set) = match &arm.arm {
        None => ("-".to_owned(), "", "-".to_owned()),
        Some(set) if set.limit != Limit::Ok => ("-".to_owned(), "refused", units.length(set.set_mm)),
        Some(set) => {
            let way = match set.turns {
                turns if turns > 0.0 => "longer",
                turns if turns < 0.0 => "shorter",
                _ => "",
            };
            (turns(set.turns), way, units.caliper(set.set_mm))
        }
    };
    [
        turned,
        way.to_owned(),
        units.caliper(arm.stock_mm),
        set,
        units.caliper(arm.exact_mm),
        units.caliper_signed(arm.shift_mm),
        units.caliper_signed(arm.offset_mm),
    ]
}
