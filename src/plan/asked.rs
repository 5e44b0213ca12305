//! What of an answer is asked for.

use crate::car::Hand;

/// The figures of an answer that are asked for: all of them, or one, so that nothing is worked out but what leads to it. What is
/// left out then stands empty, and entries of lists that do not lead to it are left out too.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Asked<'a>(Option<&'a str>);

impl<'a> Asked<'a> {
    /// All figures.
    pub const ALL: Self = Self(None);

    /// The one at a place in the JSON of the answer, given as a JSON pointer (RFC 6901).
    pub const fn only(at: &'a str) -> Self {
        Self(Some(at))
    }

    /// The keys and places on the way, where one figure is asked for.
    fn way(self) -> Option<impl Iterator<Item = &'a str>> {
        self.0.map(|at| at.split('/').skip(1))
    }

    /// Whether something that stands under a key is asked for.
    pub(crate) fn wants(self, key: &str) -> bool {
        self.way().is_none_or(|mut way| way.any(|step| step == key))
    }

    /// The side on which the figure stands, or the left one where both do.
    pub(crate) fn side(self) -> Hand {
        Hand::BOTH[self.entry("sides").map_or(0, |place| place.min(1))]
    }

    /// Whether something in an entry of a list is asked for, by the entry's place.
    pub(crate) fn takes(self, list: &str, place: usize) -> bool {
        self.entry(list).is_none_or(|entry| entry == place)
    }

    /// The place in a list of the one entry that is asked for.
    pub(crate) fn entry(self, list: &str) -> Option<usize> {
        self.way()?.skip_while(|step| *step != list).nth(1)?.parse().ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_leads_to_the_figure_is_asked_for() {
        let asked = Asked::only("/sides/1/trials/3/turns");
        assert!(asked.wants("trials") && asked.wants("turns") && !asked.wants("best"));
        assert!(asked.takes("trials", 3) && !asked.takes("trials", 2) && asked.takes("best", 2));
        assert_eq!((asked.side(), Asked::ALL.side()), (Hand::Right, Hand::Left));
        assert!(Asked::ALL.wants("best") && Asked::ALL.takes("trials", 2));
    }
}
