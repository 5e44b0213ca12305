//! From the text of a profile to a [`Car`]: the only place that knows TOML.
//!
//! [`read`] goes in three steps: the TOML parser and serde give the file's shape (`schema`), `check` turns it
//! into a car with no invalid state, and whatever is wrong on the way is a [`Finding`] that points into the text.
//! [`read_record`] goes the same way from a record of readings to [`Round`](crate::measure::Round)s.

mod cam_position;
mod check;
mod edit;
mod finding;
mod inspect;
mod keys;
mod layers;
mod load;
mod printed;
mod quantity;
mod record;
mod survey;
mod write;

pub use cam_position::{CamPosition, CamPositionError};
pub use edit::{
    Blank, Change, EditError, Entry, Number, blanks, close_table, entries, has_table, is_reading, leave_out,
    link_names, numbers, open_table, remove_value, set_answer, set_value, value_at,
};
pub use finding::{Finding, Remedy, Severity};
pub use inspect::{Inspection, Sort, inspect};
pub use keys::{
    Answer, EXAMPLES, Key, Kind, Known, LinkExample, Need, Question, Table, interview_starter, known_keys,
    meant, profile_starter, record_starter, root, survey_starter,
};
pub use printed::{Printed, PrintedError, Share, Slip};
pub use quantity::{Quantity, QuantityError};
pub use record::{Record, read_begun_record, read_record, write_reading};
pub use survey::{CheckedSurvey, read_survey};
pub use write::{Numbers, References, UsedLength, write_numbers};

use serde::de::DeserializeOwned;

use crate::car::Car;

/// Profiles larger than this many bytes are refused unread: a car needs a few thousand.
pub const LARGEST: u64 = 1 << 20;

/// A profile that has been read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// The car it describes.
    pub car: Car,
    /// What looks odd, but is no error.
    pub warnings: Vec<Finding>,
    /// Keys of the readings, heights and cams that the right side takes over from the left, because `[right]` does not say
    /// them: `wheel.camber`, `ride.arch_gap`, `link.toe.cam.setting`.
    pub taken_over: Vec<String>,
}

/// Reads a profile.
///
/// # Examples
///
/// ```
/// let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// assert_eq!(car.sides.left.links.len(), 5);
///
/// // What is wrong is told with its place in the text.
/// let text = "format = 1\nfront = 3";
/// let findings = rodset::profile::read(text).expect_err("no profile");
/// print!("{}", findings[0].render("car.toml", text, false));
/// ```
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read(text: &str) -> Result<Checked, Vec<Finding>> {
    parse(text, check::check).map(|((car, taken_over), warnings)| Checked { car, warnings, taken_over })
}

/// From a text through the shape that serde reads to what `check` makes of it; whatever is told is put in its place.
fn parse<S: DeserializeOwned, T>(
    text: &str,
    check: impl FnOnce(&S) -> Result<(T, Vec<Finding>), Vec<Finding>>,
) -> Result<(T, Vec<Finding>), Vec<Finding>> {
    let shape = toml::from_str::<S>(text).map_err(|error| vec![Finding::of_toml(&error, text)]);
    let locate = |mut findings: Vec<Finding>| {
        finding::locate(&mut findings, text);
        findings
    };
    match shape.and_then(|shape| check(&shape)) {
        Ok((found, warnings)) => Ok((found, locate(warnings))),
        Err(findings) => Err(locate(findings)),
    }
}
