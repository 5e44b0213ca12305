//! What each link carries when the road pushes the wheel, over the whole travel.
//!
//! Loads: five pulls and the spring's push balance the road's push, by the transpose of the Jacobian; without a spring the
//! wheel is held upright at its centre. In a blow (kerb, pothole) the spring carries what it carries standing, the damper with
//! its stop the rest in its own line (`damper_n`), where `[damper]` gives it; else all is in the spring's. Fore-and-aft pushes
//! act where the tyre stands only under braking, else at the wheel centre; a kerb's push at `kerb_height` above it. An axle
//! that is not `driven` has no drive case. A spring or damper on a link bends it and puts a part of its push across the
//! knuckle's bolt: joints are rated on the whole force then, threaded shanks on what bends them `shank_out` mm from the joint
//! (not ranked without), and an arm with a rod end at either side rolls over (`rolls_freely`). Factors: `--case` before
//! `[loads]` before what is usual; `said` tells which. `outlasts_bracket` is null where the profile rates too little; of a
//! `swaps[]` it is the new arm's, and `times_stock` compares what is known of both arms (bar, thread, joint). A stock arm is
//! ranked too, but only the fitted one decides the exit status. `not_held_mm`: heights at which the spring's line hardly moves
//! with the wheel, where nothing is said. Exit 3: a rated part would not stand ordinary driving (neither kerb nor pothole);
//! `bolts`: the clamped faces may slip there or the torque as given overstretches its bolt; `lockout`: a cam has no arm that
//! reaches its length.

use serde::Serialize;

use super::balance::Balance;
use super::chain::{Chain, Swap};
use super::load_cases::{Held, HeldCase, wheel_load_known};
use crate::car::{Car, Factors, Hand, LoadCase, LoadFactors, PerSide, Said, Seat, Side, Stance};
use crate::plan::over_travel::{Gaps, once};
use crate::plan::{Fitting, Missing, NoPosition, Plan, Travel};

/// What the links of both sides carry.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Loads {
    /// The load cases: up, inward and rearward, in parts of what the wheel carries.
    pub cases: Vec<CaseFactors>,
    /// Left, then right.
    pub sides: PerSide<LoadSide>,
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// A load case in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CaseFactors {
    /// Which.
    pub case: LoadCase,
    /// In parts of what the wheel carries standing.
    #[serde(flatten)]
    pub factors: Factors,
    /// Who says so.
    pub said: Said,
}

/// What the links of one side carry.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
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
    /// The link or wishbone that the spring sits on, where it does: its bolts carry it across as well, and it is bent.
    pub spring_on: Option<String>,
    /// The travel that was looked at.
    pub travel: Travel,
    /// From which height to which, mm above the reference, the spring's line hardly moves with the wheel, so that no force in it
    /// would hold the wheel; there nothing is said.
    pub not_held_mm: Option<[f64; 2]>,
    /// What is carried in each case; empty where the wheel is not held at the drop.
    pub cases: Vec<CaseLoads>,
    /// The hardest that each link is pulled and pushed in any of them.
    pub hardest: Vec<HardestLoads>,
    /// What gives first along each link; empty where the profile does not say what the wheel carries, or nothing holds it.
    pub chains: Vec<Chain>,
    /// The stock arm against the new one, of each link that has both.
    pub swaps: Vec<Swap>,
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
#[non_exhaustive]
pub struct CaseLoads {
    /// Which.
    pub case: LoadCase,
    /// The force in the spring's line at the drop, N, with what shares it: damper and bump stop, unless those are told apart.
    pub spring_n: Option<f64>,
    /// The force in the damper's line at the drop, N, with its bump stop: of a blow, where its points are known.
    pub damper_n: Option<f64>,
    /// The five links.
    pub links: Vec<LinkLoad>,
    /// The most that was left over when all forces were added up, N: the check, nearly 0.
    pub residual_n: f64,
}

/// What a link carries in one case, N; positive: it is pulled, negative: pushed together.
///
/// Where the spring sits on it, the figures are of the end that carries more.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
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
    /// The same on its knuckle bolt.
    pub knuckle_bolt_n: f64,
    /// The most that a spring on it bends it, N mm.
    pub bent_n_mm: f64,
}

