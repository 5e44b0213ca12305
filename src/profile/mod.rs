//! From the text of a profile to a [`Car`]: the only place that knows TOML.
//!
//! [`read`] goes in three steps: the TOML parser and serde give the file's shape (`schema`), `check` turns it
//! into a car with no invalid state, and whatever is wrong on the way is a [`Finding`] that points into the text.

mod check;
mod finding;
mod layers;
mod load;
mod quantity;
mod schema;

pub use finding::{Finding, Severity};
pub use quantity::{Quantity, QuantityError};

use crate::car::Car;

/// Profiles larger than this many bytes are refused unread: a car needs a few thousand.
pub const LARGEST: u64 = 1 << 20;

/// A profile that has been read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// The car it describes.
    pub car: Car,
    /// What looks odd, but is no error.
    pub warnings: Vec<Finding>,
}

/// Reads a profile.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read(text: &str) -> Result<Checked, Vec<Finding>> {
    let profile =
        toml::from_str::<schema::Profile>(text).map_err(|error| vec![Finding::of_toml(&error, text)]);
    let result = profile.and_then(|profile| check::check(&profile));
    let locate = |mut findings: Vec<Finding>| {
        finding::locate(&mut findings, text);
        findings
    };
    match result {
        Ok((car, warnings)) => Ok(Checked { car, warnings: locate(warnings) }),
        Err(findings) => Err(locate(findings)),
    }
}
