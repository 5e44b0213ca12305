//! Single values changed in a text that people wrote: everything else in it stays as it is, to the byte.
//!
//! The parser says where things stand; the text itself is cut and joined there, so that no comment, space or line ending can
//! get lost on the way.

mod answer;
mod blanks;
mod change;
mod entries;
mod insert;
mod numbers;
mod set;

pub use answer::set_answer;
pub use blanks::{Blank, blanks};
pub use change::{Change, EditError};
pub use entries::{Entry, entries};
pub use set::{has_table, leave_out, remove_value, set_value, value_at};

pub(crate) use blanks::{close_table, open_table};
pub(crate) use entries::is_reading;
pub(super) use insert::append_table;
pub(crate) use numbers::{TextNumber, numbers};
pub(crate) use set::link_names;
pub(super) use set::{Editor, is_record, remove_whole};
