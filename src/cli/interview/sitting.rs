//! Question by question: asks, checks, writes down.

use std::cell::LazyCell;

use super::desk::{Desk, Reply};
use super::question::{Filled, InterviewQuestion, QuestionState};
use super::reading_value::Worth;
use super::{car, measured};
use crate::cli::files::Kept;
use crate::cli::{Failure, screen};
use crate::measure::survey;
use crate::profile::{EditError, Finding, Inspection, Sort, has_table, inspect, is_reading, read_survey};
use crate::report::{GlossaryPage, Page};

/// An interview under way.
pub(super) struct Sitting {
    kept: Kept,
    sort: Sort,
    desk: Desk,
    glossary: Option<GlossaryPage>,
    /// Words that were explained.
    told: Vec<String>,
    /// Questions left for later.
    skipped: Vec<String>,
    /// The keys of the questions that were put, in their order.
    asked: Vec<String>,
    /// The question that comes next, whatever is open.
    wanted: Option<String>,
    /// Whether it is already on the screen.
    put: bool,
}

/// A question that arises, and what the file says to it.
type Raised = (InterviewQuestion, QuestionState);

/// What comes of an answer.
enum SittingVerdict {
    /// The text with it, and what is odd about it.
    Taken(String, Vec<Objection>),
    /// What is wrong with it.
    Refused(Vec<Objection>),
}

/// What is wrong with an answer, and what to do.
struct Objection {
    what: String,
    help: String,
}

impl Objection {
    fn of(what: &impl ToString) -> SittingVerdict {
        SittingVerdict::Refused(vec![Self { what: what.to_string(), help: String::new() }])
    }
}

impl Sitting {
    pub(super) fn new(kept: Kept, sort: Sort, desk: Desk) -> Self {
        let glossary = GlossaryPage::of(None).ok();
        Self {
            kept,
            sort,
            desk,
            glossary,
            told: Vec::new(),
            skipped: Vec::new(),
            asked: Vec::new(),
            wanted: None,
            put: false,
        }
    }

    /// Asks until nothing is open or somebody stops; the text as it then is, and the titles of questions that must still be
    /// answered.
    pub(super) fn run(mut self) -> Result<(String, Vec<String>), Failure> {
        let raised = self.ask_all()?;
        let open =
            raised.iter().filter(|(question, state)| *state == QuestionState::Open && !question.optional);
        let titles = open.map(|(question, _)| question.title.clone()).collect();
        Ok((self.kept.file.text, titles))
    }

    /// The questions as they then stand.
    fn ask_all(&mut self) -> Result<Vec<Raised>, Failure> {
        loop {
            let mut raised = self.raised().map_err(|error| self.broken(&error))?;
            let wanted = self.wanted.take();
            let wanted = wanted.and_then(|key| raised.iter().position(|(question, _)| question.key == key));
            let by_worth = self.by_worth().map_err(|error| self.broken(&error))?;
            let text = self.kept.file.text.clone();
            // Worked out once a question, and only where it is asked for.
            let worth = LazyCell::new(|| Worth::of(&text));
            let open = |(question, state): &Raised| {
                *state == QuestionState::Open
                    && !self.skipped.contains(&question.key)
                    && !(by_worth && measured::is_entry(&question.key))
            };
            let Some(at) = wanted.or_else(|| raised.iter().position(open)).or_else(|| {
                // Of what was not asked for yet, what is worth most for its time; none where it is enough.
                let key = if by_worth { self.best(worth.as_ref()?, &raised)? } else { return None };
                let stands = raised.iter().position(|(question, _)| question.key == key);
                stands.or_else(|| {
                    raised.push((measured::of_entry(&key)?, QuestionState::Open));
                    Some(raised.len() - 1)
                })
            }) else {
                return Ok(raised);
            };
            let key = &raised[at].0.key;
            if !self.asked.contains(key) {
                // One of an earlier time, gone back to, stands before all others.
                let place = if raised[at].1 == QuestionState::Open { self.asked.len() } else { 0 };
                self.asked.insert(place, key.clone());
            }
            let yet = raised.iter().filter(|of| open(of) && !self.asked.contains(&of.0.key)).count();
            if !std::mem::take(&mut self.put) {
                self.put(&raised[at], yet, &|key| worth.as_ref()?.sentence(key));
            }
            if !self.hear(&raised, at)? {
                return Ok(raised);
            }
        }
    }

