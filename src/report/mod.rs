//! Answers as pages for a person in a garage: what to do first, the figure second, the caveat last.
//!
//! Each page is [`Printable`]: it puts its parts on a [`Page`], which is written as text or as a file to be printed. What a program
//! around it calls its own commands it has of that program, by a [`Hint`]. Pages hold no arithmetic beyond changes of unit, of which the toe
//! of both wheels across both rims is one: every figure comes from an answer of [`plan`](crate::plan), [`strength`](crate::strength) or
//! [`measure`](crate::measure), or from the car and how it stands.

mod arms;
mod bars;
mod bolts;
mod cams;
mod chart;
mod check;
mod clearance;
mod correct;
mod draw;
mod explain;
mod fit;
mod flags;
mod glossary;
mod heading;
mod hint;
mod html;
mod joints;
mod keys;
mod limits;
mod loads;
mod lockout;
mod lower;
mod next;
mod number;
mod order;
mod page;
mod paper;
mod plan;
mod printed;
mod reach;
mod readings;
mod sampled;
mod sheet;
mod shop;
mod sides;
mod spec;
mod springs;
mod survey;
mod survey_sheet;
mod survey_sketch;
mod svg;
mod table;
mod travel;
mod tune;
mod words;

pub use check::CheckPage;
pub use heading::AnswerPage;
pub use hint::Hint;
pub use number::{LengthUnit, ToeUnit, Units};
pub use page::{Page, Printable, TextStyle, WIDTH};
pub use plan::PlanPage;
pub use readings::ReadingsPage;
pub use sheet::{SheetOrigin, SheetPage};

pub(crate) use correct::CorrectPage;
pub(crate) use draw::{OutlinePage, outline_drawing};
pub(crate) use explain::ExplainPage;
pub(crate) use fit::FitPage;
pub(crate) use glossary::GlossaryPage;
pub(crate) use keys::{KeyEntry, KeysPage};
pub(crate) use next::{enough_sentence, worth_sentence};
pub(crate) use page::WIDEST;
pub(crate) use printed::PrintedSheet;
pub(crate) use reach::reach_drawing;
pub(crate) use sampled::SampledPage;
pub(crate) use shop::ShopPage;
pub(crate) use spec::SpecPage;
pub(crate) use survey::SurveyPage;
pub(crate) use survey_sheet::SurveySheet;
pub(crate) use travel::{TravelPage, travel_chart, travel_csv};
