//! Where everything in a text stands: values and tables, under the names that findings call them by.
//!
//! The one walk through a file's tree. The parser says of a table under a header where that is, of one in braces where those are, and
//! of any other where its name stands; so the text itself tells which of them it is.

use std::ops::Range;
use toml::de::{DeTable, DeValue};

use super::keys::Seen;

/// Every value and every table of a text.
#[derive(Default)]
pub(super) struct TextOutline {
    /// In the order of the text, a whole before its parts.
    pub(super) places: Vec<TextPlace>,
    pub(super) tables: Vec<TextSection>,
    /// Every key and value, under the paths that findings give them: what has no name goes by what it stands in.
    told: Vec<(Range<usize>, String)>,
}

/// A value that stands in the text.
pub(super) struct TextPlace {
    /// Dotted path; a table in a list goes by its name, or by what it is of.
    pub(super) path: String,
    pub(super) value: Range<usize>,
    pub(super) holder: TextHolder,
    pub(super) kind: ValueKind,
}

/// What a value stands in.
#[derive(Clone, PartialEq)]
pub(super) enum TextHolder {
    /// A table with a header: the value has its own lines.
    Table,
    /// A table in braces, the value with its key.
    Braces(Range<usize>),
    /// A list in brackets, of tables.
    List,
    /// A list of other things, each known by its number only.
    Numbered,
    /// A point: it has three coordinates or none.
    Point,
}

/// What a value is, as far as that says how others are put into it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum ValueKind {
    Plain,
    /// A table in braces.
    Braces,
    /// A table in braces that says what was measured; the figure is its `reads`.
    Seen,
    List,
}

/// A table with a header of its own; the whole file is one too.
#[derive(Default)]
pub(super) struct TextSection {
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
    /// The path as findings tell it.
    told: String,
}

impl TextOutline {
    /// # Errors
    ///
    /// What the TOML parser says.
    pub(super) fn of(text: &str) -> Result<Self, String> {
        let tree = DeTable::parse(text).map_err(|error| error.to_string())?;
        Ok(Self::walked(text, tree.get_ref()))
    }

    /// The same of a text that may be damaged: what can be made out of it.
    pub(super) fn recovered(text: &str) -> Self {
        Self::walked(text, DeTable::parse_recoverable(text).0.get_ref())
    }

    fn walked(text: &str, tree: &DeTable<'_>) -> Self {
        let mut outline = Self::default();
        outline.section(text, tree, TextSection::default());
        // The tree is in the order of the alphabet.
        outline.places.sort_by_key(|place| place.value.start);
        outline.tables.sort_by_key(|table| table.header.start);
        outline
    }

    /// The values of a path.
    pub(super) fn find(&self, key: &str) -> Vec<&TextPlace> {
        let wanted = plain(key);
        let named = |path: &str| -> Vec<&TextPlace> {
            let places = self.places.iter().filter(|place| place.holder != TextHolder::Numbered);
            places.filter(|place| place.path == path).collect()
        };
        let found = named(&wanted);
        match found[..] {
            // What was measured is meant by its name alone.
            [TextPlace { kind: ValueKind::Seen, .. }] => named(&format!("{wanted}.reads")),
            _ => found,
        }
    }

    /// Names of the tables in a list.
    pub(super) fn named_in(&self, list: &str) -> Vec<&str> {
        let headed = self.tables.iter().filter(|table| table.listed).map(|table| table.path.as_str());
        let braced = self.places.iter().filter(|place| place.holder == TextHolder::List);
        let all = headed.chain(braced.map(|place| place.path.as_str()));
        all.filter_map(|path| path.strip_prefix(list)?.strip_prefix('.')).collect()
    }

    /// The path, as findings tell it, of the narrowest thing that holds a place.
    pub(super) fn around(&self, place: &Range<usize>) -> Option<&str> {
        let holds =
            |span: &Range<usize>| span.start <= place.start && place.end <= span.end && !span.is_empty();
        let around = self.told.iter().rev().filter(|(span, _)| holds(span));
        around.min_by_key(|(span, _)| span.len()).map(|(_, path)| path.as_str())
    }

    /// Takes a table up; tells where its own lines end.
    fn section(&mut self, text: &str, table: &DeTable<'_>, section: TextSection) -> usize {
        let header = if section.header.is_empty() { 0 } else { line_end(text, section.header.end) };
        let end = self.contents(text, table, &section).max(header);
        self.tables.push(TextSection { end, ..section });
        end
    }

    fn contents(&mut self, text: &str, table: &DeTable<'_>, within: &TextSection) -> usize {
        let mut end = 0;
        for (key, value) in table {
            let (name, span) = (key.get_ref().as_ref(), value.span());
            let step = |path: &str| joined(path, name);
            let inner = TextSection {
                path: step(&within.path),
                bare: step(&within.bare),
                told: step(&within.told),
                ..TextSection::default()
            };
            self.told.extend([key.span(), span.clone()].map(|span| (span, inner.told.clone())));
            match value.get_ref() {
                DeValue::Table(table) if has_header(text, &span) => {
                    self.section(text, table, TextSection { header: span, ..inner });
                }
                DeValue::Table(table) if !is_braced(text, &span) => {
                    // Named only by the headers of tables in it; else by keys with dots.
                    if is_header(text, span.start) {
                        self.contents(text, table, &inner);
                    } else {
                        let dotted = format!("{}{name}.", within.dotted);
                        end = end.max(self.section(text, table, TextSection { dotted, ..inner }));
                    }
                }
                DeValue::Array(items) if items.iter().any(|item| is_headed_table(text, item)) => {
                    for (number, item) in items.iter().enumerate() {
                        let DeValue::Table(table) = item.get_ref() else { continue };
                        let named = name_of(table);
                        let name = named.clone().unwrap_or_else(|| (number + 1).to_string());
                        let told =
                            named.map_or_else(|| inner.told.clone(), |name| joined(&inner.told, &name));
                        self.told.push((item.span(), told.clone()));
                        let (path, bare) = (joined(&inner.path, &name), inner.bare.clone());
                        let entry = TextSection {
                            path,
                            bare,
                            told,
                            header: item.span(),
                            listed: true,
                            ..TextSection::default()
                        };
                        self.section(text, table, entry);
                    }
                }
                found => {
                    end = end.max(line_end(text, span.end));
                    self.value(text, [&inner.path, &inner.told], (found, span), TextHolder::Table);
                }
            }
        }
        end
    }

