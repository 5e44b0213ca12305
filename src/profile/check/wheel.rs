//! The wheel, its travel and its spec.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::{CENTRE_OUT, CENTRE_UP, Checker, DEGREE};
use crate::car::{Ride, Spec};
use crate::geometry::Wheel;
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::layers::Layers;
use crate::profile::schema;

/// The loaded radius and the wheel centre's height are both read with a tape at the same hub: further apart than this, mm, one of
/// them is a slip or was taken under another load. Common practice, no source.
const TAPES_APART: f64 = 5.0;

/// The wheel with what was read on it.
pub(super) struct Rolling {
    pub(super) wheel: Wheel,
    /// Camber and toe, rad.
    pub(super) reading: [f64; 2],
    /// Where toe in mm or inches is quoted, mm.
    pub(super) rim_diameter: Option<f64>,
    /// Hub centre to floor under load, mm, where it was measured by itself.
    pub(super) loaded_radius: Option<f64>,
}

impl Checker {
    pub(super) fn wheel(&mut self, keys: &Layers<'_, schema::Wheel>) -> Option<Rolling> {
        if keys.base.is_none() && keys.over.is_none() {
            self.tell(
                Finding::gap(0..0, "the table [wheel] is missing").help("it holds centre, camber and toe"),
            );
            return None;
        }
        let centre = self.point(keys, "centre", |wheel| &wheel.centre);
        let rim =
            keys.get(|wheel| &wheel.rim_diameter).and_then(|(v, _)| self.positive(v, "the rim's diameter"));
        let camber = self.need(keys, "camber", |wheel| &wheel.camber).and_then(|(v, _)| self.camber(v));
        let toe = self.need(keys, "toe", |wheel| &wheel.toe).and_then(|(v, _)| self.toe(v, rim));
        let radius = keys.get(|wheel| &wheel.loaded_radius);
        let radius = radius.and_then(|(v, _)| Some((self.positive(v, "the loaded radius")?, v.span())));
        // By itself, so that it is told of while a reading is still missing.
        let centre = centre.filter(|(centre, place)| self.stands(centre, place));
        let ((centre, place), camber, toe) = (centre?, camber?, toe?);
        let wheel = Wheel::reading(centre, camber, toe);
        // z = 0 is the ground, so that a wheel on it is as far from it down its plane.
        let standing = wheel.loaded_radius();
        if let Some((radius, span)) = &radius
            && (radius - standing).abs() > TAPES_APART
        {
            self.tell(
                Finding::warning(span.clone(), "the loaded radius and the wheel centre's height differ")
                    .label(format!(
                        "{radius:.1} mm: the tyre would stand {:.1} mm {} the floor",
                        (radius - standing).abs() * camber.cos(),
                        if *radius > standing { "below" } else { "above" }
                    ))
                    .other(place.clone(), format!("{} mm above the floor", centre.z))
                    .help(
                        "on its wheels both are hub centre to floor, within a few mm; correct the wrong one, or leave loaded_radius out: \
                         then the height is used",
                    ),
            );
        }
        let loaded_radius = radius.map(|(radius, _)| radius);
        let radius = loaded_radius.unwrap_or(centre.z);
        if let (Some(rim), Some((value, _))) = (rim, keys.get(|wheel| &wheel.rim_diameter)) {
            if rim >= 2.0 * radius {
                self.tell(
                    Finding::error(value.span(), "the rim is larger than the tyre")
                        .label(format!("{rim:.1} mm across, the tyre {:.1} mm", 2.0 * radius))
                        .help("give the diameter in mm, or with its unit: \"17 in\""),
                );
            } else if rim < 200.0 {
                self.tell(
                    Finding::error(value.span(), "no rim is that small")
                        .label(format!("{rim:.1} mm across"))
                        .help("bare numbers are mm; inches need their unit: \"17 in\""),
                );
            }
        }
        Some(Rolling { wheel, reading: [camber, toe], rim_diameter: rim, loaded_radius })
    }

