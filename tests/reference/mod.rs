//! Figures from outside, as data: every `.toml` of this folder is one source, with its citation, its inputs, what it
//! prints and how near the crate must come. See the README of this folder.
//!
//! A file's `kind` says which of the modules here reads it. `cargo test reference -- --nocapture` prints the largest
//! difference of every quantity.

mod axles;
mod curves;
mod networks;
mod planar;
mod rods;
mod strength;
mod tables;
mod travel;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::de::{Deserialize, DeserializeOwned, Deserializer, Error};
use toml::{Table, Value};

/// How many files there are; a file that was lost or not counted in fails the test.
const FILES: usize = 42;

/// A kind of file: its name, and what checks it.
type Kind = (&'static str, fn(&mut Check, Table));

const KINDS: [Kind; 22] = [
    ("six-rods", |check, body| rods::six(check, &read(body))),
    ("five-rods", |check, body| rods::five(check, &read(body))),
    ("axle-rows", |check, body| axles::check(check, &read(body))),
    ("four-bar", |check, body| planar::four_bar(check, read(body))),
    ("five-points", |check, body| planar::five_points(check, &read(body))),
    ("travel", |check, body| travel::check(check, &read(body))),
    ("attitude", |check, body| tables::attitude(check, &read(body))),
    ("axle", |check, body| tables::axle(check, &read(body))),
    ("toe", |check, body| tables::toe(check, &read(body))),
    ("threads", |check, body| tables::threads(check, &read(body))),
    ("lead", |check, body| tables::lead(check, &read(body))),
    ("cam", |check, body| tables::cam(check, &read(body))),
    ("loads", |check, body| tables::loads(check, &read(body))),
    ("truss-joint", |check, body| strength::joints(check, &read(body))),
    ("column-diameter", |check, body| strength::diameters(check, &read(body))),
    ("column-load", |check, body| strength::columns(check, &read(body))),
    ("bent-column", |check, body| strength::bent(check, &read(body))),
    ("nut-factor", |check, body| strength::torques(check, &read(body))),
    ("bolt-table", |check, body| strength::bolts(check, &read(body))),
    ("distance-network", |check, body| networks::check(check, &read(body))),
    ("curve-fit", |check, body| curves::fit(check, &read(body))),
    ("line-fit", |check, body| curves::line(check, &read(body))),
];

#[test]
fn every_source_is_reproduced() {
    let files = files();
    let mut failures = Vec::new();
    for path in &files {
        let check = run_file(path);
        check.print();
        failures.extend(check.failures);
    }
    assert!(failures.is_empty(), "{} figures missed:\n{}", failures.len(), failures.join("\n"));
    assert_eq!(files.len(), FILES, "files in tests/reference; set FILES if one was added on purpose");
}

/// A made-up file: what the next three tests are about is the runner itself.
fn made_up(kind: &str, rows: &str) -> Check {
    let head = ["source", "read_in", "place", "checks"].map(|key| format!("{key} = \"made up\"\n")).concat();
    let tolerance = "lead = { within = { digit = 0.5 }, unit = \"mm\", why = \"made up\" }";
    let status = "status = \"derived\"";
    run("made up", &format!("kind = \"{kind}\"\n{head}{status}\nrow = [{rows}]\n[tolerance]\n{tolerance}\n"))
}

#[test]
#[should_panic(expected = "no kind `song`")]
fn a_kind_that_nothing_checks_is_refused() {
    made_up("song", "");
}

#[test]
#[should_panic(expected = "made up: no row")]
fn a_file_without_a_row_is_refused() {
    made_up("lead", "");
}

#[test]
fn a_figure_is_missed_by_more_than_half_its_last_digit() {
    let missed = |lead: &str| {
        let row = format!("{{ threads = [\"M12 RH\", \"M12 LH\"], lead = \"{lead}\" }}");
        made_up("lead", &row).failures.len()
    };
    assert_eq!(["3.5", "3.50", "3.51", "3.6", "4", "5"].map(missed), [0, 0, 1, 1, 0, 1]);
}

/// The files of this folder, by name; its subfolders wait for kinds that are still to be written.
fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of this test is there")
        .map(|entry| entry.expect("its entries can be read").path())
        .filter(|path| path.is_file() && path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    files.sort();
    files
}

/// How many sources stand here by each word of their status, as README and tests/README tell it.
#[test]
fn the_documents_count_the_sources_as_they_are() {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for path in files() {
        let text = std::fs::read_to_string(&path).expect("a file");
        let table: Table = toml::from_str(&text).expect("TOML");
        let status = table["status"].as_str().expect("a status");
        let first = status.split([',', ';', ':']).next().unwrap_or_default();
        *counts.entry(first.to_owned()).or_default() += 1;
    }
    let [full, part, derived, memory] =
        ["seen in full", "partly seen", "derived", "from memory"].map(|word| counts[word]);
    for (file, told) in [
        (
            "README.md",
            [
                format!("{full} published sources"),
                format!("of {part} that were read in part"),
                format!("{derived} more cases"),
                format!("{memory} is from memory"),
            ],
        ),
        (
            "tests/README.md",
            [
                format!("{full} sources were read in full"),
                format!("{part} in part"),
                format!("{derived} more are derived"),
                format!("{memory} is from memory"),
            ],
        ),
    ] {
        let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file)).expect(file);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for told in told {
            assert!(text.contains(&told), "{file} does not say: {told}");
        }
    }
}

