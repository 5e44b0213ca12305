//! Runs the program the way a user does.

use rodset::profile::{profile_starter, record_starter, survey_starter};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicUsize, Ordering};

use rodset::report::{Page, Printable, TextStyle, WIDTH};
use serde_json::Value;

/// A profile, a survey and a record to fill in.
pub(crate) static STARTER: LazyLock<String> =
    LazyLock::new(|| profile_starter(include_str!("../data/starter.txt"), None));
pub(crate) static SURVEY_STARTER: LazyLock<String> =
    LazyLock::new(|| survey_starter(include_str!("../data/starter-survey.txt"), false, None));
pub(crate) static RECORD_STARTER: LazyLock<String> =
    LazyLock::new(|| record_starter(include_str!("../data/starter-record.txt")));

/// What a run left behind.
pub(crate) struct Run {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

/// Runs `rodset` with arguments in the project's folder.
pub(crate) fn rodset(args: &[&str]) -> Run {
    let whole = if args.is_empty() { None } else { Some("--full") };
    as_typed(&args.iter().copied().chain(whole).collect::<Vec<_>>())
}

/// The same without asking for all of a page.
pub(crate) fn as_typed(args: &[&str]) -> Run {
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

/// A page of the library as text; what it hints at stays as the library calls it.
pub(crate) fn page_text(content: &impl Printable) -> String {
    Page::of(content, |hint| format!("{hint:?}")).text(TextStyle::plain(WIDTH))
}

/// The names of all commands, from the help itself.
pub(crate) fn commands() -> Vec<String> {
    let help = as_typed(&["--help"]).stdout;
    let (_, list) = help.split_once("1. Measure").expect("a list of commands");
    let lines = list.lines().skip(1).take_while(|line| *line != "Options:");
    let names = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names = names.filter_map(|line| line.split_whitespace().next());
    names.map(str::to_owned).collect()
}

/// Runs a line of shell in a folder with the examples, with `rodset` on the path.
pub(crate) fn shell(folder: &Path, line: &str, variables: &[(&str, &str)]) -> Output {
    let program = Path::new(env!("CARGO_BIN_EXE_rodset")).parent().expect("a folder");
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap_or_default());
    let mut command = Command::new("sh");
    command.args(["-c", line]).current_dir(folder).env("PATH", path);
    for name in ["NO_COLOR", "CLICOLOR_FORCE", "CLICOLOR", "COLUMNS"] {
        command.env_remove(name);
    }
    command.env("SOURCE_DATE_EPOCH", "1763769600");
    command.envs(variables.iter().copied()).output().expect("a shell")
}

/// A folder of its own with the examples in it.
pub(crate) fn workplace() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for part in ["examples", "examples/records", "examples/surveys"] {
        fs::create_dir(folder.path().join(part)).expect("a folder");
        for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(part)).expect("the examples") {
            let path = entry.expect("an entry").path();
            if path.is_file() {
                let name = path.file_name().expect("a name");
                fs::copy(&path, folder.path().join(part).join(name)).expect("a copy");
            }
        }
    }
    folder
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
        fs::write(&path, text).expect("the temporary folder can be written");
        Self(path)
    }

    pub(crate) fn path(&self) -> &str {
        self.0.to_str().expect("a plain path")
    }
}

impl Drop for TempFile {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.0);
    }
}
