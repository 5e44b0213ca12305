//! Camber and toe against travel, drawn.

use crate::car::{Car, Stance};
use crate::plan::{Curve, Place, Station, Target, TravelCurves, TravelSide};
use crate::report::chart::Panel;
use crate::report::number::{ToeUnit, fixed, mm};
use crate::report::svg::{Anchor, Drawing, Mark, Pen, spread};

/// A sheet of A4, lying.
const SHEET: [f64; 2] = [297.0, 210.0];
/// Room for the labels at the lines' ends, mm.
const LABELS: f64 = 34.0;
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
struct Figure<'a> {
    name: String,
    value: &'a dyn Fn(&Station) -> f64,
    band: Option<[f64; 3]>,
}

/// Draws camber and toe of all set-ups against the travel, with the spec and the ride height, as an SVG file.
pub fn travel_chart(car: &Car, stance: &Stance, travel: &TravelCurves, toe: ToeUnit) -> String {
    let drop = match stance.drops.map(mm) {
        [left, right] if left == right => format!("lowered by {left} mm"),
        [left, right] => format!("lowered by {left} mm left, {right} mm right"),
    };
    let title = format!("{}: camber and toe over the travel, {drop}", car.name);
    let mut drawing = Drawing::new(SHEET, &title);
    drawing.text([12.0, 12.0], Anchor::Start, 5.0, &title);
    let [left, right] = &travel.sides;
    let alike = look_alike(left, right);
    let sides: &[(&TravelSide, &str)] =
        if alike { &[(left, "both wheels")] } else { &[(left, "left wheel"), (right, "right wheel")] };
    let width = SHEET[0] / if alike { 1.0 } else { 2.0 };
    let mut from = 0.0;
    for (side, name) in sides {
        drawing.text([from + 24.0, 20.0], Anchor::Start, 4.0, name);
        columns(
            &mut drawing,
            side,
            toe,
            [from + 24.0, from + width - LABELS],
            [[26.0, 98.0], [112.0, 184.0]],
        );
        from += width;
    }
    drawing.text(
        [12.0, 202.0],
        Anchor::Start,
        TEXT,
        &format!("{CURVES_NOTE} Computed from measured points; the rack decides."),
    );
    drawing.finish()
}

/// What the marks of the curves mean.
pub(in crate::report) const CURVES_NOTE: &str =
    "Grey: what the spec allows at ride height. Marks in a circle: what each set-up reads there.";

/// The same as SVG elements, each half a page that stands: one where both wheels make the same picture.
pub(in crate::report) fn travel_halves(travel: &TravelCurves, toe: ToeUnit) -> Vec<String> {
    let [left, right] = &travel.sides;
    let sides: &[(&TravelSide, &str)] = if look_alike(left, right) {
        &[(left, "both wheels")]
    } else {
        &[(left, "left wheel"), (right, "right wheel")]
    };
    let half = |(side, name): &(&TravelSide, &str)| {
        let mut drawing = Drawing::new([186.0, 112.0], &format!("camber and toe over the travel, {name}"));
        drawing.text([0.0, 4.0], Anchor::Start, 5.0, name);
        columns(&mut drawing, side, toe, [18.0, 186.0 - LABELS], [[10.0, 49.0], [63.0, 101.0]]);
        drawing.inline()
    };
    sides.iter().map(half).collect()
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

/// The two panels of a side, one above the other.
fn columns(
    drawing: &mut Drawing,
    side: &TravelSide,
    toe: ToeUnit,
    [left, right]: [f64; 2],
    panels: [[f64; 2]; 2],
) {
    let index = side.side.index();
    let band = |of: fn(&Target) -> [f64; 2], shown: &dyn Fn(f64) -> f64| {
        let [middle, off] = of(side.spec.as_ref()?);
        Some([middle - off, middle, middle + off].map(shown))
    };
    let in_unit = |degrees: f64| toe.value(index, degrees);
    let figures = [
        Figure {
            name: "camber, deg (minus: top in)".to_owned(),
            value: &|at: &Station| at.reading.camber_deg,
            band: band(|spec| [spec.camber_deg, spec.camber_tolerance_deg], &|degrees| degrees),
        },
        Figure {
            name: format!("toe, {} (plus: toe-in)", toe.name()),
            value: &|at: &Station| in_unit(at.reading.toe_deg),
            band: band(|spec| [spec.toe_deg, spec.toe_tolerance_deg], &in_unit),
        },
    ];
    let across = [-side.droop_mm, side.bump_mm];
    // A travel of nothing has no width to draw in.
    let across = if across[1] - across[0] > 1.0 { across } else { [across[0] - 1.0, across[1] + 1.0] };
    for (figure, [top, bottom]) in figures.iter().zip(panels) {
        let stations = side.setups.iter().flat_map(|curve| &curve.stations);
        let values = stations.map(figure.value).chain(figure.band.into_iter().flatten());
        let panel = Panel::around([left, top, right, bottom], across, values);
        draw(drawing, side, figure, &panel);
    }
}

fn draw(drawing: &mut Drawing, side: &TravelSide, figure: &Figure<'_>, panel: &Panel) {
    let [left, top, right, bottom] = panel.frame;
    if let Some([low, middle, high]) = figure.band {
        let (from, to) = (panel.at(panel.across[0], low), panel.at(panel.across[1], high));
        drawing.fill(from, to, 225);
        let [_, y] = panel.at(0.0, middle);
        drawing.line(&[[left, y], [right, y]], Pen::grey(0.3, 150));
    }
    panel.axes(drawing, &figure.name, Some("wheel travel from ride height, mm (right: bump)"));
    let places = side.setups.first().map_or(&[][..], |curve| &curve.stations);
    for at in places {
        // Their names stand on the sides that face away from each other.
        let (name, before) = match at.place {
            Some(Place::Ride) => ("ride height", side.drop_mm < 0.0),
            Some(Place::Stock) => ("stock height", side.drop_mm > 0.0),
            _ => continue,
        };
        let [x, _] = panel.at(at.travel_mm, 0.0);
        drawing.line(&[[x, top - 3.0], [x, bottom]], Pen { width: 0.25, dash: "0.4 0.8", grey: 0 });
        let (x, anchor) = if before { (x - 0.8, Anchor::End) } else { (x + 0.8, Anchor::Start) };
        drawing.text([x, top - 1.0], anchor, 2.6, name);
    }
    let ends: Vec<(usize, &Curve, [f64; 2])> = (side.setups.iter().enumerate())
        .filter_map(|(i, curve)| {
            let last = curve.stations.last()?;
            Some((i, curve, panel.at(last.travel_mm, (figure.value)(last))))
        })
        .collect();
    let wanted: Vec<f64> = ends.iter().map(|(.., [_, y])| *y).collect();
    let labels = spread(&wanted, TEXT + 1.0, [top + 1.0, bottom]);
    for ((i, curve, end), label) in ends.into_iter().zip(labels) {
        let (dash, mark) = LINES[i % LINES.len()];
        let points: Vec<[f64; 2]> =
            curve.stations.iter().map(|at| panel.at(at.travel_mm, (figure.value)(at))).collect();
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
        drawing.text([right + 7.0, label], Anchor::Start, TEXT, &shortened(&curve.setup));
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

/// A name that fits beside the panel.
fn shortened(name: &str) -> String {
    const MOST: usize = 14;
    if name.chars().count() <= MOST {
        name.to_owned()
    } else {
        name.chars().take(MOST - 2).chain("..".chars()).collect()
    }
}
