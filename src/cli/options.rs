//! Options that several commands share, and what they mean for a car.

use clap::{Args, ValueEnum};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};

use crate::car::{Car, Hand, PerSide, Spec, Stance};
use crate::explain::tree;
use crate::geometry::Figure;
use crate::profile::{self, Checked, Quantity, Record};
use crate::report::{self, LengthUnit, Printable, ToeUnit};

use super::failure::Failure;
use super::files::TextFile;
use super::screen::FileKind;
use super::warned::warn_of_options;
use super::{screen, worked_out};

/// No car is lowered or raised by more than this, mm.
const FURTHEST: f64 = 1000.0;

/// How the answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people.
    Text,
    /// For scripts: one object, full precision, units in the names.
    Json,
    /// One file to be printed.
    Html,
}

/// In what form the answer is given.
#[derive(Debug, Args)]
pub(super) struct Form {
    /// For people (text), for scripts (json) or to be printed (html) [default: what the name of --output ends in, else text]
    #[arg(long, value_enum)]
    format: Option<Format>,
}

/// The profile.
#[derive(Debug, Args)]
pub(super) struct ProfileSource {
    /// The car's profile, a TOML file; or its survey, from which the points are worked out first
    #[arg(value_name = "PROFILE")]
    profile: Option<PathBuf>,
}

/// The profile and the form of the answer.
#[derive(Debug, Args)]
pub(super) struct AskedProfile {
    #[command(flatten)]
    source: ProfileSource,
    #[command(flatten)]
    pub(super) form: Form,
}

/// A profile as it was read, with its warnings already told.
pub(super) struct Profile {
    pub(super) path: String,
    /// The digest of the file.
    pub(super) digest: String,
    /// The profile, which may have been made of a survey.
    pub(super) text: TextFile,
    pub(super) car: Car,
    pub(super) taken_over: Vec<String>,
}

/// What tells a file from any other, for the sheet that is made of it.
fn digest(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().fold(String::new(), |hex, byte| hex + &format!("{byte:02x}"))
}

impl ProfileSource {
    /// Reads and checks the profile; warnings go to standard error.
    pub(super) fn read(&self) -> Result<Profile, Failure> {
        let path = self.profile.as_deref().ok_or_else(|| {
            Failure::usage(
                "no profile given\n\n  A profile describes your car's rear suspension. To get one:\n    rodset starter \
                 my-car.toml      writes a file to fill in\n    rodset check my-car.toml        tells what is still \
                 missing\n  To try without a car, give one of the files in examples/.",
            )
        })?;
        Profile::read(path)
    }
}

impl Profile {
    /// Reads and checks a profile, or makes it of a survey; warnings go to standard error.
    pub(super) fn read(path: &Path) -> Result<Self, Failure> {
        let file = TextFile::read(path)?;
        let path = file.name.clone();
        let digest = digest(&file.text);
        let (text, Checked { car, taken_over, .. }) = if profile::is_survey(&file.text) {
            worked_out::in_place_of_a_profile(&file)?
        } else {
            let checked = profile::read(&file.text).map_err(|findings| file.refuse(&findings))?;
            file.warn(&checked.warnings);
            (file, checked)
        };
        Ok(Self { path, digest, text, car, taken_over })
    }
}

impl AskedProfile {
    /// Reads and checks the profile; warnings go to standard error.
    pub(super) fn read(&self) -> Result<Profile, Failure> {
        self.source.read()
    }

    /// The form that is asked for.
    pub(super) fn format(&self) -> Format {
        self.form.format()
    }
}

impl Form {
    /// The form that is asked for, or else that of the file that the page goes to.
    pub(super) fn format(&self) -> Format {
        self.format.unwrap_or_else(Format::usual)
    }
}

impl Format {
    /// That of a page of which none was asked for: the one of the file that it goes to.
    pub(super) fn usual() -> Self {
        match screen::kind() {
            Some(FileKind::Html) => Self::Html,
            Some(FileKind::Json) => Self::Json,
            _ => Self::Text,
        }
    }

    /// A page, where there is nothing for scripts.
    pub(super) fn page(self, page: &impl Printable) -> String {
        if self == Self::Html { screen::html(page) } else { screen::text(page) }
    }

    /// The answer as JSON, or as the page.
    pub(super) fn write<P: Printable>(
        self,
        answer: &impl Serialize,
        page: impl FnOnce() -> P,
    ) -> Result<String, Failure> {
        if self == Self::Json { json(answer) } else { Ok(self.page(&page())) }
    }
}

/// An answer as JSON. It goes by way of its tree: else all that writes text would be compiled once more for every answer.
pub(super) fn json(answer: &impl Serialize) -> Result<String, Failure> {
    Ok(serde_json::to_string_pretty(&tree(answer)).map_err(Failure::unsound)? + "\n")
}

