//! The links of one wheel, drawn to scale from behind and from above.

use super::heading::lowering;
use super::number::{Named, Units, fixed};
use super::page::{Page, Printable};
use super::svg::{Anchor, Drawing, Mark, Pen, spread};
use crate::car::{Car, Hand, PerSide};
use crate::plan::{LinkEnds, Outline, OutlineSide, State};

/// The scales a drawing may have, as `1 : n`.
const SCALES: [f64; 10] = [2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0];
/// Width of the room for labels inboard of a view, mm of paper.
const LABELS: f64 = 30.0;

/// Where the parts of a drawing lie, mm of paper.
struct Layout {
    size: [f64; 2],
    /// Room for a view, width and height.
    room: [f64; 2],
    /// Left edges of both views with their labels, and their upper edge.
    left: [f64; 2],
    top: f64,
    /// The middle of the title, of the views' names and of the legend.
    lines: [f64; 3],
    /// Between the entries of the legend.
    apart: f64,
}

/// A sheet of A4, lying.
const SHEET: Layout = Layout {
    size: [297.0, 210.0],
    room: [104.0, 152.0],
    left: [12.0, 154.0],
    top: 30.0,
    lines: [12.0, 24.0, 192.0],
    apart: 68.0,
};

/// Half a sheet that stands, inside its margins.
const HALF: Layout = Layout {
    size: [186.0, 114.0],
    room: [60.0, 80.0],
    left: [0.0, 94.0],
    top: 17.0,
    lines: [5.0, 13.0, 106.0],
    apart: 58.0,
};
const TEXT: f64 = 3.0;

/// How a state is drawn: its name, its pen, and the marks of its pivots.
fn style(state: State) -> (&'static str, Pen, Mark) {
    match state {
        State::Measured => ("as measured", Pen { width: 0.35, dash: "0.8 0.9", grey: 0 }, Mark::Ring),
        State::Lowered => {
            ("lowered, nothing adjusted", Pen { width: 0.35, dash: "3 1", grey: 0 }, Mark::Square)
        }
        // Broad and grey, so that the others are seen where they lie on it.
        State::Planned => ("planned", Pen::grey(1.3, 165), Mark::Disc),
    }
}

/// A view: which way the car is looked at, and where it lies on paper.
struct View {
    /// Across and down on paper, from a point of the car.
    flat: fn([f64; 3]) -> [f64; 2],
    /// What lies at the paper's origin of this view.
    corner: [f64; 2],
    /// Where that is on paper.
    paper: [f64; 2],
    scale: f64,
}

impl View {
    fn at(&self, point: [f64; 3]) -> [f64; 2] {
        let flat = (self.flat)(point);
        [0, 1].map(|i| self.paper[i] + (flat[i] - self.corner[i]) / self.scale)
    }
}

/// Draws one side as an SVG file.
pub fn outline_drawing(car: &Car, side: &OutlineSide, units: Units) -> String {
    let title =
        format!("{}: {} rear wheel, {}", car.name, side.side, lowering(PerSide::both(side.drop_mm), units));
    let (mut drawing, scale) = views(&title, side, &SHEET, units);
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

/// One side, drawn on half a sheet of paper; nothing on a terminal.
#[derive(Debug)]
pub struct OutlinePage<'a> {
    /// What is drawn.
    pub side: &'a OutlineSide,
    /// The unit of lengths.
    pub units: Units,
}

impl Printable for OutlinePage<'_> {
    fn put(&self, page: &mut Page) {
        let Self { side, units } = *self;
        let title = format!("{} rear wheel, {}", side.side, lowering(PerSide::both(side.drop_mm), units));
        let (mut drawing, _) = views(&title, side, &HALF, units);
        drawing.text([0.0, 112.5], Anchor::Start, TEXT, HELD_STILL);
        page.picture(drawing.inline());
    }
}

const HELD_STILL: &str =
    "The subframe is held still: the floor comes up and the wheel with it. A cross is the wheel centre.";

const STRAIGHT: &str = "Every link is drawn straight, pivot to pivot; a bent arm stands off that line.";

/// Both views of a side, and the scale they are drawn to.
fn views(title: &str, side: &OutlineSide, layout: &Layout, units: Units) -> (Drawing, f64) {
    let Layout { size, room, left, top, lines: [title_line, name_line, _], .. } = *layout;
    let mut drawing = Drawing::new(size, title);
    drawing.text([left[0], title_line], Anchor::Start, 5.0, title);
    // From behind and from above the left of the car is on the left of the paper.
    let flats: [fn([f64; 3]) -> [f64; 2]; 2] = [|[_, y, z]| [-y, -z], |[x, y, _]| [-y, -x]];
    let names = ["from behind", "from above, front of the car up"];
    let scale = SCALES
        .into_iter()
        .find(|scale| flats.iter().all(|flat| fits(side, *flat, *scale, room)))
        .unwrap_or(SCALES[SCALES.len() - 1]);
    // The labels stand inboard: on the right of a left wheel.
    let beside = if side.side == Hand::Left { 0.0 } else { LABELS };
    for (i, (flat, name)) in flats.into_iter().zip(names).enumerate() {
        let [low, high] = bounds(side, flat);
        // In the middle of its room.
        let corner = [0, 1].map(|k| f64::midpoint(low[k], high[k]));
        let paper = [left[i] + beside + room[0] / 2.0, top + room[1] / 2.0];
        let view = View { flat, corner, paper, scale };
        drawing.text([left[i], name_line], Anchor::Start, 4.0, name);
        for outline in side.outlines.iter().rev() {
            draw(&mut drawing, &view, outline, i == 0);
        }
        if i == 0 {
            floors(&mut drawing, &view, side, layout);
        }
        labels(&mut drawing, &view, side, left[i] + beside, layout);
    }
    legend(&mut drawing, side, scale, layout, units);
    (drawing, scale)
}

