//! One figure explained: every figure can be, what is told of it is what the program answers when it is asked again, and words
//! that name none are refused.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use serde_json::Value;

use crate::command::rodset;

const CAR: &str = "examples/tansy-wharf.toml";
const OTHER: &str = "examples/sedge-mill.toml";
const HEIGHTS: &str = "examples/records/tansy-wharf-heights.toml";

/// A line of every command that takes `--explain`.
fn lines() -> Vec<String> {
    vec![
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
        Value::Object(map) => map.iter().for_each(|(key, value)| places(value, &format!("{at}/{key}"), found)),
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(i, value)| places(value, &format!("{at}/{i}"), found));
        }
        Value::Number(_) => found.push(at.to_owned()),
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
        let every = if ["fit", "travel", "tune", "clearance", "arms"].contains(&split(&line)[0]) { 17 } else { 8 };
        for (kind, at) in kinds.iter().step_by(every) {
            let explained = explained(&line, at);
            let figure = &explained["figures"][0];
            let there = answer.pointer(at).and_then(Value::as_f64).expect("the number");
            assert_eq!(figure["value"].as_f64(), Some(there), "{line}: {at}");
            assert!(explained["meaning"].as_str().is_some_and(|text| text.len() > 5), "{line}: {kind}");
            let how = &figure["how"];
            assert!(how["text"].as_str().is_some_and(|text| text.len() > 20), "{line}: no words on {kind}");
            let numbers = how["numbers"].as_array().expect("numbers");
            assert!(numbers.iter().all(|number| number["value"].is_number()), "{line}: {kind}: {numbers:?}");
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
        walk(&schema, &schema, "", &mut ways);
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
    let is = |name: &str| kind == name || kind.as_array().is_some_and(|kinds| kinds.iter().any(|kind| kind == name));
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
    for (key, property) in schema["properties"].as_object().into_iter().flatten() {
        walk(root, property, &format!("{way}/{key}"), ways);
    }
}
