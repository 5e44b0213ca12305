//! Least gaps over the travel: closed forms, dense sampling, both sides.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, Hand, PerLink, PerSide, Setup, Stance};
use rodset::geometry::Pose;
use rodset::geometry::solids::gap;
use rodset::plan::{Asked, Clearance, Fitting, clearance, forward, plan};
use rodset::profile;

use crate::layout::{config, layouts, parallel};

fn asked(car: &Car, drop: f64) -> Clearance {
    let stance = Stance::new(car, [drop, drop], None).expect("no front drop");
    clearance(car, &stance, None, &Fitting::default(), Asked::ALL).expect("a position")
}

/// The car of parallel links with one shape to keep clear of.
fn walled(toe: &str, keepout: &str) -> Car {
    let tyre = "[tyre]\nwidth = 200.0\ndiameter = 620.0\nrim_width = 190.0\nrim_diameter = 450.0\n";
    parallel(toe, &format!("{tyre}[[keepout]]\nname = \"shape\"\n{keepout}\n"))
}

const STRAIGHT: &str = "radius = 12.0";
const ARCHED: &str =
    "radius = 12.0\nbend = [[150.0, 40.0]]\nbend_towards = [0.0, 0.2, 1.0]\nsubframe_axis = [1.0, 0.0, 0.0]";

fn only(answer: &Clearance, side: usize) -> rodset::plan::Nearest {
    let [gap] = answer.sides[Hand::BOTH[side]].gaps.as_slice() else { panic!("one pair: {answer:?}") };
    assert_eq!(gap.planned, None);
    gap.stock.clone()
}

#[test]
fn an_arm_that_rises_to_a_plane_touches_where_its_end_gets_there() {
    let ceiling =
        "shape = \"plane\"\npoints = [[0, 400, 340], [100, 400, 340], [0, 500, 340]]\nonly = [\"toe\"]";
    let answer = asked(&walled(STRAIGHT, ceiling), 20.0);
    for side in 0..2 {
        let nearest = only(&answer, side);
        // The end's middle is at 280 + rise; at a rise of 60 it passes into the plane and the overlap is all of the radius.
        assert_relative_eq!(nearest.least_mm, -12.0);
        assert!(nearest.inside() && !nearest.inside_at_drop());
        assert_relative_eq!(nearest.at_drop_mm, 28.0, epsilon = 1e-7);
        let [[first, last]] = nearest.touches_mm[..] else { panic!("one stretch: {nearest:?}") };
        assert_relative_eq!(first, 48.0, epsilon = 1e-6);
        assert_relative_eq!(last, 70.0);
    }
    assert!(!answer.succeeds());
}

/// The tyre's inner face stands at `600 - 300 (1 - cos(phi))`: it comes inboard of 598 at both ends of the travel.
#[test]
fn a_pair_that_touches_at_both_ends_is_free_in_between() {
    let inboard =
        "shape = \"plane\"\npoints = [[0, 598, 0], [100, 598, 0], [0, 598, 100]]\nonly = [\"tyre\"]";
    let nearest = only(&asked(&walled("", inboard), 20.0), 0);
    let [low, high] = nearest.touches_mm[..] else { panic!("two stretches: {nearest:?}") };
    let edge = 300.0 * (1.0 - 2.0 / 300.0_f64).acos().sin();
    assert_relative_eq!(low[..], [-60.0, -edge], epsilon = 1e-4);
    assert_relative_eq!(high[..], [edge, 70.0], epsilon = 1e-4);
}

