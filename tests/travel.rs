//! Travel: velocities against differences of the position solve, plane linkages by their links, and the ends of the travel.

use approx::assert_relative_eq;
use nalgebra::Point3;
use proptest::prelude::*;
use rodset::car::{Car, Hand, PerSide, Setup, Stance};
use rodset::geometry::{Figure, Ground, Instant, Motion, Pose, Position, Row, Wheel, solve};
use rodset::plan::{AS_FOUND, Asked, Fitting, PLANNED, TravelQuestion, Variant, forward, travel};
use rodset::profile;

use crate::layout::{config, layouts};

/// Half the distance of central differences, mm.
const STEP: f64 = 1e-3;

fn car(text: &str) -> Car {
    profile::read(text).expect("a sound profile").car
}

fn question(fitting: &Fitting) -> TravelQuestion<'_> {
    TravelQuestion { fitting, specs: None, variants: &[], bump: None, droop: None, every: 20.0, only: None }
}

proptest! {
    #![proptest_config(config(100))]

    /// Every figure that comes from the velocity state, against positions a little higher and a little lower.
    #[test]
    fn velocities_are_the_slopes_of_positions(layout in layouts(), left in -30.0..50.0, right in -30.0..50.0, front in 0.0..40.0) {
        let car = layout.car();
        let stance = Stance::new(&car, [left, right], Some(front)).expect("the layouts have a wheelbase");
        for side in &car.sides {
            let (drop, ground, setup) = (stance.drop(side.hand), stance.ground(side.hand), Setup::as_found(side));
            let at = |drop: f64| forward(side, &setup, drop).map_err(|_| TestCaseError::reject("no position"));
            let (here, high, low) = (at(drop)?, at(drop + STEP)?, at(drop - STEP)?);
            prop_assume!(!here.is_near_singular());
            let motion = here.motion(Setup::HEIGHT_ROW);
            let contact = side.contact(&here.pose, &ground);
            // The contact as a point of the knuckle.
            let arm = here.pose.rotation.inverse() * (contact - here.pose.centre);
            let slope = |arm| (high.pose.point(arm) - low.pose.point(arm)) / (2.0 * STEP);
            let (foot, hub) = (slope(&arm), slope(&nalgebra::Vector3::zeros()));
            assert_relative_eq!(motion.velocity(&contact), foot, epsilon = 1e-6);
            assert_relative_eq!(motion.shift, hub, epsilon = 1e-6);
            let instant = motion.instant(&ground, &contact);
            let (n, x, y) = (ground.up(), ground.forward(), ground.left());
            assert_relative_eq!(instant.drive_support.tan(), -hub.dot(&x) / hub.dot(&n), epsilon = 1e-6);
            assert_relative_eq!(instant.brake_support.tan(), -foot.dot(&x) / foot.dot(&n), epsilon = 1e-6);
            // Two points of the normal to the contact's path, by hand: from the contact to the middle plane.
            let normal = n * foot.dot(&y) - y * foot.dot(&n);
            let at_middle = contact + normal * (-contact.y / normal.y);
            assert_relative_eq!(instant.roll_centre.expect("it rises"), (at_middle - contact).dot(&n), epsilon = 1e-3);
            // Camber and toe turn with the knuckle; no rod changes its length.
            for figure in [Figure::Camber, Figure::Toe, Figure::Pitch] {
                let value = |position: &Position| figure.value(&position.pose, &side.wheel, &ground);
                let rate = here.rate(figure, &side.wheel, &ground, Setup::HEIGHT_ROW);
                assert_relative_eq!(rate, (value(&high) - value(&low)) / (2.0 * STEP), epsilon = 1e-8);
            }
            for (i, pivot) in setup.pivots.iter().enumerate() {
                let knuckle = here.pose.point(&side.knuckle_arm(i));
                prop_assert!(motion.lengthening(pivot, &knuckle).abs() < 1e-9);
            }
            // The ends of both swing arms move only along and only across the car; points of the screw only along it.
            let height = (here.pose.centre - contact).dot(&n);
            if let (Some(arm), Some(up)) = (instant.front_arm, instant.front_centre) {
                let v = motion.velocity(&(here.pose.centre - y * arm + n * (up - height)));
                prop_assert!(v.dot(&y).abs() + v.dot(&n).abs() < 1e-6 * (1.0 + arm.abs() / 1e3));
            }
            if let (Some(arm), Some(up)) = (instant.side_arm, instant.side_centre) {
                let v = motion.velocity(&(here.pose.centre + x * arm + n * (up - height)));
                prop_assert!(v.dot(&x).abs() + v.dot(&n).abs() < 1e-6 * (1.0 + arm.abs() / 1e3));
            }
            let screw = motion.screw().expect("it turns");
            assert_relative_eq!(motion.velocity(&screw.through), motion.turn * screw.pitch, epsilon = 1e-9);
        }
    }

    /// A loaded radius that was measured by itself carries contact, roll centre and track with it; one that is what the wheel's
    /// height makes it changes nothing.
    #[test]
    fn the_tyre_stands_at_its_loaded_radius(layout in layouts(), drop in 0.0..40.0, by in -4.0..4.0_f64) {
        let text = layout.toml();
        let plain = layout.car();
        // Both wheels have one radius, but each its own camber.
        let standing = plain.sides.left.wheel.centre.z / plain.sides.left.reading.camber.cos();
        let fitting = Fitting::default();
        let asked = |radius: f64| {
            let car = car(&text.replace("rim_diameter", &format!("loaded_radius = {radius:?}\nrim_diameter")));
            let stance = Stance::new(&car, [drop, drop], None).expect("no front drop");
            travel(&car, &stance, &question(&fitting)).ok().map(|answer| answer.sides.left.setups[0].clone())
        };
        let stance = Stance::new(&plain, [drop, drop], None).expect("no front drop");
        let Ok(before) = travel(&plain, &stance, &question(&fitting)) else { return Err(TestCaseError::reject("no position")) };
        let before = &before.sides.left.setups[0];
        let (Some(same), Some(other)) = (asked(standing), asked(standing + by)) else {
            return Err(TestCaseError::reject("no position"));
        };
        let side = &plain.sides.left;
        for ((before, same), other) in before.stations.iter().zip(&same.stations).zip(&other.stations) {
            assert_relative_eq!(Point3::from(before.contact_mm), Point3::from(same.contact_mm), epsilon = 1e-9);
            let there = forward(side, &Setup::as_found(side), other.drop_mm).expect("it was shown");
            prop_assume!(!there.is_near_singular());
            let foot = |position: &Position| {
                let spindle = position.pose.rotation * side.wheel.spindle;
                let down = -nalgebra::Vector3::z();
                position.pose.centre + (down - spindle * spindle.dot(&down)).normalize() * (standing + by)
            };
            let contact = foot(&there);
            assert_relative_eq!(Point3::from(other.contact_mm), contact, epsilon = 1e-8);
            // The normal to the way of the knuckle's point at the contact, by differences.
            let arm = there.pose.rotation.inverse() * (contact - there.pose.centre);
            let at = |rise: f64| forward(side, &Setup::as_found(side), other.drop_mm + rise).map(|p| p.pose.point(&arm));
            let (Ok(high), Ok(low)) = (at(STEP), at(-STEP)) else {
                return Err(TestCaseError::reject("no position"));
            };
            let way = high - low;
            let roll = contact.y * way.y / way.z;
            assert_relative_eq!(other.motion.roll_centre_mm.expect("it rises"), roll, epsilon = 1e-3, max_relative = 1e-5);
        }
    }

    /// Stations are positions of their own: each reads what a plain solve from the reference reads.
    #[test]
    fn stations_are_where_a_plain_solve_is(layout in layouts(), drop in 0.0..40.0) {
        let car = layout.car();
        let stance = Stance::new(&car, [drop, drop], None).expect("no front drop");
        let fitting = Fitting::default();
        let Ok(answer) = travel(&car, &stance, &TravelQuestion { every: 15.0, ..question(&fitting) }) else {
            return Err(TestCaseError::reject("no position"));
        };
        for (side, shown) in car.sides.iter().zip(&answer.sides) {
            for station in &shown.setups[0].stations {
                let there = forward(side, &Setup::as_found(side), station.drop_mm).expect("it was shown");
                let read = |figure: Figure| figure.value(&there.pose, &side.wheel, &Ground::level()).to_degrees();
                assert_relative_eq!(station.reading.camber_deg, read(Figure::Camber), epsilon = 1e-9);
                assert_relative_eq!(station.reading.toe_deg, read(Figure::Toe), epsilon = 1e-9);
                assert_relative_eq!(station.pitch_deg, read(Figure::Pitch), epsilon = 1e-9);
            }
        }
    }

    /// A mirrored car screws the other way round, on the other side.
    #[test]
    fn the_screw_of_a_right_wheel_is_the_mirror_of_a_left_one(layout in layouts()) {
        let mut layout = layout;
        layout.readings[1] = layout.readings[0];
        let car = layout.car();
        let stance = Stance::new(&car, [20.0, 20.0], None).expect("no front drop");
        let fitting = Fitting::default();
        let Ok(answer) = travel(&car, &stance, &question(&fitting)) else {
            return Err(TestCaseError::reject("no position"));
        };
        let PerSide { left, right } = answer.sides.each(|side| side.setups[0].at_ride().expect("ride height").motion);
        // By hand: velocities are mirrored in y, so a point of one axis is that of the other with y turned round.
        let (a, b) = (left.screw_through_mm.expect("it turns"), right.screw_through_mm.expect("it turns"));
        assert_relative_eq!(Point3::from(a), Point3::new(b[0], -b[1], b[2]), epsilon = 1e-6);
        let (a, b) = (left.screw_along.expect("it turns"), right.screw_along.expect("it turns"));
        assert_relative_eq!(a[1], b[1], epsilon = 1e-9);
        assert_relative_eq!(a[0], -b[0], epsilon = 1e-9);
        assert_relative_eq!(left.screw_pitch_mm_per_rad.expect("one"), -right.screw_pitch_mm_per_rad.expect("one"), epsilon = 1e-6);
    }
}

