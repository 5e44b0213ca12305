//! Single values changed in a file: nothing else in it moves by a byte, and nothing unsound is ever written.

use rodset::car::Hand;
use std::collections::BTreeMap;
use std::fs;

use insta::assert_snapshot;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use rodset::profile::{EditError, entries, remove_value, set_answer, set_value, value_at};

use crate::command::{STARTER, SURVEY_STARTER, TempFile, rodset};
use crate::layout::config;
use std::sync::LazyLock;

const CAR: &str = include_str!("../examples/tansy-wharf.toml");
const SURVEY: &str = include_str!("../examples/surveys/tansy-wharf.toml");

static TEXTS: LazyLock<[&str; 5]> = LazyLock::new(|| {
    [
        CAR,
        include_str!("../examples/sedge-mill.toml"),
        include_str!("findings/base.toml"),
        SURVEY,
        &SURVEY_STARTER,
    ]
});

/// Every value of a file under its path, by another parser's eyes; tables in lists by name, or by what they are of.
fn flat(text: &str) -> BTreeMap<String, toml::Value> {
    fn walk(path: &str, value: &toml::Value, found: &mut BTreeMap<String, toml::Value>) {
        let below = |step: &str| if path.is_empty() { step.to_owned() } else { format!("{path}.{step}") };
        match value {
            toml::Value::Table(table) => {
                table.iter().for_each(|(key, value)| walk(&below(key), value, found));
            }
            toml::Value::Array(list) if list.iter().any(toml::Value::is_table) => {
                for item in list {
                    let text = |key: &str| item.get(key).and_then(toml::Value::as_str);
                    let ends = || Some(format!("{} - {}", text("from")?, text("to")?));
                    let name = text("name").or(text("of")).or(text("link")).map(str::to_owned).or_else(ends);
                    walk(&below(&name.expect("a name")), item, found);
                }
            }
            other => {
                found.insert(path.to_owned(), other.clone());
            }
        }
    }
    let mut found = BTreeMap::new();
    walk("", &toml::Value::Table(text.parse().expect("TOML")), &mut found);
    found
}

/// A file with more comments, spaces and empty lines in it than it had, and other ends of lines.
fn ruffled(text: &str, seeds: &[u8], crlf: bool) -> String {
    let mut ruffled = String::new();
    for (line, seed) in text.lines().zip(seeds.iter().cycle()) {
        let is_header = line.starts_with('[');
        match seed % 8 {
            0 => ruffled += "# a remark, with a = sign and [brackets]\n",
            1 => ruffled += "\n",
            2 if is_header => ruffled += "  \t",
            _ => {}
        }
        ruffled += line;
        match seed % 5 {
            0 if !line.contains("\"\"\"") => ruffled += "   ",
            1 => ruffled += " # behind: \"quotes\" and = signs",
            _ => {}
        }
        ruffled += "\n";
    }
    if crlf { ruffled.replace('\n', "\r\n") } else { ruffled }
}

/// One of the paths; not one that others go by.
fn pick(values: &BTreeMap<String, toml::Value>, which: Index) -> &str {
    let names = [".of", ".link", ".name", ".from", ".to"];
    let keys: Vec<&String> =
        values.keys().filter(|key| !names.iter().any(|name| key.ends_with(name))).collect();
    keys[which.index(keys.len())]
}

/// Whether the longer text is the shorter one with a single passage more.
fn one_passage(longer: &str, shorter: &str) -> bool {
    let head = longer.bytes().zip(shorter.bytes()).take_while(|(one, other)| one == other).count();
    let back = longer.bytes().rev().zip(shorter.bytes().rev());
    let tail = back.take_while(|(one, other)| one == other).count();
    head + tail >= shorter.len()
}

fn cases() -> impl Strategy<Value = (String, Index, &'static str)> {
    let literals =
        ["-1.25", "\"8 1/4 in\"", "[1, 2.5, \"3 in\"]", "true", "'a # b'", "{ at = 1, length = 2 }"];
    let seeds = proptest::collection::vec(any::<u8>(), 17);
    (select(&TEXTS[..]), seeds, any::<bool>(), any::<Index>(), select(literals.to_vec()))
        .prop_map(|(text, seeds, crlf, which, literal)| (ruffled(text, &seeds, crlf), which, literal))
}

