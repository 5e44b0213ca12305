//! Camber and toe against travel, drawn.

use std::collections::BTreeMap;

use super::letters::letters;
use crate::car::{Car, PerSide, Stance};
use crate::plan::{Allowed, Curve, Place, Station, TravelCurves, TravelSide};
use crate::report::chart::Panel;
use crate::report::heading::lowering;
use crate::report::number::{Units, fixed};
use crate::report::page::Page;
use crate::report::svg::{Anchor, Drawing, Mark, Pen, spread};

/// A sheet of A4, lying.
const SHEET: [f64; 2] = [297.0, 210.0];
/// Room for the letters at the lines' ends, mm.
const LABELS: f64 = 18.0;
/// Upper edge of the upper panels, room between them and the lower ones, and the line below everything, mm.
const TOP: f64 = 26.0;
const BETWEEN: f64 = 14.0;
const FOOT: f64 = 204.0;
/// Distance between the marks on a line, mm of paper.
const MARKS: f64 = 16.0;
const TEXT: f64 = 3.0;

/// Lines of set-ups, told apart by dash and mark; more than these begin again.
const LINES: [(&str, Mark); 6] = [
    ("0.9 1.1", Mark::Ring),
    ("", Mark::Disc),
    ("3.2 1.2", Mark::Square),
    ("5 1.1 0.9 1.1", Mark::Triangle),
    ("1.8 1.0", Mark::Diamond),
    ("6 1.5", Mark::Cross),
];

/// A figure on the vertical axis: its name, its value at a station, and the band that the spec leaves it.
struct CurveFigure {
    name: String,
    value: Box<dyn Fn(&Station) -> f64>,
    band: Option<[f64; 3]>,
}

impl CurveFigure {
    /// Everything that an axis has to hold.
    fn values<'a>(&'a self, side: &'a TravelSide) -> impl Iterator<Item = f64> + 'a {
        let stations = side.setups.iter().flat_map(|curve| &curve.stations);
        stations.map(&self.value).chain(self.band.into_iter().flatten())
    }
}

/// Draws camber and toe of all set-ups against the travel, with the spec and the ride height, as an SVG file.
pub(crate) fn travel_chart(car: &Car, stance: &Stance, travel: &TravelCurves, units: Units) -> String {
    let title = format!("{}: camber and toe over the travel, {}", car.name, lowering(stance.drops, units));
    let mut drawing = Drawing::new(SHEET, &title, ABOUT);
    drawing.text([12.0, 12.0], Anchor::Start, 5.0, &title);
    let columns = columns(travel, units);
    let letters = letters(travel);
    let bottom = legend(&mut drawing, travel, &letters, [12.0, SHEET[0] - 12.0, FOOT - 5.0]);
    let width = SHEET[0] / f64::from(u8::try_from(columns.len()).unwrap_or(1));
    let mut from = 0.0;
    for column in &columns {
        drawing.text([from + 24.0, 20.0], Anchor::Start, 4.0, column.name);
        column.draw(&mut drawing, [from + 24.0, TOP, from + width - LABELS, bottom], &letters);
        from += width;
    }
    drawing.text(
        [12.0, FOOT],
        Anchor::Start,
        TEXT,
        &format!("{CURVES_NOTE} Computed from measured points; the rack decides."),
    );
    drawing.finish()
}

/// What the marks of the curves mean.
const CURVES_NOTE: &str =
    "Grey: what the spec allows at ride height. Marks in a circle: what each set-up reads there.";

/// What the curves show, in words.
const ABOUT: &str =
    "Camber and toe of each set-up drawn over the wheel's travel, with what the spec allows at ride height.";

/// Draws the same on half the width of a sheet for each figure and wheel, once where both wheels make the same picture; nothing on a
/// terminal.
pub(in crate::report) fn put_curves(page: &mut Page, travel: &TravelCurves, units: Units) {
    const HALF: [f64; 2] = [91.0, 76.0];
    let letters = letters(travel);
    for column in &columns(travel, units) {
        for (figure, name) in ["Camber", "Toe"].into_iter().enumerate() {
            let title = format!("{name} over the travel, {}", column.name);
            let mut drawing = Drawing::new(HALF, &title, ABOUT);
            drawing.text([0.0, 4.0], Anchor::Start, 4.0, &title);
            let bottom = legend(&mut drawing, travel, &letters, [0.0, HALF[0], HALF[1] - 1.0]);
            column.panel(figure, &mut drawing, [16.0, 11.0, HALF[0] - LABELS + 4.0, bottom], &letters);
            page.picture(drawing.inline());
        }
    }
    page.note(CURVES_NOTE);
}