/// The instant of five rods between given points, with the ground level under a wheel without camber and toe.
fn instant_of(
    centre: Point3<f64>,
    rods: [(Point3<f64>, Point3<f64>); 5],
    rise: f64,
) -> (Pose, Motion, Instant) {
    let rows: [Row; 6] = std::array::from_fn(|i| match rods.get(i) {
        Some((subframe, knuckle)) => Row::rod(*subframe, knuckle - centre, (knuckle - subframe).norm()),
        None => Row::Height { z: centre.z + rise },
    });
    let wheel = Wheel::reading(centre, 0.0, 0.0);
    let position = solve(&rows, &Pose::reference(centre)).expect("a position");
    let contact = wheel.contact(&position.pose, &Ground::level(), wheel.loaded_radius());
    let motion = position.motion(5);
    (position.pose, motion, motion.instant(&Ground::level(), &contact))
}

/// Where two lines of a plane meet, each through two points.
fn meet([a, b]: [(f64, f64); 2], [c, d]: [(f64, f64); 2]) -> (f64, f64) {
    let cross = |u: (f64, f64), v: (f64, f64)| u.0 * v.1 - u.1 * v.0;
    let (u, v) = ((b.0 - a.0, b.1 - a.1), (d.0 - c.0, d.1 - c.1));
    let t = cross((c.0 - a.0, c.1 - a.1), v) / cross(u, v);
    (a.0 + t * u.0, a.1 + t * u.1)
}

