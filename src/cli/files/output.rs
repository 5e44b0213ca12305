//! What is asked for to be written: pages, drawings, files to fill in.

use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use super::read::is_touched;
use super::write::{create, end_of_links, over, print, through, unwritten};
use crate::cli::failure::Failure;
use crate::cli::screen::FileKind;

/// The path that stands for standard output.
pub(in crate::cli) const STANDARD_OUTPUT: &str = "-";

/// So much of a file tells what it is.
const OPENING: u64 = 1 << 14;

/// Whether a file may be replaced whatever it holds.
static FORCE: AtomicBool = AtomicBool::new(false);
/// Whether a drawing has gone to standard output.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// From now on a file may be replaced whatever it holds.
pub(in crate::cli) fn force() {
    FORCE.store(true, Ordering::Relaxed);
}

/// Whether standard output has what was asked to be written there, so that the page goes elsewhere.
pub(in crate::cli) fn took_standard_output() -> bool {
    TAKEN.load(Ordering::Relaxed)
}

/// The name of a drawing to write: it must end in `.svg`, or be standard output.
pub(in crate::cli) fn svg_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_drawing = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("svg"));
    if is_drawing || text == STANDARD_OUTPUT {
        Ok(path)
    } else {
        Err("a drawing's name must end in .svg, or be - for standard output".to_owned())
    }
}

/// The name of a page to write: not that of one of rodset's own files.
pub(in crate::cli) fn page_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml")) {
        Err("a page is not written over a profile, survey or record; choose a name that does not end in .toml".to_owned())
    } else {
        Ok(path)
    }
}

/// What a command may write into a file beside pages.
pub(in crate::cli) struct Written {
    pub(in crate::cli) json: bool,
    pub(in crate::cli) csv: bool,
    /// What is no page, so that any ending may fit.
    pub(in crate::cli) other: bool,
}

/// What the ending of a file's name says that is to be in it; nothing where it is no regular file, whose name says nothing.
pub(in crate::cli) fn kind_of(file: &Path, may: &Written) -> Result<Option<FileKind>, Failure> {
    if file.metadata().is_ok_and(|there| !there.is_file()) {
        return Ok(None);
    }
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        None => Ok(None),
        Some("html" | "htm") => Ok(Some(FileKind::Html)),
        Some("json") if may.json => Ok(Some(FileKind::Json)),
        Some("csv") if may.csv => Ok(Some(FileKind::Csv)),
        Some("txt") => Ok(Some(FileKind::Text)),
        Some(_) if may.other => Ok(None),
        Some(other) => Err(Failure::usage(format!(
            "--output: a page of this command does not go into a file that ends in .{other}: .txt is for reading, .html to be printed (or \
             saved as PDF by the browser){}{}",
            if may.json { ", .json for scripts" } else { "" },
            if may.csv { ", .csv for a spreadsheet; a drawing has --svg" } else { "" }
        ))),
    }
}

/// Writes a page or a drawing to a file, to standard output or into a device; a page that is there already is replaced by one of the
/// same kind, and nothing else is unless it is forced.
pub(in crate::cli) fn replace(path: &Path, text: &str) -> Result<(), Failure> {
    if path.as_os_str() == STANDARD_OUTPUT {
        TAKEN.store(true, Ordering::Relaxed);
        return print(text);
    }
    let fail = |what: &dyn std::fmt::Display| Err(unwritten(path, what));
    let there = match fs::metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return create(&end_of_links(path), text),
        Err(error) => return fail(&error),
        Ok(there) => there,
    };
    if there.is_dir() {
        return fail(&"this is a folder; name a file in it");
    }
    if !there.is_file() {
        return through(path, text);
    }
    if is_touched(path) {
        return fail(
            &"this very run has read or written that file, and would destroy it; choose another name",
        );
    }
    if FORCE.load(Ordering::Relaxed) {
        return over(path, None, text);
    }
    let mut bytes = Vec::new();
    let opening = File::open(path).and_then(|file| file.take(OPENING).read_to_end(&mut bytes));
    if let Err(error) = opening {
        return fail(&error);
    }
    let (old, new) = (String::from_utf8_lossy(&bytes), opening_of(text));
    if !bytes.is_empty() && opening_of(&old) != new {
        return fail(&format!(
            "what is there is no page like this one, which begins with \"{new}\": choose another name, or add --force to replace it"
        ));
    }
    let before = fs::read_to_string(path);
    over(path, Some(&before.map_err(|error| unwritten(path, &error))?), text)
}

/// What tells a kind of page: its first line, up to where the car's name or a figure begins.
fn opening_of(text: &str) -> &str {
    let line = text.lines().next().unwrap_or_default();
    line.split_once(':').map_or(line, |(kind, _)| kind)
}
