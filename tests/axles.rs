//! Axles of other members than five rods: laws of their rows.

use approx::assert_relative_eq;
use nalgebra::{Point3, Vector3};
use rodset::car::{Car, Factors, Hardpoints, Hold, LoadCase, Seat, Setup, Side, Stance};
use rodset::geometry::{Figure, Ground, InArm, OnArm, Pose, Row, Wheel, WideRow, solve};
use rodset::measure::Sensitivity;
use rodset::plan::{Asked, Fitting, cams, forward, lower, springs};
use rodset::profile;
use rodset::strength::Balance;

use crate::command::rodset;

const CENTRE: Point3<f64> = Point3::new(0.0, 750.0, 300.0);

fn p(x: f64, y: f64, z: f64) -> Point3<f64> {
    Point3::new(x, y, z)
}

fn rod(inner: Point3<f64>, outer: Point3<f64>) -> Row {
    Row::rod(inner, outer - CENTRE, (outer - inner).norm())
}

fn risen(holds: &[Row; 5], rise: f64) -> Pose {
    let [a, b, c, d, e] = *holds;
    solve(&[a, b, c, d, e, Row::Height { z: CENTRE.z + rise }], &Pose::reference(CENTRE))
        .expect("a position")
        .pose
}

fn same(a: &Pose, b: &Pose, within: f64) {
    assert_relative_eq!(a.centre, b.centre, epsilon = within);
    assert_relative_eq!(a.rotation, b.rotation, epsilon = within / 100.0);
}

/// An upright link whose foot lies on the arm's hinge does not care how the arm swings.
#[test]
fn a_link_that_stands_on_the_hinge_of_its_arm_is_a_plain_rod() {
    let (front, rear, joint) = (p(110.0, 350.0, 200.0), p(-190.0, 340.0, 210.0), p(60.0, 700.0, 175.0));
    let (foot, head) = (front + (rear - front) * -1.0, p(-85.0, 650.0, 360.0));
    let others = [
        rod(front, joint),
        rod(rear, joint),
        rod(p(10.0, 430.0, 470.0), p(0.0, 660.0, 465.0)),
        rod(p(-200.0, 380.0, 270.0), p(-170.0, 690.0, 260.0)),
    ];
    let at = InArm::of(&foot, [front, rear], &joint).expect("an arm");
    let on_arm = OnArm::new(at, [front, rear], [joint - CENTRE, head - CENTRE], (head - foot).norm());
    let with = |row: Row| [others[0], others[1], row, others[2], others[3]];
    for rise in [-70.0, -30.0, 20.0, 70.0] {
        let plain = risen(&with(rod(foot, head)), rise);
        same(&risen(&with(WideRow::OnArm(on_arm).into()), rise), &plain, 1e-9);
    }
    assert!(
        InArm::of(&foot, [front, rear], &(front + (rear - front) * 0.3)).is_none(),
        "no arm without an area"
    );
}

/// A rod is as good as a bush that gives way, the longer it is: what they differ by falls as one over its length.
#[test]
fn each_row_of_a_bush_is_the_limit_of_a_long_rod() {
    let bush = p(450.0, 350.0, 280.0);
    let others = [
        rod(p(10.0, 390.0, 460.0), p(0.0, 680.0, 465.0)),
        rod(p(-50.0, 310.0, 180.0), p(-45.0, 705.0, 170.0)),
        rod(p(150.0, 330.0, 230.0), p(140.0, 690.0, 225.0)),
    ];
    let with = |x: Row, z: Row| risen(&[x, z, others[0], others[1], others[2]], 50.0);
    let held = |normal: Vector3<f64>| Row::guided(bush, bush - CENTRE, normal, 0.0);
    let exact = with(held(Vector3::x()), held(Vector3::z()));
    let off = |length: f64| {
        let long = |normal: Vector3<f64>| rod(bush - normal * length, bush);
        (with(long(Vector3::x()), long(Vector3::z())).centre - exact.centre).norm()
    };
    let [far, further] = [1e5, 1e6].map(off);
    assert!(further < 1e-3, "{further}");
    assert_relative_eq!(far / further, 10.0, epsilon = 0.1);
}

