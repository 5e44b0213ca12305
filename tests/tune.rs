//! Tuning: every trial against plain solves, the best against a fine grid, and the way back through `plan`.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, Hand, PerSide, Setup, Side, Stance};
use rodset::geometry::{Figure, Ground};
use rodset::plan::{
    Asked, Bound, Fitting, Reading, TuneAim, TuneQuestion, TunedLength, Tuning, TuningSide, forward, plan,
    tune,
};
use rodset::profile;
use rodset::report::{AnswerPage, Units};

use crate::command::page_text;
use crate::layout::{config, layouts};

fn tuned(car: &Car, drop: f64, aim: TuneAim) -> Option<Tuning> {
    let stance = Stance::new(car, [drop, drop], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
    let fitting = Fitting::default();
    let question = TuneQuestion {
        link: "traction",
        fitting: &fitting,
        specs: &specs,
        aim,
        window: [25.0, 30.0],
        shown: 3,
        asked: Asked::ALL,
    };
    tune(car, &stance, &question).ok()
}

/// The links of a trial, by hand: cams in the middle of their slots under the arms that hold.
fn setup(side: &Side, trial: &TunedLength) -> Setup {
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

/// Whether a length holds the spec and turns the knuckle by no more than 1.5 degrees, as far as stock length does.
fn makes_sense(side: &TuningSide, trial: &TunedLength) -> bool {
    let most = side.stock.pitch_deg.abs().max(1.5);
    (trial.result.within_spec || !side.stock.result.within_spec) && trial.pitch_deg.abs() <= most + 1e-9
}

/// The example, its traction arm changed, with only some arms fitted.
fn example(change: [&str; 2], drop: f64, aim: TuneAim, fitted: Option<&[&str]>) -> (Car, Stance, Tuning) {
    let text = include_str!("../examples/tansy-wharf.toml");
    assert_eq!(text.matches(change[0]).count(), 1);
    let car = profile::read(&text.replace(change[0], change[1])).expect("sound").car;
    let stance = Stance::new(&car, [drop, drop], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
    let arms = fitted.map(|names| names.iter().map(|&name| name.to_owned()).collect());
    let fitting = Fitting { arms, ..Fitting::default() };
    let question = TuneQuestion {
        link: "traction",
        fitting: &fitting,
        specs: &specs,
        aim,
        window: [30.0, 30.0],
        shown: 5,
        asked: Asked::ALL,
    };
    let answer = tune(&car, &stance, &question).expect("within travel");
    (car, stance, answer)
}

/// The page without its line breaks.
fn page((car, stance, answer): &(Car, Stance, Tuning)) -> String {
    let units = Units::default();
    let text = page_text(&AnswerPage { car, stance, answer, units });
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const AS_IT_IS: [&str; 2] = ["longest = 293.0", "longest = 293.0"];

/// At 34.54 mm the upper cam is at its end and stock length only just holds camber; shorter does not. A little more drop moves the
/// best length by a little, also where stock length itself leaves the spec.
#[test]
fn the_best_length_follows_the_drop_without_a_jump() {
    let mut before: Option<PerSide<f64>> = None;
    let mut left_spec = PerSide::both(false);
    for hundredths in 3440..=3490 {
        let drop = f64::from(hundredths) / 100.0;
        let (_, _, answer) = example(AS_IT_IS, drop, TuneAim::Span, Some(&["toe"]));
        let best = answer.sides.each(|side| side.best.longer_mm);
        for hand in Hand::BOTH {
            left_spec[hand] |= answer.sides[hand].stock.result.within_spec;
            if let Some(before) = before {
                assert!((best[hand] - before[hand]).abs() < 0.15, "{drop}: {before:?} {best:?}");
            }
        }
        let miss = |trial: &TunedLength| (trial.result.reading.camber_deg + 1.0).abs().max(0.5);
        for side in &answer.sides {
            assert!(miss(&side.best) <= miss(&side.stock) + 1e-9, "{drop}: no further out than stock");
        }
        before = Some(best);
    }
    assert!(left_spec.left);
}

/// An arm that ends before the best length is told to end there, and nothing is called best.
#[test]
fn an_arm_that_ends_is_not_called_best() {
    let asked = |longest: &str| example(["longest = 293.0", longest], 60.0, TuneAim::Span, None);
    let free = asked("longest = 293.0");
    let short = asked("longest = 276.0");
    for (free, short) in free.2.sides.iter().zip(&short.2.sides) {
        assert!(free.best.length_mm > 276.5 && free.best_stopped_by.is_none());
        assert_eq!((short.best.length_mm, short.best_stopped_by), (276.0, Some(Bound::Longest)));
        assert!(short.locked.length_mm <= 276.0);
    }
    let [free, short] = [page(&free), page(&short)];
    assert!(free.contains("BEST") && !free.contains("the best lies beyond"), "{free}");
    assert!(short.contains("276.0 mm is as long as this arm goes; the best lies beyond"), "{short}");
    assert!(short.contains("ARM END: as far as") && !short.contains("BEST"), "{short}");
}

/// Where bump steer is gone only with the knuckle turned by almost three degrees, the advice ends before.
#[test]
fn no_advice_turns_the_knuckle_far() {
    let far = example(AS_IT_IS, 90.0, TuneAim::Gradient, None);
    for side in &far.2.sides {
        assert_eq!(side.best_stopped_by, Some(Bound::Pitch));
        assert_relative_eq!(side.best.pitch_deg.abs(), 1.5, epsilon = 1e-5);
        assert!(side.locked.pitch_deg.abs() <= 1.5);
        // It would go on getting better.
        let gradient = |trial: &TunedLength| trial.bump_steer.gradient_deg_per_100_mm;
        let further = side.trials.iter().find(|trial| trial.longer_mm > side.best.longer_mm);
        let further = further.map_or(f64::NAN, |trial| gradient(trial).abs());
        assert!(further.is_nan() || further < gradient(&side.best).abs());
    }
    let text = page(&far);
    assert!(
        text.contains(
            "The best lies beyond, but any longer and the knuckle would turn by more than 1.5 deg."
        ),
        "{text}"
    );
}

/// What is advised can be locked: whole twelfths of a turn from stock, and none on either side is better.
#[test]
fn the_advice_can_be_locked() {
    for aim in [TuneAim::Gradient, TuneAim::Span] {
        let (_, _, answer) = example(AS_IT_IS, 60.0, aim, None);
        for side in &answer.sides {
            let steps = side.locked.turns.expect("an arm") * 12.0;
            assert_relative_eq!(steps, steps.round(), epsilon = 1e-9);
            // 5/8-18 at both ends: 2.822 mm a turn.
            let step = 2.0 * 25.4 / 18.0 / 12.0;
            assert_relative_eq!(side.locked.longer_mm, steps.round() * step, epsilon = 1e-9);
            assert!((side.locked.longer_mm - side.best.longer_mm).abs() <= step);
            assert!(side.worth_it && side.saves_toe_deg > 0.03);
            let span = |trial: &TunedLength| trial.bump_steer.toe_span_deg;
            assert_relative_eq!(side.saves_toe_deg, span(&side.stock) - span(&side.locked), epsilon = 1e-12);
        }
    }
    // A thread that locks only every half turn of 2.8 mm has no step near 0.4 mm.
    let coarse =
        ["engaged = { at = 273.5, length = 28.0 }", "step = 0.5\nengaged = { at = 273.5, length = 28.0 }"];
    let coarse = example(coarse, 40.0, TuneAim::Gradient, None);
    assert!(coarse.2.sides.iter().all(|side| side.locked.longer_mm == 0.0 && side.best.longer_mm != 0.0));
    assert!(
        page(&coarse).contains("no step of its thread that can be locked does better"),
        "{}",
        page(&coarse)
    );
}

/// Where the best saves a hundredth of a degree the advice is stock, with what it would save.
#[test]
fn a_small_gain_is_called_small() {
    let small = example(AS_IT_IS, 33.0, TuneAim::Span, None);
    for side in &small.2.sides {
        assert!(side.saves_toe_deg > 0.0 && side.saves_toe_deg < 0.03 && !side.worth_it, "{side:?}");
    }
    let text = page(&small);
    assert!(text.contains("ADVICE: stay at stock length") && text.contains("saves only 0.0"), "{text}");
    assert!(!text.contains("BEST"), "{text}");
}

proptest! {
    #![proptest_config(config(25))]

    #[test]
    fn trials_hold_the_spec_and_steer_as_they_say(layout in layouts(), drop in 0.0..50.0) {
        let car = layout.car();
        let Some(answer) = tuned(&car, drop, TuneAim::Gradient) else { return Err(TestCaseError::reject("no position")) };
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
            // Between two sensible trials whose gradients differ in sign a length without any is found.
            let gradient = |trial: &TunedLength| trial.bump_steer.gradient_deg_per_100_mm;
            let sensible: Vec<&TunedLength> = answer.trials.iter().filter(|trial| makes_sense(answer, trial)).collect();
            let crosses = sensible.windows(2).any(|pair| gradient(pair[0]) * gradient(pair[1]) < 0.0);
            prop_assert!(makes_sense(answer, &answer.best) && makes_sense(answer, &answer.locked));
            prop_assert!(!crosses || gradient(&answer.best).abs() < 1e-4, "{}", gradient(&answer.best));
            prop_assert!(gradient(&answer.best).abs() <= gradient(&answer.stock).abs() + 1e-12);
        }
    }

    /// No length of a fine grid in the range that was looked at has a smaller span, worked out with plain solves.
    #[test]
    fn no_length_has_a_smaller_span(layout in layouts(), drop in 0.0..50.0) {
        let car = layout.car();
        let Some(answer) = tuned(&car, drop, TuneAim::Span) else { return Err(TestCaseError::reject("no position")) };
        let (side, answer) = (&car.sides.left, &answer.sides.left);
        prop_assume!(answer.stock.result.within_spec);
        let span = |trial: &TunedLength| {
            let setup = setup(side, trial);
            let toes: Vec<f64> =
                (-25..=30).filter_map(|rise| toe(side, &setup, drop + f64::from(rise))).collect();
            let ends = |f: fn(f64, f64) -> f64, from: f64| toes.iter().copied().fold(from, f);
            ends(f64::max, f64::NEG_INFINITY) - ends(f64::min, f64::INFINITY)
        };
        prop_assert!(span(&answer.best) <= answer.best.bump_steer.toe_span_deg + 1e-9);
        for trial in answer.trials.iter().filter(|trial| makes_sense(answer, trial)) {
            prop_assert!(answer.best.bump_steer.toe_span_deg <= span(trial) + 1e-3);
        }
    }
}

/// The way back: the pitch of a trial, as `[spec] pitch`, makes `plan` find its length; and at stock length the holders are
/// those of `plan` without the traction arm.
#[test]
fn plan_finds_the_length_again_from_its_pitch() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let answer = tuned(&car, 40.0, TuneAim::Gradient).expect("within travel");
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let all = Fitting {
        arms: Some(["upper", "toe", "traction"].map(str::to_owned).to_vec()),
        keep_cams: false,
        ..Fitting::default()
    };
    let trials = |hand: Hand| &answer.sides[hand].trials;
    assert_eq!(trials(Hand::Left).len(), 7);
    for i in 0..7 {
        let specs = PerSide::of(|hand| {
            let mut spec = car.sides[hand].spec.expect("a spec");
            spec.pitch = trials(hand)[i].pitch_deg.to_radians();
            spec
        });
        let planned = plan(&car, &stance, &specs, &all).expect("within travel");
        for hand in Hand::BOTH {
            let (trial, planned) = (&trials(hand)[i], &planned.sides[hand]);
            let exact =
                |name: &str| planned.arms.iter().find(|arm| arm.link == name).expect("an arm").exact_mm;
            assert_relative_eq!(exact("traction"), trial.length_mm, epsilon = 1e-7);
        }
    }
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
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