/// Every point of a side that is drawn.
fn points(side: &OutlineSide) -> impl Iterator<Item = [f64; 3]> + '_ {
    side.outlines.iter().flat_map(|outline| {
        let Outline { links, contact_mm, top_mm, front_rear_mm: [front, rear], .. } = outline;
        let wheel = [*contact_mm, *top_mm, *front, *rear];
        links.iter().flat_map(|link| [link.subframe_mm, link.knuckle_mm]).chain(wheel)
    })
}

fn bounds(side: &OutlineSide, flat: fn([f64; 3]) -> [f64; 2]) -> [[f64; 2]; 2] {
    points(side).map(flat).fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], point| {
        [[0, 1].map(|k| low[k].min(point[k])), [0, 1].map(|k| high[k].max(point[k]))]
    })
}

fn fits(side: &OutlineSide, flat: fn([f64; 3]) -> [f64; 2], scale: f64, room: [f64; 2]) -> bool {
    let [low, high] = bounds(side, flat);
    (0..2).all(|k| (high[k] - low[k]) / scale <= room[k])
}

fn draw(drawing: &mut Drawing, view: &View, outline: &Outline, upright: bool) {
    let (_, pen, mark) = style(outline.state);
    let [front, rear] = outline.front_rear_mm;
    let (a, b) = if upright { (outline.top_mm, outline.contact_mm) } else { (front, rear) };
    drawing.line(&[view.at(a), view.at(b)], pen);
    if upright {
        // The floor under the wheel, which is the same lowered and planned.
        let [x, y] = view.at(outline.contact_mm);
        drawing.line(&[[x - 8.0, y], [x + 8.0, y]], Pen { width: 0.25, grey: 0, ..pen });
    }
    for LinkEnds { subframe_mm, knuckle_mm, .. } in &outline.links {
        drawing.line(&[view.at(*subframe_mm), view.at(*knuckle_mm)], pen);
    }
    for LinkEnds { subframe_mm, knuckle_mm, .. } in &outline.links {
        drawing.mark(view.at(*knuckle_mm), mark, 0.9);
        drawing.mark(view.at(*subframe_mm), Mark::Disc, 0.9);
    }
    drawing.mark(view.at(outline.centre_mm), Mark::Cross, 1.2);
}

/// The names of the floors, outboard of the wheel.
fn floors(drawing: &mut Drawing, view: &View, side: &OutlineSide, layout: &Layout) {
    const SIZE: f64 = 2.6;
    let named: Vec<&Outline> =
        side.outlines.iter().filter(|outline| outline.state != State::Planned).collect();
    let contacts: Vec<[f64; 2]> = named.iter().map(|outline| view.at(outline.contact_mm)).collect();
    let wanted: Vec<f64> = contacts.iter().map(|[_, y]| y + 1.0).collect();
    let places = spread(&wanted, SIZE + 0.8, [layout.top, layout.top + layout.room[1] + 4.0]);
    for ((outline, [x, _]), place) in named.into_iter().zip(contacts).zip(places) {
        let (name, ..) = style(outline.state);
        let (x, anchor) =
            if side.side == Hand::Left { (x + 9.5, Anchor::Start) } else { (x - 9.5, Anchor::End) };
        let name = name.split(',').next().unwrap_or(name);
        drawing.text([x, place], anchor, SIZE, &format!("floor, {name}"));
    }
}

/// The links' names, beside the pivots on the subframe; `left` is the left edge of the view's room.
fn labels(drawing: &mut Drawing, view: &View, side: &OutlineSide, left: f64, layout: &Layout) {
    let Layout { room, top, .. } = layout;
    let Some(last) = side.outlines.last() else { return };
    let (inboard, anchor) = match side.side {
        Hand::Left => (left + room[0] + 6.0, Anchor::Start),
        Hand::Right => (left - 6.0, Anchor::End),
    };
    let pivots: Vec<[f64; 2]> = last.links.iter().map(|link| view.at(link.subframe_mm)).collect();
    let wanted: Vec<f64> = pivots.iter().map(|[_, y]| *y).collect();
    let places = spread(&wanted, TEXT + 1.0, [*top, top + room[1]]);
    for ((link, [x, y]), place) in last.links.iter().zip(pivots).zip(places) {
        let toward = if side.side == Hand::Left { -1.0 } else { 1.0 };
        drawing.line(&[[x - toward * 1.2, y], [inboard + toward, place - 1.0]], Pen::grey(0.15, 90));
        drawing.text([inboard, place], anchor, TEXT, &link.link);
    }
}

fn legend(drawing: &mut Drawing, side: &OutlineSide, scale: f64, layout: &Layout, units: Units) {
    let y = layout.lines[2];
    let mut x = layout.left[0].max(1.0);
    for outline in &side.outlines {
        let (name, pen, mark) = style(outline.state);
        drawing.line(&[[x, y], [x + 14.0, y]], pen);
        drawing.mark([x, y], mark, 0.9);
        drawing.mark([x + 14.0, y], mark, 0.9);
        drawing.text([x + 17.0, y + 1.0], Anchor::Start, TEXT, name);
        x += layout.apart;
    }
    let Named { name, mm } = units.bar();
    let bar = mm / scale;
    let right = layout.size[0] - 14.0;
    drawing.line(&[[right - bar, y - 1.0], [right - bar, y], [right, y], [right, y - 1.0]], Pen::plain(0.3));
    drawing.text([right - bar / 2.0, y + 4.0], Anchor::Middle, TEXT, name);
}
