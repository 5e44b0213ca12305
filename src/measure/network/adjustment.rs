//! The adjusted network: points, their covariance, and how each observation fares.

use nalgebra::{DMatrix, DVector, Point3, Vector3};

use super::freedom::slope;
use super::{Freedom, Network, ObservationKind, PointPrior};
use crate::measure::{Descent, Least, Linearised, descent};

/// A direction in which points are known no better than this, mm, is not known.
const LOOSE: f64 = 100.0;
/// The same where it is assumed.
const LOOSELY_ASSUMED: f64 = 1e4;
/// Standardized residuals past this are suspect: one sound observation of a thousand goes beyond it.
pub(crate) const CRITICAL: f64 = 3.29;
/// Standardized residual of a slip that is just noticed, with a risk of 0.1 percent of a false alarm and 20 of missing it:
/// Baarda's lower bound of the non-centrality, 4.13.
const NOTICED: f64 = 4.13;

/// How one observation fares in an adjusted network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// What it should have read, mm or rad.
    pub(crate) adjusted: f64,
    /// Adjusted less read, mm or rad.
    pub residual: f64,
    /// Which part of a slip in it shows in its own residual, 0 to 1: its redundancy number. 0: nothing else checks it.
    pub redundancy: f64,
    /// The residual over its own standard deviation; past 3.29 it is suspect. 0 where nothing checks it.
    pub standardized: f64,
    /// The smallest slip that would be noticed, mm or rad; infinite where nothing checks it.
    pub noticed_from: f64,
}

/// An adjusted network.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjusted {
    /// The points, mm.
    pub points: Vec<Point3<f64>>,
    /// For each point the places of its coordinates in the covariance; none for one that was held.
    pub places: Vec<[Option<usize>; 3]>,
    /// Covariance of the coordinates for the stated deviations, mm2.
    pub covariance: DMatrix<f64>,
    /// The observations, in their order.
    pub looks: Vec<Look>,
    /// Sum of squared residuals over deviations.
    pub sum_of_squares: f64,
    /// Observations, and what is assumed, less coordinates.
    pub freedom: usize,
    /// Minus twice the logarithm of how likely the observations are, up to a constant; only where points are assumed.
    pub(crate) unlikely: f64,
    /// The deviation of an observation of unit weight, where it was seen otherwise than from all residuals: beside what is assumed.
    pub(crate) weighed: Option<f64>,
    /// How many times as wide as it was said what is assumed was taken.
    pub(crate) wider: f64,
}

/// Why a network could not be adjusted.
#[derive(Debug, Clone, PartialEq)]
pub enum Unadjusted {
    /// Some points can move without any observation noticing; one entry an independent way.
    Loose(Vec<Freedom>),
    /// No least sum of squares was found: observations that contradict each other grossly, or a start far off.
    Unsettled,
}

impl std::fmt::Display for Unadjusted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Loose(ways) => write!(f, "what was measured leaves the points {} ways to move", ways.len()),
            Self::Unsettled => f.write_str("no least sum of squares was found"),
        }
    }
}

impl std::error::Error for Unadjusted {}

/// Adjusts a network.
///
/// # Errors
///
/// [`Unadjusted`] where points are not held by the observations, or nothing fits.
pub fn adjust(network: &Network) -> Result<Adjusted, Unadjusted> {
    let (places, count) = network.places();
    let mut start = DVector::zeros(count + network.shared.count());
    unknowns(network, &places).zip(start.iter_mut()).for_each(|(unknown, start)| *start = unknown);
    let Descent { lowest: least, settled } =
        descent(start, |x| Some(linearised(network, &places, x))).ok_or(Unadjusted::Unsettled)?;
    let points = points(network, &places, &least.unknowns);
    // Points that nothing holds may wander without an end; then that is the reason.
    let loose = if network.prior.is_none() { LOOSE } else { LOOSELY_ASSUMED };
    let loose = Freedom::all(network, &points, &places, &least.there.jacobian, loose);
    if !loose.is_empty() {
        return Err(Unadjusted::Loose(loose));
    }
    if !settled {
        return Err(Unadjusted::Unsettled);
    }
    let covariance = least.covariance();
    let looks = looks(network, &least.there, &covariance);
    let covariance = covariance.view((0, 0), (count, count)).into_owned();
    Ok(Adjusted {
        points,
        places,
        covariance,
        looks,
        sum_of_squares: least.sum_of_squares(),
        freedom: least.freedom(),
        unlikely: network.prior.as_ref().map_or(0.0, |prior| unlikely(network, prior, &least)),
        weighed: None,
        wider: network.prior.as_ref().map_or(1.0, |prior| prior.wider),
    })
}

/// `-2 ln L = v'v + ln det(J'J) + ln det(P) + sum ln s^2`, with `P` the covariance of what is assumed and `s` the deviations of the
/// observations: the observations' own density, whatever the points are.
fn unlikely(network: &Network, prior: &PointPrior, least: &Least) -> f64 {
    let values = least.there.jacobian.singular_values();
    let held: f64 = values.iter().map(|value| 2.0 * value.ln()).sum();
    let read: f64 = network.observations.iter().map(|seen| 2.0 * seen.sigma.ln()).sum();
    least.sum_of_squares() + held + prior.size() + read
}

