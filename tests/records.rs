//! The record of readings: what it says is what a round holds, a round is written back as it was, and one mistake at a time
//! is told where it stands.

use crate::command::RECORD_STARTER;
use approx::assert_relative_eq;
use rodset::car::{Car, Hand, PerLink, PerSide};
use rodset::measure::{
    Angle, AngleEntry, Chord, Corner, Flaw, FrontHeight, GapsBefore, Instruments, LinkSetting, Measured,
    RawAngles, RawArm, RawCamber, RawFloor, RawHeight, RawReading, RawToe, ReadWith, RearHeight, Round,
    Strings, WheelReading, chord_angle,
};
use rodset::profile::{self, Record, Severity, read_record, write_reading};

const CAR: &str = include_str!("../examples/tansy-wharf.toml");

fn car() -> Car {
    profile::read(CAR).expect("the example is sound").car
}

#[track_caller]
fn read(text: &str) -> Record {
    read_record(text, &car()).unwrap_or_else(|findings| {
        let told: String = findings.iter().map(|f| f.render("record.toml", text, false) + "\n").collect();
        panic!("{told}")
    })
}

/// A record of one reading.
#[track_caller]
fn round(text: &str) -> Round {
    read(&format!("format = 1\n[[reading]]\n{text}")).rounds.remove(0)
}

const READ: &str = "[reading.left]\ncamber = -1.0\n";

/// The first links set, the others not.
fn set(first: &[Option<f64>]) -> PerLink<Option<f64>> {
    PerLink::of(|link| first.get(link).copied().flatten())
}

fn close(found: PerSide<f64>, expected: [f64; 2]) {
    for (found, expected) in found.into_iter().zip(expected) {
        assert_relative_eq!(found, expected, epsilon = 1e-12);
    }
}

#[test]
fn what_stands_in_a_record_is_what_a_round_holds() {
    let round = round(
        "title = \"after fitting\"\ndate = 2026-11-20\nsource = \"rack\"\ndrop_left = 40.0\ndrop_right = \"1 1/2 in\"\n\
         [reading.arms]\nupper = \"1 11/12\"\ntoe = { left = \"1/2 shorter\", right = \"331.2 mm\" }\n\
         [reading.cams]\ntoe = \"2 marks\"\n\
         [reading.left]\ncamber = \"-1°04'\"\ntoe = \"0.7 mm\"\n[reading.right]\ncamber = -0.9\ncamber_sigma = 0.02\n",
    );
    let car = car();
    assert_eq!(round.title.as_deref(), Some("after fitting"));
    assert_eq!(round.date.as_deref(), Some("2026-11-20"));
    close(round.drops, [40.0, 38.1]);
    assert_eq!((round.drop_sigma, round.front), (None, None));
    let stock = car.sides.each(|side| side.links.each(rodset::car::Link::stock_length));
    // A pair of M16x1.5 moves 3 mm a turn, as does a pair of M14x1.5.
    assert_relative_eq!(round.lengths.left[0].expect("a length"), stock.left[0] + 5.75, epsilon = 1e-12);
    assert_relative_eq!(round.lengths.right[0].expect("a length"), stock.right[0] + 5.75, epsilon = 1e-12);
    assert_relative_eq!(round.lengths.left[1].expect("a length"), stock.left[1] - 1.5, epsilon = 1e-12);
    assert_eq!(round.lengths.right[1], Some(331.2));
    assert_eq!(round.lengths.left[2..], [None; 3]);
    // The cam under a fitted arm is locked at its middle; two marks of six are 30 degrees, half the throw of 3 mm.
    assert_eq!(round.shifts.left[0], Some(0.0));
    assert_relative_eq!(round.shifts.right[1].expect("a shift"), 1.5, epsilon = 1e-12);
    let left = round.wheels.left;
    let camber = left.camber.expect("camber");
    assert_relative_eq!(camber.value.to_degrees(), -1.0 - 4.0 / 60.0, epsilon = 1e-12);
    assert_relative_eq!(camber.sigma.to_degrees(), 0.05, epsilon = 1e-12);
    assert_relative_eq!(left.toe.expect("toe").value.sin(), 0.7 / 431.8, epsilon = 1e-15);
    let right = round.wheels.right;
    assert_relative_eq!(right.camber.expect("camber").sigma.to_degrees(), 0.02, epsilon = 1e-12);
    assert_eq!((right.toe, round.total_toe), (None, None));
}

