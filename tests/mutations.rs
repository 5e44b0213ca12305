//! Damaged profiles: whatever is in the file, the program answers or says what is wrong, at once and without a panic.
//!
//! `RODSET_TIMES=200 cargo test --release mutations` runs it for longer.

use proptest::prelude::*;
use proptest::sample::Index;

use allocation_counter::measure;
use rodset::car::{Car, Stance};
use rodset::geometry::steps_followed;
use rodset::measure::survey;
use rodset::plan::{
    Asked, Fitting, Plan, cams, check, clearance, joint_angles, lower, next, plan, readings, springs,
};
use rodset::profile::{self, Quantity, read_record, read_survey, write_reading};
use rodset::report::{
    AnswerPage, CheckPage, LengthUnit, PlanPage, ReadingsPage, SheetOrigin, SheetPage, ToeUnit, Units,
};

use rodset::strength::{Locking, bolts, loads, lockout};

use std::sync::LazyLock;

use crate::command::{RECORD_STARTER, STARTER, TempFile, page_text, rodset};
use crate::layout::{config, times};

static SOUND: LazyLock<[&str; 4]> = LazyLock::new(|| {
    [
        include_str!("../examples/tansy-wharf.toml"),
        include_str!("../examples/sedge-mill.toml"),
        include_str!("findings/base.toml"),
        &STARTER,
    ]
});

/// Records that belong to the first or the third of those profiles; the last one waits to be filled in.
static RECORDS: LazyLock<[(usize, &str); 3]> = LazyLock::new(|| {
    [
        (0, include_str!("../examples/records/tansy-wharf.toml")),
        (2, include_str!("records/base.toml")),
        (2, &RECORD_STARTER),
    ]
});

/// What is put in the place of a value.
const VALUES: &[&str] = &[
    "0",
    "-0.0",
    "1e308",
    "-1e308",
    "5e-324",
    "nan",
    "-inf",
    "1",
    "-1",
    "90",
    "450.0",
    "1e-9",
    "99999.9",
    "9223372036854775807",
    "true",
    "\"\"",
    "\"8 1/4 in\"",
    "\"1/0 in\"",
    "\"0°15'\"",
    "\"-90 deg\"",
    "\"M16x1.5 LH\"",
    "\"5/8-18 UNF RH\"",
    "\"M0x0\"",
    "\"camber\"",
    "\"toe\"",
    "\"1 11/12 longer\"",
    "\"2 marks\"",
    "{ left = 1e308, right = \"-3 flats\" }",
    "{ front = 1e-300, rear = 1e300, across = 430.0 }",
    "{ top = 40.0, bottom = 470.0 }",
    "{ slope = 2.9 }",
    "\"\\u0000\\u001b[2J\"",
    "[]",
    "[0.0, 0.0, 0.0]",
    "[1e300, -1e300, 1e300]",
    "[0.0, 1.0]",
    "{}",
    "[[1]]",
    "1979-05-27",
    "'''\n'''",
    "#",
    "=",
    "\u{feff}",
    "🛞",
];

/// One piece of damage: its kind, where, and with what.
type Damage = (u8, Index, Index);

fn damaged(text: &str, damages: &[Damage]) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for (kind, place, with) in damages {
        if lines.is_empty() {
            break;
        }
        let at = place.index(lines.len());
        let other = with.index(lines.len());
        match kind % 9 {
            0 => drop(lines.remove(at)),
            1 => lines.insert(at, lines[other].clone()),
            2 => lines.swap(at, other),
            3 | 4 => {
                let value = VALUES[with.index(VALUES.len())];
                if let Some((key, _)) = lines[at].split_once('=') {
                    lines[at] = format!("{key}= {value}");
                }
            }
            // One number of a point, the rest kept.
            5 => {
                let value = VALUES[with.index(13)];
                let commas: Vec<usize> = lines[at].match_indices(',').map(|(i, _)| i).collect();
                if let [first, second, ..] = commas[..] {
                    lines[at] = format!("{}, {value}{}", &lines[at][..first], &lines[at][second..]);
                }
            }
            6 => {
                let value = VALUES[with.index(VALUES.len())];
                let cut = place.index(lines[at].chars().count() + 1);
                let byte = lines[at].char_indices().nth(cut).map_or(lines[at].len(), |(i, _)| i);
                lines[at].insert_str(byte, value);
            }
            7 => {
                let moved = lines[at].replace(['-', '0'], "4");
                lines[at] = moved;
            }
            _ => lines.truncate(at),
        }
    }
    lines.join("\n")
}

