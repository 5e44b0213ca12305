//! How good each reading is said to be.

use std::ops::RangeInclusive;
use toml::Spanned;

use super::value::Told;
use crate::geometry::DEGREE;
use crate::measure::Instruments;
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::Value;
use crate::profile::keys::record::Sigma;

/// More than any gauge or tape is off, rad.
const LOOSE: f64 = 0.5 * DEGREE;
/// Standard deviations of angles outside these are slips, rad.
const ANGLES: RangeInclusive<f64> = 1e-5 * DEGREE..=45.0 * DEGREE;
/// Standard deviations of lengths below this are slips, mm.
const SMALLEST: f64 = 1e-3;

impl Checker {
    /// The instruments, as the head of the record has them.
    pub(super) fn instruments(&mut self, sigma: Option<&Spanned<Sigma>>) -> Instruments {
        let usual = Instruments::default();
        let Some(keys) = sigma.map(Spanned::get_ref) else { return usual };
        let mut length = |value: &Value| value.as_ref().and_then(|value| self.length_sigma(value, 20.0).ok());
        Instruments {
            ruler: length(&keys.ruler).unwrap_or(usual.ruler),
            tape: length(&keys.tape).unwrap_or(usual.tape),
            gap: length(&keys.gap),
            level: keys.level.as_ref().and_then(|value| self.level_sigma(value)).unwrap_or(usual.level),
        }
    }

    /// A standard deviation of a length, mm, that can be up to so much.
    pub(super) fn length_sigma(&mut self, value: &Spanned<Quantity>, most: f64) -> Result<f64, Told> {
        let sigma = self.positive(value, "a standard deviation").ok_or(Told)?;
        self.believable(value, sigma, &(SMALLEST..=most))
    }

    /// A standard deviation that somebody can mean.
    fn believable(
        &mut self,
        value: &Spanned<Quantity>,
        sigma: f64,
        range: &RangeInclusive<f64>,
    ) -> Result<f64, Told> {
        if range.contains(&sigma) {
            return Ok(sigma);
        }
        let label =
            if sigma < *range.start() { "nobody measures so well" } else { "nobody measures so badly" };
        self.tell(Finding::error(value.span(), "this cannot be a standard deviation").label(label));
        Err(Told)
    }

    fn level_sigma(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let angle = self.angle(value)?;
        self.angle_sigma(value, angle).ok()
    }

    /// The standard deviation that was given of a camber, rad.
    pub(super) fn camber_sigma(&mut self, value: &Value, camber: &Value) -> Result<Option<f64>, Told> {
        let Some(value) = self.sigma_of(value, camber, "camber")? else { return Ok(None) };
        let angle = self.angle(value).ok_or(Told)?;
        self.angle_sigma(value, angle).map(Some)
    }

    /// The standard deviation that was given of a toe, rad; the toe goes with its key.
    pub(super) fn toe_sigma(
        &mut self,
        value: &Value,
        (toe, key): (&Value, &str),
        rim: Option<f64>,
    ) -> Result<Option<f64>, Told> {
        let Some(value) = self.sigma_of(value, toe, key)? else { return Ok(None) };
        let angle = self.accept(value, value.get_ref().toe(rim)).ok_or(Told)?;
        self.angle_sigma(value, angle).map(Some)
    }

    /// A standard deviation that belongs to something.
    fn sigma_of<'a>(
        &mut self,
        value: &'a Value,
        of: &Value,
        key: &str,
    ) -> Result<Option<&'a Spanned<Quantity>>, Told> {
        match value {
            Some(value) if of.is_none() => {
                self.tell(
                    Finding::error(value.span(), "a standard deviation of what?")
                        .label(format!("there is no `{key}` beside it"))
                        .help("how good strings, plumb line and level are goes into [sigma] at the head of the record"),
                );
                Err(Told)
            }
            value => Ok(value.as_ref()),
        }
    }

    /// A standard deviation of an angle: more than zero, and not so large that a reading would say nothing.
    fn angle_sigma(&mut self, value: &Spanned<Quantity>, angle: f64) -> Result<f64, Told> {
        let angle = self.above_zero(value, angle, "a standard deviation").ok_or(Told)?;
        let angle = self.believable(value, angle, &ANGLES)?;
        if angle > LOOSE {
            self.tell(
                Finding::warning(value.span(), "with so large a standard deviation a reading says little")
                    .label(format!("{:.2} degrees", angle.to_degrees()))
                    .help("a bare number is degrees; minutes are written \"3'\""),
            );
        }
        Ok(angle)
    }
}
