//! The page of `sheet`: what lies on the bench.

use std::fmt;

use super::cams::cam_table;
use super::heading::{Readings, heading};
use super::number::{ToeUnit, inches, mm, turns};
use super::plan::{alike, direction, short_of_thread};
use super::table::Table;
use super::words::{CAUTIONS, item, limit_sentence, paragraph, rotation, side_names};
use crate::car::{Arm, Car, Limit, Stance};
use crate::plan::{ArmSetting, Fitting, Plan};

const BOX: &str = "[ ]";
const BLANK: &str = "________";

/// The bench sheet.
#[derive(Debug)]
pub struct SheetPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// Name of the profile it was worked out from.
    pub profile: &'a str,
    /// How it stands.
    pub stance: &'a Stance,
    /// Which arms are fitted.
    pub fitting: &'a Fitting,
    /// The answer.
    pub answer: &'a Plan,
    /// Unit for toe.
    pub toe: ToeUnit,
}

impl fmt::Display for SheetPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        heading(f, "Bench sheet", self.car, self.stance)?;
        writeln!(f, "From {}        date ____________   by ____________\n", self.profile)?;
        self.refusals(f)?;
        self.preset(f)?;
        self.turns(f)?;
        self.cams(f)?;
        self.order_of_work(f)?;
        self.readings(f)?;
        writeln!(f, "CAUTIONS")?;
        for caution in CAUTIONS {
            item(f, "!", caution)?;
        }
        Ok(())
    }
}

