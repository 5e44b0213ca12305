//! From the text of a record to rounds: what was read on a car, state by state, and how its arms and cams stood.
//!
//! A record lies beside a profile and names its links. It goes the way of a profile: the file's shape (`schema`), then its
//! sense (`height`, `links`, `wheel`), and findings that point into the text. [`write_reading`] is the way back.

mod camber;
mod floor;
mod height;
mod instruments;
mod lengths;
mod links;
pub(super) mod schema;
mod setting;
mod toe;
mod wheel;
mod write;

pub use write::write_reading;

use std::ops::Range;
use toml::Spanned;

use super::check::Checker;
use super::finding::Finding;
use crate::car::Car;
use crate::measure::{Measured, Round, Workings};
use instruments::{Instruments, Usual};

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

/// Something is unsound and has been told of.
struct Told;

/// By what means a reading was made.
struct Means {
    usual: Usual,
    instruments: Instruments,
}

/// An angle as it was read or worked out, rad.
struct Worked {
    angle: Measured,
    /// Half of what two readings half a wheel turn apart differ by, rad.
    run_out: Option<f64>,
    /// Where it stands.
    place: Range<usize>,
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
    let (readings, warnings) = super::parse(text, |record| check(record, car, begun))?;
    let (rounds, workings) = readings.into_iter().unzip();
    Ok(Record { rounds, workings, warnings })
}

/// A reading with its workings.
type Read = (Round, Workings);

fn check(record: &schema::Record, car: &Car, begun: bool) -> Result<(Vec<Read>, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker::default();
    check.format(schema::Record::format.of(record), "record");
    let rounds = check.rounds(record, car, begun);
    check.conclude(rounds)
}

impl Checker {
    /// The readings; one that nobody has filled in is none, unless there is no other and there has to be one.
    fn rounds(&mut self, record: &schema::Record, car: &Car, begun: bool) -> Option<Vec<Read>> {
        let readings = schema::Record::reading.all(record);
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
        let instruments = self.instruments(record.sigma.as_ref());
        let untouched = readings.iter().filter(|reading| reading.get_ref().is_untouched()).count();
        let skip = begun || untouched < readings.len();
        let rounds: Vec<Option<Read>> = (readings.iter())
            .filter(|reading| !(skip && reading.get_ref().is_untouched()))
            .map(|reading| self.round(reading, record.heights.as_ref(), instruments, car))
            .collect();
        rounds.into_iter().collect()
    }

    fn round(
        &mut self,
        reading: &Spanned<schema::Reading>,
        before: Option<&Spanned<schema::Heights>>,
        instruments: Instruments,
        car: &Car,
    ) -> Option<Read> {
        let keys = reading.get_ref();
        let source = keys.source.as_ref().map(|source| *source.get_ref());
        let means = Means { usual: Usual::of(source, &car.sigmas), instruments };
        // An unsound title has been told of; the rest is looked at all the same.
        let title = keys.title.as_ref().and_then(|title| self.line(title));
        let date = keys.date.as_ref().and_then(|date| self.date(date));
        let height = self.height(reading, before, &means, car);
        let settings = self.settings(keys, car);
        let wheels = self.wheels(reading, car, &means);
        let (height, settings, wheels) = (height.ok()?, settings?, wheels.ok()?);
        let round = Round {
            title,
            date,
            drops: height.drops.into(),
            drop_sigma: height.sigma,
            front: height.front,
            lengths: settings.lengths.into(),
            shifts: settings.shifts.into(),
            wheels: wheels.wheels.into(),
            total_toe: wheels.total_toe,
            source,
            levelled: wheels.workings.floor.is_some(),
            turned_round: keys.turned_round.as_ref().is_some_and(|turned| *turned.get_ref()),
        };
        Some((round, wheels.workings))
    }

    /// A date as a page shows it: one of TOML's, or any line of text.
    fn date(&mut self, date: &Spanned<schema::Date>) -> Option<String> {
        match date.get_ref() {
            schema::Date::Day(day) => Some(day.to_string()),
            schema::Date::Text(text) => self.line(&Spanned::new(date.span(), text.clone())),
        }
    }

    /// One thing may be given in one way only.
    fn one_way(&mut self, ways: [Option<Range<usize>>; 3], what: &str) -> Result<(), Told> {
        let mut ways: Vec<Range<usize>> = ways.into_iter().flatten().collect();
        ways.sort_by_key(|way| way.start);
        if let [one, other, ..] = &ways[..] {
            self.tell(
                Finding::error(other.clone(), format!("{what} is given twice"))
                    .label("this way")
                    .other(one.clone(), "and this way")
                    .help("keep one of them"),
            );
            return Err(Told);
        }
        Ok(())
    }

    /// A reading after half a turn needs the one before.
    fn half_turn_of(&mut self, half_turn: Option<Range<usize>>, before: bool, key: &str) -> Result<(), Told> {
        match half_turn {
            Some(place) if !before => {
                self.tell(
                    Finding::error(place, "half a turn after what?")
                        .label(format!("needs `{key}` beside it, as it was before the wheel was turned")),
                );
                Err(Told)
            }
            _ => Ok(()),
        }
    }
}
