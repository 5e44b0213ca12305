//! The bolt at an end of a link: its property class, and what its torque makes of it.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::Thread;

/// A property class of ISO 898-1, or a grade of SAE J429.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PropertyClass(String);

/// How threads and nut face are when the nut is torqued.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Surface {
    /// As delivered, clean, plated or not.
    Dry,
    /// With oil on them.
    Oiled,
    /// With anti-seize paste or spray on them.
    AntiSeize,
}

/// The bolt at an end of a link, at the subframe or at the knuckle.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bolt {
    pub(crate) thread: Thread,
    pub(crate) class: PropertyClass,
    /// The torque of its nut, N m, where the profile gives the manual's.
    pub(crate) torque: Option<f64>,
    /// How its threads are.
    pub(crate) surface: Surface,
    /// The nut factor from - to, where it was measured.
    pub(crate) nut_factor: Option<[f64; 2]>,
    /// Friction of the clamped faces, from - to.
    pub(crate) friction: [f64; 2],
    /// How many faces would have to slip: two where the bush's sleeve sits between two ears, one where an eye is bolted to a face.
    pub(crate) faces: u32,
}

#[derive(Deserialize)]
struct Tables {
    class: Vec<BoltRow>,
    nut_factor: BTreeMap<Surface, [f64; 2]>,
}

#[derive(Deserialize)]
struct BoltRow {
    name: String,
    up_to: f64,
    proof: f64,
    #[serde(rename = "yield")]
    yields: f64,
    tensile: f64,
}

/// Read once. It is part of the program and a test reads it, so a fault cannot reach a user.
static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    toml::from_str(include_str!("../../data/bolts.toml")).expect("the table of bolts is sound")
});

/// Stresses of a property class, N/mm2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strengths {
    /// Under proof load: no lasting stretch.
    pub(crate) proof: f64,
    /// At yield.
    pub yields: f64,
    /// At rupture.
    pub(crate) tensile: f64,
}

impl PropertyClass {
    /// The class of a name such as "8.8".
    pub fn named(name: &str) -> Option<Self> {
        let name = name.trim();
        TABLES.class.iter().any(|row| row.name == name).then(|| Self(name.to_owned()))
    }

    /// The names that there are.
    pub(crate) fn names() -> Vec<&'static str> {
        let mut names: Vec<&str> = TABLES.class.iter().map(|row| row.name.as_str()).collect();
        names.dedup();
        names
    }

    pub(crate) fn name(&self) -> &str {
        &self.0
    }

    /// Whether it is a grade of inch bolts.
    pub(crate) fn is_of_inches(&self) -> bool {
        self.0.starts_with("grade")
    }

    /// The largest nominal diameter that it is made in, mm.
    pub(crate) fn up_to(&self) -> f64 {
        TABLES.class.iter().filter(|row| row.name == self.0).map(|row| row.up_to).fold(0.0, f64::max)
    }

    /// Its stresses for a nominal diameter, mm.
    pub fn strengths(&self, diameter: f64) -> Strengths {
        let rows = || TABLES.class.iter().filter(|row| row.name == self.0);
        rows().find(|row| diameter <= row.up_to).or_else(|| rows().next_back()).map_or(
            // A class is only made from a row that is there.
            Strengths { proof: 0.0, yields: 0.0, tensile: 0.0 },
            |row| Strengths { proof: row.proof, yields: row.yields, tensile: row.tensile },
        )
    }
}

impl Surface {
    /// All of them, the roughest first.
    pub(crate) const ALL: [Self; 3] = [Self::Dry, Self::Oiled, Self::AntiSeize];

    /// Its name, as in a profile.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::Oiled => "oiled",
            Self::AntiSeize => "anti-seize",
        }
    }

    /// The nut factor from - to.
    pub(crate) fn nut_factor(self) -> [f64; 2] {
        TABLES.nut_factor.get(&self).copied().unwrap_or([0.1, 0.3])
    }
}

impl Bolt {
    /// Friction of clamped steel faces, from painted or oily to bare as rolled: the upper one is class D of EN 1090-2 (from
    /// memory), the lower one common practice, no source.
    pub(crate) const FRICTION: [f64; 2] = [0.10, 0.20];

    /// What the bolt shears at, N: the yield stress over `sqrt 3` on the stress area, as if the thread lay in every plane. Between
    /// two ears there are two planes, on one face one.
    pub(crate) fn shear(&self) -> f64 {
        let planes = f64::from(self.faces.min(2));
        planes * self.thread.stress_area * self.class.strengths(self.thread.diameter).yields / 3.0_f64.sqrt()
    }

