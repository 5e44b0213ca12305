//! Tilt of rod ends, twist of bushes, driveshaft: closed forms on a car whose links all swing alike, and dense sampling.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, Setup, Stance};
use rodset::geometry::joint;
use rodset::plan::{ArmEnd, Asked, Fitting, JointAngles, forward, joint_angles};
use rodset::profile;

use crate::layout::{config, layouts, parallel};

fn asked(car: &Car, drop: f64) -> JointAngles {
    let stance = Stance::new(car, [drop, drop], None).expect("no front drop");
    joint_angles(car, &stance, None, &Fitting::default(), Asked::ALL).expect("a position")
}

/// The swing of a level link of 300 mm whose end rises, degrees.
fn swing(rise: f64) -> f64 {
    (rise / 300.0).asin().to_degrees()
}

/// A bush on a bolt along the car is wound by the swing of its link, at either end: the knuckle does not turn.
#[test]
fn a_bush_of_a_planar_arm_is_wound_by_its_swing() {
    let car = parallel("subframe_axis = [1.0, 0.0, 0.0]\nknuckle_axis = [-2.0, 0.0, 0.0]", "");
    let answer = asked(&car, 25.0);
    for side in &answer.sides {
        let [subframe, knuckle] = side.bushes.as_slice() else { panic!("two bushes: {side:?}") };
        for bush in [subframe, knuckle] {
            assert_relative_eq!(bush.not_loosened_deg.expect("a stock arm"), swing(25.0), epsilon = 1e-9);
            let worst = bush.not_loosened_worst.expect("a stock arm");
            assert_relative_eq!(worst.angle_deg, swing(70.0), epsilon = 1e-9);
            assert_eq!((worst.height_mm, worst.arch_gap_mm), (70.0, Some(300.0)));
            assert_relative_eq!(bush.clamped_hanging_deg, swing(25.0) + swing(60.0), epsilon = 1e-9);
            let again = bush.clamped_at_drop_worst;
            assert_relative_eq!(again.angle_deg, swing(25.0) + swing(60.0), epsilon = 1e-9);
            assert_relative_eq!(again.height_mm, -60.0);
            assert_relative_eq!(bush.lean_worst_deg, 0.0, epsilon = 1e-9);
        }
    }
    let (_, bush, angle) = answer.most_wound().expect("bushes");
    assert_eq!(bush.link, "toe");
    assert_relative_eq!(angle, swing(25.0), epsilon = 1e-9);
}

/// On upright bolts a level arm leans out of its plane by its swing, and the two bolts stay parallel.
#[test]
fn a_rod_end_on_an_upright_bolt_tilts_by_the_swing() {
    let keys = "subframe_axis = [0, 0, 1]\nknuckle_axis = [0, 0, 1]\njoints = [\"rod end\", \"rod end\"]\nmisalignment = 13.0";
    let answer = asked(&parallel(keys, ""), -20.0);
    for end in &answer.sides.right.rod_ends {
        assert_relative_eq!(end.at_drop_deg, swing(20.0), epsilon = 1e-9);
        assert_relative_eq!(end.worst.angle_deg, swing(70.0), epsilon = 1e-9);
        assert_relative_eq!(end.remaining_deg.expect("a limit"), 13.0 - swing(70.0), epsilon = 1e-9);
    }
    // 300 sin(13 deg) = 67.49: from there on.
    let [[first, last]] = answer.sides.left.rod_ends[0].binds_mm[..] else {
        panic!("one stretch: {answer:?}")
    };
    assert_relative_eq!(first, 300.0 * 13.0_f64.to_radians().sin(), epsilon = 1e-5);
    assert_relative_eq!(last, 70.0);
    assert!(!answer.succeeds(), "13 degrees are not enough for {} of swing", swing(70.0));
    let wider = keys.replace("13.0", "14.0");
    assert!(asked(&parallel(&wider, ""), -20.0).succeeds());
    // One that binds at both ends of the travel is free in the middle.
    let narrower = asked(&parallel(&keys.replace("13.0", "10.0"), ""), 0.0);
    let [low, high] = narrower.sides.right.rod_ends[0].binds_mm[..] else {
        panic!("two stretches: {narrower:?}")
    };
    let edge = 300.0 * 10.0_f64.to_radians().sin();
    assert_relative_eq!(low[..], [-60.0, -edge], epsilon = 1e-5);
    assert_relative_eq!(high[..], [edge, 70.0], epsilon = 1e-5);
}

