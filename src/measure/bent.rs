//! How much wider a reading spreads than its slopes say, where points are known so roughly that what it rests on bends.

use nalgebra::{DMatrix, DVector, Matrix2xX};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

use super::roadworthy::{is_rough, likely, rates};
use super::{SIGMAS_OF_95, Sensitivity};
use crate::car::{Hardpoints, Setup, Side, Stance};
use crate::geometry::{Figure, Pose, Position, solve_near};

/// So many wheels are drawn.
const DRAWS: u32 = 400;
/// The part of them that a band holds.
const HELD: f64 = 0.95;
/// Less than this is chance.
const LEAST: f64 = 1.1;

/// By how many times camber and toe are further off than slopes say, in 95 of 100 wheels drawn from the errors of a side; 1 where its
/// points are known well. Each wheel is solved anew; those that have no position are no wheels of a car that stands there,
/// and those near a dead point count the less.
pub(super) fn bent(
    (side, stance): (&Side, &Stance),
    (setup, position): (&Setup, &Position),
    matched: &[usize],
    gradient: &Matrix2xX<f64>,
    errors: &DMatrix<f64>,
) -> [f64; 2] {
    if !is_rough(side) {
        return [1.0; 2];
    }
    let ground = stance.ground(side.hand);
    let drop = stance.drop(side.hand);
    let found = Setup::as_found(side);
    let read = |pose: &Pose, points: &Hardpoints| {
        [Figure::Camber, Figure::Toe].map(|figure| figure.value(pose, &points.wheel, &ground))
    };
    let (numbers, holds) = (side.numbers(), side.links.each(|link| link.hold));
    let usual = rates(position, &side.wheel, &ground);
    let here = read(&position.pose, &Hardpoints::of(side));
    let eigen = errors.clone().symmetric_eigen();
    let ways =
        &eigen.eigenvectors * DMatrix::from_diagonal(&eigen.eigenvalues.map(|size| size.max(0.0).sqrt()));
    let mut random = Pcg64::new(1, 2);
    let mut one = || -> Option<([f64; 2], f64)> {
        let z = DVector::from_fn(ways.ncols(), |_, _| StandardNormal.sample(&mut random));
        let off = &ways * z;
        let points = Hardpoints::measured(&std::array::from_fn(|i| numbers[i] + off[i]), holds);
        let mut setup = setup.carried(&found, &points.as_found());
        for (place, &link) in (Sensitivity::DROPS.end..).zip(matched) {
            setup.lengths[link] += off[place];
        }
        let rows = points.rows(&setup, drop);
        let centre = points.wheel.centre;
        let near = position.pose.carried(&side.wheel.centre, &centre);
        let position = solve_near(&rows, &near, &Pose::reference(centre)).ok()?;
        let there = read(&position.pose, &points);
        // Heights are known well.
        let of_height = gradient.columns_range(Sensitivity::DROPS) * off.rows_range(Sensitivity::DROPS);
        let off = [0, 1].map(|i| (there[i] - here[i] + of_height[i]).abs());
        Some((off, likely(&usual, &rates(&position, &points.wheel, &ground))))
    };
    let drawn: Vec<([f64; 2], f64)> = (0..DRAWS).filter_map(|_| one()).collect();
    let all: f64 = drawn.iter().map(|(_, weight)| weight).sum();
    let covariance = gradient * errors * gradient.transpose();
    [0, 1].map(|i| {
        let mut off: Vec<(f64, f64)> = drawn.iter().map(|(off, weight)| (off[i], *weight)).collect();
        off.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut held = 0.0;
        let within = off.iter().find(|(_, weight)| {
            held += weight;
            held >= HELD * all
        });
        let straight = SIGMAS_OF_95 * covariance[(i, i)].max(0.0).sqrt();
        let times = within.map_or(1.0, |(off, _)| off / straight);
        if times.is_finite() && times > LEAST { times } else { 1.0 }
    })
}