    fn raised(&self) -> Result<Vec<Raised>, EditError> {
        let text = &self.kept.file.text;
        let all = if self.sort == Sort::Survey { measured::questions(text)? } else { car::questions(text)? };
        let states = all.into_iter().map(|question| Ok((question.state(text)?, question)));
        let states: Vec<(QuestionState, InterviewQuestion)> = states.collect::<Result<_, EditError>>()?;
        let arising = states.into_iter().filter(|(state, _)| *state != QuestionState::Idle);
        Ok(arising.map(|(state, question)| (question, state)).collect())
    }

    /// Whether readings are asked for by what they are worth: where points are assumed, the car is known without them.
    fn by_worth(&self) -> Result<bool, EditError> {
        Ok(self.sort == Sort::Survey && has_table(&self.kept.file.text, "typical")?)
    }

    /// The key of the reading that is worth most for its time and was neither made nor left out.
    fn best(&self, worth: &Worth, raised: &[Raised]) -> Option<String> {
        let made = |key: &str| {
            let done = |(question, state): &Raised| question.key == key && *state != QuestionState::Open;
            raised.iter().any(done) || self.skipped.iter().any(|skipped| skipped == key)
        };
        worth.best(made).map(str::to_owned)
    }

    /// Puts a question, with what `worth` says of the reading that it asks for; so many will come `yet`, as far as is known.
    fn put(&mut self, (question, state): &Raised, yet: usize, worth: &dyn Fn(&str) -> Option<String>) {
        let number = self.place_of(question).map_or(self.asked.len(), |place| place + 1);
        let of = self.asked.len() + yet;
        let worth = if measured::is_entry(&question.key) { worth(&question.key) } else { None };
        let text = format!("{} {}", question.title, question.ask);
        let words = self.glossary.as_ref().map_or(Vec::new(), |glossary| glossary.met(&text, &mut self.told));
        let enter = question.enter(state).map_or(String::new(), |enter| format!("  Enter alone: {enter}."));
        crate::cli::tell(&screen::text(&|page: &mut Page| {
            page.gap();
            page.line(format!("[{number} of {of}] {}", question.title.to_uppercase()));
            page.paragraph(&question.ask);
            if let Some(worth) = &worth {
                page.paragraph(worth);
            }
            for (word, meaning) in &words {
                page.item("-", format!("{word}: {meaning}"));
            }
            page.paragraph(format!("For example: {}{enter}", question.example));
        }));
    }

    /// Which of the questions that were put it is.
    fn place_of(&self, question: &InterviewQuestion) -> Option<usize> {
        self.asked.iter().position(|key| *key == question.key)
    }

