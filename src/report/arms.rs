//! The page of `arms`.

use super::cams::{at_its_end, cam_rows, cam_words, other_cams};
use super::heading::AnswerPage;
use super::hint::Hint;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::sides::by_side;
use super::table::Table;
use super::words::{arms_words, listed, near_singular_sentence, reach_words};
use crate::car::PerSide;
use crate::geometry::Figure;
use crate::plan::{ArmChoice, ArmSet, ArmSetSide, NeededArm};

impl Printable for AnswerPage<'_, ArmChoice> {
    fn put(&self, page: &mut Page) {
        self.head(page, "Which arms", self.recommendation());
        self.sets(page);
        page.rest(|page| {
            page.heading("WHAT EACH SET ASKS OF ITS ARMS AND OF THE CAMS THAT STAY IN USE");
            page.gap();
            for set in &self.answer.sets {
                self.parts(page, set);
            }
            if self.answer.sets.iter().flat_map(|set| &set.sides).any(|side| !side.cams.is_empty()) {
                cam_words(page);
                page.gap();
            }
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            self.notes(page);
        });
    }
}

impl AnswerPage<'_, ArmChoice> {
    /// The least set and why no less does.
    fn recommendation(&self) -> String {
        let ArmChoice { sets, least, .. } = self.answer;
        let Some(set) = least.map(|least| &sets[least]) else {
            let failing =
                self.answer.nearest().map_or(String::new(), |set| format!(": {}", self.failing(set)));
            return format!(
                "NO. No set of arms meets the spec at this drop{failing}. A smaller drop, arms with a wider range or another \
                 target are what is left."
            );
        };
        let reach = reach_of(set, self.units);
        if set.links.is_empty() {
            let spent = set.sides.iter().flat_map(|side| &side.cams).any(at_its_end);
            let spent =
                if spent { " A cam then stands at its end, so little is left to correct with." } else { "" };
            return format!(
                "Buy nothing for this drop: the stock cams bring both wheels within spec by themselves, and do so \
                 {reach}.{spent}"
            );
        }
        // Those that come before it in the order of the trade, and fail.
        let before = sets.iter().take_while(|other| *other != set);
        let reasons: Vec<String> = before.map(|set| self.failing(set)).collect();
        let twin = sets
            .iter()
            .find(|other| *other != set && other.figures.len() == set.figures.len() && other.succeeds())
            .map_or(String::new(), |other| {
                format!(
                    " ({} would do as well, but camber is what lowering takes away, so its arm comes first)",
                    arms(other)
                )
            });
        format!("Fit {}{twin}, because {}. This set does it {reach}.", arms(set), reasons.join("; "))
    }

    /// What a set leaves undone.
    fn failing(&self, set: &ArmSet) -> String {
        let camber = set.sides.each(|side| Some(format!("{} deg", fixed(side.camber_outside_deg?.abs(), 2))));
        let toe = set.sides.each(|side| {
            let toe = self.units.toe.show_fine(side.side, side.toe_outside_deg?.abs());
            Some(format!("{} {}", toe.trim_start_matches('+'), self.units.toe.name()))
        });
        let misses: Vec<String> = [("camber", camber), ("toe", toe)]
            .into_iter()
            .filter_map(|(figure, off)| Some(format!("{figure} outside its tolerance by {}", of_sides(off)?)))
            .collect();
        let with = arms(set) + if set.links.len() <= 1 { " alone" } else { "" };
        if misses.is_empty() {
            return format!("{with} would leave the two wheels outside the limits between them");
        }
        let ends = set.sides.iter().flat_map(|side| &side.arms).any(|arm| arm.in_reach == Some(false));
        let why = if ends { ", an arm being at its end" } else { "" };
        format!("{with} would leave {}{why}", misses.join(" and "))
    }

    fn sets(&self, page: &mut Page) {
        let name = self.units.length_name();
        page.heading("THE SETS, each at its best");
        let mut table = Table::new(&[
            "<new arms",
            "<side",
            "camber",
            "toe",
            "<spec",
            "steer",
            "toe from..to",
            &format!("up to {name}"),
        ]);
        let alike = self.units.to_compare();
        for (i, set) in self.answer.sets.iter().enumerate() {
            let mut name = set_name(set, "none");
            if self.answer.least == Some(i) {
                name += " *";
            }
            let sides = set.sides.each(std::slice::from_ref);
            for shown in by_side(sides, |_| "", |a, b| set_row(a, alike) == set_row(b, alike)) {
                let head = [std::mem::take(&mut name), shown.side.to_owned()];
                table.row(head.into_iter().chain(set_row(shown.item, self.units)));
            }
        }
        page.table(table);
        let window = self.units.length_to(self.answer.window_mm, 0);
        page.note(format!(
            "*: recommended; camber in deg, toe in {}; steer: bump steer at this height, deg of toe per {} of bump; from..to: toe over \
             {window} {name} of bump and droop; up to: the drop at which the set runs out",
            self.units.toe.name(),
            self.units.stretch().name,
        ));
        page.gap();
    }

    fn notes(&self, page: &mut Page) {
        let sets = &self.answer.sets;
        let mut arms = sets.iter().flat_map(|set| &set.sides).flat_map(|side| &side.arms);
        if arms.any(|arm| arm.in_reach.is_none()) {
            page.item("-", "RANGE NOT CHECKED where it says so: the profile has no [link.arm] there. Buy one that takes the length \
                 needed with room to spare and enough thread in.");
        }
        if sets.iter().any(|set| set.figures.contains(&Figure::Pitch)) {
            page.item("-", format!("The traction arm sets neither camber nor toe; it changes how toe goes over bumps. Stock length does, \
                 unless that matters to you: {}.", page.hint(Hint::Tune)));
        }
        page.item("-", "Where sets tie, the arm that sets camber comes first, then the toe arm, then the traction arm (common \
             practice).");
        page.item(
            "-",
            "An arm in place of a stock one may need approval where you live; ask before you buy.",
        );
        page.item(
            "-",
            format!(
                "Lengths here are exact; what whole turns make of them, and how good that is: {}.",
                page.hint(Hint::Plan)
            ),
        );
    }

    /// What the arms and the remaining cams of a set must do.
    fn parts(&self, page: &mut Page, set: &ArmSet) {
        let name = self.units.length_name();
        page.line(set_name(set, "stock cams only").to_uppercase());
        let needed = set.sides.each(|side| side.arms.as_slice());
        if needed.iter().any(|arms| !arms.is_empty()) {
            let mut table = Table::new(&[
                "<arm",
                "<side",
                "<sets",
                &format!("stock {name}"),
                &format!("needs {name}"),
                &format!("longer {name}"),
                "<",
            ]);
            table.sides(needed, self.units, |arm| [arm.link.clone()], arm_row);
            page.table(table);
        }
        let cams = set.sides.each(|side| side.cams.as_slice());
        let others = other_cams(set.sides.each(|side| side.other_cams.as_slice()), self.units);
        if cams.iter().any(|cams| !cams.is_empty()) {
            cam_rows(page, cams, self.units);
        } else if set.links.is_empty() && others.is_empty() {
            page.line("  no cam bolt in this profile sets camber or toe");
        }
        page.items("-", others);
        let near_singular =
            |side: &ArmSetSide| near_singular_sentence(side.side, &side.certainty, self.units);
        page.items("-", set.sides.iter().filter_map(near_singular));
        page.gap();
    }
}

