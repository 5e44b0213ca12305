//! Which adjusters an answer uses and to which steps: against every other choice, tried one by one with plain solves.

use proptest::prelude::*;
use rodset::car::{Car, Hand, PerSide, Setup, Side, Spec, Stance};
use rodset::geometry::{Figure, Ground, Position};
use rodset::plan::{CamUse, Fitting, Plan, Reading, cams, choose_arms, forward, plan};
use rodset::profile;

use crate::command::{TempFile, rodset};
use crate::layout::{Layout, config, layouts};

const EXAMPLE: &str = include_str!("../examples/tansy-wharf.toml");

fn car(text: &str) -> Car {
    match profile::read(text) {
        Ok(checked) => checked.car,
        Err(findings) => {
            panic!("{}", findings.iter().map(|f| f.render("car.toml", text, false)).collect::<String>())
        }
    }
}

fn specs(car: &Car) -> PerSide<Spec> {
    car.sides.each(|side| side.spec.expect("a spec"))
}

fn stance(car: &Car, drop: f64) -> Stance {
    Stance::new(car, [drop; 2], None).expect("no front drop")
}

/// The text of a layout with more keys for some of its links and a spec's limits.
fn with(layout: &Layout, links: &[(&str, String)], spec: &str) -> String {
    let mut text = layout.toml().replacen("[spec]\n", &format!("[spec]\n{spec}"), 1);
    for (name, keys) in links {
        let head = format!("name = \"{name}\"\n");
        text = text.replacen(&head, &format!("{head}{keys}"), 1);
    }
    text
}

fn cam(e: f64, setting: f64) -> String {
    format!("cam = {{ eccentricity = {e:?}, along = [0.0, 1.0, 0.0], setting = {setting:?} }}\n")
}

/// Misses of camber, toe and pitch in tolerances.
fn misses(side: &Side, spec: &Spec, position: &Position) -> [f64; 3] {
    Figure::ALL.map(|figure| spec.miss(figure, figure.value(&position.pose, &side.wheel, &Ground::level())))
}

fn in_spec(misses: &[f64; 3]) -> bool {
    misses[0].abs() <= 1.0 && misses[1].abs() <= 1.0
}

fn norm(misses: &[f64; 3]) -> f64 {
    misses.iter().map(|miss| miss * miss).sum::<f64>().sqrt()
}

/// Every choice of whole steps of three arms within `window` of the exact lengths, solved: steps and misses.
fn all_steps(side: &Side, spec: &Spec, plan: &Plan, drop: f64, window: i32) -> Vec<[f64; 3]> {
    let answer = &plan.sides[side.hand];
    let fitting = fitting();
    let setup = answer.setup(side, &fitting);
    let arms: Vec<(usize, f64, f64, [f64; 2], i32)> = (answer.arms.iter())
        .map(|arm| {
            let link = side.links.iter().position(|link| link.name == arm.link).expect("a link");
            let fitted = side.links[link].arm.as_ref().expect("an arm");
            let step = arm.step.length_mm;
            #[expect(clippy::cast_possible_truncation, reason = "a few hundred steps at the most")]
            let near = ((arm.exact_mm - arm.stock_mm) / step).round() as i32;
            (link, arm.stock_mm, step, fitted.range().ends, near)
        })
        .collect();
    let mut found = Vec::new();
    let count = 2 * window + 1;
    for code in 0..count.pow(u32::try_from(arms.len()).expect("three arms")) {
        let mut code = code;
        let mut setup: Setup = setup;
        let mut allowed = true;
        for (link, stock, step, ends, near) in &arms {
            let length = stock + f64::from(near - window + code % count) * step;
            code /= count;
            allowed &= (ends[0] - 1e-9..=ends[1] + 1e-9).contains(&length);
            setup.lengths[*link] = length;
        }
        if let Some(position) = allowed.then(|| forward(side, &setup, drop).ok()).flatten() {
            found.push(misses(side, spec, &position));
        }
    }
    found
}

fn fitting() -> Fitting {
    Fitting {
        arms: Some(["upper", "toe", "traction"].map(str::to_owned).to_vec()),
        keep_cams: false,
        ..Fitting::default()
    }
}

