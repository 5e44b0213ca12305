//! Where answers come from: a terminal with its keys, or lines of standard input.

use inquire::error::InquireError;
use inquire::ui::{RenderConfig, Styled};
use std::io::{self, BufRead, IsTerminal, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::cli::files::note_interrupts;
use crate::cli::{Failure, screen};
use crate::profile;

/// Where answers come from.
pub(super) enum Desk {
    /// With whether Ctrl-C was pressed.
    Terminal(Arc<AtomicBool>),
    Lines(Box<dyn BufRead>),
}

/// What comes of a prompt.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Reply {
    Answer(String),
    /// Enter alone.
    Nothing,
    Back,
    Skip,
    Explain,
    Stop,
}

impl Desk {
    /// A terminal where there is one to read from and to write to.
    pub(super) fn open() -> Self {
        if io::stdin().is_terminal() && io::stderr().is_terminal() {
            // Where it cannot be caught it ends the program, and nothing is lost either.
            Self::Terminal(note_interrupts())
        } else {
            // No more of a stream than a file may have.
            Self::Lines(Box::new(io::BufReader::new(io::stdin().take(profile::LARGEST))))
        }
    }

    /// Whether a refused answer is asked for again. Of lines it is not: the next one answers the next question.
    pub(super) fn asks_again(&self) -> bool {
        matches!(self, Self::Terminal(_))
    }

    /// Asks; `now` is what can be changed or kept.
    pub(super) fn ask(&mut self, now: Option<&str>) -> Result<Reply, Failure> {
        let answer = match self {
            Self::Terminal(stopped) => match typed(now) {
                _ if stopped.load(Ordering::Relaxed) => return Ok(Reply::Stop),
                Ok(answer) => answer,
                Err(InquireError::OperationCanceled) => return Ok(Reply::Back),
                Err(error) => return Err(Failure::unsound(format!("the terminal: {error}"))),
            },
            Self::Lines(lines) => {
                let mut line = String::new();
                let count = lines.read_line(&mut line);
                match count.map_err(|error| Failure::unsound(format!("standard input: {error}")))? {
                    0 => return Ok(Reply::Stop),
                    _ => crate::cli::tell(&format!("> {}\n", line.trim())),
                }
                line
            }
        };
        Ok(match answer.trim() {
            "" => Reply::Nothing,
            "back" => Reply::Back,
            "skip" => Reply::Skip,
            "stop" => Reply::Stop,
            "?" | "help" => Reply::Explain,
            answer => Reply::Answer(answer.to_owned()),
        })
    }
}

fn typed(now: Option<&str>) -> Result<String, InquireError> {
    let mark = Styled::new(">");
    let looks = if screen::colour() { RenderConfig::default_colored() } else { RenderConfig::empty() };
    let looks = looks.with_prompt_prefix(mark).with_answered_prompt_prefix(mark);
    let looks = looks.with_canceled_prompt_indicator(Styled::new("(back)"));
    let prompt = inquire::Text::new("").with_render_config(looks);
    match now {
        Some(now) => prompt.with_initial_value(now).prompt(),
        None => prompt.prompt(),
    }
}
