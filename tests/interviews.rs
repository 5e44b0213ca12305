//! Profiles and surveys filled in question by question, from scripted answers: whole, in parts, with mistakes.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use proptest::prelude::*;
use rodset::profile::{blanks, inspect, value_at};
use tempfile::TempDir;

use crate::command::{Run, rodset};
use crate::layout::config;

const CAR: &str = include_str!("interviews/car.txt");
const SURVEY: &str = include_str!("interviews/survey.txt");

/// The short way: a car that is down already, camber and toe where it stands.
const DOWN: &str = "0\n1500\n311\n-1.8\n-1.6\n0.25\n0.1\ntoe, behind\ny\nM16x1.5 RH, M16x1.5 LH\n225\n260\ny\nM16x1.5 RH, M16x1.5 LH\n\
    315\n350\ny\n-1\n0.5\n0.1 each\n0.1\n";

/// An interview in a folder of its own.
struct Room {
    folder: TempDir,
    /// The options that say what kind of file.
    kind: &'static [&'static str],
}

impl Room {
    fn new(survey: bool) -> Self {
        Self {
            kind: [&["--axle", "rods", "--points"], &["--axle", "rods", "--survey"]][usize::from(survey)],
            ..Self::short()
        }
    }

    /// The short way.
    fn short() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder"), kind: &["--axle", "rods"] }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("my-car.toml")
    }

    /// Gives these answers, one a line.
    fn answer(&self, answers: &str) -> Run {
        let mut command = Command::new(env!("CARGO_BIN_EXE_rodset"));
        command.current_dir(self.folder.path()).args(["interview", "my-car.toml"]);
        command.args(self.kind).env("COLUMNS", "80");
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut program = command.spawn().expect("the program starts");
        // It may end before it has read everything.
        let _ = program.stdin.take().expect("a pipe").write_all(answers.as_bytes());
        let output = program.wait_with_output().expect("the program ends");
        let text = |bytes| String::from_utf8(bytes).expect("text");
        Run {
            stdout: text(output.stdout),
            stderr: text(output.stderr),
            status: output.status.code().expect("an exit status, not a signal"),
        }
    }

    fn file(&self) -> String {
        fs::read_to_string(self.path()).expect("the file")
    }

    fn value(&self, key: &str) -> Option<String> {
        value_at(&self.file(), key).expect("TOML")
    }

    /// Runs another command on the file, or on one beside it.
    fn run(&self, args: &[&str]) -> Run {
        let at = |name: &str| self.folder.path().join(name).to_str().expect("a plain path").to_owned();
        let args: Vec<String> = args
            .iter()
            .map(|arg| if Path::new(arg).extension().is_some() { at(arg) } else { (*arg).to_owned() })
            .collect();
        rodset(&args.iter().map(String::as_str).collect::<Vec<_>>())
    }
}

/// The first so many lines of a text, and the others.
fn cut(text: &str, at: usize) -> [String; 2] {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    [lines[..at].concat(), lines[at..].concat()]
}

/// From the first question to a plan, with the readings that are worth most for their time in between, until it is enough.
#[test]
fn the_short_way_asks_for_what_is_worth_its_time() {
    let room = Room::short();
    let run = room.answer(&format!("{DOWN}265\n165\nstop\n"));
    assert!(run.stderr.contains("] IS THE CAR AT ITS FINAL HEIGHT?"), "{}", run.stderr);
    let asked = run.stderr.matches("TAPE: ").count() + run.stderr.matches("SLOPE OF A LINK: ").count();
    assert!(asked >= 2, "{}", run.stderr);
    assert_eq!(run.stderr.matches("It takes ").count(), asked, "each says what it is worth");
    // Which points those were is the program's choice; both readings stand in the file now.
    assert!(room.file().contains("reads = 265") && room.file().contains("reads = 165"), "{}", room.file());
    assert!(run.stdout.contains("rodset plan my-car.toml\n"), "{}", run.stdout);
    // With every reading left out it ends by itself.
    let bare = Room::short();
    let run = bare.answer(&format!("{DOWN}{}", "skip\n".repeat(20)));
    assert_eq!(run.status, 0, "{}", run.all());
    let plan = bare.run(&["plan", "my-car.toml"]);
    assert!([0, 3].contains(&plan.status) && plan.stdout.contains("SET THE ARMS"), "{}", plan.all());
    assert_eq!(bare.value("car.drop").as_deref(), Some("0"));
    // A figure that no wheel has is refused at once.
    let run = Room::short().answer("0\n1500\n311\n1500\n");
    assert_eq!(run.status, 1, "{}", run.all());
}

