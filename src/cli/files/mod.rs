//! Files: read whole, written whole or not at all, and never over something else.
//!
//! Files: a page replaces a regular file only if the first lines of both are alike up to a colon, or with `--force`; never one
//! that this run has read or written, by identity. What is no regular file is written through, links are followed, owner, mode
//! and other names stay. A file that is changed is locked from reading to writing, exchanged with the new one and only then
//! held against what was read of it, so that an editor's save is not lost either (`cli/files`).

mod identity;
mod kept;
mod output;
mod read;
mod signals;
mod write;

pub(super) use kept::Kept;
pub(super) use output::{
    STANDARD_OUTPUT, Written, force, kind_of, page_path, replace, svg_path, took_standard_output,
};
pub(super) use read::{STANDARD_INPUT, TextFile, shown};
pub(super) use signals::note_interrupts;
pub(super) use write::{create, print};
