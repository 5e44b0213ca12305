//! Loads against a second balance and against work, lock-outs against plain solves, chains and bolts by hand.

use approx::assert_relative_eq;
use nalgebra::{Matrix6, Point3, Vector3, Vector6};
use proptest::prelude::*;
use rodset::car::{Car, Factors, GRAVITY, Hand, LoadCase, LoadFactors, Said, Seat, Setup, Side, Stance};
use rodset::geometry::Wrench;
use rodset::plan::{Asked, Fitting, forward, springs};
use rodset::profile;
use rodset::report::{AnswerPage, Units};
use rodset::strength::{Balance, Bolts, Chain, ChainPart, Loads, Locking, PivotBolt, bolts, loads, lockout};

use crate::command::page_text;
use crate::layout::{config, layouts};

const EXAMPLE: &str = include_str!("../examples/tansy-wharf.toml");

const ON_THE_KNUCKLE: &str =
    "[spring]\nupper = [-100.0, 540.0, 640.0]\nlower = [-62.0, 640.0, 268.0]\ncorner_mass = 340.0\n";
const ON_A_LINK: &str =
    "[spring]\nupper = [-70.0, 520.0, 560.0]\non = \"lower rear\"\nalong = 220.0\ncorner_mass = 340.0\n";

fn car(text: &str) -> Car {
    match profile::read(text) {
        Ok(checked) => checked.car,
        Err(findings) => {
            panic!("{}", findings.iter().map(|f| f.render("car.toml", text, false)).collect::<String>())
        }
    }
}

fn level(car: &Car, drop: f64) -> Stance {
    Stance::new(car, [drop, drop], None).expect("no front drop")
}

/// A load of any direction at a point below and behind the wheel centre.
fn some_load(side: &Side, setup: &Setup, drop: f64, force: Vector3<f64>) -> (Wrench, Point3<f64>) {
    let centre = forward(side, setup, drop).expect("a position").pose.centre;
    let point = centre + Vector3::new(-30.0, 15.0, -300.0);
    (Wrench::at(force, &point, &centre), point)
}

/// The same balance set up afresh: forces and moments about the car's origin of knuckle and, where a spring sits on it, of that
/// link; solved by elimination. Returns the pulls at the knuckle and the spring's push, or the hold at the wheel centre.
fn second_balance(
    side: &Side,
    setup: &Setup,
    drop: f64,
    force: Vector3<f64>,
    point: Point3<f64>,
) -> [f64; 6] {
    let pose = forward(side, setup, drop).expect("a position").pose;
    let about_origin = |f: Vector3<f64>, at: Point3<f64>| {
        let moment = at.coords.cross(&f) / 1000.0;
        Vector6::new(f.x, f.y, f.z, moment.x, moment.y, moment.z)
    };
    let outer: [Point3<f64>; 5] = std::array::from_fn(|i| pose.point(&side.knuckle_arm(i)));
    let mut columns = Matrix6::zeros();
    for (i, at) in outer.iter().enumerate() {
        let towards_subframe = (setup.pivots[i] - at).normalize();
        columns.set_column(i, &about_origin(towards_subframe, *at));
    }
    let sixth = match side.spring.map(|spring| spring.line) {
        None => about_origin(-Vector3::z(), pose.centre),
        Some(line) => match line.lower {
            Seat::Knuckle(at) => {
                let at = pose.point(&(at - side.wheel.centre));
                about_origin((at - line.upper).normalize(), at)
            }
            Seat::Arm { link, along } => {
                // The link alone, moments about its subframe bolt: the force R of the knuckle on it, across the link, holds the
                // spring's push: l x R = -(s x F), so R = (u x (s x F)) / l, and the knuckle feels -R.
                let length = (outer[link] - setup.pivots[link]).norm();
                let u = (outer[link] - setup.pivots[link]) / length;
                let seat = setup.pivots[link] + u * along;
                let push = (seat - line.upper).normalize();
                let on_link = u.cross(&(u * along).cross(&push)) / length;
                about_origin(-on_link, outer[link])
            }
        },
    };
    columns.set_column(5, &sixth);
    let solved = columns.lu().solve(&-about_origin(force, point)).expect("a wheel that is held");
    std::array::from_fn(|i| solved[i])
}

