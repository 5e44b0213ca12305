//! Networks of distances, in a plane or in space, held by fixed points or free.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector, Point3, Rotation3, Vector3};
use rodset::measure::network::{
    Adjusted, At, Network, Observation, ObservationKind, Shared, Spot, adjust, suspects,
};
use serde::Deserialize;

use super::{Check, Printed};

/// The name of a distance's ends, its length, and its own standard deviation where there is one.
#[derive(Deserialize)]
#[serde(untagged)]
enum Distance {
    Own(String, String, f64, f64),
    Common(String, String, f64),
}

/// A point as it was adjusted, in units of the source; corrections and deviations in hundredths of it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AdjustedPoint {
    name: String,
    at: Vec<Printed>,
    #[serde(default)]
    correction: Vec<Printed>,
    /// Standard deviations seen from the residuals.
    deviation: Vec<Printed>,
    /// The root of the sum of their squares.
    total: Option<Printed>,
}

/// The distance whose residual is the largest, over its own deviation as seen from the residuals.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Largest {
    between: [String; 2],
    tau: Printed,
}

/// A list with a slip in one distance.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Slip {
    between: [String; 2],
    reads: f64,
    unit_weight: Printed,
    tau: Printed,
}

/// What is left when suspect distances are set aside one by one.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Snooped {
    distances: usize,
    at: Vec<Printed>,
    /// The deviation of one distance as seen from the residuals.
    m0: Printed,
    /// The point whose distance has the largest residual over its own deviation, and that residual.
    worst: String,
    w: Printed,
    /// For the stated deviations.
    deviation: Option<Vec<Printed>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Net {
    #[serde(default)]
    name: String,
    /// Points that are held; without any the network is held by the inner constraint on all its points.
    #[serde(default)]
    fixed: BTreeMap<String, Vec<f64>>,
    start: BTreeMap<String, Vec<f64>>,
    sigma: Option<f64>,
    distance: Vec<Distance>,
    point: Vec<AdjustedPoint>,
    unit_weight: Option<Printed>,
    /// Adjusted less read, and redundancy number, of each distance.
    #[serde(default)]
    residual: Vec<Printed>,
    #[serde(default)]
    redundancy: Vec<Printed>,
    largest: Option<Largest>,
    slip: Option<Slip>,
    /// Points to which the distance is labelled a blunder.
    #[serde(default)]
    blunders: Vec<String>,
    #[serde(default)]
    snooping: Vec<Snooped>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Nets {
    network: Vec<Net>,
}

pub(super) fn check(check: &mut Check, file: &Nets) {
    for net in &file.network {
        let names: Vec<&String> = net.fixed.keys().chain(net.start.keys()).collect();
        let network = net.network(&names);
        let adjusted = adjust(&network).unwrap_or_else(|error| panic!("{}: {error:?}", check.file));
        points(check, net, &names, &adjusted);
        looks(check, net, &names, &adjusted);
        if let Some(slip) = &net.slip {
            with_slip(check, slip, &names, network.clone());
        }
        if !net.snooping.is_empty() {
            snooping(check, net, &names, &network);
        }
    }
}

impl Net {
    /// A unit of the source is a millimetre here: nothing depends on it.
    fn network(&self, names: &[&String]) -> Network {
        let place =
            |name: &String| names.iter().position(|other| *other == name).expect("a point of the file");
        let spot = |at: &Vec<f64>, plane: [bool; 2]| {
            let height = at.get(2).copied();
            let held = [plane[0], plane[1], plane[0] && plane[1] || height.is_none()];
            Spot { start: Point3::new(at[0], at[1], height.unwrap_or(0.0)), held, guessed: false }
        };
        // A free network is held by one point and the direction to another until it is adjusted.
        let minimal = |i: usize| if self.fixed.is_empty() { [[true; 2], [true, false]].get(i) } else { None };
        let start = self.start.values().enumerate();
        let free = start.map(|(i, at)| spot(at, minimal(i).copied().unwrap_or([false; 2])));
        let observation = |distance: &Distance| {
            let (from, to, reads, own) = match distance {
                Distance::Own(from, to, reads, own) => (from, to, *reads, Some(*own)),
                Distance::Common(from, to, reads) => (from, to, *reads, self.sigma),
            };
            let kind = ObservationKind::Distance { from: At::spot(place(from)), to: At::spot(place(to)) };
            Observation { kind, reads, sigma: own.expect("a deviation, its own or that of all") }
        };
        Network {
            spots: self.fixed.values().map(|at| spot(at, [true; 2])).chain(free).collect(),
            observations: self.distance.iter().map(observation).collect(),
            prior: None,
            shared: Shared::default(),
        }
    }
}

fn points(check: &mut Check, net: &Net, names: &[&String], adjusted: &Adjusted) {
    let (places, covariance) =
        if net.fixed.is_empty() { inner(net, adjusted) } else { (adjusted.points.clone(), of_all(adjusted)) };
    for expected in &net.point {
        check.row();
        let row = format!("{} {}", net.name, expected.name).trim().to_owned();
        let i = names.iter().position(|name| **name == expected.name).expect("a point of the file");
        let mut total: f64 = 0.0;
        for axis in 0..expected.at.len() {
            let row = format!("{row}, {}", ["x", "y", "z"][axis]);
            check.printed("coordinate", &row, places[i][axis], expected.at[axis]);
            let variance = covariance[(3 * i + axis, 3 * i + axis)];
            let deviation = 100.0 * adjusted.unit_weight() * variance.max(0.0).sqrt();
            total = total.hypot(deviation);
            check.printed("deviation", &row, deviation, expected.deviation[axis]);
            if let Some(correction) = expected.correction.get(axis) {
                let moved = places[i][axis] - net.start[&expected.name][axis];
                check.printed("correction", &row, 100.0 * moved, *correction);
            }
        }
        if let Some(expected) = expected.total {
            check.printed("deviation", &format!("{row}, total"), total, expected);
        }
    }
    if let Some(unit_weight) = net.unit_weight {
        check.printed("unit weight", &net.name, adjusted.unit_weight(), unit_weight);
    }
}

/// The covariance of all coordinates, zero for those that were held.
fn of_all(adjusted: &Adjusted) -> DMatrix<f64> {
    let places: Vec<Option<usize>> = adjusted.places.iter().flatten().copied().collect();
    DMatrix::from_fn(places.len(), places.len(), |i, j| {
        places[i].zip(places[j]).map_or(0.0, |place| adjusted.covariance[place])
    })
}

/// A plane network moved, as one piece, to where it lies nearest its approximate places, and the covariance that belongs to
/// that: `S C S'` with `S` the projector that takes the shifts and the turn out of the errors (W. Baarda, *S-transformations
/// and criterion matrices*, 1973, cited from memory).
fn inner(net: &Net, adjusted: &Adjusted) -> (Vec<Point3<f64>>, DMatrix<f64>) {
    let start: Vec<Vector3<f64>> = net.start.values().map(|at| Vector3::new(at[0], at[1], 0.0)).collect();
    let found: Vec<Vector3<f64>> = adjusted.points.iter().map(|point| point.coords).collect();
    let count = start.len();
    #[expect(clippy::cast_precision_loss, reason = "a count of points")]
    let middle = |places: &[Vector3<f64>]| places.iter().sum::<Vector3<f64>>() / count as f64;
    let (from, to) = (middle(&found), middle(&start));
    let pairs = || found.iter().zip(&start).map(|(found, start)| (found - from, start - to));
    let (sine, cosine) = pairs().fold((0.0, 0.0), |(sine, cosine), (found, start)| {
        (sine + found.cross(&start).z, cosine + found.dot(&start))
    });
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), f64::atan2(sine, cosine));
    let places: Vec<Point3<f64>> =
        found.iter().map(|found| Point3::from(turn * (found - from) + to)).collect();

    let mut ways = DMatrix::zeros(3 * count, 3);
    for (i, place) in places.iter().enumerate() {
        let out = place.coords - to;
        ways[(3 * i, 0)] = 1.0;
        ways[(3 * i + 1, 1)] = 1.0;
        (ways[(3 * i, 2)], ways[(3 * i + 1, 2)]) = (-out.y, out.x);
    }
    // The three ways are square to each other, as the turn is about the middle.
    for mut way in ways.column_iter_mut() {
        way.normalize_mut();
    }
    let project = DMatrix::identity(3 * count, 3 * count) - &ways * ways.transpose();
    let mut turned = DMatrix::identity(3 * count, 3 * count);
    for i in 0..count {
        turned.view_mut((3 * i, 3 * i), (3, 3)).copy_from(turn.matrix());
    }
    let moved = project * turned;
    (places, &moved * of_all(adjusted) * moved.transpose())
}

