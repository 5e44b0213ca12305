//! Where a cam stands, the way somebody in front of its plate says it.
//!
//! Profiles, records, answers of an interview and the command line all read it here.
//!
//! A cam's position counts from the middle of its slot: a sign the way of `along` (on the right its mirror image), outboard
//! along the link from the subframe's pivot to the knuckle's. Outboard means nothing where the slot is within 5 degrees of
//! square to the link. `taken_over` of `check` names the keys of readings, the arch gap and cam settings that `[right]` does
//! not give.

use serde::de::{self, Deserialize, Deserializer, Visitor};
use std::f64::consts::FRAC_PI_2;
use std::fmt;
use std::str::FromStr;

use super::quantity::{parts, plain};
use super::{Quantity, QuantityError};
use crate::car::{Cam, Link};

/// A cam's position from the middle of its slot, as it was written; what it comes to is for the cam to say.
///
/// ```text
/// 15, "-15 deg", "0°30'"                degrees; plus: the way of the profile's `along`
/// "1 mark", "-1.5 marks"                marks of its plate, the same way
/// "2.5 mm", "-1/16 in"                  what its pivot is off the middle of the slot
/// "2 marks outboard", "1.5 mm inboard"  outboard: along the link towards the wheel
/// "towards the wheel"                   where the eccentric's high point stands: full throw
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CamPosition {
    figure: CamFigure,
    way: SlotWay,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum CamFigure {
    /// rad.
    Angle(f64),
    Marks(f64),
    /// mm.
    Shift(f64),
}

/// Which way a figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SlotWay {
    /// The way of the slot's direction in the profile.
    Along,
    Outboard,
    Inboard,
}

/// How the ways are written, and whether they say by themselves where the high point stands.
const WAYS: [(&str, SlotWay, bool); 5] = [
    ("towards the wheel", SlotWay::Outboard, true),
    ("toward the wheel", SlotWay::Outboard, true),
    ("away from the wheel", SlotWay::Inboard, true),
    ("outboard", SlotWay::Outboard, false),
    ("inboard", SlotWay::Inboard, false),
];

/// Why a text is no position, or one that this cam cannot have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum CamPositionError {
    /// Not a number with a unit.
    Quantity(QuantityError),
    /// A sign and a word for the way.
    SignAndWay,
    /// The link has no cam.
    NoCam,
    /// Marks of a cam that has none in the profile.
    NoMarks,
    /// Outboard or inboard in a slot that runs across its link.
    NoWay,
    /// Past full throw; degrees.
    PastThrow(f64),
    /// Past the end of the slot.
    PastSlot {
        /// What was asked for, mm from the middle.
        shift: f64,
        /// Where the slot ends, mm from the middle.
        end: f64,
    },
}

impl fmt::Display for CamPositionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(QuantityError::Unreadable) => f.write_str(
                "this is no position of a cam; write degrees from the middle such as 15, marks such as \"-1.5 marks\" or \"2 marks \
                 outboard\", what the pivot is off the middle of its slot such as \"1.5 mm inboard\", or where the high point stands, \
                 \"towards the wheel\" or \"away from the wheel\"",
            ),
            Self::Quantity(error) => error.fmt(f),
            Self::SignAndWay => {
                f.write_str("a sign and a way do not go together; write either \"-2 marks\" or \"2 marks inboard\"")
            }
            Self::NoCam => f.write_str("this link has no cam"),
            Self::NoMarks => f.write_str(
                "this cam has no `marks` in the profile, so nobody knows how far apart they are; add `marks = ...`, how many there are from \
                 the middle to full throw, to its [link.cam], or give degrees (\"15 deg\"), what the pivot is off the middle of its slot (\"2.5 mm\"), or where the high \
                 point stands (\"towards the wheel\")",
            ),
            Self::NoWay => f.write_str(
                "this slot runs across its link, so that neither way leads to the wheel; give a sign, plus: the way of `along` in the \
                 profile",
            ),
            Self::PastThrow(degrees) => write!(
                f,
                "a cam turns 90 degrees either way from its middle; {degrees:.1} degrees is past full throw, where the pivot comes back"
            ),
            Self::PastSlot { shift, end } => {
                write!(f, "this cam moves its pivot by {end} mm; {shift} mm is past the end of the slot")
            }
        }
    }
}

impl std::error::Error for CamPositionError {}

impl From<QuantityError> for CamPositionError {
    fn from(error: QuantityError) -> Self {
        Self::Quantity(error)
    }
}