    fn value(
        &mut self,
        text: &str,
        paths: [&str; 2],
        (value, span): (&DeValue<'_>, Range<usize>),
        holder: TextHolder,
    ) {
        let kind = match value {
            DeValue::Table(table) if seen(table).is_some() => ValueKind::Seen,
            DeValue::Table(_) => ValueKind::Braces,
            DeValue::Array(_) => ValueKind::List,
            _ => ValueKind::Plain,
        };
        self.places.push(TextPlace { path: paths[0].to_owned(), value: span, holder, kind });
        match value {
            DeValue::Table(table) => self.braces(text, paths, table, None),
            DeValue::Array(items) => {
                let is_plain = |item: &DeValue<'_>| !item.is_table() && !item.is_array();
                let is_point = items.len() == 3 && items.iter().all(|item| is_plain(item.get_ref()));
                for (number, item) in items.iter().enumerate() {
                    let place = (number + 1).to_string();
                    let (step, named, holder) = match item.get_ref() {
                        DeValue::Table(table) => {
                            let name = name_of(table);
                            (name.clone().or_else(|| seen(table)).unwrap_or(place), name, TextHolder::List)
                        }
                        _ if is_point => (["x", "y", "z"][number].to_owned(), None, TextHolder::Point),
                        _ => (place, None, TextHolder::Numbered),
                    };
                    let told = named.map_or_else(|| paths[1].to_owned(), |name| joined(paths[1], &name));
                    self.told.push((item.span(), told.clone()));
                    self.value(
                        text,
                        [&joined(paths[0], &step), &told],
                        (item.get_ref(), item.span()),
                        holder,
                    );
                }
            }
            _ => {}
        }
    }

    /// What stands in braces; of keys with dots `from` is where the first of their steps begins.
    fn braces(&mut self, text: &str, paths: [&str; 2], table: &DeTable<'_>, from: Option<usize>) {
        for (key, value) in table {
            let (span, start) = (value.span(), from.unwrap_or(key.span().start));
            let [path, told] = paths.map(|path| joined(path, key.get_ref()));
            self.told.extend([key.span(), span.clone()].map(|span| (span, told.clone())));
            match value.get_ref() {
                DeValue::Table(table) if !is_braced(text, &span) => {
                    self.braces(text, [&path, &told], table, Some(start));
                }
                found => {
                    let holder = TextHolder::Braces(start..span.end);
                    self.value(text, [&path, &told], (found, span), holder);
                }
            }
        }
    }
}

/// Whether the line in which a place is is a table's header.
fn is_header(text: &str, at: usize) -> bool {
    let mut line = text.bytes().skip(line_start(text, at));
    line.find(|byte| !byte.is_ascii_whitespace()) == Some(b'[')
}

fn has_header(text: &str, table: &Range<usize>) -> bool {
    text.as_bytes().get(table.start) == Some(&b'[')
}

fn is_braced(text: &str, table: &Range<usize>) -> bool {
    text.as_bytes().get(table.start) == Some(&b'{')
}

fn is_headed_table(text: &str, item: &toml::Spanned<DeValue<'_>>) -> bool {
    item.get_ref().is_table() && has_header(text, &item.span())
}

/// A path and one step further.
pub(super) fn joined(path: &str, step: &str) -> String {
    if path.is_empty() { plain(step) } else { format!("{path}.{}", plain(step)) }
}

/// A path or a name with single spaces.
pub(super) fn plain(text: &str) -> String {
    // Most have none: every key of a file comes by here.
    if !text.contains(char::is_whitespace) {
        return text.to_owned();
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What of a key lies below a path.
pub(super) fn below<'a>(key: &'a str, path: &str) -> Option<&'a str> {
    if path.is_empty() { Some(key) } else { key.strip_prefix(path)?.strip_prefix('.') }
}

fn text_of<'a>(table: &'a DeTable<'_>, key: &str) -> Option<&'a str> {
    table.get(key)?.get_ref().as_str()
}

fn name_of(table: &DeTable<'_>) -> Option<String> {
    text_of(table, "name").or(text_of(table, "title")).map(plain)
}

/// What an entry of a survey's lists is of.
fn seen(table: &DeTable<'_>) -> Option<String> {
    let [of, link, from, to] = Seen::PLACES.map(|place| text_of(table, place));
    let ends = || Some(format!("{} - {}", from?, to?));
    of.or(link).map(str::to_owned).or_else(ends).map(|name| plain(&name))
}

/// The place behind the line in which a place is.
pub(super) fn line_end(text: &str, at: usize) -> usize {
    let newline = text.bytes().skip(at).position(|byte| byte == b'\n');
    newline.map_or(text.len(), |newline| at + newline + 1)
}

/// Where the line in which a place is begins.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    let before = text.as_bytes().get(..at).unwrap_or_default();
    before.iter().rposition(|byte| *byte == b'\n').map_or(0, |newline| newline + 1)
}
