//! What a network leaves open, and what would close it.

use nalgebra::{DMatrix, DVector, Point3, Vector3};

use super::{At, Network, ObservationKind};

/// One way in which points can move without any observation noticing.
#[derive(Debug, Clone, PartialEq)]
pub struct Freedom {
    /// The points that move, the one that moves most first, each with its way.
    pub moves: Vec<(usize, Vector3<f64>)>,
    /// The observation that would notice it best: the length between two points or a coordinate of one.
    pub mend: Option<ObservationKind>,
}

/// Points that move less than this part of the most are not named.
const NAMED: f64 = 0.2;

impl Freedom {
    /// All independent ways, each with an observation that closes it; together those close all, for points that lie where they
    /// are taken to be.
    ///
    /// A way is loose where the points could move by `loose` mm within one standard deviation of all observations.
    pub(super) fn all(
        network: &Network,
        points: &[Point3<f64>],
        places: &[[Option<usize>; 3]],
        jacobian: &DMatrix<f64>,
        loose: f64,
    ) -> Vec<Self> {
        let mut open = open_ways(jacobian, loose);
        let candidates = candidates(network, points, places);
        let mut freedoms = Vec::new();
        while let Some(way) = open.first().cloned() {
            let notice = |kind: &ObservationKind| {
                let slope = slope(kind, points, places, way.len());
                open.iter().map(|way| slope.dot(way).powi(2)).sum::<f64>()
            };
            // The first of the best: candidates stand in the order of how easily they are measured.
            let mut best: Option<(f64, ObservationKind)> = None;
            for kind in &candidates {
                let notice = notice(kind);
                if best.is_none_or(|(most, _)| notice > most * 1.01) {
                    best = Some((notice, *kind));
                }
            }
            let mend = best.filter(|(notice, _)| *notice > 1e-6).map(|(_, kind)| kind);
            let Some(kind) = mend else {
                freedoms.push(Self { moves: moves(&way, places), mend });
                open.remove(0);
                continue;
            };
            // What the observation closes is the open way that it notices most; the others are those square to it.
            let slope = slope(&kind, points, places, way.len());
            let mut closed = DVector::zeros(way.len());
            for way in &open {
                closed += way * slope.dot(way);
            }
            let closed = closed.normalize();
            freedoms.push(Self { moves: moves(&closed, places), mend });
            open = square_to(&open, &closed);
        }
        freedoms
    }
}

/// Unit vectors along which no row of the Jacobian changes by more than `1/loose`.
fn open_ways(jacobian: &DMatrix<f64>, loose: f64) -> Vec<DVector<f64>> {
    let count = jacobian.ncols();
    if count == 0 {
        return Vec::new();
    }
    // The decomposition gives as many directions as there are rows; rows of zeros make it give all.
    let mut full = DMatrix::zeros(jacobian.nrows().max(count), count);
    full.rows_mut(0, jacobian.nrows()).copy_from(jacobian);
    let svd = full.svd(false, true);
    let Some(v_t) = svd.v_t else { return Vec::new() };
    (0..count).filter(|&i| svd.singular_values[i] * loose < 1.0).map(|i| v_t.row(i).transpose()).collect()
}

/// A basis of what is left of a space when one unit vector of it is taken out.
fn square_to(space: &[DVector<f64>], out: &DVector<f64>) -> Vec<DVector<f64>> {
    let mut rest: Vec<DVector<f64>> = Vec::new();
    for way in space {
        let mut way = way - out * out.dot(way);
        for known in &rest {
            way -= known * known.dot(&way);
        }
        if way.norm() > 1e-6 && rest.len() + 1 < space.len() {
            rest.push(way.normalize());
        }
    }
    rest
}

/// Every coordinate that is free. Heights are the easiest to measure, then the offset from the centreline, then how far forward.
pub(super) fn coordinates(places: &[[Option<usize>; 3]]) -> impl Iterator<Item = ObservationKind> + '_ {
    [2, 1, 0].into_iter().flat_map(move |axis| {
        let free = (0..places.len()).filter(move |&spot| places[spot][axis].is_some());
        free.map(move |spot| ObservationKind::Difference { axis, of: At::spot(spot), from: None })
    })
}

fn candidates(
    network: &Network,
    points: &[Point3<f64>],
    places: &[[Option<usize>; 3]],
) -> Vec<ObservationKind> {
    let apart = |a: usize, b: usize| (points[a] - points[b]).norm() > 1.0;
    let tapes = (network.observations.iter()).filter_map(|observation| match observation.kind {
        // What was looked at with a level can also be measured with a tape.
        ObservationKind::Slope { from, to } if apart(from.spot, to.spot) => {
            Some(ObservationKind::Distance { from, to })
        }
        _ => None,
    });
    coordinates(places).chain(tapes).collect()
}

/// How a kind of observation changes with the unknowns.
pub(super) fn slope(
    kind: &ObservationKind,
    points: &[Point3<f64>],
    places: &[[Option<usize>; 3]],
    count: usize,
) -> DVector<f64> {
    let mut slope = DVector::zeros(count);
    for (spot, part) in kind.gradient(points) {
        for axis in 0..3 {
            if let Some(place) = places[spot][axis] {
                slope[place] += part[axis];
            }
        }
    }
    slope
}

fn moves(way: &DVector<f64>, places: &[[Option<usize>; 3]]) -> Vec<(usize, Vector3<f64>)> {
    let of = |places: &[Option<usize>; 3]| {
        Vector3::from([0, 1, 2].map(|axis| places[axis].map_or(0.0, |place| way[place])))
    };
    let mut moves: Vec<(usize, Vector3<f64>)> = places.iter().map(of).enumerate().collect();
    moves.sort_by(|a, b| b.1.norm().total_cmp(&a.1.norm()));
    let most = moves.first().map_or(0.0, |(_, way)| way.norm());
    moves.retain(|(_, way)| way.norm() >= NAMED * most && most > 0.0);
    moves
}
