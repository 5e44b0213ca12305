//! What the program writes: whole or not at all, into its own place, never over something else, and told as it was.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::Path;
use std::process::Output;
use std::thread;
use std::time::Duration;

use serde_json::Value;

use crate::command::{rodset, shell, workplace};

const CAR: &str = "examples/tansy-wharf.toml";
const RECORD: &str = "examples/records/tansy-wharf.toml";

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// One line of shell and what it said, with its exit status.
fn run(folder: &Path, line: &str) -> (Option<i32>, String) {
    let Output { status, stdout, stderr } = shell(folder, line, &[]);
    (status.code(), text(&stdout) + &text(&stderr))
}

#[track_caller]
fn refused(folder: &Path, line: &str, why: &str) {
    let (status, told) = run(folder, line);
    assert!(matches!(status, Some(1 | 2)) && told.contains(why), "{line}: {status:?} {told}");
}

#[test]
fn devices_pipes_and_links_stay_what_they_are() {
    let folder = workplace();
    let at = |name: &str| folder.path().join(name);
    shell(folder.path(), &format!("rodset check {CAR} --output first.txt"), &[]);
    let page = fs::read(at("first.txt")).expect("a page");
    let (status, told) = run(
        folder.path(),
        &format!(
            "mkfifo pipe && (cat pipe > got &) && rodset check {CAR} --output pipe && sleep 0.1 && test -p pipe"
        ),
    );
    assert_eq!(status, Some(0), "{told}");
    assert_eq!(fs::read(at("got")).expect("what came through"), page);
    for (link, to) in [("null", "/dev/null"), ("link", "page.txt"), ("again", "link")] {
        symlink(to, at(link)).expect("a link");
        let (status, told) = run(folder.path(), &format!("rodset check {CAR} --output {link}"));
        assert_eq!(status, Some(0), "{told}");
        assert!(at(link).is_symlink(), "{link}");
    }
    assert_eq!(fs::read(at("page.txt")).expect("the page"), page);
    refused(folder.path(), &format!("rodset check {CAR} --output /dev/full"), "nothing was written");
    let (_, told) = run(folder.path(), &format!("rodset check {CAR} --output /dev/stdout 2>/dev/null | cat"));
    assert_eq!(told, text(&page));
}

#[test]
fn modes_owners_and_other_names_stay() {
    let folder = workplace();
    let page = folder.path().join("page.txt");
    let line = format!("rodset check {CAR} --output page.txt");
    let profile = folder.path().join(CAR);
    let set = format!("rodset set {CAR} wheel.camber=-1.3");
    fs::write(&page, "").expect("an empty file");
    for (path, line) in [(&page, &line), (&profile, &set)] {
        fs::set_permissions(path, fs::Permissions::from_mode(0o600)).expect("it is ours");
        // Only who may do everything can give a file away.
        let given = std::os::unix::fs::chown(path, Some(12), Some(34)).is_ok();
        let (status, told) = run(folder.path(), line);
        assert_eq!(status, Some(0), "{told}");
        let now = fs::metadata(path).expect("it is there");
        assert_eq!(now.mode() & 0o777, 0o600, "{line}");
        assert!(!given || (now.uid(), now.gid()) == (12, 34), "{line}");
    }
    let other = folder.path().join("other");
    for (path, line) in [(&page, &line), (&profile, &set.replace("1.3", "1.4"))] {
        fs::hard_link(path, &other).expect("another name");
        let (status, told) = run(folder.path(), line);
        assert_eq!(status, Some(0), "{told}");
        assert_eq!(fs::metadata(path).expect("it is there").nlink(), 2, "{line}");
        assert_eq!(fs::read(path).expect("one name"), fs::read(&other).expect("the other"));
        fs::remove_file(&other).expect("it is ours");
    }
    fs::set_permissions(&page, fs::Permissions::from_mode(0o444)).expect("it is ours");
    let before = fs::read(&page).expect("the page");
    for force in ["", " --force"] {
        refused(folder.path(), &format!("{line}{force} --length-unit in"), "write-protected");
    }
    assert_eq!(fs::read(&page).expect("the page"), before);
}

