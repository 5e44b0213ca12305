//! A hundred drops of one wheel, solved one from the other: camber and toe over the travel, for a spreadsheet.
//!
//! `cargo run --release --example sweep_drops`

use std::error::Error;
use std::fmt::Write;

use rodset::car::{Setup, Stance};
use rodset::geometry::{Figure, solve};

fn main() -> Result<(), Box<dyn Error>> {
    print!("{}", table("examples/tansy-wharf.toml", 100)?);
    Ok(())
}

pub(crate) fn table(file: &str, count: u32) -> Result<String, Box<dyn Error>> {
    let text = std::fs::read_to_string(file)?;
    let car = rodset::profile::read(&text).map_err(|findings| findings[0].clone())?.car;
    let side = &car.sides.left;
    // The links as the car was measured; lengths and pivots of it may be changed to ask for others.
    let setup = Setup::as_found(side);
    let mut table = String::from("drop_mm,camber_deg,toe_deg\n");
    let mut pose = side.reference();
    for step in 0..count {
        let drop = f64::from(step) * 0.8;
        let position = solve(&setup.rows(side, drop), &pose)?;
        let stance = Stance::new(&car, [drop, drop], None).ok_or("a front drop needs the wheelbase")?;
        let ground = stance.ground(side.hand);
        let [camber, toe] = [Figure::Camber, Figure::Toe]
            .map(|figure| figure.value(&position.pose, &side.wheel, &ground).to_degrees());
        writeln!(table, "{drop:.1},{camber:.4},{toe:.4}")?;
        pose = position.pose;
    }
    Ok(table)
}
