//! `rodset interview`: a profile or a survey filled in question by question.
//!
//! The file itself is the memory: what is still to be asked waits there in lines of its own, and every answer is written down at
//! once. There is nothing else to resume from.

mod car;
mod desk;
mod measured;
mod question;
mod reading_value;
mod sitting;

use std::path::PathBuf;

use super::axle::Axle;
use super::command::Command;
use super::files::{self, Kept, TextFile};
use super::options::Format;
use super::{Failure, Outcome, screen};
use crate::measure::survey;
use crate::plan::check;
use crate::profile::{self, Finding, Inspection, Sort, inspect};
use crate::report::{CheckPage, Page, Printable, Units};
use clap::ValueEnum as _;
use desk::{Desk, Reply};
use reading_value::Worth;
use sitting::Sitting;

const MORE_OF_AXLES: &str = "Count what runs from the wheel carrier to the car. FIVE separate bars: rods. A long arm or sheet of steel bolted firmly to the \
    wheel carrier and running forward to one big bush: blade. The spring and damper in one, clamped to the wheel carrier with two bolts: \
    strut. A wide lower arm with two bolts on the subframe and a short upright link that stands on it: integral. A wide arm with one \
    joint on the wheel carrier and no upright link counts as two of five rods, which end in one point.";

const HELP: &str = "\
Every answer is checked and written to the file at once. Stop whenever you like, also with Ctrl-C; the same command goes on \
at the first question that is still open. The file is an ordinary profile or survey, with comments, that may be edited by hand \
as well.

At a question: `?` tells more of how to measure, `back` or Esc goes to the one before, `skip` leaves it for later, `stop` ends. \
Without a terminal, answers are read from standard input, one a line; the first one that is refused ends it.

Exit status: 0 the file can be used; 3 something is still missing; 1 an answer was refused where nobody could be asked again, \
or the file cannot be used.

Examples:
  rodset interview my-car.toml
      begins the short way, from a typical layout, or goes on with any file
  rodset interview --survey my-survey.toml
      the same for a survey
  printf 'rods\\n0\\n1500\\n311\\n' | rodset interview my-car.toml
      answers from a script, one a line";

#[derive(Debug, clap::Args)]
#[command(after_help = HELP)]
pub(super) struct Args {
    /// The file to begin, or to go on with
    file: PathBuf,
    /// All of a survey: what you measure under the car, from which the points are worked out
    #[arg(long)]
    survey: bool,
    /// A profile by its points, each by three figures, for a car that was drawn or measured before
    #[arg(long, conflicts_with = "survey")]
    points: bool,
    /// On what a rear wheel hangs, for a new file; left out, that is the first question
    #[arg(long)]
    axle: Option<Axle>,
}

impl Args {
    /// The file to begin with, for a wheel that hangs so.
    fn template(&self, axle: Axle) -> String {
        match (self.survey, self.points) {
            (true, _) => axle.survey(true),
            (_, true) => axle.points(),
            _ => axle.typical(),
        }
    }

