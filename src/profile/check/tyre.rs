//! Tyre and rim as solids.

use std::ops::RangeInclusive;
use toml::Spanned;

use super::Checker;
use crate::car::Tyre;
use crate::geometry::Wheel;
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::layers::Layers;
use crate::profile::schema;

impl Checker {
    /// The tyre and, where both of its sizes are known, the rim; `rim` is the diameter at which toe is quoted.
    pub(super) fn tyre(
        &mut self,
        keys: &Layers<'_, schema::Tyre>,
        wheel: &Wheel,
        rim: Option<f64>,
    ) -> Option<Tyre> {
        let width = self.need(keys, "width", |tyre| &tyre.width);
        let diameter = self.need(keys, "diameter", |tyre| &tyre.diameter);
        let [width, diameter] =
            [(width, "the tyre's width", 80.0..=600.0), (diameter, "the tyre's diameter", 300.0..=1500.0)]
                .map(|(found, what, range)| found.and_then(|(value, _)| self.size(value, what, range)));
        let shoulder = keys.get(|tyre| &tyre.shoulder).map(|(value, _)| {
            let shoulder = self.positive(value, "the shoulder's radius")?;
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
        let rim_width = keys
            .get(|tyre| &tyre.rim_width)
            .map(|(value, _)| self.size(value, "the rim's width", 80.0..=600.0));
        let own = keys.get(|tyre| &tyre.rim_diameter);
        let rim_diameter = own.map(|(value, _)| self.size(value, "the rim's diameter", 200.0..=1000.0));
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
        if let Some((value, _)) = keys.get(|tyre| &tyre.diameter)
            && (diameter / 2.0 - wheel.centre.z).abs() > 40.0
        {
            self.tell(
                Finding::warning(
                    value.span(),
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
        let rim = match rim_width {
            Some(width) => {
                rim_diameter.unwrap_or(rim).map(|diameter| Some([width?, diameter])).unwrap_or_default()
            }
            None => None,
        };
        Some(Tyre { width, diameter, shoulder, rim })
    }

    /// A size of a wheel that wheels can have, mm.
    fn size(&mut self, value: &Spanned<Quantity>, what: &str, range: RangeInclusive<f64>) -> Option<f64> {
        let size = self.positive(value, what)?;
        if range.contains(&size) {
            return Some(size);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} is not {size:.1} mm"))
                .label(format!("expected {} to {} mm", range.start(), range.end()))
                .help("bare numbers are mm; inches need their unit: \"17 in\""),
        );
        None
    }
}
