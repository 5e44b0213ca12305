//! One figure explained: every figure can be, what is told of it is what the program answers when it is asked again, and words
//! that name none are refused.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use serde_json::Value;

use crate::command::{TempFile, rodset};

const CAR: &str = "examples/tansy-wharf.toml";
const OTHER: &str = "examples/sedge-mill.toml";
const HEIGHTS: &str = "examples/records/tansy-wharf-heights.toml";

/// A line of every command that takes `--explain`.
fn lines() -> Vec<String> {
    vec![
        "survey examples/surveys/tansy-wharf.toml".to_owned(),
        "spec toe 2mm+/-1mm --total --diameter 445".to_owned(),
        format!("check {CAR}"),
        format!("lower {CAR} --drop 40"),
        format!("lower {OTHER} --drop-left 45 --drop-right 38 --front-drop 30"),
        format!("cams {CAR} --drop 30"),
        format!("arms {CAR} --drop 40"),
        format!("plan {CAR} --drop 40"),
        format!("plan {CAR} --drop 40 --fit upper,toe,traction --cams keep"),
        format!("sheet {OTHER} --drop 45 --fit toe"),
        format!("shop {CAR} --drop 40"),
        format!("readings {CAR} examples/records/tansy-wharf.toml"),
        format!("fit {CAR} {HEIGHTS} --drop 40"),
        format!("correct {CAR} --record tests/records/wrong-way.toml"),
        format!("clearance {CAR} --drop 40"),
        format!("joints {CAR} --drop 40"),
        format!("springs {CAR} --drop 40"),
        format!("loads {CAR} --drop 40"),
        format!("bolts {CAR}"),
        format!("lockout {CAR} --cam upper=30"),
        format!("travel {CAR} --drop 40 --every 50"),
        format!("tune {CAR} --drop 40 --shown 2"),
    ]
}

fn split(line: &str) -> Vec<&str> {
    line.split_whitespace().collect()
}

fn json(line: &str, more: &[&str]) -> Value {
    rodset(&[&split(line)[..], more, &["--format", "json"]].concat()).json()
}

/// The explanation of one figure.
fn explained(line: &str, words: &str) -> Value {
    json(line, &["--explain", words])
}

/// The places of all numbers.
fn places(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            map.iter().for_each(|(key, value)| places(value, &format!("{at}/{key}"), found));
        }
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(i, value)| places(value, &format!("{at}/{i}"), found));
        }
        // The format is of the answer, not in it.
        Value::Number(_) if at != "/format" => found.push(at.to_owned()),
        _ => {}
    }
}

/// A place without its places in lists.
fn way(at: &str) -> String {
    at.split('/').filter(|step| step.parse::<usize>().is_err()).collect::<Vec<_>>().join("/")
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} in {value}"))
}

/// One figure of each kind, of every command: it is the number of the answer, it has a meaning and words on how it is worked
/// out, every number in those words is there, and what led to it adds up to it.
#[test]
fn every_figure_can_be_explained_and_its_account_adds_up() {
    for line in lines() {
        let answer = json(&line, &[]);
        let mut all = Vec::new();
        places(&answer, "", &mut all);
        let mut kinds = BTreeMap::new();
        for at in all {
            kinds.entry(way(&at)).or_insert(at);
        }
        assert!(kinds.len() > 4, "{line}");
        // The slow ones are asked for some of their figures, always the same.
        let every = if ["fit", "next"].contains(&split(&line)[0]) { 211 } else { 61 };
        for (kind, at) in kinds.iter().step_by(every) {
            let explained = explained(&line, at);
            let figure = &explained["figures"][0];
            let there = answer.pointer(at).and_then(Value::as_f64).expect("the number");
            assert_eq!(figure["value"].as_f64(), Some(there), "{line}: {at}");
            assert!(explained["meaning"].as_str().is_some_and(|text| text.len() > 5), "{line}: {kind}");
            let how = &figure["how"];
            assert!(how["text"].as_str().is_some_and(|text| text.len() > 15), "{line}: no words on {kind}");
            let numbers = how["numbers"].as_array().expect("numbers");
            assert!(numbers.iter().all(|number| number["value"].is_number()), "{line}: {kind}: {numbers:?}");
            let moved = figure["measured"].as_array().expect("what was measured");
            let kept = moved.is_empty() || moved.iter().any(|moved| moved["more"].is_number());
            assert!(kept, "{line}: {at} is not there where it is asked for alone");
            let account = figure["account"].as_array().expect("an account");
            if let Some(last) = account.last() {
                let sum: f64 = account.iter().map(|stage| number(stage, "change")).sum();
                let value = number(figure, "value");
                let near = 1e-9 * value.abs().max(1.0);
                assert!((sum - value).abs() <= near, "{line}: {at}: {sum} for {value}");
                assert_eq!(last["value"].as_f64(), Some(value), "{line}: {at}");
            }
        }
    }
}

