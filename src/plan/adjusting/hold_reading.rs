//! Whole steps of some arms that leave the wheel nearest to what it reads already.

use super::adjust::{AdjustedSide, Adjuster, AdjusterEnd, AdjusterPart, Means, SettingQuestion};
use super::whole_steps::{Lattice, Scale, to_steps};
use crate::car::{PerLink, Setup, Side, Spec};
use crate::geometry::{Angles, DEGREE, Ground};
use crate::plan::wheel::{NoPosition, Reading, forward};

/// How much camber counts as much as how much toe where the profile has no spec: half a degree and three minutes, as specs have
/// it (common practice, no source), rad.
const USUAL: [f64; 2] = [0.5 * DEGREE, 0.05 * DEGREE];
/// As many arms are rounded together; any further one takes its own nearest step.
const TOGETHER: usize = 3;

/// Arms of a side that are to keep its wheel where it is.
pub(crate) struct Keep<'a> {
    pub(crate) side: &'a Side,
    pub(crate) ground: &'a Ground,
    pub(crate) drop: f64,
    /// The links as they will be, these arms at the lengths that keep the wheel exactly.
    pub(crate) exact: Setup,
    /// The lengths from which steps are counted.
    pub(crate) from: PerLink<f64>,
    /// The links whose arms are set, each with an arm.
    pub(crate) links: &'a [usize],
    /// What it reads.
    pub(crate) reads: Reading,
}

impl Keep<'_> {
    /// Steps of each arm, those of a side chosen together: nearest by the root of the sum of squares in tolerances. An arm that
    /// would have to pass its end stays at the last whole step before it, and the others make the best of that.
    ///
    /// # Errors
    ///
    /// [`NoPosition`] where no choice of steps goes together.
    pub(crate) fn steps(&self) -> Result<Vec<i32>, NoPosition> {
        let Self { side, ground, drop, exact, from, links, .. } = self;
        let spec = self.spec();
        let (together, alone) = links.split_at(links.len().min(TOGETHER));
        let mut setup = Setup { pivots: exact.pivots, lengths: *from };
        let mut nearest = *exact;
        let single: Vec<i32> = alone.iter().map(|&link| self.alone(link)).collect();
        for (&link, steps) in alone.iter().zip(&single) {
            let length = from[link] + f64::from(*steps) * self.step(link);
            (setup.lengths[link], nearest.lengths[link]) = (length, length);
        }
        let of = |&link: &usize| Adjuster { link, means: Means::Arm(self.ends(link)), sets: None };
        let adjusters: Vec<Adjuster> = together.iter().map(of).collect();
        let (values, stops): (Vec<f64>, Vec<Option<AdjusterEnd>>) =
            together.iter().map(|&link| self.stop(link)).unzip();
        for (&link, value) in together.iter().zip(&values) {
            nearest.lengths[link] = *value;
        }
        let question = SettingQuestion {
            side,
            ground,
            drop: *drop,
            setup: &setup,
            spec: &spec,
            adjusters: &adjusters,
            offset: Angles::default(),
            only: None,
        };
        let position = forward(side, &nearest, *drop)?;
        let parts =
            stops.into_iter().map(|stop| stop.map_or(AdjusterPart::Within, AdjusterPart::Stopped)).collect();
        let adjusted = AdjustedSide { setup: nearest, position, values, parts };
        let weights = [1.0 / spec.camber_tolerance, 1.0 / spec.toe_tolerance, 0.0];
        let scale = Scale { weights, spec_is_met: false };
        let chosen = Lattice::measured_by(question, &adjusted, scale)?.best()?.steps;
        Ok(chosen.into_iter().chain(single).collect())
    }

    /// To stay as it is, in the tolerances of the spec.
    fn spec(&self) -> Spec {
        let [camber, toe] = [self.reads.camber_deg, self.reads.toe_deg].map(f64::to_radians);
        let own = self.side.spec.map(|spec| [spec.camber_tolerance, spec.toe_tolerance]);
        let [camber_tolerance, toe_tolerance] = own.unwrap_or(USUAL);
        Spec { camber, camber_tolerance, toe, toe_tolerance, pitch: 0.0 }
    }

    fn ends(&self, link: usize) -> [f64; 2] {
        self.side.links[link].arm.as_ref().map_or([self.from[link]; 2], |arm| arm.range().ends)
    }

    fn step(&self, link: usize) -> f64 {
        self.side.links[link].arm.as_ref().map_or(0.0, |arm| arm.step * arm.lead())
    }

    /// The exact length, or the end at which the arm stops.
    fn stop(&self, link: usize) -> (f64, Option<AdjusterEnd>) {
        let ([low, high], exact) = (self.ends(link), self.exact.lengths[link]);
        match () {
            () if exact < low => (low, Some(AdjusterEnd::Low)),
            () if exact > high => (high, Some(AdjusterEnd::High)),
            () => (exact, None),
        }
    }

    /// The whole step nearest to the exact length of an arm by itself, within its ends.
    fn alone(&self, link: usize) -> i32 {
        let at = |length: f64| (length - self.from[link]) / self.step(link);
        let [low, high] = self.ends(link).map(at);
        to_steps(at(self.exact.lengths[link]).round().min(high.floor()).max(low.ceil()))
    }
}