fn set_row(side: &ArmSetSide, units: Units) -> [String; 6] {
    let toe = |toe_deg| units.toe.show(side.side, toe_deg);
    let steer = &side.bump_steer;
    [
        signed(side.best.reading.camber_deg, 2),
        toe(side.best.reading.toe_deg),
        if side.best.within_spec { "yes" } else { "NO" }.to_owned(),
        units.gradient(steer.gradient_deg_per_100_mm),
        format!("{}..{}", toe(steer.toe_least_deg), toe(steer.toe_most_deg)),
        match (side.reach_from_drop_mm, side.run_out_drop_mm) {
            (None, _) => "never".to_owned(),
            (Some(_), Some(drop)) => units.length_below(drop),
            (Some(_), None) => format!("over {}", units.far(side.bump_mm)),
        },
    ]
}

fn arm_row(arm: &NeededArm, units: Units) -> [String; 5] {
    let reach = match arm.in_reach {
        Some(true) => "",
        Some(false) => "AT ITS END",
        None => "range not checked",
    };
    [
        arm.sets.to_string(),
        units.length(arm.stock_mm),
        units.length(arm.length_mm),
        units.length_signed(arm.longer_mm),
        reach.to_owned(),
    ]
}

/// The links of a set, or what there is without any.
fn set_name(set: &ArmSet, none: &str) -> String {
    if set.links.is_empty() { none.to_owned() } else { set.links.join("+") }
}

/// The arms of a set in a sentence.
fn arms(set: &ArmSet) -> String {
    match set.links.as_slice() {
        [] => "the stock cams".to_owned(),
        links => format!("the {}", arms_words(links)),
    }
}

/// What holds for one side or for both.
fn of_sides(PerSide { left, right }: PerSide<Option<String>>) -> Option<String> {
    let (left, right) = match (left, right) {
        (Some(left), Some(right)) if left == right => return Some(format!("{left} on both sides")),
        (left, right) => (left.map(|left| format!("{left} on the left")), right),
    };
    let right = right.map(|right| format!("{right} on the right"));
    let sides: Vec<String> = left.into_iter().chain(right).collect();
    (!sides.is_empty()).then(|| listed(&sides))
}

/// Over which drops a set does, on both sides.
fn reach_of(set: &ArmSet, units: Units) -> String {
    let words =
        |side: &ArmSetSide| reach_words(side.reach_from_drop_mm, side.run_out_drop_mm, side.bump_mm, units);
    set.sides.each(words).alike_or(|left, right| format!("{left} on the left and {right} on the right"))
}