proptest! {
    #![proptest_config(config(60))]

    /// Three arms with odd steps, tolerances and ranges: no whole steps within reach are nearer the spec than those of the plan, and
    /// where some are within it, so are these; the same of pairs of both sides under limits between the wheels.
    #[test]
    fn no_other_steps_are_better(
        layout in layouts(),
        drop in 0.0..50.0,
        steps in [2_u8..13, 2_u8..13, 2_u8..13],
        tolerances in [0.1..0.8, 0.03..0.3],
        limits in prop_oneof![Just(None), (0.01..0.3, 0.01..0.15).prop_map(Some)],
        short in prop_oneof![Just(None), (0.0..6.0).prop_map(Some)],
    ) {
        let steps = steps.map(|part| 1.0 / f64::from(part));
        let mut layout = layout;
        layout.tolerances = tolerances;
        layout.steps = [steps[0], steps[1]];
        let limits = limits.map_or(String::new(), |(cross, thrust)| {
            format!("cross_camber = {cross:?}\nthrust_angle = {thrust:?}\n")
        });
        let traction = 270.0;
        let arm = format!(
            "arm = {{ shortest = {:?}, longest = {:?}, threads = [\"M16x1.5 RH\", \"M16x1.5 LH\"], step = {:?} }}\n",
            traction * 0.6, traction * 1.4, steps[2]
        );
        let mut text = with(&layout, &[("traction", arm)], &limits);
        if let Some(short) = short {
            // The upper arm ends so many mm from its stock length.
            let (a, b) = layout.links[0];
            let length = (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt();
            text = text.replacen(
                &format!("longest = {:?}", length * 1.2), &format!("longest = {:?}", length + short), 1);
        }
        let car = car(&text);
        let (stance, specs) = (stance(&car, drop), specs(&car));
        let Ok(answer) = plan(&car, &stance, &specs, &fitting()) else {
            return Err(TestCaseError::reject("no position"));
        };
        let cams_turned = answer.sides.iter().any(|side| !side.cams.is_empty());
        prop_assume!(!cams_turned);
        let others = PerSide::of(|hand| all_steps(&car.sides[hand], &specs[hand], &answer, drop, 6));
        let mine = PerSide::of(|hand| {
            let side = &car.sides[hand];
            let position = forward(side, &answer.sides[hand].setup(side, &fitting()), drop).expect("planned");
            misses(side, &specs[hand], &position)
        });
        let ended = answer.sides.iter().flat_map(|side| &side.arms).any(|arm| arm.limit != rodset::car::Limit::Ok);
        for hand in Hand::BOTH {
            let best_in_spec = others[hand].iter().filter(|misses| in_spec(misses)).map(norm).reduce(f64::min);
            if answer.sides[hand].exact.within_spec && let Some(best) = best_in_spec {
                prop_assert!(in_spec(&mine[hand]), "steps within spec exist, missing by {best}: {:?}", mine[hand]);
                if !ended && answer.axle.within_limits && car.axle.cross_camber.is_none() {
                    prop_assert!(norm(&mine[hand]) <= best + 1e-9, "{} is not {best}", norm(&mine[hand]));
                }
            }
        }
        let keeps = |a: &[f64; 3], b: &[f64; 3]| {
            let camber = |spec: &Spec, misses: &[f64; 3]| spec.camber + misses[0] * spec.camber_tolerance;
            let toe = |spec: &Spec, misses: &[f64; 3]| spec.toe + misses[1] * spec.toe_tolerance;
            car.axle.hold(
                camber(&specs.left, a) - camber(&specs.right, b),
                (toe(&specs.right, b) - toe(&specs.left, a)) / 2.0,
            )
        };
        let within = others.each(|others| {
            let mut within: Vec<_> = others.iter().filter(|misses| in_spec(misses)).collect();
            within.sort_by(|a, b| norm(a).total_cmp(&norm(b)));
            within.truncate(1500);
            within
        });
        let mut best_pair = f64::INFINITY;
        for a in &within.left {
            for b in &within.right {
                let miss = norm(a).hypot(norm(b));
                if miss >= best_pair {
                    break;
                }
                if keeps(a, b) {
                    best_pair = miss;
                }
            }
        }
        if best_pair.is_finite() && answer.sides.iter().all(|side| side.exact.within_spec) {
            prop_assert!(answer.axle.within_limits, "a pair within the limits exists, missing by {best_pair}");
            if !ended {
                let miss = norm(&mine.left).hypot(norm(&mine.right));
                prop_assert!(miss <= best_pair + 1e-9, "{miss} is not {best_pair}");
            }
        }
    }

    /// Three cams, one of them on a link that sets nothing: where the answer says that no setting does, no point of a grid over all
    /// settings does; and the target is met with as few cams as a grid of pairs meets it.
    #[test]
    fn what_three_cams_cannot_do_no_setting_does(
        layout in layouts(),
        third in (1.0..6.0, -60.0..60.0),
        drop in 0.0..60.0,
        labelled in any::<bool>(),
    ) {
        let sets = if labelled { "sets = \"camber\"\n" } else { "" };
        let text = with(&layout, &[("lower rear", format!("{sets}{}", cam(third.0, third.1)))], "");
        let car = car(&text);
        let (stance, specs) = (stance(&car, drop), specs(&car));
        let Ok(verdict) = cams(&car, &stance, &specs) else { return Err(TestCaseError::reject("no position")) };
        for (i, answer) in verdict.sides.iter().enumerate() {
            let (side, spec) = (&car.sides[Hand::BOTH[i]], &specs[Hand::BOTH[i]]);
            prop_assert_eq!(answer.cams.len() + answer.other_cams.len(), 3, "every cam is told");
            prop_assert!(answer.other_cams.iter().all(|cam| cam.stands == CamUse::AsFound));
            // The settings told give the reading told.
            let mut setup = Setup::as_found(side);
            for cam in &answer.cams {
                let link = side.links.iter().position(|link| link.name == cam.link).expect("a link");
                setup.pivots[link] = side.links[link].pivot(cam.shift_mm);
                prop_assert!(cam.reserve_mm >= 0.0);
            }
            let position = forward(side, &setup, drop).expect("told");
            let reading = Reading::of(side, &position.pose, &Ground::level());
            prop_assert!((reading.camber_deg - answer.best.reading.camber_deg).abs() < 1e-8);
            prop_assert!((reading.toe_deg - answer.best.reading.toe_deg).abs() < 1e-8);
            if answer.within_spec {
                continue;
            }
            let links = ["upper", "toe", "lower rear"]
                .map(|name| side.links.iter().position(|link| link.name == name).expect("a link"));
            let mut reached = 0;
            for code in 0..(STEPS + 1).pow(3) {
                let mut code = code;
                let mut setup = Setup::as_found(side);
                for link in links {
                    let e = side.links[link].cam.expect("a cam").eccentricity;
                    let part = f64::from(code % (STEPS + 1)) / f64::from(STEPS);
                    setup.pivots[link] = side.links[link].pivot(e * (2.0 * part - 1.0));
                    code /= STEPS + 1;
                }
                let Ok(position) = forward(side, &setup, drop) else { continue };
                reached += 1;
                prop_assert!(!in_spec(&misses(side, spec, &position)), "a setting does: {setup:?}");
            }
            prop_assert!(reached > STEPS.pow(3) / 2, "{reached} settings have a position");
        }
    }
}

/// Steps of the grid over a cam's slot.
const STEPS: i32 = 16;

/// A line of the example changed.
fn example(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(EXAMPLE.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "the example has no {from:?}");
        text.replacen(from, to, 1)
    })
}