    /// Whether a wheel may stand there.
    fn stands(&mut self, centre: &Point3<f64>, place: &Range<usize>) -> bool {
        if centre.y <= 0.0 {
            self.tell(
                Finding::error(place.clone(), "the wheel centre is on the wrong side of the centreline")
                    .label("y must be positive for the left wheel, negative under [right]"),
            );
            return false;
        }
        if centre.z <= 0.0 {
            self.tell(
                Finding::error(place.clone(), "the wheel centre is not above the floor")
                    .label("z counts from the floor up"),
            );
            return false;
        }
        // A half track and a hub height in inches or cm would make every later message point at the wrong line.
        for (name, value, range) in [("y", centre.y, CENTRE_OUT), ("z", centre.z, CENTRE_UP)] {
            if !range.contains(&value) {
                self.tell(
                    Finding::error(place.clone(), format!("no car has its wheel centre at {name} = {value:.1} mm"))
                        .label(format!("expected {} to {} mm", range.start(), range.end()))
                        .help("bare numbers are mm; inches need their unit: [\"0 in\", \"29 5/8 in\", \"12 1/4 in\"]"),
                );
                return false;
            }
        }
        if centre.z > centre.y {
            self.tell(
                Finding::warning(
                    place.clone(),
                    "the wheel centre is higher than it is far from the centreline",
                )
                .label(format!("{} mm out, {} mm up", centre.y, centre.z))
                .help("have the two changed places? y is half of the track, z the height of the hub"),
            );
        }
        true
    }

    pub(super) fn ride(&mut self, keys: &Layers<'_, schema::Ride>) -> Ride {
        let [arch_gap, bump, droop] = [
            ("the arch gap", keys.get(|ride| &ride.arch_gap)),
            ("bump travel", keys.get(|ride| &ride.bump)),
            ("droop travel", keys.get(|ride| &ride.droop)),
        ]
        .map(|(what, found)| found.and_then(|(value, _)| self.travel(value, what)));
        let loading = keys.get(|ride| &ride.loading).and_then(|(text, _)| self.line(text));
        Ride { loading, arch_gap, bump, droop }
    }

    pub(super) fn spec(&mut self, keys: &Layers<'_, schema::Spec>, rim: Option<f64>) -> Option<Spec> {
        let camber = self.need(keys, "camber", |spec| &spec.camber).and_then(|(v, _)| self.camber(v));
        let camber_tolerance = self.need(keys, "camber_tolerance", |spec| &spec.camber_tolerance);
        let camber_tolerance = camber_tolerance.and_then(|(v, _)| self.tolerance(v));
        let each = keys.get(|spec| &spec.toe);
        let total = keys.get(|spec| &spec.total_toe);
        let toe = match (each, total) {
            // An override of one kind takes the place of the other kind in the base.
            (Some((each, a)), Some((total, b))) if a == b => {
                self.tell(
                    Finding::error(total.span(), "toe is given both per wheel and for the axle")
                        .label("the axle's total")
                        .other(each.span(), "per wheel")
                        .help("keep one of `toe` and `total_toe`"),
                );
                None
            }
            (Some((each, _)), None | Some((_, false))) => self.toe(each, rim),
            (_, Some((total, _))) => self.toe_of_total(total, rim),
            (None, None) => self.need(keys, "toe", |spec| &spec.toe).map(|_| 0.0),
        };
        let toe_tolerance = self.need(keys, "toe_tolerance", |spec| &spec.toe_tolerance);
        let toe_tolerance = toe_tolerance.and_then(|(v, _)| self.toe_tolerance(v, rim));
        let pitch = keys.get(|spec| &spec.pitch).and_then(|(v, _)| {
            const USUAL: f64 = 5.0 * DEGREE;
            let pitch = self.angle(v)?;
            self.plausible(v, "pitch", pitch, USUAL)
        });
        Some(Spec {
            camber: camber?,
            camber_tolerance: camber_tolerance?,
            toe: toe?,
            toe_tolerance: toe_tolerance?,
            pitch: pitch.unwrap_or(0.0),
        })
    }

    /// Toe of each wheel from the total of the axle; a total in mm is the sum over both rims.
    pub(in crate::profile) fn toe_of_total(
        &mut self,
        value: &Spanned<Quantity>,
        rim: Option<f64>,
    ) -> Option<f64> {
        let half = match *value.get_ref() {
            Quantity::Bare(degrees) => Quantity::Bare(degrees / 2.0),
            Quantity::Angle(rad) => Quantity::Angle(rad / 2.0),
            Quantity::Length(mm) => Quantity::Length(mm / 2.0),
        };
        let toe = self.accept(value, half.toe(rim))?;
        self.plausible(value, "toe", toe, DEGREE)
    }
}