/// Asks everything there is to ask of a profile.
fn ask_everything(text: &str, drops: [f64; 2]) {
    let checked = match profile::read(text) {
        Ok(checked) => checked,
        Err(findings) => {
            assert!(!findings.is_empty());
            let told: String =
                findings.iter().map(|finding| finding.render("car.toml", text, true)).collect();
            assert!(!told.is_empty());
            return;
        }
    };
    let car = &checked.car;
    let mut pages = String::new();
    let units = Units::default();
    let description = check(car, Vec::new());
    pages += &page_text(&CheckPage { car, answer: &description, warnings: 0, units });
    for front in [None, Some(drops[0] / 2.0)] {
        let Some(stance) = Stance::new(car, drops, front) else { continue };
        if let Ok(answer) = lower(car, &stance) {
            pages += &page_text(&AnswerPage { car, stance: &stance, answer: &answer, units });
        }
        let fitting = Fitting::default();
        // The travel does not ask how the front stands.
        if front.is_none() {
            ask_of_the_travel(car, &stance, None, &fitting, &mut pages);
        }
        let Some(specs) = car.sides.each(|side| side.spec).all() else { continue };
        if let Ok(answer) = cams(car, &stance, &specs) {
            pages += &page_text(&AnswerPage { car, stance: &stance, answer: &answer, units });
        }
        if let Ok(answer) = plan(car, &stance, &specs, &fitting) {
            let of = AnswerPage { car, stance: &stance, answer: &answer, units };
            pages += &page_text(&PlanPage { of, next: next(car, &stance, &answer, &fitting) });
            let joints = joint_angles(car, &stance, Some(&answer), &fitting, Asked::ALL).ok();
            let sheet = SheetPage {
                car,
                origin: SheetOrigin { profile: "car.toml", digest: "00", made: "2026-11-25" },
                stance: &stance,
                fitting: &fitting,
                answer: &answer,
                units,
                joints: joints.as_ref(),
            };
            pages += &page_text(&sheet);
            if front.is_none() {
                ask_of_the_travel(car, &stance, Some(&answer), &fitting, &mut pages);
            }
        }
    }
    assert!(!pages.contains("NaN") && !pages.contains("inf "), "{pages}");
}

fn ask_of_the_travel(car: &Car, stance: &Stance, plan: Option<&Plan>, fitting: &Fitting, pages: &mut String) {
    let units = Units::default();
    if let Ok(answer) = clearance(car, stance, plan, fitting, Asked::ALL) {
        *pages += &page_text(&AnswerPage { car, stance, answer: &answer, units });
    }
    if let Ok(answer) = joint_angles(car, stance, plan, fitting, Asked::ALL) {
        *pages += &page_text(&AnswerPage { car, stance, answer: &answer, units });
    }
    if let Ok(answer) = loads(car, stance, plan, fitting, &car.loads) {
        *pages += &page_text(&AnswerPage { car, stance, answer: &answer, units });
    }
    if let Ok(answer) = bolts(car, stance, plan, fitting, &car.loads) {
        *pages += &page_text(&AnswerPage { car, stance, answer: &answer, units });
    }
    if let Ok(answer) = lockout(car, stance, &Locking::as_found(car), Asked::ALL) {
        *pages += &page_text(&AnswerPage { car, stance, answer: &answer, units });
    }
    if let Ok(answer) = springs(car, stance, plan, fitting, Asked::ALL) {
        *pages += &page_text(&AnswerPage { car, stance, answer: &answer, units });
    }
}