/// Every number that an answer may have, by its schema, has words on how it is worked out; and no words are left that are of
/// no number.
#[test]
fn every_number_of_an_answer_has_words_and_every_word_a_number() {
    let text = fs::read_to_string("data/figures.toml").expect("the words");
    let words: toml::Table = text.parse().expect("TOML");
    let patterns: Vec<&str> = (words["how"].as_array().expect("how"))
        .iter()
        .flat_map(|how| how["at"].as_array().expect("at").iter().filter_map(toml::Value::as_str))
        .collect();
    let mut used = BTreeSet::new();
    let mut without = BTreeSet::new();
    for command in lines().iter().map(|line| split(line)[0].to_owned()).collect::<BTreeSet<_>>() {
        let schema = rodset(&["schema", "--answer", &command]).json();
        let mut ways = BTreeSet::new();
        let answer = format!("/{}", schema["title"].as_str().expect("a title"));
        walk(&schema, &schema, &answer, &mut ways);
        for way in ways {
            let fits = patterns.iter().filter(|pattern| way.ends_with(&format!("/{pattern}")));
            match fits.max_by_key(|pattern| pattern.len()) {
                Some(pattern) => drop(used.insert(*pattern)),
                None => drop(without.insert(format!("{command}: {way}"))),
            }
        }
    }
    assert_eq!(without, BTreeSet::new(), "numbers without words");
    let idle: Vec<&&str> = patterns.iter().filter(|pattern| !used.contains(**pattern)).collect();
    assert_eq!(idle, [&""; 0], "words without a number");
}

/// The ways to all numbers that a schema allows.
fn walk(root: &Value, schema: &Value, way: &str, ways: &mut BTreeSet<String>) {
    let kind = &schema["type"];
    let is = |name: &str| {
        kind == name || kind.as_array().is_some_and(|kinds| kinds.iter().any(|kind| kind == name))
    };
    if is("number") || is("integer") {
        ways.insert(way.to_owned());
    }
    if let Some(to) = schema["$ref"].as_str() {
        walk(root, root.pointer(to.trim_start_matches('#')).expect("a definition"), way, ways);
    }
    for choice in ["anyOf", "oneOf", "allOf", "prefixItems"] {
        schema[choice].as_array().into_iter().flatten().for_each(|schema| walk(root, schema, way, ways));
    }
    if schema["items"].is_object() {
        walk(root, &schema["items"], way, ways);
    }
    let keys = schema["properties"].as_object().into_iter().flatten();
    for (key, property) in keys.filter(|(key, _)| *key != "format") {
        walk(root, property, &format!("{way}/{key}"), ways);
    }
}

/// What is told of an error is what the program answers when the error is made: the points in a copy of the profile, the drop,
/// the reading.
#[test]
fn what_moves_a_figure_is_what_the_program_answers_when_it_is_moved() {
    let camber = |answer: &Value| {
        answer.pointer("/sides/0/lowered/camber_deg").and_then(Value::as_f64).expect("camber")
    };
    let line = format!("lower {CAR} --drop 40");
    let now = camber(&json(&line, &[]));
    let told = explained(&line, "camber lowered left");
    let moved = |what: &str| {
        let all = told["figures"][0]["measured"].as_array().expect("what was measured");
        let found = all.iter().find(|moved| moved["what"] == what);
        let found = found.unwrap_or_else(|| panic!("no {what}"));
        [number(found, "more") + now, number(found, "less") + now]
    };
    let near = |told: f64, answered: f64| assert!((told - answered).abs() < 1e-9, "{told} for {answered}");
    for (what, key, more, less) in [
        ("upper subframe pivot higher", "link.upper.subframe.z", "451.0", "447.0"),
        ("upper knuckle pivot further out", "link.upper.knuckle.y", "690.0", "686.0"),
        ("wheel centre further forward", "wheel.centre.x", "2.0", "-2.0"),
        ("camber as read, left", "wheel.camber", "-1.02", "-1.18"),
    ] {
        for (told, value) in moved(what).into_iter().zip([more, less]) {
            let copy = TempFile::new(fs::read_to_string(CAR).expect("the car"));
            assert_eq!(rodset(&["set", copy.path(), &format!("{key}={value}")]).status, 0, "{key}");
            near(told, camber(&json(&format!("lower {} --drop 40", copy.path()), &[])));
        }
    }
    for (told, drops) in moved("drop as it is set, right").into_iter().zip(["42", "38"]) {
        near(told, camber(&json(&format!("lower {CAR} --drop-left 40 --drop-right {drops}"), &[])));
    }
}

