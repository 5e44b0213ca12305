//! The command line: the only place that touches files, arguments and the terminal.
//!
//! Each command has a file: it reads its options, asks the library, and hands a page or JSON back to be printed.

mod arms;
mod axle;
mod beside;
mod cams;
mod cases;
mod check;
mod command;
mod correct;
mod draw;
mod explain;
mod failure;
mod files;
mod fit;
mod glossary;
mod hints;
mod interview;
mod keys;
mod lockout;
mod lower;
mod manual;
mod of_car;
mod options;
mod outcome;
mod plan;
mod readings;
mod sampling;
mod schema;
mod screen;
mod set;
mod setting;
mod sheet;
mod shell;
mod shop;
mod spec;
mod starter;
mod survey;
mod today;
mod travel;
mod tune;
mod warned;
mod worked_out;

use crate::report::{Page, TextStyle};
use clap::{CommandFactory, Parser, Subcommand};
use schemars::Schema;
use std::env;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use command::Command;
use failure::Failure;
use files::Written;
use hints::of_page;
use outcome::{Outcome, deliver};
use warned::tell;

/// Plans the rear alignment of a lowered multi-link car: arm lengths, thread turns, the bench sheet.
///
/// A profile is a TOML file that describes one rear wheel and its five links. `rodset starter my-car.toml` writes one to
/// fill in.
#[derive(Debug, Parser)]
#[command(
    version,
    max_term_width = 100,
    after_help = "Exit status: 0 an answer, within the spec where one is asked for; 1 the profile is unsound or no \
                  position exists; 2 the command was not understood; 3 an answer that does not meet the spec, an arm is refused, something touches, binds or knocks, a part is not strong enough, or no travel is left."
)]
struct Cli {
    #[command(subcommand)]
    command: Commands,
    /// Write to this file instead of the screen (-): its name ends in .txt, in .html to be printed, in .json for scripts; a page of the
    /// same kind that is there is replaced, whole or not at all
    #[arg(long, global = true, value_name = "FILE", value_parser = files::page_path, display_order = 900)]
    output: Option<PathBuf>,
    /// All of a page: what limits the answer, how good it is, how to work, the cautions
    #[arg(long, global = true, display_order = 899)]
    full: bool,
    /// Replace the file of --output or --svg whatever it holds, unless it is read for the page or write-protected
    #[arg(long, global = true, display_order = 901)]
    force: bool,
}

