//! What comes by chance.

/// Standard deviations to either side that hold 95 of 100 normal errors.
pub const SIGMAS_OF_95: f64 = 1.959_963_984_540_054;

/// Errors that readings contradict are widened no further than so many times.
pub const WIDEST: f64 = 4.0;

/// What a mean of so many squares of standard normal errors exceeds in 1 of 1000 cases: the chi-squared law, by the
/// approximation of E. B. Wilson and M. M. Hilferty (1931, cited from memory).
pub fn rarely(count: f64) -> f64 {
    const ONE_OF_1000: f64 = 3.090_232_306;
    let part = 2.0 / (9.0 * count);
    (1.0 - part + ONE_OF_1000 * part.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    use super::rarely;
    use approx::assert_relative_eq;

    /// Chi-squared tables: 13.816 for 2, 29.588 for 10, 59.703 for 30 degrees of freedom at 99.9 percent (common handbook
    /// values). Far out and for few degrees of freedom the approximation is 2 percent off, which no flag hangs on.
    #[test]
    fn the_approximation_is_that_of_the_tables() {
        assert_relative_eq!(2.0 * rarely(2.0), 13.816, max_relative = 0.025);
        assert_relative_eq!(10.0 * rarely(10.0), 29.588, max_relative = 0.007);
        assert_relative_eq!(30.0 * rarely(30.0), 59.703, max_relative = 0.002);
    }
}