proptest! {
    #![proptest_config(config(96))]

    #[test]
    fn the_balance_is_that_of_forces_and_moments(
        layout in layouts(),
        spring in prop::sample::select(vec!["", ON_THE_KNUCKLE, ON_A_LINK]),
        drop in -20.0..40.0_f64,
        force in prop::array::uniform3(-9000.0..9000.0_f64),
    ) {
        let text = layout.toml() + spring;
        let Ok(checked) = profile::read(&text) else { return Err(TestCaseError::reject("no position")) };
        let side = &checked.car.sides.left;
        let setup = Setup::as_found(side);
        let Ok(position) = forward(side, &setup, drop) else { return Err(TestCaseError::reject("no position")) };
        let force = Vector3::from(force);
        let (load, point) = some_load(side, &setup, drop, force);
        let Some(balance) = Balance::of(side, &setup, &position, &load, None) else { return Err(TestCaseError::reject("no position")) };
        let second = second_balance(side, &setup, drop, force, point);
        let size = 1e-9 * position.condition * (1.0 + second.iter().fold(0.0_f64, |a, b| a.max(b.abs())));
        for (got, expected) in balance.knuckle_n.iter().zip(&second) {
            prop_assert!((got - expected).abs() < size, "{balance:?} {second:?}");
        }
        let sixth = balance.spring_n.unwrap_or(balance.held_n);
        prop_assert!((sixth - second[5]).abs() < size, "{balance:?} {second:?}");
        prop_assert!(balance.residual_n < size);
        if spring.is_empty() {
            prop_assert!(balance.spring_n.is_none());
        } else {
            prop_assert!(balance.held_n.abs() < size, "the spring holds it all: {balance:?}");
        }
    }

    /// A link that grows by a little lifts the load by its pull times that: differences of the solved position.
    #[test]
    fn a_pull_is_the_work_of_the_load(
        layout in layouts(),
        drop in -20.0..40.0_f64,
        link in 0..5_usize,
        force in prop::array::uniform3(-9000.0..9000.0_f64),
    ) {
        const STEP: f64 = 1e-3;
        let car = layout.car();
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        let Ok(position) = forward(side, &setup, drop) else { return Err(TestCaseError::reject("no position")) };
        let force = Vector3::from(force);
        let (load, point) = some_load(side, &setup, drop, force);
        let balance = Balance::of(side, &setup, &position, &load, None).expect("held at its centre");
        let arm = position.pose.rotation.inverse() * (point - position.pose.centre);
        let at = |longer: f64| {
            let mut setup = setup;
            setup.lengths[link] += longer;
            forward(side, &setup, drop).map(|position| position.pose.point(&arm))
        };
        let (Ok(more), Ok(less)) = (at(STEP), at(-STEP)) else { return Err(TestCaseError::reject("no position")) };
        let work = force.dot(&((more - less) / (2.0 * STEP)));
        let near = 1e-5 * position.condition * (force.norm() + work.abs());
        prop_assert!((balance.knuckle_n[link] - work).abs() < near, "{} {work}", balance.knuckle_n[link]);
    }

    /// What `springs` and `loads` say of the standing car is one number, on both wheels and on tilted ground, and the second
    /// balance has it too: the road's push where the tyre stands and the unsprung weight at the hub, as one force between them.
    #[test]
    fn a_standing_car_has_one_spring_force(
        layout in layouts(),
        spring in prop::sample::select(vec![ON_THE_KNUCKLE, ON_A_LINK]),
        unsprung in prop::option::of(20.0..60.0_f64),
        radius in prop::option::of(-4.0..4.0_f64),
        drops in prop::array::uniform2(-20.0..40.0_f64),
        front in 0.0..40.0_f64,
    ) {
        let radius = radius.map(|by| layout.centre[2] + by);
        let given = radius.map_or(String::new(), |radius| format!("loaded_radius = {radius:?}\n"));
        let own = unsprung.map_or(String::new(), |mass| format!("unsprung_mass = {mass:?}\n"));
        let text = layout.toml().replace("rim_diameter", &format!("{given}rim_diameter")) + spring + &own;
        let Ok(checked) = profile::read(&text) else { return Err(TestCaseError::reject("no position")) };
        let car = checked.car;
        let stance = Stance::new(&car, drops, Some(front)).expect("the layouts have a wheelbase");
        let fitting = Fitting::default();
        let Ok(of_loads) = loads(&car, &stance, None, &fitting, &car.loads) else { return Err(TestCaseError::reject("no position")) };
        let Ok(of_springs) = springs(&car, &stance, None, &fitting, Asked::ALL) else { return Err(TestCaseError::reject("no position")) };
        for (side, (of_loads, of_springs)) in car.sides.iter().zip(of_loads.sides.iter().zip(&of_springs.sides)) {
            let carried = of_loads.cases.first().and_then(|case| case.spring_n);
            let pushed = of_springs.spring.expect("a spring").at_drop.force_n;
            let (Some(carried), Some(pushed)) = (carried, pushed) else {
                prop_assert_eq!(carried, pushed, "one says nothing");
                continue;
            };
            assert_relative_eq!(carried, pushed, max_relative = 1e-9);
            let (setup, drop) = (Setup::as_found(side), stance.drop(side.hand));
            let position = forward(side, &setup, drop).expect("a position");
            let (spindle, up) = (position.pose.rotation * side.wheel.spindle, stance.ground(side.hand).up());
            // Of a disc square to the spindle the lowest point lies along what is left of "down" in its plane.
            let down = spindle.cross(&up.cross(&spindle)).normalize() * -1.0;
            let standing = side.wheel.centre.z / side.reading.camber.cos();
            let contact = position.pose.centre + down * radius.unwrap_or(standing);
            let (push, hung) = (340.0 * GRAVITY, unsprung.unwrap_or(0.0) * GRAVITY);
            let between = position.pose.centre + (contact - position.pose.centre) * (push / (push - hung));
            let second = second_balance(side, &setup, drop, up * (push - hung), between)[5];
            assert_relative_eq!(pushed, second, max_relative = 1e-9 * position.condition);
        }
    }

    /// The new arms, put into a plain solve, leave the wheel where it is; a plate that holds the bolt where the cam does needs none.
    #[test]
    fn a_lock_out_moves_nothing(
        layout in layouts(),
        drop in -20.0..40.0_f64,
        turns in prop::array::uniform2(-1.2..1.2_f64),
        offsets in prop::array::uniform2(-2.0..2.0_f64),
    ) {
        let car = layout.car();
        let stance = level(&car, drop);
        let mut locking = Locking::as_found(&car);
        for side in Hand::BOTH {
            locking.settings[side][..2].copy_from_slice(&turns);
            locking.offsets[side][..2].copy_from_slice(&offsets);
        }
        let Ok(answer) = lockout(&car, &stance, &locking, Asked::ALL) else { return Err(TestCaseError::reject("no position")) };
        let side = &car.sides.right;
        let (mut before, mut after) = (Setup::as_found(side), Setup::as_found(side));
        for i in 0..2 {
            let link = &side.links[i];
            before.pivots[i] = link.pivot(link.cam.expect("a cam").shift(turns[i]));
            after.pivots[i] = link.pivot(offsets[i]);
            after.lengths[i] = answer.sides.right.arms[i].exact_mm;
        }
        let [before, after] = [before, after].map(|setup| forward(side, &setup, drop).expect("a position"));
        let near = 1e-9 * before.condition;
        prop_assert!((before.pose.centre - after.pose.centre).norm() < near);
        prop_assert!((before.pose.rotation.matrix() - after.pose.rotation.matrix()).norm() < near);
        prop_assert!(answer.sides.iter().all(|side| side.moves_mm < near));
        let shifts = [0, 1].map(|i| answer.sides.left.arms[i].shift_mm);
        let mut there = locking;
        for side in Hand::BOTH {
            there.offsets[side][..2].copy_from_slice(&shifts);
        }
        for side in lockout(&car, &stance, &there, Asked::ALL).expect("the same position").sides {
            for arm in side.arms {
                prop_assert!((arm.exact_mm - arm.stock_mm).abs() < 1e-9 * before.condition);
            }
        }
    }
}

