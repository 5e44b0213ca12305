//! The page of `travel`.

mod curves;
mod letters;
mod sheet;
mod tables;

pub(super) use curves::put_curves;
pub(crate) use curves::travel_chart;
pub(crate) use sheet::travel_csv;

use self::letters::letters;
use crate::car::{Car, PerSide, Stance};
use crate::plan::{Curve, MotionFigures, Omitted, Place, Station, TravelCurves, TravelEnd, USUAL_TRAVEL};
use crate::report::heading::{how_it_stands, of_car};
use crate::report::hint::Hint;
use crate::report::number::{Units, is_nothing, signed};
use crate::report::page::{Page, Printable};
use crate::report::sides::each_side;
use crate::report::table::Table;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Set-ups over the travel, for people.
#[derive(Debug)]
pub(crate) struct TravelPage<'a> {
    pub(crate) car: &'a Car,
    /// How it stands.
    pub(crate) stance: &'a Stance,
    pub(crate) answer: &'a TravelCurves,
    /// The units shown.
    pub(crate) units: Units,
    /// Show every table, not only what matters first.
    pub(crate) detail: bool,
    /// The same at more heights, to be drawn; a terminal shows no drawing.
    pub(crate) curves: Option<&'a TravelCurves>,
}

impl Printable for TravelPage<'_> {
    fn put(&self, page: &mut Page) {
        page.verdict(self.verdict());
        of_car(page, "Travel", self.car, self.stance, self.units);
        self.setups(page);
        self.gaps(page);
        self.bump_steer(page);
        page.rest(|page| self.tables(page));
        if let Some(curves) = self.curves {
            page.new_sheet();
            put_curves(page, curves, self.units);
        }
    }
}

