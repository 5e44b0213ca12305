//! The schemas: those of the files against the shapes that are read, against every example and every mistake of shape;
//! those of the answers against what the commands really print.

use jsonschema::Validator;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::command::rodset;
use crate::findings;

/// Findings that are a matter of shape: which keys there are, and what kind of value each takes. The others ask for what
/// the numbers mean, which no schema can say.
const OF_SHAPE: &[&str] = &[
    "format_missing",
    "format_unknown",
    "key_missing",
    "key_unknown",
    "key_unknown_in_link",
    "point_of_two",
    "point_of_four",
    "four_links",
    "six_links",
    "name_missing",
    "name_empty",
    "toe_and_total_toe",
    "spec_incomplete",
    "threads_three",
    "marks_none",
    "override_without_name",
    "overrides_of_six",
    "joints_of_three",
    "joint_unknown",
    "keepout_shape_unknown",
    "keepout_without_points",
    "keepout_of_another_shape",
    "tyre_without_a_diameter",
    "driveshaft_without_an_outer_joint",
    "bolt_threads_of_soap",
    "bolt_of_no_face",
];

fn root(path: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn schema(args: &[&str]) -> Value {
    rodset(&[&["schema"], args].concat()).json()
}

fn validator(schema: &Value) -> Validator {
    assert!(jsonschema::meta::is_valid(schema), "{schema}");
    jsonschema::validator_for(schema).expect("a schema")
}

/// TOML as an editor's checker sees it; a date is a text.
fn toml(text: &str) -> Option<Value> {
    fn json(value: toml::Value) -> Value {
        match value {
            toml::Value::Datetime(date) => Value::from(date.to_string()),
            toml::Value::Array(list) => list.into_iter().map(json).collect(),
            toml::Value::Table(table) => {
                Value::Object(table.into_iter().map(|(key, value)| (key, json(value))).collect())
            }
            other => serde_json::to_value(other).expect("plain values"),
        }
    }
    toml::from_str(text).ok().map(json)
}

fn refused(validator: &Validator, value: &Value) -> Vec<String> {
    validator.iter_errors(value).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

#[test]
fn examples_and_starters_go_with_their_schema() {
    let mut count = 0;
    for (name, folder) in
        [("profile", "examples"), ("survey", "examples/surveys"), ("record", "examples/records")]
    {
        let validator = validator(&schema(&[name]));
        for entry in fs::read_dir(root(folder)).expect("the examples") {
            let path = entry.expect("an entry").path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let text = fs::read_to_string(&path).expect("an example");
                let value = toml(&text).expect("an example is TOML");
                assert_eq!(refused(&validator, &value), [""; 0], "{}", path.display());
                count += 1;
            }
        }
    }
    assert!(count >= 5);
    let filled = |text: &str| {
        text.lines()
            .map(|line| line.strip_prefix("#= ").unwrap_or(line).to_owned() + "\n")
            .collect::<String>()
    };
    for (name, starter) in [
        ("profile", "data/starter.toml"),
        ("profile", "data/interview.toml"),
        ("survey", "data/starter-survey.toml"),
        ("record", "data/starter-record.toml"),
    ] {
        let value = toml(&filled(&fs::read_to_string(root(starter)).expect("the starter"))).expect("TOML");
        assert_eq!(refused(&validator(&schema(&[name])), &value), [""; 0], "{starter}");
    }
}

/// Each mistake of shape is refused by the schema, and nothing that rodset itself reads.
#[test]
fn mistakes_of_shape_are_refused() {
    let validator = validator(&schema(&["profile"]));
    let mut refusals = BTreeSet::new();
    for (name, text) in findings::texts() {
        // What is not TOML has no shape.
        let Some(value) = toml(&text) else { continue };
        if !refused(&validator, &value).is_empty() {
            assert!(rodset::profile::read(&text).is_err(), "{name} is only odd, but the schema refuses it");
            refusals.insert(name);
        }
    }
    let wanted: BTreeSet<&str> = OF_SHAPE.iter().copied().collect();
    let missed: Vec<_> = wanted.difference(&refusals).collect();
    assert!(missed.is_empty(), "not refused: {missed:?}");
}

/// The shapes that serde reads, from their source: struct by struct its keys, in order.
fn shapes(source: &str) -> BTreeMap<String, Vec<String>> {
    let text = fs::read_to_string(root(source)).expect("the source");
    let mut shapes = BTreeMap::new();
    for part in text.split("\npub(super) struct ").skip(1) {
        let (name, rest) = part.split_once(" {\n").expect("a struct with fields");
        let body = rest.split("\n}").next().unwrap_or("");
        let mut fields = Vec::new();
        let mut renamed = None;
        for line in body.lines().map(str::trim) {
            if let Some(field) = line.strip_prefix("pub(super) ") {
                let own = field.split(':').next().unwrap_or(field);
                fields.push(renamed.take().unwrap_or(own).to_owned());
            } else if let Some(name) = line.strip_prefix("#[serde(rename = \"") {
                renamed = name.split('"').next();
            }
        }
        shapes.insert(name.to_owned(), fields);
    }
    shapes
}

/// A key that is read and not in the schema would be marked as a mistake by every editor; one that is not read any more
/// would be offered.
#[test]
fn the_schemas_have_the_keys_that_are_read() {
    for (name, source, whole) in [
        ("profile", "src/profile/schema.rs", "Profile"),
        ("survey", "src/profile/schema.rs", "Profile"),
        ("record", "src/profile/record/schema.rs", "Record"),
    ] {
        let schema = schema(&[name]);
        let shapes = shapes(source);
        assert!(shapes.len() > 5, "{source}");
        for (shape, keys) in shapes {
            let described = if shape == whole { &schema } else { &schema["$defs"][&shape] };
            let properties =
                described["properties"].as_object().unwrap_or_else(|| panic!("{name}: no {shape}"));
            let there: BTreeSet<&str> = properties.keys().map(String::as_str).collect();
            let read: BTreeSet<&str> = keys.iter().map(String::as_str).collect();
            assert_eq!(there, read, "{name}: {shape}");
            assert_eq!(described["additionalProperties"], false, "{name}: {shape}");
        }
    }
}

/// Closes every object of a schema against keys that it does not name.
fn closed(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            map.values_mut().for_each(closed);
            if map.get("type").is_some_and(|kind| kind == "object")
                && map.contains_key("properties")
                && !map.contains_key("$ref")
            {
                map.insert("unevaluatedProperties".to_owned(), Value::Bool(false));
            }
        }
        Value::Array(list) => list.iter_mut().for_each(closed),
        _ => {}
    }
}

