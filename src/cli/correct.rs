//! `rodset correct`: what to turn after a reading.

use clap::ValueEnum;
use std::path::{Path, PathBuf};

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::files::{self, Kept, TextFile};
use super::of_car::{OfCar, aims};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions, Wanted};
use super::plan::FittedArms;
use super::setting::{Named, Once};
use crate::car::{Car, Link, PerSide, Spec, Stance};
use crate::explain::Given;
use crate::measure::Round;
use crate::plan::{Correction, Fitting, NoCorrection, correct, plan};
use crate::profile::{read_begun_record, read_record, write_reading};
use crate::report::{CorrectPage, Page, Printable};

/// How findings name what was given as options.
const COMMAND_LINE: &str = "the command line, written as a record";

const EXAMPLES: &str = "\
Examples:
  rodset correct examples/tansy-wharf.toml --drop 40 --left -1.25,0.20 --right -0.80,0.02
      what to turn after this reading
  rodset correct examples/tansy-wharf.toml --drop 40 --left=-1.2,0.1 --record my-record.toml
      and keep the reading in a record";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    reading: ReadNow,
    #[command(flatten)]
    state: LinksNow,
    #[command(flatten)]
    log: Log,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: FittedArms,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

/// What was read now.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "What the wheels read now")]
struct ReadNow {
    /// Camber and toe of the left wheel, such as -1.2,0.15 or "-1°10',1.2 mm"; camber alone, or toe alone behind a comma
    #[arg(long, value_name = "CAMBER,TOE", allow_hyphen_values = true)]
    left: Option<String>,
    /// Camber and toe of the right wheel; toe-in is positive on both
    #[arg(long, value_name = "CAMBER,TOE", allow_hyphen_values = true)]
    right: Option<String>,
    /// Toe of both wheels together, where only that was read
    #[arg(long, value_name = "TOE", allow_hyphen_values = true)]
    total_toe: Option<String>,
    /// What it was read with, which says how good it is [default: as good as the reading in the profile]
    #[arg(long, value_enum)]
    source: Option<ReadingSource>,
    /// The car stood the other way round, on the same spots: tells a sloping floor from a leaning wheel
    #[arg(long)]
    turned_round: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ReadingSource {
    /// An alignment rack
    Rack,
    /// A string box, and a gauge on the wheel for camber
    Strings,
    /// A gauge on the wheel, and a tape for total toe
    Gauge,
}

/// How the arms and cams stand now, where that is not as they were told to be set.
#[derive(Debug, clap::Args)]
#[command(
    next_help_heading = "How the arms stand now [default: as planned, or as told after the last reading]"
)]
struct LinksNow {
    /// An arm, such as "upper=1 11/12 longer", "toe left=-1/4" or "upper right=247.2 mm"; turns count from the stock length
    #[arg(long, value_name = "LINK=TURNS", allow_hyphen_values = true)]
    arm: Vec<String>,
    /// A cam, such as "toe left=-15 deg", "toe=2 marks" or "toe right=1 mark inboard", from the middle of its slot
    #[arg(long, value_name = "LINK=SETTING", allow_hyphen_values = true)]
    cam: Vec<String>,
    /// Nothing was turned since the last reading in the record
    #[arg(long, requires = "record")]
    unturned: bool,
}

/// The record of readings.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Record")]
struct Log {
    /// The record of readings beside the profile, a TOML file; a new reading is added at its end, and what is there is learnt from
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// What to call the reading in the record
    #[arg(long, value_name = "TEXT", requires = "record")]
    title: Option<String>,
    /// The car was read again and reads exactly what it read last; without this the same figures are taken for the same reading
    #[arg(long, requires = "record")]
    again: bool,
    /// When it was read
    #[arg(long, value_name = "DATE", requires = "record")]
    date: Option<String>,
}

/// What a correction rests on beside the car and its readings.
pub(super) struct CorrectionAsked {
    specs: PerSide<Spec>,
    fitting: Fitting,
    /// The record as it was, where one is there.
    kept: Option<Kept>,
    /// The reading that the command line gives.
    new: Option<Round>,
}

impl Ask for Args {
    type Subject = OfCar<CorrectionAsked>;
    type Answer = Correction;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<Self::Subject, Failure> {
        let profile = self.input.read()?;
        let units = self.units.of(&profile.car)?;
        let specs = self.wanted.specs(&profile)?;
        let fitting = self.fit.fitting(&profile.car)?;
        let kept = self.log.record.as_deref().map(Kept::read).transpose()?.flatten();
        let mut asked = CorrectionAsked { specs, fitting, kept, new: None };
        let mut rounds = match &asked.kept {
            Some(kept) => rounds(&kept.file, &profile.car)?,
            None => Vec::new(),
        };
        asked.new = self.new_round(&profile.car, &asked, &rounds)?;
        rounds.extend(asked.new.clone());
        Ok(OfCar { specs: Some(specs), rounds, ..OfCar::as_measured(profile, units)? }.with(asked))
    }