fn looks(check: &mut Check, net: &Net, names: &[&String], adjusted: &Adjusted) {
    for (i, look) in adjusted.looks.iter().enumerate() {
        if let Some(residual) = net.residual.get(i) {
            check.printed("residual", &format!("distance {}", i + 1), look.residual, *residual);
        }
        if let Some(redundancy) = net.redundancy.get(i) {
            check.printed("redundancy", &format!("distance {}", i + 1), look.redundancy, *redundancy);
        }
    }
    if let Some(Largest { between, tau }) = &net.largest {
        largest(check, &net.network(names), names, adjusted, between, *tau);
    }
}

/// The largest residual over its deviation must be that of a distance.
fn largest(
    check: &mut Check,
    network: &Network,
    names: &[&String],
    adjusted: &Adjusted,
    between: &[String; 2],
    tau: Printed,
) {
    let row = between.join(" to ");
    let worst = worst(adjusted);
    let ends = network.observations[worst].kind.spots();
    if !ends.iter().all(|spot| between.contains(names[*spot])) {
        check.fail(&row, &format!("the largest residual is that of distance {}", worst + 1));
    }
    check.printed("tau", &row, adjusted.looks[worst].standardized / adjusted.unit_weight(), tau);
}

fn worst(adjusted: &Adjusted) -> usize {
    let size = |i: usize| adjusted.looks[i].standardized.abs();
    (0..adjusted.looks.len()).max_by(|&a, &b| size(a).total_cmp(&size(b))).expect("some distances")
}