impl CamPosition {
    /// Degrees from the middle, plus: the way of the slot's direction.
    pub(super) fn degrees(degrees: f64) -> Self {
        Self { figure: CamFigure::Angle(degrees.to_radians()), way: SlotWay::Along }
    }

    /// The pivot's shift from the middle, mm, plus: the way of the slot's direction.
    pub(super) fn shifted(mm: f64) -> Self {
        Self { figure: CamFigure::Shift(mm), way: SlotWay::Along }
    }

    /// The turn from the middle, rad, of the cam of a link.
    ///
    /// # Errors
    ///
    /// Why this cam cannot stand so.
    pub(crate) fn turn(self, link: &Link) -> Result<f64, CamPositionError> {
        let cam = link.cam.as_ref().ok_or(CamPositionError::NoCam)?;
        self.turn_of(cam, link.outboard())
    }

    /// The pivot's shift from the middle of the slot, mm.
    pub(crate) fn shift(self, link: &Link) -> Result<f64, CamPositionError> {
        let cam = link.cam.as_ref().ok_or(CamPositionError::NoCam)?;
        match self.figure {
            CamFigure::Shift(mm) => self.shift_of(mm, cam, link.outboard()),
            _ => Ok(cam.shift(self.turn(link)?)),
        }
    }

    /// As [`Self::turn`], of a cam of which the link is not known yet; `outboard` as [`Cam::outboard`] has it.
    pub(super) fn turn_of(self, cam: &Cam, outboard: Option<f64>) -> Result<f64, CamPositionError> {
        let turn = match self.figure {
            CamFigure::Angle(rad) => rad * self.way(outboard)?,
            CamFigure::Marks(marks) => {
                marks * cam.mark().ok_or(CamPositionError::NoMarks)? * self.way(outboard)?
            }
            CamFigure::Shift(mm) => cam.setting_for(self.shift_of(mm, cam, outboard)?),
        };
        if turn.abs() > FRAC_PI_2 + 1e-12 {
            return Err(CamPositionError::PastThrow(turn.to_degrees()));
        }
        Ok(turn)
    }

    fn shift_of(self, mm: f64, cam: &Cam, outboard: Option<f64>) -> Result<f64, CamPositionError> {
        if mm.abs() > cam.eccentricity + 1e-9 {
            return Err(CamPositionError::PastSlot { shift: mm, end: cam.eccentricity });
        }
        Ok(mm * self.way(outboard)?)
    }

    /// The sign of its way along the slot.
    fn way(self, outboard: Option<f64>) -> Result<f64, CamPositionError> {
        match self.way {
            SlotWay::Along => Ok(1.0),
            SlotWay::Outboard => outboard.ok_or(CamPositionError::NoWay),
            SlotWay::Inboard => outboard.map(|sign| -sign).ok_or(CamPositionError::NoWay),
        }
    }
}

impl FromStr for CamPosition {
    type Err = CamPositionError;

    fn from_str(text: &str) -> Result<Self, CamPositionError> {
        let (sign, rest) = plain(text)?;
        let rest = rest.split_whitespace().collect::<Vec<_>>().join(" ");
        let rest = rest.strip_prefix("high point ").unwrap_or(&rest);
        let way = WAYS.iter().find_map(|(words, way, alone)| Some((rest.strip_suffix(words)?, *way, *alone)));
        let (figure, way, alone) = way.unwrap_or((rest, SlotWay::Along, false));
        let figure = figure.trim_end();
        let is_signed = text.trim_start().starts_with(|c: char| "+-−–".contains(c));
        if way != SlotWay::Along && is_signed {
            return Err(CamPositionError::SignAndWay);
        }
        if figure.is_empty() && alone {
            return Ok(Self { figure: CamFigure::Angle(FRAC_PI_2), way });
        }
        if figure.starts_with(['-', '+']) {
            return Err(QuantityError::Unreadable.into());
        }
        let figure = match parts(figure).as_deref() {
            Some([(marks, "mark" | "marks")]) => CamFigure::Marks(sign * marks),
            _ => match figure.parse()? {
                Quantity::Bare(degrees) => CamFigure::Angle((sign * degrees).to_radians()),
                Quantity::Angle(rad) => CamFigure::Angle(sign * rad),
                Quantity::Length(mm) => CamFigure::Shift(sign * mm),
                Quantity::About(_) => return Err(QuantityError::Guess.into()),
            },
        };
        let (CamFigure::Angle(value) | CamFigure::Marks(value) | CamFigure::Shift(value)) = figure;
        if value.is_finite() { Ok(Self { figure, way }) } else { Err(QuantityError::NotFinite.into()) }
    }
}

