//! What the terminal of this process shows: how wide a page is, and whether there is colour.

use std::env;
use std::fmt::Display;
use std::io;
use std::sync::OnceLock;

use rodset::report::{self, WIDTH};

/// Nothing can be read on less.
const NARROWEST: usize = 40;

/// How wide pages are, as this process found it when it began.
static COLUMNS: OnceLock<usize> = OnceLock::new();

/// Looks how wide pages are: as wide as the terminal where it is narrower than a page, else as wide as a page.
///
/// `COLUMNS` goes before what the terminal says. What goes `to_a_file` is not for this terminal.
pub(super) fn measure(to_a_file: bool) {
    let told = || env::var("COLUMNS").ok()?.parse::<usize>().ok().filter(|&columns| columns > 0);
    let seen = || Some(usize::from(terminal_size::terminal_size_of(io::stdout())?.0.0));
    let columns = if to_a_file { None } else { told().or_else(seen) };
    let columns = columns.map_or(WIDTH, |columns| columns.clamp(NARROWEST, WIDTH));
    // Nobody has measured before: this is done once, at the beginning.
    let _ = COLUMNS.set(columns);
}

/// A page as wide as it is shown here.
pub(super) fn page(page: &impl Display) -> String {
    report::page(page, *COLUMNS.get_or_init(|| WIDTH))
}

/// Whether messages are coloured: only on a terminal, and not where `NO_COLOR` is set.
pub(super) fn colour() -> bool {
    anstream::AutoStream::choice(&io::stderr()) != anstream::ColorChoice::Never
}
