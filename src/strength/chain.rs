//! What gives first along arm, joint, bolt and bracket.
//!
//! The same force goes through all of them, so the part that is used up most is the one that gives. What the profile does not
//! rate is not ranked, and said to be unknown.

use serde::Serialize;

use super::balance::Balance;
use super::capacity::{arm, euler, shank_bending};
use super::load_cases::Held;
use crate::car::{Arm, Bolt, Joint, Link, LoadCase, Section, Side, Thread};

/// A part of the chain from the knuckle to the subframe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ChainPart {
    /// The arm's bar.
    Arm,
    /// The threaded shank of an adjustable arm.
    Thread,
    /// The joints at its ends.
    Joint,
    /// The bolt at the knuckle, sheared.
    KnuckleBolt,
    /// The bolt at the subframe, sheared.
    Bolt,
    /// The bracket that holds it.
    Bracket,
}

impl ChainPart {
    /// Whether it comes and goes with the arm; bolts and bracket stay.
    fn is_of_arm(self) -> bool {
        matches!(self, Self::Arm | Self::Thread | Self::Joint)
    }
}

/// A link's parts, of the stock arm or of the adjustable one.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[expect(clippy::struct_excessive_bools, reason = "facts that stand beside each other in the answer")]
pub struct Chain {
    /// The link.
    pub link: String,
    /// Whether this is the adjustable arm rather than the stock one.
    pub adjustable: bool,
    /// Whether this arm is on the car as it is looked at.
    pub fitted: bool,
    /// Whether it carries spring or damper and turns in rod ends at both ends, so that nothing keeps it from rolling over.
    pub rolls_freely: bool,
    /// How far the arm's bar is taken to stand off the line between its pivots, mm.
    pub off_mm: f64,
    /// Whether the stock arm's bend is taken for this one too, because the profile does not say how it is shaped.
    pub bent_as_stock: bool,
    /// The parts whose strength is known, the one that gives first in a kerb strike first.
    pub parts: Vec<PartStrength>,
    /// The parts whose strength the profile does not give.
    pub unknown: Vec<ChainPart>,
    /// Whether the bracket gives before arm, thread and joint do in a kerb strike; `None` where the profile does not say enough.
    pub outlasts_bracket: Option<bool>,
}

/// A stock arm against the new one in a kerb strike.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Swap {
    /// The link.
    pub link: String,
    /// What gives first of what is known with the stock arm on; `None` where nothing is known or strained.
    pub stock_first: Option<ChainPart>,
    /// What gives first with the new arm on.
    pub new_first: Option<ChainPart>,
    /// How many times as hard a strike the new arm takes than the stock one, by what is known of both: arm, thread and joint.
    pub times_stock: Option<f64>,
    /// Whether the bracket gives before the new arm does; `None` where the profile does not say enough.
    pub outlasts_bracket: Option<bool>,
}

/// How strong a part is, and how much of that is asked of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct PartStrength {
    /// Which.
    pub part: ChainPart,
    /// What it stands pulled, N.
    pub pull_n: f64,
    /// What it stands pushed together, N.
    pub push_n: f64,
    /// How much of that a kerb strike takes, the most over the travel; 1: all of it.
    pub kerb_used: f64,
    /// How much the hardest of all cases takes.
    pub hardest_used: f64,
    /// Which case that is.
    pub hardest: LoadCase,
    /// How much the hardest case of ordinary driving takes: neither kerb nor pothole.
    pub ordinary_used: f64,
}

/// A part with what it stands and the way to see how much of it a balance uses.
struct Rated {
    part: ChainPart,
    stands: [f64; 2],
    bends: Bends,
}

/// What becomes of a part under what stands across its link.
enum Bends {
    /// Nothing of its own.
    Not,
    /// A bar: the bending at which its edge yields, N mm, and its Euler load, N.
    Bar([f64; 2]),
    /// Threaded shanks: the force across each end that bends one to what it stands, N, at the subframe and at the knuckle.
    Shanks([f64; 2]),
}

impl Rated {
    fn force(part: ChainPart, rating: f64) -> Self {
        Self { part, stands: [rating; 2], bends: Bends::Not }
    }