impl Adjusted {
    /// How each point moves with what is read of a kind, mm for a mm or rad.
    pub(super) fn moved_by(&self, kind: &ObservationKind) -> Vec<Vector3<f64>> {
        let slope = slope(kind, &self.points, &self.places, self.covariance.nrows());
        let way = &self.covariance * &slope;
        let way = &way / slope.dot(&way);
        let of = |places: &[Option<usize>; 3]| {
            Vector3::from(places.map(|place| place.map_or(0.0, |place| way[place])))
        };
        self.places.iter().map(of).collect()
    }

    /// The variance of what would be read if something were measured between the points, besides its own.
    pub(super) fn variance(&self, kind: &ObservationKind) -> f64 {
        let slope = slope(kind, &self.points, &self.places, self.covariance.nrows());
        slope.dot(&(&self.covariance * &slope))
    }

    /// The deviation of an observation of unit weight, seen from the residuals; 1 where there is nothing over.
    #[expect(clippy::cast_precision_loss, reason = "a count of observations")]
    pub fn unit_weight(&self) -> f64 {
        if let Some(weighed) = self.weighed {
            return weighed;
        }
        if self.freedom == 0 { 1.0 } else { (self.sum_of_squares / self.freedom as f64).sqrt() }
    }
}

fn unknowns<'a>(network: &'a Network, places: &'a [[Option<usize>; 3]]) -> impl Iterator<Item = f64> + 'a {
    (network.spots.iter().zip(places))
        .flat_map(|(spot, places)| (0..3).filter(|&axis| places[axis].is_some()).map(|axis| spot.start[axis]))
}

pub(super) fn points(
    network: &Network,
    places: &[[Option<usize>; 3]],
    unknowns: &DVector<f64>,
) -> Vec<Point3<f64>> {
    (network.spots.iter().zip(places))
        .map(|(spot, places)| {
            Point3::from([0, 1, 2].map(|axis| places[axis].map_or(spot.start[axis], |place| unknowns[place])))
        })
        .collect()
}

fn linearised(network: &Network, places: &[[Option<usize>; 3]], unknowns: &DVector<f64>) -> Linearised {
    let points = points(network, places, unknowns);
    let read = network.observations.len();
    let assumed = network.prior.as_ref().map_or(0, PointPrior::count);
    let shared = network.shared.count();
    let own = unknowns.len() - shared;
    let errors = unknowns.rows(own, shared);
    let marked = network.shared.marked(&points, &errors);
    let count = read + assumed + shared;
    let mut residuals = DVector::zeros(count);
    let mut jacobian = DMatrix::zeros(count, unknowns.len());
    for (row, observation) in network.observations.iter().enumerate() {
        let slopes = observation.kind.gradient(&marked);
        let by_shared = network.shared.slopes(observation, &slopes);
        // The mark is where it is measured; what the tape adds comes on top.
        let added: f64 = by_shared.iter().zip(&errors).take(2).map(|(slope, error)| slope * error).sum();
        residuals[row] = (observation.kind.value(&marked) + added - observation.reads) / observation.sigma;
        for (place, slope) in by_shared.iter().take(shared).enumerate() {
            jacobian[(row, own + place)] = slope / observation.sigma;
        }
        for (spot, slope) in slopes {
            for axis in 0..3 {
                if let Some(place) = places[spot][axis] {
                    jacobian[(row, place)] += slope[axis] / observation.sigma;
                }
            }
        }
    }
    if let Some(prior) = &network.prior {
        residuals.rows_mut(read, prior.count()).copy_from(&prior.off(&points));
        for (part, spot, axis, slope) in prior.slopes() {
            if let Some(place) = places[spot][axis] {
                jacobian[(read + part, place)] += slope;
            }
        }
    }
    residuals.rows_mut(read + assumed, shared).copy_from(&errors);
    jacobian.view_mut((read + assumed, own), (shared, shared)).fill_with_identity();
    Linearised { residuals, jacobian }
}

/// Redundancy numbers are the diagonal of `I - J (J'J)^-1 J'`.
fn looks(network: &Network, there: &Linearised, covariance: &DMatrix<f64>) -> Vec<Look> {
    /// Redundancy below this is rounding.
    const NONE: f64 = 1e-6;
    (network.observations.iter().enumerate())
        .map(|(row, observation)| {
            let slope = there.jacobian.row(row);
            let held = (slope * covariance * slope.transpose())[(0, 0)];
            let redundancy = (1.0 - held).clamp(0.0, 1.0);
            let residual = there.residuals[row] * observation.sigma;
            let checked = redundancy > NONE;
            Look {
                adjusted: observation.reads + residual,
                residual,
                redundancy: if checked { redundancy } else { 0.0 },
                standardized: if checked { there.residuals[row] / redundancy.sqrt() } else { 0.0 },
                noticed_from: if checked {
                    NOTICED * observation.sigma / redundancy.sqrt()
                } else {
                    f64::INFINITY
                },
            }
        })
        .collect()
}