/// Reads a record, and where it is sound asks what it comes to and writes it down again.
fn read_it(text: &str, car: &Car) {
    let record = match read_record(text, car) {
        Ok(record) => record,
        Err(findings) => {
            assert!(!findings.is_empty());
            let told: String = findings.iter().map(|f| f.render("record.toml", text, true)).collect();
            assert!(!told.is_empty());
            return;
        }
    };
    let answer = readings(car, &record.rounds, &record.workings);
    let units = Units { toe: ToeUnit::Minutes, length: LengthUnit::Inches };
    let page = page_text(&ReadingsPage { car, answer: &answer, units });
    assert!(!page.contains("NaN") && !page.contains("inf "), "{page}");
    let written: String = record.rounds.iter().map(|round| write_reading(round, car)).collect();
    let again = read_record(&format!("format = 1\n{written}"), car)
        .unwrap_or_else(|findings| panic!("{findings:?} in\n{written}"));
    for (read, before) in again.rounds.iter().zip(&record.rounds) {
        assert_eq!(
            (read.lengths, read.shifts, read.front),
            (before.lengths, before.shifts, before.front),
            "{written}"
        );
        assert_eq!((&read.title, &read.date), (&before.title, &before.date), "{written}");
    }
}

/// What something costs, as counted and not as timed: steps of the solver, and what the heap was asked for.
#[derive(Debug, Clone, Copy)]
struct Work {
    steps: u64,
    allocations: u64,
}

/// The most that a damaged profile, record or survey may cost; about three times what the worst ones do.
const ANSWERED: Work = Work { steps: 100_000, allocations: 2_000_000 };
const READ: Work = Work { steps: 0, allocations: 40_000 };
const SURVEYED: Work = Work { steps: 0, allocations: 50_000 };
/// The same of a text that is none of them, whatever its length.
const REFUSED: Work = Work { steps: 0, allocations: 4_000_000 };

impl Work {
    fn of(work: impl FnOnce()) -> Self {
        let before = steps_followed();
        let allocations = measure(work).count_total;
        Self { steps: steps_followed() - before, allocations }
    }

    #[track_caller]
    fn at_most(self, most: Self) {
        assert!(self.steps <= most.steps && self.allocations <= most.allocations, "{self:?} of {most:?}");
    }
}

/// So many cases of each kind are tried, `RODSET_TIMES` times as many on request.
const CASES: u32 = 800;

fn cases() -> u32 {
    times(CASES)
}

proptest! {
    #![proptest_config(config(CASES))]

    #[test]
    fn a_damaged_profile_is_answered_or_refused_at_once(
        which in 0..SOUND.len(),
        damages in prop::collection::vec((any::<u8>(), any::<Index>(), any::<Index>()), 1..5),
        drops in prop::array::uniform2(-60.0..90.0_f64),
    ) {
        let text = damaged(SOUND[which], &damages);
        Work::of(|| ask_everything(&text, drops)).at_most(ANSWERED);
    }

    #[test]
    fn a_damaged_record_is_read_or_refused_at_once(
        which in 0..RECORDS.len(),
        filled in any::<bool>(),
        damages in prop::collection::vec((any::<u8>(), any::<Index>(), any::<Index>()), 1..5),
    ) {
        let (car, record) = RECORDS[which];
        let car = profile::read(SOUND[car]).expect("sound").car;
        // A starter that is filled in where it waits, and in its offers.
        let record = if filled { record.replace("#= ", "").replace("\n# ", "\n") } else { record.replace("#= ", "") };
        Work::of(|| read_it(&damaged(&record, &damages), &car)).at_most(READ);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "(?s).{0,200}") {
        let _ = text.parse::<Quantity>();
        let _ = text.parse::<rodset::car::Thread>();
        let car = profile::read(SOUND[0]).expect("sound").car;
        for findings in [profile::read(&text).err(), read_record(&text, &car).err()].into_iter().flatten() {
            for finding in findings {
                let _ = finding.render("car.toml", &text, false);
            }
        }
    }

    /// Pieces of quantities and threads in any order.
    #[test]
    fn any_mixture_of_pieces_is_read_or_refused(
        pieces in prop::collection::vec(prop::sample::select(vec![
            "1", "0", "16", "1/4", "/", ".", "-", " ", "°", "'", "\"", "in", "mm", "deg", "min", "M", "x", "1.5", "LH", "RH", "UNF", "5/8",
            "-18", "e", "e9", "é", "½", "−", ",",
        ]), 0..9),
    ) {
        let text = pieces.concat();
        if let Ok(quantity) = text.parse::<Quantity>() {
            let (Quantity::Bare(value) | Quantity::Length(value) | Quantity::Angle(value) | Quantity::About(value)) = quantity;
            prop_assert!(value.is_finite());
        }
        let _ = text.parse::<rodset::car::Thread>();
    }
}