    fn arm(section: &Section, length: f64, off: f64) -> Self {
        let moment = section.yield_stress * section.inertia / section.edge;
        Self {
            part: ChainPart::Arm,
            stands: arm(section, length, off),
            bends: Bends::Bar([moment, euler(section, length)]),
        }
    }

    /// What an arm's threaded shanks carry without lasting stretch, where their class is known; of a link that is bent also how far they
    /// stand out.
    fn thread(arm: &Arm, carries: bool) -> Option<Self> {
        let class = arm.thread_class.as_ref()?;
        let proof = |thread: &Thread| class.strengths(thread.diameter).proof;
        let along = arm.threads.iter().map(|thread| proof(thread) * thread.stress_area);
        let bends = if carries {
            let out = arm.shank_out?;
            let across = |thread: &Thread| shank_bending(thread, proof(thread)) / out;
            Bends::Shanks([arm.threads.first().map(across)?, arm.threads.last().map(across)?])
        } else {
            Bends::Not
        };
        Some(Self { part: ChainPart::Thread, stands: [along.min_by(f64::total_cmp)?; 2], bends })
    }

    /// The part of its strength that is used, of a link in a balance.
    fn used(&self, balance: &Balance, link: usize) -> f64 {
        let [pull, push] = self.stands;
        let along = balance.harder(link);
        let straight = if along >= 0.0 { along / pull } else { -along / push };
        match self.part {
            ChainPart::KnuckleBolt => balance.on_knuckle[link].norm() / pull,
            ChainPart::Bolt | ChainPart::Bracket => balance.on_bolt[link].norm() / pull,
            // A ball carries the whole of what comes at it; along a link without a spring that is the same.
            ChainPart::Joint if balance.bent[link] > 0.0 => {
                balance.on_bolt[link].norm().max(balance.on_knuckle[link].norm()) / pull
            }
            ChainPart::Thread | ChainPart::Joint | ChainPart::Arm => match self.bends {
                Bends::Not => straight,
                Bends::Bar([moment, euler]) => {
                    // A push makes the bow of a spring on the arm larger, by 1 / (1 - P / Euler).
                    let more = if along < 0.0 && -along < euler { 1.0 / (1.0 + along / euler) } else { 1.0 };
                    straight + balance.bent[link] / moment * more
                }
                Bends::Shanks(stands) => {
                    let across = balance.across(link);
                    straight + (across[0] / stands[0]).max(across[1] / stands[1])
                }
            },
        }
    }
}

impl Chain {
    /// The chains of a link: with its stock arm, and with the adjustable one where it has one, at the length at which it is set.
    pub(super) fn of(side: &Side, index: usize, held: &Held, new_is_fitted: bool) -> Vec<Self> {
        let link = &side.links[index];
        let place = (index, side.carries(index));
        let stock = Self::with(link, place, None, held);
        let new = link.arm.as_ref().map(|arm| Self::with(link, place, Some(arm), held));
        let chains = [Some(stock), new].into_iter().flatten();
        chains.map(|chain| Self { fitted: chain.adjustable == new_is_fitted, ..chain }).collect()
    }

    fn with(link: &Link, (index, carries): (usize, bool), own: Option<&Arm>, held: &Held) -> Self {
        let length = if own.is_some() { held.setup.lengths[index] } else { link.stock_length() };
        let off = off(link, own.is_some());
        let section = own.map_or(link.section, |arm| arm.section);
        let joint = own.map_or(link.joint_rating, |arm| arm.joint_rating);
        let force =
            |part: ChainPart, rating: Option<f64>| (part, rating.map(|rating| Rated::force(part, rating)));
        let mut all = vec![(ChainPart::Arm, section.map(|section| Rated::arm(&section, length, off)))];
        all.extend(own.map(|arm| (ChainPart::Thread, Rated::thread(arm, carries))));
        all.push(force(ChainPart::Joint, joint));
        all.push(force(ChainPart::KnuckleBolt, link.knuckle_bolt.as_ref().map(Bolt::shear)));
        all.push(force(ChainPart::Bolt, link.bolt.as_ref().map(Bolt::shear)));
        all.push(force(ChainPart::Bracket, link.bracket_rating));
        let unknown: Vec<ChainPart> =
            all.iter().filter(|(_, rated)| rated.is_none()).map(|(part, _)| *part).collect();
        let mut parts: Vec<PartStrength> = all
            .into_iter()
            .filter_map(|(_, rated)| rated)
            .map(|rated| strength(&rated, index, held))
            .collect();
        parts.sort_by(|a, b| b.kerb_used.total_cmp(&a.kerb_used));
        let outlasts_bracket = outlasts(&parts, &unknown);
        Self {
            link: link.name.clone(),
            adjustable: own.is_some(),
            fitted: false,
            rolls_freely: carries && own.is_some_and(|arm| arm.joints.kinds == [Joint::RodEnd; 2]),
            off_mm: off,
            bent_as_stock: off > 0.0 && own.is_some_and(|arm| arm.bar.is_none()),
            parts,
            unknown,
            outlasts_bracket,
        }
    }

