//! What every command prints, in text and JSON, and how it ends.

use insta::assert_snapshot;

use crate::command::{TempFile, rodset};

const FIRST: &str = "examples/tansy-wharf.toml";
const SECOND: &str = "examples/sedge-mill.toml";
const RECORD: &str = "examples/records/tansy-wharf.toml";

const SURVEY: &str = "examples/surveys/tansy-wharf.toml";
const HEIGHTS: &str = "examples/records/tansy-wharf-heights.toml";
/// Two readings of the first car; the left upper arm was turned the wrong way in between.
const CORRECTIONS: &str = "tests/records/wrong-way.toml";

/// Runs a command line given as one string.
fn run(line: &str) -> crate::command::Run {
    rodset(&line.split_whitespace().collect::<Vec<_>>())
}

#[test]
fn answers_in_text() {
    for (name, line) in [
        ("check", format!("check {FIRST}")),
        ("check_units", format!("check {SECOND}")),
        ("lower", format!("lower {FIRST} --drop 40")),
        (
            "lower_uneven",
            format!("lower {SECOND} --drop-left 45 --drop-right 38 --front-drop 30 --toe-unit mm"),
        ),
        ("cams", format!("cams {FIRST} --drop 40")),
        ("cams_in_reach", format!("cams {SECOND} --drop 20 --toe-unit min")),
        ("plan", format!("plan {FIRST} --drop 40")),
        ("plan_arch_gap", format!("plan {FIRST} --arch-gap 344 --toe-unit mm")),
        ("plan_one_arm", format!("plan {SECOND} --drop 45 --fit toe --toe-unit in")),
        ("plan_without_arms", format!("plan {FIRST} --drop 40 --fit none")),
        ("plan_with_pitch", format!("plan {FIRST} --drop 40 --fit upper,toe,traction --cams keep")),
        ("plan_out_of_reach", format!("plan {FIRST} --drop 40 --camber 4")),
        ("sheet", format!("sheet {FIRST} --drop 40")),
        ("sheet_one_arm", format!("sheet {SECOND} --drop-left 45 --drop-right 40 --fit toe --toe-unit mm")),
        ("sheet_single_thread", format!("sheet {SECOND} --drop 45")),
        ("sheet_without_arms", format!("sheet {FIRST} --drop 30 --fit none")),
        ("sheet_past_travel", format!("sheet {FIRST} --drop 95")),
        ("shop", format!("shop {FIRST} --drop 40")),
        (
            "shop_uneven",
            format!("shop {SECOND} --drop-left 45 --drop-right 40 --fit toe --toe-unit mm --camber=-0.8"),
        ),
        ("shop_out_of_reach", format!("shop {FIRST} --drop 40 --camber 4")),
        ("lower_raised", format!("lower {SECOND} --drop -25")),
        ("lower_sampled", format!("lower {FIRST} --drop 40 --samples 400")),
        ("plan_sampled", format!("plan {FIRST} --drop 40 --samples 400 --seed 2")),
        ("cams_sampled", format!("cams {SECOND} --drop 20 --samples 100")),
        ("survey", format!("survey {SURVEY}")),
        ("survey_sheet", format!("survey {SURVEY} --sheet")),
        ("fit", format!("fit {FIRST} {HEIGHTS} --drop 40")),
        ("fit_without_a_record", format!("fit {FIRST}")),
        ("spec_camber", "spec camber -1.10±0.45".to_owned()),
        ("spec_toe", "spec toe 2mm+/-1mm --total --diameter 445".to_owned()),
        ("spec_toe_unsaid", "spec toe 0.20 --diameter 17in".to_owned()),
        ("spec_without_a_diameter", "spec toe 2mm --total".to_owned()),
        ("readings", format!("readings {FIRST} {RECORD}")),
        ("readings_mm", format!("readings {FIRST} {RECORD} --toe-unit mm")),
        (
            "readings_of_measures",
            "readings tests/findings/base.toml tests/records/base.toml --toe-unit min".to_owned(),
        ),
        ("clearance", format!("clearance {FIRST} --drop 40")),
        ("clearance_of_little", format!("clearance {SECOND} --drop-left 40 --drop-right 35 --fit toe")),
        ("joints", format!("joints {FIRST} --drop 40")),
        ("joints_of_little", format!("joints {SECOND} --drop 40 --fit toe")),
        ("springs", format!("springs {FIRST} --drop 40")),
        ("springs_of_little", format!("springs {SECOND} --drop 40 --fit toe")),
        ("springs_past_travel", format!("springs {FIRST} --drop 92")),
        ("loads", format!("loads {FIRST} --drop 40")),
        ("loads_of_little", format!("loads {SECOND} --drop 40 --fit toe")),
        ("bolts", format!("bolts {FIRST} --drop 40")),
        ("bolts_of_little", format!("bolts {SECOND}")),
        ("explain", format!("plan {FIRST} --drop 40 --explain upper.exact.length")),
        (
            "explain_reading",
            format!(
                "lower {SECOND} --drop-left 45 --drop-right 38 --front-drop 30 --explain lowered.toe.left --toe-unit mm"
            ),
        ),
        ("explain_unclear", format!("clearance {FIRST} --drop 40 --explain planned")),
        ("explain_unknown", format!("lower {FIRST} --drop 40 --explain cambre")),
        ("lockout", format!("lockout {FIRST}")),
        ("lockout_of_turned_cams", format!("lockout {FIRST} --drop 40 --cam upper=-40 --offset-left toe=1")),
        ("lockout_too_far", format!("lockout {FIRST} --offset upper=5")),
        ("lockout_of_no_cam", format!("lockout {FIRST} --cam traction=5")),
        ("arms_none", format!("arms {FIRST} --drop 20")),
        ("arms", format!("arms {FIRST} --drop 40")),
        ("arms_toe_first", format!("arms {SECOND} --drop 45 --toe-unit mm")),
        ("arms_out_of_reach", format!("arms {FIRST} --drop 40 --camber 4")),
        ("tune", format!("tune {FIRST} --drop 40")),
        ("tune_span", format!("tune {FIRST} --drop 40 --least span --toe-unit mm --fit upper")),
        ("travel", format!("travel {FIRST} --drop 40 --also traction+2")),
        (
            "travel_in_detail",
            format!(
                "travel {SECOND} --drop-left 45 --drop-right 40 --front-drop 30 --toe-unit mm --every 40 --detail"
            ),
        ),
        (
            "travel_past_the_links",
            format!("travel {FIRST} --drop 40 --bump 300 --every 50 --also traction+60"),
        ),
        ("sheet_out_of_reach", format!("sheet {FIRST} --drop 40 --camber 4")),
        ("correct", format!("correct {FIRST} --drop 40 --left=-1.35,0.25 --right=-0.7,0.02")),
        (
            "correct_cams",
            format!("correct {SECOND} --drop 20 --fit none --left=-1.3,0.05 --right=-0.9 --toe-unit mm"),
        ),
        ("correct_total", format!("correct {FIRST} --drop 30 --total-toe 30' --source gauge --toe-unit min")),
        ("correct_uneven", format!("correct {FIRST} --drop 40 --left=-0.3,0.1 --right=-1.7,0.1")),
        ("correct_impossible", format!("correct {FIRST} --drop 40 --left=-1.2,15 --right=-0.7,0.02")),
        ("correct_record", format!("correct {FIRST} --record {CORRECTIONS}")),
    ] {
        assert_snapshot!(name, run(&line).all());
    }
}