fn run_file(path: &Path) -> Check {
    let file = path.file_name().expect("a file has a name").to_string_lossy();
    let text = std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{file}: {error}"));
    run(&file, &text)
}

/// Reads a file, lets its kind check it, and looks that nothing was passed over.
fn run(file: &str, text: &str) -> Check {
    let table: Table = toml::from_str(text).unwrap_or_else(|error| panic!("{file}: {error}"));
    let (head, body) = table.into_iter().partition(|(key, _)| Head::KEYS.contains(&key.as_str()));
    let head: Head = Value::Table(head).try_into().unwrap_or_else(|error| panic!("{file}: {error}"));
    head.complete(file);
    let (_, kind) = (KINDS.iter().find(|(name, _)| *name == head.kind))
        .unwrap_or_else(|| panic!("{file}: no kind `{}`", head.kind));
    let mut check = Check::new(file.to_owned(), head.tolerance);
    kind(&mut check, body);
    check.complete();
    check
}

/// The part of a file that its kind defines.
fn read<T: DeserializeOwned>(body: Table) -> T {
    Value::Table(body).try_into().unwrap_or_else(|error| panic!("not the shape of its kind: {error}"))
}

/// What every file says of itself.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Head {
    kind: String,
    /// The publication, in full.
    source: String,
    /// Where it was read.
    read_in: String,
    /// Page, table or problem.
    place: String,
    /// How far it was seen: "seen in full", "partly seen", "derived", "from memory", with what belongs to which.
    status: String,
    /// What it is a check of.
    checks: String,
    /// What is odd about it.
    note: Option<String>,
    tolerance: BTreeMap<String, Tolerance>,
}

impl Head {
    const KEYS: [&str; 8] = ["kind", "source", "read_in", "place", "status", "checks", "note", "tolerance"];

    fn complete(&self, file: &str) {
        let Self { source, read_in, place, status, checks, note, .. } = self;
        let texts = [source, read_in, place, status, checks].into_iter().chain(note);
        assert!(texts.into_iter().all(|text| !text.trim().is_empty()), "{file}: an empty text in its head");
        let first = status.split([',', ';', ':']).next().unwrap_or_default();
        let known = ["seen in full", "partly seen", "derived", "from memory"];
        assert!(known.contains(&first), "{file}: the status begins with none of {known:?}");
        for (quantity, tolerance) in &self.tolerance {
            assert!(!tolerance.why.trim().is_empty(), "{file}: the tolerance of {quantity} has no reason");
        }
    }
}

/// How near a quantity must come, and why so near.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Tolerance {
    within: Within,
    unit: String,
    why: String,
}

/// A difference, or a part of the last digit that the source prints.
#[derive(Debug, Clone, Copy, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum Within {
    /// The same for all rows.
    Value(f64),
    /// In units of the last printed digit, so every row has its own.
    Digit(f64),
    /// Each row gives its own.
    Row,
}

/// A figure as it is printed: a text keeps the zeros at its end, so it tells its own precision.
#[derive(Debug, Clone, Copy)]
struct Printed {
    value: f64,
    /// The place of the last digit; none for a plain number.
    digit: Option<f64>,
}

