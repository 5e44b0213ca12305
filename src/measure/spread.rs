//! The spread of a predicted reading, by linear propagation: `C = G S G'`, with `G` the [`Sensitivity`] and `S` the
//! covariance of what was measured (JCGM 100:2008, *Guide to the expression of uncertainty in measurement*, 5.2). Where that is so
//! rough that slopes do not do, it is widened to what drawn wheels have.

use nalgebra::{DMatrix, Matrix2, Matrix2xX, Vector2};
use std::ops::Range;

use super::Sensitivity;
use super::bent::bent;
use crate::car::{Measurand, Setup, Side, Sigmas, Stance};
use crate::geometry::{Angles, Position};

/// Where an error comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A point or a reading of the side.
    Measured(Measurand),
    /// The drops, of both sides and of the front.
    Drop,
    /// The stock length to which the arm of a link was matched.
    Preset(usize),
}

/// How far camber and toe may be from what is predicted, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Covariance of camber and toe, rad2.
    pub covariance: Matrix2<f64>,
    /// How many times as far off they are as slopes say: 1 where these do.
    pub(crate) bent: Angles,
    /// Covariance of camber and toe with each number that they rest on.
    with: Matrix2xX<f64>,
    /// Covariance of those numbers.
    errors: DMatrix<f64>,
    /// Where they come from, with their places among the numbers.
    sources: Vec<(Source, Range<usize>)>,
}

/// The spread of a side's reading in a position, when the arms of the `matched` links are matched to their stock lengths and
/// turned from there.
///
/// `setup` are the pivots and lengths of that position, which must solve its forward rows. The side's own errors count, and
/// of `sigmas` those of the drop and of the preset.
pub fn spread(
    side: &Side,
    stance: &Stance,
    setup: &Setup,
    position: &Position,
    matched: &[usize],
    sigmas: &Sigmas,
) -> Spread {
    let mut gradient = Sensitivity::of(side, stance, setup, position).columns(matched);
    let mut errors = DMatrix::zeros(gradient.ncols(), gradient.ncols());
    let measured = side.errors.covariance();
    errors.view_mut((0, 0), measured.shape()).copy_from(measured);
    for drop in Sensitivity::DROPS {
        errors[(drop, drop)] = sigmas.drop.powi(2);
    }
    let mut sources: Vec<(Source, Range<usize>)> =
        Measurand::all().map(|measurand| (Source::Measured(measurand), measurand.place())).collect();
    sources.push((Source::Drop, Sensitivity::DROPS));
    for (i, link) in (Sensitivity::DROPS.end..).zip(matched) {
        errors[(i, i)] = sigmas.matching().powi(2);
        sources.push((Source::Preset(*link), i..i + 1));
    }
    let bent = bent((side, stance), (setup, position), matched, &gradient, &errors);
    for (row, times) in bent.into_iter().enumerate() {
        gradient.row_mut(row).scale_mut(times);
    }
    let with = &gradient * &errors;
    Spread { covariance: &with * gradient.transpose(), bent: bent.into(), with, errors, sources }
}

impl Spread {
    /// Where errors come from.
    pub fn sources(&self) -> impl Iterator<Item = Source> + '_ {
        self.sources.iter().map(|(source, _)| *source)
    }

    /// By how much the variances of camber and toe would shrink if one source were known exactly, rad2. Of independent
    /// sources these add up to the whole.
    pub fn share(&self, of: Source) -> Vector2<f64> {
        self.gain(of, 0.0).diagonal()
    }

    /// The covariance of camber and toe if one source were measured once more as well as it is known now, and the two
    /// averaged, rad2.
    pub(crate) fn repeated(&self, of: Source) -> Matrix2<f64> {
        self.covariance - self.gain(of, 1.0)
    }

    /// What a second look at a source takes off the covariance: `C_s (S_s + f D)^-1 C_s'`, with `C_s` the covariance of the
    /// reading with the source, `S_s` that of the source and `f D` the variances of the second look.
    fn gain(&self, of: Source, second: f64) -> Matrix2<f64> {
        let Some((_, place)) = self.sources.iter().find(|(source, _)| *source == of) else {
            return Matrix2::zeros();
        };
        let with = self.with.columns_range(place.clone());
        let mut own = self.errors.view((place.start, place.start), (place.len(), place.len())).into_owned();
        for i in 0..place.len() {
            own[(i, i)] *= 1.0 + second;
        }
        let scale = own.diagonal().amax();
        // A coordinate that is fixed by definition has no error to take away.
        let Ok(inverse) = own.pseudo_inverse(1e-12 * scale.max(f64::MIN_POSITIVE)) else {
            return Matrix2::zeros();
        };
        with * inverse * with.transpose()
    }

    /// Standard deviations of camber and toe, rad.
    pub fn sigmas(&self) -> Angles {
        Angles { camber: self.covariance[(0, 0)].sqrt(), toe: self.covariance[(1, 1)].sqrt() }
    }

    /// The probability that both figures lie within half-widths `within` (rad) of a target that the prediction misses by
    /// `off` (rad), for normal errors.
    pub(crate) fn probability_within(&self, off: Angles, within: Angles) -> f64 {
        probability_within(&self.covariance, off, within)
    }
}

