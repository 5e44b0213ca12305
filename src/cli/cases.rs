//! How hard the road pushes, where it is not as the profile says.

use super::Failure;
use crate::car::{Car, Factors, LoadCase, LoadFactors, Said};

/// Load cases that `loads` and `bolts` look at in place of the profile's.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Load cases")]
pub(super) struct Cases {
    /// Factors of a load case in place of the profile's: up, inward and rearward, times what the wheel carries standing, such
    /// as kerb=1,4,0; minus: outward, forward; may be given more than once
    #[arg(long = "case", value_name = "CASE=UP,IN,REAR", value_parser = case)]
    own: Vec<(LoadCase, Factors)>,
}

impl Cases {
    /// The factors of all cases: what is asked for, else the profile's, else the usual ones.
    pub(super) fn of(&self, car: &Car) -> Result<LoadFactors, Failure> {
        let mut factors = car.loads;
        for (case, own) in &self.own {
            if factors.said(*case) == Said::Asked {
                return Err(Failure::usage(format!("--case: {} is given twice", case.name())));
            }
            factors = factors.with(*case, *own, Said::Asked);
        }
        Ok(factors)
    }
}

fn case(text: &str) -> Result<(LoadCase, Factors), String> {
    let names = LoadCase::ALL.map(LoadCase::name).join(", ");
    let (name, three) = text.split_once('=').ok_or("it is not written like kerb=1,4,0")?;
    let name = name.trim();
    let case =
        LoadCase::named(name).ok_or_else(|| format!("no case is called \"{name}\"; they are: {names}"))?;
    let three: Option<Vec<f64>> = three.split(',').map(|factor| factor.trim().parse().ok()).collect();
    let three = three.and_then(|three| <[f64; 3]>::try_from(three).ok());
    let factors = three.and_then(Factors::new).ok_or_else(|| {
        format!(
            "it takes three plain numbers, up (0 or more), inward and rearward, {} at the most",
            Factors::MOST
        )
    })?;
    Ok((case, factors))
}