proptest! {
    #![proptest_config(config(300))]

    /// A changed value is changed, and the text before it and behind it is what it was.
    #[test]
    fn only_the_value_changes((text, which, literal) in cases()) {
        let values = flat(&text);
        let key = pick(&values, which);
        let change = set_value(&text, key, literal).expect("the key is there");
        let before = change.before.expect("a value stood there");
        let same = text.bytes().zip(change.text.bytes()).take_while(|(old, new)| old == new).count();
        let fits = (0..=same).rev().any(|at| {
            text.is_char_boundary(at)
                && text[at..].starts_with(&before)
                && change.text == [&text[..at], literal, &text[at + before.len()..]].concat()
        });
        prop_assert!(fits, "{key}: more than the value changed");
        let wanted = format!("value = {literal}").parse::<toml::Table>().expect("TOML")["value"].clone();
        let mut expected = values.clone();
        expected.retain(|path, _| path != key);
        let mut found = flat(&change.text);
        found.retain(|path, _| path != key && !path.starts_with(&format!("{key}.")));
        prop_assert_eq!(found, expected);
        if !wanted.is_table() {
            prop_assert_eq!(&flat(&change.text)[key], &wanted);
        }
    }

    /// What was taken out is gone with one passage of the text; put back, it is there again and nothing else is lost.
    #[test]
    fn a_key_taken_out_and_put_back((text, which, _) in cases()) {
        let values = flat(&text);
        let key = pick(&values, which);
        let out = remove_value(&text, key).expect("the key is there");
        prop_assert!(one_passage(&text, &out.text), "{key}: one passage is cut out");
        let mut expected = values.clone();
        expected.remove(key);
        prop_assert_eq!(flat(&out.text), expected);
        let back = set_value(&out.text, key, &out.before.expect("a value stood there")).expect("it has a place");
        prop_assert_eq!(&flat(&back.text), &values);
        prop_assert!(one_passage(&back.text, &out.text), "{key}: one passage is put in");
        prop_assert_eq!(back.text.matches("\r\n").count() > 0, text.contains("\r\n"));
        prop_assert!(!text.contains("\r\n") || back.text.matches('\n').count() == back.text.matches("\r\n").count());
    }

    /// Whatever is asked for: an answer or a reason, and what comes out is TOML again.
    #[test]
    fn any_key_and_any_answer(text in select(&TEXTS[..]), key in "[a-z .\"=\\[\\]#-]{0,30}", answer in "\\PC{0,20}") {
        if let Ok(change) = set_answer(text, &key, &answer) {
            prop_assert!(change.text.parse::<toml::Table>().is_ok());
            prop_assert_eq!(value_at(&change.text, &key).ok().flatten(), change.now);
        }
        if let Ok(change) = remove_value(text, &key) {
            prop_assert!(change.text.parse::<toml::Table>().is_ok());
        }
    }
}

/// The lines of a text that another one does not have, as `+ line`, and the other way round as `- line`.
fn difference(before: &str, after: &str) -> String {
    let lines = |text: &str, other: &str, mark: &str| -> String {
        let other: Vec<&str> = other.lines().collect();
        let lines = text.lines().filter(|line| !other.contains(line));
        lines.flat_map(|line| [mark, " ", line, "\n"]).collect()
    };
    lines(before, after, "-") + &lines(after, before, "+")
}

#[test]
fn where_values_go() {
    let changes: &[(&str, &str, &str)] = &[
        (CAR, "wheel.camber", "-0°45'"),
        (CAR, "link.upper.subframe.z", "17 3/4 in"),
        (CAR, "link.lower rear.knuckle", "-15, 690, 7 1/2 in"),
        (CAR, "link.upper.arm.engaged.minimum", "20"),
        (CAR, "link.lower front.cam.eccentricity", "3"),
        (CAR, "spec.pitch", "0.5"),
        (CAR, "sigma.point", "1.5"),
        (CAR, "loads.kerb", "1, 3, 0"),
        (CAR, "right.link.lower front.subframe", "115, -346, 197"),
        (CAR, "keepout.ear.radius", "12"),
        (CAR, "car.name", "2025"),
        (&STARTER, "car.name", "Mill car"),
        (&STARTER, "wheel.camber", "-1.25"),
        (&STARTER, "link.toe.subframe", "-160, 360, 220"),
        (SURVEY, "survey.height.upper subframe", "450"),
        (SURVEY, "survey.pair.upper subframe", "890"),
        (SURVEY, "survey.slope.upper", "3.5 deg"),
        (SURVEY, "survey.tape.toe subframe - lower rear subframe", "110"),
        (SURVEY, "survey.tape.wheel centre - traction knuckle", "140"),
        (SURVEY, "survey.height.upper subframe.sigma", "3"),
    ];
    let told = changes.iter().map(|(text, key, answer)| {
        let change = set_answer(text, key, answer).unwrap_or_else(|error| panic!("{key}: {error}"));
        format!("{key}={answer}\n{}\n", difference(text, &change.text))
    });
    assert_snapshot!(told.collect::<String>());
}