impl SheetPage<'_> {
    /// What must stop the reader before the first turn.
    fn refusals(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.answer.succeeds() {
            return Ok(());
        }
        writeln!(f, "STOP: with these arms the spec is not met")?;
        for side in &self.answer.sides {
            let arms = side.arms.iter().map(|arm| (&arm.link, arm.limit));
            for (link, limit) in arms.chain(side.kept_arms.iter().map(|arm| (&arm.link, arm.limit))) {
                if let Some(sentence) = limit_sentence(side.side, link, limit) {
                    item(f, "!", &sentence)?;
                }
            }
            for cam in side.cams.iter().filter(|cam| !cam.in_reach) {
                item(
                    f,
                    "!",
                    &format!("{} cam, {}: it stands at its end and is not enough.", cam.link, side.side),
                )?;
            }
        }
        item(f, "!", "rodset plan shows what each wheel would read.")?;
        writeln!(f)
    }

    fn preset(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [left, right] = &self.answer.sides;
        if left.arms.is_empty() && left.kept_arms.is_empty() {
            return writeln!(f, "A. NO ARM IS FITTED: nothing to set on the bench\n");
        }
        writeln!(f, "A. MATCH EVERY NEW ARM TO ITS STOCK LENGTH")?;
        paragraph(
            f,
            "Measure centre to centre on tight-fitting pins, not on bolts: the slack of bolts in their sleeves alone can \
             be worth up to a degree of camber. A bent arm is measured straight, centre to centre. Turnbuckles: screw \
             both ends fully home, then back them out together so that both show the same thread.",
        )?;
        let mut table = Table::new(&[
            "<",
            "<arm",
            "<side",
            "stock mm",
            "inch",
            "<turns out from its shortest",
            "<measured mm",
        ]);
        let mut preset = |link: &str, stocks: [f64; 2]| {
            for (side, i) in side_names((stocks[0] - stocks[1]).abs() < 0.05) {
                let closed = self.arm(i, link).map_or(String::new(), |arm| {
                    let out = (stocks[i] - arm.shortest) / arm.lead();
                    format!("{out:.1} from {}", mm(arm.shortest))
                });
                table.row([
                    BOX.to_owned(),
                    link.to_owned(),
                    side.to_owned(),
                    mm(stocks[i]),
                    inches(stocks[i]),
                    closed,
                    BLANK.to_owned(),
                ]);
            }
        };
        for (a, b) in left.arms.iter().zip(&right.arms) {
            preset(&a.link, [a.stock_mm, b.stock_mm]);
        }
        for (a, b) in left.kept_arms.iter().zip(&right.kept_arms) {
            preset(&a.link, [a.stock_mm, b.stock_mm]);
        }
        writeln!(f, "{table}")?;
        for kept in &left.kept_arms {
            item(
                f,
                "-",
                &format!("{}: leave it at this length; it sets neither camber nor toe.", kept.link),
            )?;
        }
        writeln!(f)
    }

    fn turns(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [left, right] = &self.answer.sides;
        if left.arms.is_empty() {
            return Ok(());
        }
        writeln!(f, "B. THEN TURN IT FOR THE NEW HEIGHT, counted from the stock length")?;
        for (a, b) in left.arms.iter().zip(&right.arms) {
            for (side, i) in side_names(alike(a, b)) {
                let arm = [a, b][i];
                self.turn(f, side, i, arm)?;
            }
        }
        writeln!(f)
    }

    fn turn(&self, f: &mut fmt::Formatter<'_>, side: &str, hand: usize, arm: &ArmSetting) -> fmt::Result {
        let Some(fitted) = self.arm(hand, &arm.link) else { return Ok(()) };
        let side = if side == "both" { "both sides" } else { side };
        let line =
            |f: &mut fmt::Formatter<'_>, text: &str, blank: &str| writeln!(f, "        {text:<50}{blank}");
        if arm.turns == 0.0 {
            item(f, BOX, &format!("{}, {side}: leave at the stock length", arm.link))?;
        } else {
            let unit = if arm.turns.abs() <= 1.0 { "turn" } else { "turns" };
            let way = direction(arm.turns).to_uppercase();
            let by = mm((arm.set_mm - arm.stock_mm).abs());
            item(f, BOX, &format!("{}, {side}: {way} {} {unit} ({by} mm)", arm.link, turns(arm.turns)))?;
            line(f, &rotation(&fitted.threads, fitted.clockwise(), arm.turns > 0.0), "")?;
        }
        let length = format!("{} mm ({} in) centre to centre", mm(arm.set_mm), inches(arm.set_mm));
        line(f, &length, &format!("measured {BLANK}"))?;
        let least = mm(arm.thread_least_mm.iter().copied().fold(0.0, f64::max));
        let thread = match arm.thread_left_mm.as_slice() {
            [] => format!("thread in the body, at least {least} mm per end"),
            [one] => format!("thread left {} mm, at least {least}", mm(*one)),
            [a, b] if mm(*a) == mm(*b) => format!("thread left {} mm in each end, at least {least}", mm(*a)),
            ends => {
                let ends: Vec<String> = ends.iter().map(|left| mm(*left)).collect();
                format!("thread left {} mm, at least {least} in each end", ends.join(" and "))
            }
        };
        line(f, &thread, &format!("measured {BLANK}"))?;
        if arm.limit == Limit::Thread {
            let much = if short_of_thread(arm) {
                "TOO LITTLE THREAD IN THE BODY"
            } else {
                "NO THREAD FOR THE LENGTH WANTED"
            };
            line(f, &format!("{much}: DO NOT FIT"), "")?;
        }
        let nuts = if fitted.threads.len() == 2 { "both lock nuts" } else { "lock nut" };
        line(f, &format!("{BOX} {nuts} tight, arm held, paint mark"), &format!("torque   {BLANK}"))
    }

    fn cams(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sides = &self.answer.sides;
        writeln!(f, "C. CAM BOLTS")?;
        let locked: Vec<String> = (sides.iter().enumerate())
            .flat_map(|(i, side)| side.arms.iter().map(move |arm| (i, side, arm)))
            .filter(|(i, _, arm)| {
                self.car.sides[*i].links.iter().any(|l| l.name == arm.link && l.cam.is_some())
            })
            .map(|(_, side, arm)| format!("{} {}", arm.link, side.side))
            .collect();
        if !locked.is_empty() && self.fitting.keep_cams {
            item(
                f,
                "-",
                &format!("The cams under the new arms stay as they are set: {}.", locked.join(", ")),
            )?;
        } else if !locked.is_empty() {
            item(
                f,
                BOX,
                &format!(
                    "Note where each cam stands, then lock it out at the middle of its slot: {}.",
                    locked.join(", ")
                ),
            )?;
            item(
                f,
                "-",
                "Lock-out bolts: property class 8.8 is common practice; where the car's maker used a higher class, that \
                 class or better. New self-locking nuts.",
            )?;
        }
        if sides.iter().any(|side| !side.cams.is_empty()) {
            item(
                f,
                BOX,
                "Turn the cams that stay in use to about this, then to the reading; never past 90 degrees:",
            )?;
            write!(f, "{}", cam_table(sides.each_ref().map(|side| side.cams.as_slice())))?;
        } else if locked.is_empty() {
            item(f, "-", "None has to be touched.")?;
        }
        writeln!(f)
    }

    fn order_of_work(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gap = |i: usize| {
            let before = self.car.sides[i].ride.arch_gap;
            before.map_or(BLANK.to_owned(), |before| format!("{} mm", mm(before - self.stance.drops[i])))
        };
        let jack = format!(
            "Jack each knuckle until hub centre to arch lip is: left {}, right {}. Only now tighten rubber bushes, all of \
             them, also those that were not touched: tightened hanging they hold the car up and twist. Spherical joints do \
             not care. Watch that the car does not lift off its stands.",
            gap(0),
            gap(1)
        );
        let bolts: Vec<String> =
            self.answer.sides[0].arms.iter().map(|arm| format!("{} {BLANK}", arm.link)).collect();
        let torque = format!("Torque every bolt to the manual's figure: {} others {BLANK}", bolts.join(" "));
        writeln!(f, "D. ON THE CAR, in this order")?;
        let steps = [
            "Write down the readings, heights and cam marks as they are before anything is undone.",
            "Car on stands, wheels chocked. Fit the arms with the bolts finger-tight; move hoses, cables and brackets over.",
            "Without spring or with it let down, move the knuckle from droop to full bump, both sides: no arm may touch \
             anything, no joint may bind.",
            "Set the ride heights first, both sides, with the load named above.",
            jack.as_str(),
            torque.as_str(),
            "Wheels on, down on the ground, roll and bounce to settle. Measure the heights again.",
            "Read. Set camber before toe: camber drags toe along. Then lock nuts, hold, mark.",
            "Read again after tightening, because tightening moves the setting.",
            "Short drive. Check torque marks, heights and readings again, and once more when the springs have settled.",
        ];
        for (number, step) in (1..).zip(steps) {
            item(f, &format!("{BOX} {number:>2}."), step)?;
        }
        writeln!(f)
    }

    fn readings(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sides = &self.answer.sides;
        writeln!(f, "E. READINGS")?;
        let mut readings = Readings::new(self.toe);
        readings.row("expected", sides.each_ref().map(|side| side.result.reading));
        readings.wanted(sides.each_ref().map(|side| side.spec));
        readings.blank("before the work");
        readings.blank("first reading");
        readings.blank("after tightening");
        readings.blank("after the drive");
        writeln!(f, "{readings}")
    }

    fn arm(&self, hand: usize, link: &str) -> Option<&Arm> {
        self.car.sides[hand].links.iter().find(|l| l.name == link)?.arm.as_ref()
    }
}
