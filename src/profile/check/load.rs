//! Load cases: how hard the road pushes a wheel.

use toml::Spanned;

use super::checker::Checker;
use crate::car::{Factors, LoadCase, LoadFactors, Said};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::keys::{Car, Loads, Profile};
use crate::profile::layers::Layers;

impl Checker {
    /// The factors of all load cases, the usual ones where the profile does not give them.
    pub(super) fn loads(&mut self, profile: &Profile) -> LoadFactors {
        let mut factors = LoadFactors::default();
        let keys = Layers::alone(profile, Profile::loads);
        for (case, slot) in [
            (LoadCase::Standing, Loads::standing),
            (LoadCase::Cornering, Loads::cornering),
            (LoadCase::Braking, Loads::braking),
            (LoadCase::Drive, Loads::drive),
            (LoadCase::Kerb, Loads::kerb),
            (LoadCase::Pothole, Loads::pothole),
        ] {
            if let Some(own) = keys.get(slot).and_then(|(list, _)| self.load_factors(list)) {
                factors = factors.with(case, own, Said::Profile);
            }
        }
        if let Some(height) = self.read(&keys, Loads::kerb_height) {
            factors = factors.with_kerb(height);
        }
        let driven =
            Layers::alone(profile, Profile::car).get(Car::driven).map(|(driven, _)| *driven.get_ref());
        if driven == Some(false) { factors.undriven() } else { factors }
    }

    fn load_factors(&mut self, list: &Spanned<Vec<Quantity>>) -> Option<Factors> {
        let bare = |quantity: &Quantity| match quantity {
            Quantity::Bare(factor) => Some(*factor),
            _ => None,
        };
        let three: Option<Vec<f64>> = list.get_ref().iter().map(bare).collect();
        let three = three.and_then(|three| <[f64; 3]>::try_from(three).ok());
        let factors = three.and_then(Factors::new);
        if factors.is_none() {
            self.tell(
                Finding::error(list.span(), "a load case has three factors")
                    .label(format!(
                        "up (0 or more), inward, rearward: plain numbers, {} at the most",
                        Factors::MOST
                    ))
                    .help("times what the wheel carries standing, such as kerb = [1.0, 3.0, 0.0]; minus: outward, forward"),
            );
        }
        factors
    }
}
