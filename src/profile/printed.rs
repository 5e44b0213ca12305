//! Figures as manuals and racks print them, and the slips that are made in copying them.

use std::fmt;

use super::quantity::{Quantity, QuantityError};
use crate::car::{is_ordinary, most};
use crate::geometry::Figure;

/// Whole inches between these are the nominal size of a rim.
const RIM_INCHES: std::ops::RangeInclusive<f64> = 12.0..=24.0;
const INCH: f64 = 25.4;
/// Camber and toe of more degrees than this are read as if a unit had been forgotten.
const ODD_DEG: f64 = 5.0;

/// What a printed figure counts: one wheel, or both together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Share {
    /// Each wheel by itself.
    Each,
    /// Left plus right.
    Total,
}

/// A printed figure: the least, the target and the most, all in one unit.
///
/// It is written as a target (`-1°10'`), with a tolerance (`-1°10' ± 45'`, `2 ± 1 mm`, `0.1 +/- 0.05`) or as two ends
/// (`0°05' to 0°15'`).
#[derive(Debug, Clone)]
pub(crate) struct Printed {
    /// Least, target and most.
    values: [f64; 3],
    /// What makes one of them a quantity.
    unit: fn(f64) -> Quantity,
    /// The numbers that may be degrees and minutes with a point between them, as written.
    pointed: Vec<String>,
    bare: bool,
}

/// Why a text is no printed figure, or says no angle.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum PrintedError {
    /// A part of it cannot be read.
    Part(String, QuantityError),
    /// A part has a unit and the other has none, or they are of different kinds.
    Units(String, String),
    /// The tolerance is below zero.
    Tolerance,
    /// The first end is above the second.
    Ends,
    /// No wheel lies on its side.
    PastUpright,
    /// A length says no camber, or an angle is asked for that the length cannot have.
    Figure(QuantityError),
    /// A length says no toe without the diameter that it was measured across; the length, mm, of one wheel.
    NoDiameter(f64),
}

/// A classic slip in copying a figure, which this one may be.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum CopyingSlip {
    /// Degrees and minutes with a point between them, read as decimals: as written.
    Minutes(String),
    /// A number of degrees that no wheel is set to; minutes or mm, most likely.
    TooMuch,
    /// Camber with which wheels lean out, as hardly a rear wheel does.
    LeansOut,
    /// A diameter that no rim has, mm.
    NoRim(f64),
    /// Toe without a unit.
    NoUnit,
    /// Toe of which nobody said whether it counts one wheel or both.
    ShareNotSaid,
    /// The nominal size of a rim in place of the diameter across which toe is measured.
    NominalRim,
}

impl std::str::FromStr for Printed {
    type Err = PrintedError;

    fn from_str(text: &str) -> Result<Self, PrintedError> {
        let within = ["±", "+/-", "+-"].into_iter().find_map(|sign| text.split_once(sign));
        let ends = || [" to ", "..", "…"].into_iter().find_map(|sign| text.split_once(sign));
        let (values, unit, parts) = if let Some((target, off)) = within {
            let ([target_value, off_value], unit) = pair(target, off)?;
            if off_value < 0.0 {
                return Err(PrintedError::Tolerance);
            }
            ([target_value - off_value, target_value, target_value + off_value], unit, vec![target, off])
        } else if let Some((low, high)) = ends() {
            let ([low_value, high_value], unit) = pair(low, high)?;
            if low_value > high_value {
                return Err(PrintedError::Ends);
            }
            ([low_value, f64::midpoint(low_value, high_value), high_value], unit, vec![low, high])
        } else {
            let (value, unit) = apart(quantity(text)?);
            ([value; 3], unit, vec![text])
        };
        let bare = matches!(unit(0.0), Quantity::Bare(_));
        let pointed = if matches!(unit(0.0), Quantity::Length(_)) { Vec::new() } else { pointed(&parts) };
        Ok(Self { values, unit, pointed, bare })
    }
}