/// Reads the record that lies beside a profile; warnings go to standard error.
pub(super) fn read_record(path: Option<&Path>, car: &Car) -> Result<Record, Failure> {
    let path = path.ok_or_else(|| {
        Failure::usage(
            "no record given\n\n  A record holds what was measured on the car, reading by reading. To get one:\n    rodset \
             starter --record my-readings.toml      writes a file to fill in",
        )
    })?;
    let file = TextFile::read(path)?;
    let record = profile::read_record(&file.text, car).map_err(|findings| file.refuse(&findings))?;
    file.warn(&record.warnings);
    Ok(record)
}

/// How far the car is lowered.
#[derive(Debug, Args)]
#[command(next_help_heading = "Drop")]
pub(super) struct HeightOptions {
    /// How far both rear sides come down, in mm or with a unit ("1 1/2 in"); negative: raised; without it what the profile says
    #[arg(long, value_name = "MM", allow_hyphen_values = true, value_parser = length)]
    drop: Option<f64>,
    /// The left rear side, if it differs, mm
    #[arg(long, value_name = "MM", allow_hyphen_values = true, value_parser = length)]
    drop_left: Option<f64>,
    /// The right rear side, if it differs, mm
    #[arg(long, value_name = "MM", allow_hyphen_values = true, value_parser = length)]
    drop_right: Option<f64>,
    /// Instead of a drop: the new distance from hub centre to arch lip, both sides, mm
    #[arg(long, value_name = "MM", value_parser = length, conflicts_with_all = ["drop", "drop_left", "drop_right"])]
    arch_gap: Option<f64>,
    /// How far the front comes down, mm; without it the front is taken to follow the rear
    #[arg(long, value_name = "MM", allow_hyphen_values = true, value_parser = length)]
    front_drop: Option<f64>,
}

impl HeightOptions {
    /// Whether any height was given.
    pub(super) fn is_given(&self) -> bool {
        let Self { drop, drop_left, drop_right, arch_gap, front_drop } = self;
        [drop, drop_left, drop_right, arch_gap, front_drop].iter().any(|height| height.is_some())
    }

    /// The stance that is asked for; the car as it was measured where none is.
    pub(super) fn stance_or_as_measured(&self, car: &Car) -> Result<Stance, Failure> {
        if !self.is_given()
            && let Some(stance) = Stance::new(car, [0.0; 2], None)
        {
            return Ok(stance);
        }
        self.stance(car)
    }

    /// The stance that is asked for.
    pub(super) fn stance(&self, car: &Car) -> Result<Stance, Failure> {
        let of_side = |hand: Hand, own: Option<f64>, option: &str| match (self.arch_gap, own.or(self.drop)) {
            (Some(gap), _) => {
                let side = &car.sides[hand];
                side.ride.arch_gap.map(|before| before - gap).ok_or_else(|| {
                    Failure::unsound(
                        "--arch-gap needs to know the gap before: add `arch_gap = ...` to [ride], or use --drop",
                    )
                })
            }
            (None, Some(drop)) => Ok(drop),
            (None, None) if let Some(drop) = car.to_lower.filter(|_| !self.is_given()) => Ok(drop),
            (None, None) => Err(Failure::usage(format!(
                "how far is the car lowered?\n\n  Give --drop 40 for both sides, {option} beside the other side's, or \
                 --arch-gap for the new distance\n  from hub centre to arch lip."
            ))),
        };
        let drops = [
            of_side(Hand::Left, self.drop_left, "--drop-left")?,
            of_side(Hand::Right, self.drop_right, "--drop-right")?,
        ];
        let stance = Stance::new(car, drops, self.front_drop).ok_or_else(|| {
            Failure::unsound(
                "--front-drop needs the wheelbase: add `wheelbase = ...` to [car] in the profile",
            )
        })?;
        warn_of_options(profile::odd_drops(stance.drops, stance.front));
        Ok(stance)
    }
}

/// What the wheels should read, where it differs from the profile's `[spec]`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Spec")]
pub(super) struct Wanted {
    /// Camber to aim for instead of the spec's, for example -1.5 or "-1°30'"
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true)]
    camber: Option<Quantity>,
    /// Toe of each wheel to aim for instead of the spec's, for example 0.1 or "1.2 mm"
    #[arg(long, value_name = "TOE", allow_hyphen_values = true)]
    toe: Option<Quantity>,
}

impl Wanted {
    /// The specs of the two wheels; none where the profile has no `[spec]` and nothing is asked for.
    pub(super) fn specs_if_any(&self, profile: &Profile) -> Result<Option<PerSide<Spec>>, Failure> {
        let asked = self.camber.is_some() || self.toe.is_some();
        if profile.car.sides.iter().all(|side| side.spec.is_none()) && !asked {
            return Ok(None);
        }
        self.specs(profile).map(Some)
    }