/// The panels of a side, one above the other.
struct Column<'a> {
    name: &'static str,
    side: &'a TravelSide,
    figures: [CurveFigure; 2],
    /// What their axes must hold. Left and right are to be held against each other, so they have one scale.
    values: [Vec<f64>; 2],
    units: Units,
}

/// A column for each wheel, or one for both where they would make the same picture.
fn columns(travel: &TravelCurves, units: Units) -> Vec<Column<'_>> {
    let PerSide { left, right } = &travel.sides;
    let sides: &[(&TravelSide, &'static str)] = if look_alike(left, right) {
        &[(left, "both wheels")]
    } else {
        &[(left, "left wheel"), (right, "right wheel")]
    };
    let values = [0, 1].map(|i| -> Vec<f64> {
        sides.iter().flat_map(|(side, _)| figures(side, units)[i].values(side).collect::<Vec<_>>()).collect()
    });
    sides
        .iter()
        .map(|&(side, name)| Column {
            name,
            side,
            figures: figures(side, units),
            values: values.clone(),
            units,
        })
        .collect()
}

impl Column<'_> {
    fn draw(
        &self,
        drawing: &mut Drawing,
        [left, top, right, bottom]: [f64; 4],
        letters: &BTreeMap<&str, String>,
    ) {
        let height = (bottom - top - BETWEEN) / 2.0;
        for (figure, top) in [top, top + height + BETWEEN].into_iter().enumerate() {
            self.panel(figure, drawing, [left, top, right, top + height], letters);
        }
    }

    /// Draws one of its figures in a frame.
    fn panel(&self, figure: usize, drawing: &mut Drawing, frame: [f64; 4], letters: &BTreeMap<&str, String>) {
        let across = across(self.side).map(|travel| self.units.value(travel));
        let panel = Panel::around(frame, across, self.values[figure].iter().copied());
        draw(drawing, self, &self.figures[figure], &panel, letters);
    }
}

/// Whether two sides would make the same picture.
fn look_alike(left: &TravelSide, right: &TravelSide) -> bool {
    let seen = |side: &TravelSide| -> Vec<[String; 3]> {
        let stations = side.setups.iter().flat_map(|curve| &curve.stations);
        stations
            .map(|at| [at.travel_mm, at.reading.camber_deg, at.reading.toe_deg].map(|value| fixed(value, 3)))
            .collect()
    };
    seen(left) == seen(right)
}

/// Writes which line is which set-up, between two edges and with its last line at `foot`, and says how far down the
/// panels may then go, mm of paper.
fn legend(
    drawing: &mut Drawing,
    travel: &TravelCurves,
    letters: &BTreeMap<&str, String>,
    [first, last, foot]: [f64; 3],
) -> f64 {
    /// As wide as a letter of a text of this size at the most, mm of paper.
    const LETTER: f64 = 1.7;
    const ROW: f64 = 4.0;
    /// More rows than these are no picture.
    const MOST_ROWS: usize = 12;
    let mut rows: Vec<Vec<(f64, Mark, String)>> = vec![Vec::new()];
    let mut x = first;
    for (name, letter, mark) in known(travel, letters) {
        let text = format!("{letter}: {name}");
        let width = 12.0 + LETTER * f64::from(u16::try_from(text.chars().count()).unwrap_or(u16::MAX));
        if x > first && x + width > last {
            rows.push(Vec::new());
            x = first;
        }
        if let Some(row) = rows.last_mut() {
            row.push((x, mark, text));
        }
        x += width;
    }
    rows.truncate(MOST_ROWS);
    let mut y = foot;
    for row in rows.iter().rev() {
        for (x, mark, text) in row {
            drawing.mark([x + 1.0, y - 1.0], *mark, 1.0);
            drawing.text([x + 3.5, y], Anchor::Start, TEXT, text);
        }
        y -= ROW;
    }
    // Below a panel stand its ticks and the name of its axis.
    y - 11.0
}

/// The set-ups of both sides, once each, with letter and mark, in the order of the letters.
fn known<'a>(travel: &'a TravelCurves, letters: &'a BTreeMap<&str, String>) -> Vec<(&'a str, &'a str, Mark)> {
    let mut known: Vec<(&str, &str, Mark)> = Vec::new();
    for side in &travel.sides {
        for (i, curve) in side.setups.iter().enumerate() {
            if known.iter().all(|(name, ..)| *name != curve.setup) {
                known.push((&curve.setup, &letters[curve.setup.as_str()], LINES[i % LINES.len()].1));
            }
        }
    }
    known
}

