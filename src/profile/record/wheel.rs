//! What was read on the wheels.

use toml::Spanned;

use super::schema::{Reading, Source, Wheel};
use crate::car::{Car, Side, Sigmas};
use crate::measure::{Measured, WheelReading};
use crate::profile::Quantity;
use crate::profile::check::{Checker, DEGREE};
use crate::profile::finding::Finding;
use crate::profile::schema::Value;

/// What was read on both wheels.
pub(super) struct Wheels {
    pub(super) wheels: [WheelReading; 2],
    pub(super) total_toe: Option<Measured>,
}

/// Standard deviations of camber and of the toe of one wheel, rad.
#[derive(Clone, Copy)]
struct Usual {
    camber: f64,
    toe: f64,
}

impl Usual {
    /// What is usual for a source; without one, what the profile says of its own readings.
    ///
    /// Common practice, no source: a rack repeats to about 0.1 degree with the car driven off and on again; strings give toe
    /// to 0.07 degree of 95 in 100 with care; a gauge on the wheel gives camber to 0.15, and its toe is that of a tape.
    fn of(source: Option<Source>, sigmas: &Sigmas) -> Self {
        let [camber, toe] = match source {
            Some(Source::Rack) => [0.05, 0.03],
            Some(Source::Strings) => [0.08, 0.04],
            Some(Source::Gauge) => [0.08, 0.06],
            None => return Self { camber: sigmas.camber, toe: sigmas.toe },
        };
        Self { camber: camber * DEGREE, toe: toe * DEGREE }
    }
}

impl Checker {
    /// Camber and toe of both wheels, or what there is of them; `None` where some of it is unsound.
    pub(super) fn wheels(&mut self, reading: &Spanned<Reading>, car: &Car) -> Option<Wheels> {
        let keys = reading.get_ref();
        let usual = Usual::of(keys.source.as_ref().map(|source| *source.get_ref()), &car.sigmas);
        let tables = [&keys.left, &keys.right];
        let [left, right] = [0, 1].map(|i| match tables[i] {
            Some(wheel) => self.wheel_reading(wheel.get_ref(), &car.sides[i], usual),
            None => Some(WheelReading::default()),
        });
        let total = self.total_toe(keys, car, usual);
        let (wheels, total_toe) = ([left?, right?], total?);
        if total_toe.is_none() && wheels.iter().all(|wheel| *wheel == WheelReading::default()) {
            self.tell(
                Finding::error(reading.span(), "nothing was read here")
                    .label("no camber, no toe")
                    .help("add `camber` and `toe` to [reading.left] and [reading.right], or `total_toe`"),
            );
            return None;
        }
        self.wheels_together(keys, &wheels);
        let total_toe = self.total_and_each(keys, &wheels, total_toe);
        Some(Wheels { wheels, total_toe })
    }

    fn wheel_reading(&mut self, keys: &Wheel, side: &Side, usual: Usual) -> Option<WheelReading> {
        let camber = keys.camber.as_ref().map(|value| self.camber(value));
        let camber_sigma = self.sigma(&keys.camber_sigma, &keys.camber, "camber", None);
        let toe = keys.toe.as_ref().map(|value| self.toe(value, side.rim_diameter));
        let toe_sigma = self.sigma(&keys.toe_sigma, &keys.toe, "toe", Some(side.rim_diameter));
        let (camber_sigma, toe_sigma) = (camber_sigma?, toe_sigma?);
        Some(WheelReading {
            camber: measured(camber, camber_sigma.unwrap_or(usual.camber))?,
            toe: measured(toe, toe_sigma.unwrap_or(usual.toe))?,
        })
    }

