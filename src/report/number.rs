//! Numbers as they are shown. Every page formats its numbers here.

/// The unit in which toe is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ToeUnit {
    /// Degrees.
    Degrees,
    /// Minutes of arc.
    Minutes,
    /// Millimetres across rims of these diameters, left and right, mm.
    Millimetres {
        /// The diameters.
        rims: [f64; 2],
    },
    /// Inches across rims of these diameters, left and right, mm.
    Inches {
        /// The diameters, mm.
        rims: [f64; 2],
    },
}

const INCH: f64 = 25.4;

impl ToeUnit {
    /// The toe of one wheel, with its sign; `side` is 0 for the left one.
    pub(super) fn show(self, side: usize, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(side, toe_deg);
        signed(value, decimals)
    }

    /// The toe of one wheel with its sign and a digit more, for small changes.
    pub(super) fn show_fine(self, side: usize, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(side, toe_deg);
        signed(value, decimals + 1)
    }

    /// A tolerance or another size without a sign.
    pub(super) fn show_size(self, side: usize, toe_deg: f64) -> String {
        let (value, decimals) = self.convert(side, toe_deg);
        fixed(value.abs(), decimals)
    }

    /// The total of an axle, with its sign: in mm or inches the sum over both rims.
    pub(super) fn show_total(self, toes_deg: [f64; 2]) -> String {
        let [left, right] = [0, 1].map(|side| self.convert(side, toes_deg[side]));
        signed(left.0 + right.0, left.1)
    }

    /// The total of an axle of which only the total is known, with its sign.
    pub(super) fn show_even(self, total_deg: f64) -> String {
        self.show_total([total_deg / 2.0; 2])
    }

    /// The toe of one wheel in this unit.
    pub(super) fn value(self, side: usize, toe_deg: f64) -> f64 {
        self.convert(side, toe_deg).0
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

    fn convert(self, side: usize, toe_deg: f64) -> (f64, usize) {
        match self {
            Self::Degrees => (toe_deg, 2),
            Self::Minutes => (toe_deg * 60.0, 0),
            Self::Millimetres { rims } => (rims[side] * toe_deg.to_radians().sin(), 1),
            Self::Inches { rims } => (rims[side] / INCH * toe_deg.to_radians().sin(), 3),
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

/// A length in mm, to a tenth.
pub(super) fn mm(value: f64) -> String {
    fixed(value, 1)
}

/// A length in inches, to a hundredth of a mm or so.
pub(super) fn inches(value_mm: f64) -> String {
    fixed(value_mm / INCH, 3)
}

/// Turns without their sign as a workshop counts them: `1 11/12`, `1/4`, `2`; decimals where no such fraction fits.
pub(super) fn turns(value: f64) -> String {
    const CLOSE: f64 = 1e-6;
    const PARTS: [f64; 11] = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0, 36.0];
    let value = value.abs();
    let Some(parts) = PARTS.into_iter().find(|parts| (value * parts - (value * parts).round()).abs() < CLOSE)
    else {
        return fixed(value, 3);
    };
    let count = (value * parts).round();
    let (whole, rest) = ((count / parts).floor(), count % parts);
    match (whole > 0.0, rest > 0.0) {
        (_, false) => fixed(whole, 0),
        (false, true) => format!("{rest}/{parts}"),
        (true, true) => format!("{whole} {rest}/{parts}"),
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

    #[test]
    fn minutes_carry_into_degrees() {
        assert_eq!(degrees_minutes(-7.0 / 6.0), "-1°10'");
        assert_eq!(degrees_minutes(0.999), "+1°00'");
        assert_eq!(degrees_minutes(-0.001), "0°00'");
        assert_eq!(degrees_minutes(0.1), "+0°06'");
    }

    #[test]
    fn toe_as_a_length_is_the_sine_over_the_rim() {
        let toe = 1.0_f64;
        assert_eq!(ToeUnit::Millimetres { rims: [1000.0, 500.0] }.show(0, toe), "+17.5");
        assert_eq!(ToeUnit::Millimetres { rims: [1000.0, 500.0] }.show(1, toe), "+8.7");
        assert_eq!(ToeUnit::Millimetres { rims: [1000.0, 500.0] }.show_total([toe, toe]), "+26.2");
        assert_eq!(ToeUnit::Minutes.show(1, -0.25), "-15");
        assert_eq!(ToeUnit::Inches { rims: [2540.0; 2] }.show(1, toe), "+1.745");
    }
}
