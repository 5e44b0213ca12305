//! The spread against the exact solution: each derivative by central differences, and the whole by sampling.

use approx::assert_relative_eq;
use nalgebra::Vector3;
use proptest::prelude::*;
use rodset::car::{Errors, Measurand, Setup, Side, Sigmas};
use rodset::geometry::{Figure, Ground, Wheel};
use rodset::measure::{SIGMAS_OF_95, Source, spread};
use rodset::plan::forward;

use crate::layout::{config, layouts};

/// What a real car would read that differs from the measured one by one error: its stock lengths are its own, its arms are
/// matched to them and turned by `turned` mm.
fn reading(side: &Side, drop: f64, turned: &[f64; 5], ground: &Ground) -> [f64; 2] {
    let mut setup = Setup::as_found(side);
    for (length, turned) in setup.lengths.iter_mut().zip(turned) {
        *length += turned;
    }
    let pose = forward(side, &setup, drop).expect("a little different").pose;
    [Figure::Camber, Figure::Toe].map(|figure| figure.value(&pose, &side.wheel, ground))
}

/// The side with one coordinate or reading changed.
fn changed(
    side: &Side,
    drop: f64,
    turned: &[f64; 5],
    source: Source,
    axis: usize,
    by: f64,
) -> (Side, f64, [f64; 5]) {
    let mut side = side.clone();
    let (mut drop, mut turned) = (drop, *turned);
    let shift = Vector3::ith(axis, by);
    match source {
        Source::Measured(Measurand::Subframe(i)) => side.links[i].subframe += shift,
        Source::Measured(Measurand::Knuckle(i)) => side.links[i].knuckle += shift,
        Source::Measured(Measurand::Centre) => side.wheel.centre += shift,
        Source::Measured(Measurand::Camber) => side.reading[0] += by,
        Source::Measured(Measurand::Toe) => side.reading[1] += by,
        Source::Drop => drop += by,
        Source::Preset(i) => turned[i] += by,
    }
    side.wheel = Wheel::reading(side.wheel.centre, side.reading[0], side.reading[1]);
    (side, drop, turned)
}

/// Sampling the exact solution: the linear spread has the right size, and its 95 of 100 hold between 93 and 97.
#[test]
fn bands_hold_what_they_promise() {
    use rand_distr::{Distribution, Normal};

    let car = rodset::profile::read(include_str!("../examples/tansy-wharf.toml"))
        .expect("the example is sound")
        .car;
    let (side, drop, turned) = (&car.sides[0], 40.0, [5.75, 0.0, 0.0, 0.0, 0.0]);
    let ground = Ground::level();
    let mut setup = Setup::as_found(side);
    setup.lengths[0] += turned[0];
    let position = forward(side, &setup, drop).expect("within travel");
    let sigmas = Sigmas::default();
    let linear = spread(side, &ground, &setup, &position, &[0, 1], &sigmas);
    let expected =
        [Figure::Camber, Figure::Toe].map(|figure| figure.value(&position.pose, &side.wheel, &ground));

    let mut random = rand_pcg::Pcg64::new(20_260_701, 7);
    let normal = |sigma: f64| Normal::new(0.0, sigma).expect("a positive sigma");
    let (points, preset) = (normal(sigmas.point), normal(sigmas.preset));
    let samples = 20_000;
    let (mut inside, mut squares) = ([0; 2], [0.0; 2]);
    for _ in 0..samples {
        let (mut car_side, mut drop, mut turned) = (side.clone(), drop, turned);
        for link in &mut car_side.links {
            link.subframe += Vector3::from_fn(|_, _| points.sample(&mut random));
            link.knuckle += Vector3::from_fn(|_, _| points.sample(&mut random));
        }
        car_side.wheel.centre += Vector3::from_fn(|_, _| points.sample(&mut random));
        car_side.reading[0] += normal(sigmas.camber).sample(&mut random);
        car_side.reading[1] += normal(sigmas.toe).sample(&mut random);
        car_side.wheel = Wheel::reading(car_side.wheel.centre, car_side.reading[0], car_side.reading[1]);
        drop += normal(sigmas.drop).sample(&mut random);
        turned[0] += preset.sample(&mut random);
        turned[1] += preset.sample(&mut random);
        let read = reading(&car_side, drop, &turned, &ground);
        for i in 0..2 {
            let off = read[i] - expected[i];
            squares[i] += off * off;
            inside[i] += usize::from(off.abs() <= SIGMAS_OF_95 * linear.sigmas()[i]);
        }
    }
    for i in 0..2 {
        let sampled = (squares[i] / f64::from(samples)).sqrt();
        assert_relative_eq!(sampled, linear.sigmas()[i], max_relative = 0.03);
        #[expect(clippy::cast_precision_loss, reason = "a count")]
        let part = inside[i] as f64 / f64::from(samples);
        assert!((0.93..=0.97).contains(&part), "{part} of figure {i} lie inside");
    }
}

proptest! {
    #![proptest_config(config(60))]

    #[test]
    fn every_share_is_the_slope_of_the_exact_reading(
        layout in layouts(), drop in -30.0..50.0, upper in -6.0..6.0, toe in -3.0..3.0,
    ) {
        let mut car = layout.car();
        let unit = Sigmas { point: 1.0, camber: 1.0, toe: 1.0, drop: 1.0, preset: 1.0, slack: 0.0 };
        car.sides[0].errors = Errors::independent(&unit);
        let side = &car.sides[0];
        let turned = [upper, toe, 0.0, 0.0, 0.0];
        let ground = Ground::tilted(0.01, -0.02);
        let mut setup = Setup::as_found(side);
        setup.lengths[0] += upper;
        setup.lengths[1] += toe;
        let Ok(position) = forward(side, &setup, drop) else {
            return Err(TestCaseError::reject("no position"));
        };
        prop_assume!(position.condition < 60.0);
        let spread = spread(side, &ground, &setup, &position, &[0, 1], &unit);
        let shares: Vec<_> = spread.sources().map(|source| (source, spread.share(source))).collect();
        assert_eq!(shares.len(), 5 * 2 + 2 + 4);
        for (source, share) in &shares {
            let axes = if let Source::Measured(measurand) = source { measurand.place().len() } else { 1 };
            let angle = matches!(source, Source::Measured(Measurand::Camber | Measurand::Toe));
            let step = if angle { 1e-4 } else { 0.01 };
            let mut expected = [0.0; 2];
            for axis in 0..axes {
                let at = |by: f64| {
                    let (side, drop, turned) = changed(side, drop, &turned, *source, axis, by);
                    reading(&side, drop, &turned, &ground)
                };
                let [plus, minus] = [at(step), at(-step)];
                for (sum, (plus, minus)) in expected.iter_mut().zip(plus.into_iter().zip(minus)) {
                    *sum += ((plus - minus) / (2.0 * step)).powi(2);
                }
            }
            for (found, expected) in share.iter().zip(expected) {
                assert_relative_eq!(found.sqrt(), expected.sqrt(), epsilon = 1e-8, max_relative = 1e-5);
            }
        }
        // The diagonal is the sum of the shares.
        let [camber, toe] = [0, 1].map(|i| shares.iter().map(|(_, share)| share[i]).sum::<f64>());
        assert_relative_eq!(spread.covariance[(0, 0)], camber, max_relative = 1e-12);
        assert_relative_eq!(spread.covariance[(1, 1)], toe, max_relative = 1e-12);
    }
}
