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

pub use edit::{
    Blank, Change, EditError, Entry, blanks, entries, has_table, leave_out, remove_value, set_answer,
    set_value, value_at,
};
pub use finding::{Finding, Severity};
pub use inspect::{Inspection, inspect};
pub use keys::{
    Key, KeyQuestion, KeyTable, Kind, KnownKey, Need, interview_starter, known_keys, meant, profile_starter,
    record_starter, root, survey_starter,
};
pub use quantity::{Quantity, QuantityError};
pub use read::{Checked, read};
pub use record::{Record, read_begun_record, read_record, write_reading};
pub use survey::{CheckedSurvey, read_survey};
pub use write::{Numbers, References, UsedLength, write_numbers};

pub(crate) use cam_position::{CamPosition, CamPositionError};
pub(crate) use edit::{TextNumber, close_table, is_reading, link_names, numbers, open_table};
pub(crate) use finding::Remedy;
pub(crate) use guess::{odd_aim, odd_drops};
pub(crate) use inspect::Sort;
pub(crate) use keys::{Answer, EXAMPLES, belongs};
pub(crate) use like::like;
pub(crate) use printed::{CopyingSlip, Printed, PrintedError, Share};
pub(crate) use survey::is_survey;

/// Profiles larger than this many bytes are refused unread: a car needs a few thousand.
pub const LARGEST: u64 = 1 << 20;