/// The limits between the wheels are judged over all settings of the cams, not at each side's own best: no arm is sold for
/// them that is not needed, and all commands say the same.
#[test]
fn cams_that_keep_the_limits_together_need_no_arm() {
    let right = EXAMPLE.split("[right.wheel]").nth(1).expect("a right side");
    let camber = right.lines().find(|line| line.starts_with("camber")).expect("its camber");
    let tilted =
        example(&[("camber_tolerance = 0.5", "camber_tolerance = 0.75"), (camber, "camber = -1.75")]);
    let tight = example(&[("cross_camber = 0.5", "cross_camber = 0.1")]);
    for (text, drop) in [(tilted, 12.0), (tight, 26.0)] {
        let car = car(&text);
        let (stance, specs) = (stance(&car, drop), specs(&car));
        let verdict = cams(&car, &stance, &specs).expect("within travel");
        assert!(verdict.succeeds() && verdict.axle.within_limits, "{:?}", verdict.axle);
        let none = Fitting { arms: Some(Vec::new()), keep_cams: false, ..Fitting::default() };
        let planned = plan(&car, &stance, &specs, &none).expect("within travel");
        assert!(planned.succeeds());
        assert!((planned.axle.cross_camber_deg - verdict.axle.cross_camber_deg).abs() < 1e-9);
        let choice = choose_arms(&car, &stance, &specs, false).expect("within travel");
        assert_eq!(choice.least, Some(0), "nothing has to be bought");
    }
}

