//! Values set, left out and taken away.

use std::ops::Range;

use super::blanks::{self, open_table};
use super::change::{Change, EditError, spliced};
use super::{entries, insert};
use crate::profile::finding::nearest;
use crate::profile::literal::is_value;
use crate::profile::outline::{TextHolder, TextOutline, below, line_end, line_start, plain};

/// A text that one value after another is put into: it is read once for each of them.
pub(in crate::profile) struct Editor {
    pub(in crate::profile) text: String,
    outline: TextOutline,
}

impl Editor {
    pub(in crate::profile) fn of(text: String) -> Result<Self, EditError> {
        let outline = TextOutline::of(&text).map_err(EditError::NotToml)?;
        Ok(Self { text, outline })
    }

    pub(in crate::profile) fn value_at(&self, key: &str) -> Result<Option<String>, EditError> {
        match self.outline.find(key)[..] {
            [] => Ok(None),
            [place] => Ok(Some(self.text[place.value.clone()].to_owned())),
            _ => Err(EditError::Several(key.to_owned())),
        }
    }

    pub(in crate::profile) fn has_table(&self, key: &str) -> bool {
        self.outline.tables.iter().any(|table| table.path == plain(key)) || !self.outline.find(key).is_empty()
    }

    pub(in crate::profile) fn link_names(&self) -> Vec<String> {
        self.outline.named_in("link").into_iter().map(str::to_owned).collect()
    }

    /// Puts a value under a key, see [`set_value`]; tells what stood there, and what stands there now.
    pub(in crate::profile) fn set(
        &mut self,
        key: &str,
        literal: &str,
    ) -> Result<[Option<String>; 2], EditError> {
        let (text, outline) = (&self.text, &self.outline);
        let (changed, before) = match outline.find(key)[..] {
            [place] => {
                (spliced(text, place.value.clone(), literal), Some(text[place.value.clone()].to_owned()))
            }
            [] if let Some(restored) = entries::restored(text, outline, &plain(key)) => {
                *self = Self::of(restored)?;
                return self.set(key, literal);
            }
            [] if let Some(table) = blanks::asleep(text, outline, &plain(key)) => {
                *self = Self::of(open_table(text, &table)?)?;
                let [_, now] = self.set(key, literal)?;
                return Ok([None, now]);
            }
            [] => match blanks::filled(text, outline, &plain(key), literal) {
                Some(changed) => (changed, None),
                None => (insert::inserted(text, outline, &plain(key), literal)?, None),
            },
            _ => return Err(EditError::Several(key.to_owned())),
        };
        *self = Self::of(changed)?;
        match self.value_at(key)? {
            None if before.is_none() => Err(EditError::Unclear(key.to_owned())),
            // A name by which the key itself goes.
            None => Ok([before, Some(literal.to_owned())]),
            now => Ok([before, now]),
        }
    }
}

/// What stands under a key, as it is written.
///
/// Keys are dotted paths, as findings write them: `wheel.camber`, `link.lower rear.knuckle`. A coordinate of a point goes by
/// its letter, `link.upper.subframe.z`, a reading of a survey by what it is of, `survey.height.upper subframe`.
///
/// # Errors
///
/// The text is not TOML, or several things go by this key.
pub fn value_at(text: &str, key: &str) -> Result<Option<String>, EditError> {
    Editor::of(text.to_owned())?.value_at(key)
}

/// Whether a table stands in the text, with a header of its own or in braces.
///
/// # Errors
///
/// The text is not TOML.
pub fn has_table(text: &str, key: &str) -> Result<bool, EditError> {
    Ok(Editor::of(text.to_owned())?.has_table(key))
}

/// Puts a value, as TOML writes it, under a key; what is not there yet is added where it belongs, on a line that waits for
/// it if there is one.
///
/// # Errors
///
/// Why it cannot be. Whether the file is sound with it is for the checker to say.
pub fn set_value(text: &str, key: &str, literal: &str) -> Result<Change, EditError> {
    if !is_value(literal) {
        return Err(EditError::NotAValue(literal.to_owned()));
    }
    let mut editor = Editor::of(text.to_owned())?;
    let [before, now] = editor.set(key, literal)?;
    Ok(Change { text: editor.text, before, now })
}

/// Marks what was asked for under a key as left out: a line that waits, a table that waits with its lines, or an entry of a
/// survey's list.
///
/// # Errors
///
/// Nothing waits there.
pub fn leave_out(text: &str, key: &str) -> Result<String, EditError> {
    let outline = TextOutline::of(text).map_err(EditError::NotToml)?;
    match entries::left_out(text, &outline, &plain(key)) {
        Some(changed) => Ok(changed),
        None => blanks::left_out(text, &plain(key)),
    }
}

/// Names of the links, in the order of the file.
///
/// # Errors
///
/// The text is not TOML.
pub(crate) fn link_names(text: &str) -> Result<Vec<String>, EditError> {
    Ok(Editor::of(text.to_owned())?.link_names())
}

