//! A table and what overrides it: the right side takes each key from `[right]` if it stands there, else from the base.

use std::ops::Range;
use toml::Spanned;

use super::keys::{Link, Profile, Right, Slot};

/// A table of the profile and, for the right side, the one that overrides it key by key.
pub(super) struct Layers<'a, T> {
    /// The table's name, for messages.
    pub(super) table: String,
    pub(super) base: Option<&'a Spanned<T>>,
    pub(super) over: Option<&'a Spanned<T>>,
}

/// A value and whether it stands in `[right]`.
pub(super) type Found<'a, V> = (&'a Spanned<V>, bool);

impl<'a, T> Layers<'a, T> {
    /// A table of the whole, overridden by that of the right side where there is one.
    pub(super) fn of<P, R>((whole, table): (&'a P, Slot<P, T>), right: Option<(&'a R, Slot<R, T>)>) -> Self {
        let over = right.and_then(|(right, table)| table.of(right));
        Layers { table: table.key.name.to_owned(), base: table.of(whole), over }
    }

    /// A table that nothing overrides.
    pub(super) fn alone<P>(whole: &'a P, table: Slot<P, T>) -> Self {
        Self::of((whole, table), None::<(&'a P, _)>)
    }

    /// The value of a key, if it stands anywhere.
    pub(super) fn get<V>(&self, slot: Slot<T, V>) -> Option<Found<'a, V>> {
        let [base, over] = self.both(slot);
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

    /// Where a key stands; nowhere if it does not.
    pub(super) fn span_of<V>(&self, slot: Slot<T, V>) -> Range<usize> {
        self.get(slot).map_or(0..0, |(value, _)| value.span())
    }

    /// The table under a key, if it stands anywhere.
    pub(super) fn inner<U>(&self, slot: Slot<T, U>) -> Option<Layers<'a, U>> {
        let [base, over] = self.both(slot);
        let table = format!("{}.{}", self.table, slot.key.name);
        Some(Layers { table, base, over }).filter(Layers::exists)
    }

    fn both<V>(&self, slot: Slot<T, V>) -> [Option<&'a Spanned<V>>; 2] {
        [self.base, self.over].map(|layer| layer.and_then(|layer| slot.of(layer.get_ref())))
    }
}

impl<'a> Layers<'a, Link> {
    /// A link, overridden by the one of the right side that goes by its name.
    pub(super) fn of_link(base: &'a Spanned<Link>, right: Option<&'a Right>) -> Self {
        let name = |link: &'a Spanned<Link>| Link::name.of(link.get_ref()).map(|name| name.get_ref().trim());
        let named_alike = |over: &&'a Spanned<Link>| name(base).is_some() && name(over) == name(base);
        let over = right.and_then(|right| Right::link.all(right).iter().find(named_alike));
        Self { table: Profile::link.key.name.to_owned(), base: Some(base), over }
    }
}
