//! A panel with two axes, on a drawing.

use super::number::fixed;
use super::svg::{Anchor, Drawing, Pen};

/// Where figures lie on paper: a frame, and what its edges stand for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Panel {
    /// Left, top, right, bottom, mm of paper.
    pub(super) frame: [f64; 4],
    /// What the left and the right edge stand for.
    pub(super) across: [f64; 2],
    /// What the bottom and the top edge stand for.
    pub(super) up: [f64; 2],
}

const TEXT: f64 = 3.0;
const GRID: Pen = Pen::grey(0.12, 190);

impl Panel {
    /// A panel whose vertical axis holds all the values with some room.
    pub(super) fn around(frame: [f64; 4], across: [f64; 2], values: impl Iterator<Item = f64>) -> Self {
        let [low, high] =
            values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
        let [low, high] = if low <= high { [low, high] } else { [-1.0, 1.0] };
        let room = ((high - low) * 0.06).max(0.02);
        Self { frame, across, up: [low - room, high + room] }
    }

    /// Where a pair of figures lies on paper.
    pub(super) fn at(&self, x: f64, y: f64) -> [f64; 2] {
        let [left, top, right, bottom] = self.frame;
        let part = |value: f64, [from, to]: [f64; 2]| (value - from) / (to - from);
        [left + (right - left) * part(x, self.across), bottom + (top - bottom) * part(y, self.up)]
    }

    /// Draws grid, ticks and the names of both axes.
    pub(super) fn axes(&self, drawing: &mut Drawing, name: &str, below: Option<&str>) {
        let [left, top, right, bottom] = self.frame;
        for (tick, label) in ticks(self.across) {
            let [x, _] = self.at(tick, 0.0);
            drawing.line(&[[x, top], [x, bottom]], GRID);
            drawing.text([x, bottom + 4.2], Anchor::Middle, TEXT, &label);
        }
        for (tick, label) in ticks(self.up) {
            let [_, y] = self.at(0.0, tick);
            drawing.line(&[[left, y], [right, y]], GRID);
            drawing.text([left - 1.5, y + 1.0], Anchor::End, TEXT, &label);
        }
        drawing.frame([left, top], [right, bottom], Pen::plain(0.25));
        drawing.text_up([left - 13.0, f64::midpoint(top, bottom)], Anchor::Middle, TEXT + 0.4, name);
        if let Some(below) = below {
            drawing.text([f64::midpoint(left, right), bottom + 9.5], Anchor::Middle, TEXT + 0.4, below);
        }
    }
}

/// Round values between two ends, about eight of them, with their labels.
fn ticks([low, high]: [f64; 2]) -> Vec<(f64, String)> {
    const ABOUT: f64 = 8.0;
    let rough = (high - low) / ABOUT;
    let power = 10.0_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|part| part * power).find(|step| *step >= rough);
    let step = step.unwrap_or(rough);
    let decimals = if step >= 1.0 {
        0
    } else if step >= 0.1 {
        1
    } else {
        2
    };
    let first = (low / step).ceil();
    std::iter::successors(Some(first), |count| Some(count + 1.0))
        .map(|count| count * step)
        .take_while(|tick| *tick <= high + step * 1e-9)
        .take(50)
        .map(|tick| (tick, fixed(tick, decimals)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::ticks;

    #[test]
    fn ticks_are_round_and_inside() {
        let labels = |ends| ticks(ends).into_iter().map(|(_, label)| label).collect::<Vec<_>>();
        assert_eq!(labels([-125.0, 50.0]), ["-100", "-50", "0", "50"]);
        assert_eq!(labels([-0.02, 0.13]), ["-0.02", "0.00", "0.02", "0.04", "0.06", "0.08", "0.10", "0.12"]);
        assert_eq!(labels([-4.3, 1.1]), ["-4", "-3", "-2", "-1", "0", "1"]);
    }
}