/// Which axle it is is the first question of a new file; the others follow from it, and a plan from those.
#[test]
fn each_axle_has_questions_of_its_own() {
    for (answers, places, asked) in [
        (include_str!("interviews/blade.txt"), ["upper", "lower"], "CAM OF LOWER: ECCENTRICITY"),
        (
            include_str!("interviews/strut.txt"),
            ["strut bolt", "trailing"],
            "BOLTS OF STRUT: DOES ONE LEAN IT?",
        ),
        (
            include_str!("interviews/integral.txt"),
            ["lower front", "upright"],
            "CAM OF LOWER FRONT: AS FOUND, RIGHT",
        ),
    ] {
        let room = Room { kind: &[], ..Room::short() };
        let run = room.answer(answers);
        assert_eq!(run.status, 0, "{}", run.all());
        assert!(run.stderr.contains(asked) && !run.stderr.contains("ODD:"), "{}", run.stderr);
        let car = room.run(&["check", "my-car.toml", "--format", "json"]).stdout;
        assert!(places.iter().all(|place| car.contains(&format!("\"{place}\""))), "{car}");
        let plan = room.run(&["plan", "my-car.toml"]);
        assert_eq!(plan.status, 0, "{}", plan.all());
    }
    // By its points, or as a survey: a wide arm has three, and no question is put twice.
    let integral = Room { kind: &["--points", "--axle", "integral"], ..Room::short() };
    let run = integral.answer(&"skip\n".repeat(60));
    for title in [
        "LINK LOWER FRONT: BOLT ON THE SUBFRAME",
        "LINK LOWER REAR: BOLT ON THE SUBFRAME",
        "LINK LOWER: KNUCKLE END",
    ] {
        assert_eq!(run.stderr.matches(title).count(), 1, "{title}: {}", run.stderr);
    }
    let wrong = Room { kind: &[], ..Room::short() };
    let run = wrong.answer("a live axle\n");
    assert!(
        run.status == 1 && run.stderr.contains("it is one of rods, blade, strut, integral"),
        "{}",
        run.all()
    );
    assert!(!wrong.path().exists(), "nothing was begun");
}

