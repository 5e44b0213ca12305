//! Every plain number that stands in a text, so that each can be tried a little larger.

use std::ops::Range;
use toml::Value;

use crate::profile::Quantity;
use crate::profile::outline::{TextOutline, TextPlace, ValueKind};

/// A number that stands in a text.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TextNumber {
    /// Its key: a dotted path, as findings write it; what has no name in a list goes by its place, counted from 1.
    pub(crate) key: String,
    /// What it is: of a length mm, of an angle degrees, else as it is written.
    pub(crate) value: f64,
    /// What stands behind it in its quotes, where it has a unit.
    unit: Option<String>,
    place: Range<usize>,
}

impl TextNumber {
    /// The same text with another number in this place.
    #[must_use]
    pub(crate) fn changed(&self, text: &str, value: f64) -> String {
        let value = match &self.unit {
            Some(unit) => format!("\"{value} {unit}\""),
            None => format!("{value:?}"),
        };
        [&text[..self.place.start], &value, &text[self.place.end..]].concat()
    }
}

/// The numbers of a text, whole ones apart, which count something. A text that is not TOML has none.
pub(crate) fn numbers(text: &str) -> Vec<TextNumber> {
    let places = TextOutline::of(text).map_or_else(|_| Vec::new(), |outline| outline.places);
    let plain = places.into_iter().filter(|place| place.kind == ValueKind::Plain);
    let number = |place: TextPlace| {
        let (value, unit) = match text[place.value.clone()].parse().ok()? {
            Value::Float(number) => (number, None),
            Value::String(words) => with_unit(&words).map(|(number, unit)| (number, Some(unit)))?,
            _ => return None,
        };
        Some(TextNumber { key: place.path, value, unit, place: place.value })
    };
    plain.filter_map(number).collect()
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
