//! Readings put into a car: simulated cars that are not quite what was measured.

use nalgebra::DVector;
use rand_distr::{Distribution, Normal, StandardNormal};
use rodset::car::{Car, Hand, Measurand, PerSide, Stance};
use rodset::geometry::Figure;
use rodset::measure::{Measured, Round, SIGMAS_OF_95, WheelReading, fit};
use rodset::plan::{Lowering, lower};

fn example() -> Car {
    rodset::profile::read(include_str!("../examples/tansy-wharf.toml")).expect("the example is sound").car
}

/// A car that may be the measured one: every number off by a normal error of its own deviation, both sides alike but for
/// their readings.
fn real_car(car: &Car, random: &mut rand_pcg::Pcg64) -> Car {
    let factor = car.sides.left.errors.covariance().clone().cholesky().expect("independent errors").l();
    let mut draw = || DVector::from_fn(Measurand::NUMBERS, |_, _| StandardNormal.sample(random));
    let [by, own]: [DVector<f64>; 2] = [draw(), draw()].map(|z: DVector<f64>| &factor * z);
    let mut real = car.clone();
    for (i, side) in real.sides.iter_mut().enumerate() {
        let mut numbers = side.numbers();
        for (place, number) in numbers.iter_mut().enumerate() {
            *number += if place >= 33 && i == 1 { own[place] } else { by[place] };
        }
        *side = side.with_numbers(&numbers);
    }
    real
}

fn figures(lowering: &Lowering) -> [f64; 4] {
    let PerSide { left, right } = lowering.sides.each(|side| side.lowered.reading);
    [left.camber_deg, left.toe_deg, right.camber_deg, right.toe_deg]
}

/// What is read on a car at some drops, with errors in the reading and in the height.
fn rounds(real: &Car, drops: &[f64], sigma_deg: f64, random: &mut rand_pcg::Pcg64) -> Vec<Round> {
    let noise = Normal::new(0.0, sigma_deg).expect("a positive deviation");
    let height = Normal::new(0.0, 1.0).expect("a positive deviation");
    (drops.iter())
        .map(|&drop| {
            let set = [drop + height.sample(random), drop + height.sample(random)];
            let stance = Stance::new(real, set, None).expect("no front drop");
            let read = figures(&lower(real, &stance).expect("within travel"));
            let mut measured = |deg: f64| {
                let value = (deg + noise.sample(random)).to_radians();
                Some(Measured { value, sigma: sigma_deg.to_radians() })
            };
            let wheels =
                [0, 2].map(|i| WheelReading { camber: measured(read[i]), toe: measured(read[i + 1]) });
            Round {
                drops: [drop; 2].into(),
                drop_sigma: Some(1.0),
                wheels: wheels.into(),
                ..Round::default()
            }
        })
        .collect()
}

/// After the fit, 95 bands of 100 hold what the real car reads at a height at which nothing was read, and they are narrower.
#[test]
fn bands_after_a_fit_hold_what_they_promise_and_are_narrower() {
    let car = example();
    let stance = Stance::new(&car, [45.0; 2], None).expect("no front drop");
    let before = lower(&car, &stance).expect("within travel");
    let mut random = rand_pcg::Pcg64::new(20_261_125, 3);
    let cars = 400;
    let (mut inside, mut off_before, mut off_after, mut narrower) = ([0; 4], [0.0; 4], [0.0; 4], 0.0);
    let mut standardized = Vec::new();
    for _ in 0..cars {
        let real = real_car(&car, &mut random);
        let fitted =
            fit(&car, &rounds(&real, &[-30.0, -15.0, 15.0, 30.0], 0.05, &mut random)).expect("it fits");
        standardized.extend(fitted.readings.iter().map(|reading| reading.standardized));
        let after = lower(&fitted.car, &stance).expect("within travel");
        let truth = figures(&lower(&real, &stance).expect("within travel"));
        let bands = after
            .sides
            .each(|side| [side.band.camber_deg, side.band.toe_deg])
            .into_iter()
            .flatten()
            .collect::<Vec<_>>();
        // The band of a prediction holds the error of the drop too, which this truth has not.
        let drop_alone = fitted
            .car
            .sides
            .each(|side| without_drop(side, &stance, &fitted.car))
            .into_iter()
            .flatten()
            .collect::<Vec<_>>();
        for i in 0..4 {
            let off = figures(&after)[i] - truth[i];
            inside[i] += usize::from(off.abs() <= drop_alone[i]);
            off_after[i] += off * off;
            off_before[i] += (figures(&before)[i] - truth[i]).powi(2);
        }
        narrower += bands[0] / before.sides.left.band.camber_deg / f64::from(cars);
    }
    for i in 0..4 {
        let [was, is] = [off_before[i], off_after[i]].map(|sum| (sum / f64::from(cars)).sqrt());
        println!("figure {i}: off by {was:.3} deg before, {is:.3} after; {} of {cars} inside", inside[i]);
        // 95 of 100, give or take three standard deviations of a count of 400.
        assert!((368..=393).contains(&inside[i]), "{} of {cars} of figure {i}", inside[i]);
        assert!(is < 0.6 * was, "figure {i}: {was} before, {is} after");
    }
    // Standardized misfits are what they say: of unit size, and hardly one of a thousand past the critical value.
    #[expect(clippy::cast_precision_loss, reason = "a count")]
    let count = standardized.len() as f64;
    let size = standardized.iter().map(|w| w * w).sum::<f64>() / count;
    let past = standardized.iter().filter(|w| w.abs() > 3.29).count();
    println!("standardized misfits: mean square {size:.3}, {past} of {count} past 3.29");
    assert!((0.93..1.07).contains(&size), "mean square {size}");
    assert!(past < 20, "{past} of {count}");
    assert!(narrower < 0.75, "bands of camber are {narrower} of what they were");
}