/// A blade whose bush is far ahead leaves a four-bar in the plane across the car: what is left goes as one over the distance. Limit and
/// differences from a solution of their own in 50 digits, made for this test.
#[test]
fn a_blade_far_away_is_a_four_bar() {
    let centre = Point3::new(0.0, 750.0, 0.0);
    let wheel = Wheel { centre, spindle: Vector3::new(0.004, 1.0, 0.012).normalize() };
    let rod = |inner: [f64; 3], outer: [f64; 3]| {
        let (inner, outer) = (Point3::from(inner), Point3::from(outer));
        Row::rod(inner, outer - centre, (outer - inner).norm())
    };
    for (ahead, toe_off, camber_off) in [
        (5e2, -1.116, 0.0167),
        (5e3, -0.1116, -0.001_498),
        (5e4, -0.011_16, -1.815e-4),
        (5e5, -0.001_116, -1.847e-5),
    ] {
        let bush = Point3::new(ahead, 600.0, 0.0);
        let guided = |normal: Vector3<f64>| Row::guided(bush, bush - centre, normal, 0.0);
        let rows = [
            rod([130.0, 350.0, -90.0], [130.0, 710.0, -130.0]),
            rod([-130.0, 350.0, -90.0], [-130.0, 710.0, -130.0]),
            rod([0.0, 460.0, 170.0], [0.0, 680.0, 150.0]),
            guided(Vector3::x()),
            guided(Vector3::z()),
            Row::Height { z: -40.0 },
        ];
        let pose = solve(&rows, &Pose::reference(centre)).expect("a position").pose;
        let [camber, toe] = [Figure::Camber, Figure::Toe]
            .map(|figure| figure.value(&pose, &wheel, &Ground::level()).to_degrees());
        assert_relative_eq!(toe - 0.229_189_421_429, toe_off, max_relative = 1e-3);
        assert_relative_eq!(camber + 0.829_608_115_935, camber_off, max_relative = 4e-3);
    }
}

#[test]
fn a_strut_is_the_same_wherever_along_its_line_the_knuckle_s_point_is_taken() {
    let (top, foot) = (p(-30.0, 590.0, 780.0), p(5.0, 655.0, 320.0));
    let others = [
        rod(p(120.0, 380.0, 205.0), p(110.0, 695.0, 175.0)),
        rod(p(-140.0, 390.0, 200.0), p(-125.0, 700.0, 185.0)),
        rod(p(430.0, 610.0, 240.0), p(20.0, 690.0, 170.0)),
    ];
    let line = (top - foot).normalize();
    let across = line.cross(&Vector3::x()).normalize();
    let with = |foot: Point3<f64>, turn: f64| {
        // Nor on which two ways across its line are taken.
        let ways = [across, line.cross(&across)];
        let ways = [ways[0] * turn.cos() + ways[1] * turn.sin(), ways[1] * turn.cos() - ways[0] * turn.sin()];
        let [a, b] = ways.map(|way| Row::sliding(top, foot - CENTRE, way, 0.0));
        risen(&[a, b, others[0], others[1], others[2]], 60.0)
    };
    let pose = with(foot, 0.0);
    for (along, turn) in [(-300.0, 0.0), (200.0, 0.4), (459.0, 1.0), (900.0, -2.0)] {
        same(&with(foot + line * along, turn), &pose, 1e-9);
    }
}

const BLADE: &str = include_str!("../examples/fennel-weir.toml");
const STRUT: &str = include_str!("../examples/teasel-quay.toml");
const INTEGRAL: &str = include_str!("../examples/bracken-lock.toml");
const ALL: [&str; 3] = [BLADE, STRUT, INTEGRAL];

fn car(text: &str) -> Car {
    match profile::read(text) {
        Ok(checked) => {
            assert_eq!(checked.warnings, [], "{}", checked.car.name);
            checked.car
        }
        Err(findings) => panic!("{}", findings[0].render("car.toml", text, false)),
    }
}

