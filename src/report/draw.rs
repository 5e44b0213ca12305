//! The links of one wheel, drawn to scale from behind and from above.

use super::heading::lowering;
use super::number::{NamedLength, Units, fixed};
use super::page::{Page, Printable};
use super::svg::{Anchor, Drawing, Mark, Pen, spread};
use super::words::alike;
use crate::car::{Car, Hand, PerSide};
use crate::plan::{LinkEnds, Outline, OutlineSide, OutlineState};

/// The scales a drawing may have, as `1 : n`.
const SCALES: [f64; 10] = [2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0];
/// By how much more what moves may be drawn to move.
const TIMES: [f64; 4] = [10.0, 5.0, 3.0, 2.0];
const TEXT: f64 = 3.0;
const SMALL: f64 = 2.6;

/// Which way the car is looked at.
#[derive(Clone, Copy, PartialEq)]
enum From {
    Behind,
    Above,
}

impl From {
    const BOTH: [Self; 2] = [Self::Behind, Self::Above];

    fn name(self) -> &'static str {
        match self {
            Self::Behind => "from behind",
            Self::Above => "from above, front of the car up",
        }
    }

    /// Across and down on paper: either way the left of the car is on the left.
    fn flat(self, [x, y, z]: [f64; 3]) -> [f64; 2] {
        match self {
            Self::Behind => [-y, -z],
            Self::Above => [-y, -x],
        }
    }

    /// The wheel's middle plane as a line, and the corners of the tyre where they are known.
    fn wheel(self, outline: &Outline) -> (Option<[[f64; 3]; 4]>, [[f64; 3]; 2]) {
        match self {
            Self::Behind => {
                (outline.tyre.as_ref().map(|tyre| tyre.behind_mm), [outline.top_mm, outline.contact_mm])
            }
            Self::Above => (outline.tyre.as_ref().map(|tyre| tyre.above_mm), outline.front_rear_mm),
        }
    }
}

/// Where a view lies, mm of paper.
#[derive(Clone, Copy)]
struct Room {
    left: f64,
    top: f64,
    size: [f64; 2],
    /// Room for labels inboard of it.
    labels: f64,
}

/// A sheet of A4, lying; its views, and the line of its legend.
const SHEET: [f64; 2] = [297.0, 210.0];
const LEGEND: f64 = 192.0;
/// Half the width of a sheet that stands.
const HALF: [f64; 2] = [91.0, 104.0];

fn on_the_sheet(from: From) -> Room {
    let left = if from == From::Behind { 12.0 } else { 154.0 };
    Room { left, top: 30.0, size: [102.0, 150.0], labels: 32.0 }
}

/// How a state is drawn: its name, its pen, and the marks of its pivots.
fn style(state: OutlineState) -> (&'static str, Pen, Mark) {
    match state {
        OutlineState::Measured => ("as measured", Pen { width: 0.35, dash: "0.8 0.9", grey: 0 }, Mark::Ring),
        OutlineState::Lowered => {
            ("lowered, nothing adjusted", Pen { width: 0.35, dash: "3 1", grey: 0 }, Mark::Square)
        }
        // Broad and grey, so that the others are seen where they lie on it.
        OutlineState::Planned => ("planned", Pen::grey(1.3, 165), Mark::Disc),
    }
}

/// A side as it is seen, and where it lies on paper.
struct SideView<'a> {
    side: &'a OutlineSide,
    from: From,
    room: Room,
    /// What lies in the middle of its room.
    middle: [f64; 2],
    scale: f64,
    /// How many times larger than it is everything's way from where it was measured is drawn.
    times: f64,
}

impl<'a> SideView<'a> {
    fn new(side: &'a OutlineSide, from: From, room: Room, scale: f64) -> Self {
        // A mm on paper is seen; what hardly moves lies on itself, and its way is drawn larger.
        let far = side.outlines.iter().flat_map(|outline| ways(&side.outlines[0], outline, from));
        let far = far.fold(0.0, f64::max) / scale;
        let times = if far > 4.0 { None } else { TIMES.into_iter().find(|times| far * times < 9.0) };
        let mut view = Self { side, from, room, middle: [0.0; 2], scale, times: times.unwrap_or(1.0) };
        let [low, high] = view.bounds();
        view.middle = [0, 1].map(|k| f64::midpoint(low[k], high[k]));
        view
    }

