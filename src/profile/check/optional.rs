//! The tables that only some questions need: tyre, driveshaft, spring and damper.

use toml::Spanned;

use super::Checker;
use crate::car::Side;
use crate::profile::layers::Layers;
use crate::profile::schema::{Profile, Right};

impl Checker {
    /// Reads them into a side that is otherwise whole; `right` are the overrides, for the right side.
    pub(super) fn optional(&mut self, side: &mut Side, profile: &Profile, right: Option<&Right>) {
        fn layers<'a, T>(
            table: &'static str,
            base: Option<&'a Spanned<T>>,
            over: Option<&'a Spanned<T>>,
        ) -> Option<Layers<'a, T>> {
            Some(Layers { table, base, over }).filter(Layers::exists)
        }
        let tyre = layers("tyre", profile.tyre.as_ref(), right.and_then(|right| right.tyre.as_ref()));
        side.tyre = tyre.and_then(|keys| self.tyre(&keys, &side.wheel, side.rim_diameter));
        let shaft = layers(
            "driveshaft",
            profile.driveshaft.as_ref(),
            right.and_then(|right| right.driveshaft.as_ref()),
        );
        side.driveshaft = shaft.and_then(|keys| self.driveshaft(&keys, &side.wheel));
        if let Some(keys) =
            layers("spring", profile.spring.as_ref(), right.and_then(|right| right.spring.as_ref()))
        {
            side.spring = self.spring(&keys, &side.links);
            let line = side.spring.map(|spring| spring.line);
            self.is_compressed(side, line, &keys);
        }
        if let Some(keys) =
            layers("damper", profile.damper.as_ref(), right.and_then(|right| right.damper.as_ref()))
        {
            side.damper = self.damper(&keys, &side.links);
            let line = side.damper.map(|damper| damper.line);
            self.is_compressed(side, line, &keys);
        }
    }
}
