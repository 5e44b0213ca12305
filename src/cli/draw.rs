//! `rodset draw`: the links from behind and from above, as a drawing.

use clap::ValueEnum;
use rodset::car::Hand;
use std::path::PathBuf;

use super::files::{replace, shown, svg_path};
use super::options::{Height, Input, Lengths, Wanted};
use super::plan::Fit;
use super::{Failure, Outcome};
use rodset::plan::outline;
use rodset::report::{OutlinePage, Page, Printable, outline_drawing};

const EXAMPLES: &str = "\
Examples:
  rodset draw examples/tansy-wharf.toml --drop 40 --svg my-car.svg
      the links, to scale";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    /// The drawing to write, for print on A4; one that is there is replaced
    #[arg(long, value_name = "FILE.svg", value_parser = svg_path)]
    svg: Option<PathBuf>,
    /// Which rear wheel is drawn
    #[arg(long, value_enum, default_value = "left")]
    wheel: Wheel,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: Fit,
    #[command(flatten)]
    lengths: Lengths,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Wheel {
    /// The left one.
    Left,
    /// The right one.
    Right,
}

impl Wheel {
    fn hand(self) -> Hand {
        match self {
            Self::Left => Hand::Left,
            Self::Right => Hand::Right,
        }
    }
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let Some(path) = &args.svg else {
        return Err(Failure::usage("where does the drawing go? Give its name: --svg my-car.svg"));
    };
    let profile = args.input.read()?;
    let car = &profile.car;
    let stance = args.height.stance(car)?;
    let specs = args.wanted.specs_if_any(&profile)?;
    let fitting = args.fit.fitting(car)?;
    let answer = outline(car, &stance, specs.as_ref(), &fitting)?;
    let (side, units) = (&answer.sides[args.wheel.hand()], args.lengths.units());
    replace(path, &outline_drawing(car, side, units))?;
    let page = || {
        |page: &mut Page| {
            page.line(format!("wrote {}", shown(path)));
            if let Some(why) = &answer.unplanned {
                page.line(format!("nothing planned is drawn: {why}"));
            }
            OutlinePage { side, units }.put(page);
        }
    };
    Ok(Outcome::answer(args.input.write(&answer, page)?))
}
