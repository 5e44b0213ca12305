//! Members that are no plain rods, and the places that they fill.

use serde::Deserialize;
use toml::Spanned;

use super::key::{Declared, Key, Kind, deviations, direction, key, keys, length, point, table};
use super::link::rating;
use super::{Bolt, Cam, Link, Profile, Right, Sets};
use crate::car::Hold;
use crate::profile::load::Force;
use crate::profile::{CamPosition, Quantity};

keys! {
    pub(super) fields;

    /// One of the two inner pivots of a wishbone.
    Pivot {
        /// What its cam is used to set: "camber", "toe" or "pitch"; leave it out if nothing.
        sets: Sets = key(Kind::Choice(&["camber", "toe", "pitch"])).like("\"camber\"");
        /// Middle of the bolt on the subframe: x forward, y left, z up, mm.
        subframe: Vec<Quantity> = point("[115.0, 345.0, 200.0]").measured();
        /// Standard deviations of its three coordinates, mm.
        subframe_sigma: Vec<Quantity> = deviations();
        /// The stock eccentric bolt here.
        cam: Cam = table(&Cam::TABLE);
        /// The way the bolt runs.
        subframe_axis: Vec<Quantity> = direction("a bolt", "[1.0, 0.0, 0.0]");
        /// What the subframe's bracket may carry, N, if anybody vouches for it.
        bracket_rating: Force = rating("a bracket's rating", "\"24 kN\"");
        /// The bolt.
        bolt: Bolt = table(&Bolt::TABLE);
    }

    /// The eccentric or slotted bolt between a strut and the knuckle, which leans the knuckle against the strut.
    Lean {
        /// What it is used to set; left out: camber.
        sets: Sets = key(Kind::Choice(&["camber", "toe", "pitch"])).like("\"camber\"");
        /// Half of how far the knuckle moves at this bolt from end to end, mm.
        eccentricity: Quantity = length("the eccentricity", "3.0")
            .within(0.0, 50.0)
            .refused("no cam moves its bolt by {} either way")
            .needed()
            .hint("it is half of the whole movement in the slot");
        /// From the strut's bolt that stays, `knuckle`, to this one, along the strut, mm; minus where this one is the lower.
        above: Quantity = length("the distance of a strut's two bolts", "60.0")
            .within(-400.0, 400.0)
            .needed()
            .refused("no strut has its two bolts {} apart");
        /// Marks between the middle and full throw.
        marks: i64 = key(Kind::Whole).called("the number of marks").like("4").within(1.0, 90.0);
        /// How it was found, from its middle: outboard moves the knuckle outward at this bolt.
        setting: CamPosition = key(Kind::CamPosition).like("\"1 mark outboard\"").also("\"1.5 mm inboard\"");
    }
}

/// What a member of an axle is; behind the four that a file names, the places that they fill beside their first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(in crate::profile) enum Member {
    /// A rod with a pivot at each end.
    #[default]
    Rod,
    /// A wide arm with two inner pivots and one joint on the knuckle; of its places, the front leg.
    Wishbone,
    /// A trailing arm to which the knuckle is bolted; of its places, the bush along the car.
    Blade,
    /// A strut to which the knuckle is bolted; of its places, the top along the car.
    Strut,
    /// The rear leg of a wishbone.
    #[serde(skip)]
    RearLeg,
    /// The bush of a blade, up and down.
    #[serde(skip)]
    BushUp,
    /// The top of a strut across the car, and the bolt that leans the knuckle.
    #[serde(skip)]
    StrutBolt,
}

impl Member {
    /// What a file calls those that it names.
    pub(super) const NAMES: [&str; 4] = ["rod", "wishbone", "blade", "strut"];

    /// How it is called in a sentence.
    pub(in crate::profile) fn noun(self) -> &'static str {
        match self {
            Self::Rod => "rod",
            Self::Wishbone | Self::RearLeg => "wishbone",
            Self::Blade | Self::BushUp => "blade",
            Self::Strut | Self::StrutBolt => "strut",
        }
    }

    /// What its places are called, behind the member's own name.
    fn places(self) -> [&'static str; 2] {
        let [wishbone, blade, strut] = Hold::PLACES;
        match self {
            Self::Wishbone | Self::RearLeg => wishbone,
            Self::Blade | Self::BushUp => blade,
            Self::Strut | Self::StrutBolt => strut,
            Self::Rod => ["", ""],
        }
    }

    /// What the first place of a member of a name is called.
    pub(in crate::profile) fn first_place(self, name: &str) -> String {
        format!("{name} {}", self.places()[0])
    }

    /// The key that belongs to another sort of member, where one stands, and what is to be done about it.
    pub(in crate::profile) fn refuses(self, key: &Key) -> Option<&'static str> {
        let of = |keys: &[&str]| keys.contains(&key.name);
        let of_rods = of(&["arm", "measured_length", "measured_length_sigma", "bend", "bend_towards", "on"]);
        match self {
            Self::Rod if of(&["front", "rear"]) => Some("two inner pivots make a wishbone: add kind = \"wishbone\""),
            Self::Rod if of(&["lean"]) => Some("only a strut leans: add kind = \"strut\""),
            Self::Wishbone if of_rods || of(&["subframe", "subframe_sigma", "cam", "sets", "lean", "section"]) => {
                Some("a wishbone is one part: its pivots, cams and what they set stand in [link.front] and [link.rear]")
            }
            Self::Blade if of(&["knuckle", "knuckle_sigma"]) => {
                Some("a blade is bolted to the knuckle: the middle of its front bush, `subframe`, is all that counts")
            }
            Self::Blade
                if of_rods || of(&["cam", "sets", "lean", "front", "rear", "knuckle_axis", "section", "radius"]) =>
            {
                Some("a blade has neither length nor thread, and no cam of its own: what is set are the rods beside it")
            }
            Self::Strut if of_rods || of(&["front", "rear", "section", "radius"]) => {
                Some("a strut has neither an arm's length nor its thread: it is set by [link.cam], its top mount, or [link.lean], its bolt")
            }
            _ => None,
        }
    }
}