#[test]
fn what_cannot_be_changed_is_said() {
    let error = |text: &str, key: &str| set_answer(text, key, "1").expect_err(key);
    let near = remove_value(CAR, "wheel.cmber");
    assert_eq!(
        near,
        Err(EditError::Nothing { key: "wheel.cmber".to_owned(), near: Some("wheel.camber".to_owned()) })
    );
    assert_eq!(remove_value(CAR, "wheel.centre.y"), Err(EditError::Part("wheel.centre.y".to_owned())));
    assert!(matches!(error(CAR, "link.uper.radius"), EditError::NoLink { name, .. } if name == "uper"));
    assert!(matches!(error(CAR, "right.link.uper.radius"), EditError::NoLink { name, .. } if name == "uper"));
    assert!(matches!(error(CAR, "wheel..camber"), EditError::Unclear(_)));
    assert!(matches!(error(CAR, ""), EditError::Unclear(_)));
    assert!(matches!(error("a = = 1", "a"), EditError::NotToml(_)));
    let twice = SURVEY.replacen("height = [", "height = [\n  { of = \"upper knuckle\", reads = 1 },", 1);
    assert!(matches!(error(&twice, "survey.height.upper knuckle"), EditError::Several(_)));
    assert!(matches!(set_value(CAR, "wheel.camber", "1, 2"), Err(EditError::NotAValue(_))));
}

#[test]
fn entries_that_were_left_out_stand_again_once_they_have_a_reading() {
    let out = rodset::profile::leave_out(SURVEY, "survey.arm.toe").expect("it has its own line");
    assert_eq!(
        difference(SURVEY, &out),
        "-   { link = \"toe\", reads = 328 },\n+   #- { link = \"toe\", reads = 328 },\n"
    );
    let of_toe = |text: &str| {
        entries(text)
            .expect("TOML")
            .into_iter()
            .find(|entry| entry.key == "survey.arm.toe")
            .expect("an entry")
    };
    assert!(of_toe(&out).left_out);
    let back = set_answer(&out, "survey.arm.toe", "329").expect("it stands again").text;
    assert_eq!(of_toe(&back).reads.as_deref(), Some("329"));
    assert_eq!(back, SURVEY.replace("\"toe\", reads = 328", "\"toe\", reads = 329"));
}

#[test]
fn the_program_says_what_was_and_what_is() {
    let file = TempFile::new(CAR);
    let line = [
        "set",
        file.path(),
        "wheel.camber=-1.2",
        "wheel.toe=0°06'",
        "spec.pitch=0.1",
        "--remove",
        "link.upper.cam",
    ];
    let run = rodset(&line);
    assert_snapshot!("set", run.all().replace(file.path(), "my-car.toml"));
    let again = rodset(&["set", file.path(), "wheel.camber=-1.2", "--format", "json"]).json();
    assert_eq!(again["written"], false, "nothing to do");
    assert_eq!(again["changes"][0]["before"], "-1.2");
}

