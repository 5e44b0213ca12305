//! Cars that begin from a typical layout: what is read of them, how good their points are, and what is blamed.

use nalgebra::{DMatrix, DVector, Point3};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use rodset::car::{Car, Hand, Measurand, PerSide, Setup, Side, Stance};
use rodset::geometry::{Figure, solve};
use rodset::measure::{Measured, Round, Survey, Surveyed, WheelReading, survey};
use rodset::plan::{Fitting, Leave, correct, lower, next, plan};
use rodset::profile::{self, CheckedSurvey, Numbers, read_survey, write_numbers};

use crate::command::{TempFile, rodset};

const EXAMPLE: &str = include_str!("../examples/surveys/alder-brook.toml");

/// Which links a car has, by where they lie.
const CARS: [[&str; 5]; 5] = [
    ["above, across", "toe, behind", "above, forward", "below, front", "below, rear"],
    ["above, across", "toe, ahead", "above, forward", "below, front", "below, rear"],
    ["above, front", "toe, behind", "above, rear", "below, front", "below, rear"],
    ["above, front", "toe, ahead", "above, rear", "below, front", "below, rear"],
    ["above, front", "toe, behind", "above, rear", "below, forward", "below, rear"],
];

/// A survey of a car without points.
fn text(lies: &[&str], track: f64, radius: f64, more: &str) -> String {
    let mut text = format!(
        "format = 1\n[car]\nname = \"typical\"\n[typical]\ntrack = {track:?}\nwheel_radius = {radius:?}\n\
         [wheel]\ncamber = -1.0\ntoe = 0.1\n{more}"
    );
    for (i, lies) in lies.iter().enumerate() {
        text += &format!("[[link]]\nname = \"link {i}\"\nlies = \"{lies}\"\n");
    }
    text
}

fn read(text: &str) -> CheckedSurvey {
    read_survey(text).unwrap_or_else(|findings| panic!("{findings:#?}"))
}

fn points(checked: &CheckedSurvey) -> Surveyed {
    survey(&checked.survey, &checked.sigmas).unwrap_or_else(|error| panic!("{error:?}"))
}

/// The car that comes of a survey.
fn car(text: &str, answer: &Surveyed) -> Car {
    let mut at = [[0.0; 3]; 11];
    let of_car = answer.points.iter().filter(|point| point.measurand.is_some());
    for (place, point) in at.iter_mut().zip(of_car) {
        *place = point.at_mm;
    }
    let numbers = Numbers {
        points: &at,
        right: &[],
        right_errors: None,
        readings: None,
        errors: &answer.errors,
        learnt: &[],
        lengths: &[],
        assumed: &answer.assumed,
    };
    let written = write_numbers(text, &numbers).expect("a survey takes points");
    profile::read(&written).unwrap_or_else(|findings| panic!("{findings:#?}\n{written}")).car
}

#[test]
fn every_kind_holds_the_wheel_over_its_travel() {
    let mut kinds = CARS.concat();
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds.len(), 9);
    for lies in CARS {
        for (track, radius) in [(1500.0, 312.0), (1320.0, 270.0), (1680.0, 370.0)] {
            let text = text(&lies, track, radius, "");
            let side = &car(&text, &points(&read(&text))).sides.left;
            for drop in -40..=60 {
                let rows = Setup::as_found(side).rows(side, f64::from(drop));
                let position = solve(&rows, &side.reference())
                    .unwrap_or_else(|stuck| panic!("{lies:?} {drop}: {stuck:?}"));
                assert!(position.condition < 60.0, "{lies:?} {drop} mm: {}", position.condition);
            }
        }
    }
}