/// The same for a number of the profile that is no measured point, and for a setting of the cams.
#[test]
fn what_else_moves_a_figure_is_what_the_program_answers_when_it_is_moved() {
    let line = format!("cams {CAR} --drop 15");
    let told = explained(&line, "upper setting left");
    let figure = &told["figures"][0];
    let settings = figure["settings"].as_array().expect("settings");
    let found =
        settings.iter().find(|setting| setting["key"] == "link.upper.cam.eccentricity").expect("the cam");
    let copy = TempFile::new(fs::read_to_string(CAR).expect("the car"));
    assert_eq!(rodset(&["set", copy.path(), "link.upper.cam.eccentricity=3.03"]).status, 0);
    let answer = json(&format!("cams {} --drop 15", copy.path()), &[]);
    let at = figure["at"].as_str().expect("a place");
    let then = answer.pointer(at).and_then(Value::as_f64).expect("the setting");
    assert!((number(figure, "value") + number(found, "change") - then).abs() < 1e-9);
    // No direction of a bolt and no target is tried a little larger.
    assert!(settings.iter().all(|setting| !setting["key"].as_str().is_some_and(|key| key.contains("along"))));
}

/// The steps that led to a figure are questions that can be asked.
#[test]
fn the_steps_of_an_account_are_answers_of_the_program() {
    let set = |line: &str| {
        let answer = rodset(&[&split(line)[..], &["--format", "json"]].concat()).json();
        answer.pointer("/sides/0/arms/0/set_mm").and_then(Value::as_f64).expect("a length")
    };
    let told = explained(&format!("plan {CAR} --drop 40"), "upper set length left");
    let account = told["figures"][0]["account"].as_array().expect("an account");
    let values: Vec<f64> = account.iter().map(|stage| number(stage, "value")).collect();
    // As measured: aimed at what each wheel read, so the sides are asked for one by one.
    let at_its_own = |drop: &str, cams: &str| {
        set(&format!("plan {CAR} --drop {drop} --camber -1.1 --toe 0.10 --cams {cams}"))
    };
    let asked = [
        at_its_own("0", "keep"),
        at_its_own("0", "centre"),
        at_its_own("40", "centre"),
        set(&format!("plan {CAR} --drop 40")),
    ];
    assert_eq!(values.len(), asked.len(), "{account:?}");
    for (told, asked) in values.iter().zip(asked) {
        assert!((told - asked).abs() < 1e-9, "{told} for {asked}");
    }
}

/// All changes together are the band that the answer has itself, where it has one: here by exact solutions, there by the
/// derivatives of the position.
#[test]
fn what_moves_a_reading_adds_up_to_its_band() {
    for (line, side) in [
        (format!("lower {CAR} --drop 40"), "left"),
        (format!("lower {OTHER} --drop-left 45 --drop-right 38 --front-drop 30"), "right"),
        (format!("lower {CAR} --drop -20"), "right"),
    ] {
        let answer = json(&line, &[]);
        for figure in ["camber", "toe"] {
            let told = explained(&line, &format!("{figure} lowered {side}"));
            let good_to = number(&told["figures"][0], "good_to");
            let place = usize::from(side == "right");
            let band = number(&answer["sides"][place]["band"], &format!("{figure}_deg"));
            assert!((good_to / band - 1.0).abs() < 2e-3, "{line}, {figure} {side}: {good_to} for {band}");
        }
    }
}

