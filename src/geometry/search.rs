//! Searches along a line: where something changes, and where it is least.

/// When a search by halves is over.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Until {
    /// The ends are no further apart than this.
    Within(f64),
    /// So many halves were taken.
    Halved(usize),
}

/// Halves the stretch between two places, `at` on the line, that differ in something. `look` goes from the first place to a middle
/// and says whether that is like the first; where it finds nothing there the search ends.
pub(crate) fn halve<T>(
    mut ends: [T; 2],
    until: Until,
    at: impl Fn(&T) -> f64,
    mut look: impl FnMut(&T, f64) -> Option<(T, bool)>,
) -> [T; 2] {
    let mut halved = 0;
    loop {
        let [from, to] = ends.each_ref().map(&at);
        let goes_on = match until {
            Until::Within(within) => (to - from).abs() > within,
            Until::Halved(times) => halved < times,
        };
        let middle = if goes_on { look(&ends[0], f64::midpoint(from, to)) } else { None };
        match middle {
            Some((middle, true)) => ends[0] = middle,
            Some((middle, false)) => ends[1] = middle,
            None => return ends,
        }
        halved += 1;
    }
}

/// Between a place where something holds and one where it does not, the last at which it does.
pub(crate) fn last_to_hold(holds: f64, fails: f64, until: Until, mut test: impl FnMut(f64) -> bool) -> f64 {
    halve([holds, fails], until, |place| *place, |_, middle| Some((middle, test(middle))))[0]
}

/// The least of a value with one valley between two places, by golden sections: no slope is asked for, so that it may have
/// kinks. The stretch that is left, and of the places looked at the best with its value.
pub(crate) fn least(
    [mut low, mut high]: [f64; 2],
    within: f64,
    value: impl Fn(f64) -> f64,
) -> ([f64; 2], (f64, f64)) {
    // (sqrt(5) - 1) / 2
    const PART: f64 = 0.618_033_988_749_894_9;
    let at = |place: f64| (place, value(place));
    let mut first = at(high - PART * (high - low));
    let mut second = at(low + PART * (high - low));
    while high - low > within {
        if first.1 <= second.1 {
            (high, second) = (second.0, first);
            first = at(high - PART * (high - low));
        } else {
            (low, first) = (first.0, second);
            second = at(low + PART * (high - low));
        }
    }
    ([low, high], if first.1 <= second.1 { first } else { second })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn golden_sections_find_the_floor_of_a_valley() {
        for (value, floor) in
            [((|x: f64| (x - 1.25).powi(2)) as fn(f64) -> f64, 1.25), (|x| (x - 5.0).abs(), 3.0)]
        {
            let ([low, high], (best, floor_value)) = least([0.0, 3.0], 1e-4, value);
            assert!(high - low <= 1e-4);
            assert_relative_eq!(f64::midpoint(low, high), floor, epsilon = 1e-4);
            assert_relative_eq!(value(best), floor_value);
        }
    }

    #[test]
    fn halving_ends_where_something_changes_or_nothing_is_found() {
        let root = |until| last_to_hold(0.0, 2.0, until, |x| x * x <= 2.0);
        assert_relative_eq!(root(Until::Within(1e-9)), 2.0_f64.sqrt(), epsilon = 1e-9);
        assert_relative_eq!(root(Until::Halved(60)), 2.0_f64.sqrt(), max_relative = 1e-15);
        assert!(root(Until::Within(1e-9)) <= 2.0_f64.sqrt());
        // From the other side.
        assert!(last_to_hold(2.0, 0.0, Until::Within(1e-9), |x| x * x >= 2.0) >= 2.0_f64.sqrt());
        let lost = halve([0.0, 1.0], Until::Within(1e-9), |x| *x, |_, x| (x > 0.2).then_some((x, false)));
        assert_relative_eq!(lost[..], [0.0, 0.25][..]);
    }
}
