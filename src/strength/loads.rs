//! What each link carries when the road pushes the wheel, over the whole travel.

use nalgebra::Vector3;
use serde::Serialize;

use super::balance::{Balance, Wrench};
use super::chain::Chain;
use crate::car::{Car, GRAVITY, Hand, Link, LoadCase, Setup, Side, Stance};
use crate::geometry::{Ground, Position};
use crate::plan::missing::{self, once};
use crate::plan::sweep::{self, Sweep};
use crate::plan::{Fitting, Missing, NoPosition, Plan, Travel, forward};

/// What is looked at where the mass on the wheel is not known: loads for so much on the wheel, N.
const UNIT: f64 = 1000.0;

/// What the links of both sides carry.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Loads {
    /// The load cases: up, inward and rearward, in parts of what the wheel carries.
    pub cases: Vec<CaseFactors>,
    /// Left, then right.
    pub sides: [LoadSide; 2],
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// A load case in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CaseFactors {
    /// Which.
    pub case: LoadCase,
    /// Up, in parts of what the wheel carries standing.
    pub up: f64,
    /// Inward.
    pub inward: f64,
    /// Rearward.
    pub rearward: f64,
}

/// What the links of one side carry.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct LoadSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What the wheel carries standing, N; 1000 where the profile does not say.
    pub wheel_load_n: f64,
    /// Whether the profile says.
    pub wheel_load_known: bool,
    /// What holds the wheel up.
    pub holder: Holder,
    /// The travel that was looked at.
    pub travel: Travel,
    /// What is carried in each case.
    pub cases: Vec<CaseLoads>,
    /// What gives first along each link; empty where the profile does not say what the wheel carries.
    pub chains: Vec<Chain>,
}

/// What holds the wheel up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Holder {
    /// The spring, in its line.
    Spring,
    /// The body, upright at the wheel centre: the profile has no spring.
    WheelCentre,
}

/// What the links carry in one case.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CaseLoads {
    /// Which.
    pub case: LoadCase,
    /// The force in the spring's line at the drop, N, with whatever shares it: damper and bump stop.
    pub spring_n: Option<f64>,
    /// The five links.
    pub links: Vec<LinkLoad>,
    /// The most that was left over when all forces were added up, N: the check, nearly 0.
    pub residual_n: f64,
}

/// What a link carries in one case, N; positive: it is pulled, negative: pushed together.
///
/// Where the spring sits on it, the figures are of the end that carries more.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct LinkLoad {
    /// Its name.
    pub link: String,
    /// At the drop.
    pub at_drop_n: f64,
    /// The most over the travel (where it is always pushed, the least push).
    pub most_n: f64,
    /// The height of the wheel above the reference at which that is, mm.
    pub most_at_mm: f64,
    /// The least over the travel: the hardest push.
    pub least_n: f64,
    /// The height at which that is, mm.
    pub least_at_mm: f64,
    /// The most on its subframe bolt, along and across the link together, N.
    pub bolt_n: f64,
    /// The most that a spring on it bends it, N mm.
    pub bent_n_mm: f64,
}

impl Loads {
    /// Whether everything whose strength is known stands ordinary driving, with the adjustable arm where there is one.
    pub fn succeeds(&self) -> bool {
        self.sides.iter().all(|side| side.chains.iter().all(Chain::stands))
    }
}

/// Asks for the loads.
///
/// `plan` is the plan for this stance, if there is one, and `fitting` the fitting that it was made with.
///
/// # Examples
///
/// ```
/// # use rodset::plan::Fitting;
/// # use rodset::strength::loads;
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// let loads = loads(&car, &stance, None, &Fitting::default())?;
/// println!("{:#?}", loads.sides[0].chains);
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where a side has no position at the drop.
pub fn loads(
    car: &Car,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
) -> Result<Loads, NoPosition> {
    let [left, right] = [0, 1].map(|i| load_side(car, i, stance, plan, fitting));
    let cases = LoadCase::ALL
        .map(|case| {
            let [up, inward, rearward] = car.loads.of(case);
            CaseFactors { case, up, inward, rearward }
        })
        .to_vec();
    Ok(Loads { cases, sides: [left?, right?], missing: once(car.sides.each_ref().map(not_given)) })
}

