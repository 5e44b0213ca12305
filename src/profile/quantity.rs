//! Numbers with units, the way people write them.

use serde::de::{self, Deserialize, Deserializer, Visitor};
use std::fmt;
use std::str::FromStr;

/// A length, an angle, or a bare number whose meaning the key decides.
///
/// ```
/// use rodset::profile::Quantity;
/// let read = |text: &str| text.parse::<Quantity>();
/// assert_eq!(read("8 1/4 in")?.length()?, 8.25 * 25.4);
/// assert_eq!(read("-0°45'")?.angle()?, (-0.75_f64).to_radians());
/// assert_eq!(read("2.5")?.length()?, 2.5);
/// # Ok::<(), rodset::profile::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// A number without a unit: mm where a length is due, degrees where an angle is due.
    Bare(f64),
    /// A length, mm.
    Length(f64),
    /// An angle, rad.
    Angle(f64),
    /// A length judged by eye, mm: `"about 345"`.
    About(f64),
}

/// Why a text or a quantity is not what was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum QuantityError {
    /// Not a number with a unit.
    Unreadable,
    /// A decimal comma.
    Comma,
    /// A number that is infinite or not a number.
    NotFinite,
    /// Sixty or more minutes behind degrees.
    Sixty,
    /// A fraction without a unit: inches, most likely, but not said.
    Fraction,
    /// An angle where a length is due.
    NotLength,
    /// A length where an angle is due.
    NotAngle,
    /// A guess where something measured is due.
    Guess,
    /// Toe as a length, but the rim diameter is not known.
    NoRim,
    /// Toe as a length longer than the rim is wide.
    PastRim,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Unreadable => {
                "this is not a number with a unit; write it like 12.5, \"8 1/4 in\", \"2.5 mm\", \"0.25 deg\" or \"0°15'\""
            }
            Self::Comma => "decimals are written with a point, not a comma",
            Self::NotFinite => "this must be a finite number",
            Self::Sixty => "minutes behind degrees go up to 59",
            Self::Fraction => "a fraction needs its unit; write it like \"29 5/8 in\"",
            Self::NotLength => "this is an angle, but a length is due here (mm or inches)",
            Self::Guess => "only a coordinate of a point may be said by eye; write what was measured, without \"about\"",
            Self::NotAngle => "this is a length, but an angle is due here (degrees or minutes)",
            Self::NoRim => "toe as a length needs `wheel.rim_diameter`, the diameter it was measured across",
            Self::PastRim => "toe as a length cannot be more than the rim's diameter",
        })
    }
}

impl std::error::Error for QuantityError {}

impl Quantity {
    /// The quantity as a length, mm.
    pub fn length(self) -> Result<f64, QuantityError> {
        match self {
            Self::Bare(mm) | Self::Length(mm) => Ok(mm),
            Self::Angle(_) => Err(QuantityError::NotLength),
            Self::About(_) => Err(QuantityError::Guess),
        }
    }

    /// The quantity as a coordinate of a point, mm, which may have been judged by eye.
    pub(crate) fn coordinate(self) -> Result<f64, QuantityError> {
        if let Self::About(mm) = self { Ok(mm) } else { self.length() }
    }

    /// Whether it was judged by eye.
    pub(crate) fn is_by_eye(self) -> bool {
        matches!(self, Self::About(_))
    }

    /// The quantity as an angle, rad.
    pub fn angle(self) -> Result<f64, QuantityError> {
        match self {
            Self::Bare(degrees) => Ok(degrees.to_radians()),
            Self::Angle(rad) => Ok(rad),
            Self::Length(_) | Self::About(_) => Err(QuantityError::NotAngle),
        }
    }

    /// The quantity as the toe of one wheel, rad; a length is the difference across a rim of the given diameter, mm.
    ///
    /// `toe = asin(length / D)`
    pub fn toe(self, rim_diameter: Option<f64>) -> Result<f64, QuantityError> {
        match self {
            Self::Length(length) => {
                let toe = (length / rim_diameter.ok_or(QuantityError::NoRim)?).asin();
                if toe.is_finite() { Ok(toe) } else { Err(QuantityError::PastRim) }
            }
            other => other.angle(),
        }
    }

    /// The quantity as a plain number.
    pub(crate) fn number(self) -> Option<f64> {
        match self {
            Self::Bare(number) => Some(number),
            _ => None,
        }
    }
}

