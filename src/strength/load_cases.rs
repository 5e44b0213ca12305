//! A side under all load cases, over its whole travel.

use super::balance::Balance;
use crate::car::{LoadCase, LoadFactors, Setup, Side, Stance};
use crate::geometry::Position;
use crate::plan::over_travel::Sweep;
use crate::plan::{Fitting, NoPosition, Plan, Travel};

/// What holds a wheel in every case at every height.
pub(super) struct Held {
    /// How the links are set.
    pub(super) setup: Setup,
    /// By how much the side is lowered, mm.
    pub(super) drop: f64,
    pub(super) travel: Travel,
    pub(super) cases: Vec<HeldCase>,
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
            Some(plan) => plan.sides[side.hand].setup(side, fitting),
            None => Setup::as_found(side),
        };
        let sweep = Sweep::new(side, setup, drop)?;
        let ground = stance.ground(side.hand);
        let of_case = |case: LoadCase| {
            let at = |(height, position): &(f64, Position)| {
                let load = |case| side.load(&ground, position, case, factors.of(case));
                // A blow is over before the spring has moved: what is more than it carries standing is the damper's.
                let steady = (!case.is_ordinary()).then(|| load(LoadCase::Standing));
                Some((*height, Balance::of(side, &setup, position, &load(case), steady.as_ref())?))
            };
            HeldCase { case, over: sweep.samples().iter().filter_map(at).collect() }
        };
        let cases: Vec<HeldCase> = factors.cases().map(of_case).collect();
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

/// Whether the profile says what the wheel carries, and what holds it up.
pub(super) fn wheel_load_known(side: &Side) -> bool {
    side.spring.is_some_and(|spring| spring.corner_mass.is_some())
}