#[test]
fn the_whole_program_survives_damage() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let strategy =
        (0..SOUND.len(), prop::collection::vec((any::<u8>(), any::<Index>(), any::<Index>()), 1..5));
    for round in 0..cases() / 30 {
        let (which, damages) = strategy.new_tree(&mut runner).expect("a case").current();
        let profile = TempFile::new(damaged(SOUND[which], &damages));
        let command = [
            "check",
            "lower",
            "cams",
            "plan",
            "sheet",
            "clearance",
            "joints",
            "springs",
            "loads",
            "bolts",
            "lockout",
            "travel",
            "arms",
            "tune",
            "draw",
        ][round as usize % 15];
        let drawing = TempFile::new("").0.with_extension("svg");
        let svg = ["--svg", drawing.to_str().expect("a plain path")];
        let drop: &[&str] = if command == "check" { &[] } else { &["--drop", "35"] };
        let more: &[&str] = match command {
            "draw" => &svg,
            "travel" => &["--also", "toe+1", "--also", "toe-1,upper+2", "--detail", svg[0], svg[1]],
            _ => &[],
        };
        let run = rodset(&[&[command, profile.path()], drop, more].concat());
        let _ = std::fs::remove_file(&drawing);
        // A damaged profile may have lost the link that is asked for.
        let failed = run.status == 1 || (command == "travel" && run.status == 2);
        assert!(failed || [0, 3].contains(&run.status), "{}", run.all());
        assert_eq!(failed, run.stdout.is_empty(), "{}", run.all());
        assert!(!failed || !run.stderr.is_empty());
        assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
    }
}

/// Options as nobody means them.
const OPTIONS: &[&str] = &[
    "--drop=nan",
    "--drop=1e308",
    "--drop=-0",
    "--drop=300",
    "--drop-left=40",
    "--drop-right=-1 1/2 in",
    "--arch-gap=0",
    "--front-drop=30",
    "--camber=1e300",
    "--camber=-1°70'",
    "--toe=2 mm",
    "--toe=",
    "--fit=none",
    "--fit=,",
    "--toe-unit=mm",
    "--length-unit=in",
    "--format=json",
    "--format=html",
    "--samples=99",
    "--samples=100",
    "--seed=1",
    "--explain=",
    "--explain=camber",
    "--left=nan,inf",
    "--left=-1.2,0.1",
    "--right=,",
    "--total-toe=1e9",
    "--arm=upper=1 longer",
    "--arm=upper=1e300 mm",
    "--cam=upper=2 marks",
    "--cam=upper=1,upper=2",
    "--turned-round",
    "--output=-",
    "--output=/nowhere/at/all",
    "--force",
    "--bump=-1",
    "--every=1e-9",
    "--also=toe+1",
    "--svg=-",
];

