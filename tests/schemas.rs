//! The schemas: those of the files against the shapes that are read, against every example and every mistake of shape;
//! those of the answers against what the commands really print.

use jsonschema::Validator;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::command::{RECORD_STARTER, STARTER, SURVEY_STARTER, rodset};
use crate::findings;
use rodset::profile::interview_starter;

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
        ("profile", STARTER.as_str()),
        ("profile", &interview_starter("")),
        ("survey", &SURVEY_STARTER),
        ("record", &RECORD_STARTER),
    ] {
        let value = toml(&filled(starter)).expect("TOML");
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

/// Where the tables of a file stand, as an editor meets them: each table, its header, and the name that it has in the schema.
const TABLES: &[(&str, &str, &str)] = &[
    ("profile", "", "Profile"),
    ("profile", "[right]", "Right"),
    ("profile", "[car]", "Car"),
    ("profile", "[wheel]", "Wheel"),
    ("profile", "[ride]", "Ride"),
    ("profile", "[spec]", "Spec"),
    ("profile", "[sigma]", "Sigma"),
    ("profile", "[correlation]", "Correlation"),
    ("profile", "[[link]]", "Link"),
    ("profile", "[[link]]\n[link.front]", "Pivot"),
    ("profile", "[[link]]\n[link.lean]", "Lean"),
    ("profile", "[[link]]\n[link.cam]", "Cam"),
    ("profile", "[[link]]\n[link.arm]", "Arm"),
    ("profile", "[[link]]\n[link.arm.engaged]", "Engaged"),
    ("profile", "[[link]]\n[link.section]", "Section"),
    ("profile", "[[link]]\n[link.bolt]", "Bolt"),
    ("profile", "[driveshaft]", "Driveshaft"),
    ("profile", "[spring]", "Spring"),
    ("profile", "[damper]", "Damper"),
    ("profile", "[loads]", "Loads"),
    ("profile", "[tyre]", "Tyre"),
    ("profile", "[[keepout]]", "Keepout"),
    ("profile", "[typical]", "Typical"),
    ("survey", "[survey]", "Survey"),
    ("survey", "[survey.sigma]", "SurveySigma"),
    ("survey", "[[survey.mark]]", "Mark"),
    ("survey", "[[survey.height]]", "Seen"),
    ("record", "", "Record"),
    ("record", "[heights]", "Heights"),
    ("record", "[sigma]", "Sigma"),
    ("record", "[[reading]]", "Reading"),
    ("record", "[[reading]]\n[reading.left]", "Wheel"),
    ("record", "[[reading]]\n[reading.left.rim]", "Rim"),
    ("record", "[[reading]]\n[reading.left.plumb]", "Plumb"),
    ("record", "[[reading]]\n[reading.left.rim_half_turn]", "FrontRear"),
    ("record", "[[reading]]\n[reading.left.plumb_half_turn]", "TopBottom"),
    ("record", "[[reading]]\n[reading.plates]", "Plates"),
    ("record", "[[reading]]\n[reading.string]", "Strings"),
    ("record", "[[reading]]\n[reading.floor]", "Floor"),
    ("record", "[[reading]]\n[reading.other_way_round]", "OtherWay"),
];

/// A key that is read and not in the schema would be marked as a mistake by every editor; one that is not read any more
/// would be offered. What is read is asked of the reading itself: a key that nobody knows is answered with those that there are.
#[test]
fn the_schemas_have_the_keys_that_are_read() {
    let schemas: BTreeMap<&str, Value> =
        ["profile", "survey", "record"].into_iter().map(|name| (name, schema(&[name]))).collect();
    let car = rodset::profile::read(&fs::read_to_string(root("examples/tansy-wharf.toml")).expect("a car"));
    let car = car.expect("sound").car;
    let mut seen: BTreeSet<(&str, &str)> = BTreeSet::new();
    for (name, header, table) in TABLES {
        let text = format!("{header}\nnobody_knows = 1\n");
        let findings = match *name {
            "profile" => rodset::profile::read(&text).err(),
            "survey" => rodset::profile::read_survey(&text).err(),
            _ => rodset::profile::read_record(&text, &car).err(),
        };
        let findings = findings.expect("a mistake");
        let help = findings[0].help.as_deref().and_then(|help| help.strip_prefix("possible here: "));
        let read: BTreeSet<&str> =
            help.unwrap_or_else(|| panic!("{text}: {findings:?}")).split(", ").collect();
        let schema = &schemas[name];
        let described = if schema["$defs"].get(*table).is_some() { &schema["$defs"][*table] } else { schema };
        let properties = described["properties"].as_object().unwrap_or_else(|| panic!("{name}: no {table}"));
        let current = properties.iter().filter(|(_, of)| of["deprecated"] != true);
        let there: BTreeSet<&str> = current.map(|(key, _)| key.as_str()).collect();
        assert_eq!(there, read, "{name}: {table}");
        assert_eq!(described["additionalProperties"], false, "{name}: {table}");
        seen.insert((name, table));
    }
    // No table is left out here.
    for (name, schema) in &schemas {
        for (table, described) in schema["$defs"].as_object().expect("definitions") {
            let other = if *name == "survey" { "profile" } else { name };
            let known = seen.contains(&(*name, table.as_str())) || seen.contains(&(other, table.as_str()));
            let known = known || seen.contains(&("survey", table.as_str()));
            assert!(known || described.get("properties").is_none(), "{name}: {table}");
        }
    }
}

/// Every key says what it is, with an example that its own schema takes.
#[test]
fn every_key_is_described_by_an_example_that_fits() {
    let mut count = 0;
    for name in ["profile", "survey", "record"] {
        let schema = schema(&[name]);
        let tables = schema["$defs"].as_object().expect("definitions").values().chain([&schema]);
        for table in tables.filter_map(|table| table["properties"].as_object()) {
            for (key, property) in table {
                let described = property["description"].as_str().unwrap_or_default();
                assert!(described.len() > 8, "{name}: {key} says nothing: {described:?}");
                let mut alone = property.clone();
                alone["$defs"] = schema["$defs"].clone();
                let validator = validator(&alone);
                for example in property["examples"].as_array().into_iter().flatten() {
                    assert_eq!(refused(&validator, example), [""; 0], "{name}: {key}");
                    count += 1;
                }
            }
        }
    }
    assert!(count > 300, "{count}");
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
        format!("lower {CAR} --drop 40 --explain lowered.camber"),
        format!("plan {CAR} --drop 40 --explain /sides/0/arms/0/set_mm"),
        format!("bolts {CAR} --explain least.margin.upper.subframe"),
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
        other[&first] = serde_json::json!({ "nobody knows": 1 });
        assert!(!validator.is_valid(&more), "{line}: a key more");
        assert!(!validator.is_valid(&other) || answered == "check", "{line}: another kind of {first}");
    }
}

