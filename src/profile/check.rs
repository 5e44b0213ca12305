//! From the shape of a file to a car with no invalid state. Collects everything that is wrong before it stops.

use nalgebra::Point3;
use std::f64::consts::FRAC_PI_2;
use std::ops::Range;
use toml::Spanned;

use super::finding::{Finding, nearest};
use super::schema::{self, Point, Profile, Value};
use super::{Quantity, QuantityError};
use crate::car::{Arm, AxleLimits, Cam, Car, Engagement, Hand, Link, Ride, Setup, Side, Spec, Thread};
use crate::geometry::{Figure, Position, Wheel};

/// A knuckle point further outboard of the wheel centre than this is on the wrong side of the wheel, mm.
const OUTBOARD: f64 = 40.0;
/// A slot closer than this to a right angle with its link does not change the length, rad.
const CROSSWISE: f64 = 5.0 * DEGREE;
/// A slot further than this off its link is odd, rad.
const SLANTING: f64 = 40.0 * DEGREE;
/// Two links whose lines stay within this of each other are one line, mm.
const SAME_LINE: f64 = 0.5;
/// Condition number of the reference position past which the layout does not hold the wheel.
const SINGULAR: f64 = 1e5;
/// Links with at least this share in a lost freedom are named.
const BLAMED: f64 = 0.2;
/// Condition number past which small errors of measurement grow large.
const TOUCHY: f64 = 300.0;
const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Checks a profile.
///
/// # Errors
///
/// All findings, errors and warnings, if one of them is an error.
pub(super) fn check(profile: &Profile) -> Result<(Car, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker { findings: Vec::new() };
    check.format(profile);
    let car = check.car(profile);
    let sound = !check.findings.iter().any(|finding| finding.severity == super::Severity::Error);
    match car {
        Some(car) if sound => Ok((car, check.findings)),
        _ => Err(check.findings),
    }
}

struct Checker {
    findings: Vec<Finding>,
}

/// A table of the profile and, for the right side, the one that overrides it key by key.
struct Layers<'a, T> {
    table: &'static str,
    base: Option<&'a Spanned<T>>,
    over: Option<&'a Spanned<T>>,
}

/// A value and whether it stands in `[right]`.
type Found<'a, V> = (&'a Spanned<V>, bool);

impl<'a, T> Layers<'a, T> {
    fn get<V>(&self, pick: impl Fn(&'a T) -> &'a Option<Spanned<V>>) -> Option<Found<'a, V>> {
        let of = |layer: Option<&'a Spanned<T>>| layer.and_then(|layer| pick(layer.get_ref()).as_ref());
        of(self.over).map(|value| (value, true)).or(of(self.base).map(|value| (value, false)))
    }

    /// Where a key that is missing would have to stand.
    fn span(&self) -> Range<usize> {
        self.base.or(self.over).map_or(0..0, Spanned::span)
    }

    /// The tables one level down.
    fn inner<U>(
        &self,
        table: &'static str,
        pick: impl Fn(&'a T) -> &'a Option<Spanned<U>>,
    ) -> Option<Layers<'a, U>> {
        let of = |layer: Option<&'a Spanned<T>>| layer.and_then(|layer| pick(layer.get_ref()).as_ref());
        let (base, over) = (of(self.base), of(self.over));
        (base.is_some() || over.is_some()).then_some(Layers { table, base, over })
    }
}