/// A bolt along the car and one halfway up twist against each other, looking along the arm, by `45 deg - atan(cos(phi))`. Two
/// rod ends share that; next to a bush a rod end takes it all.
#[test]
fn two_rod_ends_share_the_twist_of_their_bolts() {
    let keys =
        |joints: &str| format!("subframe_axis = [1, 0, 0]\nknuckle_axis = [1, 0, 1]\njoints = {joints}");
    let twist = |rise: f64| 45.0 - (rise / 300.0).asin().cos().atan().to_degrees();
    let shared = asked(&parallel(&keys("[\"rod end\", \"rod end\"]"), ""), 0.0);
    let end = &shared.sides.left.rod_ends[0];
    assert_eq!((end.end, end.both_bolts_known, end.limit_deg), (ArmEnd::Subframe, true, None));
    assert_relative_eq!(end.worst.angle_deg, twist(70.0) / 2.0, epsilon = 1e-9);
    let alone = asked(&parallel(&keys("[\"rod end\", \"bush\"]"), ""), 0.0);
    assert_relative_eq!(alone.sides.left.rod_ends[0].worst.angle_deg, twist(70.0), epsilon = 1e-9);
    assert_eq!(alone.sides.left.bushes.len(), 1);
    // Bolts at a right angle to each other: no half turn is mistaken for a twist.
    let crossed = "subframe_axis = [1, 0, 0]\nknuckle_axis = [0, 0, 1]\njoints = [\"rod end\", \"rod end\"]";
    let crossed = asked(&parallel(crossed, ""), 10.0);
    assert_relative_eq!(crossed.sides.left.rod_ends[0].worst.angle_deg, 0.0, epsilon = 1e-6);
}

/// `d = (450 + 300 (cos(phi) - 1), rise)` from joint to joint; the output and the wheel both point straight out.
#[test]
fn a_driveshaft_has_its_closed_form() {
    let table = "[driveshaft]\ninner = [0, 200, 300]\nouter = [0, 650, 300]\ninner_limit = 9.5\npush = 5.0\npull = 1.0\n";
    let answer = asked(&parallel("", table), 30.0);
    for side in &answer.sides {
        let shaft = side.driveshaft.as_ref().expect("a driveshaft");
        let out = |rise: f64| 450.0 + 300.0 * ((rise / 300.0).asin().cos() - 1.0);
        let bend = |rise: f64| (rise / out(rise)).atan().to_degrees().abs();
        for joint in [&shaft.inner, &shaft.outer] {
            assert_relative_eq!(joint.reference_deg, 0.0, epsilon = 1e-9);
            assert_relative_eq!(joint.at_drop_deg, bend(30.0), epsilon = 1e-9);
            assert_relative_eq!(joint.worst.angle_deg, bend(70.0), epsilon = 1e-9);
        }
        assert_relative_eq!(shaft.inner.remaining_deg.expect("a limit"), 9.5 - bend(70.0), epsilon = 1e-9);
        assert_relative_eq!(shaft.plunge_at_drop_mm, out(30.0).hypot(30.0) - 450.0, epsilon = 1e-9);
        // It is shortest at full bump: d^2 = 150^2 + 300^2 + 2 150 300 cos(phi).
        let shortest =
            (150.0_f64.powi(2) + 300.0_f64.powi(2) + 2.0 * 150.0 * 300.0 * (70.0_f64 / 300.0).asin().cos())
                .sqrt();
        assert_relative_eq!(shaft.pushed_in.plunge_mm, shortest - 450.0, epsilon = 1e-9);
        assert_relative_eq!(
            shaft.pushed_in.remaining_mm.expect("a reserve"),
            5.0 + shortest - 450.0,
            epsilon = 1e-9
        );
        assert_relative_eq!(shaft.pulled_out.plunge_mm, 0.0, epsilon = 1e-6);
    }
    assert!(answer.succeeds());
    assert!(!asked(&parallel("", &table.replace("9.5", "8.0")), 30.0).succeeds());
    assert!(!asked(&parallel("", &table.replace("push = 5.0", "push = 2.0")), 30.0).succeeds());
}

