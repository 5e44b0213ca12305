//! How an arm or a cam is set, the way a garage writes it down.

use std::fmt;
use std::str::FromStr;

use crate::profile::quantity::{parts, plain};
use crate::profile::{CamPosition, CamPositionError, Quantity, QuantityError};

/// The setting of an arm or of a cam, as it was written; which of them fits is for the link to say.
///
/// ```text
/// 1.5, "1 11/12", "-1/4", "2 shorter"   a number: turns of an arm, degrees of a cam
/// "1 turn", "-3 flats"                  turns of an arm; a flat of a hexagon is a sixth
/// "247.2 mm", "9 3/4 in"                the whole length of an arm; the shift of a cam
/// "5.8 mm longer"                       what an arm was made longer by
/// "15 deg", "2 marks inboard"           what only a cam has, see [`CamPosition`]
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::profile) enum WrittenSetting {
    /// A number without a unit.
    Bare(f64),
    /// Turns, plus: longer.
    Turns(f64),
    /// A length, mm.
    Length(f64),
    /// A change of length, mm, plus: longer.
    Change(f64),
    /// What only a cam has.
    Cam(CamPosition),
}

/// A text that is no setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::profile) enum SettingError {
    /// Not a number with a unit.
    Quantity(QuantityError),
    /// A sign and a word that says the same or the opposite.
    SignAndWord,
    /// "longer" or "shorter" behind what has no length.
    NoLength,
    /// Read as a cam's position, it is none.
    Cam(CamPositionError),
}

impl fmt::Display for SettingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Quantity(QuantityError::Unreadable) => {
                "this is no setting; write turns like \"1 11/12\" or \"1/2 shorter\", a length like \"247.2 mm\", a cam \
                 like \"15 deg\", \"-2 marks\" or \"1.5 mm inboard\""
            }
            Self::Quantity(error) => return error.fmt(f),
            Self::SignAndWord => "write either a sign or \"longer\" or \"shorter\", not both",
            Self::Cam(error) => return error.fmt(f),
            Self::NoLength => "\"longer\" and \"shorter\" go with turns or a length",
        })
    }
}

impl From<QuantityError> for SettingError {
    fn from(error: QuantityError) -> Self {
        Self::Quantity(error)
    }
}

impl From<CamPositionError> for SettingError {
    fn from(error: CamPositionError) -> Self {
        match error {
            CamPositionError::Quantity(error) => Self::Quantity(error),
            error => Self::Cam(error),
        }
    }
}

impl WrittenSetting {
    /// A number that TOML knows as one.
    pub(in crate::profile) fn number(value: f64) -> Result<Self, QuantityError> {
        if value.is_finite() { Ok(Self::Bare(value)) } else { Err(QuantityError::NotFinite) }
    }
}

impl FromStr for WrittenSetting {
    type Err = SettingError;

    fn from_str(text: &str) -> Result<Self, SettingError> {
        let (sign, rest) = plain(text)?;
        let (rest, way) = match (rest.strip_suffix("longer"), rest.strip_suffix("shorter")) {
            (Some(rest), _) => (rest, Some(1.0)),
            (_, Some(rest)) => (rest, Some(-1.0)),
            _ => (rest.as_str(), None),
        };
        if way.is_some() && text.trim_start().starts_with(|c: char| !c.is_ascii_digit() && c != '.') {
            return Err(SettingError::SignAndWord);
        }
        let written = match parts(rest).as_deref() {
            Some([(number, "")]) => Self::Bare(*number),
            Some([(number, "turn" | "turns")]) => Self::Turns(*number),
            Some([(number, "flat" | "flats")]) => Self::Turns(number / 6.0),
            _ => match rest.parse::<Quantity>() {
                Ok(Quantity::Length(mm)) => Self::Length(mm),
                _ if way.is_none() => return Ok(Self::Cam(text.parse()?)),
                _ => rest.parse().map(Self::Cam)?,
            },
        };
        let setting = match (way, written) {
            (None, Self::Bare(number)) => Self::Bare(sign * number),
            (None, Self::Turns(turns)) => Self::Turns(sign * turns),
            (None, Self::Length(mm)) => Self::Length(sign * mm),
            (None, written) => written,
            (Some(way), Self::Bare(turns) | Self::Turns(turns)) => Self::Turns(way * turns),
            (Some(way), Self::Length(mm)) => Self::Change(way * mm),
            (Some(_), _) => return Err(SettingError::NoLength),
        };
        match setting {
            Self::Bare(value) | Self::Turns(value) | Self::Length(value) | Self::Change(value)
                if !value.is_finite() =>
            {
                Err(QuantityError::NotFinite.into())
            }
            setting => Ok(setting),
        }
    }
}