/// Rounded to its step no arm is off by more than half of one, and its turns are what the lead makes of it.
#[test]
fn turns_of_a_lock_out_follow_its_lengths() {
    let car = car(EXAMPLE);
    let answer = lockout(&car, &level(&car, 0.0), &Locking::as_found(&car), Asked::ALL).expect("a position");
    assert!(answer.succeeds());
    let upper = &answer.sides.left.arms[0];
    let set = upper.arm.as_ref().expect("an adjustable arm");
    // M16x1.5 at both ends: 3 mm a turn; the cam at 15 degrees holds the bolt 3 sin 15 outboard, along 0.998 of the arm.
    assert_relative_eq!(set.lead_mm, 3.0);
    assert_relative_eq!(upper.shift_mm, 3.0 * 15.0_f64.to_radians().sin(), epsilon = 1e-12);
    assert!((upper.exact_mm - upper.stock_mm - upper.shift_mm).abs() < 0.01, "{upper:?}");
    assert_relative_eq!(set.turns_exact, (upper.exact_mm - upper.stock_mm) / 3.0, epsilon = 1e-12);
    assert!((set.set_mm - upper.exact_mm).abs() <= 3.0 / 24.0 + 1e-9);
    // Without the longer arm the wheel would lose camber; with it, it keeps it.
    let side = &answer.sides.left;
    assert!((side.result.camber_deg - side.today.camber_deg).abs() < 0.03);
    assert!(side.stock_lengths.camber_deg < side.today.camber_deg - 0.1);
}

fn at_forty(car: &Car) -> Loads {
    loads(car, &level(car, 40.0), None, &Fitting::default(), &car.loads).expect("a position")
}

fn bolts_at_forty(car: &Car) -> Bolts {
    bolts(car, &level(car, 40.0), None, &Fitting::default(), &car.loads).expect("a position")
}

fn chains(text: &str) -> Vec<Chain> {
    let car = car(text);
    let answer = at_forty(&car);
    answer.sides.left.chains.iter().filter(|chain| chain.link == "upper").cloned().collect()
}

/// The example's stock arm is bent and gives before its bracket, the tube that replaces it does not.
#[test]
fn what_gives_first_is_the_part_that_is_used_up_most() {
    let both = chains(EXAMPLE);
    let [stock, new] = both.as_slice() else { panic!("a stock arm and a new one") };
    assert_eq!((stock.adjustable, new.adjustable), (false, true));
    assert_eq!((stock.outlasts_bracket, new.outlasts_bracket), (Some(false), Some(true)));
    assert_eq!(stock.first().map(|part| part.part), Some(ChainPart::Arm));
    assert_eq!(new.first().map(|part| part.part), Some(ChainPart::Bracket));
    assert_eq!(
        (stock.unknown.as_slice(), new.unknown.as_slice()),
        ([ChainPart::Joint, ChainPart::KnuckleBolt].as_slice(), [ChainPart::KnuckleBolt].as_slice())
    );
    for chain in &both {
        assert!(chain.parts.windows(2).all(|pair| pair[0].kerb_used >= pair[1].kerb_used));
    }
    // Thread of the shank: M16x1.5 of 8.8, 167 mm2 at 580 N/mm2.
    let thread = new.parts.iter().find(|part| part.part == ChainPart::Thread).expect("rated");
    assert_relative_eq!(thread.pull_n, 167.0 * 580.0, max_relative = 5e-3);
    // A tube of 26 over 15 mm at 460 N/mm2, pulled.
    let arm = new.parts.iter().find(|part| part.part == ChainPart::Arm).expect("rated");
    let area = std::f64::consts::FRAC_PI_4 * (26.0 * 26.0 - 15.0 * 15.0);
    assert_relative_eq!(arm.pull_n, area * 460.0, max_relative = 1e-12);
}

#[test]
fn what_is_not_rated_is_not_ranked() {
    let bare = EXAMPLE.replace("bracket_rating = \"24 kN\"", "");
    assert!(
        chains(&bare)
            .iter()
            .all(|chain| chain.outlasts_bracket.is_none() && chain.unknown.contains(&ChainPart::Bracket))
    );
    let line = "section = { outer = 26.0, inner = 15.0, yield = 460.0 }";
    assert!(EXAMPLE.contains(line));
    // The bracket is the first of what is known; the arm, unknown, may be weaker.
    assert_eq!(chains(&EXAMPLE.replace(line, ""))[1].outlasts_bracket, None);
}

/// Without a mass on the wheel loads are for 1000 N, and nothing is said to give.
#[test]
fn without_a_mass_the_loads_are_for_a_round_figure() {
    let text = EXAMPLE
        .lines()
        .filter(|line| !line.starts_with("corner_mass") && !line.starts_with("unsprung_mass"))
        .map(|line| line.to_owned() + "\n")
        .collect::<String>();
    let without = car(&text);
    let answer = at_forty(&without);
    let side = &answer.sides.left;
    assert_eq!((side.wheel_load_n, side.wheel_load_known, side.chains.len()), (1000.0, false, 0));
    assert!(answer.missing.iter().any(|missing| missing.key.contains("corner_mass")));
    // All the load on the spring, so in proportion to the whole.
    let whole = car(&text.replace("rate = 52.0", "corner_mass = 338.0\nrate = 52.0"));
    let whole = at_forty(&whole);
    for (a, b) in side.cases[4].links.iter().zip(&whole.sides.left.cases[4].links) {
        assert_relative_eq!(a.at_drop_n * 338.0 * 9.80665 / 1000.0, b.at_drop_n, max_relative = 1e-9);
    }
}

/// `F = T / (K d)`, two faces, friction 0.10 to 0.20, dry threads 0.18 to 0.27.
#[test]
fn a_pivot_holds_what_its_torque_and_faces_make() {
    let car = car(EXAMPLE);
    let answer = bolts_at_forty(&car);
    assert_eq!((answer.kits.cams, answer.kits.usual), (4, Some(4)));
    let upper = &answer.sides[Hand::Left].bolts[0];
    let hardest = upper.hardest_n.expect("a wheel that is held");
    let dry = &upper.tightened[0];
    assert!(dry.is_so && !dry.too_much);
    assert_relative_eq!(dry.preload_n[0], 85_000.0 / (0.27 * 12.0), max_relative = 1e-12);
    assert_relative_eq!(dry.holds_n[1], 2.0 * 0.20 * 85_000.0 / (0.18 * 12.0), max_relative = 1e-12);
    let margin = upper.margin.expect("known loads");
    assert_relative_eq!(margin[0], dry.holds_n[0] / hardest, max_relative = 1e-12);
    // Anti-seize at the dry torque makes more of it, in proportion to K.
    let greased = &upper.tightened[2];
    assert_relative_eq!(greased.preload_n[1] / dry.preload_n[1], 0.18 / 0.10, max_relative = 1e-12);
    assert_relative_eq!(greased.like_dry_nm / 85.0, 0.10 / 0.18, max_relative = 1e-12);
    assert!(greased.too_much);
    // Beside the faces a cam has its plates, rubbing at 5/8 of 12 mm, against 3 mm of lever; at 15 degrees cos 15 of that.
    let cam = upper.cam.expect("a cam");
    assert_relative_eq!(cam.lever_mm, 3.0 * 15.0_f64.to_radians().cos(), max_relative = 1e-12);
    let holds = cam.holds_n.expect("torqued");
    let along = cam.turned_with_nm.expect("a load") * 1000.0 / cam.lever_mm;
    assert_relative_eq!(holds[0], dry.holds_n[0] * (1.0 + 7.5 / cam.lever_mm), max_relative = 1e-12);
    assert_relative_eq!(cam.margin.expect("known loads")[0], holds[0] / along, max_relative = 1e-12);
    // The faces feel the whole force on the bolt; what turns the cam is along its slot, which runs as the arm nearly does.
    assert!(along < hardest && along > 0.9 * hardest, "{along} {hardest}");
    let whole = at_forty(&car);
    for (slip, case) in upper.cases.iter().zip(&whole.sides.left.cases) {
        assert_eq!(slip.case, case.case);
        assert_relative_eq!(slip.load_n, case.links[0].bolt_n, max_relative = 1e-12);
    }
}