/// What each answer holds is told by its schema (`schemas.rs`); here stand some figures of each, under their names.
#[test]
#[expect(clippy::too_many_lines, reason = "a list")]
fn answers_in_json() {
    for (line, status, figures) in [
        (
            format!("check {FIRST}"),
            0,
            &[("/links/0/length_mm", 241.484_989_182), ("/right_links/0/per_mm/camber_deg", 0.209_499_606)][..],
        ),
        (
            format!("lower {FIRST} --drop 40"),
            0,
            &[
                ("/sides/0/lowered/camber_deg", -2.118_109_255),
                ("/sides/0/lowered/toe_deg", 0.177_785_284),
                ("/sides/0/bump_remaining_mm", 50.0),
                ("/sides/0/band/toe_deg", 0.311_134_9),
                ("/thrust_angle_deg", -0.021_235_456),
            ],
        ),
        (
            format!("cams {FIRST} --drop 40"),
            3,
            &[
                ("/sides/0/best/camber_deg", -1.662_136_059),
                ("/sides/0/cams/0/shift_mm", 3.0),
                ("/sides/0/run_out_drop_mm", 34.723_920_971),
            ],
        ),
        (
            format!("joints {FIRST} --drop 40"),
            0,
            &[
                ("/sides/0/rod_ends/0/remaining_deg", 12.662_664_875),
                ("/sides/0/bushes/0/not_loosened_deg", 8.487_634_818),
                ("/sides/0/driveshaft/pushed_in/remaining_mm", 8.234_405_319),
            ],
        ),
        (
            format!("springs {FIRST} --drop 40"),
            0,
            &[
                ("/sides/0/spring/collar/down_turns", 19.298_035_468),
                ("/sides/0/spring/at_drop/force_n", 3_218.887_222_423),
                ("/sides/0/damper/remaining_closing_mm", 3.883_074_259),
            ],
        ),
        (
            format!("bolts {FIRST} --drop 40"),
            0,
            &[("/sides/0/bolts/0/margin/0", 2.812_158_39), ("/sides/0/bolts/0/hardest_n", 1_865.795_894_97)],
        ),
        (
            format!("lockout {FIRST}"),
            0,
            &[
                ("/sides/0/arms/0/arm/turns_exact", 0.258_300_907),
                ("/sides/0/stock_lengths/camber_deg", -1.262_510_356),
            ],
        ),
        (
            format!("loads {FIRST} --drop 40"),
            0,
            &[
                ("/sides/0/cases/0/links/0/at_drop_n", -1_297.573_857_238),
                ("/sides/0/hardest/0/pulled/force_n", 6_556.176_257_138),
                ("/sides/0/chains/0/parts/0/kerb_used", 0.496_702_179),
            ],
        ),
        (
            format!("plan {FIRST} --drop 40"),
            0,
            &[
                ("/sides/0/arms/0/exact_mm", 247.579_795_626),
                ("/sides/0/arms/0/turns", 23.0 / 12.0),
                ("/sides/0/arms/0/thread_remaining_mm/0", 24.132_505_409),
                ("/sides/0/result/camber_deg", -1.071_681_493),
                ("/sides/0/probability_within_spec", 0.161_905_718),
                ("/smaller_set/readings/0/camber_deg", -1.019_798_181),
            ],
        ),
        (
            format!("survey {SURVEY}"),
            0,
            &[("/links/0/length_mm", 242.811_654_316), ("/observations/0/fits", 310.802_395_04)],
        ),
        (
            format!("fit {FIRST} {HEIGHTS} --drop 40"),
            0,
            &[
                ("/readings/0/round", 1.0),
                ("/readings/0/after_deg", -1.093_070_987),
                ("/predictions/after/sides/0/lowered/camber_deg", -2.221_958_359),
            ],
        ),
        (
            format!("lower {FIRST} --drop 40 --samples 100"),
            0,
            &[
                ("/sampled/sides/0/camber_deg/middle", -2.130_084_548),
                ("/sampled/sides/0/toe_deg/high", 0.515_980_62),
            ],
        ),
        (
            format!("shop {FIRST} --drop 40"),
            0,
            &[("/sides/0/arms/0/longer_turns", 59.0 / 12.0), ("/sides/0/toe/most_deg", 0.15)],
        ),
        (
            "spec toe 0°05'..0°15' --each".to_owned(),
            0,
            &[("/each/target_deg", 1.0 / 6.0), ("/total/most_deg", 0.5)],
        ),
        (
            format!("readings {FIRST} {RECORD}"),
            0,
            &[
                ("/rounds/0/sides/0/camber/value_deg", -1.085_713_307),
                ("/rounds/0/floor_slope/band_deg", 0.031_678_336),
            ],
        ),
        (
            format!("correct {FIRST} --record {CORRECTIONS}"),
            0,
            &[
                ("/sides/0/arms/0/turns", 4.0 / 3.0),
                ("/sides/0/now/camber_deg", -1.789_938_414),
                ("/flags/0/off_deg/0", -0.884_670_581),
                ("/rounds/0/sides/0/expected/camber_deg", -1.071_681_493),
            ],
        ),
    ] {
        let run = run(&format!("{line} --format json"));
        assert_eq!((run.status, run.stderr.as_str()), (status, ""), "{line}");
        let answer = run.json();
        assert_eq!(answer["format"], 1, "{line}");
        for (at, figure) in figures {
            let told = answer.pointer(at).and_then(serde_json::Value::as_f64);
            let told = told.unwrap_or_else(|| panic!("{line}: no {at}"));
            // The last digits differ between processors; the reference tests look at them.
            assert!(
                (told - figure).abs() < 2e-9 * figure.abs().max(1.0),
                "{line}: {at} is {told}, not {figure}"
            );
        }
    }
    let plan = run(&format!("plan {FIRST} --drop 40 --format json")).json();
    assert_eq!(plan, run(&format!("sheet {FIRST} --drop 40 --format json")).json());
}

