//! Where everything in a text stands: values and tables, under the names that findings call them by.

use crate::profile::keys::Seen;
use std::ops::Range;
use toml_edit::{Array, Document, InlineTable, Item, Table as TomlTable, TableLike, Value};

/// Every value and every table of a text.
pub(super) struct Outline {
    pub(super) places: Vec<Place>,
    pub(super) tables: Vec<Section>,
}

/// A value that stands in the text.
pub(super) struct Place {
    /// Dotted path; a table in a list goes by its name, or by what it is of.
    pub(super) path: String,
    pub(super) value: Range<usize>,
    pub(super) holder: Holder,
    pub(super) kind: Kind,
}

/// What a value stands in.
#[derive(Clone, PartialEq)]
pub(super) enum Holder {
    /// A table with a header: the value has its own lines.
    Table,
    /// A table in braces, the value with its key.
    Braces(Range<usize>),
    /// A list in brackets.
    List,
    /// A point: it has three coordinates or none.
    Point,
}

/// What a value is, as far as that says how others are put into it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Plain,
    /// A table in braces.
    Braces,
    /// A table in braces that says what was measured; the figure is its `reads`.
    Seen,
    List,
}

/// A table with a header of its own; the whole file is one too.
#[derive(Default)]
pub(super) struct Section {
    pub(super) path: String,
    /// The path as a header says it, without names.
    pub(super) bare: String,
    pub(super) header: Range<usize>,
    /// Where another line of it would go.
    pub(super) end: usize,
    /// One of a list `[[...]]`.
    pub(super) listed: bool,
    /// What stands before its keys, where it has no header: `a.` for the table of `a.b = 1`.
    pub(super) dotted: String,
}

impl Outline {
    /// # Errors
    ///
    /// What the TOML parser says.
    pub(super) fn of(text: &str) -> Result<Self, String> {
        let document = Document::parse(text).map_err(|error| error.to_string())?;
        let mut outline = Self { places: Vec::new(), tables: Vec::new() };
        outline.section(text, document.as_table(), Section::default());
        Ok(outline)
    }

    /// The values of a path.
    pub(super) fn find(&self, key: &str) -> Vec<&Place> {
        let wanted = plain(key);
        let found: Vec<&Place> = self.places.iter().filter(|place| place.path == wanted).collect();
        match found.first() {
            // What was measured is meant by its name alone.
            Some(place) if place.kind == Kind::Seen => {
                let reads = format!("{wanted}.reads");
                let reads: Vec<&Place> = self.places.iter().filter(|place| place.path == reads).collect();
                if found.len() > 1 { found } else { reads }
            }
            _ => found,
        }
    }

    /// Names of the tables or values one step below a path.
    pub(super) fn below(&self, path: &str) -> Vec<&str> {
        let step =
            |other: &'_ str| -> bool { other.strip_prefix(path).is_some_and(|rest| rest.starts_with('.')) };
        let paths = self.tables.iter().filter(|table| table.listed).map(|table| table.path.as_str());
        paths.filter(|other| step(other)).map(|other| &other[path.len() + 1..]).collect()
    }

    /// Takes a table up; tells where its own lines end.
    fn section(&mut self, text: &str, table: &TomlTable, section: Section) -> usize {
        let (path, bare) = (section.path.clone(), section.bare.clone());
        let dotted = section.dotted.clone();
        let header = if section.header.is_empty() { 0 } else { line_end(text, section.header.end) };
        let place = self.tables.len();
        self.tables.push(section);
        let end = self.contents(text, table, (&path, &bare, &dotted)).max(header);
        self.tables[place].end = end;
        end
    }

    fn contents(&mut self, text: &str, table: &TomlTable, (path, bare, before): (&str, &str, &str)) -> usize {
        let mut end = 0;
        for (key, item) in table {
            let (path, bare) = (joined(path, key), joined(bare, key));
            match item {
                Item::Value(value) => {
                    end = end.max(value.span().map_or(0, |span| line_end(text, span.end)));
                    self.value(text, &path, value, &Holder::Table);
                }
                Item::Table(table) if table.is_dotted() => {
                    let dotted = format!("{before}{key}.");
                    end = end.max(self.section(
                        text,
                        table,
                        Section { path, bare, dotted, ..Section::default() },
                    ));
                }
                // Named only by the headers of tables in it.
                Item::Table(table) if table.is_implicit() => {
                    self.contents(text, table, (&path, &bare, ""));
                }
                Item::Table(table) => {
                    let header = table.span().unwrap_or_default();
                    self.section(text, table, Section { path, bare, header, ..Section::default() });
                }
                Item::ArrayOfTables(tables) => {
                    for (number, table) in tables.iter().enumerate() {
                        let name = name(table).unwrap_or_else(|| (number + 1).to_string());
                        let (path, bare) = (joined(&path, &name), bare.clone());
                        let header = table.span().unwrap_or_default();
                        self.section(
                            text,
                            table,
                            Section { path, bare, header, listed: true, ..Section::default() },
                        );
                    }
                }
                Item::None => {}
            }
        }
        end
    }

    fn value(&mut self, text: &str, path: &str, value: &Value, holder: &Holder) {
        let Some(span) = value.span() else { return };
        let kind = match value {
            Value::InlineTable(table) if seen(table).is_some() => Kind::Seen,
            Value::InlineTable(_) => Kind::Braces,
            Value::Array(_) => Kind::List,
            _ => Kind::Plain,
        };
        self.places.push(Place { path: path.to_owned(), value: span.clone(), holder: holder.clone(), kind });
        match value {
            Value::InlineTable(table) => {
                for (key, member) in table {
                    let start =
                        table.key(key).and_then(toml_edit::Key::span).map_or(span.start, |span| span.start);
                    let whole = start..member.span().map_or(start, |span| span.end);
                    self.value(text, &joined(path, key), member, &Holder::Braces(whole));
                }
            }
            Value::Array(list) => self.list(text, path, list),
            _ => {}
        }
    }

    fn list(&mut self, text: &str, path: &str, list: &Array) {
        let is_point = list.len() == 3 && list.iter().all(|item| !item.is_inline_table() && !item.is_array());
        for (number, item) in list.iter().enumerate() {
            if is_point {
                self.value(text, &joined(path, ["x", "y", "z"][number]), item, &Holder::Point);
            } else if let Value::InlineTable(table) = item {
                let name = name(table).or_else(|| seen(table)).unwrap_or_else(|| (number + 1).to_string());
                self.value(text, &joined(path, &name), item, &Holder::List);
            }
        }
    }
}

/// A path and one step further.
pub(super) fn joined(path: &str, step: &str) -> String {
    if path.is_empty() { plain(step) } else { format!("{path}.{}", plain(step)) }
}

/// A path or a name with single spaces.
pub(super) fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn text_of<'a>(table: &'a dyn TableLike, key: &str) -> Option<&'a str> {
    table.get(key).and_then(Item::as_str)
}

pub(super) fn name(table: &dyn TableLike) -> Option<String> {
    text_of(table, "name").or(text_of(table, "title")).map(plain)
}

/// What an entry of a survey's lists is of.
fn seen(table: &InlineTable) -> Option<String> {
    let [of, link, from, to] = Seen::PLACES.map(|place| text_of(table, place));
    let ends = || Some(format!("{} - {}", from?, to?));
    of.or(link).map(str::to_owned).or_else(ends).map(|name| plain(&name))
}

/// The place behind the line in which a place is.
pub(super) fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |newline| at + newline + 1)
}

/// Where the line in which a place is begins.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |newline| newline + 1)
}