fn figures(side: &TravelSide, Units { toe, .. }: Units) -> [CurveFigure; 2] {
    let index = side.side;
    let in_unit = move |degrees: f64| toe.value(index, degrees);
    let ends = |Allowed { least_deg, target_deg, most_deg }: Allowed| [least_deg, target_deg, most_deg];
    let bands = side.spec.as_ref().map(|spec| Allowed::of(spec).map(ends));
    [
        CurveFigure {
            name: "camber, deg (minus: top in)".to_owned(),
            value: Box::new(|at: &Station| at.reading.camber_deg),
            band: bands.map(|[camber, _]| camber),
        },
        CurveFigure {
            name: format!("toe, {} (plus: toe-in)", toe.name()),
            value: Box::new(move |at: &Station| in_unit(at.reading.toe_deg)),
            band: bands.map(|[_, toe]| toe.map(in_unit)),
        },
    ]
}

/// The ends of the axis of travel.
fn across(side: &TravelSide) -> [f64; 2] {
    let across = [-side.droop_mm, side.bump_mm];
    // A travel of nothing has no width to draw in.
    if across[1] - across[0] > 1.0 { across } else { [across[0] - 1.0, across[1] + 1.0] }
}

fn draw(
    drawing: &mut Drawing,
    column: &Column<'_>,
    figure: &CurveFigure,
    panel: &Panel,
    letters: &BTreeMap<&str, String>,
) {
    let Column { side, units, .. } = *column;
    let [left, top, right, bottom] = panel.frame;
    if let Some([low, middle, high]) = figure.band {
        let (from, to) = (panel.at(panel.across[0], low), panel.at(panel.across[1], high));
        drawing.fill(from, to, 225);
        let [_, y] = panel.at(0.0, middle);
        drawing.line(&[[left, y], [right, y]], Pen::grey(0.3, 150));
    }
    panel.axes(
        drawing,
        &figure.name,
        Some(&format!("wheel travel from ride height, {} (right: bump)", units.length_name())),
    );
    let places = side.setups.first().map_or(&[][..], |curve| &curve.stations);
    for at in places {
        // Their names stand on the sides that face away from each other.
        let (name, before) = match at.place {
            Some(Place::Ride) => ("ride height", side.drop_mm < 0.0),
            Some(Place::Stock) => ("stock height", side.drop_mm > 0.0),
            _ => continue,
        };
        let [x, _] = panel.at(units.value(at.travel_mm), 0.0);
        drawing.line(&[[x, top - 3.0], [x, bottom]], Pen { width: 0.25, dash: "0.4 0.8", grey: 0 });
        let (x, anchor) = if before { (x - 0.8, Anchor::End) } else { (x + 0.8, Anchor::Start) };
        drawing.text([x, top - 1.0], anchor, 2.6, name);
    }
    let ends: Vec<(usize, &Curve, [f64; 2])> = (side.setups.iter().enumerate())
        .filter_map(|(i, curve)| {
            let last = curve.stations.last()?;
            Some((i, curve, panel.at(units.value(last.travel_mm), (figure.value)(last))))
        })
        .collect();
    let wanted: Vec<f64> = ends.iter().map(|(.., [_, y])| *y).collect();
    let labels = spread(&wanted, TEXT + 1.0, [top + 1.0, bottom]);
    for ((i, curve, end), label) in ends.into_iter().zip(labels) {
        let (dash, mark) = LINES[i % LINES.len()];
        let points: Vec<[f64; 2]> =
            curve.stations.iter().map(|at| panel.at(units.value(at.travel_mm), (figure.value)(at))).collect();
        drawing.line(&points, Pen { width: 0.5, dash, grey: 0 });
        for point in spaced(&points, MARKS, i) {
            drawing.mark(point, mark, 1.0);
        }
        if let Some(ride) = curve.at_ride() {
            let point = panel.at(0.0, (figure.value)(ride));
            drawing.mark(point, Mark::Ring, 1.8);
            drawing.mark(point, mark, 1.0);
        }
        drawing.line(&[end, [right + 2.0, label - 1.0], [right + 3.5, label - 1.0]], Pen::plain(0.15));
        drawing.mark([right + 5.0, label - 1.0], mark, 1.0);
        drawing.text([right + 7.0, label], Anchor::Start, TEXT, &letters[curve.setup.as_str()]);
    }
}

/// Points along a line about so far apart, mm of paper; lines that lie on each other have their marks beside each other.
fn spaced(points: &[[f64; 2]], apart: f64, line: usize) -> Vec<[f64; 2]> {
    let shift = [0.5, 0.85, 0.2, 0.65, 0.35, 0.05][line % 6];
    let mut spaced = Vec::new();
    let mut left = apart * shift;
    for pair in points.windows(2) {
        let length = (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
        if length >= left && length > 0.0 {
            let part = left / length;
            spaced.push([0, 1].map(|i| pair[0][i] + (pair[1][i] - pair[0][i]) * part));
            left += apart;
        }
        left -= length;
    }
    spaced
}
