//! The numbers of an answer, each with its place, its name and its meaning.
//!
//! Meanings are the descriptions in the schema of the answer, which are the comments of the types that it is made of.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::{Map, Value};

use super::Unit;
use crate::car::Hand;

/// The numbers of an answer.
#[derive(Debug, Clone)]
pub(crate) struct AnswerFigures {
    /// The type of the answer, as its schema calls it.
    pub(super) of: String,
    pub(super) all: Vec<AnswerFigure>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct AnswerFigure {
    /// Where it stands, as a JSON pointer.
    pub at: String,
    /// The keys on the way there, without the places in lists.
    pub keys: Vec<String>,
    /// The last of them, whose end is the unit.
    pub key: String,
    /// Its side, where it has one.
    pub side: Option<Hand>,
    /// The number; `None` where the answer has none.
    pub value: Option<f64>,
    /// What it means.
    pub meaning: String,
    /// The keys on the way there, and what the entries of lists are called instead of their places.
    pub(super) steps: Vec<NamePart>,
    /// The keys and places on the way there.
    hops: Vec<Hop>,
}

/// What leads from a branch of a tree to the next.
#[derive(Debug, Clone, PartialEq)]
enum Hop {
    Key(String),
    /// An entry of a list: its place, what it is called, and how many before it are called so.
    Entry(usize, Called, usize),
}

/// The name and the side of an entry of a list, where it has one.
type Called = (Option<String>, Option<Hand>);

fn called(item: &Value) -> Called {
    (name(item), item.get("side").and_then(hand))
}

/// A step on the way to a number.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum NamePart {
    Key(String),
    /// An entry of a list, by what it is called.
    Entry(String),
    Side(Hand),
}

/// Lists of two that are of the left and of the right side, without saying so.
const OF_BOTH_SIDES: [&str; 7] =
    ["expected", "specs", "lowered", "drops_mm", "camber_deg", "toe_deg", "to_the_stops"];
/// Lists of two that are of camber and of toe.
const OF_BOTH_FIGURES: [&str; 2] = ["off_deg", "usual_deg"];
/// Lists of two that are of the two ends of an arm.
const OF_BOTH_ENDS: [&str; 2] = ["thread_remaining_mm", "thread_least_mm"];

/// Keys under which an entry of a list says what it is: the first ones that it has all of.
const NAMES: [&[&str]; 15] = [
    &["link", "end"],
    &["part", "keepout"],
    &["cause", "link"],
    &["kind", "link"],
    &["link"],
    &["name"],
    &["setup"],
    &["what"],
    &["part"],
    &["title"],
    &["case"],
    &["kind"],
    &["cause"],
    &["surface"],
    &["figure"],
];
/// Numbers that tell the entries of a list apart, where no word does.
const COUNTED: [&str; 2] = ["travel_mm", "longer_mm"];

impl AnswerFigures {
    /// The numbers of an answer, in the order of its JSON.
    pub(crate) fn of<T: Serialize + JsonSchema>(answer: &T) -> Self {
        let settings = schemars::generate::SchemaSettings::draft2020_12().for_serialize();
        Self::walked(&tree(answer), settings.into_generator().into_root_schema_for::<T>().as_value())
    }

    fn walked(answer: &Value, schema: &Value) -> Self {
        let mut walk = SchemaWalk { root: schema, all: Vec::new() };
        walk.value(answer, &[schema], &SchemaPath::default());
        Self { of: schema["title"].as_str().unwrap_or_default().to_owned(), all: walk.all }
    }

    /// The number under a key of the innermost object around a figure that has it.
    pub(super) fn near(&self, figure: &AnswerFigure, key: &str) -> Option<&AnswerFigure> {
        let mut around = figure.at.as_str();
        while let Some((outer, _)) = around.rsplit_once('/') {
            let at = format!("{outer}/{}", key.replace('.', "/"));
            if let Some(found) = self.all.iter().find(|other| other.at == at) {
                return Some(found);
            }
            around = outer;
        }
        None
    }
}

impl AnswerFigure {
    /// The same number in the tree of another answer: it goes by what the entries of lists are called, as their order may be another;
    /// where none is called so, by their places.
    pub(super) fn in_tree(&self, tree: &Value) -> Option<f64> {
        let mut here = tree;
        for hop in &self.hops {
            here = match hop {
                Hop::Key(key) => here.get(key)?,
                Hop::Entry(place, name, before) => {
                    let list = here.as_array()?;
                    let is = |item: &&Value| called(item) == *name;
                    let there = list.get(*place);
                    let found = match name {
                        (None, None) => there,
                        _ if *before == 0 && there.is_some_and(|item| is(&item)) => there,
                        _ => list.iter().filter(is).nth(*before).or(there),
                    };
                    found?
                }
            };
        }
        here.as_f64()
    }