#[test]
fn nothing_unsound_is_written() {
    let text = CAR.replace('\n', "\r\n");
    let file = TempFile::new(&text);
    let mut told = String::new();
    for line in [
        &["wheel.camber=-45"][..],
        &["wheel.cmber=-1"],
        &["link.upper.subframe.y=-447"],
        &["link.upper.sets=height"],
        &["wheel.toe=0.1", "link.upper.arm.shortest=300"],
        &["--remove", "wheel.camber"],
        &["--remove", "link.upper"],
        &["keepout.ear.shape=sphere"],
        &["wheel.camber"],
        &["wheel.camber="],
        &["survey.height.upper subframe=449"],
    ] {
        let run = rodset(&[&["set", file.path()][..], line].concat());
        assert_ne!(run.status, 0, "{line:?}");
        told += &format!(
            "$ rodset set my-car.toml {}\n{}\n",
            line.join(" "),
            run.all().replace(file.path(), "my-car.toml")
        );
        assert_eq!(fs::read_to_string(file.path()).expect("the file"), text, "{line:?}");
    }
    assert_snapshot!("set_refused", told);
    let dry = rodset(&["set", file.path(), "wheel.camber=-1", "--dry-run"]);
    assert_eq!((dry.status, fs::read_to_string(file.path()).expect("the file")), (0, text.clone()));
    assert_eq!(rodset(&["set", file.path(), "wheel.camber=-1"]).status, 0);
    let written = fs::read_to_string(file.path()).expect("the file");
    assert_eq!(written, text.replacen("camber = -1.1 ", "camber = -1 ", 1), "line endings stay");
}

/// In a file that is still unfinished what is missing is no reason to refuse, what is wrong is.
#[test]
fn an_unfinished_file_takes_what_is_right() {
    let file = TempFile::new(STARTER.as_str());
    let set = |change: &str| rodset(&["set", file.path(), change]);
    assert_eq!(set("wheel.centre=0, 750, 310").status, 0);
    assert_eq!(set("wheel.camber=-45").status, 1);
    let fine = set("wheel.camber=-1.1");
    assert!(fine.stdout.contains("Still unfinished"), "{}", fine.stdout);
    assert_eq!(set("wheel.toe=0.1").status, 0);
    assert_eq!(set("link.upper.subframe=0, -440, 450").status, 1, "before the other end is there");
    assert_eq!(set("link.upper.subframe=0, 440, 450").status, 0);
    assert_eq!(
        value_at(&fs::read_to_string(file.path()).expect("the file"), "wheel.camber"),
        Ok(Some("-1.1".to_owned()))
    );
}

#[test]
fn a_record_is_only_added_to() {
    let path = "examples/records/tansy-wharf.toml";
    let before = fs::read(path).expect("the record");
    let run = rodset(&["set", path, "heights.rear_left=370"]);
    assert_eq!(run.status, 1);
    assert!(run.stderr.contains("only added to"), "{}", run.stderr);
    assert_eq!(fs::read(path).expect("the record"), before);
    assert_eq!(rodset(&["set", "no-such-file.toml", "a=1"]).status, 1);
}

#[cfg(unix)]
#[test]
fn a_write_protected_file_stays() {
    use std::os::unix::fs::PermissionsExt;
    let file = TempFile::new(CAR);
    fs::set_permissions(file.path(), fs::Permissions::from_mode(0o444)).expect("our file");
    let run = rodset(&["set", file.path(), "wheel.camber=-1"]);
    assert!(run.status == 1 && run.stderr.contains("write-protected"), "{}", run.all());
    assert_eq!(fs::read_to_string(file.path()).expect("the file"), CAR);
}

/// A car in which every kind of table can be put that it has not.
const BARE: &str = include_str!("findings/base.toml");

