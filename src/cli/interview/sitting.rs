//! Question by question: asks, checks, writes down.

use super::desk::{Desk, Reply};
use super::question::{Filled, Question, State};
use super::{car, measured, words};
use crate::cli::files::Kept;
use crate::cli::{Failure, screen};
use rodset::measure::survey;
use rodset::profile::{EditError, Finding, Inspection, Sort, inspect, read_survey};
use rodset::report::{NotePage, QuestionPage};

/// An interview under way.
pub(super) struct Sitting {
    kept: Kept,
    sort: Sort,
    desk: Desk,
    /// Words that were explained.
    told: Vec<&'static str>,
    /// Questions left for later.
    skipped: Vec<String>,
    /// The question that comes next, whatever is open.
    wanted: Option<String>,
    /// Whether it is already on the screen.
    put: bool,
}

/// A question that arises, and what the file says to it.
type Raised = (Question, State);

/// What comes of an answer.
enum Verdict {
    /// The text with it, and what is odd about it.
    Taken(String, Vec<Finding>),
    /// What is wrong with it.
    Refused(Vec<String>),
}

impl Sitting {
    pub(super) fn new(kept: Kept, sort: Sort, desk: Desk) -> Self {
        Self { kept, sort, desk, told: Vec::new(), skipped: Vec::new(), wanted: None, put: false }
    }

    /// Asks until nothing is open or somebody stops; the text as it then is.
    pub(super) fn run(mut self) -> Result<String, Failure> {
        loop {
            let raised = self.raised().map_err(|error| self.broken(&error))?;
            let wanted = self.wanted.take();
            let wanted = wanted.and_then(|key| raised.iter().position(|(question, _)| question.key == key));
            let open =
                |(question, state): &Raised| *state == State::Open && !self.skipped.contains(&question.key);
            let Some(at) = wanted.or_else(|| raised.iter().position(open)) else {
                return Ok(self.kept.file.text);
            };
            if !std::mem::take(&mut self.put) {
                self.put(&raised, at);
            }
            if !self.hear(&raised, at)? {
                return Ok(self.kept.file.text);
            }
        }
    }

    fn raised(&self) -> Result<Vec<Raised>, EditError> {
        let text = &self.kept.file.text;
        let all = if self.sort == Sort::Survey { measured::questions(text)? } else { car::questions(text)? };
        let states = all.into_iter().map(|question| Ok((question.state(text)?, question)));
        let states: Vec<(State, Question)> = states.collect::<Result<_, EditError>>()?;
        let arising = states.into_iter().filter(|(state, _)| *state != State::Idle);
        Ok(arising.map(|(state, question)| (question, state)).collect())
    }

    fn put(&mut self, raised: &[Raised], at: usize) {
        let (question, state) = &raised[at];
        let page = QuestionPage {
            place: [at + 1, raised.len()],
            title: &question.title,
            ask: &question.ask,
            words: &words::met(&format!("{} {}", question.title, question.ask), &mut self.told),
            example: question.example,
            enter: question.enter(state),
        };
        crate::cli::tell(&screen::page(&page));
    }

    /// Takes one reply; false where it ends the interview.
    fn hear(&mut self, raised: &[Raised], at: usize) -> Result<bool, Failure> {
        let (question, state) = &raised[at];
        let now = match state {
            State::Answered(now) => Some(now.as_str()),
            _ => None,
        };
        match self.desk.ask(now)? {
            Reply::Stop => return Ok(false),
            Reply::Back if at == 0 => {
                note("*", "This is the first question.");
                self.again(question);
            }
            Reply::Back => self.wanted = Some(raised[at - 1].0.key.clone()),
            Reply::Explain => {
                note(
                    "?",
                    if question.more.is_empty() {
                        "There is no more to say of this one."
                    } else {
                        question.more
                    },
                );
                self.wanted = Some(question.key.clone());
            }
            Reply::Skip => self.skipped.push(question.key.clone()),
            Reply::Nothing => self.enter(question, state)?,
            Reply::Answer(answer) if Some(answer.as_str()) == now => {}
            Reply::Answer(answer) => self.answer(question, &answer)?,
        }
        Ok(true)
    }

