//! Where a figure of an answer comes from: what it means, how it came about for this car, and what moves it.
//!
//! Nothing here knows what the figures are. An answer is taken as the tree of its JSON: its schema, made from the types themselves,
//! says what each number means. The question is asked again with one thing changed at a time, and the same number is looked up in
//! the new answer, so that every change told is a whole new exact solution and no slope. Most of what a car is described by does
//! nothing to one figure, so things are first changed by the dozen: where that does nothing, none of them is asked by itself.

mod account;
mod figures;
mod find;
mod given;
mod how;
mod inputs;
mod rests;
mod survey;
mod unit;

pub(crate) use account::{AccountStep, Stage};
pub(crate) use figures::{AnswerFigure, AnswerFigures, tree};
pub(crate) use find::Unclear;
pub(crate) use given::Given;
pub(crate) use how::{How, OtherFigure};
pub(crate) use inputs::{MovedInput, Setting, SettingStep};
pub(crate) use rests::{CarQuestion, OnNothing, Rests};
pub(crate) use unit::Unit;

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use rayon::slice::ParallelSlice;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::car::Hand;
use crate::measure::SIGMAS_OF_95;

/// A figure explained: for one side, or for both.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub(crate) struct Explained {
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
    /// So many things were measured that they were not moved one by one; 0 where they were.
    pub passed_over: usize,
}

/// So many things are changed together, to see whether any of them does anything.
const DOZEN: usize = 12;
/// So many are not worth that.
const FEW: usize = 4;

/// What a figure, or that of the left and that of the right side, comes to.
type Values = Vec<Option<f64>>;

/// One number explained.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub(crate) struct Explanation {
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
    pub measured: Vec<MovedInput>,
    /// How good all of that leaves it: the half-width that holds 95 of 100 errors; `None` where nothing that was measured
    /// moves it.
    pub good_to: Option<f64>,
    /// What else in the profile moves it.
    pub settings: Vec<Setting>,
}

/// What some things do together, each by so much.
type Together<'a, T> = dyn Fn(&[(usize, f64)]) -> T + Sync + 'a;

/// Explains the figure of an answer that `words` are the best name of. `rests` is what the question rests on that `figures` answer,
/// and `ask` gives the tree of the answer for whatever of that is changed, or as much of it as holds the figure at a place.
///
/// # Errors
///
/// No figure goes by these words, or too many do.
pub(crate) fn explain<R: Rests>(
    figures: &AnswerFigures,
    words: &str,
    rests: &R,
    ask: &(dyn Fn(&R::Basis, &str) -> Option<Value> + Sync),
) -> Result<Explained, Unclear>
where
    R::Basis: Sync,
{
    let found = figures.find(words)?;
    let shown = &found.figures;
    // The figures of a changed question, in the order of those that are shown.
    let again = |basis: Option<&R::Basis>| -> Values {
        let other = basis.and_then(|basis| ask(basis, &shown[0].at));
        shown.iter().map(|figure| figure.in_tree(other.as_ref()?)).collect()
    };
    let now: Values = shown.iter().map(|figure| figure.value).collect();
    let steps = rests.steps();
    let stages: Vec<Values> = steps.par_iter().map(|(_, step)| again(Some(step))).collect();
    let inputs = rests.measured();
    let both = |by: &[(usize, f64)]| {
        [1.0, -1.0].map(|way| {
            let by: Vec<(usize, f64)> = by.iter().map(|(place, sigmas)| (*place, way * sigmas)).collect();
            again(Some(&rests.moved(&by)))
        })
    };
    let moved = each(inputs.len(), &[now.clone(), now.clone()], &both);
    let settings = rests.settings();
    let set = each(settings.len(), &now, &|by: &[(usize, f64)]| again(rests.set(by).as_ref()));
    let explanations = shown.iter().enumerate().map(|(i, figure)| {
        let change = |other: Option<f64>| Some(other? - now[i]?);
        let measured: Vec<MovedInput> = (inputs.iter().zip(&moved))
            .map(|(input, [more, less])| MovedInput {
                more: change(more[i]),
                less: change(less[i]),
                ..input.clone()
            })
            .collect();
        let sigma = rests.sigma(&measured);
        let steps = steps.iter().map(|(step, _)| *step).zip(stages.iter().map(|stage| stage[i]));
        Explanation {
            at: figure.at.clone(),
            side: figure.side,
            value: figure.value,
            how: how::of(figure, figures),
            account: account::account(steps, now[i]),
            measured,
            good_to: (sigma > 0.0).then_some(sigma * SIGMAS_OF_95),
            settings: (settings.iter().zip(&set))
                .filter_map(|(setting, set)| setting.changing(change(set[i])))
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
        passed_over: rests.passed_over(),
    })
}

/// What each of so many things does, where `ask` tells what some of them do together, each by so much. Where some together do
/// `nothing`, each of them does nothing: no two by the same, as what they do might cancel.
fn each<T: Clone + PartialEq + Send + Sync>(count: usize, nothing: &T, ask: &Together<'_, T>) -> Vec<T> {
    fn of<T: Clone + PartialEq + Send + Sync>(
        some: &[(usize, f64)],
        nothing: &T,
        ask: &Together<'_, T>,
    ) -> Vec<T> {
        if some.len() > FEW && ask(some) == *nothing {
            return vec![nothing.clone(); some.len()];
        }
        if some.len() <= FEW {
            return some.iter().map(|(one, _)| ask(&[(*one, 1.0)])).collect();
        }
        some.chunks(FEW).flat_map(|some| of(some, nothing, ask)).collect()
    }
    // Parts of one by the golden section, of which no few differ by a simple ratio.
    #[expect(clippy::cast_precision_loss, reason = "some hundred things")]
    let all: Vec<(usize, f64)> =
        (0..count).map(|i| (i, 0.5 + (i as f64 * 0.618_033_988_749_894_8).fract() / 2.0)).collect();
    all.par_chunks(DOZEN).flat_map_iter(|some| of(some, nothing, ask)).collect()
}
