//! How hard the road pushes a wheel: the load cases that links are looked at under.

use serde::Serialize;

/// A way in which a wheel is loaded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum LoadCase {
    /// The car stands.
    Standing,
    /// The outer wheel in a bend.
    Cornering,
    /// The brake holds the wheel to the knuckle.
    Braking,
    /// The shaft drives the hub.
    Drive,
    /// The wheel slides into a kerb sideways.
    Kerb,
    /// The wheel drops into a hole and hits its edge.
    Pothole,
}

/// Forces on the tyre in every case, in parts of what the wheel carries standing: up, inward, rearward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadFactors(pub [[f64; 3]; 6]);

impl LoadCase {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Standing, Self::Cornering, Self::Braking, Self::Drive, Self::Kerb, Self::Pothole];

    /// Its name, as in `[loads]`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Cornering => "cornering",
            Self::Braking => "braking",
            Self::Drive => "drive",
            Self::Kerb => "kerb",
            Self::Pothole => "pothole",
        }
    }

    /// Whether a fore-and-aft force acts on the knuckle where the tyre stands. A wheel that may turn in its bearing takes none
    /// but at its centre; only a brake on the knuckle holds it.
    pub fn is_braked(self) -> bool {
        self == Self::Braking
    }

    /// Whether it is part of ordinary driving rather than an accident.
    pub fn is_ordinary(self) -> bool {
        !matches!(self, Self::Kerb | Self::Pothole)
    }
}

impl LoadFactors {
    /// Of one case.
    pub fn of(&self, case: LoadCase) -> [f64; 3] {
        self.0[case as usize]
    }
}

impl Default for LoadFactors {
    /// Common practice, no source: a tyre that grips as hard as it is pressed down, half as much load again on the outer wheel, less
    /// on the rear under braking and more under drive; three times the weight in a hole with twice of it rearward, and three times
    /// sideways at a kerb.
    fn default() -> Self {
        Self([
            [1.0, 0.0, 0.0],
            [1.5, 1.5, 0.0],
            [0.7, 0.0, 0.7],
            [1.2, 0.0, -1.2],
            [1.0, 3.0, 0.0],
            [3.0, 0.0, 2.0],
        ])
    }
}
