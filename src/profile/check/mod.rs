//! From the shape of a file to a car with no invalid state. Collects everything that is wrong before it stops.

mod arm;
mod bar;
mod bolt;
mod checker;
mod errors;
mod joint;
mod keepout;
mod layout;
mod length;
mod link;
mod load;
mod member;
mod names;
mod optional;
mod plausible;
mod section;
mod spring;
mod taken_over;
mod tyre;
mod value;
mod wheel;

use toml::Spanned;

use self::wheel::Rolling;
use super::finding::{Finding, Remedy};
use super::keys::{Car, Profile, Ride, Right, Spec, Typical};
use super::layers::Layers;
use crate::car::{self, AxleLimits, Hand, Hold, Link, PerLink, PerSide, Side, Sigmas};
pub(super) use checker::Checker;

/// A car, and the keys of what its right side takes over from the left.
pub(super) type Sound = (car::Car, Vec<String>);

/// Checks a profile; with its car come the keys of what the right side takes over from the left.
///
/// # Errors
///
/// All findings, errors and warnings, if one of them is an error.
pub(super) fn check(profile: Profile) -> Result<(Sound, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker::default();
    check.members(&profile);
    let profile = &profile.spread();
    check.format(Profile::format.of(profile), "profile");
    let car = check.car(profile).map(|car| (car, taken_over::taken_over(profile)));
    check.conclude(car)
}

impl Checker {
    fn car(&mut self, profile: &Profile) -> Option<car::Car> {
        if let Some(span) = profile.survey_span() {
            self.tell(
                Finding::error(span, "this is a survey: its points are still to be worked out")
                    .remedy(Remedy::WorkOutSurvey),
            );
            return None;
        }
        let name = self.car_name(profile);
        let keys = Layers::alone(profile, Profile::car);
        let [to_lower, wheelbase, gravity_height, rear_brake_share] =
            [Car::drop, Car::wheelbase, Car::gravity_height, Car::rear_brake_share]
                .map(|slot| self.read(&keys, slot));
        let rear_steering = keys.get(Car::rear_steering).map(|(steered, _)| *steered.get_ref());
        let learnt = keys.get(Car::learnt).map_or(Vec::new(), |(learnt, _)| learnt.get_ref().clone());
        let axle = self.axle(profile);
        let loads = self.loads(profile);
        let sigmas = self.sigmas(profile);
        self.names(profile)?;
        let mut sides = PerSide::of(|hand| self.side(hand, profile, &sigmas)).all()?;
        let typical = Profile::typical.of(profile).map(Spanned::get_ref);
        let assumed = typical.and_then(|typical| Typical::assumed.of(typical));
        let assumed = assumed.map_or_else(Vec::new, |assumed| assumed.get_ref().clone());
        let between = self.together(&mut sides, profile, &sigmas, &assumed);
        self.readings(&sides, profile);
        self.keepouts(&mut sides, profile);
        Some(car::Car {
            name: name?,
            to_lower,
            wheelbase,
            gravity_height,
            rear_brake_share,
            rear_steering,
            sides,
            learnt,
            axle,
            loads,
            between: between?,
            sigmas,
            assumed,
        })
    }

    /// What a survey file shares with a profile: the car's name, the names of its links, and how well it was measured.
    pub(super) fn head(&mut self, profile: &Profile) -> Option<(String, Sigmas)> {
        self.format(Profile::format.of(profile), "survey");
        let name = self.car_name(profile);
        let sigmas = self.sigmas(profile);
        self.names(profile)?;
        Some((name?, sigmas))
    }

    fn car_name(&mut self, profile: &Profile) -> Option<String> {
        let keys = Layers::alone(profile, Profile::car);
        self.need(&keys, Car::name).and_then(|(name, _)| self.name(name))
    }

    fn axle(&mut self, profile: &Profile) -> AxleLimits {
        let keys = Layers::alone(profile, Profile::spec);
        let right = Profile::right.of(profile).map(Spanned::get_ref);
        if let Some(spec) = right.and_then(|right| Right::spec.of(right)) {
            for limit in [Spec::cross_camber, Spec::thrust_angle] {
                if let Some(span) = limit.span(spec.get_ref()) {
                    self.tell(
                        Finding::error(span, "this limit compares both wheels").help("put it in [spec]"),
                    );
                }
            }
        }
        let ride = right.and_then(|right| Right::ride.of(right));
        if let Some(span) = ride.and_then(|ride| Ride::loading.span(ride.get_ref())) {
            self.tell(Finding::error(span, "the car is loaded as a whole").help("put it in [ride]"));
        }
        let [cross_camber, thrust_angle] =
            [Spec::cross_camber, Spec::thrust_angle].map(|slot| self.read(&keys, slot));
        AxleLimits { cross_camber, thrust_angle }
    }

    fn side(&mut self, hand: Hand, profile: &Profile, sigmas: &Sigmas) -> Option<Side> {
        let right = match hand {
            Hand::Left => None,
            Hand::Right => Profile::right.of(profile).map(Spanned::get_ref),
        };
        let wheel = Layers::of((profile, Profile::wheel), right.map(|right| (right, Right::wheel)));
        let rolling = self.wheel(&wheel);
        let rim_diameter = rolling.as_ref().and_then(|rolling| rolling.rim_diameter);
        let ride = Layers::of((profile, Profile::ride), right.map(|right| (right, Right::ride)));
        let ride = self.ride(&ride);
        let keys = Layers::of((profile, Profile::spec), right.map(|right| (right, Right::spec)));
        let spec = if keys.exists() { self.spec(&keys, rim_diameter) } else { None };
        let links = Profile::link.all(profile).iter();
        let layers: Vec<_> = links.map(|link| Layers::of_link(link, right)).collect();
        let wheel_at = rolling.as_ref().map(|rolling| &rolling.wheel);
        let links: Vec<Option<Link>> =
            (0..layers.len()).map(|i| self.link(hand, wheel_at, (i, &layers), sigmas)).collect();
        for keys in &layers {
            self.beside_its_mirror_image(keys);
        }
        let errors = self.errors(&wheel, &layers, sigmas);
        let links: Option<Vec<Link>> = links.into_iter().collect();
        let links: PerLink<Link> = links?.try_into().ok()?;
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
        let before = self.findings.len();
        self.layout(&side, profile);
        if self.findings.len() == before {
            // The typical places are those of five rods.
            if side.links.iter().all(|link| matches!(link.hold, Hold::Rod | Hold::Leg(_))) {
                self.resembles(&side, &layers);
            }
            self.roles(&side, profile);
        }
        Some(side)
    }
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
        assert!((right.reading.camber.to_degrees() + 1.3).abs() < 1e-12);
    }
}
