//! What is told on standard error; what is odd about that on which an answer rests, again at the head of the answer.

use std::io::Write;
use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::profile::Finding;

/// What this process has been warned of: one answer is all that it gives.
static WARNED: Mutex<Vec<Warning>> = Mutex::new(Vec::new());

/// Something odd, and what makes it so.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Warning {
    pub(super) headline: String,
    pub(super) label: String,
}

fn kept() -> MutexGuard<'static, Vec<Warning>> {
    WARNED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Keeps something for the head of the answer; tells whether it was new.
fn keep(warning: Warning) -> bool {
    let mut kept = kept();
    let is_new = !kept.contains(&warning);
    if is_new {
        kept.push(warning);
    }
    is_new
}

/// Keeps what is odd in a file.
pub(super) fn warn_of(findings: &[Finding]) {
    for finding in findings {
        keep(Warning { headline: finding.title(), label: finding.label.clone() });
    }
}

/// Tells what is odd in the options, once of both sides.
pub(super) fn warn_of_options(findings: Vec<String>) {
    for headline in findings {
        let told = format!("warning: {headline}\n\n");
        if keep(Warning { headline, label: String::new() }) {
            tell(&told);
        }
    }
}

/// All that was odd.
pub(super) fn warned() -> Vec<Warning> {
    kept().clone()
}

/// Writes to standard error; where that cannot be written either there is nobody left to tell.
pub(super) fn tell(message: &str) {
    let _ = anstream::stderr().lock().write_all(message.as_bytes());
}
