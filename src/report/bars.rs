//! What each wheel will read, drawn as bars against its tolerance, and the drop against what the stock cams reach.

use super::number::{Units, fixed, signed};
use super::page::Page;
use super::svg::{Anchor, Drawing, Mark, Pen};
use crate::plan::{CamVerdictSide, Plan, PlanSide};

/// Half the width of a sheet, mm.
const SIZE: [f64; 2] = [91.0, 54.0];
/// Left and right end of every bar, mm of paper.
const ENDS: [f64; 2] = [4.0, 87.0];
const TEXT: f64 = 2.8;

/// A figure as bars: in its own unit, with its numbers as they are shown.
struct Bars {
    name: String,
    wanted: [f64; 3],
    reads: [f64; 3],
    words: String,
}

/// Draws the bars of both wheels, beside each other on paper; nothing on a terminal.
pub(super) fn put_bars(page: &mut Page, plan: &Plan, units: Units) {
    for side in &plan.sides {
        let title = format!("{} wheel: what it will read against its tolerance", side.side);
        let bars = [camber(side), toe(side, units)];
        let told: Vec<String> = bars.iter().map(|bars| format!("{}: {}", bars.name, bars.words)).collect();
        let mut drawing = Drawing::new(SIZE, &title, &format!("{}.", told.join("; ")));
        drawing.text([0.0, 4.0], Anchor::Start, 4.0, &format!("{} wheel", side.side));
        for (bars, top) in bars.iter().zip([10.0, 24.0]) {
            bars.draw(&mut drawing, top);
        }
        if let Some(cams) = plan.stock_cams.as_ref().map(|verdict| &verdict.sides[side.side]) {
            drop(&mut drawing, side, cams, 38.0, units);
        }
        legend(&mut drawing, 52.5);
        page.picture(drawing.inline());
    }
}

fn camber(side: &PlanSide) -> Bars {
    let (spec, band, reads) = (&side.spec, side.band.camber_deg, side.result.reading.camber_deg);
    let (target, tolerance) = (spec.camber_deg, spec.camber_tolerance_deg);
    Bars {
        name: "camber, deg".to_owned(),
        wanted: [target - tolerance, target, target + tolerance],
        reads: [reads - band, reads, reads + band],
        words: format!(
            "{} \u{b1} {}; wanted {} \u{b1} {}",
            signed(reads, 2),
            fixed(band, 2),
            signed(target, 2),
            fixed(tolerance, 2)
        ),
    }
}

fn toe(side: &PlanSide, units: Units) -> Bars {
    let (hand, toe) = (side.side, units.toe);
    let (spec, band, reads) = (&side.spec, side.band.toe_deg, side.result.reading.toe_deg);
    let (target, tolerance) = (spec.toe_deg, spec.toe_tolerance_deg);
    let in_unit = |all: [f64; 3]| all.map(|degrees| toe.value(hand, degrees));
    Bars {
        name: format!("toe, {}", toe.name()),
        wanted: in_unit([target - tolerance, target, target + tolerance]),
        reads: in_unit([reads - band, reads, reads + band]),
        words: format!(
            "{} \u{b1} {}; wanted {} \u{b1} {}",
            toe.show(hand, reads),
            toe.show_size(hand, band),
            toe.show(hand, target),
            toe.show_size(hand, tolerance)
        ),
    }
}

impl Bars {
    fn draw(&self, drawing: &mut Drawing, top: f64) {
        let all = || self.wanted.iter().chain(&self.reads).copied();
        let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
        let wide = (high - low).max(1e-6);
        let at = |value: f64| ENDS[0] + (ENDS[1] - ENDS[0]) * (value - low) / wide;
        drawing.text([0.0, top], Anchor::Start, TEXT, &format!("{}: {}", self.name, self.words));
        let [wanted, reads] = [&self.wanted, &self.reads].map(|all| all.map(at));
        let (upper, lower) = (top + 2.0, top + 8.0);
        drawing.fill([wanted[0], upper], [wanted[2], lower], 215);
        for end in [wanted[0], wanted[2]] {
            drawing.line(&[[end, upper], [end, lower]], Pen::plain(0.3));
        }
        drawing.line(&[[wanted[1], upper], [wanted[1], lower]], Pen { width: 0.3, dash: "0.8 0.6", grey: 0 });
        let middle = f64::midpoint(upper, lower);
        drawing.line(&[[reads[0], middle], [reads[2], middle]], Pen::plain(0.5));
        for end in [reads[0], reads[2]] {
            drawing.line(&[[end, middle - 1.2], [end, middle + 1.2]], Pen::plain(0.5));
        }
        drawing.mark([reads[1], middle], Mark::Disc, 1.3);
    }
}