#[test]
fn heights_are_drops_however_they_were_measured() {
    let corners = "format = 1\n[heights]\nrear_left = 373.0\nrear_right = 376.0\n[[reading]]\n";
    let heights = "[reading.heights]\nrear_left = 334.0\nrear_right = 334.0\n";
    for (drops, expected) in [
        (round(&format!("drop = 0\n{READ}")).drops, [0.0; 2]),
        (round(&format!("arch_gap = 334.0\n{READ}")).drops, [40.0; 2]),
        (round(&format!("arch_gap_left = 334.0\narch_gap_right = 335.5\n{READ}")).drops, [40.0, 38.5]),
        (read(&format!("{corners}{READ}{heights}")).rounds[0].drops, [39.0, 42.0]),
    ] {
        close(drops, expected);
    }
}

#[test]
fn a_source_sets_how_good_a_reading_is() {
    let sigmas = |source: &str| {
        let round = round(&format!("drop = 40.0\n{source}[reading.left]\ncamber = -1.0\ntoe = 0.1\n"));
        let wheel = round.wheels.left;
        [wheel.camber, wheel.toe].map(|figure| figure.expect("a figure").sigma.to_degrees())
    };
    for (source, [camber, toe]) in [
        ("", [0.08, 0.04]),
        ("source = \"rack\"\n", [0.05, 0.03]),
        ("source = \"strings\"\n", [0.08, 0.04]),
        ("source = \"gauge\"\n", [0.08, 0.06]),
    ] {
        let read = sigmas(source);
        assert_relative_eq!(read[0], camber, epsilon = 1e-12);
        assert_relative_eq!(read[1], toe, epsilon = 1e-12);
    }
}

/// The total is kept where it says more than the wheels do.
#[test]
fn a_total_of_two_known_wheels_is_only_checked() {
    let total = "total_toe = 0.2\n";
    let only = round(&format!("drop = 40.0\n{total}")).total_toe.expect("a total");
    assert_relative_eq!(only.value.to_degrees(), 0.2, epsilon = 1e-12);
    let one = round(&format!("drop = 40.0\n{total}[reading.left]\ntoe = 0.1\n"));
    assert!(one.total_toe.is_some() && one.wheels.right.toe.is_none());
    let both = round(&format!("drop = 40.0\n{total}[reading.left]\ntoe = 0.1\n[reading.right]\ntoe = 0.1\n"));
    assert_eq!(both.total_toe, None);
}