    /// The total, rad, if it was given.
    #[expect(clippy::option_option, reason = "none given, or given and unsound")]
    fn total_toe(&mut self, keys: &Reading, car: &Car, usual: Usual) -> Option<Option<Measured>> {
        let rim = car.sides[0].rim_diameter;
        // A total in mm is the sum over both rims.
        let total = keys.total_toe.as_ref().map(|value| Some(2.0 * self.toe_of_total(value, rim)?));
        let sigma = self.sigma(&keys.total_toe_sigma, &keys.total_toe, "total_toe", Some(rim))?;
        measured(total, sigma.unwrap_or(std::f64::consts::SQRT_2 * usual.toe))
    }

    /// A standard deviation that was given, rad; `rim` where it is one of toe.
    #[expect(clippy::option_option, reason = "none given, or given and unsound")]
    fn sigma(
        &mut self,
        value: &Value,
        of: &Value,
        key: &str,
        rim: Option<Option<f64>>,
    ) -> Option<Option<f64>> {
        /// More than any gauge or tape is off, rad.
        const ODD: f64 = 0.5 * DEGREE;
        let Some(value) = value else { return Some(None) };
        if of.is_none() {
            self.tell(
                Finding::error(value.span(), "a standard deviation of what?")
                    .label(format!("there is no `{key}` beside it")),
            );
            return None;
        }
        let angle = match rim {
            Some(rim) => self.accept(value, value.get_ref().toe(rim))?,
            None => self.angle(value)?,
        };
        let angle = self.above_zero(value, angle, "a standard deviation")?;
        if angle > ODD {
            self.tell(
                Finding::warning(value.span(), "with so large a standard deviation a reading says little")
                    .label(format!("{:.2} degrees", angle.to_degrees()))
                    .help("a bare number is degrees; minutes are written \"3'\""),
            );
        }
        Some(Some(angle))
    }

    /// Readings of the two wheels that hardly belong to one car.
    fn wheels_together(&mut self, keys: &Reading, wheels: &[WheelReading; 2]) {
        if let [Some(left), Some(right)] = wheels.map(|wheel| wheel.camber)
            && let Some(place) = place(keys.right.as_ref(), |wheel| &wheel.camber)
        {
            self.cambers_apart([left.value, right.value], place.span());
        }
    }

    /// The total beside what each wheel reads; it is of use only where one of the wheels was not read.
    fn total_and_each(
        &mut self,
        keys: &Reading,
        wheels: &[WheelReading; 2],
        total: Option<Measured>,
    ) -> Option<Measured> {
        /// So many standard deviations are no chance.
        const FAR: f64 = 4.0;
        let total = total?;
        let [Some(left), Some(right)] = wheels.map(|wheel| wheel.toe) else { return Some(total) };
        let off = total.value - left.value - right.value;
        let sigma = total.sigma.hypot(left.sigma).hypot(right.sigma);
        if off.abs() > FAR * sigma
            && let Some(value) = &keys.total_toe
        {
            let each_is_total = wheels
                .iter()
                .filter_map(|wheel| wheel.toe)
                .all(|toe| (toe.value - total.value).abs() < off.abs() / 4.0);
            let help = if each_is_total {
                "is the total given for each wheel? `toe` is that of one wheel alone"
            } else {
                "the total is the sum of both; minutes are written \"0°17'\", which is 0.28 degree"
            };
            self.tell(
                Finding::warning(value.span(), "the total toe is not that of the two wheels")
                    .label(format!(
                        "{:.2} degrees; left and right together are {:.2}",
                        total.value.to_degrees(),
                        (left.value + right.value).to_degrees()
                    ))
                    .help(help),
            );
        }
        None
    }
}

/// A value with its deviation, if it was given.
#[expect(clippy::option_option, reason = "none given, or given and unsound")]
fn measured(value: Option<Option<f64>>, sigma: f64) -> Option<Option<Measured>> {
    match value {
        Some(value) => Some(Some(Measured { value: value?, sigma })),
        None => Some(None),
    }
}

fn place(wheel: Option<&Spanned<Wheel>>, pick: impl Fn(&Wheel) -> &Value) -> Option<&Spanned<Quantity>> {
    wheel.and_then(|wheel| pick(wheel.get_ref()).as_ref())
}
