//! The adjustment of a car's survey against scipy: `survey.py` in this folder, see its README.

use nalgebra::Point3;
use rodset::measure::network::{
    Adjusted, At, Network, Observation, ObservationKind, Shared, Spot, adjust, suspects,
};
use serde_json::Value;

/// Both sides go on until nothing moves any more; what is left is rounding of 1e-13 in each residual, enlarged by the few
/// hundreds that a point is worse known than a tape, and the file's last digit of 1e-9.
const MILLIMETRES: f64 = 1e-8;
/// Deviations of a mm or so follow the places by second derivatives of some 1e-3 to a mm; the file has 1e-10.
const DEVIATIONS: f64 = 1e-9;
/// Redundancy numbers likewise.
const REDUNDANCY: f64 = 1e-9;
/// A residual over the root of a redundancy of 1e-3 or more, so enlarged by up to 30.
const STANDARDIZED: f64 = 1e-7;

struct Survey {
    id: String,
    network: Network,
    expect: Value,
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(number).collect()
}

fn point(value: &Value) -> Point3<f64> {
    Point3::from_slice(&numbers(value))
}

fn index(value: &Value) -> usize {
    usize::try_from(value.as_u64().expect("a count")).expect("a small one")
}

fn at(value: &Value) -> At {
    At { spot: index(&value[0]), mirrored: value[1].as_bool().expect("whether it is mirrored") }
}

fn observation(value: &Value) -> Observation {
    let kind = match value["kind"].as_str().expect("a kind") {
        "distance" => ObservationKind::Distance { from: at(&value["from"]), to: at(&value["to"]) },
        "difference" => ObservationKind::Difference {
            axis: index(&value["axis"]),
            of: at(&value["of"]),
            from: value["from"].is_array().then(|| at(&value["from"])),
        },
        "offset" => {
            ObservationKind::Offset { of: at(&value["of"]), line: [0, 1].map(|end| at(&value["line"][end])) }
        }
        "slope" => ObservationKind::Slope { from: at(&value["from"]), to: at(&value["to"]) },
        other => panic!("no kind {other}"),
    };
    Observation { kind, reads: number(&value["reads"]), sigma: number(&value["sigma"]) }
}

fn spot(value: &Value) -> Spot {
    let held = [0, 1, 2].map(|axis| value["held"][axis].as_bool().expect("whether it is held"));
    Spot { start: point(&value["start"]), held, guessed: false }
}

fn list<T>(value: &Value, read: impl Fn(&Value) -> T) -> Vec<T> {
    value.as_array().expect("a list").iter().map(read).collect()
}

fn surveys() -> Vec<Survey> {
    let surveys: Vec<Survey> = include_str!("surveys.jsonl")
        .lines()
        .map(|line| {
            let survey: Value = serde_json::from_str(line).expect("a line of JSON");
            Survey {
                id: survey["id"].as_str().expect("a name").to_owned(),
                network: Network {
                    spots: list(&survey["spots"], spot),
                    observations: list(&survey["observations"], observation),
                    prior: None,
                    shared: Shared::default(),
                },
                expect: survey["expect"].clone(),
            }
        })
        .collect();
    assert_eq!(surveys.len(), 60, "surveys");
    surveys
}

/// How far two lists are apart, each number by no more than is allowed.
fn apart(id: &str, what: &str, got: &[f64], expect: &[f64], allowed: f64) -> f64 {
    assert_eq!(got.len(), expect.len(), "{id}: {what}");
    let mut largest: f64 = 0.0;
    for (i, (got, expect)) in got.iter().zip(expect).enumerate() {
        let off = (got - expect).abs();
        assert!(off <= allowed, "{id}: {what} {i} is {got}, expected {expect}, off by {off:.1e}");
        largest = largest.max(off);
    }
    largest
}

#[test]
fn adjusted_surveys_agree() {
    let mut largest = [0.0_f64; 4];
    for Survey { id, network, expect } in surveys() {
        let adjusted: Adjusted = adjust(&network).unwrap_or_else(|error| panic!("{id}: {error:?}"));
        let points: Vec<f64> =
            adjusted.points.iter().flat_map(|point| point.coords.iter().copied()).collect();
        let expected: Vec<f64> = list(&expect["points"], numbers).concat();
        let deviations: Vec<f64> =
            adjusted.covariance.diagonal().iter().map(|variance| variance.sqrt()).collect();
        let redundancy: Vec<f64> = adjusted.looks.iter().map(|look| look.redundancy).collect();
        let standardized: Vec<f64> = adjusted.looks.iter().map(|look| look.standardized).collect();
        let off = [
            apart(&id, "coordinate", &points, &expected, MILLIMETRES),
            apart(&id, "deviation", &deviations, &numbers(&expect["deviations"]), DEVIATIONS),
            apart(&id, "redundancy", &redundancy, &numbers(&expect["redundancy"]), REDUNDANCY),
            apart(&id, "standardized", &standardized, &numbers(&expect["standardized"]), STANDARDIZED),
        ];
        for (largest, off) in largest.iter_mut().zip(off) {
            *largest = largest.max(off);
        }
    }
    let [place, deviation, redundancy, standardized] = largest;
    println!(
        "survey: at most {place:.1e} mm, {deviation:.1e} mm of deviation, {redundancy:.1e} of redundancy and \
         {standardized:.1e} of a standardized residual apart"
    );
}

#[test]
fn the_first_suspect_is_the_slip() {
    let mut slips = 0;
    for Survey { id, network, expect } in surveys() {
        let Some(slip) = expect["slip"].as_u64() else { continue };
        slips += 1;
        let (_, found) = suspects(&network).unwrap_or_else(|error| panic!("{id}: {error:?}"));
        let first = found.first().unwrap_or_else(|| panic!("{id}: no suspect"));
        assert_eq!(first.observation as u64, slip, "{id}");
        let standardized = number(&expect["standardized"][first.observation]);
        apart(&id, "first suspect", &[first.standardized], &[standardized], STANDARDIZED);
        assert!(first.cases.is_empty(), "{id}: {:?} could be it as well", first.cases);
    }
    assert_eq!(slips, 20, "surveys with a slip");
}
