//! Every answer against an independent solver on random layouts: `reference.py` in this folder, see its README.

mod adjusters;
mod axles;
mod forces;
mod survey;

use serde_json::Value;

use crate::command::{TempFile, rodset};

/// The difference that is allowed, degrees and turns.
const DEGREES: f64 = 1e-7;
/// The difference that is allowed, mm.
const MILLIMETRES: f64 = 1e-6;
/// The reference prints whole-step readings with this precision, degrees.
const PRINTED: f64 = 1e-7;

/// Cars with one adjuster for a figure, as most have.
const RANDOM: &str = include_str!("cases.jsonl");

struct Case {
    id: String,
    command: String,
    expect: Value,
    answer: Value,
    exit: i32,
    wanted_exit: Option<i64>,
}

/// The cases of one command in a file, with the answers of the program.
fn cases(file: &str, command: &str) -> Vec<Case> {
    let cases: Vec<Case> = file
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).expect("a line of JSON"))
        .filter(|case| case["command"] == command)
        .map(|case| {
            let profile = TempFile::new(case["profile"].as_str().expect("a profile"));
            let args =
                case["args"].as_array().expect("arguments").iter().map(|arg| arg.as_str().expect("text"));
            let args: Vec<&str> =
                [command, profile.path()].into_iter().chain(args).chain(["--format", "json"]).collect();
            let run = rodset(&args);
            Case {
                id: case["id"].as_str().expect("a name").to_owned(),
                command: args.join(" "),
                expect: case["expect"].clone(),
                answer: run.json(),
                exit: run.status,
                wanted_exit: case["exit"].as_i64(),
            }
        })
        .collect();
    assert!(cases.len() >= 60, "only {} cases of {command}", cases.len());
    cases
}

/// How many numbers were compared, and the largest differences, degrees (and turns) and mm.
#[derive(Default)]
struct Account {
    numbers: usize,
    degrees: f64,
    millimetres: f64,
}

impl Account {
    fn close(&self, command: &str, cases: usize) {
        let Self { numbers, degrees, millimetres } = self;
        println!(
            "{command}: {cases} cases, {numbers} numbers, at most {degrees:.1e} degree and {millimetres:.1e} mm apart"
        );
        assert!(*numbers > 10 * cases, "{command}: hardly anything was compared");
    }
}

/// Compares everything the reference expects with the answer; lists of links are matched by name.
fn compare(account: &mut Account, case: &Case, path: &str, expect: &Value, answer: &Value) {
    let Case { id, command, .. } = case;
    match expect {
        Value::Object(keys) => {
            for (key, expect) in keys.iter().filter(|(key, _)| *key != "rounded") {
                let answer = answer
                    .get(key)
                    .unwrap_or_else(|| panic!("{id}: no key {path}.{key} in the answer ({command})"));
                compare(account, case, &format!("{path}.{key}"), expect, answer);
            }
        }
        Value::Array(items) => {
            let answers = answer.as_array().unwrap_or_else(|| panic!("{id}: {path} is no list"));
            assert_eq!(items.len(), answers.len(), "{id}: length of {path} ({command})");
            for (i, expect) in items.iter().enumerate() {
                let named = expect.get("link").map(|name| {
                    let found = answers.iter().find(|answer| answer["link"] == *name);
                    found.unwrap_or_else(|| panic!("{id}: {path} has no {name}"))
                });
                compare(account, case, &format!("{path}[{i}]"), expect, named.unwrap_or(&answers[i]));
            }
        }
        Value::Number(number) => {
            let (expect, answer) = (number.as_f64().expect("a number"), answer.as_f64().unwrap_or(f64::NAN));
            let off = (expect - answer).abs();
            let (allowed, largest) = if path.contains("_mm") {
                (MILLIMETRES, &mut account.millimetres)
            } else {
                (DEGREES, &mut account.degrees)
            };
            *largest = largest.max(off);
            account.numbers += 1;
            assert!(
                off <= allowed,
                "{id}: {path} is {answer}, expected {expect}, off by {off:.1e} ({command})"
            );
        }
        other => assert_eq!(other, answer, "{id}: {path} ({command})"),
    }
}

fn exit_agrees(case: &Case) {
    if let Some(wanted) = case.wanted_exit {
        assert_eq!(i64::from(case.exit), wanted, "{}: exit status ({})", case.id, case.command);
    }
}

#[test]
fn lowering_agrees() {
    let (cases, mut account) = (cases(RANDOM, "lower"), Account::default());
    for case in &cases {
        compare(&mut account, case, "", &case.expect, &case.answer);
        exit_agrees(case);
    }
    account.close("lower", cases.len());
}