/// The numbers whose two decimals could be minutes; none where one of them could not, because then they are all decimals.
fn pointed(parts: &[&str]) -> Vec<String> {
    let number = |part: &&str| {
        let number = part.trim().trim_start_matches(['-', '+', '−', '–']);
        let end = number.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(number.len());
        let (number, rest) = number.split_at(end);
        let (_, decimals) = number.split_once('.')?;
        let minutes = (decimals.len() == 2).then(|| decimals.parse::<u32>().ok()).flatten()?;
        // What stands in minutes itself is not mistaken for degrees.
        let degrees = !rest.trim_start().starts_with(['\'', '’', '′', 'm']);
        (minutes > 0 && degrees).then(|| (minutes, number.to_owned()))
    };
    let found: Vec<(u32, String)> = parts.iter().filter_map(number).collect();
    if found.iter().any(|(minutes, _)| *minutes >= 60) {
        return Vec::new();
    }
    found.into_iter().map(|(_, number)| number).collect()
}

fn quantity(text: &str) -> Result<Quantity, PrintedError> {
    text.parse().map_err(|error| PrintedError::Part(text.trim().to_owned(), error))
}

/// What makes a number a quantity of one kind.
type PrintedUnit = fn(f64) -> Quantity;

/// A quantity as a number and what made it one.
fn apart(quantity: Quantity) -> (f64, PrintedUnit) {
    match quantity {
        Quantity::Bare(value) => (value, Quantity::Bare),
        Quantity::Length(value) => (value, Quantity::Length),
        Quantity::Angle(value) => (value, Quantity::Angle),
        Quantity::About(value) => (value, Quantity::About),
    }
}

/// Two quantities of one kind; a unit behind the second only, as in `2 ± 1 mm`, is that of the first too.
fn pair(first: &str, second: &str) -> Result<([f64; 2], PrintedUnit), PrintedError> {
    let (a, b) = (quantity(first)?, quantity(second)?);
    let a = match (a, b) {
        // -1.5 beside 30' is degrees to one reader and minutes to the other.
        (Quantity::Bare(_), Quantity::Angle(_)) if !second.contains(['°', 'º', 'd']) => a,
        (Quantity::Bare(_), Quantity::Length(_) | Quantity::Angle(_)) => {
            let unit =
                second.trim().trim_start_matches(|c: char| !c.is_alphabetic() && !"\"”″'’′°º".contains(c));
            quantity(&format!("{}{unit}", first.trim()))?
        }
        (a, _) => a,
    };
    let ((a_value, a_unit), (b_value, _)) = (apart(a), apart(b));
    if std::mem::discriminant(&a) == std::mem::discriminant(&b) {
        Ok(([a_value, b_value], a_unit))
    } else {
        Err(PrintedError::Units(first.trim().to_owned(), second.trim().to_owned()))
    }
}

impl Printed {
    /// Least, target and most of one wheel, rad; `diameter` is the one that toe as a length was measured across, mm.
    ///
    /// A total is shared by both wheels alike: an angle halved, and a length halved before it is taken across the diameter.
    pub(crate) fn of_each_wheel(
        &self,
        figure: Figure,
        share: Share,
        diameter: Option<f64>,
    ) -> Result<[f64; 3], PrintedError> {
        let wheels = if share == Share::Total { 2.0 } else { 1.0 };
        let mut angles = [0.0; 3];
        for (angle, value) in angles.iter_mut().zip(self.values) {
            let quantity = (self.unit)(value / wheels);
            let read = if figure == Figure::Toe { quantity.toe(diameter) } else { quantity.angle() };
            *angle = read.map_err(|error| match (error, quantity) {
                (QuantityError::NoRim, Quantity::Length(_)) => {
                    PrintedError::NoDiameter(self.values[1] / wheels)
                }
                (error, _) => PrintedError::Figure(error),
            })?;
        }
        let is_sound = angles.iter().all(|angle| angle.abs() < std::f64::consts::FRAC_PI_2);
        if is_sound { Ok(angles) } else { Err(PrintedError::PastUpright) }
    }

    /// Whether a tolerance is printed.
    pub(crate) fn has_tolerance(&self) -> bool {
        self.values[0] < self.values[2]
    }

