//! Where a value goes that has no place yet.

use toml_edit::Key;

use super::outline::{Kind, Outline, Place, Section};
use super::{EditError, newline, spliced};

/// The lists of a survey, and what an entry of each is of.
const LISTS: [(&str, &str); 7] = [
    ("height", "of"),
    ("forward", "of"),
    ("across", "of"),
    ("pair", "of"),
    ("arm", "link"),
    ("slope", "link"),
    ("tape", "from"),
];

/// The text with a value under a key that stands nowhere in it.
pub(super) fn inserted(text: &str, outline: &Outline, key: &str, literal: &str) -> Result<String, EditError> {
    if key.is_empty() || key.split('.').any(|step| step.trim().is_empty()) {
        return Err(EditError::Unclear(key.to_owned()));
    }
    // What is to be measured and has no reading yet.
    if let Some(seen) = outline.places.iter().find(|place| place.kind == Kind::Seen && place.path == key) {
        return Ok(into_braces(text, seen, "reads", literal));
    }
    if let Some(entry) = entry(text, outline, key, literal) {
        return Ok(entry);
    }
    let table = outline.tables.iter().filter_map(|table| Some((table, rest_of(key, &table.path)?)));
    let table = table.max_by_key(|(table, _)| table.path.len());
    let braces = outline.places.iter().filter(|place| matches!(place.kind, Kind::Braces | Kind::Seen));
    let braces = braces.filter_map(|place| Some((place, rest_of(key, &place.path)?)));
    let braces = braces.max_by_key(|(place, _)| place.path.len());
    match (table, braces) {
        (table, Some((place, rest)))
            if table.as_ref().is_none_or(|(table, _)| table.path.len() < place.path.len()) =>
        {
            Ok(into_braces(text, place, rest, literal))
        }
        (Some((table, rest)), _) => into_table(text, outline, table, rest, literal),
        _ => Err(EditError::Unclear(key.to_owned())),
    }
}

/// What of a key lies below a path.
fn rest_of<'a>(key: &'a str, path: &str) -> Option<&'a str> {
    if path.is_empty() { Some(key) } else { key.strip_prefix(path)?.strip_prefix('.') }
}

fn into_braces(text: &str, place: &Place, rest: &str, literal: &str) -> String {
    let inside = text[place.value.clone()].trim_end_matches('}').trim_end();
    let end = place.value.start + inside.len();
    let comma = if inside.ends_with(['{', ',']) { " " } else { ", " };
    spliced(text, end..end, &format!("{comma}{} = {literal}", written(rest)))
}

fn into_table(
    text: &str,
    outline: &Outline,
    table: &Section,
    rest: &str,
    literal: &str,
) -> Result<String, EditError> {
    let newline = newline(text);
    // A table of a list that is not there yet: only some lists may grow.
    let named =
        |list: &str| (table.path.is_empty()).then(|| rest.strip_prefix(list)?.strip_prefix('.')).flatten();
    if let Some(name) = named("link") {
        let name = name.split('.').next().unwrap_or_default().to_owned();
        return Err(EditError::NoLink { name, known: links(outline) });
    }
    for list in ["right.link", "keepout"] {
        let Some(below) = named(list) else { continue };
        let known = if list == "keepout" { Vec::new() } else { links(outline) };
        let of_known = known.iter().find_map(|name| Some((name.clone(), rest_of(below, name)?)));
        let split = || below.split_once('.').map(|(name, key)| (name.to_owned(), key));
        let Some((name, key)) = of_known.or_else(split) else {
            return Err(EditError::Unclear(format!("{list}.{below}")));
        };
        if list == "right.link" && !known.contains(&name) {
            return Err(EditError::NoLink { name, known });
        }
        let name = toml_edit::Value::from(name);
        let lines = format!("[[{list}]]{newline}name = {name}{newline}{} = {literal}", written(key));
        return Ok(new_table(text, text.len(), &lines));
    }
    match rest.rsplit_once('.') {
        None => {
            let line = format!("{}{} = {literal}", table.dotted, written(rest));
            Ok(new_line(text, table.end, &line))
        }
        Some((tables, key)) => {
            let tables: Vec<String> = tables.split('.').map(written).collect();
            let bare = if table.bare.is_empty() { String::new() } else { format!("{}.", table.bare) };
            let lines = format!("[{bare}{}]{newline}{} = {literal}", tables.join("."), written(key));
            Ok(new_table(text, end_of(text, outline, table), &lines))
        }
    }
}

/// Where a table ends with all tables in it.
fn end_of(text: &str, outline: &Outline, table: &Section) -> usize {
    if table.path.is_empty() {
        return text.len();
    }
    let inside = |other: &&Section| other.path == table.path || rest_of(&other.path, &table.path).is_some();
    outline.tables.iter().filter(inside).map(|table| table.end).max().unwrap_or(text.len())
}

fn new_line(text: &str, at: usize, line: &str) -> String {
    let newline = newline(text);
    let gap = if at == 0 || text[..at].ends_with('\n') { "" } else { newline };
    spliced(text, at..at, &format!("{gap}{line}{newline}"))
}

/// A table with an empty line before it.
fn new_table(text: &str, at: usize, lines: &str) -> String {
    let empty = text[..at].trim_end_matches(['\r', '\n']).len();
    let breaks = text[empty..at].matches('\n').count();
    let gap = if empty == 0 { String::new() } else { newline(text).repeat(2_usize.saturating_sub(breaks)) };
    // What follows keeps its own empty line.
    spliced(text, at..at, &format!("{gap}{lines}{}", newline(text)))
}

fn links(outline: &Outline) -> Vec<String> {
    outline.below("link").into_iter().map(str::to_owned).collect()
}

/// A key as it is written, in quotes where it needs them.
fn written(key: &str) -> String {
    Key::new(key).to_string()
}

/// One more entry in a list of a survey.
fn entry(text: &str, outline: &Outline, key: &str, literal: &str) -> Option<String> {
    outline.tables.iter().find(|table| table.path == "survey")?;
    let (list, name) = key.strip_prefix("survey.")?.split_once('.')?;
    let (_, of) = LISTS.iter().find(|(known, _)| *known == list)?;
    let path = format!("survey.{list}.");
    if outline.places.iter().any(|place| {
        key != place.path && place.path.starts_with(&path) && rest_of(key, &place.path).is_some()
    }) {
        return None;
    }
    let quoted = |name: &str| toml_edit::Value::from(name.trim());
    let place = match name.split_once(" - ") {
        Some((from, to)) if *of == "from" => format!("from = {}, to = {}", quoted(from), quoted(to)),
        _ if *of == "from" => return None,
        _ => format!("{of} = {}", quoted(name)),
    };
    let entry = format!("{{ {place}, reads = {literal} }}");
    match outline.find(&format!("survey.{list}")).first() {
        Some(place) if place.kind == Kind::List => Some(into_list(text, place, outline, &path, &entry)),
        Some(_) => None,
        None => {
            let survey = outline.tables.iter().find(|table| table.path == "survey")?;
            let newline = newline(text);
            Some(new_line(text, survey.end, &format!("{list} = [{newline}  {entry},{newline}]")))
        }
    }
}

/// Behind the last entry of a list, laid out as that one is.
fn into_list(text: &str, list: &Place, outline: &Outline, path: &str, entry: &str) -> String {
    let last = outline.places.iter().rfind(|place| place.path.starts_with(path) && place.kind == Kind::Seen);
    let Some(last) = last else {
        let at = list.value.start + 1;
        return spliced(text, at..at, entry);
    };
    let line = super::outline::line_start(text, last.value.start);
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