/// A rim has no rounding, so its gap is 0 however deep it is buried; a tyre that is dented by its shoulder is not so bad.
#[test]
fn what_is_inside_comes_before_any_overlap_with_a_number() {
    let rounded = |wall: &str| {
        let tyre = "[tyre]\nwidth = 200.0\ndiameter = 620.0\nshoulder = 25.0\nrim_width = 190.0\nrim_diameter = 450.0\n";
        parallel("", &format!("{tyre}[[keepout]]\nname = \"wall\"\n{wall}\n"))
    };
    let worst = |part: &str, y: f64| {
        let wall = format!(
            "shape = \"plane\"\npoints = [[0, {y}, 0], [100, {y}, 0], [0, {y}, 100]]\nonly = [\"{part}\"]"
        );
        only(&asked(&rounded(&wall), 0.0), 0)
    };
    let (rim, tyre) = (worst("rim", 650.0), worst("tyre", 594.0));
    assert_eq!((rim.least_mm, rim.inside()), (0.0, true));
    assert!(tyre.least_mm < 0.0 && !tyre.inside(), "{tyre:?}");
    assert_eq!(rim.from_the_worst(&tyre), std::cmp::Ordering::Less);
}

/// A ball about the arm's middle where the car was measured: no arm can be at fault.
#[test]
fn a_shape_through_the_arm_as_measured_is_a_slip_of_the_tape() {
    let ball = |y: f64| {
        let ball =
            format!("shape = \"sphere\"\ncentre = [-140.0, {y:?}, 320.0]\nradius = 30.0\nonly = [\"toe\"]");
        let answer = asked(&walled(STRAIGHT, &ball), 20.0);
        (answer.sides.left.gaps[0].as_measured_mm, answer.sides.left.gaps[0].overlaps_as_measured())
    };
    // 40 above the arm's line, less both radii; then above the pivot's end, 30 inboard of it and 40 up.
    let (gap, overlaps) = ball(500.0);
    assert_relative_eq!(gap, -2.0, epsilon = 1e-6);
    assert!(overlaps);
    let (gap, overlaps) = ball(340.0);
    assert_relative_eq!(gap, 50.0 - 42.0, epsilon = 1e-6);
    assert!(!overlaps);
}

/// `z = 280 + 150 sin(phi) + 40 cos(phi)`: the arch swings about its bolt.
#[test]
fn an_arch_swings_with_its_arm() {
    let ceiling =
        "shape = \"plane\"\npoints = [[0, 400, 400], [100, 400, 400], [0, 500, 400]]\nonly = [\"toe\"]";
    let nearest = only(&asked(&walled(ARCHED, ceiling), 20.0), 1);
    let at = |rise: f64| {
        let phi = (rise / 300.0).asin();
        400.0 - (280.0 + 150.0 * phi.sin() + 40.0 * phi.cos()) - 12.0
    };
    assert_relative_eq!(nearest.least_mm, at(70.0), epsilon = 1e-7);
    assert_relative_eq!(nearest.at_drop_mm, at(20.0), epsilon = 1e-7);
    assert_eq!((nearest.touches_mm.len(), nearest.height_mm, nearest.arch_gap_mm), (0, 70.0, Some(300.0)));
}

/// A ball straight out from where the arm points at a rise of 30: 400 from the pivot, the arm ends at 300.
#[test]
fn a_least_gap_within_the_travel_is_found_where_it_is() {
    let phi = (30.0_f64 / 300.0).asin();
    let centre = [-140.0, 370.0 + 400.0 * phi.cos(), 280.0 + 400.0 * phi.sin()];
    let ball = format!("shape = \"sphere\"\ncentre = {centre:?}\nradius = 25.0\nonly = [\"toe\"]");
    let nearest = only(&asked(&walled(STRAIGHT, &ball), -10.0), 0);
    assert_relative_eq!(nearest.least_mm, 63.0, epsilon = 1e-5);
    assert_relative_eq!(nearest.height_mm, 30.0, epsilon = 0.05);
}

/// The wheel is furthest out where the arms are level, and rises with them.
#[test]
fn the_tyre_and_the_rim_go_with_the_wheel() {
    let outside =
        "shape = \"plane\"\npoints = [[0, 830, 0], [100, 830, 0], [0, 830, 100]]\nonly = [\"tyre\"]";
    let nearest = only(&asked(&walled("", outside), 15.0), 0);
    assert_relative_eq!(nearest.least_mm, 30.0, epsilon = 1e-6);
    assert_relative_eq!(nearest.height_mm, 0.0, epsilon = 0.05);
    let above =
        "shape = \"plane\"\npoints = [[0, 800, 700], [100, 800, 700], [0, 900, 700]]\nonly = [\"rim\"]";
    let nearest = only(&asked(&walled("", above), 15.0), 1);
    assert_relative_eq!(nearest.least_mm, 700.0 - 370.0 - 225.0, epsilon = 1e-6);
    assert_relative_eq!(nearest.height_mm, 70.0);
}