/// The hardest that a link is pulled and pushed, over all cases and the travel.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct HardestLoads {
    /// Its name.
    pub link: String,
    /// The hardest pull; none where it is never pulled.
    pub pulled: Option<HardestLoad>,
    /// The hardest push; none where it is never pushed.
    pub pushed: Option<HardestLoad>,
}

/// The hardest load one way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct HardestLoad {
    /// In which case.
    pub case: LoadCase,
    /// The force along the link, N; positive: it is pulled, negative: pushed together.
    pub force_n: f64,
    /// The height of the wheel above the reference at which that is, mm.
    pub at_mm: f64,
}

impl HardestLoads {
    /// Of every link, out of what it carries in each case.
    fn of(cases: &[CaseLoads]) -> Vec<Self> {
        let links = cases.first().map_or(0, |case| case.links.len());
        let of_link = |i: usize| {
            let by_force = |a: &HardestLoad, b: &HardestLoad| a.force_n.total_cmp(&b.force_n);
            let pulls = cases.iter().map(|&CaseLoads { case, ref links, .. }| {
                let LinkLoad { most_n, most_at_mm, .. } = links[i];
                HardestLoad { case, force_n: most_n, at_mm: most_at_mm }
            });
            let pushes = cases.iter().map(|&CaseLoads { case, ref links, .. }| {
                let LinkLoad { least_n, least_at_mm, .. } = links[i];
                HardestLoad { case, force_n: least_n, at_mm: least_at_mm }
            });
            Self {
                link: cases[0].links[i].link.clone(),
                pulled: pulls.max_by(by_force).filter(|load| load.force_n > 0.0),
                pushed: pushes.min_by(by_force).filter(|load| load.force_n < 0.0),
            }
        };
        (0..links).map(of_link).collect()
    }
}

