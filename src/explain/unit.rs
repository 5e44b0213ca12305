//! The units of figures, which stand at the end of their names in the JSON.

use schemars::JsonSchema;
use serde::Serialize;

/// The unit of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Unit {
    /// A length, mm.
    Length,
    /// An angle, degrees.
    Angle,
    /// Toe, or a change of it, degrees.
    Toe,
    /// Degrees of anything over 100 mm of travel.
    AnglePerTravel,
    /// Mm of anything over 100 mm of travel.
    LengthPerTravel,
    /// What has this written behind it.
    Other(&'static str),
}

/// The ends of names, the longer ones first.
const ENDS: [(&str, Unit); 14] = [
    ("_mm_per_100_mm", Unit::LengthPerTravel),
    ("_deg_per_100_mm", Unit::AnglePerTravel),
    ("_mm_per_rad", Unit::Other("mm/rad")),
    ("_n_per_mm", Unit::Other("N/mm")),
    ("_n_mm", Unit::Other("N mm")),
    ("_nm", Unit::Other("N m")),
    ("_per_mm", Unit::Other("1/mm")),
    ("_percent", Unit::Other("%")),
    ("_hz", Unit::Other("Hz")),
    ("_mm", Unit::Length),
    ("_deg", Unit::Angle),
    ("_n", Unit::Other("N")),
    ("_turns", Unit::Other("turns")),
    ("_marks", Unit::Other("marks")),
];

impl Unit {
    /// The unit of a figure, and its name without it.
    pub(crate) fn of(key: &str) -> (Self, &str) {
        let end = ENDS.into_iter().find_map(|(end, unit)| Some((unit, key.strip_suffix(end)?)));
        match end {
            Some((Self::Angle, name)) if Self::is_toe(name) => (Self::Toe, name),
            Some(found) => found,
            None => (Self::Other(""), key),
        }
    }

    /// Whether a key is about toe.
    pub(super) fn is_toe(key: &str) -> bool {
        key.split('_').any(|word| word == "toe")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_unit_is_the_end_of_the_name() {
        assert_eq!(Unit::of("camber_deg"), (Unit::Angle, "camber"));
        assert_eq!(Unit::of("total_toe_deg"), (Unit::Toe, "total_toe"));
        assert_eq!(Unit::of("gradient_rim_mm_per_100_mm"), (Unit::LengthPerTravel, "gradient_rim"));
        assert_eq!(Unit::of("motion_ratio_per_mm"), (Unit::Other("1/mm"), "motion_ratio"));
        assert_eq!(Unit::of("down_turns"), (Unit::Other("turns"), "down"));
        assert_eq!(Unit::of("turns"), (Unit::Other(""), "turns"));
    }
}
