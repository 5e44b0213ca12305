//! The bolts at the subframe pivots: the preload that a torque makes, and whether the joint slips.

use serde::Serialize;

use super::balance::Balance;
use super::capacity::{assembly_limit, friction_of, preload};
use super::loads::{load, setup_of, wheel_load_known};
use crate::car::{Bolt, Car, Hand, Link, LoadCase, Side, Stance, Surface};
use crate::plan::missing::once;
use crate::plan::sweep::Sweep;
use crate::plan::{Fitting, Missing, NoPosition, Plan};

/// A bolt is torqued no further than to this part of its yield stress (VDI 2230).
const TORQUED: f64 = 0.9;

/// The pivots' bolts of both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Bolts {
    /// Left, then right.
    pub sides: [BoltSide; 2],
    /// How many cams there are to lock out.
    pub kits: Kits,
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// Lock-out kits: a bolt with its two plates each.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Kits {
    /// The cams in the profile, both sides: one kit each.
    pub cams: usize,
    /// Whether the rear wheels are steered, where the profile says so.
    pub rear_steering: Option<bool>,
    /// What is usual: four without rear steering, two with it.
    pub usual: Option<usize>,
}

/// The bolts of one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct BoltSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// Whether the profile says what the wheel carries; without it the loads are for 1000 N and no margin is given.
    pub wheel_load_known: bool,
    /// The bolts that the profile describes.
    pub bolts: Vec<PivotBolt>,
}

/// One bolt.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct PivotBolt {
    /// The link whose pivot it is.
    pub link: String,
    /// Its thread.
    pub thread: String,
    /// Its property class.
    pub class: String,
    /// The torque of its nut, N m.
    pub torque_nm: Option<f64>,
    /// The load that the joint has to hold by friction: along the slot of a cam, else across the bolt; the most over the travel, N.
    pub cases: Vec<SlipLoad>,
    /// The hardest of them in ordinary driving, N.
    pub hardest_n: f64,
    /// What the torque makes, for each way the threads may be; empty without a torque.
    pub tightened: Vec<Tightened>,
    /// What an arm turns a cam with, once it slips in the hardest case of ordinary driving, N m.
    pub turns_cam_nm: Option<f64>,
    /// Load over what the clamped faces hold: the margin to slip in the hardest case of ordinary driving, least and most.
    pub margin: Option<[f64; 2]>,
}

/// What a joint has to hold in a case.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SlipLoad {
    /// The case.
    pub case: LoadCase,
    /// The load, N.
    pub load_n: f64,
}

/// What a torque makes of a bolt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
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
    /// What the clamped faces hold by friction, least and most, N.
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
) -> Result<Bolts, NoPosition> {
    let [left, right] = [0, 1].map(|i| bolt_side(car, i, stance, plan, fitting));
    let cams = car.sides.iter().flat_map(|side| &side.links).filter(|link| link.cam.is_some()).count();
    let usual = car.rear_steering.map(|steered| if steered { 2 } else { 4 });
    Ok(Bolts {
        sides: [left?, right?],
        kits: Kits { cams, rear_steering: car.rear_steering, usual },
        missing: once(car.sides.each_ref().map(|side| not_given(car, side))),
    })
}

fn bolt_side(
    car: &Car,
    index: usize,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
) -> Result<BoltSide, NoPosition> {
    let side = &car.sides[index];
    let drop = stance.drop(side.hand);
    let setup = setup_of(side, plan, fitting);
    let sweep = Sweep::new(side, setup, drop)?;
    let ground = stance.ground(side.hand);
    let held = LoadCase::ALL.map(|case| {
        let factors = car.loads.of(case);
        let balance =
            |position| Balance::of(side, &setup, position, &load(side, &ground, position, case, factors));
        let balances: Vec<Balance> =
            sweep.samples().iter().filter_map(|(_, position)| balance(position)).collect();
        (case, balances)
    });
    let known = wheel_load_known(side);
    let bolt = |(i, link): (usize, &Link)| Some(pivot(link, i, link.bolt.as_ref()?, &held, known));
    Ok(BoltSide {
        side: side.hand,
        drop_mm: drop,
        wheel_load_known: known,
        bolts: side.links.iter().enumerate().filter_map(bolt).collect(),
    })
}