/// The spreadsheet has a line for every side, set-up and height of the JSON, with the same figures.
#[test]
fn the_spreadsheet_of_travel_is_its_json() {
    let line = format!("travel {SECOND} --drop 40 --every 30 --also toe-0.5");
    let json = run(&format!("{line} --format json")).json();
    let text = run(&format!("{line} --format csv")).stdout;
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let column =
        |name: &str| head.iter().position(|cell| cell == name).unwrap_or_else(|| panic!("no column {name}"));
    let mut lines = reader.records().map(|record| record.expect("as wide as the head"));
    // Reading a decimal may turn its last bit.
    let close = |text: &str, json: &serde_json::Value| {
        let (a, b) = (text.parse::<f64>().expect("a number"), json.as_f64().expect("a number"));
        assert!((a - b).abs() <= 1e-14 * b.abs(), "{a} {b}");
    };
    let list = |value: &serde_json::Value, key: &str| value[key].as_array().expect(key).clone();
    for side in list(&json, "sides") {
        for setup in list(&side, "setups") {
            for station in list(&setup, "stations") {
                let line = lines.next().expect("a line for every station");
                assert_eq!(line[column("side")], side["side"]);
                assert_eq!(line[column("setup")], setup["setup"]);
                for key in ["travel_mm", "toe_deg", "track_change_mm"] {
                    close(&line[column(key)], &station[key]);
                }
                close(&line[column("lower rear slope_deg")], &station["links"][3]["slope_deg"]);
                close(&line[column("anti_squat_percent")], &station["motion"]["anti_squat_percent"]);
                assert_eq!(&line[column("spring_ratio")], "", "not known for this car");
            }
        }
    }
    assert!(lines.next().is_none());
}

