//! What a profile does not say, and how to add it.

use serde::Serialize;

use super::sweep::USUAL_TRAVEL;
use crate::car::{Link, PerSide, Side};

/// Something that a question needs and the profile does not give. The rest of the question is answered all the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Missing {
    /// What to write, and where.
    pub key: String,
    /// What it is and how to measure it.
    pub measure: String,
}

impl Missing {
    pub(crate) fn new(key: impl Into<String>, measure: impl Into<String>) -> Self {
        Self { key: key.into(), measure: measure.into() }
    }
}

/// Gathers what the profile of a side does not say, in the order in which it is asked.
pub(crate) struct Gaps<'a> {
    side: &'a Side,
    missing: Vec<Missing>,
}

impl<'a> Gaps<'a> {
    /// Nothing asked yet.
    pub(crate) fn of(side: &'a Side) -> Self {
        Self { side, missing: Vec::new() }
    }

    /// With what every question over the whole travel asks first: a spec, without which nothing is planned and the stock links
    /// are all that can be looked at, and the ends of the travel.
    pub(crate) fn over_travel(side: &'a Side) -> Self {
        let mut gaps = Self::of(side);
        gaps.unless(
            side.spec.is_some(),
            "[spec]",
            "what each wheel should read, from the maker's manual; until it is there, only the stock arms are looked at",
        );
        gaps.missing.extend(of_travel(side));
        gaps
    }

    /// Something that is missing unless it is known.
    pub(crate) fn unless(&mut self, known: bool, key: impl Into<String>, measure: impl Into<String>) {
        if !known {
            self.missing.push(Missing::new(key, measure));
        }
    }

    /// Something that some of the five links lack: `tell` makes the key and the measure from their names.
    pub(crate) fn of_links<K: Into<String>, M: Into<String>>(
        &mut self,
        lacks: impl Fn(usize, &Link) -> bool,
        tell: impl FnOnce(&str) -> (K, M),
    ) {
        // What is no rod has none of what links are asked for.
        let lacking = self.side.rods().map(|i| (i, &self.side.links[i])).filter(|(i, link)| lacks(*i, link));
        let names: Vec<&str> = lacking.map(|(_, link)| link.name.as_str()).collect();
        if !names.is_empty() {
            let (key, measure) = tell(&names.join(", "));
            self.missing.push(Missing::new(key, measure));
        }
    }

    /// The spring with its points, and the masses that make a force of it; each with what is done until it is there.
    pub(crate) fn spring(&mut self, [points, corner, unsprung]: [&str; 3]) {
        let spring = self.side.spring;
        self.unless(
            spring.is_some(),
            "[spring] with upper, lower and corner_mass",
            format!(
                "where the spring pushes: its middle at the top on the body, and at the bottom on the knuckle, as points; where it \
                 sits on a link, on = \"its name\" and along = how far from that link's subframe bolt instead of lower; and what a \
                 scale under the wheel reads, kg{points}"
            ),
        );
        let Some(spring) = spring else { return };
        self.unless(
            spring.corner_mass.is_some(),
            "corner_mass = ... in [spring]",
            format!("what a scale under this wheel reads, kg, loaded as in [ride]{corner}"),
        );
        self.unless(
            spring.corner_mass.is_none() || spring.unsprung_mass.is_some(),
            "unsprung_mass = ... in [spring]",
            format!("wheel, brake, knuckle and half of the links, kg{unsprung}"),
        );
    }

    /// All of it.
    pub(crate) fn list(self) -> Vec<Missing> {
        self.missing
    }
}

/// What the profile does not say of the travel.
fn of_travel(side: &Side) -> Vec<Missing> {
    let of = |known: bool, key: &'static str, how: &str| {
        (!known).then(|| {
            Missing::new(
                key,
                format!("{how}; taken as {USUAL_TRAVEL} mm from there until it stands in the profile"),
            )
        })
    };
    let bump = of(
        side.ride.bump.is_some(),
        "bump = ... in [ride]",
        "how far the wheel can go up from where it was measured, springs out, bump stop fully compressed",
    );
    let droop = of(
        side.ride.droop.is_some(),
        "droop = ... in [ride]",
        "how far the wheel can go down from where it was measured, springs out, damper at its full length",
    );
    [bump, droop].into_iter().flatten().collect()
}

/// What both sides miss, each once.
pub(crate) fn once(sides: PerSide<Vec<Missing>>) -> Vec<Missing> {
    let mut all: Vec<Missing> = Vec::new();
    for missing in sides.into_iter().flatten() {
        if !all.contains(&missing) {
            all.push(missing);
        }
    }
    all
}
