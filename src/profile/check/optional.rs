//! The tables that only some questions need: tyre, driveshaft, spring and damper.

use super::checker::Checker;
use crate::car::Side;
use crate::profile::keys::{Profile, Right};
use crate::profile::layers::Layers;

impl Checker {
    /// Reads them into a side that is otherwise whole; `right` are the overrides, for the right side.
    pub(super) fn optional(&mut self, side: &mut Side, profile: &Profile, right: Option<&Right>) {
        let keys = Layers::of((profile, Profile::tyre), right.map(|right| (right, Right::tyre)));
        if keys.exists() {
            side.tyre = self.tyre(&keys, &side.wheel, side.rim_diameter);
        }
        let keys = Layers::of((profile, Profile::driveshaft), right.map(|right| (right, Right::driveshaft)));
        if keys.exists() {
            side.driveshaft = self.driveshaft(&keys, &side.wheel);
        }
        let keys = Layers::of((profile, Profile::spring), right.map(|right| (right, Right::spring)));
        if keys.exists() {
            side.spring = self.spring(&keys, &side.links);
            let line = side.spring.map(|spring| spring.line);
            self.is_compressed(side, line, &keys);
        }
        let keys = Layers::of((profile, Profile::damper), right.map(|right| (right, Right::damper)));
        if keys.exists() {
            side.damper = self.damper(&keys, &side.links);
            let line = side.damper.map(|damper| damper.line);
            let length = self.is_compressed(side, line, &keys);
            let ends = side.damper.and_then(|damper| damper.closed.zip(damper.open));
            let sound = ends.is_none_or(|(closed, open)| closed < open);
            if let Some((damper, length)) = side.damper.zip(length).filter(|_| sound) {
                self.damper_fits(&damper, length, &keys);
            }
        }
    }
}
