//! The bolts at the ends of the links: the preload that a torque makes, and whether the joint slips.
//!
//! Bolts: `margin` is what the clamped faces hold of the link's whole force, the same with a slot and without, for a lock-out
//! and for a cam; from 1.0 to 1.2 it holds with little in hand. `cam.margin` what faces and plates hold against the cam's being
//! turned (`strength/grip.rs`). Both are from the least to the most, by nut factor and friction together; preload beyond
//! `stands_n` of its own nut factor is not counted, so no torque buys margin that the bolt does not stand. What keeps a cam
//! from turning is an estimate of our own, no source.

use serde::Serialize;

use super::balance::Balance;
use super::capacity::{assembly_limit, friction_of, preload};
use super::grip::{CamGrip, HeldBy};
use super::load_cases::{Held, wheel_load_known};
use crate::car::{Bolt, Car, Hand, Link, LoadCase, LoadFactors, PerSide, Side, Stance, Surface};
use crate::plan::over_travel::{Gaps, once};
use crate::plan::{ArmEnd, Fitting, Missing, NoPosition, Plan};

/// A bolt is torqued no further than to this part of its yield stress (VDI 2230).
const TORQUED: f64 = 0.9;

/// A margin to slip below this holds with little in hand. VDI 2230, from memory: about 1.2 for a load that stands still, 1.8 for one that goes
/// to and fro.
const IN_HAND: f64 = 1.2;

/// The bolts of both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Bolts {
    /// Left, then right.
    pub sides: PerSide<BoltSide>,
    /// How many cams there are to lock out.
    pub kits: Kits,
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// Lock-out kits: a bolt with its two plates each.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Kits {
    /// The cams in the profile, both sides: one kit each.
    pub cams: usize,
    /// The links that have one on both sides or on either.
    pub links: Vec<String>,
    /// Whether the rear wheels are steered, where the profile says so.
    pub rear_steering: Option<bool>,
    /// How many are usual on this car, where that is known.
    pub usual: Option<usize>,
    /// How many are usual without rear steering.
    pub usual_without: usize,
    /// How many with it: its toe links end at the steering gear, so only the other pair has cams.
    pub usual_with: usize,
}

/// The bolts of one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct BoltSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// Whether the profile says what the wheel carries; without it the loads are for 1000 N and no margin is given.
    pub wheel_load_known: bool,
    /// From which height to which, mm above the reference, nothing holds the wheel, so that nothing is said.
    pub not_held_mm: Option<[f64; 2]>,
    /// The bolts that the profile describes.
    pub bolts: Vec<PivotBolt>,
}

/// One bolt.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct PivotBolt {
    /// The link whose pivot it is.
    pub link: String,
    /// At which end.
    pub end: ArmEnd,
    /// Its thread.
    pub thread: String,
    /// Its property class.
    pub class: String,
    /// The torque of its nut, N m.
    pub torque_nm: Option<f64>,
    /// How many clamped faces would have to slip.
    pub faces: u32,
    /// Their friction, from - to.
    pub friction: [f64; 2],
    /// The load that the clamped faces have to hold by friction, whole, whether or not the bolt is in a slot; the most over the travel, N.
    pub cases: Vec<SlipLoad>,
    /// The hardest of them in ordinary driving, N; `None` where nothing holds the wheel.
    pub hardest_n: Option<f64>,
    /// What the torque makes, for each way the threads may be; empty without a torque.
    pub tightened: Vec<Tightened>,
    /// What the clamped faces hold over the load: the margin to slip in the hardest case of ordinary driving, least and most. A
    /// lock-out and a cam have it alike.
    pub margin: Option<[f64; 2]>,
    /// The blows, kerb or pothole, that ask for more than the least that the clamped faces hold.
    pub slips_at: Vec<LoadCase>,
    /// Whether the car is looked at with a lock-out in place of the cam.
    pub locked_out: bool,
    /// What keeps the cam from turning past that, where the pivot has one.
    pub cam: Option<CamGrip>,
}

/// What a joint has to hold in a case.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SlipLoad {
    /// The case.
    pub case: LoadCase,
    /// The load, N.
    pub load_n: f64,
}