/// The probability that camber and toe with a covariance (rad2) lie within half-widths `within` (rad) of a target that the
/// prediction misses by `off` (rad), for normal errors.
///
/// Integrated over camber with the toe that goes with it, by Simpson's rule.
pub(crate) fn probability_within(covariance: &Matrix2<f64>, off: Angles, within: Angles) -> f64 {
    const STEPS: u32 = 400;
    const FAR: f64 = 8.0;
    let [camber, toe] = [0, 1].map(|i| covariance[(i, i)].sqrt().max(f64::MIN_POSITIVE.sqrt()));
    let correlation = (covariance[(0, 1)] / (camber * toe)).clamp(-1.0 + 1e-12, 1.0 - 1e-12);
    let rest = toe * (1.0 - correlation * correlation).sqrt();
    let normal = |x: f64| 0.5 * libm::erfc(-x / std::f64::consts::SQRT_2);
    let end = |side: f64| ((side * within.camber - off.camber) / camber).clamp(-FAR, FAR);
    let (low, high) = (end(-1.0), end(1.0));
    let density = |z: f64| {
        let middle = off.toe + correlation * toe * z;
        let inside = normal((within.toe - middle) / rest) - normal((-within.toe - middle) / rest);
        inside * (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
    };
    let step = (high - low) / f64::from(STEPS);
    let weight = |i: u32| if i == 0 || i == STEPS { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
    let sum: f64 = (0..=STEPS).map(|i| weight(i) * density(low + f64::from(i) * step)).sum();
    (sum * step / 3.0).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::SIGMAS_OF_95;
    use approx::assert_relative_eq;

    fn spread(covariance: Matrix2<f64>) -> Spread {
        Spread {
            covariance,
            bent: [1.0; 2].into(),
            with: Matrix2xX::zeros(0),
            errors: DMatrix::zeros(0, 0),
            sources: Vec::new(),
        }
    }

    /// Tables of the normal distribution: 0.95 within 1.96 and 0.6827 within one standard deviation (common handbook values).
    #[test]
    fn without_correlation_the_probabilities_multiply() {
        let spread = spread(Matrix2::new(4.0, 0.0, 0.0, 9.0));
        let within = Angles { camber: 2.0 * SIGMAS_OF_95, toe: 3.0 };
        assert_relative_eq!(
            spread.probability_within(Angles::default(), within),
            0.95 * 0.682_689_492,
            epsilon = 1e-8
        );
    }

    /// A quadrant of two correlated normal variables: 1/4 + asin(r) / (2 pi) (W. F. Sheppard 1899, cited from memory).
    #[test]
    fn a_quadrant_has_its_closed_form() {
        let r = 0.6;
        let spread = spread(Matrix2::new(1.0, r, r, 1.0));
        // A box so wide that only the corner at the origin cuts: everything above zero in both.
        let probability = spread.probability_within([10.0; 2].into(), [10.0; 2].into());
        assert_relative_eq!(probability, 0.25 + r.asin() / (2.0 * std::f64::consts::PI), epsilon = 1e-6);
    }
}