    /// The largest scale at which every view fits its room.
    fn scale(side: &OutlineSide, rooms: [Room; 2]) -> f64 {
        let fits = |scale: &f64| {
            From::BOTH.into_iter().zip(rooms).all(|(from, room)| {
                let [low, high] = SideView::new(side, from, room, *scale).bounds();
                (0..2).all(|k| (high[k] - low[k]) / scale <= room.size[k])
            })
        };
        SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1])
    }

    /// A point of a state that was elsewhere as measured, across and down, mm of the car.
    fn flat(&self, measured: [f64; 3], now: [f64; 3]) -> [f64; 2] {
        let (was, is) = (self.from.flat(measured), self.from.flat(now));
        [0, 1].map(|k| was[k] + (is[k] - was[k]) * self.times)
    }

    fn at(&self, measured: [f64; 3], now: [f64; 3]) -> [f64; 2] {
        let flat = self.flat(measured, now);
        // The labels stand inboard: on the right of a left wheel.
        let beside = if self.side.side == Hand::Left { 0.0 } else { self.room.labels };
        let left = [self.room.left + beside, self.room.top];
        [0, 1].map(|k| left[k] + self.room.size[k] / 2.0 + (flat[k] - self.middle[k]) / self.scale)
    }

    fn measured(&self) -> &'a Outline {
        &self.side.outlines[0]
    }

    fn bounds(&self) -> [[f64; 2]; 2] {
        let all = self.side.outlines.iter().flat_map(|outline| {
            let before = points(self.measured(), self.from);
            before.into_iter().zip(points(outline, self.from)).map(|(was, is)| self.flat(was, is))
        });
        all.fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], point| {
            [[0, 1].map(|k| low[k].min(point[k])), [0, 1].map(|k| high[k].max(point[k]))]
        })
    }

    /// Everything of the view, its name above it.
    fn draw(&self, drawing: &mut Drawing, units: Units) {
        let Self { side, from, room, times, .. } = self;
        drawing.text([room.left, room.top - 5.0], Anchor::Start, 4.0, from.name());
        if *times > 1.0 {
            let words =
                format!("what moves is drawn to move {} times as far: not to scale", fixed(*times, 0));
            drawing.text([room.left, room.top - 1.0], Anchor::Start, SMALL, &words);
        }
        for outline in side.outlines.iter().rev() {
            self.state(drawing, outline);
        }
        if *from == From::Behind {
            self.floors(drawing);
        }
        self.labels(drawing, units);
    }

    fn state(&self, drawing: &mut Drawing, outline: &Outline) {
        let (_, pen, mark) = style(outline.state);
        let before = self.measured();
        let ((tyre, plane), (tyre_was, plane_was)) = (self.from.wheel(outline), self.from.wheel(before));
        if let (Some(tyre), Some(was)) = (tyre, tyre_was) {
            let corners = [0, 1, 2, 3, 0].map(|k| self.at(was[k], tyre[k]));
            drawing.line(&corners, Pen { width: pen.width.min(0.7), ..pen });
            if outline.state == OutlineState::Measured {
                // Beside the upper outer corner, where no link is.
                let [x, y] = corners[if self.from == From::Behind { 0 } else { 2 }];
                let (dx, anchor) =
                    if self.side.side == Hand::Left { (1.5, Anchor::Start) } else { (-1.5, Anchor::End) };
                drawing.text([x + dx, y + 4.0], anchor, SMALL, "tyre");
            }
        }
        let plane = [0, 1].map(|k| self.at(plane_was[k], plane[k]));
        drawing.line(&plane, Pen { width: 0.2, ..pen });
        if self.from == From::Behind {
            // The floor under the wheel, which is the same lowered and planned.
            let ([x, y], reach) = (plane[1], self.floor_reach());
            drawing.line(&[[x - reach, y], [x + reach, y]], Pen { width: 0.25, grey: 0, ..pen });
        }
        for (link, was) in outline.links.iter().zip(&before.links) {
            let ends = self.ends(was, link);
            drawing.line(&ends, pen);
            drawing.mark(ends[1], mark, 0.9);
            drawing.mark(ends[0], Mark::Disc, 0.9);
        }
        drawing.mark(self.at(before.centre_mm, outline.centre_mm), Mark::Cross, 1.2);
    }

    fn ends(&self, was: &LinkEnds, link: &LinkEnds) -> [[f64; 2]; 2] {
        [self.at(was.subframe_mm, link.subframe_mm), self.at(was.knuckle_mm, link.knuckle_mm)]
    }

    /// How far to either side of the wheel's middle the floor is drawn: beyond the tyre.
    fn floor_reach(&self) -> f64 {
        let (tyre, [_, contact]) = self.from.wheel(self.measured());
        let middle = self.at(contact, contact)[0];
        let beyond = tyre.into_iter().flatten().map(|corner| (self.at(corner, corner)[0] - middle).abs());
        beyond.fold(8.0, f64::max) + 4.0
    }

    /// The names of the floors, inboard of the wheel.
    fn floors(&self, drawing: &mut Drawing) {
        let Self { side, room, .. } = self;
        let named: Vec<&Outline> =
            side.outlines.iter().filter(|outline| outline.state != OutlineState::Planned).collect();
        let before = self.measured().contact_mm;
        let contacts: Vec<[f64; 2]> =
            named.iter().map(|outline| self.at(before, outline.contact_mm)).collect();
        let wanted: Vec<f64> = contacts.iter().map(|[_, y]| y + 1.0).collect();
        let places = spread(&wanted, SMALL + 0.8, [room.top, room.top + room.size[1] + 4.0]);
        for ((outline, [x, _]), place) in named.into_iter().zip(contacts).zip(places) {
            let (name, ..) = style(outline.state);
            let beside = self.floor_reach() + 1.0;
            let (x, anchor) =
                if side.side == Hand::Left { (x + beside, Anchor::Start) } else { (x - beside, Anchor::End) };
            let name = name.split(',').next().unwrap_or(name);
            drawing.text([x, place], anchor, SMALL, &format!("floor, {name}"));
        }
    }

    /// The links' names beside the pivots on the subframe, and by how much each arm is set longer or shorter.
    fn labels(&self, drawing: &mut Drawing, units: Units) {
        const LINE: f64 = TEXT * 1.15;
        let Self { side, room, .. } = self;
        let Some(last) = side.outlines.last() else { return };
        let left = side.side == Hand::Left;
        let inboard = if left { room.left + room.size[0] + 5.0 } else { room.left + room.labels - 5.0 };
        let names: Vec<Vec<String>> = (last.links.iter())
            .map(|link| {
                let mut lines = Drawing::lines(room.labels - 5.0, TEXT, &link.link);
                if !alike(link.longer_mm, 0.0) {
                    let name = units.length_name();
                    lines.push(format!("{} {name}", units.length_signed(link.longer_mm)));
                }
                lines
            })
            .collect();
        let most = names.iter().map(Vec::len).max().unwrap_or(1);
        let apart = LINE * f64::from(u8::try_from(most).unwrap_or(1)) + 0.6;
        let links = last.links.iter().zip(&self.measured().links);
        let pivots: Vec<[f64; 2]> = links.map(|(link, was)| self.ends(was, link)[0]).collect();
        let wanted: Vec<f64> = pivots.iter().map(|[_, y]| *y).collect();
        let places = spread(&wanted, apart, [room.top, room.top + room.size[1] - apart + LINE]);
        for ((lines, [x, y]), place) in names.iter().zip(pivots).zip(places) {
            let toward = if left { -1.0 } else { 1.0 };
            drawing.line(&[[x - toward * 1.2, y], [inboard + toward, place - 1.0]], Pen::grey(0.15, 90));
            let anchor = if left { Anchor::Start } else { Anchor::End };
            let mut foot = place;
            for line in lines {
                drawing.text([inboard, foot], anchor, TEXT, line);
                foot += LINE;
            }
        }
    }
}

