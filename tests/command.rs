//! Runs the program the way a user does.

use std::path::PathBuf;
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde_json::Value;

/// What a run left behind.
pub(crate) struct Run {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

/// Runs `rodset` with arguments in the project's folder.
pub(crate) fn rodset(args: &[&str]) -> Run {
    let output = Command::new(env!("CARGO_BIN_EXE_rodset"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .env("COLUMNS", "100")
        .env("SOURCE_DATE_EPOCH", "1795564800")
        .output()
        .expect("the program starts");
    Run {
        stdout: String::from_utf8(output.stdout).expect("text on standard output"),
        stderr: String::from_utf8(output.stderr).expect("text on standard error"),
        status: output.status.code().expect("an exit status, not a signal"),
    }
}

impl Run {
    /// Standard output as JSON.
    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|error| panic!("{error} in {:?}, standard error {:?}", self.stdout, self.stderr))
    }

    /// Everything, for a snapshot.
    pub(crate) fn all(&self) -> String {
        let Self { stdout, stderr, status } = self;
        format!("{stdout}[standard error]\n{stderr}[exit {status}]\n")
    }
}

/// A profile in a file of its own that goes away with it.
pub(crate) struct TempFile(pub(crate) PathBuf);

impl TempFile {
    pub(crate) fn new(text: impl AsRef<[u8]>) -> Self {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("rodset-{}-{}.toml", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
        let path = std::env::temp_dir().join(name);
        std::fs::write(&path, text).expect("the temporary folder can be written");
        Self(path)
    }

    pub(crate) fn path(&self) -> &str {
        self.0.to_str().expect("a plain path")
    }
}

impl Drop for TempFile {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}