/// What a torque makes of a bolt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Tightened {
    /// How threads and nut face are; `None`: as the profile's own nut factor has it.
    pub surface: Option<Surface>,
    /// Whether that is how the profile says they are.
    pub is_so: bool,
    /// Nut factor, from - to.
    pub nut_factor: [f64; 2],
    /// Preload, least and most, N.
    pub preload_n: [f64; 2],
    /// The preload at which the shank comes to nine tenths of its yield stress, N, with the friction of the lesser nut factor.
    pub stands_n: f64,
    /// Whether the most preload is beyond that: the bolt would be stretched.
    pub too_much: bool,
    /// What the clamped faces hold by friction, least and most, N; preload beyond what the bolt stands is not counted.
    pub holds_n: [f64; 2],
    /// The torque that makes the same most preload as on dry threads, N m.
    pub like_dry_nm: f64,
}

impl Bolts {
    /// Whether every bolt whose margin is known holds in ordinary driving and none is overstretched.
    pub fn succeeds(&self) -> bool {
        let sound = |bolt: &PivotBolt| {
            bolt.margin.is_none_or(|[least, _]| least >= 1.0)
                && bolt.tightened.iter().all(|state| !(state.is_so && state.too_much))
        };
        self.sides.iter().all(|side| side.bolts.iter().all(sound))
    }
}

impl PivotBolt {
    /// Whether it holds in ordinary driving, but with less in hand than is usual.
    pub fn has_little_in_hand(&self) -> bool {
        self.margin.is_some_and(|[least, _]| (1.0..IN_HAND).contains(&least))
    }

    /// What the torque makes as the profile has the threads.
    pub fn as_it_is(&self) -> Option<&Tightened> {
        self.tightened.iter().find(|state| state.is_so)
    }
}

/// Asks for the bolts.
///
/// # Errors
///
/// [`NoPosition`] where a side has no position at the drop.
pub fn bolts(
    car: &Car,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    factors: &LoadFactors,
) -> Result<Bolts, NoPosition> {
    let sides = PerSide::try_of(|hand| {
        let side = &car.sides[hand];
        let held = Held::new(side, stance, plan, fitting, factors)?;
        Ok(bolt_side(side, &held, |link| plan.is_some() && fitting.fits(link) && !fitting.keep_cams))
    })?;
    Ok(Bolts { sides, kits: Kits::of(car), missing: once(car.sides.each(|side| not_given(car, side))) })
}

impl Kits {
    fn of(car: &Car) -> Self {
        let with_cam = || car.sides.iter().flat_map(|side| &side.links).filter(|link| link.cam.is_some());
        let mut links: Vec<String> = Vec::new();
        for link in with_cam() {
            if !links.contains(&link.name) {
                links.push(link.name.clone());
            }
        }
        // Common practice, no source.
        let (usual_without, usual_with) = (4, 2);
        Self {
            cams: with_cam().count(),
            links,
            rear_steering: car.rear_steering,
            usual: car.rear_steering.map(|steered| if steered { usual_with } else { usual_without }),
            usual_without,
            usual_with,
        }
    }
}

fn bolt_side(side: &Side, held: &Held, locked_out: impl Fn(&Link) -> bool) -> BoltSide {
    let known = wheel_load_known(side);
    let of_link = |(i, link): (usize, &Link)| {
        let inner = link.bolt.as_ref().map(|bolt| {
            let joint = pivot(link, ArmEnd::Subframe, bolt, held, |balance| balance.on_bolt[i].norm(), known);
            let locked_out = link.cam.is_some() && locked_out(link);
            let cam = link.cam.map(|cam| {
                // A cam that is locked out would stand as it was found.
                let moved = held.setup.cam(i, link) - cam.found();
                let shift = cam.found() + if locked_out { 0.0 } else { moved };
                let held_by = joint
                    .as_it_is()
                    .map(|state| HeldBy { faces_n: state.holds_n, load_known: joint.margin.is_some() });
                let along = |balance: &Balance| balance.on_bolt[i].dot(&cam.along).abs();
                let ordinary =
                    held.cases.iter().filter(|held| held.case.is_ordinary() && !held.over.is_empty());
                let turns = ordinary.map(|held| held.most(along)).reduce(f64::max);
                CamGrip::of(&cam, shift, bolt, turns, held_by.as_ref())
            });
            PivotBolt { locked_out, cam, ..joint }
        });
        let outer = link.knuckle_bolt.as_ref().map(|bolt| {
            pivot(link, ArmEnd::Knuckle, bolt, held, |balance| balance.on_knuckle[i].norm(), known)
        });
        [inner, outer].into_iter().flatten()
    };
    BoltSide {
        side: side.hand,
        drop_mm: held.drop,
        wheel_load_known: known,
        not_held_mm: held.loose,
        bolts: side.links.iter().enumerate().flat_map(of_link).collect(),
    }
}

