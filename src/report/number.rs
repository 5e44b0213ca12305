//! Numbers as they are shown. Every page formats its numbers here.

use crate::car::{Hand, PARTS, PerSide, mixed_turns};

/// The unit in which toe is shown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ToeUnit {
    /// Degrees.
    #[default]
    Degrees,
    /// Minutes of arc.
    Minutes,
    /// Millimetres across rims of these diameters, mm.
    Millimetres {
        /// The diameters.
        rims: PerSide<f64>,
    },
    /// Inches across rims of these diameters, mm.
    Inches {
        /// The diameters, mm.
        rims: PerSide<f64>,
    },
}

/// The unit in which lengths are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Millimetres,
    /// Inches.
    Inches,
}

/// The units in which a page shows its figures; degrees and mm where nothing else is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Units {
    /// Of toe.
    pub toe: ToeUnit,
    /// Of every length.
    pub length: LengthUnit,
}

/// An inch, mm.
const INCH: f64 = 25.4;

/// A length that is named whole in each unit, with what it is in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NamedLength {
    /// Its name, such as "1 mm".
    pub(super) name: &'static str,
    /// The same, mm.
    pub(super) mm: f64,
}

impl Units {
    /// A length to a tenth of a mm, or to a thousandth of an inch.
    pub(super) fn length(self, mm: f64) -> String {
        self.length_to(mm, 1)
    }

    /// A length with so many decimals in mm; inches have two more, which is a little finer.
    pub(super) fn length_to(self, mm: f64, decimals: usize) -> String {
        fixed(self.value(mm), decimals + self.finer())
    }

    /// The same, down to a tenth of a mm first: a length that is still reached.
    pub(super) fn length_below(self, mm: f64) -> String {
        self.length((mm * 10.0).floor() / 10.0)
    }

    /// The same, up to a tenth of a mm first: a length from which on something is reached.
    pub(super) fn length_above(self, mm: f64) -> String {
        self.length((mm * 10.0).ceil() / 10.0)
    }

    /// A length as in [`Self::length`], with its sign.
    pub(super) fn length_signed(self, mm: f64) -> String {
        signed(self.value(mm), 1 + self.finer())
    }

    /// A length to a hundredth of a mm, or to a thousandth of an inch, as a caliper reads it.
    pub(super) fn caliper(self, mm: f64) -> String {
        fixed(self.value(mm), self.on_a_caliper())
    }

    /// The same with its sign.
    pub(super) fn caliper_signed(self, mm: f64) -> String {
        signed(self.value(mm), self.on_a_caliper())
    }

    /// What is added to a length, behind it: " + 5.75 mm"; nothing where nothing is.
    pub(super) fn added(self, mm: f64) -> String {
        let signed = self.caliper_signed(mm);
        match (mm == 0.0, signed.strip_prefix('-')) {
            (true, _) => String::new(),
            (false, Some(size)) => format!(" - {size} {}", self.length_name()),
            (false, None) => format!(" + {} {}", signed.trim_start_matches('+'), self.length_name()),
        }
    }

    /// A length that is mostly `whole` mm, with its sign; inches are not, so they have their decimals always.
    pub(super) fn counted(self, mm: f64, whole: bool) -> String {
        match self.length {
            LengthUnit::Millimetres => signed(mm, usize::from(!whole)),
            LengthUnit::Inches => self.length_signed(mm),
        }
    }

    /// A length that nobody needs to know closely, to a mm or a tenth of an inch.
    pub(super) fn far(self, mm: f64) -> String {
        fixed(self.value(mm), self.finer() / 2)
    }

    /// A length with its unit behind it.
    pub(super) fn with_unit(self, mm: f64) -> String {
        format!("{} {}", self.length(mm), self.length_name())
    }

    /// A length with its unit behind it, and the other unit in brackets, for a part that is made to it.
    pub(super) fn with_both(self, mm: f64) -> String {
        format!("{} ({})", self.with_unit(mm), self.other().with_unit(mm))
    }

