//! The program: all of it stands in the library, where the compiler sees what nothing uses.

use std::process::ExitCode;

fn main() -> ExitCode {
    rodset::run()
}