#[test]
fn without_a_reading_the_points_are_as_wide_as_was_said() {
    for pivot in [30.0, 12.0] {
        let text = text(&CARS[0], 1500.0, 312.0, "")
            .replace("wheel_radius = 312.0\n", &format!("wheel_radius = 312.0\npivot = {pivot:?}\n"));
        let answer = points(&read(&text));
        assert_eq!(answer.layout_widened, Some(1.0));
        assert_eq!(answer.assumed.len(), 10);
        for point in &answer.points[1..11] {
            for sigma in point.sigma_mm {
                assert!((sigma - pivot).abs() < 0.01, "{}: {sigma}", point.name);
            }
        }
        let middle = answer.points[0].at_mm.iter().zip([0.0, 750.0, 312.0]);
        assert!(middle.into_iter().all(|(is, wanted)| (is - wanted).abs() < 1e-9), "{:?}", answer.points[0]);
        assert!(answer.points[0].sigma_mm[0].abs() < 1e-12);
        // The two lower outer pivots are known better against each other than in the car.
        let covariance = answer.errors.covariance();
        let of = |a: Measurand, b: Measurand, axis: usize| {
            covariance[(a.place().start + axis, b.place().start + axis)]
        };
        let [front, rear] = [Measurand::Knuckle(3), Measurand::Knuckle(4)];
        let spacing =
            (0..3).map(|axis| of(front, front, axis) + of(rear, rear, axis) - 2.0 * of(front, rear, axis));
        assert!(spacing.into_iter().all(|variance| variance.sqrt() < 0.9 * pivot));
    }
}

/// What a mistake is, and what is told of it.
const MISTAKES: &[(&str, &str, &str, &str)] = &[
    (
        "lies = \"below, rear\"",
        "lies = \"below, raer\"",
        "link.lower rear.lies",
        "did you mean \"below, rear\"?",
    ),
    (
        "lies = \"below, rear\"",
        "lies = \"below, front\"",
        "link.lower rear.lies",
        "two links cannot lie at one place",
    ),
    ("lies = \"below, rear\"\n", "", "link.lower rear", "needs `lies`, or its points"),
    ("track = 1496.0", "track = 59", "typical.track", "no car has a track of 59.0 mm"),
    ("wheel_radius = 309.0", "#", "typical", "the key `wheel_radius` is missing in [typical]"),
    ("wheel_radius = 309.0", "wheel_radius = 309.0\npivot = 0.0", "typical.pivot", "must be more than zero"),
    (
        "measured_length = 328.0",
        "measured_length = \"about 328\"",
        "link.toe.measured_length",
        "only a coordinate",
    ),
];

#[test]
fn mistakes_are_told_with_their_place() {
    for (from, to, key, said) in MISTAKES {
        assert_eq!(EXAMPLE.matches(from).count(), 1, "{from:?} must stand in the example once");
        let text = EXAMPLE.replace(from, to);
        let findings = read_survey(&text).expect_err(to);
        let found = findings.iter().find(|finding| finding.key.as_deref() == Some(key));
        let found = found.unwrap_or_else(|| panic!("{to}: {findings:#?}"));
        let told = found.render("survey.toml", &text, false);
        assert!(told.contains(said) && told.contains("survey.toml:"), "{told}");
    }
}

#[test]
fn a_point_that_is_given_is_taken_as_it_is_and_one_by_eye_less_so() {
    let given = "lies = \"below, rear\"\nsubframe = [-60.0, \"about 330\", 211.0]\nknuckle = [-12.0, 688.0, 190.0]\n\
                 knuckle_sigma = [1.0, 1.0, 4.0]";
    let answer = points(&read(&EXAMPLE.replace("lies = \"below, rear\"", given)));
    let point = |name: &str| answer.points.iter().find(|point| point.name == name).expect(name);
    let near = |a: [f64; 3], b: [f64; 3], by: f64| a.iter().zip(b).all(|(a, b)| (a - b).abs() < by);
    assert!(near(point("lower rear subframe").at_mm, [-60.0, 330.0, 211.0], 0.01));
    assert!(near(point("lower rear subframe").sigma_mm, [2.0, 10.0, 2.0], 0.01));
    assert!(near(point("lower rear knuckle").sigma_mm, [1.0, 1.0, 4.0], 0.01));
    assert!(answer.assumed.iter().all(|name| !name.starts_with("lower rear")), "{:?}", answer.assumed);
    assert_eq!(answer.assumed.len(), 8);
}