/// Camber and toe, rad.
fn reads(side: &Side, setup: &Setup, drop: f64) -> [f64; 2] {
    let pose = forward(side, setup, drop).expect("within travel").pose;
    [Figure::Camber, Figure::Toe].map(|figure| figure.value(&pose, &side.wheel, &Ground::level()))
}

/// One member with two inner pivots, or two links that share their knuckle's point.
#[test]
fn a_wishbone_is_its_two_links() {
    let (start, end) = ("[[link]]\nname = \"lateral front\"", "# ---- the spring is on the strut");
    let (before, after) = (STRUT.find(start).expect("rods"), STRUT.find(end).expect("a spring"));
    let with = |lower: &str| {
        let toe =
            "[[link]]\nname = \"toe\"\nsubframe = [-165.0, 330.0, 240.0]\nknuckle = [-150.0, 690.0, 228.0]\n";
        car(&format!("{}{lower}{toe}{}", &STRUT[..before], &STRUT[after..]))
    };
    let cam = "sets = \"toe\"\ncam = { eccentricity = 3.0, along = [0.0, 1.0, 0.0], setting = 10.0 }\n";
    let (front, rear, joint) = ("[160.0, 380.0, 207.0]", "[-180.0, 370.0, 192.0]", "[15.0, 705.0, 172.0]");
    let one = with(&format!(
        "[[link]]\nname = \"lower\"\nkind = \"wishbone\"\nknuckle = {joint}\n[link.front]\nsubframe = {front}\n{cam}[link.rear]\nsubframe = {rear}\n"
    ));
    let two = with(&format!(
        "[[link]]\nname = \"lower front\"\nsubframe = {front}\nknuckle = {joint}\n{cam}[[link]]\nname = \"lower rear\"\nsubframe = {rear}\nknuckle = {joint}\n"
    ));
    let names = |car: &Car| car.sides.left.links.iter().map(|link| link.name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&one), names(&two));
    let stance = Stance::new(&one, [40.0, 35.0], None).expect("no front drop");
    let asked = |car: &Car| {
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        let answer = cams(car, &stance, &specs).expect("a position").sides.left;
        (lower(car, &stance).expect("a position").sides.left, answer.best.reading, answer.cams)
    };
    let (one, two) = (asked(&one), asked(&two));
    assert_eq!(one.0.lowered, two.0.lowered);
    assert_eq!((one.1, one.2), (two.1, two.2));
    // The joint's error is one error: the band is another than that of two joints.
    assert!((one.0.band.camber_deg - two.0.band.camber_deg).abs() > 1e-4);
}

#[test]
fn left_is_the_mirror_of_right() {
    for text in ALL {
        let head = text.split("# ---- what was read otherwise").next().expect("a base");
        let alike = car(head);
        // All points of the right side by themselves, in car axes.
        let mut right = "[right]\n".to_owned();
        let point = |at: &Point3<f64>| format!("[{:?}, {:?}, {:?}]", at.x, -at.y, at.z);
        for link in &alike.sides.left.links {
            let (name, member) = (&link.name, link.member());
            right += &match link.hold {
                Hold::Leg(_) => {
                    let (arm, leg) = name.rsplit_once(' ').expect("a leg");
                    let knuckle = if leg == "front" {
                        format!("knuckle = {}\n", point(&link.knuckle))
                    } else {
                        String::new()
                    };
                    if leg == "front" {
                        format!(
                            "[[right.link]]\nname = \"{arm}\"\n{knuckle}[right.link.front]\nsubframe = {}\n",
                            point(&link.subframe)
                        )
                    } else {
                        format!("[right.link.rear]\nsubframe = {}\n", point(&link.subframe))
                    }
                }
                Hold::BushAhead => {
                    format!("[[right.link]]\nname = \"{member}\"\nsubframe = {}\n", point(&link.subframe))
                }
                Hold::BushUp(_) | Hold::Bolt(..) => String::new(),
                _ => format!(
                    "[[right.link]]\nname = \"{member}\"\nsubframe = {}\nknuckle = {}\n",
                    point(&link.subframe),
                    point(&link.knuckle)
                ),
            };
        }
        let own = car(&format!("{head}{right}"));
        let stance = Stance::new(&own, [40.0; 2], None).expect("no front drop");
        let answer = lower(&own, &stance).expect("a position").sides;
        assert_relative_eq!(
            answer.left.lowered.reading.camber_deg,
            answer.right.lowered.reading.camber_deg,
            epsilon = 1e-12
        );
        assert_relative_eq!(
            answer.left.lowered.reading.toe_deg,
            answer.right.lowered.reading.toe_deg,
            epsilon = 1e-12
        );
        let [left, right] = [answer.left.lowered.centre_mm, answer.right.lowered.centre_mm];
        assert_relative_eq!(left[1], -right[1], epsilon = 1e-9);
        for (link, other) in alike.sides.left.links.iter().zip(&own.sides.right.links) {
            assert_eq!((link.subframe, link.knuckle), (other.subframe, other.knuckle), "{}", link.name);
        }
    }
}

