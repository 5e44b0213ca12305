//! The page of `springs`.

use super::heading::AnswerPage;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use super::words::{BY_HAND, CAUTIONS, missing};
use crate::car::PerSide;
use crate::plan::{DamperTravel, SpringAnswer, SpringSide, SpringState, Springs};

impl Printable for AnswerPage<'_, Springs> {
    fn put(&self, page: &mut Page) {
        self.head(page, "Springs", self.verdict());
        self.collars(page);
        self.travel(page);
        page.item("!", "Springs can kill. Wheels off the ground and the damper at its full length before a collar is turned; a \
             compressor for a spring that is not loose there; nobody in front of it.");
        page.rest(|page| {
            page.gap();
            self.rates(page);
            missing(page, &self.answer.missing);
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            self.before(page);
        });
    }
}

impl AnswerPage<'_, Springs> {
    /// Whether travel is left, and how far the collars go.
    fn verdict(&self) -> String {
        if !self.answer.succeeds() {
            return "NO. NO TRAVEL IS LEFT, or a stop or damper ends it early: see the marks below."
                .to_owned();
        }
        let turns = self.answer.sides.each(|side| side.spring.and_then(|spring| spring.collar.down_turns));
        match turns.all() {
            Some(turns) => {
                let [left, right] = [turns.left, turns.right].map(|turns| signed(turns, 2));
                let sides = if left == right { left } else { format!("{left} left, {right} right") };
                format!("Turn the collars down by {sides} turns (minus: up), then measure hub to arch: travel is left.")
            }
            None => "Travel is left, as far as the profile tells; it does not say enough to tell turns of a collar.".to_owned(),
        }
    }

    fn before(&self, page: &mut Page) {
        page.item("-", format!(
                "Friction, rubber that is clamped at the old height, anti-roll bar and damper gas are left out, and new springs \
             settle: set it, roll and bounce the car, measure hub to arch, correct by the turns per {}. All four wheels answer \
             to one collar.",
                self.units.length_word()
            ));
        page.item("-", BY_HAND);
        page.item("-", CAUTIONS[1]);
    }
}

impl AnswerPage<'_, Springs> {
    fn springs(&self) -> PerSide<&[SpringAnswer]> {
        self.answer.sides.each(|side| side.spring.as_slice())
    }

    fn collars(&self, page: &mut Page) {
        let springs = self.springs();
        if springs.iter().all(|list| list.is_empty()) {
            return;
        }
        let down = format!("down {}", self.units.length_name());
        page.heading("COLLARS: turn each down from where it is now (minus: up)");
        let mut table = Table::new(&["<side", "turns", &down, "of it by motion", "by the spring's force"]);
        let free = self.answer.sides.each(|side| if side.on_stop { &[] } else { side.spring.as_slice() });
        table.sides(free, self.units, |_| None, collar_row);
        if free.iter().any(|springs| !springs.is_empty()) {
            page.table(table);
        }
        for side in self.answer.sides.iter().filter(|side| side.on_stop) {
            let text = format!(
                "{}: NOT KNOWN. At this drop the car stands on its bump stop, which carries a part of it that nobody knows, so no turns of the \
                 collar follow. Shorten the stop by its maker's word, or lower less, and ask again.",
                side.side
            );
            page.item("!", text);
        }
        page.paragraph("A spring that sits on no collar needs its seat that much lower, or to be that much shorter under the same load.");
        page.gap();
    }

    fn rates(&self, page: &mut Page) {
        let springs = self.springs();
        if springs.iter().all(|list| list.is_empty()) {
            return;
        }
        let (units, some) = (self.units, self.units.some());
        let (name, word) = (units.length_name(), units.length_word());
        let per = format!("per {}", some.name);
        page.heading("AT THE WHEEL");
        let mut table =
            Table::new(&["<", "<side", "motion ratio", &per, "spring N", "wheel N/mm", "Hz", "tyre Hz"]);
        for (name, pick) in [
            ("measured", (|spring| spring.reference) as fn(&SpringAnswer) -> SpringState),
            ("lowered", |spring| spring.at_drop),
        ] {
            table.sides(
                springs,
                units,
                |_| [name.to_owned()],
                |spring, units| state_row(&pick(spring), units),
            );
        }
        page.table(table);
        page.paragraph(format!(
                "motion ratio: {word} the spring shortens per {word} the wheel rises, and how that changes over {}; wheel: rate times \
                 the motion ratio squared, and the spring's force times the ratio's change; Hz: how often the body swings a second, \
                 undamped, on the spring alone and with the tyre under it.",
                some.name
            ));
        let states = springs.into_iter().flatten().flat_map(|spring| [spring.reference, spring.at_drop]);
        if states.clone().any(|state| state.first_part_only) {
            page.paragraph("*: the first part only, rate times the ratio squared; the other needs the spring's force, and that the mass on the \
                 wheel.");
        }
        if states.into_iter().any(|state| state.carries_nothing()) {
            page.paragraph("No spring force, rate or Hz: at that height the spring does not get shorter as the wheel rises, so it cannot carry \
                 the car.");
        }
        for side in &self.answer.sides {
            if let Some(height) = side.spring.and_then(|spring| spring.loose_below_mm) {
                let text = format!(
                    "{}: with the collar set so, the spring has no load left below a wheel height of {} {name} (droop ends at {}). It must be \
                     held in its seats: a helper spring, or a shorter damper.",
                    side.side,
                    units.length_signed(height),
                    units.length_signed(side.travel.lowest_mm)
                );
                page.item("!", text);
            }
        }
        page.gap();
    }

    fn travel(&self, page: &mut Page) {
        page.heading(format!(
            "TRAVEL LEFT at the drop, {} of the wheel, and the damper's motion ratio",
            self.units.length_word()
        ));
        let mut table = Table::new(&[
            "<side",
            "to the stop",
            "compressed",
            "motion ratio",
            "rod left at bump",
            "at droop",
        ]);
        let sides = self.answer.sides.each(std::slice::from_ref);
        table.sides(sides, self.units, |_| None, |side, units| self.travel_row(side, units));
        page.table(table);
        for side in &self.answer.sides {
            for sentence in travel_sentences(side) {
                page.item("!", format!("{}: {sentence}", side.side));
            }
        }
        page.gap();
    }

    fn travel_row(&self, side: &SpringSide, units: Units) -> [String; 5] {
        let measured = self.car.sides[side.side].damper.and_then(|damper| damper.stop_gap);
        let of = |pick: fn(&DamperTravel) -> Option<f64>| {
            side.damper.as_ref().and_then(pick).map_or("-".to_owned(), |length| units.length(length))
        };
        let to_stop = match (measured, side.damper.and_then(|damper| damper.to_stop_mm)) {
            (Some(_), None) => "not reached".to_owned(),
            (_, found) => found.map_or("-".to_owned(), |length| units.length(length)),
        };
        [
            to_stop,
            side.bump_remaining_mm.map_or("-".to_owned(), |length| units.length(length)),
            side.damper.map_or("-".to_owned(), |damper| fixed(damper.motion_ratio, 3)),
            of(|damper| damper.remaining_closing_mm),
            of(|damper| damper.remaining_opening_mm),
        ]
    }
}

