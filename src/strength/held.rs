//! A side under all load cases, over its whole travel.

use nalgebra::Vector3;

use super::balance::{Balance, Wrench};
use crate::car::{Factors, GRAVITY, LoadCase, LoadFactors, Setup, Side, Stance};
use crate::geometry::{Ground, Position};
use crate::plan::sweep::Sweep;
use crate::plan::{Fitting, NoPosition, Plan, Travel};

/// What is looked at where the mass on the wheel is not known: loads for so much on the wheel, N.
const UNIT: f64 = 1000.0;

/// What holds a wheel in every case at every height.
pub(super) struct Held {
    /// How the links are set.
    pub(super) setup: Setup,
    /// By how much the side is lowered, mm.
    pub(super) drop: f64,
    pub(super) travel: Travel,
    pub(super) cases: [HeldCase; 6],
    /// From which height to which, mm above the reference, no force in the spring's line holds the wheel.
    pub(super) loose: Option<[f64; 2]>,
}

/// What holds a wheel in one case.
pub(super) struct HeldCase {
    pub(super) case: LoadCase,
    /// By the height of the wheel above the reference, mm; where nothing holds it, it is left out.
    pub(super) over: Vec<(f64, Balance)>,
}

impl HeldCase {
    /// The most that a balance comes to anywhere on the travel, 0 at the least.
    pub(super) fn most(&self, value: impl Fn(&Balance) -> f64) -> f64 {
        self.over.iter().map(|(_, balance)| value(balance)).fold(0.0, f64::max)
    }
}

impl Held {
    /// Works a side out, its links as planned or, without a plan, as found.
    pub(super) fn new(
        side: &Side,
        stance: &Stance,
        plan: Option<&Plan>,
        fitting: &Fitting,
        factors: &LoadFactors,
    ) -> Result<Self, NoPosition> {
        let drop = stance.drop(side.hand);
        let setup = match plan {
            Some(plan) => plan.sides[side.hand.index()].setup(side, fitting),
            None => Setup::as_found(side),
        };
        let sweep = Sweep::new(side, setup, drop)?;
        let ground = stance.ground(side.hand);
        let cases = LoadCase::ALL.map(|case| {
            let at = |(height, position): &(f64, Position)| {
                let load = load(side, &ground, position, case, factors.of(case));
                Some((*height, Balance::of(side, &setup, position, &load)?))
            };
            HeldCase { case, over: sweep.samples().iter().filter_map(at).collect() }
        });
        let bare = || {
            let held = |height: f64| cases[0].over.iter().any(|(at, _)| at.total_cmp(&height).is_eq());
            sweep.samples().iter().map(|(height, _)| *height).filter(move |height| !held(*height))
        };
        let loose = bare().next().zip(bare().next_back()).map(<[f64; 2]>::from);
        Ok(Self { setup, drop, travel: sweep.travel, cases, loose })
    }

    /// Whether the wheel is held anywhere.
    pub(super) fn anywhere(&self) -> bool {
        self.cases.iter().any(|case| !case.over.is_empty())
    }
}

/// The load on the knuckle of a wheel in a position.
///
/// The road's push goes on where the tyre stands, apart from a fore-and-aft push on a wheel that is free to turn, which its
/// bearing passes on at the wheel centre; the wheel's own weight hangs there too.
fn load(side: &Side, ground: &Ground, position: &Position, case: LoadCase, factors: Factors) -> Wrench {
    let centre = position.pose.centre;
    let contact = side.contact(&position.pose, ground);
    let up = ground.up();
    let spindle = position.pose.rotation * side.wheel.spindle;
    let outward = (spindle - up * up.dot(&spindle)).normalize();
    let rearward = up.cross(&outward);
    let weight = wheel_load(side);
    let road = (up * factors.up - outward * factors.inward) * weight;
    let along = if case.is_braked() { contact } else { centre };
    let own = side.spring.and_then(|spring| spring.corner_mass.and(spring.unsprung_mass)).unwrap_or(0.0);
    let hung = Wrench { force: up * (-own * GRAVITY), moment: Vector3::zeros() };
    Wrench::at(road, &contact, &centre)
        .and(&Wrench::at(rearward * (factors.rearward * weight), &along, &centre))
        .and(&hung)
}

/// What the wheel carries standing, N; a round figure where the profile does not say.
pub(super) fn wheel_load(side: &Side) -> f64 {
    side.spring.and_then(|spring| spring.corner_mass).map_or(UNIT, |mass| mass * GRAVITY)
}

/// Whether the profile says what the wheel carries, and what holds it up.
pub(super) fn wheel_load_known(side: &Side) -> bool {
    side.spring.is_some_and(|spring| spring.corner_mass.is_some())
}