    /// Takes one reply; false where it ends the interview.
    fn hear(&mut self, raised: &[Raised], at: usize) -> Result<bool, Failure> {
        let (question, state) = &raised[at];
        let now = match state {
            QuestionState::Answered(now) => Some(now.as_str()),
            _ => None,
        };
        match self.desk.ask(now)? {
            Reply::Stop => return Ok(false),
            Reply::Back => {
                // Before the first that was put now stand those of an earlier time.
                let put = self.place_of(question).filter(|place| *place > 0).map(|place| place - 1);
                let before = put.map(|place| self.asked[place].clone());
                let before = before.or_else(|| Some(raised[at.checked_sub(1)?].0.key.clone()));
                if before.is_none() {
                    note("*", "This is the first question.");
                    self.again(question);
                } else {
                    self.wanted = before;
                }
            }
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
    fn enter(&mut self, question: &InterviewQuestion, state: &QuestionState) -> Result<(), Failure> {
        match question.enter(state) {
            Some("across") => self.answer(question, "across"),
            Some(_) => {
                if !matches!(state, QuestionState::Answered(_)) {
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
    fn again(&mut self, question: &InterviewQuestion) {
        self.wanted = Some(question.key.clone());
        self.put = true;
    }

    fn answer(&mut self, question: &InterviewQuestion, answer: &str) -> Result<(), Failure> {
        let verdict = self.judge(question, answer);
        let meant = match &verdict {
            SittingVerdict::Taken(_, odd) if odd.is_empty() => None,
            _ => self.meant(question, answer),
        };
        match verdict {
            SittingVerdict::Taken(text, odd) => {
                self.write(text)?;
                self.skipped.retain(|key| *key != question.key);
                for Objection { what, help } in odd {
                    let help = meant.as_ref().map_or(help, |meant| format!(" {meant}"));
                    note("ODD:", &format!("{what}{help} Written down all the same; `back` to change it."));
                }
                Ok(())
            }
            SittingVerdict::Refused(why) => {
                for Objection { what, help } in why {
                    let help = meant.as_ref().map_or(help, |meant| format!(" {meant}"));
                    note("NO:", &format!("{what}{help}"));
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
    fn judge(&self, question: &InterviewQuestion, answer: &str) -> SittingVerdict {
        let text = &self.kept.file.text;
        let changed = match question.fill(text, answer) {
            Ok(Filled::Text(changed)) => changed,
            Ok(Filled::Unread(what)) => return Objection::of(&format!("Please give {what}.")),
            Err(error) => return Objection::of(&error),
        };
        let (before, after) = match (self.look(text), self.look(&changed)) {
            (Ok(before), Ok(after)) => (before, after),
            (Err(error), _) | (_, Err(error)) => return Objection::of(&error),
        };
        // What is missing now is no mistake: the next questions ask for it.
        let against = after.refusals(&before, &[&question.key]);
        let told = |finding: &Finding| objection(finding, &question.key);
        let against: Vec<Objection> =
            against.into_iter().filter(|finding| !finding.is_gap).map(told).collect();
        if against.is_empty() {
            SittingVerdict::Taken(changed, after.news(&before).into_iter().map(told).collect())
        } else {
            SittingVerdict::Refused(against)
        }
    }

    /// What bare figures could have been meant as, where they are refused or odd and would be neither with a unit.
    fn meant(&self, question: &InterviewQuestion, answer: &str) -> Option<String> {
        let figures = question.bare_figures(answer)?;
        let units = [("inches", " in"), ("minutes", "'"), ("mm", " mm")];
        units.into_iter().find_map(|(name, unit)| {
            let answer =
                figures.iter().map(|figure| format!("{figure}{unit}")).collect::<Vec<_>>().join(", ");
            let sound =
                matches!(self.judge(question, &answer), SittingVerdict::Taken(_, odd) if odd.is_empty());
            sound.then(|| format!("If you mean {name}, say so: {answer}."))
        })
    }

    /// What is wrong or odd in a text; of a survey that holds its points also which readings do not go together.
    fn look(&self, text: &str) -> Result<Inspection, EditError> {
        let mut looked = inspect(text)?;
        if self.sort == Sort::Survey
            && let Ok(checked) = read_survey(text)
            && let Ok(answer) = survey(&checked.survey, &checked.sigmas)
        {
            let suspects = checked.suspect_findings(&answer.suspects, text);
            looked.findings.extend(suspects.into_iter().map(Finding::into_warning));
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
    crate::cli::tell(&screen::text(&|page: &mut Page| page.item(mark, text)));
}

/// A finding as it is told at a prompt, where no line is shown; its key only if it is not the one that is asked for.
fn objection(finding: &Finding, asked: &str) -> Objection {
    let is_known = finding.key.as_deref().is_some_and(|key| key == asked || is_reading(key));
    let head = if is_known { finding.headline.clone() } else { finding.title() };
    let label = if finding.label.is_empty() { String::new() } else { format!(" ({})", finding.label) };
    let help =
        crate::cli::hints::told(finding).help.map_or(String::new(), |help| format!(" {}.", capital(&help)));
    Objection { what: format!("{}{label}.", capital(&head)), help }
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