    /// The short name of the unit of lengths.
    pub(super) fn length_name(self) -> &'static str {
        match self.length {
            LengthUnit::Millimetres => "mm",
            LengthUnit::Inches => "in",
        }
    }

    /// Its name in a sentence, where "in" would be read as another word.
    pub(super) fn length_word(self) -> &'static str {
        match self.length {
            LengthUnit::Millimetres => "mm",
            LengthUnit::Inches => "inch",
        }
    }

    /// The same with the other unit of lengths.
    pub(super) fn other(self) -> Self {
        let length = match self.length {
            LengthUnit::Millimetres => LengthUnit::Inches,
            LengthUnit::Inches => LengthUnit::Millimetres,
        };
        Self { length, ..self }
    }

    /// The units in which two sides are held against each other, so that pages in mm and in inches have the same rows.
    pub(super) fn to_compare(self) -> Self {
        Self { length: LengthUnit::Millimetres, ..self }
    }

    /// A length in this unit, for an axis.
    pub(super) fn value(self, mm: f64) -> f64 {
        mm / self.one()
    }

    /// A small change of a length.
    pub(super) fn small(self) -> NamedLength {
        self.pick(("1 mm", 1.0), ("0.1 in", INCH / 10.0))
    }

    /// What something per mm comes to over [`Self::small`].
    pub(super) fn over_small(self, per_mm: f64) -> f64 {
        per_mm * self.small().mm
    }

    /// What something per mm comes to over [`Self::some`].
    pub(super) fn over_some(self, per_mm: f64) -> f64 {
        per_mm * self.some().mm
    }

    /// A stretch of travel over which a ratio changes by something.
    pub(super) fn some(self) -> NamedLength {
        self.pick(("10 mm", 10.0), ("1 in", INCH))
    }

    /// As much of the wheel's travel as its gradients are told over.
    pub(super) fn stretch(self) -> NamedLength {
        self.pick(("100 mm", 100.0), ("1 in", INCH))
    }

    /// The bar that shows a drawing's scale.
    pub(super) fn bar(self) -> NamedLength {
        self.pick(("100 mm", 100.0), ("4 in", 4.0 * INCH))
    }

    /// A change of an angle over 100 mm of travel, told over [`Self::stretch`], with its sign.
    pub(super) fn gradient(self, per_100_mm: f64) -> String {
        let decimals = match self.length {
            LengthUnit::Millimetres => 2,
            LengthUnit::Inches => 3,
        };
        signed(per_100_mm * self.stretch().mm / 100.0, decimals)
    }

    /// The same of a length, which is told in the unit of lengths.
    pub(super) fn gradient_of_length(self, mm_per_100_mm: f64) -> String {
        self.length_signed(mm_per_100_mm * self.stretch().mm / 100.0)
    }

    /// Decimals of a caliper.
    fn on_a_caliper(self) -> usize {
        match self.length {
            LengthUnit::Millimetres => 2,
            LengthUnit::Inches => 3,
        }
    }

    /// How much finer the decimals of this unit have to be.
    fn finer(self) -> usize {
        match self.length {
            LengthUnit::Millimetres => 0,
            LengthUnit::Inches => 2,
        }
    }

    /// One of this unit, mm.
    fn one(self) -> f64 {
        match self.length {
            LengthUnit::Millimetres => 1.0,
            LengthUnit::Inches => INCH,
        }
    }

    /// What is named whole in mm, or in inches.
    fn pick(self, metric: (&'static str, f64), inches: (&'static str, f64)) -> NamedLength {
        let (name, mm) = match self.length {
            LengthUnit::Millimetres => metric,
            LengthUnit::Inches => inches,
        };
        NamedLength { name, mm }
    }
}

impl ToeUnit {
    /// The toe of one wheel, with its sign; `side` is 0 for the left one.
    pub(super) fn show(self, hand: Hand, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(hand, toe_deg);
        signed(value, decimals)
    }

    /// The toe of one wheel with its sign and a digit more, for small changes.
    pub(super) fn show_fine(self, hand: Hand, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(hand, toe_deg);
        signed(value, decimals + 1)
    }

    /// A tolerance or another size without a sign.
    pub(super) fn show_size(self, hand: Hand, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(hand, toe_deg);
        fixed(value.abs(), decimals)
    }

