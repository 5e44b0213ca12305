//! The values of a record that only it has: dates, and how arms and cams are set. Its keys are in `keys::record`.

use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{self, Deserializer, MapAccess, Visitor};
use std::collections::BTreeMap;
use std::fmt;
use toml::Spanned;
use toml::value::Datetime;

use super::setting::WrittenSetting;

/// A date of TOML's own, or what somebody wrote.
#[derive(Debug, Clone, Deserialize)]
#[serde(untagged, expecting = "expected a date such as \"2026-11-20\"")]
pub(in crate::profile) enum Date {
    Day(Datetime),
    Text(String),
}

/// Settings by the names of their links.
pub(in crate::profile) type Settings = BTreeMap<Spanned<String>, Spanned<Sides>>;

/// How a link is set: on both sides alike, or on each by itself.
#[derive(Debug, Clone)]
pub(in crate::profile) enum Sides {
    Both(WrittenSetting),
    Each(Each),
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::profile) struct Each {
    pub(in crate::profile) left: Option<Spanned<WrittenSetting>>,
    pub(in crate::profile) right: Option<Spanned<WrittenSetting>>,
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
                WrittenSetting::number(value).map(Sides::Both).map_err(E::custom)
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

impl<'de> Deserialize<'de> for WrittenSetting {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match Sides::deserialize(deserializer)? {
            Sides::Both(setting) => Ok(setting),
            Sides::Each(_) => Err(de::Error::custom("one setting is due here, not a table")),
        }
    }
}