fn pivot(
    link: &Link,
    end: ArmEnd,
    bolt: &Bolt,
    held: &Held,
    asks: impl Fn(&Balance) -> f64,
    known: bool,
) -> PivotBolt {
    let held = held.cases.iter().filter(|held| !held.over.is_empty());
    let cases: Vec<SlipLoad> =
        held.map(|held| SlipLoad { case: held.case, load_n: held.most(&asks) }).collect();
    let ordinary = cases.iter().filter(|slip| slip.case.is_ordinary()).map(|slip| slip.load_n);
    let hardest_n = ordinary.reduce(f64::max);
    let tightened = bolt.torque.map_or(Vec::new(), |torque| states(bolt, torque));
    let as_it_is = tightened.iter().find(|state| state.is_so).filter(|_| known);
    let margin = as_it_is
        .zip(hardest_n.filter(|load| *load > 0.0))
        .map(|(state, load)| state.holds_n.map(|holds| holds / load));
    let beyond = |slip: &&SlipLoad| as_it_is.is_some_and(|state| slip.load_n > state.holds_n[0]);
    let blows = cases.iter().filter(|slip| !slip.case.is_ordinary());
    let slips_at = blows.filter(beyond).map(|slip| slip.case).collect();
    PivotBolt {
        link: link.name.clone(),
        end,
        thread: bolt.thread.size.clone(),
        class: bolt.class.name().to_owned(),
        torque_nm: bolt.torque,
        faces: bolt.faces,
        friction: bolt.friction,
        cases,
        hardest_n,
        tightened,
        margin,
        slips_at,
        locked_out: false,
        cam: None,
    }
}

/// What a torque makes of a bolt on dry, oiled and greased threads, and with the profile's own nut factor.
fn states(bolt: &Bolt, torque: f64) -> Vec<Tightened> {
    let Bolt { thread, class, .. } = bolt;
    let yields = class.strengths(thread.diameter).yields;
    let dry = Surface::Dry.nut_factor();
    let state = |surface: Option<Surface>, nut_factor: [f64; 2]| {
        let [low, high] = nut_factor;
        let preload_n = [high, low].map(|factor| preload(torque, factor, thread.diameter));
        let stands =
            [high, low].map(|factor| assembly_limit(thread, yields, TORQUED, friction_of(thread, factor)));
        let stands_n = stands[1];
        Tightened {
            surface,
            is_so: match bolt.nut_factor {
                Some(_) => surface.is_none(),
                None => surface == Some(bolt.surface),
            },
            nut_factor,
            preload_n,
            stands_n,
            too_much: preload_n[1] > stands_n,
            // No torque clamps harder than the bolt stands.
            holds_n: bolt.holds([0, 1].map(|i| preload_n[i].min(stands[i]))),
            like_dry_nm: torque * low / dry[0],
        }
    };
    let usual = Surface::ALL.map(|surface| state(Some(surface), surface.nut_factor()));
    usual.into_iter().chain(bolt.nut_factor.map(|own| state(None, own))).collect()
}

fn not_given(car: &Car, side: &Side) -> Vec<Missing> {
    let mut gaps = Gaps::of(side);
    gaps.of_links(
        |_, link| link.bolt.is_none() && link.cam.is_some(),
        |names| {
            let measure =
                "the bolt at the subframe: its thread, the class on its head, the manual's torque in N m";
            ("[link.bolt] with thread, class and torque", format!("{measure} (of {names})"))
        },
    );
    gaps.of_links(
        |_, link| [&link.bolt, &link.knuckle_bolt].into_iter().flatten().any(|bolt| bolt.torque.is_none()),
        |names| ("torque = ... in [link.bolt]", format!("the manual's torque in N m (of {names})")),
    );
    gaps.unless(
        wheel_load_known(side),
        "[spring] with upper, lower and corner_mass",
        "where the spring pushes and what a scale under the wheel reads: without them there is no margin to slip",
    );
    gaps.unless(
        car.rear_steering.is_some(),
        "rear_steering = true or false in [car]",
        "whether the rear wheels are steered: the usual number of lock-out kits depends on it",
    );
    gaps.list()
}
