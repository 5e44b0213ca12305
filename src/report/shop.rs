//! The page for the alignment shop: targets in the units it asks for, what can be adjusted where, blanks for the readings.

use super::cams::{cam_table, other_cams};
use super::heading::{ReadingsTable, running, stands};
use super::number::{Units, degrees_minutes, fixed, turns_alone};
use super::order::{CAMBER_FIRST, READ_AGAIN, TYRES};
use super::page::{BLANK, BOX, Page, Printable, STOP};
use super::plan::verdict;
use super::sheet::{SheetPage, correction_table};
use super::spec::AngleUnit;
use super::table::Table;
use super::words::rotation;
use crate::car::{Hand, PerSide};
use crate::plan::{Allowed, ArmAdjuster, Handover, HandoverSide};

/// What the shop gets in hand.
#[derive(Debug)]
pub(crate) struct ShopPage<'a> {
    /// The bench sheet of the same plan.
    pub(crate) sheet: &'a SheetPage<'a>,
    pub(crate) answer: &'a Handover,
}

/// What a shop is asked to do and to leave alone.
const PLEASE: [&str; 6] = [
    "Rear before front: the front is set to the line on which the rear axle pushes.",
    CAMBER_FIRST,
    "Torque figures and one-time nuts: the car maker's manual. Lock nuts on both ends of an arm; a left-hand nut tightens \
     the other way.",
    READ_AGAIN,
    "Something seized, loose or bent, or an adjuster at its end: please stop and tell us.",
    "Please hand back the readings before and after on paper.",
];

impl Printable for ShopPage<'_> {
    fn put(&self, page: &mut Page) {
        let sheet = self.sheet;
        running(page, "For the alignment shop", sheet.car, sheet.stance, sheet.units);
        sheet.origin.put(page);
        stands(page, sheet.car, sheet.stance, sheet.units);
        page.gap();
        if !sheet.answer.succeeds() {
            page.heading(STOP);
            page.item("!", format!("{}. The owner has to settle that first.", verdict(sheet.answer)));
            page.gap();
        }
        self.targets(page);
        self.adjusters(page);
        self.please(page);
        self.readings(page);
    }
}