#[test]
fn plans_agree_and_no_other_steps_are_nearer_the_spec() {
    let (cases, mut account) = (cases(RANDOM, "plan"), Account::default());
    for case in &cases {
        compare(&mut account, case, "", &case.expect, &case.answer);
        exit_agrees(case);
        for (expect, answer) in sides(&case.expect).zip(sides(&case.answer)) {
            if let Some(rows) = expect["rounded"]["rows"].as_array() {
                rounding_agrees(case, expect, answer, rows);
            }
        }
    }
    account.close("plan", cases.len());
}

/// The reading at the chosen steps is the reference's, and none of the reference's other steps is nearer the spec.
fn rounding_agrees(case: &Case, expect: &Value, answer: &Value, rows: &[Value]) {
    let id = &case.id;
    let number = |value: &Value| value.as_f64().expect("a number");
    let links = expect["rounded"]["links"].as_array().expect("names");
    let arm = |name: &Value| {
        let arms = answer["arms"].as_array().expect("arms");
        arms.iter().find(|arm| arm["link"] == *name).unwrap_or_else(|| panic!("{id}: no arm {name}"))
    };
    let steps: Vec<f64> =
        links.iter().map(|name| number(&arm(name)["turns"]) / number(&arm(name)["step_turns"])).collect();
    for (name, steps) in links.iter().zip(&steps) {
        assert!((steps - steps.round()).abs() < 1e-9, "{id}: {name} is not at a whole step: {steps}");
        let (set, stock) = (number(&arm(name)["set_mm"]), number(&arm(name)["stock_mm"]));
        let turned = stock + number(&arm(name)["turns"]) * number(&arm(name)["lead_mm"]);
        assert!((set - turned).abs() < 1e-9, "{id}: {name} is set to {set}, its turns give {turned}");
    }
    let spec = &answer["spec"];
    let miss = |camber: f64, toe: f64| {
        let camber = (camber - number(&spec["camber_deg"])) / number(&spec["camber_tolerance_deg"]);
        let toe = (toe - number(&spec["toe_deg"])) / number(&spec["toe_tolerance_deg"]);
        camber.hypot(toe)
    };
    let figures = |row: &Value| (number(&row[links.len()]), number(&row[links.len() + 1]));
    let result = ["camber_deg", "toe_deg"].map(|figure| number(&answer["result"][figure]));
    // Steps so coarse that the best of them lies beyond the table have only to beat all of it.
    if let Some(row) =
        rows.iter().find(|row| (0..steps.len()).all(|i| (number(&row[i]) - steps[i]).abs() < 1e-6))
    {
        let (camber, toe) = figures(row);
        for (expect, answer) in [camber, toe].into_iter().zip(result) {
            assert!(
                (expect - answer).abs() < PRINTED,
                "{id}: reads {result:?} at whole steps, expected {row}"
            );
        }
    }
    // Where the exact lengths meet the spec, the nearest by the sum of squares; else none may be nearer in both figures.
    let met = miss(number(&answer["exact"]["camber_deg"]), number(&answer["exact"]["toe_deg"])) < 1e-9;
    for row in rows {
        let (camber, toe) = figures(row);
        let nearer = if met {
            miss(camber, toe) < miss(result[0], result[1]) - 1e-6
        } else {
            let [target_camber, target_toe] = ["camber_deg", "toe_deg"].map(|figure| number(&spec[figure]));
            (camber - target_camber).abs() < (result[0] - target_camber).abs() - 1e-9
                && (toe - target_toe).abs() < (result[1] - target_toe).abs() - 1e-9
        };
        assert!(!nearer, "{id}: {row} is nearer the spec than {steps:?}, {result:?} ({})", case.command);
    }
}

#[test]
fn cams_agree() {
    let (mut cases, mut account) = (cases(RANDOM, "cams"), Account::default());
    for case in &mut cases {
        // Where the cams that aim at the target miss the tolerance but others in reach do not, the program shows those;
        // the reference shows the ones that aim.
        for (expect, answer) in sides_mut(&mut case.expect).zip(sides(&case.answer)) {
            let off = |figure: &str| {
                let target = answer["spec"][format!("{figure}_deg")].as_f64().expect("a target");
                let tolerance =
                    answer["spec"][format!("{figure}_tolerance_deg")].as_f64().expect("a tolerance");
                (expect["best"][format!("{figure}_deg")].as_f64().expect("a reading") - target).abs()
                    > tolerance
            };
            if expect["within_spec"] == true && (off("camber") || off("toe")) {
                assert_eq!(answer["best"]["within_spec"], true);
                let keys = expect.as_object_mut().expect("a side");
                keys.remove("best");
                keys.remove("cams");
            }
        }
        compare(&mut account, case, "", &case.expect, &case.answer);
        exit_agrees(case);
    }
    account.close("cams", cases.len());
}

fn sides(answer: &Value) -> std::slice::Iter<'_, Value> {
    answer["sides"].as_array().expect("two sides").iter()
}

fn sides_mut(answer: &mut Value) -> std::slice::IterMut<'_, Value> {
    answer["sides"].as_array_mut().expect("two sides").iter_mut()
}
