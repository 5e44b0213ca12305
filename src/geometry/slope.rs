//! The Jacobian of the six rows, in triangular factors.

use nalgebra::Matrix6;

use super::{Number, Pose, Row};

/// Residuals of the six rows, in their order.
pub(super) type Misses<T> = [T; 6];

/// The Jacobian of the six rows in a pose: a line a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Jacobian<T>([[T; 6]; 6]);

/// The order in which the rows of a Jacobian are eliminated.
pub(super) type Order = [usize; 6];

/// A Jacobian in triangular factors, its rows in a given order.
///
/// The order is chosen once, where a way begins, by the largest pivot of the column (of the first of several wheels, which are
/// all much alike) and kept along it: choosing costs as much as dividing, and a pivot does not shrink much on a short way.
/// Where it did, Newton's method would not contract, and the solver asks for a shorter one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slope<T> {
    order: Order,
    /// `L` below the diagonal, `U` above it, on it one over the pivots.
    factors: [[T; 6]; 6],
}

/// What all rows make of a pose: by how much they are missed, and their Jacobian.
#[inline]
pub(super) fn rows_at<T: Number>(rows: &[Row<T>; 6], pose: &Pose<T>) -> (Misses<T>, Jacobian<T>) {
    let seen = rows.each_ref().map(|row| row.seen_from(pose));
    (seen.map(|(miss, _)| miss), Jacobian(seen.map(|(_, gradient)| gradient)))
}

/// By how much all rows are missed in a pose.
#[inline]
pub(super) fn misses<T: Number>(rows: &[Row<T>; 6], pose: &Pose<T>) -> Misses<T> {
    rows.each_ref().map(|row| row.residual(pose))
}

impl<T: Number> Jacobian<T> {
    /// Its Frobenius norm.
    pub(super) fn norm(&self) -> T {
        self.0.iter().flatten().fold(T::splat(0.0), |sum, x| sum + *x * *x).simd_sqrt()
    }
}

impl<T: Number> Slope<T> {
    /// Factors whose order of rows is chosen afresh.
    pub(super) fn pivoted(jacobian: &Jacobian<T>) -> Self {
        let (mut lines, mut order) = (jacobian.0, [0, 1, 2, 3, 4, 5]);
        for k in 0..6 {
            let size = |line: &[T; 6]| line[k].extract(0).abs();
            let mut best = k;
            for i in k + 1..6 {
                if size(&lines[i]) > size(&lines[best]) {
                    best = i;
                }
            }
            lines.swap(k, best);
            order.swap(k, best);
            eliminate(&mut lines, k);
        }
        Self { order, factors: lines }
    }

    /// Factors with the rows in the order of others.
    #[inline]
    pub(super) fn in_order_of(&self, jacobian: &Jacobian<T>) -> Self {
        let mut lines = self.order.map(|row| jacobian.0[row]);
        for k in 0..6 {
            eliminate(&mut lines, k);
        }
        Self { order: self.order, factors: lines }
    }

    /// The product of one over the pivots: its sign is that of the determinant, or the other one in some orders of rows.
    #[inline]
    pub(super) fn sense(&self) -> T {
        (0..6).fold(T::splat(1.0), |product, k| product * self.factors[k][k])
    }

    /// The motion that the rows answer to these changes of theirs.
    #[inline]
    pub(super) fn solve(&self, changes: &Misses<T>) -> [T; 6] {
        let mut x = self.order.map(|row| changes[row]);
        for i in 1..6 {
            for j in 0..i {
                x[i] -= self.factors[i][j] * x[j];
            }
        }
        for i in (0..6).rev() {
            for j in i + 1..6 {
                x[i] -= self.factors[i][j] * x[j];
            }
            x[i] *= self.factors[i][i];
        }
        x
    }

    /// The inverse of the Jacobian.
    #[inline]
    pub(super) fn inverse(&self) -> Matrix6<T> {
        let zero = T::splat(0.0);
        let mut lines = [[zero; 6]; 6];
        for (i, line) in lines.iter_mut().enumerate() {
            line[i] = T::splat(1.0);
        }
        for i in 1..6 {
            for j in 0..i {
                // The lines of the unit matrix have nothing to the right of their own place.
                for c in 0..=j {
                    lines[i][c] -= self.factors[i][j] * lines[j][c];
                }
            }
        }
        for i in (0..6).rev() {
            for j in i + 1..6 {
                for c in 0..6 {
                    lines[i][c] -= self.factors[i][j] * lines[j][c];
                }
            }
            for c in 0..6 {
                lines[i][c] *= self.factors[i][i];
            }
        }
        let mut inverse = Matrix6::zeros();
        for (place, row) in self.order.into_iter().enumerate() {
            for (i, line) in lines.iter().enumerate() {
                inverse[(i, row)] = line[place];
            }
        }
        inverse
    }
}

/// One step of Gauss's elimination: what is below the pivot of column `k` goes, its multipliers take the place.
#[inline]
fn eliminate<T: Number>(lines: &mut [[T; 6]; 6], k: usize) {
    let pivot = T::splat(1.0) / lines[k][k];
    lines[k][k] = pivot;
    for i in k + 1..6 {
        let part = lines[i][k] * pivot;
        lines[i][k] = part;
        for j in k + 1..6 {
            lines[i][j] = lines[i][j] - part * lines[k][j];
        }
    }
}
