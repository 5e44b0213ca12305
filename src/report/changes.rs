//! What was changed in a file, value by value.

use std::fmt;

use super::words::paragraph;

/// Values of a file, as they were and are.
#[derive(Debug)]
pub struct ChangesPage<'a> {
    /// The file's name.
    pub file: &'a str,
    /// Whether the file was written.
    pub written: bool,
    /// Whether it was only asked what would change.
    pub dry_run: bool,
    /// In the order in which they were asked for.
    pub changes: Vec<Replaced<'a>>,
    /// Whether the file can be used now.
    pub sound: bool,
}

/// One value, as it was written and is now; `None` where nothing stands.
#[derive(Debug)]
pub struct Replaced<'a> {
    /// The key.
    pub key: &'a str,
    /// What stood there.
    pub before: Option<&'a str>,
    /// What stands there now.
    pub now: Option<&'a str>,
}

impl fmt::Display for ChangesPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let head = match self {
            Self { written: true, .. } => "changed",
            Self { dry_run: true, .. } => "this would change; nothing was written",
            _ => "nothing to change",
        };
        writeln!(f, "{}: {head}", self.file)?;
        for Replaced { key, before, now } in &self.changes {
            let [before, now] =
                [before, now].map(|value| value.unwrap_or("(nothing)").replace('\n', "\n         "));
            writeln!(f, "  {key}\n    was  {before}\n    now  {now}")?;
        }
        if self.sound {
            return Ok(());
        }
        let file = self.file;
        writeln!(f)?;
        paragraph(f, &format!("Still unfinished; `rodset check {file}` tells what is missing."))
    }
}
