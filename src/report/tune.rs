//! The page of `tune`.

use std::fmt;

use super::heading::heading;
use super::number::{LengthUnit, Units, fixed, is_nothing, signed};
use super::table::Table;
use super::words::{item, note, paragraph, width};
use crate::car::{Car, Stance};
use crate::geometry::Figure;
use crate::plan::{Aim, Holder, Trial, Tuning, TuningSide};

/// What another length of a link would do to bump steer, for people.
#[derive(Debug)]
pub struct TunePage<'a> {
    /// The car.
    pub car: &'a Car,
    /// How it stands.
    pub stance: &'a Stance,
    /// The answer.
    pub answer: &'a Tuning,
    /// The units shown.
    pub units: Units,
}

impl fmt::Display for TunePage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Tuning { link, sides, .. } = self.answer;
        let columns = width(f);
        heading(f, &format!("Bump steer by the length of \"{link}\""), self.car, self.stance, self.units)?;
        writeln!(f, "ADVICE: stock length, unless what follows is worth it to you")?;
        both_or_each(sides, |side| self.advice(side), |name, text| item(f, "-", &format!("{name}: {text}")))?;
        writeln!(f)?;
        // The lengths tried are a whole mm apart.
        let what = match self.units.length {
            LengthUnit::Millimetres => "WHAT EACH MM BUYS",
            LengthUnit::Inches => "WHAT EACH LENGTH BUYS",
        };
        both_or_each(
            sides,
            |side| self.table(side, columns),
            |name, table| writeln!(f, "{what}, camber and toe held, {name}\n{table}"),
        )?;
        self.words(f)?;
        self.notes(f)
    }
}

