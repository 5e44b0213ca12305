//! What pages go to: a terminal, and how wide that is and whether it has colour; or a file, and whether that is printed.

use std::env;
use std::io;
use std::path::Path;
use std::sync::OnceLock;

use rodset::report::{Page, Printable, WIDTH};

use super::hints::of_page;
use super::today::today;
use super::warned::{Warning, warned};

/// Nothing can be read on less.
const NARROWEST: usize = 40;

/// Where pages go, as this process found it when it began.
static SCREEN: OnceLock<Screen> = OnceLock::new();

#[derive(Debug, Clone, Copy)]
struct Screen {
    columns: usize,
    to_be_printed: bool,
}

/// Looks where pages go: to a file, or to a terminal, where they are as wide as it is if it is narrower than a page.
///
/// `COLUMNS` goes before what the terminal says. What goes to a file is not for this terminal.
pub(super) fn measure(file: Option<&Path>) {
    let told = || env::var("COLUMNS").ok()?.parse::<usize>().ok().filter(|&columns| columns > 0);
    let seen = || Some(usize::from(terminal_size::terminal_size_of(io::stdout())?.0.0));
    let columns = if file.is_some() { None } else { told().or_else(seen) };
    let columns = columns.map_or(WIDTH, |columns| columns.clamp(NARROWEST, WIDTH));
    let ending = file.and_then(Path::extension).unwrap_or_default();
    let to_be_printed = ["html", "htm"].iter().any(|html| ending.eq_ignore_ascii_case(html));
    // Nobody has measured before: this is done once, at the beginning.
    let _ = SCREEN.set(Screen { columns, to_be_printed });
}

fn screen() -> Screen {
    *SCREEN.get_or_init(|| Screen { columns: WIDTH, to_be_printed: false })
}

/// Whether pages go to a file that is to be printed.
pub(super) fn is_to_be_printed() -> bool {
    screen().to_be_printed
}

/// A page as text, as wide as it is shown here.
pub(super) fn text(content: &impl Printable) -> String {
    headed(content).text(screen().columns)
}

/// A page as a file to be printed.
pub(super) fn html(content: &impl Printable) -> String {
    headed(content).html(&today())
}

/// A page with what is odd about it at its head.
fn headed(content: &impl Printable) -> Page {
    let mut page = Page::of(content, of_page);
    page.warn(warned().into_iter().map(|Warning { headline, label }| {
        if label.is_empty() { headline } else { format!("{headline}: {label}") }
    }));
    page
}

/// Whether messages are coloured: only on a terminal, and not where `NO_COLOR` is set.
pub(super) fn colour() -> bool {
    anstream::AutoStream::choice(&io::stderr()) != anstream::ColorChoice::Never
}