/// What is written reads back the same; angles to the last bit or the one before.
#[test]
fn a_round_is_written_as_it_will_be_read() {
    let car = car();
    let degrees = |value: f64, sigma: f64| {
        Some(Measured { value: f64::to_radians(value), sigma: f64::to_radians(sigma) })
    };
    let stock = car.sides.each(|side| side.links.each(rodset::car::Link::stock_length));
    let lead = car.sides.left.links[0].arm.as_ref().expect("an arm").lead();
    let rounds = [
        Round {
            title: Some("first \"try\", 2\\3".to_owned()),
            date: Some("2026-11-21".to_owned()),
            drops: [40.0; 2].into(),
            lengths: PerSide::both(set(&[Some(stock.left[0] + 23.0 / 12.0 * lead)])),
            shifts: PerSide::both(set(&[Some(0.0), Some(-1.25)])),
            wheels: [WheelReading { camber: degrees(-1.07, 0.05), toe: degrees(0.09, 0.03) }; 2].into(),
            ..Round::default()
        },
        Round {
            drops: [-15.5, -38.123_456_789].into(),
            drop_sigma: Some(0.7),
            source: Some(ReadWith::Rack),
            lengths: [
                set(&[Some(247.123_456_7), Some(stock.left[1] - 0.25), None, Some(stock.left[3])]),
                set(&[None, None, Some(stock.right[2] + 0.1)]),
            ]
            .into(),
            shifts: [set(&[Some(0.0), Some(0.1)]), set(&[])].into(),
            wheels: [WheelReading { camber: degrees(1.0 / 3.0, 0.01), toe: None }, WheelReading::default()]
                .into(),
            total_toe: degrees(0.217, 0.05),
            ..Round::default()
        },
    ];
    let mut text = "format = 1\n".to_owned();
    for round in &rounds {
        text += &write_reading(round, &car);
    }
    let record = read(&text);
    assert_eq!(record.warnings, [], "{text}");
    let figures = |round: &Round| -> Vec<Measured> {
        let wheels = round.wheels.iter().flat_map(|wheel| [wheel.camber, wheel.toe]);
        wheels.chain([round.total_toe]).flatten().collect()
    };
    for (read, written) in record.rounds.iter().zip(&rounds) {
        let found = figures(read);
        assert_eq!(found.len(), figures(written).len(), "{text}");
        for (found, expected) in found.iter().zip(figures(written)) {
            assert_relative_eq!(found.value, expected.value, max_relative = 4e-16);
            assert_relative_eq!(found.sigma, expected.sigma, max_relative = 4e-16);
        }
        let plain = |round: &Round| Round { wheels: PerSide::default(), total_toe: None, ..round.clone() };
        assert_eq!(plain(read), plain(written), "{text}");
    }
    for line in
        ["upper = \"1 11/12 longer\"", "camber = -1.07", "toe = 0.09", "camber_sigma = 0.05", "drop = 40.0"]
    {
        assert!(text.contains(&format!("\n{line}\n")), "{line} is not in\n{text}");
    }
    // Turns are told as on every page: two thirds, not eight twelfths.
    let third = Round {
        drops: [40.0; 2].into(),
        lengths: PerSide::both(set(&[Some(stock.left[0] + 5.0 / 3.0 * lead)])),
        wheels: rounds[0].wheels,
        ..Round::default()
    };
    assert!(
        write_reading(&third, &car).contains("upper = \"1 2/3 longer\""),
        "{}",
        write_reading(&third, &car)
    );
    // Written once more it is the same text.
    let again: String = record.rounds.iter().map(|round| write_reading(round, &car)).collect();
    assert_eq!(format!("format = 1\n{again}"), text);
}

const BASE_CAR: &str = include_str!("findings/base.toml");
const BASE: &str = include_str!("records/base.toml");

fn base_car() -> Car {
    profile::read(BASE_CAR).expect("the base profile is sound").car
}

/// The raw measures of the base record against the formulas written out.
#[test]
fn raw_measures_come_to_the_angles_that_they_mean() {
    let record = read_record(BASE, &base_car()).expect("the base record is sound");
    assert_eq!(record.warnings, []);
    let [angles, measures, turned] = &record.rounds[..] else { panic!("three readings") };
    let degrees = |angle: Option<Measured>| angle.expect("a figure").value.to_degrees();
    assert_relative_eq!(degrees(angles.wheels.left.camber), -1.1, epsilon = 1e-12);
    // Drops from gaps: 370 in the profile for the rear, 365 and 366 in the record for the front.
    close(measures.drops, [39.0, 37.0]);
    assert_relative_eq!(measures.front.expect("a front"), 30.0, epsilon = 1e-12);
    let workings = &record.workings[1];
    let slope = (3.0_f64 / 1500.0).asin().to_degrees();
    assert_relative_eq!(workings.floor.expect("a floor").value.to_degrees(), slope, epsilon = 1e-12);
    // Left: mean of the level and of the strings, less the string's own angle; the floor rises to the left.
    let mean =
        |a: f64, b: f64, across: f64| f64::midpoint((a / across).asin(), (b / across).asin()).to_degrees();
    let string = (1.5_f64 / 2500.0).atan().to_degrees();
    assert_relative_eq!(degrees(measures.wheels.left.camber), -1.1 + slope, epsilon = 1e-6);
    assert_relative_eq!(degrees(measures.wheels.left.toe), mean(0.8, 0.4, 455.0) - string, epsilon = 1e-12);
    // Right: no `across`, so the rim's diameter of the profile.
    assert_relative_eq!(
        degrees(measures.wheels.right.camber),
        mean(-8.5, -7.7, 431.8) - slope,
        epsilon = 1e-6
    );
    assert_relative_eq!(
        degrees(measures.wheels.right.toe),
        (0.8_f64 / 431.8).asin().to_degrees(),
        epsilon = 1e-12
    );
    let run_out = workings.run_out.left.camber.expect("two readings of the level").to_degrees();
    assert_relative_eq!(run_out, 0.1, epsilon = 1e-12);
    // The deviation is that of the rule, with the tape's across the rim.
    let chord =
        chord_angle([148.4, 147.6], None, 0.3, Measured { value: 431.8, sigma: 0.7 }).expect("an angle");
    let string = 2.0 * (0.7 / 2500.0_f64).powi(2);
    let expected = (chord.angle.sigma.powi(2) + string).sqrt();
    assert_relative_eq!(measures.wheels.right.toe.expect("toe").sigma, expected, max_relative = 1e-6);
    // Turned round: both wheels find a floor that rises by 0.1 degree to the left.
    assert_relative_eq!(degrees(turned.wheels.left.camber), -1.1, epsilon = 1e-12);
    assert_relative_eq!(degrees(turned.wheels.right.camber), -1.3, epsilon = 1e-12);
    assert_relative_eq!(degrees(record.workings[2].floor), 0.1, epsilon = 1e-12);
    let total = 2.0 * (3.5_f64 / 2.0 / 610.0).asin().to_degrees();
    assert_relative_eq!(degrees(turned.total_toe), total, epsilon = 1e-12);
}

