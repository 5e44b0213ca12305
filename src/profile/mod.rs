//! From the text of a profile to a [`Car`](crate::car::Car): the only place that knows TOML.
//!
//! [`read`] goes in three steps: the TOML parser and serde give the file's shape (`schema`), `check` turns it
//! into a car with no invalid state, and whatever is wrong on the way is a [`Finding`] that points into the text.
//! [`read_record`] goes the same way from a record of readings to [`Round`](crate::measure::Round)s.

mod cam_position;
mod check;
mod edit;
mod finding;
mod guess;
mod inspect;
mod keys;
mod layers;
mod like;
mod literal;
mod load;
mod outline;
mod printed;
mod quantity;
mod read;
mod record;
mod survey;
mod write;

pub use cam_position::{CamPosition, CamPositionError};
pub use edit::{
    Blank, Change, EditError, Entry, Number, blanks, close_table, entries, has_table, is_reading, leave_out,
    link_names, numbers, open_table, remove_value, set_answer, set_value, value_at,
};
pub use finding::{Finding, Remedy, Severity};
pub use guess::{odd_aim, odd_drops};
pub use inspect::{Inspection, Sort, inspect};
pub use keys::{
    Answer, EXAMPLES, Key, Kind, Known, LinkExample, Need, Question, Table, belongs, interview_starter,
    known_keys, meant, profile_starter, record_starter, root, survey_starter,
};
pub use like::like;
pub use printed::{CopyingSlip, Printed, PrintedError, Share};
pub use quantity::{Quantity, QuantityError};
pub use read::{Checked, read};
pub use record::{Record, read_begun_record, read_record, write_reading};
pub use survey::{CheckedSurvey, is_survey, read_survey};
pub use write::{Numbers, References, UsedLength, write_numbers};

/// Profiles larger than this many bytes are refused unread: a car needs a few thousand.
pub const LARGEST: u64 = 1 << 20;
