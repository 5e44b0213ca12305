//! Geometry at its limits: the answer is right, or it is refused with the reason.

use proptest::prelude::*;
use rodset::car::{Car, Setup, Stance};
use rodset::plan::{Fitting, Reason, cams, forward, lower, plan};
use rodset::profile;

use crate::layout::{config, layouts};

fn example() -> Car {
    profile::read(include_str!("../examples/tansy-wharf.toml")).expect("the example is sound").car
}

/// The drop that the message names can be reached, and a little more cannot.
#[test]
fn the_named_last_drop_is_the_last_one() {
    let car = example();
    let side = &car.sides.left;
    let setup = Setup::as_found(side);
    for drop in [300.0, 1000.0, -250.0, -4000.0] {
        let refused = forward(side, &setup, drop).expect_err("far beyond the travel");
        assert!(!refused.links.is_empty(), "{refused}");
        let Reason::EndOfTravel(last) = refused.reason else { panic!("{refused:?}") };
        assert!(forward(side, &setup, last - 0.01 * drop.signum()).is_ok(), "{refused}");
        assert!(forward(side, &setup, last + 0.01 * drop.signum()).is_err(), "{refused}");
    }
}

#[test]
fn an_arm_too_short_for_any_assembly_is_named() {
    let car = example();
    let side = &car.sides.left;
    let mut setup = Setup::as_found(side);
    setup.lengths[3] = 60.0;
    let refused = forward(side, &setup, 0.0).expect_err("a link of a sixth of its length");
    assert_eq!(refused.reason, Reason::DoesNotAssemble);
    assert!(refused.links.contains(&"lower front".to_owned()), "{refused}");
}

proptest! {
    #![proptest_config(config(70))]

    /// Two hundred mm either way on any layout: a position with its certificate, or a refusal whose named drop holds.
    #[test]
    fn large_drops_are_answered_or_refused(layout in layouts(), drop in -220.0..220.0) {
        let car = layout.car();
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        match forward(side, &setup, drop) {
            Ok(position) => {
                prop_assert!(position.residual < 1e-9);
                prop_assert!(position.certificate().is_some() || position.is_near_singular(), "{}", position.condition);
                prop_assert!((position.pose.centre.z - side.wheel.centre.z - drop).abs() < 1e-9);
            }
            Err(refused) => {
                let Reason::EndOfTravel(last) = refused.reason else { panic!("{refused:?}") };
                prop_assert!(last.abs() < drop.abs(), "{refused}");
                prop_assert!(!refused.links.is_empty(), "{refused}");
                prop_assert!(forward(side, &setup, last * 0.999).is_ok(), "{refused}");
            }
        }
    }

    /// Huge cams, any target, any drop: no panic, and cams never past their ends.
    #[test]
    fn any_question_gets_an_answer_or_a_reason(
        mut layout in layouts(), eccentricity in 1.0..60.0, drop in -200.0..200.0, camber in -15.0..15.0_f64, toe in -10.0..10.0_f64,
    ) {
        layout.cams = [[eccentricity, 0.0]; 2];
        let car = layout.car();
        let stance = Stance::new(&car, [drop, drop / 2.0], Some(drop / 3.0)).expect("the layouts have a wheelbase");
        let specs = car.sides.each(|side| {
            let mut spec = side.spec.expect("the layouts have one");
            (spec.camber, spec.toe) = (camber.to_radians(), toe.to_radians());
            spec
        });
        prop_assume!(lower(&car, &stance).is_ok());
        if let Ok(verdict) = cams(&car, &stance, &specs) {
            for cam in verdict.sides.iter().flat_map(|side| &side.cams) {
                prop_assert!(cam.shift_mm.abs() <= eccentricity + 1e-9);
                prop_assert!(cam.setting_deg.abs() <= 90.0);
            }
        }
        for fitting in [Fitting::default(), Fitting { arms: Some(vec!["upper".to_owned()]), keep_cams: true, ..Fitting::default() }] {
            if let Ok(plan) = plan(&car, &stance, &specs, &fitting) {
                for (side, answer) in car.sides.iter().zip(&plan.sides) {
                    for arm in &answer.arms {
                        let link = side.links.iter().find(|link| link.name == arm.link).expect("a link");
                        let range = link.arm.as_ref().expect("an arm").range();
                        for length in [arm.exact_mm, arm.set_mm] {
                            prop_assert!(range.ends[0] - 1e-6 <= length && length <= range.ends[1] + 1e-6, "{arm:?}");
                        }
                    }
                }
            }
        }
    }
}
