//! Where a value goes that has no place yet.

use super::change::{EditError, newline, spliced};
use super::entries::READS;
use crate::profile::keys::Seen;
use crate::profile::literal::{key as written, quoted};
use crate::profile::outline::{
    TextHolder, TextOutline, TextPlace, TextSection, ValueKind, below, line_start,
};

/// The text with a value under a key that stands nowhere in it.
pub(super) fn inserted(
    text: &str,
    outline: &TextOutline,
    key: &str,
    literal: &str,
) -> Result<String, EditError> {
    if key.is_empty() || key.split('.').any(|step| step.trim().is_empty()) {
        return Err(EditError::Unclear(key.to_owned()));
    }
    // What is to be measured and has no reading yet.
    if let Some(seen) = outline.places.iter().find(|place| place.kind == ValueKind::Seen && place.path == key)
    {
        return Ok(into_braces(text, seen, READS, literal));
    }
    if let Some(entry) = entry(text, outline, key, literal) {
        return Ok(entry);
    }
    if let Some(point) = key.strip_suffix(".x").or(key.strip_suffix(".y")).or(key.strip_suffix(".z")) {
        return Err(EditError::NoPoint(point.to_owned()));
    }
    if let Some(listed) = listed(text, outline, key, literal) {
        return listed;
    }
    let table = outline.tables.iter().filter_map(|table| Some((table, below(key, &table.path)?)));
    let table = table.max_by_key(|(table, _)| table.path.len());
    let braces =
        outline.places.iter().filter(|place| matches!(place.kind, ValueKind::Braces | ValueKind::Seen));
    let braces = braces.filter_map(|place| Some((place, below(key, &place.path)?)));
    let braces = braces.max_by_key(|(place, _)| place.path.len());
    match (table, braces) {
        (table, Some((place, rest)))
            if table.as_ref().is_none_or(|(table, _)| table.path.len() < place.path.len()) =>
        {
            Ok(into_braces(text, place, rest, literal))
        }
        (Some((table, rest)), _) => Ok(into_table(text, outline, table, rest, literal)),
        _ => Err(EditError::Unclear(key.to_owned())),
    }
}

fn into_braces(text: &str, place: &TextPlace, rest: &str, literal: &str) -> String {
    let inside = text[place.value.clone()].trim_end_matches('}').trim_end();
    let end = place.value.start + inside.len();
    let comma = if inside.ends_with(['{', ',']) { " " } else { ", " };
    spliced(text, end..end, &format!("{comma}{} = {literal}", path_of(rest)))
}

/// One more table of a list, for a key in it: the lists of links and shapes go by the names of what is in them.
///
/// `None` where the key is in no such list, or in a table that is there.
fn listed(text: &str, outline: &TextOutline, key: &str, literal: &str) -> Option<Result<String, EditError>> {
    let list = ["link", "right.link", "keepout"].into_iter().find(|list| below(key, list).is_some())?;
    let within = below(key, list)?;
    let paths =
        outline.tables.iter().map(|table| &table.path).chain(outline.places.iter().map(|place| &place.path));
    let stands = |path: &String| below(path, list).is_some() && below(key, path).is_some();
    if paths.into_iter().any(stands) {
        return None;
    }
    let known = if list == "keepout" {
        Vec::new()
    } else {
        outline.named_in("link").into_iter().map(str::to_owned).collect()
    };
    let of_known = known.iter().find_map(|name| Some((name.clone(), below(within, name)?)));
    let split = || within.split_once('.').map(|(name, key)| (name.to_owned(), key));
    let Some((name, rest)) = of_known.or_else(split) else {
        return Some(Err(EditError::Unclear(key.to_owned())));
    };
    // A sixth link needs all that a link has; an override needs the link that it overrides.
    if list != "keepout" && (list == "link" || !known.contains(&name)) {
        return Some(Err(EditError::NoLink { name, known }));
    }
    let name = quoted(name);
    // A list in brackets grows by a table in braces.
    if let Some(place) =
        outline.places.iter().find(|place| place.path == list && place.kind == ValueKind::List)
    {
        let entry = format!("{{ name = {name}, {} = {literal} }}", path_of(rest));
        return Some(Ok(into_list(text, place, outline, &format!("{list}."), &entry)));
    }
    if let Some(braces) =
        outline.places.iter().find(|place| place.path == "right" && place.kind == ValueKind::Braces)
        && list == "right.link"
    {
        let entry = format!("[{{ name = {name}, {} = {literal} }}]", path_of(rest));
        return Some(Ok(into_braces(text, braces, "link", &entry)));
    }
    let newline = newline(text);
    let head = format!("[[{list}]]{newline}name = {name}{newline}");
    let lines = match rest.rsplit_once('.') {
        None => format!("{head}{} = {literal}", written(rest)),
        Some((tables, key)) => {
            let header = format!("[{list}.{}]{newline}", path_of(tables));
            format!("{head}{newline}{header}{} = {literal}", written(key))
        }
    };
    Some(Ok(new_table(text, text.len(), &lines)))
}

