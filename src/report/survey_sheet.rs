//! The page that is carried under the car: what to measure, in which order, with a sketch and blanks.

use super::number::{LengthUnit, Units, fixed};
use super::page::{BLANK, Page, Printable};
use super::survey_sketch::sketch;
use super::table::Table;
use crate::measure::{Listed, MeasuringWay, Survey};

const SKETCH: &str = "
  from below, as you lie under the car       from the front, left wheel
  with your head to its front

   x forward                                  z up
   |      string: y = 0                       |         link  o-----.
   |      :                                   |               |     |
   |      :        link o.                    |    subframe   o     o knuckle
   |      :              '.                   |               |     |   [wheel]
   |      :        link    o--.               |         link  o-----o
   |      :        link o-----o  [wheel]      |     _______________________ floor
   |      :        link   o---o               +--- y: from the string to the LEFT
   |      :        link o-----o
   +------:---- y: from the string to the LEFT of the car

  Every o is the middle of a bolt: `subframe` on the car, `knuckle` on the wheel
  carrier.
";

/// A survey sheet.
#[derive(Debug)]
pub(crate) struct SurveySheet<'a> {
    pub(crate) survey: &'a Survey,
    /// Name of its file.
    pub(crate) file: &'a str,
    /// The unit of lengths.
    pub(crate) units: Units,
}

impl Printable for SurveySheet<'_> {
    fn put(&self, page: &mut Page) {
        page.title(format!("Survey sheet: {}", self.survey.car));
        page.line(format!("For {}        date ____________   by ____________", self.file));
        page.gap();
        page.item("!", "Nobody under a car on a jack. Measure with the car on its wheels on a level floor or a drive-on lift, wheels \
             chocked, loaded as for every reading; stands on firm ground for anything else, and heights only with the car \
             down.");
        page.screen(SKETCH);
        sketch(page, self.survey);
        let places: Vec<String> =
            self.survey.place_names().map(|(number, name)| format!("{number} {name}")).collect();
        page.paragraph(format!("Places, by their numbers: {}.", places.join(", ")));
        let (fineness, unit_note) = match self.units.length {
            LengthUnit::Millimetres => ("the half mm", ""),
            LengthUnit::Inches => (
                "the 1/64 in",
                " In the survey file a bare number is mm, so write the unit there, as in \"12 3/8 in\".",
            ),
        };
        page.paragraph(format!(
                "Read to {fineness}, write down what you read, not what you expect. If a reading disagrees with an earlier \
                 one, keep both.{unit_note}"
            ));
        let of = |way: MeasuringWay| -> Vec<&Listed> {
            self.survey.listed.iter().filter(|one| one.way == way).collect()
        };
        let lists =
            MeasuringWay::ALL.into_iter().map(|way| (way, of(way))).filter(|(_, listed)| !listed.is_empty());
        for (number, (way, listed)) in (1..).zip(lists) {
            page.gap();
            let unit = if way == MeasuringWay::Slope { "deg" } else { self.units.length_word() };
            page.item(format!("{number}."), format!("{}, {unit}", how(way)));
            page.table(self.blanks(&listed, unit));
        }
    }
}

fn how(way: MeasuringWay) -> &'static str {
    match way {
        MeasuringWay::Height => {
            "HEIGHT: from the floor straight up to the middle of the bolt, a square set on the floor"
        }
        MeasuringWay::Forward => {
            "FORWARD: plumb line from the bolt to the floor, mark the spot; how far ahead of the wheel centre's spot, \
             backward is minus"
        }
        MeasuringWay::Across => {
            "ACROSS: from the string along the centreline (middle of the front to middle of the rear subframe) to the same \
             spots, square to it"
        }
        MeasuringWay::Pair => "PAIR: from the bolt straight across to its counterpart on the right",
        MeasuringWay::Offset => "OFFSET: level distance from the string through two marks, plus: left of it",
        MeasuringWay::Tape => {
            "TAPE: straight from middle to middle; outside edge to outside edge and inside to inside, halved, avoids \
             guessing the middle"
        }
        MeasuringWay::Arm => {
            "ARM: the link centre to centre, off the car on tight-fitting pins; a bent one straight, not along the bar"
        }
        MeasuringWay::Slope => {
            "SLOPE: digital level on the link, zeroed on the floor, turned end for end and averaged; plus: knuckle end \
             higher"
        }
    }
}

impl SurveySheet<'_> {
    /// What is read where, and what was read or a blank: two beside each other where they fit.
    fn blanks(&self, listed: &[&Listed], unit: &str) -> Table {
        /// The longest name of which two stand beside each other.
        const SHORT: usize = 22;
        let longest = listed.iter().map(|listed| listed.what.chars().count()).max().unwrap_or(0);
        let columns = if longest <= SHORT { 2 } else { 1 };
        let head = ["<at", "<", unit].repeat(columns);
        let mut table = Table::new(&head);
        for row in listed.chunks(columns) {
            table.row(row.iter().flat_map(|listed| {
                let shown = match listed.reads {
                    Some(reads) if listed.way == MeasuringWay::Slope => fixed(reads.to_degrees(), 1),
                    Some(reads) => self.units.length(reads),
                    None => BLANK.to_owned(),
                };
                [self.survey.places(listed), listed.what.clone(), shown]
            }));
        }
        table
    }
}
