//! A network of points held together by rough measurements, adjusted by weighted least squares as geodesy does it.
//!
//! Every [`Observation`] is a number with a standard deviation and a [`ObservationKind`] that says which points it measures. The adjusted
//! points are those with the least sum of squared residuals over deviations; where some cannot be told, [`adjust`] says which,
//! and what would tell them. [`suspects`] looks for slips, [`twins`] for other places that
//! fit as well, and [`deciding`] for the reading that would tell what nothing tells apart.

mod adjustment;
mod deciding;
mod freedom;
mod judged;
mod observation;
mod place;
mod points;
mod prior;
mod shared;
mod suspects;
mod twins;

pub use adjustment::{Adjusted, Look, Unadjusted, adjust};
pub use deciding::{Deciding, deciding};
pub use freedom::Freedom;
pub use observation::{At, Observation, ObservationKind};
pub use points::{Network, Spot};
pub use prior::PointPrior;
pub use shared::Shared;
pub use suspects::{Case, Suspect, suspects};
pub use twins::{Twin, twins};

pub(crate) use adjustment::CRITICAL;
pub(crate) use judged::judged;