    /// Enter alone.
    fn enter(&mut self, question: &Question, state: &State) -> Result<(), Failure> {
        match question.enter(state) {
            Some("across") => self.answer(question, "across"),
            Some(_) => {
                if !matches!(state, State::Answered(_)) {
                    let text = question.left_out(&self.kept.file.text);
                    match text {
                        Ok(text) => self.write(text)?,
                        // An entry that shares its line cannot be marked; it is asked again the next time.
                        Err(_) => self.skipped.push(question.key.clone()),
                    }
                }
                Ok(())
            }
            None if self.desk.asks_again() => {
                note("*", "This one is needed. `skip` leaves it for later.");
                self.again(question);
                Ok(())
            }
            None => {
                self.skipped.push(question.key.clone());
                Ok(())
            }
        }
    }

    /// Asks the same once more, below what was said to it.
    fn again(&mut self, question: &Question) {
        self.wanted = Some(question.key.clone());
        self.put = true;
    }

    fn answer(&mut self, question: &Question, answer: &str) -> Result<(), Failure> {
        match self.judge(question, answer) {
            Verdict::Taken(text, odd) => {
                self.write(text)?;
                self.skipped.retain(|key| *key != question.key);
                for finding in &odd {
                    note(
                        "ODD:",
                        &format!(
                            "{} Written down all the same; `back` to change it.",
                            sentence(finding, &question.key)
                        ),
                    );
                }
                Ok(())
            }
            Verdict::Refused(why) => {
                for why in &why {
                    note("NO:", why);
                }
                if self.desk.asks_again() {
                    self.again(question);
                    return Ok(());
                }
                Err(Failure::unsound(format!(
                    "the answer {answer:?} to \"{}\" was refused; what was answered before is in {}, what came after was not read",
                    question.title, self.kept.file.name
                )))
            }
        }
    }

    /// Whether the file may have an answer in it.
    fn judge(&self, question: &Question, answer: &str) -> Verdict {
        let text = &self.kept.file.text;
        let refused = |error: EditError| Verdict::Refused(vec![error.to_string()]);
        let changed = match question.fill(text, answer) {
            Ok(Filled::Text(changed)) => changed,
            Ok(Filled::Unread(what)) => return Verdict::Refused(vec![format!("Please give {what}.")]),
            Err(error) => return refused(error),
        };
        let (before, after) = match (self.look(text), self.look(&changed)) {
            (Ok(before), Ok(after)) => (before, after),
            (Err(error), _) | (_, Err(error)) => return refused(error),
        };
        // What is missing now is no mistake: the next questions ask for it.
        let against = after.refusals(&before, &[&question.key]);
        let against: Vec<String> = against
            .into_iter()
            .filter(|finding| !finding.is_gap)
            .map(|finding| sentence(finding, &question.key))
            .collect();
        if against.is_empty() {
            let odd = after.news(&before).into_iter().cloned().collect();
            Verdict::Taken(changed, odd)
        } else {
            Verdict::Refused(against)
        }
    }

    /// What is wrong or odd in a text; of a survey that holds its points also which readings do not go together.
    fn look(&self, text: &str) -> Result<Inspection, EditError> {
        let mut looked = inspect(text)?;
        if self.sort == Sort::Survey
            && let Ok(checked) = read_survey(text)
            && let Ok(answer) = survey(&checked.survey, &checked.sigmas)
        {
            let suspects = checked.suspect_findings(&answer.suspects, text);
            looked.findings.extend(suspects.into_iter().map(Finding::as_warning));
        }
        Ok(looked)
    }

    fn write(&mut self, text: String) -> Result<(), Failure> {
        self.kept.replace(&text)?;
        self.kept.file.text = text;
        Ok(())
    }

    fn broken(&self, error: &EditError) -> Failure {
        Failure::unsound(format!("{}: {error}", self.kept.file.name))
    }
}

fn note(mark: &str, text: &str) {
    crate::cli::tell(&screen::page(&NotePage { mark, text }));
}

/// A finding as it is told at a prompt, where no line is shown; its key only if it is not the one that is asked for.
fn sentence(finding: &Finding, asked: &str) -> String {
    let head = if finding.key.as_deref() == Some(asked) { finding.headline.clone() } else { finding.title() };
    let label = if finding.label.is_empty() { String::new() } else { format!(" ({})", finding.label) };
    let help = finding.help.as_ref().map_or(String::new(), |help| format!(" {}.", capital(help)));
    format!("{}{label}.{help}", capital(&head))
}

/// A sentence with a capital at its head; keys stay as they are.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = text.split([' ', ':']).next().unwrap_or_default();
    match letters.next() {
        Some(letter) if !first.contains('.') => letter.to_uppercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}
