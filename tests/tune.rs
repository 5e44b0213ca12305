//! Tuning: every trial against plain solves, the best against a fine grid, and the way back through `plan`.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, Hand, Setup, Side, Stance};
use rodset::geometry::{Figure, Ground};
use rodset::plan::{Aim, Fitting, Reading, Trial, TuneQuestion, Tuning, forward, plan, tune};
use rodset::profile;

use crate::layout::{config, layouts};

fn tuned(car: &Car, drop: f64, aim: Aim) -> Option<Tuning> {
    let stance = Stance::new(car, [drop, drop], None).expect("no front drop");
    let specs = [0, 1].map(|i| car.sides[i].spec.expect("a spec"));
    let fitting = Fitting::default();
    let question = TuneQuestion {
        link: "traction",
        fitting: &fitting,
        specs: &specs,
        aim,
        window: [25.0, 30.0],
        shown: 3,
    };
    tune(car, &stance, &question).ok()
}

/// The links of a trial, by hand: cams in the middle of their slots under the arms that hold.
fn setup(side: &Side, trial: &Trial) -> Setup {
    let mut setup = Setup::as_found(side);
    let link = |name: &str| side.links.iter().position(|link| link.name == name).expect("a link");
    setup.lengths[link("traction")] = trial.length_mm;
    for holder in &trial.held_by {
        let i = link(&holder.link);
        assert!(!holder.is_cam, "the layouts have arms");
        setup.pivots[i] = side.links[i].pivot(0.0);
        setup.lengths[i] = side.links[i].stock_length() + holder.by_mm;
    }
    setup
}

fn toe(side: &Side, setup: &Setup, drop: f64) -> Option<f64> {
    Some(Reading::of(side, &forward(side, setup, drop).ok()?.pose, &Ground::level()).toe_deg)
}

proptest! {
    #![proptest_config(config(25))]

    #[test]
    fn trials_hold_the_spec_and_steer_as_they_say(layout in layouts(), drop in 0.0..50.0) {
        let car = layout.car();
        let Some(answer) = tuned(&car, drop, Aim::Gradient) else { return Err(TestCaseError::reject("no position")) };
        for (side, answer) in car.sides.iter().zip(&answer.sides) {
            prop_assume!(answer.stock.result.within_spec);
            for trial in answer.trials.iter().chain([&answer.best, &answer.stock]) {
                let setup = setup(side, trial);
                let there = forward(side, &setup, drop).expect("the trial says so");
                let reading = Reading::of(side, &there.pose, &Ground::level());
                assert_relative_eq!(reading.camber_deg, trial.result.reading.camber_deg, epsilon = 1e-8);
                assert_relative_eq!(reading.toe_deg, trial.result.reading.toe_deg, epsilon = 1e-8);
                if trial.held_by.iter().all(|holder| holder.in_reach) {
                    assert_relative_eq!(reading.camber_deg, -1.0, epsilon = 1e-8);
                    assert_relative_eq!(reading.toe_deg, 0.1, epsilon = 1e-8);
                }
                let (high, low) = (toe(side, &setup, drop + 1e-3), toe(side, &setup, drop - 1e-3));
                if let (Some(high), Some(low)) = (high, low) {
                    let slope = (high - low) / 2e-3 * 100.0;
                    assert_relative_eq!(trial.bump_steer.gradient_deg_per_100_mm, slope, epsilon = 1e-4);
                }
            }
            // Between two trials whose gradients differ in sign a length without any is found.
            let gradient = |trial: &Trial| trial.bump_steer.gradient_deg_per_100_mm;
            let crosses = answer.trials.windows(2).any(|pair| gradient(&pair[0]) * gradient(&pair[1]) < 0.0);
            prop_assert!(!crosses || gradient(&answer.best).abs() < 1e-4, "{}", gradient(&answer.best));
            prop_assert!(gradient(&answer.best).abs() <= gradient(&answer.stock).abs() + 1e-12);
        }
    }

    /// No length of a fine grid in the range that was looked at has a smaller span, worked out with plain solves.
    #[test]
    fn no_length_has_a_smaller_span(layout in layouts(), drop in 0.0..50.0) {
        let car = layout.car();
        let Some(answer) = tuned(&car, drop, Aim::Span) else { return Err(TestCaseError::reject("no position")) };
        let (side, answer) = (&car.sides[0], &answer.sides[0]);
        prop_assume!(answer.stock.result.within_spec);
        let span = |trial: &Trial| {
            let setup = setup(side, trial);
            let toes: Vec<f64> =
                (-25..=30).filter_map(|rise| toe(side, &setup, drop + f64::from(rise))).collect();
            let ends = |f: fn(f64, f64) -> f64, from: f64| toes.iter().copied().fold(from, f);
            ends(f64::max, f64::NEG_INFINITY) - ends(f64::min, f64::INFINITY)
        };
        prop_assert!(span(&answer.best) <= answer.best.bump_steer.toe_span_deg + 1e-9);
        for trial in answer.trials.iter().filter(|trial| trial.result.within_spec) {
            prop_assert!(answer.best.bump_steer.toe_span_deg <= span(trial) + 1e-3);
        }
    }
}

/// The way back: the pitch of a trial, as `[spec] pitch`, makes `plan` find its length; and at stock length the holders are
/// those of `plan` without the traction arm.
#[test]
fn plan_finds_the_length_again_from_its_pitch() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let answer = tuned(&car, 40.0, Aim::Gradient).expect("within travel");
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let all =
        Fitting { arms: Some(["upper", "toe", "traction"].map(str::to_owned).to_vec()), keep_cams: false, ..Fitting::default() };
    let trials = |hand: Hand| &answer.sides[hand.index()].trials;
    assert_eq!(trials(Hand::Left).len(), 7);
    for i in 0..7 {
        let specs = Hand::BOTH.map(|hand| {
            let mut spec = car.sides[hand.index()].spec.expect("a spec");
            spec.pitch = trials(hand)[i].pitch_deg.to_radians();
            spec
        });
        let planned = plan(&car, &stance, &specs, &all).expect("within travel");
        for hand in Hand::BOTH {
            let (trial, planned) = (&trials(hand)[i], &planned.sides[hand.index()]);
            let exact =
                |name: &str| planned.arms.iter().find(|arm| arm.link == name).expect("an arm").exact_mm;
            assert_relative_eq!(exact("traction"), trial.length_mm, epsilon = 1e-7);
        }
    }
    let specs = [0, 1].map(|i| car.sides[i].spec.expect("a spec"));
    let planned = plan(&car, &stance, &specs, &Fitting::default()).expect("within travel");
    for (planned, tuned) in planned.sides.iter().zip(&answer.sides) {
        for (arm, holder) in planned.arms.iter().zip(&tuned.stock.held_by) {
            assert_eq!((arm.link.as_str(), arm.sets), (holder.link.as_str(), holder.sets));
            assert_relative_eq!(arm.exact_mm - arm.stock_mm, holder.by_mm, epsilon = 1e-9);
        }
        assert_eq!(
            tuned.stock.held_by.iter().map(|holder| holder.sets).collect::<Vec<_>>(),
            [Figure::Camber, Figure::Toe]
        );
    }
}