impl Checker {
    fn error(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    fn format(&mut self, profile: &Profile) {
        match &profile.format {
            None => self.error(
                Finding::error(0..0, "the key `format` is missing")
                    .help("the first line of a profile is `format = 1`"),
            ),
            Some(format) if *format.get_ref() != 1 => self.error(
                Finding::error(format.span(), "this format is not known")
                    .label("expected 1")
                    .help("this version reads `format = 1`; a newer one may be needed for the file"),
            ),
            Some(_) => {}
        }
    }

    fn car(&mut self, profile: &Profile) -> Option<Car> {
        let name = profile.car.as_ref().and_then(|car| car.get_ref().name.as_ref());
        if name.is_none() {
            let span = profile.car.as_ref().map_or(0..0, Spanned::span);
            self.error(
                Finding::error(span, "the car has no name")
                    .help("add `[car]` with `name = \"...\"`: it stands on every sheet"),
            );
        }
        let wheelbase = profile.car.as_ref().and_then(|car| car.get_ref().wheelbase.as_ref());
        let wheelbase = wheelbase.and_then(|value| self.positive(value, "the wheelbase"));
        self.links_complete(profile)?;
        let [left, right] = Hand::BOTH.map(|hand| self.side(hand, profile));
        let sides = [left?, right?];
        let spec = Layers { table: "spec", base: profile.spec.as_ref(), over: None };
        let axle = AxleLimits {
            cross_camber: spec.get(|spec| &spec.cross_camber).and_then(|(v, _)| self.tolerance(v)),
            thrust_angle: spec.get(|spec| &spec.thrust_angle).and_then(|(v, _)| self.tolerance(v)),
        };
        let rim = profile.wheel.as_ref().and_then(|wheel| wheel.get_ref().rim_diameter.as_ref());
        let rim_diameter = rim.and_then(|rim| rim.get_ref().length().ok());
        Some(Car { name: name?.get_ref().clone(), wheelbase, sides, axle, rim_diameter })
    }

    /// Number and names of the links, and whether each override has something to override; `None` where there are so many
    /// that looking at each would only repeat it.
    fn links_complete(&mut self, profile: &Profile) -> Option<()> {
        let count = profile.link.len();
        let overrides = profile.right.as_ref().map_or(&[][..], |right| &right.get_ref().link);
        if count != 5 {
            let place = profile.link.get(5).or(profile.link.last());
            self.error(
                Finding::error(
                    place.map_or(0..0, Spanned::span),
                    format!("a wheel hangs on five links, this profile has {count}"),
                )
                .label(if count > 5 { "the sixth" } else { "the last one" })
                .help("a wide arm with one outer joint is two links that share their knuckle point"),
            );
        }
        if let Some(sixth) = overrides.get(5) {
            let text = format!("five links can be overridden, [right] has {}", overrides.len());
            self.error(Finding::error(sixth.span(), text).label("the sixth"));
        }
        if count > 5 || overrides.len() > 5 {
            return None;
        }
        let mut names: Vec<(&str, Range<usize>)> = Vec::new();
        for link in &profile.link {
            let Some(name) = &link.get_ref().name else {
                self.error(Finding::error(link.span(), "this link has no name").help("add `name = \"...\"`"));
                continue;
            };
            if let Some((_, first)) = names.iter().find(|(other, _)| other == name.get_ref()) {
                self.findings.push(
                    Finding::error(name.span(), format!("two links are called \"{}\"", name.get_ref()))
                        .label("the second")
                        .other(first.clone(), "the first"),
                );
            }
            names.push((name.get_ref(), name.span()));
        }
        let known: Vec<&str> = names.iter().map(|(name, _)| *name).collect();
        let mut seen: Vec<&str> = Vec::new();
        for link in overrides {
            match &link.get_ref().name {
                None => self.error(
                    Finding::error(link.span(), "this override does not say which link it changes")
                        .help(format!("add `name = \"...\"` with one of: {}", known.join(", "))),
                ),
                Some(name) if !known.contains(&name.get_ref().as_str()) => {
                    let near = nearest(name.get_ref(), &known);
                    self.error(
                        Finding::error(
                            name.span(),
                            format!("there is no link called \"{}\"", name.get_ref()),
                        )
                        .label(near.map_or(String::new(), |near| format!("did you mean \"{near}\"?")))
                        .help(format!("the links are: {}", known.join(", "))),
                    );
                }
                Some(name) if seen.contains(&name.get_ref().as_str()) => self.error(
                    Finding::error(name.span(), format!("\"{}\" is overridden twice", name.get_ref()))
                        .help("put both changes into one [[right.link]]"),
                ),
                Some(name) => seen.push(name.get_ref()),
            }
        }
        Some(())
    }

    fn side(&mut self, hand: Hand, profile: &Profile) -> Option<Side> {
        let right = match hand {
            Hand::Left => None,
            Hand::Right => profile.right.as_ref().map(Spanned::get_ref),
        };
        let over = right.and_then(|right| right.wheel.as_ref());
        let keys = Layers { table: "wheel", base: profile.wheel.as_ref(), over };
        let wheel = self.wheel(&keys);
        let rim = wheel.as_ref().and_then(|(_, _, rim)| *rim);
        let over = right.and_then(|right| right.ride.as_ref());
        let ride = self.ride(&Layers { table: "ride", base: profile.ride.as_ref(), over });
        let over = right.and_then(|right| right.spec.as_ref());
        let keys = Layers { table: "spec", base: profile.spec.as_ref(), over };
        let has_spec = keys.base.is_some() || keys.over.is_some();
        let spec = if has_spec { self.spec(&keys, rim) } else { None };
        let links: Vec<Option<Link>> = (profile.link.iter())
            .map(|base| {
                let name =
                    |link: &Spanned<schema::Link>| link.get_ref().name.as_ref().map(|n| n.get_ref().clone());
                let named = |link: &&Spanned<schema::Link>| name(link).is_some() && name(link) == name(base);
                let over = right.and_then(|right| right.link.iter().find(named));
                let wheel = wheel.as_ref().map(|(wheel, ..)| wheel);
                self.link(hand, wheel, &Layers { table: "link", base: Some(base), over })
            })
            .collect();
        let links: Option<Vec<Link>> = links.into_iter().collect();
        let (wheel, reading, _) = wheel?;
        let links: [Link; 5] = links?.try_into().ok()?;
        let side = Side { hand, wheel, reading, links, ride, spec };
        self.setters(&side, profile);
        self.layout(&side, profile);
        Some(side)
    }

    fn wheel(&mut self, keys: &Layers<'_, schema::Wheel>) -> Option<(Wheel, [f64; 2], Option<f64>)> {
        if keys.base.is_none() && keys.over.is_none() {
            self.error(
                Finding::error(0..0, "the table [wheel] is missing").help("it holds centre, camber and toe"),
            );
            return None;
        }
        let centre = self.point(keys, "centre", |wheel| &wheel.centre);
        let rim =
            keys.get(|wheel| &wheel.rim_diameter).and_then(|(v, _)| self.positive(v, "the rim's diameter"));
        let camber = self.need(keys, "camber", |wheel| &wheel.camber).and_then(|(v, _)| self.angle(v));
        let toe = self.need(keys, "toe", |wheel| &wheel.toe).and_then(|(v, _)| self.toe(v, rim));
        let radius = keys.get(|wheel| &wheel.loaded_radius);
        let radius = radius.and_then(|(v, _)| Some((self.positive(v, "the loaded radius")?, v.span())));
        let ((centre, place), camber, toe) = (centre?, camber?, toe?);
        if centre.y <= 0.0 {
            self.error(
                Finding::error(place.clone(), "the wheel centre is on the wrong side of the centreline")
                    .label("y must be positive for the left wheel, negative under [right]"),
            );
            return None;
        }
        if centre.z <= 0.0 {
            self.error(
                Finding::error(place.clone(), "the wheel centre is not above the floor")
                    .label("z counts from the floor up"),
            );
            return None;
        }
        for (name, value, span, most) in [
            ("camber", camber, keys.get(|w| &w.camber).map(|(v, _)| v.span()), 5.0),
            ("toe", toe, keys.get(|w| &w.toe).map(|(v, _)| v.span()), 2.0),
        ] {
            if value.abs() > 20.0 * DEGREE {
                self.error(
                    Finding::error(span.unwrap_or(0..0), format!("no wheel has that much {name}"))
                        .label(format!("{:.2} degrees", value.to_degrees())),
                );
            } else if value.abs() > most * DEGREE {
                self.findings.push(
                    Finding::warning(span.unwrap_or(0..0), format!("that is a lot of {name}"))
                        .label(format!("{:.2} degrees", value.to_degrees()))
                        .help("were minutes read as decimals? 0°17' is 0.28 degree; write it \"0°17'\""),
                );
            }
        }
        if let Some((radius, span)) = &radius
            && (radius - centre.z).abs() > 15.0
        {
            self.findings.push(
                Finding::warning(span.clone(), "the loaded radius and the wheel centre's height differ")
                    .label(format!("{radius} mm"))
                    .other(place.clone(), format!("{} mm above the floor", centre.z))
                    .help("on its wheels both are hub centre to floor"),
            );
        }
        let radius = radius.map_or(centre.z, |(radius, _)| radius);
        if let (Some(rim), Some((value, _))) = (rim, keys.get(|wheel| &wheel.rim_diameter))
            && rim >= 2.0 * radius
        {
            self.error(
                Finding::error(value.span(), "the rim is larger than the tyre")
                    .label(format!("{rim} mm across, the tyre {} mm", 2.0 * radius))
                    .help("give the diameter in mm, or with its unit: \"17 in\""),
            );
        }
        Some((Wheel::reading(centre, camber, toe), [camber, toe], rim))
    }

    fn ride(&mut self, keys: &Layers<'_, schema::Ride>) -> Ride {
        let mut length =
            |what, found: Option<Found<'_, Quantity>>| found.and_then(|(v, _)| self.positive(v, what));
        Ride {
            arch_gap: length("the arch gap", keys.get(|ride| &ride.arch_gap)),
            bump: length("bump travel", keys.get(|ride| &ride.bump)),
            droop: length("droop travel", keys.get(|ride| &ride.droop)),
            loading: keys.get(|ride| &ride.loading).map(|(text, _)| text.get_ref().clone()),
        }
    }

    fn spec(&mut self, keys: &Layers<'_, schema::Spec>, rim: Option<f64>) -> Option<Spec> {
        let camber = self.need(keys, "camber", |spec| &spec.camber).and_then(|(v, _)| self.angle(v));
        let camber_tolerance = self.need(keys, "camber_tolerance", |spec| &spec.camber_tolerance);
        let camber_tolerance = camber_tolerance.and_then(|(v, _)| self.tolerance(v));
        let each = keys.get(|spec| &spec.toe);
        let total = keys.get(|spec| &spec.total_toe);
        let toe = match (each, total) {
            // An override of one kind takes the place of the other kind in the base.
            (Some((each, a)), Some((total, b))) if a == b => {
                self.error(
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
        let toe_tolerance = toe_tolerance.and_then(|(v, _)| {
            let value = self.toe(v, rim)?;
            self.above_zero(v, value, "a tolerance")
        });
        let pitch = keys.get(|spec| &spec.pitch).and_then(|(v, _)| self.angle(v));
        Some(Spec {
            camber: camber?,
            camber_tolerance: camber_tolerance?,
            toe: toe?,
            toe_tolerance: toe_tolerance?,
            pitch: pitch.unwrap_or(0.0),
        })
    }

    /// Toe of each wheel from the total of the axle; a total in mm is the sum over both rims.
    fn toe_of_total(&mut self, value: &Spanned<Quantity>, rim: Option<f64>) -> Option<f64> {
        let half = match *value.get_ref() {
            Quantity::Bare(degrees) => Quantity::Bare(degrees / 2.0),
            Quantity::Angle(rad) => Quantity::Angle(rad / 2.0),
            Quantity::Length(mm) => Quantity::Length(mm / 2.0),
        };
        self.accept(value, half.toe(rim))
    }

    fn link(&mut self, hand: Hand, wheel: Option<&Wheel>, keys: &Layers<'_, schema::Link>) -> Option<Link> {
        let subframe = self.point(keys, "subframe", |link| &link.subframe);
        let knuckle = self.point(keys, "knuckle", |link| &link.knuckle);
        let cam = keys.inner("link.cam", |link| &link.cam);
        let cam = cam.and_then(|keys| Some((self.cam(&keys)?, keys.get(|cam| &cam.along)?.0.span())));
        let arm = keys.inner("link.arm", |link| &link.arm);
        let arm = arm.and_then(|keys| Some((self.arm(&keys)?, keys)));
        let ((subframe, inner), (knuckle, outer)) = (subframe?, knuckle?);
        self.pivots(hand, wheel?, (&subframe, &inner), (&knuckle, &outer))?;
        let link = Link {
            name: keys.get(|link| &link.name)?.0.get_ref().clone(),
            sets: keys.get(|link| &link.sets).map(|(sets, _)| match sets.get_ref() {
                schema::Sets::Camber => Figure::Camber,
                schema::Sets::Toe => Figure::Toe,
                schema::Sets::Pitch => Figure::Pitch,
            }),
            subframe,
            knuckle,
            cam: cam.as_ref().map(|(cam, _)| *cam),
            arm: arm.as_ref().map(|(arm, _)| arm.clone()),
        };
        if let Some((cam, span)) = &cam {
            self.slot(&link, cam, span);
        }
        if let Some((arm, keys)) = &arm {
            self.arm_fits(&link, arm, keys);
        }
        Some(link)
    }

    /// Each pivot on its proper side of the centreline and of the wheel, and the two not swapped.
    fn pivots(
        &mut self,
        hand: Hand,
        wheel: &Wheel,
        (subframe, inner): (&Point3<f64>, &Range<usize>),
        (knuckle, outer): (&Point3<f64>, &Range<usize>),
    ) -> Option<()> {
        let before = self.findings.len();
        if (knuckle - subframe).norm() < 1.0 {
            self.error(
                Finding::error(outer.clone(), "the link has no length")
                    .label("the same point")
                    .other(inner.clone(), "as this one"),
            );
            return None;
        }
        if (knuckle - wheel.centre).norm() > (subframe - wheel.centre).norm() {
            self.error(
                Finding::error(inner.clone(), "the two pivots are swapped")
                    .label("nearer to the wheel centre")
                    .other(outer.clone(), "than this one")
                    .help("`subframe` is the end on the car, `knuckle` the end on the wheel carrier"),
            );
        }
        for (point, span) in [(subframe, inner), (knuckle, outer)] {
            if point.y < 0.0 {
                self.error(
                    Finding::error(span.clone(), "this pivot is on the wrong side of the centreline").label(
                        match hand {
                            Hand::Left => "y must be positive: a profile describes the left side",
                            Hand::Right => "points under [right] are in car axes: y must be negative there",
                        },
                    ),
                );
            }
            if point.y > wheel.centre.y + OUTBOARD {
                self.error(
                    Finding::error(span.clone(), "this pivot is on the wrong side of the wheel")
                        .label(format!("{:.0} mm outboard of the wheel centre", point.y - wheel.centre.y))
                        .help("the knuckle's pivots lie between the wheel and the centreline"),
                );
            }
        }
        if self.findings.len() > before {
            return None;
        }
        let length = (knuckle - subframe).norm();
        if !(60.0..=1500.0).contains(&length) {
            self.findings.push(
                Finding::warning(outer.clone(), format!("this link would be {length:.1} mm long"))
                    .other(inner.clone(), "from here")
                    .help("bare numbers are mm; inches need their unit: \"8 1/4 in\""),
            );
        }
        Some(())
    }

    fn cam(&mut self, keys: &Layers<'_, schema::Cam>) -> Option<Cam> {
        let eccentricity = self.need(keys, "eccentricity", |cam| &cam.eccentricity);
        let eccentricity = eccentricity.and_then(|(v, _)| self.positive(v, "the eccentricity"));
        let along = self.point(keys, "along", |cam| &cam.along);
        let setting = keys.get(|cam| &cam.setting).map_or(Some(0.0), |(v, _)| {
            let setting = self.angle(v)?;
            if setting.abs() > FRAC_PI_2 + 1e-12 {
                self.error(
                    Finding::error(v.span(), "a cam turns 90 degrees either way from its middle")
                        .label("past full throw the pivot comes back"),
                );
                return None;
            }
            Some(setting)
        });
        let marks = keys.get(|cam| &cam.marks).map(|(marks, _)| {
            let count = u32::try_from(*marks.get_ref()).ok().filter(|count| (1..=90).contains(count));
            if count.is_none() {
                self.error(
                    Finding::error(
                        marks.span(),
                        "marks counts the graduations from the middle to full throw",
                    )
                    .label("expected 1 to 90"),
                );
            }
            count
        });
        let ((along, span), eccentricity, setting) = (along?, eccentricity?, setting?);
        let length = along.coords.norm();
        if length < 1e-9 {
            self.error(
                Finding::error(span, "the slot needs a direction").label("a vector such as [0.0, 1.0, 0.0]"),
            );
            return None;
        }
        Some(Cam { eccentricity, along: along.coords / length, setting, marks: marks.unwrap_or(None) })
    }

    fn slot(&mut self, link: &Link, cam: &Cam, span: &Range<usize>) {
        let line = (link.knuckle - link.subframe).normalize();
        let angle = cam.along.dot(&line).abs().clamp(0.0, 1.0).acos();
        if angle > FRAC_PI_2 - CROSSWISE {
            self.error(
                Finding::error(span.clone(), "the cam's slot is at right angles to its link")
                    .label(format!("{:.0} degrees to the link", angle.to_degrees()))
                    .help(
                        "a cam that sets something moves the pivot along the link; give the slot's direction",
                    ),
            );
        } else if angle > SLANTING {
            self.findings.push(
                Finding::warning(span.clone(), "the cam's slot runs far off the direction of its link")
                    .label(format!("{:.0} degrees to the link", angle.to_degrees())),
            );
        }
        if cam.eccentricity > 20.0 {
            self.findings.push(
                Finding::warning(
                    span.clone(),
                    format!("an eccentricity of {} mm is a lot", cam.eccentricity),
                )
                .help("it is half of the pivot's whole movement in the slot"),
            );
        }
    }

    fn arm(&mut self, keys: &Layers<'_, schema::Arm>) -> Option<Arm> {
        let shortest = self.need(keys, "shortest", |arm| &arm.shortest);
        let shortest = shortest.and_then(|(v, _)| Some((self.positive(v, "the shortest length")?, v.span())));
        let longest = self.need(keys, "longest", |arm| &arm.longest);
        let longest = longest.and_then(|(v, _)| Some((self.positive(v, "the longest length")?, v.span())));
        let threads = self.need(keys, "threads", |arm| &arm.threads).and_then(|(list, _)| self.threads(list));
        let engaged = keys.inner("link.arm.engaged", |arm| &arm.engaged);
        let engaged = engaged.map(|keys| self.engaged(&keys));
        let step = keys.get(|arm| &arm.step).map(|(value, _)| {
            let step = value.get_ref().number().filter(|step| (0.001..=1.0).contains(step));
            if step.is_none() {
                self.error(
                    Finding::error(value.span(), "the step is the least part of a turn that can be locked")
                        .label("expected a number of turns from 0.001 to 1"),
                );
            }
            step
        });
        let ((shortest, low), (longest, high), threads) = (shortest?, longest?, threads?);
        if shortest >= longest {
            self.error(
                Finding::error(high, "the arm's longest length is not longer than its shortest")
                    .label(format!("{longest} mm"))
                    .other(low, format!("{shortest} mm")),
            );
            return None;
        }
        // One turn of a turnbuckle can stop at any flat; a single rod end must line up with its bolt.
        let usual = if threads.len() == 2 { 1.0 / 12.0 } else { 0.5 };
        let step = step.unwrap_or(Some(usual))?;
        let engaged = match engaged {
            Some(engaged) => Some(engaged?),
            None => None,
        };
        let arm = Arm { shortest, longest, threads, step, engaged };
        if arm.lead() < 1e-6 {
            let span = keys.get(|arm| &arm.threads).map_or(0..0, |(list, _)| list.span());
            self.error(
                Finding::error(span, "turning this arm would not change its length")
                    .label("two like threads of the same hand")
                    .help("a turnbuckle has one RH and one LH end"),
            );
            return None;
        }
        Some(arm)
    }

    fn threads(&mut self, list: &Spanned<Vec<Spanned<String>>>) -> Option<Vec<Thread>> {
        if !(1..=2).contains(&list.get_ref().len()) {
            self.error(
                Finding::error(list.span(), "an arm has one or two threads")
                    .label(format!("{} here", list.get_ref().len()))
                    .help("list them from the subframe end to the knuckle end: [\"M16x1.5 RH\", \"M16x1.5 LH\"]"),
            );
            return None;
        }
        let threads: Vec<Option<Thread>> = (list.get_ref().iter())
            .map(|text| match text.get_ref().parse() {
                Ok(thread) => Some(thread),
                Err(error) => {
                    self.error(
                        Finding::error(text.span(), format!("\"{}\" is {error}", text.get_ref()))
                            .label("this thread"),
                    );
                    None
                }
            })
            .collect();
        threads.into_iter().collect()
    }

    fn engaged(&mut self, keys: &Layers<'_, schema::Engaged>) -> Option<Engagement> {
        let at = self.need(keys, "at", |engaged| &engaged.at);
        let at = at.and_then(|(v, _)| self.positive(v, "the length at which thread was measured"));
        let length = self.need(keys, "length", |engaged| &engaged.length);
        let length = length.and_then(|(v, _)| self.positive(v, "the thread in the body"));
        let minimum = keys.get(|engaged| &engaged.minimum);
        let minimum = minimum.map(|(v, _)| self.positive(v, "the least thread"));
        let minimum = match minimum {
            Some(minimum) => Some(minimum?),
            None => None,
        };
        Some(Engagement { at: at?, length: length?, minimum })
    }

    fn arm_fits(&mut self, link: &Link, arm: &Arm, keys: &Layers<'_, schema::Arm>) {
        let stock = link.stock_length();
        let key = |pick: fn(&schema::Arm) -> &Value| keys.get(pick).map_or(0..0, |(v, _)| v.span());
        for (wrong, span, what) in [
            (stock < arm.shortest, key(|arm| &arm.shortest), "shortest"),
            (stock > arm.longest, key(|arm| &arm.longest), "longest"),
        ] {
            if wrong {
                self.error(
                    Finding::error(span, "the arm cannot be set to the stock length")
                        .label(format!("the stock length is {stock:.2} mm"))
                        .help(format!(
                            "check `{what}` and the two pivots: a new arm is matched to the stock length before it is tuned"
                        )),
                );
            }
        }
        let Some(engaged) = arm.engaged else { return };
        let span = keys.get(|arm| &arm.engaged).map_or(0..0, |(v, _)| v.span());
        if !(arm.shortest..=arm.longest).contains(&engaged.at) {
            self.findings.push(
                Finding::warning(span, "the thread was measured at a length the arm does not have").label(
                    format!("{} mm, the arm goes from {} to {}", engaged.at, arm.shortest, arm.longest),
                ),
            );
        } else if !arm.holds_at(stock) {
            self.findings.push(
                Finding::warning(span, "too little thread is in the body even at the stock length")
                    .label(format!("at {stock:.1} mm"))
                    .help("the least is one nominal diameter per end unless `minimum` or the arm's maker says otherwise"),
            );
        }
    }

    /// One link at the most for a figure, and what the roles leave undone.
    fn setters(&mut self, side: &Side, profile: &Profile) {
        let span = |i: usize| {
            let link = profile.link[i].get_ref();
            link.sets.as_ref().map_or(profile.link[i].span(), Spanned::span)
        };
        for figure in [Figure::Camber, Figure::Toe, Figure::Pitch] {
            let setters: Vec<usize> = (0..5).filter(|&i| side.links[i].sets == Some(figure)).collect();
            if let [first, second, ..] = setters[..] {
                self.error(
                    Finding::error(span(second), format!("two links are to set {figure}"))
                        .label("the second")
                        .other(span(first), "the first")
                        .help("one link sets a figure; the other one keeps its length"),
                );
            }
        }
        for (i, link) in side.links.iter().enumerate() {
            if link.sets.is_none() && link.arm.is_some() {
                self.findings.push(
                    Finding::warning(
                        profile.link[i].span(),
                        format!("\"{}\" has an adjustable arm but sets nothing", link.name),
                    )
                    .help("add `sets = \"camber\"`, \"toe\" or \"pitch\", or it stays at stock length"),
                );
            }
        }
    }

    /// The five links together: no two on one line, and the wheel held.
    fn layout(&mut self, side: &Side, profile: &Profile) {
        let span = |i: usize| profile.link[i].get_ref().knuckle.as_ref().map_or(0..0, Spanned::span);
        for i in 0..5 {
            for j in 0..i {
                let (a, b) = (&side.links[j], &side.links[i]);
                let line = (a.knuckle - a.subframe).normalize();
                let off = |point: &Point3<f64>| (point - a.subframe).cross(&line).norm();
                if off(&b.subframe) < SAME_LINE && off(&b.knuckle) < SAME_LINE {
                    self.error(
                        Finding::error(span(i), format!("\"{}\" and \"{}\" lie on one line", a.name, b.name))
                            .label("this link")
                            .other(span(j), "and this one")
                            .help("two rods on one line hold the wheel like one; check the points"),
                    );
                    return;
                }
            }
        }
        let rows = Setup::as_found(side).rows(side, 0.0);
        let position = Position::known(&rows, side.reference());
        match position.map(|position| position.condition) {
            Ok(condition) if condition < TOUCHY => {}
            Ok(condition) if condition < SINGULAR => self.findings.push(
                Finding::warning(span(0), "these links hold the wheel only loosely")
                    .label(format!("small errors in the points count about {condition:.0} times"))
                    .help("check the points of links that run close to each other"),
            ),
            position => {
                let share = position.err().map_or([1.0; 6], |stuck| stuck.share);
                let blamed: Vec<usize> = (0..5).filter(|&i| share[i] >= BLAMED).collect();
                let names: Vec<&str> = blamed.iter().map(|&i| side.links[i].name.as_str()).collect();
                self.error(
                    Finding::error(
                        span(blamed.first().copied().unwrap_or(0)),
                        "these five links do not hold the wheel",
                    )
                    .label("the wheel could move without any link changing its length")
                    .help(format!(
                        "check the points of {}: links that are parallel, or meet in one point or line, hold it only once",
                        names.join(", ")
                    )),
                );
            }
        }
    }

    // Single values.

    fn need<'a, T, V>(
        &mut self,
        keys: &Layers<'a, T>,
        key: &str,
        pick: impl Fn(&'a T) -> &'a Option<Spanned<V>>,
    ) -> Option<Found<'a, V>> {
        let found = keys.get(pick);
        if found.is_none() {
            self.error(
                Finding::error(keys.span(), format!("the key `{key}` is missing in [{}]", keys.table))
                    .label(format!("needs `{key}`")),
            );
        }
        found
    }

    /// A point as the mirrored left side sees it, and its place.
    fn point<'a, T>(
        &mut self,
        keys: &Layers<'a, T>,
        key: &str,
        pick: impl Fn(&'a T) -> &'a Point,
    ) -> Option<(Point3<f64>, Range<usize>)> {
        let (value, from_right) = self.need(keys, key, pick)?;
        let mut point = Point3::origin();
        for (axis, quantity) in value.get_ref().iter().enumerate() {
            point[axis] = self.accept(value, quantity.length())?;
        }
        if point.coords.amax() > 1e5 {
            self.error(
                Finding::error(value.span(), "this point is not on the car").label("more than 100 m away"),
            );
            return None;
        }
        if from_right {
            point.y = -point.y;
        }
        Some((point, value.span()))
    }

    fn accept<V>(&mut self, value: &Spanned<V>, result: Result<f64, QuantityError>) -> Option<f64> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.error(
                    Finding::error(value.span(), "a value of the wrong kind").label(error.to_string()),
                );
                None
            }
        }
    }