/// A bolt does not clamp harder than it stands, however far its nut is turned, and neither do cam and faces hold more then.
#[test]
fn a_torque_beyond_what_the_bolt_stands_holds_no_more() {
    let upper = |torque: &str| {
        let text = EXAMPLE.replacen("torque = 85.0 ", &format!("torque = {torque} "), 1);
        bolts_at_forty(&car(&text)).sides.left.bolts[0].clone()
    };
    let (sound, torn) = (upper("85.0"), upper("300.0"));
    let [sound_dry, torn_dry] = [&sound, &torn].map(|bolt| *bolt.as_it_is().expect("torqued"));
    assert!(!sound_dry.too_much && torn_dry.too_much);
    assert_relative_eq!(torn_dry.preload_n[1], 300_000.0 / (0.18 * 12.0), max_relative = 1e-12);
    assert_relative_eq!(torn_dry.holds_n[1], 2.0 * 0.20 * torn_dry.stands_n, max_relative = 1e-12);
    // At nine tenths of 640 N/mm2 on 92.1 mm2 a pull alone would end, so with twist it ends before.
    assert!(torn_dry.holds_n[1] < 2.0 * 0.20 * 0.9 * 640.0 * 92.1);
    // More friction twists the shank harder, so it stands less pull.
    assert!(torn_dry.holds_n[0] < 2.0 * 0.10 * torn_dry.stands_n);
    let more = |bolt: &PivotBolt| bolt.cam.expect("a cam").holds_n.expect("torqued")[1];
    assert_relative_eq!(
        more(&torn) / more(&sound),
        torn_dry.holds_n[1] / sound_dry.holds_n[1],
        max_relative = 1e-12
    );
}

/// Of two parts that are rated the one that is used more gives first, and the statement of the two arms follows from their figures.
#[test]
fn the_new_arm_is_held_against_the_stock_one() {
    let swap = |text: &str| {
        let swaps = at_forty(&car(text)).sides.left.swaps.clone();
        swaps.into_iter().find(|swap| swap.link == "upper").expect("a link with both arms")
    };
    let [stock, new] = [0, 1].map(|i| chains(EXAMPLE)[i].clone());
    let used = |chain: &Chain, part: ChainPart| {
        chain.parts.iter().find(|strength| strength.part == part).expect("rated").kerb_used
    };
    let example = swap(EXAMPLE);
    assert_eq!(
        (example.stock_first, example.new_first, example.outlasts_bracket),
        (Some(ChainPart::Arm), Some(ChainPart::Bracket), Some(true))
    );
    let times = used(&stock, ChainPart::Arm) / used(&new, ChainPart::Joint);
    assert_relative_eq!(example.times_stock.expect("both bars"), times, max_relative = 1e-12);
    // A bolt that is weaker still comes before the bracket; the arm outlasts both.
    let weak = EXAMPLE
        .replace("lubrication = \"dry\" ", "faces = 1\nlubrication = \"dry\" ")
        .replace("24 kN", "35 kN");
    assert_eq!(
        (swap(&weak).new_first, swap(&weak).outlasts_bracket),
        (Some(ChainPart::Bolt), Some(true)),
        "one shear plane in place of two"
    );
    // Then the page does not say that the bracket gives: the bolt does.
    let weak = car(&weak);
    let (stance, answer) = (level(&weak, 40.0), at_forty(&weak));
    let page =
        page_text(&AnswerPage { car: &weak, stance: &stance, answer: &answer, units: Units::default() });
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("the bolt with the new one."), "{page}");
    assert!(words.contains("OUTLAST ITS SUBFRAME BRACKET too: of those two the bracket is the weaker one."));
    assert!(!words.contains("the bracket gives and the arm does not"), "{page}");
    // A wheel that nothing pushes strains nothing, so nothing is ranked and nothing said to outlast anything.
    let calm = EXAMPLE
        .lines()
        .filter(|line| !line.starts_with("unsprung_mass"))
        .map(|line| line.replace("kerb = [1.0, 3.0, 0.0]", "kerb = [0.0, 0.0, 0.0]") + "\n")
        .collect::<String>();
    let calm = swap(&calm);
    assert_eq!((calm.stock_first, calm.new_first), (None, None));
    assert_eq!((calm.times_stock, calm.outlasts_bracket), (None, None));
}

/// What is asked for goes over the profile, the profile over what is usual; loads follow in proportion.
#[test]
fn factors_that_are_asked_for_rule() {
    let car = car(EXAMPLE);
    assert_eq!(
        [LoadCase::Kerb, LoadCase::Pothole].map(|case| car.loads.said(case)),
        [Said::Profile, Said::Usual]
    );
    let twice = Factors::new([2.0, 0.0, 0.0]).expect("factors");
    let asked: LoadFactors = car.loads.with(LoadCase::Standing, twice, Said::Asked);
    let stance = level(&car, 40.0);
    let answer = loads(&car, &stance, None, &Fitting::default(), &asked).expect("a position");
    assert_eq!(answer.cases[0].said, Said::Asked);
    // The spring carries what stands on the wheel less the wheel's own weight.
    let [once, twice] =
        [&at_forty(&car), &answer].map(|answer| answer.sides.left.cases[0].spring_n.expect("a spring"));
    assert_relative_eq!(twice / once, (2.0 * 338.0 - 43.0) / (338.0 - 43.0), max_relative = 1e-3);
    assert_eq!(Factors::new([-0.1, 0.0, 0.0]), None, "no road pulls a wheel down");
    assert_eq!(Factors::new([1.0, f64::NAN, 0.0]), None);
}

