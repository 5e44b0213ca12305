//! `rodset set`: single values of a file, changed from the shell.

use serde::Serialize;
use std::path::PathBuf;

use super::command::{Command, schema_of};
use super::files::{self, Kept, TextFile};
use super::keys::Typed;
use super::options::Form;
use super::{Failure, Outcome};
use crate::profile::{self, Change, EditError, Finding, Sort, inspect};
use crate::report::Page;
use schemars::{JsonSchema, Schema};

const HELP: &str = "\
Keys are written as `rodset check` names them: tables, links and keys with dots between. A link goes by its name, a coordinate \
of a point by its letter, a reading of a survey by what it is of. A value needs no quotes but those of the shell. The whole file \
is checked with the changes before anything is written; what would make it unsound is refused.

Examples:
  rodset set examples/tansy-wharf.toml wheel.camber=-1.2 \"wheel.toe=0°06'\"
      what the gauge and the strings say now
  rodset set examples/sedge-mill.toml \"link.toe.knuckle.z=8 3/4 in\" --dry-run
      one coordinate of a point; only shows what would change
  rodset set examples/tansy-wharf.toml \"link.lower rear.knuckle=-15, 690, 191\"
      a whole point
  rodset set examples/tansy-wharf.toml --remove link.upper.cam
      the car has no such cam
  rodset set examples/surveys/tansy-wharf.toml \"survey.arm.upper=9 1/2 in\"
      a reading of a survey";

#[derive(Debug, clap::Args)]
#[command(after_help = HELP)]
pub(super) struct Args {
    /// The profile or survey, a TOML file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What to set, and to what
    #[arg(value_name = "KEY=VALUE", required_unless_present = "remove", value_parser = Typed::KeyAndValue)]
    #[arg(hide_possible_values = true)]
    changes: Vec<String>,
    /// Take a key out of the file, with its line; or a whole table
    #[arg(long, value_name = "KEY", value_parser = Typed::Key, hide_possible_values = true)]
    remove: Vec<String>,
    /// Only show what would change
    #[arg(long)]
    dry_run: bool,
    #[command(flatten)]
    form: Form,
}

/// What was done to a file.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SetAnswer {
    file: String,
    written: bool,
    changes: Vec<Changed>,
}

/// One value, as it was written and is now.
#[derive(Debug, Serialize, JsonSchema)]
struct Changed {
    key: String,
    before: Option<String>,
    now: Option<String>,
}

impl Command for Args {
    const SCHEMA: Option<fn() -> Schema> = Some(schema_of::<SetAnswer>);

    fn run(&self) -> Result<Outcome, Failure> {
        if self.file.as_os_str() == files::STANDARD_INPUT {
            return Err(Failure::usage("values are changed in a file; give its name"));
        }
        let kept = Kept::read(&self.file)?;
        let kept = kept.ok_or_else(|| {
            Failure::unsound(format!("{}: there is no such file", files::shown(&self.file)))
        })?;
        let refuse = |error: EditError| Failure::unsound(format!("{}: {error}", kept.file.name));
        let before = inspect(&kept.file.text).map_err(refuse)?;
        if before.sort == Sort::Record {
            return Err(Failure::unsound(format!(
                "{}: this is a record, which is only added to: what was read, was read. `rodset correct --record` adds a \
                 reading; a mistake in one is put right in an editor",
                kept.file.name
            )));
        }
        let mut text = kept.file.text.clone();
        let mut changes = Vec::new();
        let mut note = |key: &str, change: Change| {
            changes.push(Changed { key: key.to_owned(), before: change.before, now: change.now });
            change.text
        };
        for change in &self.changes {
            let (key, value) = halves(change)?;
            text = note(key, profile::set_answer(&text, key, value).map_err(refuse)?);
        }
        for key in &self.remove {
            text = note(key.trim(), profile::remove_value(&text, key).map_err(refuse)?);
        }
        let after = inspect(&text).map_err(refuse)?;
        let keys: Vec<&str> = changes.iter().map(|changed| changed.key.as_str()).collect();
        let against: Vec<Finding> = after.refusals(&before, &keys).into_iter().cloned().collect();
        let changed = TextFile { name: format!("{} as it would be", kept.file.name), text };
        if !against.is_empty() {
            let Failure { message, status } = changed.refuse(&against);
            let meant = keys.iter().find_map(|key| Some((key, profile::meant(key)?)));
            let meant = meant.map_or(String::new(), |(key, meant)| {
                format!(" `{key}` is no key; did you mean `{meant}`? `rodset keys` has all of them.")
            });
            let message = format!("{message}\nRefused: nothing was written.{meant}\n");
            return Err(Failure { message, status });
        }
        let odd: Vec<Finding> = after.news(&before).into_iter().cloned().collect();
        super::tell(&changed.render(&odd));
        let written = !self.dry_run && changed.text != kept.file.text;
        if written {
            kept.replace(&changed.text)?;
        }
        let answer = SetAnswer { file: kept.file.name.clone(), written, changes };
        let output = self
            .form
            .format()
            .write(&answer, || |page: &mut Page| answer.put(page, self.dry_run, after.is_sound()))?;
        Ok(Outcome::answer(output))
    }
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

impl SetAnswer {
    fn put(&self, page: &mut Page, dry_run: bool, sound: bool) {
        let Self { file, written, changes } = self;
        let head = match (written, dry_run) {
            (true, _) => "changed",
            (_, true) => "this would change; nothing was written",
            _ => "nothing to change",
        };
        page.line(format!("{file}: {head}"));
        for Changed { key, before, now } in changes {
            let [before, now] = [before, now]
                .map(|value| value.as_deref().unwrap_or("(nothing)").replace('\n', "\n         "));
            page.verbatim(format!("  {key}\n    was  {before}\n    now  {now}"));
        }
        if !sound {
            page.gap();
            page.paragraph(format!("Still unfinished; `rodset check {file}` tells what is missing."));
        }
    }
}
