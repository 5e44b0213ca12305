//! What was read on the two wheels together.

use toml::Spanned;

use super::schema::Reading;
use super::{Means, Told, Worked};
use crate::car::{Car, PerSide};
use crate::measure::{Measured, WheelReading, Workings};
use crate::profile::check::{Checker, DEGREE};
use crate::profile::finding::Finding;

/// So many standard deviations are no chance.
const FAR: f64 = 4.0;

/// What was read on both wheels.
pub(super) struct Figures {
    pub(super) wheels: [WheelReading; 2],
    pub(super) total_toe: Option<Measured>,
    pub(super) workings: Workings,
}

impl Checker {
    /// Camber and toe of both wheels, or what there is of them.
    pub(super) fn wheels(
        &mut self,
        reading: &Spanned<Reading>,
        car: &Car,
        means: &Means,
    ) -> Result<Figures, Told> {
        let keys = reading.get_ref();
        let toes = self.toes(keys, car, means);
        let known = toes.as_ref().map_or([0.0; 2], |toes| {
            toes.wheels.each_ref().map(|toe| toe.as_ref().map_or(0.0, |toe| toe.angle.value))
        });
        let cambers = self.cambers(keys, car, means, known);
        let (toes, cambers) = (toes?, cambers?);
        let angle = |worked: &Option<Worked>| worked.as_ref().map(|worked| worked.angle);
        let wheels =
            [0, 1].map(|i| WheelReading { camber: angle(&cambers.wheels[i]), toe: angle(&toes.wheels[i]) });
        let total = angle(&toes.total);
        if total.is_none() && wheels.iter().all(|wheel| *wheel == WheelReading::default()) {
            self.tell(
                Finding::error(reading.span(), "nothing was read here")
                    .label("no camber, no toe")
                    .help("add `camber` and `toe` to [reading.left] and [reading.right], or `total_toe`"),
            );
            return Err(Told);
        }
        if let [Some(left), Some(right)] = &cambers.wheels {
            self.cambers_apart([left.angle.value, right.angle.value], right.place.clone());
        }
        if let [Some(left), Some(right)] = &toes.wheels {
            match &toes.total {
                Some(total) => self.total_and_each(total, [left, right]),
                None => self.total_for_each(car, [left, right]),
            }
        }
        let run_out = |worked: &Option<Worked>| worked.as_ref().and_then(|worked| worked.run_out);
        let workings = Workings {
            floor: cambers.floor,
            run_out: [0, 1].map(|i| [run_out(&cambers.wheels[i]), run_out(&toes.wheels[i])]).into(),
            camber_covariance: cambers.covariance,
            toe_covariance: toes.covariance,
        };
        // The total is of use only where one of the wheels was not read.
        let both = wheels.iter().all(|wheel| wheel.toe.is_some());
        Ok(Figures { wheels, total_toe: total.filter(|_| !both), workings })
    }

    /// A total that is not the sum of the two wheels.
    fn total_and_each(&mut self, total: &Worked, wheels: [&Worked; 2]) {
        let [left, right] = wheels.map(|wheel| wheel.angle);
        let off = total.angle.value - left.value - right.value;
        let sigma = total.angle.sigma.hypot(left.sigma).hypot(right.sigma);
        if off.abs() <= FAR * sigma {
            return;
        }
        let is_total = |toe: Measured| (toe.value - total.angle.value).abs() < off.abs() / 4.0;
        let help = if is_total(left) && is_total(right) {
            "is the total given for each wheel? `toe` is that of one wheel alone"
        } else {
            "the total is the sum of both; minutes are written \"0°17'\", which is 0.28 degree"
        };
        self.tell(
            Finding::warning(total.place.clone(), "the total toe is not that of the two wheels")
                .label(format!(
                    "{:.2} degrees; left and right together are {:.2}",
                    total.angle.value.to_degrees(),
                    (left.value + right.value).to_degrees()
                ))
                .help(help),
        );
    }

    /// Two wheels that each read the total of the spec, to the digit.
    fn total_for_each(&mut self, car: &Car, wheels: [&Worked; 2]) {
        const SAME: f64 = 0.005 * DEGREE;
        let [left, right] = wheels.map(|wheel| wheel.angle.value);
        let Some(PerSide { left: spec, right: other }) = car.sides.each(|side| side.spec).all() else {
            return;
        };
        let total = spec.toe + other.toe;
        let out = (left - spec.toe).abs() > spec.toe_tolerance;
        if out && (left - right).abs() < SAME && (left - total).abs() < SAME {
            self.tell(
                Finding::warning(wheels[1].place.clone(), "each wheel reads the total of the spec")
                    .label(format!("{:.2} degrees; the spec has that for both together", right.to_degrees()))
                    .help("is the total given for each wheel? `toe` is that of one wheel alone, `total_toe` that of both"),
            );
        }
    }
}
