//! Several adjusters for one figure: which of them an answer turns, how far, and what all of them together can reach.
//!
//! The reference searches all states of the rule and decides what is in reach by linear programmes and dense grids. What the rule
//! leaves open is not in the file; the verdict is.

use serde_json::Value;

use super::{Account, cases, compare, exit_agrees, sides};

const ADJUSTERS: &str = include_str!("adjusters.jsonl");

fn agrees(command: &str, reading: &str) {
    let (cases, mut account) = (cases(ADJUSTERS, command), Account::default());
    for case in &cases {
        compare(&mut account, case, "", &case.expect, &case.answer);
        exit_agrees(case);
        for (side, answer) in sides(&case.expect).zip(sides(&case.answer)) {
            if side["within_spec"] == true || side[reading]["within_spec"] == true {
                keeps_the_spec(&case.id, answer, &answer[reading]);
            }
            no_cam_twice(&case.id, answer);
        }
    }
    account.close(&format!("{command}, several adjusters"), cases.len());
}

/// Where the verdict is that the spec can be kept, the settings that are shown keep it.
fn keeps_the_spec(id: &str, answer: &Value, reading: &Value) {
    for figure in ["camber", "toe"] {
        let number = |of: &Value, key: String| of[&key].as_f64().unwrap_or_else(|| panic!("{id}: no {key}"));
        let off = number(reading, format!("{figure}_deg")) - number(&answer["spec"], format!("{figure}_deg"));
        let tolerance = number(&answer["spec"], format!("{figure}_tolerance_deg"));
        assert!(off.abs() <= tolerance * (1.0 + 1e-9), "{id}: {figure} is {off} off, more than {tolerance}");
    }
}

/// Every cam of a side stands either among those that are turned or among the others.
fn no_cam_twice(id: &str, answer: &Value) {
    let links = |key: &str| -> Vec<String> {
        let cams = answer[key].as_array().unwrap_or_else(|| panic!("{id}: no {key}"));
        cams.iter().map(|cam| cam["link"].as_str().expect("a name").to_owned()).collect()
    };
    let others = links("other_cams");
    assert!(links("cams").iter().all(|cam| !others.contains(cam)), "{id}: a cam is turned and is not");
}

#[test]
fn plans_with_several_adjusters_agree() {
    agrees("plan", "exact");
}

#[test]
fn cams_with_several_adjusters_agree() {
    agrees("cams", "best");
}
