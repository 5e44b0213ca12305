//! The page of an explained figure.

use super::bars::{BarRow, put_rows};
use super::glossary::GlossaryPage;
use super::heading::lowering;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use crate::car::Hand;
use crate::explain::{AccountStep, Explained, Explanation, How, OtherFigure, SettingStep, Unit};

/// So many things that move a figure are shown; the others are told together.
const SHOWN: usize = 8;

/// One figure explained, for people.
#[derive(Debug)]
pub(crate) struct ExplainPage<'a> {
    /// What the answer is about.
    pub(crate) about: &'a str,
    /// The explanation.
    pub(crate) answer: &'a Explained,
    /// The units shown.
    pub(crate) units: Units,
}

impl Printable for ExplainPage<'_> {
    fn put(&self, page: &mut Page) {
        let Explained { name, meaning, figures, others, passed_over, .. } = self.answer;
        page.title(format!("{}: {}", upper_first(name), self.about));
        let values: Vec<String> = figures.iter().map(|figure| self.value_of(figure)).collect();
        page.line(format!("  {}", values.join("    ")));
        page.gap();
        page.paragraph(meaning);
        page.gap();
        self.how(page);
        self.account(page);
        self.measured(page);
        self.settings(page);
        write_words(page, &format!("{name} {meaning}"));
        if *passed_over > 0 {
            page.item(
                "-",
                format!("What each of {passed_over} readings does to it was not tried: they are too many."),
            );
        }
        if !others.is_empty() {
            page.item("-", format!("These words fit other figures too, such as: {}.", others.join("; ")));
        }
        let at: Vec<&str> = figures.iter().map(|figure| figure.at.as_str()).collect();
        page.item("-", format!("In the JSON of the answer it stands at {}.", at.join(" and ")));
    }
}