    /// The same with a digit more, for small changes.
    pub(super) fn show_size_fine(self, hand: Hand, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(hand, toe_deg);
        fixed(value.abs(), decimals + 1)
    }

    /// The total of an axle, with its sign: in mm or inches the sum over both rims.
    pub(super) fn show_total(self, toes_deg: PerSide<f64>) -> String {
        let PerSide { left, right } = PerSide::of(|hand| self.convert(hand, toes_deg[hand]));
        signed(left.0 + right.0, left.1)
    }

    /// The total of an axle of which only the total is known, with its sign.
    pub(super) fn show_even(self, total_deg: f64) -> String {
        self.show_total(PerSide::both(total_deg / 2.0))
    }

    /// The toe of one wheel in this unit.
    pub(super) fn value(self, hand: Hand, toe_deg: f64) -> f64 {
        self.convert(hand, toe_deg).0
    }

    /// The unit's short name.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Degrees => "deg",
            Self::Minutes => "min",
            Self::Millimetres { .. } => "mm",
            Self::Inches { .. } => "in",
        }
    }

    fn convert(self, hand: Hand, toe_deg: f64) -> (f64, usize) {
        match self {
            Self::Degrees => (toe_deg, 2),
            Self::Minutes => (toe_deg * 60.0, 0),
            Self::Millimetres { rims } => (rims[hand] * toe_deg.to_radians().sin(), 1),
            Self::Inches { rims } => (rims[hand] / INCH * toe_deg.to_radians().sin(), 3),
        }
    }
}

/// A number with fixed decimals; never "-0.0".
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// A number with fixed decimals and its sign, plus included; zero has none.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.starts_with('-') || text.bytes().all(|b| b == b'0' || b == b'.') {
        text
    } else {
        format!("+{text}")
    }
}

/// Degrees and whole minutes with their sign, as manuals print them: `-1°10'`; zero has none.
pub(super) fn degrees_minutes(degrees: f64) -> String {
    let minutes = (degrees.abs() * 60.0).round();
    let sign = match minutes > 0.0 {
        true if degrees < 0.0 => "-",
        true => "+",
        false => "",
    };
    format!("{sign}{}°{:02}'", (minutes / 60.0).floor(), minutes % 60.0)
}

/// A part of a whole, 0 to 1, as so many of 100.
pub(super) fn of_100(part: f64) -> String {
    fixed(part * 100.0, 0)
}

/// A force as kN.
pub(super) fn kilonewtons(force_n: f64, decimals: usize) -> String {
    fixed(force_n / 1000.0, decimals)
}

/// A force as kN with its sign.
pub(super) fn kilonewtons_signed(force_n: f64) -> String {
    signed(force_n / 1000.0, 2)
}

/// A moment as N m.
pub(super) fn newton_metres(moment_n_mm: f64) -> String {
    fixed(moment_n_mm / 1000.0, 0)
}

/// A length in mm, to a tenth; pages that show the unit asked for have [`Units::length`].
pub(super) fn mm(value: f64) -> String {
    fixed(value, 1)
}

/// Whether a length is too small to be shown, in whatever unit.
pub(super) fn is_nothing(value_mm: f64) -> bool {
    mm(value_mm.abs()) == mm(0.0)
}

/// Turns without their sign as a workshop counts them: `1 11/12`, `1/4`, `2`; decimals where no such fraction fits.
pub(super) fn turns(value: f64) -> String {
    const CLOSE: f64 = 1e-6;
    let value = value.abs();
    let Some(parts) = PARTS.into_iter().find(|parts| (value * parts - (value * parts).round()).abs() < CLOSE)
    else {
        return fixed(value, 3);
    };
    mixed_turns(value, parts)
}

/// Turns in flats of an arm's hexagon, a sixth of a turn each, without their sign; `None` where that is no whole number, or none.
///
/// On the car nobody counts twelfths: a spanner goes from flat to flat.
pub(super) fn flats(turns: f64) -> Option<String> {
    const WHOLE: f64 = 1e-9;
    let flats = turns.abs() * 6.0;
    let whole = flats.round();
    (whole > 0.0 && (flats - whole).abs() <= WHOLE).then(|| fixed(whole, 0))
}

