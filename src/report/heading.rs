//! The head of every page, and the table of readings.

use super::number::{ToeUnit, Units, fixed, signed};
use super::page::Page;
use super::table::Table;
use super::words::{loading, travel_sentence};
use crate::car::{Car, Hand, PerSide, Stance};
use crate::plan::{Band, Reading, Target};

/// The page of an answer about a car as it stands.
#[derive(Debug)]
pub struct AnswerPage<'a, A> {
    /// The car.
    pub car: &'a Car,
    /// How it stands.
    pub stance: &'a Stance,
    /// The answer.
    pub answer: &'a A,
    /// The units shown.
    pub units: Units,
}

impl<A> AnswerPage<'_, A> {
    /// What it comes to, and what stands above it.
    pub(super) fn head(&self, page: &mut Page, title: &str, verdict: impl Into<String>) {
        page.verdict(verdict);
        of_car(page, title, self.car, self.stance, self.units);
    }

    /// How the car stands, for all that is read on it.
    pub(super) fn how_it_stands(&self, page: &mut Page) {
        how_it_stands(page, self.car, self.stance, self.units);
    }
}

/// Of which car the page is, and how low that is.
pub(super) fn of_car(page: &mut Page, title: &str, car: &Car, stance: &Stance, units: Units) {
    page.title(format!("{title}: {}, rear {}", car.name, lowering(stance.drops, units)));
    page.gap();
}

/// How far the car is lowered, how it is loaded, and what travel that leaves.
pub(super) fn how_it_stands(page: &mut Page, car: &Car, stance: &Stance, units: Units) {
    page.heading("HOW THE CAR STANDS");
    page.paragraph(format!("{}.", height(stance.drops, stance.front, units)));
    stands(page, car, stance, units);
    page.gap();
}

/// How it is loaded, and what travel is left.
pub(super) fn stands(page: &mut Page, car: &Car, stance: &Stance, units: Units) {
    page.paragraph(loading(car));
    if let Some(sentence) = travel_sentence(car, stance, units) {
        page.paragraph(sentence);
    }
}

/// What of it stands on every sheet of paper.
pub(super) fn running(page: &mut Page, title: &str, car: &Car, stance: &Stance, units: Units) {
    page.title(format!("{title}: {}", car.name));
    page.head(height(stance.drops, stance.front, units));
}

/// How far the car is lowered, in words.
pub(super) fn height(drops: PerSide<f64>, front: Option<f64>, units: Units) -> String {
    let front = match front {
        Some(front) => format!("front lowered by {}", units.with_unit(front)),
        None => "front taken to follow the rear".to_owned(),
    };
    format!("Rear {}; {front}", lowering(drops, units))
}

/// How far its rear is, in words.
pub(super) fn lowering(drops: PerSide<f64>, units: Units) -> String {
    let name = units.length_name();
    match drops.map(|drop| units.length(drop)) {
        _ if drops.iter().all(|drop| drop.abs() < f64::EPSILON) => {
            "at the height it was measured at".to_owned()
        }
        PerSide { left, right } if left == right && drops.left < 0.0 => {
            format!("raised by {}", units.with_unit(-drops.left))
        }
        PerSide { left, right } if left == right => format!("lowered by {left} {name}"),
        PerSide { left, right } => format!("lowered: left by {left}, right by {right} {name}"),
    }
}

pub(super) const SIGNS: &str = "camber: minus leans in at the top; toe: plus is toe-in, each wheel by itself";

/// A table of readings, one row a stage, left and right beside each other.
pub(super) struct ReadingsTable {
    table: Table,
    toe: ToeUnit,
}

impl ReadingsTable {
    pub(super) fn new(toe: ToeUnit) -> Self {
        Self::headed("", toe)
    }

    /// With its heading in the head of the table.
    pub(super) fn headed(heading: &str, toe: ToeUnit) -> Self {
        let [heading, toe_head] = [format!("<{heading}"), format!("toe {}: left", toe.name())];
        Self { table: Table::new(&[&heading, "camber deg: left", "right", &toe_head, "right", "total"]), toe }
    }

    /// What the two wheels read at one stage.
    pub(super) fn row(&mut self, stage: &str, readings: PerSide<Reading>) {
        let PerSide { left, right } = readings;
        self.table.row([
            stage.to_owned(),
            signed(left.camber_deg, 2),
            signed(right.camber_deg, 2),
            self.toe.show(Hand::Left, left.toe_deg),
            self.toe.show(Hand::Right, right.toe_deg),
            self.toe.show_total(PerSide { left: left.toe_deg, right: right.toe_deg }),
        ]);
    }

    /// The same for figures of each wheel that do not belong to one car, so that there is no total.
    pub(super) fn row_of_each(&mut self, stage: &str, PerSide { left, right }: PerSide<Reading>) {
        self.table.row([
            stage.to_owned(),
            signed(left.camber_deg, 2),
            signed(right.camber_deg, 2),
            self.toe.show(Hand::Left, left.toe_deg),
            self.toe.show(Hand::Right, right.toe_deg),
        ]);
    }

    /// What they should read.
    pub(super) fn wanted(&mut self, targets: PerSide<Target>) {
        self.row("wanted", targets.map(|t| Reading { camber_deg: t.camber_deg, toe_deg: t.toe_deg }));
        self.sizes("tolerance", targets.map(|t| [t.camber_tolerance_deg, t.toe_tolerance_deg]));
    }

    /// How good the row above is.
    pub(super) fn good_to(&mut self, bands: PerSide<&Band>) {
        self.sizes("good to, 95 of 100", bands.map(|band| [band.camber_deg, band.toe_deg]));
    }

    /// A row, below another, of sizes without a sign: of camber and of toe, degrees.
    fn sizes(&mut self, what: &str, of: PerSide<[f64; 2]>) {
        let [camber, toe] = [0, 1].map(|k| of.map(|sizes| sizes[k]));
        self.table.row([
            format!("  {what}"),
            fixed(camber.left, 2),
            fixed(camber.right, 2),
            self.toe.show_size(Hand::Left, toe.left),
            self.toe.show_size(Hand::Right, toe.right),
        ]);
    }

    /// A row to be filled in by hand.
    pub(super) fn blank(&mut self, stage: &str) {
        self.table.row([stage, "______", "______", "______", "______", "______"].map(str::to_owned));
    }

    /// The table and what its signs mean, as parts of a page.
    pub(super) fn put(self, page: &mut Page) {
        self.put_table(page);
        page.note(SIGNS);
    }

    /// The table alone, for a page that has something beside it.
    pub(super) fn put_table(self, page: &mut Page) {
        page.table(self.table);
    }
}