/// How far each point of a state is from where it was measured, as it is seen, mm.
fn ways(measured: &Outline, outline: &Outline, from: From) -> Vec<f64> {
    let both = points(measured, from).into_iter().zip(points(outline, from));
    both.map(|(was, is)| {
        let [a, b] = [from.flat(was), from.flat(is)];
        (a[0] - b[0]).hypot(a[1] - b[1])
    })
    .collect()
}

/// Every point of a state that is drawn.
fn points(outline: &Outline, from: From) -> Vec<[f64; 3]> {
    let (tyre, plane) = from.wheel(outline);
    let links = outline.links.iter().flat_map(|link| [link.subframe_mm, link.knuckle_mm]);
    links.chain(plane).chain(tyre.into_iter().flatten()).collect()
}

/// What a drawing of a side shows, in words.
fn about(side: &OutlineSide, units: Units) -> String {
    let last = side.outlines.last().map_or(&[][..], |last| &last.links);
    let set = last.iter().filter(|link| !alike(link.longer_mm, 0.0));
    let set: Vec<String> = set
        .map(|link| format!("{} {} {}", link.link, units.length_signed(link.longer_mm), units.length_name()))
        .collect();
    let set = if set.is_empty() {
        "no arm is changed".to_owned()
    } else {
        format!("changed arms: {}", set.join(", "))
    };
    format!(
        "The {} wheel with its links, tyre and floor: as measured, lowered, and planned; {set}.",
        side.side
    )
}

