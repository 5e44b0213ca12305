//! The page of `sheet`: what lies on the bench.

use std::fmt;

use super::cams::cam_table;
use super::heading::{Readings, heading};
use super::joints::end_name;
use super::number::{ToeUnit, fixed, inches, mm, signed, turns};
use super::plan::{axle_sentence, correction, direction, kept_alike, set_alike, stops, verdict};
use super::sides::{Shown, by_side};
use super::table::Table;
use super::words::{CAUTIONS, alike, item, paragraph, rotation, thread_words};
use crate::car::{Arm, Car, Hand, Limit, Stance};
use crate::plan::{ArmSetting, Fitting, JointAngles, KeptArm, Plan};

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
    /// How far bushes would be wound, where the profile gives their bolts.
    pub joints: Option<&'a JointAngles>,
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

impl fmt::Display for SheetPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        heading(f, "Bench sheet", self.car, self.stance)?;
        writeln!(f, "From {}        date ____________   by ____________\n", self.profile)?;
        self.refusals(f)?;
        self.preset(f)?;
        self.turns(f)?;
        self.order_of_work(f)?;
        self.cam_bolts(f)?;
        self.readings(f)?;
        self.corrections(f)?;
        writeln!(f, "CAUTIONS")?;
        for caution in CAUTIONS {
            item(f, "!", caution)?;
        }
        Ok(())
    }
}

