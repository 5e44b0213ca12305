//! Letters by which tables and drawings call the set-ups.

use std::collections::BTreeMap;

use crate::plan::TravelCurves;

/// Every set-up with its letter.
pub(super) fn letters(travel: &TravelCurves) -> BTreeMap<&str, String> {
    let mut letters = BTreeMap::new();
    for curve in travel.sides.iter().flat_map(|side| &side.setups) {
        let next = letter(letters.len());
        letters.entry(curve.setup.as_str()).or_insert(next);
    }
    letters
}

fn letter(index: usize) -> String {
    let letter = char::from(b'A' + u8::try_from(index % 26).unwrap_or(0));
    if index < 26 { letter.to_string() } else { format!("{letter}{}", index / 26) }
}
