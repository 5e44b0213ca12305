//! Camber and toe together.

use super::Figure;
use super::pair::pair;

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
    pub(crate) fn of(mut make: impl FnMut(Figure) -> T) -> Self {
        Self { camber: make(Figure::Camber), toe: make(Figure::Toe) }
    }

    /// What is made of both.
    pub fn map<U>(self, mut make: impl FnMut(T) -> U) -> Angles<U> {
        Angles { camber: make(self.camber), toe: make(self.toe) }
    }

    /// That of a figure; `None` for pitch.
    pub(crate) fn get(&self, figure: Figure) -> Option<&T> {
        match figure {
            Figure::Camber => Some(&self.camber),
            Figure::Toe => Some(&self.toe),
            Figure::Pitch => None,
        }
    }

    /// The same, to be changed.
    pub(crate) fn get_mut(&mut self, figure: Figure) -> Option<&mut T> {
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

impl<T> From<Angles<T>> for [T; 2] {
    fn from(Angles { camber, toe }: Angles<T>) -> Self {
        [camber, toe]
    }
}

pair!(Angles { camber, toe });