    /// The slips that this figure may be; `share` is what was said about it.
    pub(crate) fn slips(
        &self,
        figure: Figure,
        share: Option<Share>,
        diameter: Option<f64>,
    ) -> Vec<CopyingSlip> {
        let mut slips: Vec<CopyingSlip> = self.pointed.iter().cloned().map(CopyingSlip::Minutes).collect();
        let degrees = (self.unit)(self.values[1]).angle().map_or(0.0, f64::to_degrees);
        if degrees.abs() > ODD_DEG {
            slips.push(CopyingSlip::TooMuch);
        }
        if figure == Figure::Camber && degrees <= ODD_DEG && degrees > most("camber") {
            slips.push(CopyingSlip::LeansOut);
        }
        if let Some(diameter) =
            diameter.filter(|diameter| !is_ordinary("the diameter across which toe is measured", *diameter))
        {
            slips.push(CopyingSlip::NoRim(diameter));
        }
        if figure == Figure::Toe {
            if self.bare {
                slips.push(CopyingSlip::NoUnit);
            }
            if share.is_none() {
                slips.push(CopyingSlip::ShareNotSaid);
            }
        }
        let nominal = |mm: f64| RIM_INCHES.contains(&(mm / INCH)) && ((mm / INCH).fract().abs() < 1e-9);
        if diameter.is_some_and(nominal) {
            slips.push(CopyingSlip::NominalRim);
        }
        slips
    }
}

impl fmt::Display for PrintedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Part(part, error) => write!(f, "\"{part}\": {error}"),
            Self::Units(first, second) => write!(
                f,
                "\"{first}\" and \"{second}\" are not in the same unit; write it behind both, like \"0°10' ± 5'\""
            ),
            Self::Tolerance => f.write_str("a tolerance is not below zero"),
            Self::Ends => {
                f.write_str("the first end is above the second; write the lower one first (-2 is below -1)")
            }
            Self::PastUpright => f.write_str(
                "no wheel leans or points 90 degrees off; minutes are written 20', a length \"2 mm\"",
            ),
            Self::Figure(error) => error.fmt(f),
            Self::NoDiameter(_) => f.write_str(
                "toe in mm or inches is no angle until the diameter is known across which it is measured",
            ),
        }
    }
}

impl std::error::Error for PrintedError {}

