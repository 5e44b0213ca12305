//! What the stock arms really measure: the reference of the bench, a check of the points, a reading for the fit; and the order
//! of work on the page that is printed for it.

use approx::assert_relative_eq;
use rodset::car::{ArmLength, Car, Hand, PerSide};
use rodset::measure::{NoFit, fit};
use rodset::profile::{self, Checked};
use serde_json::Value;

use crate::command::{Run, TempFile, rodset};

const EXAMPLE: &str = include_str!("../examples/tansy-wharf.toml");
const UPPER: &str = "sets = \"camber\"\n";

/// The example with keys put into its upper link.
fn with(keys: &str) -> String {
    assert_eq!(EXAMPLE.matches(UPPER).count(), 1);
    EXAMPLE.replace(UPPER, &format!("{UPPER}{keys}\n"))
}

fn read(text: &str) -> Checked {
    profile::read(text).expect("a sound profile")
}

#[track_caller]
fn run(text: &str, line: &str) -> Run {
    let file = TempFile::new(text);
    let mut args: Vec<&str> = line.split_whitespace().collect();
    args.insert(1, file.path());
    rodset(&args)
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} of {value}"))
}

/// The length between the upper link's pivots.
fn pivots(car: &Car) -> f64 {
    car.sides.left.links[0].stock_length()
}

#[test]
fn the_bench_counts_from_the_real_arm_and_the_pivots_keep_their_meaning() {
    let real = 239.4;
    let plain = run(EXAMPLE, "plan --drop 40 --format json").json();
    let told = run(&with(&format!("measured_length = {real}")), "plan --drop 40 --format json").json();
    for side in 0..2 {
        let [before, arm] = [&plain, &told].map(|plan| plan["sides"][side]["arms"][0].clone());
        for key in ["stock_mm", "exact_mm", "set_mm", "turns"] {
            assert_relative_eq!(number(&before, key), number(&arm, key), epsilon = 1e-9);
        }
        assert_relative_eq!(number(&arm, "measured_mm"), real);
        let by_turns = number(&arm, "turns") * number(&arm, "lead_mm");
        assert_relative_eq!(number(&arm, "bench_mm"), real + by_turns, epsilon = 1e-9);
        assert_relative_eq!(number(&arm, "set_mm"), number(&arm, "stock_mm") + by_turns, epsilon = 1e-9);
        // Thread leaves the body of a pair at both ends alike, from where it was measured: 27 mm at 241.5 mm in the example.
        let left = 27.0 - (number(&arm, "bench_mm") - 241.5) / 2.0;
        assert_relative_eq!(arm["thread_remaining_mm"][0].as_f64().expect("a length"), left, epsilon = 1e-9);
        let keys = before.as_object().expect("an arm");
        assert!(!keys.contains_key("bench_mm") && !keys.contains_key("measured_mm"), "{before}");
        // What was not measured has no such key.
        assert!(told["sides"][side]["arms"][1].get("bench_mm").is_none());
    }
}

#[test]
fn the_ends_of_the_new_arm_are_those_of_the_bench() {
    // Real arm 3 mm shorter than its pivots: the new one can be set 3 mm longer before it ends.
    let car = read(EXAMPLE).car;
    let real = pivots(&car) - 3.0;
    let car = read(&with(&format!("measured_length = {real}"))).car;
    let (link, plain) = (&car.sides.left.links[0], &read(EXAMPLE).car.sides.left.links[0]);
    let (arm, before) = (link.arm.as_ref().expect("an arm"), plain.arm.as_ref().expect("an arm"));
    for (now, then) in arm.range().ends.into_iter().zip(before.range().ends) {
        assert_relative_eq!(now, then + 3.0, epsilon = 1e-9);
        assert_relative_eq!(link.on_bench(now), then, epsilon = 1e-9);
        assert_relative_eq!(link.between_pivots(link.on_bench(now)), now, epsilon = 1e-9);
    }
    // A point that moves moves no arm on the bench.
    let mut numbers = car.sides.left.numbers();
    numbers[4] += 2.0;
    let moved = car.sides.left.with_numbers(&numbers);
    let (link, arm) = (&moved.links[0], moved.links[0].arm.as_ref().expect("an arm"));
    assert!((link.stock_length() - pivots(&car)).abs() > 1.0);
    assert_relative_eq!(link.on_bench(arm.shortest), before.shortest, epsilon = 1e-9);
}

