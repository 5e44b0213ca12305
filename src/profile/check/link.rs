//! One link: its pivots and the cam at its subframe end.

use nalgebra::{Point3, Vector3};
use std::f64::consts::FRAC_PI_2;
use std::ops::Range;

use super::bar::BarKeys;
use super::{Checker, DEGREE};
use crate::car::{ALONG_THE_LINE, CROSSWISE, Cam, Hand, Joint, Link, Sigmas};
use crate::geometry::{Figure, Wheel};
use crate::profile::CamPositionError;
use crate::profile::finding::Finding;
use crate::profile::layers::Layers;
use crate::profile::schema;

/// A knuckle point further outboard of the wheel centre than this is on the wrong side of the wheel, mm.
const OUTBOARD: f64 = 40.0;
/// A knuckle point further outboard than its subframe point by this is the outer end, whatever the distances say, mm.
const PLAINLY_OUTER: f64 = 50.0;
/// No pivot of a car that drives is nearer to the floor than this, mm.
const LOWEST_PIVOT: f64 = 60.0;
/// A slot further than this off its link is odd, rad.
const SLANTING: f64 = 40.0 * DEGREE;

impl Checker {
    pub(super) fn link(
        &mut self,
        hand: Hand,
        wheel: Option<&Wheel>,
        keys: &Layers<'_, schema::Link>,
        sigmas: &Sigmas,
    ) -> Option<Link> {
        let over = keys.over.is_some();
        let subframe = self.point(keys, "subframe", |link| &link.subframe);
        let knuckle = self.point(keys, "knuckle", |link| &link.knuckle);
        let cam = keys.inner("link.cam", |link| &link.cam);
        let ends = subframe.as_ref().zip(knuckle.as_ref()).map(|((inner, _), (outer, _))| [*inner, *outer]);
        let cam = cam.and_then(|keys| Some((self.cam(&keys, ends)?, keys.get(|cam| &cam.along)?.0.span())));
        let arm = keys.inner("link.arm", |link| &link.arm);
        let arm = arm.and_then(|keys| Some((self.arm(&keys)?, keys)));
        let wheel = wheel?;
        // Each by itself, so that one is told of while the other is still missing.
        let sound = [&subframe, &knuckle]
            .map(|point| point.as_ref().is_none_or(|(at, span)| self.pivot(hand, wheel, at, span)));
        let ((subframe, inner), (knuckle, outer)) = (subframe?, knuckle?);
        self.pivots(sound == [true; 2], wheel, (&subframe, &inner), (&knuckle, &outer))?;
        let line = knuckle - subframe;
        let bolts = self.bolts(keys, &line);
        let stock = BarKeys::of_link(keys);
        let bar = self.bar(&stock, line, bolts[0]);
        let arm = arm.map(|(mut arm, keys)| {
            arm.bar = self.bar(&BarKeys::of_arm(&keys, &stock), line, bolts[0]);
            (arm, keys)
        });
        let mut link = Link {
            name: keys.get(|link| &link.name)?.0.get_ref().trim().to_owned(),
            sets: keys.get(|link| &link.sets).map(|(sets, _)| match sets.get_ref() {
                schema::Sets::Camber => Figure::Camber,
                schema::Sets::Toe => Figure::Toe,
                schema::Sets::Pitch => Figure::Pitch,
            }),
            subframe,
            knuckle,
            cam: cam.as_ref().map(|(cam, _)| *cam),
            arm: arm.as_ref().map(|(arm, _)| arm.clone()),
            measured: None,
            bolts,
            joints: self.joints(
                keys.get(|link| &link.joints),
                keys.get(|link| &link.misalignment),
                Joint::Bush,
            ),
            bar,
            section: keys.inner("link.section", |link| &link.section).and_then(|keys| self.section(&keys)),
            joint_rating: self.force(keys.get(|link| &link.joint_rating), "a joint's rating"),
            bracket_rating: self.force(keys.get(|link| &link.bracket_rating), "a bracket's rating"),
            bolt: keys.inner("link.bolt", |link| &link.bolt).and_then(|keys| self.bolt(&keys)),
            knuckle_bolt: keys
                .inner("link.knuckle_bolt", |link| &link.knuckle_bolt)
                .and_then(|keys| self.bolt(&keys)),
        };
        if let Some((cam, span)) = &cam {
            self.slot(&link, cam, span);
        }
        if let Some(length) = self.arm_length(keys, &link, sigmas) {
            link.measure(length);
        }
        if let Some((arm, keys)) = &arm {
            // What an override changed is told of the right side; what it did not, once.
            let hand = if over { hand } else { Hand::Left };
            self.arm_fits(hand, &link, arm, keys);
        }
        Some(link)
    }