/// Turns without their sign, with their unit.
pub(super) fn turns_alone(value: f64) -> String {
    format!("{} {}", turns(value), if value.abs() <= 1.0 { "turn" } else { "turns" })
}

/// The same, and the flats that they are, for what somebody turns on the car.
pub(super) fn turns_words(value: f64) -> String {
    let turns = turns_alone(value);
    match flats(value).as_deref() {
        Some("1") => format!("{turns} = 1 flat"),
        Some(flats) => format!("{turns} = {flats} flats"),
        None => turns,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(-0.006, 2), "-0.01");
        assert_eq!(signed(-0.001, 2), "0.00");
        assert_eq!(signed(0.001, 2), "0.00");
        assert_eq!(signed(0.5, 2), "+0.50");
    }

    #[test]
    fn turns_are_mixed_fractions() {
        assert_eq!(turns(23.0 / 12.0), "1 11/12");
        assert_eq!(turns(-0.25), "1/4");
        assert_eq!(turns(2.0), "2");
        assert_eq!(turns(0.0), "0");
        assert_eq!(turns(2.5), "2 1/2");
        assert_eq!(turns(1.0 / 3.0), "1/3");
        assert_eq!(turns(0.13), "0.130");
    }

    /// A hexagon has six flats, so a flat is a sixth of a turn.
    #[test]
    fn turns_are_told_in_whole_flats_only() {
        for (value, told) in [
            (1.0 / 6.0, "1/6 turn = 1 flat"),
            (-2.5, "2 1/2 turns = 15 flats"),
            (1.0, "1 turn = 6 flats"),
            (4.0 / 3.0, "1 1/3 turns = 8 flats"),
            (23.0 / 12.0, "1 11/12 turns"),
            (0.25, "1/4 turn"),
            (0.0, "0 turn"),
        ] {
            assert_eq!(turns_words(value), told);
        }
        assert_eq!((flats(0.5 + 1e-10), flats(0.5 + 1e-9)), (Some("3".to_owned()), None));
    }

    #[test]
    fn minutes_carry_into_degrees() {
        assert_eq!(degrees_minutes(-7.0 / 6.0), "-1°10'");
        assert_eq!(degrees_minutes(0.999), "+1°00'");
        assert_eq!(degrees_minutes(-0.001), "0°00'");
        assert_eq!(degrees_minutes(0.1), "+0°06'");
    }

    #[test]
    fn lengths_are_mm_or_inches_of_25_4_mm() {
        let mm = Units::default();
        let inches = Units { length: LengthUnit::Inches, ..mm };
        assert_eq!((mm.with_unit(40.0), inches.with_unit(40.0)), ("40.0 mm".into(), "1.575 in".into()));
        assert_eq!(inches.with_both(254.0), "10.000 in (254.0 mm)");
        assert_eq!(
            (inches.length_signed(-0.01), inches.length_to(3.0, 2)),
            ("0.000".into(), "0.1181".into())
        );
        assert_eq!((mm.gradient(0.5), inches.gradient(0.5)), ("+0.50".into(), "+0.127".into()));
        // A mm in 100 mm is 0.01 of anything in one.
        assert_eq!(
            (mm.gradient_of_length(1.0), inches.gradient_of_length(1.0)),
            ("+1.0".into(), "+0.010".into())
        );
    }

    #[test]
    fn toe_as_a_length_is_the_sine_over_the_rim() {
        let toe = 1.0_f64;
        assert_eq!(ToeUnit::Millimetres { rims: [1000.0, 500.0].into() }.show(Hand::Left, toe), "+17.5");
        assert_eq!(ToeUnit::Millimetres { rims: [1000.0, 500.0].into() }.show(Hand::Right, toe), "+8.7");
        assert_eq!(
            ToeUnit::Millimetres { rims: [1000.0, 500.0].into() }.show_total(PerSide::both(toe)),
            "+26.2"
        );
        assert_eq!(ToeUnit::Minutes.show(Hand::Right, -0.25), "-15");
        assert_eq!(ToeUnit::Inches { rims: PerSide::both(2540.0) }.show(Hand::Right, toe), "+1.745");
    }
}
