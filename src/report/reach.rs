//! What the stock cams reach, drawn: camber against toe, with the spec and what the wheel reads.

use super::chart::Panel;
use super::heading::lowering;
use super::number::{Units, signed};
use super::page::Page;
use super::svg::{Anchor, Drawing, Mark, Pen, spread};
use crate::car::{Car, Hand, PerSide, Stance};
use crate::plan::{CamVerdict, CamVerdictSide, Reading};

/// A sheet of A4, lying; half the width of one that stands.
const SHEET: [f64; 2] = [297.0, 210.0];
const HALF: [f64; 2] = [91.0, 104.0];
const TEXT: f64 = 3.0;
const EDGE: Pen = Pen::plain(0.5);
const BOX: Pen = Pen { width: 0.6, dash: "2.4 1.0", grey: 0 };

/// What is marked in the plane, with its mark.
const MARKED: [(Mark, &str); 3] = [
    (Mark::Triangle, "today, as it was read"),
    (Mark::Square, "lowered, nothing adjusted"),
    (Mark::Disc, "lowered, cams as they are told"),
];

/// Draws what the cams of both sides reach, as an SVG file.
pub(crate) fn reach_drawing(car: &Car, stance: &Stance, verdict: &CamVerdict, units: Units) -> String {
    let title = format!("{}: what the stock cams reach, {}", car.name, lowering(stance.drops, units));
    let mut drawing = Drawing::new(SHEET, &title, &about(&verdict.sides, units));
    drawing.text([12.0, 12.0], Anchor::Start, 5.0, &title);
    for (side, left) in verdict.sides.iter().zip([30.0, 176.0]) {
        drawing.text([left, 22.0], Anchor::Start, 4.0, &format!("{} wheel", side.side));
        let plane = Plane::of(car, verdict, side.side, [left, 26.0, left + 106.0, 164.0], units);
        plane.draw(&mut drawing, units);
    }
    legend(&mut drawing, [14.0, 182.0], [92.0, 5.0], 3);
    drawing.finish()
}

/// Draws the same on half the width of a sheet for each wheel; nothing on a terminal.
pub(super) fn put_reach(page: &mut Page, car: &Car, verdict: &CamVerdict, units: Units) {
    for side in &verdict.sides {
        let title = format!("What the stock cams reach, {}", side.side);
        let mut drawing = Drawing::new(HALF, &title, &about(&verdict.sides, units));
        drawing.text([0.0, 4.0], Anchor::Start, 4.0, &title);
        let frame = [19.0, 8.0, HALF[0] - 3.0, 74.0];
        Plane::of(car, verdict, side.side, frame, units).draw(&mut drawing, units);
        legend(&mut drawing, [1.0, 88.0], [0.0, 3.8], 1);
        page.picture(drawing.inline());
    }
}

/// What it shows, in words.
fn about(sides: &PerSide<CamVerdictSide>, units: Units) -> String {
    let of = |side: &CamVerdictSide| {
        let at = |reading: Reading| {
            let toe = units.toe.show(side.side, reading.toe_deg);
            format!("camber {}, toe {toe}", signed(reading.camber_deg, 2))
        };
        format!(
            "{} wheel: lowered it reads {}, with the cams {}; {}.",
            side.side,
            at(side.lowered),
            at(side.best.reading),
            if side.within_spec { "the cams reach the spec" } else { "the cams do not reach the spec" }
        )
    };
    format!("Camber against toe. {} {}", of(&sides.left), of(&sides.right))
}

/// The plane of camber and toe of a wheel on paper.
struct Plane<'a> {
    side: &'a CamVerdictSide,
    today: Reading,
    panel: Panel,
    units: Units,
}

/// What the wheel read as it was measured.
fn today(car: &Car, hand: Hand) -> Reading {
    let read = car.sides[hand].reading;
    Reading { camber_deg: read.camber.to_degrees(), toe_deg: read.toe.to_degrees() }
}