/// The schemas of all answers, by command.
fn answers() -> BTreeMap<String, Value> {
    let refused = rodset(&["schema", "--answer", "nothing"]).stderr;
    let (_, names) = refused.split_once("possible values: ").expect("a list of answers");
    let names = names.split(']').next().unwrap_or_default().split(',').map(str::trim);
    names.map(|name| (name.to_owned(), schema(&["--answer", name]))).collect()
}

/// The keys of a part of an answer as lines of a list, as far as the parts that several answers share.
struct Keys<'a> {
    root: &'a Value,
    shared: &'a BTreeSet<String>,
    lines: Vec<String>,
}

impl Keys<'_> {
    fn of(&mut self, schema: &Value, path: &str) {
        for (key, property) in schema["properties"].as_object().into_iter().flatten() {
            let mut path = format!("{path}{key}");
            let meaning = property["description"]
                .as_str()
                .unwrap_or_default()
                .replace('\n', " ")
                .replace("`None`", "`null`");
            let mut of = vec![property];
            let (mut inner, mut part) = (Vec::new(), String::new());
            while let Some(next) = of.pop() {
                if let Some(name) = reference(next) {
                    if self.shared.contains(name) {
                        part = format!(" ([{name}](#{}))", name.to_lowercase());
                    } else {
                        of.push(&self.root["$defs"][name]);
                    }
                }
                if let Some(items) = next.get("items") {
                    path += "[]";
                    of.push(items);
                }
                for word in ["anyOf", "oneOf", "allOf"] {
                    of.extend(next[word].as_array().into_iter().flatten());
                }
                if next.get("properties").is_some() {
                    inner.push(next);
                }
            }
            let line = format!("- `{path}`: {meaning}{part}");
            if !self.lines.contains(&line) {
                self.lines.push(line);
            }
            for schema in inner {
                self.of(schema, &format!("{path}."));
            }
        }
        for word in ["anyOf", "oneOf", "allOf"] {
            schema[word].as_array().into_iter().flatten().for_each(|schema| self.of(schema, path));
        }
    }
}