/// 95 percent half-widths of camber and toe for a drop that is exact, degrees.
fn without_drop(side: &rodset::car::Side, stance: &Stance, car: &Car) -> [f64; 2] {
    let setup = rodset::car::Setup::as_found(side);
    let position = rodset::plan::forward(side, &setup, stance.drop(side.hand)).expect("within travel");
    let sigmas = rodset::car::Sigmas { drop: 0.0, ..car.sigmas };
    let spread = rodset::measure::spread(side, stance, &setup, &position, &[], &sigmas);
    spread.sigmas().map(|sigma| (SIGMAS_OF_95 * sigma).to_degrees()).into()
}

/// With readings far better than the points, the fitted car gives them again.
#[test]
fn good_readings_are_met() {
    let car = example();
    let mut random = rand_pcg::Pcg64::new(7, 7);
    let real = real_car(&car, &mut random);
    let exact: Vec<Round> = (rounds(&real, &[-40.0, -20.0, 0.0, 20.0, 40.0], 1e-6, &mut random).into_iter())
        .map(|round| {
            let stance = Stance::new(&real, round.drops, None).expect("no front drop");
            let read = figures(&lower(&real, &stance).expect("within travel"));
            let measured = |i: usize| Some(Measured { value: read[i].to_radians(), sigma: 1e-6 });
            let wheels = [0, 2].map(|i| WheelReading { camber: measured(i), toe: measured(i + 1) });
            Round { drop_sigma: Some(1e-6), wheels: wheels.into(), ..round }
        })
        .collect();
    let fitted = fit(&car, &exact).expect("it fits");
    for reading in &fitted.readings {
        let off = reading.after_deg - reading.read_deg;
        assert!(off.abs() < 1e-3, "{reading:?}");
    }
    // What moved is within what the points may be off.
    assert!(fitted.moved[0].sigmas < 4.0, "{:?}", fitted.moved[0]);
    assert_eq!(fitted.moved.len(), 15);
    assert!(fitted.moved.iter().any(|moved| moved.measurand == Measurand::Camber));
    let stance = Stance::new(&real, [30.0; 2], None).expect("no front drop");
    let [fit, truth] = [&fitted.car, &real].map(|car| figures(&lower(car, &stance).expect("within travel")));
    for (i, figure) in [Figure::Camber, Figure::Toe].into_iter().enumerate() {
        assert!((fit[i] - truth[i]).abs() < 3e-3, "{figure}: {} against {}", fit[i], truth[i]);
    }
}

/// A slip in any figure of either wheel is the one that is set aside, and the only one.
#[test]
fn a_slip_is_found_in_whichever_figure_it_is() {
    let car = example();
    let suspects = |rounds: &[Round]| -> Vec<(usize, Option<Hand>, Figure)> {
        let fitted = fit(&car, rounds).expect("it fits");
        let suspects = fitted.readings.iter().filter(|reading| reading.is_suspect());
        suspects.map(|reading| (reading.round, reading.side, reading.figure)).collect()
    };
    let mut random = rand_pcg::Pcg64::new(11, 2);
    let (mut found, mut accused, runs) = (0, 0, 40);
    for run in 0..runs {
        let real = real_car(&car, &mut random);
        let sound = rounds(&real, &[-30.0, -15.0, 0.0, 15.0, 30.0, 45.0], 0.03, &mut random);
        accused += suspects(&sound).len();
        let (wheel, figure) = (run / 2 % 2, [Figure::Camber, Figure::Toe][run % 2]);
        let mut slipped = sound;
        let reading = &mut slipped[3].wheels[Hand::BOTH[wheel]];
        let measured = if figure == Figure::Camber { &mut reading.camber } else { &mut reading.toe };
        if let Some(measured) = measured {
            measured.value += 0.5_f64.to_radians();
        }
        found += usize::from(suspects(&slipped) == [(4, Some(Hand::BOTH[wheel]), figure)]);
    }
    println!("{found} of {runs} slips found alone, {accused} sound readings accused in {runs} records of 24");
    assert!(found >= 36, "{found} of {runs}");
    assert!(accused <= 4, "{accused}");
}
