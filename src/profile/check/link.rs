//! One link: its pivots and the cam at its subframe end.

use nalgebra::{Point3, Vector3};
use std::f64::consts::FRAC_PI_2;
use std::ops::Range;
use toml::Spanned;

use super::bar::BarKeys;
use super::checker::Checker;
use crate::car::{self, ALONG_THE_LINE, CROSSWISE, Hand, Hold, Sigmas};
use crate::geometry::{DEGREE, Figure, Wheel};
use crate::profile::finding::Finding;
use crate::profile::keys::{Cam, Link, Member, Sets};
use crate::profile::layers::Layers;
use crate::profile::{CamPosition, CamPositionError};

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
        (place, links): (usize, &[Layers<'_, Link>]),
        sigmas: &Sigmas,
    ) -> Option<car::Link> {
        let keys = &links[place];
        let over = keys.over.is_some();
        let hold = self.hold(place, links);
        // What is wrong with a point that is another place's too was told of that one.
        let told = self.findings.len();
        let member = keys.base.map_or_else(Member::default, |link| link.get_ref().member());
        let again = matches!(member, Member::BushUp | Member::StrutBolt);
        let subframe = self.point(keys, Link::subframe);
        let knuckle = match member {
            Member::Blade | Member::BushUp => subframe.clone(),
            _ => self.point(keys, Link::knuckle),
        };
        let cam = keys.inner(Link::cam);
        let ends = subframe.as_ref().zip(knuckle.as_ref()).map(|((inner, _), (outer, _))| [*inner, *outer]);
        let cam = cam.and_then(|keys| Some((self.cam(&keys, hold, ends)?, keys.span_of(Cam::along))));
        let arm = keys.inner(Link::arm).and_then(|keys| Some((self.arm(&keys)?, keys)));
        let wheel = wheel?;
        // Each by itself, so that one is told of while the other is still missing.
        let other = knuckle.as_ref().filter(|_| knuckle != subframe);
        let sound = [subframe.as_ref(), other]
            .map(|point| point.is_none_or(|(at, span)| self.pivot(hand, wheel, at, span)));
        if again {
            self.findings.truncate(told);
        }
        let ((subframe, inner), (knuckle, outer), hold) = (subframe?, knuckle?, hold?);
        let line = knuckle - subframe;
        match hold {
            Hold::Rod | Hold::Leg(_) => {
                self.pivots(sound == [true; 2], wheel, (&subframe, &inner), (&knuckle, &outer))?;
            }
            Hold::Top => {
                self.strut_stands((&subframe, &inner), (&knuckle, &outer)).filter(|()| sound == [true; 2])?;
            }
            // What is wrong with the second place of a member was told of its first.
            Hold::Bolt(..) if subframe.z <= knuckle.z => return None,
            _ if sound != [true; 2] => return None,
            _ => {}
        }
        let lean = keys.inner(Link::lean).filter(|_| matches!(hold, Hold::Bolt(..)));
        let lean = lean.and_then(|keys| Some((self.lean(&keys, &line)?, keys.span())));
        let cam = cam.or(lean);
        let bolts = if hold.is_rod() { self.bolts(keys, &line) } else { [None; 2] };
        let stock = BarKeys::of_link(keys);
        let bar = self.bar(&stock, line, bolts[0]);
        let arm = arm.map(|(mut arm, keys)| {
            arm.bar = self.bar(&BarKeys::of_arm(&keys, &stock), line, bolts[0]);
            (arm, keys)
        });
        let mut link = car::Link {
            name: keys.get(Link::name)?.0.get_ref().trim().to_owned(),
            hold,
            sets: keys.get(Link::sets).map(|(sets, _)| match sets.get_ref() {
                Sets::Camber => Figure::Camber,
                Sets::Toe => Figure::Toe,
                Sets::Pitch => Figure::Pitch,
            }),
            subframe,
            knuckle,
            cam: cam.as_ref().map(|(cam, _)| *cam),
            arm: arm.as_ref().map(|(arm, _)| arm.clone()),
            measured: None,
            bolts,
            joints: self.joints_of_link(keys),
            bar,
            section: keys.inner(Link::section).and_then(|keys| self.section(&keys)),
            joint_rating: self.read(keys, Link::joint_rating),
            bracket_rating: self.read(keys, Link::bracket_rating),
            bolt: keys.inner(Link::bolt).and_then(|keys| self.bolt(&keys)),
            knuckle_bolt: keys.inner(Link::knuckle_bolt).and_then(|keys| self.bolt(&keys)),
        };
        match (&cam, hold) {
            (Some((cam, span)), Hold::Top) => self.moves_the_top(cam, &line, span),
            (Some((cam, span)), hold) if hold.is_rod() => self.slot(&link, cam, span),
            _ => {}
        }
        if link.cam.is_some() && matches!(hold, Hold::Bolt(..)) {
            link.sets = link.sets.or(Some(Figure::Camber));
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
    fn bolts(&mut self, keys: &Layers<'_, Link>, line: &Vector3<f64>) -> [Option<Vector3<f64>>; 2] {
        [Link::subframe_axis, Link::knuckle_axis].map(|slot| {
            let (axis, span) = self.direction(keys, slot)?;
            let angle = axis.dot(&line.normalize()).abs().clamp(0.0, 1.0).acos();
            if angle < ALONG_THE_LINE {
                self.tell(
                    Finding::error(span, "this bolt runs along its own link")
                        .label(format!("{:.0} degrees to the link", angle.to_degrees()))
                        .help("a bolt through an eye stands about square to the arm; twist about the arm itself says nothing"),
                );
                return None;
            }
            Some(axis)
        })
    }

    /// The cam of a link between two pivots, subframe end first, where both are known yet.
    fn cam(
        &mut self,
        keys: &Layers<'_, Cam>,
        hold: Option<Hold>,
        ends: Option<[Point3<f64>; 2]>,
    ) -> Option<car::Cam> {
        let eccentricity = self.read(keys, Cam::eccentricity);
        let along = self.direction(keys, Cam::along);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few, by its range")]
        let marks = self.read(keys, Cam::marks).map(|marks| marks as u32);
        let ((along, _), eccentricity) = (along?, eccentricity?);
        let mut cam = car::Cam { eccentricity, along, setting: 0.0, marks };
        if let Some((position, _)) = keys.get(Cam::setting) {
            // Either way will do as long as it is not known which one leads to the wheel.
            let distinct = ends.filter(|[inner, outer]| (outer - inner).norm() > 1e-9);
            let outboard = match hold {
                Some(hold) if !hold.is_rod() => Some(cam.along.y.signum()),
                _ => distinct.map_or(Some(1.0), |[inner, outer]| cam.outboard(&outer, &inner)),
            };
            cam.setting = self.standing(position, &cam, keys.get(Cam::marks).is_some(), outboard)?;
        }
        Some(cam)
    }

    /// The turn of a cam that stands so, rad.
    pub(super) fn standing(
        &mut self,
        position: &Spanned<CamPosition>,
        cam: &car::Cam,
        has_marks: bool,
        outboard: Option<f64>,
    ) -> Option<f64> {
        match position.get_ref().turn_of(cam, outboard) {
            Ok(turn) => Some(turn),
            // Of how many marks there are it was told already.
            Err(CamPositionError::NoMarks) if has_marks => None,
            Err(error) => {
                self.tell(Finding::of_words(position.span(), &error.to_string()));
                None
            }
        }
    }

    fn slot(&mut self, link: &car::Link, cam: &car::Cam, span: &Range<usize>) {
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
    }
}