/// A stock arm that is not on the car does not decide whether the car stands ordinary driving.
#[test]
fn only_the_fitted_arm_has_to_stand() {
    let weak = EXAMPLE.replace("outer = 32.0, inner = 27.0, yield = 240.0", "outer = 7.0, yield = 240.0");
    let car = car(&weak);
    assert!(!at_forty(&car).succeeds(), "the stock arm is on");
    let stance = level(&car, 40.0);
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
    let fitting = Fitting::default();
    let plan = rodset::plan::plan(&car, &stance, &specs, &fitting).expect("a plan");
    let answer = loads(&car, &stance, Some(&plan), &fitting, &car.loads).expect("a position");
    assert!(answer.succeeds(), "the new arm is on");
    let fitted: Vec<bool> = answer.sides.left.chains.iter().take(2).map(|chain| chain.fitted).collect();
    assert_eq!(fitted, [false, true]);
}

/// A spring whose line comes to lie across the wheel's way holds nothing up there: said so, and no load told there.
#[test]
fn a_spring_that_holds_nothing_is_not_believed() {
    let flat = EXAMPLE
        .replace("[spring]\nupper = [-100.0, 548.0, 640.0]", "[spring]\nupper = [-100.0, 1000.0, 330.0]");
    assert_ne!(flat, EXAMPLE);
    let car = car(&flat);
    for drop in [0.0, 80.0] {
        let answer =
            loads(&car, &level(&car, drop), None, &Fitting::default(), &car.loads).expect("a position");
        let side = &answer.sides.left;
        let [from, to] = side.not_held_mm.expect("it comes to lie flat");
        // The higher the wheel, the flatter the line.
        assert!(from > 0.0 && to >= 80.0, "{from} {to}");
        assert_eq!(side.cases.is_empty(), drop > from, "told at a height that is held");
        for case in &side.cases {
            let heights = case.links.iter().flat_map(|link| [link.most_at_mm, link.least_at_mm]);
            assert!(heights.into_iter().all(|height| height < from));
        }
    }
    for bolt in &bolts_at_forty(&car).sides.left.bolts {
        assert_eq!(bolt.hardest_n.is_none(), bolt.margin.is_none());
    }
}

/// The bolt at the knuckle carries what the link does there: all of it where nothing sits on the link, and with a spring on it the
/// part of the push that stands across as well.
#[test]
fn a_knuckle_bolt_carries_its_end_of_the_link() {
    let bolted = EXAMPLE.replace("[link.bolt] ", "[link.knuckle_bolt]\nthread = \"M14x1.5\"\nclass = \"10.9\"\ntorque = 120.0\nfaces = 1\n\n[link.bolt] ");
    let car = car(&bolted);
    let chain = &at_forty(&car).sides.left.chains[0];
    let bolt = chain.parts.iter().find(|part| part.part == ChainPart::KnuckleBolt).expect("rated");
    // One plane of M14x1.5, 125 mm2, at 940 N/mm2.
    assert_relative_eq!(bolt.pull_n, 125.0 * 940.0 / 3.0_f64.sqrt(), max_relative = 5e-3);
    let answer = bolts_at_forty(&car);
    let [inner, outer] = [0, 1].map(|i| &answer.sides.left.bolts[i]);
    assert_eq!((inner.link.as_str(), outer.link.as_str(), outer.cam.is_none()), ("upper", "upper", true));
    let kerb = &at_forty(&car).sides.left.cases[4].links[0];
    assert_relative_eq!(outer.cases[4].load_n, kerb.knuckle_bolt_n, max_relative = 1e-12);
    assert_relative_eq!(kerb.knuckle_bolt_n, kerb.bolt_n, max_relative = 1e-12);
}

/// Cut at the seat, what lies towards the subframe bends the link by that bolt's force; nothing of the formula is used.
#[test]
fn a_spring_bends_the_link_that_it_sits_on() {
    let seated = EXAMPLE
        .replace("lower = [-62.0, 648.0, 268.0]   # and at", "on = \"lower rear\"\nalong = 250.0 # and at");
    let car = car(&seated);
    let side = &car.sides.left;
    let setup = Setup::as_found(side);
    let position = forward(side, &setup, 40.0).expect("a position");
    let (load, _) = some_load(side, &setup, 40.0, Vector3::new(-2000.0, -3000.0, 4000.0));
    let balance = Balance::of(side, &setup, &position, &load, None).expect("a spring that holds");
    let (inner, outer) = (setup.pivots[4], position.pose.point(&side.knuckle_arm(4)));
    let u = (outer - inner).normalize();
    let bent = (u * -250.0).cross(&balance.on_bolt[4]).norm();
    assert_relative_eq!(balance.bent[4], bent, max_relative = 1e-9);
    assert!(bent > 100_000.0);
    // What the link puts on both bolts is what the spring puts on it.
    let line = (inner + u * 250.0 - side.spring.expect("a spring").line.upper).normalize();
    let push = line * balance.spring_n.expect("a spring");
    assert_relative_eq!(balance.on_bolt[4] + balance.on_knuckle[4], push, max_relative = 1e-9);
    let answer = at_forty(&car);
    assert_eq!(answer.sides.left.spring_on.as_deref(), Some("lower rear"));
    let stance = level(&car, 40.0);
    let page =
        page_text(&AnswerPage { car: &car, stance: &stance, answer: &answer, units: Units::default() });
    let row = &answer.sides.left.cases[5].links[4];
    let line = format!(
        "{:>16.2}  {:>15.2}  {:>8.0}",
        row.bolt_n / 1e3,
        row.knuckle_bolt_n / 1e3,
        row.bent_n_mm / 1e3
    );
    assert!(page.contains(&line), "{page}{line}");
}

/// A blow that asks for more than the faces hold at the least is named, and what ordinary driving does to it is not.
#[test]
fn a_blow_may_slip_what_driving_does_not() {
    let car = car(EXAMPLE);
    let answer = bolts_at_forty(&car);
    let [upper, toe] = [0, 1].map(|i| &answer.sides.left.bolts[i]);
    assert_eq!(upper.slips_at, [LoadCase::Kerb, LoadCase::Pothole]);
    assert_eq!(toe.slips_at, []);
    assert!(answer.succeeds());
}

