//! A question: which key it fills, how an answer is read, and where it stands in a text.

use crate::car::Thread;
use crate::profile::{self, Answer, EditError, set_answer, value_at};

/// One question.
#[derive(Debug, Clone)]
pub(super) struct InterviewQuestion {
    /// The key that it fills.
    pub(super) key: String,
    pub(super) answer: Answer,
    /// The key that may stand in its place: toe for the whole axle.
    pub(super) instead: Option<String>,
    /// The table without which it is not asked.
    pub(super) within: Option<String>,
    /// Whether it may be left out.
    pub(super) optional: bool,
    /// Whether the right side has what the left one has where it is left out.
    pub(super) as_left: bool,
    /// What it is about, in a few words.
    pub(super) title: String,
    /// What to measure, and where.
    pub(super) ask: String,
    /// More of it, for who asks.
    pub(super) more: &'static str,
    /// How an answer looks.
    pub(super) example: &'static str,
}

/// What a text says to a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum QuestionState {
    /// It has this answer.
    Answered(String),
    /// It is still to be asked.
    Open,
    /// It was left out when it was asked.
    LeftOut,
    /// It does not arise.
    Idle,
}

/// What an answer comes to.
pub(super) enum Filled {
    /// The text with it.
    Text(String),
    /// It cannot be read; what to do instead.
    Unread(String),
}

impl InterviewQuestion {
    /// What a text says to this question.
    pub(super) fn state(&self, text: &str) -> Result<QuestionState, EditError> {
        if let Some(table) = &self.within
            && !profile::has_table(text, table)?
        {
            return Ok(QuestionState::Idle);
        }
        if self.answer == Answer::Whether && profile::has_table(text, &self.key)? {
            return Ok(QuestionState::Answered("yes".to_owned()));
        }
        if let Some(value) =
            self.instead.as_deref().and_then(|key| value_at(text, key).transpose()).transpose()?
        {
            return Ok(QuestionState::Answered(format!("{} total", bare(&value))));
        }
        if self.answer != Answer::Whether
            && let Some(value) = value_at(text, &self.key)?
        {
            return Ok(QuestionState::Answered(self.shown(&value)));
        }
        let entry = profile::entries(text)?.into_iter().find(|entry| entry.key == self.key);
        if let Some(entry) = entry {
            return Ok(if entry.left_out { QuestionState::LeftOut } else { QuestionState::Open });
        }
        let blank = profile::blanks(text)?.into_iter().find(|blank| blank.key == self.key);
        Ok(match blank {
            Some(blank) if blank.left_out => QuestionState::LeftOut,
            // A table of the right side is there only for what differs in it.
            Some(blank) if !blank.dormant || self.as_left => QuestionState::Open,
            // What need not be there and has no line that waits for it was left out by hand.
            _ if self.optional => QuestionState::Idle,
            _ => QuestionState::Open,
        })
    }

    /// A value as it would be typed.
    fn shown(&self, value: &str) -> String {
        let list = |value: &str| {
            let inside = value.trim_matches(['[', ']']);
            inside.split(',').map(bare).filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
        };
        match self.answer {
            Answer::Point | Answer::List | Answer::Along => list(value),
            Answer::Centre => list(value).split_once(", ").map_or(String::new(), |(_, rest)| rest.to_owned()),
            Answer::Toe => format!("{} each", bare(value)),
            _ => bare(value),
        }
    }

    /// Puts an answer into a text.
    pub(super) fn fill(&self, text: &str, answer: &str) -> Result<Filled, EditError> {
        let unread = |what: &str| Ok(Filled::Unread(what.to_owned()));
        let put = |text: &str, key: &str, answer: &str| Ok(Filled::Text(set_answer(text, key, answer)?.text));
        let figures = figures(answer);
        match self.answer {
            Answer::One => put(text, &self.key, answer),
            Answer::Point if figures.len() == 3 => put(text, &self.key, &figures.join(", ")),
            Answer::Point => unread(
                "three figures with commas between: forward, to the left, up. Decimals have a point: 12.5",
            ),
            Answer::Centre if figures.len() == 2 => {
                put(text, &self.key, &format!("0, {}", figures.join(", ")))
            }
            Answer::Centre => unread(
                "two figures with a comma between: from the centreline, from the floor. Decimals have a point: 12.5",
            ),
            Answer::List if self.key.ends_with(".threads") => match threads(answer) {
                Ok(threads) => put(text, &self.key, &format!("[{}]", threads.join(", "))),
                Err(wanted) => Ok(Filled::Unread(wanted)),
            },
            Answer::List if answer.contains(',') || answer.starts_with('[') => put(text, &self.key, answer),
            Answer::List => put(text, &self.key, &format!("[{}]", quoted(answer))),
            Answer::Engaged => match figures.as_slice() {
                [at, length] => {
                    let table = format!("{{ at = {}, length = {} }}", figure(at), figure(length));
                    put(text, &self.key, &table)
                }
                _ => put(text, &self.key, answer),
            },
            Answer::Along => match answer.to_lowercase().as_str() {
                "across" => put(text, &self.key, "[0.0, 1.0, 0.0]"),
                "up" => put(text, &self.key, "[0.0, 0.0, 1.0]"),
                "forward" => put(text, &self.key, "[1.0, 0.0, 0.0]"),
                _ if figures.len() == 3 => put(text, &self.key, &figures.join(", ")),
                _ => {
                    unread("`across`, `up` or `forward`, or three figures for a direction between: 0, 1, 0.2")
                }
            },
            Answer::Toe => match answer.rsplit_once(' ').map(|(toe, of)| (toe.trim(), of.to_lowercase())) {
                Some((toe, of)) if of == "each" => {
                    put(&without(text, self.instead.as_deref())?, &self.key, toe)
                }
                Some((toe, of)) if of == "total" => {
                    // Of the two keys only one may stand.
                    let waits = profile::blanks(text)?.iter().any(|blank| blank.key == self.key);
                    let text = if waits {
                        profile::leave_out(text, &self.key)?
                    } else {
                        without(text, Some(&self.key))?
                    };
                    put(&text, self.instead.as_ref().unwrap_or(&self.key), toe)
                }
                _ => unread("say which of the two the manual means: 0.10 each, or 0.20 total"),
            },
            Answer::Whether => match answer.to_lowercase().as_str() {
                "y" | "yes" if profile::has_table(text, &self.key)? => Ok(Filled::Text(text.to_owned())),
                "y" | "yes" => Ok(Filled::Text(profile::open_table(text, &self.key)?)),
                "n" | "no" => Ok(Filled::Text(self.left_out(text)?)),
                _ => unread("yes or no"),
            },
        }
    }

