//! Load cases: how hard the road pushes a wheel.

use toml::Spanned;

use super::Checker;
use crate::car::{LoadCase, LoadFactors};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::schema::Profile;

/// No tyre is pushed by more than this times what it carries.
const MOST: f64 = 20.0;

impl Checker {
    /// The factors of all load cases, the usual ones where the profile does not give them.
    pub(super) fn loads(&mut self, profile: &Profile) -> LoadFactors {
        let mut factors = LoadFactors::default();
        let Some(loads) = profile.loads.as_ref().map(Spanned::get_ref) else { return factors };
        for (case, given) in [
            (LoadCase::Standing, &loads.standing),
            (LoadCase::Cornering, &loads.cornering),
            (LoadCase::Braking, &loads.braking),
            (LoadCase::Drive, &loads.drive),
            (LoadCase::Kerb, &loads.kerb),
            (LoadCase::Pothole, &loads.pothole),
        ] {
            if let Some(three) = given.as_ref().and_then(|list| self.load_factors(list)) {
                factors.0[case as usize] = three;
            }
        }
        factors
    }

    fn load_factors(&mut self, list: &Spanned<Vec<Quantity>>) -> Option<[f64; 3]> {
        let bare: Vec<f64> = list
            .get_ref()
            .iter()
            .filter_map(|quantity| match quantity {
                Quantity::Bare(factor) if factor.abs() <= MOST => Some(*factor),
                _ => None,
            })
            .collect();
        let three = <[f64; 3]>::try_from(bare).ok().filter(|_| list.get_ref().len() == 3);
        if three.is_none() {
            self.tell(
                Finding::error(list.span(), "a load case has three factors")
                    .label(format!("up, inward, rearward: plain numbers up to {MOST}"))
                    .help("times what the wheel carries standing, such as kerb = [1.0, 3.0, 0.0]; minus: outward, forward"),
            );
        }
        three
    }
}
