//! The spread against the exact solution: each derivative by central differences, and the whole by sampling.

use approx::assert_relative_eq;
use nalgebra::Vector3;
use proptest::prelude::*;
use rodset::car::{Car, Errors, Hand, Measurand, PerSide, Setup, Side, Sigmas, Stance};
use rodset::geometry::{Figure, Ground, Wheel};
use rodset::measure::{SIGMAS_OF_95, Source, spread};
use rodset::plan::{Fitting, Interval, Sampling, forward, lower, plan, sample_lower, sample_plan};

use crate::layout::{config, layouts};

/// What a real car would read that differs from the measured one by one error: its stock lengths are its own, its arms are
/// matched to them and turned by `turned` mm. The ground is that of the measured car.
fn reading(side: &Side, stance: &Stance, turned: &[f64; 5]) -> [f64; 2] {
    let mut setup = Setup::as_found(side);
    for (length, turned) in setup.lengths.iter_mut().zip(turned) {
        *length += turned;
    }
    let pose = forward(side, &setup, stance.drop(side.hand)).expect("a little different").pose;
    [Figure::Camber, Figure::Toe].map(|figure| figure.value(&pose, &side.wheel, &stance.ground(side.hand)))
}

/// The side with one coordinate or reading changed.
fn changed(
    car: &Car,
    hand: Hand,
    stance: &Stance,
    turned: &[f64; 5],
    source: Source,
    axis: usize,
    by: f64,
) -> (Side, Stance, [f64; 5]) {
    let mut side = car.sides[hand].clone();
    let (mut drops, mut front, mut turned) = (stance.drops, stance.front, *turned);
    let shift = Vector3::ith(axis, by);
    match source {
        Source::Measured(Measurand::Subframe(i)) => side.links[i].subframe += shift,
        Source::Measured(Measurand::Knuckle(i)) => side.links[i].knuckle += shift,
        Source::Measured(Measurand::Centre) => side.wheel.centre += shift,
        Source::Measured(Measurand::Camber) => side.reading.camber += by,
        Source::Measured(Measurand::Toe) => side.reading.toe += by,
        Source::Drop => match axis {
            0 => drops[hand] += by,
            1 => drops[hand.other()] += by,
            _ => front = front.map(|front| front + by),
        },
        Source::Preset(i) => turned[i] += by,
    }
    side.wheel = Wheel::reading(side.wheel.centre, side.reading.camber, side.reading.toe);
    (side, Stance::new(car, drops, front).expect("the layouts have a wheelbase"), turned)
}

/// Sampling the exact solution: the linear spread has the right size, and its 95 of 100 hold between 93 and 97.
#[test]
fn bands_hold_what_they_promise() {
    use rand_distr::{Distribution, Normal};

    let car = rodset::profile::read(include_str!("../examples/tansy-wharf.toml"))
        .expect("the example is sound")
        .car;
    let (side, turned) = (&car.sides.left, [5.75, 0.0, 0.0, 0.0, 0.0]);
    let stance = Stance::new(&car, [40.0; 2], None).expect("no front drop");
    let mut setup = Setup::as_found(side);
    setup.lengths[0] += turned[0];
    let position = forward(side, &setup, 40.0).expect("within travel");
    let sigmas = Sigmas::default();
    let linear = spread(side, &stance, &setup, &position, &[0, 1], &sigmas);
    let expected = [Figure::Camber, Figure::Toe]
        .map(|figure| figure.value(&position.pose, &side.wheel, &Ground::level()));

    let mut random = rand_pcg::Pcg64::new(20_260_701, 7);
    let normal = |sigma: f64| Normal::new(0.0, sigma).expect("a positive sigma");
    let (points, preset) = (normal(sigmas.point), normal(sigmas.preset));
    let samples = 20_000;
    let (mut inside, mut squares) = ([0; 2], [0.0; 2]);
    for _ in 0..samples {
        let (mut car_side, mut turned) = (side.clone(), turned);
        for link in &mut car_side.links {
            link.subframe += Vector3::from_fn(|_, _| points.sample(&mut random));
            link.knuckle += Vector3::from_fn(|_, _| points.sample(&mut random));
        }
        car_side.wheel.centre += Vector3::from_fn(|_, _| points.sample(&mut random));
        car_side.reading.camber += normal(sigmas.camber).sample(&mut random);
        car_side.reading.toe += normal(sigmas.toe).sample(&mut random);
        car_side.wheel = Wheel::reading(car_side.wheel.centre, car_side.reading.camber, car_side.reading.toe);
        let drops = [0, 1].map(|_| 40.0 + normal(sigmas.drop).sample(&mut random));
        let stance = Stance::new(&car, drops, None).expect("no front drop");
        turned[0] += preset.sample(&mut random);
        turned[1] += preset.sample(&mut random);
        let read = reading(&car_side, &stance, &turned);
        for (i, sigma) in linear.sigmas().iter().enumerate() {
            let off = read[i] - expected[i];
            squares[i] += off * off;
            inside[i] += usize::from(off.abs() <= SIGMAS_OF_95 * sigma);
        }
    }
    for (i, sigma) in linear.sigmas().iter().enumerate() {
        let sampled = (squares[i] / f64::from(samples)).sqrt();
        assert_relative_eq!(sampled, *sigma, max_relative = 0.03);
        #[expect(clippy::cast_precision_loss, reason = "a count")]
        let part = inside[i] as f64 / f64::from(samples);
        assert!((0.93..=0.97).contains(&part), "{part} of figure {i} lie inside");
    }
}

