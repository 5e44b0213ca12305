//! What the heap is asked for: nothing, where a wheel is solved.

use allocation_counter::{AllocationInfo, measure};
use rodset::car::{Setup, Stance};
use rodset::geometry::{Figure, Pose, Rise, Row, solve, solve_four};
use rodset::measure::{Measured, Round, Sampler, fit};
use rodset::profile;

fn allocations(work: impl FnOnce()) -> u64 {
    let AllocationInfo { count_total, .. } = measure(work);
    count_total
}

#[test]
fn a_wheel_is_solved_without_the_heap() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let side = &car.sides.left;
    let (setup, start) = (Setup::as_found(side), side.reference());
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");

    let forward = allocations(|| {
        let position = solve(&setup.rows(side, 40.0), &start).expect("within travel");
        assert!(position.certificate().is_some());
        assert!(Rise::of(&position).shift.z > 0.99);
    });
    assert_eq!(forward, 0, "forward, with its certificate and its second derivatives");

    let inverse = allocations(|| {
        let mut rows = setup.rows(side, 40.0);
        for (figure, target) in [(Figure::Camber, -0.02), (Figure::Toe, 0.002)] {
            let link =
                side.links.iter().position(|link| link.sets == Some(figure)).expect("the example sets both");
            rows[link] = Row::reads(figure, &side.wheel, &stance.ground(side.hand), target);
        }
        let position = solve(&rows, &start).expect("within travel");
        let camber = Figure::Camber.value(&position.pose, &side.wheel, &stance.ground(side.hand));
        assert!((camber + 0.02).abs() < 1e-12);
    });
    assert_eq!(inverse, 0, "inverse");

    let four = allocations(|| {
        let rows = setup.rows(side, 40.0).each_ref().map(|row| Row::together([row; 4]).expect("of one kind"));
        assert!(solve_four(&rows, &Pose::together([&start; 4])).is_some());
    });
    assert_eq!(four, 0, "four at once");
}

#[test]
fn a_car_is_drawn_without_the_heap() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let sampler = Sampler::new(&car, &stance, 1);
    let drawn = allocations(|| assert!(sampler.draw(7).is_some()));
    assert_eq!(drawn, 0);
}

/// The counter counts: a position that is not reached is told in a box.
#[test]
fn what_is_stuck_is_told_in_one_box() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let side = &car.sides.left;
    let rows = Setup::as_found(side).rows(side, 500.0);
    assert_eq!(allocations(|| assert!(solve(&rows, &side.reference()).is_err())), 1);
}

/// As many readings as a record may hold, each at a height of its own: the memory that they take grows as they do, and not as their square.
#[test]
fn a_full_record_is_fitted_in_little_memory() {
    const MOST: u64 = 30_000_000;
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let rounds: Vec<Round> = (0..500_i32)
        .map(|i| {
            let drop = 0.1 * f64::from(i % 400);
            let read =
                |deg: f64, sigma: f64| Some(Measured { value: deg.to_radians(), sigma: sigma.to_radians() });
            let mut round = Round { drops: [drop; 2].into(), drop_sigma: Some(1.0), ..Round::default() };
            for wheel in &mut round.wheels {
                wheel.camber = read(-1.1 - 0.021 * drop + 0.001 * f64::from(i % 7), 0.1);
                wheel.toe = read(0.1 + 0.001 * drop + 0.0005 * f64::from(i % 5), 0.05);
            }
            round
        })
        .collect();
    let taken = measure(|| {
        let fitted = fit(&car, &rounds).expect("it fits");
        assert_eq!(fitted.readings.len(), 2000);
    });
    assert!(taken.bytes_max < MOST, "{} bytes at once", taken.bytes_max);
}
