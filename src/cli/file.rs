//! Files are written whole or not at all: beside their place first, then moved there.

use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

use super::Failure;
use super::options::{read_text, shown};

/// A file that will be added to, as it was when it was read.
pub(super) struct Kept {
    /// Where it really lies, whatever links lead there.
    place: PathBuf,
    name: String,
    text: String,
}

impl Kept {
    /// Reads a file; `None` where there is none yet.
    pub(super) fn read(path: &Path) -> Result<Option<Self>, Failure> {
        // A link that leads nowhere is told by reading it.
        if path.symlink_metadata().is_err_and(|error| error.kind() == ErrorKind::NotFound) {
            return Ok(None);
        }
        let text = read_text(path)?;
        let place = path.canonicalize().map_err(|error| fail(path, &error))?;
        Ok(Some(Self { place, name: shown(path), text }))
    }

    /// Its name as it can be shown.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// What it held.
    pub(super) fn text(&self) -> &str {
        &self.text
    }
}

/// Adds a text at the end of a file. What was there stays as it was, byte by byte.
///
/// Refused where the file may not be written or is no longer what was read.
pub(super) fn append(path: &Path, kept: &Kept, text: &str) -> Result<(), Failure> {
    let fail = |what: &dyn std::fmt::Display| fail(path, what);
    let permissions = fs::metadata(&kept.place).map_err(|error| fail(&error))?.permissions();
    if permissions.readonly() {
        return Err(fail(&"this file is write-protected"));
    }
    let gap = if kept.text.is_empty() || kept.text.ends_with('\n') { "" } else { "\n" };
    let mut file = beside(&kept.place).map_err(|error| fail(&error))?;
    file.write_all([&kept.text, gap, text].concat().as_bytes())
        .and_then(|()| file.as_file().set_permissions(permissions))
        .and_then(|()| file.as_file().sync_all())
        .map_err(|error| fail(&error))?;
    let now = fs::read(&kept.place).map_err(|error| fail(&error))?;
    if now != kept.text.as_bytes() {
        return Err(fail(&"somebody else has changed this file just now; try again"));
    }
    file.persist(&kept.place).map_err(|error| fail(&error.error))?;
    Ok(())
}

/// Writes a file that must not exist yet, without ever taking the place of another.
pub(super) fn write_new(path: &Path, text: &str) -> Result<(), Failure> {
    let write = || -> io::Result<()> {
        if path.symlink_metadata().is_ok() {
            return Err(ErrorKind::AlreadyExists.into());
        }
        let mut file = beside(path)?;
        file.write_all(text.as_bytes())?;
        file.as_file().sync_all()?;
        file.persist_noclobber(path)?;
        Ok(())
    };
    let path = shown(path);
    write().map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            Failure::unsound(format!("{path} exists already and is left as it is; choose another name"))
        }
        ErrorKind::NotFound => Failure::unsound(format!("{path}: the folder does not exist")),
        _ => Failure::unsound(format!("{path}: {error}; nothing was written")),
    })
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

fn fail(path: &Path, what: &dyn std::fmt::Display) -> Failure {
    Failure::unsound(format!("{}: {what}; nothing was written", shown(path)))
}
