//! The page of `plan`.

use super::bars::put_bars;
use super::cams::{cam_table, other_cams};
use super::heading::{AnswerPage, ReadingsTable};
use super::hint::Hint;
use super::limits::{self, Limits};
use super::next::first_sentence;
pub(super) use super::number::turns_words;
use super::number::{Units, fixed, flats, of_100, signed, turns, turns_alone};
use super::order::IN_SHORT;
use super::page::{Page, Printable};
use super::sides::by_side;
use super::table::Table;
use super::words::{
    CAUTIONS, alike, arms_words, axle_sentence, measured_sentence, misfit_sentences, near_singular_sentence,
    stock_cams_sentence, together_sentence,
};
use crate::car::{Hand, Limit};
use crate::plan::{ArmSetting, KeptArm, Next, Plan, PlanSide, Reading, SmallerSet, ThreadIn};

/// From this probability on a wheel is within spec at once as good as surely.
const SURE: f64 = 0.9;

/// The page of a plan, with what to read next.
#[derive(Debug)]
pub struct PlanPage<'a> {
    /// The answer.
    pub of: AnswerPage<'a, Plan>,
    /// What would make it better; none where that is not known.
    pub next: Option<Next>,
}

impl Printable for PlanPage<'_> {
    fn put(&self, page: &mut Page) {
        let of = &self.of;
        of.head(page, "Plan", of.verdict(page));
        page.items("-", of.stopped());
        of.arms(page);
        of.cams(page);
        of.readings(page);
        page.rest(|page| {
            of.together(page);
            of.limits(page);
            of.worth(page, self.next.as_ref());
            of.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            page.items("-", CAUTIONS);
            page.item(
                "-",
                format!(
                    "The order of work, step by step on the page for the bench ({}): {IN_SHORT}",
                    page.hint(Hint::Sheet)
                ),
            );
        });
    }
}

