//! Cars that may be the one that was read, drawn at random: what only one of them says of the others is its own.

use nalgebra::DVector;
use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_pcg::Pcg64;

use super::known::KnownCar;
use super::model::Model;
use super::weight::Weight;

/// So many are drawn for one that is kept.
const FOR_ONE: usize = 6;

impl Model<'_> {
    /// So many cars that may be this one, before anything is read of it, each with what its own slopes say; none where its points
    /// are known so well that one speaks for all.
    ///
    /// They are drawn from what the slopes of the likeliest car make of what is taken for granted. With what that is off at each,
    /// it counts (`w = p(z) / q(z)`, importance sampling), and those that are kept are picked in even steps of these weights.
    pub(crate) fn drawn(&self, count: usize) -> Vec<KnownCar<'_>> {
        let zero = DVector::zeros(self.count());
        let here = (!self.travel.is_empty()).then(|| self.there(&[], &zero)).flatten();
        let Some((here, weights)) =
            here.and_then(|here| Weight::of(&here.slopes, here.granted).map(|of| (here, of)))
        else {
            return Vec::new();
        };
        let mut random = Pcg64::new(3, 5);
        let mut normal = |count: usize| DVector::from_fn(count, |_, _| StandardNormal.sample(&mut random));
        let mut drawn = Vec::new();
        let mut sum = 0.0;
        for _ in 0..count * FOR_ONE {
            let [z, error] = [self.count(), here.misfits.len()].map(&mut normal);
            let told = here.slopes.back(&weights.solve(&(here.slopes.times(&z) + error)));
            let z = z - told;
            let Some(there) = self.there(&[], &z) else { continue };
            let straight = here.slopes.times(&z).norm_squared();
            let counts = (0.5 * (straight - there.misfits.norm_squared())).exp();
            sum += counts;
            drawn.push((z, there, sum));
        }
        let first: f64 = StandardUniform.sample(&mut random);
        #[expect(clippy::cast_precision_loss, reason = "a handful of cars")]
        let mut steps = (0..count).map(|i| (i as f64 + first) / count as f64 * sum).peekable();
        let mut kept = Vec::new();
        for (z, there, until) in drawn {
            let mut times = 0;
            while steps.next_if(|step| *step < until).is_some() {
                times += 1;
            }
            if times > 0
                && let Some(weight) = Weight::of(&there.slopes, there.granted)
            {
                let known = KnownCar::new(self, Vec::new(), z, there, weight);
                kept.extend(std::iter::repeat_n(known, times));
            }
        }
        kept
    }
}
