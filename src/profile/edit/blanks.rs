//! Lines that wait for a figure: `#= key = example`; or were left out when asked for: `#- key = example`.
//!
//! They are comments to everything else. A table waits the same way, `#= [link.arm]`, and what waits under it does so only once
//! the table itself is there. One of a list, `#= [[right.link]]`, has its name on the next line, `#= name = "toe"`.

use std::ops::Range;

use super::change::{EditError, spliced};
use crate::profile::outline::{TextOutline, TextSection, below, joined, line_start};

const WAITS: &str = "#=";
const LEFT: &str = "#-";

/// A line that waits for a figure, or for a table to be wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// The path of its key or table.
    pub key: String,
    /// Whether it is a table's header.
    pub(crate) table: bool,
    /// Whether it was left out when it was asked for.
    pub(crate) left_out: bool,
    /// Whether the table in which it stands is only waiting itself.
    pub(crate) dormant: bool,
    /// Of one of a list: the mark before its name.
    name: Option<Range<usize>>,
    /// The line, without its end.
    line: Range<usize>,
    /// The table in which it stands.
    parent: String,
    /// Where its mark begins.
    mark: usize,
    /// What stands behind the mark.
    body: usize,
}

/// All lines of a text that wait, in its order.
///
/// # Errors
///
/// The text is not TOML.
pub fn blanks(text: &str) -> Result<Vec<Blank>, EditError> {
    Ok(of(text, &TextOutline::of(text).map_err(EditError::NotToml)?))
}

fn of(text: &str, outline: &TextOutline) -> Vec<Blank> {
    let mut found: Vec<Blank> = Vec::new();
    // The table in which a line stands, and whether that is only waiting.
    let mut current: (String, bool) = (String::new(), false);
    // Whether the line before was the header of one of a list, whose name is still to come.
    let mut nameless = false;
    let mut start = 0;
    for whole in text.split_inclusive('\n') {
        let line = whole.trim_end_matches(['\r', '\n']);
        let range = start..start + line.len();
        start += whole.len();
        if let Some(table) = outline
            .tables
            .iter()
            .find(|table| !table.header.is_empty() && range.contains(&table.header.start))
        {
            current = (table.path.clone(), false);
            nameless = false;
        }
        let trimmed = line.trim_start();
        let Some(left_out) = is_left_out(trimmed) else { continue };
        // Within a text of several lines.
        if outline.places.iter().any(|place| place.value.contains(&range.start)) {
            continue;
        }
        let content = trimmed[WAITS.len()..].trim_start();
        let (mark, body) = (range.end - trimmed.len(), range.end - content.len());
        let name = content.split_once('=').filter(|(key, _)| key.trim() == "name").map(|(_, name)| name);
        let list = found.last_mut().filter(|_| std::mem::take(&mut nameless));
        if let (Some(name), Some(list)) = (name, list) {
            // Whose table it is: everything that waits in it goes by this name.
            let name = name.split('#').next().unwrap_or_default().trim().trim_matches(['"', '\'']);
            list.key = joined(&list.key, name);
            list.name = Some(range.start + (line.len() - trimmed.len())..range.end - content.len());
            current = (list.key.clone(), true);
        } else if content.starts_with('[') {
            let Some(bare) = content.split(['[', ']']).find(|part| !part.is_empty()) else { continue };
            let key = named(bare.trim(), &outline.tables, range.start);
            current = (key.clone(), true);
            nameless = content.starts_with("[[");
            found.push(Blank {
                key,
                table: true,
                left_out,
                dormant: false,
                name: None,
                line: range,
                parent: String::new(),
                mark,
                body,
            });
        } else if let Some((key, _)) = content.split_once('=') {
            let (parent, dormant) = current.clone();
            let key = format!("{parent}.{}", key.trim());
            let key = key.trim_start_matches('.').to_owned();
            found.push(Blank {
                key,
                table: false,
                left_out,
                dormant,
                name: None,
                line: range,
                parent,
                mark,
                body,
            });
        }
    }
    found
}

/// Whether a line waits, or was left out.
pub(super) fn is_left_out(line: &str) -> Option<bool> {
    line.starts_with(WAITS).then_some(false).or(line.starts_with(LEFT).then_some(true))
}

/// The path of a header at a place, with the name of the table of the list in which it stands.
fn named(bare: &str, tables: &[TextSection], at: usize) -> String {
    let above = tables.iter().filter(|table| table.listed && table.header.start < at);
    let within = above.filter_map(|table| Some((table, below(bare, &table.bare)?)));
    match within.max_by_key(|(table, _)| table.header.start) {
        Some((table, rest)) => format!("{}.{rest}", table.path),
        None => bare.to_owned(),
    }
}

