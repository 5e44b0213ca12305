//! How hard the road pushes a wheel: the load cases that links are looked at under, and what each puts on the knuckle.

use nalgebra::Vector3;
use serde::Serialize;

use super::{GRAVITY, Side};
use crate::geometry::{Ground, Position, Wrench};

/// What is looked at where the mass on the wheel is not known: loads for so much on the wheel, N.
const UNIT: f64 = 1000.0;

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

/// Who says how hard the road pushes in a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Said {
    /// Nobody: the usual factors.
    Usual,
    /// The profile.
    Profile,
    /// Whoever asks.
    Asked,
}

/// Forces on the tyre in one case, in parts of what the wheel carries standing; positive: up, inward, rearward.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Factors {
    /// Up.
    pub up: f64,
    /// Inward.
    pub inward: f64,
    /// Rearward.
    pub rearward: f64,
    /// How high above where the tyre stands the inward push is, mm.
    pub inward_height_mm: f64,
}

/// The factors of all cases, and who says so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadFactors {
    factors: [(Factors, Said); 6],
    /// Whether the wheels are driven; false where the profile says that they are not.
    driven: bool,
}

impl LoadCase {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Standing, Self::Cornering, Self::Braking, Self::Drive, Self::Kerb, Self::Pothole];

    /// Its name, as in `[loads]`.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Cornering => "cornering",
            Self::Braking => "braking",
            Self::Drive => "drive",
            Self::Kerb => "kerb",
            Self::Pothole => "pothole",
        }
    }

    /// The case of a name.
    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|case| case.name() == name)
    }

    /// Whether a fore-and-aft force acts on the knuckle where the tyre stands. A wheel that may turn in its bearing takes none
    /// but at its centre; only a brake on the knuckle holds it.
    pub(crate) fn is_braked(self) -> bool {
        self == Self::Braking
    }

    /// Whether it is part of ordinary driving rather than an accident.
    pub fn is_ordinary(self) -> bool {
        !matches!(self, Self::Kerb | Self::Pothole)
    }
}

impl Factors {
    /// No tyre is pushed by more than so many times what it carries.
    pub(crate) const MOST: f64 = 20.0;

    /// The car stands: the road pushes up, nothing else.
    pub(crate) const STANDING: Self = Self { up: 1.0, inward: 0.0, rearward: 0.0, inward_height_mm: 0.0 };

    /// Three factors, up, inward and rearward; `None` where no road pushes like that: it does not pull a wheel down either.
    pub fn new([up, inward, rearward]: [f64; 3]) -> Option<Self> {
        let sound = up >= 0.0 && [up, inward, rearward].iter().all(|factor| factor.abs() <= Self::MOST);
        sound.then_some(Self { up, inward, rearward, inward_height_mm: 0.0 })
    }
}

impl LoadFactors {
    /// The cases to look at: nothing drives a wheel that is not driven, unless somebody says how hard.
    pub(crate) fn cases(&self) -> impl Iterator<Item = LoadCase> + use<> {
        let has_drive = self.driven || self.said(LoadCase::Drive) != Said::Usual;
        LoadCase::ALL.into_iter().filter(move |case| *case != LoadCase::Drive || has_drive)
    }

    /// Of one case.
    pub fn of(&self, case: LoadCase) -> Factors {
        self.factors[case as usize].0
    }

    /// Who says so.
    pub fn said(&self, case: LoadCase) -> Said {
        self.factors[case as usize].1
    }

    /// The same, but one case as somebody says; where its inward push is stays.
    #[must_use]
    pub fn with(mut self, case: LoadCase, factors: Factors, said: Said) -> Self {
        let inward_height_mm = self.of(case).inward_height_mm;
        self.factors[case as usize] = (Factors { inward_height_mm, ..factors }, said);
        self
    }

    /// The same with a kerb that pushes so high, mm.
    #[must_use]
    pub(crate) fn with_kerb(mut self, height: f64) -> Self {
        self.factors[LoadCase::Kerb as usize].0.inward_height_mm = height;
        self
    }

    /// The same for an axle that no engine drives.
    #[must_use]
    pub(crate) fn undriven(self) -> Self {
        Self { driven: false, ..self }
    }
}

impl Default for LoadFactors {
    /// Common practice, no source: a tyre that grips as hard as it is pressed down, half as much load again on the outer wheel, less
    /// on the rear under braking and more under drive; three times the weight in a hole with twice of it rearward, and three times
    /// sideways at a kerb.
    fn default() -> Self {
        let usual =
            |up, inward, rearward| (Factors { up, inward, rearward, inward_height_mm: 0.0 }, Said::Usual);
        let factors = [
            (Factors::STANDING, Said::Usual),
            usual(1.5, 1.5, 0.0),
            usual(0.7, 0.0, 0.7),
            usual(1.2, 0.0, -1.2),
            usual(1.0, 3.0, 0.0),
            usual(3.0, 0.0, 2.0),
        ];
        Self { factors, driven: true }
    }
}

impl Side {
    /// What the wheel carries standing, N; a round figure where the profile does not say.
    pub fn wheel_load(&self) -> f64 {
        self.spring.and_then(|spring| spring.corner_mass).map_or(UNIT, |mass| mass * GRAVITY)
    }

    /// The load on the knuckle of the wheel in a position.
    ///
    /// The road's push goes on where the tyre stands, apart from a fore-and-aft push on a wheel that is free to turn, which its
    /// bearing passes on at the wheel centre, and an inward push that is given a height; the wheel's own weight hangs at the wheel
    /// centre too, where the profile gives it.
    pub fn load(&self, ground: &Ground, position: &Position, case: LoadCase, factors: Factors) -> Wrench {
        let centre = position.pose.centre;
        let contact = self.contact(&position.pose, ground);
        let up = ground.up();
        let spindle = position.pose.rotation * self.wheel.spindle;
        let outward = (spindle - up * up.dot(&spindle)).normalize();
        let rearward = up.cross(&outward);
        let weight = self.wheel_load();
        let road = (up * factors.up - outward * factors.inward) * weight;
        // A push so much higher turns the knuckle as well.
        let higher = (up * factors.inward_height_mm).cross(&(outward * (-factors.inward * weight)));
        let along = if case.is_braked() { contact } else { centre };
        let own = self.spring.and_then(|spring| spring.corner_mass.and(spring.unsprung_mass)).unwrap_or(0.0);
        let hung = Wrench { force: up * (-own * GRAVITY), moment: Vector3::zeros() };
        Wrench::at(road, &contact, &centre)
            .and(&Wrench::at(rearward * (factors.rearward * weight), &along, &centre))
            .and(&hung)
            .and(&Wrench { force: Vector3::zeros(), moment: higher })
    }
}
