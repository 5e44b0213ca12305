//! Pages work nothing out: every figure that one shows stands in the answer, to the decimals that are shown.

use serde_json::Value;
use std::path::Path;

use crate::command::rodset;
use rodset::car::Car;
use rodset::profile;

const FIRST: &str = "examples/tansy-wharf.toml";
const SECOND: &str = "examples/sedge-mill.toml";

/// What stands on a page without being of an answer: the deviations at which a reading is suspect.
const SAID: [f64; 1] = [3.29];

/// A line of every command that shows figures.
fn lines() -> Vec<String> {
    let lines = [
        "lower FIRST --drop 37 --samples 100",
        "lower SECOND --drop-left 45 --drop-right 38 --front-drop 30",
        "cams FIRST --drop 37",
        "cams SECOND --drop 20",
        "arms FIRST --drop 37",
        "plan FIRST --drop 37 --samples 100",
        "plan FIRST --drop 40 --fit upper,toe,traction --cams keep",
        "plan FIRST --drop 40 --camber 4",
        "plan SECOND --drop 45 --fit toe",
        "sheet FIRST --drop 37",
        "sheet FIRST --drop 37 --stock upper=240.8",
        "sheet SECOND --drop-left 45 --drop-right 40 --fit toe",
        "shop FIRST --drop 37",
        "shop SECOND --drop-left 45 --drop-right 40 --fit toe",
        "correct FIRST --record tests/records/wrong-way.toml",
        "correct FIRST --drop 40 --left=-0.3,0.1 --right=-1.7,0.1",
        "correct SECOND --drop 20 --fit none --left=-1.3,0.05 --right=-0.9",
        "clearance FIRST --drop 37",
        "joints FIRST --drop 37",
        "springs FIRST --drop 37",
        "loads FIRST --drop 37",
        "bolts FIRST --drop 37",
        "lockout FIRST --drop 37 --cam upper=-40",
        "tune FIRST --drop 37",
        "travel FIRST --drop 37 --also traction+2 --detail",
        "check FIRST",
        "readings FIRST examples/records/tansy-wharf.toml",
        "readings tests/findings/base.toml tests/records/base.toml",
        "fit FIRST examples/records/tansy-wharf-heights.toml --drop 37",
        "survey examples/surveys/tansy-wharf.toml",
        "spec toe 2mm+/-1mm --total --diameter 445",
    ];
    lines.iter().map(|line| line.replace("FIRST", FIRST).replace("SECOND", SECOND)).collect()
}

fn run(line: &str, more: &[&str]) -> crate::command::Run {
    rodset(&[&line.split_whitespace().collect::<Vec<_>>()[..], more].concat())
}

fn numbers(value: &Value, into: &mut Vec<f64>) {
    match value {
        Value::Object(map) => map.values().for_each(|value| numbers(value, into)),
        Value::Array(list) => list.iter().for_each(|value| numbers(value, into)),
        Value::Number(number) => into.extend(number.as_f64()),
        _ => {}
    }
}

/// The numbers of the answer, and of the other answers that its page shows.
fn answered(line: &str) -> Vec<f64> {
    let answer = run(line, &["--format", "json"]).json();
    let mut all = Vec::new();
    numbers(&answer, &mut all);
    let (command, rest) = line.split_once(' ').expect("a command");
    // The page for the shop is of a plan; a bench sheet tells of a bush that would be forgotten.
    for (of, other) in [("shop", "plan"), ("sheet", "joints")] {
        if command == of {
            let rest = rest.split(" --stock").next().unwrap_or(rest);
            numbers(&run(&format!("{other} {rest}"), &["--format", "json"]).json(), &mut all);
        }
    }
    // How the car stands is told above every page.
    let drop = |side: usize| {
        let of_answer = answer.pointer(&format!("/sides/{side}/drop_mm")).and_then(Value::as_f64);
        of_answer.or_else(|| rest.split("--drop ").nth(1)?.split(' ').next()?.parse().ok())
    };
    if let [Some(left), Some(right)] = [0, 1].map(drop) {
        let profile = rest.split(' ').next().unwrap_or(rest);
        let stands = format!("lower {profile} --drop-left={left} --drop-right={right}");
        numbers(&run(&stands, &["--format", "json"]).json(), &mut all);
    }
    all.extend(SAID);
    all
}

/// What was told to the program: numbers of the line, of its files, and how well the car was measured.
fn told(line: &str) -> Vec<f64> {
    let read = |path: &str| std::fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR")));
    let files: Vec<String> = line
        .split(' ')
        .filter(|word| Path::new(word).extension().is_some_and(|ending| ending == "toml"))
        .filter_map(|path| read(path).ok())
        .collect();
    let plain = |text: &str| -> String {
        let lines = text.lines().map(|line| line.split('#').next().unwrap_or_default());
        lines.collect::<Vec<_>>().join(" ")
    };
    let text = files.iter().map(|text| plain(text)).chain([line.to_owned()]).collect::<Vec<_>>().join(" ");
    let words = text.split(|c: char| !(c.is_ascii_digit() || c == '.'));
    let mut all: Vec<f64> = words.filter_map(|word| word.parse().ok()).collect();
    for car in files.iter().filter_map(|text| profile::read(text).ok()).map(|checked| checked.car) {
        let Car { sigmas, axle, .. } = &car;
        all.extend([sigmas.camber, sigmas.toe].map(f64::to_degrees));
        all.extend([axle.cross_camber, axle.thrust_angle].into_iter().flatten().map(f64::to_degrees));
        all.extend([sigmas.drop, sigmas.point]);
    }
    all
}

