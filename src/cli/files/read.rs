//! Files that are read whole, and what this run has read.

use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::profile::{self, Finding};

use super::identity::Identity;
use crate::cli::failure::Failure;
use crate::cli::warned::{tell, warn_of};
use crate::cli::{hints, screen};

/// The path that stands for standard input.
pub(in crate::cli) const STANDARD_INPUT: &str = "-";

/// More findings than anybody mends at once.
const MOST_FINDINGS: usize = 20;

/// The files that this run has read or written: no page takes their place.
static TOUCHED: Mutex<Vec<Identity>> = Mutex::new(Vec::new());

/// A text file that was read, with the name under which it is shown.
#[derive(Debug)]
pub(in crate::cli) struct TextFile {
    pub(in crate::cli) name: String,
    pub(in crate::cli) text: String,
}

impl TextFile {
    /// Reads a file, or standard input where the path is `-`.
    pub(in crate::cli) fn read(path: &Path) -> Result<Self, Failure> {
        if path.as_os_str() == STANDARD_INPUT {
            return Self::of_standard_input();
        }
        Self::of_open(path, &open(path)?)
    }

    /// Reads what was opened at a path.
    pub(super) fn of_open(path: &Path, file: &File) -> Result<Self, Failure> {
        touch(Identity::open(file, path));
        Self::of(shown(path), file)
    }

    /// Reads standard input, which can be had only once.
    fn of_standard_input() -> Result<Self, Failure> {
        static TAKEN: AtomicBool = AtomicBool::new(false);
        if TAKEN.swap(true, Ordering::Relaxed) {
            return Err(Failure::usage(
                "standard input (-) can stand for one file only; give the other one by its name",
            ));
        }
        #[cfg(unix)]
        if let Ok(handle) = std::os::fd::AsFd::as_fd(&io::stdin()).try_clone_to_owned() {
            touch(Identity::open(&File::from(handle), Path::new(STANDARD_INPUT)));
        }
        Self::of("standard input".to_owned(), io::stdin().lock())
    }

    fn of(name: String, from: impl Read) -> Result<Self, Failure> {
        let fail = |what: &dyn std::fmt::Display| Failure::unsound(format!("{name}: {what}"));
        let mut bytes = Vec::new();
        from.take(profile::LARGEST + 1).read_to_end(&mut bytes).map_err(|error| fail(&error))?;
        if bytes.len() as u64 > profile::LARGEST {
            return Err(fail(&"this file is far too large to be one of rodset's (more than 1 MiB)"));
        }
        let text = String::from_utf8(bytes).map_err(|_| fail(&"this is not a text file (UTF-8)"))?;
        Ok(Self { name, text })
    }

    /// Findings with the lines they point at, for standard error.
    pub(in crate::cli) fn render(&self, findings: &[Finding]) -> String {
        let colour = screen::colour();
        let first = findings.iter().take(MOST_FINDINGS).map(hints::told);
        let mut told: String = first.map(|f| f.render(&self.name, &self.text, colour) + "\n\n").collect();
        if findings.len() > MOST_FINDINGS {
            told += &format!("... and {} more\n\n", findings.len() - MOST_FINDINGS);
        }
        told
    }

    /// Tells what is odd in it, and keeps that for the head of the answer.
    pub(in crate::cli) fn warn(&self, findings: &[Finding]) {
        tell(&self.render(findings));
        warn_of(findings);
    }

    /// Findings as the reason why there is no answer.
    pub(in crate::cli) fn refuse(&self, findings: &[Finding]) -> Failure {
        Failure { message: self.render(findings).trim_end().to_owned() + "\n", status: 1 }
    }
}

/// Opens a file to read it.
pub(super) fn open(path: &Path) -> Result<File, Failure> {
    let fail = |what: &dyn std::fmt::Display| Failure::unsound(format!("{}: {what}", shown(path)));
    if path.is_dir() {
        return Err(fail(&"this is a folder; give the file in it"));
    }
    File::open(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => fail(&"there is no such file"),
        _ => fail(&error),
    })
}

/// Whether this run has read or written the file at a path, by whatever name.
pub(super) fn is_touched(path: &Path) -> bool {
    let touched = TOUCHED.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    Identity::at(path).is_ok_and(|identity| touched.contains(&identity))
}

/// Remembers a file that was read or written.
pub(super) fn touch(identity: io::Result<Identity>) {
    TOUCHED.lock().unwrap_or_else(std::sync::PoisonError::into_inner).extend(identity);
}

/// A path as it can be shown: what would do something to a terminal is replaced.
pub(in crate::cli) fn shown(path: &Path) -> String {
    path.display().to_string().chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}
