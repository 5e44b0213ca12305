//! The questions of a survey: one for each entry of its lists, in the place of a profile's points.

use super::car::{self, needed};
use super::question::{Kind, Question};
use rodset::profile::{EditError, entries};

/// All questions that a survey raises: those of a profile, with what is measured in the place of the points.
pub(super) fn questions(text: &str) -> Result<Vec<Question>, EditError> {
    let mut all = car::questions(text)?;
    let is_point = |question: &Question| matches!(question.kind, Kind::Centre | Kind::Point);
    let links = all.iter().rposition(is_point).map_or(all.len(), |at| at + 1);
    let mut measured = Vec::new();
    for entry in entries(text)? {
        let Some((list, of)) = entry.key.strip_prefix("survey.").and_then(|rest| rest.split_once('.')) else {
            continue;
        };
        let (ask, more, example) = of_list(list, of);
        let title = format!("{}: {of}", heading(list));
        measured.push(Question { optional: true, more, ..needed(&entry.key, &title, &ask, example) });
    }
    all.splice(links..links, measured);
    all.retain(|question| !is_point(question));
    Ok(all)
}

fn heading(list: &str) -> &str {
    match list {
        "height" => "Height",
        "forward" => "Ahead of the wheel",
        "across" => "From the centreline",
        "pair" => "Straight across",
        "arm" => "Length of a link",
        "slope" => "Slope of a link",
        "tape" => "Tape",
        _ => list,
    }
}

/// What to measure for an entry, more of it, and how an answer looks.
fn of_list(list: &str, of: &str) -> (String, &'static str, &'static str) {
    const PLUMB: &str = "Hang a plumb line from the middle of the bolt and mark the spot on the floor; do all bolts first, then measure \
        between the spots with the tape flat on the floor.";
    let point = point(of);
    match list {
        "height" => (
            format!("From the floor straight up to {point}."),
            "Car on its wheels on a level floor. Set the rule or tape upright on the floor beside the bolt and read at its middle.",
            "312, or 12 1/4 in",
        ),
        "forward" => (
            format!(
                "On the floor, along the car: from the spot under the wheel centre to the spot under {point}. Behind the wheel centre is minus."
            ),
            PLUMB,
            "-160",
        ),
        "across" => (
            format!(
                "On the floor, straight across: from the string on the centreline to the spot under {point}."
            ),
            PLUMB,
            "360",
        ),
        "pair" => (
            format!("From {point} on the left straight across to the same place on the right."),
            "Where the tape gets through. It tells whether the centreline was in the middle.",
            "720",
        ),
        "arm" => (
            format!("The link \"{of}\" from the middle of one bolt to the middle of the other."),
            "Off the car on tight-fitting pins is best; bolts sit loosely in their sleeves. In place if both bolts can be reached.",
            "241.5",
        ),
        "slope" => (
            format!(
                "A level on the link \"{of}\": by how many degrees is its outer end the higher one? Lower is minus."
            ),
            "",
            "3.6",
        ),
        "tape" => {
            let ends = of.split_once(" - ").map_or((of, ""), |ends| ends);
            (
                format!("A tape straight from {} to {}.", self::point(ends.0), self::point(ends.1)),
                "From the middle of one bolt to the middle of the other, through the air. These check the rest: the more, the better.",
                "256",
            )
        }
        _ => (format!("What does it read: {of}?"), "", "120"),
    }
}

/// A point in words.
fn point(name: &str) -> String {
    let (side, plain) = name.strip_prefix("right ").map_or(("", name), |plain| (" on the right", plain));
    if plain == "wheel centre" {
        return format!("the wheel centre{side}");
    }
    let end = |end: &str| plain.strip_suffix(end).map(str::trim_end);
    match (end("subframe"), end("knuckle")) {
        (Some(link), _) if !link.is_empty() => {
            format!("the bolt of the link \"{link}\" on the subframe{side}")
        }
        (_, Some(link)) if !link.is_empty() => {
            format!("the bolt of the link \"{link}\" on the knuckle{side}")
        }
        _ => format!("the mark {plain}{side}"),
    }
}