/// Pairs of steps under tight limits: some of them keep everything.
#[test]
fn pairs_of_steps_are_found_under_tight_limits() {
    let text = example(&[
        ("camber_tolerance = 0.5", "camber_tolerance = 0.75"),
        ("toe_tolerance = 0.05", "toe_tolerance = 0.25"),
        ("cross_camber = 0.5", "cross_camber = 0.03"),
        ("thrust_angle = 0.25", "thrust_angle = 0.02"),
    ]);
    let car = car(&text);
    let answer = plan(&car, &stance(&car, 38.0), &specs(&car), &Fitting::default()).expect("within travel");
    assert!(answer.succeeds(), "{:?}", answer.axle);
    assert!(answer.axle.cross_camber_deg.abs() <= 0.03 && answer.axle.thrust_angle_deg.abs() <= 0.02);
}

/// `arms` and `cams` show the same settings of the same cams, in reach or not.
#[test]
fn the_stock_cams_have_one_best() {
    let car = car(EXAMPLE);
    for drop in [10.0, 20.0, 30.0, 40.0, 50.0] {
        let (stance, specs) = (stance(&car, drop), specs(&car));
        let verdict = cams(&car, &stance, &specs).expect("within travel");
        let choice = choose_arms(&car, &stance, &specs, false).expect("within travel");
        for (side, set) in verdict.sides.iter().zip(&choice.sets[0].sides) {
            assert_eq!(side.best, set.best);
            assert_eq!(side.cams, set.cams);
        }
    }
}

/// A cam on a lower link helps: the example with one of 5 mm on its lower rear link goes further down before its cams run out.
#[test]
fn a_cam_on_a_lower_link_acts_by_what_it_does() {
    let run_out = |text: &str| {
        let car = car(text);
        let verdict = cams(&car, &stance(&car, 20.0), &specs(&car)).expect("within travel");
        verdict.sides.map(|side| side.run_out_drop_mm.expect("they run out"))
    };
    let cam = "[link.cam]\neccentricity = 5.0\nalong = [0.0, 1.0, 0.0]\n";
    let start = EXAMPLE.find("name = \"lower rear\"").expect("a lower rear link");
    let end = start + EXAMPLE[start..].find("\n\n").expect("another table");
    let more = format!("{}\n{cam}{}", &EXAMPLE[..end], &EXAMPLE[end..]);
    let used = more.replacen("name = \"lower rear\"", "name = \"lower rear\"\nsets = \"camber\"", 1);
    let [plain, unnamed, named] = [EXAMPLE, &more, &used].map(run_out);
    let alike = unnamed.iter().zip(named).all(|(a, b)| (a - b).abs() < 1e-6);
    assert!(alike, "a cam acts by what it does, not by what its link is used for: {unnamed:?} {named:?}");
    assert!(unnamed.iter().zip(plain).all(|(more, less)| *more > less + 10.0), "{unnamed:?} {plain:?}");
}

/// The commands that show cams tell of every cam of a car.
#[test]
fn every_cam_is_told_on_every_page() {
    let start = EXAMPLE.find("name = \"lower rear\"").expect("a lower rear link");
    let end = start + EXAMPLE[start..].find("\n\n").expect("another table");
    let cam = "[link.cam]\neccentricity = 5.0\nalong = [0.0, 1.0, 0.0]\nsetting = 20.0\n";
    let profile = TempFile::new(format!("{}\n{cam}{}", &EXAMPLE[..end], &EXAMPLE[end..]));
    for command in ["cams", "arms", "plan", "sheet", "shop"] {
        let page = rodset(&[command, profile.path(), "--drop", "40"]).stdout;
        for name in ["upper", "toe", "lower rear"] {
            let told = page.lines().any(|line| line.contains(name) && line.contains("cam"))
                || page.contains(&format!("{name} cam"))
                || command == "cams" && page.contains(name);
            assert!(told, "{command} does not tell of the cam at {name}:\n{page}");
        }
    }
}
