//! From a round back to the text of a record.

use std::str::FromStr;

use super::height::INCHES;
use super::setting::WrittenSetting;
use crate::car::{Car, Hand, Link, PARTS, PerSide, mixed_turns};
use crate::measure::{Measured, Round};
use crate::profile::literal::{float, key, quoted};

/// One `[[reading]]` with what a round holds, to stand at the end of a record; it begins with an empty line.
///
/// [`read_record`](super::read_record) gives the same round again: lengths, turns and angles are written with as many digits
/// as that takes, an angle to the last bit or the one before. A fitted arm's cam that the round leaves open is written as it
/// was found. A floor that was taken out stays out: it is not written again.
pub fn write_reading(round: &Round, car: &Car) -> String {
    let mut lines = vec![String::new(), "[[reading]]".to_owned()];
    let mut line = |key: &str, value: String| lines.push(format!("{key} = {value}"));
    for (key, text) in [("title", &round.title), ("date", &round.date)] {
        if let Some(text) = text {
            line(key, quoted(text));
        }
    }
    if let Some(source) = round.source {
        line("source", quoted(source));
    }
    match round.drops {
        PerSide { left, right } if same(left, right) => line("drop", millimetres(left)),
        PerSide { left, right } => {
            line("drop_left", millimetres(left));
            line("drop_right", millimetres(right));
        }
    }
    for (key, value) in [("drop_sigma", round.drop_sigma), ("front_drop", round.front)] {
        if let Some(value) = value {
            line(key, millimetres(value));
        }
    }
    if round.turned_round {
        line("turned_round", true.to_string());
    }
    if let Some(total) = round.total_toe {
        // Half is what one wheel has; the reader doubles it.
        line("total_toe", degrees(total.value, |degrees| 2.0 * (degrees / 2.0).to_radians()));
        line("total_toe_sigma", degrees(total.sigma, f64::to_radians));
    }
    let arms = settings(car, |hand, i, link| Some(arm(link, round.lengths[hand][i]?)));
    let cams = settings(car, |hand, i, link| {
        let shift = match (round.shifts[hand][i], &link.cam) {
            (None, Some(cam)) if round.lengths[hand][i].is_some() => cam.found(),
            (shift, _) => shift?,
        };
        Some(format!("{shift} mm"))
    });
    for (table, settings) in [("arms", arms), ("cams", cams)] {
        if !settings.is_empty() {
            lines.push(format!("[reading.{table}]"));
            lines.extend(settings);
        }
    }
    for (table, wheel) in ["left", "right"].into_iter().zip(&round.wheels) {
        let figures = [("camber", wheel.camber), ("toe", wheel.toe)];
        let figures: Vec<(&str, Measured)> =
            figures.into_iter().filter_map(|(key, figure)| Some((key, figure?))).collect();
        if figures.is_empty() {
            continue;
        }
        lines.push(format!("[reading.{table}]"));
        for (key, figure) in figures {
            lines.push(format!("{key} = {}", degrees(figure.value, f64::to_radians)));
            lines.push(format!("{key}_sigma = {}", degrees(figure.sigma, f64::to_radians)));
        }
    }
    lines.join("\n") + "\n"
}

/// A line for each link that has a setting, in the order of the car.
fn settings(car: &Car, of: impl Fn(Hand, usize, &Link) -> Option<String>) -> Vec<String> {
    (0..car.sides.left.links.len())
        .filter_map(|i| {
            let texts = car.sides.each(|side| of(side.hand, i, &side.links[i]).map(|text| quoted(&text)));
            let value = match (texts.left, texts.right) {
                (None, None) => return None,
                (Some(left), Some(right)) if left == right => left,
                (Some(left), Some(right)) => format!("{{ left = {left}, right = {right} }}"),
                (Some(left), None) => format!("{{ left = {left} }}"),
                (None, Some(right)) => format!("{{ right = {right} }}"),
            };
            Some(format!("{} = {value}", key(&car.sides.left.links[i].name)))
        })
        .collect()
}

/// An arm's length in turns, where such turns give it back to the last bit; else in mm.
fn arm(link: &Link, length: f64) -> String {
    let in_mm = || format!("{} mm", link.on_bench(length));
    let Some(arm) = &link.arm else { return in_mm() };
    let (stock, lead) = (link.stock_length(), arm.lead());
    let exact = |text: &String| {
        let Ok(WrittenSetting::Bare(turns) | WrittenSetting::Turns(turns)) = WrittenSetting::from_str(text)
        else {
            return false;
        };
        same(stock + turns * lead, length)
    };
    let turns = (length - stock) / lead;
    let way = if turns < 0.0 { "shorter" } else { "longer" };
    let fraction = |parts: f64| match mixed_turns(turns, parts) {
        none if none == "0" => none,
        turns => format!("{turns} {way}"),
    };
    PARTS.into_iter().map(fraction).find(exact).unwrap_or_else(in_mm)
}

/// An angle in degrees, with the fewest decimals that `read` turns into it again.
fn degrees(angle: f64, read: impl Fn(f64) -> f64) -> String {
    const MOST_DECIMALS: usize = 17;
    let degrees = angle.to_degrees();
    let exact = |text: &String| text.parse().is_ok_and(|degrees| same(read(degrees), angle));
    (0..=MOST_DECIMALS)
        .map(|decimals| format!("{degrees:.decimals$}"))
        .find(exact)
        .map_or_else(|| float(degrees), |text| if text.contains('.') { text } else { text + ".0" })
}

/// A drop; a little one has its unit, so that nobody takes it for inches.
fn millimetres(value: f64) -> String {
    if value == 0.0 || value.abs() >= INCHES { float(value) } else { quoted(format!("{value} mm")) }
}

/// The same to the last bit.
fn same(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits() || (a == 0.0 && b == 0.0)
}
