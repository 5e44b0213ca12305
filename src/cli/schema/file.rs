//! The schema of a file, from the declarations of its keys.

use serde_json::{Map, Value, json};

use crate::profile::{Key, KeyTable, Kind, Need, root};

/// The sorts of value that keys share.
fn values() -> Value {
    let with_unit = |what: &str| json!({ "description": what, "type": ["number", "string"] });
    let quantity =
        "A number (mm or degrees), or a text with a unit: \"8 1/4 in\", \"2.5 mm\", \"0.25 deg\", \"0°15'\".";
    json!({
        "Quantity": {
            "description": quantity,
            "type": ["number", "string"],
            "pattern": "^\\s*([Aa][Bb][Oo][Uu][Tt] )?\\s*[-+−–]?\\s*[0-9.][^,]*$",
        },
        "CamPosition": {
            "description": "A cam's position from the middle of its slot: degrees, marks, mm, or where the high point stands: 15, \"-1.5 marks\", \
                            \"2 marks outboard\", \"1.5 mm inboard\", \"towards the wheel\".",
            "type": ["number", "string"],
            "pattern": "^\\s*([-+−–]?\\s*[0-9.][^,]*|[^0-9,]*[Ww][Hh][Ee][Ee][Ll])\\s*$",
        },
        "Point": {
            "description": "Three coordinates: x forward, y left, z up.",
            "type": "array",
            "items": { "$ref": "#/$defs/Quantity" },
            "minItems": 3,
            "maxItems": 3,
        },
        "Rate": with_unit("N/mm, or a text with a unit such as \"285 lb/in\"."),
        "Mass": with_unit("kg, or a text with a unit such as \"750 lb\"."),
        "Force": with_unit("N, or a text with a unit such as \"24 kN\" or \"5400 lbf\"."),
        "Torque": with_unit("N m, or a text with a unit such as \"63 lbf ft\"."),
        "Stress": with_unit("N/mm2 (MPa), or a text with a unit such as \"36 ksi\"."),
        "Setting": with_unit(
            "An arm: turns or a length, 1.5, \"1 11/12 longer\", \"247.2 mm\"; a cam: 15, \"2 marks\", \"1.5 mm inboard\", \"towards the wheel\".",
        ),
        "Sides": {
            "anyOf": [
                { "$ref": "#/$defs/Setting" },
                {
                    "description": "Each side by itself.",
                    "type": "object",
                    "properties": { "left": { "$ref": "#/$defs/Setting" }, "right": { "$ref": "#/$defs/Setting" } },
                    "additionalProperties": false,
                },
            ],
        },
    })
}

/// What a file may contain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum File {
    Profile,
    Survey,
    Record,
}