fn pivot(
    link: &Link,
    index: usize,
    bolt: &Bolt,
    held: &[(LoadCase, Vec<Balance>); 6],
    known: bool,
) -> PivotBolt {
    let asks = |balance: &Balance| {
        let force = &balance.on_bolt[index];
        link.cam.map_or(force.norm(), |cam| force.dot(&cam.along).abs())
    };
    let cases: Vec<SlipLoad> = held
        .iter()
        .filter(|(_, balances)| !balances.is_empty())
        .map(|(case, balances)| SlipLoad {
            case: *case,
            load_n: balances.iter().map(asks).fold(0.0, f64::max),
        })
        .collect();
    let hardest =
        cases.iter().filter(|slip| slip.case.is_ordinary()).map(|slip| slip.load_n).fold(0.0, f64::max);
    let tightened = bolt.torque.map_or(Vec::new(), |torque| states(bolt, torque));
    let margin = tightened
        .iter()
        .find(|state| state.is_so && known && hardest > 0.0)
        .map(|state| state.holds_n.map(|holds| holds / hardest));
    PivotBolt {
        link: link.name.clone(),
        thread: bolt.thread.size.clone(),
        class: bolt.class.name().to_owned(),
        torque_nm: bolt.torque,
        cases,
        hardest_n: hardest,
        tightened,
        // The arm's push along the slot at the lever that the cam has where it stands.
        turns_cam_nm: link.cam.map(|cam| hardest * cam.eccentricity * cam.setting.cos() / 1000.0),
        margin,
    }
}

/// What a torque makes of a bolt on dry, oiled and greased threads, and with the profile's own nut factor.
fn states(bolt: &Bolt, torque: f64) -> Vec<Tightened> {
    let Bolt { thread, class, friction, faces, .. } = bolt;
    let yields = class.strengths(thread.diameter).yields;
    let dry = Surface::Dry.nut_factor();
    let state = |surface: Option<Surface>, nut_factor: [f64; 2]| {
        let [low, high] = nut_factor;
        let preload_n = [high, low].map(|factor| preload(torque, factor, thread.diameter));
        let stands_n = assembly_limit(thread, yields, TORQUED, friction_of(thread, low));
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
            holds_n: [0, 1].map(|i| f64::from(*faces) * friction[i] * preload_n[i]),
            like_dry_nm: torque * low / dry[0],
        }
    };
    let usual = Surface::ALL.map(|surface| state(Some(surface), surface.nut_factor()));
    usual.into_iter().chain(bolt.nut_factor.map(|own| state(None, own))).collect()
}

fn not_given(car: &Car, side: &Side) -> Vec<Missing> {
    let mut missing = Vec::new();
    let names = |lacks: fn(&Link) -> bool| -> Vec<&str> {
        side.links.iter().filter(|link| lacks(link)).map(|link| link.name.as_str()).collect()
    };
    let mut add = |names: Vec<&str>, key: &str, measure: &str| {
        if !names.is_empty() {
            missing.push(Missing::new(key, format!("{measure} (of {})", names.join(", "))));
        }
    };
    add(
        names(|link| link.bolt.is_none() && link.cam.is_some()),
        "[link.bolt] with thread, class and torque",
        "the bolt at the subframe: its thread, the class on its head, the manual's torque in N m",
    );
    add(
        names(|link| link.bolt.as_ref().is_some_and(|bolt| bolt.torque.is_none())),
        "torque = ... in [link.bolt]",
        "the manual's torque in N m",
    );
    if !wheel_load_known(side) {
        missing.push(Missing::new(
            "[spring] with upper, lower and corner_mass",
            "where the spring pushes and what a scale under the wheel reads: without them there is no margin to slip",
        ));
    }
    if car.rear_steering.is_none() {
        missing.push(Missing::new(
            "rear_steering = true or false in [car]",
            "whether the rear wheels are steered: the usual number of lock-out kits depends on it",
        ));
    }
    missing
}