impl TravelPage<'_> {
    /// How far toe goes with the last of the set-ups, left and right.
    fn verdict(&self) -> String {
        let toe = self.units.toe;
        let words = self.answer.sides.each(|side| {
            let curve = side.setups.last()?;
            let steer = self.units.gradient(curve.at_ride()?.toe_gradient_deg_per_100_mm);
            let [least, most] =
                [curve.toe_least_deg, curve.toe_most_deg].map(|toe_deg| toe.show(side.side, toe_deg));
            Some((
                curve.setup.clone(),
                format!(
                    "from {least} to {most} {}, bump steer {steer} deg per {}",
                    toe.name(),
                    self.units.stretch().name
                ),
            ))
        });
        let Some(PerSide { left, right }) = words.all() else {
            return "Nothing could be shown; why stands below.".to_owned();
        };
        let goes = if left == right {
            format!("toe goes {} on both sides", left.1)
        } else {
            format!("toe goes {} on the left, {} on the right", left.1, right.1)
        };
        format!("Over the travel shown, set up as \"{}\", {goes}.", left.0)
    }

    fn tables(&self, page: &mut Page) {
        let (toe, name) = (self.units.toe, self.units.length_word());
        self.heights(
            page,
            &format!("CAMBER deg AND TOE {} OVER THE TRAVEL, {name} from ride height", toe.name()),
            &[
                ("camber", &|_, at: &Station| signed(at.reading.camber_deg, 2)),
                ("toe", &move |hand, at: &Station| toe.show(hand, at.reading.toe_deg)),
            ],
        );
        if self.detail {
            self.details(page);
        }
        self.motion(page);
        if self.detail {
            self.links(page);
        }
        how_it_stands(page, self.car, self.stance, self.units);
        page.heading("BEFORE YOU RELY ON IT");
        self.notes(page);
    }

    /// Whether a figure is known at all.
    fn knows(&self, figure: impl Fn(&MotionFigures) -> Option<f64>) -> bool {
        let mut curves = self.answer.sides.iter().flat_map(|side| &side.setups);
        curves.any(|curve| curve.at_ride().is_some_and(|at| figure(&at.motion).is_some()))
    }

    fn letters(&self) -> BTreeMap<&str, String> {
        letters(self.answer)
    }

    fn setups(&self, page: &mut Page) {
        const NAME: usize = 28;
        /// What names and changes have together on a page.
        const BOTH: usize = 65;
        page.heading("THE SET-UPS");
        let letters = self.letters();
        let name = letters.keys().map(|name| name.chars().count()).max().unwrap_or(0).clamp(6, NAME);
        let unit = self.units.length_word();
        let mut table =
            Table::new(&["<", "<set-up", "<side", &format!("<changed: {unit} longer; cams: {unit} moved")]);
        each_side(
            &self.answer.sides,
            |side| {
                side.setups
                    .iter()
                    .map(|curve| {
                        vec![
                            letters[curve.setup.as_str()].clone(),
                            curve.setup.clone(),
                            changes(curve, self.units),
                        ]
                    })
                    .collect()
            },
            |side, row| {
                // Long names and lists go on in the lines below.
                let [names, changes] = [(&row[1], name), (&row[2], BOTH - name)]
                    .map(|(text, width)| textwrap::wrap(text, width));
                for line in 0..names.len().max(changes.len()) {
                    let first = |text: &str| if line == 0 { text.to_owned() } else { String::new() };
                    let of = |lines: &[Cow<'_, str>]| lines.get(line).map_or("", |text| text).to_owned();
                    table.row([first(&row[0]), of(&names), first(side), of(&changes)]);
                }
            },
        );
        page.table(table);
        page.gap();
    }

    fn bump_steer(&self, page: &mut Page) {
        page.heading("AT RIDE HEIGHT, AND TOE OVER THE TRAVEL SHOWN");
        let unit = self.units.toe.name();
        let toe_head = format!("toe {unit}");
        let rim = format!("rim {}", self.units.length_name());

        let mut table =
            Table::new(&["<", "<side", "camber deg", &toe_head, "bump steer: deg", &rim, "toe from..to"]);
        let letters = self.letters();
        each_side(
            &self.answer.sides,
            |side| {
                let index = side.side;
                let row = |curve: &Curve| {
                    let at = curve.at_ride()?;
                    Some(vec![
                        letters[curve.setup.as_str()].clone(),
                        signed(at.reading.camber_deg, 2),
                        self.units.toe.show(index, at.reading.toe_deg),
                        self.units.gradient(at.toe_gradient_deg_per_100_mm),
                        at.toe_gradient_rim_mm_per_100_mm
                            .map_or("-".to_owned(), |gradient| self.units.gradient_of_length(gradient)),
                        format!(
                            "{}..{}",
                            self.units.toe.show(index, curve.toe_least_deg),
                            self.units.toe.show(index, curve.toe_most_deg)
                        ),
                    ])
                };
                side.setups.iter().filter_map(row).collect()
            },
            |side, mut row| {
                row.insert(1, side.to_owned());
                table.row(row);
            },
        );
        page.table(table);
        page.line(format!(
            "  bump steer: change of toe per {} of bump; plus: toes in as it rises",
            self.units.stretch().name
        ));
        page.gap();
    }

    /// What is missing or ends early.
    fn gaps(&self, page: &mut Page) {
        let mut gaps: Vec<String> = (self.answer.missing.iter())
            .map(|Omitted { setup, why }| format!("{setup}: not shown; {why}."))
            .collect();
        for side in &self.answer.sides {
            for curve in &side.setups {
                let head = format!("{}, {}", curve.setup, side.side);
                gaps.extend(curve.links.iter().filter(|link| link.beyond_arm).map(|link| {
                    format!(
                        "{head}: {} is beyond what the arm of {} allows.",
                        self.units.with_unit(link.length_mm),
                        link.link
                    )
                }));
                gaps.extend(
                    curve.ends.iter().map(|end| format!("{head}: {}", end_sentence(end, self.units))),
                );
                // Where the links end the travel they are at a dead point, and that was said.
                if curve.stations.iter().any(|at| at.near_singular && at.place != Some(Place::LinksEnd)) {
                    gaps.push(format!(
                        "CAREFUL, {head}: somewhere in this travel the links are close to a dead point; figures there \
                         say little."
                    ));
                }
            }
        }
        page.items("-", &gaps);
        if !gaps.is_empty() {
            page.gap();
        }
    }

    fn notes(&self, page: &mut Page) {
        page.item("-", "Travel is counted from the new ride height, plus upward: the body going straight down on both wheels.");
        if self.car.sides.iter().any(|side| side.ride.bump.is_none() || side.ride.droop.is_none()) {
            page.item("-", format!(
                    "Without `bump` and `droop` in [ride] the travel shown says nothing about the car's stops; {} {} each way from \
                     where it was measured are taken for them.",
                    self.units.length_to(USUAL_TRAVEL, 0),
                    self.units.length_name()
                ));
        }
        if !(self.knows(|motion| motion.anti_squat_percent) && self.knows(|motion| motion.anti_lift_percent))
        {
            page.item("-", "Anti-squat and anti-lift in percent need `wheelbase`, `gravity_height` and `rear_brake_share` in [car].");
        }
        if self.knows(|motion| motion.anti_squat_percent) {
            page.item("-", "Anti-squat counts drive at the rear wheels through shafts, anti-lift brakes at the wheels; a dash: there is no end to \
                 that arm.");
        }
        if !(self.knows(|motion| motion.spring_ratio) && self.knows(|motion| motion.damper_ratio)) {
            page.item("-", "Motion ratios need the two ends of [spring] and [damper] in the profile.");
        }
        page.item(
            "-",
            format!(
                "More tables: {}. Everything at every height for a spreadsheet: {}. As a picture: {}.",
                page.hint(Hint::Detail),
                page.hint(Hint::Spreadsheet),
                page.hint(Hint::Drawing)
            ),
        );
    }
}

/// What a set-up changes: lengths, and pivots moved by cams.
fn changes(curve: &Curve, units: Units) -> String {
    let moved =
        |what: String, by: f64| (!is_nothing(by)).then(|| format!("{what} {}", units.length_signed(by)));
    let changed: Vec<String> = (curve.links.iter())
        .flat_map(|link| {
            let cam = link.cam_moved_mm.and_then(|by| moved(format!("{} cam", link.link), by));
            [moved(link.link.clone(), link.longer_mm), cam]
        })
        .flatten()
        .chain(curve.cams.iter().filter_map(|cam| moved(format!("{} cam", cam.link), cam.moved_mm)))
        .collect();
    if changed.is_empty() { "nothing".to_owned() } else { changed.join(", ") }
}

fn end_sentence(end: &TravelEnd, units: Units) -> String {
    let links = match end.links.as_slice() {
        [] => "the links block each other".to_owned(),
        [only] => format!("\"{only}\" is at the end of its swing"),
        [first, others @ ..] => format!("\"{first}\" blocks \"{}\"", others.join("\" and \"")),
    };
    format!(
        "the links end the travel {} {} from ride height, at a drop of {}: {links}. Beyond that nothing is shown.",
        units.length_signed(end.travel_mm),
        units.length_name(),
        units.with_unit(end.drop_mm)
    )
}
