//! `rodset starter`: writes an annotated profile, or a record of readings, to fill in.

use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use super::{Failure, Outcome};

const STARTER: &str = include_str!("../../data/starter.toml");
const RECORD: &str = include_str!("../../data/record-starter.toml");

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The file to write; it must not exist yet
    file: PathBuf,
    /// Write a record of readings instead of a profile
    #[arg(long)]
    record: bool,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let path = super::options::shown(&args.file);
    let text = if args.record { RECORD } else { STARTER };
    write_new(&args.file, text).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            Failure::unsound(format!("{path} exists already and is left as it is; choose another name"))
        }
        ErrorKind::NotFound => Failure::unsound(format!("{path}: the folder does not exist")),
        _ => Failure::unsound(format!("{path}: {error}; nothing was written")),
    })?;
    if args.record {
        return Ok(Outcome::answer(format!(
            "wrote {path}\n\n1. Open it in an editor and fill in what you measure; it says how.\n2. rodset readings \
             MY-CAR.toml {path}\n   tells what is missing, and what the readings come to.\n"
        )));
    }
    Ok(Outcome::answer(format!(
        "wrote {path}\n\n1. Open it in an editor and fill in what you measure; it says how.\n2. rodset check {path}\n   \
         tells what is still missing.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns.\n"
    )))
}

/// Writes a file that must not exist yet, whole or not at all: beside its place first, then moved there without ever
/// taking the place of another.
fn write_new(path: &Path, text: &str) -> io::Result<()> {
    if path.symlink_metadata().is_ok() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    // An ordinary file, not one that only its owner may read; the umask still has its say.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist_noclobber(path)?;
    Ok(())
}
