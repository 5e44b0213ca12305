//! `rodset set`: single values of a file, changed from the shell.

use serde::Serialize;
use std::path::PathBuf;

use super::files::{Kept, TextFile};
use super::options::Format;
use super::{Failure, Outcome};
use rodset::profile::{self, Change, EditError, Finding, Sort, inspect};

/// Keys are written as `rodset check` names them: tables, links and keys with dots between. A link goes by its name, a
/// coordinate of a point by its letter, a reading of a survey by what it is of.
///
/// A value needs no quotes but those of the shell. The whole file is checked with the changes before anything is written;
/// what would make it unsound is refused.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  rodset set my-car.toml wheel.camber=-1.2 \"wheel.toe=0°06'\"
  rodset set my-car.toml \"link.lower rear.knuckle=-15, 690, 190\"
  rodset set my-car.toml link.upper.subframe.z=\"17 3/4 in\"
  rodset set my-car.toml right.wheel.camber=-0.9 --remove link.upper.cam
  rodset set my-survey.toml \"survey.height.upper subframe=449\"")]
pub(super) struct Args {
    /// The profile or survey, a TOML file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What to set, and to what
    #[arg(value_name = "KEY=VALUE", required_unless_present = "remove")]
    changes: Vec<String>,
    /// Take a key out of the file, with its line; or a whole table
    #[arg(long, value_name = "KEY")]
    remove: Vec<String>,
    /// Only show what would change
    #[arg(long)]
    dry_run: bool,
    /// For people (text) or for scripts (json)
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// What was done to a file.
#[derive(Debug, Serialize)]
struct Changes {
    file: String,
    written: bool,
    changes: Vec<Changed>,
}

/// One value, as it was written and is now.
#[derive(Debug, Serialize)]
struct Changed {
    key: String,
    before: Option<String>,
    now: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let kept = Kept::read(&args.file)?;
    let kept = kept.ok_or_else(|| {
        Failure::unsound(format!("{}: there is no such file", super::files::shown(&args.file)))
    })?;
    let refuse = |error: EditError| Failure::unsound(format!("{}: {error}", kept.file.name));
    let before = inspect(&kept.file.text).map_err(refuse)?;
    if before.sort == Sort::Record {
        return Err(Failure::unsound(format!(
            "{}: this is a record, which is only added to: what was read, was read. `rodset correct --record` adds a \
             reading; a slip in one is put right in an editor",
            kept.file.name
        )));
    }
    let mut text = kept.file.text.clone();
    let mut changes = Vec::new();
    let mut note = |key: &str, change: Change| {
        changes.push(Changed { key: key.to_owned(), before: change.before, now: change.now });
        change.text
    };
    for change in &args.changes {
        let (key, value) = halves(change)?;
        text = note(key, profile::set_answer(&text, key, value).map_err(refuse)?);
    }
    for key in &args.remove {
        text = note(key.trim(), profile::remove_value(&text, key).map_err(refuse)?);
    }
    let after = inspect(&text).map_err(refuse)?;
    let keys: Vec<&str> = changes.iter().map(|changed| changed.key.as_str()).collect();
    let against: Vec<Finding> = after.refusals(&before, &keys).into_iter().cloned().collect();
    let changed = TextFile { name: format!("{} as it would be", kept.file.name), text };
    if !against.is_empty() {
        let Failure { message, status } = changed.refuse(&against);
        let message = format!("{message}\nRefused: nothing was written.\n");
        return Err(Failure { message, status });
    }
    let odd: Vec<Finding> = after.news(&before).into_iter().cloned().collect();
    super::tell(&changed.render(&odd));
    let written = !args.dry_run && changed.text != kept.file.text;
    if written {
        kept.replace(&changed.text)?;
    }
    let answer = Changes { file: kept.file.name.clone(), written, changes };
    let output = args.format.write(&answer, || page(&answer, after.is_sound()))?;
    Ok(Outcome::answer(output))
}

/// The key and the value of `KEY=VALUE`.
fn halves(change: &str) -> Result<(&str, &str), Failure> {
    let halves = change.split_once('=').filter(|(key, _)| !key.trim().is_empty());
    let (key, value) = halves.ok_or_else(|| {
        Failure::usage(format!("`{change}` does not say what to set: KEY=VALUE, such as wheel.camber=-1.2"))
    })?;
    if value.trim().is_empty() {
        let key = key.trim();
        return Err(Failure::usage(format!(
            "`{key}=` has no value; to take the key out: --remove \"{key}\""
        )));
    }
    Ok((key.trim(), value.trim()))
}

fn page(answer: &Changes, sound: bool) -> String {
    let head = if answer.written { "changed" } else { "not changed" };
    let mut page = format!("{}: {head}\n", answer.file);
    for Changed { key, before, now } in &answer.changes {
        let [before, now] =
            [before, now].map(|value| value.as_deref().unwrap_or("(nothing)").replace('\n', "\n       "));
        page += &format!("  {key}\n    was  {before}\n    now  {now}\n");
    }
    if !sound {
        page += &format!("\nStill unfinished; `rodset check {}` tells what is missing.\n", answer.file);
    }
    page
}