    fn angle(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        self.accept(value, value.get_ref().angle())
    }

    fn toe(&mut self, value: &Spanned<Quantity>, rim: Option<f64>) -> Option<f64> {
        self.accept(value, value.get_ref().toe(rim))
    }

    fn tolerance(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let angle = self.angle(value)?;
        self.above_zero(value, angle, "a tolerance")
    }

    fn positive(&mut self, value: &Spanned<Quantity>, what: &str) -> Option<f64> {
        let length = self.accept(value, value.get_ref().length())?;
        if length > 1e5 {
            self.error(
                Finding::error(value.span(), format!("{what} is longer than any car")).label("mm are meant"),
            );
            return None;
        }
        self.above_zero(value, length, what)
    }

    fn above_zero(&mut self, value: &Spanned<Quantity>, number: f64, what: &str) -> Option<f64> {
        if number > 0.0 {
            return Some(number);
        }
        self.error(
            Finding::error(value.span(), format!("{what} must be more than zero")).label("not positive"),
        );
        None
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn an_override_reads_the_other_keys_from_the_base() {
        let text = include_str!("../../examples/tansy-wharf.toml");
        let car = crate::profile::read(text).expect("the example is sound").car;
        let [left, right] = &car.sides;
        assert_eq!(left.wheel.centre, right.wheel.centre);
        assert_eq!(left.links, right.links);
        assert!((right.reading[0].to_degrees() + 1.3).abs() < 1e-12);
    }
}
