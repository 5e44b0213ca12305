//! How good each reading is said to be.

use toml::Spanned;

use super::value::Told;
use crate::measure::Instruments;
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::Value;
use crate::profile::keys::record::{Sigma, Wheel};

impl Checker {
    /// The instruments, as the head of the record has them.
    pub(super) fn instruments(&mut self, sigma: Option<&Spanned<Sigma>>) -> Instruments {
        let usual = Instruments::default();
        let Some(keys) = sigma.map(Spanned::get_ref) else { return usual };
        let [ruler, tape, gap, level] = [Sigma::ruler, Sigma::tape, Sigma::gap, Sigma::level]
            .map(|slot| slot.of(keys).and_then(|value| self.figure(slot.key, value)));
        Instruments {
            ruler: ruler.unwrap_or(usual.ruler),
            tape: tape.unwrap_or(usual.tape),
            gap,
            level: level.unwrap_or(usual.level),
        }
    }

    /// The standard deviation that was given of a camber, rad.
    pub(super) fn camber_sigma(&mut self, value: &Value, camber: &Value) -> Result<Option<f64>, Told> {
        let Some(value) = self.sigma_of(value, camber, "camber")? else { return Ok(None) };
        self.due_figure(Wheel::camber_sigma.key, value).map(Some)
    }

    /// The standard deviation that was given of a toe, rad; the toe goes with its key.
    pub(super) fn toe_sigma(
        &mut self,
        value: &Value,
        (toe, key): (&Value, &str),
        rim: Option<f64>,
    ) -> Result<Option<f64>, Told> {
        let Some(value) = self.sigma_of(value, toe, key)? else { return Ok(None) };
        self.toe_at(Wheel::toe_sigma.key, value, rim).map(Some).ok_or(Told)
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
}
