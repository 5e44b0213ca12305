//! Files: read whole, written whole or not at all.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use tempfile::NamedTempFile;

use rodset::profile::{self, Finding};

use super::failure::Failure;
use super::screen;
use super::warned::{tell, warn_of};

/// The path that stands for standard input.
pub(super) const STANDARD_INPUT: &str = "-";

/// More findings than anybody mends at once.
const MOST_FINDINGS: usize = 20;

/// A text file that was read, with the name under which it is shown.
#[derive(Debug)]
pub(super) struct TextFile {
    pub(super) name: String,
    pub(super) text: String,
}

impl TextFile {
    /// Reads a file, or standard input where the path is `-`.
    pub(super) fn read(path: &Path) -> Result<Self, Failure> {
        if path.as_os_str() == STANDARD_INPUT {
            return Self::of_standard_input();
        }
        let fail = |what: &dyn std::fmt::Display| Failure::unsound(format!("{}: {what}", shown(path)));
        if path.is_dir() {
            return Err(fail(&"this is a folder; give the file in it"));
        }
        let file = File::open(path).map_err(|error| match error.kind() {
            ErrorKind::NotFound => fail(&"there is no such file"),
            _ => fail(&error),
        })?;
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
    pub(super) fn render(&self, findings: &[Finding]) -> String {
        let colour = screen::colour();
        let first = findings.iter().take(MOST_FINDINGS).map(super::hints::told);
        let mut told: String = first.map(|f| f.render(&self.name, &self.text, colour) + "\n\n").collect();
        if findings.len() > MOST_FINDINGS {
            told += &format!("... and {} more\n\n", findings.len() - MOST_FINDINGS);
        }
        told
    }

    /// Tells what is odd in it, and keeps that for the head of the answer.
    pub(super) fn warn(&self, findings: &[Finding]) {
        tell(&self.render(findings));
        warn_of(findings);
    }

    /// Findings as the reason why there is no answer.
    pub(super) fn refuse(&self, findings: &[Finding]) -> Failure {
        Failure { message: self.render(findings).trim_end().to_owned() + "\n", status: 1 }
    }
}

/// A path as it can be shown: what would do something to a terminal is replaced.
pub(super) fn shown(path: &Path) -> String {
    path.display().to_string().chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

/// A file that will be added to, as it was when it was read.
#[derive(Debug)]
pub(super) struct Kept {
    /// Where it really lies, whatever links lead there; nowhere where it is standard input.
    place: Option<PathBuf>,
    pub(super) file: TextFile,
}

impl Kept {
    /// Reads a file; `None` where there is none yet.
    pub(super) fn read(path: &Path) -> Result<Option<Self>, Failure> {
        if path.as_os_str() == STANDARD_INPUT {
            return Ok(Some(Self { place: None, file: TextFile::read(path)? }));
        }
        // A link that leads nowhere is told by reading it.
        if path.symlink_metadata().is_err_and(|error| error.kind() == ErrorKind::NotFound) {
            return Ok(None);
        }
        let file = TextFile::read(path)?;
        let place = path.canonicalize().map_err(|error| unwritten(path, &error))?;
        Ok(Some(Self { place: Some(place), file }))
    }

    /// The whole text with another one at its end.
    pub(super) fn with(&self, text: &str) -> String {
        let before = &self.file.text;
        let gap = if before.is_empty() || before.ends_with('\n') { "" } else { "\n" };
        [before, gap, text].concat()
    }

    /// Adds a text at the end of the file. What was there stays as it was, byte by byte.
    ///
    /// Refused where the file may not be written or is no longer what was read.
    pub(super) fn append(&self, text: &str) -> Result<(), Failure> {
        self.replace(&self.with(text))
    }

    /// Puts a whole new text in the place of the one that was read.
    ///
    /// Refused as above.
    pub(super) fn replace(&self, text: &str) -> Result<(), Failure> {
        let fail = |what: &dyn std::fmt::Display| {
            Failure::unsound(format!("{}: {what}; nothing was written", self.file.name))
        };
        let place = self.place.as_ref().ok_or_else(|| fail(&"this can be changed only in a file"))?;
        let permissions = fs::metadata(place).map_err(|error| fail(&error))?.permissions();
        if permissions.readonly() {
            return Err(fail(&"this file is write-protected"));
        }
        let mut file = beside(place).map_err(|error| fail(&error))?;
        file.write_all(text.as_bytes())
            .and_then(|()| file.as_file().set_permissions(permissions))
            .and_then(|()| file.as_file().sync_all())
            .map_err(|error| fail(&error))?;
        let now = fs::read(place).map_err(|error| fail(&error))?;
        if now != self.file.text.as_bytes() {
            return Err(fail(&"somebody else has changed this file just now; try again"));
        }
        file.persist(place).map_err(|error| fail(&error.error))?;
        Ok(())
    }
}

/// Writes a file that must not exist yet, and says why it could not.
pub(super) fn create(path: &Path, text: &str) -> Result<(), Failure> {
    write_new(path, text).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => Failure::unsound(format!(
            "{} exists already and is left as it is; choose another name",
            shown(path)
        )),
        ErrorKind::NotFound => unwritten(path, &"the folder does not exist"),
        _ => unwritten(path, &error),
    })
}

/// The name of a drawing to write: it must end in `.svg`, so that no profile is ever written over by a slip.
pub(super) fn svg_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("svg")) {
        Ok(path)
    } else {
        Err("a drawing's name must end in .svg".to_owned())
    }
}

/// The name of a page to write: not one of rodset's own files, so that none is ever written over by a slip.
pub(super) fn page_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml")) {
        Err("a page is not written over a profile, survey or record; choose a name that does not end in .toml".to_owned())
    } else {
        Ok(path)
    }
}

/// Writes a file whole, in the place of one that is there already.
pub(super) fn replace(path: &Path, text: &str) -> Result<(), Failure> {
    let write = || -> io::Result<()> {
        let mut file = beside(path)?;
        file.write_all(text.as_bytes())?;
        file.as_file().sync_all()?;
        file.persist(path)?;
        Ok(())
    };
    write().map_err(|error| match error.kind() {
        ErrorKind::NotFound => unwritten(path, &"the folder does not exist"),
        _ => unwritten(path, &error),
    })
}

/// Beside its place first, then moved there without ever taking the place of another.
fn write_new(path: &Path, text: &str) -> io::Result<()> {
    if path.symlink_metadata().is_ok() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    let mut file = beside(path)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist_noclobber(path)?;
    Ok(())
}

/// A file of no lasting name in the folder of another.
fn beside(path: &Path) -> io::Result<NamedTempFile> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    // An ordinary file, not one that only its owner may read; the umask still has its say.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

fn unwritten(path: &Path, what: &dyn std::fmt::Display) -> Failure {
    Failure::unsound(format!("{}: {what}; nothing was written", shown(path)))
}