    /// Whether a pivot is on its proper side of the centreline and of the wheel.
    fn pivot(&mut self, hand: Hand, wheel: &Wheel, point: &Point3<f64>, span: &Range<usize>) -> bool {
        let before = self.findings.len();
        if point.y < 0.0 {
            self.tell(
                Finding::error(span.clone(), "this pivot is on the wrong side of the centreline").label(
                    match hand {
                        Hand::Left => "y must be positive: a profile describes the left side",
                        Hand::Right => "points under [right] are in car axes: y must be negative there",
                    },
                ),
            );
        }
        if point.y > wheel.centre.y + OUTBOARD {
            self.tell(
                Finding::error(span.clone(), "this pivot is on the wrong side of the wheel")
                    .label(format!("{:.0} mm outboard of the wheel centre", point.y - wheel.centre.y))
                    .help("the knuckle's pivots lie between the wheel and the centreline"),
            );
        }
        let sound = self.findings.len() == before;
        if sound && point.z < LOWEST_PIVOT {
            self.tell(
                Finding::warning(span.clone(), "this pivot is nearly on the floor")
                    .label(format!("{:.0} mm above it", point.z))
                    .help("z counts from the floor up; bare numbers are mm, inches need their unit: \"8 1/4 in\""),
            );
        }
        sound
    }

    /// The two pivots not swapped, and as far apart as the ends of a link; `sound`: each by itself is.
    fn pivots(
        &mut self,
        sound: bool,
        wheel: &Wheel,
        (subframe, inner): (&Point3<f64>, &Range<usize>),
        (knuckle, outer): (&Point3<f64>, &Range<usize>),
    ) -> Option<()> {
        let before = self.findings.len();
        if (knuckle - subframe).norm() < 1.0 {
            self.tell(
                Finding::error(outer.clone(), "the link has no length")
                    .label("the same point")
                    .other(inner.clone(), "as this one"),
            );
            return None;
        }
        let nearer = (knuckle - wheel.centre).norm() > (subframe - wheel.centre).norm();
        if nearer && knuckle.y < subframe.y + PLAINLY_OUTER {
            self.tell(
                Finding::error(inner.clone(), "the two pivots are swapped")
                    .label("nearer to the wheel centre")
                    .other(outer.clone(), "than this one")
                    .help("`subframe` is the end on the car, `knuckle` the end on the wheel carrier"),
            );
        }
        if !sound || self.findings.len() > before {
            return None;
        }
        let length = (knuckle - subframe).norm();
        if !(25.0..=2500.0).contains(&length) {
            self.tell(
                Finding::error(outer.clone(), format!("no link is {length:.1} mm long"))
                    .other(inner.clone(), "from here")
                    .help("bare numbers are mm; inches need their unit: \"8 1/4 in\""),
            );
            return None;
        }
        if !(60.0..=1500.0).contains(&length) {
            self.tell(
                Finding::warning(outer.clone(), format!("this link would be {length:.1} mm long"))
                    .other(inner.clone(), "from here")
                    .help("bare numbers are mm; inches need their unit: \"8 1/4 in\""),
            );
        }
        Some(())
    }