impl Loads {
    /// Whether everything whose strength is known stands ordinary driving, on the arms that are fitted.
    pub fn succeeds(&self) -> bool {
        let fitted = self.sides.iter().flat_map(|side| &side.chains).filter(|chain| chain.fitted);
        fitted.into_iter().all(Chain::stands)
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
/// let loads = loads(&car, &stance, None, &Fitting::default(), &car.loads)?;
/// println!("{:#?}", loads.sides.left.chains);
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
    factors: &LoadFactors,
) -> Result<Loads, NoPosition> {
    let sides = PerSide::try_of(|hand| {
        let side = &car.sides[hand];
        let held = Held::new(side, stance, plan, fitting, factors)?;
        Ok(load_side(side, &held, |i| plan.is_some() && fitting.fits(&side.links[i])))
    })?;
    let case = |case| CaseFactors { case, factors: factors.of(case), said: factors.said(case) };
    Ok(Loads { cases: factors.cases().map(case).collect(), sides, missing: once(car.sides.each(not_given)) })
}

fn load_side(side: &Side, held: &Held, fitted: impl Fn(usize) -> bool) -> LoadSide {
    let known = wheel_load_known(side) && held.anywhere();
    let of_link = |i: usize| Chain::of(side, i, held, fitted(i));
    let chains: Vec<Chain> = side.rods().filter(|_| known).flat_map(of_link).collect();
    let cases: Vec<CaseLoads> =
        held.cases.iter().filter_map(|case| case_loads(side, case, held.drop)).collect();
    LoadSide {
        side: side.hand,
        drop_mm: held.drop,
        wheel_load_n: side.wheel_load(),
        wheel_load_known: wheel_load_known(side),
        holder: if side.spring.is_some() { Holder::Spring } else { Holder::WheelCentre },
        spring_on: side.spring.and_then(|spring| match spring.line.lower {
            Seat::Knuckle(_) => None,
            Seat::Arm { link, .. } => Some(side.links[link].name.clone()),
            Seat::Plate { legs, .. } => Some(side.links[legs[0]].member().to_owned()),
        }),
        travel: held.travel,
        not_held_mm: held.loose,
        hardest: HardestLoads::of(&cases),
        cases,
        swaps: Swap::all(&chains),
        chains,
    }
}

fn case_loads(side: &Side, held: &HeldCase, drop: f64) -> Option<CaseLoads> {
    let (_, here) = held.over.iter().find(|(height, _)| height.total_cmp(&drop).is_eq())?;
    Some(CaseLoads {
        case: held.case,
        spring_n: here.spring_n,
        damper_n: here.damper_n,
        links: (0..side.links.len()).map(|i| link_load(&side.links[i].name, i, here, drop, held)).collect(),
        residual_n: held.most(|balance| balance.residual_n),
    })
}

fn link_load(name: &str, link: usize, here: &Balance, drop: f64, held: &HeldCase) -> LinkLoad {
    let mut load = LinkLoad {
        link: name.to_owned(),
        at_drop_n: here.harder(link),
        most_n: f64::NEG_INFINITY,
        most_at_mm: drop,
        least_n: f64::INFINITY,
        least_at_mm: drop,
        bolt_n: held.most(|balance| balance.on_bolt[link].norm()),
        knuckle_bolt_n: held.most(|balance| balance.on_knuckle[link].norm()),
        bent_n_mm: held.most(|balance| balance.bent[link]),
    };
    for (height, balance) in &held.over {
        for force in [balance.knuckle_n[link], balance.subframe_n[link]] {
            if force > load.most_n {
                (load.most_n, load.most_at_mm) = (force, *height);
            }
            if force < load.least_n {
                (load.least_n, load.least_at_mm) = (force, *height);
            }
        }
    }
    load
}

fn not_given(side: &Side) -> Vec<Missing> {
    let mut gaps = Gaps::over_travel(side);
    gaps.spring([
        "; until it is there, the wheel is taken as held upright at its centre, and the figures are for 1000 N on the wheel",
        "; until it is there, the figures are for 1000 N on the wheel",
        "; until it is there, the links are taken to carry that too",
    ]);
    let of = |names: &str, key: &'static str, measure: &str| (key, format!("{measure} (of {names})"));
    gaps.of_links(
        |_, link| link.hold.takes_an_arm() && link.section.is_none(),
        |names| {
            let measure = "the stock arm's bar: its diameters, and the yield stress of its steel in N/mm2; a bend that stands in \
                           [[link]] counts";
            of(names, "[link.section] with outer, inner and yield", measure)
        },
    );
    gaps.of_links(
        |_, link| link.arm.as_ref().is_some_and(|arm| arm.section.is_none()),
        |names| {
            of(
                names,
                "[link.arm.section] with outer, inner and yield",
                "the same of the new arm, from its maker",
            )
        },
    );
    gaps.of_links(
        |_, link| link.arm.as_ref().is_some_and(|arm| arm.thread_class.is_none()),
        |names| {
            let measure = "the property class of its threaded shanks, from its maker";
            of(names, "thread_class = \"8.8\" in [link.arm]", measure)
        },
    );
    let carries = |index: usize| side.carries(index);
    gaps.of_links(
        |index, link| carries(index) && link.arm.as_ref().is_some_and(|arm| arm.shank_out.is_none()),
        |names| {
            let measure = "from the middle of a rod end's ball to where its shank comes out of the lock nut: the spring bends it there";
            of(names, "shank_out = ... in [link.arm]", measure)
        },
    );
    gaps.unless(
        side.damper.is_some(),
        "[damper] with upper and lower",
        "the middles of its two mounts: in a blow it pushes in its own line; until then in the spring's",
    );
    gaps.of_links(
        |_, link| link.arm.as_ref().is_some_and(|arm| arm.joint_rating.is_none()),
        |names| {
            let measure = "what its rod ends may carry, from their maker's table";
            of(names, "joint_rating = \"24 kN\" in [link.arm]", measure)
        },
    );
    gaps.of_links(
        |_, link| link.bolt.is_none() || link.knuckle_bolt.is_none(),
        |names| {
            let measure = "the bolts at the two ends: thread and the class on the head; a ball joint has none at the knuckle";
            of(names, "[link.bolt] and [link.knuckle_bolt] with thread and class", measure)
        },
    );
    gaps.of_links(
        |_, link| link.bracket_rating.is_none(),
        |names| {
            let measure = "what the subframe's bracket may carry, if anybody vouches for a figure; until then it is not known whether \
                           the arm gives before it";
            of(names, "bracket_rating = \"30 kN\" in [link]", measure)
        },
    );
    gaps.list()
}