/// Any stand of top mount and bolt, found again from the pose it leads to: each by itself, and both together. Wherever the top stands
/// along its slot, the strut's line keeps to that slot.
#[test]
fn both_cams_of_a_strut_are_found_again_from_the_pose() {
    let text = STRUT
        .replace("along = [0.0, 1.0, 0.0]\n\n# ---- two rods", "along = [0.5, 1.0, 0.1]\n\n# ---- two rods");
    let car = car(&text);
    let side = &car.sides.left;
    let place = |name: &str| side.links.iter().position(|link| link.name == name).expect(name);
    let (top, bolt) = (place("strut top"), place("strut bolt"));
    for (of_top, of_bolt) in [(0.0, 0.0), (4.0, 0.0), (0.0, -2.5), (-5.0, 2.0), (3.0, 3.0)] {
        let mut setup = Setup::as_found(side);
        setup.put_cam(top, &side.links[top], of_top);
        setup.put_cam(bolt, &side.links[bolt], of_bolt);
        assert_relative_eq!(setup.cam(top, &side.links[top]), of_top, epsilon = 1e-12);
        assert_relative_eq!(setup.cam(bolt, &side.links[bolt]), of_bolt, epsilon = 1e-12);
        let position = forward(side, &setup, 45.0).expect("within travel");
        assert_relative_eq!(side.cam_for(top, &setup, &position.pose, false), of_top, epsilon = 1e-9);
        assert_relative_eq!(side.cam_for(bolt, &setup, &position.pose, false), of_bolt, epsilon = 1e-9);
        let mut other = setup;
        other.put_cam(bolt, &side.links[bolt], 1.0);
        assert_relative_eq!(side.cam_for(top, &other, &position.pose, true), of_top, epsilon = 1e-9);
        let mut rows = setup.rows(side, 45.0);
        side.free_cams(&mut rows, &setup, [top].into_iter());
        assert!(matches!(rows[bolt], Row::Wide(_)), "the slot has a row");
        assert!(rows[bolt].residual(&position.pose).abs() < 1e-9);
        // What a mm of either does, against the solution a little further.
        for cam in [top, bolt] {
            let moved = |by: f64| {
                let mut setup = setup;
                setup.move_cam(cam, &side.links[cam], by);
                reads(side, &setup, 45.0)
            };
            let (more, less) = (moved(0.01), moved(-0.01));
            for (i, figure) in [Figure::Camber, Figure::Toe].into_iter().enumerate() {
                let rate = |(row, push): (usize, f64)| {
                    push * position.rate(figure, &side.wheel, &Ground::level(), row)
                };
                let slope: f64 = side.pushes(cam, &setup, &position.pose).into_iter().map(rate).sum();
                assert_relative_eq!(slope, (more[i] - less[i]) / 0.02, epsilon = 1e-9);
            }
        }
    }
}

