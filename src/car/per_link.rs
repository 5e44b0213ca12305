//! One of something for each link of a side.

use std::array;
use std::ops::{Deref, DerefMut};
use std::slice;

/// So many links hold the knuckle: five leave it the one freedom to go up and down.
pub(crate) const LINKS: usize = 5;

/// What there is of each link of a side, in the order of the links: a slice that is copied as a whole, without the heap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct PerLink<T>([T; LINKS]);

impl<T> PerLink<T> {
    /// Made for each link by its place.
    pub fn of(make: impl FnMut(usize) -> T) -> Self {
        Self(array::from_fn(make))
    }

    /// What is made of each.
    pub(crate) fn map<U>(self, make: impl FnMut(T) -> U) -> PerLink<U> {
        PerLink(self.0.map(make))
    }

    /// What is made of each as it stands here.
    pub fn each<'a, U>(&'a self, make: impl FnMut(&'a T) -> U) -> PerLink<U> {
        PerLink(self.0.each_ref().map(make))
    }
}

impl<T> TryFrom<Vec<T>> for PerLink<T> {
    /// The list, where it has not as many entries as a side has links.
    type Error = Vec<T>;

    fn try_from(list: Vec<T>) -> Result<Self, Vec<T>> {
        list.try_into().map(Self)
    }
}

impl<T> Deref for PerLink<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.0
    }
}

impl<T> DerefMut for PerLink<T> {
    fn deref_mut(&mut self) -> &mut [T] {
        &mut self.0
    }
}

impl<T> IntoIterator for PerLink<T> {
    type Item = T;
    type IntoIter = array::IntoIter<T, LINKS>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'a, T> IntoIterator for &'a PerLink<T> {
    type Item = &'a T;
    type IntoIter = slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl<'a, T> IntoIterator for &'a mut PerLink<T> {
    type Item = &'a mut T;
    type IntoIter = slice::IterMut<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter_mut()
    }
}
