//! What every command is, and how those that answer a question run: read, ask, show.
//!
//! A command that asks something of the library is an [`Ask`]. It says what it reads, asks and shows; its JSON, the schema of that, what
//! explains a figure of it, samples and exit status are here, once for all of them.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};
use serde::Serialize;

use super::options::{Format, json};
use super::warned::warned;
use super::{Failure, Outcome};
use crate::explain::{AnswerFigures, Rests, explain, tree};
use crate::plan::{Asked, Sampled};
use crate::report::{ExplainPage, Page, Printable, SampledPage, Units};

/// Something that the program does.
pub(super) trait Command {
    /// What makes the schema of the JSON that it prints, if it prints any.
    const SCHEMA: Option<fn() -> Schema> = None;

    /// Does it.
    fn run(&self) -> Result<Outcome, Failure>;
}

/// What a question was asked of, read from files and options.
pub(super) trait Subject: Sync {
    /// That of it which may be changed to explain a figure of the answer.
    type Basis: Sync;

    /// The basis as it was read.
    fn basis(&self) -> Self::Basis;

    /// What it is called.
    fn name(&self) -> &str;

    /// The units that are asked for.
    fn units(&self) -> Units;

    /// What of it can be changed to see what that does.
    fn rests(&self) -> impl Rests<Basis = Self::Basis>;
}

/// A command that asks a question.
pub(super) trait Ask: Sync {
    /// What is read for it.
    type Subject: Subject;
    /// The answer; its type is the schema of the JSON.
    type Answer: Serialize + JsonSchema + Sync + 'static;
    /// Whether its answer can be checked by sampling.
    const SAMPLED: bool = false;

    /// In what form the answer is wanted, and the figure that is to be explained in its place, in words.
    fn form(&self) -> (Format, Option<&str>);

    /// Reads all that the question rests on.
    fn read(&self) -> Result<Self::Subject, Failure>;

    /// Asks it of what was read, or of that with something changed, to see what a change does.
    fn ask(
        &self,
        subject: &Self::Subject,
        basis: &Basis<Self>,
        occasion: Occasion<'_, Self::Answer>,
    ) -> Result<Self::Answer, Failure>;

    /// Does what the answer is wanted for beside being shown, such as a file; gives its name.
    fn act(&self, _subject: &Self::Subject, _answer: &Self::Answer) -> Result<Option<String>, Failure> {
        Ok(None)
    }

    /// Draws cars from the errors, where that is asked for.
    fn sample(&self, _subject: &Self::Subject, _answer: &Self::Answer) -> Result<Option<Sampled>, Failure> {
        Ok(None)
    }

    /// Puts the answer on a page; `done` is what [`act`](Self::act) gave.
    fn put(&self, page: &mut Page, subject: &Self::Subject, answer: &Self::Answer, done: Option<&str>);

    /// The answer for a spreadsheet, where that is asked for.
    fn table(&self, _answer: &Self::Answer) -> Option<Result<String, Failure>> {
        None
    }

    /// Whether what is asked for is met.
    fn succeeds(&self, _subject: &Self::Subject, _answer: &Self::Answer) -> bool {
        true
    }
}

/// On what occasion a question is asked.
pub(super) struct Occasion<'a, T> {
    /// What was answered before something was changed, so that the same work is asked about; `None` the first time.
    pub(super) first: Option<&'a T>,
    /// Which of its figures it is asked for.
    pub(super) asked: Asked<'a>,
}

impl<T> Occasion<'_, T> {
    /// A question that is asked for all of its answer, for the first time.
    const FIRST: Self = Self { first: None, asked: Asked::ALL };
}

/// What the answer of a command rests on.
pub(super) type Basis<A> = <<A as Ask>::Subject as Subject>::Basis;

/// The format of the answers.
const FORMAT: u32 = 1;

// An answer with what is odd about that on which it rests; in the schema it goes by the answer's own name and words.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "{T}")]
pub(super) struct WithWarnings<T> {
    /// Which keys there are and what they mean: 1. New keys may come; one that goes or means something else counts this on.
    format: u32,
    /// What looks like a slip in the files and options that the answer rests on.
    warnings: Vec<String>,
    #[serde(flatten)]
    answer: T,
}

impl<T: Serialize> WithWarnings<T> {
    fn json(answer: T) -> Result<String, Failure> {
        json(&Self {
            format: FORMAT,
            warnings: warned().into_iter().map(|warning| warning.headline).collect(),
            answer,
        })
    }
}

/// An answer with what sampling says of it.
#[derive(Debug, Serialize, JsonSchema)]
struct WithSamples<'a, T> {
    #[serde(flatten)]
    answer: &'a T,
    #[serde(skip_serializing_if = "Option::is_none")]
    sampled: Option<&'a Sampled>,
}

impl<A: Ask> Command for A {
    const SCHEMA: Option<fn() -> Schema> = Some(if A::SAMPLED {
        schema_of::<WithWarnings<WithSamples<'static, A::Answer>>>
    } else {
        schema_of::<WithWarnings<A::Answer>>
    });

    fn run(&self) -> Result<Outcome, Failure> {
        let (form, words) = self.form();
        let subject = self.read()?;
        let answer = self.ask(&subject, &subject.basis(), Occasion::FIRST)?;
        if let Some(words) = words {
            return explained(self, &subject, &answer, (form, words));
        }
        let done = self.act(&subject, &answer)?;
        let sampled = self.sample(&subject, &answer)?;
        let page = |page: &mut Page| {
            self.put(page, &subject, &answer, done.as_deref());
            if let Some(sampled) = &sampled {
                SampledPage { sampled, units: subject.units() }.put(page);
            }
        };
        let output = match (self.table(&answer), form) {
            (Some(table), _) => table?,
            (None, Format::Json) if sampled.is_some() => {
                WithWarnings::json(WithSamples { answer: &answer, sampled: sampled.as_ref() })?
            }
            (None, Format::Json) => WithWarnings::json(&answer)?,
            (None, format) => format.page(&page),
        };
        Ok(Outcome { output, spec_met: self.succeeds(&subject, &answer) })
    }
}

/// The figure of an answer that goes by some words, explained.
fn explained<A: Ask>(
    command: &A,
    subject: &A::Subject,
    answer: &A::Answer,
    (form, words): (Format, &str),
) -> Result<Outcome, Failure> {
    let figures = AnswerFigures::of(answer);
    let again = |basis: &Basis<A>, at: &str| {
        let again = Occasion { first: Some(answer), asked: Asked::only(at) };
        command.ask(subject, basis, again).ok().map(|answer| tree(&answer))
    };
    let explained = explain(&figures, words, &subject.rests(), &again)
        .map_err(|error| Failure::usage(format!("--explain: {error}")))?;
    let page = || ExplainPage { about: subject.name(), answer: &explained, units: subject.units() };
    let output = match form {
        Format::Json => WithWarnings::json(&explained)?,
        format => format.page(&page()),
    };
    Ok(Outcome::answer(output))
}

/// The schema of a type as it is written.
pub(super) fn schema_of<T: JsonSchema>() -> Schema {
    SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<T>()
}