/// Camber by the top mount, by the bolt, and toe by an arm: what the answer sets reads what was asked.
#[test]
fn the_cams_of_a_strut_meet_the_spec() {
    let without = |name: &str| {
        let (head, rest) = STRUT.split_once(name).expect(name);
        let (_, rest) = rest.split_once("\n\n").expect("the end of a table");
        format!("{head}\n{rest}")
    };
    for (text, cam) in [
        (without("[link.lean]"), "strut top"),
        (without("[link.cam]                      # the top"), "strut bolt"),
    ] {
        let text = text
            .replace("kind = \"strut\"\n", "kind = \"strut\"\nsets = \"camber\"\n")
            .replace("eccentricity = 6.0", "eccentricity = 12.0");
        let car = car(&text.replacen("sets = \"camber\"\n", "", usize::from(cam == "strut bolt")));
        let stance = Stance::new(&car, [30.0; 2], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        let answer = cams(&car, &stance, &specs).expect("a position").sides.left;
        assert_eq!(
            answer.cams.iter().map(|cam| cam.link.as_str()).collect::<Vec<_>>(),
            [cam, "lateral rear"]
        );
        assert_relative_eq!(answer.best.reading.camber_deg, -1.0, epsilon = 1e-9);
        let mut setup = Setup::as_found(&car.sides.left);
        for set in &answer.cams {
            let place = car.sides.left.links.iter().position(|link| link.name == set.link).expect("a link");
            setup.put_cam(place, &car.sides.left.links[place], set.shift_mm);
        }
        let [camber, toe] = reads(&car.sides.left, &setup, 30.0).map(f64::to_degrees);
        assert_relative_eq!(camber, -1.0, epsilon = 1e-9);
        assert_relative_eq!(toe, 0.1, epsilon = 1e-9);
    }
}

/// A spring on a wishbone's plate: where it sits on a leg's line it works as on that leg; anywhere its motion ratio is the slope of its
/// length, and what it puts on the three bolts of the wishbone holds that in balance.
#[test]
fn a_spring_on_a_wishbone_s_plate_is_held_by_its_three_bolts() {
    let (seat, rest) = INTEGRAL.split_once("on = \"lower\"                    # it").expect("a spring");
    let (_, rest) = rest.split_once("# here\n").expect("its place");
    let with = |lines: &str| car(&format!("{seat}{lines}{rest}"));
    let on_leg = with("on = \"lower rear\"\nfrom_inner = 250.0\n");
    let rear = on_leg.sides.left.links.iter().find(|link| link.name == "lower rear").expect("a leg");
    let at = rear.subframe + (rear.knuckle - rear.subframe).normalize() * 250.0;
    let same = with(&format!("on = \"lower\"\nlower = [{:?}, {:?}, {:?}]\n", at.x, at.y, at.z));
    let off = with("on = \"lower\"\nlower = [-30.0, 520.0, 236.0]\n");
    let stance = Stance::new(&on_leg, [30.0; 2], None).expect("no front drop");
    let states = |car: &Car| {
        let answer =
            springs(car, &stance, None, &Fitting::default(), Asked::ALL).expect("a position").sides.left;
        answer.spring.expect("a spring").at_drop
    };
    let (one, two) = (states(&on_leg), states(&same));
    assert_relative_eq!(one.motion_ratio, two.motion_ratio, epsilon = 1e-12);
    assert_relative_eq!(one.motion_ratio_per_mm, two.motion_ratio_per_mm, epsilon = 1e-14);
    assert_relative_eq!(one.force_n.expect("held"), two.force_n.expect("held"), max_relative = 1e-12);

    let side = &off.sides.left;
    let (line, setup) = (side.spring.expect("a spring").line, Setup::as_found(side));
    let here = forward(side, &setup, 30.0).expect("within travel");
    let Seat::Plate { legs, inner } = line.lower else { panic!("a seat on the wishbone") };
    let at = |pose: &Pose| {
        let joint = pose.point(&(side.links[legs[0]].knuckle - side.wheel.centre));
        (inner.at(legs.map(|leg| setup.pivots[leg]), &joint), joint)
    };
    let length = |drop: f64| {
        let pose = forward(side, &setup, drop).expect("within travel").pose;
        (at(&pose).0 - line.upper).norm()
    };
    let slope = (length(29.99) - length(30.01)) / 0.02;
    assert_relative_eq!(states(&off).motion_ratio, slope, epsilon = 1e-7);

    let load = side.load(
        &stance.ground(side.hand),
        &here,
        LoadCase::Standing,
        Factors::new([1.0, 0.0, 0.0]).expect("factors"),
    );
    let balance = Balance::of(side, &setup, &here, &load, None).expect("a spring that holds");
    let (seat, joint) = at(&here.pose);
    let force = (seat - line.upper).normalize() * balance.spring_n.expect("a spring");
    // What is not the upright's: its foot's push on the arm goes the way of the model of loads, along the two legs.
    let legs = |on: fn(&Balance, usize) -> Vector3<f64>| [on(&balance, 0), on(&balance, 1)];
    let pulls = [0, 1].map(|leg| (joint - setup.pivots[leg]).normalize() * balance.knuckle_n[leg]);
    let on_bolts = legs(|balance, leg| balance.on_bolt[leg]);
    let on_joint: Vector3<f64> = legs(|balance, leg| balance.on_knuckle[leg]).iter().sum();
    assert_relative_eq!(on_bolts[0] + on_bolts[1] + on_joint, force, epsilon = 1e-8);
    let about = |at: Point3<f64>, force: Vector3<f64>| (at - setup.pivots[0]).cross(&force);
    let moments = about(setup.pivots[1], on_bolts[1]) + about(joint, on_joint);
    assert_relative_eq!(moments, about(seat, force), epsilon = 1e-5);
    assert!((on_bolts[1] - pulls[1]).norm() > 100.0, "the spring is felt there");
}

/// A cam under a wishbone moves the foot of what stands on it too, and still meets the spec.
#[test]
fn the_cam_of_a_wishbone_s_leg_meets_the_spec() {
    let car = car(INTEGRAL);
    let stance = Stance::new(&car, [0.0; 2], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
    let left = &car.sides.left;
    let answer = cams(&car, &stance, &specs).expect("a position").sides.left;
    let mut setup = Setup::as_found(left);
    for set in &answer.cams {
        let place = left.links.iter().position(|link| link.name == set.link).expect("a link");
        assert!(set.shift_mm.abs() > 0.1, "{}: {}", set.link, set.shift_mm);
        setup.put_cam(place, &left.links[place], set.shift_mm);
    }
    let [camber, toe] = reads(left, &setup, 0.0).map(f64::to_degrees);
    assert_relative_eq!(camber, -1.3, epsilon = 1e-9);
    assert_relative_eq!(toe, 0.12, epsilon = 1e-9);
}

/// What an error in each number does, by differences of the exact solution.
#[test]
fn each_number_moves_the_reading_as_its_slope_says() {
    const STEP: f64 = 0.01;
    for text in ALL {
        let car = car(text);
        let side = &car.sides.left;
        let stance = Stance::new(&car, [40.0; 2], None).expect("no front drop");
        let mut setup = Setup::as_found(side);
        let of_arm = side.links.iter().position(|link| link.arm.is_some()).expect("an arm");
        setup.lengths[of_arm] += 2.0;
        let cams = || side.links.iter().enumerate().filter(|(_, link)| link.cam.is_some());
        for (place, link) in cams() {
            setup.put_cam(place, link, 2.0);
        }
        let position = forward(side, &setup, 40.0).expect("within travel");
        for (place, link) in cams() {
            let turned = |by: f64| {
                let mut setup = setup;
                setup.put_cam(place, link, 2.0 + by);
                reads(side, &setup, 40.0)
            };
            let (more, less) = (turned(STEP), turned(-STEP));
            for (i, figure) in [Figure::Camber, Figure::Toe].into_iter().enumerate() {
                let rate =
                    |(row, push)| push * position.rate(figure, &side.wheel, &stance.ground(side.hand), row);
                let rate: f64 = side.pushes(place, &setup, &position.pose).into_iter().map(rate).sum();
                assert_relative_eq!(rate, (more[i] - less[i]) / (2.0 * STEP), epsilon = 1e-8);
            }
        }
        let slopes = Sensitivity::of(side, &stance, &setup, &position).measured;
        let found = Hardpoints::of(side).as_found();
        let mut moving = 0;
        for (place, number) in side.numbers().into_iter().enumerate() {
            let step = if place < 33 { STEP } else { 1e-5 };
            let other = |by: f64| {
                let mut numbers = side.numbers();
                numbers[place] = number + by;
                let side = side.with_numbers(&numbers);
                reads(&side, &setup.carried(&found, &Setup::as_found(&side)), 40.0)
            };
            let (more, less) = (other(step), other(-step));
            for i in 0..2 {
                assert_relative_eq!(slopes[(i, place)], (more[i] - less[i]) / (2.0 * step), epsilon = 1e-8);
            }
            moving += usize::from(slopes.column(place).norm() > 1e-9);
        }
        // Points that are one with another do nothing by themselves.
        assert!((20..=32).contains(&moving), "{}: {moving}", car.name);
    }
}

/// What the members leave free is counted, and told.
#[test]
fn freedoms_are_counted_and_explained() {
    let told = |text: &str| {
        let findings = profile::read(text).expect_err("too much or too little");
        let of = findings.iter().find(|finding| finding.headline.contains("hold a wheel")).expect("told");
        format!("{}; {}", of.headline, of.help.as_deref().unwrap_or_default())
    };
    let blade = "[[link]]\nname = \"arm\"\nkind = \"blade\"\nsubframe = [465.0, 560.0, 296.0]\n";
    let both = told(&format!("{STRUT}\n{blade}"));
    assert!(
        both.starts_with(
            "a strut, a blade and 3 rods hold a wheel 7 times, which leaves it no freedom at all"
        ),
        "{both}"
    );
    assert!(both.ends_with("take out 2 of the rods"), "{both}");
    let (before, after) = (
        STRUT.find("[[link]]\nname = \"trailing\"").expect("it"),
        STRUT.find("# ---- the spring is").expect("it"),
    );
    let few = told(&format!("{}{}", &STRUT[..before], &STRUT[after..]));
    assert!(few.starts_with("a strut and 2 rods hold a wheel only 4 times, and it takes five"), "{few}");
    assert!(
        few.contains("add one more rod: beside a strut a wheel has two rods across and one along the car"),
        "{few}"
    );
}

/// One mistake at a time: what is said, and what to do.
#[test]
fn what_does_not_belong_to_a_member_is_told() {
    for (text, from, to, headline, help) in [
        (
            BLADE,
            "kind = \"blade\"",
            "kind = \"blade\"\nknuckle = [0.0, 700.0, 300.0]",
            "a blade has no `knuckle`",
            "its front bush",
        ),
        (
            BLADE,
            "kind = \"blade\"",
            "kind = \"blade\"\nsets = \"toe\"",
            "a blade has no `sets`",
            "what is set are the rods",
        ),
        (
            STRUT,
            "kind = \"strut\"",
            "kind = \"strut\"\nmeasured_length = 400.0",
            "a strut has no `measured_length`",
            "its top mount",
        ),
        (STRUT, "kind = \"strut\"\n", "", "a rod has no `lean`", "add kind = \"strut\""),
        (
            STRUT,
            "subframe = [-25.0, 560.0, 792.0]   #",
            "subframe = [-25.0, 560.0, 300.0]   #",
            "the top of this strut is not above",
            "",
        ),
        (
            STRUT,
            "eccentricity = 6.0              # half of how far it moves\nalong = [0.0, 1.0, 0.0]",
            "eccentricity = 6.0\nalong = [0.0, -0.2, 1.0]",
            "this slot runs along the strut itself",
            "across the strut",
        ),
        (
            INTEGRAL,
            "kind = \"wishbone\"",
            "kind = \"wishbone\"\nsubframe = [0.0, 400.0, 200.0]",
            "a wishbone has no `subframe`",
            "[link.front] and [link.rear]",
        ),
        (
            INTEGRAL,
            "on = \"lower\"                    #",
            "on = \"lowr\" #",
            "there is no wishbone called \"lowr\"",
            "kind = \"wishbone\"",
        ),
        (INTEGRAL, "kind = \"wishbone\"", "kind = \"wishbon\"", "there is no value `wishbon` here", ""),
    ] {
        assert!(text.contains(from), "{from}");
        let findings = profile::read(&text.replacen(from, to, 1)).expect_err(headline);
        let found = findings.iter().find(|finding| finding.headline.contains(headline));
        let found = found.unwrap_or_else(|| panic!("{headline}: {findings:#?}"));
        assert!(found.help.as_deref().unwrap_or_default().contains(help), "{found:?}");
    }
}

/// What waits in a starter for an axle, with its examples taken, is a sound car.
#[test]
fn each_axle_has_a_starter_that_becomes_a_car() {
    for (members, kind, points) in [
        (include_str!("../data/axle-blade.txt"), Hold::BushAhead, 8),
        (include_str!("../data/axle-strut.txt"), Hold::Top, 9),
        (include_str!("../data/axle-integral.txt"), Hold::OnArm([0, 1]), 10),
    ] {
        let blank = profile::profile_starter(include_str!("../data/starter.txt"), Some(members));
        let gaps = profile::read(&blank).expect_err("nothing is filled in");
        assert!(gaps.iter().all(|finding| finding.is_gap), "{gaps:#?}");
        let read = car(&blank.replace("\n#= ", "\n"));
        assert!(read.sides.left.links.iter().any(|link| link.hold == kind), "{kind:?}");
        let cams = read.sides.left.links.iter().filter(|link| link.cam.is_some()).count();
        assert!(cams >= 2, "{kind:?}: {cams}");
        // A survey of it lists each of its points once, and they are points.
        let survey = profile::survey_starter("", false, Some(members));
        let listed = profile::entries(&survey).expect("TOML").into_iter();
        let heights: Vec<String> =
            listed.filter_map(|entry| Some(entry.key.strip_prefix("survey.height.")?.to_owned())).collect();
        assert_eq!(heights.len(), points, "{heights:?}");
        let gaps = profile::read_survey(&survey).err().unwrap_or_default();
        assert!(gaps.iter().all(|finding| finding.is_gap), "{gaps:#?}");
    }
}

/// The pages that say something of their own about such axles.
/// A strut's spring is held by the nut of its top mount: who takes it out is told.
#[test]
fn who_takes_out_a_strut_s_spring_is_warned() {
    let sheet = |car: &str| {
        let page = rodset(&["sheet", &format!("examples/{car}.toml"), "--drop", "30"]).stdout;
        page.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(sheet("teasel-quay").contains("in the middle of a top mount"));
    assert!(!sheet("fennel-weir").contains("top mount"));
}

#[test]
fn pages_of_other_axles() {
    let [blade, strut, integral] =
        ["fennel-weir", "teasel-quay", "bracken-lock"].map(|name| format!("examples/{name}.toml"));
    for (name, line) in [
        ("check_blade", format!("check {blade}")),
        ("check_strut", format!("check {strut}")),
        ("check_integral", format!("check {integral}")),
        ("cams_strut", format!("cams {strut} --drop 40")),
        ("travel_strut", format!("travel {strut} --drop 40")),
        ("lockout_strut", format!("lockout {strut}")),
        ("lockout_integral", format!("lockout {integral}")),
        ("loads_blade", format!("loads {blade} --drop 40")),
        ("loads_strut", format!("loads {strut} --drop 40")),
        ("loads_integral", format!("loads {integral} --drop 40")),
        ("tune_strut", format!("tune {strut} --drop 40")),
        ("tune_blade", format!("tune {blade} --drop 40 --link \"trailing arm fore-aft\"")),
    ] {
        let mut args = Vec::new();
        for (i, part) in line.split('"').enumerate() {
            if i % 2 == 0 { args.extend(part.split_whitespace()) } else { args.push(part) }
        }
        let run = rodset(&args);
        insta::assert_snapshot!(name, run.all());
    }
}