#[test]
fn questions_that_cannot_be_answered() {
    for (name, line) in [
        ("no_profile", "plan --drop 40".to_owned()),
        ("no_such_file", "plan nowhere.toml --drop 40".to_owned()),
        ("no_record", format!("readings {FIRST}")),
        ("no_such_record", format!("readings {FIRST} nowhere.toml")),
        ("record_of_another_car", format!("readings {SECOND} {RECORD}")),
        ("profile_for_a_record", format!("readings {FIRST} {FIRST}")),
        ("no_drop", format!("plan {FIRST}")),
        ("half_a_drop", format!("lower {FIRST} --drop-left 40")),
        ("drop_and_arch_gap", format!("lower {FIRST} --drop 40 --arch-gap 330")),
        ("drop_unreadable", format!("lower {FIRST} --drop forty")),
        ("drop_as_angle", format!("lower {FIRST} --drop 40deg")),
        ("front_drop_without_wheelbase", format!("lower {FIRST} --drop 40 --front-drop 30")),
        ("fit_unknown", format!("plan {FIRST} --drop 40 --fit uper")),
        ("fit_without_arm", format!("plan {SECOND} --drop 40 --fit toe,upper")),
        ("toe_past_the_rim", format!("plan {FIRST} --drop 40 --toe 900mm")),
        ("also_without_length", format!("travel {FIRST} --drop 40 --also traction")),
        ("also_unknown", format!("travel {FIRST} --drop 40 --also tration+2")),
        ("also_too_far", format!("travel {FIRST} --drop 40 --also traction+200")),
        ("also_link_twice", format!("travel {FIRST} --drop 40 --also upper+5,upper+3")),
        ("also_twice", format!("travel {FIRST} --drop 40 --also traction+2 --also traction+2.0")),
        ("hold_alone", format!("travel {FIRST} --drop 40 --hold")),
        ("bump_negative", format!("travel {FIRST} --drop 40 --bump=-20")),
        ("every_nothing", format!("travel {FIRST} --drop 40 --every 0")),
        ("tune_nothing", format!("tune {SECOND} --drop 40")),
        ("tune_holder", format!("tune {FIRST} --drop 40 --link toe")),
        ("tune_unknown", format!("tune {FIRST} --drop 40 --link tow")),
        ("travel_nowhere", format!("travel {FIRST} --drop 300")),
        ("drop_too_large", format!("lower {FIRST} --drop 300")),
        ("drop_too_large_to_plan", format!("plan {FIRST} --drop 300")),
        ("raised_too_far", format!("lower {FIRST} --drop -400")),
        ("correct_without_reading", format!("correct {FIRST} --drop 40")),
        ("correct_comma", format!("correct {FIRST} --drop 40 --left=-1,2,0,1")),
        ("correct_unknown_arm", format!("correct {FIRST} --drop 40 --left=-1.2,0.1 --arm uper=1/4")),
        ("correct_arm_without_setting", format!("correct {FIRST} --drop 40 --left=-1.2,0.1 --arm upper")),
        ("correct_without_height", format!("correct {FIRST} --left=-1.2,0.1")),
        (
            "correct_nowhere",
            format!("correct {FIRST} --drop 40 --left=-1.2,0.1 --record nowhere/at/all.toml"),
        ),
    ] {
        let run = run(&line);
        assert_eq!(run.stdout, "", "{name}");
        assert_snapshot!(name, run.all());
    }
}

#[test]
fn help_is_there_for_every_command() {
    for command in [
        "",
        "starter",
        "survey",
        "check",
        "lower",
        "cams",
        "plan",
        "sheet",
        "readings",
        "correct",
        "fit",
        "clearance",
        "joints",
        "springs",
        "arms",
        "travel",
        "tune",
        "draw",
        "spec",
    ] {
        let args: Vec<&str> = [command, "--help"].into_iter().filter(|arg| !arg.is_empty()).collect();
        let run = rodset(&args);
        assert_eq!(run.status, 0);
        assert_snapshot!(format!("help_{command}"), run.stdout);
    }
}

#[test]
fn units_on_the_command_line_are_those_of_the_profile() {
    let plain = run(&format!("lower {SECOND} --drop 25.4 --format json"));
    let inches = rodset(&["lower", SECOND, "--drop", "1 in", "--format", "json"]);
    assert_eq!(plain.stdout, inches.stdout);
    let gap = rodset(&["lower", SECOND, "--arch-gap", "13 1/4 in", "--format", "json"]);
    let drop = gap.json()["sides"][0]["drop_mm"].as_f64().expect("a drop");
    assert!((drop - 25.4).abs() < 1e-9, "{drop}");
    let minutes = rodset(&["plan", FIRST, "--drop", "40", "--camber", "-1°30'", "--format", "json"]);
    let camber = minutes.json()["sides"][0]["spec"]["camber_deg"].as_f64().expect("a target");
    assert!((camber + 1.5).abs() < 1e-12, "{camber}");
}