/// What each command prints is what its schema says, no key more; and a key less or a text for a number is refused.
#[test]
fn answers_go_with_their_schema() {
    const CAR: &str = "examples/tansy-wharf.toml";
    for line in [
        "survey examples/surveys/tansy-wharf.toml".to_owned(),
        format!("fit {CAR} examples/records/tansy-wharf-heights.toml --drop 40"),
        format!("fit {CAR} examples/records/tansy-wharf-heights.toml"),
        format!("check {CAR}"),
        format!("lower {CAR} --drop 40"),
        format!("lower {CAR} --drop 40 --samples 100"),
        format!("cams {CAR} --drop 40"),
        "cams examples/sedge-mill.toml --drop 20 --samples 100".to_owned(),
        format!("arms {CAR} --drop 40"),
        "arms examples/sedge-mill.toml --drop 45".to_owned(),
        format!("plan {CAR} --drop 40 --samples 100"),
        format!("plan {CAR} --drop 40 --fit upper,toe,traction"),
        format!("readings {CAR} examples/records/tansy-wharf.toml"),
        format!("sheet {CAR} --drop 40"),
        format!("correct {CAR} --drop 40 --left=-1.25,0.2"),
        format!("correct {CAR} --record tests/records/wrong-way.toml"),
        format!("clearance {CAR} --drop 40"),
        format!("joints {CAR} --drop 40"),
        "joints examples/sedge-mill.toml --drop 40 --fit toe".to_owned(),
        format!("springs {CAR} --drop 40"),
        format!("loads {CAR} --drop 40"),
        "loads examples/sedge-mill.toml --drop 20".to_owned(),
        format!("bolts {CAR} --drop 40"),
        "bolts examples/sedge-mill.toml --drop 20".to_owned(),
        format!("lockout {CAR} --cam upper=30"),
        format!("shop {CAR} --drop 40"),
        "spec toe 0°05'..0°15' --each".to_owned(),
        format!("travel {CAR} --drop 40"),
        format!("tune {CAR} --drop 40"),
        format!("set {CAR} wheel.camber=-1.2 --remove spec.thrust_angle --dry-run"),
        format!("lower {CAR} --drop 40 --explain camber"),
        format!("plan {CAR} --drop 40 --explain /sides/0/arms/0/set_mm"),
        format!("bolts {CAR} --explain upper.margin"),
    ] {
        let args: Vec<&str> = line.split_whitespace().chain(["--format", "json"]).collect();
        let answered = if args.contains(&"--explain") { "explain" } else { args[0] };
        let mut schema = schema(&["--answer", answered]);
        closed(&mut schema);
        let validator = validator(&schema);
        let answer = rodset(&args).json();
        assert_eq!(refused(&validator, &answer), [""; 0], "{line}");
        let first = answer.as_object().and_then(|map| map.keys().next()).expect("a key").clone();
        let mut more = answer.clone();
        more["nobody knows"] = Value::from(1);
        let mut other = answer;
        other[&first] = Value::from("a text");
        assert!(!validator.is_valid(&more), "{line}: a key more");
        assert!(!validator.is_valid(&other) || answered == "check", "{line}: another kind of {first}");
    }
}