/// Things are moved together first, to see whether any does anything. What two of them do may cancel: both ends of a link moved alike
/// leave it as long as it was.
#[test]
fn what_cancels_when_moved_together_is_told() {
    let told = explained(&format!("check {CAR}"), "/links/0/length_mm");
    let all = told["figures"][0]["measured"].as_array().expect("what was measured");
    for end in ["subframe", "knuckle"] {
        for way in ["further out", "higher"] {
            let what = format!("upper {end} pivot {way}");
            let moved = all.iter().find(|moved| moved["what"] == *what).expect("a pivot");
            assert!(number(moved, "more").abs() > 1e-3 && number(moved, "less").abs() > 1e-3, "{what}");
        }
    }
    assert!(number(&told["figures"][0], "good_to") > 1.0);
}

/// Names that are told where words are not clear are names that are.
#[test]
fn names_that_are_told_are_understood() {
    for (line, words) in [
        (format!("plan {CAR} --drop 40"), "set"),
        (format!("arms {CAR} --drop 40"), "upper toe length left"),
        (format!("loads {CAR} --drop 40"), "upper"),
    ] {
        let ask = |words: &str| rodset(&[&split(&line)[..], &["--explain", words]].concat());
        let unclear = ask(words);
        if unclear.status == 0 {
            continue;
        }
        assert_eq!(unclear.status, 2, "{line}: {}", unclear.stderr);
        let names = unclear
            .stderr
            .lines()
            .filter_map(|line| line.strip_prefix("    "))
            .filter(|name| !name.starts_with("and "));
        for name in names.take(1) {
            let asked = ask(name);
            assert_eq!(asked.status, 0, "{line}: {name}: {}", asked.stderr);
        }
    }
}

#[test]
fn words_that_name_nothing_are_refused() {
    let long = "camber ".repeat(3000);
    for words in [
        "",
        "  ",
        "the",
        "cambre",
        "λ💥",
        "/",
        "/sides",
        "/sides/7/drop_mm",
        "-",
        "+",
        "upper traction",
        "\u{0}",
        "1e999",
        long.trim(),
    ] {
        if words.contains('\u{0}') {
            continue;
        }
        let run = rodset(&["lower", CAR, "--drop", "40", &format!("--explain={words}")]);
        assert!(run.status == 2 || words == long.trim(), "{words:?}: {}", run.stderr);
        assert!(!run.stderr.contains("panicked"), "{words:?}");
    }
    let run = rodset(&["lower", CAR, "--drop", "40", "--explain", "cambre"]);
    assert!(run.stderr.contains("did you mean camber?"), "{}", run.stderr);
}

/// A question has no second half: where an explanation is asked for, nothing is kept and nothing written.
#[test]
fn nothing_is_written_where_something_is_only_explained() {
    let text = fs::read_to_string("tests/records/wrong-way.toml").expect("a record");
    let record = TempFile::new(&text);
    let line =
        ["correct", CAR, "--record", record.path(), "--left=-1.2,0.1", "--explain", "upper turns left"];
    assert_eq!(rodset(&line).status, 0);
    assert_eq!(fs::read_to_string(record.path()).expect("the record"), text);
    let fitted = format!("{}.fitted", record.path());
    assert_eq!(rodset(&["fit", CAR, HEIGHTS, "--write", &fitted, "--explain", "unit weight"]).status, 0);
    assert!(!fs::exists(&fitted).expect("a folder"));
}

/// The same for an arm's turns; the plan's band has the matching of the arm to its stock length in it too (0.4 mm where the
/// profile says nothing), which no other figure rests on.
#[test]
fn what_moves_the_turns_of_an_arm_adds_up_to_their_band() {
    const LEAD: f64 = 3.0;
    let line = format!("plan {CAR} --drop 40");
    let arms = json(&line, &[]);
    for (place, link) in ["upper", "toe"].into_iter().enumerate() {
        let told = explained(&line, &format!("exact turns {link} left"));
        let good_to = number(&told["figures"][0], "good_to").hypot(1.96 * 0.4 / LEAD);
        let band = number(&arms["sides"][0]["arms"][place]["band"], "turns");
        assert!((good_to / band - 1.0).abs() < 0.02, "{link}: {good_to} for {band}");
    }
}

