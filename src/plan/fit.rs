//! What readings at several heights teach, and how much better they make a prediction.

use serde::Serialize;

use super::lower::{Lowering, lower};
use crate::car::{Car, Stance};
use crate::measure::{Fitted, NoFit, Round, fit};

/// A car into which readings were put, and what lowering does by itself as far as one knew before and knows now.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct FitAnswer {
    /// What moved, and how each reading fits.
    #[serde(flatten)]
    pub fit: Fitted,
    /// Predictions at the height that was asked for; none where none was, or where the links do not reach it.
    pub predictions: Option<Predictions>,
}

/// The same lowering before and after.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Predictions {
    /// With the car as it was measured.
    pub before: Lowering,
    /// With the fitted car.
    pub after: Lowering,
}

/// Puts readings into a car, and predicts the stance that is asked for with either.
///
/// # Examples
///
/// ```
/// # use rodset::plan::fit_readings;
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// let text = include_str!("../../examples/records/tansy-wharf-heights.toml");
/// let record = rodset::profile::read_record(text, &car).expect("a sound record");
/// let fitted = fit_readings(&car, &record.rounds, Some(&stance))?;
/// for moved in &fitted.fit.moved {
///     println!("{:?} {} moved by {:?}", moved.side, moved.what, moved.by);
/// }
/// # Ok::<(), rodset::measure::NoFit>(())
/// ```
///
/// # Errors
///
/// [`NoFit`] where there is nothing to learn, or nothing fits.
pub fn fit_readings(car: &Car, rounds: &[Round], stance: Option<&Stance>) -> Result<FitAnswer, NoFit> {
    let fit = fit(car, rounds)?;
    let predictions = stance.and_then(|stance| {
        let [before, after] = [car, &fit.car].map(|car| lower(car, stance).ok());
        Some(Predictions { before: before?, after: after? })
    });
    Ok(FitAnswer { fit, predictions })
}
