//! The page of `tune`.

use super::heading::AnswerPage;
use super::hint::Hint;
use super::number::{LengthUnit, fixed, is_nothing, signed};
use super::page::{Page, Printable};
use super::plan::turns_words;
use super::sides::both_or_each;
use super::table::Table;
use crate::geometry::Figure;
use crate::plan::{Bound, TuneAim, TuneHolder, TunedLength, Tuning, TuningSide};

// Marks of the table: no longer than this, or it does not fit in one piece.
const BEST: &str = "BEST";
const LITTLE: &str = "LITTLE";
const ARM_END: &str = "ARM END";
const LIMIT: &str = "LIMIT";
const FAR: &str = "FAR";

/// What they mean.
const MARKS: [(&str, &str); 5] = [
    (BEST, "of the lengths that make sense, the best that can be set"),
    (LITTLE, "the best that can be set, but hardly worth leaving stock length for"),
    (ARM_END, "as far as the arm goes; a better length lies beyond"),
    (LIMIT, "as far as makes sense; a better length lies beyond"),
    (FAR, "turns the knuckle further than makes sense"),
];

impl Printable for AnswerPage<'_, Tuning> {
    fn put(&self, page: &mut Page) {
        let Tuning { link, sides, .. } = self.answer;
        let verdict = if sides.iter().any(|side| side.worth_it) {
            "ADVICE: stock length, unless what follows is worth it to you"
        } else {
            "ADVICE: stay at stock length"
        };
        self.head(page, &format!("Bump steer by the length of \"{link}\""), verdict);
        both_or_each(sides, |side| self.advice(side), |name, text| page.item("-", format!("{name}: {text}")));
        both_or_each(
            sides,
            |side| self.sensible(side),
            |name, text| page.item("-", format!("{name}, {text}.")),
        );
        page.gap();
        page.rest(|page| {
            // The lengths tried are a whole mm apart.
            let what = match self.units.length {
                LengthUnit::Millimetres => "WHAT EACH MM BUYS",
                LengthUnit::Inches => "WHAT EACH LENGTH BUYS",
            };
            both_or_each(
                sides,
                |side| self.table(side),
                |name, table| {
                    page.heading(format!("{what}, camber and toe held, {name}"));
                    page.table(table);
                    page.gap();
                },
            );
            self.words(page);
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            self.notes(page);
        });
    }
}