/// The second reading of the base record as somebody writes it down who has no file: its gaps, levels and strings.
fn by_hand() -> RawReading {
    let level = |value: f64, half_turn: f64| RawCamber::Level {
        value: value.to_radians(),
        half_turn: Some(half_turn.to_radians()),
    };
    let chord = |ends, half_turn, across| Chord { ends, half_turn, across };
    RawReading {
        title: Some("by measures".to_owned()),
        height: RawHeight {
            rear: RearHeight::Gaps([331.0, 333.0].into()),
            front: Some(FrontHeight::Gaps([Some(334.0), Some(337.0)].into())),
            drop_sigma: None,
        },
        angles: RawAngles {
            cambers: [
                Some(level(-1.2, -1.0)),
                Some(RawCamber::Plumb(chord([33.0, 41.5], Some([33.4, 41.1]), None))),
            ]
            .into(),
            toes: [
                Some(RawToe::Rim(chord([152.4, 151.6], Some([152.2, 151.8]), Some(455.0)))),
                Some(RawToe::Rim(chord([148.4, 147.6], None, None))),
            ]
            .into(),
            strings: Some(Strings {
                gaps: [Some([905.0, 903.5]), Some([901.0, 901.0])].into(),
                tracks: None,
                apart: Some(2500.0),
            }),
            floor: Some(RawFloor::Higher(3.0, Some(1500.0))),
            total_toe: None,
        },
        ..RawReading::default()
    }
}

const BEFORE: GapsBefore = GapsBefore {
    rear: PerSide { left: None, right: None },
    front: PerSide { left: Some(365.0), right: Some(366.0) },
};

#[test]
fn a_reading_made_by_hand_is_that_of_the_file() {
    let record = read_record(BASE, &base_car()).expect("the base record is sound");
    let mut reading = by_hand();
    let reduced = reading.reduce(&base_car(), &BEFORE, &Instruments::default()).expect("sound");
    assert_eq!((&reduced.round, &reduced.workings), (&record.rounds[1], &record.workings[1]));
    assert_eq!(reduced.oddities, []);
    // An arm is longer by its turns, and its cam is locked.
    reading.arms = vec![LinkSetting { hand: Hand::Right, link: 0, to: RawArm::Turns(23.0 / 12.0) }];
    let reduced = reading.reduce(&base_car(), &BEFORE, &Instruments::default()).expect("sound");
    let [of_file, by_hand] = [&record.rounds[0], &reduced.round];
    assert_eq!(by_hand.lengths.right[0], of_file.lengths.right[0]);
    assert_eq!((by_hand.shifts.right[0], by_hand.lengths.left), (Some(0.0), set(&[])));
}