    /// The specs of the two wheels.
    pub(super) fn specs(&self, profile: &Profile) -> Result<PerSide<Spec>, Failure> {
        let car = &profile.car;
        PerSide::try_of(|hand| {
            let side = &car.sides[hand];
            let mut spec = side.spec.ok_or_else(|| {
                Failure::unsound(format!(
                    "{}: there is no [spec], so there is nothing to aim for\n\n  Add what the maker's manual gives, for \
                     each wheel:\n    [spec]\n    camber = -1.0\n    camber_tolerance = 0.5\n    toe = 0.10\n    \
                     toe_tolerance = 0.05",
                    profile.path
                ))
            })?;
            if let Some(camber) = self.camber {
                spec.camber = camber.angle().map_err(|e| Failure::usage(format!("--camber: {e}")))?;
                within_reason("--camber", Figure::Camber, spec.camber)?;
            }
            if let Some(toe) = self.toe {
                spec.toe = toe.toe(side.rim_diameter).map_err(|e| Failure::usage(format!("--toe: {e}")))?;
                within_reason("--toe", Figure::Toe, spec.toe)?;
            }
            Ok(spec)
        })
    }
}

/// No wheel is set to more than 20 degrees; what hardly one is set to is told.
fn within_reason(option: &str, figure: Figure, angle: f64) -> Result<(), Failure> {
    let degrees = angle.to_degrees();
    if degrees.abs() <= 20.0 {
        warn_of_options(
            profile::odd_aim(figure, degrees).map(|odd| format!("{option}: {odd}")).into_iter().collect(),
        );
        Ok(())
    } else {
        Err(Failure::usage(format!("{option}: no wheel is set to {degrees:.1} degrees")))
    }
}

/// The units in which toe and lengths are printed.
#[derive(Debug, Args)]
#[command(next_help_heading = "Units")]
pub(super) struct UnitOptions {
    /// Unit for toe: degrees, minutes, or mm and inches across the rim
    #[arg(long, value_enum, default_value = "deg")]
    toe_unit: ToeUnitName,
    #[command(flatten)]
    lengths: Lengths,
}

/// The unit in which lengths are printed.
#[derive(Debug, Args)]
#[command(next_help_heading = "Units")]
pub(super) struct Lengths {
    /// Unit for lengths on the page. What you give is mm all the same where it has no unit ("1 1/2 in"), and scripts get mm.
    /// Toe across the rim goes by --toe-unit; rates stay in N/mm, forces in N and kN, threads as they are called
    #[arg(long, value_enum, default_value = "mm")]
    length_unit: LengthUnitName,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LengthUnitName {
    Mm,
    In,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ToeUnitName {
    Deg,
    Min,
    Mm,
    In,
}

impl Lengths {
    /// The units of a page without toe.
    pub(super) fn units(&self) -> report::Units {
        let length = match self.length_unit {
            LengthUnitName::Mm => LengthUnit::Millimetres,
            LengthUnitName::In => LengthUnit::Inches,
        };
        report::Units { length, ..report::Units::default() }
    }
}

impl UnitOptions {
    pub(super) fn of(&self, car: &Car) -> Result<report::Units, Failure> {
        Ok(report::Units { toe: self.toe(car)?, ..self.without_toe() })
    }

    /// The units of a page that shows no toe, and so need not know the rims.
    pub(super) fn without_toe(&self) -> report::Units {
        self.lengths.units()
    }

    /// The toe unit for a car, which needs a rim diameter for lengths.
    pub(super) fn toe(&self, car: &Car) -> Result<ToeUnit, Failure> {
        let rims = || {
            car.sides.each(|side| side.rim_diameter).all().ok_or_else(|| {
                Failure::unsound(
                    "toe in mm or inches needs `rim_diameter` in [wheel], the diameter it is measured across",
                )
            })
        };
        Ok(match self.toe_unit {
            ToeUnitName::Deg => ToeUnit::Degrees,
            ToeUnitName::Min => ToeUnit::Minutes,
            ToeUnitName::Mm => ToeUnit::Millimetres { rims: rims()? },
            ToeUnitName::In => ToeUnit::Inches { rims: rims()? },
        })
    }
}

/// A length of a suspension's own size.
pub(super) fn length(text: &str) -> Result<f64, String> {
    let length = text.parse::<Quantity>().and_then(Quantity::length).map_err(|error| error.to_string())?;
    if length.abs() > FURTHEST {
        return Err(format!("no car moves by more than {FURTHEST} mm"));
    }
    Ok(length)
}