    /// Directions of the bolts at the two ends, unit.
    fn bolts(&mut self, keys: &Layers<'_, schema::Link>, line: &Vector3<f64>) -> [Option<Vector3<f64>>; 2] {
        let found = [keys.get(|link| &link.subframe_axis), keys.get(|link| &link.knuckle_axis)];
        found.map(|found| {
            let (value, from_right) = found?;
            let axis = self.triple(value, from_right)?.coords;
            let Some(axis) = axis.try_normalize(1e-9) else {
                self.tell(
                    Finding::error(value.span(), "a bolt needs a direction")
                        .label("a vector such as [1.0, 0.0, 0.0]"),
                );
                return None;
            };
            let angle = axis.dot(&line.normalize()).abs().clamp(0.0, 1.0).acos();
            if angle < ALONG_THE_LINE {
                self.tell(
                    Finding::error(value.span(), "this bolt runs along its own link")
                        .label(format!("{:.0} degrees to the link", angle.to_degrees()))
                        .help("a bolt through an eye stands about square to the arm; twist about the arm itself says nothing"),
                );
                return None;
            }
            Some(axis)
        })
    }

    /// The cam of a link between two pivots, subframe end first, where both are known yet.
    fn cam(&mut self, keys: &Layers<'_, schema::Cam>, ends: Option<[Point3<f64>; 2]>) -> Option<Cam> {
        let eccentricity = self.need(keys, "eccentricity", |cam| &cam.eccentricity);
        let eccentricity = eccentricity.and_then(|(v, _)| self.positive(v, "the eccentricity"));
        let along = self.point(keys, "along", |cam| &cam.along);
        let marks = keys.get(|cam| &cam.marks).map(|(marks, _)| {
            let count = u32::try_from(*marks.get_ref()).ok().filter(|count| (1..=90).contains(count));
            if count.is_none() {
                self.tell(
                    Finding::error(
                        marks.span(),
                        "marks counts the graduations from the middle to full throw",
                    )
                    .label("expected 1 to 90"),
                );
            }
            count
        });
        let ((along, span), eccentricity) = (along?, eccentricity?);
        let length = along.coords.norm();
        if length < 1e-9 {
            self.tell(
                Finding::error(span, "the slot needs a direction").label("a vector such as [0.0, 1.0, 0.0]"),
            );
            return None;
        }
        let along = along.coords / length;
        let mut cam = Cam { eccentricity, along, setting: 0.0, marks: marks.unwrap_or(None) };
        if let Some((position, _)) = keys.get(|cam| &cam.setting) {
            // Either way will do as long as it is not known which one leads to the wheel.
            let distinct = ends.filter(|[inner, outer]| (outer - inner).norm() > 1e-9);
            let outboard = distinct.map_or(Some(1.0), |[inner, outer]| cam.outboard(&outer, &inner));
            match position.get_ref().turn_of(&cam, outboard) {
                Ok(turn) => cam.setting = turn,
                // Of how many marks there are it was told already.
                Err(CamPositionError::NoMarks) if marks.is_some() => return None,
                Err(error) => {
                    self.tell(Finding::of_words(position.span(), &error.to_string()));
                    return None;
                }
            }
        }
        Some(cam)
    }

    fn slot(&mut self, link: &Link, cam: &Cam, span: &Range<usize>) {
        let line = (link.knuckle - link.subframe).normalize();
        let angle = cam.along.dot(&line).abs().clamp(0.0, 1.0).acos();
        if angle > FRAC_PI_2 - CROSSWISE && link.sets.is_some() {
            self.tell(
                Finding::error(span.clone(), "the cam's slot is at right angles to its link")
                    .label(format!("{:.0} degrees to the link", angle.to_degrees()))
                    .help(
                        "a cam that sets something moves the pivot along the link; give the slot's direction",
                    ),
            );
        } else if angle > SLANTING {
            self.tell(
                Finding::warning(span.clone(), "the cam's slot runs far off the direction of its link")
                    .label(format!("{:.0} degrees to the link", angle.to_degrees())),
            );
        }
        if cam.eccentricity > 20.0 {
            self.tell(
                Finding::warning(
                    span.clone(),
                    format!("an eccentricity of {} mm is a lot", cam.eccentricity),
                )
                .help("it is half of the pivot's whole movement in the slot"),
            );
        }
    }
}