    /// Its unit; toe is what stands under it too.
    pub(crate) fn unit(&self) -> Unit {
        match Unit::of(&self.key).0 {
            Unit::Angle if self.keys.iter().any(|key| Unit::is_toe(key)) => Unit::Toe,
            unit => unit,
        }
    }
}

/// An answer as the tree of its JSON, in which a nought has no sign.
pub(crate) fn tree<T: Serialize>(answer: &T) -> Value {
    fn plain(value: &mut Value) {
        match value {
            Value::Number(number) if number.as_f64() == Some(0.0) && number.is_f64() => *value = 0.0.into(),
            Value::Array(list) => list.iter_mut().for_each(plain),
            Value::Object(map) => map.values_mut().for_each(plain),
            _ => {}
        }
    }
    let mut tree = serde_json::to_value(answer).unwrap_or_default();
    plain(&mut tree);
    tree
}

/// How far the walk has come.
#[derive(Debug, Clone, Default)]
struct SchemaPath {
    at: String,
    steps: Vec<NamePart>,
    hops: Vec<Hop>,
    side: Option<Hand>,
    /// What the schema says of the steps, the last one last.
    meanings: Vec<String>,
}

struct SchemaWalk<'a> {
    root: &'a Value,
    all: Vec<AnswerFigure>,
}