impl<'de> Deserialize<'de> for CamPosition {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Written;

        impl Visitor<'_> for Written {
            type Value = CamPosition;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a cam's position: degrees, or a text such as \"1 mark\", \"1.5 mm inboard\" or \"towards the wheel\"")
            }

            fn visit_f64<E: de::Error>(self, value: f64) -> Result<CamPosition, E> {
                if value.is_finite() {
                    Ok(CamPosition::degrees(value))
                } else {
                    Err(E::custom(QuantityError::NotFinite))
                }
            }

            #[expect(clippy::cast_precision_loss, reason = "whole degrees are far below 2^53")]
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<CamPosition, E> {
                self.visit_f64(value as f64)
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<CamPosition, E> {
                text.parse().map_err(|error| E::custom(format_args!("`{text}`: {error}")))
            }
        }

        deserializer.deserialize_any(Written)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    /// Six marks are 15 degrees apart; the slot's direction points outboard, or inboard where `outboard` is -1.
    fn turn(text: &str, marks: Option<u32>, outboard: Option<f64>) -> Result<f64, CamPositionError> {
        let cam = Cam { eccentricity: 3.0, along: Vector3::y(), setting: 0.0, marks };
        text.parse::<CamPosition>()?.turn_of(&cam, outboard).map(f64::to_degrees)
    }

    #[test]
    fn positions_in_all_the_ways_a_garage_says_them() {
        for (text, degrees) in [
            ("15", 15.0),
            ("-15", -15.0),
            ("−15 deg", -15.0),
            ("15°30'", 15.5),
            ("1 mark", 15.0),
            ("-1.5 marks", -22.5),
            ("1 1/2 marks", 22.5),
            ("1.5 mm", 30.0),
            ("-1.5mm", -30.0),
            ("3 mm", 90.0),
        ] {
            for outboard in [Some(1.0), Some(-1.0), None] {
                assert_relative_eq!(turn(text, Some(6), outboard).expect(text), degrees, epsilon = 1e-9);
            }
        }
        for (text, degrees) in [
            ("2 marks outboard", 30.0),
            ("2 Marks  Inboard", -30.0),
            ("1 mark towards the wheel", 15.0),
            ("1 mark away from the wheel", -15.0),
            ("1.5 mm inboard", -30.0),
            ("1.5mm outboard", 30.0),
            ("15 inboard", -15.0),
            ("towards the wheel", 90.0),
            ("high point away from the wheel", -90.0),
        ] {
            for sign in [1.0, -1.0] {
                let read = turn(text, Some(6), Some(sign)).expect(text);
                assert_relative_eq!(read, sign * degrees, epsilon = 1e-9);
            }
            assert_eq!(turn(text, Some(6), None), Err(CamPositionError::NoWay), "{text}");
        }
        // 1/16 inch is 1.5875 mm, and the arc sine of 1.5875 / 3 is 31.949 degrees.
        assert_relative_eq!(turn("1/16 in", None, None).expect("inches"), 31.949, epsilon = 1e-3);
        assert_relative_eq!(
            turn("1/16 in inboard", None, Some(1.0)).expect("inches"),
            -31.949,
            epsilon = 1e-3
        );
    }

    #[test]
    fn what_no_cam_can_have_is_told() {
        for (text, error) in [
            ("", QuantityError::Unreadable.into()),
            ("outboard", QuantityError::Unreadable.into()),
            ("towards the kerb", QuantityError::Unreadable.into()),
            ("--1 mark", QuantityError::Unreadable.into()),
            ("2 furlongs outboard", QuantityError::Unreadable.into()),
            ("1,5 marks", QuantityError::Comma.into()),
            ("1/0 marks", QuantityError::NotFinite.into()),
            ("-1 mark outboard", CamPositionError::SignAndWay),
            ("-towards the wheel", CamPositionError::SignAndWay),
            ("3.5 mm", CamPositionError::PastSlot { shift: 3.5, end: 3.0 }),
        ] {
            assert_eq!(turn(text, Some(6), Some(1.0)), Err(error), "{text}");
        }
        assert!(matches!(turn("7 marks", Some(6), None), Err(CamPositionError::PastThrow(_))));
        assert!(matches!(turn("91", Some(6), None), Err(CamPositionError::PastThrow(_))));
        assert_eq!(turn("1 mark", None, Some(1.0)), Err(CamPositionError::NoMarks));
    }
}