#[test]
fn a_flaw_names_what_was_read() {
    let flaws = |change: &dyn Fn(&mut RawReading)| {
        let mut reading = by_hand();
        change(&mut reading);
        match reading.reduce(&base_car(), &BEFORE, &Instruments::default()) {
            Ok(reduced) => (false, reduced.oddities),
            Err(flaws) => (true, flaws),
        }
    };
    let chord = Chord { ends: [152.4, 900.0], half_turn: None, across: None };
    let [toe, camber] = [AngleEntry::Toe(Hand::Left), AngleEntry::Camber(Hand::Left)];
    assert_eq!(
        flaws(&|reading| reading.angles.toes.left = Some(RawToe::Rim(chord))),
        (true, vec![Flaw::NoAngle(toe)])
    );
    let far = Chord { ends: [10.0, 60.0], ..chord };
    let (odd, told) = flaws(&|reading| reading.angles.cambers.left = Some(RawCamber::Plumb(far)));
    let [Flaw::Much(entry, angle), Flaw::CambersApart(_)] = told[..] else { panic!("{told:?}") };
    assert_eq!((odd, entry), (false, camber));
    assert_relative_eq!(angle, (-50.0_f64 / 431.8).asin(), epsilon = 1e-12);
    let drop = Flaw::Drop(Corner::Rear(Hand::Right), f64::INFINITY);
    let gaps = RearHeight::Gaps([331.0, f64::NEG_INFINITY].into());
    assert_eq!(flaws(&|reading| reading.height.rear = gaps), (true, vec![drop]));
    let set = LinkSetting { hand: Hand::Left, link: 9, to: RawArm::Change(1.0) };
    assert_eq!(flaws(&|reading| reading.arms = vec![set]), (true, vec![Flaw::NoLink(Hand::Left, 9)]));
    let nothing = |reading: &mut RawReading| reading.angles = RawAngles::default();
    assert_eq!(flaws(&nothing), (true, vec![Flaw::NothingRead]));
    // An angle that was read as such is as good as its source.
    let mut angle = by_hand();
    angle.source = Some(ReadWith::Gauge);
    angle.angles.cambers.right = Some(RawCamber::Angle(Angle { value: -0.02, sigma: None }));
    angle.angles.floor = None;
    let reduced = angle.reduce(&base_car(), &BEFORE, &Instruments::default()).expect("sound");
    assert_eq!(
        reduced.round.wheels.right.camber,
        Some(Measured { value: -0.02, sigma: 0.08 * std::f64::consts::PI / 180.0 })
    );
}

/// Strings set out by the hubs: half the difference of the tracks counts, and it counts on both sides.
#[test]
fn strings_set_out_by_the_hubs_count_half_the_tracks() {
    let text = BASE.replace(
        "left = { front = 905.0, rear = 903.5 }\nright = { front = 901.0, rear = 901.0 }",
        "tracks = { front = 1480.0, rear = 1504.0 }\nleft = { front = 165.0, rear = 151.5 }\nright = { front = 161.0, rear = 149.0 }",
    );
    let [hubs, centreline] = [text.as_str(), BASE].map(|text| {
        let record = read_record(text, &base_car()).expect("sound");
        (
            record.rounds[1].wheels.map(|wheel| wheel.toe.expect("toe").value),
            record.workings[1].toe_covariance,
        )
    });
    close(hubs.0, [centreline.0.left, centreline.0.right]);
    assert_relative_eq!(hubs.1, 2.0 * (0.35 / 2500.0_f64).powi(2), max_relative = 1e-12);
    assert_relative_eq!(centreline.1, 0.0);
}

/// With one wheel read both ways its floor serves the other one.
#[test]
fn one_wheel_read_both_ways_tells_the_floor_for_both() {
    let text = BASE.replace("right = { level = -1.4 }\n", "");
    let record = read_record(&text, &base_car()).expect("sound");
    let right = record.rounds[2].wheels.right.camber.expect("camber");
    assert_relative_eq!(right.value.to_degrees(), -1.3, epsilon = 1e-6);
    let level = 0.08_f64.to_radians();
    assert_relative_eq!(right.sigma, (level * level * 1.5).sqrt(), max_relative = 1e-4);
}