fn into_table(text: &str, outline: &TextOutline, table: &TextSection, rest: &str, literal: &str) -> String {
    let newline = newline(text);
    match rest.rsplit_once('.') {
        None => new_line(text, table.end, &format!("{}{} = {literal}", table.dotted, written(rest))),
        Some((tables, key)) => {
            let bare = if table.bare.is_empty() { String::new() } else { format!("{}.", table.bare) };
            let lines = format!("[{bare}{}]{newline}{} = {literal}", path_of(tables), written(key));
            new_table(text, end_of(text, outline, table), &lines)
        }
    }
}

/// Where a table ends with all tables in it.
fn end_of(text: &str, outline: &TextOutline, table: &TextSection) -> usize {
    if table.path.is_empty() {
        return text.len();
    }
    let inside = |other: &&TextSection| other.path == table.path || below(&other.path, &table.path).is_some();
    outline.tables.iter().filter(inside).map(|table| table.end).max().unwrap_or(text.len())
}

fn new_line(text: &str, at: usize, line: &str) -> String {
    let newline = newline(text);
    let gap = if at == 0 || text[..at].ends_with('\n') { "" } else { newline };
    spliced(text, at..at, &format!("{gap}{line}{newline}"))
}

/// The text with a table at its end.
pub(in crate::profile) fn append_table(text: &str, lines: &str) -> String {
    new_table(text, text.len(), &lines.replace('\n', newline(text)))
}

/// A table with an empty line before it.
fn new_table(text: &str, at: usize, lines: &str) -> String {
    let empty = text[..at].trim_end_matches(['\r', '\n']).len();
    let breaks = text[empty..at].matches('\n').count();
    let gap = if empty == 0 { String::new() } else { newline(text).repeat(2_usize.saturating_sub(breaks)) };
    // What follows keeps its own empty line.
    spliced(text, at..at, &format!("{gap}{lines}{}", newline(text)))
}

/// The steps of a path as they are written, with dots between.
fn path_of(path: &str) -> String {
    path.split('.').map(written).collect::<Vec<_>>().join(".")
}

/// One more entry in a list of a survey.
fn entry(text: &str, outline: &TextOutline, key: &str, literal: &str) -> Option<String> {
    outline.tables.iter().find(|table| table.path == "survey")?;
    let (list, name) = key.strip_prefix("survey.")?.split_once('.')?;
    let of = Seen::first_place(list)?;
    let path = format!("survey.{list}.");
    if outline
        .places
        .iter()
        .any(|place| key != place.path && place.path.starts_with(&path) && below(key, &place.path).is_some())
    {
        return None;
    }
    let quoted = |name: &str| quoted(name.trim());
    let place = match (name.split_once(" - "), &of[..]) {
        (Some((one, other)), [from, to]) => format!("{from} = {}, {to} = {}", quoted(one), quoted(other)),
        (_, [of]) => format!("{of} = {}", quoted(name)),
        _ => return None,
    };
    let entry = format!("{{ {place}, {READS} = {literal} }}");
    match outline.find(&format!("survey.{list}")).first() {
        Some(place) if place.kind == ValueKind::List => Some(into_list(text, place, outline, &path, &entry)),
        Some(_) => None,
        None => {
            let survey = outline.tables.iter().find(|table| table.path == "survey")?;
            let newline = newline(text);
            Some(new_line(text, survey.end, &format!("{list} = [{newline}  {entry},{newline}]")))
        }
    }
}

/// Behind the last entry of a list, laid out as that one is.
fn into_list(text: &str, list: &TextPlace, outline: &TextOutline, path: &str, entry: &str) -> String {
    let is_entry = |place: &&TextPlace| place.path.starts_with(path) && place.holder == TextHolder::List;
    let last = outline.places.iter().rfind(is_entry);
    let Some(last) = last else {
        let at = list.value.start + 1;
        return spliced(text, at..at, entry);
    };
    let line = line_start(text, last.value.start);
    let indent = &text[line..last.value.start];
    let after = &text[last.value.end..];
    let comma = after.len() - after.trim_start().len();
    let comma = after[comma..].starts_with(',').then_some(comma + 1);
    if indent.trim().is_empty() {
        let at = last.value.end + comma.unwrap_or(0);
        let missing = if comma.is_none() { "," } else { "" };
        let at_line_end = text[at..].find('\n').map_or(at, |end| at + end);
        let at_line_end = if text[..at_line_end].ends_with('\r') { at_line_end - 1 } else { at_line_end };
        let with_comma = spliced(text, at..at, missing);
        let place = at_line_end + missing.len();
        return spliced(&with_comma, place..place, &format!("{}{indent}{entry},", newline(text)));
    }
    let at = last.value.end;
    spliced(text, at..at, &format!(", {entry}"))
}
