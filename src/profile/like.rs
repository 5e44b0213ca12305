//! A starter with the points of another car of the same model: what differs from owner to owner stays open.

use toml_edit::{DocumentMut, Item, value};

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
pub fn like(starter: &str, of: &Car, spread: f64) -> Result<String, String> {
    if !of.assumed.is_empty() {
        return Err(
            "its points rest on a typical layout and were not measured; begin from that layout yourself"
                .to_owned(),
        );
    }
    let mut document: DocumentMut =
        without_blanks(starter).parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    let left = &of.sides.left;
    let tables = document.get_mut("link").and_then(Item::as_array_of_tables_mut);
    for (table, link) in tables.into_iter().flat_map(|tables| tables.iter_mut()).zip(&left.links) {
        table.insert("name", value(&link.name));
        match link.sets {
            Some(sets) => table.insert("sets", value(sets.to_string())),
            None => table.remove("sets"),
        };
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
    write_numbers(&document.to_string(), &numbers)
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