/// Points to 2 mm each way and a tape to 1 mm: sqrt(2 2^2 + 1) = 3 mm, and 2.58 of that is 7.74 mm. The factor is that of 99 in
/// 100 of the normal law (ISO 2854, table of fractiles, `u_0.995` = 2.576, from memory).
#[test]
fn a_tape_that_the_errors_do_not_explain_is_told_and_which_way() {
    let stock = pivots(&read(EXAMPLE).car);
    let warned = |keys: &str| -> Vec<String> {
        read(&with(keys)).warnings.iter().map(profile::Finding::title).collect()
    };
    for (off, way) in [(7.6, None), (7.9, Some("longer")), (-7.6, None), (-7.9, Some("shorter"))] {
        let warnings = warned(&format!("measured_length = {}", stock + off));
        match way {
            None => assert!(warnings.is_empty(), "{off}: {warnings:?}"),
            Some(way) => {
                assert_eq!(warnings.len(), 1, "{off}: {warnings:?}");
                assert!(
                    warnings[0].contains("\"upper\"") && warnings[0].contains(&format!("7.9 mm {way}")),
                    "{warnings:?}"
                );
            }
        }
    }
    // A tape that is known better or worse, and points that came from that very tape.
    let off = stock + 7.5;
    assert_eq!(warned(&format!("measured_length = {off}\nmeasured_length_sigma = 0.2")).len(), 1);
    assert_eq!(warned(&format!("measured_length = {}\nmeasured_length_sigma = 3.0", stock + 9.0)).len(), 0);
    assert_eq!(warned(&format!("measured_length = {}\nmeasured_length_used = true", stock + 12.0)).len(), 0);
    // The pages say it where the work is read, too.
    for line in ["plan --drop 40", "sheet --drop 40"] {
        let page = run(&with(&format!("measured_length = {}", stock - 9.0)), line).stdout;
        let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(page.contains("9.0 mm shorter than its pivots are apart"), "{line}: {page}");
    }
    assert!(run(&with(&format!("measured_length = {}", stock - 1.0)), "check").stdout.contains("taped"));
}

#[test]
fn the_right_side_may_have_its_own_arm() {
    let stock = pivots(&read(EXAMPLE).car);
    let own = format!("\n[[right.link]]\nname = \"upper\"\nmeasured_length = {}\n", stock + 9.0);
    let text = with(&format!("measured_length = {}", stock + 1.0)) + &own;
    let checked = read(&text);
    let PerSide { left, right } = checked.car.sides.each(|side| side.links[0].measured.expect("measured"));
    assert_eq!((left.hand, right.hand), (Hand::Left, Hand::Right));
    assert_relative_eq!(right.length - left.length, 8.0, epsilon = 1e-9);
    assert_eq!(checked.warnings.len(), 1, "{:?}", checked.warnings);
    assert!(checked.warnings[0].title().contains("right upper"), "{:?}", checked.warnings);
}

/// One length against two points is the mean of two values of one thing, each by the inverse of its variance: the pivots' own
/// distance has 2 2^2 mm2, the tape 1 mm2.
#[test]
fn a_length_is_a_reading_for_the_fit() {
    let plain = read(EXAMPLE).car;
    let stock = pivots(&plain);
    assert_eq!(fit(&plain, &[]).expect_err("nothing to learn"), NoFit::NoReading);
    let after = |car: &Car| {
        let fitted = fit(car, &[]).expect("it fits");
        assert_eq!(fitted.readings, []);
        (fitted.lengths[0].after_mm, fitted)
    };
    let left = with(&format!("measured_length = {}", stock - 4.0));
    let (length, fitted) = after(&read(&left).car);
    assert_relative_eq!(length, stock - 4.0 * 8.0 / 9.0, epsilon = 1e-6);
    assert_relative_eq!(pivots(&fitted.car), length, epsilon = 1e-9);
    // The right side is the mirror image: that it goes by the left arm says nothing new, an arm of its own does.
    assert_eq!(fitted.lengths.len(), 1);
    let both = left + &format!("\n[[right.link]]\nname = \"upper\"\nmeasured_length = {}\n", stock - 2.0);
    // Two sides that are as good as alike have one length between them.
    let both = both.replace("[spec]", "[sigma]\nmirror = 0.001\n\n[spec]");
    let (length, fitted) = after(&read(&both).car);
    assert_eq!(fitted.lengths.len(), 2);
    assert_relative_eq!(length, stock - (4.0 + 2.0) / (2.0 + 1.0 / 8.0), epsilon = 1e-4);
    // Its deviation is the inverse of the weights' sum.
    let way = (fitted.car.sides.left.links[0].knuckle - fitted.car.sides.left.links[0].subframe).normalize();
    let sigma = fitted.car.sides.left.errors.of_length(0, &way);
    assert_relative_eq!(sigma, (2.0_f64 + 1.0 / 8.0).sqrt().recip(), epsilon = 1e-4);
    // A slip of 12 mm is suspect, four deviations of 3 mm; what was used already is no reading.
    let slip = read(&with(&format!("measured_length = {}", stock - 12.0))).car;
    let fitted = fit(&slip, &[]).expect("it fits");
    assert!(fitted.has_suspects() && fitted.lengths[0].is_suspect(), "{:?}", fitted.lengths);
    let used = read(&with(&format!("measured_length = {stock}\nmeasured_length_used = true"))).car;
    assert_eq!(fit(&used, &[]).expect_err("nothing to learn"), NoFit::NoReading);
}