#[test]
fn a_profile_from_nothing() {
    let room = Room::new(false);
    let run = room.answer(CAR);
    assert_eq!(run.status, 0, "{}", run.all());
    assert!(!run.stderr.contains("NO:") && !run.stderr.contains("ODD:"), "{}", run.stderr);
    insta::assert_snapshot!("interview_profile", room.file());
    // The questions as they are put, and what follows from the answers.
    insta::assert_snapshot!("interview_profile_asked", run.all());
    for (key, value) in [
        ("wheel.centre", "[0, 750, 312]"),
        ("wheel.toe", "\"0.8 mm\""),
        ("right.wheel.camber", "\"-1°18'\""),
        ("ride.arch_gap", "\"14 3/4 in\""),
        ("link.lower rear.knuckle", "[-14, 690, 192]"),
        ("link.upper.arm.engaged", "{ at = 241.5, length = 27 }"),
        ("link.upper.cam.along", "[0.0, 1.0, 0.0]"),
        ("link.upper.cam.setting", "\"1 mark outboard\""),
        ("right.link.upper.cam.setting", "\"2 marks inboard\""),
        ("spec.total_toe", "0.20"),
    ] {
        assert_eq!(room.value(key).as_deref(), Some(value), "{key}");
    }
    for left_out in [
        "car.wheelbase",
        "ride.droop",
        "right.ride.arch_gap",
        "link.toe.cam",
        "link.traction.arm",
        "spec.toe",
    ] {
        assert_eq!(room.value(left_out), None, "{left_out}");
    }
    let check = room.run(&["check", "my-car.toml", "--format", "json"]).json();
    assert_eq!(check["links"].as_array().map(Vec::len), Some(5), "{check}");
    assert_eq!(check["taken_over"], serde_json::json!(["ride.arch_gap"]));
    // Six marks are 15 degrees apart, and the slot's direction leads outboard.
    for (side, found) in [("links", 15.0), ("right_links", -30.0)] {
        let read = check[side][0]["cam"]["found_deg"].as_f64().expect("a turn");
        assert!((read - found).abs() < 1e-9, "{side}: {read}");
    }
    let plan = room.run(&["plan", "my-car.toml", "--drop", "40", "--format", "json"]);
    assert!(matches!(plan.status, 0 | 3), "{}", plan.all());
    assert_eq!(plan.json()["sides"][0]["arms"].as_array().map(Vec::len), Some(2));
}

#[test]
fn a_survey_from_nothing_and_its_profile() {
    let room = Room::new(true);
    let run = room.answer(SURVEY);
    assert_eq!(run.status, 0, "{}", run.all());
    insta::assert_snapshot!("interview_survey", room.file());
    let written = room.run(&["survey", "my-car.toml", "--write", "points.toml"]);
    assert_eq!(written.status, 0, "{}", written.all());
    let plan = room.run(&["plan", "points.toml", "--drop", "40", "--format", "json"]);
    assert_eq!(plan.status, 0, "{}", plan.all());
    // The script is the example's survey without some of its tapes: its readings give the example's car again.
    let arms = plan.json()["sides"][0]["arms"].clone();
    for (arm, stock) in arms.as_array().expect("arms").iter().zip([241.5, 331.0]) {
        let surveyed = arm["stock_mm"].as_f64().expect("a length");
        assert!((surveyed - stock).abs() < 5.0, "{arm}");
    }
}

proptest! {
    #![proptest_config(config(4))]

    /// Stopped anywhere, in whatever way, and run again: the same questions, and in the end the same file to the byte.
    #[test]
    fn an_interview_goes_on_where_it_stopped(survey in any::<bool>(), cuts in proptest::collection::vec(any::<prop::sample::Index>(), 1..4), told in any::<bool>()) {
        let script = if survey { SURVEY } else { CAR };
        let whole = Room::new(survey);
        let once = whole.answer(script);
        let room = Room::new(survey);
        let count = script.lines().count();
        let mut cuts: Vec<usize> = cuts.iter().map(|cut| cut.index(count)).collect();
        cuts.sort_unstable();
        let mut from = 0;
        for at in cuts {
            let part = cut(&cut(script, at)[0], from)[1].clone();
            let part = if told { part + "stop\n" } else { part };
            let run = room.answer(&part);
            prop_assert!(matches!(run.status, 0 | 3), "{}", run.all());
            // A file that can be read at any time, with nothing in it that was not answered.
            prop_assert_eq!(inspect(&room.file()).expect("TOML").wrong().count(), 0);
            from = at;
        }
        let last = room.answer(&cut(script, from)[1]);
        prop_assert_eq!(room.file(), whole.file());
        prop_assert_eq!((last.status, last.stdout), (once.status, once.stdout));
    }
}

