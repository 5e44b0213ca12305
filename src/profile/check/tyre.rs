//! Tyre and rim as solids.

use super::checker::Checker;
use crate::car;
use crate::geometry::Wheel;
use crate::profile::finding::Finding;
use crate::profile::keys::Tyre;
use crate::profile::layers::Layers;

impl Checker {
    /// The tyre and, where both of its sizes are known, the rim; `rim` is the diameter at which toe is quoted.
    pub(super) fn tyre(
        &mut self,
        keys: &Layers<'_, Tyre>,
        wheel: &Wheel,
        rim: Option<f64>,
    ) -> Option<car::Tyre> {
        let [width, diameter] = [Tyre::width, Tyre::diameter].map(|slot| self.read(keys, slot));
        let shoulder = keys.get(Tyre::shoulder).map(|(value, _)| {
            let shoulder = self.figure(Tyre::shoulder.key, value)?;
            let most = width?.min(diameter?) / 2.0;
            if shoulder >= most {
                self.tell(
                    Finding::error(value.span(), "the shoulder is rounder than the tyre is wide")
                        .label(format!("{shoulder:.1} mm, half the width is {most:.1}"))
                        .help("the radius of the rounding between tread and sidewall, some 20 to 40 mm"),
                );
                return None;
            }
            Some(shoulder)
        });
        let rim_width = self.read(keys, Tyre::rim_width);
        let own = keys.get(Tyre::rim_diameter);
        let rim_diameter = own.map(|(value, _)| self.figure(Tyre::rim_diameter.key, value));
        let (width, diameter, shoulder) = (width?, diameter?, shoulder.unwrap_or(Some(0.0))?);
        if let (Some((value, _)), Some(Some(rim))) = (own, rim_diameter)
            && rim >= diameter
        {
            self.tell(
                Finding::error(value.span(), "the rim is larger than the tyre")
                    .label(format!("{rim:.1} mm across, the tyre {diameter:.1} mm")),
            );
            return None;
        }
        if (diameter / 2.0 - wheel.centre.z).abs() > 40.0 {
            self.tell(
                Finding::warning(
                    keys.span_of(Tyre::diameter),
                    "the tyre's diameter and the wheel centre's height do not go together",
                )
                .label(format!(
                    "half of it is {:.1} mm, the hub stands {:.1} mm high",
                    diameter / 2.0,
                    wheel.centre.z
                ))
                .help("off the ground a tyre's radius is a little more than hub centre to floor"),
            );
        }
        let rim = rim_width.and_then(|width| Some([width, rim_diameter.unwrap_or(rim)?]));
        Some(car::Tyre { width, diameter, shoulder, rim })
    }
}