impl File {
    pub(super) fn schema(self) -> Value {
        let (title, table) = match self {
            Self::Profile => ("A profile of rodset", root(false)),
            Self::Survey => ("A survey of rodset", root(false)),
            Self::Record => ("A record of rodset", root(true)),
        };
        let mut tables = Map::new();
        tables.extend(values().as_object().cloned().unwrap_or_default());
        self.collect(table, &mut tables);
        let mut whole = self.table(table, true);
        whole["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
        whole["title"] = json!(title);
        let needed = self.needed(table);
        if self == Self::Survey {
            whole["anyOf"] = json!([{ "required": ["survey"] }, { "required": ["typical"] }]);
        }
        for (word, value) in needed.as_object().cloned().unwrap_or_default() {
            if word == "required" {
                whole[word] = value;
            }
        }
        whole["$defs"] = Value::Object(tables);
        whole
    }

    /// The tables below a table, under their names.
    fn collect(self, table: &KeyTable, tables: &mut Map<String, Value>) {
        for inner in table.keys.iter().filter_map(|key| key.table()) {
            if !tables.contains_key(inner.name) {
                tables.insert(inner.name.to_owned(), self.table(inner, false));
                self.collect(inner, tables);
            }
        }
    }

    /// A key by its name, and by its former one.
    fn properties(self, key: &Key, is_base: bool) -> Vec<(String, Value)> {
        let mut all = vec![(key.name.to_owned(), self.property(key, is_base))];
        if !key.formerly.is_empty() {
            let mut former = self.property(key, is_base);
            former["deprecated"] = true.into();
            all.push((key.formerly.to_owned(), former));
        }
        all
    }

    /// A table with its keys; what the base cannot do without may be missing on the right.
    fn table(self, table: &KeyTable, is_base: bool) -> Value {
        let properties: Map<String, Value> =
            table.keys.iter().flat_map(|key| self.properties(key, is_base)).collect();
        json!({ "description": table.about.trim(), "type": "object", "properties": properties, "additionalProperties": false })
    }

    fn is_needed(self, key: &Key) -> bool {
        key.need == Need::Always || key.need == Need::Measured && self == Self::Profile
    }

    /// What a table of the base, and those in it, cannot do without.
    fn needed(self, table: &KeyTable) -> Value {
        let names = |keys: Vec<&&Key>| keys.iter().map(|key| key.name).collect::<Vec<_>>();
        let mut needed = json!({ "required": names(table.keys.iter().filter(|key| self.is_needed(key) && key.of.is_empty()).collect()) });
        let instead: Vec<&Key> = table.keys.iter().copied().filter(|key| !key.instead.is_empty()).collect();
        if let [key] = instead[..] {
            needed["oneOf"] = json!([{ "required": [key.instead] }, { "required": [key.name] }]);
        }
        let inner: Map<String, Value> = (table.keys.iter())
            .filter_map(|key| match key.kind {
                Kind::Table(inner)
                    if inner.keys.iter().any(|key| self.is_needed(key)) && inner.name != "Right" =>
                {
                    Some((key.name.to_owned(), self.needed(inner)))
                }
                _ => None,
            })
            .collect();
        if !inner.is_empty() {
            needed["properties"] = Value::Object(inner);
        }
        let choices = table.keys.iter().find_map(|key| match key.kind {
            Kind::Choice(choices) => Some((key, choices)),
            _ => None,
        });
        if let Some((key, choices)) = choices.filter(|_| table.keys.iter().any(|key| !key.of.is_empty())) {
            let shape = key.name;
            let of = |choice: &&str| {
                let (own, others): (Vec<&&Key>, Vec<&&Key>) = table
                    .keys
                    .iter()
                    .filter(|key| !key.of.is_empty())
                    .partition(|key| key.of.contains(choice));
                let none: Map<String, Value> =
                    others.iter().map(|key| (key.name.to_owned(), json!(false))).collect();
                // Points may be missing in a survey.
                let own =
                    own.into_iter().filter(|key| key.need != Need::Measured || self.is_needed(key)).collect();
                let said = json!({ "properties": { shape: { "const": choice } }, "required": [shape] });
                // What may be left out is its first choice then.
                let is_it = if key.need == Need::Not && *choice == choices[0] {
                    json!({ "anyOf": [said, { "not": { "required": [shape] } }] })
                } else {
                    said
                };
                json!({ "if": is_it, "then": { "required": names(own), "properties": none } })
            };
            needed["allOf"] = choices.iter().map(of).collect();
        }
        needed
    }

    fn property(self, key: &Key, is_base: bool) -> Value {
        let mut property = self.kind(key, is_base);
        property["description"] = json!(key.words());
        let examples = key.examples();
        if !examples.is_empty() {
            property["examples"] = json!(examples);
        }
        if let Some([least, most]) =
            key.range.filter(|_| !property["type"].is_string() || property["type"] == "integer")
        {
            let bound = if least == 0.0 && !matches!(key.kind, Kind::Number(_)) {
                "exclusiveMinimum"
            } else {
                "minimum"
            };
            property[bound] = json!(least);
            property["maximum"] = json!(most);
        }
        property
    }

    fn kind(self, key: &Key, is_base: bool) -> Value {
        let of = |name: &str| json!({ "$ref": format!("#/$defs/{name}") });
        let list = |items: Value, least: usize, most: usize| json!({ "type": "array", "items": items, "minItems": least, "maxItems": most });
        let text = json!({ "type": "string", "minLength": 1 });
        match key.kind {
            Kind::Text | Kind::Date => text,
            Kind::Flag => json!({ "type": "boolean" }),
            Kind::Whole => json!({ "type": "integer" }),
            Kind::Number(_) | Kind::Length | Kind::Angle | Kind::Toe => of("Quantity"),
            Kind::Rate => of("Rate"),
            Kind::Mass => of("Mass"),
            Kind::Force => of("Force"),
            Kind::Torque => of("Torque"),
            Kind::Stress => of("Stress"),
            Kind::Point | Kind::Direction | Kind::Factors => {
                json!({ "allOf": [of("Point")], "type": "array" })
            }
            Kind::Rows(each) => list(list(of("Quantity"), each, each), 1, 20),
            Kind::Stretch => list(json!({ "type": "number" }), 2, 2),
            Kind::Texts(least, most) => list(text, least, most),
            Kind::Groups => json!({ "type": "array", "items": { "type": "array", "items": text } }),
            Kind::Choice(choices) => json!({ "type": "string", "enum": choices }),
            Kind::Choices(choices, count) => list(json!({ "enum": choices }), count, count),
            Kind::CamPosition => of("CamPosition"),
            Kind::Settings => json!({ "type": "object", "additionalProperties": of("Sides") }),
            Kind::Matrix => {
                json!({ "type": "array", "items": { "type": "array", "items": { "type": "number" } } })
            }
            Kind::Table(table) if is_base && table.name != "Right" => {
                json!({ "allOf": [of(table.name), self.needed(table)] })
            }
            Kind::Table(table) => of(table.name),
            Kind::Tables(table, most) if is_base => {
                /// A strut, a wishbone and a rod hold a wheel five times.
                const FEWEST_MEMBERS: usize = 3;
                let items = json!({ "allOf": [of(table.name), self.needed(table)] });
                if key.need != Need::Always {
                    return list(items, 0, most);
                }
                // Of rods alone there are as many as there may be.
                let mut members = list(items, FEWEST_MEMBERS, most);
                let kind =
                    table.keys.iter().find(|key| matches!(key.kind, Kind::Choice(_))).map(|key| key.name);
                members["anyOf"] = json!([{ "minItems": most }, { "contains": { "required": [kind] } }]);
                members
            }
            Kind::Tables(table, most) => {
                let name = table.keys.first().map(|key| key.name);
                list(json!({ "allOf": [of(table.name), { "required": [name] }] }), 0, most)
            }
            Kind::List(table) => {
                let strays =
                    table.keys.iter().filter(|stray| !stray.of.is_empty() && !stray.of.contains(&key.name));
                let strays: Map<String, Value> =
                    strays.map(|key| (key.name.to_owned(), json!(false))).collect();
                json!({ "type": "array", "items": { "allOf": [of(table.name), self.needed(table), { "properties": strays }] } })
            }
        }
    }
}
