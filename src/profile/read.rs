//! From a text to what it describes.

use super::check;
use super::finding::{Finding, locate};
use super::keys::{Profile, Readable};
use crate::car::Car;

/// A profile that has been read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// The car it describes.
    pub car: Car,
    /// What looks odd, but is no error.
    pub warnings: Vec<Finding>,
    /// Keys of the readings, heights and cams that the right side takes over from the left, because `[right]` does not say
    /// them: `wheel.camber`, `ride.arch_gap`, `link.toe.cam.setting`.
    pub(crate) taken_over: Vec<String>,
}

/// Reads a profile.
///
/// # Examples
///
/// ```
/// let car = rodset::profile::read(include_str!("../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// assert_eq!(car.sides.left.links.len(), 5);
///
/// // What is wrong is told with its place in the text.
/// let text = "format = 1\nfront = 3";
/// let findings = rodset::profile::read(text).expect_err("no profile");
/// print!("{}", findings[0].render("car.toml", text, false));
/// ```
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read(text: &str) -> Result<Checked, Vec<Finding>> {
    parse(text, |profile: Profile| check::check(profile)).map(|((car, taken_over), warnings)| Checked {
        car,
        warnings,
        taken_over,
    })
}

/// From a text through the shape that serde reads to what `check` makes of it; whatever is told is put in its place.
pub(super) fn parse<S: Readable, T>(
    text: &str,
    check: impl FnOnce(S) -> Result<(T, Vec<Finding>), Vec<Finding>>,
) -> Result<(T, Vec<Finding>), Vec<Finding>> {
    let shape = S::of_text(text).map_err(|error| vec![Finding::of_toml(&error, text)]);
    let placed = |mut findings: Vec<Finding>| {
        locate(&mut findings, text);
        findings
    };
    match shape.and_then(check) {
        Ok((found, warnings)) => Ok((found, placed(warnings))),
        Err(findings) => Err(placed(findings)),
    }
}