impl AnswerPage<'_, Tuning> {
    fn window(&self) -> String {
        let [down, up] = self.answer.window_mm.map(|travel| self.units.length(travel));
        let name = self.units.length_name();
        if down == up {
            format!("{up} {name} of bump and droop")
        } else {
            format!("{up} {name} of bump and {down} of droop")
        }
    }

    /// What stock length does, and what the best one that can be locked would.
    fn advice(&self, side: &TuningSide) -> String {
        let stock = &side.stock;
        let keeps = if side.stock_keeps_toe {
            format!("within its tolerance over {}, so there is little to gain", self.window())
        } else {
            format!("outside its tolerance somewhere within {}", self.window())
        };
        format!(
            "at stock length, {}, bump steer is {} and toe goes {}; it stays {keeps}. {}",
            self.units.with_unit(stock.length_mm),
            self.steer(stock),
            self.toe_range(side, stock),
            if side.worth_it { self.gain(side) } else { self.stay(side) } + &self.beyond(side)
        )
    }

    /// What is gained by leaving stock length.
    fn gain(&self, side: &TuningSide) -> String {
        let (best, locked) = (&side.best, &side.locked);
        let units = self.units;
        let saves = self.toe_of(side, side.saves_toe_deg);
        let what = match self.answer.aim {
            TuneAim::Gradient => {
                format!(
                    "make it {} at ride height and save {saves} of toe over that travel",
                    self.steer(locked)
                )
            }
            TuneAim::Span => format!(
                "save {saves} of toe over that travel and leave {} from end to end",
                self.toe_of(side, locked.bump_steer.toe_span_deg)
            ),
        };
        let Some(count) = locked.turns else {
            return format!("{} ({}) would {what}.", self.by(locked), units.with_unit(locked.length_mm));
        };
        format!(
            "{} {} ({}, {}) would {what}. That is whole steps of its thread; exactly it would be {}.",
            turns_words(count),
            way(locked),
            self.by_far(locked),
            units.with_unit(locked.length_mm),
            units.with_unit(best.length_mm),
        )
    }

    /// That the best lies beyond, where it does, and what keeps the advice from going there.
    fn beyond(&self, side: &TuningSide) -> String {
        let Some(bound) = side.best_stopped_by else { return String::new() };
        let longer = side.sensible_mm.is_some_and(|[_, longest]| side.best.length_mm >= longest);
        let why = ending(side, bound, if longer { "longer" } else { "shorter" });
        match bound {
            Bound::Shortest | Bound::Longest => {
                format!(" {} is {why}; the best lies beyond.", self.units.with_unit(side.best.length_mm))
            }
            _ => format!(" The best lies beyond, but {why}."),
        }
    }

    /// Why stock length is better kept.
    fn stay(&self, side: &TuningSide) -> String {
        let (best, locked) = (&side.best, &side.locked);
        if is_nothing(best.longer_mm) {
            return "Stay at stock: no other length that makes sense does better.".to_owned();
        }
        if is_nothing(locked.longer_mm) {
            return format!(
                "Stay at stock: no step of its thread that can be locked does better (exactly {} would).",
                self.by(best)
            );
        }
        if side.saves_toe_deg <= 0.0 {
            return format!(
                "Stay at stock: {} would make it {} at ride height, but saves no toe over that travel.",
                self.by(locked),
                self.steer(locked)
            );
        }
        format!(
            "Stay at stock: {} saves only {} of toe over that travel.",
            self.by(locked),
            self.toe_fine(side, side.saves_toe_deg)
        )
    }

    fn steer(&self, trial: &TunedLength) -> String {
        let gradient = self.units.gradient(trial.bump_steer.gradient_deg_per_100_mm);
        format!("{gradient} deg per {}", self.units.stretch().name)
    }

    /// How much longer or shorter than stock.
    fn by(&self, trial: &TunedLength) -> String {
        format!("{} {}", self.by_far(trial), way(trial))
    }

    fn by_far(&self, trial: &TunedLength) -> String {
        self.units.with_unit(trial.longer_mm.abs())
    }

    /// The lengths that make sense, and what ends them.
    fn sensible(&self, side: &TuningSide) -> String {
        let (Some([low, high]), Some([short, long])) = (side.sensible_mm, side.sensible_ends) else {
            return "no length that this arm takes makes sense here".to_owned();
        };
        let [low, high] = [low, high].map(|length| self.units.with_unit(length));
        if short == long {
            return format!("lengths that make sense: {low} to {high} ({})", ending(side, short, "further"));
        }
        format!(
            "lengths that make sense: {low} ({}) to {high} ({})",
            ending(side, short, "shorter"),
            ending(side, long, "longer")
        )
    }

    fn toe_of(&self, side: &TuningSide, toe_deg: f64) -> String {
        format!("{} {}", self.units.toe.show_size(side.side, toe_deg), self.units.toe.name())
    }

    fn toe_fine(&self, side: &TuningSide, toe_deg: f64) -> String {
        format!("{} {}", self.units.toe.show_size_fine(side.side, toe_deg), self.units.toe.name())
    }

    fn toe_range(&self, side: &TuningSide, trial: &TunedLength) -> String {
        let [least, most] = [trial.bump_steer.toe_least_deg, trial.bump_steer.toe_most_deg]
            .map(|toe| self.units.toe.show(side.side, toe));
        format!("from {least} to {most} {}", self.units.toe.name())
    }

    /// What each mm buys.
    fn table(&self, side: &TuningSide) -> Table {
        let holders: Vec<String> = side.stock.held_by.iter().map(|holder| holder.link.clone()).collect();
        let rim = format!("rim {}", self.units.length_name());
        let mut head = vec!["longer", "turns", "pitch", "steer", &rim, "toe from", "to"];
        head.extend(holders.iter().map(String::as_str));
        head.push("<");
        let mut table = Table::new(&head);
        let mut rows: Vec<(&TunedLength, &str)> = side.trials.iter().map(|trial| (trial, "")).collect();
        // One of the whole mm may be that length already; stock is.
        let shown = |trial: &TunedLength| fixed(trial.longer_mm, 6) == fixed(side.locked.longer_mm, 6);
        rows.retain(|(trial, _)| !shown(trial) || is_stock(trial));
        if !is_stock(&side.locked) {
            rows.push((&side.locked, mark(side)));
        }
        rows.sort_by(|(a, _), (b, _)| a.length_mm.total_cmp(&b.length_mm));
        for (trial, note) in rows {
            table.row(self.row(side, trial, note));
        }
        table
    }

    fn row(&self, side: &TuningSide, trial: &TunedLength, note: &str) -> Vec<String> {
        let steer = &trial.bump_steer;
        let toe = |toe_deg| self.units.toe.show(side.side, toe_deg);
        let mut row = vec![
            self.units.counted(trial.longer_mm, note.is_empty()),
            trial.turns.map_or("-".to_owned(), |count| signed(count, 2)),
            signed(trial.pitch_deg, 2),
            self.units.gradient(steer.gradient_deg_per_100_mm),
            (steer.gradient_rim_mm_per_100_mm)
                .map_or("-".to_owned(), |gradient| self.units.gradient_of_length(gradient)),
            toe(steer.toe_least_deg),
            toe(steer.toe_most_deg),
        ];
        row.extend(trial.held_by.iter().map(|holder| self.units.length_signed(holder.by_mm)));
        let ends = trial.held_by.iter().any(|holder: &TuneHolder| !holder.in_reach);
        let notes = [
            note,
            if is_stock(trial) { "stock" } else { "" },
            if ends { "AT AN END" } else { "" },
            if is_far(side, trial) { FAR } else { "" },
        ];
        row.push(notes.into_iter().filter(|note| !note.is_empty()).collect::<Vec<_>>().join(", "));
        row
    }

    fn words(&self, page: &mut Page) {
        let (name, stretch) = (self.units.length_name(), self.units.stretch().name);
        page.note(format!(
            "longer: {name}; pitch: deg; steer: bump steer, change of toe at ride height, deg per {stretch}"
        ));
        page.line(format!(
            "  of bump; rim {name}: the same at the rim; from, to: toe in {} over",
            self.units.toe.name()
        ));
        page.line(format!("  {}; last columns: what holds", self.window()));
        page.line(format!(
            "  camber and toe, {name} longer than stock (a cam: {name} from the middle of its slot)"
        ));
        let sides = &self.answer.sides;
        let far = |side: &TuningSide| side.trials.iter().any(|trial| is_far(side, trial));
        let marked = |side: &TuningSide, what: &str| {
            if what == FAR { far(side) } else { !is_stock(&side.locked) && mark(side) == what }
        };
        for (what, meaning) in MARKS {
            if sides.iter().any(|side| marked(side, what)) {
                page.line(format!("  {what}: {meaning}"));
            }
        }
        page.gap();
    }

    fn notes(&self, page: &mut Page) {
        let link = &self.answer.link;
        let sides = &self.answer.sides;
        if sides.iter().any(|side| !side.range_known) {
            page.item("-", format!(
                    "\"{link}\" has no [link.arm] in the profile, so nobody looked whether an arm takes these lengths."
                ));
        }
        page.paragraph(format!(
                "Bump steer hangs on how high the pivots are, and a tape is {} out. Before turning anything, read toe at \
                 three heights and hold it against {}; if the two do not agree, measure the pivots again.",
                match self.units.length {
                    LengthUnit::Millimetres => "a few mm",
                    LengthUnit::Inches => "an eighth of an inch",
                },
                page.hint(Hint::Travel)
            ));
        page.gap();
        page.item("-", "A longer or shorter arm turns the knuckle: it winds up every rubber bush on it and moves the brake, the shaft \
             and the links towards their neighbours. Sweep the wheel by hand over its whole travel, spring out, before driving.");
        // Only an arm that sets pitch can be told its length by a target.
        let mut links = self.car.sides.iter().flat_map(|side| &side.links);
        if links.any(|known| known.name == *link && known.sets == Some(Figure::Pitch)) {
            page.item("-", format!("To have turns and a bench sheet for a length: put its pitch into [spec] as `pitch`, then {} with \
                 {} and the names of all three arms.", page.hint(Hint::Plan), page.hint(Hint::Fit)));
        }
    }
}

