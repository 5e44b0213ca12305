//! Joints of an arm, and the driveshaft.

use nalgebra::{Point3, Vector3};
use std::f64::consts::FRAC_PI_2;
use std::ops::Range;
use toml::Spanned;

use super::Checker;
use crate::car::{Driveshaft, Joint, Joints};
use crate::geometry::{Wheel, joint};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::layers::{Found, Layers};
use crate::profile::schema::{self, JointName};

/// A driveshaft's joint that is bent further than this as measured is mistyped, rad.
const MOST_BENT: f64 = 35.0 * super::DEGREE;

impl Checker {
    /// The joints of an arm; `usual` where the profile does not name them.
    pub(super) fn joints(
        &mut self,
        kinds: Option<Found<'_, Vec<Spanned<JointName>>>>,
        limit: Option<Found<'_, Quantity>>,
        usual: Joint,
    ) -> Joints {
        let kinds = kinds.and_then(|(list, _)| {
            let names: Vec<Joint> = list
                .get_ref()
                .iter()
                .map(|name| match name.get_ref() {
                    JointName::Bush => Joint::Bush,
                    JointName::RodEnd => Joint::RodEnd,
                })
                .collect();
            let both = <[Joint; 2]>::try_from(names).ok();
            if both.is_none() {
                self.tell(
                    Finding::error(list.span(), "an arm has two joints")
                        .label(format!("{} here", list.get_ref().len()))
                        .help("list them from the subframe end to the knuckle end: [\"rod end\", \"bush\"]"),
                );
            }
            both
        });
        let limit = limit.and_then(|(value, _)| self.bend_limit(value));
        Joints { kinds: kinds.unwrap_or([usual; 2]), limit }
    }

    /// How far a joint may bend: more than nothing, less than a right angle.
    fn bend_limit(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let limit = self.angle(value)?;
        let limit = self.above_zero(value, limit, "a joint's limit")?;
        if limit >= FRAC_PI_2 {
            self.tell(
                Finding::error(value.span(), "no joint bends that far")
                    .label(format!("{:.0} degrees", limit.to_degrees()))
                    .help("how far it may tilt from square, one way, in degrees"),
            );
            return None;
        }
        Some(limit)
    }

    pub(super) fn driveshaft(
        &mut self,
        keys: &Layers<'_, schema::Driveshaft>,
        wheel: &Wheel,
    ) -> Option<Driveshaft> {
        let inner = self.point(keys, "inner", |shaft| &shaft.inner);
        let outer = self.point(keys, "outer", |shaft| &shaft.outer);
        let output = keys.get(|shaft| &shaft.inner_axis).map(|(value, from_right)| {
            let axis = self.triple(value, from_right)?.coords.try_normalize(1e-9);
            if axis.is_none() {
                self.tell(
                    Finding::error(value.span(), "the differential's output needs a direction")
                        .label("a vector such as [0.0, 1.0, 0.0]"),
                );
            }
            axis
        });
        let limits = [keys.get(|shaft| &shaft.inner_limit), keys.get(|shaft| &shaft.outer_limit)]
            .map(|found| found.and_then(|(value, _)| self.bend_limit(value)));
        let reserve = [
            (keys.get(|shaft| &shaft.push), "how far the shaft can be pushed in"),
            (keys.get(|shaft| &shaft.pull), "how far the shaft can be pulled out"),
        ]
        .map(|(found, what)| found.and_then(|(value, _)| self.positive(value, what)));
        let ((inner, near), (outer, far), output) = (inner?, outer?, output.unwrap_or(Some(Vector3::y()))?);
        self.shaft_fits((&inner, &near), (&outer, &far), &output, wheel)?;
        Some(Driveshaft { inner, outer, output, limits, reserve })
    }

    fn shaft_fits(
        &mut self,
        (inner, near): (&Point3<f64>, &Range<usize>),
        (outer, far): (&Point3<f64>, &Range<usize>),
        output: &Vector3<f64>,
        wheel: &Wheel,
    ) -> Option<()> {
        let shaft = outer - inner;
        if shaft.norm() < 50.0 || shaft.y <= 0.0 {
            self.tell(
                Finding::error(far.clone(), "the driveshaft does not run outward")
                    .label(format!("{:.1} mm from the inner joint", shaft.norm()))
                    .other(near.clone(), "the inner joint")
                    .help("`inner` is the middle of the joint at the differential, `outer` that of the one in the knuckle"),
            );
            return None;
        }
        for (place, axis, what) in [(near, output, "inner"), (far, &wheel.spindle, "outer")] {
            let bent = joint::between(&shaft, axis);
            if bent > MOST_BENT {
                self.tell(
                    Finding::error(place.clone(), format!("the {what} joint could not be bent that far"))
                        .label(format!("{:.0} degrees as measured", bent.to_degrees()))
                        .help("check the two points and that all are mm"),
                );
                return None;
            }
        }
        Some(())
    }
}
