//! Spring rates, masses, forces, torques and stresses, the way people write them.

use serde::de::{self, Deserialize, Deserializer, Visitor};
use std::fmt;

/// A spring rate, N/mm: a bare number, or `"45 N/mm"`, `"250 lb/in"`, `"4.6 kg/mm"`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rate(pub(super) f64);

/// A mass, kg: a bare number, or `"340 kg"`, `"750 lb"`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mass(pub(super) f64);

/// A force, N: a bare number, or `"24 kN"`, `"5400 lbf"`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Force(pub(super) f64);

/// A torque, N m: a bare number, or `"110 N m"`, `"80 lbf ft"`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Torque(pub(super) f64);

/// A stress or a modulus, N/mm2: a bare number, or `"355 MPa"`, `"205 GPa"`, `"50 ksi"`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stress(pub(super) f64);

/// Pounds (avoirdupois) in kg and standard gravity in m/s2, exactly: the pound of 1959, the third general conference on
/// weights and measures of 1901.
const POUND: f64 = 0.453_592_37;
const GRAVITY: f64 = 9.806_65;

const RATES: LoadUnit = LoadUnit {
    factors: &[
        ("n/mm", 1.0),
        ("kn/m", 1.0),
        ("lb/in", POUND * GRAVITY / 25.4),
        ("lbs/in", POUND * GRAVITY / 25.4),
        ("lbf/in", POUND * GRAVITY / 25.4),
        ("kg/mm", GRAVITY),
        ("kgf/mm", GRAVITY),
    ],
    like: "a spring rate such as 45.0 (N/mm), \"250 lb/in\" or \"4.6 kg/mm\"",
};

const MASSES: LoadUnit = LoadUnit {
    factors: &[("kg", 1.0), ("lb", POUND), ("lbs", POUND)],
    like: "a mass such as 340.0 (kg) or \"750 lb\"",
};

const FORCES: LoadUnit = LoadUnit {
    factors: &[("n", 1.0), ("kn", 1000.0), ("lbf", POUND * GRAVITY), ("lb", POUND * GRAVITY)],
    like: "a force such as 24000.0 (N), \"24 kN\" or \"5400 lbf\"",
};

const TORQUES: LoadUnit = LoadUnit {
    factors: &[
        ("nm", 1.0),
        ("n.m", 1.0),
        ("lbfft", POUND * GRAVITY * 0.3048),
        ("lbft", POUND * GRAVITY * 0.3048),
        ("ftlb", POUND * GRAVITY * 0.3048),
        ("lbfin", POUND * GRAVITY * 0.0254),
    ],
    like: "a torque such as 110.0 (N m) or \"80 lbf ft\"",
};

const STRESSES: LoadUnit = LoadUnit {
    factors: &[
        ("mpa", 1.0),
        ("n/mm2", 1.0),
        ("gpa", 1000.0),
        ("ksi", 1000.0 * POUND * GRAVITY / (25.4 * 25.4)),
        ("psi", POUND * GRAVITY / (25.4 * 25.4)),
    ],
    like: "a stress such as 355.0 (N/mm2), \"355 MPa\" or \"50 ksi\"",
};

/// What a number with a unit may be.
struct LoadUnit {
    factors: &'static [(&'static str, f64)],
    like: &'static str,
}

impl LoadUnit {
    fn read(&self, text: &str) -> Option<f64> {
        let text = text.trim().to_lowercase();
        let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
        let (number, unit) = text.split_at(end);
        let number: f64 = number.trim().parse().ok()?;
        if unit.is_empty() {
            return Some(number);
        }
        let unit: String = unit.chars().filter(|c| !c.is_whitespace()).collect();
        self.factors.iter().find(|(name, _)| *name == unit).map(|(_, factor)| number * factor)
    }
}

impl Visitor<'_> for LoadUnit {
    type Value = f64;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.like)
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<f64, E> {
        if value.is_finite() { Ok(value) } else { Err(E::custom("this must be a finite number")) }
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<f64, E> {
        #[expect(clippy::cast_precision_loss, reason = "no load has sixteen digits")]
        Ok(value as f64)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<f64, E> {
        let like = self.like;
        let value = self.read(text).filter(|value| value.is_finite());
        value.ok_or_else(|| E::custom(format_args!("`{text}` is not understood here; write {like}")))
    }
}

/// How each of them is read.
macro_rules! read_as {
    ($($name:ident $unit:ident),*) => {$(
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                deserializer.deserialize_any($unit).map(Self)
            }
        }
    )*};
}

read_as!(Rate RATES, Mass MASSES, Force FORCES, Torque TORQUES, Stress STRESSES);

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// 1 lbf/in is 0.1751268 N/mm (NIST SP 811, appendix B.8, pound-force per inch: 175.1268 N/m).
    #[test]
    fn rates_and_masses_in_all_the_ways_people_write_them() {
        for (text, value) in [("45", 45.0), ("45 N/mm", 45.0), ("45n / mm", 45.0), ("4 kg/mm", 39.2266)] {
            assert_relative_eq!(RATES.read(text).expect(text), value, max_relative = 1e-12);
        }
        assert_relative_eq!(RATES.read("1 lb/in").expect("a rate"), 0.175_126_8, max_relative = 1e-6);
        assert_relative_eq!(MASSES.read("100 lbs").expect("a mass"), 45.359_237, max_relative = 1e-12);
        // NIST SP 811, appendix B.8: 1 lbf is 4.448222 N, 1 lbf ft 1.355818 N m, 1 ksi 6.894757 MPa.
        assert_relative_eq!(FORCES.read("1000 lbf").expect("a force"), 4448.222, max_relative = 1e-6);
        assert_relative_eq!(TORQUES.read("10 lbf ft").expect("a torque"), 13.558_18, max_relative = 1e-6);
        assert_relative_eq!(STRESSES.read("50 ksi").expect("a stress"), 344.7379, max_relative = 1e-6);
        assert_eq!(FORCES.read("24 kN"), Some(24000.0));
        for text in ["", "N/mm", "4 N", "4 kg", "four", "1e999 N/mm"] {
            assert_eq!(RATES.read(text).filter(|value| value.is_finite()), None, "{text}");
        }
    }
}