impl AnswerPage<'_, Plan> {
    /// Whether the plan does what it should and how surely, and what to expect.
    fn verdict(&self, page: &Page) -> String {
        let plan = self.answer;
        if !plan.succeeds() {
            return format!("NO. {}: what stops it stands below.", verdict(plan));
        }
        let [least, most] = {
            let chances = plan.sides.each(|side| side.probability_within_spec);
            [chances.left.min(chances.right), chances.left.max(chances.right)]
        };
        let chance = if of_100(least) == of_100(most) {
            of_100(least)
        } else {
            format!("{} to {}", of_100(least), of_100(most))
        };
        let corrected = self.corrections();
        let correct = if corrected.is_empty() {
            String::new()
        } else {
            format!(", then correct by up to {}", corrected.join(", "))
        };
        let surely = if least >= SURE {
            format!(
                "{}, a wheel at once in {chance} of 100 such cars: fit, read the wheels{correct}.",
                verdict(plan)
            )
        } else {
            format!(
                "{}, but at once in ONLY {chance} OF 100 such cars: fit, read the wheels{correct}.",
                verdict(plan)
            )
        };
        let smaller = plan.smaller_set.as_ref().map_or(String::new(), |smaller| {
            format!(
                " {} as well or better ({} {}).",
                smaller_words(smaller),
                page.hint(Hint::Fit),
                smaller_named(smaller)
            )
        });
        surely + &smaller
    }

    /// How far each arm may have to be corrected, the worse of both sides.
    fn corrections(&self) -> Vec<String> {
        let mut worst: Vec<&ArmSetting> = Vec::new();
        for arm in self.answer.sides.iter().flat_map(|side| &side.arms).filter(|arm| arm.corrects.is_some()) {
            match worst.iter_mut().find(|of| of.link == arm.link) {
                Some(of) if of.band.stepped_turns < arm.band.stepped_turns => *of = arm,
                Some(_) => {}
                None => worst.push(arm),
            }
        }
        worst
            .into_iter()
            .map(|arm| format!("{} of {}", turns_alone(arm.band.stepped_turns), arm.link))
            .collect()
    }

    /// What stops the plan or one of its arms.
    fn stopped(&self) -> Vec<String> {
        let Plan { sides, axle, .. } = self.answer;
        if self.answer.succeeds() {
            return Vec::new();
        }
        let of_side = |side: &PlanSide| {
            let limits = Limits::from(side);
            let [stops, misses] = [limits.stops(), self.misses(side)];
            stops.into_iter().chain(limits.unset()).chain(misses).chain(limits.too_coarse())
        };
        sides.iter().flat_map(of_side).chain(axle_sentence(self.car, axle)).collect()
    }

    fn arms(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if sides.iter().all(|side| side.arms.is_empty() && side.kept_arms.is_empty()) {
            page.heading("NO ARM IS FITTED");
            page.gap();
            return;
        }
        let [stock, set_to, thread_in] =
            ["stock", "set to", "engaged"].map(|head| format!("{head} {}", self.units.length_name()));
        page.heading("SET THE ARMS: match each to its stock length first, then turn it");
        let mut table =
            Table::new(&["<arm", "<side", &stock, "turns", "flats", "<", &set_to, &thread_in, "<"]);
        table.sides(sides.each(|side| &side.arms[..]), self.units, |arm| [arm.link.clone()], arm_row);
        table.sides(sides.each(|side| &side.kept_arms[..]), self.units, |arm| [arm.link.clone()], kept_row);
        page.table(table);
    }

    fn cams(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if sides.iter().any(|side| !side.cams.is_empty()) {
            page.heading("TURN THE STOCK CAMS that stay in use to about this, then to the reading");
            cam_table(page, sides.each(|side| side.cams.as_slice()), self.units);
        }
        page.items("-", other_cams(sides.each(|side| side.other_cams.as_slice()), self.units));
        page.gap();
    }

    fn readings(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        let mut readings = ReadingsTable::headed("THE WHEELS WILL READ", self.units.toe);
        readings.row("only lowered", sides.each(|side| side.lowered));
        readings.row("set as above", sides.each(|side| side.result.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.wanted(sides.each(|side| side.spec));
        readings.put(page);
        put_bars(page, self.answer, self.units);
        page.gap();
    }

    /// What the wheels do together, and what a smaller set would do.
    fn together(&self, page: &mut Page) {
        let Plan { sides, axle, .. } = self.answer;
        page.paragraph(together_sentence(self.car, axle));
        if let Some(smaller) = &self.answer.smaller_set {
            page.paragraph(self.smaller_sentence(page, smaller));
        }
        for side in sides {
            if let Some(pitch) = side.pitch {
                let text = format!(
                    "Pitch of the knuckle, {}: only lowered {}, set as above {}, wanted {} deg (plus: top forward).",
                    side.side,
                    signed(pitch.lowered_deg, 2),
                    signed(pitch.result_deg, 2),
                    signed(pitch.wanted_deg, 2)
                );
                page.paragraph(text);
            }
        }
        page.gap();
    }

    /// A smaller set that does as well, with its figures.
    fn smaller_sentence(&self, page: &Page, smaller: &SmallerSet) -> String {
        let reading = |hand: Hand| {
            let Reading { camber_deg, toe_deg } = smaller.readings[hand];
            let toe = self.units.toe;
            format!("{} deg / {} {}", signed(camber_deg, 2), toe.show(hand, toe_deg), toe.name())
        };
        format!(
            "{} as well or better: camber/toe left {}, right {}, left minus right camber {} deg. See it by {} {}.",
            smaller_words(smaller),
            reading(Hand::Left),
            reading(Hand::Right),
            signed(smaller.axle.cross_camber_deg, 2),
            page.hint(Hint::Fit),
            smaller_named(smaller)
        )
    }

    fn limits(&self, page: &mut Page) {
        let Plan { sides, stock_cams, .. } = self.answer;
        page.heading("LIMITS");
        page.items("!", misfit_sentences(self.car, self.units));
        for side in sides {
            page.items("-", near_singular_sentence(side.side, &side.certainty, self.units));
            // What stops the plan stands at its head.
            if self.answer.succeeds() {
                let limits = Limits::from(side);
                page.items("-", limits.stops());
                page.items("-", limits.unset());
            }
        }
        if let Some(verdict) = stock_cams {
            page.item("-", stock_cams_sentence(verdict, self.units));
        }
        let arms = || sides.iter().flat_map(|side| &side.arms);
        if arms().any(|arm| !arm.thread.remaining_mm.is_empty()) {
            page.item("-", "Thread in the body is counted per end; the least allowed here is one nominal diameter unless the profile \
                 says otherwise. The arm maker's figure rules.");
        }
        let kept = || sides.iter().flat_map(|side| &side.kept_arms);
        if arms().any(|arm| arm.thread.remaining_mm.is_empty())
            || kept().any(|arm| arm.thread.remaining_mm.is_empty())
        {
            page.item("-", "THREAD NOT CHECKED where it says not measured: give `engaged` in the profile, or measure on the bench that \
                 at least one diameter stays in at each end.");
        }
        if arms().any(|arm| self.has_one_thread(&arm.link)) {
            page.item("-", "An arm with one thread stops only where its eye lines up, which need not be a whole step from stock: the \
                 length counts, take the nearest to it and expect to correct.");
        }
        page.gap();
    }

    fn has_one_thread(&self, link: &str) -> bool {
        let links = self.car.sides.iter().flat_map(|side| &side.links).filter(|l| l.name == link);
        links.filter_map(|link| link.arm.as_ref()).any(|arm| arm.threads.len() == 1)
    }

    /// How good the answer is before the first reading, and what that means in turns.
    fn worth(&self, page: &mut Page, next: Option<&Next>) {
        let sides = &self.answer.sides;
        page.heading("HOW GOOD THIS IS before the first reading on the rack or with strings");
        for side in sides {
            let chance = of_100(side.probability_within_spec);
            page.item("-", format!("{}: within spec at once in {chance} cars of 100", side.side));
        }
        for shown in by_side(sides.each(|side| side.arms.as_slice()), |arm| &arm.link, correct_alike) {
            let (arm, side) = (shown.item, shown.words());
            if arm.corrects.is_none() {
                continue;
            }
            page.item("-", format!("{}, {side}: likely correction up to {}", arm.link, correction(arm)));
        }
        page.item("-", measured_sentence(self.car, sides.each(|side| &side.band), self.units));
        page.items("-", next.map(|next| first_sentence(next, &page.hint(Hint::Next))));
        page.gap();
    }

    /// What a wheel misses of its spec.
    fn misses(&self, side: &PlanSide) -> Vec<String> {
        if side.result.within_spec {
            return Vec::new();
        }
        let index = side.side;
        let (spec, [camber, toe]) = (side.spec, [side.result.camber_off_deg, side.result.toe_off_deg]);
        let mut misses = Vec::new();
        if camber.abs() > spec.camber_tolerance_deg {
            let (off, allowed) = (signed(camber, 3), fixed(spec.camber_tolerance_deg, 3));
            misses.push(format!("camber, {}: {off} deg off the target, {allowed} is allowed.", side.side));
        }
        if toe.abs() > spec.toe_tolerance_deg {
            let unit = self.units.toe.name();
            let [off, allowed] =
                [toe, spec.toe_tolerance_deg].map(|toe| self.units.toe.show_fine(index, toe));
            let allowed = allowed.trim_start_matches('+');
            misses.push(format!("toe, {}: {off} {unit} off the target, {allowed} is allowed.", side.side));
        }
        misses
    }
}

/// A smaller set and that it does.
fn smaller_words(smaller: &SmallerSet) -> String {
    match smaller.links.as_slice() {
        [] => "The stock cams without any arm do".to_owned(),
        links => format!("The {} alone {}", arms_words(links), if links.len() == 1 { "does" } else { "do" }),
    }
}

/// The same as it is asked for.
fn smaller_named(smaller: &SmallerSet) -> String {
    let named = if smaller.links.is_empty() { "none".to_owned() } else { smaller.links.join(",") };
    if named.contains(' ') { format!("\"{named}\"") } else { named }
}

/// Whether the plan does what it should, in one sentence.
pub(super) fn verdict(plan: &Plan) -> &'static str {
    let wheels = plan.sides.iter().all(|side| side.result.within_spec);
    let refused = plan.sides.iter().any(PlanSide::refuses_an_arm);
    limits::verdict("On paper both wheels come within spec", wheels && plan.axle.within_limits, refused)
}