/// What is wrong is refused with its reason, and the file stays as it was.
#[test]
fn wrong_answers_are_refused_with_the_reason() {
    // Lines of the script before the question, the answer, words of the reason.
    for (at, answer, reason) in [
        (1, "a long one", "not a number"),
        (2, "30, 12", "If you mean inches, say so: 30 in, 12 in."),
        (2, "750", "two figures with a comma"),
        (2, "750, 310, 5", "two figures with a comma"),
        (2, "750,5, 310", "two figures with a comma"),
        (2, "-750, 310", "wrong side of the centreline"),
        (4, "-45", "If you mean minutes, say so: -45'."),
        (4, "-0,8", "written with a point"),
        (4, "1 in", "an angle is due"),
        (6, "nan", "finite"),
        (7, "right", "not a number"),
        (13, "-2, -447, 449", "wrong side of the centreline"),
        (13, "-2, 447", "three figures"),
        (14, "-2, 447, 449", "no length"),
        (14, "-1, 187, 461", "swapped"),
        (23, "perhaps", "yes or no"),
        (24, "M16x1.4 RH", "M16"),
        (26, "200", "not longer than its shortest"),
        (38, "95", "90"),
        (38, "a little outboard", "\"2 marks outboard\""),
        (38, "-1 mark outboard", "a sign and a way do not go together"),
        (39, "4 mm inboard", "past the end of the slot"),
        (47, "0.20", "0.10 each, or 0.20 total"),
    ] {
        let room = Room::new(false);
        assert!(matches!(room.answer(&cut(CAR, at)[0]).status, 0 | 3));
        let before = room.file();
        let run = room.answer(&format!("{answer}\n{}", cut(CAR, at)[1]));
        assert_eq!(run.status, 1, "{answer}: {}", run.all());
        let told = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("NO:") && told.contains(reason), "{answer}: {told}");
        assert!(told.contains("what was answered before is in my-car.toml"), "{told}");
        assert_eq!(room.file(), before, "{answer}");
    }
}

/// What is odd is written all the same, and told.
#[test]
fn odd_answers_are_told() {
    for (at, answer, reason) in [
        (4, "12", "If you mean minutes, say so: 12'."),
        (13, "-0.1, 17.6, 17.7", "If you mean inches, say so: -0.1 in, 17.6 in, 17.7 in."),
    ] {
        let room = Room::new(false);
        room.answer(&cut(CAR, at)[0]);
        let run = room.answer(&format!("{answer}\n"));
        let told = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("ODD:") && told.contains(reason), "{answer}: {told}");
        assert!(room.file().contains(&format!("{answer}]")) || room.file().contains(&format!("= {answer}")));
    }
}

#[test]
fn back_later_and_what_is_meant() {
    let room = Room::new(false);
    let run = room
        .answer("My car\n\n?\n750, 310\n\nback\nback\n752, 310\nskip\n0.1\nback\nback\n-0.9\nback\n\nstop\n");
    assert_eq!(run.status, 3, "{}", run.all());
    assert!(run.stderr.contains("Picture the wheel from behind"), "{}", run.stderr);
    // Gone back to and given anew; left for later and then gone back to; gone back to and kept.
    for (key, value) in [("wheel.centre", "[0, 752, 310]"), ("wheel.camber", "-0.9"), ("wheel.toe", "0.1")] {
        assert_eq!(room.value(key).as_deref(), Some(value), "{key}");
    }
    // What is left for later is asked first the next time.
    let room = Room::new(false);
    room.answer("My car\n\nskip\n\n-0.9\n");
    assert_eq!(room.value("wheel.centre"), None);
    let run = room.answer("750, 310\n");
    assert_eq!(room.value("wheel.centre").as_deref(), Some("[0, 750, 310]"));
    assert!(run.stdout.contains("- The left wheel: toe") && !run.stdout.contains("camber"), "{}", run.stdout);
}

