//! What comes by chance.

use crate::geometry::search::{Until, last_to_hold};

/// Standard deviations to either side that hold 95 of 100 normal errors.
pub const SIGMAS_OF_95: f64 = 1.959_963_984_540_054;

/// Errors that readings contradict are widened no further than so many times.
pub(crate) const WIDEST: f64 = 4.0;

/// What a mean of so many squares of standard normal errors exceeds in 1 of 1000 cases: the chi-squared law, by the
/// approximation of E. B. Wilson and M. M. Hilferty (1931, cited from memory).
pub(crate) fn rarely(count: f64) -> f64 {
    const ONE_OF_1000: f64 = 3.090_232_306;
    let part = 2.0 / (9.0 * count);
    (1.0 - part + ONE_OF_1000 * part.sqrt()).powi(3)
}

/// What holds 95 of 100 normal errors of which it is not known which of some standard deviations they have.
#[expect(clippy::cast_precision_loss, reason = "a count of deviations")]
pub(crate) fn half_width_of_95(sigmas: &[f64]) -> f64 {
    /// Part of the half-width to which it is found.
    const WITHIN: f64 = 1e-6;
    let most = SIGMAS_OF_95 * sigmas.iter().copied().fold(0.0, f64::max);
    let outside = |at: f64| {
        let each = sigmas.iter().map(|sigma| libm::erfc(at / (sigma * std::f64::consts::SQRT_2)));
        each.sum::<f64>() / sigmas.len() as f64
    };
    match sigmas {
        [_] => most,
        _ => last_to_hold(0.0, most, Until::Within(WITHIN * most), |at| outside(at) > 1.0 - 0.95),
    }
}

#[cfg(test)]
mod tests {
    use super::{SIGMAS_OF_95, half_width_of_95, rarely};
    use approx::assert_relative_eq;

    /// Of equal deviations 1.96 holds 95 of 100. Where half of all errors are ten times as wide, nearly all those outside are theirs:
    /// 9 of 10 of them are held by 1.645 of their deviations, and then all the others are (tables of the normal law).
    #[test]
    fn a_half_width_holds_95_of_100_of_mixed_errors() {
        assert_relative_eq!(half_width_of_95(&[2.0, 2.0]), 2.0 * SIGMAS_OF_95, max_relative = 2e-6);
        assert_relative_eq!(half_width_of_95(&[1.0, 10.0]), 16.448_536, max_relative = 2e-6);
    }

    /// Chi-squared tables: 13.816 for 2, 29.588 for 10, 59.703 for 30 degrees of freedom at 99.9 percent (common handbook
    /// values). Far out and for few degrees of freedom the approximation is 2 percent off, which no flag hangs on.
    #[test]
    fn the_approximation_is_that_of_the_tables() {
        assert_relative_eq!(2.0 * rarely(2.0), 13.816, max_relative = 0.025);
        assert_relative_eq!(10.0 * rarely(10.0), 29.588, max_relative = 0.007);
        assert_relative_eq!(30.0 * rarely(30.0), 59.703, max_relative = 0.002);
    }
}