/// A number with decimals on a page, without its sign, and the words around it.
struct Shown {
    digits: String,
    row: String,
    before: String,
    after: String,
}

impl Shown {
    fn all(text: &str) -> Vec<Self> {
        let words: Vec<(&str, &str)> =
            text.lines().flat_map(|row| row.split_whitespace().map(move |word| (row, word))).collect();
        let mut all = Vec::new();
        for (i, (row, word)) in words.iter().enumerate() {
            for part in word.split("..") {
                let digits = part.trim_matches(|c: char| !c.is_ascii_digit());
                let number = digits.bytes().all(|c| c.is_ascii_digit() || c == b'.') && digits.contains('.');
                let alone = part.bytes().all(|c| !c.is_ascii_alphabetic());
                if number && alone && digits.parse::<f64>().is_ok() {
                    let before = words[i.saturating_sub(2)..i].iter().map(|(_, word)| *word);
                    all.push(Self {
                        digits: digits.to_owned(),
                        row: row.trim().to_owned(),
                        before: before.collect::<Vec<_>>().join(" "),
                        after: words.get(i + 1).map_or(String::new(), |(_, word)| (*word).to_owned()),
                    });
                }
            }
        }
        all
    }

    fn decimals(&self) -> usize {
        self.digits.split('.').nth(1).map_or(0, str::len)
    }

    fn reads(&self, value: f64) -> bool {
        format!("{:.*}", self.decimals(), value.abs()) == self.digits
    }

    /// Whether it is one of the numbers, in the unit in which it is shown.
    fn is_of(&self, all: &[f64]) -> bool {
        let mut ways: Vec<Box<dyn Fn(f64) -> f64>> = vec![Box::new(|value| value), Box::new(|n| n / 1000.0)];
        // A drop that is reached is rounded so that it still is: in a sentence, or at the end of a row.
        if self.before == "drop of" || self.before.ends_with("up to") || self.row.ends_with(&self.digits) {
            ways.push(Box::new(|mm| (mm * 10.0).floor() / 10.0));
        }
        if self.before == "a drop" || self.before == "drop of" {
            ways.push(Box::new(|mm| (mm * 10.0).ceil() / 10.0));
        }
        if self.after.starts_with("in)") {
            ways.push(Box::new(|mm| mm / 25.4));
        }
        // Toe and camber in the units of racks.
        let across = self
            .row
            .split_once(" across ")
            .and_then(|(unit, rest)| Some((unit, rest.split_whitespace().next()?.parse::<f64>().ok()?)));
        match across {
            Some((unit, rim)) => {
                let rim = if unit == "in" { rim / 25.4 } else { rim };
                ways.push(Box::new(move |deg: f64| rim * deg.to_radians().sin()));
                ways.push(Box::new(move |deg: f64| 2.0 * rim * (deg / 2.0).to_radians().sin()));
            }
            None if self.row.starts_with("minutes") => ways.push(Box::new(|deg| deg * 60.0)),
            None => {}
        }
        ways.iter().any(|way| all.iter().any(|value| self.reads(way(*value))))
            || across.is_some_and(|(_, rim)| self.reads(rim))
            || self.is_total()
    }

    /// Whether it is the toe of both wheels in a row of readings, whose own ones stand before it.
    fn is_total(&self) -> bool {
        let cells: Vec<&str> = self.row.split_whitespace().collect();
        let number = |back: usize| cells.get(cells.len().checked_sub(back)?)?.parse::<f64>().ok();
        let [Some(left), Some(right), Some(total)] = [3, 2, 1].map(number) else { return false };
        cells.len() > 5 && self.reads(total) && (left + right - total).abs() < 0.0101
    }
}

#[test]
fn every_figure_of_a_page_stands_in_its_answer() {
    for line in lines() {
        let page = Shown::all(&run(&line, &[]).stdout);
        assert!(page.len() > 10, "{line}: {}", page.len());
        let all = [answered(&line), told(&line)].concat();
        for shown in &page {
            assert!(shown.is_of(&all), "{line}: {} is worked out by the page: {}", shown.digits, shown.row);
        }
    }
}

/// Parts of 100 are those of the answer.
#[test]
fn chances_stand_in_the_answer_too() {
    for line in
        lines().iter().filter(|line| ["plan", "cams", "lower"].contains(&line.split(' ').next().unwrap()))
    {
        let text = run(line, &[]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        let all = answered(line);
        for (at, _) in text.match_indices(" of 100").chain(text.match_indices(" cars of 100")) {
            let Some(part) = text[..at].rsplit(' ').next().and_then(|word| word.parse::<f64>().ok()) else {
                continue;
            };
            let known = all.iter().any(|value| ((value * 100.0).round() - part).abs() < 0.5);
            assert!(known || (part - 95.0).abs() < 0.5, "{line}: {part} of 100");
        }
    }
}

/// A page of another height is found out: the numbers of an answer do not cover whatever is shown.
#[test]
fn figures_of_another_answer_are_missed() {
    for command in ["lower", "cams", "arms", "plan", "sheet", "shop", "springs", "loads", "lockout", "tune"] {
        let line = |drop: u32| format!("{command} {FIRST} --drop {drop}");
        let all = [answered(&line(23)), told(&line(23))].concat();
        let page = Shown::all(&run(&line(37), &[]).stdout);
        let missed = page.iter().filter(|shown| !shown.is_of(&all)).count();
        assert!(missed > 4, "{command}: {missed} of {}", page.len());
    }
}
