//! What an error in anything that was measured does to a reading, by implicit differentiation.
//!
//! The pose `x` solves `r(x, m) = 0` for what was measured, `m`, hence `dx = -J^-1 (dr/dm) dm` with the Jacobian that the
//! solve has anyway; a figure then changes by its gradient times `dx`, and directly where it was itself read. With `u` a
//! link's direction now and `u0` at the reference, `R` the knuckle's rotation since then:
//!
//! ```text
//! r = |c + R (k - c0) - s| - (|k - s0| + turned)
//! dr/ds = u0 - u       subframe pivot
//! dr/dk = R' u - u0    knuckle pivot
//! dr/dc0 = -R' u       wheel centre; and -1 in z for the height row
//! ```
//!
//! The rows of other members than rods, and of rods that share a point with another: [`Hardpoints::slope`].

use nalgebra::{Matrix2x3, Matrix2xX, Vector2, Vector3, Vector6};
use std::ops::Range;

use crate::car::{Hardpoints, Hold, Measurand, PerLink, Setup, Side, Stance};
use crate::geometry::{CHARACTERISTIC_LENGTH, Figure, Pose, Position, Wheel};

/// How camber and toe (the two rows, rad) change with what they rest on, for arms that are turned from their stock lengths.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// With each of the side's 35 numbers, in the order of [`Measurand::all`].
    pub measured: Matrix2xX<f64>,
    /// With the drops: of its own side, of the other side, of the front, rad/mm. Every drop tilts the ground under both wheels.
    pub(crate) drops: Matrix2x3<f64>,
    /// With the length of each link, rad/mm.
    pub(crate) lengths: PerLink<Vector2<f64>>,
}

impl Sensitivity {
    /// The places of the three drops among the [`columns`](Self::columns).
    pub(crate) const DROPS: Range<usize> = Measurand::NUMBERS..Measurand::NUMBERS + 3;

    /// The sensitivity of a side's reading in a position.
    ///
    /// `setup` are the pivots and lengths of that position, which must solve its forward rows.
    pub fn of(side: &Side, stance: &Stance, setup: &Setup, position: &Position) -> Self {
        let ground = &stance.ground(side.hand);
        let pose = &position.pose;
        let back = pose.rotation.inverse();
        let gradients =
            [Figure::Camber, Figure::Toe].map(|figure| figure.gradient(pose, &side.wheel, ground));
        // What a change of the six right-hand sides does to camber and toe.
        let through = |rows: Vector6<f64>| {
            let motion = -position.response * rows;
            Vector2::from(gradients.map(|g| g.dot(&motion.fixed_rows::<3>(3)) / CHARACTERISTIC_LENGTH))
        };
        let row = |link: usize, value: f64| Vector6::ith(link, value);
        let others = Others::of(side, setup, pose);
        let now: PerLink<Vector3<f64>> = PerLink::of(|i| {
            let line = pose.point(&side.knuckle_arm(i)) - setup.pivots[i];
            if others.has(i) { Vector3::zeros() } else { line.normalize() }
        });
        let of_rod = |i: usize, along: Vector3<f64>| {
            Matrix2x3::from_columns(&[0, 1, 2].map(|axis| through(row(i, along[axis]))))
        };
        let of_centre = |axis: usize| {
            let mut rows = Vector6::from_fn(|i, _| now.get(i).map_or(0.0, |now| -(back * now)[axis]));
            rows[5] = if axis == 2 { -1.0 } else { 0.0 };
            through(rows)
        };
        let spindle = Wheel::spindle_slopes(side.reading.camber, side.reading.toe);
        let read = spindle.map(|slope| {
            let turned = pose.rotation * slope;
            Vector2::from(
                [Figure::Camber, Figure::Toe].map(|f| f.slope(pose, &side.wheel, ground).dot(&turned)),
            )
        });
        let mut measured = Matrix2xX::zeros(Measurand::NUMBERS);
        for measurand in Measurand::all() {
            let before = |link: usize| {
                let line = side.links[link].knuckle - side.links[link].subframe;
                if others.has(link) { Vector3::zeros() } else { line.normalize() }
            };
            let mut columns = measured.columns_range_mut(measurand.place());
            match measurand {
                Measurand::Centre => columns.copy_from(&Matrix2x3::from_columns(&[0, 1, 2].map(of_centre))),
                Measurand::Subframe(i) => columns.copy_from(&of_rod(i, before(i) - now[i])),
                Measurand::Knuckle(i) => columns.copy_from(&of_rod(i, back * now[i] - before(i))),
                Measurand::Camber => columns.copy_from(&read[0]),
                Measurand::Toe => columns.copy_from(&read[1]),
            }
            for (i, of) in others.0.iter().enumerate().filter_map(|(i, of)| Some((i, of.as_ref()?))) {
                for (place, mut column) in measurand.place().zip(columns.column_iter_mut()) {
                    column += through(row(i, of.get(place).copied().unwrap_or(0.0)));
                }
            }
        }
        // The ground that turns under the knuckle is the knuckle that turns the other way.
        let tilt = |turn: Vector3<f64>| Vector2::from(gradients.map(|g| -g.dot(&turn)));
        let [own, other, front] = stance.turns(side.hand).map(tilt);
        Self {
            measured,
            drops: Matrix2x3::from_columns(&[own + through(row(5, -1.0)), other, front]),
            lengths: PerLink::of(|i| through(row(i, -1.0))),
        }
    }

    /// All of it as one matrix: the measured numbers, the three drops, then the lengths of some links.
    pub(crate) fn columns(&self, links: &[usize]) -> Matrix2xX<f64> {
        let mut all = Matrix2xX::zeros(Self::DROPS.end + links.len());
        all.columns_mut(0, Measurand::NUMBERS).copy_from(&self.measured);
        all.columns_range_mut(Self::DROPS).copy_from(&self.drops);
        for (i, link) in links.iter().enumerate() {
            all.set_column(Self::DROPS.end + i, &self.lengths[*link]);
        }
        all
    }
}

/// How the residuals of rows that are no plain rods' change with each of a side's points, by their places.
struct Others(PerLink<Option<[f64; Measurand::READINGS]>>);

impl Others {
    fn of(side: &Side, setup: &Setup, pose: &Pose) -> Self {
        let of_link = |link: usize| {
            // The first leg of a wishbone is a plain rod, whose joint is another one's too: that one's row has that.
            let is_other = side.links[link].hold != Hold::Rod;
            is_other.then(|| {
                let (points, mut slopes) = (Hardpoints::of(side), [0.0; Measurand::READINGS]);
                for of in Measurand::points().filter(|of| side.is_own(*of)) {
                    for (axis, slope) in slopes[of.place()].iter_mut().enumerate() {
                        *slope = points.slope(link, setup, pose, of, &Vector3::ith(axis, 1.0));
                    }
                }
                slopes
            })
        };
        Self(PerLink::of(of_link))
    }

    fn has(&self, link: usize) -> bool {
        self.0[link].is_some()
    }
}
