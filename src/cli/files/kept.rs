//! Files that are read, changed and written again: locked meanwhile, so that of two programs at once neither loses anything.

use std::fs::{File, TryLockError};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::identity::Identity;
use super::read::{STANDARD_INPUT, TextFile, open, shown};
use super::write::{over, unwritten};
use crate::cli::failure::Failure;

/// Longer than another run of this program takes.
const PATIENCE: Duration = Duration::from_mins(1);
/// How often it is looked whether the other one is done.
const PAUSE: Duration = Duration::from_millis(2);

/// A file that will be changed, as it was when it was read.
#[derive(Debug)]
pub(in crate::cli) struct Kept {
    /// Where it lies; nowhere where it cannot be written again.
    place: Option<PathBuf>,
    /// The lock on it, as long as it is held.
    lock: Option<File>,
    pub(in crate::cli) file: TextFile,
}

impl Kept {
    /// Reads a file and holds it until it is written or let go; `None` where there is none yet.
    pub(in crate::cli) fn read(path: &Path) -> Result<Option<Self>, Failure> {
        if path.as_os_str() == STANDARD_INPUT {
            return Ok(Some(Self { place: None, lock: None, file: TextFile::read(path)? }));
        }
        // A link that leads nowhere is told by reading it.
        if path.symlink_metadata().is_err_and(|error| error.kind() == ErrorKind::NotFound) {
            return Ok(None);
        }
        let lock = locked(path)?;
        let file = TextFile::of_open(path, &lock)?;
        let place = lock.metadata().is_ok_and(|there| there.is_file()).then(|| path.to_owned());
        Ok(Some(Self { place, lock: Some(lock), file }))
    }

    /// Lets others have the file until it is written again: for somebody who sits over it.
    pub(in crate::cli) fn let_go(&mut self) {
        self.lock = None;
    }

    /// The whole text with another one at its end, with line ends as it has them.
    pub(in crate::cli) fn with(&self, text: &str) -> String {
        let before = &self.file.text;
        let end = if before.split_inclusive('\n').next().is_some_and(|line| line.ends_with("\r\n")) {
            "\r\n"
        } else {
            "\n"
        };
        let gap = if before.is_empty() || before.ends_with('\n') { "" } else { end };
        [before, gap, &text.replace('\n', end)].concat()
    }

    /// Adds a text at the end of the file. What was there stays as it was, byte by byte.
    ///
    /// Refused where the file may not be written or is no longer what was read.
    pub(in crate::cli) fn append(&self, text: &str) -> Result<(), Failure> {
        self.replace(&self.with(text))
    }

    /// Puts a whole new text in the place of the one that was read.
    ///
    /// Refused as above.
    pub(in crate::cli) fn replace(&self, text: &str) -> Result<(), Failure> {
        let Some(place) = &self.place else {
            return Err(unwritten(Path::new(&self.file.name), &"this can be changed only in a file"));
        };
        let again = if self.lock.is_none() { Some(locked(place)?) } else { None };
        if cfg!(windows) {
            // There a lock keeps even this program from writing.
            let _ = self.lock.as_ref().or(again.as_ref()).map(File::unlock);
        }
        over(place, Some(&self.file.text), text)
    }
}

/// A file that nobody else holds, locked; one of whoever held it before may have taken its place meanwhile.
fn locked(path: &Path) -> Result<File, Failure> {
    let begin = Instant::now();
    loop {
        let file = open(path)?;
        match file.try_lock() {
            Err(TryLockError::WouldBlock) if begin.elapsed() > PATIENCE => {
                return Err(unwritten(path, &"another program holds this file; try again when it is done"));
            }
            Err(TryLockError::WouldBlock) => sleep(PAUSE),
            // Where nothing can be locked, what was read is still held against what is there when it is written.
            Err(TryLockError::Error(_)) => return Ok(file),
            Ok(()) => match (Identity::open(&file, path), Identity::at(path)) {
                (Ok(held), Ok(there)) if held != there => {}
                (Ok(_), Ok(_)) => return Ok(file),
                (Err(error), _) | (_, Err(error)) => {
                    return Err(Failure::unsound(format!("{}: {error}", shown(path))));
                }
            },
        }
    }
}