impl TunePage<'_> {
    fn window(&self) -> String {
        let [down, up] = self.answer.window_mm.map(|travel| self.units.length(travel));
        let name = self.units.length_name();
        if down == up {
            format!("{up} {name} of bump and droop")
        } else {
            format!("{up} {name} of bump and {down} of droop")
        }
    }

    /// What stock length does, and what the best one would.
    fn advice(&self, side: &TuningSide) -> String {
        let (stock, best) = (&side.stock, &side.best);
        let units = self.units;
        let steer = |trial: &Trial| {
            let gradient = units.gradient(trial.bump_steer.gradient_deg_per_100_mm);
            format!("{gradient} deg per {}", units.stretch().name)
        };
        let over = self.window();
        let keeps = if side.stock_keeps_toe {
            format!("within its tolerance over {over}, so there is little to gain")
        } else {
            format!("outside its tolerance somewhere within {over}")
        };
        let gain = if is_nothing(best.longer_mm) {
            "No other length does better.".to_owned()
        } else {
            let way = if best.longer_mm > 0.0 { "longer" } else { "shorter" };
            let by = units.with_unit(best.longer_mm.abs());
            let turns =
                best.turns.map_or(String::new(), |count| format!(", {} turns", fixed(count.abs(), 2)));
            let what = match self.answer.aim {
                Aim::Gradient => format!("least at ride height, {}", steer(best)),
                Aim::Span => format!(
                    "least over {over}, {} from end to end",
                    self.toe_of(side, best.bump_steer.toe_span_deg)
                ),
            };
            format!("{by} {way} ({}{turns}) would make it {what}.", units.with_unit(best.length_mm))
        };
        format!(
            "at stock length, {}, bump steer is {} and toe goes {}; it stays {keeps}. {gain}",
            units.with_unit(stock.length_mm),
            steer(stock),
            self.toe_range(side, stock)
        )
    }

    fn toe_of(&self, side: &TuningSide, toe_deg: f64) -> String {
        format!("{} {}", self.units.toe.show_size(side.side.index(), toe_deg), self.units.toe.name())
    }

    fn toe_range(&self, side: &TuningSide, trial: &Trial) -> String {
        let [least, most] = [trial.bump_steer.toe_least_deg, trial.bump_steer.toe_most_deg]
            .map(|toe| self.units.toe.show(side.side.index(), toe));
        format!("from {least} to {most} {}", self.units.toe.name())
    }

    /// What each mm buys.
    fn table(&self, side: &TuningSide, columns: usize) -> String {
        let holders: Vec<String> = side.stock.held_by.iter().map(|holder| holder.link.clone()).collect();
        let rim = format!("rim {}", self.units.length_name());
        let mut head = vec!["longer", "turns", "pitch", "steer", &rim, "toe from", "to"];
        head.extend(holders.iter().map(String::as_str));
        head.push("<");
        let mut table = Table::new(&head);
        let mut rows: Vec<(&Trial, &str)> = side.trials.iter().map(|trial| (trial, "")).collect();
        rows.push((&side.best, "BEST"));
        rows.sort_by(|(a, _), (b, _)| a.length_mm.total_cmp(&b.length_mm));
        for (trial, note) in rows {
            table.row(self.row(side, trial, note));
        }
        format!("{table:columns$}")
    }

    fn row(&self, side: &TuningSide, trial: &Trial, note: &str) -> Vec<String> {
        let steer = &trial.bump_steer;
        let toe = |toe_deg| self.units.toe.show(side.side.index(), toe_deg);
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
        let stock = fixed(trial.longer_mm, 6) == "0.000000";
        let ends = trial.held_by.iter().any(|holder: &Holder| !holder.in_reach);
        let notes = [note, if stock { "stock" } else { "" }, if ends { "AT AN END" } else { "" }];
        row.push(notes.into_iter().filter(|note| !note.is_empty()).collect::<Vec<_>>().join(", "));
        row
    }

    fn words(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, stretch) = (self.units.length_name(), self.units.stretch().name);
        note(
            f,
            &format!("longer: {name}; pitch: deg; steer: change of toe at ride height, deg per {stretch}"),
        )?;
        writeln!(
            f,
            "  of bump; rim {name}: the same at the rim; from, to: toe in {} over",
            self.units.toe.name()
        )?;
        writeln!(f, "  {}; last columns: what holds", self.window())?;
        writeln!(
            f,
            "  camber and toe, {name} longer than stock (a cam: {name} from the middle of its slot)\n"
        )
    }

    fn notes(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let link = &self.answer.link;
        let sides = &self.answer.sides;
        if sides.iter().any(|side| !side.range_known) {
            item(
                f,
                "-",
                &format!(
                    "\"{link}\" has no [link.arm] in the profile, so nobody looked whether an arm takes these lengths."
                ),
            )?;
        }
        paragraph(
            f,
            &format!(
                "Bump steer hangs on how high the pivots are, and a tape is {} out. Before turning anything, read toe at \
                 three heights and hold it against rodset travel; if the two do not agree, measure the pivots again.",
                match self.units.length {
                    LengthUnit::Millimetres => "a few mm",
                    LengthUnit::Inches => "an eighth of an inch",
                }
            ),
        )?;
        writeln!(f)?;
        item(
            f,
            "-",
            "A longer or shorter arm turns the knuckle: it winds up every rubber bush on it and moves the brake, the shaft \
             and the links towards their neighbours. Sweep the wheel by hand over its whole travel, spring out, before driving.",
        )?;
        // Only an arm that sets pitch can be told its length by a target.
        let mut links = self.car.sides.iter().flat_map(|side| &side.links);
        if links.any(|known| known.name == *link && known.sets == Some(Figure::Pitch)) {
            return item(
                f,
                "-",
                "To have turns and a bench sheet for a length: put its pitch into [spec] as `pitch`, then rodset plan with \
                 --fit and the names of all three arms.",
            );
        }
        Ok(())
    }
}

/// Writes what belongs to each side, once where both are alike.
fn both_or_each(
    sides: &[TuningSide; 2],
    text: impl Fn(&TuningSide) -> String,
    mut write: impl FnMut(&str, &str) -> fmt::Result,
) -> fmt::Result {
    let texts = sides.each_ref().map(text);
    if texts[0] == texts[1] {
        return write("both sides", &texts[0]);
    }
    sides.iter().zip(&texts).try_for_each(|(side, text)| write(&side.side.to_string(), text))
}
