//! From the text of a record to rounds: what was read on a car, state by state, and how its arms and cams stood.
//!
//! A record lies beside a profile and names its links. It goes the way of a profile: the file's shape (`schema`), then its
//! sense (`height`, `links`, `wheel`), and findings that point into the text. [`write_reading`] is the way back.

mod height;
mod links;
mod schema;
mod setting;
mod wheel;
mod write;

pub use write::write_reading;

use toml::Spanned;

use super::check::Checker;
use super::finding::Finding;
use crate::car::Car;
use crate::measure::Round;

/// Nobody aligns a car so often; more would only fill the screen with findings.
const MOST_READINGS: usize = 500;

/// A record that has been read and checked against its car.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The readings, in the order of the file.
    pub rounds: Vec<Round>,
    /// What looks odd, but is no error.
    pub warnings: Vec<Finding>,
}

/// Reads a record of readings on a car.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read_record(text: &str, car: &Car) -> Result<Record, Vec<Finding>> {
    super::parse(text, |record| check(record, car)).map(|(rounds, warnings)| Record { rounds, warnings })
}

fn check(record: &schema::Record, car: &Car) -> Result<(Vec<Round>, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker::default();
    check.format(record.format.as_ref(), "record");
    let rounds = check.rounds(record, car);
    check.conclude(rounds)
}

impl Checker {
    fn rounds(&mut self, record: &schema::Record, car: &Car) -> Option<Vec<Round>> {
        if record.reading.is_empty() {
            self.tell(
                Finding::error(0..0, "there is no reading in this record")
                    .help("each state in which the car was read is a table [[reading]]"),
            );
        }
        if let Some(extra) = record.reading.get(MOST_READINGS) {
            self.tell(
                Finding::error(extra.span(), format!("a record holds up to {MOST_READINGS} readings"))
                    .label("this is one more")
                    .help("begin a new file"),
            );
            return None;
        }
        let rounds: Vec<Option<Round>> =
            record.reading.iter().map(|reading| self.round(reading, record, car)).collect();
        rounds.into_iter().collect()
    }

    fn round(
        &mut self,
        reading: &Spanned<schema::Reading>,
        record: &schema::Record,
        car: &Car,
    ) -> Option<Round> {
        let keys = reading.get_ref();
        let title = keys.title.as_ref().map(|title| self.line(title));
        let date = keys.date.as_ref().map(|date| self.date(date));
        let height = self.height(reading, record.heights.as_ref(), car);
        let settings = self.settings(keys, car);
        let wheels = self.wheels(reading, car);
        let (height, settings, readings) = (height?, settings?, wheels?);
        Some(Round {
            // An empty or unsound title has been told of; the reading does not hang on it.
            title: title.flatten(),
            date: date.flatten(),
            drops: height.drops,
            drop_sigma: height.sigma,
            front: height.front,
            lengths: settings.lengths,
            shifts: settings.shifts,
            wheels: readings.wheels,
            total_toe: readings.total_toe,
            turned_round: keys.turned_round.as_ref().is_some_and(|turned| *turned.get_ref()),
        })
    }

    /// A date as a page shows it: one of TOML's, or any line of text.
    fn date(&mut self, date: &Spanned<schema::Date>) -> Option<String> {
        match date.get_ref() {
            schema::Date::Day(day) => Some(day.to_string()),
            schema::Date::Text(text) => self.line(&Spanned::new(date.span(), text.clone())),
        }
    }
}
