//! Answers as pages for a person in a garage: what to do first, the figure second, the caveat last.
//!
//! Each page is [`Printable`]: it puts its parts on a [`Page`], which is written as text or as a file to be printed. What a program
//! around it calls its own commands it has of that program, by a [`Hint`]. Pages hold no arithmetic beyond changes of unit: every figure comes
//! from an answer of [`plan`](crate::plan) or [`measure`](crate::measure).

mod arms;
mod bolts;
mod cams;
mod chart;
mod check;
mod clearance;
mod correct;
mod explain;
mod fit;
mod flags;
mod glossary;
mod heading;
mod hint;
mod html;
mod joints;
mod keys;
mod loads;
mod lockout;
mod lower;
mod number;
mod order;
mod outline;
mod page;
mod plan;
mod printed;
mod readings;
mod sampled;
mod sheet;
mod shop;
mod sides;
mod spec;
mod springs;
mod survey;
mod survey_sheet;
mod svg;
mod table;
mod travel;
mod tune;
mod words;

pub use arms::ArmsPage;
pub use bolts::BoltsPage;
pub use cams::CamsPage;
pub use check::CheckPage;
pub use clearance::ClearancePage;
pub use correct::CorrectPage;
pub use explain::ExplainPage;
pub use fit::FitPage;
pub use glossary::GlossaryPage;
pub use hint::{Hint, Say};
pub use joints::JointsPage;
pub use keys::{KeyEntry, KeysPage};
pub use loads::LoadsPage;
pub use lockout::LockoutPage;
pub use lower::LowerPage;
pub use number::{LengthUnit, ToeUnit, Units};
pub use outline::{OutlinePage, outline_drawing};
pub use page::{Page, Printable, WIDTH};
pub use plan::PlanPage;
pub use printed::PrintedSheet;
pub use readings::ReadingsPage;
pub use sampled::SampledPage;
pub use sheet::{Origin, SheetPage};
pub use shop::ShopPage;
pub use spec::SpecPage;
pub use springs::SpringsPage;
pub use survey::SurveyPage;
pub use survey_sheet::SurveySheet;
pub use travel::{TravelPage, travel_chart, travel_csv};
pub use tune::TunePage;