/// A shape counts on the side where it stands, and by its mirror image on the other unless it has none.
#[test]
fn shapes_stand_where_they_were_measured_and_in_the_mirror() {
    let ball = |y: f64, more: &str| {
        let keepout = format!(
            "shape = \"sphere\"\ncentre = [-140.0, {y:?}, 360.0]\nradius = 30.0\nonly = [\"toe\"]\n{more}"
        );
        let answer = asked(&walled(STRAIGHT, &keepout), 10.0);
        answer.sides.map(|side| side.gaps.first().map(|gap| gap.stock.clone()))
    };
    let near = |gap: Option<rodset::plan::Nearest>| gap.expect("a gap").at_drop_mm;
    let PerSide { left, right } = ball(500.0, "");
    assert_eq!(left, right);
    assert_relative_eq!(near(left), near(ball(-500.0, "").left.clone()));
    let PerSide { left, right } = ball(500.0, "mirrored = false");
    assert!(left.is_some() && right.is_none());
    let PerSide { left, right } = ball(-500.0, "mirrored = false");
    assert_eq!(
        (left, right.map(|gap| gap.at_drop_mm)),
        (None, ball(500.0, "").left.clone().map(|gap| gap.at_drop_mm))
    );
    // One that stands across the centreline stands there once: nearer to the left arm than to the right one.
    let across = "shape = \"cylinder\"\nends = [[-140.0, 250.0, 280.0], [-140.0, -50.0, 280.0]]\nradius = 30.0\nonly = [\"toe\"]";
    let answer = asked(&walled(STRAIGHT, across), 10.0);
    assert_relative_eq!(only(&answer, 0).least_mm, 108.0, epsilon = 1e-6);
    assert_relative_eq!(only(&answer, 1).least_mm, 308.0, epsilon = 1e-6);
}

/// Whatever is fitted, the links as the plan sets them read what the plan says.
#[test]
fn the_planned_links_read_what_the_plan_says() {
    for text in [include_str!("../examples/tansy-wharf.toml"), include_str!("../examples/sedge-mill.toml")] {
        let car = profile::read(text).expect("sound").car;
        let stance = Stance::new(&car, [40.0, 33.0], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        for (arms, keep_cams) in [
            (None, false),
            (None, true),
            (Some(vec!["toe".to_owned()]), false),
            (Some(vec!["toe".to_owned()]), true),
            (Some(Vec::new()), false),
        ] {
            let fitting = Fitting { arms, keep_cams, ..Fitting::default() };
            let planned = plan(&car, &stance, &specs, &fitting).expect("a plan");
            for (side, answer) in car.sides.iter().zip(&planned.sides) {
                let position =
                    forward(side, &answer.setup(side, &fitting), stance.drop(side.hand)).expect("planned");
                let reading = rodset::plan::Reading::of(side, &position.pose, &stance.ground(side.hand));
                assert_relative_eq!(reading.camber_deg, answer.result.reading.camber_deg, epsilon = 1e-9);
                assert_relative_eq!(reading.toe_deg, answer.result.reading.toe_deg, epsilon = 1e-9);
            }
        }
    }
}

/// A bend of its own, or none, for the fitted arm: what is planned is not what was there.
#[test]
fn the_planned_arm_has_its_own_shape() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
    let fitting = Fitting::default();
    let planned = plan(&car, &stance, &specs, &fitting).expect("a plan");
    let answer = clearance(&car, &stance, Some(&planned), &fitting, Asked::ALL).expect("a position");
    for (side, answer) in car.sides.iter().zip(&answer.sides) {
        let rail =
            answer.gaps.iter().find(|gap| gap.part == "upper" && gap.keepout == "rail").expect("the pair");
        let (now, before) = (rail.planned.as_ref().expect("planned"), &rail.stock);
        assert!(before.least_mm > now.least_mm + 10.0, "the stock arm hangs down by 22 mm: {rail:?}");
        // By hand: the plan's setup reads what the plan reads, and its arm is where the answer says.
        let setup = planned.sides[side.hand].setup(side, &fitting);
        let position = forward(side, &setup, 40.0).expect("planned");
        let reading = rodset::plan::Reading::of(side, &position.pose, &stance.ground(side.hand));
        assert_relative_eq!(
            reading.camber_deg,
            planned.sides[side.hand].result.reading.camber_deg,
            epsilon = 1e-9
        );
        let solid = side
            .solid(rodset::car::Part::Arm(0), &setup, fitting.fitted(side), &position.pose)
            .expect("a bar");
        let keepout = side.keepouts.iter().find(|keepout| keepout.name == "rail").expect("the rail");
        assert_relative_eq!(gap(&solid, &keepout.obstacle), now.at_drop_mm, epsilon = 1e-6);
    }
}

