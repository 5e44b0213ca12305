//! Where a figure of an answer comes from: what it means, how it came about for this car, and what moves it.
//!
//! Nothing here knows what the figures are. An answer is taken as the JSON that it is written as: its schema, made from the
//! types themselves, says what each number means. The question is asked again with one thing changed at a time, and the same
//! number is looked up in the new answer, so that every change told is a whole new exact solution and no slope.

mod account;
mod figures;
mod find;
mod given;
mod how;
mod inputs;
mod survey;
mod unit;
mod varied;

pub use account::{Stage, Step};
pub use figures::{Figure, Figures};
pub use find::Unclear;
pub use given::Given;
pub use how::{How, Named};
pub use inputs::{Moved, Setting, SettingStep};
pub use unit::Unit;
pub use varied::Varied;

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use schemars::JsonSchema;
use serde::Serialize;

use crate::car::Hand;
use crate::measure::SIGMAS_OF_95;
use varied::Again;

/// A figure explained: for one side, or for both.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Explained {
    /// What it is called.
    pub name: String,
    /// Its name in the JSON; the unit of all numbers here is its end.
    pub key: String,
    /// What kind of figure that is, for pages in other units.
    #[serde(skip)]
    pub unit: Unit,
    /// What it means.
    pub meaning: String,
    /// The figure, or that of the left and that of the right side.
    pub figures: Vec<Explanation>,
    /// Other figures of the same answer that the words fit as well.
    pub others: Vec<String>,
    /// Words that no figure goes by, and that were passed over.
    pub unknown: Vec<String>,
}

/// One number explained.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Explanation {
    /// Where it stands in the JSON of the answer, as a JSON pointer (RFC 6901).
    pub at: String,
    /// Its side, where it has one.
    pub side: Option<Hand>,
    /// The number; `None` where there is none for this car.
    pub value: Option<f64>,
    /// How it is worked out.
    pub how: Option<How>,
    /// How it came about, step by step from the car as it was measured; empty where it cannot be followed so. Steps that did
    /// nothing are left out, and the changes add up to the number.
    pub account: Vec<Stage>,
    /// What was measured, and what an error in it does to the number.
    pub measured: Vec<Moved>,
    /// How good all of that leaves it: the half-width that holds 95 of 100 errors; `None` where nothing that was measured
    /// moves it.
    pub good_to: Option<f64>,
    /// What else in the profile moves it.
    pub settings: Vec<Setting>,
}

/// Explains the figure of an answer that `words` are the best name of. `varied` is the question that `figures` answer.
///
/// # Errors
///
/// No figure goes by these words, or too many do.
pub fn explain(figures: &Figures, words: &str, varied: &Varied<'_>) -> Result<Explained, Unclear> {
    let found = figures.find(words)?;
    let shown = &found.figures;
    // The figures of a changed question, in the order of those that are shown.
    let again = |again: &Again<'_>| -> Vec<Option<f64>> {
        let other = again();
        shown.iter().map(|figure| other.as_ref().and_then(|other| other.same(figure)?.value)).collect()
    };
    let now: Vec<Option<f64>> = shown.iter().map(|figure| figure.value).collect();
    let stages: Vec<Vec<Option<f64>>> = varied.steps.par_iter().map(|(_, step)| again(step)).collect();
    let moved: Vec<[Vec<Option<f64>>; 2]> =
        varied.measured.par_iter().map(|(_, ways)| ways.each_ref().map(again)).collect();
    let set: Vec<Vec<Option<f64>>> = varied.settings.par_iter().map(|(_, setting)| again(setting)).collect();
    let explanations = shown.iter().enumerate().map(|(i, figure)| {
        let change = |other: Option<f64>| Some(other? - now[i]?);
        let measured: Vec<Moved> = (varied.measured.iter().zip(&moved))
            .map(|((moved, _), [more, less])| Moved {
                more: change(more[i]),
                less: change(less[i]),
                ..moved.clone()
            })
            .collect();
        let sigma = varied.sigma(&measured);
        let steps = varied.steps.iter().map(|(step, _)| *step).zip(stages.iter().map(|stage| stage[i]));
        Explanation {
            at: figure.at.clone(),
            side: figure.side,
            value: figure.value,
            how: how::of(figure, figures),
            account: account::account(steps, now[i]),
            measured,
            good_to: (sigma > 0.0).then_some(sigma * SIGMAS_OF_95),
            settings: (varied.settings.iter().zip(&set))
                .filter_map(|((setting, _), set)| setting.told(change(set[i])))
                .collect(),
        }
    });
    let first = shown[0];
    Ok(Explained {
        name: found.name,
        key: first.key.clone(),
        unit: first.unit(),
        meaning: first.meaning.clone(),
        figures: explanations.collect(),
        others: found.others,
        unknown: found.unknown,
    })
}