/// The drop that is wanted, on all the drops up to full bump, and those over which the stock cams reach the spec.
fn drop(drawing: &mut Drawing, side: &PlanSide, cams: &CamVerdictSide, top: f64, units: Units) {
    let most = cams.bump_mm.max(side.drop_mm).max(1.0);
    let at = |mm: f64| ENDS[0] + (ENDS[1] - ENDS[0]) * (mm / most).clamp(0.0, 1.0);
    let reach = cams.reach_from_drop_mm.map(|from| [from, cams.run_out_drop_mm.unwrap_or(cams.bump_mm)]);
    let words = match reach {
        Some([_, to]) => format!("stock cams reach up to {}", units.with_unit(to)),
        None => "stock cams reach no drop".to_owned(),
    };
    let wanted = units.with_unit(side.drop_mm);
    drawing.text([0.0, top], Anchor::Start, TEXT, &format!("drop: {wanted} wanted; {words}"));
    let (upper, lower) = (top + 2.0, top + 6.0);
    if let Some([from, to]) = reach {
        drawing.fill([at(from), upper], [at(to), lower], 150);
    }
    drawing.frame([ENDS[0], upper], [ENDS[1], lower], Pen::plain(0.25));
    drawing.mark([at(side.drop_mm), f64::midpoint(upper, lower)], Mark::Diamond, 1.6);
}

fn legend(drawing: &mut Drawing, y: f64) {
    drawing.fill([0.0, y - 3.0], [5.0, y], 215);
    drawing.text([6.0, y], Anchor::Start, TEXT, "in spec");
    drawing.line(&[[20.0, y - 1.2], [27.0, y - 1.2]], Pen::plain(0.5));
    drawing.mark([23.5, y - 1.2], Mark::Disc, 1.1);
    drawing.text([28.5, y], Anchor::Start, TEXT, "reads, 95 cars of 100");
    drawing.mark([67.0, y - 1.2], Mark::Diamond, 1.2);
    drawing.text([69.0, y], Anchor::Start, TEXT, "drop wanted");
}

/// A row of bars: what it is of, and how far it goes one way and the other, with the figures as they are shown.
pub(super) struct BarRow {
    pub(super) name: String,
    pub(super) ways: [Option<(f64, String)>; 2],
}

/// Draws rows of bars from a line in the middle, minus to the left: the first way dark, the second one light; nothing on a terminal.
pub(super) fn put_rows(page: &mut Page, title: &str, ways: [&str; 2], rows: &[BarRow]) {
    const HIGH: f64 = 10.0;
    const TOP: f64 = 12.0;
    const MIDDLE: f64 = 45.5;
    /// How far the longest bar goes, so that its figure stands beside it.
    const FAR: f64 = 30.0;
    let lengths = || rows.iter().flat_map(|row| row.ways.iter().flatten()).map(|(value, _)| value.abs());
    let longest = lengths().fold(0.0, f64::max);
    let Some(count) = u8::try_from(rows.len()).ok().filter(|count| *count > 0 && longest > 0.0) else {
        return;
    };
    let told: Vec<String> = rows
        .iter()
        .map(|row| {
            let ways = ways.iter().zip(&row.ways);
            let ways = ways.filter_map(|(way, bar)| bar.as_ref().map(|(_, shown)| format!("{way} {shown}")));
            format!("{}: {}", row.name, ways.collect::<Vec<_>>().join(", "))
        })
        .collect();
    let size = [SIZE[0], TOP + HIGH * f64::from(count)];
    let mut drawing = Drawing::new(size, title, &format!("{}.", told.join("; ")));
    drawing.text([0.0, 4.0], Anchor::Start, 3.6, title);
    for (way, (x, grey)) in ways.iter().zip([(0.0, DARK), (46.0, LIGHT)]) {
        bar(&mut drawing, [x, 6.0], [x + 5.0, 9.0], grey);
        drawing.text([x + 6.5, 9.0], Anchor::Start, TEXT, way);
    }
    let mut top = TOP;
    for row in rows {
        drawing.text([0.0, top + 2.6], Anchor::Start, TEXT, &row.name);
        for ((way, grey), upper) in row.ways.iter().zip([DARK, LIGHT]).zip([top + 3.4, top + 6.4]) {
            let Some((value, shown)) = way else { continue };
            let end = MIDDLE + FAR * value / longest;
            bar(&mut drawing, [MIDDLE, upper], [end, upper + 2.6], grey);
            let (x, anchor) =
                if *value < 0.0 { (end - 1.0, Anchor::End) } else { (end + 1.0, Anchor::Start) };
            drawing.text([x, upper + 2.4], anchor, TEXT, shown);
        }
        top += HIGH;
    }
    drawing.line(&[[MIDDLE, TOP + 3.0], [MIDDLE, size[1]]], Pen::plain(0.3));
    page.picture(drawing.inline());
}

const DARK: u8 = 90;
const LIGHT: u8 = 235;

/// A bar with an edge, so that a light one is seen.
fn bar(drawing: &mut Drawing, from: [f64; 2], to: [f64; 2], grey: u8) {
    drawing.fill(from, to, grey);
    drawing.frame(from, to, Pen::plain(0.2));
}