proptest! {
    #![proptest_config(config(24))]

    /// No sample is below the least, and the least is what the gap is at the height that is told.
    #[test]
    fn no_sample_of_the_travel_is_below_the_least(
        layout in layouts(), drop in -40.0..60.0,
        corner in prop::array::uniform3(0.0..1.0_f64), size in prop::array::uniform3(10.0..90.0_f64),
        ball in prop::array::uniform3(0.0..1.0_f64), radius in 5.0..40.0_f64,
    ) {
        let within = |part: [f64; 3]| [part[0] * 300.0 - 150.0, 330.0 + part[1] * 330.0, 180.0 + part[2] * 330.0];
        let (low, ball) = (within(corner), within(ball));
        let high = [0, 1, 2].map(|i| low[i] + size[i]);
        let text = layout.toml().replace("\nsubframe = ", "\nradius = 12.0\nbend = [[60.0, 25.0], [120.0, 20.0]]\nbend_towards = [0.3, 0.0, 1.0]\nsubframe = ");
        let text = format!(
            "{text}[[keepout]]\nname = \"box\"\nshape = \"box\"\ncorners = [{low:?}, {high:?}]\n\
             [[keepout]]\nname = \"ball\"\nshape = \"sphere\"\ncentre = {ball:?}\nradius = {radius:?}\n[tyre]\nwidth = 200.0\n\
             diameter = 620.0\nshoulder = 25.0\n[ride]\nbump = 60.0\ndroop = 50.0\n"
        );
        let car = profile::read(&text).expect("a sound profile").car;
        let stance = Stance::new(&car, [drop, drop], None).expect("no front drop");
        let Ok(answer) = clearance(&car, &stance, None, &Fitting::default(), Asked::ALL) else {
            return Err(TestCaseError::reject("no position"));
        };
        for (side, answer) in car.sides.iter().zip(&answer.sides) {
            let setup = Setup::as_found(side);
            for found in &answer.gaps {
                let part = side.parts().into_iter().find(|&part| side.part_name(part) == found.part).expect("the part");
                let keepout = side.keepouts.iter().find(|keepout| keepout.name == found.keepout).expect("the shape");
                let at = |height: f64| {
                    let position = forward(side, &setup, height).ok()?;
                    let solid = side.solid(part, &setup, PerLink::default(), &position.pose)?;
                    Some(gap(&solid, &keepout.obstacle))
                };
                let nearest = &found.stock;
                let again = at(nearest.height_mm).expect("the height that is told");
                prop_assert!((again - nearest.least_mm).abs() < 1e-5, "{again} {nearest:?}");
                let steps = ((answer.travel.highest_mm - answer.travel.lowest_mm) / 0.37).floor();
                let mut step = 0.0;
                while step <= steps {
                    let height = answer.travel.lowest_mm + step * 0.37;
                    let sample = at(height).expect("within the travel");
                    prop_assert!(nearest.least_mm <= sample + 1e-5, "{sample} at {height}, {found:?}");
                    let within = |by: f64| nearest.touches_mm.iter().any(|[first, last]| first - by <= height && height <= last + by);
                    prop_assert!(sample > -1e-5 || within(1e-3), "{sample} at {height}, {found:?}");
                    prop_assert!(sample < 1e-5 || !within(-1e-3), "{sample} at {height}, {found:?}");
                    step += 1.0;
                }
            }
        }
    }
}