/// Sampling agrees with the linear bands where they are nearly straight, is the same for the same seed, whatever thread draws
/// which car, and another for another.
#[test]
fn sampling_agrees_with_the_linear_bands() {
    let car = rodset::profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let stance = Stance::new(&car, [30.0, 36.0], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("the example has a spec"));
    let fitting = Fitting::default();
    let answer = plan(&car, &stance, &specs, &fitting).expect("within travel");
    let sampling = Sampling { samples: 20_000, seed: 5 };
    let sampled =
        sample_plan(&car, &stance, &specs, &fitting, &answer, sampling, &|| {}).expect("within travel");
    let half = |interval: &Interval| (interval.high - interval.low) / 2.0;
    for (side, planned) in sampled.sides.as_ref().expect("within travel").iter().zip(&answer.sides) {
        assert_relative_eq!(half(&side.camber_deg), planned.band.camber_deg, max_relative = 0.04);
        assert_relative_eq!(half(&side.toe_deg), planned.band.toe_deg, max_relative = 0.04);
        assert_relative_eq!(side.camber_deg.middle, planned.result.reading.camber_deg, epsilon = 0.02);
        for (arm, planned) in side.arms.iter().zip(&planned.arms) {
            assert_relative_eq!(half(&arm.correction_turns), planned.band.turns, max_relative = 0.04);
        }
    }
    let lowered = lower(&car, &stance).expect("within travel");
    let lowered_cars = |sampling| sample_lower(&car, &stance, sampling, &|| {}).expect("within travel");
    let of_lower = lowered_cars(sampling);
    for (side, lowered) in of_lower.sides.as_ref().expect("within travel").iter().zip(&lowered.sides) {
        assert_relative_eq!(half(&side.camber_deg), lowered.band.camber_deg, max_relative = 0.04);
        assert_relative_eq!(half(&side.toe_deg), lowered.band.toe_deg, max_relative = 0.04);
    }
    // The two wheels' own chances, from the linear bands, hold the chance of both between them.
    let both = sampled.within_spec.expect("a plan has a spec");
    let PerSide { left, right } = answer.sides.each(|side| side.probability_within_spec);
    assert!(both <= left.min(right) + 0.01 && both >= left + right - 1.01, "{both} of {left} and {right}");

    let again = Sampling { samples: 500, seed: 5 };
    assert_eq!(lowered_cars(again), lowered_cars(again));
    let other = Sampling { seed: 6, ..again };
    assert_ne!(lowered_cars(again).sides, lowered_cars(other).sides);
}

/// Play of the bolts counts like two readings anywhere within it.
#[test]
fn slack_widens_the_preset() {
    let sigmas = Sigmas { preset: 0.4, slack: 2.4, ..Sigmas::default() };
    // Two rectangular laws of width 2.4 have a variance of 2 * 2.4^2 / 12 = 0.96.
    assert_relative_eq!(sigmas.matching(), (0.16_f64 + 0.96).sqrt(), max_relative = 1e-12);
}

proptest! {
    #![proptest_config(config(60))]

    #[test]
    fn every_share_is_the_slope_of_the_exact_reading(
        layout in layouts(), drops in [-30.0..50.0, -30.0..50.0], front in -30.0..50.0, right in any::<bool>(), upper in -6.0..6.0, toe in -3.0..3.0,
    ) {
        let mut car = layout.car();
        let unit = Sigmas {
            point: 1.0,
            mirror: 0.0,
            camber: 1.0,
            toe: 1.0,
            drop: 1.0,
            preset: 1.0,
            slack: 0.0,
        };
        let hand = Hand::BOTH[usize::from(right)];
        car.sides[hand].errors = Errors::independent(&unit);
        let side = &car.sides[hand];
        let turned = [upper, toe, 0.0, 0.0, 0.0];
        let stance = Stance::new(&car, drops, Some(front)).expect("the layouts have a wheelbase");
        let mut setup = Setup::as_found(side);
        setup.lengths[0] += upper;
        setup.lengths[1] += toe;
        let Ok(position) = forward(side, &setup, stance.drop(hand)) else {
            return Err(TestCaseError::reject("no position"));
        };
        prop_assume!(position.condition < 60.0);
        let spread = spread(side, &stance, &setup, &position, &[0, 1], &unit);
        let shares: Vec<_> = spread.sources().map(|source| (source, spread.share(source))).collect();
        assert_eq!(shares.len(), 5 * 2 + 2 + 4);
        for (source, share) in &shares {
            let axes = match source {
                Source::Measured(measurand) => measurand.place().len(),
                Source::Drop => 3,
                Source::Preset(_) => 1,
            };
            let angle = matches!(source, Source::Measured(Measurand::Camber | Measurand::Toe));
            let step = if angle { 1e-4 } else { 0.01 };
            let mut expected = [0.0; 2];
            for axis in 0..axes {
                let at = |by: f64| {
                    let (side, stance, turned) = changed(&car, hand, &stance, &turned, *source, axis, by);
                    reading(&side, &stance, &turned)
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