impl Profile {
    /// The same with a link for each of the five places of a side, in the place of the members that fill them.
    pub(in crate::profile) fn spread(mut self) -> Self {
        let kinds: Vec<(String, Member)> = Self::link
            .all(&self)
            .iter()
            .filter_map(|link| {
                let name = Link::name.of(link.get_ref())?.get_ref().trim().to_owned();
                Some((name, link.get_ref().member()))
            })
            .collect();
        if kinds.iter().all(|(_, kind)| *kind == Member::Rod) {
            return self;
        }
        if let Some(links) = &mut self.link {
            *links.get_mut() = std::mem::take(links.get_mut()).into_iter().flat_map(|link| {
                let kind = link.get_ref().member();
                places(link, kind)
            }).collect();
        }
        let over = self.right.as_mut().and_then(|right| Right::links_mut(right.get_mut()));
        if let Some(links) = over {
            let kind = |link: &Spanned<Link>| {
                let name = Link::name.of(link.get_ref())?.get_ref().trim();
                kinds.iter().find(|(other, _)| other == name).map(|(_, kind)| *kind)
            };
            *links = std::mem::take(links).into_iter().flat_map(|link| {
                let kind = kind(&link).unwrap_or_default();
                places(link, kind)
            }).collect();
        }
        self
    }
}

impl Link {
    /// What it is.
    pub(in crate::profile) fn member(&self) -> Member {
        self.kind.as_ref().map_or_else(Member::default, |kind| *kind.get_ref())
    }
}

/// The places of a member, each as a link.
fn places(link: Spanned<Link>, kind: Member) -> Vec<Spanned<Link>> {
    let span = link.span();
    let mut second = link.get_ref().clone();
    let mut first = link.into_inner();
    let at = |span: &std::ops::Range<usize>, value: Member| Some(Spanned::new(span.clone(), value));
    let [front, rear] = [first.front.take(), first.rear.take()];
    match kind {
        Member::Wishbone => {
            let mut spans = [span.clone(), span.clone()];
            let kinds = [Member::Wishbone, Member::RearLeg];
            for (i, (leg, pivot)) in [(&mut first, front), (&mut second, rear)].into_iter().enumerate() {
                leg.kind = at(&span, kinds[i]);
                if let Some(pivot) = pivot {
                    spans[i] = pivot.span();
                    let pivot = pivot.into_inner();
                    (leg.sets, leg.subframe, leg.subframe_sigma) = (pivot.sets, pivot.subframe, pivot.subframe_sigma);
                    (leg.cam, leg.subframe_axis, leg.bolt) = (pivot.cam, pivot.subframe_axis, pivot.bolt);
                    leg.bracket_rating = pivot.bracket_rating;
                }
            }
            let [a, b] = spans;
            return named(kind, [Spanned::new(a, first), Spanned::new(b, second)]);
        }
        Member::Blade => {
            first.knuckle.clone_from(&first.subframe);
            first.knuckle_sigma.clone_from(&first.subframe_sigma);
            first.kind = at(&span, Member::Blade);
            second.clone_from(&first);
            second.kind = at(&span, Member::BushUp);
        }
        Member::Strut => {
            second.cam = None;
            second.kind = at(&span, Member::StrutBolt);
            let lean = second.lean.as_ref().map(|lean| lean.get_ref());
            second.sets = lean.and_then(|lean| lean.sets.clone());
            first.lean = None;
            first.kind = at(&span, Member::Strut);
        }
        _ => return vec![Spanned::new(span, first)],
    }
    named(kind, [Spanned::new(span.clone(), first), Spanned::new(span, second)])
}

/// The two places of a member by their names.
fn named(kind: Member, places: [Spanned<Link>; 2]) -> Vec<Spanned<Link>> {
    let names = kind.places();
    let one = |(mut link, name): (Spanned<Link>, &str)| {
        if let Some(own) = &mut link.get_mut().name {
            *own.get_mut() = format!("{} {name}", own.get_ref().trim());
        }
        link
    };
    places.into_iter().zip(names).map(one).collect()
}