impl ExplainPage<'_> {
    /// A figure with its unit, and its side where there are two.
    fn value_of(&self, figure: &Explanation) -> String {
        let value = match figure.value {
            Some(value) => self.with_unit(figure.side, value),
            None => "none for this car".to_owned(),
        };
        match figure.side {
            Some(hand) if self.answer.figures.len() > 1 => format!("{hand} {value}"),
            _ => value,
        }
    }

    fn how(&self, page: &mut Page) {
        let told: Vec<(&How, Option<Hand>)> = (self.answer.figures.iter())
            .filter_map(|figure| Some((figure.how.as_ref()?, figure.side)))
            .collect();
        let Some((first, others)) = told.split_first() else { return };
        let numbers = |(how, side): &(&How, Option<Hand>)| -> Vec<String> {
            how.numbers.iter().map(|number| self.number(number, *side)).collect()
        };
        let (how, here) = (first.0, numbers(first));
        let filled = how.numbers.iter().zip(&here).fold(how.text.clone(), |text, (number, shown)| {
            text.replace(&format!("{{{}}}", number.key), shown)
        });
        page.heading("HOW IT IS WORKED OUT");
        page.paragraph(filled);
        // The same words hold for the other side, with some numbers of its own.
        for other in others {
            let there = numbers(other);
            let pairs = here.iter().zip(&there).filter(|(here, there)| here != there);
            let own: Vec<String> = pairs.map(|(here, there)| format!("{there} in place of {here}")).collect();
            if let (Some(hand), false) = (other.1, own.is_empty()) {
                page.paragraph(format!("On the {hand}: {}.", own.join(", ")));
            }
        }
        page.gap();
    }

    /// A number that stands in the words.
    fn number(&self, number: &OtherFigure, side: Option<Hand>) -> String {
        let unit = Unit::of(&number.key).0;
        match (number.value, unit) {
            (None, _) => "(not known)".to_owned(),
            (Some(value), Unit::Length) => self.units.with_unit(value),
            (Some(value), Unit::Angle) => format!("{} deg", self.value(unit, side, value, 0)),
            (Some(value), _) => self.value(unit, side, value, 0),
        }
    }

    fn account(&self, page: &mut Page) {
        let figures = &self.answer.figures;
        if figures.iter().all(|figure| figure.account.len() < 2) {
            return;
        }
        page.heading("HOW IT CAME ABOUT FOR THIS CAR, ONE STEP AFTER THE OTHER");
        let mut table = self.table("<", &["by"]);
        let mut steps: Vec<AccountStep> =
            figures.iter().flat_map(|figure| &figure.account).map(|stage| stage.step).collect();
        steps.sort_by_key(|step| place(*step));
        steps.dedup();
        for step in &steps {
            let cells = figures.iter().map(|figure| {
                let stage = figure.account.iter().find(|stage| stage.step == *step);
                match stage {
                    Some(stage) if *step == AccountStep::AsMeasured => {
                        self.value(self.answer.unit, figure.side, stage.value, 1)
                    }
                    stage => self.change(figure.side, Some(stage.map_or(0.0, |stage| stage.change))),
                }
            });
            table.row([self.step(*step, steps.contains(&AccountStep::Target))].into_iter().chain(cells));
        }
        let makes = figures.iter().map(|figure| {
            figure.value.map_or(String::new(), |value| self.value(self.answer.unit, figure.side, value, 1))
        });
        table.row(["makes".to_owned()].into_iter().chain(makes));
        page.table(table);
        page.gap();
    }

    fn step(&self, step: AccountStep, aimed: bool) -> String {
        match step {
            AccountStep::AsMeasured if aimed => "as measured, aimed at what it read there".to_owned(),
            AccountStep::AsMeasured => "as measured".to_owned(),
            AccountStep::CamsLocked => "cams locked at the middle of their slots".to_owned(),
            AccountStep::Rear(drops) => format!("rear {}", lowering(drops, self.units)),
            AccountStep::Front(drop) => format!("front lowered by {}", self.units.with_unit(drop)),
            AccountStep::Target => "aimed at the spec".to_owned(),
        }
    }

    fn measured(&self, page: &mut Page) {
        let figures = &self.answer.figures;
        let count = figures[0].measured.len();
        let effect = |i: usize| {
            let of = |figure: &Explanation| {
                let moved = &figure.measured[i];
                [moved.more, moved.less].map(|change| change.map_or(f64::INFINITY, f64::abs))
            };
            figures.iter().filter(|figure| figure.value.is_some()).flat_map(of).fold(0.0, f64::max)
        };
        let shown = |i: usize| {
            figures.iter().any(|figure| {
                let moved = &figure.measured[i];
                figure.value.is_some()
                    && [moved.more, moved.less]
                        .into_iter()
                        .any(|change| !self.is_nothing(figure.side, change))
            })
        };
        let mut order: Vec<usize> = (0..count).filter(|i| shown(*i)).collect();
        order.sort_by(|a, b| effect(*b).total_cmp(&effect(*a)));
        if count == 0 || figures.iter().all(|figure| figure.value.is_none()) {
            return;
        }
        page.heading("WHAT IT IS SENSITIVE TO: WHAT WAS MEASURED");
        if order.is_empty() {
            page.paragraph("Nothing that was measured moves it by as much as is shown, each taken as far off as it may be.");
            page.gap();
            return;
        }
        // Both sides beside each other leave room for one way only.
        let ways: &[&str] = if figures.len() > 1 { &["more"] } else { &["more", "less"] };
        let mut table = self.table("<so much more of", ways);
        for i in order.iter().copied().take(SHOWN) {
            let moved = &figures[0].measured[i];
            let known = match moved.unit {
                Unit::Length => self.units.with_unit(moved.known_to),
                _ => format!("{} deg", fixed(moved.known_to, 2)),
            };
            let cells = figures.iter().flat_map(|figure| {
                let moved = [figure.measured[i].more, figure.measured[i].less];
                moved.into_iter().take(ways.len()).map(|change| self.change(figure.side, change))
            });
            table.row([format!("{}, {known}", moved.what)].into_iter().chain(cells));
        }
        page.table(table);
        for figure in figures.iter().filter(|figure| figure.value.is_some()) {
            let change = |change: Option<f64>| Some((change?, self.change(figure.side, change)));
            let rows: Vec<BarRow> = (order.iter().take(SHOWN).map(|i| &figure.measured[*i]))
                .map(|moved| BarRow {
                    name: moved.what.clone(),
                    ways: [change(moved.more), change(moved.less)],
                })
                .collect();
            let side = figure.side.map_or(String::new(), |side| format!(", {side}"));
            put_rows(
                page,
                &format!("What moves it most, {}{side}", self.unit()),
                ["more of it", "less of it"],
                &rows,
            );
        }
        let good: Vec<String> =
            figures.iter().filter_map(|figure| Some(self.plain_size(figure.side, figure.good_to?))).collect();
        let mut text = "Each row is the whole question solved again with one thing off by its standard deviation; a point without a side is \
                        that of both, which are mirror images."
            .to_owned();
        if order.len() > SHOWN {
            text += &format!(" {} more move it less.", order.len() - SHOWN);
        }
        if !good.is_empty() {
            let both: Vec<&str> = good.iter().map(String::as_str).collect();
            let both = if both.windows(2).all(|pair| pair[0] == pair[1]) {
                both[0].to_owned()
            } else {
                both.join(" and ")
            };
            text += &format!(" All of them together: good to {both} in 95 of 100.");
        }
        page.note(text);
        page.gap();
    }

    fn settings(&self, page: &mut Page) {
        let figures = &self.answer.figures;
        let mut keys: Vec<(&str, f64)> = Vec::new();
        for figure in figures {
            for setting in &figure.settings {
                if self.is_nothing(figure.side, setting.change) {
                    continue;
                }
                let effect = setting.change.map_or(f64::INFINITY, f64::abs);
                match keys.iter_mut().find(|(key, _)| *key == setting.key) {
                    Some((_, most)) => *most = most.max(effect),
                    None => keys.push((&setting.key, effect)),
                }
            }
        }
        if keys.is_empty() {
            return;
        }
        keys.sort_by(|a, b| b.1.total_cmp(&a.1));
        page.heading("WHAT ELSE IN THE PROFILE MOVES IT");
        let mut table = self.table("<key", &["so much more"]);
        for (key, _) in keys.iter().take(SHOWN) {
            let found =
                figures.iter().flat_map(|figure| &figure.settings).find(|setting| setting.key == *key);
            let step = match found.map(|setting| setting.step) {
                Some(SettingStep::Millimetre) => self.units.caliper(1.0) + " " + self.units.length_name(),
                _ => "1 %".to_owned(),
            };
            let cells = figures.iter().map(|figure| {
                let setting = figure.settings.iter().find(|setting| setting.key == *key);
                setting.map_or_else(
                    || self.change(figure.side, Some(0.0)),
                    |setting| self.change(figure.side, setting.change),
                )
            });
            table.row([format!("{key}, {step} more")].into_iter().chain(cells));
        }
        page.table(table);
        if keys.len() > SHOWN {
            page.note(format!("{} more move it less.", keys.len() - SHOWN));
        }
        page.gap();
    }

    /// A table with the same columns for each figure, their sides above them.
    fn table(&self, first: &str, columns: &[&str]) -> Table {
        let figures = &self.answer.figures;
        let unit = match self.unit() {
            unit if unit.is_empty() => "by".to_owned(),
            unit => unit,
        };
        let mut head = vec![first.to_owned()];
        for figure in figures {
            for (i, column) in columns.iter().enumerate() {
                let column = if columns.len() == 1 { "" } else { *column };
                head.push(match figure.side {
                    Some(hand) if figures.len() > 1 && i == 0 && column.is_empty() => {
                        format!("{hand} {unit}")
                    }
                    Some(hand) if figures.len() > 1 && i == 0 => format!("{hand} {unit}: {column}"),
                    _ if figures.len() == 1 && i == 0 => format!("{column} {unit}"),
                    _ => column.to_owned(),
                });
            }
        }
        let head: Vec<String> = head.iter().map(|head| head.trim().to_owned()).collect();
        Table::new(&head.iter().map(String::as_str).collect::<Vec<_>>())
    }

    /// The name of the unit in which the figure is shown.
    fn unit(&self) -> String {
        match self.answer.unit {
            Unit::Length => self.units.length_name().to_owned(),
            Unit::Angle => "deg".to_owned(),
            Unit::Toe => self.units.toe.name().to_owned(),
            Unit::AnglePerTravel => format!("deg/{}", self.units.stretch().name),
            Unit::LengthPerTravel => format!("{}/{}", self.units.length_name(), self.units.stretch().name),
            Unit::Other(name) => name.to_owned(),
        }
    }

    fn with_unit(&self, side: Option<Hand>, value: f64) -> String {
        format!("{} {}", self.value(self.answer.unit, side, value, 0), self.unit()).trim_end().to_owned()
    }

    /// A figure as pages show it, with more decimals.
    fn value(&self, unit: Unit, side: Option<Hand>, value: f64, more: usize) -> String {
        let wheel = side.unwrap_or(Hand::Left);
        match unit {
            Unit::Length => self.units.length_to(value, 1 + more),
            Unit::Angle => signed(value, 2 + more),
            Unit::Toe if more > 0 => self.units.toe.show_fine(wheel, value),
            Unit::Toe => self.units.toe.show(wheel, value),
            Unit::AnglePerTravel => self.units.gradient(value),
            Unit::LengthPerTravel => self.units.gradient_of_length(value),
            Unit::Other(_) => fixed(value, decimals(value) + more.min(1)),
        }
    }

    /// Decimals of figures in plain numbers: as many as the largest of them needs.
    fn decimals(&self) -> usize {
        self.answer.figures.iter().filter_map(|figure| figure.value).map(decimals).min().unwrap_or(3)
    }

    /// A change of the figure.
    fn change(&self, side: Option<Hand>, change: Option<f64>) -> String {
        self.change_in(self.units, side, change)
    }

    fn change_in(&self, units: Units, side: Option<Hand>, change: Option<f64>) -> String {
        let Some(change) = change else { return "lost".to_owned() };
        let wheel = side.unwrap_or(Hand::Left);
        match self.answer.unit {
            Unit::Length => units.caliper_signed(change),
            Unit::Angle => signed(change, 3),
            Unit::Toe => units.toe.show_fine(wheel, change),
            Unit::AnglePerTravel => units.gradient(change),
            Unit::LengthPerTravel => units.gradient_of_length(change),
            Unit::Other(_) => signed(change, self.decimals() + 1),
        }
    }

    fn plain_size(&self, side: Option<Hand>, size: f64) -> String {
        format!("{} {}", self.change(side, Some(size)).trim_start_matches('+'), self.unit())
            .trim_end()
            .to_owned()
    }

    /// Whether a change would be shown as nothing, in whatever unit of lengths.
    fn is_nothing(&self, side: Option<Hand>, change: Option<f64>) -> bool {
        let shown = self.change_in(self.units.to_compare(), side, change);
        change.is_some() && shown.bytes().all(|byte| b"0.".contains(&byte))
    }
}

/// The order in which steps are taken.
fn place(step: AccountStep) -> usize {
    match step {
        AccountStep::AsMeasured => 0,
        AccountStep::CamsLocked => 1,
        AccountStep::Rear(_) => 2,
        AccountStep::Front(_) => 3,
        AccountStep::Target => 4,
    }
}

/// Decimals that give a number four digits that count, or three where it is less than one.
fn decimals(value: f64) -> usize {
    match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 10.0 => 2,
        _ => 3,
    }
}

fn upper_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The words of the trade that stand in a text.
fn write_words(page: &mut Page, text: &str) {
    let Ok(glossary) = GlossaryPage::of(None) else { return };
    let met = glossary.met(text, &mut Vec::new());
    if met.is_empty() {
        return;
    }
    page.heading("WORDS");
    page.items("-", met.iter().map(|(word, meaning)| format!("{word}: {meaning}")));
    page.gap();
}
