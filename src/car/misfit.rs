//! A stock arm that is not as long as its pivots are apart.

use super::{Car, Hand, PerSide, Side};

/// So many standard deviations are passed by one sound measurement in a hundred (the normal law, both ways: 2.576).
const CRITICAL: f64 = 2.58;

/// A stock arm whose measured length and whose pivots differ by more than the errors of both explain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LengthMisfit {
    /// The side.
    pub(crate) hand: Hand,
    /// The link, by its place among the five.
    pub(crate) link: usize,
    /// What the arm measures, mm.
    pub(crate) measured: f64,
    /// How far its pivots are apart by the points, mm.
    pub(crate) between: f64,
    /// What both errors together explain, mm.
    pub(crate) explained: f64,
}

impl LengthMisfit {
    /// How much longer the arm is than the points say, mm.
    pub(crate) fn longer(&self) -> f64 {
        self.measured - self.between
    }
}

impl Side {
    /// What is amiss between the measured length of a link's stock arm and its pivots, if anything is; nothing where the points
    /// came from that length.
    pub(crate) fn length_misfit(&self, link: usize) -> Option<LengthMisfit> {
        let of = self.links.get(link)?;
        let measured = of.measured.filter(|measured| !measured.used)?;
        let between = of.stock_length();
        let way = (of.knuckle - of.subframe) / between;
        let explained = CRITICAL * self.errors.of_length(link, &way).hypot(measured.sigma);
        let misfit = LengthMisfit { hand: self.hand, link, measured: measured.length, between, explained };
        (misfit.longer().abs() > explained).then_some(misfit)
    }
}

impl Car {
    /// Every stock arm that does not go with its pivots, in the order of the links; what the right side has from the left one
    /// counts once.
    pub(crate) fn length_misfits(&self) -> Vec<LengthMisfit> {
        let PerSide { left, right } = &self.sides;
        let alone = |misfit: &LengthMisfit| {
            let [left, right] = [left, right].map(|side| &side.links[misfit.link]);
            (left.subframe, left.knuckle, left.measured) != (right.subframe, right.knuckle, right.measured)
        };
        (0..left.links.len())
            .flat_map(|link| [left.length_misfit(link), right.length_misfit(link).filter(alone)])
            .flatten()
            .collect()
    }
}