    fn ask(
        &self,
        subject: &Self::Subject,
        given: &Given,
        _: Occasion<'_, Correction>,
    ) -> Result<Correction, Failure> {
        correct(&given.car, aims(given)?, &subject.more.fitting, &given.rounds).map_err(Failure::unsound)
    }

    // Somebody who only asks why has not read the car again; then this is not done.
    fn act(&self, subject: &Self::Subject, answer: &Correction) -> Result<Option<String>, Failure> {
        let CorrectionAsked { kept, new, .. } = &subject.more;
        let (Some(path), Some(new)) = (&self.log.record, new) else { return Ok(None) };
        let name = files::shown(path);
        if answer.cannot_be_right() {
            super::tell(&format!("not added to {name}: the reading cannot be right\n"));
            return Ok(None);
        }
        let text = write_reading(new, subject.car());
        let whole = kept.as_ref().map_or_else(|| format!("format = 1\n{text}"), |kept| kept.with(&text));
        can_be_read_again(path, whole.clone(), subject.car(), subject.rounds.len())?;
        match kept {
            Some(kept) => kept.append(&text)?,
            None => files::create(path, &whole)?,
        }
        Ok(Some(name))
    }

    fn put(&self, page: &mut Page, subject: &Self::Subject, answer: &Correction, done: Option<&str>) {
        let (car, units) = (subject.car(), subject.units);
        // Each reading has a stance, or there would be no answer.
        let stance = subject.rounds.last().and_then(|round| Stance::new(car, round.drops, round.front));
        let stance = stance.unwrap_or(subject.stance);
        CorrectPage { car, stance: &stance, answer, units, added: done }.put(page);
    }

    fn succeeds(&self, _: &Self::Subject, answer: &Correction) -> bool {
        answer.succeeds()
    }
}

/// The rounds of a record; what looks odd in it is told.
fn rounds(file: &TextFile, car: &Car) -> Result<Vec<Round>, Failure> {
    let record = read_begun_record(&file.text, car).map_err(|findings| file.refuse(&findings))?;
    file.warn(&record.warnings);
    Ok(record.rounds)
}

/// Refuses to write a record that nobody could read any more; `count` readings are due in it.
fn can_be_read_again(path: &Path, text: String, car: &Car, count: usize) -> Result<(), Failure> {
    let name = files::shown(path);
    let why = match read_record(&text, car) {
        Ok(record) if record.rounds.len() == count => return Ok(()),
        Ok(_) => String::new(),
        Err(findings) => TextFile { name: name.clone(), text }.refuse(&findings).message,
    };
    Err(Failure::unsound(format!(
        "{name}: with the new reading at its end this record could not be read again; nothing was written. Write each reading \
         that is in it as a table of its own that begins with [[reading]].\n\n{why}"
    )))
}

/// Whether a reading has exactly the figures of another one.
fn reads_the_same(a: &Round, b: &Round) -> bool {
    const SAME: f64 = 1e-9;
    let figures = |round: &Round| {
        let PerSide { left, right } = round.wheels;
        [left.camber, left.toe, right.camber, right.toe, round.total_toe]
    };
    figures(a).iter().zip(figures(b)).all(|(a, b)| match (a, b) {
        (Some(a), Some(b)) => (a.value - b.value).abs() <= SAME,
        (a, b) => a.is_none() && b.is_none(),
    })
}

impl CorrectionAsked {
    /// The arms as a plan for this height has them.
    fn as_planned(&self, car: &Car, stance: &Stance) -> Result<Round, Failure> {
        let answer = plan(car, stance, &self.specs, &self.fitting)?;
        let mut round = Round { drops: stance.drops, front: stance.front, ..Round::default() };
        for side in &answer.sides {
            let hand = side.side;
            let links = &car.sides[hand].links;
            let place = |name: &str| links.iter().position(|link| link.name == name);
            for arm in &side.arms {
                let Some(link) = place(&arm.link) else { continue };
                round.lengths[hand][link] = Some(arm.set_mm);
                round.shifts[hand][link] = self.shift_under_arm(&links[link]);
            }
            for cam in &side.cams {
                let Some(link) = place(&cam.link) else { continue };
                round.shifts[hand][link] = Some(cam.shift_mm);
            }
        }
        Ok(round)
    }

    /// Where the cam under a fitted arm stands, mm.
    fn shift_under_arm(&self, link: &Link) -> Option<f64> {
        link.cam.map(|cam| if self.fitting.keep_cams { cam.found() } else { 0.0 })
    }

    /// The last round as it stands when its correction has been followed.
    fn as_told(&self, car: &Car, rounds: &[Round], last: &Round) -> Result<Round, Failure> {
        let mut round = Round { drops: last.drops, front: last.front, ..Round::default() };
        (round.lengths, round.shifts) = (last.lengths, last.shifts);
        let answer = correct(car, &self.specs, &self.fitting, rounds).map_err(Failure::unsound)?;
        for side in &answer.sides {
            let hand = side.side;
            let links = &car.sides[hand].links;
            let place = |name: &str| links.iter().position(|link| link.name == name);
            for arm in &side.arms {
                if let Some(link) = place(&arm.link) {
                    round.lengths[hand][link] = Some(arm.set_mm);
                }
            }
            for cam in &side.cams {
                if let Some(link) = place(&cam.setting.link) {
                    round.shifts[hand][link] = Some(cam.setting.shift_mm);
                }
            }
        }
        Ok(round)
    }
}