impl fmt::Display for CopyingSlip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Minutes(written) => {
                let (degrees, minutes) = written.split_once('.').unwrap_or((written, "0"));
                write!(
                    f,
                    "{written} is read as decimals of a degree. If the manual means {degrees} degrees {minutes} minutes, \
                     write {degrees}°{minutes}': that is another angle."
                )
            }
            Self::TooMuch => write!(
                f,
                "This is more than {ODD_DEG} degrees, and hardly any wheel is set to that. Minutes are written 20', toe as \
                 a length \"2 mm\"."
            ),
            Self::LeansOut => f.write_str(
                "With plus the top leans out, and hardly a rear wheel is set to that. Is a minus sign lost?",
            ),
            Self::NoRim(diameter) => write!(
                f,
                "Neither rim nor tyre is {diameter:.1} mm across. Are these inches or cm? Write them with their unit, \"17 in\"."
            ),
            Self::NoUnit => f.write_str(
                "No unit, so it is taken as degrees. Many manuals print toe in minutes or mm: write 10' or \"2 mm\".",
            ),
            Self::ShareNotSaid => f.write_str(
                "Nobody said whether this is the toe of each wheel or of both together; it is taken as each wheel's. If the \
                 manual means the total, each wheel has half of it",
            ),
            Self::NominalRim => f.write_str(
                "This is the nominal size of a rim. Toe gauges touch its outer edge, which is some 30 to 40 mm more across: \
                 measure it.",
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn degrees(text: &str, figure: Figure, share: Share, diameter: Option<f64>) -> [f64; 3] {
        let printed: Printed = text.parse().unwrap_or_else(|error| panic!("{text}: {error}"));
        printed.of_each_wheel(figure, share, diameter).expect("an angle").map(f64::to_degrees)
    }

    #[test]
    fn tolerances_and_ends_in_the_ways_they_are_printed() {
        for (text, expected) in [
            ("-1°10'", [-7.0 / 6.0; 3]),
            ("-1°10' ± 45'", [-115.0 / 60.0, -7.0 / 6.0, -25.0 / 60.0]),
            ("-1° 10′ +/- 0°45′", [-115.0 / 60.0, -7.0 / 6.0, -25.0 / 60.0]),
            ("-1.5 +- 0.5", [-2.0, -1.5, -1.0]),
            ("-2°00' to -1°00'", [-2.0, -1.5, -1.0]),
            ("-2..-1 deg", [-2.0, -1.5, -1.0]),
            ("20' ± 10'", [1.0 / 6.0, 1.0 / 3.0, 0.5]),
        ] {
            let found = degrees(text, Figure::Camber, Share::Each, None);
            for (found, expected) in found.into_iter().zip(expected) {
                assert_relative_eq!(found, expected, epsilon = 1e-12);
            }
        }
    }

    /// 1/16 inch over 26 inches is 0.138 degree, as printed in a web article on wheel alignment (forabodiesonly.com); as a
    /// total each wheel has half the length.
    #[test]
    fn a_total_is_halved_before_it_is_an_angle() {
        let across = Some(26.0 * INCH);
        assert_relative_eq!(degrees("1/16 in", Figure::Toe, Share::Each, across)[1], 0.138, epsilon = 5e-4);
        assert_relative_eq!(degrees("1/8 in", Figure::Toe, Share::Total, across)[1], 0.138, epsilon = 5e-4);
        assert_relative_eq!(degrees("0°20'", Figure::Toe, Share::Total, None)[1], 1.0 / 6.0, epsilon = 1e-12);
    }

    #[test]
    fn what_is_half_said_is_refused() {
        let error = |text: &str| text.parse::<Printed>().expect_err(text);
        assert!(matches!(error("0°10' ± 5"), PrintedError::Units(..)));
        assert!(matches!(error("-1.5 ± 30'"), PrintedError::Units(..)));
        assert!(matches!(error("-2 to -10'"), PrintedError::Units(..)));
        assert!(matches!(error("2 mm ± 5'"), PrintedError::Units(..)));
        assert_eq!(error("1 ± -1"), PrintedError::Tolerance);
        assert_eq!(error("-1 to -2"), PrintedError::Ends);
        assert!(matches!(error("1 ± "), PrintedError::Part(..)));
        assert!(matches!(error("1,5"), PrintedError::Part(_, QuantityError::Comma)));
        let mm: Printed = "2 mm".parse().expect("a length");
        assert_eq!(mm.of_each_wheel(Figure::Toe, Share::Total, None), Err(PrintedError::NoDiameter(1.0)));
        assert!(mm.of_each_wheel(Figure::Camber, Share::Each, Some(400.0)).is_err());
    }

    #[test]
    fn slips_are_seen_and_sound_figures_left_alone() {
        let slips = |text: &str, figure, share, diameter| {
            text.parse::<Printed>().expect(text).slips(figure, share, diameter)
        };
        let (camber, toe) = (Figure::Camber, Figure::Toe);
        assert_eq!(slips("-1.10 ± 0.45", camber, None, None).len(), 2);
        assert_eq!(slips("-1.75", camber, None, None), []);
        assert_eq!(slips("-1.10 ± 0.75", camber, None, None), []);
        assert_eq!(slips("-1.5 deg", camber, None, None), []);
        assert_eq!(slips("-1°10'", camber, None, None), []);
        assert_eq!(slips("10.25'", camber, None, None), []);
        assert_eq!(slips("-45", camber, None, None), [CopyingSlip::TooMuch]);
        assert_eq!(slips("0.1", toe, Some(Share::Each), None), [CopyingSlip::NoUnit]);
        assert_eq!(slips("10'", toe, None, None), [CopyingSlip::ShareNotSaid]);
        assert_eq!(slips("2.25 mm", toe, Some(Share::Each), Some(17.0 * INCH)), [CopyingSlip::NominalRim]);
        assert_eq!(slips("2 mm", toe, Some(Share::Total), Some(470.0)), []);
    }
}