    /// The figures of an answer that has no unit anywhere.
    pub(super) fn bare_figures(&self, answer: &str) -> Option<Vec<String>> {
        let figures = figures(answer);
        let bare = figures.iter().all(|figure| figure.parse::<f64>().is_ok_and(f64::is_finite));
        (bare && matches!(self.answer, Answer::One | Answer::Point | Answer::Centre)).then_some(figures)
    }

    /// Notes that there is no answer.
    pub(super) fn left_out(&self, text: &str) -> Result<String, EditError> {
        match self.state(text)? {
            QuestionState::Answered(_) if self.answer == Answer::Whether => {
                profile::close_table(text, &self.key)
            }
            QuestionState::Answered(_) => Ok(text.to_owned()),
            _ => profile::leave_out(text, &self.key),
        }
    }

    /// What Enter alone does, if it does anything.
    pub(super) fn enter(&self, state: &QuestionState) -> Option<&'static str> {
        match state {
            QuestionState::Answered(_) => Some("keep what is there"),
            _ if self.answer == Answer::Whether => Some("no"),
            _ if self.answer == Answer::Along => Some("across"),
            _ if self.as_left => Some("as left"),
            _ if self.optional => Some("leave it out"),
            _ => None,
        }
    }
}

fn without(text: &str, key: Option<&str>) -> Result<String, EditError> {
    Ok(match key {
        Some(key) if value_at(text, key)?.is_some() => profile::remove_value(text, key)?.text,
        _ => text.to_owned(),
    })
}

/// The figures of an answer: by commas, or by spaces where no unit can be meant.
fn figures(answer: &str) -> Vec<String> {
    let answer = answer.trim().trim_matches(['[', ']']);
    let plain = |part: &&str| part.parse::<f64>().is_ok();
    let spaced: Vec<&str> = answer.split_whitespace().collect();
    if !answer.contains(',') && spaced.len() > 1 && spaced.iter().all(plain) {
        return spaced.into_iter().map(str::to_owned).collect();
    }
    answer.split(',').map(|part| part.trim().to_owned()).collect()
}

/// A figure as TOML writes it.
fn figure(text: &str) -> String {
    if text.parse::<f64>().is_ok_and(f64::is_finite) && text.starts_with(|c: char| c.is_ascii_digit()) {
        text.to_owned()
    } else {
        quoted(text)
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.trim().trim_matches('"').replace('\\', "\\\\").replace('"', "\\\""))
}

/// A value without its quotes.
fn bare(value: &str) -> String {
    value.trim().trim_matches(['"', '\'']).to_owned()
}

/// The threads of an arm's ends, quoted; an end of which only the hand is said has the thread of the one before it.
fn threads(answer: &str) -> Result<Vec<String>, String> {
    let mut threads: Vec<String> = Vec::new();
    for end in answer.trim_matches(['[', ']']).split(',').map(|end| end.trim().trim_matches('"')) {
        let size = threads.last().and_then(|before| before.rsplit_once(' ')).map(|(size, _)| size.to_owned());
        let thread = match size {
            Some(size) if ["LH", "RH", "L", "R"].contains(&end.to_uppercase().as_str()) => {
                format!("{size} {end}")
            }
            _ => end.to_owned(),
        };
        let read: Result<Thread, _> = thread.parse();
        read.map_err(|error| {
            format!("the thread of each end with its hand, such as M16x1.5 RH, M16x1.5 LH: {error}")
        })?;
        threads.push(thread);
    }
    Ok(threads.iter().map(|thread| format!("\"{thread}\"")).collect())
}