impl<'a> Plane<'a> {
    /// The plane of one wheel; both have one scale, so that they can be held against each other.
    fn of(car: &Car, verdict: &'a CamVerdict, hand: Hand, frame: [f64; 4], units: Units) -> Self {
        let mut cambers = Vec::new();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for side in &verdict.sides {
            let spec = &side.spec;
            let corners = [-1.0, 1.0].map(|sign| Reading {
                camber_deg: spec.camber_deg + sign * spec.camber_tolerance_deg,
                toe_deg: spec.toe_deg + sign * spec.toe_tolerance_deg,
            });
            let marked = [today(car, side.side), side.lowered, side.best.reading];
            for reading in side.reach.iter().copied().chain(corners).chain(marked) {
                let toe = units.toe.value(side.side, reading.toe_deg);
                (low, high) = (low.min(toe), high.max(toe));
                cambers.push(reading.camber_deg);
            }
        }
        let room = ((high - low) * 0.06).max(0.02);
        let panel = Panel::around(frame, [low - room, high + room], cambers.into_iter());
        Self { side: &verdict.sides[hand], today: today(car, hand), panel, units }
    }

    fn at(&self, hand: Hand, reading: Reading) -> [f64; 2] {
        self.panel.at(self.units.toe.value(hand, reading.toe_deg), reading.camber_deg)
    }

    fn draw(&self, drawing: &mut Drawing, units: Units) {
        let Self { side, today, panel, .. } = self;
        let at = |reading: Reading| self.at(side.side, reading);
        let below = format!("toe, {} (plus: toe-in)", units.toe.name());
        panel.axes(drawing, "camber, deg (minus: top in)", Some(&below));
        let spec = &side.spec;
        let corner = |camber: f64, toe: f64| {
            at(Reading {
                camber_deg: spec.camber_deg + camber * spec.camber_tolerance_deg,
                toe_deg: spec.toe_deg + toe * spec.toe_tolerance_deg,
            })
        };
        drawing.fill(corner(-1.0, -1.0), corner(1.0, 1.0), 225);
        let ends = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)];
        drawing.line(&ends.map(|(camber, toe)| corner(camber, toe)), BOX);
        let mut outline: Vec<[f64; 2]> = side.reach.iter().copied().map(at).collect();
        outline.extend(outline.first().copied());
        drawing.line(&outline, EDGE);
        for mark in &side.reach_marks {
            let [x, y] = at(mark.reading);
            drawing.mark([x, y], Mark::Ring, if mark.marks == 0 { 1.0 } else { 0.6 });
        }
        self.names(drawing);
        for ((mark, _), reading) in MARKED.into_iter().zip([*today, side.lowered, side.best.reading]) {
            drawing.mark(at(reading), mark, 1.6);
        }
    }

    /// Each cam's name at the middle of an edge along which it alone turns.
    fn names(&self, drawing: &mut Drawing) {
        let [left, top, right, bottom] = self.panel.frame;
        let mut named: Vec<(&str, [f64; 2])> = Vec::new();
        for mark in self.side.reach_marks.iter().filter(|mark| mark.marks == 0) {
            if named.iter().all(|(name, _)| *name != mark.link) {
                named.push((&mark.link, self.at(self.side.side, mark.reading)));
            }
        }
        let wanted: Vec<f64> = named.iter().map(|(_, [_, y])| *y).collect();
        let places = spread(&wanted, TEXT + 1.0, [top + 4.0, bottom - 1.0]);
        for ((name, [x, y]), place) in named.into_iter().zip(places) {
            let in_the_right_half = x > f64::midpoint(left, right);
            let (dx, anchor) = if in_the_right_half { (-3.0, Anchor::End) } else { (3.0, Anchor::Start) };
            drawing.line(&[[x, y], [x + dx, place - 1.0]], Pen::grey(0.15, 90));
            drawing.text([x + dx, place], anchor, TEXT, &format!("{name} cam turns"));
        }
    }
}

/// What the marks and lines mean, so many in a row and so far apart, mm.
fn legend(drawing: &mut Drawing, [left, top]: [f64; 2], [across, down]: [f64; 2], row: usize) {
    let mut entries: Vec<(Option<Mark>, &str)> = MARKED.map(|(mark, words)| (Some(mark), words)).to_vec();
    entries.push((Some(Mark::Ring), "a mark of the cam; larger: its middle"));
    entries.push((None, "dashed box: within the spec"));
    let (mut x, mut y) = (left, top);
    for (number, (mark, words)) in (1..).zip(entries) {
        match mark {
            Some(Mark::Ring) => drawing.mark([x + 1.0, y - 1.0], Mark::Ring, 0.8),
            Some(mark) => drawing.mark([x + 1.0, y - 1.0], mark, 1.4),
            None => drawing.line(&[[x - 1.0, y - 1.0], [x + 3.0, y - 1.0]], BOX),
        }
        drawing.text([x + 4.0, y], Anchor::Start, TEXT, words);
        x += across;
        if number % row == 0 {
            x = left;
            y += down;
        }
    }
}