/// Draws one side as an SVG file.
pub(crate) fn outline_drawing(car: &Car, side: &OutlineSide, units: Units) -> String {
    let title =
        format!("{}: {} rear wheel, {}", car.name, side.side, lowering(PerSide::both(side.drop_mm), units));
    let mut drawing = Drawing::new(SHEET, &title, &about(side, units));
    drawing.text([12.0, 12.0], Anchor::Start, 5.0, &title);
    let scale = SideView::scale(side, From::BOTH.map(on_the_sheet));
    for from in From::BOTH {
        SideView::new(side, from, on_the_sheet(from), scale).draw(&mut drawing, units);
    }
    legend(&mut drawing, side, [12.0, LEGEND], 68.0);
    bar(&mut drawing, [SHEET[0] - 14.0, LEGEND], scale, units);
    drawing.text(
        [12.0, 202.0],
        Anchor::Start,
        TEXT,
        &format!(
            "Scale 1 : {} on A4, printed at full size. {HELD_STILL}",
            fixed(scale, usize::from(scale.fract() != 0.0))
        ),
    );
    let links = &car.sides[side.side].links;
    if links.iter().any(|link| link.bar(true).is_some_and(|bar| bar.bend.is_some())) {
        drawing.text([12.0, 206.5], Anchor::Start, TEXT, STRAIGHT);
    }
    drawing.finish()
}

/// One side, each view on half the width of a sheet of paper; nothing on a terminal.
#[derive(Debug)]
pub(crate) struct OutlinePage<'a> {
    /// What is drawn.
    pub(crate) side: &'a OutlineSide,
    /// The unit of lengths.
    pub(crate) units: Units,
}

impl Printable for OutlinePage<'_> {
    fn put(&self, page: &mut Page) {
        let Self { side, units } = *self;
        let room = Room { left: 0.0, top: 15.0, size: [58.0, 72.0], labels: 33.0 };
        let scale = SideView::scale(side, [room; 2]);
        for from in From::BOTH {
            let title = format!("{} rear wheel, {}", side.side, lowering(PerSide::both(side.drop_mm), units));
            let mut drawing = Drawing::new(HALF, &format!("{title}, {}", from.name()), &about(side, units));
            drawing.text([0.0, 4.0], Anchor::Start, 4.0, &title);
            SideView::new(side, from, room, scale).draw(&mut drawing, units);
            legend(&mut drawing, side, [1.0, 94.0], 0.0);
            bar(&mut drawing, [HALF[0] - 4.0, 98.0], scale, units);
            page.picture(drawing.inline());
        }
    }
}

/// What the drawings of a page leave out.
pub(super) const HELD_STILL: &str =
    "The subframe is held still: the floor comes up and the wheel with it. A cross is the wheel centre.";

const STRAIGHT: &str = "Every link is drawn straight, pivot to pivot; a bent arm stands off that line.";

/// What the lines mean: beside each other so far apart, or below each other.
fn legend(drawing: &mut Drawing, side: &OutlineSide, [left, top]: [f64; 2], apart: f64) {
    let (mut x, mut y) = (left, top);
    for outline in &side.outlines {
        let (name, pen, mark) = style(outline.state);
        drawing.line(&[[x, y], [x + 14.0, y]], pen);
        drawing.mark([x, y], mark, 0.9);
        drawing.mark([x + 14.0, y], mark, 0.9);
        drawing.text([x + 17.0, y + 1.0], Anchor::Start, TEXT, name);
        x += apart;
        y += if apart > 0.0 { 0.0 } else { 4.0 };
    }
}

/// A length to scale, its right end at a point.
fn bar(drawing: &mut Drawing, [right, y]: [f64; 2], scale: f64, units: Units) {
    let NamedLength { name, mm } = units.bar();
    let bar = mm / scale;
    drawing.line(&[[right - bar, y - 1.0], [right - bar, y], [right, y], [right, y - 1.0]], Pen::plain(0.3));
    drawing.text([right - bar / 2.0, y + 4.0], Anchor::Middle, TEXT, name);
}
