//! A starter with the points of another car of the same model: what differs from owner to owner stays open.

use super::edit::{EditError, link_names, remove_value, set_value};
use super::literal::quoted;
use super::outline::TextOutline;
use super::write::{Numbers, write_numbers};
use crate::car::{Car, Errors, Measurand, Sigmas};

/// Lines of a starter that wait for points.
const WAITING: [&str; 3] = ["#= centre =", "#= subframe =", "#= knuckle ="];

/// The starter with the points of a car, each coordinate as far off besides as cars of one model differ: standard deviation
/// `spread`, mm. Its readings, arms, cams and spec are another owner's and stay away.
///
/// # Errors
///
/// What keeps its points from being taken over, in words.
pub(crate) fn like(starter: &str, of: &Car, spread: f64) -> Result<String, String> {
    if !of.assumed.is_empty() {
        return Err(
            "its points rest on a typical layout and were not measured; begin from that layout yourself"
                .to_owned(),
        );
    }
    let mut text = without_blanks(starter);
    let left = &of.sides.left;
    let wrong = |error: EditError| error.to_string();
    let names = link_names(&text).map_err(wrong)?;
    for (name, link) in names.iter().zip(&left.links) {
        let key = format!("link.{name}.{}", "sets");
        text = match link.sets {
            Some(sets) => set_value(&text, &key, &quoted(sets)).map_err(wrong)?.text,
            None => remove_value(&text, &key).map_or(text, |change| change.text),
        };
    }
    let outline = TextOutline::of(&text)?;
    // The last first, so that the places of the others stay.
    for (name, link) in names.iter().zip(&left.links).rev() {
        if let [place] = outline.find(&format!("link.{name}.name"))[..] {
            text.replace_range(place.value.clone(), &quoted(&link.name));
        }
    }
    let mut points = [[0.0; 3]; 11];
    for (place, point) in points.iter_mut().zip(Measurand::points()) {
        *place = left.car_point(&left.point(point));
    }
    let mut covariance = left.errors.covariance().clone();
    let own = Errors::independent(&Sigmas::default());
    for number in 0..Measurand::NUMBERS {
        if number >= Measurand::READINGS {
            covariance.row_mut(number).fill(0.0);
            covariance.column_mut(number).fill(0.0);
            covariance[(number, number)] = own.covariance()[(number, number)];
        } else if covariance[(number, number)] > 0.0 {
            // Where x begins nothing is off.
            covariance[(number, number)] += spread.powi(2);
        }
    }
    let numbers = Numbers {
        points: &points,
        right: &[],
        right_errors: None,
        readings: None,
        errors: &Errors::of(covariance),
        learnt: &[],
        lengths: &[],
        assumed: &[],
    };
    write_numbers(&text, &numbers).map_err(wrong)
}

/// The starter without what waits for points.
fn without_blanks(starter: &str) -> String {
    let mut waiting = false;
    let kept = starter.lines().filter(|line| {
        // A comment that goes on stands in its column.
        waiting =
            WAITING.iter().any(|key| line.starts_with(key)) || waiting && line.starts_with("#         ");
        !waiting
    });
    kept.flat_map(|line| [line, "\n"]).collect()
}