proptest! {
    #![proptest_config(config(40))]

    /// The worst is never less than a sample, for bolts in any direction; the twist of a knuckle's bush is that of the arm as
    /// the knuckle sees it, by its own way: the subframe pivot brought into the knuckle's axes.
    #[test]
    fn no_sample_of_the_travel_is_above_the_worst(
        layout in layouts(), drop in -30.0..50.0, bolts in prop::array::uniform6(-1.0..1.0_f64),
    ) {
        let [a, b, c, d, e, f] = bolts;
        let text = layout.toml().replace(
            "name = \"lower front\"\n",
            &format!("name = \"lower front\"\nsubframe_axis = [{a:?}, {b:?}, {c:?}]\nknuckle_axis = [{d:?}, {e:?}, {f:?}]\n"),
        );
        let Ok(checked) = profile::read(&text) else {
            return Err(TestCaseError::reject("a bolt along its link"));
        };
        let car = checked.car;
        let stance = Stance::new(&car, [drop, drop], None).expect("no front drop");
        let Ok(answer) = joint_angles(&car, &stance, None, &Fitting::default(), Asked::ALL) else {
            return Err(TestCaseError::reject("no position"));
        };
        let (side, answer) = (&car.sides.left, &answer.sides.left);
        let setup = Setup::as_found(side);
        let link = 3;
        let [first, second] = side.links[link].bolts.map(|bolt| bolt.expect("both bolts"));
        // In the knuckle's axes: the arm from its knuckle pivot to the subframe pivot, turned round.
        let from_knuckle = |height: f64| {
            let pose = forward(side, &setup, height).expect("within the travel").pose;
            let pivot = pose.rotation.inverse() * (setup.pivots[link] - pose.centre);
            side.knuckle_arm(link) - pivot
        };
        let from_subframe = |height: f64| {
            let pose = forward(side, &setup, height).expect("within the travel").pose;
            pose.point(&side.knuckle_arm(link)) - setup.pivots[link]
        };
        for bush in &answer.bushes {
            let wound = |height: f64, clamped: f64| match bush.end {
                ArmEnd::Subframe => joint::turn(&first, &from_subframe(clamped), &from_subframe(height)),
                ArmEnd::Knuckle => joint::turn(&second, &from_knuckle(clamped), &from_knuckle(height)),
            }.to_degrees().abs();
            assert_relative_eq!(wound(drop, 0.0), bush.not_loosened_deg.expect("stock"), epsilon = 1e-7);
            let worst = bush.clamped_at_drop_worst;
            assert_relative_eq!(wound(worst.height_mm, drop), worst.angle_deg, epsilon = 1e-7);
            let range = answer.travel.highest_mm - answer.travel.lowest_mm;
            for step in 0..=60 {
                let height = answer.travel.lowest_mm + range * f64::from(step) / 60.0;
                prop_assert!(wound(height, drop) <= worst.angle_deg + 1e-7, "{height} {bush:?}");
                prop_assert!(wound(height, 0.0) <= bush.not_loosened_worst.expect("stock").angle_deg + 1e-7);
            }
        }
    }
}
