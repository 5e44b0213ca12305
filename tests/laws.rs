//! What must hold for every car.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, PerSide, Setup, Side, Stance};
use rodset::geometry::{Figure, Four, Ground, Pose, Position, Row, solve, solve_four};
use rodset::plan::{Fitting, Reading, forward, lower, plan};

use crate::layout::{Layout, config, layouts};

const BOTH: [Figure; 2] = [Figure::Camber, Figure::Toe];

fn stance(car: &Car, left: f64, right: f64) -> Stance {
    Stance::new(car, [left, right], None).expect("no front drop, no wheelbase needed")
}

fn close(a: Reading, b: Reading, allowed: f64) {
    assert_relative_eq!(a.camber_deg, b.camber_deg, epsilon = allowed);
    assert_relative_eq!(a.toe_deg, b.toe_deg, epsilon = allowed);
}

proptest! {
    #![proptest_config(config(120))]

    #[test]
    fn planning_for_what_lowering_reads_leaves_every_arm_at_stock(
        layout in layouts(), left in -40.0..60.0, right in -40.0..60.0,
    ) {
        let car = layout.car();
        let stance = stance(&car, left, right);
        let Ok(lowered) = lower(&car, &stance) else {
            return Err(TestCaseError::reject("no position"));
        };
        let specs = PerSide::of(|hand| {
            let reading = lowered.sides[hand].lowered.reading;
            let mut spec = car.sides[hand].spec.expect("the layouts have one");
            spec.camber = reading.camber_deg.to_radians();
            spec.toe = reading.toe_deg.to_radians();
            spec
        });
        let planned = plan(&car, &stance, &specs, &Fitting { arms: None, keep_cams: true, ..Fitting::default() }).expect("it is there already");
        for arm in planned.sides.iter().flat_map(|side| &side.arms) {
            assert_relative_eq!(arm.exact_mm, arm.stock_mm, epsilon = 1e-8);
            prop_assert!(arm.turns.abs() < 1e-12);
        }
    }

    #[test]
    fn a_car_with_the_planned_arms_reads_the_spec(layout in layouts(), left in -40.0..60.0, right in -40.0..60.0) {
        let car = layout.car();
        let stance = stance(&car, left, right);
        let specs = car.sides.each(|side| side.spec.expect("the layouts have one"));
        let Ok(planned) = plan(&car, &stance, &specs, &Fitting::default()) else {
            return Err(TestCaseError::reject("no position"));
        };
        for (side, answer) in car.sides.iter().zip(&planned.sides) {
            // Its own way from the answer to the car: cams at the middle, arms at their exact lengths.
            let mut setup = Setup::as_found(side);
            for arm in &answer.arms {
                let link = side.links.iter().position(|link| link.name == arm.link).expect("a link of the car");
                setup.pivots[link] = side.links[link].pivot(0.0);
                setup.lengths[link] = arm.exact_mm;
            }
            let position = forward(side, &setup, stance.drop(side.hand)).expect("the plan says so");
            let reading = Reading::of(side, &position.pose, &stance.ground(side.hand));
            close(reading, answer.exact.reading, 1e-8);
            if answer.exact.within_spec {
                assert_relative_eq!(reading.camber_deg, -1.0, epsilon = 1e-8);
                assert_relative_eq!(reading.toe_deg, 0.1, epsilon = 1e-8);
            }
        }
    }

    /// Where the exact lengths are within spec, so are the whole steps if any near them are, however coarse; and no steps
    /// near them that are so are nearer the spec.
    #[test]
    fn no_steps_are_better_than_the_chosen_ones(
        mut layout in layouts(), drop in 0.0..60.0,
        steps in prop::array::uniform2(prop::sample::select(vec![1.0 / 12.0, 0.25, 0.5, 1.0])),
        tolerances in (0.05..0.8_f64, 0.02..0.4_f64),
    ) {
        layout.steps = steps;
        layout.tolerances = tolerances.into();
        let car = layout.car();
        let stance = stance(&car, drop, drop);
        let specs = car.sides.each(|side| side.spec.expect("the layouts have one"));
        let planned = plan(&car, &stance, &specs, &Fitting::default());
        prop_assume!(planned.is_ok());
        let answer = &planned.expect("just looked").sides.left;
        prop_assume!(answer.exact.within_spec && answer.arms.iter().all(|arm| arm.limit == rodset::car::Limit::Ok));
        let (side, spec) = (&car.sides.left, &specs.left);
        let miss = |reading: Reading| {
            let [camber, toe] = [reading.camber_deg, reading.toe_deg].map(f64::to_radians);
            (!spec.holds(camber, toe), spec.miss(Figure::Camber, camber).hypot(spec.miss(Figure::Toe, toe)))
        };
        let chosen = miss(answer.result.reading);
        // Steps worth more than ten tolerances are searched only so far.
        prop_assume!(chosen.1 < 10.0);
        let mut reached = 0;
        for first in -4..=4 {
            for second in -4..=4 {
                let mut setup = Setup::as_found(side);
                for (arm, more) in answer.arms.iter().zip([first, second]) {
                    let link = side.links.iter().position(|link| link.name == arm.link).expect("a link of the car");
                    setup.pivots[link] = side.links[link].pivot(0.0);
                    setup.lengths[link] = arm.set_mm + f64::from(more) * arm.step.turns * arm.lead_mm;
                }
                let Ok(position) = forward(side, &setup, drop) else { continue };
                let other = miss(Reading::of(side, &position.pose, &Ground::level()));
                prop_assert!((chosen.0, chosen.1 - 1e-9) <= other, "{chosen:?} {other:?} {first} {second}");
                reached += 1;
            }
        }
        prop_assert!(reached > 40, "{reached} choices have a position");
    }

    #[test]
    fn a_car_twice_the_size_has_the_same_angles(layout in layouts(), drop in -40.0..60.0, factor in 0.6..1.8) {
        let scaled = layout.scaled(factor);
        let (a, b) = (layout.car(), scaled.car());
        let (small, large) = (lower(&a, &stance(&a, drop, drop)), lower(&b, &stance(&b, drop * factor, drop * factor)));
        let (Ok(small), Ok(large)) = (small, large) else {
            return Err(TestCaseError::reject("no position"));
        };
        for (small, large) in small.sides.iter().zip(&large.sides) {
            close(small.lowered.reading, large.lowered.reading, 1e-9);
            for (x, y) in small.lowered.centre_mm.iter().zip(large.lowered.centre_mm) {
                assert_relative_eq!(x * factor, y, epsilon = 1e-8);
            }
            for (short, long) in small.links.iter().zip(&large.links) {
                assert_relative_eq!(short.length_mm * factor, long.length_mm, epsilon = 1e-9);
                assert_relative_eq!(short.swing_deg, long.swing_deg, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn a_mirror_swaps_the_sides(layout in layouts(), left in -40.0..60.0, right in -40.0..60.0) {
        let mirrored = Layout { readings: [layout.readings[1], layout.readings[0]], ..layout.clone() };
        let (a, b) = (layout.car(), mirrored.car());
        let (Ok(here), Ok(there)) = (lower(&a, &stance(&a, left, right)), lower(&b, &stance(&b, right, left))) else {
            return Err(TestCaseError::reject("no position"));
        };
        for (one, other) in here.sides.iter().zip(there.sides.iter().rev()) {
            close(one.lowered.reading, other.lowered.reading, 1e-10);
            assert_relative_eq!(one.lowered.centre_mm[1], -other.lowered.centre_mm[1], epsilon = 1e-10);
        }
        assert_relative_eq!(here.total_toe_deg, there.total_toe_deg, epsilon = 1e-10);
        assert_relative_eq!(here.thrust_angle_deg, -there.thrust_angle_deg, epsilon = 1e-10);
    }

    #[test]
    fn where_x_begins_does_not_matter(layout in layouts(), left in -40.0..60.0, right in -40.0..60.0, x in -4000.0..4000.0) {
        let (a, b) = (layout.car(), layout.moved(x).car());
        let (Ok(here), Ok(there)) = (lower(&a, &stance(&a, left, right)), lower(&b, &stance(&b, left, right))) else {
            return Err(TestCaseError::reject("no position"));
        };
        for (one, other) in here.sides.iter().zip(&there.sides) {
            close(one.lowered.reading, other.lowered.reading, 1e-9);
            assert_relative_eq!(one.lowered.centre_mm[0] + x, other.lowered.centre_mm[0], epsilon = 1e-8);
        }
    }

    #[test]
    fn no_rod_changes_its_length_over_the_travel(layout in layouts()) {
        let car = layout.car();
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        let mut reached = 0;
        for step in -12..=18 {
            let Ok(position) = forward(side, &setup, f64::from(step) * 5.0) else { continue };
            reached += 1;
            for link in 0..5 {
                let length = (position.pose.point(&side.knuckle_arm(link)) - setup.pivots[link]).norm();
                assert_relative_eq!(length, setup.lengths[link], epsilon = 1e-9);
            }
            let turn = position.pose.rotation.matrix();
            assert_relative_eq!(turn.transpose() * turn, nalgebra::Matrix3::identity(), epsilon = 1e-13);
        }
        prop_assert!(reached > 10, "{reached} heights have a position");
    }

    /// The rates per mm of length against the slope of the solution itself, by central differences of fourth order.
    #[test]
    fn rates_are_the_slopes_of_the_solution(layout in layouts(), drop in -30.0..50.0) {
        let car = layout.car();
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        let Ok(position) = forward(side, &setup, drop) else {
            return Err(TestCaseError::reject("no position"));
        };
        prop_assume!(position.condition < 100.0);
        let ground = Ground::tilted(0.01, -0.02);
        for link in 0..5 {
            for figure in BOTH {
                let at = |longer: f64| {
                    let mut setup = setup;
                    setup.lengths[link] += longer;
                    let pose = forward(side, &setup, drop).expect("a little longer").pose;
                    figure.value(&pose, &side.wheel, &ground)
                };
                let slope = |h: f64| (8.0 * (at(h) - at(-h)) - (at(2.0 * h) - at(-2.0 * h))) / (12.0 * h);
                // What halving the step changes is what the quotient itself is worth.
                let (slope, allowed) = (slope(0.01), 2.0 * (slope(0.02) - slope(0.01)).abs() + 1e-10);
                let rate = position.rate(figure, &side.wheel, &ground, link);
                prop_assert!((rate - slope).abs() <= allowed, "{rate} {slope} {allowed}");
            }
        }
    }

    /// However the way is divided, it ends at the same pose: the same assembly, not a mirrored one.
    #[test]
    fn the_number_of_steps_does_not_matter(layout in layouts(), drop in -90.0..110.0) {
        let car = layout.car();
        let side = &car.sides.left;
        let Ok(once) = forward(side, &Setup::as_found(side), drop) else {
            return Err(TestCaseError::reject("no position"));
        };
        let creeping = creep(side, drop, 400).expect("one step came there, many do");
        assert_relative_eq!(once.pose.centre, creeping.pose.centre, epsilon = 1e-8);
        assert_relative_eq!(once.pose.rotation, creeping.pose.rotation, epsilon = 1e-10);
    }

    /// A start far from every solution still finds the assembly that is the car.
    #[test]
    fn poor_starts_come_home(layout in layouts(), off in prop::array::uniform6(-1.0..1.0_f64)) {
        let car = layout.car();
        let side = &car.sides.left;
        let rows = Setup::as_found(side).rows(side, 20.0);
        let Ok(home) = solve(&rows, &side.reference()) else {
            return Err(TestCaseError::reject("no position"));
        };
        // Up to 15 mm and 8 degrees away.
        let away = nalgebra::Vector6::from(off).component_mul(&nalgebra::Vector6::new(9.0, 9.0, 9.0, 8.0, 8.0, 8.0));
        let found = solve(&rows, &home.pose.nudged(&away)).expect("a way home");
        assert_relative_eq!(found.pose.centre, home.pose.centre, epsilon = 1e-8);
    }

    /// Four wheels solved at once are where each of them is by itself, from near and from far, and by their figures too.
    #[test]
    fn four_at_once_are_where_each_is_alone(
        layout in layouts(), drops in prop::array::uniform4(-30.0..60.0), camber in -2.0..0.5_f64, toe in -0.5..0.5_f64,
    ) {
        let car = layout.car();
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        let forward = drops.map(|drop| setup.rows(side, drop));
        let aimed = forward.map(|mut rows| {
            for (figure, target) in [(Figure::Camber, camber), (Figure::Toe, toe)] {
                let link = side.links.iter().position(|link| link.sets == Some(figure)).expect("every layout has both");
                rows[link] = Row::reads(figure, &side.wheel, &Ground::level(), target.to_radians());
            }
            rows
        });
        let mut together_at_once = 0;
        for asked in [forward, aimed] {
            let start = Pose::together([&side.reference(); 4]);
            let Some(rows) = together(&asked) else { panic!("rows of one kind") };
            let Some(found) = solve_four(&rows, &start) else { continue };
            together_at_once += 1;
            for (wheel, rows) in asked.iter().enumerate() {
                let alone = solve(rows, &side.reference()).expect("what goes with three others goes alone");
                assert_relative_eq!(found.one(wheel).centre, alone.pose.centre, epsilon = 1e-9);
                assert_relative_eq!(found.one(wheel).rotation, alone.pose.rotation, epsilon = 1e-11);
            }
        }
        prop_assume!(together_at_once > 0);
    }

    /// A certificate tells the truth: Newton from anywhere in its neighbourhood ends at the certified position.
    #[test]
    fn there_is_no_other_position_in_the_certified_neighbourhood(
        layout in layouts(), drop in -60.0..80.0, towards in prop::array::uniform6(-1.0..1.0_f64), part in 0.0..1.0,
    ) {
        let car = layout.car();
        let side = &car.sides.left;
        let rows = Setup::as_found(side).rows(side, drop);
        let Ok(position) = solve(&rows, &side.reference()) else {
            return Err(TestCaseError::reject("no position"));
        };
        let Some(certificate) = position.certificate() else {
            return Err(TestCaseError::reject("no position"));
        };
        prop_assert!(certificate.within < 1e-6, "{certificate:?}");
        let towards = nalgebra::Vector6::from(towards).normalize();
        let start = position.pose.nudged(&(towards * certificate.alone_within * part));
        if let Some(other) = newton(&rows, start) {
            let off = (other.centre - position.pose.centre).norm();
            let turn = (other.rotation.matrix() - position.pose.rotation.matrix()).norm() * rodset::geometry::CHARACTERISTIC_LENGTH;
            prop_assert!(off.hypot(turn) < 1e-6 || off.hypot(turn) > certificate.alone_within, "{off} {turn} {certificate:?}");
        }
    }
}

fn together(asked: &[[Row; 6]; 4]) -> Option<[Row<Four>; 6]> {
    let [a, b, c, d] = asked;
    let rows: Vec<_> = (0..6).filter_map(|i| Row::together([&a[i], &b[i], &c[i], &d[i]])).collect();
    rows.try_into().ok()
}

/// Plain Newton without any guard: it may end anywhere.
fn newton(rows: &[Row; 6], mut pose: Pose) -> Option<Pose> {
    for _ in 0..50 {
        let residual = nalgebra::Vector6::from_fn(|i, _| rows[i].residual(&pose));
        if residual.amax() < 1e-11 {
            return Some(pose);
        }
        let jacobian =
            nalgebra::Matrix6::from_rows(&rows.each_ref().map(|row| row.gradient(&pose).transpose()));
        let step = jacobian.lu().solve(&-residual)?;
        if step.norm().is_nan() || step.norm() > 1e4 {
            return None;
        }
        pose = pose.nudged(&step);
    }
    None
}

/// Goes to a drop in many small solves, each from the last.
fn creep(side: &Side, drop: f64, steps: u32) -> Option<Position> {
    let setup = Setup::as_found(side);
    let mut position = solve(&setup.rows(side, 0.0), &side.reference()).ok()?;
    for step in 1..=steps {
        let part = drop * f64::from(step) / f64::from(steps);
        position = solve(&setup.rows(side, part), &position.pose).ok()?;
    }
    Some(position)
}

/// Text and JSON carry the same numbers, and a printed quantity is read back as what it says.
#[test]
fn pages_and_json_agree() {
    use crate::command::{TempFile, rodset};
    use proptest::strategy::ValueTree;
    use rodset::profile::Quantity;

    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut compared = 0;
    for _ in 0..8 {
        let layout = layouts().new_tree(&mut runner).expect("a layout").current();
        let profile = TempFile::new(layout.toml());
        for unit in ["deg", "min", "mm", "in"] {
            let args =
                ["plan", profile.path(), "--drop-left", "31", "--drop-right", "27.5", "--toe-unit", unit];
            let page = rodset(&args);
            let json = rodset(&[&args[..], &["--format", "json"]].concat());
            assert_eq!(page.status, json.status);
            if page.status == 1 {
                continue;
            }
            let json = json.json();
            let cells = |head: &str| -> Vec<String> {
                let mut lines = page.stdout.lines().skip_while(|line| !line.starts_with("Plan: "));
                let line = lines.find(|line| line.trim_start().starts_with(head)).expect(head);
                line.split_whitespace().skip(head.split_whitespace().count()).map(str::to_owned).collect()
            };
            for (head, key) in [("only lowered", "lowered"), ("set as above", "result")] {
                let shown = cells(head);
                for (i, side) in json["sides"].as_array().expect("two sides").iter().enumerate() {
                    let number = |figure: &str| side[key][figure].as_f64().expect("a number");
                    let camber: Quantity = format!("{} deg", shown[i]).parse().expect("a printed camber");
                    assert_relative_eq!(
                        camber.angle().expect("an angle").to_degrees(),
                        number("camber_deg"),
                        epsilon = 0.005_000_1
                    );
                    let toe: Quantity = format!("{} {unit}", shown[2 + i]).parse().expect("a printed toe");
                    // Half of the last digit shown, as an angle.
                    let half = match unit {
                        "deg" => 0.005,
                        "min" => 0.5 / 60.0,
                        "mm" => (0.05_f64 / 400.0).to_degrees(),
                        _ => (0.000_5 * 25.4_f64 / 400.0).to_degrees(),
                    };
                    let toe = toe.toe(Some(400.0)).expect("an angle").to_degrees();
                    assert_relative_eq!(toe, number("toe_deg"), epsilon = half * 1.001 + 1e-9);
                    compared += 1;
                }
            }
            for arm in json["sides"][0]["arms"].as_array().expect("arms") {
                let link = arm["link"].as_str().expect("a name");
                let row = cells(link);
                let stock: f64 = row[1].parse().expect("a length");
                assert_relative_eq!(stock, arm["stock_mm"].as_f64().expect("a length"), epsilon = 0.050_001);
            }
        }
    }
    assert!(compared > 60, "only {compared} figures were compared");
}
