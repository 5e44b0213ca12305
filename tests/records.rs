//! The record of readings: what it says is what a round holds, and a round is written back as it was.

use approx::assert_relative_eq;
use rodset::car::Car;
use rodset::measure::{Measured, Round, WheelReading};
use rodset::profile::{self, Record, read_record, write_reading};

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
    assert_relative_eq!(round.drops[..], [40.0, 38.1][..], epsilon = 1e-12);
    assert_eq!((round.drop_sigma, round.front), (None, None));
    let stock = car.sides.each_ref().map(|side| side.links.each_ref().map(rodset::car::Link::stock_length));
    // A pair of M16x1.5 moves 3 mm a turn, as does a pair of M14x1.5.
    assert_relative_eq!(round.lengths[0][0].expect("a length"), stock[0][0] + 5.75, epsilon = 1e-12);
    assert_relative_eq!(round.lengths[1][0].expect("a length"), stock[1][0] + 5.75, epsilon = 1e-12);
    assert_relative_eq!(round.lengths[0][1].expect("a length"), stock[0][1] - 1.5, epsilon = 1e-12);
    assert_eq!(round.lengths[1][1], Some(331.2));
    assert_eq!(round.lengths[0][2..], [None; 3]);
    // The cam under a fitted arm is locked at its middle; two marks of six are 30 degrees, half the throw of 3 mm.
    assert_eq!(round.shifts[0][0], Some(0.0));
    assert_relative_eq!(round.shifts[1][1].expect("a shift"), 1.5, epsilon = 1e-12);
    let left = round.wheels[0];
    let camber = left.camber.expect("camber");
    assert_relative_eq!(camber.value.to_degrees(), -1.0 - 4.0 / 60.0, epsilon = 1e-12);
    assert_relative_eq!(camber.sigma.to_degrees(), 0.05, epsilon = 1e-12);
    assert_relative_eq!(left.toe.expect("toe").value.sin(), 0.7 / 431.8, epsilon = 1e-15);
    let right = round.wheels[1];
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
        assert_relative_eq!(drops[..], expected[..]);
    }
}

#[test]
fn a_source_sets_how_good_a_reading_is() {
    let sigmas = |source: &str| {
        let round = round(&format!("drop = 40.0\n{source}[reading.left]\ncamber = -1.0\ntoe = 0.1\n"));
        let wheel = round.wheels[0];
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
    assert!(one.total_toe.is_some() && one.wheels[1].toe.is_none());
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
    let stock = car.sides.each_ref().map(|side| side.links.each_ref().map(rodset::car::Link::stock_length));
    let lead = car.sides[0].links[0].arm.as_ref().expect("an arm").lead();
    let rounds = [
        Round {
            title: Some("first \"try\", 2\\3".to_owned()),
            date: Some("2026-11-21".to_owned()),
            drops: [40.0; 2],
            lengths: [[Some(stock[0][0] + 23.0 / 12.0 * lead), None, None, None, None]; 2],
            shifts: [[Some(0.0), Some(-1.25), None, None, None]; 2],
            wheels: [WheelReading { camber: degrees(-1.07, 0.05), toe: degrees(0.09, 0.03) }; 2],
            ..Round::default()
        },
        Round {
            drops: [1.5, -38.123_456_789],
            drop_sigma: Some(0.7),
            lengths: [
                [Some(247.123_456_7), Some(stock[0][1] - 0.25), None, Some(stock[0][3]), None],
                [None, None, Some(stock[1][2] + 0.1), None, None],
            ],
            shifts: [[Some(0.0), Some(0.1), None, None, None], [None; 5]],
            wheels: [WheelReading { camber: degrees(1.0 / 3.0, 0.01), toe: None }, WheelReading::default()],
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
        let plain = |round: &Round| Round { wheels: Default::default(), total_toe: None, ..round.clone() };
        assert_eq!(plain(read), plain(written), "{text}");
    }
    for line in
        ["upper = \"1 11/12 longer\"", "camber = -1.07", "toe = 0.09", "camber_sigma = 0.05", "drop = 40.0"]
    {
        assert!(text.contains(&format!("\n{line}\n")), "{line} is not in\n{text}");
    }
    // Written once more it is the same text.
    let again: String = record.rounds.iter().map(|round| write_reading(round, &car)).collect();
    assert_eq!(format!("format = 1\n{again}"), text);
}