impl<'de> Deserialize<'de> for Printed {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match Value::deserialize(deserializer)? {
            Value::Float(value) => Ok(Self { value, digit: None }),
            Value::String(text) => {
                let value = text.parse().map_err(|_| D::Error::custom(format!("`{text}` is no number")))?;
                let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
                let decimals = i32::try_from(decimals).map_err(D::Error::custom)?;
                Ok(Self { value, digit: Some(10_f64.powi(-decimals)) })
            }
            other => Err(D::Error::custom(format!("{other} is neither a float nor a text"))),
        }
    }
}

/// The largest difference of a quantity so far, in units of what is allowed.
struct Worst {
    part: f64,
    off: f64,
    allowed: f64,
    row: String,
}

/// Compares, and keeps account of it.
struct Check {
    file: String,
    tolerance: BTreeMap<String, Tolerance>,
    rows: usize,
    worst: BTreeMap<String, Worst>,
    failures: Vec<String>,
}

impl Check {
    fn new(file: String, tolerance: BTreeMap<String, Tolerance>) -> Self {
        Self { file, tolerance, rows: 0, worst: BTreeMap::new(), failures: Vec::new() }
    }

    /// Counts a row of the source.
    fn row(&mut self) {
        self.rows += 1;
    }

    /// A figure against the one that is printed.
    fn printed(&mut self, quantity: &str, row: &str, got: f64, expected: Printed) {
        let allowed = match self.within(quantity) {
            Within::Value(value) => value,
            // The text of a decimal fraction and its binary value differ in the last bits, also where it ends in a 5.
            Within::Digit(part) => {
                part * self.digit(quantity, expected) + 4.0 * f64::EPSILON * expected.value.abs()
            }
            Within::Row => panic!("{}: {quantity} has a tolerance by row", self.file),
        };
        self.compare(quantity, row, got, expected.value, allowed);
    }

    /// A figure against an exact one.
    fn near(&mut self, quantity: &str, row: &str, got: f64, expected: f64) {
        self.printed(quantity, row, got, Printed { value: expected, digit: None });
    }

    /// A figure whose tolerance the row gives.
    fn near_in_row(&mut self, quantity: &str, row: &str, got: f64, expected: f64, allowed: f64) {
        assert!(matches!(self.within(quantity), Within::Row), "{}: {quantity} is not by row", self.file);
        self.compare(quantity, row, got, expected, allowed);
    }

    /// Something that must not have happened.
    fn fail(&mut self, row: &str, what: &str) {
        self.failures.push(format!("{}: {row}: {what}", self.file));
    }

    fn within(&self, quantity: &str) -> Within {
        let tolerance = self.tolerance.get(quantity);
        tolerance.unwrap_or_else(|| panic!("{}: no tolerance for {quantity}", self.file)).within
    }

    fn digit(&self, quantity: &str, expected: Printed) -> f64 {
        let digit = expected.digit;
        digit.unwrap_or_else(|| panic!("{}: {quantity} {} must be a text", self.file, expected.value))
    }

    fn compare(&mut self, quantity: &str, row: &str, got: f64, expected: f64, allowed: f64) {
        let off = (got - expected).abs();
        // In this order a figure that is no number is the greatest of all, so it fails.
        if off.total_cmp(&allowed).is_gt() {
            let unit = &self.tolerance[quantity].unit;
            let what =
                format!("{quantity} is {got}, expected {expected} {unit}, off by {off:.2e} > {allowed:.2e}");
            self.fail(row, &what);
        }
        let part = off / allowed;
        if self.worst.get(quantity).is_none_or(|worst| part.total_cmp(&worst.part).is_gt()) {
            self.worst.insert(quantity.to_owned(), Worst { part, off, allowed, row: row.to_owned() });
        }
    }

    /// A file without a row checks nothing, nor does a tolerance that nothing asks for.
    fn complete(&self) {
        assert!(self.rows > 0, "{}: no row", self.file);
        for quantity in self.tolerance.keys() {
            assert!(self.worst.contains_key(quantity), "{}: nothing has a {quantity}", self.file);
        }
    }

    /// A line of the table in the README for each quantity.
    fn print(&self) {
        for (quantity, Worst { off, allowed, row, .. }) in &self.worst {
            let Self { file, rows, .. } = self;
            let unit = &self.tolerance[quantity].unit;
            println!("| `{file}` | {rows} | {quantity} | {off:.1e} | {allowed:.1e} | {unit} | {row} |");
        }
    }
}
