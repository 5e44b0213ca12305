//! A table and what overrides it: the right side takes each key from `[right]` if it stands there, else from the base.

use std::ops::Range;
use toml::Spanned;

/// A table of the profile and, for the right side, the one that overrides it key by key.
pub(super) struct Layers<'a, T> {
    /// The table's name, for messages.
    pub(super) table: &'static str,
    pub(super) base: Option<&'a Spanned<T>>,
    pub(super) over: Option<&'a Spanned<T>>,
}

/// A value and whether it stands in `[right]`.
pub(super) type Found<'a, V> = (&'a Spanned<V>, bool);

impl<'a, T> Layers<'a, T> {
    /// The value of a key, if it stands anywhere.
    pub(super) fn get<V>(&self, pick: impl Fn(&'a T) -> &'a Option<Spanned<V>>) -> Option<Found<'a, V>> {
        let [base, over] = self.both(pick);
        over.map(|value| (value, true)).or(base.map(|value| (value, false)))
    }

    /// Whether the table stands anywhere.
    pub(super) fn exists(&self) -> bool {
        self.base.is_some() || self.over.is_some()
    }

    /// Where a key that is missing would have to stand.
    pub(super) fn span(&self) -> Range<usize> {
        self.base.or(self.over).map_or(0..0, Spanned::span)
    }

    /// The table under a key, if it stands anywhere.
    pub(super) fn inner<U>(
        &self,
        table: &'static str,
        pick: impl Fn(&'a T) -> &'a Option<Spanned<U>>,
    ) -> Option<Layers<'a, U>> {
        let [base, over] = self.both(pick);
        Some(Layers { table, base, over }).filter(Layers::exists)
    }

    fn both<V>(&self, pick: impl Fn(&'a T) -> &'a Option<Spanned<V>>) -> [Option<&'a Spanned<V>>; 2] {
        [self.base, self.over].map(|layer| layer.and_then(|layer| pick(layer.get_ref()).as_ref()))
    }
}
