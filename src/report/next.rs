//! The page of `next`.

use super::heading::AnswerPage;
use super::number::{fixed, of_100};
use super::page::{Page, Printable};
use super::table::Table;
use crate::plan::{Next, NextReading, NextWay, Outlook};

/// So many are named where there is no room for all.
const MOST_NAMED: usize = 3;

/// What more measuring gains, or would gain, where enough is measured.
const LESS: &str = "less for its time than fitting the arms, reading the wheels and correcting once";

impl Printable for AnswerPage<'_, Next> {
    fn put(&self, page: &mut Page) {
        let Next { now, readings, enough_after, .. } = self.answer;
        self.head(page, "What to read next", verdict(self.answer));
        if !readings.is_empty() {
            page.heading("THE READINGS, THE BEST FOR ITS TIME FIRST");
            for (number, reading) in (1..).zip(readings) {
                let enough = if number == enough_after + 1 { "   (from here on it may wait)" } else { "" };
                page.item(number.to_string(), format!("{}, {}{enough}", reading.what, minutes(reading)));
            }
            page.gap();
        }
        let mut told: Vec<NextWay> = Vec::new();
        for reading in readings {
            if !told.contains(&reading.way) {
                told.push(reading.way);
            }
        }
        page.rest(|page| {
            page.heading("HOW GOOD THE PLAN THEN IS, 95 of 100");
            let arms: Vec<String> = now.arms.iter().map(|arm| format!("{}, turns", arm.link)).collect();
            let mut head = vec!["<after", "camber deg", "toe deg"];
            head.extend(arms.iter().map(String::as_str));
            head.extend(["in spec at once: left", "right"]);
            let mut table = Table::new(&head);
            table.row(row("nothing more", now));
            for (number, reading) in (1..).zip(readings) {
                table.row(row(&format!("reading {number}"), &reading.after));
            }
            page.table(table);
            page.gap();
            if !told.is_empty() {
                page.heading("HOW THEY ARE READ");
                page.items("-", told.into_iter().map(how));
                page.gap();
            }
            self.how_it_stands(page);
            page.heading("WHAT THE FIGURES MEAN");
            page.items("-", WHAT_THEY_MEAN);
        });
    }
}

const WHAT_THEY_MEAN: [&str; 3] = [
    "Camber and toe are how far the wheels may be off what the plan says once the arms are set; turns are how far an arm may \
             then still have to be turned; the last columns are cases in 100 in which a wheel is within spec at once.",
    "Minutes are what each takes with what it needs set up already, and in brackets what setting up takes the first time: \
             common practice, no source. A reading that shares its set-up with one before it is the cheaper for it.",
    "Nobody goes under a car that stands on a jack: stands on firm level ground, wheels chocked. Two tapes at the wheel, a \
             level on a link and readings of the wheels need nobody under the car.",
];

/// What to read first, for the page of a plan; `whole` is the command that has the whole list.
pub(super) fn first_sentence(answer: &Next, whole: &str) -> String {
    let first = answer.worth_it().iter().take(MOST_NAMED);
    let first: Vec<String> = first.map(|of| format!("{}, {}", of.what, minutes(of))).collect();
    if first.is_empty() {
        format!("Enough is measured: more would gain {LESS}.")
    } else {
        format!("To narrow it, read first: {}. What each is worth: {whole}.", first.join("; then "))
    }
}

/// How long a reading takes, and what it is worth, for who is asked for it.
pub(crate) fn worth_sentence(answer: &Next, reading: &NextReading) -> String {
    format!(
        "It takes {}. Now the arms set by the plan are good to {}; with this {} they are good to {}.",
        minutes(reading),
        turns_of(&answer.now),
        if answer.readings.first() == Some(reading) { "reading" } else { "reading and those worth more" },
        turns_of(&reading.after)
    )
}

/// That enough is measured, or what else is worth its time.
pub(crate) fn enough_sentence(answer: &Next) -> String {
    let known = turns_of(&answer.now);
    match answer.worth_it().first() {
        None => format!(
            "That is enough: the arms set by the plan are good to {known}. More measuring gains {LESS}."
        ),
        Some(first) => format!(
            "The arms set by the plan are good to {known}. Worth its time yet: {}, {}.",
            first.what,
            minutes(first)
        ),
    }
}