#[test]
fn a_profile_without_spec_can_be_lowered_but_not_planned() {
    let text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    let (head, tail) = text.split_once("[spec]").expect("a spec");
    let (_, links) = tail.split_once("# ---- the five links").expect("links behind it");
    let profile = TempFile::new(format!("{head}# ---- the five links{links}"));
    assert_eq!(rodset(&["lower", profile.path(), "--drop", "40"]).status, 0);
    assert_eq!(rodset(&["check", profile.path()]).status, 0);
    for command in ["plan", "sheet", "cams", "arms"] {
        let run = rodset(&[command, profile.path(), "--drop", "40"]);
        assert_eq!(run.status, 1);
        assert!(run.stderr.contains("there is no [spec]"), "{}", run.stderr);
    }
}

/// What the profile does not give is said, and the rest is answered all the same.
#[test]
fn what_is_missing_is_said_and_the_rest_is_answered() {
    let run = changed(&[("bump = 90.0", "# bump")], &["clearance", "--drop", "40"]);
    assert_eq!(run.status, 0, "{}", run.all());
    assert!(run.stdout.contains("bump = ... in [ride]"), "{}", run.stdout);
    assert!(run.stdout.contains("upper        rail"), "{}", run.stdout);
    // Without a spec the stock arms are looked at.
    let spec = [
        "camber = -1.0 ",
        "camber_tolerance = 0.5",
        "toe = 0.10                      # degrees per",
        "toe_tolerance = 0.05",
        "cross_camber = 0.5",
        "thrust_angle = 0.25",
        "[spec]",
    ];
    let commented: Vec<(&str, String)> = spec.iter().map(|key| (*key, format!("# {key}"))).collect();
    let changes: Vec<(&str, &str)> = commented.iter().map(|(from, to)| (*from, to.as_str())).collect();
    let run = changed(&changes, &["clearance", "--drop", "40"]);
    assert_eq!(run.status, 0, "{}", run.all());
    assert!(
        run.stdout.contains("with the stock arms") && run.stdout.contains("- [spec]: "),
        "{}",
        run.stdout
    );
    // A shape through the stock arm as measured is no fault of an arm.
    let run = changed(&[("522.0], [60.0", "440.0], [60.0")], &["clearance", "--drop", "40"]);
    assert_eq!(run.status, 3, "{}", run.all());
    assert!(run.stdout.contains("OVERLAP AS MEASURED"), "{}", run.stdout);
    // And a shape in the way is told, with the status of an answer that will not do.
    let run = changed(&[("522.0], [60.0", "490.0], [60.0")], &["clearance", "--drop", "40"]);
    assert_eq!(run.status, 3, "{}", run.all());
    assert!(run.stdout.contains("SOMETHING TOUCHES with the arms as planned"), "{}", run.stdout);
}

/// With the spring on a link there is a table of what that link's bolts carry across; with little room, what each row is stands
/// beside every part of a table.
#[test]
fn loads_under_a_spring_on_a_link() {
    let seated = [
        ("lower = [-62.0, 648.0, 268.0]   # and at", "on = \"lower rear\"\nalong = 250.0 # and at"),
        (
            "name = \"lower rear\"\n",
            "name = \"lower rear\"\nsection = { outer = 38.0, inner = 26.0, yield = 355.0 }\n",
        ),
    ];
    let run = changed(&seated, &["loads", "--drop", "40"]);
    assert!(run.stdout.contains("THE LINK THAT CARRIES THE SPRING"), "{}", run.stdout);
    assert!(run.stdout.contains("which bends it as well"), "{}", run.stdout);
    assert_snapshot!("loads_under_a_spring", run.all());
}

/// Where the profile gives no bump or droop every command takes the same, from where the car was measured, and says so.
#[test]
fn one_travel_is_taken_where_the_profile_gives_none() {
    let bare = [("bump = 90.0", "# bump"), ("droop = 85.0", "# droop")];
    let json = |command: &str| changed(&bare, &[command, "--drop", "30", "--format", "json"]).json();
    let close = |value: &serde_json::Value, expected: f64| {
        let value = value.as_f64().expect("a number");
        assert!((value - expected).abs() < 1e-9, "{value} for {expected}");
    };
    let travel = json("travel");
    close(&travel["sides"][0]["bump_mm"], 50.0);
    close(&travel["sides"][0]["droop_mm"], 110.0);
    let clearance = json("clearance");
    close(&clearance["sides"][0]["travel"]["highest_mm"], 80.0);
    close(&clearance["sides"][0]["travel"]["lowest_mm"], -80.0);
    close(&json("cams")["sides"][1]["bump_mm"], 80.0);
    close(&json("arms")["sets"][0]["sides"][1]["bump_mm"], 80.0);
    for command in ["travel", "clearance", "joints", "springs"] {
        let page = changed(&bare, &[command, "--drop", "30"]);
        assert!(page.stdout.contains("80 mm"), "{}", page.all());
    }
}

