//! An arm as it lies on the bench, with the dimension to set and the way to turn it. Not to scale.

use std::f64::consts::TAU;

use crate::car::{Arm, Limit};
use crate::plan::ArmSetting;
use crate::report::number::{Units, turns};
use crate::report::plan::direction;
use crate::report::svg::{Anchor, Drawing, Mark, Pen};
use crate::report::words::{seen_from, turn_way};

const SIZE: [f64; 2] = [186.0, 42.0];
/// Middles of the eyes, and the body between them, mm of paper.
const EYES: [f64; 2] = [13.0, 105.0];
const BODY: [f64; 2] = [41.0, 77.0];
const AXIS: f64 = 24.5;
const EYE: f64 = 5.5;
const EDGE: Pen = Pen::plain(0.5);
const THIN: Pen = Pen::plain(0.2);
const TEXT: f64 = 3.6;
/// The turns are the largest thing on the sheet.
const TURNS: f64 = 12.0;

/// Draws an arm as an SVG element.
pub(super) fn arm_drawing(arm: &ArmSetting, fitted: &Arm, units: Units) -> String {
    let mut drawing =
        Drawing::new(SIZE, &format!("{}: {} turns {}", arm.link, turns(arm.turns), direction(arm.turns)));
    dimension(&mut drawing, arm, units);
    for (end, name) in ["subframe end", "knuckle end"].into_iter().enumerate() {
        let thread = fitted.threads.get(end).map(ToString::to_string);
        shank(&mut drawing, end, thread.is_some());
        drawing.mark([EYES[end], AXIS], Mark::Ring, EYE);
        drawing.mark([EYES[end], AXIS], Mark::Disc, 0.5);
        let (x, anchor) =
            if end == 0 { (EYES[0] - EYE, Anchor::Start) } else { (EYES[1] + EYE, Anchor::End) };
        drawing.text([x, AXIS + 10.5], anchor, TEXT, name);
        drawing.text([x, AXIS + 15.5], anchor, TEXT, &thread.unwrap_or_else(|| "no thread".to_owned()));
    }
    let [left, right] = BODY;
    let (top, bottom) = (AXIS - 4.0, AXIS + 4.0);
    drawing.fill([left, top], [right, bottom], 232);
    drawing
        .line(&[[left, top], [right, top], [right, bottom], [left, bottom], [left, top], [right, top]], EDGE);
    drawing.text([f64::midpoint(left, right), AXIS + 1.4], Anchor::Middle, 4.2, &arm.link);
    turn(&mut drawing, arm, fitted);
    drawing.inline()
}

/// The distance between the middles of the eyes, from the stock arm.
fn dimension(drawing: &mut Drawing, arm: &ArmSetting, units: Units) {
    const Y: f64 = 11.5;
    let [left, right] = EYES;
    for x in EYES {
        drawing.line(&[[x, Y - 2.0], [x, AXIS]], THIN);
    }
    drawing.line(&[[left, Y], [right, Y]], THIN);
    for (x, inward) in [(left, 1.0), (right, -1.0)] {
        drawing.polygon(&[[x, Y], [x + inward * 3.5, Y - 1.0], [x + inward * 3.5, Y + 1.0]]);
    }
    let middle = f64::midpoint(left, right);
    if arm.limit == Limit::Thread {
        drawing.text([middle, Y - 2.5], Anchor::Middle, 8.0, "DO NOT FIT");
    } else {
        // A length to look at; the turns beside it are what is set, and are larger.
        let change = units.added(arm.longer_mm);
        let target = match arm.bench.bench_mm {
            Some(length) => format!("{} {}", units.caliper(length), units.length_name()),
            None => format!("your stock arm{change}"),
        };
        drawing.text([middle, Y - 2.5], Anchor::Middle, 4.6, &target);
    }
    drawing.text([middle, Y + 4.6], Anchor::Middle, TEXT, "centre to centre");
}

/// What joins an eye to the body: a thread with its lock nut, or plain metal.
fn shank(drawing: &mut Drawing, end: usize, threaded: bool) {
    let (from, to) = if end == 0 { (EYES[0] + EYE, BODY[0]) } else { (BODY[1], EYES[1] - EYE) };
    for y in [AXIS - 2.0, AXIS + 2.0] {
        drawing.line(&[[from, y], [to, y]], EDGE);
    }
    if !threaded {
        return;
    }
    let mut x = from + 1.5;
    while x + 1.0 < to {
        drawing.line(&[[x, AXIS + 2.0], [x + 1.0, AXIS - 2.0]], THIN);
        x += 1.6;
    }
    let nut = if end == 0 { [to - 4.0, to] } else { [from, from + 4.0] };
    drawing.fill([nut[0], AXIS - 3.4], [nut[1], AXIS + 3.4], 255);
    let [a, b] = nut;
    let (top, bottom) = (AXIS - 3.4, AXIS + 3.4);
    drawing.line(&[[a, top], [b, top], [b, bottom], [a, bottom], [a, top], [b, top]], Pen::plain(0.35));
}

/// How many turns, and a round arrow the way they go.
fn turn(drawing: &mut Drawing, arm: &ArmSetting, fitted: &Arm) {
    const MIDDLE: [f64; 2] = [125.0, 16.0];
    const RADIUS: f64 = 8.0;
    let beside = MIDDLE[0] + RADIUS + 4.0;
    if arm.turns == 0.0 {
        drawing.text([beside - 20.0, 18.0], Anchor::Start, 7.0, "leave it as matched");
        return;
    }
    let way = turn_way(&fitted.threads, fitted.clockwise(), arm.turns > 0.0);
    // Down is plus on paper, so a growing angle goes clockwise.
    let sign = if way == "clockwise" { 1.0 } else { -1.0 };
    let at = |part: f64, radius: f64| {
        let angle = sign * part * TAU - TAU / 4.0;
        [MIDDLE[0] + radius * angle.cos(), MIDDLE[1] + radius * angle.sin()]
    };
    let arc: Vec<[f64; 2]> = (0..=40).map(|i| at(f64::from(i) / 50.0, RADIUS)).collect();
    drawing.line(&arc, Pen::plain(0.9));
    drawing.polygon(&[at(0.9, RADIUS), at(0.79, RADIUS + 2.4), at(0.79, RADIUS - 2.4)]);
    drawing.mark(MIDDLE, Mark::Disc, 1.0);
    drawing.text([beside, 14.0], Anchor::Start, TURNS, &turns(arm.turns));
    let unit = if arm.turns.abs() <= 1.0 { "turn" } else { "turns" };
    drawing.text([beside, 22.0], Anchor::Start, 6.0, &format!("{unit} {}", direction(arm.turns)));
    drawing.text([MIDDLE[0] - RADIUS, AXIS + 10.5], Anchor::Start, TEXT, &format!("{way},"));
    drawing.text([MIDDLE[0] - RADIUS, AXIS + 15.5], Anchor::Start, TEXT, seen_from(&fitted.threads));
}