    /// On what the wheel hangs, as it is answered; none where somebody stops.
    fn axle(&self, desk: &mut Desk) -> Result<Option<Axle>, Failure> {
        if self.axle.is_some() {
            return Ok(self.axle);
        }
        super::tell(&screen::text(&|page: &mut Page| {
            page.gap();
            page.line("THE AXLE: ON WHAT DOES A REAR WHEEL HANG?");
            page.paragraph("Look under the car at one rear wheel:");
            for axle in Axle::value_variants() {
                if let Some(value) = axle.to_possible_value() {
                    let help = value.get_help().map(ToString::to_string).unwrap_or_default();
                    page.item("-", format!("{}: {help}", value.get_name()));
                }
            }
            page.paragraph("For example: blade  Enter alone: rods.");
        }));
        loop {
            let answer = match desk.ask(None)? {
                Reply::Stop => return Ok(None),
                Reply::Nothing | Reply::Skip => return Ok(Some(Axle::default())),
                Reply::Explain => MORE_OF_AXLES.to_owned(),
                Reply::Back => "This is the first question.".to_owned(),
                Reply::Answer(answer) => match Axle::from_str(answer.trim(), true) {
                    Ok(axle) => return Ok(Some(axle)),
                    Err(_) if desk.asks_again() => "Please say rods, blade, strut or integral.".to_owned(),
                    Err(_) => {
                        return Err(Failure::unsound(format!(
                            "the answer {answer:?} to \"The axle\" was refused: it is one of rods, blade, strut, integral; no file was begun"
                        )));
                    }
                },
            };
            super::tell(&screen::text(&|page: &mut Page| page.item("?", &answer)));
        }
    }
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        if self.file.as_os_str() == files::STANDARD_INPUT {
            return Err(Failure::usage("answers are kept in a file; give its name"));
        }
        let begun = Kept::read(&self.file)?;
        let is_new = begun.is_none();
        let mut desk = Desk::open();
        let mut kept = if let Some(kept) = begun {
            kept
        } else {
            super::tell(&welcome(&files::shown(&self.file), is_new));
            let Some(axle) = self.axle(&mut desk)? else {
                return Ok(Outcome { output: "No file was begun.\n".to_owned(), spec_met: false });
            };
            files::create(&self.file, &self.template(axle))?;
            Kept::read(&self.file)?.ok_or_else(|| Failure::unsound("the file is gone again"))?
        };
        kept.let_go();
        let name = kept.file.name.clone();
        let looked =
            inspect(&kept.file.text).map_err(|error| Failure::unsound(format!("{name}: {error}")))?;
        let wrong = match looked.sort {
            Sort::Record => Some("this is a record: `rodset correct --record` adds a reading to it"),
            Sort::Profile if self.survey => {
                Some("this is a profile, not a survey; leave --survey out, or choose another name")
            }
            _ => None,
        };
        if let Some(wrong) = wrong {
            return Err(Failure::unsound(format!("{name}: {wrong}")));
        }
        if !is_new {
            super::tell(&welcome(&name, is_new));
        }
        let (text, open) = Sitting::new(kept, looked.sort, desk).run()?;
        let file = TextFile { name, text };
        match looked.sort {
            Sort::Survey => end_of_survey(&file, &open),
            _ => end_of_profile(&file, &open),
        }
    }
}

fn welcome(name: &str, is_new: bool) -> String {
    let begun = if is_new { "Beginning" } else { "Going on with" };
    let text = format!(
        "{begun} {name}. Every answer is written there at once: stop whenever you like, the same command goes on. Answers: a bare \
         figure is mm or degrees; anything else with its unit, such as 8 1/4 in or 0°15'. Type ? for more of how to measure, back \
         for the question before, skip to leave one for later, stop to end."
    );
    let safety = "Nobody under a car on a jack: stands on firm level ground, wheels chocked. Angles and heights are read with the car on \
                  its wheels.";
    screen::text(&|page: &mut Page| {
        page.item("*", &text);
        page.item("!", safety);
    })
}

/// More that is missing than anybody reads.
const MOST_MISSING: usize = 15;

/// What is still missing, one a line: the questions that are `open`, or what the checks say where no question asks for it.
fn missing(file: &TextFile, looked: &Inspection, open: &[String]) -> Outcome {
    let gap = |finding: &Finding| match finding.label.as_str() {
        "" => finding.title(),
        label => format!("{}: {label}", finding.title()),
    };
    let mut gaps: Vec<String> = if open.is_empty() {
        looked.gaps().map(gap).collect()
    } else {
        open.iter().take(MOST_MISSING).cloned().collect()
    };
    let more = open.len().saturating_sub(MOST_MISSING);
    gaps.extend((more > 0).then(|| format!("and {more} more")));
    let name = &file.name;
    let output = Format::usual().page(&|page: &mut Page| {
        page.gap();
        page.heading(format!("STILL MISSING in {name}"));
        for gap in &gaps {
            page.item("-", gap);
        }
        page.gap();
        page.line("To go on:");
        page.line(format!("  rodset interview {name}"));
    });
    Outcome { output, spec_met: false }
}