/// Two wishbones whose axes run along the car turn the knuckle in its front view about the point where the arms' lines meet
/// (the theorem of Aronhold and Kennedy); the line from the contact through it meets the middle of the car in the roll
/// centre. Both are the textbook construction, here at several heights.
#[test]
fn a_front_view_turns_about_the_point_where_the_arms_meet() {
    let at = |x: f64, (y, z): (f64, f64)| Point3::new(x, y, z);
    let (a, b, c, d) = ((320.0, 200.0), (440.0, 450.0), (690.0, 190.0), (665.0, 465.0));
    let rods = [
        (at(-120.0, a), at(0.0, c)),
        (at(120.0, a), at(0.0, c)),
        (at(-100.0, b), at(0.0, d)),
        (at(100.0, b), at(0.0, d)),
        (at(-260.0, a), at(-140.0, c)),
    ];
    let centre = Point3::new(0.0, 750.0, 310.0);
    for rise in [-60.0, -20.0, 0.0, 25.0, 70.0] {
        let (pose, motion, instant) = instant_of(centre, rods, rise);
        let flat = |point: Point3<f64>| {
            let now = pose.point(&(point - centre));
            (now.y, now.z)
        };
        let (lower, upper) = ([a, flat(at(0.0, c))], [b, flat(at(0.0, d))]);
        let (y, z) = meet(lower, upper);
        // The wheel leans with the knuckle: its foot is straight down its own plane.
        let foot = Wheel::reading(centre, 0.0, 0.0).contact(&pose, &Ground::level(), 310.0);
        assert_relative_eq!(instant.front_arm.expect("one"), pose.centre.y - y, max_relative = 1e-9);
        assert_relative_eq!(instant.front_centre.expect("one"), z - foot.z, max_relative = 1e-9);
        let roll = meet([(foot.y, foot.z), (y, z)], [(0.0, 0.0), (0.0, 1.0)]).1 - foot.z;
        assert_relative_eq!(instant.roll_centre.expect("one"), roll, max_relative = 1e-9, epsilon = 1e-9);
        assert_eq!(instant.side_arm, None, "{motion:?}");
        assert_relative_eq!(instant.drive_support, 0.0, epsilon = 1e-12);
    }
}