/// The load on the knuckle of a wheel in a position.
///
/// The road's push goes on where the tyre stands, apart from a fore-and-aft push on a wheel that is free to turn, which its
/// bearing passes on at the wheel centre; the wheel's own weight hangs there too.
pub(super) fn load(
    side: &Side,
    ground: &Ground,
    position: &Position,
    case: LoadCase,
    factors: [f64; 3],
) -> Wrench {
    let centre = position.pose.centre;
    let contact = side.wheel.contact(&position.pose, ground, side.wheel.loaded_radius());
    let up = ground.up();
    let spindle = position.pose.rotation * side.wheel.spindle;
    let outward = (spindle - up * up.dot(&spindle)).normalize();
    let rearward = up.cross(&outward);
    let weight = wheel_load(side).unwrap_or(UNIT);
    let [lift, inward, back] = factors.map(|factor| factor * weight);
    let road = Wrench::at(up * lift - outward * inward, &contact, &centre);
    let along = if case.is_braked() { contact } else { centre };
    let own = side.spring.and_then(|spring| spring.corner_mass.and(spring.unsprung_mass)).unwrap_or(0.0);
    let hung = Wrench { force: up * (-own * GRAVITY), moment: Vector3::zeros() };
    road.and(&Wrench::at(rearward * back, &along, &centre)).and(&hung)
}

/// What the wheel carries standing, N.
fn wheel_load(side: &Side) -> Option<f64> {
    side.spring?.corner_mass.map(|mass| mass * GRAVITY)
}

/// Whether the profile says what the wheel carries, and what holds it up.
pub(super) fn wheel_load_known(side: &Side) -> bool {
    wheel_load(side).is_some()
}

/// A side with its links as planned, or as found.
pub(super) fn setup_of(side: &Side, plan: Option<&Plan>, fitting: &Fitting) -> Setup {
    match plan {
        Some(plan) => plan.sides[side.hand.index()].setup(side, fitting),
        None => Setup::as_found(side),
    }
}

fn load_side(
    car: &Car,
    index: usize,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
) -> Result<LoadSide, NoPosition> {
    let side = &car.sides[index];
    let drop = stance.drop(side.hand);
    let setup = setup_of(side, plan, fitting);
    let sweep = Sweep::new(side, setup, drop)?;
    let here = forward(side, &setup, drop)?;
    let ground = stance.ground(side.hand);
    let held = LoadCase::ALL.map(|case| {
        let factors = car.loads.of(case);
        let balance = |position: &Position| {
            Balance::of(side, &setup, position, &load(side, &ground, position, case, factors))
        };
        let over: Vec<(f64, Balance)> = sweep
            .samples()
            .iter()
            .filter_map(|(height, position)| Some((*height, balance(position)?)))
            .collect();
        (case, balance(&here), over)
    });
    let cases = held
        .iter()
        .filter_map(|(case, here, over)| here.as_ref().map(|here| case_loads(side, *case, here, drop, over)));
    let over = |(case, _, over): &(LoadCase, Option<Balance>, Vec<(f64, Balance)>)| {
        (*case, over.iter().map(|(_, balance)| *balance).collect::<Vec<Balance>>())
    };
    let balances = held.each_ref().map(over);
    let links = side.links.iter().enumerate().filter(|_| wheel_load_known(side));
    let chains = links.flat_map(|(i, link)| Chain::of(link, i, setup.lengths[i], &balances)).collect();
    Ok(LoadSide {
        side: side.hand,
        drop_mm: drop,
        wheel_load_n: wheel_load(side).unwrap_or(UNIT),
        wheel_load_known: wheel_load_known(side),
        holder: if side.spring.is_some() { Holder::Spring } else { Holder::WheelCentre },
        travel: sweep.travel,
        cases: cases.collect(),
        chains,
    })
}

