//! The keys of the files: each stands in few places, and what is told of one is told everywhere alike.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use rodset::profile::{
    KeyTable, Kind, Need, Severity, interview_starter, known_keys, meant, profile_starter, read,
    record_starter, root, survey_starter,
};

use crate::command::{TempFile, rodset};

/// A declaration and what makes the car of it, and one more.
const MOST_FILES: usize = 3;

fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    entries.flat_map(|path| if path.is_dir() { sources(&path) } else { vec![path] }).collect()
}

/// The code of a file without comments and tests.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap_or_default();
    let text = text.split("#[cfg(test)]").next().unwrap_or_default();
    text.lines().map(|line| line.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

/// The tables of a profile or a survey, each once.
fn tables() -> BTreeMap<&'static str, &'static KeyTable> {
    fn walk(table: &'static KeyTable, found: &mut BTreeMap<&'static str, &'static KeyTable>) {
        if found.insert(table.name, table).is_none() {
            table.keys.iter().filter_map(|key| key.table()).for_each(|table| walk(table, found));
        }
    }
    let mut found = BTreeMap::new();
    walk(root(false), &mut found);
    found
}

/// Whether a text has a word that is no part of another.
fn has_word(text: &str, word: &str) -> bool {
    let part = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
    text.match_indices(word)
        .any(|(at, _)| !part(text[..at].chars().next_back()) && !part(text[at + word.len()..].chars().next()))
}

/// The texts in quotes of some code.
fn quoted(code: &str) -> impl Iterator<Item = &str> {
    code.split('"').skip(1).step_by(2)
}

/// The tables to which a key of this name leads.
fn below(tables: &BTreeMap<&'static str, &'static KeyTable>, name: &str) -> BTreeSet<&'static str> {
    let keys = tables.values().flat_map(|table| table.keys).filter(|key| key.name == name);
    keys.filter_map(|key| Some(key.table()?.name)).collect()
}

/// A value of a profile or a survey is reached by its declared key, `KeyTable::key` (no other way compiles), or by its path in
/// quotes; in `profile/edit`, which changes texts, by its name in quotes too. All files of `src` and `data` count in which one
/// of these stands. Tables hold the values together and `name` says whose they are: these are how paths are made, not values.
#[test]
fn a_key_stands_in_few_files() {
    let home = Path::new(env!("CARGO_MANIFEST_DIR"));
    let files: Vec<(PathBuf, String)> = ["src", "data"]
        .iter()
        .flat_map(|folder| sources(&home.join(folder)))
        .map(|path| (path.strip_prefix(home).expect("inside").to_owned(), code(&path)))
        .collect();
    let tables = tables();
    let mut crowded = Vec::new();
    let mut count = 0;
    for table in tables.values() {
        for key in table.keys.iter().filter(|key| key.table().is_none() && key.name != "name") {
            // What Rust keeps for itself is declared under another name.
            let ident = if key.name == "yield" { "yields" } else { key.name };
            let used = format!("{}::{ident}", table.name);
            let leads = |step: &str| below(&tables, step).contains(table.name);
            let by_path = |text: &str| {
                let steps: Vec<&str> = text.split('.').collect();
                !text.contains(' ')
                    && (1..steps.len()).any(|i| {
                        steps[i] == key.name && (leads(steps[i - 1]) || i > 1 && leads(steps[i - 2]))
                    })
            };
            let is_table_too = !below(&tables, key.name).is_empty();
            let stands = |(path, code): &&(PathBuf, String)| {
                let declares = path.starts_with("src/profile/keys")
                    && code.contains(&format!("{} {{", table.name))
                    && code.lines().any(|line| {
                        let line = line.trim_start();
                        line.starts_with(&format!("{ident}: ")) || line.starts_with(&format!("{ident} as "))
                    });
                let alone = path.starts_with("src/profile/edit") && !is_table_too;
                let in_quotes = quoted(code).any(|text| by_path(text) || alone && text == key.name);
                // A record has tables of the same names.
                let of_record = path.starts_with("src/profile/record") || path.ends_with("keys/record.rs");
                !of_record && (declares || has_word(code, &used)) || in_quotes
            };
            let places: BTreeSet<String> =
                files.iter().filter(stands).map(|(path, _)| path.display().to_string()).collect();
            assert!(!places.is_empty(), "{used} is nowhere");
            count += 1;
            if places.len() > MOST_FILES {
                crowded.push(format!("{used}: {}", places.into_iter().collect::<Vec<_>>().join(", ")));
            }
        }
    }
    assert!(count > 110, "{count}");
    assert!(crowded.is_empty(), "in more than {MOST_FILES} files:\n{}", crowded.join("\n"));
}

