//! What an arm is made of, and what its ends may carry.

use std::ops::Range;
use toml::Spanned;

use super::Checker;
use crate::car::Section;
use crate::profile::finding::Finding;
use crate::profile::layers::{Found, Layers};
use crate::profile::load::{Force, Stress};
use crate::profile::schema;

const HELP: &str = "a round bar or tube: outer = 30.0, inner = 24.0 (0 if solid); any other: area in mm2, inertia in mm4 and edge, mm \
                    from its middle to its outermost edge";

impl Checker {
    pub(super) fn section(&mut self, keys: &Layers<'_, schema::Section>) -> Option<Section> {
        let yield_stress = self.need(keys, "yield", |section| &section.yields);
        let yield_stress = yield_stress.and_then(|(v, _)| self.stress(v, "the yield stress", 50.0..2500.0));
        let modulus = keys.get(|section| &section.modulus).map_or(Some(Section::STEEL), |(v, _)| {
            self.stress(v, "the modulus of elasticity", 10_000.0..500_000.0)
        });
        let outer = keys.get(|section| &section.outer);
        let own = [keys.get(|section| &section.area), keys.get(|section| &section.inertia)];
        let edge = keys.get(|section| &section.edge);
        if let (Some((outer, _)), [None, None], None) = (outer, own, edge) {
            let wide = self.positive(outer, "the outer diameter")?;
            let inner = keys.get(|section| &section.inner);
            let bore = match inner.map(|(v, _)| (v, v.get_ref().length())) {
                None | Some((_, Ok(0.0))) => 0.0,
                Some((v, _)) => self.positive(v, "the inner diameter")?,
            };
            if wide > 200.0 || bore >= wide {
                let place = inner.filter(|_| bore >= wide).map_or(outer, |(v, _)| v);
                self.tell(
                    Finding::error(place.span(), "no arm is a tube like that")
                        .label(format!("{wide} mm outside, {bore} mm inside"))
                        .help(HELP),
                );
                return None;
            }
            return Some(Section::round(wide, bore, yield_stress?, modulus?));
        }
        let ([Some(area), Some(inertia)], Some((edge, _)), None) = (own, edge, outer) else {
            self.tell(Finding::error(keys.span(), "what the arm's section is, is not clear").help(HELP));
            return None;
        };
        let [area, inertia] = [(area, 1e5), (inertia, 1e9)].map(|((value, _), most)| {
            let number = *value.get_ref();
            let sound = number.is_finite() && number > 0.0 && number < most;
            if !sound {
                self.tell(Finding::error(value.span(), "no arm's section has that").help(HELP));
            }
            sound.then_some(number)
        });
        let edge = self.positive(edge, "the distance to the edge");
        Some(Section {
            area: area?,
            inertia: inertia?,
            edge: edge?,
            yield_stress: yield_stress?,
            modulus: modulus?,
        })
    }

    /// A rating, N.
    pub(super) fn force(&mut self, found: Option<Found<'_, Force>>, what: &str) -> Option<f64> {
        let (value, _) = found?;
        let Force(force) = *value.get_ref();
        let force = self.above_zero(value, force, what)?;
        if (500.0..1e6).contains(&force) {
            return Some(force);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} is not {force} N"))
                .label("expected 500 to 1000000 N")
                .help("a bare number is N; kN need their unit: \"24 kN\""),
        );
        None
    }

    fn stress(&mut self, value: &Spanned<Stress>, what: &str, range: Range<f64>) -> Option<f64> {
        let Stress(stress) = *value.get_ref();
        let stress = self.above_zero(value, stress, what)?;
        if range.contains(&stress) {
            return Some(stress);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} is not {stress} N/mm2"))
                .label(format!("expected {} to {}", range.start, range.end))
                .help(
                    "a bare number is N/mm2, which is MPa; others need their unit: \"205 GPa\", \"50 ksi\"",
                ),
        );
        None
    }
}
