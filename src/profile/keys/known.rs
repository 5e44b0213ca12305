//! Every key by its dotted path.

use super::key::{Declared, Key, KeyTable, Kind};
use super::record::Record;
use super::{EXAMPLES, Profile, Right};
use crate::profile::finding::nearest;

/// What stands in a path for a name that the file gives.
const NAME: &str = "NAME";

/// A key and where it stands.
#[derive(Debug, Clone)]
pub struct KnownKey {
    /// Its path, with dots; `NAME` is what a link, a shape or a point is called in the file.
    pub path: String,
    /// What it is.
    pub key: &'static Key,
}

/// The tables of a whole file: of a profile or a survey, and of a record.
pub fn root(record: bool) -> &'static KeyTable {
    const PROFILE: KeyTable = Profile::TABLE;
    const RECORD: KeyTable = Record::TABLE;
    if record { &RECORD } else { &PROFILE }
}

/// All keys of a profile or a survey, or of a record; those of the right side stand once, at the base.
pub fn known_keys(record: bool) -> Vec<KnownKey> {
    let mut found = Vec::new();
    walk(root(record), "", &mut found);
    found
}

fn walk(table: &'static KeyTable, above: &str, found: &mut Vec<KnownKey>) {
    for key in table.keys {
        let path = format!("{above}{}", key.name);
        found.push(KnownKey { path: path.clone(), key });
        match key.kind {
            Kind::Table(inner) if inner.name == Right::TABLE.name => {}
            Kind::Table(inner) => walk(inner, &format!("{path}."), found),
            Kind::Tables(inner, _) | Kind::List(inner) => walk(inner, &format!("{path}.{NAME}."), found),
            _ => {}
        }
    }
}

impl KnownKey {
    /// Whether a path of a file is this key, whatever the names in it; that of the right side too.
    pub(crate) fn is(&self, path: &str) -> bool {
        let path = path.strip_prefix("right.").unwrap_or(path);
        match self.path.split_once(NAME) {
            Some((before, after)) => path.strip_prefix(before).is_some_and(|rest| {
                rest.strip_suffix(after).is_some_and(|name| !name.is_empty())
                    || after == ".reads" && !rest.is_empty()
            }),
            None => self.path == path,
        }
    }

    /// Whether a path of a file is this key or a number in its value.
    pub(crate) fn holds(&self, path: &str) -> bool {
        let mut shorter = Some(path);
        std::iter::from_fn(|| {
            let path = shorter?;
            shorter = path.rsplit_once('.').filter(|(_, step)| is_place(step)).map(|(path, _)| path);
            Some(path)
        })
        .any(|path| self.is(path))
    }

    /// Whether it is neither measured nor asked for, nor only a way in space.
    pub(crate) fn is_setting(&self) -> bool {
        !self.key.is_read && !matches!(self.key.kind, Kind::Direction)
    }

    /// The path as it may be typed: of a link by the names of an ordinary car.
    pub(crate) fn typed(&self) -> Vec<String> {
        match self.path.split_once(NAME) {
            None => vec![self.path.clone()],
            Some(("link.", _)) => {
                EXAMPLES.iter().map(|link| self.path.replacen(NAME, link.name, 1)).collect()
            }
            Some(_) => Vec::new(),
        }
    }
}

/// Whether a step of a path is a coordinate or a place in a list.
fn is_place(step: &str) -> bool {
    ["x", "y", "z"].contains(&step) || step.bytes().all(|byte| byte.is_ascii_digit())
}

/// The path most like one that no key goes by; `None` where it is a key or a coordinate of one, or like none.
pub fn meant(path: &str) -> Option<String> {
    let all = known_keys(false);
    let is_member = |known: &KnownKey| {
        let name = path.strip_prefix("right.").unwrap_or(path).strip_prefix(&known.path);
        known.key.table().is_some()
            && name.is_some_and(|name| name.starts_with('.') && !name[1..].contains('.'))
    };
    if all
        .iter()
        .any(|known| known.holds(path) || matches!(known.key.kind, Kind::Tables(..)) && is_member(known))
    {
        return None;
    }
    // The name that was typed, where the path has one.
    let steps: Vec<&str> = path.split('.').collect();
    let named = |known: &KnownKey| match (known.path.contains(NAME), steps.get(1)) {
        (true, Some(name)) => known.path.replacen(NAME, name, 1),
        _ => known.path.clone(),
    };
    let last = steps.last().copied().unwrap_or_default();
    // A key that stands elsewhere, before one that is only written alike; of a name alone, one whose name is.
    let names: Vec<&str> = all.iter().map(|known| known.key.name).collect();
    let alike = if steps.len() == 1 && !last.contains(' ') { nearest(last, &names) } else { None };
    let name = if names.contains(&last) { last } else { alike.unwrap_or(last) };
    let elsewhere = all.iter().find(|known| known.key.name == name && known.key.table().is_none());
    let paths: Vec<String> = all.iter().map(named).collect();
    let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
    match elsewhere {
        Some(known) if steps.len() == 1 => Some(known.path.clone()),
        _ => nearest(path, &paths).map(str::to_owned),
    }
}

impl Key {
    /// Its examples, as a file has them.
    pub fn examples(&self) -> Vec<toml::Value> {
        let read = |value: &str| toml::from_str::<toml::Table>(&format!("key = {value}")).ok()?.remove("key");
        let table = || toml::from_str::<toml::Table>(self.example).ok().map(toml::Value::Table);
        let first = match self.kind {
            Kind::Settings => table(),
            Kind::List(_) => read(&format!("[{}]", self.example)),
            _ => read(&super::starter::example(self)),
        };
        let also = Some(self.also).filter(|also| !also.is_empty());
        let also = also.map(|also| {
            if also.starts_with(['[', '"']) { read(also) } else { Some(toml::Value::String(also.to_owned())) }
        });
        first.into_iter().chain(also.flatten()).collect()
    }

    /// What it is, and how to measure it.
    pub(crate) fn words(&self) -> String {
        let [meaning, how] = [self.meaning, self.how].map(str::trim);
        if how.is_empty() { meaning.to_owned() } else { format!("{meaning}\n\n{how}") }
    }

    /// From - to of what it takes, in its unit; empty where it takes anything of its kind.
    pub(crate) fn range_words(&self) -> String {
        let unit = self.kind.unit();
        match self.range {
            Some(range) if Some(range) == self.kind.range() => "more than 0".to_owned(),
            Some([least, most]) if least == 0.0 && !matches!(self.kind, Kind::Number(_)) => {
                format!("more than 0, at most {most} {unit}").trim_end().to_owned()
            }
            Some([least, most]) => format!("{least} to {most} {unit}").trim_end().to_owned(),
            None => match self.kind {
                Kind::Choice(choices) | Kind::Choices(choices, _) => {
                    choices.iter().map(|choice| format!("\"{choice}\"")).collect::<Vec<_>>().join(", ")
                }
                _ => String::new(),
            },
        }
    }
}