/// Damaged records and surveys and odd options, on every command that takes them.
#[test]
fn the_whole_program_survives_odd_options_records_and_surveys() {
    use proptest::strategy::ValueTree;
    const CAR: &str = "examples/tansy-wharf.toml";
    let survey = include_str!("../examples/surveys/tansy-wharf.toml");
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let damage = || prop::collection::vec((any::<u8>(), any::<Index>(), any::<Index>()), 0..4);
    let strategy = (damage(), prop::collection::vec(any::<Index>(), 0..4));
    // Of options, damaged records and damaged surveys: how many were tried, and how many were answered.
    let mut tried = [[0; 2]; 3];
    for round in 0..cases() / 12 {
        let (damages, options) = strategy.new_tree(&mut runner).expect("a case").current();
        let kind = round as usize % 3;
        let text = if kind == 1 { damaged(RECORDS[0].1, &damages) } else { damaged(survey, &damages) };
        let file = TempFile::new(text);
        let at = round as usize / 3;
        let (command, files) = match kind {
            0 => (
                ["plan", "lower", "cams", "correct", "travel", "lockout", "draw", "bolts"][at % 8],
                vec![CAR],
            ),
            1 => (["readings", "fit"][at % 2], vec![CAR, file.path()]),
            _ => (["survey", "check"][at % 2], vec![file.path()]),
        };
        let options = options.iter().map(|index| OPTIONS[index.index(OPTIONS.len())]);
        let options: Vec<&str> = if kind == 0 { options.collect() } else { Vec::new() };
        let run = rodset(&[&[command][..], &files, &options].concat());
        let failed = [1, 2].contains(&run.status);
        assert!(failed || [0, 3].contains(&run.status), "{command} {options:?}: {}", run.all());
        assert!(!failed || !run.stderr.is_empty(), "{command} {options:?}");
        assert!(!run.stderr.contains("panicked"), "{command} {options:?}: {}", run.stderr);
        assert!(!run.stdout.contains("NaN"), "{command} {options:?}: {}", run.stdout);
        tried[kind][0] += 1;
        tried[kind][1] += u32::from(!failed);
    }
    assert!(tried.iter().all(|[tried, answered]| *tried >= 20 && answered < tried), "{tried:?}");
    assert!(tried[1][1] + tried[2][1] > 5, "{tried:?}");
}

/// A record that never ends is refused before anybody waits for it.
#[test]
fn a_record_of_many_readings_is_refused_at_once() {
    let car = profile::read(SOUND[0]).expect("sound").car;
    for text in ["[[reading]]\n", "[[reading]]\ndrop = 40\n[reading.left]\ncamber = -1\n"] {
        let text = format!("format = 1\n{}", text.repeat(20_000));
        Work::of(|| {
            let findings = read_record(&text, &car).expect_err("too many");
            assert!(findings.iter().any(|finding| finding.headline.contains("up to 500")), "{findings:?}");
        })
        .at_most(REFUSED);
    }
}

#[test]
fn files_that_are_no_profiles_are_refused_clearly() {
    let huge = TempFile::new(vec![b'#'; 3 << 20]);
    let binary = TempFile::new([0xff, 0xfe, 0x00, 0x41]);
    let empty = TempFile::new("");
    // A table in a table in a table: the parser has a limit of its own.
    let deep_text = format!("a = {}1{}", "[".repeat(100_000), "]".repeat(100_000));
    let many_text = "[[link]]\n".repeat(100_000);
    let [deep, many] = [&deep_text, &many_text].map(TempFile::new);
    let folder = std::env::temp_dir();
    for (path, told) in [
        (huge.path(), "far too large"),
        (binary.path(), "not a text file"),
        (empty.path(), "format"),
        (deep.path(), "error"),
        (many.path(), "error"),
        (folder.to_str().expect("a plain path"), "folder"),
        ("nowhere/at/all.toml", "no such file"),
        ("\n\u{1b}[2J", "no such file"),
    ] {
        let run = rodset(&["check", path]);
        assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{path:?}");
        assert!(run.stderr.contains(told), "{path:?}: {}", &run.stderr[..run.stderr.len().min(400)]);
        assert!(run.stderr.len() < 20_000, "{path:?}: {} bytes of messages", run.stderr.len());
        assert!(!run.stderr.contains('\u{1b}'), "{path:?}: a control character reached the terminal");
    }
    for text in [deep_text, many_text, "#".repeat(1 << 20)] {
        Work::of(|| assert!(profile::read(&text).is_err())).at_most(REFUSED);
    }
}

/// How many damaged inputs were answered and how many refused: a test that tried only one of them has tried nothing.
#[derive(Debug, Default)]
struct Tried {
    answered: u32,
    refused: u32,
}

impl Tried {
    /// A run of the program that has ended by itself, with an answer or a reason.
    fn note(&mut self, run: &crate::command::Run, what: &dyn std::fmt::Debug) {
        assert!(!run.stderr.contains("panicked"), "{what:?}: {}", run.all());
        assert!([0, 1, 2, 3].contains(&run.status), "{what:?}: {}", run.all());
        let is_refused = [1, 2].contains(&run.status);
        assert!(!is_refused || !run.stderr.is_empty(), "{what:?}");
        assert!(is_refused || !run.stdout.contains("NaN"), "{what:?}: {}", run.all());
        *(if is_refused { &mut self.refused } else { &mut self.answered }) += 1;
    }