fn verdict(answer: &Next) -> String {
    let Next { now, enough_after, enough_minutes, .. } = answer;
    let known = format!("As things stand the arms set by the plan are good to {}.", turns_of(now));
    match answer.worth_it().last() {
        None => format!("ENOUGH IS MEASURED. {known} More measuring gains {LESS}."),
        Some(last) => {
            let many = if *enough_after == 1 {
                "THE FIRST READING".to_owned()
            } else {
                format!("THE FIRST {enough_after} READINGS")
            };
            format!(
                "{many} BELOW, THEN IT IS ENOUGH. {known} After about {} minutes they are good to {}; more measuring gains {LESS}.",
                fixed(*enough_minutes, 0),
                turns_of(&last.after)
            )
        }
    }
}

fn turns_of(outlook: &Outlook) -> String {
    let of: Vec<String> =
        outlook.arms.iter().map(|arm| format!("{} turns of {}", fixed(arm.turns, 2), arm.link)).collect();
    match of.as_slice() {
        [] => {
            format!("{} deg of camber and {} of toe", fixed(outlook.camber_deg, 2), fixed(outlook.toe_deg, 2))
        }
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// How a reading is made, safely. Common practice, no source.
fn how(way: NextWay) -> &'static str {
    match way {
        NextWay::OtherHeight => {
            "Another height: lower with ballast over the axle (sacks in the boot, both sides alike), higher with a jack under the \
             body on both sides and stands beneath it that do not touch, the wheels on the floor all the time. Roll the car a metre \
             to and fro and bounce it, so that the tyres settle; then camber, toe and both arch gaps, which go into the record. \
             25 mm either way is plenty. Nobody under the car."
        }
        NextWay::TurnedCam => {
            "A cam turned: mark how it stood, loosen its nut with the wheel unloaded, turn both sides by the same known amount, \
             tighten, lower, roll and bounce, read. It tells what a millimetre of that link does on this very car. Then turn it back."
        }
        NextWay::TurnedArm => {
            "An arm turned: once the arms are in and read, turn both sides by one whole turn more, lock, roll and bounce, read. What a \
             turn does is then known, not worked out."
        }
        NextWay::Again => {
            "Once more: roll the car forward by half a turn of the wheel and read camber and toe anew; the mean loses the rim's \
             run-out."
        }
        NextWay::TapeAtWheel => {
            "A tape at the wheel: from behind with the wheel on, or car on stands, wheel off, the hub held at its arch gap by one more. Middle of bolt \
             head to middle of bolt head, or edge to edge of two equal heads. 3 mm is good enough, and nobody is under the car."
        }
        NextWay::Tape => {
            "A tape between pivots: from the middle of one bolt to the middle of the other, straight through the air. Over a ramp or a \
             pit, or with the car on four stands at its ride height."
        }
        NextWay::Slope => {
            "A level on the link: a level or a phone with an inclinometer laid along it; on a bent link a straightedge from bolt to \
             bolt. Zero it on the floor between the wheels first, turn it end for end and take the mean. Plus: the outer end is \
             higher."
        }
        NextWay::Height => {
            "A height: a rule or tape upright on the floor beside the bolt, car on its wheels, read at the bolt's middle. Where the \
             floor is uneven, from a straightedge on two equal blocks under both wheels."
        }
        NextWay::Forward => {
            "Forward: a plumb line from the bolt and one from the hub, both spots marked on the floor; car rolled away or not, the \
             distance between them along the car."
        }
        NextWay::Across => {
            "From the centreline: a string on the floor through the middles between the front and between the rear tyres; where it \
             lies square, both diagonals to the wheels are equal. Then from the bolt's spot straight across to it."
        }
        NextWay::Arm => {
            "A stock arm: off the car, bolt middle to bolt middle, over two pins that fit its holes, three times, and the mean."
        }
    }
}

fn minutes(reading: &NextReading) -> String {
    let each = fixed(reading.minutes, 0);
    if reading.set_up_minutes > 0.0 {
        format!("{each} min (and {} to set up)", fixed(reading.set_up_minutes, 0))
    } else {
        format!("{each} min")
    }
}

fn row(name: &str, outlook: &Outlook) -> Vec<String> {
    let mut cells = vec![name.to_owned(), fixed(outlook.camber_deg, 2), fixed(outlook.toe_deg, 2)];
    cells.extend(outlook.arms.iter().map(|arm| fixed(arm.turns, 2)));
    let within = outlook.probability_within_spec.map(of_100);
    cells.extend([within.left, within.right]);
    cells
}
