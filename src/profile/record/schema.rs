//! The shape of a record, as serde reads it: every key optional, every value with its place in the text.

use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{self, Deserializer, MapAccess, Visitor};
use std::collections::BTreeMap;
use std::fmt;
use toml::Spanned;
use toml::value::Datetime;

use super::setting::Setting;
use crate::measure::ReadWith;
use crate::profile::schema::{Text, Value};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Record {
    pub(super) format: Option<Spanned<i64>>,
    /// The arch gaps at the reference.
    pub(super) heights: Option<Spanned<Heights>>,
    pub(super) sigma: Option<Spanned<Sigma>>,
    #[serde(default)]
    pub(super) reading: Vec<Spanned<Reading>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reading {
    pub(super) title: Text,
    pub(super) date: Option<Spanned<Date>>,
    pub(super) source: Option<Spanned<ReadWith>>,
    pub(super) drop: Value,
    pub(super) drop_left: Value,
    pub(super) drop_right: Value,
    pub(super) arch_gap: Value,
    pub(super) arch_gap_left: Value,
    pub(super) arch_gap_right: Value,
    pub(super) front_drop: Value,
    pub(super) drop_sigma: Value,
    /// The car stood the other way round on the same spots.
    pub(super) turned_round: Option<Spanned<bool>>,
    /// The arch gaps now.
    pub(super) heights: Option<Spanned<Heights>>,
    #[serde(default)]
    pub(super) arms: Settings,
    #[serde(default)]
    pub(super) cams: Settings,
    pub(super) left: Option<Spanned<Wheel>>,
    pub(super) right: Option<Spanned<Wheel>>,
    pub(super) total_toe: Value,
    pub(super) total_toe_sigma: Value,
    pub(super) plates: Option<Spanned<Plates>>,
    pub(super) plates_half_turn: Option<Spanned<FrontRear>>,
    pub(super) string: Option<Spanned<Strings>>,
    pub(super) floor: Option<Spanned<Floor>>,
    pub(super) other_way_round: Option<Spanned<OtherWay>>,
}

impl Reading {
    /// Whether nothing but its title was filled in, as a starter leaves it.
    pub(super) fn is_untouched(&self) -> bool {
        let empty = |wheel: &Option<Spanned<Wheel>>| wheel.as_ref().is_none_or(|w| w.get_ref().is_empty());
        let nothing = matches!(
            self,
            Self {
                title: _,
                date: None,
                source: None,
                drop: None,
                drop_left: None,
                drop_right: None,
                arch_gap: None,
                arch_gap_left: None,
                arch_gap_right: None,
                front_drop: None,
                drop_sigma: None,
                turned_round: None,
                heights: None,
                arms: _,
                cams: _,
                left: _,
                right: _,
                total_toe: None,
                total_toe_sigma: None,
                plates: None,
                plates_half_turn: None,
                string: None,
                floor: None,
                other_way_round: None,
            }
        );
        nothing && self.arms.is_empty() && self.cams.is_empty() && empty(&self.left) && empty(&self.right)
    }
}

impl Wheel {
    fn is_empty(&self) -> bool {
        matches!(
            self,
            Self {
                camber: None,
                camber_sigma: None,
                toe: None,
                toe_sigma: None,
                rim: None,
                rim_half_turn: None,
                level: None,
                level_half_turn: None,
                plumb: None,
                plumb_half_turn: None,
            }
        )
    }
}

/// Standard deviations of the instruments.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sigma {
    pub(super) ruler: Value,
    pub(super) tape: Value,
    pub(super) level: Value,
    pub(super) gap: Value,
}

/// Hub centre straight up to the arch lip at the four corners.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Heights {
    pub(super) rear_left: Value,
    pub(super) rear_right: Value,
    pub(super) front_left: Value,
    pub(super) front_right: Value,
}

/// What was read on one wheel.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Wheel {
    pub(super) camber: Value,
    pub(super) camber_sigma: Value,
    pub(super) toe: Value,
    pub(super) toe_sigma: Value,
    pub(super) rim: Option<Spanned<Rim>>,
    pub(super) rim_half_turn: Option<Spanned<FrontRear>>,
    pub(super) level: Value,
    pub(super) level_half_turn: Value,
    pub(super) plumb: Option<Spanned<Plumb>>,
    pub(super) plumb_half_turn: Option<Spanned<TopBottom>>,
}

/// From the string to the rim's edges at hub height.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Rim {
    pub(super) front: Value,
    pub(super) rear: Value,
    pub(super) across: Value,
}

/// From the plumb line to the rim's edges.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Plumb {
    pub(super) top: Value,
    pub(super) bottom: Value,
    pub(super) across: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FrontRear {
    pub(super) front: Value,
    pub(super) rear: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TopBottom {
    pub(super) top: Value,
    pub(super) bottom: Value,
}

/// Between the ends of two plates against the wheels.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Plates {
    pub(super) front: Value,
    pub(super) rear: Value,
    pub(super) length: Value,
}

/// Where the strings run: from each to the centreline, or to the hubs, front and rear.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Strings {
    pub(super) left: Option<Spanned<FrontRear>>,
    pub(super) right: Option<Spanned<FrontRear>>,
    /// From hub to hub, where the strings were measured to the hubs.
    pub(super) tracks: Option<Spanned<FrontRear>>,
    pub(super) apart: Value,
}

/// How the floor slopes under the two rear wheels.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Floor {
    pub(super) left_higher: Value,
    pub(super) across: Value,
    pub(super) slope: Value,
}

/// What was read with the car turned round on the same spots.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OtherWay {
    pub(super) left: Option<Spanned<Wheel>>,
    pub(super) right: Option<Spanned<Wheel>>,
}

/// A date of TOML's own, or what somebody wrote.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a date such as \"2026-11-20\"")]
pub(super) enum Date {
    Day(Datetime),
    Text(String),
}

/// Settings by the names of their links.
pub(super) type Settings = BTreeMap<Spanned<String>, Spanned<Sides>>;

/// How a link is set: on both sides alike, or on each by itself.
#[derive(Debug)]
pub(super) enum Sides {
    Both(Setting),
    Each(Each),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Each {
    pub(super) left: Option<Spanned<Setting>>,
    pub(super) right: Option<Spanned<Setting>>,
}

impl<'de> Deserialize<'de> for Sides {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Written;

        impl<'de> Visitor<'de> for Written {
            type Value = Sides;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("turns, a length, an angle or marks, or a table with `left` and `right`")
            }

            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Sides, E> {
                Setting::number(value).map(Sides::Both).map_err(E::custom)
            }

            #[expect(clippy::cast_precision_loss, reason = "whole turns are far below 2^53")]
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Sides, E> {
                self.visit_f64(value as f64)
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Sides, E> {
                text.parse().map(Sides::Both).map_err(|error| E::custom(format_args!("`{text}`: {error}")))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Sides, A::Error> {
                Each::deserialize(MapAccessDeserializer::new(map)).map(Sides::Each)
            }
        }

        deserializer.deserialize_any(Written)
    }
}

impl<'de> Deserialize<'de> for Setting {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match Sides::deserialize(deserializer)? {
            Sides::Both(setting) => Ok(setting),
            Sides::Each(_) => Err(de::Error::custom("one setting is due here, not a table")),
        }
    }
}
