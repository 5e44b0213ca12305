//! The page that is carried under the car: what to measure, in which order, with a sketch and blanks.

use std::fmt;

use super::number::mm;
use super::words::{item, paragraph};
use crate::measure::{Listed, Survey, Way};

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
pub struct SurveySheet<'a> {
    /// The survey.
    pub survey: &'a Survey,
    /// Name of its file.
    pub file: &'a str,
}

impl fmt::Display for SurveySheet<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "Survey sheet: {}", self.survey.car)?;
        writeln!(f, "For {}        date ____________   by ____________\n", self.file)?;
        item(
            f,
            "!",
            "Nobody under a car on a jack. Measure with the car on its wheels on a level floor or a drive-on lift, wheels \
             chocked, loaded as for every reading; stands on firm ground for anything else, and heights only with the car \
             down.",
        )?;
        writeln!(f, "{SKETCH}")?;
        paragraph(
            f,
            "Read to the half mm, write down what you read, not what you expect. If a reading disagrees with an earlier \
             one, keep both.",
        )?;
        let of =
            |way: Way| -> Vec<&Listed> { self.survey.listed.iter().filter(|one| one.way == way).collect() };
        let lists = Way::ALL.into_iter().map(|way| (way, of(way))).filter(|(_, listed)| !listed.is_empty());
        for (number, (way, listed)) in (1..).zip(lists) {
            writeln!(f)?;
            item(f, &format!("{number}."), how(way))?;
            blanks(f, &listed)?;
        }
        Ok(())
    }
}

fn how(way: Way) -> &'static str {
    match way {
        Way::Height => {
            "HEIGHT: from the floor straight up to the middle of the bolt, a square set on the floor, mm"
        }
        Way::Forward => {
            "FORWARD: plumb line from the bolt to the floor, mark the spot; how far ahead of the wheel centre's spot, \
             backward is minus, mm"
        }
        Way::Across => {
            "ACROSS: from the string along the centreline (middle of the front to middle of the rear subframe) to the same \
             spots, square to it, mm"
        }
        Way::Pair => "PAIR: from the bolt straight across to its counterpart on the right, mm",
        Way::Offset => "OFFSET: level distance from the string through two marks, plus: left of it, mm",
        Way::Tape => {
            "TAPE: straight from middle to middle; outside edge to outside edge and inside to inside, halved, avoids \
             guessing the middle, mm"
        }
        Way::Arm => {
            "ARM: the link centre to centre, off the car on tight-fitting pins; a bent one straight, not along the bar, mm"
        }
        Way::Slope => {
            "SLOPE: digital level on the link, zeroed on the floor, turned end for end and averaged; plus: knuckle end \
             higher, deg"
        }
    }
}

/// Two blanks to a line where they fit.
fn blanks(f: &mut fmt::Formatter<'_>, listed: &[&Listed]) -> fmt::Result {
    /// The longest name of which two stand beside each other.
    const SHORT: usize = 27;
    let longest = listed.iter().map(|listed| listed.what.chars().count()).max().unwrap_or(0);
    let width = if longest <= SHORT { SHORT } else { longest };
    let cell = |listed: &&Listed| {
        let shown = match listed.reads {
            Some(reads) if listed.way == Way::Slope => mm(reads.to_degrees()),
            Some(reads) => mm(reads),
            None => "_______".to_owned(),
        };
        format!("{:<width$} {shown:>7}", listed.what)
    };
    let cells: Vec<String> = listed.iter().map(cell).collect();
    let columns = if longest <= SHORT { 2 } else { 1 };
    cells.chunks(columns).try_for_each(|line| writeln!(f, "     {}", line.join("   ")))
}
