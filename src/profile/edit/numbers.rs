//! Every plain number that stands in a text, so that each can be tried a little larger.

use std::ops::Range;
use toml_edit::{Document, Item, TableLike, Value};

use super::outline::{joined, name};
use crate::profile::Quantity;

/// A number that stands in a text.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// Its key: a dotted path, as findings write it; what has no name in a list goes by its place, counted from 1.
    pub key: String,
    /// What it is: of a length mm, of an angle degrees, else as it is written.
    pub value: f64,
    /// What stands behind it in its quotes, where it has a unit.
    unit: Option<String>,
    place: Range<usize>,
}

impl Number {
    /// The same text with another number in this place.
    #[must_use]
    pub fn changed(&self, text: &str, value: f64) -> String {
        let value = match &self.unit {
            Some(unit) => format!("\"{value} {unit}\""),
            None => format!("{value:?}"),
        };
        [&text[..self.place.start], &value, &text[self.place.end..]].concat()
    }
}

/// The numbers of a text, whole ones apart, which count something. A text that is not TOML has none.
pub fn numbers(text: &str) -> Vec<Number> {
    let mut found = Vec::new();
    if let Ok(document) = Document::parse(text) {
        of_table(document.as_table(), "", &mut found);
    }
    found
}

fn of_table(table: &dyn TableLike, path: &str, found: &mut Vec<Number>) {
    for (key, item) in table.iter() {
        let path = joined(path, key);
        match item {
            Item::Value(value) => of_value(value, &path, found),
            Item::Table(table) => of_table(table, &path, found),
            Item::ArrayOfTables(tables) => {
                for (number, table) in tables.iter().enumerate() {
                    let name = name(table).unwrap_or_else(|| (number + 1).to_string());
                    of_table(table, &joined(&path, &name), found);
                }
            }
            Item::None => {}
        }
    }
}

fn of_value(value: &Value, path: &str, found: &mut Vec<Number>) {
    let mut push = |value: f64, unit: Option<String>, span: Option<Range<usize>>| {
        found.extend(span.map(|place| Number { key: path.to_owned(), value, unit, place }));
    };
    match value {
        Value::Float(number) => push(*number.value(), None, value.span()),
        Value::String(words) => {
            if let Some((number, unit)) = with_unit(words.value()) {
                push(number, Some(unit), value.span());
            }
        }
        Value::InlineTable(table) => of_table(table, path, found),
        Value::Array(list) => {
            let plain = |item: &Value| item.is_float() || item.is_integer() || item.is_str();
            let is_point = list.len() == 3 && list.iter().all(plain);
            for (number, item) in list.iter().enumerate() {
                let step =
                    if is_point { ["x", "y", "z"][number].to_owned() } else { (number + 1).to_string() };
                of_value(item, &joined(path, &step), found);
            }
        }
        _ => {}
    }
}

/// A number with its unit: of lengths and angles in mm and degrees, of all others as they are written.
fn with_unit(words: &str) -> Option<(f64, String)> {
    match words.parse::<Quantity>() {
        Ok(Quantity::Length(mm)) => return Some((mm, "mm".to_owned())),
        Ok(Quantity::Angle(rad)) => return Some((rad.to_degrees(), "deg".to_owned())),
        // A guess would become a measurement.
        Ok(Quantity::Bare(_) | Quantity::About(_)) => return None,
        Err(_) => {}
    }
    let (number, unit) = words.trim().split_once(' ')?;
    let is_unit = unit.starts_with(char::is_alphabetic)
        && unit.chars().all(|c| c.is_alphanumeric() || "/ ".contains(c));
    Some((number.parse().ok()?, unit.to_owned())).filter(|_| is_unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_goes_by_its_key_and_can_be_changed_alone() {
        let text = "a = 1\nb = 2.5 # kept\n[[link]]\nname = \"upper\"\nknuckle = [1.0, 2.0, \"3 in\"]\nof = { at = 4.0 }\n\
                    ends = [[5.0, 6.0]]\nclass = \"8.8\"\nrating = \"24 kN\"\n";
        let all = numbers(text);
        let keys: Vec<&str> = all.iter().map(|number| number.key.as_str()).collect();
        let knuckle = ["link.upper.knuckle.x", "link.upper.knuckle.y", "link.upper.knuckle.z"];
        assert_eq!(keys[0], "b");
        assert_eq!(keys[1..4], knuckle);
        let rest = ["link.upper.of.at", "link.upper.ends.1.1", "link.upper.ends.1.2", "link.upper.rating"];
        assert_eq!(keys[4..], rest);
        assert_eq!(all[7].changed(text, 25.0), text.replace("24 kN", "25 kN"));
        assert_eq!(all[0].changed(text, 3.0), text.replace("2.5", "3.0"));
        assert!((all[3].value - 76.2).abs() < 1e-12);
        assert_eq!(all[3].changed(text, 76.0), text.replace("\"3 in\"", "\"76 mm\""));
        assert_eq!(numbers("no = = toml"), []);
    }
}