/// The commands by the stages of the work: one list for the command line, for its help, for what runs them and for the schemas of
/// their answers.
macro_rules! commands {
    ($($stage:literal => {$($(#[doc = $about:literal])* $name:ident($args:ty),)*})*) => {
        #[derive(Debug, Subcommand)]
        enum Commands {$($(
            $(#[doc = $about])*
            $name($args),
        )*)*}

        impl Commands {
            fn run(&self) -> Result<Outcome, Failure> {
                match self {$($(
                    Self::$name(args) => args.run(),
                )*)*}
            }

            /// What it may write into a file.
            fn written(&self) -> Written {
                Written {
                    json: match self {$($(
                        Self::$name(_) => <$args as Command>::SCHEMA.is_some(),
                    )*)*},
                    csv: matches!(self, Self::Travel(_)),
                    other: matches!(self, Self::Schema(_) | Self::Shell(_) | Self::Starter(_)),
                }
            }
        }

        /// The stages of the work, and which commands belong to each.
        const STAGES: &[(&str, &[&str])] = &[$(($stage, &[$(stringify!($name)),*])),*];

        /// Every command with what makes the schema of its JSON.
        fn schemas() -> Vec<(String, Option<fn() -> Schema>)> {
            vec![$($((stringify!($name).to_lowercase(), <$args as Command>::SCHEMA),)*)*]
        }
    };
}

commands! {
    "1. Measure (begin with: rodset interview my-car.toml)" => {
        /// Fill in a profile or a survey question by question
        Interview(interview::Args),
        /// Write an annotated profile, survey or record to fill in
        Starter(starter::Args),
        /// Change single values of a profile or a survey; comments and layout stay
        Set(set::Args),
        /// What points do my measurements come to, and which of them is a misreading?
        Survey(survey::Args),
        /// Is the profile sound, and what does it describe?
        Check(check::Args),
        /// Which reading would narrow the plan most for the time it takes, and when is it enough?
        Next(beside::Args<beside::Next>),
    }
    "2. Ask" => {
        /// What does lowering do by itself?
        Lower(lower::Args),
        /// Can the stock cam bolts still reach the spec?
        Cams(cams::Args),
        /// What do camber, toe and the rest do over bump and droop?
        Travel(travel::Args),
        /// What would another length of the traction link do to bump steer?
        Tune(tune::Args),
        /// What comes how near to what over the whole travel?
        Clearance(beside::Args<beside::Clearance>),
        /// How far do rod ends tilt, bushes wind up and the driveshaft slide over the whole travel?
        Joints(beside::Args<beside::Joints>),
        /// How many collar turns is the drop, how stiff is the wheel then, and what travel is left?
        Springs(beside::Args<beside::Springs>),
        /// What does each link carry when the wheel is loaded, and what gives first?
        Loads(beside::Args<beside::Loads>),
        /// Does each bolted pivot hold its arm, locked out or with a cam?
        Bolts(beside::Args<beside::Bolts>),
        /// A spec as a manual prints it, in every unit; warns of the usual slips
        Spec(spec::Args),
    }
    "3. Buy" => {
        /// Which arms are worth buying for this drop?
        Arms(arms::Args),
        /// How long must each arm be, and how many turns is that?
        Plan(plan::Args),
        /// How long must the arms be so that nothing moves when the cams are locked out?
        Lockout(lockout::Args),
    }
    "4. Bench" => {
        /// The page that lies on the bench: preset, turns, order of work; --output FILE.html to print it
        Sheet(sheet::Args),
        /// The page for the alignment shop: targets in its units, what can be adjusted where and which way
        Shop(shop::Args),
        /// Draw the links from behind and from above: as measured, lowered, planned
        Draw(draw::Args),
    }
    "5. Correct" => {
        /// What do camber gauge, level, strings and toe plates come to, and is that within the spec?
        Readings(readings::Args),
        /// What to turn after a reading on the rack or at home?
        Correct(correct::Args),
        /// What do readings at several heights teach about the car?
        Fit(fit::Args),
    }
    "Beside the way" => {
        /// What do the words of the trade mean?
        Glossary(glossary::Args),
        /// What may stand in a profile, survey or record: each key, its unit, and how to measure it
        Keys(keys::Args),
        /// Print what a profile, survey or record may contain, for editors; or what the JSON of a command does
        Schema(schema::Args),
        /// Print the file with which a shell completes commands and options
        Shell(shell::Args),
        /// Write the manual pages
        Manual(manual::Args),
    }
}

/// The command line, whose help has the commands by the stages of the work.
fn program() -> clap::Command {
    let program = Cli::command();
    let about = |name: &str| program.find_subcommand(name)?.get_about().map(ToString::to_string);
    let list = |page: &mut Page| {
        for (stage, names) in STAGES {
            page.gap();
            page.line(*stage);
            for name in names.iter().map(|name| name.to_lowercase()) {
                page.item(format!("{name:<10}"), about(&name).unwrap_or_default());
            }
        }
    };
    let list = Page::of(&list, of_page).text(TextStyle::plain(screen::columns_of_help()));
    let template = format!(
        "{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{list}\nOptions:\n{{options}}{{after-help}}"
    );
    program.help_template(template)
}

/// Runs the command line of this process.
pub fn run() -> ExitCode {
    // `help --help` asks for the help of nothing else than all of it.
    let asks = |at: usize, words: &[&str]| {
        env::args_os().nth(at).is_some_and(|argument| words.iter().any(|word| argument == *word))
    };
    let count = if asks(1, &["help"]) && asks(2, &["--help", "-h"]) { 2 } else { usize::MAX };
    let typed = || env::args_os().take(count);
    let Cli { command, output, full, force } = match Cli::try_parse_from(typed()) {
        Ok(cli) => cli,
        Err(said) => {
            use clap::error::ErrorKind::{DisplayHelp, DisplayHelpOnMissingArgumentOrSubcommand};
            // The list of commands is made up only for who asks for help.
            let help = matches!(said.kind(), DisplayHelp | DisplayHelpOnMissingArgumentOrSubcommand);
            let listed = if help { program().try_get_matches_from(typed()).err() } else { None };
            return by_clap(&listed.unwrap_or(said));
        }
    };
    let file = output.filter(|path| path.as_os_str() != files::STANDARD_OUTPUT);
    let kind = match file.as_deref().map_or(Ok(None), |file| files::kind_of(file, &command.written())) {
        Ok(kind) => kind,
        Err(failure) => return fails(&failure),
    };
    screen::measure(file.is_some(), kind, full);
    if force {
        files::force();
    }
    let delivered = match command.run() {
        Ok(Outcome { output, spec_met }) => deliver(&output, file.as_deref()).map(|()| spec_met),
        Err(failure) => Err(failure),
    };
    match delivered {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(3),
        Err(failure) => fails(&failure),
    }
}

fn fails(failure: &Failure) -> ExitCode {
    tell(&failure.message);
    ExitCode::from(failure.status)
}

/// Shows help, the version, or what is wrong with a command line.
fn by_clap(said: &clap::Error) -> ExitCode {
    let printed = said.print().and_then(|()| io::stdout().flush());
    match printed {
        Err(error) if !said.use_stderr() && error.kind() != io::ErrorKind::BrokenPipe => {
            fails(&Failure::unsound(format!("standard output: {error}")))
        }
        _ => ExitCode::from(if said.use_stderr() { 2 } else { 0 }),
    }
}