/// What is wrong with the travel that is left.
fn travel_sentences(side: &SpringSide) -> Vec<&'static str> {
    let damper = side.damper.as_ref();
    let negative = |value: Option<f64>| value.is_some_and(|value| value < 0.0);
    let checks = [
        (
            side.bump_remaining_mm.is_some_and(|left| left <= 0.0),
            "NO TRAVEL is left: the car would stand on its fully compressed bump stop.",
        ),
        (
            negative(damper.and_then(|damper| damper.to_stop_mm)),
            "the car stands on its bump stop at this drop: ride and wheel rate are the stop's, not the spring's. Shorten the stop by \
             its maker's word, or lower less.",
        ),
        (
            damper.is_some_and(DamperTravel::is_closed_early),
            "the damper is closed before the profile's bump ends: it would be the stop. A shorter damper or a higher stop.",
        ),
        (
            negative(damper.and_then(|damper| damper.remaining_opening_mm)),
            "the damper is open before the profile's droop ends: it ends the droop, so check `droop` or its length.",
        ),
    ];
    checks.into_iter().filter(|(wrong, _)| *wrong).map(|(_, sentence)| sentence).collect()
}

fn collar_row(spring: &SpringAnswer, units: Units) -> [String; 4] {
    let collar = spring.collar;
    [
        collar.down_turns.map_or("-".to_owned(), |turns| signed(turns, 2)),
        units.length_signed(collar.down_mm),
        units.length_signed(collar.motion_mm),
        collar.force_mm.map_or("not known".to_owned(), |force| units.length_signed(force)),
    ]
}

fn state_row(state: &SpringState, units: Units) -> [String; 6] {
    let of =
        |value: Option<f64>, decimals: usize| value.map_or("-".to_owned(), |value| fixed(value, decimals));
    [
        fixed(state.motion_ratio, 3),
        signed(units.over_some(state.motion_ratio_per_mm), 3),
        of(state.force_n, 0),
        of(state.wheel_rate_n_per_mm, 1) + if state.first_part_only { "*" } else { "" },
        of(state.frequency_hz, 2),
        of(state.with_tyre_hz, 2),
    ]
}
