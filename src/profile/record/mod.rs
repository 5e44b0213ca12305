//! From the text of a record to rounds: what was read on a car, state by state, and how its arms and cams stood.
//!
//! A record lies beside a profile and names its links. It goes the way of a profile: the file's shape (`schema`), then its
//! values one by one (`height`, `links`, `angles`). What they come to is worked out in `measure`; the flaws that it finds are
//! told with their places in the text (`flaw`). [`write_reading`] is the way back.
//!
//! A record's turns count from the stock length, plus: longer. An arm that stands in `[reading.arms]` is a fitted one: its cam
//! is taken to be locked at the middle of the slot unless it stands in `[reading.cams]`. What stands in neither is as in the
//! profile.

mod angles;
mod flaw;
mod height;
mod instruments;
mod links;
pub(super) mod schema;
mod setting;
mod value;
mod write;

pub use write::write_reading;

use std::ops::Range;
use toml::Spanned;
use toml::value::Datetime;

use super::check::Checker;
use super::finding::Finding;
use super::keys::{Declared, record};
use super::read::parse;
use crate::car::{Car, is_ordinary};
use crate::measure::{Flaw, GapsBefore, Instruments, RawReading, Reduced, Round, Workings};
use schema::{Date, Settings};
use value::Told;

/// Nobody aligns a car so often; more would only fill the screen with findings.
const MOST_READINGS: usize = 500;

/// A record that has been read and checked against its car.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The readings, in the order of the file.
    pub rounds: Vec<Round>,
    /// What came out beside each of them where it was measured at home.
    pub workings: Vec<Workings>,
    /// What looks odd, but is no error.
    pub warnings: Vec<Finding>,
}

/// Reads a record of readings on a car.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read_record(text: &str, car: &Car) -> Result<Record, Vec<Finding>> {
    read(text, car, false)
}

/// Reads a record that will be added to: it may hold no reading yet, or only a starter's that nobody has filled in.
///
/// # Errors
///
/// As [`read_record`].
pub fn read_begun_record(text: &str, car: &Car) -> Result<Record, Vec<Finding>> {
    read(text, car, true)
}

fn read(text: &str, car: &Car, begun: bool) -> Result<Record, Vec<Finding>> {
    let (readings, warnings) = parse(text, |record| check(&record, car, begun))?;
    let (rounds, workings) = readings.into_iter().map(|reading| (reading.round, reading.workings)).unzip();
    Ok(Record { rounds, workings, warnings })
}

fn check(
    record: &record::Record,
    car: &Car,
    begun: bool,
) -> Result<(Vec<Reduced>, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker::default();
    check.format(record::Record::format.of(record), "record");
    let rounds = check.rounds(record, car, begun);
    check.conclude(rounds)
}

impl Checker {
    /// The readings; one that nobody has filled in is none, unless there is no other and there has to be one.
    fn rounds(&mut self, record: &record::Record, car: &Car, begun: bool) -> Option<Vec<Reduced>> {
        let readings = record::Record::reading.all(record);
        if readings.is_empty() && !begun {
            self.tell(
                Finding::error(0..0, "there is no reading in this record")
                    .help("each state in which the car was read is a table [[reading]]"),
            );
        }
        if let Some(extra) = readings.get(MOST_READINGS) {
            self.tell(
                Finding::error(extra.span(), format!("a record holds up to {MOST_READINGS} readings"))
                    .label("this is one more")
                    .help("begin a new file"),
            );
            return None;
        }
        self.days(readings);
        self.inches(readings);
        let instruments = self.instruments(record.sigma.as_ref());
        let before = self.gaps_before(record::Record::heights.of(record));
        let untouched = readings.iter().filter(|reading| reading.get_ref().is_untouched()).count();
        let skip = begun || untouched < readings.len();
        let rounds: Vec<Option<Reduced>> = (readings.iter())
            .filter(|reading| !(skip && reading.get_ref().is_untouched()))
            .map(|reading| self.round(reading, before.as_ref().map_err(|told| *told), &instruments, car))
            .collect();
        rounds.into_iter().collect()
    }

