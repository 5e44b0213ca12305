//! The entries of a survey's lists: what is to be measured, what was, and what was left out.
//!
//! An entry that was left out keeps its line as a comment behind `#-`.

use std::ops::Range;

use super::change::{EditError, spliced};
use crate::profile::keys::Seen;
use crate::profile::outline::{TextOutline, TextPlace, ValueKind, line_start};

const LEFT: &str = "#- ";
/// What holds the figure of an entry.
pub(super) const READS: &str = Seen::reads.key.name;

/// Whether a key is the figure of an entry, which is known by what it is of and not by its place in a list.
pub(crate) fn is_reading(key: &str) -> bool {
    matches!(key.split('.').collect::<Vec<_>>()[..], [_, _, READS])
}

/// Something to be measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its key, such as `survey.height.upper subframe`.
    pub key: String,
    /// What was read, as it is written.
    pub reads: Option<String>,
    /// Whether it was left out when it was asked for.
    pub left_out: bool,
    /// Where its mark would stand.
    place: Range<usize>,
}

impl Entry {
    /// Whether a place in the text lies in it.
    pub(crate) fn holds(&self, at: usize) -> bool {
        self.place.contains(&at)
    }
}

/// The entries of the lists of a survey, in the order of the file.
///
/// # Errors
///
/// The text is not TOML.
pub fn entries(text: &str) -> Result<Vec<Entry>, EditError> {
    Ok(of(text, &TextOutline::of(text).map_err(EditError::NotToml)?))
}

fn of(text: &str, outline: &TextOutline) -> Vec<Entry> {
    let lists = outline.places.iter().filter(|place| {
        place.kind == ValueKind::List
            && place.path.strip_prefix("survey.").is_some_and(|list| !list.contains('.'))
    });
    let mut entries: Vec<Entry> = lists.flat_map(|list| of_list(text, outline, list)).collect();
    entries.sort_by_key(|entry| entry.place.start);
    entries
}

fn of_list(text: &str, outline: &TextOutline, list: &TextPlace) -> Vec<Entry> {
    let within = |place: &&TextPlace| {
        place.kind == ValueKind::Seen
            && list.value.contains(&place.value.start)
            && place.path.starts_with(&list.path)
    };
    let value = |place: &TextPlace, key: &str| {
        let member = outline.places.iter().find(|member| {
            place.value.contains(&member.value.start) && member.path == format!("{}.{key}", place.path)
        });
        member.map(|member| text[member.value.clone()].to_owned())
    };
    let standing = outline.places.iter().filter(within).map(|place| Entry {
        key: place.path.clone(),
        reads: value(place, READS),
        left_out: value(place, Seen::leave_out.key.name).is_some_and(|left| left == "true"),
        place: place.value.clone(),
    });
    let mut entries: Vec<Entry> = standing.collect();
    let mut start = list.value.start;
    for line in text[list.value.clone()].split_inclusive('\n') {
        let trimmed = line.trim_start();
        let at = start + line.len() - trimmed.len();
        start += line.len();
        let Some(body) = trimmed.strip_prefix(LEFT) else { continue };
        // As it would stand if it were not left out.
        let Ok(alone) = TextOutline::of(&format!("list = [\n{body}\n]")) else { continue };
        let Some(seen) = alone.places.iter().find(|place| place.kind == ValueKind::Seen) else { continue };
        let key = seen.path.replacen("list", &list.path, 1);
        entries.push(Entry { key, reads: None, left_out: true, place: at..at + LEFT.len() });
    }
    entries
}

/// The text with an entry that was left out standing again, where there is one.
pub(super) fn restored(text: &str, outline: &TextOutline, key: &str) -> Option<String> {
    let entry = of(text, outline).into_iter().find(|entry| entry.key == key)?;
    text[entry.place.clone()].starts_with(LEFT).then(|| spliced(text, entry.place, ""))
}

/// The text with the line of an entry as one that was left out; `None` where there is no such entry, or it shares its line.
pub(super) fn left_out(text: &str, outline: &TextOutline, key: &str) -> Option<String> {
    let entry = of(text, outline).into_iter().find(|entry| entry.key == key)?;
    let Range { start, end } = entry.place;
    let before = text[line_start(text, start)..start].trim();
    let after = text[end..].lines().next().unwrap_or_default().trim().trim_start_matches(',').trim();
    let alone =
        before.is_empty() && (after.is_empty() || after.starts_with('#')) && !text[start..end].contains('\n');
    alone.then(|| spliced(text, start..start, LEFT))
}
