//! From a file's tree to the tables that the keys declare.
//!
//! Single values are read by serde. Tables are not: what it makes of them is made anew for every way in which a table may come, and
//! took a fifth of the time that the library takes to build.

use serde::de::{Deserializer, Unexpected, Visitor};
use std::borrow::Cow;
use std::convert::Infallible;
use std::fmt;
use toml::Spanned;
use toml::de::{DeTable, DeValue, Error, ValueDeserializer};

use crate::profile::load::{Force, Mass, Rate, Stress, Torque};
use crate::profile::{CamPosition, Quantity};

/// What can be read where it stands in a file.
pub(in crate::profile) trait Readable: Sized {
    /// # Errors
    ///
    /// What is not of this shape, and where.
    fn read(value: Spanned<DeValue<'_>>) -> Result<Self, Error>;

    /// The same of a whole text.
    fn of_text(text: &str) -> Result<Self, Error> {
        let tree = DeTable::parse(text)?;
        Self::read(Spanned::new(tree.span(), DeValue::Table(tree.into_inner())))
    }
}

/// Single values, and what is one to the keys.
macro_rules! by_serde {
    ($($value:ty),+ $(,)?) => {$(
        impl $crate::profile::keys::Readable for $value {
            fn read(value: toml::Spanned<toml::de::DeValue<'_>>) -> Result<Self, toml::de::Error> {
                <$value as serde::Deserialize>::deserialize(toml::de::ValueDeserializer::from(value))
            }
        }
    )+};
}
pub(in crate::profile) use by_serde;
by_serde!(bool, i64, f64, String, Quantity, Force, Mass, Rate, Stress, Torque, CamPosition);

impl<T: Readable> Readable for Spanned<T> {
    fn read(value: Spanned<DeValue<'_>>) -> Result<Self, Error> {
        let span = value.span();
        T::read(value).map(|value| Self::new(span, value))
    }
}

impl<T: Readable> Readable for Vec<T> {
    fn read(value: Spanned<DeValue<'_>>) -> Result<Self, Error> {
        let span = value.span();
        match value.into_inner() {
            DeValue::Array(list) => list.into_iter().map(T::read).collect(),
            other => Err(Refusal::Expected("a sequence").of(Spanned::new(span, other))),
        }
    }
}

/// The keys and values of what should be a table.
pub(in crate::profile) fn entries<'a>(
    value: Spanned<DeValue<'a>>,
    expected: &'static str,
) -> Result<DeTable<'a>, Error> {
    let span = value.span();
    match value.into_inner() {
        DeValue::Table(table) => Ok(table),
        other => Err(Refusal::Expected(expected).of(Spanned::new(span, other))),
    }
}

/// What is said of a key that its table has not.
pub(in crate::profile) fn unknown(key: Spanned<Cow<'_, str>>, known: &[&str]) -> Error {
    let known: Vec<String> = known.iter().map(|key| format!("`{key}`")).collect();
    let message = format!("unknown field `{}`, expected one of {}", key.get_ref(), known.join(", "));
    let span = key.span();
    Refusal::Said(message).of(Spanned::new(span, DeValue::String(key.into_inner())))
}

/// Refuses a key that stands a second time, by its former name.
pub(in crate::profile) fn twice(key: Spanned<Cow<'_, str>>, name: &str, former: &str) -> Error {
    let message =
        format!("`{name}` and `{former}` are one key: leave `{former}` out, which is its former name");
    let span = key.span();
    Refusal::Said(message).of(Spanned::new(span, DeValue::String(key.into_inner())))
}

/// Takes no value, so that the parser says where it stands.
enum Refusal {
    /// Something else is due.
    Expected(&'static str),
    /// In so many words.
    Said(String),
}

impl Refusal {
    fn of(self, value: Spanned<DeValue<'_>>) -> Error {
        match ValueDeserializer::from(value).deserialize_any(self) {
            Err(error) => error,
            Ok(never) => match never {},
        }
    }
}

impl Visitor<'_> for Refusal {
    type Value = Infallible;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Expected(what) => f.write_str(what),
            Self::Said(words) => f.write_str(words),
        }
    }

    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Self::Value, E> {
        Err(match self {
            Self::Said(words) => E::custom(words),
            Self::Expected(_) => E::invalid_type(Unexpected::Str(text), &self),
        })
    }
}