fn end_of_profile(file: &TextFile, open: &[String]) -> Result<Outcome, Failure> {
    let checked = match profile::read(&file.text) {
        Ok(checked) => checked,
        Err(findings) => {
            let looked = Inspection { sort: Sort::Profile, findings };
            let wrong: Vec<Finding> = looked.wrong().cloned().collect();
            return if wrong.is_empty() {
                Ok(missing(file, &looked, open))
            } else {
                Err(file.refuse(&wrong))
            };
        }
    };
    super::tell("\n");
    file.warn(&checked.warnings);
    let answer = check(&checked.car, checked.taken_over);
    let name = &file.name;
    let planned = if checked.car.sides.iter().all(|side| side.spec.is_some()) {
        (format!("rodset plan {name} --drop 40"), "arm lengths and turns, lowered by 40 mm")
    } else {
        (
            format!("rodset set {name} spec.camber=-1 spec.camber_tolerance=0.5 ..."),
            "the spec, when it is at hand: no plan without",
        )
    };
    let next = [
        (format!("rodset lower {name} --drop 40"), "what lowering by 40 mm does by itself"),
        planned,
        (format!("rodset set {name} KEY=VALUE"), "changes a single value"),
    ];
    Ok(Outcome::answer(Format::usual().page(&|page: &mut Page| {
        let warnings = checked.warnings.len();
        CheckPage { car: &checked.car, answer: &answer, warnings, units: Units::default() }.put(page);
        steps(page, &next);
    })))
}

/// What to do next.
fn steps(page: &mut Page, steps: &[(String, &str)]) {
    page.gap();
    page.heading("WHAT NEXT");
    for (command, what) in steps {
        page.line(format!("  {command}"));
        page.line(format!("      {what}"));
    }
}

/// The keys of the readings that findings are about.
fn readings_at(text: &str, findings: &[Finding]) -> Result<Vec<String>, Failure> {
    let entries = profile::entries(text).map_err(Failure::unsound)?;
    let at = |finding: &Finding| entries.iter().find(|entry| entry.holds(finding.span.start));
    Ok(findings.iter().filter_map(at).map(|entry| entry.key.clone()).collect())
}

fn end_of_survey(file: &TextFile, open: &[String]) -> Result<Outcome, Failure> {
    let name = &file.name;
    let looked = inspect(&file.text).map_err(Failure::unsound)?;
    let checked = match profile::read_survey(&file.text) {
        Ok(checked) => checked,
        Err(_) if looked.wrong().next().is_none() => return Ok(missing(file, &looked, open)),
        Err(findings) => return Err(file.refuse(&findings)),
    };
    let findings = match survey(&checked.survey, &checked.sigmas) {
        Ok(answer) => checked.suspect_findings(&answer.suspects, &file.text),
        // Before everything is measured a short list of what is not held yet says it.
        Err(error) => {
            let mut loose = open.to_vec();
            for finding in checked.no_survey_findings(&error, &file.text) {
                if open.is_empty() && !loose.contains(&finding.headline) {
                    loose.push(finding.headline);
                }
            }
            return Ok(missing(file, &looked, &loose));
        }
    };
    super::tell(&format!("\n{}{}", file.render(&checked.warnings), file.render(&findings)));
    let worth = Worth::of(&file.text);
    let mut next = Vec::new();
    let holds = findings.is_empty();
    let head = if holds {
        next.push((format!("rodset plan {name}"), "arm lengths and turns"));
        if worth.is_some() {
            next.push((format!("rodset next {name}"), "which reading would narrow them most for its time"));
        }
        next.push((
            format!("rodset survey {name}"),
            "what the readings come to, and which one looks like a misreading",
        ));
        next.push((format!("rodset survey {name} --sheet"), "the page to carry under the car"));
        next.push((format!("rodset survey {name} --write FILE"), "writes the points into a profile"));
        "the readings hold every point"
    } else {
        let again = readings_at(&file.text, &findings)?;
        if again.is_empty() {
            next.push((format!("rodset interview {name}"), "goes on with what was left for later"));
        }
        next.extend(again.into_iter().map(|key| {
            (
                format!("rodset set {name} \"{key}=READING\""),
                "once it is measured again, or .leave_out=true behind the key",
            )
        }));
        "the readings do not yet do, see above"
    };
    let output = Format::usual().page(&|page: &mut Page| {
        page.line(format!("{name}: {head}"));
        if let Some(worth) = &worth {
            page.paragraph(worth.enough());
        }
        steps(page, &next);
    });
    Ok(Outcome { output, spec_met: holds })
}
