//! The tables of `travel` that go over the heights, and those of the motion and the links.

use super::TravelPage;
use crate::car::Hand;
use crate::plan::{Curve, MotionFigures, Place, Station, TravelSide};
use crate::report::number::{Units, fixed, signed};
use crate::report::page::Page;
use crate::report::sides::{both_or_each, each_side};
use crate::report::table::Table;
use std::collections::BTreeMap;

/// The most columns of figures that fit beside the travel, or beside the names of the motion's figures.
const COLUMNS: usize = 6;

impl TravelPage<'_> {
    /// What goes beyond camber and toe.
    pub(super) fn details(&self, page: &mut Page) {
        let (units, name) = (self.units, self.units.length_word());
        self.heights(
            page,
            &format!("GRADIENTS OF TOE AND CAMBER, deg per {} of bump from there", units.stretch().name),
            &[
                ("toe", &|_, at: &Station| units.gradient(at.toe_gradient_deg_per_100_mm)),
                ("camber", &|_, at: &Station| units.gradient(at.camber_gradient_deg_per_100_mm)),
            ],
        );
        self.heights(
            page,
            &format!("THE TYRE MOVES OUT AND BACK, {name} since ride height"),
            &[
                ("out", &|_, at: &Station| units.length_signed(at.track_change_mm)),
                ("back", &|_, at: &Station| units.length_signed(at.wheelbase_change_mm)),
            ],
        );
        self.heights(
            page,
            &format!("ROLL CENTRE, {name} above the ground, AND PITCH OF THE KNUCKLE, deg"),
            &[
                ("roll centre", &|_, at: &Station| distance(at.motion.roll_centre_mm, units)),
                ("pitch", &|_, at: &Station| signed(at.pitch_deg, 2)),
            ],
        );
        if self.knows(|motion| motion.spring_ratio) || self.knows(|motion| motion.damper_ratio) {
            self.heights(
                page,
                &format!("MOTION RATIO, {name} that each shortens per {name} of travel"),
                &[
                    ("spring", &|_, at: &Station| ratio(at.motion.spring_ratio)),
                    ("damper", &|_, at: &Station| ratio(at.motion.damper_ratio)),
                ],
            );
        }
        if !self.knows(|motion| motion.anti_squat_percent) {
            return;
        }
        self.heights(
            page,
            "ANTI-SQUAT AND ANTI-LIFT, %",
            &[
                ("squat", &|_, at: &Station| whole(at.motion.anti_squat_percent)),
                ("lift", &|_, at: &Station| whole(at.motion.anti_lift_percent)),
            ],
        );
    }

    /// A table of figures over the heights, for each side or for both where they look alike.
    pub(super) fn heights(&self, page: &mut Page, title: &str, figures: &[ShownFigure<'_>]) {
        let letters = self.letters();
        both_or_each(
            &self.answer.sides,
            |side| height_tables(side, &letters, figures, self.units),
            |side, tables| {
                page.heading(format!("{title}, {side}"));
                for table in tables {
                    page.table(table);
                    page.gap();
                }
            },
        );
    }

    /// What is read from the motion at ride height.
    pub(super) fn motion(&self, page: &mut Page) {
        type MotionRow = (&'static str, fn(&MotionFigures, Units) -> String);
        const ROWS: [MotionRow; 9] = [
            ("roll centre over ground, {}", |at, units| distance(at.roll_centre_mm, units)),
            ("front view swing arm, {}", |at, units| arm(at.front_swing_arm_mm, units)),
            ("side view swing arm, {}", |at, units| arm(at.side_swing_arm_mm, units)),
            ("anti-squat angle, deg", |at, _| signed(at.drive_support_deg, 1)),
            ("anti-squat, %", |at, _| whole(at.anti_squat_percent)),
            ("anti-lift angle, deg", |at, _| signed(at.brake_support_deg, 1)),
            ("anti-lift, %", |at, _| whole(at.anti_lift_percent)),
            ("spring, {} per {} of travel", |at, _| ratio(at.spring_ratio)),
            ("damper, {} per {} of travel", |at, _| ratio(at.damper_ratio)),
        ];
        page.heading("HOW THE WHEEL MOVES AT RIDE HEIGHT");
        let letters = self.letters();
        let mut columns: Vec<(String, Vec<String>)> = Vec::new();
        each_side(
            &self.answer.sides,
            |side| {
                let column = |curve: &Curve| {
                    let motion = curve.at_ride()?.motion;
                    let mut column = vec![letters[curve.setup.as_str()].clone()];
                    column.extend(ROWS.iter().map(|(_, show)| show(&motion, self.units)));
                    Some(column)
                };
                side.setups.iter().filter_map(column).collect()
            },
            |side, mut column| {
                let letter = column.remove(0);
                columns.push((format!("{letter} {side}"), column));
            },
        );
        for columns in columns.chunks(COLUMNS) {
            let head: Vec<&str> =
                ["<"].into_iter().chain(columns.iter().map(|(head, _)| head.as_str())).collect();
            let mut table = Table::new(&head);
            for (i, (name, _)) in ROWS.iter().enumerate() {
                table.row(
                    [name.replace("{}", self.units.length_name())]
                        .into_iter()
                        .chain(columns.iter().map(|(_, column)| column[i].clone())),
                );
            }
            page.table(table);
        }
        page.note("swing arms: plus is inboard, and ahead of the wheel; anti-squat angle: plus lifts the body under drive; anti-lift \
             angle: plus pulls it down under braking");
        page.gap();
    }

    /// How the links lie.
    pub(super) fn links(&self, page: &mut Page) {
        page.heading("THE LINKS' ANGLES TO THE GROUND, deg (plus: knuckle end higher)");
        let letters = self.letters();
        let mut table = Table::new(&["<", "<link", "<side", "lowest", "ride", "highest", "swing"]);
        each_side(
            &self.answer.sides,
            |side| {
                let rows = |curve: &Curve| -> Vec<Vec<String>> {
                    let Some(ride) = curve.at_ride() else { return Vec::new() };
                    let [lowest, highest] =
                        [curve.stations.first(), curve.stations.last()].map(|at| at.unwrap_or(ride));
                    (0..ride.links.len())
                        .map(|i| {
                            let slope = |at: &Station| signed(at.links[i].slope_deg, 1);
                            vec![
                                letters[curve.setup.as_str()].clone(),
                                ride.links[i].link.clone(),
                                slope(lowest),
                                slope(ride),
                                slope(highest),
                                fixed(ride.links[i].swing_deg, 1),
                            ]
                        })
                        .collect()
                };
                side.setups.iter().flat_map(rows).collect()
            },
            |side, mut row| {
                row.insert(2, side.to_owned());
                table.row(row);
            },
        );
        page.table(table);
        page.note("lowest, highest: at the ends of the travel shown; swing: since stock height");
        page.gap();
    }
}

/// A figure: the head of its columns, and how it is shown.
pub(super) type ShownFigure<'a> = (&'a str, &'a dyn Fn(Hand, &Station) -> String);

fn height_tables(
    side: &TravelSide,
    letters: &BTreeMap<&str, String>,
    figures: &[ShownFigure<'_>],
    units: Units,
) -> Vec<Table> {
    let columns: Vec<(usize, &ShownFigure<'_>, &Curve)> = (figures.iter())
        .flat_map(|figure| side.setups.iter().enumerate().map(move |(i, curve)| (i, figure, curve)))
        .collect();
    // All set-ups were asked for the same heights; one that ends early has fewer.
    let mut heights: Vec<&Station> = side.setups.iter().flat_map(|curve| &curve.stations).collect();
    let same = |a: &Station, b: &Station| a.travel_mm.total_cmp(&b.travel_mm).is_eq();
    heights.sort_by(|a, b| b.travel_mm.total_cmp(&a.travel_mm));
    heights.dedup_by(|a, b| same(a, b));
    let per_table = if columns.len() <= COLUMNS { COLUMNS } else { side.setups.len().min(COLUMNS) };
    let table = |columns: &[(usize, &ShownFigure<'_>, &Curve)]| {
        let mut head = vec!["travel".to_owned(), "<".to_owned()];
        for (place, (i, (name, _), curve)) in columns.iter().enumerate() {
            let letter = &letters[curve.setup.as_str()];
            head.push(if *i == 0 || place == 0 { format!("{name}: {letter}") } else { letter.clone() });
        }
        let mut table = Table::new(&head.iter().map(String::as_str).collect::<Vec<_>>());
        for height in &heights {
            let travel = units.counted(height.travel_mm, height.travel_mm.fract() == 0.0);
            let mut row = vec![travel, place_name(height.place).to_owned()];
            for (_, (_, show), curve) in columns {
                let at = curve.stations.iter().find(|at| same(at, height));
                row.push(at.map_or("-".to_owned(), |at| show(side.side, at)));
            }
            table.row(row);
        }
        table
    };
    columns.chunks(per_table).map(table).collect()
}

fn place_name(place: Option<Place>) -> &'static str {
    match place {
        None => "",
        Some(Place::Ride) => "ride",
        Some(Place::Stock) => "stock",
        Some(Place::BumpStop) => "bump stop",
        Some(Place::FullDroop) => "full droop",
        Some(Place::LinksEnd) => "links end",
    }
}

/// A distance without decimals of a mm, or that there is none.
fn distance(mm: Option<f64>, units: Units) -> String {
    mm.map_or("-".to_owned(), |mm| units.length_to(mm, 0))
}

/// A figure without decimals, or that there is none.
fn whole(value: Option<f64>) -> String {
    value.map_or("-".to_owned(), |value| fixed(value, 0))
}

/// The length of a swing arm, or that there is none.
fn arm(mm: Option<f64>, units: Units) -> String {
    mm.map_or("-".to_owned(), |mm| units.far(mm))
}

fn ratio(value: Option<f64>) -> String {
    value.map_or("-".to_owned(), |value| fixed(value, 3))
}
