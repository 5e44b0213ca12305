//! `rodset manual`: the manual pages, one for the program and one for each command; and the licences of what is built in.

use clap_mangen::Man;
use std::path::PathBuf;

use super::command::Command;
use super::today::today;
use super::{Failure, Outcome, files, program};

/// Made by `tests/refresh-licences.py`.
const LICENCES: &str = include_str!("../../data/licences.txt");

const EXAMPLES: &str = "\
Examples:
  rodset manual .
      then: man ./rodset-plan.1
  rodset manual --licences
      what goes with a copy of this program that is given away";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// The folder for the pages, which must be there; pages of that name are replaced
    #[arg(required_unless_present = "licences")]
    folder: Option<PathBuf>,
    /// Instead: under which licences the crates are that are built into this program
    #[arg(long, conflicts_with = "folder")]
    licences: bool,
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let Some(folder) = &self.folder else { return Ok(Outcome::answer(LICENCES.to_owned())) };
        let mut program = program().disable_help_subcommand(true);
        program.build();
        let mut told = String::new();
        for command in std::iter::once(&program).chain(program.get_subcommands()) {
            let path = folder.join(Man::new(command.clone()).get_filename());
            files::replace(&path, &page(command)?)?;
            told += &format!("wrote {}\n", files::shown(&path));
        }
        Ok(Outcome::answer(told))
    }
}

fn page(command: &clap::Command) -> Result<String, Failure> {
    let man = Man::new(command.clone()).date(today());
    let mut text = Vec::new();
    let sections = [
        Man::render_title,
        Man::render_name_section,
        Man::render_synopsis_section,
        Man::render_description_section,
        Man::render_options_section,
    ];
    for section in sections {
        section(&man, &mut text).map_err(Failure::unsound)?;
    }
    if command.has_subcommands() {
        man.render_subcommands_section(&mut text).map_err(Failure::unsound)?;
    }
    let text = String::from_utf8(text).map_err(Failure::unsound)?;
    Ok(clean(&text) + EXIT_STATUS + &examples(command))
}

/// What every command ends with.
const EXIT_STATUS: &str = "\
.SH EXIT STATUS
.TP
0
An answer, within the spec where one is asked for.
.TP
1
The profile is unsound, or no position exists.
.TP
2
The command was not understood.
.TP
3
An answer that does not meet the spec; or an arm is refused, something touches, binds or knocks, a part is not strong enough, or no
travel is left.
";

/// The examples of a command as they stand under its help.
fn examples(command: &clap::Command) -> String {
    let help = command.get_after_help().map(ToString::to_string).unwrap_or_default();
    let plain = "rodset plan examples/tansy-wharf.toml --drop 40";
    let examples = help.split_once("Examples:\n").map_or(plain, |(_, examples)| examples);
    let lines = examples.trim_end().lines().map(|line| {
        let line = line.strip_prefix("  ").unwrap_or(line).replace('\\', "\\e").replace('-', "\\-");
        // What begins like this would be read as a request.
        if line.starts_with(['.', '\'']) { format!("\\&{line}\n") } else { format!("{line}\n") }
    });
    format!(".SH EXAMPLES\n.nf\n{}.fi\n", lines.collect::<String>())
}

/// The same without what a strict reader of such pages stumbles over: blanks at the ends of lines, empty lines, one break behind another.
fn clean(text: &str) -> String {
    let lines = text.lines().map(str::trim_end).filter(|line| !line.is_empty());
    lines.fold(String::new(), |text, line| {
        if line == ".br" && text.ends_with(".br\n") { text } else { text + line + "\n" }
    })
}