impl<'a> SchemaWalk<'a> {
    fn value(&mut self, value: &Value, schemas: &[&'a Value], way: &SchemaPath) {
        let schemas = self.plain(schemas);
        match value {
            Value::Object(map) => self.object(map, &schemas, way),
            Value::Array(list) => self.list(list, &schemas, way),
            Value::Number(number) => self.number(number.as_f64(), way),
            Value::Null if schemas.iter().any(|schema| is_number(schema)) => self.number(None, way),
            _ => {}
        }
    }

    fn number(&mut self, value: Option<f64>, way: &SchemaPath) {
        let key = |step: &NamePart| match step {
            NamePart::Key(key) => Some(key.clone()),
            _ => None,
        };
        let keys: Vec<String> = way.steps.iter().filter_map(key).collect();
        let SchemaPath { at, steps, hops, side, .. } = way.clone();
        self.all.push(AnswerFigure {
            at,
            key: keys.last().cloned().unwrap_or_default(),
            keys,
            side,
            value,
            meaning: meaning(&way.meanings),
            steps,
            hops,
        });
    }

    fn object(&mut self, map: &Map<String, Value>, schemas: &[&'a Value], way: &SchemaPath) {
        let side = map.get("side").and_then(hand);
        let steps = |mut way: SchemaPath| {
            if let Some(hand) = side.filter(|hand| way.side != Some(*hand)) {
                way.side = side;
                way.steps.push(NamePart::Side(hand));
            }
            way
        };
        let way = steps(way.clone());
        // Of several shapes it is the one that has all of its keys.
        let fits = |schema: &&&Value| map.keys().all(|key| schema["properties"].get(key).is_some());
        let fitting = schemas.iter().find(fits);
        for (key, value) in map {
            let of = |schema: &&'a Value| schema["properties"].get(key);
            let property = fitting.and_then(of).or_else(|| schemas.iter().find_map(of));
            let property: Vec<&Value> = property.into_iter().collect();
            let mut way = way.clone();
            way.at += &format!("/{}", key.replace('~', "~0").replace('/', "~1"));
            way.steps.push(NamePart::Key(key.clone()));
            way.hops.push(Hop::Key(key.clone()));
            way.meanings.push(described(&property));
            self.value(value, &property, &way);
        }
    }

    fn list(&mut self, list: &[Value], schemas: &[&'a Value], way: &SchemaPath) {
        let key = match way.steps.last() {
            Some(NamePart::Key(key)) => key.as_str(),
            _ => "",
        };
        let numbers = list.iter().all(Value::is_number);
        let plain: &[&str] = match list.len() {
            2 if OF_BOTH_FIGURES.contains(&key) => &["camber", "toe"],
            2 if OF_BOTH_ENDS.contains(&key) => &[],
            2 if numbers => &["least", "most"],
            3 if numbers => &["x", "y", "z"],
            _ => &[],
        };
        let of_sides = list.len() == 2 && OF_BOTH_SIDES.contains(&key);
        let names: Vec<Called> = list.iter().map(called).collect();
        for (i, item) in list.iter().enumerate() {
            let items: Vec<&Value> = (schemas.iter())
                .filter_map(|schema| schema["prefixItems"].get(i).or(schema.get("items")))
                .collect();
            let mut way = way.clone();
            way.at += &format!("/{i}");
            let alike = |upto: usize| names[..upto].iter().filter(|name| **name == names[i]).count();
            let place = |place: usize| NamePart::Entry(place.to_string());
            way.hops.push(Hop::Entry(i, names[i].clone(), alike(i)));
            match &names[i] {
                _ if of_sides => {
                    way.side = Some(Hand::BOTH[i]);
                    way.steps.push(NamePart::Side(Hand::BOTH[i]));
                }
                (Some(name), _) => {
                    way.steps.push(NamePart::Entry(name.clone()));
                    if alike(names.len()) > 1 {
                        way.steps.push(place(alike(i) + 1));
                    }
                }
                // Its side is its name.
                (None, Some(_)) if alike(names.len()) == 1 => {}
                (None, _) => match plain.get(i) {
                    Some(name) => way.steps.push(NamePart::Entry((*name).to_owned())),
                    None => way.steps.push(place(i + 1)),
                },
            }
            self.value(item, &items, &way);
        }
    }

    /// Schemas with their references followed and their choices spread out.
    fn plain(&self, schemas: &[&'a Value]) -> Vec<&'a Value> {
        let mut plain = Vec::new();
        let mut left: Vec<&Value> = schemas.iter().rev().copied().collect();
        while let Some(schema) = left.pop() {
            plain.push(schema);
            let reference =
                schema["$ref"].as_str().and_then(|to| self.root.pointer(to.trim_start_matches('#')));
            left.extend(reference);
            for choice in ["anyOf", "oneOf", "allOf"] {
                left.extend(schema[choice].as_array().into_iter().flatten());
            }
        }
        plain
    }
}

fn is_number(schema: &Value) -> bool {
    let number = |kind: &Value| kind == "number" || kind == "integer";
    let kind = &schema["type"];
    number(kind) || kind.as_array().is_some_and(|kinds| kinds.iter().any(number))
}

fn described(schemas: &[&Value]) -> String {
    schemas.iter().find_map(|schema| schema["description"].as_str()).unwrap_or_default().to_owned()
}

fn hand(value: &Value) -> Option<Hand> {
    Hand::BOTH.into_iter().find(|hand| value == &hand.to_string())
}

/// What an entry of a list is called.
fn name(item: &Value) -> Option<String> {
    let words = |keys: &&[&str]| {
        let mut words = keys.iter().map(|key| item.get(key)?.as_str()).collect::<Option<Vec<_>>>()?;
        // Of one link there may be a stock arm and a new one.
        let adjustable = item.get("adjustable").and_then(Value::as_bool);
        words.extend(adjustable.map(|adjustable| if adjustable { "new" } else { "stock" }));
        Some(words.join(" ").replace('_', " "))
    };
    // A set of arms goes by its links.
    let links = || {
        let links = item.get("links")?.as_array()?.iter().map(Value::as_str).collect::<Option<Vec<_>>>()?;
        Some(if links.is_empty() { "no arms".to_owned() } else { links.join(" + ") })
    };
    let number = |key: &&str| {
        let number = item.get(key).and_then(Value::as_f64)?;
        let number = format!("{:+}", (number * 10.0).round() / 10.0);
        // Heights that have a name go by that too.
        let place = item.get("place").and_then(Value::as_str).unwrap_or_default();
        Some(format!("{number} {}", place.replace('_', " ")).trim_end().to_owned())
    };
    NAMES.iter().find_map(words).or_else(links).or_else(|| COUNTED.iter().find_map(number))
}

/// How a unit is written at the end of what a figure means, and what follows it.
const UNITS: [&str; 3] = ["mm", "degrees", "N"];
const ENDS: [&str; 5] = [".", ";", ":", ",", " ("];

/// What the steps to a number mean: the last one, and before it what it is a figure of.
fn meaning(meanings: &[String]) -> String {
    /// Words that only say that there are two sides, or that there is a list.
    const PLAIN: [&str; 2] = ["Left, then right.", "The five links."];
    let told = |text: &&String| !text.is_empty() && !PLAIN.contains(&text.as_str());
    let last: Vec<&str> = meanings.iter().filter(told).rev().take(2).map(String::as_str).collect();
    let text = last.into_iter().rev().collect::<Vec<_>>().join(" ");
    let text = text.replace("`None`", "none").replace('`', "").replace('\n', " ");
    // The unit stands beside the figure, and may be another on a page.
    ENDS.iter().fold(text, |text, end| {
        UNITS.iter().fold(text, |text, unit| text.replace(&format!(", {unit}{end}"), end))
    })
}
