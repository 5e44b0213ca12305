//! `rodset starter`: writes an annotated profile to fill in.

use std::io::ErrorKind;
use std::path::PathBuf;

use super::file::write_new;
use super::{Failure, Outcome};

const STARTER: &str = include_str!("../../data/starter.toml");

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The file to write; it must not exist yet
    file: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let path = super::options::shown(&args.file);
    write_new(&args.file, STARTER).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            Failure::unsound(format!("{path} exists already and is left as it is; choose another name"))
        }
        ErrorKind::NotFound => Failure::unsound(format!("{path}: the folder does not exist")),
        _ => Failure::unsound(format!("{path}: {error}; nothing was written")),
    })?;
    Ok(Outcome::answer(format!(
        "wrote {path}\n\n1. Open it in an editor and fill in what you measure; it says how.\n2. rodset check {path}\n   \
         tells what is still missing.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns.\n"
    )))
}
