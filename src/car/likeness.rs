//! How far a wheel and its five links are off every layout that a rear axle usually has.

use nalgebra::{SMatrix, SVector};

use super::typical::{TypicalPlace, TypicalSpread, typical};
use super::{Hardpoints, PerLink, Setup};
use crate::geometry::{Figure, Ground, Pose, Position};

/// Numbers of one axis: of the two pivots of each link.
const NUMBERS: usize = 10;
/// A place counts as off by no more than so many deviations when it is said which link lies where.
const CLEARLY: f64 = 5.0;
/// What fewer or more than two links above the driveshaft speak against a layout.
const RARE: f64 = 4.0;
/// What a gain speaks against a layout at the most: a car may be built badly.
const MOST_OF_A_GAIN: f64 = 8.0;
/// Travel over which gains are told, mm.
const TRAVEL: f64 = 100.0;

/// What pivots of one axis are off their places, mm: subframe and knuckle, link by link.
type Off = [[[f64; 3]; 2]; 5];

/// Minus the logarithm of how likely a layout is, but for what is the same for all of them: half the square of the deviations.
pub(crate) fn unlikeness(points: &Hardpoints) -> f64 {
    let (off, places) = off_typical(points);
    let by_places: f64 = (0..3).map(|axis| squares(&off, places, axis) / 2.0).sum();
    by_places + by_gains(points) + by_lowers(points, places)
}

/// What each pivot is off the place of its kind, in the size of the table's wheel, mm, and the places: those of one toe link, and of the
/// others above and below that fit best.
fn off_typical(points: &Hardpoints) -> (Off, [&'static TypicalPlace; 5]) {
    let Hardpoints { subframe, knuckle, wheel, .. } = points;
    let size = typical().wheel_radius / wheel.centre.z;
    let off = |place: &TypicalPlace, link: usize| {
        let at = place.at(wheel.centre.coords.into(), wheel.centre.z);
        let pivots = [subframe[link], knuckle[link]];
        [0, 1].map(|end| [0, 1, 2].map(|axis| (pivots[end][axis] - at[end][axis]) * size))
    };
    let TypicalSpread { subframe: s, knuckle: k, frame, knuckles, corner, .. } = &typical().spread;
    // Each by itself: what is off together counts in full.
    let alone =
        [0, 1, 2].map(|axis| [s[axis].hypot(frame[axis]), k[axis].hypot(knuckles[axis]).hypot(corner[axis])]);
    let against = |place: &TypicalPlace, link: usize| -> f64 {
        let off = off(place, link);
        let terms = (0..2).flat_map(|end| (0..3).map(move |axis| (end, axis)));
        terms.map(|(end, axis)| (off[end][axis].abs() / alone[axis][end]).min(CLEARLY).powi(2)).sum()
    };
    // The best place of each group for each link.
    let best: PerLink<[(f64, &TypicalPlace); 3]> = PerLink::of(|link| {
        ["above", "below", "toe"].map(|group| {
            let of = typical().kind.iter().filter(|kind| kind.lies.starts_with(group));
            let all = of.map(|place| (against(place, link), place));
            all.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((f64::INFINITY, &typical().kind[0]))
        })
    });
    let groups = |toe: usize, above: usize| {
        [0, 1, 2, 3, 4].map(|link| if link == toe { 2 } else { usize::from((above >> link) & 1 == 0) })
    };
    let mut chosen: (f64, [usize; 5]) = (f64::INFINITY, [0; 5]);
    for toe in 0..5 {
        for above in 0..32_usize {
            let count = above.count_ones();
            if (above >> toe) & 1 == 1 || !(1..=3).contains(&count) {
                continue;
            }
            let groups = groups(toe, above);
            let rare = if count == 2 { 0.0 } else { RARE };
            let sum: f64 = (0..5).map(|link| best[link][groups[link]].0).sum::<f64>() + rare;
            if sum < chosen.0 {
                chosen = (sum, groups);
            }
        }
    }
    let places = [0, 1, 2, 3, 4].map(|link| best[link][chosen.1[link]].1);
    ([0, 1, 2, 3, 4].map(|link| off(places[link], link)), places)
}

/// The sum of the squares of what is off along an axis, in deviations, with what is off together.
fn squares(off: &Off, places: [&TypicalPlace; 5], axis: usize) -> f64 {
    let TypicalSpread { subframe, knuckle, link, frame, knuckles, corner } = &typical().spread;
    let along = |i: usize| if axis == 0 { places[i].along } else { 0.0 };
    let own = |i: usize, end: usize| match end {
        0 => places[i].wide.as_ref().unwrap_or(subframe)[axis],
        _ => knuckle[axis],
    };
    let covariance = SMatrix::<f64, NUMBERS, NUMBERS>::from_fn(|a, b| {
        let ([i, j], [e, f]) = ([a / 2, b / 2], [a % 2, b % 2]);
        let shares = [
            (a == b, own(i, e)),
            (i == j, link[axis].hypot(along(i))),
            (e == 0 && f == 0, frame[axis]),
            (e == 1 && f == 1, knuckles[axis]),
            (e == 1 && f == 1 && places[i].corner == places[j].corner, corner[axis]),
        ];
        shares.iter().filter(|(shared, _)| *shared).map(|(_, deviation)| deviation.powi(2)).sum()
    });
    let off = SVector::<f64, NUMBERS>::from_fn(|a, _| off[a / 2][a % 2][axis]);
    covariance.cholesky().map_or(f64::INFINITY, |factors| off.dot(&factors.solve(&off)))
}

/// What camber and toe gain speaks against it.
fn by_gains(points: &Hardpoints) -> f64 {
    let rows = points.rows(&points.as_found(), 0.0);
    let Ok(position) = Position::known(&rows, Pose::reference(points.wheel.centre)) else {
        return 2.0 * MOST_OF_A_GAIN;
    };
    let gain = &typical().gain;
    [(Figure::Camber, gain.camber), (Figure::Toe, gain.toe)]
        .iter()
        .map(|(figure, [middle, deviation])| {
            let rate = position.rate(*figure, &points.wheel, &Ground::level(), Setup::HEIGHT_ROW);
            let off = (rate.to_degrees() * TRAVEL - middle) / deviation;
            (off.powi(2) / 2.0).min(MOST_OF_A_GAIN)
        })
        .sum()
}

/// What lower links that stand close together on the subframe speak against it: braking turns the knuckle then.
fn by_lowers(points: &Hardpoints, places: [&TypicalPlace; 5]) -> f64 {
    let size = typical().wheel_radius / points.wheel.centre.z;
    let lower = (0..5).filter(|i| places[*i].lies.starts_with("below")).map(|i| points.subframe[i].x * size);
    let ends = lower.fold(None, |ends: Option<[f64; 2]>, x| {
        Some(ends.map_or([x; 2], |[least, most]| [least.min(x), most.max(x)]))
    });
    let [apart, deviation] = typical().gain.lowers;
    ends.map_or(0.0, |[least, most]| ((apart - (most - least)) / deviation).max(0.0).powi(2) / 2.0)
}