/// The links themselves may end the travel.
#[test]
fn travel_beyond_what_the_links_allow_is_cut_and_said() {
    let run = changed(&[("bump = 90.0", "bump = 900.0")], &["clearance", "--drop", "40", "--fit", "none"]);
    assert!(run.stdout.contains("The links themselves end the travel"), "{}", run.all());
}

/// Too little thread is refused, not remarked on: the arm stops where enough is left, and the exit status says so.
#[test]
fn too_little_thread_is_a_refusal() {
    let text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    let less = |minimum: &str| {
        let profile = TempFile::new(text.replace("length = 27.0 }", &format!("length = 17.0{minimum} }}")));
        (
            rodset(&["plan", profile.path(), "--drop", "40"]),
            rodset(&["plan", profile.path(), "--drop", "40", "--format", "json"]),
        )
    };
    let (page, json) = less("");
    assert_eq!((page.status, json.status), (3, 3));
    let json = json.json();
    let arm = &json["sides"][0]["arms"][0];
    assert_eq!(arm["limit"], "thread");
    // 17 mm per end at 241.5 mm, 16 must stay: each end gives 1 mm.
    assert!((arm["exact_mm"].as_f64().expect("a length") - 243.5).abs() < 1e-9, "{arm}");
    assert!(arm["thread_remaining_mm"][0].as_f64().expect("a length") >= 16.0, "{arm}");
    assert_snapshot!("thread_refused", page.stdout);
    // The arm maker's own figure rules.
    let (page, _) = less(", minimum = 12.0");
    assert_eq!(page.status, 0, "{}", page.stdout);
}

#[test]
fn starter_writes_a_profile_to_fill_in_and_never_overwrites() {
    let folder = TempFile::new("");
    let path = folder.0.with_extension("starter.toml");
    let path = path.to_str().expect("a plain path");
    let first = rodset(&["starter", path]);
    assert_eq!(first.status, 0);
    let written = std::fs::read_to_string(path).expect("the starter");
    let again = rodset(&["starter", path]);
    assert_eq!(again.status, 1);
    assert!(again.stderr.contains("exists already"), "{}", again.stderr);
    assert_eq!(std::fs::read_to_string(path).expect("the starter"), written);
    // As written it names what is missing; filled in as its own examples say, it is sound.
    let check = rodset(&["check", path]);
    assert_eq!(check.status, 1);
    assert_snapshot!("starter_unfilled", check.stderr.replace(path, "my-car.toml"));
    let filled = TempFile::new(written.replace("#= ", ""));
    let check = rodset(&["check", filled.path()]);
    assert_eq!((check.status, check.stderr.as_str()), (0, ""));
    let all = written
        .replace("#= ", "")
        .replace("\n# [", "\n[")
        .lines()
        .map(uncomment)
        .collect::<Vec<_>>()
        .join("\n");
    let check = rodset(&["check", TempFile::new(all).path()]);
    assert_eq!((check.status, check.stderr.as_str()), (0, ""));
    let _ = std::fs::remove_file(path);
    let nowhere = rodset(&["starter", "/nowhere/at/all/car.toml"]);
    assert_eq!(nowhere.status, 1);
}

/// A record to fill in: as written it names what is missing; filled in as its own examples say, it is sound.
#[test]
fn starter_writes_a_record_to_fill_in() {
    let folder = TempFile::new("");
    let path = folder.0.with_extension("record.toml");
    let path = path.to_str().expect("a plain path");
    let first = rodset(&["starter", "--record", path]);
    assert_eq!(first.status, 0);
    assert_snapshot!("starter_record", first.stdout.replace(path, "my-readings.toml"));
    let written = std::fs::read_to_string(path).expect("the starter");
    assert_eq!(rodset(&["starter", "--record", path]).status, 1);
    let read = |text: &str| rodset(&["readings", FIRST, TempFile::new(text).path()]);
    let unfilled = rodset(&["readings", FIRST, path]);
    assert_eq!(unfilled.status, 1);
    assert_snapshot!("starter_record_unfilled", unfilled.stderr.replace(path, "my-readings.toml"));
    let _ = std::fs::remove_file(path);
    let filled = written.replace("#= ", "");
    let run = read(&filled);
    assert_eq!((run.status, run.stderr.as_str()), (0, ""));
    // Whatever it only offers can be taken, table by table and key by key; it is at most in the place of something else.
    let wheelbase = changed_text(&[("[wheel]\n", "wheelbase = 2520.0\n\n[wheel]\n")]);
    let profile = TempFile::new(wheelbase);
    let lines: Vec<&str> = filled.lines().collect();
    let mut offered = 0;
    for (i, line) in lines.iter().enumerate() {
        let table = line.starts_with("# [");
        let before = lines[..i]
            .iter()
            .rev()
            .take_while(|line| line.starts_with("# "))
            .any(|line| line.starts_with("# ["));
        if !table && (before || uncomment(line) == *line) {
            continue;
        }
        offered += 1;
        let end = if table {
            lines[i..].iter().position(|line| line.is_empty()).map_or(lines.len(), |n| i + n)
        } else {
            i + 1
        };
        let taken: Vec<&str> = (lines.iter().enumerate())
            .map(
                |(j, line)| {
                    if (i..end).contains(&j) { line.strip_prefix("# ").unwrap_or(line) } else { line }
                },
            )
            .collect();
        let run = rodset(&["readings", profile.path(), TempFile::new(taken.join("\n")).path()]);
        let instead =
            ["is given twice", "half a turn after what?"].iter().any(|told| run.stderr.contains(told));
        assert!(
            run.status == 0 || (instead && run.stderr.matches("error").count() == 1),
            "{line}: {}",
            run.stderr
        );
    }
    assert!(offered > 18, "{offered}");
}