/// Its meaning says more than its name, with the unit of what is measured; a length that nobody would believe has a range.
#[test]
fn every_key_says_what_it_is() {
    for known in [known_keys(false), known_keys(true)].concat() {
        let (path, key) = (known.path, known.key);
        let meaning = key.meaning.trim();
        assert!(meaning.len() > 8 && meaning.ends_with(['.', '…']), "{path}: {meaning:?}");
        if let Kind::Length = key.kind {
            let says = meaning.contains("mm")
                || key.name == "drop"
                || path.starts_with("survey.") && key.name == "reads";
            assert!(says, "{path} does not say its unit: {meaning:?}");
        }
        if let (Some([least, most]), Some(example)) = (key.range, key.examples().first()) {
            let number = example
                .as_float()
                .or(example.as_integer().map(|number| f64::from(i32::try_from(number).expect("small"))));
            assert!(number.is_none_or(|number| (least..=most).contains(&number)), "{path}: {example}");
        }
        assert!(key.table().is_some() || !key.examples().is_empty(), "{path} has no example");
    }
}

/// A value just inside the declared range is taken and one just outside is refused, by the one check that there is.
#[test]
fn ranges_are_held() {
    let base = include_str!("findings/base.toml");
    let with = |line: &str| {
        let text = base.replacen("wheelbase = 2500.0", line, 1);
        read(&text).map_or_else(|findings| findings, |checked| checked.warnings)
    };
    for known in known_keys(false) {
        let Some([least, most]) = known.key.range.filter(|_| known.path.starts_with("car.")) else {
            continue;
        };
        for (value, fine) in [(least, true), (most, true), (most * 1.01, false), (least - 1.0, false)] {
            let name = known.key.name;
            let told = with(&format!("{name} = {value:?}"));
            let errors: Vec<_> = told
                .iter()
                .filter(|finding| {
                    finding.severity == Severity::Error && finding.key.as_deref() == Some(&known.path)
                })
                .collect();
            assert_eq!(errors.is_empty(), fine, "{name} = {value}: {errors:?}");
        }
    }
}

/// What starters show is told of by its declaration, whichever file it stands in.
#[test]
fn starters_show_every_key_that_is_to_be_shown() {
    let all = [profile_starter("", None), survey_starter("", false, None), record_starter("")].concat();
    for known in [known_keys(false), known_keys(true)].concat() {
        let key = known.key;
        let is_value =
            key.table().is_none() && !known.path.contains("NAME.") || known.path.starts_with("link.NAME");
        if key.shown && is_value && key.table().is_none() && key.need != Need::Always {
            assert!(has_word(&all, key.name), "{} is in no starter", known.path);
        }
    }
    let asked = interview_starter("", None)
        + include_str!("../data/starter-typical.txt")
        + include_str!("../data/typical-rods.txt")
        + include_str!("../data/typical-strut.txt");
    for known in known_keys(false).iter().filter(|known| known.key.question.is_some()) {
        let listed = known.path.starts_with("survey.");
        assert!(listed || has_word(&asked, known.key.name), "{} is asked for and waits nowhere", known.path);
    }
}