/// By whatever name it goes: what a page is made of is not destroyed by it, forced or not.
#[test]
fn no_page_is_written_over_what_it_is_made_of() {
    let folder = workplace();
    let at = |name: &str| folder.path().join(name);
    fs::copy(at(CAR), at("mycar")).expect("a copy");
    fs::copy(at(RECORD), at("rec.txt")).expect("a copy");
    fs::copy(at("examples/surveys/tansy-wharf.toml"), at("survey")).expect("a copy");
    symlink("mycar", at("link")).expect("a link");
    fs::hard_link(at("mycar"), at("hard")).expect("another name");
    let before = ["mycar", "rec.txt", "survey"].map(|name| fs::read(at(name)).expect("a file"));
    let mut tried = 0;
    for line in [
        "plan mycar --drop 40 --output mycar",
        "plan mycar --drop 40 --output ./examples/../mycar",
        "plan mycar --drop 40 --output link",
        "plan link --drop 40 --output mycar",
        "plan mycar --drop 40 --output hard",
        "check - --output mycar < mycar",
        "readings mycar rec.txt --output rec.txt",
        "correct mycar --record rec.txt --output rec.txt",
        "correct mycar --record rec.txt --left=-1.2,0.1 --output rec.txt",
        "survey survey --output survey",
        "survey survey --sheet --output survey",
        "starter --like mycar new.toml --output mycar",
    ] {
        for force in ["", " --force"] {
            fs::write(at("rec.txt"), &before[1]).expect("it is ours");
            let _ = fs::remove_file(at("new.toml"));
            refused(
                folder.path(),
                &format!(
                    "rodset {}",
                    line.replace(" <", &format!("{force} <")) + if line.contains('<') { "" } else { force }
                ),
                "this very run",
            );
            tried += 1;
        }
    }
    let after = ["mycar", "rec.txt", "survey"].map(|name| fs::read(at(name)).expect("a file"));
    assert_eq!((&before[0], &before[2]), (&after[0], &after[2]));
    assert!(after[1].starts_with(&before[1]));
    assert_eq!(tried, 24);
}

#[test]
fn a_page_takes_the_place_of_its_like_only() {
    let folder = workplace();
    let at = |name: &str| folder.path().join(name);
    let mut tried = 0;
    for (held, name, force) in [
        ("Notes for Sunday: buy milk\n", "notes.txt", true),
        ("{ \"mine\": 1 }\n", "page.txt", true),
        ("\u{1}\u{2}binary", "image", true),
        ("format = 1\n", "profile", true),
        ("", "empty", false),
        ("Plan: another car\n", "plan.txt", false),
    ] {
        fs::write(at(name), held).expect("it is ours");
        let line = format!("rodset plan {CAR} --drop 40 --output {name}");
        if force {
            refused(folder.path(), &line, "--force");
            assert_eq!(fs::read_to_string(at(name)).expect("the file"), held);
        }
        let (status, told) = run(folder.path(), &(line + if force { " --force" } else { "" }));
        assert_eq!(status, Some(0), "{told}");
        assert!(fs::read_to_string(at(name)).expect("the page").starts_with("Plan: Tansy"));
        tried += 1;
    }
    fs::write(at("mine.svg"), "<?xml version=\"1.0\"?><svg/>\n").expect("it is ours");
    let line = format!("rodset draw {CAR} --drop 40 --svg mine.svg");
    refused(folder.path(), &line, "--force");
    assert_eq!(run(folder.path(), &format!("{line} --force && {line}")).0, Some(0));
    // Each form of an answer over itself.
    for (format, name) in [("json", "a.json"), ("html", "a.html"), ("csv", "a.csv"), ("text", "a.txt")] {
        let line = format!("rodset travel {CAR} --drop 40 --format {format} --output {name}");
        assert_eq!(run(folder.path(), &format!("{line} && {line}")).0, Some(0), "{format}");
        tried += 1;
    }
    assert_eq!(tried, 10);
}

#[test]
fn a_dash_is_standard_output() {
    let folder = workplace();
    let page = shell(folder.path(), &format!("rodset check {CAR}"), &[]);
    let dashed = shell(folder.path(), &format!("rodset check {CAR} --output -"), &[]);
    assert_eq!((&page.stdout, dashed.stderr.len()), (&dashed.stdout, 0));
    let drawn = shell(folder.path(), &format!("rodset draw {CAR} --drop 40 --svg -"), &[]);
    assert!(text(&drawn.stdout).contains("<svg") && text(&drawn.stdout).trim_end().ends_with("</svg>"));
    assert!(text(&drawn.stderr).contains("wrote -"), "the page goes where messages go");
    assert_eq!(fs::read_dir(folder.path()).expect("the folder").count(), 1, "no file called -");
}