/// Takes away what stands under a key, with its line; a table goes with all that is in it.
///
/// # Errors
///
/// Why it cannot be.
pub fn remove_value(text: &str, key: &str) -> Result<Change, EditError> {
    let outline = TextOutline::of(text).map_err(EditError::NotToml)?;
    let wanted = plain(key);
    let place = match outline.find(key)[..] {
        [place] => place,
        [] => return remove_table(text, &outline, &wanted),
        _ => return Err(EditError::Several(wanted)),
    };
    let before = Some(text[place.value.clone()].to_owned());
    let range = match &place.holder {
        TextHolder::Point | TextHolder::Numbered => return Err(EditError::Part(wanted)),
        TextHolder::Table => line_start(text, place.value.start)..line_end(text, place.value.end),
        TextHolder::Braces(whole) => without_comma(text, whole.clone()),
        TextHolder::List => {
            let whole = without_comma(text, place.value.clone());
            let line = line_start(text, whole.start)..line_end(text, whole.end);
            let alone = text[line.start..whole.start].trim().is_empty()
                && text[whole.end..line.end].trim().is_empty();
            if alone { line } else { whole }
        }
    };
    Ok(Change { text: spliced(text, range, ""), before, now: None })
}

/// The lines of a table and of all tables in it, those further down first.
fn lines_of(text: &str, outline: &TextOutline, key: &str) -> Vec<Range<usize>> {
    let headed = outline.tables.iter().filter(|table| is_in(&table.path, key) && !table.header.is_empty());
    let mut lines: Vec<_> = headed.map(|table| line_start(text, table.header.start)..table.end).collect();
    lines.sort_by_key(|range| std::cmp::Reverse(range.start));
    lines
}

fn is_in(path: &str, table: &str) -> bool {
    path == table || below(path, table).is_some()
}

/// The text without a table, however it is written, and without the comments above its header.
pub(in crate::profile) fn remove_whole(text: &str, key: &str) -> Result<String, EditError> {
    let outline = TextOutline::of(text).map_err(EditError::NotToml)?;
    let with_comments = |lines: Range<usize>| {
        let is_comment = |line: &&str| {
            let line = line.trim();
            line.is_empty() || line.starts_with('#') && blanks::is_left_out(line).is_none()
        };
        let above = text[..lines.start].split_inclusive('\n').rev().take_while(is_comment);
        lines.start - above.map(str::len).sum::<usize>()..lines.end
    };
    let mut lines: Vec<_> = lines_of(text, &outline, key).into_iter().map(with_comments).collect();
    // In braces, or by keys with dots.
    let values =
        outline.places.iter().filter(|place| place.holder == TextHolder::Table && is_in(&place.path, key));
    let alone = values.filter(|place| !lines.iter().any(|table| table.contains(&place.value.start)));
    let alone: Vec<_> =
        alone.map(|place| line_start(text, place.value.start)..line_end(text, place.value.end)).collect();
    lines.extend(alone);
    lines.sort_by_key(|range| std::cmp::Reverse(range.start));
    Ok(lines.into_iter().fold(text.to_owned(), |text, range| spliced(&text, range, "")))
}

fn remove_table(text: &str, outline: &TextOutline, key: &str) -> Result<Change, EditError> {
    let ranges = lines_of(text, outline, key);
    if ranges.is_empty() {
        let known: Vec<&str> = (outline.places.iter().map(|place| place.path.as_str()))
            .chain(outline.tables.iter().map(|table| table.path.as_str()))
            .collect();
        let near = nearest(key, &known).map(str::to_owned);
        return Err(EditError::Nothing { key: key.to_owned(), near });
    }
    let before =
        ranges.iter().rev().map(|range| text[range.clone()].trim_end()).collect::<Vec<_>>().join("\n");
    let changed = ranges.into_iter().fold(text.to_owned(), |text, range| spliced(&text, range, ""));
    Ok(Change { text: changed, before: Some(before), now: None })
}

/// A member of a list with the comma behind it, or before it where it is the last.
fn without_comma(text: &str, member: Range<usize>) -> Range<usize> {
    let after = &text[member.end..];
    let gap = after.len() - after.trim_start().len();
    if after[gap..].starts_with(',') {
        let behind = &after[gap + 1..];
        let spaces = behind.len() - behind.trim_start_matches(' ').len();
        return member.start..member.end + gap + 1 + spaces;
    }
    let before = text[..member.start].trim_end();
    if before.ends_with(',') { before.len() - 1..member.end } else { member }
}

/// Whether a text has readings of a car in it.
pub(in crate::profile) fn is_record(text: &str) -> Result<bool, EditError> {
    let outline = TextOutline::of(text).map_err(EditError::NotToml)?;
    Ok(outline.tables.iter().any(|table| table.bare == "reading")
        || outline.places.iter().any(|place| place.path == "reading"))
}