#[test]
fn a_coordinate_by_eye_is_one_of_any_profile() {
    let text = include_str!("../examples/tansy-wharf.toml");
    let by_eye = text
        .replace("subframe = [-165.0, 359.0, 218.0]", "subframe = [-165.0, \"about 359\", \"about 8.5 in\"]");
    let of = |text: &str| {
        let side = profile::read(text).expect("sound").car.sides.left;
        (side.links[1].subframe, side.errors.deviations(Measurand::Subframe(1)))
    };
    assert_eq!(of(text), (Point3::new(-165.0, 359.0, 218.0), vec![2.0; 3]));
    let (at, sigma) = of(&by_eye);
    assert!((at - Point3::new(-165.0, 359.0, 215.9)).norm() < 1e-9);
    assert_eq!(sigma, [2.0, 10.0, 10.0]);
}

#[test]
fn what_takes_a_profile_takes_a_car_without_points() {
    let example = "examples/surveys/alder-brook.toml";
    let plan = rodset(&["plan", example, "--drop", "0", "--format", "json"]);
    assert_eq!(plan.status, 0, "{}", plan.all());
    let plan = plan.json();
    let turns = plan["sides"][0]["arms"][0]["turns"].as_f64();
    assert!(turns.is_some_and(f64::is_finite), "{plan:#}");
    let check = rodset(&["check", example, "--format", "json"]).json();
    assert_eq!(check["assumed"].as_array().map(Vec::len), Some(10));
    let page = rodset(&["lower", example, "--drop", "20"]);
    assert!(page.all().contains("Points assumed from a"), "{}", page.all());
    // The same without a single reading, as a profile in which the points are missing.
    let start = EXAMPLE.find("[survey]").expect("it has one");
    let end = EXAMPLE.find("[[link]]").expect("it has links");
    let bare =
        TempFile::new(EXAMPLE.replace(&EXAMPLE[start..end], "").replace("measured_length = 328.0", ""));
    let bare = rodset(&["plan", bare.path(), "--drop", "0"]);
    assert_eq!(bare.status, 0, "{}", bare.all());
    // What is written keeps what is assumed.
    let folder = tempfile::tempdir().expect("a folder");
    let written = folder.path().join("car.toml");
    let written = written.to_str().expect("a name");
    let survey = rodset(&["survey", example, "--write", written]);
    assert_eq!(survey.status, 0, "{}", survey.all());
    assert_eq!(rodset(&["check", written, "--format", "json"]).json()["assumed"], check["assumed"]);
}

#[test]
fn starters_begin_from_a_layout_or_from_another_car() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).to_str().expect("a name").to_owned();
    let typical = path("typical.toml");
    assert_eq!(rodset(&["starter", "--typical", &typical]).status, 0);
    let text = std::fs::read_to_string(&typical).expect("written");
    assert!(text.lines().count() < 72);
    // Whoever fills in all that waits has a car.
    let filled = text.replace("#= lies", "lies").replace("\n#= ", "\n");
    let filled = TempFile::new(
        filled
            .replace("\" }, #= reads = 265", "\", reads = 265 },")
            .replace("\" },   #= reads = 165", "\", reads = 165 },"),
    );
    let plan = rodset(&["plan", filled.path(), "--drop", "30"]);
    assert!(plan.status != 1 && plan.all().contains("SET THE ARMS"), "{}", plan.all());
    // Another owner's car gives its points, a little wider, and nothing else.
    let other = path("other.toml");
    assert_eq!(
        rodset(&["starter", "--like", "examples/tansy-wharf.toml", "--spread", "3", &other]).status,
        0
    );
    let text = std::fs::read_to_string(&other).expect("written");
    assert!(!text.contains("#= subframe") && !text.contains("Tansy Wharf"));
    let text = text.replace("[wheel] ", "[wheel]\ncamber = -0.5\ntoe = 0.2 ").replacen("#= name", "name", 1);
    let text = text.replacen("[spec] ", "# ", 1);
    let car = profile::read(&text).unwrap_or_else(|findings| panic!("{findings:#?}")).car;
    let like = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    for (own, of) in car.sides.left.links.iter().zip(&like.sides.left.links) {
        assert_eq!(
            (own.subframe, own.knuckle, own.sets, &own.name),
            (of.subframe, of.knuckle, of.sets, &of.name)
        );
        assert!(own.cam.is_none() && own.measured.is_none() && own.arm.is_none());
    }
    let sigma = car.sides.left.errors.deviations(Measurand::Knuckle(2));
    assert!(sigma.iter().all(|sigma| (sigma - 2.0_f64.hypot(3.0)).abs() < 0.001), "{sigma:?}");
    assert!((car.sides.left.reading.camber.to_degrees() + 0.5).abs() < 1e-9 && car.sides.left.spec.is_none());
    let refused = rodset(&["starter", "--like", "examples/surveys/alder-brook.toml", &path("third.toml")]);
    assert!(refused.status == 1 && refused.all().contains("typical layout"), "{}", refused.all());
}