/// Two programs at once, again and again: whatever was told to be done is there.
#[test]
fn of_two_at_once_neither_loses_anything() {
    let folder = workplace();
    let (profile, record) = (folder.path().join(CAR), folder.path().join("record.toml"));
    let value = |key: &str| {
        let file: toml::Value =
            toml::from_str(&fs::read_to_string(&profile).expect("the file")).expect("TOML");
        file["wheel"][key].as_float().expect("a number")
    };
    let mut tried = 0;
    for i in 0..15_u32 {
        let wanted = [-1.0 - f64::from(i) / 100.0, 0.01 * f64::from(i) + 0.001];
        let line = format!(
            "rodset set {CAR} wheel.camber={:?} & first=$!; rodset set {CAR} wheel.toe={:?}; second=$?; wait $first && exit $second",
            wanted[0], wanted[1]
        );
        let (status, told) = run(folder.path(), &line);
        assert_eq!(status, Some(0), "{told}");
        let now = [value("camber"), value("toe")];
        assert!(
            now.iter().zip(wanted).all(|(now, wanted)| (now - wanted).abs() < 1e-9),
            "{now:?} {wanted:?}"
        );
        tried += 2;
    }
    assert_eq!(rodset(&["starter", "--record", record.to_str().expect("a plain path")]).status, 0);
    fs::write(&record, "format = 1\n").expect("it is ours");
    let add =
        format!("rodset correct {CAR} --record record.toml --drop 40 --again --left=-1.2,0.1 >/dev/null");
    for _ in 0..4 {
        let (status, told) =
            run(folder.path(), &format!("{add} & first=$!; {add}; second=$?; wait $first; echo $? $second"));
        assert!(status == Some(0) && told.contains("0 0") || told.contains("3 3"), "{told}");
        tried += 2;
    }
    let readings = fs::read_to_string(&record).expect("the record").matches("[[reading]]").count();
    assert_eq!((readings, tried), (8, 38));
}

/// An editor asks nobody for a lock. What it saved while the program was at work is never lost.
#[test]
fn what_an_editor_saves_meanwhile_stays() {
    let folder = workplace();
    let profile = folder.path().join(CAR);
    let original = fs::read_to_string(&profile).expect("the profile");
    let mut told_changed = 0;
    for i in 0..25_u64 {
        fs::write(&profile, &original).expect("it is ours");
        let mine = format!("{original}# saved {i}\n");
        thread::scope(|scope| {
            scope.spawn(|| {
                thread::sleep(Duration::from_micros(700 * i));
                let beside = folder.path().join("saving");
                fs::write(&beside, &mine).and_then(|()| fs::rename(&beside, &profile)).expect("it is ours");
            });
            let (_, told) = run(folder.path(), &format!("rodset set {CAR} wheel.camber=-1.{}", 10 + i));
            told_changed += u32::from(told.contains("changed this file"));
        });
        let now = fs::read_to_string(&profile).expect("the profile");
        assert!(now.ends_with(&format!("# saved {i}\n")), "the save of round {i} is gone");
    }
    assert!(told_changed <= 25);
}

/// A run that ends in the middle says what is done already.
#[test]
fn what_was_written_is_told_where_the_rest_was_not() {
    let folder = workplace();
    for (place, n) in [("--output nowhere/page.txt", 1), ("> /dev/full", 2), ("--output examples", 3)] {
        let line = format!("rodset correct {CAR} --drop 40 --again --left=-1.2,0.1 --record r.toml {place}");
        let (status, told) = run(folder.path(), &line);
        assert_eq!(status, Some(1), "{told}");
        assert!(told.contains("before it r.toml was") && !told.contains("nothing was written"), "{told}");
        let record = fs::read_to_string(folder.path().join("r.toml")).expect("the record");
        assert_eq!(record.matches("[[reading]]").count(), n);
    }
    refused(folder.path(), &format!("rodset check {CAR} --output nowhere/x"), "nothing was written");
    refused(folder.path(), &format!("rodset check {CAR} > /dev/full"), "nothing was written");
    for line in ["--version", "--help", "check --help"] {
        refused(folder.path(), &format!("rodset {line} > /dev/full"), "standard output");
    }
}

#[test]
fn what_is_added_ends_its_lines_as_the_record_does() {
    let folder = workplace();
    let record = folder.path().join("r.toml");
    fs::write(&record, "format = 1\r\n# mine\r\n").expect("it is ours");
    let line = format!("rodset correct {CAR} --drop 40 --left=-1.2,0.1 --record r.toml");
    assert!(matches!(run(folder.path(), &line).0, Some(0 | 3)));
    let text = fs::read_to_string(&record).expect("the record");
    assert!(text.matches("\r\n").count() > 6 && text.matches('\n').count() == text.matches("\r\n").count());
}