fn case_loads(side: &Side, case: LoadCase, here: &Balance, drop: f64, held: &[(f64, Balance)]) -> CaseLoads {
    let all = || std::iter::once((drop, here)).chain(held.iter().map(|(height, balance)| (*height, balance)));
    let link = |i: usize| {
        let mut load = LinkLoad {
            link: side.links[i].name.clone(),
            at_drop_n: here.harder(i),
            most_n: f64::NEG_INFINITY,
            most_at_mm: drop,
            least_n: f64::INFINITY,
            least_at_mm: drop,
            bolt_n: 0.0,
            bent_n_mm: 0.0,
        };
        for (height, balance) in all() {
            for force in [balance.knuckle_n[i], balance.subframe_n[i]] {
                if force > load.most_n {
                    (load.most_n, load.most_at_mm) = (force, height);
                }
                if force < load.least_n {
                    (load.least_n, load.least_at_mm) = (force, height);
                }
            }
            load.bolt_n = load.bolt_n.max(balance.on_bolt[i].norm());
            load.bent_n_mm = load.bent_n_mm.max(balance.bent[i]);
        }
        load
    };
    CaseLoads {
        case,
        spring_n: here.spring_n,
        links: (0..5).map(link).collect(),
        residual_n: all().map(|(_, balance)| balance.residual_n).fold(0.0, f64::max),
    }
}

fn not_given(side: &Side) -> Vec<Missing> {
    let mut missing: Vec<Missing> = missing::spec(side).into_iter().chain(sweep::missing(side)).collect();
    let mut add = |known: bool, key: &str, measure: &str| {
        if !known {
            missing.push(Missing::new(key, measure));
        }
    };
    match &side.spring {
        None => add(
            false,
            "[spring] with upper, lower and corner_mass",
            "where the spring pushes and what a scale under the wheel reads; until it is there, the wheel is taken as held upright at \
             its centre, and the figures are for 1000 N on the wheel",
        ),
        Some(spring) => {
            add(
                spring.corner_mass.is_some(),
                "corner_mass = ... in [spring]",
                "what a scale under this wheel reads, kg; until it is there, the figures are for 1000 N on the wheel",
            );
            add(
                spring.corner_mass.is_none() || spring.unsprung_mass.is_some(),
                "unsprung_mass = ... in [spring]",
                "wheel, brake, knuckle and half of the links, kg; until it is there, the links are taken to carry that too",
            );
        }
    }
    let names = |lacks: fn(&Link) -> bool| -> Vec<&str> {
        side.links.iter().filter(|link| lacks(link)).map(|link| link.name.as_str()).collect()
    };
    for (lacking, key, measure) in [
        (
            names(|link| link.section.is_none()),
            "[link.section] with outer, inner and yield",
            "the stock arm's bar: its diameters, and the yield stress of its steel in N/mm2",
        ),
        (
            names(|link| link.arm.as_ref().is_some_and(|arm| arm.section.is_none())),
            "[link.arm.section] with outer, inner and yield",
            "the same of the adjustable arm, from its maker",
        ),
        (
            names(|link| link.arm.as_ref().is_some_and(|arm| arm.thread_class.is_none())),
            "thread_class = \"8.8\" in [link.arm]",
            "the property class of its threaded shanks, from its maker",
        ),
        (
            names(|link| link.arm.as_ref().is_some_and(|arm| arm.joint_rating.is_none())),
            "joint_rating = \"24 kN\" in [link.arm]",
            "what its rod ends may carry, from their maker's table",
        ),
        (
            names(|link| link.bolt.is_none()),
            "[link.bolt] with thread and class",
            "the bolt at the subframe: its thread and the class on its head",
        ),
        (
            names(|link| link.bracket_rating.is_none()),
            "bracket_rating = \"30 kN\" in [link]",
            "what the subframe's bracket may carry, if anybody vouches for a figure; until then it is not known whether the arm gives \
             before it",
        ),
    ] {
        if !lacking.is_empty() {
            missing.push(Missing::new(key, format!("{measure} (of {})", lacking.join(", "))));
        }
    }
    missing
}