#[track_caller]
fn broken(from: &str, to: &str) -> String {
    assert_eq!(BASE.matches(from).count(), 1, "{from:?} must stand in the base record once");
    BASE.replace(from, to)
}

#[track_caller]
fn findings(from: &str, to: &str) -> String {
    let text = broken(from, to);
    let findings = match read_record(&text, &base_car()) {
        Ok(record) => record.warnings,
        Err(findings) => findings,
    };
    findings.iter().map(|finding| finding.render("record.toml", &text, false) + "\n\n").collect()
}

/// A name for the snapshot, the passage that is replaced, and whether that is only odd.
const MISTAKES: &[(&str, &str, &str, bool)] = &[
    ("format_missing", "format = 1\n", "", false),
    ("format_unknown", "format = 1\n", "format = 2\n", false),
    ("key_unknown", "level_half_turn = -1.0", "level_halfturn = -1.0", false),
    ("source_unknown", "source = \"gauge\"", "source = \"gage\"", false),
    ("no_height", "arch_gap = 330.0\n", "", false),
    ("height_twice", "arch_gap = 330.0\n", "arch_gap = 330.0\ndrop = 40.0\n", false),
    ("height_of_one_side_twice", "drop = 40.0\n", "drop = 40.0\ndrop_left = 38.0\n", false),
    ("height_of_one_side", "arch_gap = 330.0\n", "arch_gap_left = 330.0\n", false),
    ("corner_missing", "rear_right = 333.0\n", "", false),
    ("front_twice", "[reading.heights]", "front_drop = 30.0\n[reading.heights]", false),
    ("front_gap_before_missing", "front_right = 366.0\n", "", false),
    ("gap_in_inches", "arch_gap = 330.0", "arch_gap = 13.0", false),
    ("corner_in_inches", "rear_left = 331.0", "rear_left = 13.03", false),
    ("drop_in_inches", "drop = 40.0", "drop = 1.5", true),
    ("drop_of_a_lorry", "drop = 40.0", "drop = 4000", false),
    ("drop_past_the_travel", "drop = 40.0", "drop = 95.0", true),
    ("body_twisted", "front_left = 334.0", "front_left = 304.0", true),
    ("drop_sigma_zero", "drop = 40.0", "drop = 40.0\ndrop_sigma = 0", false),
    ("link_unknown", "upper = \"1 11/12 longer\"", "uper = \"1 11/12 longer\"", false),
    ("turns_unreadable", "\"1 11/12 longer\"", "\"nearly two\"", false),
    ("turns_with_sign_and_word", "\"1 11/12 longer\"", "\"-1 11/12 longer\"", false),
    ("length_without_unit", "\"331.5 mm\"", "331.5", false),
    ("turns_without_an_arm", "\"331.5 mm\"", "\"1/2 longer\"", false),
    ("length_in_inches", "\"331.5 mm\"", "\"13.05 mm\"", false),
    ("arm_past_its_end", "\"1 11/12 longer\"", "\"8 longer\"", true),
    ("marks_of_an_arm", "\"1 11/12 longer\"", "\"2 marks\"", false),
    ("marks_that_no_one_counted", "upper = 15.0", "upper = \"1 mark\"", false),
    ("turns_of_a_cam", "upper = 15.0", "upper = \"1/2 turn\"", false),
    ("cam_past_full_throw", "upper = 15.0", "upper = 100.0", false),
    ("cam_shifted_too_far", "upper = 15.0", "upper = \"5 mm\"", false),
    ("no_cam_there", "upper = 15.0", "upper = 15.0\ntoe = 15.0", false),
    (
        "nothing_read",
        "[reading.plates]\nfront = 1702.0\nrear = 1705.5\nlength = 610.0\n\n[reading.other_way_round]\nleft = { level = -1.0 }\nright = { level = -1.4 }\n",
        "[[reading]]\ndrop = 0\n",
        false,
    ),
    ("camber_sign_slip", "camber = -1.3", "camber = 1.3", true),
    ("camber_in_minutes", "camber = -1.3", "camber = -78", false),
    ("toe_in_minutes", "toe = 0.09", "toe = 5.4", true),
    ("toe_sigma_zero", "toe_sigma = 0.05", "toe_sigma = 0.0", false),
    ("toe_sigma_negative", "toe_sigma = 0.05", "toe_sigma = -0.05", false),
    ("toe_sigma_in_minutes", "toe_sigma = 0.05", "toe_sigma = 3.0", true),
    ("toe_sigma_endless", "toe_sigma = 0.05", "toe_sigma = 1e30", false),
    ("tape_sigma_of_an_atom", "ruler = 0.3", "ruler = 0.3\ntape = 1e-9", false),
    ("sigma_of_nothing", "toe = 0.12\n", "", false),
    ("ruler_sigma_zero", "ruler = 0.3", "ruler = 0.0", false),
    (
        "total_for_each",
        "toe = 0.09\n",
        "toe = 0.12\n\n[[reading]]\ndrop = 40\n[reading.left]\ntoe = 0.2\n[reading.right]\ntoe = 0.2\n",
        true,
    ),
    ("total_and_each_disagree", "front_drop = 30.0", "front_drop = 30.0\ntotal_toe = 0.8", true),
    ("total_given_twice", "arch_gap = 330.0", "arch_gap = 330.0\ntotal_toe = 0.3", false),
    (
        "camber_given_twice",
        "level = -1.2\nlevel_half_turn",
        "level = -1.2\ncamber = -1.1\nlevel_half_turn",
        false,
    ),
    (
        "toe_given_twice",
        "rim = { front = 148.4, rear = 147.6 }",
        "rim = { front = 148.4, rear = 147.6 }\ntoe = 0.1",
        false,
    ),
    ("half_turn_of_nothing", "level = -1.2\nlevel_half_turn", "level_half_turn", false),
    ("run_out_of_no_rim", "level_half_turn = -1.0", "level_half_turn = -2.1", true),
    (
        "run_out_of_strings_swapped",
        "rim_half_turn = { front = 152.2, rear = 151.8 }",
        "rim_half_turn = { front = 148.2, rear = 155.8 }",
        true,
    ),
    ("level_from_level", "level_half_turn = -1.0", "level_half_turn = 88.9", false),
    (
        "rim_gaps_in_inches",
        "rim = { front = 148.4, rear = 147.6 }",
        "rim = { front = 5.84, rear = 5.81 }",
        true,
    ),
    ("rim_in_inches", "across = 455.0", "across = 17.9", false),
    ("rim_gap_missing", "rim = { front = 148.4, rear = 147.6 }", "rim = { front = 148.4 }", false),
    ("rim_gap_negative", "rear = 147.6", "rear = -147.6", false),
    ("rim_gaps_of_two_cars", "rear = 147.6", "rear = 900.0", false),
    ("string_of_one_side", "right = { front = 901.0, rear = 901.0 }\n", "", false),
    ("string_askew", "front = 905.0, rear = 903.5", "front = 905.0, rear = 803.5", false),
    ("string_in_inches", "front = 905.0, rear = 903.5", "front = 35.6, rear = 35.6", false),
    ("plates_in_inches", "front = 1702.0", "front = 67.0", false),
    ("plates_without_length", "length = 610.0\n", "", false),
    ("floor_twice", "left_higher = 3.0", "left_higher = 3.0\nslope = 0.1", false),
    ("floor_of_nothing", "left_higher = 3.0\n", "", false),
    ("floor_of_a_ramp", "left_higher = 3.0", "slope = 15.0", false),
    (
        "floor_under_a_rack",
        "source = \"gauge\"\ndrop = 40.0\nfront_drop = 30.0\n",
        "source = \"rack\"\ndrop = 40.0\nfront_drop = 30.0\nfloor = { slope = 0.1 }\n",
        false,
    ),
    ("floor_and_turned_round", "[reading.plates]", "[reading.floor]\nslope = 0.1\n\n[reading.plates]", false),
    ("turned_round_on_other_spots", "right = { level = -1.4 }", "right = { level = -0.6 }", true),
    ("turned_round_without_a_pair", "left = { level = -1.0 }\nright = { level = -1.4 }", "", false),
    ("turned_round_toe", "left = { level = -1.0 }", "left = { level = -1.0, toe = 0.1 }", false),
];

