//! What somebody typed, as a value of the kind that its key takes.

use super::change::{Change, EditError};
use super::set::set_value;
use crate::profile::keys::{Profile, Readable};
use crate::profile::literal::{is_value, list, quoted};

/// Puts an answer as it was typed under a key: without quotes, a list without brackets.
///
/// Of the ways in which it could be meant, the first that the key takes: `-1.1` is a number as a camber and a text as a name.
///
/// # Errors
///
/// As [`set_value`].
pub fn set_answer(text: &str, key: &str, answer: &str) -> Result<Change, EditError> {
    let mut best: Option<(ShapeFit, Change)> = None;
    for way in ways(answer) {
        let change = set_value(text, key, &way)?;
        let fit = fit(&change.text);
        if best.as_ref().is_none_or(|(known, _)| fit > *known) {
            best = Some((fit, change));
        }
    }
    best.map(|(_, change)| change).ok_or_else(|| EditError::NotAValue(answer.to_owned()))
}

/// How far a text is of the shape of a profile or a survey.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum ShapeFit {
    /// A text where a list is due, and the like.
    WrongKind,
    /// Of the right kind, but unreadable.
    Unreadable,
    Whole,
}

fn fit(text: &str) -> ShapeFit {
    match Profile::of_text(text) {
        Ok(_) => ShapeFit::Whole,
        Err(error) if error.message().starts_with("invalid type") => ShapeFit::WrongKind,
        Err(_) => ShapeFit::Unreadable,
    }
}

/// The ways in which an answer could be meant, the likeliest first: as TOML writes it, as a list whose commas say so, as a text.
fn ways(answer: &str) -> Vec<String> {
    let answer = answer.trim();
    let one = |text: &str| if is_value(text.trim()) { text.trim().to_owned() } else { quoted(text.trim()) };
    let mut ways = Vec::new();
    if is_value(answer) {
        ways.push(answer.to_owned());
    }
    if answer.contains(',') && !answer.starts_with(['[', '{', '"', '\'']) {
        ways.push(list(answer.split(',').map(one)));
    }
    ways.push(quoted(answer));
    ways
}
