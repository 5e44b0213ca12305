//! On what a rear wheel hangs, and how files to fill in begin for it.

use crate::profile::{interview_starter, profile_starter, survey_starter};

const PROFILE: &str = include_str!("../../data/starter.txt");
const INTERVIEW: &str = include_str!("../../data/interview.txt");
const SURVEY: &str = include_str!("../../data/starter-survey.txt");
const TYPICAL: &str = include_str!("../../data/starter-typical.txt");

/// On what a rear wheel hangs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Axle {
    /// Five separate rods
    #[default]
    Rods,
    /// A trailing arm bolted to the wheel carrier, and three rods across
    Blade,
    /// A strut bolted to the wheel carrier, two rods across and one along
    Strut,
    /// A wide lower arm with an upright link on it, and two rods
    Integral,
}

impl Axle {
    /// Its members as a file has them whose points are measured, but for five rods, and as one that begins from a typical layout.
    fn members(self) -> [Option<&'static str>; 2] {
        match self {
            Self::Rods => [None, Some(include_str!("../../data/typical-rods.txt"))],
            Self::Blade => [
                Some(include_str!("../../data/axle-blade.txt")),
                Some(include_str!("../../data/typical-blade.txt")),
            ],
            Self::Strut => [
                Some(include_str!("../../data/axle-strut.txt")),
                Some(include_str!("../../data/typical-strut.txt")),
            ],
            Self::Integral => [
                Some(include_str!("../../data/axle-integral.txt")),
                Some(include_str!("../../data/typical-integral.txt")),
            ],
        }
    }

    /// A profile to fill in by hand.
    pub(super) fn profile(self) -> String {
        profile_starter(PROFILE, self.members()[0])
    }

    /// A profile to fill in by questions, each point by three figures.
    pub(super) fn points(self) -> String {
        interview_starter(INTERVIEW, self.members()[0])
    }

    /// A survey to fill in; by questions the car's name waits too.
    pub(super) fn survey(self, name_waits: bool) -> String {
        survey_starter(SURVEY, name_waits, self.members()[0])
    }

    /// A car that begins from a typical layout.
    pub(super) fn typical(self) -> String {
        TYPICAL.to_owned() + self.members()[1].unwrap_or_default()
    }
}