impl<'a> SheetPage<'a> {
    fn arms(&self) -> Vec<Shown<'a, ArmSetting>> {
        by_side(self.answer.sides.each_ref().map(|side| side.arms.as_slice()), |arm| &arm.link, set_alike)
    }

    fn kept_arms(&self) -> Vec<Shown<'a, KeptArm>> {
        by_side(
            self.answer.sides.each_ref().map(|side| side.kept_arms.as_slice()),
            |arm| &arm.link,
            kept_alike,
        )
    }

    fn fitted(&self, hand: Hand, link: &str) -> Option<&Arm> {
        self.car.sides[hand.index()].links.iter().find(|l| l.name == link)?.arm.as_ref()
    }

    fn past_travel(&self) -> bool {
        self.car.sides.iter().any(|side| side.past_travel(self.stance.drop(side.hand)))
    }

    /// What must stop the reader before the first turn.
    fn refusals(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let past_travel = self.past_travel();
        let kept = self.answer.sides.iter().flat_map(|side| &side.kept_arms);
        let refused = kept.into_iter().any(|arm| arm.limit == Limit::Thread);
        if self.answer.succeeds() && !past_travel && !refused {
            return Ok(());
        }
        writeln!(f, "STOP")?;
        if past_travel {
            item(f, "!", "This drop is beyond the wheel's travel: the car would stand on its stops.")?;
        }
        if !self.answer.succeeds() {
            item(f, "!", &format!("{}.", verdict(self.answer)))?;
        }
        for sentence in self.answer.sides.iter().flat_map(stops) {
            item(f, "!", &sentence)?;
        }
        if !self.answer.axle.within_limits {
            item(f, "!", &axle_sentence(self.car, self.answer))?;
        }
        item(f, "!", "rodset plan shows what each wheel would read, and why.")?;
        writeln!(f)
    }

    fn preset(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (arms, kept) = (self.arms(), self.kept_arms());
        if arms.is_empty() && kept.is_empty() {
            return writeln!(f, "A. NO ARM IS FITTED: nothing to set on the bench\n");
        }
        writeln!(f, "A. MATCH EVERY NEW ARM TO ITS STOCK LENGTH")?;
        paragraph(
            f,
            "Measure centre to centre on tight-fitting pins, not on bolts: the slack of bolts in their sleeves alone can \
             be worth up to a degree of camber. A bent arm is measured straight, centre to centre. Turnbuckles: screw \
             both ends fully home, then back them out together by turning the body, so that both show the same thread.",
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
        let mut single = false;
        let stocks = arms.iter().map(|shown| (shown.hand, shown.item.link.as_str(), shown.item.stock_mm));
        let kept_stocks =
            kept.iter().map(|shown| (shown.hand, shown.item.link.as_str(), shown.item.stock_mm));
        for (hand, link, stock) in stocks.chain(kept_stocks) {
            // The sides may be turned differently and still start from one stock length.
            let other = self.stock(if hand == Hand::Left { Hand::Right } else { Hand::Left }, link);
            let both = other.is_some_and(|other| alike(other, stock));
            if both && hand == Hand::Right {
                continue;
            }
            let Some(arm) = self.fitted(hand, link) else { continue };
            single |= arm.threads.len() == 1;
            let out = (stock - arm.shortest) / arm.lead();
            table.row([
                BOX.to_owned(),
                link.to_owned(),
                if both { "both".to_owned() } else { hand.to_string() },
                mm(stock),
                inches(stock),
                format!("about {out:.1} from {}", mm(arm.shortest)),
                BLANK.to_owned(),
            ]);
        }
        table.write(f)?;
        writeln!(f)?;
        if single {
            item(
                f,
                "-",
                "An arm with one thread stops only where its eye lines up, which need not be at stock length: take the \
                 nearest. In B the length counts, not the turns: turn to the nearest to it.",
            )?;
            writeln!(f)?;
        }
        Ok(())
    }

    /// The stock length of a link that carries an arm in this plan.
    fn stock(&self, hand: Hand, link: &str) -> Option<f64> {
        let side = &self.answer.sides[hand.index()];
        let set = side.arms.iter().find(|arm| arm.link == link).map(|arm| arm.stock_mm);
        set.or(side.kept_arms.iter().find(|arm| arm.link == link).map(|arm| arm.stock_mm))
    }

    fn turns(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (arms, kept) = (self.arms(), self.kept_arms());
        if arms.is_empty() && kept.is_empty() {
            return Ok(());
        }
        writeln!(f, "B. THEN TURN IT FOR THE NEW HEIGHT, counted from the stock length")?;
        for shown in arms {
            self.turn(f, &shown)?;
        }
        for shown in kept {
            let Shown { item: arm, .. } = shown;
            let refused = if arm.limit == Limit::Thread { "; TOO LITTLE THREAD: DO NOT FIT" } else { "" };
            let text = format!(
                "{}, {}: stays at the stock length, {} mm{refused}. It sets neither camber nor toe.",
                arm.link,
                shown.words(),
                mm(arm.stock_mm)
            );
            item(f, BOX, &text)?;
        }
        item(
            f,
            BOX,
            "Eyes of each arm square to each other as they will sit at ride height; lock nuts run up by hand.",
        )?;
        writeln!(f)
    }

    fn turn(&self, f: &mut fmt::Formatter<'_>, shown: &Shown<'_, ArmSetting>) -> fmt::Result {
        let arm = shown.item;
        let Some(fitted) = self.fitted(shown.hand, &arm.link) else { return Ok(()) };
        let line = |f: &mut fmt::Formatter<'_>, text: &str, blank: &str| {
            writeln!(f, "{}", format!("        {text:<50}{blank}").trim_end())
        };
        if arm.turns == 0.0 {
            item(f, BOX, &format!("{}, {}: leave at the stock length", arm.link, shown.words()))?;
        } else {
            let unit = if arm.turns.abs() <= 1.0 { "turn" } else { "turns" };
            let way = direction(arm.turns).to_uppercase();
            let by = mm((arm.set_mm - arm.stock_mm).abs());
            let text =
                format!("{}, {}: {way} {} {unit} ({by} mm)", arm.link, shown.words(), turns(arm.turns));
            item(f, BOX, &text)?;
            line(f, &rotation(&fitted.threads, fitted.clockwise(), arm.turns > 0.0), "")?;
        }
        let length = format!("{} mm ({} in) centre to centre", mm(arm.set_mm), inches(arm.set_mm));
        line(f, &length, &format!("measured {BLANK}"))?;
        let thread = thread_words(&arm.thread_left_mm, &arm.thread_least_mm);
        line(f, &thread, &format!("measured {BLANK}"))?;
        if arm.limit == Limit::Thread {
            let much = if arm.short_of_thread {
                "TOO LITTLE THREAD IN THE BODY"
            } else {
                "NO THREAD FOR THE LENGTH WANTED"
            };
            line(f, &format!("{much}: DO NOT FIT"), "")?;
        }
        Ok(())
    }

    fn order_of_work(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gap = |i: usize| {
            let before = self.car.sides[i].ride.arch_gap.filter(|_| !self.past_travel());
            before.map_or(BLANK.to_owned(), |before| format!("{} mm", mm(before - self.stance.drops[i])))
        };
        let mut links: Vec<&str> = self.arms().iter().map(|shown| shown.item.link.as_str()).collect();
        links.extend(self.kept_arms().iter().map(|shown| shown.item.link.as_str()));
        links.dedup();
        links.push("others");
        let blanks: Vec<String> = links.iter().map(|link| format!("{link} {BLANK}")).collect();
        writeln!(f, "C. ON THE CAR, in this order")?;
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
            item(f, &format!("{BOX} {number:>2}."), &step)?;
        }
        writeln!(f)
    }

    fn cam_bolts(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sides = &self.answer.sides;
        writeln!(f, "D. CAM BOLTS")?;
        let under_arm = |hand: usize, link: &str| {
            self.car.sides[hand].links.iter().any(|l| l.name == link && l.cam.is_some())
        };
        let locked: Vec<String> = (sides.iter().enumerate())
            .flat_map(|(i, side)| side.arms.iter().map(move |arm| (i, side.side, &arm.link)))
            .filter(|(i, _, link)| under_arm(*i, link))
            .map(|(_, hand, link)| format!("{link} {hand}"))
            .collect();
        if !locked.is_empty() && self.fitting.keep_cams {
            item(
                f,
                "-",
                &format!("The cams under the new arms stay as they are set: {}.", locked.join(", ")),
            )?;
        } else if !locked.is_empty() {
            let text = format!(
                "Write down where each stands (step 1), then lock it out at the middle of its slot, {} in all: {}.",
                if locked.len() == 1 { "one bolt".to_owned() } else { format!("{} bolts", locked.len()) },
                locked.join(", ")
            );
            item(f, BOX, &text)?;
            item(
                f,
                "-",
                "Lock-out bolts: property class 8.8 is common practice; where the car's maker used a higher class, that \
                 class or better. New self-locking nuts. A seized cam is a reason to stop, not to pull harder.",
            )?;
        }
        if sides.iter().any(|side| !side.cams.is_empty()) {
            item(
                f,
                BOX,
                "Turn the cams that stay in use to about this, then to the reading; never past 90 degrees:",
            )?;
            cam_table(f, sides.each_ref().map(|side| side.cams.as_slice()))?;
        } else if locked.is_empty() {
            item(f, "-", "None has to be touched.")?;
        }
        writeln!(f)
    }

    fn readings(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sides = &self.answer.sides;
        writeln!(f, "E. READINGS")?;
        let mut readings = Readings::new(self.toe);
        readings.row("expected", sides.each_ref().map(|side| side.result.reading));
        readings.good_to(sides.each_ref().map(|side| &side.band));
        readings.wanted(sides.each_ref().map(|side| side.spec));
        readings.blank("before the work");
        readings.blank("first reading");
        readings.blank("after tightening");
        readings.blank("after the drive");
        readings.write(f)?;
        writeln!(f)
    }

    /// What one more step does, for the correction after the first reading.
    fn corrections(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let arms = self.arms();
        if arms.is_empty() {
            return Ok(());
        }
        writeln!(f, "F. TO CORRECT A READING: what one step LONGER does; shorter, the opposite")?;
        let toe_head = format!("toe {}", self.toe.name());
        let mut table =
            Table::new(&["<arm", "<side", "step, turns", "mm", "camber deg", &toe_head, "<expect up to"]);
        let row = |shown: &Shown<'_, ArmSetting>| {
            let Shown { item: arm, hand, .. } = shown;
            let step = arm.step_turns;
            let toe = self.toe.show_fine(hand.index(), arm.per_turn.toe_deg * step);
            let camber = signed(arm.per_turn.camber_deg * step, 2);
            [turns(step), mm(arm.lead_mm * step), camber, toe, correction(arm)]
        };
        let mut before: Option<(&str, [String; 5])> = None;
        for shown in &arms {
            let cells = row(shown);
            // Sides that are set differently mostly still answer alike; then one row says it.
            if before.as_ref().is_some_and(|(link, above)| *link == shown.item.link && *above == cells) {
                continue;
            }
            let of_link = || arms.iter().filter(|other| other.item.link == shown.item.link);
            let same =
                shown.side == "both" || (of_link().count() > 1 && of_link().all(|other| row(other) == cells));
            let side = if same { "each" } else { shown.side };
            table.row([shown.item.link.clone(), side.to_owned()].into_iter().chain(cells.clone()));
            before = Some((&shown.item.link, cells));
        }
        table.write(f)?;
        writeln!(f)
    }
}
