//! Answers as pages for a person in a garage: what to do first, the figure second, the caveat last.
//!
//! Each page is a type whose `Display` is the page. Pages hold no arithmetic beyond changes of unit: every figure comes
//! from an answer of [`plan`](crate::plan).

mod arms;
mod cams;
mod chart;
mod check;
mod heading;
mod lower;
mod number;
mod outline;
mod plan;
mod sheet;
mod sides;
mod svg;
mod table;
mod travel;
mod tune;
mod words;

pub use arms::ArmsPage;
pub use cams::CamsPage;
pub use check::CheckPage;
pub use lower::LowerPage;
pub use number::ToeUnit;
pub use outline::outline_drawing;
pub use plan::PlanPage;
pub use sheet::SheetPage;
pub use travel::{TravelPage, travel_chart, travel_csv};
pub use tune::TunePage;