impl ShopPage<'_> {
    fn targets(&self, page: &mut Page) {
        let Handover { sides, cross_camber_limit_deg, thrust_angle_limit_deg, .. } = self.answer;
        page.heading("1. TARGETS FOR THE REAR, in whatever unit your machine shows");
        let shown = self.sheet.units;
        let rims = self.sheet.car.sides.each(|side| side.rim_diameter);
        let rims = rims.all();
        page.table(of_wheels("camber", &AngleUnit::all(None), sides.each(|side| side.camber), shown));
        page.gap();
        let units = AngleUnit::all(rims);
        page.table(of_wheels("toe", &units, sides.each(|side| side.toe), shown));
        page.gap();
        let mut total = Table::new(&["<total toe", "least", "target", "most"]);
        let ends = |end: fn(&Allowed) -> f64| sides.each(|side| end(&side.toe));
        for unit in units {
            let [least, target, most] = [
                ends(|allowed| allowed.least_deg),
                ends(|allowed| allowed.target_deg),
                ends(|allowed| allowed.most_deg),
            ]
            .map(|both| unit.show_total(both));
            total.row([unit.name(shown), least, target, most]);
        }
        page.table(total);
        page.note("camber: minus leans in at the top; toe: plus is toe-in");
        page.gap();
        for (what, limit) in
            [("Left minus right camber", cross_camber_limit_deg), ("Thrust angle", thrust_angle_limit_deg)]
        {
            if let Some(limit) = limit {
                page.item(
                    "-",
                    format!("{what}: within {} deg ({}) either way.", fixed(*limit, 2), unsigned(*limit)),
                );
            }
        }
        page.item(
            "-",
            "Each wheel to its own target, not the total alone: uneven toe makes the car drive askew.",
        );
        page.gap();
    }

    fn adjusters(&self, page: &mut Page) {
        let sheet = self.sheet;
        let sides = &self.answer.sides;
        page.heading("2. WHAT CAN BE ADJUSTED");
        let arms = sheet.arms();
        for shown in &arms {
            let side = &sides[shown.hand];
            let Some(adjuster) = side.arms.iter().find(|arm| arm.link == shown.item.link) else { continue };
            let Some(fitted) = sheet.car.sides[shown.hand].arm(&adjuster.link) else { continue };
            let room = [adjuster.longer_turns, adjuster.shorter_turns].map(turns_alone);
            page.item(
                "-",
                format!(
                    "{}, {}: sets {}. {} Longer: {}; shorter, the other way. Room for {} longer, {} shorter.",
                    adjuster.link,
                    shown.words(),
                    adjuster.sets,
                    place(adjuster, sheet.units),
                    rotation(&fitted.threads, fitted.clockwise(), true),
                    room[0],
                    room[1]
                ),
            );
        }
        if !arms.is_empty() {
            page.gap();
            page.line("What one step LONGER does; shorter, the opposite");
            page.table(correction_table(&arms, sheet.units));
            page.gap();
        }
        self.cam_bolts(page);
        for (what, side) in
            sides.iter().flat_map(|side| side.unset.iter().map(move |figure| (figure, side.side)))
        {
            page.item("-", format!("{what}, {side}: nothing on this car sets it."));
        }
        page.gap();
    }

    /// The cam bolts of the car.
    fn cam_bolts(&self, page: &mut Page) {
        let (sheet, sides) = (self.sheet, &self.answer.sides);
        if sides.iter().any(|side| !side.cams.is_empty()) {
            page.line("Cam bolts in use, as they should stand; never past 90 degrees");
            cam_table(page, sides.each(|side| side.cams.as_slice()), sheet.units);
            page.gap();
        }
        let others = sheet.answer.sides.each(|side| side.other_cams.as_slice());
        for sentence in other_cams(others, sheet.units) {
            page.item("-", format!("Not to be turned: {sentence}"));
        }
    }

    fn please(&self, page: &mut Page) {
        let gaps = self.answer.sides.each(|side: &HandoverSide| {
            side.arch_gap_mm.map_or(BLANK.to_owned(), |gap| self.sheet.units.with_unit(gap))
        });
        page.heading("3. PLEASE");
        page.item(
            BOX,
            format!(
                "{TYRES} Then heights, loaded as above, before any angle: hub centre to arch lip left {}, right {}. The figures hold only there, and rubber bushes are clamped there: \
                 loosened and clamped again if you change it.",
                gaps.left, gaps.right
            ),
        );
        for words in PLEASE {
            page.item(BOX, words);
        }
        page.item(
            "!",
            "These figures were worked out from the owner's measurements. The machine, the maker's manual and your judgement \
             decide.",
        );
        page.gap();
    }

    fn readings(&self, page: &mut Page) {
        page.heading("4. READINGS");
        let mut readings = ReadingsTable::new(self.sheet.units.toe);
        readings.row("expected", self.answer.sides.each(|side| side.expected));
        readings.wanted(self.sheet.answer.sides.each(|side| side.spec));
        readings.blank("as it came");
        readings.blank("as it left");
        readings.put(page);
        page.line("Thrust angle: came ________  left ________");
        page.line("Shop ____________   date ____________   signed ____________");
        page.gap();
    }
}

/// A figure of both wheels in every unit; once where they are alike.
fn of_wheels(
    figure: &str,
    units: &[AngleUnit],
    PerSide { left, right }: PerSide<Allowed>,
    shown: Units,
) -> Table {
    let cells = |unit: AngleUnit, hand: Hand, allowed: Allowed| {
        [allowed.least_deg, allowed.target_deg, allowed.most_deg].map(|deg| unit.show(hand, deg))
    };
    let alike = units.iter().all(|unit| cells(*unit, Hand::Left, left) == cells(*unit, Hand::Right, right));
    let name = if alike { format!("<{figure}, each wheel") } else { format!("<{figure}") };
    let mut head = vec![name.as_str()];
    head.extend(if alike {
        &["least", "target", "most"][..]
    } else {
        &["left: least", "target", "most", "right: least", "target", "most"]
    });
    let mut table = Table::new(&head);
    for unit in units {
        let right = if alike { Vec::new() } else { cells(*unit, Hand::Right, right).to_vec() };
        table.row([unit.name(shown)].into_iter().chain(cells(*unit, Hand::Left, left)).chain(right));
    }
    table
}

/// Where an arm is found.
fn place(adjuster: &ArmAdjuster, units: Units) -> String {
    let along = if adjuster.ahead_mm < 0.0 { "behind" } else { "ahead of" };
    let name = units.length_name();
    let height = if adjuster.above_mm < 0.0 { "below" } else { "above" };
    format!(
        "Its end at the wheel is {} {name} {along} and {} {name} {height} the wheel centre.",
        units.length_to(adjuster.ahead_mm.abs(), 0),
        units.length_to(adjuster.above_mm.abs(), 0)
    )
}

fn unsigned(deg: f64) -> String {
    degrees_minutes(deg).trim_start_matches('+').to_owned()
}