/// The table that has to be opened before a value can be set on the line that waits for it, if it has to.
pub(super) fn asleep(text: &str, outline: &TextOutline, key: &str) -> Option<String> {
    let waiting = of(text, outline).into_iter().find(|blank| blank.key == key && !blank.table);
    waiting.filter(|blank| blank.dormant).map(|blank| blank.parent)
}

/// The text with a value on the line that waits for it, where there is one; its comment stays in its column.
pub(super) fn filled(text: &str, outline: &TextOutline, key: &str, literal: &str) -> Option<String> {
    let waiting = of(text, outline);
    let blank = waiting.iter().find(|blank| blank.key == key && !blank.table)?;
    let body = &text[blank.body..blank.line.end];
    let value = TextOutline::of(body).ok()?.places.into_iter().next()?.value;
    let head = format!("{}{literal}", &body[..value.start]);
    let tail = &body[value.end..];
    let comment = tail.trim_start();
    let column = |text: &str| text.chars().count();
    let before = column(&text[blank.mark..blank.line.end - comment.len()]);
    let gap = " ".repeat(before.saturating_sub(column(&head)).max(1));
    let line = if comment.is_empty() { head } else { format!("{head}{gap}{comment}") };
    Some(spliced(text, blank.mark..blank.line.end, &line))
}

/// Makes a table that waits, or was left out, one that is there; its keys wait.
///
/// # Errors
///
/// No such table waits.
pub(crate) fn open_table(text: &str, key: &str) -> Result<String, EditError> {
    let header = |text: &str| -> Result<Option<Blank>, EditError> {
        Ok(blanks(text)?.into_iter().find(|blank| blank.table && blank.key == key))
    };
    // What was left out with its table waits again; what was left out in one that waits stays so.
    let text = match header(text)? {
        Some(blank) if !blank.left_out => text.to_owned(),
        _ => marked_table(text, key, WAITS)?,
    };
    let Some(Blank { mark, body, line, name, .. }) = header(&text)? else { return Ok(text) };
    let text = name.map_or(text.clone(), |name| spliced(&text, name, ""));
    // A comment behind it stays in its column.
    let comment = text[body..line.end].find('#').map(|comment| body + comment);
    let pad = " ".repeat(comment.map_or(0, |_| body - mark));
    let at = comment.unwrap_or(line.end);
    Ok(spliced(&spliced(&text, at..at, &pad), mark..body, ""))
}

/// Marks what waits under a key as left out: a line, or a table with its lines. A table of which nothing else waits goes too.
pub(super) fn left_out(text: &str, key: &str) -> Result<String, EditError> {
    let text = marked_table(text, key, LEFT)?;
    let waiting = blanks(&text)?;
    let line = waiting.iter().find(|blank| blank.key == key && !blank.table && blank.dormant);
    match line {
        Some(line) if waiting.iter().all(|other| other.parent != line.parent || other.left_out) => {
            marked_table(&text, &line.parent, LEFT)
        }
        _ => Ok(text),
    }
}

fn marked_table(text: &str, key: &str, mark: &str) -> Result<String, EditError> {
    let waiting = blanks(text)?;
    let header = waiting.iter().any(|blank| blank.key == key && blank.table);
    let meant = |blank: &&Blank| blank.key == key || (header && blank.dormant && blank.parent == key);
    let mut changed = text.to_owned();
    let mut any = false;
    for blank in waiting.iter().filter(meant) {
        changed = spliced(&changed, blank.mark..blank.mark + mark.len(), mark);
        if let Some(name) = &blank.name {
            changed = spliced(&changed, name.start..name.start + mark.len(), mark);
        }
        any = true;
    }
    if any { Ok(changed) } else { Err(EditError::Nothing { key: key.to_owned(), near: None }) }
}

/// Takes a table out again: its lines stay in the file as ones that were left out, with their figures.
///
/// # Errors
///
/// There is no such table with a header of its own.
pub(crate) fn close_table(text: &str, key: &str) -> Result<String, EditError> {
    let outline = TextOutline::of(text).map_err(EditError::NotToml)?;
    let table = outline.tables.iter().find(|table| table.path == key && !table.header.is_empty());
    let table = table.ok_or_else(|| EditError::Nothing { key: key.to_owned(), near: None })?;
    let start = line_start(text, table.header.start);
    let mut lines = String::new();
    for line in text[start..table.end].split_inclusive('\n') {
        let is_comment = line.trim_start().starts_with('#') || line.trim().is_empty();
        lines += &if is_comment { line.to_owned() } else { format!("{LEFT} {line}") };
    }
    let closed = spliced(text, start..table.end, &lines);
    // What still waited under it is left out with it.
    marked_table(&closed, key, LEFT)
}