/// Whenever it is stopped, no file is left behind that has no name of its own.
#[test]
fn nothing_is_left_behind_when_it_is_stopped() {
    let mut stopped = 0;
    for pause in ["0.001", "0.003", "0.006", "0.01", "0.02", "0.03", "0.05", "0.08"] {
        let folder = tempfile::tempdir().expect("a folder");
        let (_, told) =
            run(folder.path(), &format!("rodset manual . & sleep {pause}; kill -TERM $!; wait $!; echo $?"));
        stopped += u32::from(told.contains("143"));
        for entry in fs::read_dir(folder.path()).expect("the folder") {
            let name = entry.expect("an entry").file_name();
            assert!(name.to_string_lossy().ends_with(".1"), "{name:?} after {pause} s");
        }
    }
    assert!(stopped > 0, "it was never stopped in the middle");
}

/// No page and no JSON has a number that is none, a nought with a sign, or hundreds of digits.
#[test]
fn numbers_are_plain() {
    let plan = "plan examples/sedge-mill.toml --drop 250 --samples 200";
    let line: Vec<&str> = plan.split(' ').collect();
    let page = rodset(&line);
    assert!(
        page.stdout.contains("None of them has a position") && !page.stdout.contains("NaN"),
        "{}",
        page.stdout
    );
    let json = rodset(&[&line[..], &["--format", "json"]].concat()).json();
    assert_eq!(json["sampled"]["without_position"], 200);
    assert!(json["sampled"].get("sides").is_none() && json["sampled"].get("within_spec").is_none());
    let mut looked = 0;
    for line in [
        "plan examples/tansy-wharf.toml --drop 40 --format json",
        "travel examples/tansy-wharf.toml --drop 0 --format json",
        "springs examples/tansy-wharf.toml --drop 0 --format json",
        "loads examples/tansy-wharf.toml --drop 40 --format json",
        "travel examples/sedge-mill.toml --drop 0 --format csv",
    ] {
        let text = rodset(&line.split(' ').collect::<Vec<_>>()).stdout;
        let ends = |c: char| c.is_whitespace() || c == ',';
        assert!(text.split(ends).all(|word| word != "-0.0" && word != "-0" && word != "NaN"), "{line}");
        looked += text.len();
    }
    assert!(looked > 100_000);
    let run = rodset(&["spec", "camber", "1e300"]);
    assert!(run.status == 2 && run.stderr.contains("90 degrees") && run.stdout.is_empty(), "{}", run.all());
}

/// Hundreds of readings are no more work than some tens: a second, and little room.
#[test]
fn a_long_record_takes_no_long_time() {
    let folder = workplace();
    let reading = |i: u32| {
        let off = f64::from(i * 7919 % 21) / 100.0 - 0.1;
        format!(
            "[[reading]]\ndrop = 40\n[reading.arms]\nupper = \"{:.2} mm\"\n[reading.left]\ncamber = {:.2}\ntoe = {:.2}\n[reading.right]\ncamber = {:.2}\ntoe = {:.2}\n",
            247.0 + off,
            -1.0 + off,
            0.1 - off / 3.0,
            -1.0 - off,
            0.1 + off / 3.0
        )
    };
    let record: String = std::iter::once("format = 1\n".to_owned()).chain((0..500).map(reading)).collect();
    fs::write(folder.path().join("r.toml"), record).expect("it is ours");
    // Seconds of the processor and KiB of memory, for a build that is not made to be fast.
    let limits = "ulimit -t 5 && ulimit -v 400000";
    let line = format!("{limits} && rodset correct {CAR} --record r.toml --format json");
    let output = shell(folder.path(), &line, &[]);
    assert!(matches!(output.status.code(), Some(0 | 3)), "{}", text(&output.stderr));
    let json: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!((json["left_out"].as_u64(), json["rounds"].as_array().map(Vec::len)), (Some(476), Some(500)));
    assert!(
        json["rounds"][475]["sides"][0]["expected"].is_null()
            && json["rounds"][476]["sides"][0]["expected"].is_object()
    );
    let rounds = |flag: &Value| flag["round"].as_u64().is_none_or(|round| round > 476);
    assert!(json["flags"].as_array().expect("flags").iter().all(rounds));
}