fn with_slip(check: &mut Check, slip: &Slip, names: &[&String], mut network: Network) {
    check.row();
    let at = |i: usize| names.iter().position(|name| **name == slip.between[i]).expect("a point of the file");
    let ends = [at(0), at(1)];
    let wrong = (network.observations.iter_mut())
        .find(|observation| observation.kind.spots().iter().all(|spot| ends.contains(spot)))
        .expect("a distance of the file");
    wrong.reads = slip.reads;
    let adjusted = adjust(&network).expect("a slip does not undo the network");
    check.printed("unit weight", "with the slip", adjusted.unit_weight(), slip.unit_weight);
    largest(check, &network, names, &adjusted, &slip.between, slip.tau);
}

/// The crate's search for slips against the one of the file: which go, in which order, and what is left.
fn snooping(check: &mut Check, net: &Net, names: &[&String], network: &Network) {
    let (rest, found) = suspects(network).expect("the network can be adjusted");
    let to = |i: usize| names[network.observations[i].kind.spots()[0]].clone();
    let removed: Vec<String> = found.iter().map(|suspect| to(suspect.observation)).collect();
    if removed != net.blunders {
        check.fail("snooping", &format!("set aside {removed:?}, labelled {:?}", net.blunders));
    }
    for (step, expected) in net.snooping.iter().enumerate() {
        check.row();
        let row = format!("{} distances", expected.distances);
        let mut kept: Vec<usize> = (0..network.observations.len()).collect();
        kept.retain(|i| found.iter().take(step).all(|suspect| suspect.observation != *i));
        let observations: Vec<Observation> = kept.iter().map(|i| network.observations[*i]).collect();
        assert_eq!(observations.len(), expected.distances, "{}: {row}", check.file);
        let sigma = observations[0].sigma;
        let adjusted = adjust(&Network {
            spots: network.spots.clone(),
            observations,
            prior: None,
            shared: Shared::default(),
        })
        .expect("still held");
        let worst = worst(&adjusted);
        if to(kept[worst]) != expected.worst {
            check.fail(&row, &format!("the largest is that to {}", to(kept[worst])));
        }
        check.printed("w", &row, adjusted.looks[worst].standardized, expected.w);
        check.printed("m0", &row, adjusted.unit_weight() * sigma, expected.m0);
        let last = step + 1 == net.snooping.len();
        let point = if last { &rest } else { &adjusted }.points.last().copied().expect("a point");
        for (axis, at) in expected.at.iter().enumerate() {
            check.printed("coordinate", &row, point[axis], *at);
        }
        if let Some(suspect) = found.get(step) {
            check.printed("w", &format!("{row}, suspect"), suspect.standardized, expected.w);
        }
        for (axis, deviation) in expected.deviation.iter().flatten().enumerate() {
            let variance = DVector::from(rest.covariance.diagonal())[axis];
            check.printed("deviation as stated", &row, variance.sqrt(), *deviation);
        }
    }
}
