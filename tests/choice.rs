//! Which arms to buy: the sets against `cams`, `plan` and plain solves, and the order of the trade.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, Hand, Setup, Stance};
use rodset::geometry::Figure;
use rodset::plan::{ArmChoice, Fitting, Reading, cams, choose_arms, forward, plan};
use rodset::profile;

use crate::layout::{config, layouts};

fn choose(car: &Car, drop: f64) -> Option<ArmChoice> {
    let stance = Stance::new(car, [drop, drop], None).expect("no front drop");
    let specs = car.sides.each(|side| side.spec.expect("a spec"));
    choose_arms(car, &stance, &specs, false).ok()
}

proptest! {
    #![proptest_config(config(40))]

    /// Without arms the answer is that of `cams`; with both it has the lengths of `plan`; more arms never do less.
    #[test]
    fn the_sets_are_what_the_other_commands_say(layout in layouts(), drop in 0.0..60.0) {
        let car = layout.car();
        let Some(choice) = choose(&car, drop) else { return Err(TestCaseError::reject("no position")) };
        let stance = Stance::new(&car, [drop, drop], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        let figures: Vec<usize> = choice.sets.iter().map(|set| set.figures.len()).collect();
        prop_assert_eq!(figures, [0, 1, 1, 2, 3]);

        let by_cams = cams(&car, &stance, &specs).expect("it was found above");
        for (side, cams) in choice.sets[0].sides.iter().zip(&by_cams.sides) {
            prop_assert_eq!(side.best, cams.best);
            prop_assert_eq!(side.run_out_drop_mm, cams.run_out_drop_mm);
        }
        let planned = plan(&car, &stance, &specs, &Fitting::default()).expect("it was found above");
        for (side, planned) in choice.sets[3].sides.iter().zip(&planned.sides) {
            prop_assume!(planned.exact.within_spec);
            for (arm, set) in side.arms.iter().zip(&planned.arms) {
                prop_assert_eq!(&arm.link, &set.link);
                assert_relative_eq!(arm.length_mm, set.exact_mm, epsilon = 1e-9);
            }
        }
        let within = |i: usize| choice.sets[i].within_spec;
        prop_assert!(within(3) || !(within(1) || within(2)), "an arm more is no hindrance");
        if let Some(least) = choice.least {
            prop_assert!(choice.sets[..least].iter().all(|set| !set.succeeds()));
            prop_assert!(choice.sets[least].succeeds());
        }
    }

    /// The lengths and settings of every set, put into the car by hand, give its readings; its bump steer is the slope of
    /// toe, and no toe nearby is outside what it says.
    #[test]
    fn every_set_reads_what_it_says(layout in layouts(), drop in 0.0..60.0) {
        let car = layout.car();
        let Some(choice) = choose(&car, drop) else { return Err(TestCaseError::reject("no position")) };
        let ground = rodset::geometry::Ground::level();
        for set in &choice.sets {
            for (side, answer) in car.sides.iter().zip(&set.sides) {
                let link = |name: &str| side.links.iter().position(|link| link.name == name).expect("a link");
                let mut setup = Setup::as_found(side);
                for arm in &answer.arms {
                    setup.pivots[link(&arm.link)] = side.links[link(&arm.link)].pivot(0.0);
                    setup.lengths[link(&arm.link)] = arm.length_mm;
                }
                for cam in &answer.cams {
                    setup.pivots[link(&cam.link)] = side.links[link(&cam.link)].pivot(cam.shift_mm);
                }
                let toe = |rise: f64| {
                    let position = forward(side, &setup, drop + rise).ok()?;
                    Some(Reading::of(side, &position.pose, &ground).toe_deg)
                };
                let there = forward(side, &setup, drop).expect("the set says so");
                let reading = Reading::of(side, &there.pose, &ground);
                assert_relative_eq!(reading.camber_deg, answer.best.reading.camber_deg, epsilon = 1e-8);
                assert_relative_eq!(reading.toe_deg, answer.best.reading.toe_deg, epsilon = 1e-8);
                let steer = answer.bump_steer;
                if let (Some(high), Some(low)) = (toe(1e-3), toe(-1e-3)) {
                    assert_relative_eq!(steer.gradient_deg_per_100_mm, (high - low) / 2e-3 * 100.0, epsilon = 1e-4);
                }
                for rise in [-30.0, -22.2, -11.0, -3.3, 0.0, 4.1, 17.0, 29.9, 30.0] {
                    if let Some(toe) = toe(rise) {
                        prop_assert!(steer.toe_least_deg <= toe + 1e-9 && toe <= steer.toe_most_deg + 1e-9);
                    }
                }
            }
        }
    }
}

/// A set runs out where it says: a little less drop still does, a little more does not.
#[test]
fn a_set_runs_out_where_it_says() {
    for text in [include_str!("../examples/tansy-wharf.toml"), include_str!("../examples/sedge-mill.toml")] {
        let car = profile::read(text).expect("the example is sound").car;
        let choice = choose(&car, 30.0).expect("within travel");
        let mut looked = 0;
        for (i, set) in choice.sets.iter().enumerate() {
            for (j, side) in set.sides.iter().enumerate() {
                let Some(end) = side.run_out_drop_mm.filter(|end| *end > 1.0) else { continue };
                let holds = |drop: f64| {
                    choose(&car, drop).expect("within travel").sets[i].sides[Hand::BOTH[j]].best.within_spec
                };
                assert!(holds(end - 0.01) && !holds(end + 0.01), "set {i}, side {j}, {end}");
                looked += 1;
            }
        }
        assert!(looked >= 4);
    }
}

/// Past the run-out no point of a grid over both slots is within spec; then each cam stands at its end with its figure missed, or
/// meets its figure exactly, as `cams` says too.
#[test]
fn past_its_reach_a_set_stays_at_its_ends() {
    const GRID: i32 = 60;
    let text = include_str!("../examples/sedge-mill.toml");
    let car = profile::read(text).expect("the example is sound").car;
    let side = &car.sides.left;
    let spec = side.spec.expect("a spec");
    let used = |i: &usize| matches!(side.links[*i].sets, Some(Figure::Camber | Figure::Toe));
    let links: Vec<usize> = (0..5).filter(|i| side.links[*i].cam.is_some()).filter(used).collect();
    assert_eq!(links.len(), 2, "this car sets both by cams");
    let stock = |drop: f64| choose(&car, drop).expect("within travel").sets[0].clone();
    let end = stock(30.0).sides.left.run_out_drop_mm.expect("it runs out");
    assert!(stock(end - 1e-6).sides.left.best.within_spec);
    for past in [1e-6, 0.01, 0.5, 4.0] {
        let drop = end + past;
        let set = stock(drop);
        let answer = &set.sides.left;
        assert!(!answer.best.within_spec, "{past}");
        let stance = Stance::new(&car, [drop; 2], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        let by_cams = cams(&car, &stance, &specs).expect("within travel");
        assert_eq!((answer.best, &answer.cams), (by_cams.sides.left.best, &by_cams.sides.left.cams));
        for cam in &answer.cams {
            let Reading { camber_deg, toe_deg, .. } = answer.best.reading;
            let read = if cam.sets == Figure::Camber { camber_deg } else { toe_deg };
            let miss = spec.miss(cam.sets, read.to_radians());
            let at_end = cam.reserve_mm < 1e-9;
            assert_eq!(cam.in_reach, miss.abs() < 1e-6, "{past}: {cam:?} misses by {miss}");
            assert!(cam.in_reach || at_end, "{past}: {cam:?}");
        }
        let mut reached = 0;
        for (a, b) in (-GRID..=GRID).flat_map(|a| (-GRID..=GRID).map(move |b| (a, b))) {
            let mut setup = Setup::as_found(side);
            for (&link, step) in links.iter().zip([a, b]) {
                let throw = side.links[link].cam.expect("a cam").eccentricity;
                setup.pivots[link] = side.links[link].pivot(throw * f64::from(step) / f64::from(GRID));
            }
            let Ok(position) = forward(side, &setup, drop) else { continue };
            let level = rodset::geometry::Ground::level();
            let figures = [Figure::Camber, Figure::Toe];
            let [camber, toe] = figures.map(|figure| figure.value(&position.pose, &side.wheel, &level));
            assert!(!spec.holds(camber, toe), "{past}: {a} {b}");
            reached += 1;
        }
        assert!(reached > GRID * GRID, "{past}: {reached} settings have a position");
    }
}

/// Where camber's arm or toe's would do alone, camber's is chosen: common practice, no source.
#[test]
fn camber_comes_before_toe() {
    let text = include_str!("../examples/sedge-mill.toml");
    let car = profile::read(text).expect("the example is sound").car;
    // At 45 mm it is the toe cam that has run out, so here the toe arm is the least set although camber comes first.
    let choice = choose(&car, 45.0).expect("within travel");
    assert_eq!(choice.sets[choice.least.expect("one does")].figures, [Figure::Toe]);
    // With cams wide enough for either figure, nothing is bought; with none at all, both arms are.
    let wide = profile::read(&text.replace("\"3 mm\"", "\"9 mm\"")).expect("sound").car;
    assert_eq!(choose(&wide, 45.0).expect("within travel").least, Some(0));
    let bare: String = text
        .split("[link.cam]")
        .enumerate()
        .map(|(i, part)| {
            if i == 0 {
                part.to_owned()
            } else {
                part.split_once("[link.arm]").map_or(String::new(), |(_, arm)| format!("[link.arm]{arm}"))
            }
        })
        .collect();
    let bare = profile::read(&bare).expect("sound").car;
    let choice = choose(&bare, 45.0).expect("within travel");
    assert_eq!(choice.sets[choice.least.expect("both arms do")].figures, [Figure::Camber, Figure::Toe]);
}

/// A profile without `[link.arm]` still says which lengths are needed, and that nobody looked whether an arm takes them.
#[test]
fn an_arm_that_is_not_in_the_profile_is_taken_at_any_length() {
    let text = include_str!("../examples/tansy-wharf.toml");
    let without: String = text
        .split("[link.arm]")
        .enumerate()
        .map(|(i, part)| {
            if i == 0 {
                part.to_owned()
            } else {
                part.split_once("[[link]]").map_or(String::new(), |(_, rest)| format!("[[link]]{rest}"))
            }
        })
        .collect();
    let (with, without) =
        (profile::read(text).expect("sound").car, profile::read(&without).expect("sound").car);
    let (known, unknown) =
        (choose(&with, 40.0).expect("within travel"), choose(&without, 40.0).expect("within travel"));
    assert_eq!(known.least, unknown.least);
    for (a, b) in known.sets[1].sides.iter().zip(&unknown.sets[1].sides) {
        assert_relative_eq!(a.arms[0].length_mm, b.arms[0].length_mm, epsilon = 1e-9);
        assert_eq!((a.arms[0].in_reach, b.arms[0].in_reach), (Some(true), None));
    }
}
