//! A car from its file, lowered by 40 mm: what lowering does, and what its adjustable arms are to be set to.
//!
//! `cargo run --release --example plan_a_car`

use std::error::Error;
use std::fmt::Write;

use rodset::car::Stance;
use rodset::plan::{Fitting, lower, plan};

fn main() -> Result<(), Box<dyn Error>> {
    print!("{}", page("examples/tansy-wharf.toml", 40.0)?);
    Ok(())
}

pub(crate) fn page(file: &str, drop: f64) -> Result<String, Box<dyn Error>> {
    let text = std::fs::read_to_string(file)?;
    // Everything that is wrong with a file is told at once.
    let checked = rodset::profile::read(&text).map_err(|findings| findings[0].clone())?;
    let car = &checked.car;
    let stance = Stance::new(car, [drop, drop], None).ok_or("a front drop needs the wheelbase")?;
    let specs = car.sides.each(|side| side.spec).all().ok_or("the file has no [spec]")?;

    let lowered = lower(car, &stance)?;
    let planned = plan(car, &stance, &specs, &Fitting::default())?;
    let mut page = String::new();
    for (before, after) in lowered.sides.iter().zip(&planned.sides) {
        let (camber, toe) = (before.lowered.reading.camber_deg, before.lowered.reading.toe_deg);
        writeln!(page, "{}: camber {camber:+.2}, toe {toe:+.2} degrees when only lowered", after.side)?;
        for arm in &after.arms {
            writeln!(page, "  {}: {:+.2} turns, then {:.1} mm long", arm.link, arm.turns, arm.set_mm)?;
        }
        let reading = &after.result.reading;
        writeln!(page, "  reads {:+.2} and {:+.2} degrees then", reading.camber_deg, reading.toe_deg)?;
    }
    Ok(page)
}