/// Plain Enter at a question about the right side: as the left one, and nothing stands in the file for it.
#[test]
fn the_right_side_is_asked_for_and_enter_is_as_left() {
    let room = Room::new(false);
    let script: Vec<&str> = CAR.lines().collect();
    let mut script = script.iter().map(|line| (*line).to_owned()).collect::<Vec<_>>();
    for at in [5, 7, 39] {
        script[at].clear();
    }
    let run = room.answer(&(script.join("\n") + "\n"));
    assert_eq!(run.status, 0, "{}", run.all());
    assert_eq!(run.stderr.matches("Enter alone: as left.").count(), 4, "{}", run.stderr);
    for key in ["right.wheel", "right.ride", "right.link.upper"] {
        assert!(!rodset::profile::has_table(&room.file(), key).expect("TOML"), "{}", room.file());
    }
    // What was left out is not asked for again, but can be gone back to.
    assert_eq!(room.answer("").status, 0);
    let check = room.run(&["check", "my-car.toml", "--format", "json"]).json();
    let over = ["wheel.camber", "wheel.toe", "ride.arch_gap", "link.upper.cam.setting"];
    assert_eq!(check["taken_over"], serde_json::json!(over));
    let page = room.run(&["check", "my-car.toml"]).stdout;
    assert!(page.contains("camber, toe, arch gap, the cam of \"upper\""), "{page}");
    assert!(page.contains("TAKEN OVER FROM THE LEFT"), "{page}");
}

/// An arm that was there and is not after all goes with its figures, and comes back with them.
#[test]
fn no_after_yes() {
    let room = Room::new(false);
    room.answer(&cut(CAR, 28)[0]);
    assert_eq!(room.value("link.upper.arm.shortest").as_deref(), Some("228"));
    room.answer("back\nback\nback\nback\nback\nno\n");
    assert_eq!(room.value("link.upper.arm.shortest"), None);
    assert!(room.file().contains("#- shortest = 228"), "{}", room.file());
    assert!(blanks(&room.file()).expect("TOML").iter().any(|blank| blank.key == "link.upper.arm"));
    room.answer("back\nyes\n");
    assert!(room.file().contains("\n[link.arm]"), "{}", room.file());
}

#[test]
fn other_files_are_left_alone() {
    let room = Room::new(false);
    for (text, told) in
        [("a = = 1", "cannot be read"), ("format = 1\n[heights]\nrear_left = 370\n", "this is a record")]
    {
        fs::write(room.path(), text).expect("our file");
        let run = room.answer("My car\n");
        assert!(run.status == 1 && run.stderr.contains(told), "{}", run.all());
        assert_eq!(room.file(), text);
    }
    let survey = Room { kind: &["--survey"], ..room };
    fs::write(survey.path(), CAR_TEXT).expect("our file");
    let run = survey.answer("My car\n");
    assert!(run.status == 1 && run.stderr.contains("this is a profile"), "{}", run.all());
    let run = rodset(&["interview", "-"]);
    assert!(run.status == 2 && run.stderr.contains("give its name"), "{}", run.all());
}

const CAR_TEXT: &str = include_str!("../examples/tansy-wharf.toml");

/// A whole profile has nothing left to ask, and is not touched.
#[test]
fn a_whole_profile_is_not_touched() {
    let room = Room::new(false);
    fs::write(room.path(), CAR_TEXT).expect("our file");
    let run = room.answer("no\nyes\n1\n");
    assert_eq!((run.status, room.file().as_str()), (0, CAR_TEXT), "{}", run.all());
}

/// In a terminal: keys, Ctrl-C, colour, a narrow window.
#[cfg(unix)]
#[test]
fn in_a_terminal() {
    if Command::new("python3").arg("--version").output().is_err() {
        println!("no terminal was tried: no python3 on this machine");
        return;
    }
    let tried = Command::new("python3")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/terminal.py"))
        .env("RODSET", env!("CARGO_BIN_EXE_rodset"))
        .output()
        .expect("python3 starts");
    let said = String::from_utf8_lossy(&tried.stdout);
    assert!(tried.status.success(), "{said}{}", String::from_utf8_lossy(&tried.stderr));
    assert_eq!(said.matches("as it should").count(), 4, "{said}");
}