/// The same seen from the side: a four-bar whose axes run across the car. Drive at the wheel centre and the brake at the
/// contact are supported by the slopes to the point where the links meet.
#[test]
fn a_side_view_turns_about_the_point_where_the_links_meet() {
    let at = |y: f64, (x, z): (f64, f64)| Point3::new(x, y, z);
    let (a, b, c, d) = ((420.0, 260.0), (380.0, 420.0), (20.0, 190.0), (-10.0, 430.0));
    let rods = [
        (at(560.0, a), at(700.0, c)),
        (at(840.0, a), at(700.0, c)),
        (at(580.0, b), at(700.0, d)),
        (at(820.0, b), at(700.0, d)),
        (at(440.0, a), at(580.0, c)),
    ];
    let centre = Point3::new(0.0, 700.0, 300.0);
    for rise in [-50.0, 0.0, 40.0] {
        let (pose, _, instant) = instant_of(centre, rods, rise);
        let flat = |point: Point3<f64>| {
            let now = pose.point(&(point - centre));
            (now.x, now.z)
        };
        let (x, z) = meet([a, flat(at(700.0, c))], [b, flat(at(700.0, d))]);
        let ground = pose.centre.z - 300.0;
        assert_relative_eq!(instant.side_arm.expect("one"), x - pose.centre.x, max_relative = 1e-9);
        assert_relative_eq!(instant.side_centre.expect("one"), z - ground, max_relative = 1e-9);
        let ahead = x - pose.centre.x;
        assert_relative_eq!(instant.drive_support.tan(), (z - pose.centre.z) / ahead, max_relative = 1e-9);
        assert_relative_eq!(instant.brake_support.tan(), (z - ground) / ahead, max_relative = 1e-9);
        assert_eq!(instant.front_arm, None);
        assert_relative_eq!(instant.roll_centre.expect("one"), 0.0, epsilon = 1e-9);
    }
}