impl FromStr for Quantity {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        if let Some(rest) = text.trim_start().to_lowercase().strip_prefix("about ") {
            return Ok(Self::About(rest.parse::<Self>()?.length()?));
        }
        let (sign, plain) = plain(text)?;
        let rest = plain.as_str();
        let parts = parts(rest).ok_or(QuantityError::Unreadable)?;
        let value = match *parts.as_slice() {
            [(_, "")] if rest.contains('/') => return Err(QuantityError::Fraction),
            [(number, "")] => Self::Bare(sign * number),
            [(length, unit)] if millimetres(unit).is_some() => {
                Self::Length(sign * length * millimetres(unit).unwrap_or(1.0))
            }
            ref angle => Self::Angle(sign * degrees(angle)?.to_radians()),
        };
        let (Self::Bare(number) | Self::Length(number) | Self::Angle(number) | Self::About(number)) = value;
        if number.is_finite() { Ok(value) } else { Err(QuantityError::NotFinite) }
    }
}

/// The sign of a text and what follows it, in lower case, its typographic dashes and quotes made plain.
pub(super) fn plain(text: &str) -> Result<(f64, String), QuantityError> {
    let mut plain = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '−' | '–' => plain.push('-'),
            '’' | '′' => plain.push('\''),
            '”' | '″' => plain.push('"'),
            'º' => plain.push('°'),
            // With a blank behind it a comma parts several figures.
            ',' if text.contains(", ") => return Err(QuantityError::Unreadable),
            ',' => return Err(QuantityError::Comma),
            c => plain.extend(c.to_lowercase()),
        }
    }
    let sign = if plain.starts_with('-') { -1.0 } else { 1.0 };
    if plain.starts_with(['-', '+']) {
        plain.remove(0);
    }
    Ok((sign, plain))
}

fn millimetres(unit: &str) -> Option<f64> {
    Some(match unit {
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" | "\"" => 25.4,
        _ => return None,
    })
}

/// Degrees from parts that go down from degrees to minutes to seconds of arc.
fn degrees(parts: &[(f64, &str)]) -> Result<f64, QuantityError> {
    let place = |unit: &str| match unit {
        "°" | "deg" | "degree" | "degrees" => Some(0),
        "'" | "min" | "arcmin" => Some(1),
        "\"" | "sec" | "arcsec" => Some(2),
        _ => None,
    };
    let mut sum = 0.0;
    let mut above: Option<usize> = None;
    for (number, unit) in parts {
        let place = place(unit).ok_or(QuantityError::Unreadable)?;
        if let Some(above) = above {
            if place != above + 1 {
                return Err(QuantityError::Unreadable);
            }
            if *number >= 60.0 {
                return Err(QuantityError::Sixty);
            }
        }
        sum += number / [1.0, 60.0, 3600.0][place];
        above = Some(place);
    }
    Ok(sum)
}

/// Splits `8 1/4 in` or `0°15'` into numbers with their units, lower case; `None` where it is neither.
pub(super) fn parts(mut text: &str) -> Option<Vec<(f64, &str)>> {
    let mut parts = Vec::new();
    while !text.is_empty() {
        let (number, rest) = number(text)?;
        let rest = rest.trim_start();
        let end = match rest.chars().next() {
            Some(c) if !c.is_alphanumeric() => c.len_utf8(),
            _ => rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len()),
        };
        parts.push((number, &rest[..end]));
        text = rest[end..].trim_start();
    }
    (!parts.is_empty()).then_some(parts)
}

/// A decimal, a fraction, or a whole number and a fraction at the head of a text, and what follows it.
fn number(text: &str) -> Option<(f64, &str)> {
    let (first, rest) = decimal(text)?;
    if let Some(rest) = rest.strip_prefix('/') {
        let (under, rest) = whole(rest)?;
        return Some((first / under, rest));
    }
    let fraction = || {
        // "8 1/4" and "8-1/4" are both written.
        let (over, rest) = whole(rest.trim_start().trim_start_matches('-'))?;
        let (under, rest) = whole(rest.strip_prefix('/')?)?;
        Some((first + over / under, rest))
    };
    fraction().or(Some((first, rest)))
}

fn whole(text: &str) -> Option<(f64, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    Some((text[..end].parse().ok()?, &text[end..]))
}

fn decimal(text: &str) -> Option<(f64, &str)> {
    let mantissa = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    // An exponent needs its digits: "1e3" has one, "1 each" has none.
    let exponent = text[mantissa..].strip_prefix('e').and_then(|tail| {
        let digits = tail.trim_start_matches(['+', '-']);
        let count = digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len());
        (count > 0 && tail.len() - digits.len() <= 1).then_some(1 + tail.len() - digits.len() + count)
    });
    let end = mantissa + exponent.unwrap_or(0);
    Some((text[..end].parse().ok()?, &text[end..]))
}