/// What is read of a car: tapes at the wheel, an arm, slopes and heights.
const READINGS: &str =
    "[survey]\ntape = [{ from = \"link 0 knuckle\", to = \"link 3 knuckle\", reads = 260, sigma = 3 },
  { from = \"link 1 knuckle\", to = \"link 3 knuckle\", reads = 170, sigma = 3 }]
arm = [{ link = \"link 1\", reads = 330 }]
slope = [{ link = \"link 0\", reads = 3 }, { link = \"link 1\", reads = 3 }, { link = \"link 3\", reads = 0 }]
height = [{ of = \"link 4 subframe\", reads = 210 }, { of = \"link 2 subframe\", reads = 410 }]\n";

/// A factor of a covariance: `F F'`.
fn factor(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let eigen = covariance.clone().symmetric_eigen();
    &eigen.eigenvectors * DMatrix::from_diagonal(&eigen.eigenvalues.map(|value| value.max(0.0).sqrt()))
}

fn normal(count: usize, random: &mut Pcg64) -> DVector<f64> {
    DVector::from_fn(count, |_, _| StandardNormal.sample(random))
}

/// The survey with what is read of a car whose points are these, in the order of the car's.
fn readings(of: &Survey, truth: &[Point3<f64>], random: &mut Pcg64) -> Survey {
    let mut survey = of.clone();
    let mut at: Vec<Point3<f64>> = survey.network.spots.iter().map(|spot| spot.start).collect();
    for (point, spot) in truth.iter().zip(survey.points) {
        at[spot] = *point;
    }
    for seen in &mut survey.network.observations {
        let error: f64 = StandardNormal.sample(random);
        seen.reads = seen.kind.value(&at) + error * seen.sigma;
    }
    survey
}

/// The interval that holds a rate with 95 of 100 (E. B. Wilson 1927, cited from memory).
fn wilson(hits: f64, count: f64) -> [f64; 2] {
    let z = 1.96_f64;
    let (rate, part) = (hits / count, z * z / count);
    let half = z / (1.0 + part) * (rate * (1.0 - rate) / count + part / (4.0 * count)).sqrt();
    let middle = (rate + part / 2.0) / (1.0 + part);
    [middle - half, middle + half]
}

/// Whether a side is one of a car: it holds its wheel firmly over the travel that any has.
fn drives(side: &Side) -> bool {
    let rows = |drop: i32| Setup::as_found(side).rows(side, f64::from(drop));
    let holds =
        |drop: i32| solve(&rows(drop), &side.reference()).is_ok_and(|position| position.condition < 60.0);
    (-60..=80).step_by(20).all(holds)
}

/// Whether a rate of hits in draws may be that of a band that holds 95 of 100, give or take 2.
fn holds(what: &str, hits: f64, draws: f64) {
    let [least, most] = wilson(hits, draws);
    println!(
        "{what}: {:.1} of 100 ({:.1} to {:.1}) in {draws} draws",
        100.0 * hits / draws,
        100.0 * least,
        100.0 * most
    );
    assert!(most > 0.90 && least < 0.97, "{what}: {hits} of {draws}");
}

#[test]
fn bands_hold_what_they_say_for_cars_drawn_from_the_layout() {
    const DRAWS: usize = 300;
    let bare = text(&CARS[0], 1500.0, 312.0, "");
    let text = text(&CARS[0], 1500.0, 312.0, READINGS);
    let layout = points(&read(&bare));
    let checked = read(&text);
    let home = car(&bare, &layout).sides.left.numbers();
    let spread = factor(layout.errors.covariance());
    let mut random = Pcg64::new(18, 4);
    let (mut coordinates, mut of_angles, mut drawn, mut none, mut blamed, mut widened) =
        (0.0, [0.0; 2], 0, 0, 0, 0);
    let layout_side = car(&bare, &layout).sides.left;
    while drawn < DRAWS {
        let off = &spread * normal(Measurand::NUMBERS, &mut random);
        let truth: [f64; Measurand::NUMBERS] = std::array::from_fn(|i| home[i] + off[i]);
        if !drives(&layout_side.with_numbers(&truth)) {
            none += 1;
            continue;
        }
        let at: Vec<Point3<f64>> =
            Measurand::points().map(|of| Point3::from_slice(&truth[of.place()])).collect();
        let survey_of = readings(&checked.survey, &at, &mut random);
        let mut checked = checked.clone();
        checked.survey = survey_of;
        let answer = points(&checked);
        blamed += usize::from(!answer.suspects.is_empty());
        widened += usize::from(answer.layout_widened.is_some_and(|times| times > 1.0));
        let mut inside = 0.0;
        for (point, truth) in answer.points.iter().zip(&at) {
            for axis in 0..3 {
                let good = point.good_to_mm[axis];
                inside += f64::from(u8::from(good > 0.0 && (point.at_mm[axis] - truth[axis]).abs() <= good));
            }
        }
        coordinates += inside / 32.0;
        drawn += 1;
        // The wheel as it reads now is read with an error, and all the rest is geometry.
        let found = car(&text, &answer);
        let stance = Stance::new(&found, [25.0; 2], None).expect("no front drop");
        let mut true_car = found.clone();
        let read = found.sides.left.numbers();
        let error = normal(2, &mut random);
        let mut numbers = truth;
        numbers[33] = read[33] + error[0] * found.sigmas.camber;
        numbers[34] = read[34] + error[1] * found.sigmas.toe;
        true_car.sides.left = found.sides.left.with_numbers(&numbers);
        let dropped = true_drop(&mut random, found.sigmas.drop);
        let true_stance = Stance::new(&true_car, [25.0 + dropped, 25.0], None).expect("no front drop");
        let (Ok(says), Ok(is)) = (lower(&found, &stance), lower(&true_car, &true_stance)) else {
            // A car that does not come so far misses both.
            continue;
        };
        let (says, is) = (&says.sides[Hand::Left], &is.sides[Hand::Left]);
        let camber = (says.lowered.reading.camber_deg - is.lowered.reading.camber_deg).abs();
        let toe = (says.lowered.reading.toe_deg - is.lowered.reading.toe_deg).abs();
        of_angles[0] += f64::from(u8::from(camber <= says.band.camber_deg));
        of_angles[1] += f64::from(u8::from(toe <= says.band.toe_deg));
    }
    println!("{none} were no cars; blamed {blamed}, widened {widened}");
    #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
    let drawn = drawn as f64;
    println!("camber {:?}, toe {:?}", of_angles[0] / drawn, of_angles[1] / drawn);
    holds("coordinates", coordinates, drawn);
    holds("lowered camber", of_angles[0], drawn);
    holds("lowered toe", of_angles[1], drawn);
    assert!(blamed * 100 < DRAWS && widened * 100 < DRAWS, "{blamed} blamed, {widened} widened of {DRAWS}");
}

fn true_drop(random: &mut Pcg64, sigma: f64) -> f64 {
    let error: f64 = StandardNormal.sample(random);
    error * sigma
}

#[test]
fn a_car_unlike_the_layout_widens_it_and_blames_no_reading() {
    let bare = text(&CARS[0], 1500.0, 312.0, "");
    let checked = read(&text(&CARS[0], 1500.0, 312.0, READINGS));
    let layout = points(&read(&bare));
    let home = car(&bare, &layout).sides.left.numbers();
    let spread = factor(layout.errors.covariance());
    let mut random = Pcg64::new(19, 4);
    let (mut widened, mut blamed, mut unsettled) = (0, 0, 0);
    for _ in 0..40 {
        let off = &spread * normal(Measurand::NUMBERS, &mut random) * 3.0;
        let at: Vec<Point3<f64>> = Measurand::points()
            .map(|of| Point3::from_slice(&home[of.place()]) + off.rows(of.place().start, 3))
            .collect();
        let survey_of = readings(&checked.survey, &at, &mut random);
        let mut checked = checked.clone();
        checked.survey = survey_of;
        // So far off, a car need not be one.
        let Ok(answer) = survey(&checked.survey, &checked.sigmas) else {
            unsettled += 1;
            continue;
        };
        widened += usize::from(answer.layout_widened.is_some_and(|times| times > 1.5));
        blamed += usize::from(!answer.suspects.is_empty());
    }
    println!("{widened} widened, {blamed} blamed, {unsettled} unsettled of 40");
    assert!(widened >= 28 && blamed <= 2 && unsettled <= 2, "{widened} widened, {blamed} blamed of 40");
}

#[test]
fn a_slip_among_readings_that_check_each_other_is_blamed() {
    // The full survey of a car, beside a layout.
    let lies = ["above, across", "toe, behind", "above, forward", "below, front", "below, rear"];
    let mut text = include_str!("../examples/surveys/tansy-wharf.toml").to_owned();
    for (name, lies) in ["upper", "toe", "traction", "lower front", "lower rear"].iter().zip(lies) {
        text =
            text.replacen(&format!("name = \"{name}\""), &format!("lies = \"{lies}\"\nname = \"{name}\""), 1);
    }
    text = text.replacen("[survey]\n", "[typical]\ntrack = 1500.0\nwheel_radius = 312.0\n[survey]\n", 1);
    let answer = points(&read(&text));
    assert!(answer.suspects.is_empty(), "{:?}", answer.suspects);
    assert_eq!(answer.assumed, Vec::<String>::new());
    assert!(answer.points.iter().flat_map(|point| point.sigma_mm).all(|sigma| sigma < 3.0));
    let slipped = points(&read(&text.replacen("reads = 297.5", "reads = 347.5", 1)));
    let [suspect] = &slipped.suspects[..] else { panic!("{:?}", slipped.suspects) };
    assert!(suspect.what.contains("upper subframe - toe subframe") && slipped.layout_widened == Some(1.0));
    // What is assumed hardly moves what was measured.
    let alone = include_str!("../examples/surveys/tansy-wharf.toml");
    for (point, alone) in answer.points.iter().zip(points(&read(alone)).points) {
        assert!((0..3).all(|axis| (point.at_mm[axis] - alone.at_mm[axis]).abs() < 1.5), "{}", point.name);
    }
}

#[test]
fn two_links_may_share_a_bolt_of_which_nothing_is_known() {
    let text = text(&CARS[0], 1500.0, 312.0, "[survey]\nsame = [[\"link 3 knuckle\", \"link 4 knuckle\"]]\n");
    let answer = points(&read(&text));
    let at = |i: usize| answer.points[i].at_mm;
    assert!(at(8).iter().zip(at(10)).all(|(a, b)| (a - b).abs() < 1e-12));
    assert!(answer.points[8].sigma_mm.iter().all(|sigma| *sigma < 30.0 && *sigma > 15.0));
}

/// A car with two arms and a spec, without points.
fn with_arms(lies: &[&str]) -> String {
    let spec = "[spec]\ncamber = -1.0\ncamber_tolerance = 0.5\ntoe = 0.1\ntoe_tolerance = 0.1\n";
    let arm = "arm = { shortest = 150.0, longest = 450.0, threads = [\"M16x1.5 RH\", \"M16x1.5 LH\"] }\n";
    text(lies, 1500.0, 312.0, spec)
        .replace("camber = -1.0\ntoe = 0.1\n[spec]", "camber = -1.9\ntoe = -0.6\n[spec]")
        .replace("name = \"link 0\"\n", &format!("name = \"link 0\"\nsets = \"camber\"\n{arm}"))
        .replace("name = \"link 1\"\n", &format!("name = \"link 1\"\nsets = \"toe\"\n{arm}"))
}

/// How good `next` says that a plan is after its best readings is how good it is: cars drawn from the layout, these readings made of
/// them, their arms set by the plan that follows.
#[test]
fn what_the_next_readings_promise_is_what_they_give() {
    for drop in [0.0, 30.0] {
        promised_and_given(drop);
    }
}

fn promised_and_given(drop: f64) {
    const DRAWS: usize = 200;
    let bare = with_arms(&CARS[0]) + "[survey]\nsigma = { tape = 3.0, arm = 1.0 }\n";
    let layout = points(&read(&bare));
    let home = car(&bare, &layout);
    let stance = Stance::new(&home, [drop; 2], None).expect("no front drop");
    let specs = home.sides.each(|side| side.spec.expect("it has one"));
    let planned = plan(&home, &stance, &specs, &Fitting::default()).expect("within reach");
    let ahead = next(&home, &stance, &planned, &Fitting::default()).expect("an outlook");
    let keyed: Vec<_> = ahead.readings.iter().take_while(|of| of.key.is_some()).collect();
    let promised = &keyed.last().expect("a reading of a survey comes first").after;
    let mut text = bare.clone();
    for reading in &keyed {
        let key = reading.key.as_deref().expect("a key");
        text = profile::set_answer(&text, key, if key.contains(".slope.") { "3" } else { "100" })
            .expect("a survey takes it")
            .text;
    }
    let checked = read(&text);
    let spread = factor(layout.errors.covariance());
    let mut random = Pcg64::new(20, 4);
    let (mut off, mut drawn) = ([Vec::new(), Vec::new()], 0);
    while drawn < DRAWS {
        let moved = &spread * normal(Measurand::NUMBERS, &mut random);
        let numbers = home.sides.left.numbers();
        let truth: [f64; Measurand::NUMBERS] = std::array::from_fn(|i| numbers[i] + moved[i]);
        if !drives(&home.sides.left.with_numbers(&truth)) {
            continue;
        }
        drawn += 1;
        let at: Vec<Point3<f64>> =
            Measurand::points().map(|of| Point3::from_slice(&truth[of.place()])).collect();
        let mut checked = checked.clone();
        checked.survey = readings(&checked.survey, &at, &mut random);
        let Ok(answer) = survey(&checked.survey, &checked.sigmas) else { continue };
        let found = car(&text, &answer);
        let Ok(planned) = plan(&found, &stance, &specs, &Fitting::default()) else { continue };
        let error = normal(4, &mut random);
        let mut numbers = truth;
        let read = found.sides.left.numbers();
        numbers[33] = read[33] + error[0] * found.sigmas.camber;
        numbers[34] = read[34] + error[1] * found.sigmas.toe;
        let side = found.sides.left.with_numbers(&numbers);
        let mut setup = Setup::as_found(&side);
        for (arm, error) in planned.sides.left.arms.iter().zip([error[2], error[3]]) {
            let link = side.links.iter().position(|link| link.name == arm.link).expect("a link");
            setup.lengths[link] += arm.set_mm - arm.stock_mm + error * found.sigmas.matching();
        }
        let rows = setup.rows(&side, drop);
        let Ok(position) = solve(&rows, &side.reference()) else { continue };
        let says = planned.sides.left.result.reading;
        for (off, (figure, says)) in
            off.iter_mut().zip([(Figure::Camber, says.camber_deg), (Figure::Toe, says.toe_deg)])
        {
            let is = figure.value(&position.pose, &side.wheel, &stance.ground(Hand::Left)).to_degrees();
            off.push((is - says).abs());
        }
    }
    assert!(off[0].len() > DRAWS * 9 / 10, "{} of {DRAWS} cars read", off[0].len());
    for (off, promised) in off.iter_mut().zip([promised.camber_deg, promised.toe_deg]) {
        off.sort_by(f64::total_cmp);
        // By what 68 of 100 hold, which 200 draws tell to 5 percent, and by the few furthest, which are further off than a normal law
        // has it and tell it to 10 percent.
        let [held, far] = [683, 950].map(|part| off[off.len() * part / 1000] / promised);
        println!("{drop} mm to go, {} readings: {promised:.3}; {:.3}, {far:.3}", keyed.len(), 1.96 * held);
        assert!((0.7..1.25).contains(&(1.96 * held)) && (0.8..1.8).contains(&far), "{held} and {far}");
    }
}

/// A first turn that answers with the other sign, because the link that steers lies on the other side of the wheel than the file says,
/// stops the work; on the side that it says it does not.
#[test]
fn a_link_on_the_other_side_of_the_wheel_stops_the_work() {
    let arms = |lies: &str| {
        let mut links = CARS[0];
        links[1] = lies;
        with_arms(&links)
    };
    let of = |lies: &str| {
        let text = arms(lies);
        car(&text, &points(&read(&text)))
    };
    let truth = of("toe, behind");
    for (said, stops) in [("toe, ahead", true), ("toe, behind", false)] {
        let said = of(said);
        let stance = Stance::new(&said, [0.0; 2], None).expect("no front drop");
        let specs = said.sides.each(|side| side.spec.expect("it has one"));
        let planned = plan(&said, &stance, &specs, &Fitting::default()).expect("within reach");
        let mut round = Round::default();
        for hand in Hand::BOTH {
            let side = &truth.sides[hand];
            let mut setup = Setup::as_found(side);
            for arm in &planned.sides[hand].arms {
                let link = side.links.iter().position(|link| link.name == arm.link).expect("a link");
                setup.lengths[link] += arm.set_mm - arm.stock_mm;
                round.lengths[hand][link] = Some(arm.set_mm);
            }
            let pose = solve(&setup.rows(side, 0.0), &side.reference()).expect("within travel").pose;
            let figure = |figure: Figure, sigma: f64| {
                let value = figure.value(&pose, &side.wheel, &stance.ground(hand));
                Some(Measured { value, sigma: sigma.to_radians() })
            };
            round.wheels[hand] =
                WheelReading { camber: figure(Figure::Camber, 0.05), toe: figure(Figure::Toe, 0.03) };
        }
        let answer = correct(&said, &specs, &Fitting::default(), &[round]).expect("an answer");
        let other: PerSide<bool> = answer.sides.each(|side| {
            assert_eq!(side.other_way.is_some(), side.leave == Some(Leave::OtherWay));
            assert!(side.other_way.as_deref().is_none_or(|link| link == "link 1"));
            side.other_way.is_some()
        });
        assert_eq!([other.left, other.right], [stops; 2], "{:?}", answer.flags);
        assert_eq!(answer.cannot_be_right(), stops);
    }
}

/// A subframe beside the centreline: what is assumed of the right side is off by as much again as the left one, all of it together.
#[test]
fn an_assumed_subframe_may_sit_beside_the_centreline() {
    let text = text(&CARS[0], 1500.0, 312.0, "");
    let answer = points(&read(&text));
    let more = |text: &str, a: Measurand, b: Measurand, axis: usize| {
        let car = car(text, &answer);
        let of = |side: &Side| side.errors.covariance()[(a.place().start + axis, b.place().start + axis)];
        of(&car.sides.right) - of(&car.sides.left)
    };
    let [first, last, knuckle] = [Measurand::Subframe(0), Measurand::Subframe(4), Measurand::Knuckle(0)];
    let near = |is: f64, wanted: f64| assert!((is - wanted).abs() < 0.05, "{is}, not {wanted}");
    near(more(&text, first, first, 1), 16.0 + 1.0);
    near(more(&text, first, last, 1), 16.0);
    near(more(&text, first, last, 2), 0.0);
    near(more(&text, knuckle, knuckle, 1), 1.0);
    // A point that was measured on the right has nothing of it.
    let measured = format!("{text}[[right.link]]\nname = \"link 0\"\nsubframe = [0.0, -450.0, 440.0]\n");
    near(more(&measured, last, last, 1), 16.0 + 1.0);
    near(car(&measured, &answer).sides.right.errors.covariance()[(4, 28)], 0.0);
}