    fn all(&self, least: u32) {
        assert!(self.answered > 0 && self.refused > 0 && self.answered + self.refused >= least, "{self:?}");
    }
}

#[test]
fn damaged_surveys_are_answered_or_refused_at_once() {
    const SURVEYS: [&str; 2] = [
        include_str!("../examples/surveys/tansy-wharf.toml"),
        include_str!("../examples/surveys/alder-brook.toml"),
    ];
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let damages = prop::collection::vec((any::<u8>(), any::<Index>(), any::<Index>()), 1..3);
    let mut tried = Tried::default();
    for round in 0..cases() / 60 {
        let damages = damages.new_tree(&mut runner).expect("a case").current();
        let text = damaged(SURVEYS[round as usize % 2], &damages);
        tried.note(&rodset(&["survey", TempFile::new(&text).path()]), &damages);
        let asked = || read_survey(&text).ok().and_then(|read| survey(&read.survey, &read.sigmas).ok());
        Work::of(|| drop(asked())).at_most(SURVEYED);
    }
    tried.all(cases() / 60);
}

#[test]
fn strange_options_are_answered_or_refused() {
    const COMMANDS: [(&str, &[&str]); 6] = [
        ("plan", &["--drop", "--camber", "--toe", "--fit", "--front-drop"]),
        ("lower", &["--drop", "--drop-left", "--arch-gap", "--toe-unit"]),
        ("cams", &["--drop", "--drop-right", "--length-unit"]),
        ("lockout", &["--drop", "--cam", "--offset"]),
        ("loads", &["--drop", "--case"]),
        ("sheet", &["--drop", "--stock"]),
    ];
    const VALUES: [&str; 16] = [
        "40",
        "35.5",
        "-0",
        "1e308",
        "nan",
        "",
        "1 1/2 in",
        "0°10'",
        "upper",
        "upper=30",
        "upper=1 mark",
        "kerb=1,4,0",
        "mm",
        "-40",
        "99999",
        "\u{feff}",
    ];
    let mut tried = Tried::default();
    for round in 0..cases() as usize / 60 {
        let (command, options) = COMMANDS[round % COMMANDS.len()];
        let option = options[round / COMMANDS.len() % options.len()];
        let value = VALUES[7 * round % VALUES.len()];
        let written = format!("{option}={value}");
        let mut args = vec![command, "examples/tansy-wharf.toml", &written];
        if option != "--drop" {
            args.push("--drop=40");
        }
        tried.note(&rodset(&args), &args);
    }
    tried.all(cases() / 60);
}

/// Two processes that change one file at once: it is never half of anything, and whoever comes too late is told.
#[test]
fn two_processes_at_one_file_leave_it_whole() {
    let mut tried = Tried::default();
    for round in 0..4 {
        let file = TempFile::new(SOUND[0]);
        let (path, camber, bump) =
            (file.path(), format!("spec.camber=-1.{round}1"), format!("ride.bump=8{round}"));
        let runs = std::thread::scope(|scope| {
            let both = [camber, bump].map(|change| scope.spawn(move || rodset(&["set", path, &change])));
            both.map(|run| run.join().expect("a run"))
        });
        for run in &runs {
            tried.note(run, &round);
        }
        let text = std::fs::read_to_string(path).expect("it is still there");
        let car = profile::read(&text).unwrap_or_else(|findings| panic!("{findings:?}")).car;
        let side = &car.sides.left;
        let camber = side.spec.expect("a spec").camber.to_degrees();
        let changed = [(camber + 1.0).abs() > 0.001, side.ride.bump != Some(90.0)];
        assert!(changed.contains(&true), "nobody has written");
        // What says that it has written and is not there was overtaken: never silently halved.
        assert!(runs.iter().zip(changed).filter(|(run, changed)| run.status == 0 && !changed).count() <= 1);
    }
    assert_eq!(tried.answered + tried.refused, 8);
}
