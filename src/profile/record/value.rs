//! Distances as a rule or a tape gives them, one by one.

use std::ops::Range;
use toml::Spanned;

use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::record::Rim;
use crate::profile::keys::{Key, Value};

/// Two distances below this without a unit look like inches, mm.
const INCHES: f64 = 8.0;

/// Something is unsound and has been told of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told;

impl Checker {
    /// A value that a table cannot do without.
    pub(super) fn due<'a>(
        &mut self,
        value: &'a Value,
        key: &str,
        table: Range<usize>,
    ) -> Result<&'a Spanned<Quantity>, Told> {
        value.as_ref().ok_or_else(|| {
            self.tell(
                Finding::error(table, format!("`{key}` is missing here")).label(format!("needs `{key}`")),
            );
            Told
        })
    }

    /// The distances of two edges of the rim to a line, mm.
    pub(super) fn edges(
        &mut self,
        [one, other]: [(&str, &Value); 2],
        table: Range<usize>,
    ) -> Result<[f64; 2], Told> {
        let one = self.due(one.1, one.0, table.clone())?;
        let other = self.due(other.1, other.0, table.clone())?;
        let read = [one, other].map(|value| self.figure(Rim::front.key, value));
        let [Some(first), Some(second)] = read else { return Err(Told) };
        let bare = [one, other].iter().all(|value| value.get_ref().number().is_some());
        if bare && first < INCHES && second < INCHES {
            self.tell(
                Finding::warning(table, "the rim is very near to the line")
                    .label(format!("{first} and {second} mm"))
                    .help("bare numbers are mm; inches need their unit: \"2 1/4 in\""),
            );
        }
        Ok([first, second])
    }

    /// What a value comes to that may be left out, in the range of its key.
    pub(super) fn given(&mut self, key: &Key, value: &Value) -> Result<Option<f64>, Told> {
        value.as_ref().map(|value| self.figure(key, value).ok_or(Told)).transpose()
    }

    /// One thing may be given in one way only.
    pub(super) fn one_way(
        &mut self,
        ways: [Option<Range<usize>>; 3],
        what: &'static str,
    ) -> Result<(), Told> {
        let mut ways: Vec<Range<usize>> = ways.into_iter().flatten().collect();
        ways.sort_by_key(|way| way.start);
        if let [one, other, ..] = &ways[..] {
            self.tell(
                Finding::error(other.clone(), format!("{what} is given twice"))
                    .label("this way")
                    .other(one.clone(), "and this way")
                    .help("keep one of them"),
            );
            return Err(Told);
        }
        Ok(())
    }

    /// A reading after half a turn needs the one before.
    pub(super) fn half_turn_of(
        &mut self,
        half_turn: Option<Range<usize>>,
        before: bool,
        key: &str,
    ) -> Result<(), Told> {
        match half_turn {
            Some(place) if !before => {
                self.tell(
                    Finding::error(place, "half a turn after what?")
                        .label(format!("needs `{key}` beside it, as it was before the wheel was turned")),
                );
                Err(Told)
            }
            _ => Ok(()),
        }
    }
}

/// The place of something that may not be there.
#[expect(clippy::ref_option, reason = "as a shape has it")]
pub(super) fn span<T>(value: &Option<Spanned<T>>) -> Option<Range<usize>> {
    value.as_ref().map(Spanned::span)
}
