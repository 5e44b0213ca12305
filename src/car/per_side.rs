//! A pair of something: of the left side and of the right one.

use std::array;
use std::ops::{Index, IndexMut};

use super::Hand;
use crate::geometry::pair::pair;

/// What there is of the left side, and of the right one; as JSON a list of the two in that order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct PerSide<T> {
    /// Of the left side.
    pub left: T,
    /// Of the right side.
    pub right: T,
}

impl<T> PerSide<T> {
    /// Made for each side by its hand.
    pub fn of(mut make: impl FnMut(Hand) -> T) -> Self {
        Self { left: make(Hand::Left), right: make(Hand::Right) }
    }

    /// The same for each side, as far as nothing goes wrong.
    ///
    /// # Errors
    ///
    /// The first that is met, the left side's before the right one's.
    pub(crate) fn try_of<E>(make: impl FnMut(Hand) -> Result<T, E>) -> Result<Self, E> {
        PerSide::of(make).ok()
    }

    /// What is made of each of the two.
    pub fn map<U>(self, mut make: impl FnMut(T) -> U) -> PerSide<U> {
        PerSide { left: make(self.left), right: make(self.right) }
    }

    /// What is made of each of the two as it stands here.
    pub fn each<'a, U>(&'a self, mut make: impl FnMut(&'a T) -> U) -> PerSide<U> {
        PerSide { left: make(&self.left), right: make(&self.right) }
    }

    /// References to the two.
    pub(crate) fn as_ref(&self) -> PerSide<&T> {
        self.each(|of| of)
    }

    /// Both with their partners on the same side.
    pub(crate) fn zip<U>(self, other: PerSide<U>) -> PerSide<(T, U)> {
        PerSide { left: (self.left, other.left), right: (self.right, other.right) }
    }

    /// The left one, then the right one.
    pub fn iter(&self) -> array::IntoIter<&T, 2> {
        self.into_iter()
    }

    /// The left one, then the right one, to be changed.
    pub fn iter_mut(&mut self) -> array::IntoIter<&mut T, 2> {
        self.into_iter()
    }
}

impl<T: Clone> PerSide<T> {
    /// The same on both sides.
    pub fn both(value: T) -> Self {
        Self { left: value.clone(), right: value }
    }
}

impl<T> PerSide<Option<T>> {
    /// Both, where there are both.
    pub fn all(self) -> Option<PerSide<T>> {
        Some(PerSide { left: self.left?, right: self.right? })
    }
}

impl<T, E> PerSide<Result<T, E>> {
    /// Both, where neither went wrong.
    ///
    /// # Errors
    ///
    /// The left side's, or else the right one's.
    pub(crate) fn ok(self) -> Result<PerSide<T>, E> {
        Ok(PerSide { left: self.left?, right: self.right? })
    }
}

impl<T> Index<Hand> for PerSide<T> {
    type Output = T;

    fn index(&self, hand: Hand) -> &T {
        match hand {
            Hand::Left => &self.left,
            Hand::Right => &self.right,
        }
    }
}

impl<T> IndexMut<Hand> for PerSide<T> {
    fn index_mut(&mut self, hand: Hand) -> &mut T {
        match hand {
            Hand::Left => &mut self.left,
            Hand::Right => &mut self.right,
        }
    }
}

impl<T> IntoIterator for PerSide<T> {
    type Item = T;
    type IntoIter = array::IntoIter<T, 2>;

    fn into_iter(self) -> Self::IntoIter {
        [self.left, self.right].into_iter()
    }
}

impl<'a, T> IntoIterator for &'a mut PerSide<T> {
    type Item = &'a mut T;
    type IntoIter = array::IntoIter<&'a mut T, 2>;

    fn into_iter(self) -> Self::IntoIter {
        [&mut self.left, &mut self.right].into_iter()
    }
}

pair!(PerSide { left, right });