/// Equal parallel arms of length r only shift the wheel: no swing arm, no gradient, and a contact that goes round a circle,
/// so at a height s above level the roll centre is y s / sqrt(r^2 - s^2) below the ground.
#[test]
fn parallel_arms_have_no_swing_arm() {
    let r = 300.0_f64;
    let rod = |x: f64, outer: f64, y: f64, z: f64| (Point3::new(x, y, z), Point3::new(outer, y + r, z));
    let rods = [
        rod(-150.0, 0.0, 380.0, 210.0),
        rod(150.0, 0.0, 380.0, 210.0),
        rod(-90.0, 5.0, 390.0, 450.0),
        rod(80.0, 5.0, 390.0, 450.0),
        rod(-140.0, -140.0, 385.0, 330.0),
    ];
    let centre = Point3::new(0.0, 750.0, 310.0);
    for rise in [-90.0_f64, -30.0, 0.0, 45.0, 110.0] {
        let (pose, motion, instant) = instant_of(centre, rods, rise);
        assert_eq!((instant.front_arm, instant.side_arm), (None, None));
        assert!(motion.turn.norm() < 1e-12);
        // left(v)/up(v) = -s / sqrt(r^2 - s^2)
        let expected = -pose.centre.y * rise / (r * r - rise * rise).sqrt();
        assert_relative_eq!(instant.roll_centre.expect("one"), expected, epsilon = 1e-7);
    }
}

/// Anti-squat and anti-lift in percent, by hand from the support angles of the answer's own stations: h/l moves between the
/// axles per unit of force; the rear axle has its share of the braking.
#[test]
fn percentages_hold_the_support_against_the_load_transfer() {
    let text = include_str!("../examples/sedge-mill.toml");
    let without = |key: &str| {
        let lines = text.lines().filter(|line| !line.starts_with(key));
        car(&lines.collect::<Vec<_>>().join("\n"))
    };
    let whole = car(text);
    let (height, wheelbase) = (530.0, 104.0 * 25.4);
    let stance = Stance::new(&whole, [40.0, 40.0], Some(20.0)).expect("a wheelbase");
    let fitting = Fitting::default();
    let answer = travel(&whole, &stance, &question(&fitting)).expect("within travel");
    let mut looked = 0;
    for station in &answer.sides.left.setups[0].stations {
        // The middle of the wheelbase came down by 30, and the body goes down as the wheels come up.
        let transfer = (height - 30.0 - station.travel_mm) / wheelbase;
        let motion = station.motion;
        let tan = |degrees: f64| degrees.to_radians().tan();
        let squat = 100.0 * tan(motion.drive_support_deg) / transfer;
        let lift = 100.0 * 0.32 * tan(motion.brake_support_deg) / transfer;
        assert_relative_eq!(motion.anti_squat_percent.expect("all is given"), squat, epsilon = 1e-9);
        assert_relative_eq!(motion.anti_lift_percent.expect("all is given"), lift, epsilon = 1e-9);
        looked += 1;
    }
    assert!(looked > 5);
    // Without the share there is no anti-lift, and without the height neither; the angles stay.
    let less = without("rear_brake_share");
    let motion = travel(&less, &stance, &question(&fitting)).expect("within travel").sides.left.setups[0]
        .stations[0]
        .motion;
    assert!(motion.anti_squat_percent.is_some() && motion.anti_lift_percent.is_none());
    let none = travel(&without("gravity_height"), &stance, &question(&fitting)).expect("within travel");
    assert_eq!(none.sides.left.setups[0].stations[0].motion.anti_squat_percent, None);
}