/// A commented key becomes a key; prose stays a comment.
fn uncomment(line: &str) -> &str {
    let key = |line: &str| {
        line.split_once(" = ")
            .is_some_and(|(key, _)| key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_'))
    };
    line.strip_prefix("# ").filter(|rest| key(rest)).unwrap_or(line)
}

/// A disk that is full while the answer is written is an error, not a success with half an answer.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_an_error() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").expect("the full device");
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_rodset"))
        .args(["sheet", FIRST, "--drop", "40"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdout(full)
        .output()
        .expect("the program starts");
    assert_eq!(run.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&run.stderr).contains("standard output"));
}

/// Nothing is left behind, under whatever name, when a starter cannot be written.
#[cfg(target_os = "linux")]
#[test]
fn a_starter_that_cannot_be_written_leaves_nothing() {
    for path in ["/proc/nowhere.toml", "/dev/null/car.toml", "/"] {
        let run = rodset(&["starter", path]);
        assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{path}");
        assert!(run.stderr.starts_with("error: "), "{path}: {}", run.stderr);
    }
}

/// An example with passages replaced, and what a command says of it.
fn changed(changes: &[(&str, &str)], args: &[&str]) -> crate::command::Run {
    let profile = TempFile::new(changed_text(changes));
    rodset(&[&[args[0], profile.path()], &args[1..]].concat())
}

fn changed_text(changes: &[(&str, &str)]) -> String {
    let mut text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    for (from, to) in changes {
        assert!(text.contains(from), "{from:?} is not in the example");
        text = text.replace(from, to);
    }
    text
}

/// An arm that only one side has is shown, set and explained like any other.
#[test]
fn an_arm_on_one_side_only_is_not_lost() {
    let arm = "[link.arm]\nshortest = 318.0\nlongest = 352.0\nthreads = [\"M14x1.5 RH\", \"M14x1.5 LH\"]\nengaged = { at = 331.0, length = 26.0 }\nmisalignment = 13.0\n";
    let right =
        "\n[[right.link]]\nname = \"toe\"\n".to_owned() + &arm.replace("[link.arm]", "[right.link.arm]");
    let changes = [(arm, ""), ("toe = 0.06\n", &*format!("toe = 0.06\n{right}"))];
    let json = changed(&changes, &["plan", "--drop", "40", "--format", "json"]).json();
    let names = |side: usize, key: &str| -> Vec<String> {
        let list = json["sides"][side][key].as_array().expect("a list").iter();
        list.map(|entry| entry["link"].as_str().expect("a name").to_owned()).collect()
    };
    assert_eq!((names(0, "arms"), names(0, "cams")), (vec!["upper".to_owned()], vec!["toe".to_owned()]));
    assert_eq!((names(1, "arms"), names(1, "cams")), (vec!["upper".to_owned(), "toe".to_owned()], vec![]));
    assert_snapshot!("one_side_plan", changed(&changes, &["plan", "--drop", "40"]).stdout);
    let sheet = changed(&changes, &["sheet", "--drop", "40"]).stdout;
    assert!(sheet.contains("[ ] toe, right: 1/12 TURN LONGER"), "{sheet}");
    assert!(sheet.contains("toe  left "), "the left cam is gone: {sheet}");
    let fitted = changed(&changes, &["plan", "--drop", "40", "--fit", "toe", "--format", "json"]);
    assert_eq!(fitted.json()["sides"][1]["arms"][0]["link"], "toe");
}

/// A stopped arm stays at the last whole step before its limit.
#[test]
fn a_stopped_arm_stays_at_its_limit() {
    let changes = [("longest = 262.0", "longest = 246.0"), ("length = 27.0", "length = 19.0")];
    let json = changed(&changes, &["plan", "--drop", "60", "--format", "json"]).json();
    for side in json["sides"].as_array().expect("two sides") {
        let arm = &side["arms"][0];
        let [exact, set] = ["exact_mm", "set_mm"].map(|key| arm[key].as_f64().expect("a length"));
        assert!((exact - 246.0).abs() < 1e-9, "{arm}");
        assert!((0.0..0.25).contains(&(exact - set)), "{arm}");
        assert_eq!(arm["limit"], "longest");
    }
}

#[test]
fn a_drop_beyond_the_travel_is_said_to_be() {
    for (drop, beyond) in [("89", false), ("91", true), ("-84", false), ("-86", true)] {
        let run = run(&format!("lower {FIRST} --drop {drop}"));
        assert_eq!(run.stdout.contains("beyond the wheel's travel"), beyond, "{drop}: {}", run.stdout);
    }
}

/// Near a dead point the pages say what the figures are worth there.
#[test]
fn near_a_dead_point_the_pages_warn() {
    let far = run(&format!("lower {FIRST} --drop 289"));
    assert!(
        far.stdout.contains("CAREFUL, left: at this drop the links are close to a dead point"),
        "{}",
        far.all()
    );
    for command in ["lower", "plan", "cams"] {
        let near = run(&format!("{command} {FIRST} --drop 40"));
        assert!(!near.stdout.contains("dead point"), "{}", near.stdout);
    }
    let json = run(&format!("lower {FIRST} --drop 40 --format json")).json();
    let certainty = &json["sides"][0]["certainty"];
    assert!(certainty["true_within_mm"].as_f64().expect("a distance") < 1e-8, "{certainty}");
    assert!(certainty["alone_within_mm"].as_f64().expect("a distance") > 1.0, "{certainty}");
}

/// The steps of the two sides are chosen together where the limits between the wheels ask for it.
#[test]
fn limits_between_the_wheels_are_kept_when_rounding() {
    let changes = [("cross_camber = 0.5 ", "cross_camber = 0.1 ")];
    for drop in ["20", "25", "30", "35", "40", "45", "50", "60"] {
        let run = changed(&changes, &["plan", "--drop", drop, "--format", "json"]);
        let json = run.json();
        assert_eq!(
            (run.status, &json["axle"]["within_limits"]),
            (0, &true.into()),
            "at {drop}: {}",
            json["axle"]
        );
    }
    let impossible = [("cross_camber = 0.5 ", "cross_camber = 0.0001 ")];
    let run = changed(&impossible, &["plan", "--drop", "40"]);
    assert_eq!(run.status, 3);
    assert!(run.stdout.contains("The two wheels do not go together"), "{}", run.stdout);
}

/// A traction arm that is only kept at stock is refused by itself; the plan stands.
#[test]
fn a_kept_arm_without_thread_is_refused_but_does_not_fail_the_plan() {
    let changes = [("length = 28.0", "length = 5.0")];
    let run = changed(&changes, &["plan", "--drop", "40"]);
    assert_eq!(run.status, 0, "{}", run.all());
    assert!(run.stdout.contains("traction, left: REFUSED"), "{}", run.stdout);
    let sheet = changed(&changes, &["sheet", "--drop", "40"]);
    assert!(sheet.stdout.contains("STOP\n  ! traction, left: REFUSED"), "{}", sheet.stdout);
}

/// A page is as wide as a terminal and a printer: 80 columns.
#[test]
fn no_line_is_wider_than_a_page() {
    let several: &[&str] = &[
        "--detail",
        "--also",
        "toe+1.5",
        "--also",
        "toe-1.25,lower rear+2",
        "--also",
        "lower rear-1",
        "--hold",
    ];
    for (profile, link) in [(FIRST, "traction"), (SECOND, "upper front")] {
        for (command, more) in [
            ("lower", &[][..]),
            ("cams", &[]),
            ("plan", &[]),
            ("plan", &["--fit", "none"]),
            ("sheet", &[]),
            ("clearance", &[]),
            ("joints", &[]),
            ("springs", &[]),
            ("arms", &[]),
            ("tune", &["--link", link]),
            ("travel", &["--detail"]),
            ("travel", several),
        ] {
            for heights in [&["--drop", "40"][..], &["--drop-left", "45.5", "--drop-right", "38"]] {
                let run = rodset(&[&[command, profile], heights, more].concat());
                assert!([0, 3].contains(&run.status), "{command} {profile} {more:?}: {}", run.stderr);
                for line in run.stdout.lines() {
                    let width = line.chars().count();
                    // What `rodset` of `command` takes for the terminal's width.
                    assert!(
                        width <= 100,
                        "{command} {profile} {heights:?} {more:?}: {width} columns\n{line}"
                    );
                }
            }
        }
        let check = rodset(&["check", profile]);
        assert!(check.stdout.lines().all(|line| line.chars().count() <= 100), "{}", check.stdout);
    }
}

/// A length is turned into a plan by the target of pitch, so only an arm that sets pitch is sent there.
#[test]
fn a_link_that_sets_no_pitch_is_not_sent_to_the_spec_for_it() {
    let advice = "put its pitch into [spec]";
    assert!(rodset(&["tune", FIRST, "--drop", "40"]).stdout.contains(advice));
    let run = rodset(&["tune", SECOND, "--drop", "40", "--link", "upper front"]);
    assert!(run.status == 0 && !run.stdout.contains(advice), "{}", run.all());
}