impl<'de> Deserialize<'de> for Quantity {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Written;

        impl Visitor<'_> for Written {
            type Value = Quantity;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    "a number (mm or degrees), or a text with a unit such as \"8 1/4 in\" or \"0°15'\"",
                )
            }

            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Quantity, E> {
                if value.is_finite() {
                    Ok(Quantity::Bare(value))
                } else {
                    Err(E::custom(QuantityError::NotFinite))
                }
            }

            #[expect(clippy::cast_precision_loss, reason = "a whole number of mm is far below 2^53")]
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Quantity, E> {
                Ok(Quantity::Bare(value as f64))
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Quantity, E> {
                text.parse().map_err(|error| E::custom(format_args!("`{text}`: {error}")))
            }
        }

        deserializer.deserialize_any(Written)
    }
}

#[cfg(test)]
mod tests {
    use super::{Quantity, QuantityError};
    use approx::assert_relative_eq;

    fn read(text: &str) -> Quantity {
        text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    #[test]
    fn lengths_in_all_the_ways_people_write_them() {
        for (text, mm) in [
            ("8 1/4 in", 209.55),
            ("8 1/4\"", 209.55),
            ("8-1/4 in", 209.55),
            ("1/4 in", 6.35),
            ("0.5in", 12.7),
            ("-0.5 inches", -12.7),
            ("2.5 mm", 2.5),
            ("2.5mm", 2.5),
            ("31 cm", 310.0),
            ("2.52 m", 2520.0),
            ("-7", -7.0),
            ("1e2 mm", 100.0),
            ("−3 mm", -3.0),
        ] {
            assert_relative_eq!(read(text).length().expect(text), mm, max_relative = 1e-15);
        }
    }

    #[test]
    fn angles_in_all_the_ways_people_write_them() {
        for (text, degrees) in [
            ("0.25 deg", 0.25),
            ("0°15'", 0.25),
            ("-0°45'", -0.75),
            ("15'", 0.25),
            ("-1° 10′", -7.0 / 6.0),
            ("1 deg 10 min", 7.0 / 6.0),
            ("72'", 1.2),
            ("1°0'36\"", 1.01),
            ("-0.5", -0.5),
        ] {
            assert_relative_eq!(read(text).angle().expect(text).to_degrees(), degrees, max_relative = 1e-14);
        }
    }

    /// Examples of toe in mm or inches against degrees, as printed in web articles on wheel alignment: 4 mm over
    /// 727.7 mm is 0.31 degree (elbosquecountry.com.ar), 1/16 in over 26 in is 0.138 degree (forabodiesonly.com).
    #[test]
    fn toe_as_a_length_is_taken_across_the_rim() {
        let degrees = |text: &str, rim| read(text).toe(Some(rim)).expect("an angle").to_degrees();
        assert_relative_eq!(degrees("4 mm", 727.7), 0.31, epsilon = 0.005);
        assert_relative_eq!(degrees("1/16 in", 26.0 * 25.4), 0.138, epsilon = 0.0005);
        assert_eq!(read("1 mm").toe(None), Err(QuantityError::NoRim));
        assert_eq!(read("900 mm").toe(Some(400.0)), Err(QuantityError::PastRim));
    }

    #[test]
    fn what_is_no_quantity_is_said_to_be_none() {
        for text in [
            "",
            "-",
            "mm",
            "1 2",
            "1 mm 2 mm",
            "15' 1°",
            "1/ in",
            "/4 in",
            "1//4",
            "1 furlong",
            "--1",
            "1°1°",
        ] {
            assert_eq!(text.parse::<Quantity>(), Err(QuantityError::Unreadable), "{text}");
        }
        assert_eq!("2,5 mm".parse::<Quantity>(), Err(QuantityError::Comma));
        assert_eq!("1°72'".parse::<Quantity>(), Err(QuantityError::Sixty));
        assert_eq!("29 5/8".parse::<Quantity>(), Err(QuantityError::Fraction));
        assert_eq!("1/0 in".parse::<Quantity>(), Err(QuantityError::NotFinite));
        assert_eq!("1e999".parse::<Quantity>(), Err(QuantityError::NotFinite));
        assert_eq!(read("3 mm").angle(), Err(QuantityError::NotAngle));
        assert_eq!(read("3 deg").length(), Err(QuantityError::NotLength));
    }
}