/// No other whole steps within three of the chosen ones read nearer to today, in tolerances.
#[test]
fn steps_of_a_lock_out_are_chosen_together() {
    // Coarse steps, so that the arms' own roundings add up.
    let coarse = EXAMPLE.replace("radius = 13.0 ", "step = 0.5\nradius = 13.0 ").replace(
        "engaged = { at = 331.0, length = 26.0 }\nmisalignment",
        "engaged = { at = 331.0, length = 26.0 }\nstep = 0.25\nmisalignment",
    );
    let car = car(&coarse);
    let stance = level(&car, 0.0);
    let mut better = 0;
    for turn in [-40.0_f64, -25.0, 5.0, 20.0, 35.0, 50.0] {
        let mut locking = Locking::as_found(&car);
        locking.settings.left[..2].copy_from_slice(&[turn.to_radians(), (0.6 * turn).to_radians()]);
        let answer = lockout(&car, &stance, &locking, Asked::ALL).expect("a position");
        let (side, spec) = (&answer.sides.left, car.sides.left.spec.expect("a spec"));
        let ground = stance.ground(Hand::Left);
        let miss = |steps: [f64; 2]| {
            let mut setup = Setup::as_found(&car.sides.left);
            for (i, locked) in side.arms.iter().enumerate() {
                setup.pivots[i] = car.sides.left.links[i].pivot(0.0);
                setup.lengths[i] = locked.stock_mm + steps[i] * locked.arm.as_ref().expect("an arm").lead_mm;
            }
            let pose = forward(&car.sides.left, &setup, 0.0).expect("a position").pose;
            let reads = rodset::plan::Reading::of(&car.sides.left, &pose, &ground);
            let camber = (reads.camber_deg - side.today.camber_deg) / spec.camber_tolerance.to_degrees();
            camber.hypot((reads.toe_deg - side.today.toe_deg) / spec.toe_tolerance.to_degrees())
        };
        let set = [0, 1].map(|i| side.arms[i].arm.as_ref().expect("an arm"));
        let chosen = miss(set.map(|set| set.turns));
        for upper in -3..=3 {
            for toe in -3..=3 {
                let other = [set[0].turns + 0.5 * f64::from(upper), set[1].turns + 0.25 * f64::from(toe)];
                assert!(miss(other) >= chosen - 1e-12, "{turn}: {other:?} is nearer than {chosen}");
            }
        }
        let alone = [(set[0].turns_exact * 2.0).round() / 2.0, (set[1].turns_exact * 4.0).round() / 4.0];
        better += i32::from(miss(alone) > chosen + 1e-9);
    }
    assert!(better > 0, "rounding each arm alone was as good every time");
}

/// A cam's position is said in one way to every command, and once.
#[test]
fn a_cam_is_named_in_every_way_and_once() {
    const CAR: &str = "examples/tansy-wharf.toml";
    let lockout = |cams: &[&str]| {
        let options: Vec<&str> = cams.iter().flat_map(|cam| cam.split('|')).collect();
        crate::command::rodset(&[&["lockout", CAR, "--format", "json"], &options[..]].concat())
    };
    // Its six marks are 15 degrees apart, its throw is 3 mm, and its slot points outboard.
    let settings = |cams: &[&str]| {
        let answer = lockout(cams).json();
        [0, 1].map(|side| answer["sides"][side]["arms"][0]["setting_deg"].as_f64().expect("a turn"))
    };
    for (cams, degrees) in [
        (&["--cam|upper=30"][..], [30.0, 30.0]),
        (&["--cam|upper=2 marks"], [30.0, 30.0]),
        (&["--cam|upper=2 marks outboard"], [30.0, 30.0]),
        (&["--cam|upper left=1.5 mm inboard", "--cam|upper right=-1 mark"], [-30.0, -15.0]),
        (&["--cam-left|upper=towards the wheel", "--cam-right|upper=away from the wheel"], [90.0, -90.0]),
        (&["--cam|upper left=2 marks,upper right=1 mark"], [30.0, 15.0]),
    ] {
        let read = settings(cams);
        assert!(read.iter().zip(degrees).all(|(a, b)| (a - b).abs() < 1e-9), "{cams:?}: {read:?}");
    }
    for (cams, told) in [
        (&["--cam|upper=30", "--cam|upper=20"][..], "--cam: upper is given twice on the left"),
        (&["--cam|upper=30", "--cam-right|upper=20"], "--cam: upper is given twice on the right"),
        (&["--cam|upper=30", "--cam|upper right=30"], "--cam: upper is given twice on the right"),
        (&["--offset|upper=1", "--offset|upper=2"], "--offset: upper is given twice on the left"),
        (&["--cam-left|upper right=3"], "is for the right"),
        (&["--cam|upper=7 marks"], "90 degrees either way"),
        (&["--cam|upper=3.5 mm"], "past the end of the slot"),
        (&["--cam|upper=some"], "\"2 marks outboard\""),
        (&["--cam|upper"], "is not LINK=SETTING"),
        (&["--cam|traction=5"], "is no link with a cam; they are: upper, toe"),
    ] {
        let run = lockout(cams);
        let stderr = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(run.status == 2 && stderr.contains(told), "{cams:?}: {stderr}");
    }
    // The same words after a reading.
    let correct = |cams: &[&str]| {
        let reading =
            ["correct", CAR, "--drop", "40", "--left=-1.25,0.2", "--right=-0.8,0.02", "--format", "json"];
        let options: Vec<&str> = cams.iter().flat_map(|cam| ["--cam", *cam]).collect();
        crate::command::rodset(&[&reading[..], &options[..]].concat())
    };
    assert_eq!(correct(&["upper=2 marks outboard"]).stdout, correct(&["upper=30"]).stdout);
    assert_eq!(correct(&["upper right=1.5 mm inboard"]).stdout, correct(&["upper right=-30"]).stdout);
    assert_ne!(correct(&["upper=2 marks"]).stdout, correct(&["upper=1 mark"]).stdout);
    let twice = correct(&["upper=30", "upper left=20"]);
    assert!(
        twice.status == 2 && twice.stderr.contains("--cam: upper is given twice on the left"),
        "{}",
        twice.stderr
    );
}