    /// What the clamped faces hold by friction under a preload, N, from the least to the most friction: friction times preload
    /// on each.
    pub(crate) fn holds(&self, preload: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|i| f64::from(self.faces) * self.friction[i] * preload[i])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Proof and least ultimate loads of ISO 898-1, coarse threads, N (read at staging2.optimas.com and usefastener.com, as in
    /// data/README.md): three printed digits.
    #[test]
    fn classes_carry_the_loads_of_their_standard() {
        for (thread, class, proof, ultimate) in [
            ("M8", "8.8", 21200.0, 29200.0),
            ("M10", "8.8", 33700.0, 46400.0),
            ("M12", "8.8", 48900.0, 67400.0),
            ("M14", "8.8", 66700.0, 92000.0),
            ("M16", "8.8", 91000.0, 125_000.0),
            ("M18", "8.8", 115_000.0, 159_000.0),
            ("M20", "8.8", 147_000.0, 203_000.0),
            ("M8", "10.9", 30400.0, 38100.0),
            ("M12", "10.9", 70000.0, 87700.0),
            ("M16", "10.9", 130_000.0, 163_000.0),
            ("M20", "10.9", 203_000.0, 255_000.0),
        ] {
            let thread: Thread = thread.parse().expect("a thread");
            let strengths = PropertyClass::named(class).expect("a class").strengths(thread.diameter);
            assert_relative_eq!(strengths.proof * thread.stress_area, proof, max_relative = 5e-3);
            assert_relative_eq!(strengths.tensile * thread.stress_area, ultimate, max_relative = 5e-3);
        }
    }

    /// Least tensile, yield and proof stresses of ISO 898-1:1999, N/mm2 (read at mem50212.com, which starts 8.8 at M16; the smaller ones,
    /// tensile and yield, at bbshalmstad.se, as in data/README.md).
    #[test]
    fn classes_have_the_stresses_of_their_standard() {
        for (class, diameter, tensile, yields, proof) in [
            ("8.8", 12.0, 800.0, 640.0, None),
            ("8.8", 20.0, 830.0, 660.0, Some(600.0)),
            ("9.8", 12.0, 900.0, 720.0, Some(650.0)),
            ("10.9", 12.0, 1040.0, 940.0, Some(830.0)),
            ("12.9", 12.0, 1220.0, 1100.0, Some(970.0)),
        ] {
            let own = PropertyClass::named(class).expect("a class").strengths(diameter);
            assert_relative_eq!(own.tensile, tensile);
            assert_relative_eq!(own.yields, yields);
            assert_relative_eq!(own.proof, proof.unwrap_or(own.proof));
        }
        assert_relative_eq!(PropertyClass::named("9.8").expect("a class").up_to(), 16.0);
    }

    /// Proof, yield and tensile stresses of SAE J429, kpsi (from memory), to the nearest N/mm2.
    #[test]
    fn grades_have_the_stresses_of_their_standard() {
        for (grade, inches, kpsi) in [
            ("grade 2", 0.5, [55.0, 57.0, 74.0]),
            ("grade 2", 1.0, [33.0, 36.0, 60.0]),
            ("grade 5", 0.5, [85.0, 92.0, 120.0]),
            ("grade 5", 1.25, [74.0, 81.0, 105.0]),
            ("grade 8", 1.25, [120.0, 130.0, 150.0]),
        ] {
            let class = PropertyClass::named(grade).expect("a grade");
            let own = class.strengths(inches * 25.4);
            for (own, kpsi) in [own.proof, own.yields, own.tensile].into_iter().zip(kpsi) {
                assert_relative_eq!(own, kpsi * 6.894_757, epsilon = 0.51);
            }
            assert!(class.is_of_inches() && class.up_to() > 38.0);
        }
    }

    #[test]
    fn every_surface_has_its_nut_factor() {
        for surface in Surface::ALL {
            let [low, high] = TABLES.nut_factor[&surface];
            assert!(0.0 < low && low < high && high < 0.5);
            let named = surface.nut_factor();
            assert!(named.iter().zip([low, high]).all(|(named, listed)| named.to_bits() == listed.to_bits()));
        }
        assert_eq!(PropertyClass::names(), ["8.8", "9.8", "10.9", "12.9", "grade 2", "grade 5", "grade 8"]);
        assert_eq!(PropertyClass::named("4.6"), None);
    }
}