#[test]
fn a_fit_marks_what_it_used_and_a_survey_what_it_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("a plain path").to_owned();
    let stock = pivots(&read(EXAMPLE).car);
    let file = TempFile::new(with(&format!("measured_length = {:.1}", stock + 1.0)));
    let fitted = at("fitted.toml");
    let done = rodset(&["fit", file.path(), "examples/records/tansy-wharf-heights.toml", "--write", &fitted]);
    assert_eq!(done.status, 0, "{}", done.stderr);
    assert!(done.stdout.contains("THE STOCK ARMS"), "{}", done.stdout);
    let car = read(&std::fs::read_to_string(&fitted).expect("written")).car;
    assert!(car.sides.iter().all(|side| side.links[0].measured.is_some_and(|measured| measured.used)));

    let surveyed = at("surveyed.toml");
    let done = rodset(&["survey", "examples/surveys/tansy-wharf.toml", "--write", &surveyed]);
    assert_eq!(done.status, 0, "{}", done.stderr);
    let text = std::fs::read_to_string(&surveyed).expect("written");
    let checked = read(&text);
    assert_eq!(checked.warnings, []);
    let survey =
        profile::read_survey(include_str!("../examples/surveys/tansy-wharf.toml")).expect("sound").survey;
    let mut read_arms = 0;
    for (link, [length, sigma]) in survey.arm_lengths() {
        let ArmLength { length: written, sigma: known, used, .. } =
            checked.car.sides.left.links[link].measured.expect("the raw reading");
        assert_relative_eq!(written, length, epsilon = 1e-3);
        assert_relative_eq!(known, sigma, epsilon = 1e-3);
        assert!(used);
        read_arms += 1;
    }
    assert!(read_arms >= 3, "{read_arms} arms");
    assert!(text.contains("measured_length_used = true"));
}

#[test]
fn stock_arms_may_be_given_to_the_sheet_alone() {
    let sheet = |stock: &[&str]| {
        let given: Vec<&str> = stock.iter().flat_map(|stock| ["--stock", stock]).collect();
        rodset(&[&["sheet", "examples/tansy-wharf.toml", "--drop", "40"][..], &given].concat())
    };
    let both = sheet(&["upper=240.8", "toe right=13 1/16 in"]).stdout;
    assert_eq!(both.matches("target 240.80 + ").count(), 2, "{both}");
    assert!(both.contains("target 331.79 + 0.25 mm = 332.04 mm"), "{both}");
    let left = sheet(&["upper left=240.8"]).stdout;
    assert_eq!(left.matches("target 240.80 + 5.75 mm = 246.55 mm").count(), 1, "{left}");
    assert!(left.contains("target your arm + 7.50 mm"), "{left}");
    for (stock, status, says) in [
        ("uper left=240.8", 2, "no arm called \"uper left\""),
        ("upper left", 2, "upper left=325.2"),
        ("upper left=-3", 2, "more than zero"),
        ("upper left=9.5", 2, "inches need their unit"),
        ("upper left=300", 1, "cannot be matched"),
    ] {
        let run = sheet(&[stock]);
        assert_eq!((run.status, run.stdout.as_str()), (status, ""), "{stock}: {}", run.stderr);
        assert!(run.stderr.contains(says), "{stock}: {}", run.stderr);
    }
    // The profile's own key does the same.
    let file = run(&with("measured_length = 240.8"), "sheet --drop 40").stdout;
    let page = sheet(&["upper=240.8"]).stdout;
    let from_a = |page: &str| page.split("A. MATCH").nth(1).map(str::to_owned);
    assert_eq!(from_a(&file), from_a(&page));
}