/// The example with its spring and damper on the upper arm, whose new arm is rated.
fn on_the_arm(more: &str) -> String {
    let text = EXAMPLE
        .replace("lower = [-62.0, 648.0, 268.0]   # and at", "on = \"upper\"\nalong = 150.0 # and at")
        .replace("thread_class = \"8.8\" ", &format!("{more}\nthread_class = \"8.8\" "));
    assert_ne!(text, EXAMPLE);
    text
}

/// A ball carries what stands across the arm as well; so do the shanks, which it bends: by hand, from the forces on the bolts.
#[test]
fn joint_and_thread_of_an_arm_that_carries_the_spring_are_not_flattered() {
    let planned = |text: &str| {
        let car = car(text);
        let stance = level(&car, 20.0);
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        let plan = rodset::plan::plan(&car, &stance, &specs, &Fitting::default()).expect("a plan");
        let answer = loads(&car, &stance, Some(&plan), &Fitting::default(), &car.loads).expect("a position");
        let new = answer.sides.left.chains.iter().find(|chain| chain.link == "upper" && chain.adjustable);
        (new.expect("the new arm").clone(), answer)
    };
    let used = |chain: &Chain, part: ChainPart| chain.parts.iter().find(|own| own.part == part).copied();
    let (new, answer) = planned(&on_the_arm(""));
    assert!(new.rolls_freely && new.unknown.contains(&ChainPart::Thread), "{new:?}");
    assert!(answer.missing.iter().any(|missing| missing.key.contains("shank_out")));
    let kerb =
        &answer.sides.left.cases.iter().find(|case| case.case == LoadCase::Kerb).expect("a kerb").links[0];
    let joint = used(&new, ChainPart::Joint).expect("rated");
    assert_relative_eq!(
        joint.kerb_used,
        kerb.bolt_n.max(kerb.knuckle_bolt_n) / 42_000.0,
        max_relative = 1e-9
    );
    let along = kerb.most_n.abs().max(kerb.least_n.abs()) / 42_000.0;
    assert!(joint.kerb_used > 1.05 * along, "{joint:?} {along}");
    // 35 mm out, M16x1.5 is bent by what stands across its end: 580 N/mm2 on a core of 14.16 mm.
    let (bent, _) = planned(&on_the_arm("shank_out = 35.0"));
    assert!(!bent.unknown.contains(&ChainPart::Thread));
    let (_, further) = (used(&bent, ChainPart::Thread), planned(&on_the_arm("shank_out = 70.0")).0);
    let [near, far] = [&bent, &further].map(|chain| used(chain, ChainPart::Thread).expect("rated"));
    let straight = |used: f64, twice: f64| 2.0 * used - twice;
    let plain = straight(near.kerb_used, far.kerb_used);
    let core = (16.0 - 1.226_869 * 1.5_f64).powi(3) * std::f64::consts::PI / 32.0;
    // What stands across is no more than the whole force, and along no less than nothing.
    let most = kerb.bolt_n.max(kerb.knuckle_bolt_n) * 35.0 / (580.0 * core);
    assert!(
        plain > 0.0 && near.kerb_used - plain <= most && near.kerb_used > 3.0 * plain,
        "{near:?} {plain} {most}"
    );
    let page = |text: &str| {
        let (car, (_, answer)) = (car(text), planned(text));
        let stance = level(&car, 20.0);
        let page = AnswerPage { car: &car, stance: &stance, answer: &answer, units: Units::default() };
        page_text(&page).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let told = page(&on_the_arm(""));
    assert!(told.contains("ROLLS FREELY") && told.contains("not rated, so not ranked: thread"), "{told}");
    // With a bush at one end nothing rolls.
    let bushed = on_the_arm("joints = [\"rod end\", \"bush\"]");
    assert!(!planned(&bushed).0.rolls_freely);
    // An arm that carries nothing is rated along its line, as it was.
    let plain = chains(EXAMPLE)[1].clone();
    assert!(!plain.rolls_freely && plain.unknown == [ChainPart::KnuckleBolt]);
}

/// The same bolt under the same force: with a slot and a cam, and without.
#[test]
fn a_slot_does_not_raise_the_margin_to_slip() {
    let at = EXAMPLE.find("[link.cam]                      # the stock").expect("a cam");
    let end = at + EXAMPLE[at..].find("[link.arm]").expect("the arm behind it");
    let without = EXAMPLE[..at].to_owned() + &EXAMPLE[end..];
    // Found where the cam holds it, so that nothing else differs.
    let [with, without] =
        [EXAMPLE, &without].map(|text| bolts_at_forty(&car(text)).sides.left.bolts[0].clone());
    assert!(with.cam.is_some() && without.cam.is_none());
    let [with_margin, without_margin] = [&with, &without].map(|bolt| bolt.margin.expect("a margin")[0]);
    assert_relative_eq!(with_margin, without_margin, max_relative = 1e-12);
    // Along the slot is less, and turns the cam.
    let cam = with.cam.expect("a cam");
    let along = cam.turned_with_nm.expect("a load") * 1000.0 / cam.lever_mm;
    assert!(along < with.hardest_n.expect("a load"), "{along}");
}

/// Below 1.2 a margin holds with little in hand.
#[test]
fn little_in_hand_is_told() {
    let mut told = 0;
    for torque in [20, 26, 29, 31, 33, 34, 35, 36, 38, 40, 50, 85] {
        let car = car(&EXAMPLE.replacen("torque = 85.0", &format!("torque = {torque}.0"), 1));
        let (answer, stance) = (bolts_at_forty(&car), level(&car, 40.0));
        let mut little = 0;
        for bolt in answer.sides.iter().flat_map(|side| &side.bolts) {
            let [least, _] = bolt.margin.expect("a margin");
            assert_eq!(bolt.has_little_in_hand(), (1.0..1.2).contains(&least), "{torque}: {least}");
            little += u32::from(bolt.has_little_in_hand());
        }
        let page = AnswerPage { car: &car, stance: &stance, answer: &answer, units: Units::default() };
        let words = page_text(&page).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(words.contains("LITTLE IN HAND"), little > 0, "{torque}");
        told += u32::from(little > 0);
    }
    assert!(told > 0 && told < 12, "{told}");
}

/// In a blow the damper pushes in its own line: all forces on the knuckle, added up in the car's axes with that line, leave nothing.
#[test]
fn in_a_blow_the_damper_pushes_in_its_own_line() {
    let apart = EXAMPLE.replace(
        "[damper]\nupper = [-100.0, 548.0, 640.0]\nlower = [-62.0, 648.0, 268.0]",
        "[damper]\nupper = [120.0, 560.0, 600.0]\nlower = [60.0, 650.0, 240.0]",
    );
    assert_ne!(apart, EXAMPLE);
    let alone: String = {
        let at = apart.find("[damper]").expect("a damper");
        let end = at + apart[at..].find("[loads]").expect("the loads behind it");
        apart[..at].to_owned() + &apart[end..]
    };
    let [apart, alone] = [apart, alone].map(|text| car(&text));
    let side = &apart.sides.left;
    let setup = Setup::as_found(side);
    let position = forward(side, &setup, 40.0).expect("a position");
    let ground = level(&apart, 40.0).ground(Hand::Left);
    let load = |case| side.load(&ground, &position, case, apart.loads.of(case));
    let (blow, steady) = (load(LoadCase::Pothole), load(LoadCase::Standing));
    let balance = Balance::of(side, &setup, &position, &blow, Some(&steady)).expect("held");
    let pose = position.pose;
    let mut left = (blow.force, blow.moment);
    let mut add = |force: Vector3<f64>, at: Point3<f64>| {
        left.0 += force;
        left.1 += (at - pose.centre).cross(&force);
    };
    for (link, pull) in balance.knuckle_n.iter().enumerate() {
        let at = pose.point(&side.knuckle_arm(link));
        add((setup.pivots[link] - at).normalize() * *pull, at);
    }
    let lines = [side.spring.expect("a spring").line, side.damper.expect("a damper").line];
    for (line, force) in lines.iter().zip([balance.spring_n, balance.damper_n]) {
        let Seat::Knuckle(lower) = line.lower else { panic!("on the knuckle") };
        let at = pose.point(&(lower - side.wheel.centre));
        add((at - line.upper).normalize() * force.expect("a force"), at);
    }
    let size = blow.force.norm();
    assert!(left.0.norm() < 1e-8 * size && left.1.norm() < 1e-6 * size, "{left:?}");
    // The spring carries what it carries standing.
    let standing = Balance::of(side, &setup, &position, &steady, None).expect("held");
    assert_relative_eq!(
        balance.spring_n.expect("a force"),
        standing.spring_n.expect("a force"),
        max_relative = 1e-12
    );
    // In ordinary driving nothing changes, in a blow the links carry otherwise.
    let [with, without] = [&apart, &alone].map(at_forty);
    for (a, b) in with.sides.left.cases.iter().zip(&without.sides.left.cases) {
        let differs = a.links.iter().zip(&b.links).any(|(a, b)| (a.at_drop_n - b.at_drop_n).abs() > 50.0);
        assert_eq!(
            (differs, a.damper_n.is_some()),
            (!a.case.is_ordinary(), !a.case.is_ordinary()),
            "{:?}",
            a.case
        );
        assert_eq!(b.damper_n, None);
    }
}

#[test]
fn an_axle_that_nothing_drives_has_no_drive_case() {
    let text = EXAMPLE.replace("rear_steering = false ", "driven = false\nrear_steering = false ");
    let undriven = car(&text);
    let cases = |car: &Car, factors: &LoadFactors| {
        let answer = loads(car, &level(car, 40.0), None, &Fitting::default(), factors).expect("a position");
        let told: Vec<LoadCase> = answer.cases.iter().map(|case| case.case).collect();
        assert!(answer.sides.left.cases.iter().map(|case| case.case).eq(told.iter().copied()));
        told
    };
    assert_eq!(cases(&undriven, &undriven.loads).len(), 5);
    assert!(!cases(&undriven, &undriven.loads).contains(&LoadCase::Drive));
    let driven = car(EXAMPLE);
    assert_eq!(cases(&driven, &driven.loads), LoadCase::ALL);
    // Whoever asks for it by its factors gets it.
    let drive = Factors::new([1.0, 0.0, -1.0]).expect("factors");
    assert_eq!(cases(&undriven, &undriven.loads.with(LoadCase::Drive, drive, Said::Asked)).len(), 6);
    assert!(
        bolts_at_forty(&undriven).sides.left.bolts[0].cases.iter().all(|slip| slip.case != LoadCase::Drive)
    );
}

/// A kerb that pushes higher up turns the knuckle by its push times the height; the other cases stay.
#[test]
fn a_kerb_pushes_at_its_height() {
    let high =
        car(&EXAMPLE.replace("kerb = [1.0, 3.0, 0.0] ", "kerb_height = 90.0\nkerb = [1.0, 3.0, 0.0] "));
    let low = car(EXAMPLE);
    let side = &low.sides.left;
    let position = forward(side, &Setup::as_found(side), 40.0).expect("a position");
    let ground = level(&low, 40.0).ground(Hand::Left);
    for case in LoadCase::ALL {
        let [low, high] = [&low, &high].map(|car| side.load(&ground, &position, case, car.loads.of(case)));
        assert_relative_eq!(low.force, high.force);
        let turned = (high.moment - low.moment).norm();
        let expected = if case == LoadCase::Kerb { 3.0 * side.wheel_load() * 90.0 } else { 0.0 };
        assert_relative_eq!(turned, expected, max_relative = 1e-9);
    }
    let [low, high] = [&low, &high].map(at_forty);
    assert_relative_eq!(high.cases[4].factors.inward_height_mm, 90.0);
    assert!(
        (high.sides.left.cases[4].links[0].at_drop_n - low.sides.left.cases[4].links[0].at_drop_n).abs()
            > 1000.0
    );
}

/// Inch bolts go by their grades.
#[test]
fn inch_bolts_have_grades() {
    let inch = |class: &str| {
        EXAMPLE.replacen(
            "thread = \"M12x1.25\"\nclass = \"8.8\" ",
            &format!("thread = \"1/2-20 UNF\"\nclass = \"{class}\" "),
            1,
        )
    };
    let bolt = bolts_at_forty(&car(&inch("grade 8"))).sides.left.bolts[0].clone();
    assert_eq!((bolt.class.as_str(), bolt.margin.is_some()), ("grade 8", true));
    let warned = |text: &str| profile::read(text).expect("a sound profile").warnings;
    let odd =
        |text: &str| warned(text).iter().any(|finding| finding.title().contains("inch bolts have grades"));
    assert!(!odd(&inch("grade 5")) && odd(&inch("8.8")) && !odd(EXAMPLE));
    assert!(odd(&EXAMPLE.replacen("class = \"8.8\" ", "class = \"grade 5\" ", 1)));
}
