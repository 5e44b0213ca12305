//! What pages go to: a terminal, and how wide that is and whether it has colour; or a file, and whether that is printed.

use std::env;
use std::io;
use std::sync::OnceLock;

use crate::report::{Page, Printable, TextStyle, WIDEST, WIDTH};

use super::hints::of_page;
use super::today::today;
use super::warned::{Warning, warned};

/// Nothing can be read on less.
const NARROWEST: usize = 40;

/// Where pages go, as this process found it when it began.
static SCREEN: OnceLock<Screen> = OnceLock::new();

#[derive(Debug, Clone, Copy)]
struct Screen {
    style: TextStyle,
    /// Whether a page is shown with all there is to say.
    whole: bool,
    kind: Option<FileKind>,
}

/// What the name of a file says that is to be in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FileKind {
    Text,
    Html,
    Json,
    Csv,
}

/// Looks where pages go: to a file, which has all of them, or to a terminal, where they are as wide as it is and show all where that is
/// asked for.
///
/// `COLUMNS` goes before what the terminal says. What goes to a file is not for this terminal.
pub(super) fn measure(to_file: bool, kind: Option<FileKind>, full: bool) {
    let seen = || Some(usize::from(terminal_size::terminal_size_of(io::stdout())?.0.0));
    let columns = if to_file { None } else { told().or_else(seen) };
    let columns = columns.map_or(WIDTH, |columns| columns.clamp(NARROWEST, WIDEST));
    // Nobody has measured before: this is done once, at the beginning.
    let bold = !to_file && anstream::AutoStream::choice(&io::stdout()) != anstream::ColorChoice::Never;
    let style = TextStyle { columns, bold, title_first: to_file };
    let _ = SCREEN.set(Screen { style, whole: full || to_file, kind });
}

/// Columns of help: no more than a terminal has, where one is seen.
pub(super) fn columns_of_help() -> usize {
    const MOST: usize = 100;
    let seen = terminal_size::terminal_size_of(io::stdout()).map(|(width, _)| usize::from(width.0));
    told().or(seen).unwrap_or(MOST).clamp(NARROWEST, MOST)
}

/// How wide the terminal is said to be.
fn told() -> Option<usize> {
    env::var("COLUMNS").ok()?.parse().ok().filter(|&columns| columns > 0)
}

fn screen() -> Screen {
    *SCREEN.get_or_init(|| Screen { style: TextStyle::plain(WIDTH), whole: true, kind: None })
}

/// What the name of the file that pages go to says.
pub(super) fn kind() -> Option<FileKind> {
    screen().kind
}

/// A page as text, as wide as it is shown here.
pub(super) fn text(content: &impl Printable) -> String {
    let Screen { style, whole, .. } = screen();
    headed(if whole { Page::of(content, of_page) } else { Page::brief(content, of_page) }).text(style)
}

/// A page as a file to be printed.
pub(super) fn html(content: &impl Printable) -> String {
    headed(Page::of(content, of_page)).html(&today())
}

/// A page with what is odd about it at its head.
fn headed(mut page: Page) -> Page {
    page.warn(warned().into_iter().map(|Warning { headline, label }| {
        if label.is_empty() { headline } else { format!("{headline}: {label}") }
    }));
    page
}

/// Whether messages are coloured: only on a terminal, and not where `NO_COLOR` is set.
pub(super) fn colour() -> bool {
    anstream::AutoStream::choice(&io::stderr()) != anstream::ColorChoice::Never
}
