//! Readings at several heights put into a car: what they teach, and how much better it then predicts.
//!
//! `cargo run --release --example fit_readings`

use std::error::Error;
use std::fmt::Write;

use rodset::car::Stance;
use rodset::plan::fit_readings;
use rodset::profile::{read, read_record};

fn main() -> Result<(), Box<dyn Error>> {
    print!("{}", page("examples/tansy-wharf.toml", "examples/records/tansy-wharf-heights.toml")?);
    Ok(())
}

pub(crate) fn page(car: &str, record: &str) -> Result<String, Box<dyn Error>> {
    let text = std::fs::read_to_string(car)?;
    let car = read(&text).map_err(|findings| findings[0].clone())?.car;
    let text = std::fs::read_to_string(record)?;
    let record = read_record(&text, &car).map_err(|findings| findings[0].clone())?;

    let stance = Stance::new(&car, [40.0, 40.0], None).ok_or("a front drop needs the wheelbase")?;
    let answer = fit_readings(&car, &record.rounds, Some(&stance))?;
    let mut page = String::new();
    for reading in &answer.fit.readings {
        let (read, before, after) = (reading.read_deg, reading.before_deg, reading.after_deg);
        writeln!(
            page,
            "{} of round {}: read {read:+.2}, {before:+.2} before, {after:+.2} after",
            reading.figure, reading.round
        )?;
    }
    if let Some(predictions) = &answer.predictions {
        for (before, after) in predictions.before.sides.iter().zip(&predictions.after.sides) {
            let [before, after] =
                [before, after].map(|side| (side.lowered.reading.toe_deg, side.band.toe_deg));
            writeln!(
                page,
                "toe 40 mm lower: {:+.2} +/- {:.2}, now {:+.2} +/- {:.2}",
                before.0, before.1, after.0, after.1
            )?;
        }
    }
    Ok(page)
}
