//! What a command has to say, and how it gets out.

use std::path::Path;

use super::failure::Failure;
use super::files;
use super::warned::tell;

/// What a command has to say: the text for standard output, and whether the spec is met.
pub(super) struct Outcome {
    pub(super) output: String,
    pub(super) spec_met: bool,
}

impl Outcome {
    pub(super) fn answer(output: String) -> Self {
        Self { output, spec_met: true }
    }
}

/// Brings what a command says to standard output or into a file.
pub(super) fn deliver(output: &str, file: Option<&Path>) -> Result<(), Failure> {
    match file {
        Some(path) => {
            files::replace(path, output)?;
            tell(&format!("wrote {}\n", files::shown(path)));
            Ok(())
        }
        None if files::took_standard_output() => {
            tell(output);
            Ok(())
        }
        None => files::print(output),
    }
}
