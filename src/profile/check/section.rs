//! What an arm is made of.

use super::checker::Checker;
use crate::car;
use crate::profile::finding::Finding;
use crate::profile::keys::Section;
use crate::profile::layers::Layers;

const HELP: &str = "a round bar or tube: outer = 30.0, inner = 24.0 (0 if solid); any other: area in mm2, inertia in mm4 and edge, mm \
                    from its middle to its outermost edge";

impl Checker {
    pub(super) fn section(&mut self, keys: &Layers<'_, Section>) -> Option<car::Section> {
        let yield_stress = self.read(keys, Section::yields);
        let modulus = match keys.get(Section::modulus) {
            Some(_) => self.read(keys, Section::modulus),
            None => Some(car::Section::STEEL),
        };
        let outer = keys.get(Section::outer);
        let own = [keys.get(Section::area), keys.get(Section::inertia)];
        let edge = keys.get(Section::edge);
        if let (Some((outer, _)), [None, None], None) = (outer, own, edge) {
            let wide = self.figure(Section::outer.key, outer)?;
            let inner = keys.get(Section::inner);
            let bore = match inner.map(|(v, _)| v.get_ref().length()) {
                None | Some(Ok(0.0)) => 0.0,
                Some(_) => self.read(keys, Section::inner)?,
            };
            if bore >= wide {
                self.tell(
                    Finding::error(
                        inner.map_or(outer.span(), |(v, _)| v.span()),
                        "no arm is a tube like that",
                    )
                    .label(format!("{wide} mm outside, {bore} mm inside"))
                    .help(HELP),
                );
                return None;
            }
            return Some(car::Section::round(wide, bore, yield_stress?, modulus?));
        }
        let ([Some(_), Some(_)], Some(_), None) = (own, edge, outer) else {
            self.tell(Finding::error(keys.span(), "what the arm's section is, is not clear").help(HELP));
            return None;
        };
        let [area, inertia] = [Section::area, Section::inertia].map(|slot| self.read(keys, slot));
        let edge = self.read(keys, Section::edge);
        Some(car::Section {
            area: area?,
            inertia: inertia?,
            edge: edge?,
            yield_stress: yield_stress?,
            modulus: modulus?,
        })
    }
}