/// What ends the lengths that make sense, `further`: longer, shorter, or either.
fn ending(side: &TuningSide, bound: Bound, further: &str) -> String {
    match bound {
        Bound::Shortest => "as short as this arm goes".to_owned(),
        Bound::Longest => "as long as this arm goes".to_owned(),
        Bound::Thread => format!("any {further} and too little thread would be in the body"),
        Bound::Pitch => format!(
            "any {further} and the knuckle would turn by more than {} deg",
            fixed(side.pitch_limit_deg, 1)
        ),
        Bound::Spec if side.stock.result.within_spec => {
            format!("any {further} and camber or toe would leave the spec")
        }
        Bound::Spec => {
            format!("any {further} and the wheel would be further out of spec than at stock length")
        }
        Bound::Position => format!("any {further} and the links would not go together"),
        Bound::Looked => format!("nobody looked any {further}"),
    }
}

/// The knuckle is turned further than makes sense.
fn is_far(side: &TuningSide, trial: &TunedLength) -> bool {
    trial.pitch_deg.abs() > side.pitch_limit_deg
}

fn is_stock(trial: &TunedLength) -> bool {
    fixed(trial.longer_mm.abs(), 6) == fixed(0.0, 6)
}

fn way(trial: &TunedLength) -> &'static str {
    if trial.longer_mm > 0.0 { "longer" } else { "shorter" }
}

/// How the length that is advised is marked: nothing is the best where a better one lies beyond.
fn mark(side: &TuningSide) -> &'static str {
    match side.best_stopped_by {
        _ if !side.worth_it => LITTLE,
        None => BEST,
        Some(Bound::Shortest | Bound::Longest | Bound::Thread) => ARM_END,
        Some(_) => LIMIT,
    }
}