impl Args {
    /// The reading that the command line gives, if it gives one.
    fn new_round(
        &self,
        car: &Car,
        asked: &CorrectionAsked,
        before: &[Round],
    ) -> Result<Option<Round>, Failure> {
        let ReadNow { left, right, total_toe, .. } = &self.reading;
        if left.is_none() && right.is_none() && total_toe.is_none() {
            if before.is_empty() {
                return Err(Failure::usage(
                    "what do the wheels read?\n\n  Give --left CAMBER,TOE and --right CAMBER,TOE, or --record with readings in it.",
                ));
            }
            return Ok(None);
        }
        let assumed = match before.last() {
            Some(last) if self.state.unturned => {
                Round { wheels: PerSide::default(), total_toe: None, ..last.clone() }
            }
            Some(last) => asked.as_told(car, before, last)?,
            None => asked.as_planned(car, &self.height.stance(car)?)?,
        };
        let stance = if self.height.is_given() {
            self.height.stance(car)?
        } else {
            Stance::new(car, assumed.drops, assumed.front)
                .ok_or_else(|| Failure::unsound(NoCorrection::NoWheelbase))?
        };
        let file = TextFile { name: COMMAND_LINE.to_owned(), text: self.as_record(&stance)? };
        let told = rounds(&file, car).map_err(|failure| Failure { status: 2, ..failure })?;
        let mut round = told.into_iter().next().ok_or_else(|| Failure::usage("no reading"))?;
        if !self.log.again && before.last().is_some_and(|last| reads_the_same(&round, last)) {
            return Err(Failure::usage(format!(
                "these are exactly the figures of reading {}, the last in the record, and would count as a new reading after its \
                 turns were made; nothing was written.\n\n  To see the page of that reading, leave out --left, --right and \
                 --total-toe. If the car was read again and reads the same, add --again.",
                before.len()
            )));
        }
        let cams_given = !self.state.cam.is_empty();
        for side in &car.sides {
            let hand = side.hand;
            for (link, of) in side.links.iter().enumerate() {
                // An arm that is told brings its cam with it.
                match (round.lengths[hand][link], round.shifts[hand][link]) {
                    (Some(_), _) if asked.fitting.keep_cams && !cams_given => {
                        round.shifts[hand][link] = asked.shift_under_arm(of);
                    }
                    (Some(_), _) => {}
                    (None, shift) => {
                        round.lengths[hand][link] = assumed.lengths[hand][link];
                        round.shifts[hand][link] = shift.or(assumed.shifts[hand][link]);
                    }
                }
            }
        }
        Ok(Some(round))
    }

    /// The options of the reading as the text of a record, so that there is one way of reading them.
    fn as_record(&self, stance: &Stance) -> Result<String, Failure> {
        let ReadNow { left, right, total_toe, source, turned_round } = &self.reading;
        // What JSON quotes, TOML reads.
        let quoted = |text: &str| serde_json::Value::from(text).to_string();
        let PerSide { left: drop_left, right: drop_right } = stance.drops;
        let mut text = format!(
            "format = 1\n[[reading]]\ndrop_left = \"{drop_left} mm\"\ndrop_right = \"{drop_right} mm\"\n"
        );
        if let Some(front) = stance.front {
            text += &format!("front_drop = \"{front} mm\"\n");
        }
        for (key, value) in [("title", &self.log.title), ("date", &self.log.date), ("total_toe", total_toe)] {
            if let Some(value) = value {
                text += &format!("{key} = {}\n", quoted(value));
            }
        }
        if let Some(source) = source.and_then(|source| source.to_possible_value()) {
            text += &format!("source = {}\n", quoted(source.get_name()));
        }
        if *turned_round {
            text += "turned_round = true\n";
        }
        for (side, reading) in [("left", left), ("right", right)] {
            let Some(reading) = reading else { continue };
            text += &format!("[reading.{side}]\n");
            let (camber, toe) = reading.split_once(',').unwrap_or((reading, ""));
            for (key, value) in [("camber", camber.trim()), ("toe", toe.trim())] {
                if !value.is_empty() {
                    text += &format!("{key} = {}\n", quoted(value));
                }
            }
        }
        for (table, option, settings) in
            [("arms", "--arm", &self.state.arm), ("cams", "--cam", &self.state.cam)]
        {
            if settings.is_empty() {
                continue;
            }
            text += &format!("[reading.{table}]\n");
            let mut once = Once::default();
            for setting in settings {
                let named = Named::of(option, setting, "upper left=1/4")?;
                for hand in named.hands() {
                    once.note(option, named.link, hand)?;
                }
                let side = named.hand.map_or(String::new(), |hand| format!(".{hand}"));
                text += &format!("{}{side} = {}\n", quoted(named.link), quoted(named.value));
            }
        }
        Ok(text)
    }
}