#[test]
fn every_mistake_is_named_where_it_stands() {
    for (name, from, to, _) in MISTAKES {
        let text = findings(from, to);
        assert!(!text.is_empty(), "{name} went unnoticed");
        insta::assert_snapshot!(*name, text);
    }
}

#[test]
fn mistakes_are_errors_and_oddities_are_warnings() {
    for (name, from, to, odd) in MISTAKES {
        let result = read_record(&broken(from, to), &base_car());
        assert_eq!(result.is_ok(), *odd, "{name}");
        if let Ok(record) = result {
            assert!(record.warnings.iter().all(|finding| finding.severity == Severity::Warning), "{name}");
        }
    }
}

/// What the profile leaves out is asked for where it is needed.
#[test]
fn a_record_asks_for_what_the_profile_leaves_out() {
    for (left_out, asked) in [
        ("wheelbase = 2500.0\n", "a front height needs the wheelbase"),
        ("rim_diameter = 431.8\n", "how far apart are the two edges of the rim?"),
        ("arch_gap = 370.0\n", "what was the gap before?"),
    ] {
        assert_eq!(BASE_CAR.matches(left_out).count(), 1, "{left_out}");
        let car = profile::read(&BASE_CAR.replace(left_out, "")).expect("still sound").car;
        let findings = read_record(BASE, &car).expect_err("something is missing");
        assert!(findings.iter().any(|finding| finding.headline.contains(asked)), "{findings:?}");
        let toe = broken("toe = 0.09", "toe = \"0.7 mm\"");
        let findings = read_record(&toe, &car).expect_err("something is missing");
        let without_rim =
            findings.iter().any(|finding| finding.headline.contains("needs `wheel.rim_diameter`"));
        assert_eq!(without_rim, left_out.starts_with("rim"), "{findings:?}");
    }
}