impl WrittenSetting {
    /// As the position of a cam, where it can be one.
    pub(in crate::profile) fn of_cam(self) -> Option<CamPosition> {
        match self {
            Self::Bare(degrees) => Some(CamPosition::degrees(degrees)),
            Self::Length(mm) => Some(CamPosition::shifted(mm)),
            Self::Cam(position) => Some(position),
            Self::Turns(_) | Self::Change(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{SettingError, WrittenSetting};
    use crate::profile::{CamPosition, CamPositionError, QuantityError};
    use approx::assert_relative_eq;

    fn read(text: &str) -> WrittenSetting {
        text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    fn value(setting: WrittenSetting) -> f64 {
        match setting {
            WrittenSetting::Bare(value)
            | WrittenSetting::Turns(value)
            | WrittenSetting::Length(value)
            | WrittenSetting::Change(value) => value,
            WrittenSetting::Cam(position) => panic!("{position:?}"),
        }
    }

    #[test]
    fn settings_in_all_the_ways_a_garage_writes_them() {
        for (text, setting) in [
            ("1 11/12", WrittenSetting::Bare(23.0 / 12.0)),
            ("-1 11/12", WrittenSetting::Bare(-23.0 / 12.0)),
            ("+1/4", WrittenSetting::Bare(0.25)),
            ("2.5", WrittenSetting::Bare(2.5)),
            ("1 turn", WrittenSetting::Turns(1.0)),
            ("−3 flats", WrittenSetting::Turns(-0.5)),
            ("1/2 shorter", WrittenSetting::Turns(-0.5)),
            ("1 1/2 turns longer", WrittenSetting::Turns(1.5)),
            ("247.2 mm", WrittenSetting::Length(247.2)),
            ("9 3/4 in", WrittenSetting::Length(9.75 * 25.4)),
            ("5.8 mm longer", WrittenSetting::Change(5.8)),
            ("1/4 in shorter", WrittenSetting::Change(-6.35)),
            ("-2 mm", WrittenSetting::Length(-2.0)),
        ] {
            let read = read(text);
            assert_eq!(std::mem::discriminant(&read), std::mem::discriminant(&setting), "{text}");
            assert_relative_eq!(value(read), value(setting), max_relative = 1e-15);
        }
        for text in ["-15°30'", "-2 marks", "2 marks outboard", "towards the wheel"] {
            let position: CamPosition = text.parse().expect(text);
            assert_eq!(read(text), WrittenSetting::Cam(position), "{text}");
            assert_eq!(read(text).of_cam(), Some(position));
        }
        assert_eq!(
            read("1.5 mm inboard"),
            WrittenSetting::Cam("1.5 mm inboard".parse().expect("a position"))
        );
        assert_eq!(read("1/2 turn").of_cam(), None);
    }

    #[test]
    fn what_is_no_setting_is_said_to_be_none() {
        for (text, error) in [
            ("", QuantityError::Unreadable.into()),
            ("longer", SettingError::SignAndWord),
            ("a bit longer", SettingError::SignAndWord),
            ("-1/2 longer", SettingError::SignAndWord),
            ("1 longer shorter", QuantityError::Unreadable.into()),
            ("15 deg longer", SettingError::NoLength),
            ("2 marks longer", SettingError::NoLength),
            ("-2 marks inboard", SettingError::Cam(CamPositionError::SignAndWay)),
            ("1,5", QuantityError::Comma.into()),
            ("1/0", QuantityError::NotFinite.into()),
            ("3 furlongs", QuantityError::Unreadable.into()),
        ] {
            assert_eq!(text.parse::<WrittenSetting>(), Err(error), "{text}");
        }
    }
}