/// What the schema knows is made where it is not there yet, on either side, and nothing else moves.
#[test]
fn tables_and_entries_are_made_where_they_are_not_there() {
    for (key, value, lines) in [
        (
            "right.link.toe.cam.setting",
            "-10",
            "\n\n[[right.link]]\nname = \"toe\"\n\n[right.link.cam]\nsetting = -10\n",
        ),
        (
            "right.link.toe.cam.setting",
            "2 marks inboard",
            "[right.link.cam]\nsetting = \"2 marks inboard\"\n",
        ),
        (
            "right.link.lower rear.bracket_rating",
            "24 kN",
            "[[right.link]]\nname = \"lower rear\"\nbracket_rating = \"24 kN\"\n",
        ),
        ("right.link.upper.subframe", "-2, -448, 449", "subframe = [-2, -448, 449]\n"),
        ("right.ride.arch_gap", "372", "\n\n[right.ride]\narch_gap = 372\n"),
        ("right.spec.camber", "-1.2", "\n\n[right.spec]\ncamber = -1.2\n"),
        ("right.link.upper.bolt.torque", "90", "[right.link.bolt]\ntorque = 90\n"),
        ("link.toe.section.outer", "22", "\n\n[link.section]\nouter = 22\n"),
        ("sigma.point", "1.5", "\n\n[sigma]\npoint = 1.5\n"),
    ] {
        let change = set_answer(CAR, key, value).expect(key);
        assert_eq!(value_at(&change.text, key).expect("TOML"), change.now, "{key}");
        assert!(change.text.contains(lines), "{key}: {}", &change.text[CAR.len() - 200..]);
        // Every byte that was there is there still, in its order.
        let mut rest = change.text.chars();
        assert!(CAR.chars().all(|c| rest.any(|other| other == c)), "{key}");
        toml::from_str::<toml::Table>(&change.text).expect(key);
        let sound = rodset::profile::read(&change.text);
        assert!(sound.is_ok() || key.contains("section"), "{key}: {sound:?}");
        // Once more, and it is changed where it stands.
        let again = set_answer(&change.text, key, value).expect(key);
        assert_eq!(again.text, change.text, "{key}");
    }
    // Two things of one link go into one entry; two links into two.
    let one = set_answer(CAR, "right.link.toe.cam.setting", "-10").expect("made").text;
    let two = set_answer(&one, "right.link.toe.arm.longest", "350").expect("made").text;
    let three = set_answer(&two, "right.link.upper.cam.setting", "0").expect("made").text;
    assert_eq!(three.matches("[[right.link]]").count(), 2);
    let car = rodset::profile::read(&three).expect("sound").car;
    let found = |side: usize, link: usize| {
        car.sides[Hand::BOTH[side]].links[link].cam.expect("a cam").setting.to_degrees()
    };
    for (side, link, degrees) in [(0, 0, 15.0), (1, 0, 0.0), (0, 1, 0.0), (1, 1, -10.0)] {
        assert!((found(side, link) - degrees).abs() < 1e-12);
    }
}

/// The same where [right] is written in another way.
#[test]
fn overrides_are_made_in_every_way_of_writing_them() {
    for head in [
        "right.wheel.camber = -0.9\n",
        "right = { wheel = { camber = -0.9 } }\n",
        "right = { link = [{ name = \"upper\", cam = { setting = 3.0 } }] }\n",
        "right.link = [{ name = \"upper\", cam.setting = 3.0 }]\n",
        "right.link = [\n  { name = \"upper\", cam.setting = 3.0 },\n]\n",
    ] {
        let text = BARE.replacen("format = 1\n", &format!("format = 1\n{head}"), 1);
        rodset::profile::read(&text).unwrap_or_else(|findings| panic!("{head}: {findings:?}"));
        for (key, value) in
            [("right.link.toe.radius", "11.0"), ("right.ride.arch_gap", "371.0"), ("right.wheel.toe", "0.02")]
        {
            let change = set_value(&text, key, value).unwrap_or_else(|error| panic!("{head}{key}: {error}"));
            assert_eq!(value_at(&change.text, key).expect("TOML").as_deref(), Some(value), "{head}");
            rodset::profile::read(&change.text)
                .unwrap_or_else(|findings| panic!("{}: {findings:?}", change.text));
        }
    }
}

/// What would make the profile unsound is refused, and the file stays as it is.
#[test]
fn nothing_unsound_is_made() {
    for (change, told) in [
        ("right.link.toe.cam.setting=95", "a cam turns 90 degrees either way"),
        ("right.link.toe.cam.setting=4 mm", "past the end of the slot"),
        ("right.link.toe.cam.settings=5", "there is no key `settings` here"),
        ("right.link.tow.cam.setting=5", "there is no link called \"tow\""),
        ("link.tie.subframe=1, 2, 3", "there is no link called \"tie\""),
        ("right.link.traction.cam.setting=5", "keys are missing in [link.cam]"),
        ("right.ride.arch_gap=13", "is very little"),
        ("right.car.name=x", "there is no key `car` here"),
        ("right.link.toe.subframe.y=-360", "one coordinate alone cannot be set"),
        ("right.link.toe.subframe=-165, 359, 218", "wrong side of the centreline"),
    ] {
        let file = TempFile::new(CAR);
        let run = rodset(&["set", file.path(), change]);
        let told_so = run.all().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told_so.contains(told), "{change}: {told_so}");
        if told != "is very little" {
            assert_eq!(run.status, 1, "{change}: {told_so}");
            assert_eq!(fs::read_to_string(file.path()).expect("the file"), CAR, "{change}");
        }
    }
}
