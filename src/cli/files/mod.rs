//! Files: read whole, written whole or not at all, and never over something else.

mod identity;
mod kept;
mod output;
mod read;
mod signals;
mod write;

pub(super) use kept::Kept;
pub(super) use output::{STANDARD_OUTPUT, force, page_path, replace, svg_path, took_standard_output};
pub(super) use read::{STANDARD_INPUT, TextFile, shown};
pub(super) use signals::note_interrupts;
pub(super) use write::{create, print};
