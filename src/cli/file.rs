//! Files that are written whole or not at all: beside their place first, then moved there.

use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

use super::Failure;

/// Writes a file that must not exist yet, without ever taking the place of another.
pub(super) fn write_new(path: &Path, text: &str) -> io::Result<()> {
    if path.symlink_metadata().is_ok() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    beside(path, text)?.persist_noclobber(path)?;
    Ok(())
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

/// Writes a drawing, in the place of one that is there already.
pub(super) fn write_svg(path: &Path, text: &str) -> Result<(), Failure> {
    let shown = super::options::shown(path);
    let fail = |error: io::Error| match error.kind() {
        ErrorKind::NotFound => Failure::unsound(format!("{shown}: the folder does not exist")),
        _ => Failure::unsound(format!("{shown}: {error}; nothing was written")),
    };
    beside(path, text).and_then(|file| Ok(file.persist(path).map(drop)?)).map_err(fail)
}

/// The text in a file of its own, in the folder of `path`.
fn beside(path: &Path, text: &str) -> io::Result<NamedTempFile> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    // An ordinary file, not one that only its owner may read; the umask still has its say.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}