/// The readings of a survey move its points as far as its own deviations say, before these were widened; where readings share an error,
/// as all do that a tape or the wheel's mark is in, that comes on top.
#[test]
fn what_moves_a_surveyed_point_adds_up_to_its_deviation() {
    let line = "survey examples/surveys/tansy-wharf.toml";
    let answer = json(line, &[]);
    let widened = number(&answer, "widened");
    let of_readings =
        [((1, 2), 1.0), ((3, 2), 1.0), ((5, 2), 1.0), ((2, 0), 0.92), ((4, 1), 0.78), ((0, 2), 0.61)];
    for ((point, axis), part) in of_readings {
        let sigma = answer
            .pointer(&format!("/points/{point}/sigma_mm/{axis}"))
            .and_then(Value::as_f64)
            .expect("sigma");
        let told = explained(line, &format!("/points/{point}/at_mm/{axis}"));
        let good_to = number(&told["figures"][0], "good_to");
        assert!(
            (good_to * widened / (1.96 * sigma) - part).abs() < 0.05,
            "{point} {axis}: {good_to} for {sigma}"
        );
    }
}

/// People ask in the words of the page: of several figures it is the one with the shortest name; where that is none alone, they
/// are asked which.
#[test]
fn the_words_of_the_pages_are_understood() {
    let plan = format!("plan {CAR} --drop 40");
    let travel = format!("travel {CAR} --drop 40 --every 50");
    for (line, words, at) in [
        (&plan, "upper set length", "/sides/0/arms/0/set_mm"),
        (&plan, "upper turns", "/sides/0/arms/0/turns"),
        (&plan, "thread inside end 1 upper", "/sides/0/arms/0/thread_remaining_mm/0"),
        (&plan, "camber band 95", "/sides/0/band/camber_deg"),
        (&plan, "within spec at once", "/sides/0/probability_within_spec"),
        (&plan, "turns band upper", "/sides/0/arms/0/band/turns"),
        (&plan, "left minus right camber", "/axle/cross_camber_deg"),
        (&travel, "bump steer as found +0", "/sides/0/setups/0/stations/4/toe_gradient_deg_per_100_mm"),
    ] {
        let told = explained(line, words);
        assert_eq!(told["figures"][0]["at"], at, "{words}: {}", told["name"]);
        let sides = told["figures"].as_array().map_or(0, Vec::len);
        let named = ["left", "right"].iter().any(|side| words.contains(side));
        assert_eq!(sides, if named { 1 } else { 2 }, "{words}");
    }
    for words in ["camber", "upper exact", "camber loss"] {
        let run = rodset(&[&split(&plan)[..], &["--explain", words]].concat());
        assert_eq!(run.status, 2, "{words}: {}", run.stdout);
    }
}

/// A figure of which only the way there is worked out is what the whole answer has.
#[test]
fn what_is_asked_alone_is_what_the_whole_answer_has() {
    for (line, words) in [
        (format!("travel {CAR} --drop 40"), "bump steer planned +20"),
        (format!("travel {CAR} --drop 40"), "bump steer as found -20"),
        (format!("tune {CAR} --drop 40"), "pitch +3 longer"),
        (format!("arms {CAR} --drop 40"), "camber best upper + toe"),
        (format!("clearance {CAR} --drop 40"), "least planned upper tower"),
        (format!("springs {CAR} --drop 40"), "motion ratio at drop spring"),
        (format!("lockout {CAR} --drop 40"), "moves"),
    ] {
        let told = explained(&line, words);
        for figure in told["figures"].as_array().expect("figures") {
            // The last step of an account is the question itself, asked for this figure alone.
            let account = figure["account"].as_array().expect("an account");
            let last = account.last().unwrap_or_else(|| panic!("{line}: {words}: no account"));
            assert_eq!(last["value"], figure["value"], "{line}: {words}");
            let answer = json(&line, &[]);
            assert_eq!(
                answer.pointer(figure["at"].as_str().expect("a place")),
                Some(&figure["value"]),
                "{line}"
            );
            let moved = figure["measured"].as_array().expect("what was measured");
            assert!(moved.iter().all(|moved| moved["more"].is_number()), "{line}: {words}: lost when moved");
        }
    }
}
