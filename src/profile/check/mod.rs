//! From the shape of a file to a car with no invalid state. Collects everything that is wrong before it stops.

mod arm;
mod bar;
mod bolt;
mod errors;
mod joint;
mod keepout;
mod layout;
mod length;
mod link;
mod load;
mod names;
mod optional;
mod section;
mod spring;
mod taken_over;
mod tyre;
mod value;
mod wheel;

use std::ops::{Range, RangeInclusive};
use toml::Spanned;

use self::wheel::Rolling;
use super::Severity;
use super::finding::Finding;
use super::layers::Layers;
use super::schema::{self, Profile};
use crate::car::{AxleLimits, Car, Hand, Link, PerSide, Side, Sigmas};

/// A degree, in rad.
pub(super) const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// How far from the centreline the wheel centre of a car may be, mm.
pub(super) const CENTRE_OUT: RangeInclusive<f64> = 200.0..=2500.0;
/// How high it may be, mm.
pub(super) const CENTRE_UP: RangeInclusive<f64> = 80.0..=1500.0;

/// A car, and the keys of what its right side takes over from the left.
pub(super) type Sound = (Car, Vec<String>);

/// Checks a profile; with its car come the keys of what the right side takes over from the left.
///
/// # Errors
///
/// All findings, errors and warnings, if one of them is an error.
pub(super) fn check(profile: &Profile) -> Result<(Sound, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker::default();
    check.format(profile.format.as_ref(), "profile");
    let car = check.car(profile).map(|car| (car, taken_over::taken_over(profile)));
    check.conclude(car)
}

#[derive(Default)]
pub(super) struct Checker {
    findings: Vec<Finding>,
}