#[test]
fn a_key_can_be_looked_up() {
    let page = rodset(&["keys", "wheel.toe"]);
    assert_eq!(page.status, 0, "{}", page.stderr);
    for words in [
        "wheel.toe  (needed)",
        "plus: toe-in",
        "-20 to 20 degrees",
        "0.8 mm",
        "on the rim, never on the tyre",
    ] {
        assert!(page.stdout.contains(words), "{words}: {}", page.stdout);
    }
    let arm = rodset(&["keys", "link.upper.arm.misalignment"]).stdout;
    assert!(arm.starts_with("link.NAME.arm.misalignment\n"), "{arm}");
    let all = rodset(&["keys"]).stdout;
    for known in known_keys(false) {
        assert!(all.contains(&known.path), "{}", known.path);
    }
    assert!(rodset(&["keys", "--record", "reading.NAME.left.rim"]).stdout.contains("hub height"));
    let wrong = rodset(&["keys", "wheel.cambre"]);
    assert!(wrong.status == 2 && wrong.stderr.contains("did you mean `wheel.camber`?"), "{}", wrong.stderr);
}

/// A key that nobody knows is answered with the one that is meant, also where it was put into the wrong table.
#[test]
fn what_is_meant_is_said() {
    for (typed, wanted) in [
        ("wheel.cmber", Some("wheel.camber")),
        ("rim_diameter", Some("wheel.rim_diameter")),
        ("misaligment", Some("link.NAME.arm.misalignment")),
        ("link.upper.arm.shortst", Some("link.upper.arm.shortest")),
        ("link.lower rear.knuckel", Some("link.lower rear.knuckle")),
        ("wheel.camber", None),
        ("right.wheel.camber", None),
        ("link.toe.knuckle.z", None),
        ("survey.height.upper subframe", None),
        ("quite another thing", None),
    ] {
        assert_eq!(meant(typed).as_deref(), wanted, "{typed}");
    }
    let file = TempFile::new(include_str!("../examples/tansy-wharf.toml"));
    let refused = rodset(&["set", file.path(), "misalignment=15"]);
    assert_eq!(refused.status, 1);
    assert!(refused.stderr.contains("did you mean `link.NAME.arm.misalignment`?"), "{}", refused.stderr);
}

/// Shells offer the keys where one is typed.
#[test]
fn shells_offer_keys() {
    for shell in ["bash", "zsh", "fish"] {
        let script = rodset(&["shell", shell]).stdout;
        assert!(script.contains("link.upper.arm.shortest"), "{shell}");
        // That of fish has nothing for what is no option.
        assert!(script.contains("wheel.camber=") || shell == "fish", "{shell}");
    }
    // Help has no room for them, and any other key is taken as it is.
    assert!(!rodset(&["set", "--help"]).stdout.contains("possible values: format"));
}

/// A file with the former names of keys reads as it did; one that has a key by both names is refused and told which to leave out.
#[test]
fn former_names_are_still_read() {
    let text = include_str!("../examples/tansy-wharf.toml");
    let car = read(text).expect("a sound profile").car;
    let formerly = [("lubrication = \"dry\"", "threads = \"dry\""), ("lead = 2.0", "pitch = 2.0")];
    for (name, former) in formerly {
        assert!(text.contains(name));
        let old = read(&text.replace(name, former)).expect("as it was").car;
        assert_eq!(old, car, "{former}");
        let both = read(&text.replacen(name, &format!("{former}\n{name}"), 1));
        let told =
            both.expect_err("twice the same").into_iter().map(|finding| finding.headline).collect::<String>();
        assert!(told.contains("former name"), "{told}");
    }
    let on_link = |key: &str| {
        let seat = format!("on = \"lower rear\"\n{key} = 220.0\n");
        let lower = text.lines().find(|line| line.starts_with("lower = ")).expect("where the spring sits");
        read(&text.replacen(lower, &seat, 1)).expect("a spring on a link").car
    };
    assert_eq!(on_link("along"), on_link("from_inner"));
}
