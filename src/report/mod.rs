//! Answers as pages for a person in a garage: what to do first, the figure second, the caveat last.
//!
//! Each page is a type whose `Display` is the page. Pages hold no arithmetic beyond changes of unit: every figure comes
//! from an answer of [`plan`](crate::plan) or [`measure`](crate::measure).

mod arms;
mod bolts;
mod cams;
mod chart;
mod check;
mod clearance;
mod correct;
mod fit;
mod flags;
mod heading;
mod joints;
mod loads;
mod lockout;
mod lower;
mod number;
mod outline;
mod plan;
mod question;
mod readings;
mod sampled;
mod sheet;
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
pub use fit::FitPage;
pub use joints::JointsPage;
pub use loads::LoadsPage;
pub use lockout::LockoutPage;
pub use lower::LowerPage;
pub use number::ToeUnit;
pub use outline::outline_drawing;
pub use plan::PlanPage;
pub use question::{NotePage, QuestionPage};
pub use readings::ReadingsPage;
pub use sampled::SampledPage;
pub use sheet::SheetPage;
pub use spec::SpecPage;
pub use springs::SpringsPage;
pub use survey::SurveyPage;
pub use survey_sheet::SurveySheet;
pub use travel::{TravelPage, travel_chart, travel_csv};
pub use tune::TunePage;