    fn round(
        &mut self,
        reading: &Spanned<record::Reading>,
        before: Result<&GapsBefore, Told>,
        instruments: &Instruments,
        car: &Car,
    ) -> Option<Reduced> {
        let keys = reading.get_ref();
        // What is unsound has been told of; the rest is looked at all the same.
        let title = keys.title.as_ref().and_then(|title| self.line(title));
        let date = keys.date.as_ref().and_then(|date| self.date(date));
        let height = before.and_then(|_| self.height(reading));
        let links = self.settings(keys, car);
        let angles = self.angles(keys, car);
        let unsound = [height.is_err(), links.is_err(), angles.is_err()];
        let (arms, cams) = links.unwrap_or_default();
        let raw = RawReading {
            title,
            date,
            source: keys.source.as_ref().map(|source| *source.get_ref()),
            height: height.unwrap_or_default(),
            arms,
            cams,
            turned_round: keys.turned_round.as_ref().is_some_and(|turned| *turned.get_ref()),
            angles: angles.unwrap_or_default(),
        };
        let reduced = raw.reduce(car, before.unwrap_or(&GapsBefore::default()), instruments);
        for flaw in reduced.as_ref().map_or_else(|flaws| flaws, |reduced| &reduced.oddities) {
            // Of nothing that could be read there is nothing to say.
            if !(unsound[2] && *flaw == Flaw::NothingRead) {
                self.flaw(flaw, reading, car);
            }
        }
        reduced.ok().filter(|_| unsound == [false; 3])
    }

    /// Days that there are not, in which nobody reads a car, or that are before the one of the reading above.
    fn days(&mut self, readings: &[Spanned<record::Reading>]) {
        let dates = readings.iter().filter_map(|reading| reading.get_ref().date.as_ref());
        let mut last: Option<(String, Range<usize>)> = None;
        for date in dates {
            let day = match date.get_ref() {
                Date::Day(day) => day.to_string(),
                Date::Text(text) => text.trim().to_owned(),
            };
            // 2026-11-20 is told from a word by its length and its lines.
            let parts: Vec<&str> = day.split('-').collect();
            let [year, _, _] = parts.as_slice() else { continue };
            let Some(year) = year.parse().ok().filter(|_| day.len() == 10) else { continue };
            let told = |finding: Finding| finding.help("the year, the month, the day: \"2026-11-20\"");
            if day.parse::<Datetime>().is_err() {
                self.tell(told(
                    Finding::warning(date.span(), "there is no such day").label("look at the calendar"),
                ));
            } else if !is_ordinary("the year of a reading", year) {
                self.tell(told(
                    Finding::warning(date.span(), "hardly a car was read in that year")
                        .label("is it a mistake?"),
                ));
            } else if let Some((before, place)) = last.as_ref().filter(|(before, _)| *before > day) {
                let finding = Finding::warning(date.span(), "this reading is older than the one above it");
                let label = format!("that one is of {before}");
                self.tell(told(finding.label("the earlier day").other(place.clone(), label)));
            }
            last = Some((day, date.span()));
        }
    }

    /// A date as a page shows it: one of TOML's, or any line of text.
    fn date(&mut self, date: &Spanned<Date>) -> Option<String> {
        match date.get_ref() {
            Date::Day(day) => Some(day.to_string()),
            Date::Text(text) => self.line(&Spanned::new(date.span(), text.clone())),
        }
    }
}

impl record::Reading {
    /// Whether nothing but its title was filled in, as a starter leaves it.
    pub(super) fn is_untouched(&self) -> bool {
        let blank = |wheel: &&Option<Spanned<record::Wheel>>| {
            wheel.as_ref().is_some_and(|wheel| wheel.get_ref().given().is_empty())
        };
        let unset =
            |set: &&Option<Spanned<Settings>>| set.as_ref().is_some_and(|set| set.get_ref().is_empty());
        let idle = usize::from(self.title.is_some())
            + [&self.left, &self.right].into_iter().filter(blank).count()
            + [&self.arms, &self.cams].into_iter().filter(unset).count();
        self.given().len() == idle
    }
}
