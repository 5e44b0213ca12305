//! The rear axle from behind and from above, with a number at every place that a survey reads.

use super::page::Page;
use super::svg::{Anchor, Drawing, Mark, Pen, spread};
use crate::car::typical;
use crate::measure::Survey;

/// Half the width of a sheet, mm, and where the drawing lies on it.
const SIZE: [f64; 2] = [91.0, 84.0];
const TOP: f64 = 12.0;
const FOOT: f64 = 78.0;
const LEFT: f64 = 14.0;
const RIGHT: f64 = 84.0;
const TEXT: f64 = 3.0;
const NUMBER: f64 = 3.4;

/// Half the track of a car that nobody has measured, mm, and where its links lie, in the order of the starters. Invented.
const HALF_TRACK: f64 = 750.0;
const LIE: [&str; 5] = ["above, across", "toe, behind", "above, forward", "below, front", "below, rear"];

/// Puts both views on a page, which only paper shows.
pub(super) fn sketch(page: &mut Page, survey: &Survey) {
    let known = survey.known_places();
    let not_to_scale = match known {
        Some(_) => "roughly where they were measured",
        None => "not to scale: your links lie elsewhere",
    };
    let places = known.unwrap_or_else(somewhere);
    for (name, up, floor) in [("from behind", 2, "floor"), ("from above, front of the car up", 0, "")] {
        let title = format!("Where the places are, {name}");
        let about = format!(
            "The left rear wheel and its links, {name}, {not_to_scale}: the wheel on the left, the string along the middle of the car \
             on the right, and a number at the wheel centre and at both ends of every link."
        );
        let mut drawing = Drawing::new(SIZE, &title, &about);
        drawing.text([0.0, 4.0], Anchor::Start, 4.0, name);
        drawing.text([0.0, 8.5], Anchor::Start, TEXT, not_to_scale);
        let flat: Vec<[f64; 2]> = places.iter().map(|place| [-place[1], -place[up]]).collect();
        let own = survey.place_names().map(|(number, _)| number).collect();
        let views = SketchView::of(&flat, floor, own);
        views.draw(&mut drawing, floor);
        page.picture(drawing.inline());
    }
}

/// Places of a car that nobody has measured: the wheel centre, then both pivots of each link, mm.
fn somewhere() -> Vec<[f64; 3]> {
    let typical = typical();
    let wheel = [0.0, HALF_TRACK, typical.wheel_radius];
    let lying = |lies: &str| typical.kind.iter().find(|kind| kind.lies == lies);
    let links = LIE.into_iter().filter_map(lying).flat_map(|kind| kind.at(wheel, typical.wheel_radius));
    std::iter::once(wheel).chain(links).collect()
}

/// The places as they are seen, across and down, on paper.
struct SketchView {
    at: Vec<[f64; 2]>,
    /// The numbers of those that are no other one too.
    own: Vec<usize>,
    /// The string along the middle of the car, and the wheel: outboard and inboard edge, highest and lowest point.
    string: f64,
    wheel: [f64; 4],
}

impl SketchView {
    fn of(flat: &[[f64; 2]], floor: &str, own: Vec<usize>) -> Self {
        /// Of a wheel that is only sketched, mm.
        const RADIUS: f64 = 315.0;
        const HALF_WIDTH: f64 = 105.0;
        let [across, down] = flat.first().copied().unwrap_or_default();
        let low = if floor.is_empty() { down + RADIUS } else { 0.0 };
        let all = flat.iter().copied().chain([[across - HALF_WIDTH, down - RADIUS], [0.0, low]]);
        let [least, most] = all.fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[least, most], point| {
            [[0, 1].map(|k| least[k].min(point[k])), [0, 1].map(|k| most[k].max(point[k]))]
        });
        let scale =
            ((most[0] - least[0]) / (RIGHT - LEFT)).max((most[1] - least[1]) / (FOOT - TOP)).max(1e-3);
        let to_paper =
            |point: [f64; 2]| [LEFT + (point[0] - least[0]) / scale, TOP + (point[1] - least[1]) / scale];
        let ([outboard, high], [inboard, low]) =
            (to_paper([across - HALF_WIDTH, down - RADIUS]), to_paper([across + HALF_WIDTH, low]));
        Self {
            at: flat.iter().copied().map(to_paper).collect(),
            own,
            string: to_paper([0.0, 0.0])[0],
            wheel: [outboard, inboard, high, low],
        }
    }

    fn draw(&self, drawing: &mut Drawing, floor: &str) {
        let Self { at, string, wheel: [outboard, inboard, high, low], .. } = self;
        drawing.frame([*outboard, *high], [*inboard, *low], Pen { width: 0.3, dash: "1.6 0.9", grey: 0 });
        drawing.text([*outboard + 1.0, *high + 3.6], Anchor::Start, TEXT, "tyre");
        drawing.line(&[[*string, TOP], [*string, FOOT]], Pen { width: 0.25, dash: "0.5 0.9", grey: 0 });
        drawing.text([*string - 1.0, FOOT + 4.0], Anchor::Middle, TEXT, "string, y = 0");
        if !floor.is_empty() {
            drawing.line(&[[*outboard - 4.0, *low], [*string, *low]], Pen::plain(0.3));
            drawing.text([*outboard - 4.0, *low + 4.0], Anchor::Start, TEXT, floor);
        }
        // Behind the wheel centre, the two ends of a link follow each other.
        for link in at.get(1..).unwrap_or_default().chunks(2) {
            drawing.line(link, Pen::plain(0.6));
        }
        self.numbers(drawing, 1, *string - 9.0);
        self.numbers(drawing, 0, 2.0);
        for point in at {
            drawing.mark(*point, Mark::Ring, 1.0);
        }
    }

    /// Numbers of every second place from one on, in a column beside what they are of.
    fn numbers(&self, drawing: &mut Drawing, from: usize, column: f64) {
        let every_second = self.at.iter().copied().enumerate().skip(from).step_by(2);
        let of: Vec<(usize, [f64; 2])> =
            every_second.filter(|(place, _)| self.own.contains(&(place + 1))).collect();
        let wanted: Vec<f64> = of.iter().map(|(_, [_, y])| y + 1.0).collect();
        for ((place, [x, y]), label) in of.iter().zip(spread(&wanted, NUMBER + 0.9, [TOP + 3.0, FOOT])) {
            let edge = if *x > column { column + 4.4 } else { column - 0.6 };
            drawing.line(&[[*x, *y], [edge, label - 1.1]], Pen::grey(0.15, 90));
            drawing.text([column, label], Anchor::Start, NUMBER, &(place + 1).to_string());
        }
    }
}
