//! Camber and toe together.

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Serialize, Serializer};
use std::borrow::Cow;

use super::Figure;

/// Something of a wheel's camber, and of its toe; as JSON a list of the two in that order. Angles are in rad.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Angles<T = f64> {
    /// Of camber.
    pub camber: T,
    /// Of toe.
    pub toe: T,
}

impl<T> Angles<T> {
    /// Made for both figures.
    pub fn of(mut make: impl FnMut(Figure) -> T) -> Self {
        Self { camber: make(Figure::Camber), toe: make(Figure::Toe) }
    }

    /// What is made of both.
    pub fn map<U>(self, mut make: impl FnMut(T) -> U) -> Angles<U> {
        Angles { camber: make(self.camber), toe: make(self.toe) }
    }

    /// That of a figure; `None` for pitch.
    pub fn get(&self, figure: Figure) -> Option<&T> {
        match figure {
            Figure::Camber => Some(&self.camber),
            Figure::Toe => Some(&self.toe),
            Figure::Pitch => None,
        }
    }

    /// The same, to be changed.
    pub fn get_mut(&mut self, figure: Figure) -> Option<&mut T> {
        match figure {
            Figure::Camber => Some(&mut self.camber),
            Figure::Toe => Some(&mut self.toe),
            Figure::Pitch => None,
        }
    }

    /// That of camber, then that of toe.
    pub fn iter(&self) -> std::array::IntoIter<&T, 2> {
        self.into_iter()
    }
}

impl<T> From<[T; 2]> for Angles<T> {
    fn from([camber, toe]: [T; 2]) -> Self {
        Self { camber, toe }
    }
}

impl<T> From<Angles<T>> for [T; 2] {
    fn from(Angles { camber, toe }: Angles<T>) -> Self {
        [camber, toe]
    }
}

impl<'a, T> IntoIterator for &'a Angles<T> {
    type Item = &'a T;
    type IntoIter = std::array::IntoIter<&'a T, 2>;

    fn into_iter(self) -> Self::IntoIter {
        [&self.camber, &self.toe].into_iter()
    }
}

impl<T: Serialize> Serialize for Angles<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        [&self.camber, &self.toe].serialize(serializer)
    }
}

impl<T: JsonSchema> JsonSchema for Angles<T> {
    fn inline_schema() -> bool {
        <[T; 2]>::inline_schema()
    }

    fn schema_name() -> Cow<'static, str> {
        <[T; 2]>::schema_name()
    }

    fn schema_id() -> Cow<'static, str> {
        <[T; 2]>::schema_id()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        <[T; 2]>::json_schema(generator)
    }
}