/// The definition that a schema goes by, if it goes by one.
fn reference(schema: &Value) -> Option<&str> {
    schema["$ref"].as_str()?.strip_prefix("#/$defs/")
}

/// The page that lists the keys of each answer, made from the schemas.
fn page_of_keys() -> String {
    let answers = answers();
    let mut users: BTreeMap<&str, (usize, &Value)> = BTreeMap::new();
    for answer in answers.values() {
        for (name, schema) in answer["$defs"].as_object().into_iter().flatten() {
            users.entry(name).or_insert((0, answer)).0 += usize::from(schema.get("properties").is_some());
        }
    }
    let shared =
        users.iter().filter(|(_, (users, _))| *users > 1).map(|(name, _)| (*name).to_owned()).collect();
    let lines = |root: &Value, schema: &Value| {
        let mut keys = Keys { root, shared: &shared, lines: Vec::new() };
        keys.of(schema, "");
        keys.lines
            .iter()
            .map(|line| line.trim_end().trim_end_matches(':').to_owned() + "\n")
            .collect::<String>()
    };
    let mut page = "\
# The keys of the answers

What `--format json` prints, command by command. `rodset schema --answer COMMAND` prints the same as a JSON Schema, with the type of every
value. Lengths are in mm, angles in degrees, forces in N: the end of a key names its unit (`_deg`, `_mm`, `_n`, `_nm`, `_hz`,
`_percent`, `_turns`), and where that depends on what was read, `unit` stands beside it. `sides` are the left, then the right one, and a list of
two without names is in that order too; rounds are counted from 1. `format` is 1 as long as every key keeps its name and meaning; new ones may
come. Made from the schemas by `INSTA_UPDATE=always cargo test schemas::`.
"
    .to_owned();
    for (name, schema) in &answers {
        page += &format!("\n## {name}\n\n{}", lines(schema, schema));
    }
    page += "\n# Parts that several answers have\n";
    for name in &shared {
        let root = users[name.as_str()].1;
        page += &format!("\n## {name}\n\n{}", lines(root, &root["$defs"][name]));
    }
    page
}

#[test]
fn the_page_of_keys_is_what_the_schemas_say() {
    let path = root("examples/answers.md");
    let page = page_of_keys();
    if std::env::var("INSTA_UPDATE").is_ok_and(|update| update == "always") {
        fs::write(&path, &page).expect("the page is written");
    }
    let there = fs::read_to_string(&path).expect("the page of keys");
    assert!(there == page, "INSTA_UPDATE=always cargo test schemas:: writes examples/answers.md anew");
    for key in ["`sides[].arms[].exact_mm`", "run_out_drop_mm`", "`rounds[].sides[].side`"] {
        assert!(page.contains(key), "{key}");
    }
}
