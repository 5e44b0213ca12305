//! From the shape of a file to a car with no invalid state. Collects everything that is wrong before it stops.

mod arm;
mod layout;
mod link;
mod names;
mod value;
mod wheel;

use toml::Spanned;

use super::Severity;
use super::finding::Finding;
use super::layers::Layers;
use super::schema::{self, Profile};
use crate::car::{AxleLimits, Car, Hand, Link, Side, Sigmas};

/// A degree, in rad.
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
    let sound = !check.findings.iter().any(|finding| finding.severity == Severity::Error);
    match car {
        Some(car) if sound => Ok((car, check.findings)),
        _ => Err(check.findings),
    }
}

struct Checker {
    findings: Vec<Finding>,
}

impl Checker {
    fn tell(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    fn format(&mut self, profile: &Profile) {
        match &profile.format {
            None => self.tell(
                Finding::error(0..0, "the key `format` is missing")
                    .help("the first line of a profile is `format = 1`"),
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
        let keys = Layers { table: "car", base: profile.car.as_ref(), over: None };
        let name = self.need(&keys, "name", |car| &car.name).and_then(|(name, _)| self.name(name));
        let wheelbase = keys.get(|car| &car.wheelbase).and_then(|(v, _)| self.wheelbase(v));
        let gravity_height = keys.get(|car| &car.gravity_height).and_then(|(v, _)| self.gravity_height(v));
        let rear_brake_share = keys.get(|car| &car.rear_brake_share).and_then(|(v, _)| self.share(v));
        let axle = self.axle(profile);
        let sigmas = self.sigmas(profile);
        self.names(profile)?;
        let [left, right] = Hand::BOTH.map(|hand| self.side(hand, profile));
        let sides = [left?, right?];
        self.readings(&sides, profile);
        Some(Car { name: name?, wheelbase, gravity_height, rear_brake_share, sides, axle, sigmas })
    }

    /// How well the car was measured, where the profile says so; by hand, where it does not.
    fn sigmas(&mut self, profile: &Profile) -> Sigmas {
        let keys = Layers { table: "sigma", base: profile.sigma.as_ref(), over: None };
        let rim = profile.wheel.as_ref().and_then(|wheel| wheel.get_ref().rim_diameter.as_ref());
        let rim = rim.and_then(|rim| rim.get_ref().length().ok());
        let usual = Sigmas::default();
        Sigmas {
            point: keys
                .get(|s| &s.point)
                .and_then(|(v, _)| self.positive(v, "a standard deviation"))
                .unwrap_or(usual.point),
            camber: keys.get(|s| &s.camber).and_then(|(v, _)| self.tolerance(v)).unwrap_or(usual.camber),
            toe: keys.get(|s| &s.toe).and_then(|(v, _)| self.toe_tolerance(v, rim)).unwrap_or(usual.toe),
            drop: keys
                .get(|s| &s.drop)
                .and_then(|(v, _)| self.positive(v, "a standard deviation"))
                .unwrap_or(usual.drop),
            preset: keys
                .get(|s| &s.preset)
                .and_then(|(v, _)| self.positive(v, "a standard deviation"))
                .unwrap_or(usual.preset),
        }
    }

    /// Readings of the two wheels that hardly belong to one car.
    fn readings(&mut self, sides: &[Side; 2], profile: &Profile) {
        const APART: f64 = 1.5 * DEGREE;
        let right = profile.right.as_ref().and_then(|right| right.get_ref().wheel.as_ref());
        let camber = right.and_then(|wheel| wheel.get_ref().camber.as_ref());
        if let Some(camber) = camber
            && (sides[0].reading[0] - sides[1].reading[0]).abs() > APART
        {
            self.tell(
                Finding::warning(camber.span(), "left and right camber are far apart")
                    .label(format!(
                        "{:.2} degrees apart",
                        (sides[0].reading[0] - sides[1].reading[0]).abs().to_degrees()
                    ))
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

    fn side(&mut self, hand: Hand, profile: &Profile) -> Option<Side> {
        let right = match hand {
            Hand::Left => None,
            Hand::Right => profile.right.as_ref().map(Spanned::get_ref),
        };
        let over = right.and_then(|right| right.wheel.as_ref());
        let rolling = self.wheel(&Layers { table: "wheel", base: profile.wheel.as_ref(), over });
        let rim_diameter = rolling.as_ref().and_then(|rolling| rolling.rim_diameter);
        let over = right.and_then(|right| right.ride.as_ref());
        let ride = self.ride(&Layers { table: "ride", base: profile.ride.as_ref(), over });
        let over = right.and_then(|right| right.spec.as_ref());
        let keys = Layers { table: "spec", base: profile.spec.as_ref(), over };
        let spec = if keys.exists() { self.spec(&keys, rim_diameter) } else { None };
        let links: Vec<Option<Link>> = (profile.link.iter())
            .map(|base| {
                let over = right.and_then(|right| right.link.iter().find(|over| named_alike(over, base)));
                let keys = Layers { table: "link", base: Some(base), over };
                self.link(hand, rolling.as_ref().map(|rolling| &rolling.wheel), &keys)
            })
            .collect();
        let links: Option<Vec<Link>> = links.into_iter().collect();
        let links: [Link; 5] = links?.try_into().ok()?;
        let rolling = rolling?;
        let side =
            Side { hand, wheel: rolling.wheel, reading: rolling.reading, rim_diameter, links, ride, spec };
        self.setters(&side, profile);
        self.layout(&side, profile);
        Some(side)
    }
}

fn named_alike(a: &Spanned<schema::Link>, b: &Spanned<schema::Link>) -> bool {
    let name = |link: &Spanned<schema::Link>| link.get_ref().name.as_ref().map(|name| name.get_ref().clone());
    name(a).is_some() && name(a) == name(b)
}

#[cfg(test)]
mod tests {
    #[test]
    fn an_override_reads_the_other_keys_from_the_base() {
        let text = include_str!("../../../examples/tansy-wharf.toml");
        let car = crate::profile::read(text).expect("the example is sound").car;
        let [left, right] = &car.sides;
        assert_eq!(left.wheel.centre, right.wheel.centre);
        assert_eq!(left.links, right.links);
        assert!((right.reading[0].to_degrees() + 1.3).abs() < 1e-12);
    }
}