/// Whether two sides' arms are set alike, as far as a page shows.
pub(super) fn set_alike(a: &ArmSetting, b: &ArmSetting) -> bool {
    alike(a.stock_mm, b.stock_mm)
        && alike(a.set_mm, b.set_mm)
        && turns(a.turns) == turns(b.turns)
        && a.limit == b.limit
}

/// Whether two sides' kept arms look alike.
pub(super) fn kept_alike(a: &KeptArm, b: &KeptArm) -> bool {
    alike(a.stock_mm, b.stock_mm) && a.limit == b.limit
}

/// How far an arm may have to be corrected, in steps that can be locked.
pub(super) fn correction(arm: &ArmSetting) -> String {
    turns_words(arm.band.stepped_turns)
}

fn correct_alike(a: &ArmSetting, b: &ArmSetting) -> bool {
    correction(a) == correction(b)
}

/// "longer", "shorter", or that it stays.
pub(super) fn direction(turns: f64) -> &'static str {
    if turns > 0.0 {
        "longer"
    } else if turns < 0.0 {
        "shorter"
    } else {
        "as stock"
    }
}

fn arm_row(arm: &ArmSetting, units: Units) -> [String; 7] {
    let limit = match arm.limit {
        Limit::Ok => "",
        Limit::Thread => "NO THREAD",
        Limit::Shortest | Limit::Longest => "AT ITS END",
    };
    [
        units.length(arm.stock_mm),
        if arm.turns == 0.0 { "-".to_owned() } else { turns(arm.turns) },
        flats(arm.turns).unwrap_or_else(|| "-".to_owned()),
        direction(arm.turns).to_owned(),
        units.length(arm.set_mm),
        thread_in(&arm.thread, units),
        limit.to_owned(),
    ]
}

fn kept_row(arm: &KeptArm, units: Units) -> [String; 7] {
    let limit = if arm.limit == Limit::Thread { "NO THREAD" } else { "" };
    [
        units.length(arm.stock_mm),
        "-".to_owned(),
        "-".to_owned(),
        direction(0.0).to_owned(),
        units.length(arm.stock_mm),
        thread_in(&arm.thread, units),
        limit.to_owned(),
    ]
}

fn thread_in(thread: &ThreadIn, units: Units) -> String {
    thread.worst_mm().map_or("not measured".to_owned(), |left| units.length(left))
}