/// A length that a record gives was read on the bench.
#[test]
fn a_record_has_lengths_of_the_bench() {
    let stock = pivots(&read(EXAMPLE).car);
    let car = read(&with(&format!("measured_length = {}", stock - 2.0))).car;
    let record = |arm: &str| {
        let text = format!(
            "format = 1\n[[reading]]\ndrop = 0\n[reading.arms]\nupper = \"{arm}\"\n[reading.left]\ncamber = -1.0\n"
        );
        profile::read_record(&text, &car).expect("a sound record").rounds[0].lengths.left[0]
            .expect("a length")
    };
    let bench = format!("{} mm", stock - 2.0 + 3.0);
    assert_relative_eq!(record(&bench), record("1 turn longer"), epsilon = 1e-9);
    assert_relative_eq!(record(&bench), stock + 3.0, epsilon = 1e-9);
}

/// Each side has its own line, box and blank, for every arm: the match is made arm by arm.
#[test]
fn every_arm_of_each_side_has_its_own_line() {
    let page = rodset(&["sheet", "examples/tansy-wharf.toml", "--drop", "40"]).stdout;
    let lines = |start: &str| page.lines().filter(|line| line.starts_with(start)).collect::<Vec<_>>();
    for arm in ["upper", "toe", "traction"] {
        for side in ["left", "right"] {
            let row = lines(&format!("  [ ]  {arm:<8}  {side}"));
            assert_eq!(row.len(), 1, "{arm} {side}: {page}");
            assert!(row[0].trim_end().ends_with("________"), "{}", row[0]);
            assert_eq!(lines(&format!("  [ ] {arm}, {side}: ")).len(), 1, "{arm} {side}: {page}");
        }
    }
    assert_eq!(page.matches("  target your arm").count(), 6, "{page}");
    let bench = page.split("C. ON THE CAR").next().expect("the parts for the bench");
    assert!(!bench.contains(", both sides:"), "{page}");
}

/// The order of the trade (common practice, no source): bushes are loosened before the heights are set and clamped after it, the
/// bar is off while a wheel is moved by itself, nothing rolls before every bolt and the wheel bolts are torqued.
#[test]
fn the_order_of_work_is_that_of_the_trade() {
    for line in ["--drop 40", "--drop 40 --fit upper", "--drop 30 --fit none"] {
        let args: Vec<&str> =
            ["sheet", "examples/tansy-wharf.toml"].into_iter().chain(line.split_whitespace()).collect();
        let page = rodset(&args).stdout;
        let at = |what: &str| page.find(what).unwrap_or_else(|| panic!("{line}: no {what} in {page}"));
        let order = [
            "CAUTIONS",
            "\nA. ",
            "\nC. ",
            "PRESSURES:",
            "READINGS BEFORE:",
            "STANDS:",
            "ANTI-ROLL BAR OFF:",
            "SPRINGS:",
            "SWEEP:",
            "LOOSEN:",
            "HEIGHTS:",
            "CLAMP:",
            "ANTI-ROLL BAR ON:",
            "TORQUE:",
            "WHEEL BOLTS:",
            "Now the car",
            "SETTLE:",
            "READ:",
            "CHECK READING:",
            "SHORT DRIVE:",
            "common practice, no source",
        ];
        for pair in order.windows(2) {
            assert!(at(pair[0]) < at(pair[1]), "{line}: {} after {}", pair[0], pair[1]);
        }
        for way in ["four ramps", "drive-on lift", "raised by a jack"] {
            let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.contains(way), "{line}: {way}");
        }
    }
}

/// README, guide and plan tell the same order in short, from its one home.
#[test]
fn the_order_in_short_is_the_same_wherever_it_stands() {
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let plan = plain(&rodset(&["plan", "examples/tansy-wharf.toml", "--drop", "40"]).stdout);
    let short = plan.split("(rodset sheet): ").nth(1).expect("the order in short");
    for document in ["README.md", "examples/README.md"] {
        let text =
            std::fs::read_to_string(format!("{}/{document}", env!("CARGO_MANIFEST_DIR"))).expect(document);
        assert!(plain(&text).contains(short), "{document} has not: {short}");
    }
}