/// Arms and tyre against the car's own spring and driveshaft, which move with the wheel: by hand where the car was measured, and by dense
/// samples over the travel.
#[test]
fn spring_and_driveshaft_are_held_against_arms_and_tyre() {
    let parts = "[spring]\nupper = [0.0, 470.0, 640.0]\nlower = [0.0, 470.0, 300.0]\ndiameter = 100.0\nlength = 240.0\n\
                 [driveshaft]\ninner = [0.0, 190.0, 330.0]\nouter = [0.0, 680.0, 330.0]\ndiameter = 30.0\n\
                 [tyre]\nwidth = 200.0\ndiameter = 620.0\n";
    let car = parallel(STRAIGHT, parts);
    let answer = asked(&car, 10.0);
    let side = &answer.sides.left;
    let held: Vec<(&str, &str)> =
        side.gaps.iter().map(|gap| (gap.part.as_str(), gap.keepout.as_str())).collect();
    assert_eq!(
        held,
        [("toe", "spring"), ("tyre", "spring"), ("toe", "driveshaft")],
        "the shaft ends in the wheel"
    );
    let own = &car.sides.left;
    let setup = Setup::as_found(own);
    // The coils end 240 mm below 640, upright at y = 470 with a radius of 50; the tyre's inner face stands at 600.
    let tyre = &side.gaps[1];
    assert_relative_eq!(tyre.as_measured_mm, own.wheel.centre.y - 100.0 - 520.0, epsilon = 1e-5);
    for (place, gap_told) in side.gaps.iter().enumerate() {
        let mut least = f64::INFINITY;
        let mut height = (gap_told.stock.height_mm - 3.0).max(side.travel.lowest_mm);
        let Ok(_) = forward(own, &setup, 10.0) else { panic!("a position") };
        while height <= (gap_told.stock.height_mm + 3.0).min(side.travel.highest_mm) {
            if let Ok(position) = forward(own, &setup, height) {
                let obstacle = match place {
                    2 => own.driveshaft.expect("a shaft").shaft(&own.wheel, &position.pose),
                    _ => own.spring.expect("a spring").coils(own, &setup, &position.pose),
                };
                let part = own.parts().into_iter().find(|&part| own.part_name(part) == gap_told.part);
                let solid = own.solid(part.expect("a part"), &setup, PerLink::default(), &position.pose);
                least = least.min(gap(&solid.expect("a solid"), &obstacle.expect("a cylinder")));
            }
            height += 0.25;
        }
        assert!(gap_told.stock.least_mm <= least + 1e-3, "{gap_told:?} {least}");
    }
    // The shaft's coils keep what is below them: lowered, they become shorter by as much as the whole line.
    let lowered = forward(own, &setup, 20.0).expect("a position");
    let spring = own.spring.expect("a spring");
    let ends = |pose: &Pose| match spring.coils(own, &setup, pose) {
        Some(rodset::geometry::solids::Obstacle::Cylinder { ends: [a, b], .. }) => (b - a).norm(),
        other => panic!("a cylinder: {other:?}"),
    };
    let shorter =
        spring.line.length(own, &setup, &own.reference()) - spring.line.length(own, &setup, &lowered.pose);
    assert_relative_eq!(ends(&own.reference()) - ends(&lowered.pose), shorter, epsilon = 1e-9);
    assert_relative_eq!(ends(&own.reference()), 240.0, epsilon = 1e-9);
    // Without sizes they are asked for.
    let bare = parallel(STRAIGHT, &parts.replace("diameter = 100.0\n", "").replace("diameter = 30.0\n", ""));
    let missing = asked(&bare, 10.0);
    assert!(missing.sides.left.gaps.is_empty());
    for key in ["in [spring]", "in [driveshaft]"] {
        assert!(missing.missing.iter().any(|gap| gap.key.contains(key)), "{key}");
    }
}