/// Left and right cams stand where they stand: each by itself, in every way of saying it.
#[test]
fn the_cams_of_both_sides_may_differ() {
    for (cams, degrees) in [
        ("toe = { left = \"1 mark\", right = \"-1 mark\" }", [15.0, -15.0]),
        ("toe = { left = \"1 mark outboard\", right = \"2 marks inboard\" }", [15.0, -30.0]),
        ("toe = { left = 10.0, right = \"1.5 mm inboard\" }", [10.0, -30.0]),
        ("toe = { left = \"towards the wheel\", right = \"away from the wheel\" }", [90.0, -90.0]),
        ("toe = \"1.5 marks\"", [22.5, 22.5]),
    ] {
        let round = round(&format!("drop = 0.0\n[reading.cams]\n{cams}\n{READ}"));
        for (side, degrees) in degrees.into_iter().enumerate() {
            let shift = round.shifts[Hand::BOTH[side]][1].expect("a shift");
            assert_relative_eq!(shift, 3.0 * f64::sin(f64::to_radians(degrees)), epsilon = 1e-12);
        }
        // There and back.
        let again = read_record(&format!("format = 1\n{}", write_reading(&round, &car())), &car());
        assert_eq!(again.expect("a record").rounds[0].shifts, round.shifts, "{cams}");
    }
}

/// The starter of a record shows cams that differ from side to side, and what it shows can be read.
#[test]
fn the_starter_shows_the_cams_of_both_sides() {
    let starter = RECORD_STARTER.as_str();
    let shown = starter.split("# [reading.cams]").nth(1).expect("a table of cams");
    let lines = shown.lines().skip(1).map_while(|line| line.strip_prefix("# "));
    // What is said of the table goes on below its header.
    let lines = lines.filter(|line| !line.trim_start().starts_with('#')).take(2);
    let cams = lines.collect::<Vec<_>>().join("\n") + "\n";
    assert!(cams.contains("left = ") && cams.contains("right = "), "{cams}");
    let round = round(&format!("drop = 0.0\n[reading.cams]\n{cams}{READ}"));
    let shifts = round.shifts.map(|shifts| shifts[1].expect("a shift"));
    assert!((shifts.left - shifts.right).abs() > 1.0, "{shifts:?}");
}
