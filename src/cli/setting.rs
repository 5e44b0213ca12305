//! `LINK=SETTING`: how an arm or a cam is set, as every command takes it.

use crate::car::Hand;
use std::collections::HashSet;

use super::failure::Failure;

/// A link, on one side or on both, and what was written for it.
pub(super) struct Named<'a> {
    pub(super) link: &'a str,
    /// The side; both where none is said.
    pub(super) hand: Option<Hand>,
    pub(super) value: &'a str,
}

impl<'a> Named<'a> {
    /// Parts `toe left=-15`; `example` is how an entry of this option looks.
    pub(super) fn of(option: &str, text: &'a str, example: &str) -> Result<Self, Failure> {
        let (link, value) = text.split_once('=').ok_or_else(|| {
            Failure::usage(format!("{option}: {text:?} is not LINK=SETTING, such as \"{example}\""))
        })?;
        let link = link.trim();
        let (link, hand) = match link.rsplit_once(' ') {
            Some((link, "left")) => (link.trim_end(), Some(Hand::Left)),
            Some((link, "right")) => (link.trim_end(), Some(Hand::Right)),
            _ => (link, None),
        };
        Ok(Self { link, hand, value: value.trim() })
    }

    /// The sides that it is for.
    pub(super) fn hands(&self) -> impl Iterator<Item = Hand> + use<> {
        let hand = self.hand;
        Hand::BOTH.into_iter().filter(move |side| hand.is_none_or(|hand| hand == *side))
    }
}

/// Which links of which sides an option has named.
#[derive(Default)]
pub(super) struct Once(HashSet<(String, Hand)>);

impl Once {
    /// Refuses what was named before.
    pub(super) fn note(&mut self, option: &str, link: &str, hand: Hand) -> Result<(), Failure> {
        if self.0.insert((link.to_owned(), hand)) {
            return Ok(());
        }
        Err(Failure::usage(format!("{option}: {link} is given twice on the {hand}")))
    }
}
