//! Joints of an arm, and the driveshaft.

use nalgebra::{Point3, Vector3};
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, Joint, Joints};
use crate::geometry::{DEGREE, Wheel, joint};
use crate::profile::finding::Finding;
use crate::profile::keys::{Arm, Driveshaft, JointName, Link};
use crate::profile::layers::{Found, Layers};

/// A driveshaft's joint that is bent further than this as measured is mistyped, rad.
const MOST_BENT: f64 = 35.0 * DEGREE;

impl Checker {
    /// What a stock arm turns in.
    pub(super) fn joints_of_link(&mut self, keys: &Layers<'_, Link>) -> Joints {
        let limit = self.read(keys, Link::misalignment);
        Joints { kinds: self.joints(keys.get(Link::joints)).unwrap_or([Joint::Bush; 2]), limit }
    }

    /// What an arm in its place turns in.
    pub(super) fn joints_of_arm(&mut self, keys: &Layers<'_, Arm>) -> Joints {
        let limit = self.read(keys, Arm::misalignment);
        Joints { kinds: self.joints(keys.get(Arm::joints)).unwrap_or([Joint::RodEnd; 2]), limit }
    }

    fn joints(&mut self, kinds: Option<Found<'_, Vec<Spanned<JointName>>>>) -> Option<[Joint; 2]> {
        let (list, _) = kinds?;
        let names = list.get_ref().iter().map(|name| match name.get_ref() {
            JointName::Bush => Joint::Bush,
            JointName::RodEnd => Joint::RodEnd,
        });
        let both = <[Joint; 2]>::try_from(names.collect::<Vec<_>>()).ok();
        if both.is_none() {
            self.tell(
                Finding::error(list.span(), "an arm has two joints")
                    .label(format!("{} here", list.get_ref().len()))
                    .help("list them from the subframe end to the knuckle end: [\"rod end\", \"bush\"]"),
            );
        }
        both
    }

    pub(super) fn driveshaft(
        &mut self,
        keys: &Layers<'_, Driveshaft>,
        wheel: &Wheel,
    ) -> Option<car::Driveshaft> {
        let inner = self.point(keys, Driveshaft::inner);
        let outer = self.point(keys, Driveshaft::outer);
        let output = match keys.get(Driveshaft::inner_axis) {
            Some(_) => self.direction(keys, Driveshaft::inner_axis).map(|(output, _)| output),
            None => Some(Vector3::y()),
        };
        let limits = [Driveshaft::inner_limit, Driveshaft::outer_limit].map(|slot| self.read(keys, slot));
        let reserve = [Driveshaft::push, Driveshaft::pull].map(|slot| self.read(keys, slot));
        let ((inner, near), (outer, far), output) = (inner?, outer?, output?);
        self.shaft_fits((&inner, &near), (&outer, &far), &output, wheel)?;
        let diameter = self.read(keys, Driveshaft::diameter);
        Some(car::Driveshaft { inner, outer, output, limits, reserve, diameter })
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