impl Checker {
    pub(super) fn tell(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// What was found, with the warnings, or all findings if one of them is an error.
    pub(super) fn conclude<T>(self, found: Option<T>) -> Result<(T, Vec<Finding>), Vec<Finding>> {
        let sound = !self.findings.iter().any(|finding| finding.severity == Severity::Error);
        match found {
            Some(found) if sound => Ok((found, self.findings)),
            _ => Err(self.findings),
        }
    }

    /// The version of the format; `file` is what the file is called.
    pub(super) fn format(&mut self, format: Option<&Spanned<i64>>, file: &str) {
        match format {
            None => self.tell(
                Finding::gap(0..0, "the key `format` is missing")
                    .help(format!("the first line of a {file} is `format = 1`")),
            ),
            Some(format) if *format.get_ref() != 1 => self.tell(
                Finding::error(format.span(), "this format is not known")
                    .label("expected 1")
                    .help("this version reads `format = 1`; a newer one may be needed for the file"),
            ),
            Some(_) => {}
        }
    }

    fn car(&mut self, profile: &Profile) -> Option<Car> {
        if let Some(survey) = &profile.survey {
            self.tell(
                Finding::error(survey.span(), "this is a survey: its points are still to be worked out")
                    .help("rodset survey THIS-FILE --output my-car.toml writes the profile"),
            );
            return None;
        }
        let name = self.car_name(profile);
        let keys = Layers { table: "car", base: profile.car.as_ref(), over: None };
        let wheelbase = keys.get(|car| &car.wheelbase).and_then(|(v, _)| self.wheelbase(v));
        let gravity_height = keys.get(|car| &car.gravity_height).and_then(|(v, _)| self.gravity_height(v));
        let rear_brake_share = keys.get(|car| &car.rear_brake_share).and_then(|(v, _)| self.share(v));
        let rear_steering = keys.get(|car| &car.rear_steering).map(|(steered, _)| *steered.get_ref());
        let axle = self.axle(profile);
        let loads = self.loads(profile);
        let sigmas = self.sigmas(profile);
        self.names(profile)?;
        let mut sides = PerSide::of(|hand| self.side(hand, profile, &sigmas)).all()?;
        self.readings(&sides, profile);
        self.keepouts(&mut sides, profile);
        Some(Car {
            name: name?,
            wheelbase,
            gravity_height,
            rear_brake_share,
            rear_steering,
            sides,
            axle,
            loads,
            sigmas,
        })
    }

    /// What a survey file shares with a profile: the car's name, the names of its links, and how well it was measured.
    pub(super) fn head(&mut self, profile: &Profile) -> Option<(String, Sigmas)> {
        self.format(profile.format.as_ref(), "survey");
        let name = self.car_name(profile);
        let sigmas = self.sigmas(profile);
        self.names(profile)?;
        Some((name?, sigmas))
    }

    fn car_name(&mut self, profile: &Profile) -> Option<String> {
        let keys = Layers { table: "car", base: profile.car.as_ref(), over: None };
        self.need(&keys, "name", |car| &car.name).and_then(|(name, _)| self.name(name))
    }

    /// Readings of the two wheels that hardly belong to one car.
    fn readings(&mut self, sides: &PerSide<Side>, profile: &Profile) {
        let right = profile.right.as_ref().and_then(|right| right.get_ref().wheel.as_ref());
        let camber = right.and_then(|wheel| wheel.get_ref().camber.as_ref());
        if let Some(camber) = camber {
            self.cambers_apart([sides.left.reading[0], sides.right.reading[0]], camber.span());
        }
    }

    /// Cambers of the left and the right wheel (rad) that hardly belong to one car; `span` is the second one's place.
    pub(super) fn cambers_apart(&mut self, [left, right]: [f64; 2], span: Range<usize>) {
        const APART: f64 = 1.5 * DEGREE;
        let apart = (left - right).abs();
        if apart > APART {
            self.tell(
                Finding::warning(span, "left and right camber are far apart")
                    .label(format!("{:.2} degrees apart", apart.to_degrees()))
                    .help("minus leans in at the top on either side; is a sign missing, or a part bent?"),
            );
        }
    }

    fn axle(&mut self, profile: &Profile) -> AxleLimits {
        let keys = Layers { table: "spec", base: profile.spec.as_ref(), over: None };
        let right = profile.right.as_ref().map(Spanned::get_ref);
        if let Some(spec) = right.and_then(|right| right.spec.as_ref()) {
            for limit in [&spec.get_ref().cross_camber, &spec.get_ref().thrust_angle].into_iter().flatten() {
                self.tell(
                    Finding::error(limit.span(), "this limit compares both wheels").help("put it in [spec]"),
                );
            }
        }
        if let Some(loading) =
            right.and_then(|right| right.ride.as_ref()).and_then(|r| r.get_ref().loading.as_ref())
        {
            self.tell(
                Finding::error(loading.span(), "the car is loaded as a whole").help("put it in [ride]"),
            );
        }
        AxleLimits {
            cross_camber: keys.get(|spec| &spec.cross_camber).and_then(|(v, _)| self.tolerance(v)),
            thrust_angle: keys.get(|spec| &spec.thrust_angle).and_then(|(v, _)| self.tolerance(v)),
        }
    }

    fn side(&mut self, hand: Hand, profile: &Profile, sigmas: &Sigmas) -> Option<Side> {
        let right = match hand {
            Hand::Left => None,
            Hand::Right => profile.right.as_ref().map(Spanned::get_ref),
        };
        let over = right.and_then(|right| right.wheel.as_ref());
        let wheel = Layers { table: "wheel", base: profile.wheel.as_ref(), over };
        let rolling = self.wheel(&wheel);
        let rim_diameter = rolling.as_ref().and_then(|rolling| rolling.rim_diameter);
        let over = right.and_then(|right| right.ride.as_ref());
        let ride = self.ride(&Layers { table: "ride", base: profile.ride.as_ref(), over });
        let over = right.and_then(|right| right.spec.as_ref());
        let keys = Layers { table: "spec", base: profile.spec.as_ref(), over };
        let spec = if keys.exists() { self.spec(&keys, rim_diameter) } else { None };
        let layers = profile.link.iter().map(|base| {
            let over = right.and_then(|right| right.link.iter().find(|over| named_alike(over, base)));
            Layers { table: "link", base: Some(base), over }
        });
        let layers: Vec<Layers<'_, schema::Link>> = layers.collect();
        let links: Vec<Option<Link>> = (layers.iter())
            .map(|keys| self.link(hand, rolling.as_ref().map(|rolling| &rolling.wheel), keys, sigmas))
            .collect();
        let errors = self.errors(&wheel, &layers, profile, sigmas);
        let links: Option<Vec<Link>> = links.into_iter().collect();
        let links: [Link; 5] = links?.try_into().ok()?;
        let Rolling { wheel, reading, loaded_radius, .. } = rolling?;
        let mut side = Side {
            hand,
            wheel,
            reading,
            rim_diameter,
            loaded_radius,
            links,
            errors: errors?,
            ride,
            spec,
            tyre: None,
            keepouts: Vec::new(),
            driveshaft: None,
            spring: None,
            damper: None,
        };
        self.optional(&mut side, profile, right);
        self.lengths_fit(&side, &layers);
        self.setters(&side, profile);
        self.layout(&side, profile);
        Some(side)
    }
}

fn named_alike(a: &Spanned<schema::Link>, b: &Spanned<schema::Link>) -> bool {
    let [a, b] = [a, b].map(|link| link.get_ref().name.as_ref().map(|name| name.get_ref().trim()));
    a.is_some() && a == b
}

#[cfg(test)]
mod tests {
    use crate::car::PerSide;

    #[test]
    fn an_override_reads_the_other_keys_from_the_base() {
        let text = include_str!("../../../examples/tansy-wharf.toml");
        let car = crate::profile::read(text).expect("the example is sound").car;
        let PerSide { left, right } = &car.sides;
        assert_eq!(left.wheel.centre, right.wheel.centre);
        assert_eq!(left.links, right.links);
        assert!((right.reading[0].to_degrees() + 1.3).abs() < 1e-12);
    }
}
