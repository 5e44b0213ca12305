//! What the members of an axle are.

use serde::Deserialize;

use super::by_serde;
use super::key::Key;
use crate::car::{Hold, Measurand};

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

by_serde!(Member);

/// Whether a key of a link belongs to what that is by the value of its `kind`, if that stands there.
pub(crate) fn belongs(kind: Option<&str>, key: &Key) -> bool {
    Member::called(kind).refuses(key).is_none()
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
    pub(in crate::profile) fn places(self) -> [&'static str; 2] {
        self.hold(0).places()
    }

    /// What a file calls so, a rod where it says nothing.
    pub(in crate::profile) fn called(kind: Option<&str>) -> Self {
        match kind.map(|kind| kind.trim().trim_matches(['"', '\''])) {
            Some("wishbone") => Self::Wishbone,
            Some("blade") => Self::Blade,
            Some("strut") => Self::Strut,
            _ => Self::Rod,
        }
    }

    /// The places that a member of a name fills: what each is called, the table in the member's own where its subframe's pivot stands,
    /// and which of its pivots, subframe's first, are no other place's too.
    pub(in crate::profile) fn fills(self, name: &str) -> Vec<(String, Option<&'static str>, [bool; 2])> {
        let of = |i: usize| format!("{name} {}", self.places()[i]);
        let both = |places: [Self; 2], tables: [Option<&'static str>; 2]| {
            (0..2).map(|i| (of(i), tables[i], places[i].owns())).collect()
        };
        match self {
            Self::Wishbone | Self::RearLeg => {
                both([Self::Wishbone, Self::RearLeg], [Some("front"), Some("rear")])
            }
            Self::Blade | Self::BushUp => both([Self::Blade, Self::BushUp], [None; 2]),
            Self::Strut | Self::StrutBolt => both([Self::Strut, Self::StrutBolt], [None; 2]),
            Self::Rod => vec![(name.to_owned(), None, self.owns())],
        }
    }

    /// Which of the two pivots of a place, subframe's first, are no other place's too.
    pub(in crate::profile) fn owns(self) -> [bool; 2] {
        let hold = self.hold(1);
        [Measurand::Subframe(1), Measurand::Knuckle(1)].map(|of| hold.home(of) == of)
    }

    /// How it holds a place that is the `place`th of all, as far as its kind alone tells.
    pub(in crate::profile) fn hold(self, place: usize) -> Hold {
        let number = |place: usize| u8::try_from(place).unwrap_or_default();
        let before = number(place.saturating_sub(1));
        match self {
            Self::Rod => Hold::Rod,
            Self::Wishbone => Hold::Leg(number(place)),
            Self::RearLeg => Hold::Leg(before),
            Self::Blade => Hold::BushAhead,
            Self::BushUp => Hold::BushUp(before),
            Self::Strut => Hold::Top,
            Self::StrutBolt => Hold::Bolt(before, 1.0),
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
            Self::Rod if of(&["front", "rear"]) => {
                Some("two inner pivots make a wishbone: add kind = \"wishbone\"")
            }
            Self::Rod if of(&["lean"]) => Some("only a strut leans: add kind = \"strut\""),
            Self::Wishbone
                if of_rods || of(&["subframe", "subframe_sigma", "cam", "sets", "lean", "section"]) =>
            {
                Some(
                    "a wishbone is one part: its pivots, cams and what they set stand in [link.front] and [link.rear]",
                )
            }
            Self::Blade if of(&["knuckle", "knuckle_sigma"]) => Some(
                "a blade is bolted to the knuckle: the middle of its front bush, `subframe`, is all that counts",
            ),
            Self::Blade
                if of_rods
                    || of(&["cam", "sets", "lean", "front", "rear", "knuckle_axis", "section", "radius"]) =>
            {
                Some(
                    "a blade has neither length nor thread, and no cam of its own: what is set are the rods beside it",
                )
            }
            Self::Strut if of_rods || of(&["front", "rear", "section", "radius"]) => Some(
                "a strut has neither an arm's length nor its thread: it is set by [link.cam], its top mount, or [link.lean], its bolt",
            ),
            _ => None,
        }
    }
}
