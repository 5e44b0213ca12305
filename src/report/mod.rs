//! Answers as pages for a person in a garage: what to do first, the figure second, the caveat last.
//!
//! Each page is a type whose `Display` is the page. Pages hold no arithmetic beyond changes of unit: every figure comes
//! from an answer of [`plan`](crate::plan) or [`measure`](crate::measure).

mod cams;
mod check;
mod correct;
mod fit;
mod flags;
mod heading;
mod lower;
mod number;
mod plan;
mod readings;
mod sampled;
mod sheet;
mod sides;
mod survey;
mod survey_sheet;
mod table;
mod words;

pub use cams::CamsPage;
pub use check::CheckPage;
pub use correct::CorrectPage;
pub use fit::FitPage;
pub use lower::LowerPage;
pub use number::ToeUnit;
pub use plan::PlanPage;
pub use readings::ReadingsPage;
pub use sampled::SampledPage;
pub use sheet::SheetPage;
pub use survey::SurveyPage;
pub use survey_sheet::SurveySheet;