/// Travel beyond what the links allow: what can be shown is, with the links that end it and where.
#[test]
fn travel_past_the_links_ends_there_and_keeps_the_rest() {
    let car = car(include_str!("../examples/tansy-wharf.toml"));
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let fitting = Fitting::default();
    let asked = TravelQuestion { bump: Some(400.0), droop: Some(400.0), ..question(&fitting) };
    let answer = travel(&car, &stance, &asked).expect("ride height is there");
    for (side, shown) in car.sides.iter().zip(&answer.sides) {
        let curve = &shown.setups[0];
        assert_eq!(curve.ends.len(), 2, "{:?}", curve.ends);
        for end in &curve.ends {
            assert!(!end.links.is_empty(), "a link is named");
            assert_relative_eq!(end.drop_mm, 40.0 + end.travel_mm, epsilon = 1e-9);
            // It is the end: there is a position just short of it, and none beyond.
            let short = end.travel_mm.signum() * 0.1;
            let setup = Setup::as_found(side);
            forward(side, &setup, end.drop_mm - short).expect("just short of the end");
            forward(side, &setup, end.drop_mm + short).expect_err("just beyond it");
        }
        assert!(curve.stations.len() > 10);
        let inside = |travel: f64| {
            curve
                .ends
                .iter()
                .any(|end| travel.signum() == end.travel_mm.signum() && travel.abs() < end.travel_mm.abs())
        };
        assert!(curve.stations.iter().all(|station| station.travel_mm == 0.0 || inside(station.travel_mm)));
    }
}

#[test]
fn set_ups_stand_side_by_side() {
    let car = car(include_str!("../examples/tansy-wharf.toml"));
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("the example has one"));
    let fitting = Fitting::default();
    let longer = |name: &str, hold| Variant {
        name: name.to_owned(),
        changes: vec![("traction".to_owned(), 3.0)],
        hold,
    };
    let variants = [longer("longer", false), longer("held", true)];
    let asked = TravelQuestion { specs: Some(&specs), variants: &variants, ..question(&fitting) };
    let answer = travel(&car, &stance, &asked).expect("within travel");
    for hand in Hand::BOTH {
        let side = &answer.sides[hand];
        let names: Vec<&str> = side.setups.iter().map(|curve| curve.setup.as_str()).collect();
        assert_eq!(names, [AS_FOUND, PLANNED, "longer", "held"]);
        let ride = |i: usize| side.setups[i].at_ride().expect("ride height");
        // Held, the wheel reads the spec exactly; merely longer, it does not.
        let spec = side.spec.expect("one was given");
        assert_relative_eq!(ride(3).reading.camber_deg, spec.camber_deg, epsilon = 1e-9);
        assert_relative_eq!(ride(3).reading.toe_deg, spec.toe_deg, epsilon = 1e-9);
        assert!((ride(2).reading.toe_deg - ride(1).reading.toe_deg).abs() > 0.01);
        // All start from the same height, and stock height and both stops are among the stations.
        for curve in &side.setups {
            let travels: Vec<f64> = curve.stations.iter().map(|station| station.travel_mm).collect();
            for travel in [-125.0, -40.0, 0.0, 50.0] {
                assert!(travels.contains(&travel), "{travel} in {travels:?}");
            }
            assert!(travels.is_sorted());
        }
        let lengths = |i: usize| side.setups[i].links.iter().map(|link| link.longer_mm).collect::<Vec<_>>();
        let traction = car.sides.left.links.iter().position(|link| link.name == "traction").expect("a link");
        assert_relative_eq!(lengths(2)[traction], 3.0, epsilon = 1e-12);
    }
}

