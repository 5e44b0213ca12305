//! Why a command gives no answer.

use std::fmt::Display;

use crate::plan::NoPosition;

/// A message for standard error and an exit status.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) message: String,
    pub(super) status: u8,
}

impl Failure {
    /// The input is unsound, or there is no answer to it.
    pub(super) fn unsound(message: impl Display) -> Self {
        Self { message: format!("error: {message}\n"), status: 1 }
    }

    /// The command line asks for something it cannot ask for.
    pub(super) fn usage(message: impl Display) -> Self {
        Self { message: format!("error: {message}\n"), status: 2 }
    }
}

impl From<NoPosition> for Failure {
    fn from(error: NoPosition) -> Self {
        Self::unsound(error)
    }
}