    /// The part that gives first in a kerb strike, of those that are known; `None` where a strike strains none.
    pub fn first(&self) -> Option<&PartStrength> {
        self.parts.first().filter(|part| part.kerb_used > 0.0)
    }

    /// Whether everything that is known of it stands ordinary driving.
    pub(crate) fn stands(&self) -> bool {
        self.parts.iter().all(|part| part.ordinary_used <= 1.0)
    }

    /// How much a kerb strike uses of the arm, of its thread or of its joint, whichever is used most of those that are known.
    fn arm_used(&self) -> Option<f64> {
        self.parts.iter().find(|part| part.part.is_of_arm()).map(|part| part.kerb_used)
    }
}

impl Swap {
    /// Of every link that has both arms.
    pub(super) fn all(chains: &[Chain]) -> Vec<Self> {
        let of = |new: &Chain| {
            let stock = chains.iter().find(|chain| chain.link == new.link && !chain.adjustable)?;
            let first = |chain: &Chain| chain.first().map(|part| part.part);
            let knows_bar = |chain: &&Chain| !chain.unknown.contains(&ChainPart::Arm);
            let used = [stock, new].map(|chain| Some(chain).filter(knows_bar).and_then(Chain::arm_used));
            Some(Self {
                link: new.link.clone(),
                stock_first: first(stock),
                new_first: first(new),
                times_stock: used[0]
                    .zip(used[1])
                    .filter(|(_, new)| *new > 0.0)
                    .map(|(stock, new)| stock / new),
                outlasts_bracket: new.outlasts_bracket,
            })
        };
        chains.iter().filter(|chain| chain.adjustable).filter_map(of).collect()
    }
}

/// How far an arm's bar stands off the line between its pivots, mm.
fn off(link: &Link, fitted: bool) -> f64 {
    let bend = link.bar(fitted).and_then(|bar| bar.bend.as_ref());
    bend.map_or(0.0, |bend| bend.corners.iter().map(|corner| corner.up.abs()).fold(0.0, f64::max))
}

fn strength(rated: &Rated, link: usize, held: &Held) -> PartStrength {
    let mut strength = PartStrength {
        part: rated.part,
        pull_n: rated.stands[0],
        push_n: rated.stands[1],
        kerb_used: 0.0,
        hardest_used: 0.0,
        hardest: LoadCase::Standing,
        ordinary_used: 0.0,
    };
    for held in &held.cases {
        let (case, used) = (held.case, held.most(|balance| rated.used(balance, link)));
        if case == LoadCase::Kerb {
            strength.kerb_used = used;
        }
        if case.is_ordinary() {
            strength.ordinary_used = strength.ordinary_used.max(used);
        }
        if used > strength.hardest_used {
            (strength.hardest_used, strength.hardest) = (used, case);
        }
    }
    strength
}

/// Whether the bracket gives before arm, thread and joint; parts are in the order in which they give.
fn outlasts(parts: &[PartStrength], unknown: &[ChainPart]) -> Option<bool> {
    let bracket = parts.iter().position(|strength| strength.part == ChainPart::Bracket)?;
    if parts[bracket].kerb_used <= 0.0 {
        return None;
    }
    let weaker = parts[..bracket].iter().any(|strength| strength.part.is_of_arm());
    if weaker {
        Some(false)
    } else if unknown.iter().any(|part| part.is_of_arm()) {
        None
    } else {
        Some(true)
    }
}
