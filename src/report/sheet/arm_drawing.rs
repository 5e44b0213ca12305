//! An arm as it lies on the bench: what its ends are called, where it is measured, and the way to turn it. Not to scale.

use std::f64::consts::TAU;

use crate::car::{Arm, Hand, Twist};
use crate::report::page::Page;
use crate::report::svg::{Anchor, Drawing, Mark, Pen};
use crate::report::words::{listed, seen_from, turn_way};

/// Width, and height without the names of the arms, mm of paper.
const SIZE: [f64; 2] = [90.0, 31.5];
/// Middles of the eyes, and the body between them, mm of paper.
const EYES: [f64; 2] = [7.0, 83.0];
const BODY: [f64; 2] = [28.0, 62.0];
const AXIS: f64 = 15.5;
const EYE: f64 = 5.0;
const EDGE: Pen = Pen::plain(0.5);
const THIN: Pen = Pen::plain(0.2);
const TEXT: f64 = 3.1;

/// Arms that one drawing shows.
pub(super) struct DrawnArms<'a> {
    /// One of them.
    pub(super) arm: &'a Arm,
    /// Their links and sides.
    pub(super) of: Vec<(&'a str, Hand)>,
}

/// Draws every kind of arm once.
pub(super) fn arm_drawings(page: &mut Page, kinds: &[DrawnArms<'_>]) {
    for kind in kinds {
        page.picture(kind.drawing(kinds.len() == 1).inline());
    }
}

impl DrawnArms<'_> {
    /// The arms by their names, each with its side where the other one's is of another kind.
    fn names(&self) -> String {
        let mut names: Vec<String> = Vec::new();
        for (link, hand) in &self.of {
            let both = self.of.iter().filter(|(other, _)| other == link).count() > 1;
            let name = if both { (*link).to_owned() } else { format!("{link} ({hand})") };
            if !names.contains(&name) {
                names.push(name);
            }
        }
        listed(&names)
    }

    fn drawing(&self, only: bool) -> Drawing {
        let Self { arm, .. } = self;
        let names = if only { "every arm".to_owned() } else { self.names() };
        let [longer, shorter] = [true, false].map(|longer| turn_way(&arm.threads, arm.clockwise(), longer));
        let seen = seen_from(&arm.threads);
        let about = format!(
            "An arm with its subframe end on the left: turned {longer}, {seen}, it grows longer, turned {shorter} shorter. \
             Measured from the middle of one eye to the middle of the other."
        );
        let words = format!("{names} (not to scale)");
        let mut drawing = Drawing::new(SIZE, &format!("Arm on the bench: {}", self.names()), &about);
        let below = drawing.words([0.0, SIZE[1] - 1.0], SIZE[0], TEXT, &words);
        drawing.grow_to(below + 1.0);
        dimension(&mut drawing);
        for (end, name) in ["subframe end", "knuckle end"].into_iter().enumerate() {
            let thread = arm.threads.get(end);
            shank(&mut drawing, end, thread.is_some());
            drawing.mark([EYES[end], AXIS], Mark::Ring, EYE);
            drawing.mark([EYES[end], AXIS], Mark::Disc, 0.5);
            let (x, anchor) = if end == 0 { (0.0, Anchor::Start) } else { (SIZE[0], Anchor::End) };
            drawing.text([x, AXIS + 8.5], anchor, TEXT, name);
            let hand = match thread.map(|thread| thread.twist) {
                Some(Twist::Right) => "right-hand thread",
                Some(Twist::Left) => "left-hand thread",
                None => "no thread",
            };
            drawing.text([x, AXIS + 12.0], anchor, TEXT, hand);
        }
        let [left, right] = BODY;
        let (top, bottom) = (AXIS - 3.5, AXIS + 3.5);
        drawing.fill([left, top], [right, bottom], 232);
        drawing.line(
            &[[left, top], [right, top], [right, bottom], [left, bottom], [left, top], [right, top]],
            EDGE,
        );
        let middle = f64::midpoint(left, right);
        drawing.text([middle, AXIS + 1.2], Anchor::Middle, TEXT, &format!("longer: {longer}"));
        drawing.text([middle, AXIS + 8.5], Anchor::Middle, TEXT, seen);
        arrow(&mut drawing, longer == "clockwise");
        drawing
    }
}

/// The distance between the middles of the eyes.
fn dimension(drawing: &mut Drawing) {
    const Y: f64 = 5.5;
    let [left, right] = EYES;
    for x in EYES {
        drawing.line(&[[x, Y - 2.0], [x, AXIS]], THIN);
    }
    drawing.line(&[[left, Y], [right, Y]], THIN);
    for (x, inward) in [(left, 1.0), (right, -1.0)] {
        drawing.polygon(&[[x, Y], [x + inward * 3.0, Y - 0.9], [x + inward * 3.0, Y + 0.9]]);
    }
    drawing.text([f64::midpoint(left, right), Y - 1.5], Anchor::Middle, TEXT, "measured centre to centre");
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
    let nut = if end == 0 { [to - 3.5, to] } else { [from, from + 3.5] };
    drawing.fill([nut[0], AXIS - 3.0], [nut[1], AXIS + 3.0], 255);
    let [a, b] = nut;
    let (top, bottom) = (AXIS - 3.0, AXIS + 3.0);
    drawing.line(&[[a, top], [b, top], [b, bottom], [a, bottom], [a, top], [b, top]], Pen::plain(0.35));
}

/// A round arrow below the body, as the body is seen from its subframe end.
fn arrow(drawing: &mut Drawing, clockwise: bool) {
    const MIDDLE: [f64; 2] = [20.5, AXIS - 6.6];
    const RADIUS: f64 = 2.6;
    // Down is plus on paper, so a growing angle goes clockwise.
    let sign = if clockwise { 1.0 } else { -1.0 };
    let at = |part: f64, radius: f64| {
        let angle = sign * part * TAU - TAU / 4.0;
        [MIDDLE[0] + radius * angle.cos(), MIDDLE[1] + radius * angle.sin()]
    };
    let arc: Vec<[f64; 2]> = (0..=40).map(|i| at(f64::from(i) / 54.0, RADIUS)).collect();
    drawing.line(&arc, Pen::plain(0.6));
    drawing.polygon(&[at(0.92, RADIUS), at(0.74, RADIUS + 1.3), at(0.74, RADIUS - 1.3)]);
}
