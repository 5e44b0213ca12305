//! The wheel, its travel and its spec.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, Hand, PerSide, Side, is_ordinary};
use crate::geometry;
use crate::geometry::Angles;
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::guess::meant;
use crate::profile::keys::{Key, Kind, Profile, Ride, Right, Slot, Spec, Wheel};
use crate::profile::layers::Layers;

/// The loaded radius and the wheel centre's height are both read with a tape at the same hub: further apart than this, mm, one of
/// them is a slip or was taken under another load. Common practice, no source.
const TAPES_APART: f64 = 5.0;

/// The wheel with what was read on it.
pub(super) struct Rolling {
    pub(super) wheel: geometry::Wheel,
    /// Camber and toe, rad.
    pub(super) reading: Angles,
    /// Where toe in mm or inches is quoted, mm.
    pub(super) rim_diameter: Option<f64>,
    /// Hub centre to floor under load, mm, where it was measured by itself.
    pub(super) loaded_radius: Option<f64>,
}

/// What stands under `[right]`.
fn right_of(profile: &Profile) -> Option<&Right> {
    Profile::right.of(profile).map(Spanned::get_ref)
}

impl Checker {
    pub(super) fn wheel(&mut self, keys: &Layers<'_, Wheel>) -> Option<Rolling> {
        if !keys.exists() {
            self.tell(
                Finding::gap(0..0, "the table [wheel] is missing").help("it holds centre, camber and toe"),
            );
            return None;
        }
        let centre = self.point(keys, Wheel::centre);
        let rim = self.read(keys, Wheel::rim_diameter);
        let camber = self.read(keys, Wheel::camber);
        let toe = self.found(keys, Wheel::toe).and_then(|(v, _)| self.toe_at(Wheel::toe.key, v, rim));
        let loaded_radius = self.read(keys, Wheel::loaded_radius);
        // By itself, so that it is told of while a reading is still missing.
        let centre = centre.filter(|(centre, place)| self.stands(centre, place));
        let ((centre, place), camber, toe) = (centre?, camber?, toe?);
        let wheel = geometry::Wheel::reading(centre, camber, toe);
        // z = 0 is the ground, so that a wheel on it is as far from it down its plane.
        let standing = wheel.loaded_radius();
        if let Some(radius) = loaded_radius
            && (radius - standing).abs() > TAPES_APART
        {
            self.tell(
                Finding::warning(keys.span_of(Wheel::loaded_radius), "the loaded radius and the wheel centre's height differ")
                    .label(format!(
                        "{radius:.1} mm: the tyre would stand {:.1} mm {} the floor",
                        (radius - standing).abs() * camber.cos(),
                        if radius > standing { "below" } else { "above" }
                    ))
                    .other(place.clone(), format!("{} mm above the floor", centre.z))
                    .help(
                        "on its wheels both are hub centre to floor, within a few mm; correct the wrong one, or leave loaded_radius out: \
                         then the height is used",
                    ),
            );
        }
        let radius = loaded_radius.unwrap_or(centre.z);
        if let Some(rim) = rim.filter(|rim| *rim >= 2.0 * radius) {
            self.tell(
                Finding::error(keys.span_of(Wheel::rim_diameter), "the rim is larger than the tyre")
                    .label(format!("{rim:.1} mm across, the tyre {:.1} mm", 2.0 * radius))
                    .help("give the diameter in mm, or with its unit: \"17 in\""),
            );
        }
        Some(Rolling { wheel, reading: Angles { camber, toe }, rim_diameter: rim, loaded_radius })
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
        for (name, value, range) in [("y", centre.y, Wheel::CENTRE_OUT), ("z", centre.z, Wheel::CENTRE_UP)] {
            if !range.contains(&value) {
                self.tell(
                    Finding::error(place.clone(), format!("no car has its wheel centre at {name} = {value:.1} mm"))
                        .label(format!("expected {} to {} mm", range.start(), range.end()))
                        .help("bare numbers are mm; inches need their unit: [\"0 in\", \"29 5/8 in\", \"12 1/4 in\"]"),
                );
                return false;
            }
        }
        for (name, of, value) in
            [("y", "half of the track", centre.y), ("z", "the height of the hub", centre.z)]
        {
            if !is_ordinary(of, value) && centre.z <= centre.y {
                let finding = Finding::warning(
                    place.clone(),
                    format!("hardly a car has its wheel centre at {name} = {value:.1} mm"),
                )
                .help(format!("{name} is {of}"));
                self.tell(finding.asking(meant(Kind::Length, of, value)));
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

    /// Looks at the readings of the wheels and the spec, as far as they are there: they do not wait for the points.
    pub(in crate::profile) fn beside_the_points(&mut self, profile: &Profile) {
        let right = right_of(profile).and_then(|right| Right::wheel.of(right));
        let wheels = [Profile::wheel.of(profile), right];
        let mut rim = None;
        for wheel in wheels.into_iter().flatten() {
            let keys = Layers { table: Profile::wheel.key.name.to_owned(), base: Some(wheel), over: None };
            rim = rim.or(self.there(&keys, Wheel::rim_diameter));
            self.there(&keys, Wheel::camber);
            if let Some((toe, _)) = keys.get(Wheel::toe) {
                self.toe_at(Wheel::toe.key, toe, rim);
            }
        }
        let keys = Layers::alone(profile, Profile::spec);
        self.there(&keys, Spec::camber);
        self.there(&keys, Spec::camber_tolerance);
        for slot in [Spec::toe, Spec::toe_tolerance] {
            if let Some((toe, _)) = keys.get(slot) {
                self.toe_at(slot.key, toe, rim);
            }
        }
    }

    /// A value that may be missing.
    fn there<T>(&mut self, keys: &Layers<'_, T>, slot: Slot<T, Quantity>) -> Option<f64> {
        keys.get(slot).and_then(|_| self.read(keys, slot))
    }

    /// Readings of the two wheels that hardly belong to one car.
    pub(super) fn readings(&mut self, sides: &PerSide<Side>, profile: &Profile) {
        let right = right_of(profile).and_then(|right| Right::wheel.of(right));
        if let Some(span) = right.and_then(|wheel| Wheel::camber.span(wheel.get_ref())) {
            self.cambers_apart([sides.left.reading.camber, sides.right.reading.camber], span);
        }
        let toes = sides.each(|side| side.reading.toe.to_degrees());
        let total = toes.left + toes.right;
        let right_toe = right_of(profile)
            .and_then(|right| Right::wheel.of(right))
            .and_then(|wheel| Wheel::toe.span(wheel.get_ref()));
        if let Some(span) =
            right_toe.filter(|_| !is_ordinary("left and right toe apart", (toes.left - toes.right).abs()))
        {
            self.tell(
                Finding::warning(span, "left and right toe are far apart")
                    .label(format!("{:.2} degrees apart", (toes.left - toes.right).abs()))
                    .help(
                        "toe-in is plus on either side; is a sign lost, or the total typed as one wheel's?",
                    ),
            );
        }
        if toes.iter().all(|toe| *toe < 0.0)
            && !is_ordinary("total toe as it stands", total)
            && let Some(span) = Profile::wheel.of(profile).and_then(|wheel| Wheel::toe.span(wheel.get_ref()))
        {
            self.tell(
                Finding::warning(span, "both rear wheels toe out")
                    .label(format!("{total:.2} degrees in total"))
                    .help("Is a minus sign one too many? Toe-in is plus. A rear axle is built to toe in; a lowered one may be out"),
            );
        }
        let gaps = sides.each(|side| side.ride.arch_gap);
        if let (Some(left), Some(right)) = (gaps.left, gaps.right)
            && !is_ordinary("arch gaps apart", (left - right).abs())
            && let Some(ride) = right_of(profile).and_then(|right| Right::ride.of(right))
        {
            self.tell(
                Finding::warning(
                    Ride::arch_gap.span(ride.get_ref()).unwrap_or_default(),
                    "left and right arch gap are far apart",
                )
                .label(format!("{:.0} mm", (left - right).abs()))
                .help("measure both again: from the hub's centre straight up to the lip"),
            );
        }
        for side in sides {
            let of_side =
                |right: &'_ Right| Right::ride.of(right).and_then(|ride| Ride::arch_gap.span(ride.get_ref()));
            let own = right_of(profile).filter(|_| side.hand == Hand::Right).and_then(of_side);
            let span = own.or(Profile::ride.of(profile).and_then(|ride| Ride::arch_gap.span(ride.get_ref())));
            if let (Some(gap), Some(span)) = (side.ride.arch_gap, span)
                && !is_ordinary("arch gap over the radius", gap - side.wheel.centre.z)
            {
                self.tell(
                    Finding::warning(span, "hardly a car's arch is that far from its hub, or that near")
                        .label(format!("{gap:.1} mm, the hub is {:.1} mm above the floor", side.wheel.centre.z))
                        .help("from the middle of the hub straight up to the arch lip: not from the floor, not to the tyre"),
                );
            }
        }
    }

    /// Cambers of the left and the right wheel (rad) that hardly belong to one car; `span` is the second one's place.
    pub(in crate::profile) fn cambers_apart(&mut self, [left, right]: [f64; 2], span: Range<usize>) {
        let apart = (left - right).abs();
        if !is_ordinary("left and right camber apart", apart.to_degrees()) {
            self.tell(
                Finding::warning(span, "left and right camber are far apart")
                    .label(format!("{:.2} degrees apart", apart.to_degrees()))
                    .help("minus leans in at the top on either side; is a sign missing, or a part bent?"),
            );
        }
    }

    pub(super) fn ride(&mut self, keys: &Layers<'_, Ride>) -> car::Ride {
        let [arch_gap, bump, droop] =
            [Ride::arch_gap, Ride::bump, Ride::droop].map(|slot| self.read(keys, slot));
        let loading = keys.get(Ride::loading).and_then(|(text, _)| self.line(text));
        car::Ride { loading, arch_gap, bump, droop }
    }

    pub(super) fn spec(&mut self, keys: &Layers<'_, Spec>, rim: Option<f64>) -> Option<car::Spec> {
        let [camber, camber_tolerance] =
            [Spec::camber, Spec::camber_tolerance].map(|slot| self.read(keys, slot));
        let toe = match (keys.get(Spec::toe), keys.get(Spec::total_toe)) {
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
            (Some((each, _)), None | Some((_, false))) => self.toe_at(Spec::toe.key, each, rim),
            (_, Some((total, _))) => self.toe_of_total(Spec::total_toe.key, total, rim),
            (None, None) => self.need(keys, Spec::toe).map(|_| 0.0),
        };
        let toe_tolerance = self.found(keys, Spec::toe_tolerance);
        let toe_tolerance = toe_tolerance.and_then(|(v, _)| self.toe_at(Spec::toe_tolerance.key, v, rim));
        let pitch = self.read(keys, Spec::pitch);
        Some(car::Spec {
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
        key: &Key,
        value: &Spanned<Quantity>,
        rim: Option<f64>,
    ) -> Option<f64> {
        let half = match *value.get_ref() {
            Quantity::Bare(degrees) => Quantity::Bare(degrees / 2.0),
            Quantity::Angle(rad) => Quantity::Angle(rad / 2.0),
            Quantity::Length(mm) => Quantity::Length(mm / 2.0),
            Quantity::About(mm) => Quantity::About(mm),
        };
        let toe = self.accept(value, half.toe(rim))?;
        self.within(key, value, 2.0 * toe)?;
        Some(toe)
    }
}