/// The motion ratio over the travel is how much the strut shortens between two heights, and at ride height the one of `springs`.
#[test]
fn motion_ratios_are_the_slopes_of_the_lengths() {
    let car = car(include_str!("../examples/tansy-wharf.toml"));
    let stance = Stance::new(&car, [40.0; 2], None).expect("no front drop");
    let fitting = Fitting::default();
    let travelled = travel(&car, &stance, &question(&fitting)).expect("within travel");
    let springs = rodset::plan::springs(&car, &stance, None, &fitting, Asked::ALL).expect("within travel");
    for (i, side) in car.sides.iter().enumerate() {
        let setup = Setup::as_found(side);
        let spring = side.spring.expect("the example has a spring");
        let damper = side.damper.expect("the example has a damper");
        let stock = &travelled.sides[Hand::BOTH[i]].setups[0];
        assert!(stock.stations.len() > 5);
        for at in &stock.stations {
            let ratio = |line: &rodset::car::Strut| {
                let length = |by: f64| {
                    let position = forward(side, &setup, at.drop_mm + by).expect("a little further");
                    line.length(side, &setup, &position.pose)
                };
                (length(-STEP) - length(STEP)) / (2.0 * STEP)
            };
            assert_relative_eq!(
                at.motion.spring_ratio.expect("a spring"),
                ratio(&spring.line),
                epsilon = 1e-7
            );
            assert_relative_eq!(
                at.motion.damper_ratio.expect("a damper"),
                ratio(&damper.line),
                epsilon = 1e-7
            );
        }
        let at_ride = stock.at_ride().and_then(|at| at.motion.spring_ratio).expect("a spring");
        let of_springs = springs.sides[Hand::BOTH[i]].spring.as_ref().expect("a spring").at_drop.motion_ratio;
        assert_relative_eq!(at_ride, of_springs, epsilon = 1e-12);
    }
}

/// Without a spec there is nothing to hold camber and toe to: the set-up is left out and the reason told.
#[test]
fn nothing_is_held_without_a_spec() {
    let car = car(include_str!("../examples/tansy-wharf.toml"));
    let stance = Stance::new(&car, [40.0; 2], None).expect("no front drop");
    let variants = [true, false].map(|hold| Variant {
        name: if hold { "held" } else { "not held" }.to_owned(),
        changes: vec![("traction".to_owned(), 2.0)],
        hold,
    });
    let fitting = Fitting::default();
    let answer = travel(&car, &stance, &TravelQuestion { variants: &variants, ..question(&fitting) })
        .expect("within travel");
    for side in &answer.sides {
        let names: Vec<&str> = side.setups.iter().map(|curve| curve.setup.as_str()).collect();
        assert_eq!(names, [AS_FOUND, "not held"]);
    }
    let missing: Vec<&str> = answer.missing.iter().map(|omitted| omitted.setup.as_str()).collect();
    assert_eq!(missing, [PLANNED, "held"]);
    assert!(answer.missing.iter().all(|omitted| omitted.why.contains("[spec]")));
}

/// A travel that the links end is shown to its end, and the range of toe is that of what is shown.
#[test]
fn an_early_end_is_shown_to_the_end() {
    let car = car(include_str!("../examples/tansy-wharf.toml"));
    let stance = Stance::new(&car, [40.0; 2], None).expect("no front drop");
    let fitting = Fitting::default();
    let asked = TravelQuestion { bump: Some(400.0), droop: Some(400.0), every: 5.0, ..question(&fitting) };
    let answer = travel(&car, &stance, &asked).expect("within travel");
    for curve in answer.sides.iter().flat_map(|side| &side.setups) {
        assert_eq!(curve.ends.len(), 2, "the links end it both ways");
        for end in &curve.ends {
            let last = if end.travel_mm > 0.0 { curve.stations.last() } else { curve.stations.first() };
            assert!((last.expect("one").travel_mm - end.travel_mm).abs() < 0.2, "{end:?}");
        }
        let toes: Vec<f64> = curve.stations.iter().map(|at| at.reading.toe_deg).collect();
        let [least, most] = [
            toes.iter().copied().fold(f64::INFINITY, f64::min),
            toes.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ];
        assert!(curve.toe_least_deg <= least + 1e-9 && most <= curve.toe_most_deg + 1e-9);
        // Between stations toe may go a little further, not by as much as over a whole step at the end.
        assert!(least - curve.toe_least_deg < 0.1 && curve.toe_most_deg - most < 0.1);
    }
}
