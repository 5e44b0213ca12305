//! What gives first along arm, joint, bolt and bracket.
//!
//! The same force goes through all of them, so the part that is used up most is the one that gives. What the profile does not
//! rate is not ranked, and said to be unknown.

use serde::Serialize;

use super::balance::Balance;
use super::capacity::{arm, euler};
use crate::car::{Arm, Link, LoadCase, Section};

/// A part of the chain from the knuckle to the subframe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum ChainPart {
    /// The arm's bar.
    Arm,
    /// The threaded shank of an adjustable arm.
    Thread,
    /// The joints at its ends.
    Joint,
    /// The bolt at the subframe, sheared.
    Bolt,
    /// The bracket that holds it.
    Bracket,
}

/// A link's parts, of the stock arm or of the adjustable one.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Chain {
    /// The link.
    pub link: String,
    /// Whether this is the adjustable arm rather than the stock one.
    pub adjustable: bool,
    /// The parts whose strength is known, the one that gives first in a kerb strike first.
    pub parts: Vec<PartStrength>,
    /// The parts whose strength the profile does not give.
    pub unknown: Vec<ChainPart>,
    /// Whether the bracket gives before arm, thread and joint do in a kerb strike; `None` where the profile does not say enough.
    pub outlasts_bracket: Option<bool>,
}

/// How strong a part is, and how much of that is asked of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
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
    /// The bending at which the arm's edge yields, N mm, and its Euler load, N.
    bends: Option<[f64; 2]>,
}

impl Rated {
    fn force(part: ChainPart, rating: f64) -> Self {
        Self { part, stands: [rating; 2], bends: None }
    }

    fn arm(section: &Section, length: f64, off: f64) -> Self {
        let moment = section.yield_stress * section.inertia / section.edge;
        Self {
            part: ChainPart::Arm,
            stands: arm(section, length, off),
            bends: Some([moment, euler(section, length)]),
        }
    }

    /// The part of its strength that is used, of a link in a balance.
    fn used(&self, balance: &Balance, link: usize) -> f64 {
        let [pull, push] = self.stands;
        let along = balance.harder(link);
        let straight = if along >= 0.0 { along / pull } else { -along / push };
        match self.part {
            ChainPart::Bolt | ChainPart::Bracket => balance.on_bolt[link].norm() / pull,
            ChainPart::Thread | ChainPart::Joint => straight,
            ChainPart::Arm => {
                let Some([moment, euler]) = self.bends else { return straight };
                // A push makes the bow of a spring on the arm larger, by 1 / (1 - P / Euler).
                let more = if along < 0.0 && -along < euler { 1.0 / (1.0 + along / euler) } else { 1.0 };
                straight + balance.bent[link] / moment * more
            }
        }
    }
}

impl Chain {
    /// The chains of a link: with its stock arm, and with the adjustable one where it has one.
    ///
    /// `length` is the length at which the adjustable one is set, mm; `held` the balances over the travel by case.
    pub(super) fn of(link: &Link, index: usize, length: f64, held: &[(LoadCase, Vec<Balance>)]) -> Vec<Self> {
        let stock = Self::with(link, index, None, link.stock_length(), held);
        let new = link.arm.as_ref().map(|arm| Self::with(link, index, Some(arm), length, held));
        [Some(stock), new].into_iter().flatten().collect()
    }

    fn with(
        link: &Link,
        index: usize,
        own: Option<&Arm>,
        length: f64,
        held: &[(LoadCase, Vec<Balance>)],
    ) -> Self {
        let section = own.map_or(link.section, |arm| arm.section);
        let joint = own.map_or(link.joint_rating, |arm| arm.joint_rating);
        let off = link
            .bar(own.is_some())
            .and_then(|bar| bar.bend.as_ref())
            .map_or(0.0, |bend| bend.corners.iter().map(|corner| corner.up.abs()).fold(0.0, f64::max));
        let thread = own.map(|arm| {
            let class = arm.thread_class.as_ref()?;
            let proof =
                |thread: &crate::car::Thread| class.strengths(thread.diameter).proof * thread.stress_area;
            arm.threads.iter().map(proof).min_by(f64::total_cmp)
        });
        let force =
            |part: ChainPart, rating: Option<f64>| (part, rating.map(|rating| Rated::force(part, rating)));
        let mut all = vec![(ChainPart::Arm, section.map(|section| Rated::arm(&section, length, off)))];
        all.extend(thread.map(|rating| force(ChainPart::Thread, rating)));
        all.push(force(ChainPart::Joint, joint));
        all.push(force(ChainPart::Bolt, link.bolt.as_ref().map(crate::car::Bolt::shear)));
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
        Self { link: link.name.clone(), adjustable: own.is_some(), parts, unknown, outlasts_bracket }
    }

    /// The part that gives first in a kerb strike, of those that are known.
    pub fn first(&self) -> Option<&PartStrength> {
        self.parts.first()
    }

    /// Whether everything that is known of it stands ordinary driving.
    pub fn stands(&self) -> bool {
        self.parts.iter().all(|part| part.ordinary_used <= 1.0)
    }
}

fn strength(rated: &Rated, link: usize, held: &[(LoadCase, Vec<Balance>)]) -> PartStrength {
    let mut strength = PartStrength {
        part: rated.part,
        pull_n: rated.stands[0],
        push_n: rated.stands[1],
        kerb_used: 0.0,
        hardest_used: 0.0,
        hardest: LoadCase::Standing,
        ordinary_used: 0.0,
    };
    for (case, balances) in held {
        let used = balances.iter().map(|balance| rated.used(balance, link)).fold(0.0, f64::max);
        if *case == LoadCase::Kerb {
            strength.kerb_used = used;
        }
        if case.is_ordinary() {
            strength.ordinary_used = strength.ordinary_used.max(used);
        }
        if used > strength.hardest_used {
            (strength.hardest_used, strength.hardest) = (used, *case);
        }
    }
    strength
}

/// Whether the bracket gives before arm, thread and joint; parts are in the order in which they give.
fn outlasts(parts: &[PartStrength], unknown: &[ChainPart]) -> Option<bool> {
    let of_arm = |part: ChainPart| matches!(part, ChainPart::Arm | ChainPart::Thread | ChainPart::Joint);
    let bracket = parts.iter().position(|strength| strength.part == ChainPart::Bracket)?;
    let weaker = parts[..bracket].iter().any(|strength| of_arm(strength.part));
    if weaker {
        Some(false)
    } else if unknown.iter().copied().any(of_arm) {
        None
    } else {
        Some(true)
    }
}
