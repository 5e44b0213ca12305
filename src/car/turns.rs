//! Turns of an arm as a workshop counts them.

/// The parts of a turn in which turns are told, the coarsest that fits first.
pub(crate) const PARTS: [f64; 11] = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0, 36.0];

/// Turns without their sign, to the nearest of so many parts of a turn: `1 11/12`, `1/4`, `2`.
pub(crate) fn mixed_turns(turns: f64, parts: f64) -> String {
    let count = (turns.abs() * parts).round();
    let (whole, rest) = ((count / parts).floor(), count % parts);
    match (whole > 0.0, rest > 0.0) {
        (_, false) => format!("{whole}"),
        (false, true) => format!("{rest}/{parts}"),
        (true, true) => format!("{whole} {rest}/{parts}"),
    }
}
