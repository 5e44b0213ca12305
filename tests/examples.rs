//! The programs in `examples/`, as somebody would write who uses the library: each runs and says what the commands say.

#[path = "../examples/fit_readings.rs"]
#[allow(dead_code, reason = "it has a main of its own")]
mod fit_readings;
#[path = "../examples/plan_a_car.rs"]
#[allow(dead_code, reason = "it has a main of its own")]
mod plan_a_car;
#[path = "../examples/sweep_drops.rs"]
#[allow(dead_code, reason = "it has a main of its own")]
mod sweep_drops;

use crate::command::rodset;

const CAR: &str = "examples/tansy-wharf.toml";

#[test]
fn a_car_is_planned() {
    let page = plan_a_car::page(CAR, 40.0).expect("a plan");
    assert!(page.contains("  upper: +1.92 turns, then 247.2 mm long\n"), "{page}");
    assert!(page.contains("right: camber -2.32, toe +0.14 degrees when only lowered\n"), "{page}");
    let missing = plan_a_car::page("nowhere.toml", 40.0).expect_err("no file");
    assert!(!missing.to_string().is_empty());
    let wrong = plan_a_car::page("examples/records/tansy-wharf.toml", 40.0).expect_err("no car");
    assert!(wrong.to_string().contains("there is no key"), "{wrong}");
}

#[test]
fn a_hundred_drops_are_swept() {
    let table = sweep_drops::table(CAR, 100).expect("within travel");
    assert_eq!(table.lines().count(), 101);
    let line = table.lines().find(|line| line.starts_with("40.0,")).expect("40 mm");
    let answer = rodset(&["lower", CAR, "--drop", "40", "--format", "json"]).json();
    let reading = &answer["sides"][0]["lowered"];
    let told =
        ["camber_deg", "toe_deg"].map(|key| format!("{:.4}", reading[key].as_f64().expect("a number")));
    assert_eq!(line, format!("40.0,{},{}", told[0], told[1]));
}

#[test]
fn readings_are_fitted() {
    let page = fit_readings::page(CAR, "examples/records/tansy-wharf-heights.toml").expect("a fit");
    assert!(page.contains("toe 40 mm lower: +0.18 +/- 0.31, now +0.26 +/- 0.06\n"), "{page}");
    assert!(page.lines().count() > 8, "{page}");
}
