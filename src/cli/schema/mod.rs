//! `rodset schema`: what profiles, surveys and records may contain, and what the JSON of a command does.

mod file;

use clap::ValueEnum;
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};

use super::sampling::WithSamples;
use super::set::SetAnswer;
use super::{Failure, Outcome};
use file::File;
use rodset::explain::Explained;
use rodset::measure::Surveyed;
use rodset::plan::{
    ArmChoice, CamVerdict, Clearance, Correction, Description, FitAnswer, Handover, JointAngles, Lowering,
    Outlines, Plan, Readings, SpecAnswer, Springs, TravelCurves, Tuning,
};
use rodset::strength::{Bolts, Loads, Lockout};

const EXAMPLES: &str = "\
Examples:
  rodset schema profile --output profile.schema.json
      for an editor: put this line at the head of the profile
      #:schema ./profile.schema.json
  rodset schema --answer plan
      what `rodset plan --format json` prints";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// Which of rodset's files
    #[arg(required_unless_present = "answer", conflicts_with = "answer")]
    file: Option<File>,
    /// Instead: the JSON that a command prints
    #[arg(long, value_name = "COMMAND")]
    answer: Option<Answer>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Answer {
    Survey,
    Fit,
    Check,
    Lower,
    Cams,
    Arms,
    Plan,
    Readings,
    Sheet,
    Shop,
    Spec,
    Correct,
    Clearance,
    Joints,
    Springs,
    Loads,
    Bolts,
    Lockout,
    Draw,
    Travel,
    Tune,
    Set,
    Explain,
}

impl Answer {
    /// The schema of the answer, from the types that are written.
    fn schema(self) -> Schema {
        match self {
            Self::Survey => of::<Surveyed>(),
            Self::Fit => of::<FitAnswer>(),
            Self::Check => of::<Description>(),
            Self::Lower => of::<WithSamples<'_, Lowering>>(),
            Self::Cams => of::<WithSamples<'_, CamVerdict>>(),
            Self::Arms => of::<ArmChoice>(),
            Self::Plan => of::<WithSamples<'_, Plan>>(),
            Self::Readings => of::<Readings>(),
            Self::Sheet => of::<Plan>(),
            Self::Shop => of::<Handover>(),
            Self::Spec => of::<SpecAnswer>(),
            Self::Correct => of::<Correction>(),
            Self::Clearance => of::<Clearance>(),
            Self::Joints => of::<JointAngles>(),
            Self::Springs => of::<Springs>(),
            Self::Loads => of::<Loads>(),
            Self::Bolts => of::<Bolts>(),
            Self::Lockout => of::<Lockout>(),
            Self::Draw => of::<Outlines>(),
            Self::Travel => of::<TravelCurves>(),
            Self::Tune => of::<Tuning>(),
            Self::Set => of::<SetAnswer>(),
            // What every command answers with --explain.
            Self::Explain => of::<Explained>(),
        }
    }
}

fn of<T: JsonSchema>() -> Schema {
    SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<T>()
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let text = match (args.file, args.answer) {
        (_, Some(answer)) => super::options::json(&answer.schema())?,
        (file, None) => super::options::json(&file.unwrap_or(File::Profile).schema())?,
    };
    Ok(Outcome::answer(text))
}
