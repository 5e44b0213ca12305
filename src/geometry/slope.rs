//! The Jacobian of the six rows, in triangular factors.

use super::{InRows, Pose, Row};

/// Six rows in some order.
pub(super) type Rows<'a, T> = [&'a Row<T>; 6];

/// In which order rows are eliminated: the places where they are listed.
pub(super) type Order = [usize; 6];

/// A line of six numbers for each of six rows.
pub(super) type Lines<T> = [[T; 6]; 6];

/// The Jacobian of six rows in triangular factors.
///
/// Which rows are eliminated first is chosen once, where a way begins, by the largest pivot of each column (of the first of
/// several wheels, which are much alike), and kept along it: choosing costs as much as dividing, and no pivot shrinks much on
/// a short way. Where one did, Newton's method would not contract, and the solver would go a shorter one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slope<T> {
    /// First the Jacobian, a line a row; then `L` below the diagonal, `U` above it, on it one over the pivots.
    lines: Lines<T>,
}

/// By how much rows are missed in a pose.
#[inline]
pub(super) fn misses<T: InRows>(rows: &Rows<'_, T>, pose: &Pose<T>) -> [T; 6] {
    rows.map(|row| row.residual(pose))
}

/// The Euclidean norm, of lines the Frobenius norm.
#[inline]
pub(super) fn norm<T: InRows>(numbers: &[T]) -> T {
    numbers.iter().fold(T::splat(0.0), |sum, x| sum + *x * *x).simd_sqrt()
}

impl<T: InRows> Slope<T> {
    /// Nothing yet.
    #[inline]
    pub(super) fn blank() -> Self {
        Self { lines: [[T::splat(0.0); 6]; 6] }
    }

    /// The Jacobian of rows in a pose, worked out in place, where nothing has to be moved; returns by how much they are missed.
    #[inline]
    pub(super) fn fill(&mut self, rows: &Rows<'_, T>, pose: &Pose<T>) -> [T; 6] {
        let mut missed = [T::splat(0.0); 6];
        for ((missed, line), row) in missed.iter_mut().zip(&mut self.lines).zip(rows) {
            (*missed, *line) = row.seen_from(pose);
        }
        missed
    }

    /// Its factors; of the rows, the order in which they are best eliminated.
    #[inline]
    pub(super) fn pivot(&mut self) -> Order {
        let mut order = [0, 1, 2, 3, 4, 5];
        let lines = &mut self.lines;
        largest_first::<T, 0>(lines, &mut order);
        eliminate::<T, 0>(lines);
        largest_first::<T, 1>(lines, &mut order);
        eliminate::<T, 1>(lines);
        largest_first::<T, 2>(lines, &mut order);
        eliminate::<T, 2>(lines);
        largest_first::<T, 3>(lines, &mut order);
        eliminate::<T, 3>(lines);
        largest_first::<T, 4>(lines, &mut order);
        eliminate::<T, 4>(lines);
        eliminate::<T, 5>(lines);
        order
    }

    /// Its factors, if its rows were filled in in such an order.
    #[inline]
    pub(super) fn factor(&mut self) {
        let lines = &mut self.lines;
        eliminate::<T, 0>(lines);
        eliminate::<T, 1>(lines);
        eliminate::<T, 2>(lines);
        eliminate::<T, 3>(lines);
        eliminate::<T, 4>(lines);
        eliminate::<T, 5>(lines);
    }

    /// The Jacobian's Frobenius norm, before it is factored.
    #[inline]
    pub(super) fn norm(&self) -> T {
        norm(self.lines.as_flattened())
    }

    /// The product of one over the pivots: its sign is that of the determinant, or the other one in some orders of rows.
    #[inline]
    pub(super) fn sense(&self) -> T {
        (0..6).fold(T::splat(1.0), |product, k| product * self.lines[k][k])
    }

    /// The motion with which the wheel answers to these changes of the rows.
    #[inline]
    pub(super) fn solve(&self, changes: &[T; 6]) -> [T; 6] {
        let [l1, l2, l3, l4, l5] = [1, 2, 3, 4, 5].map(|i| &self.lines[i]);
        let a = changes[0];
        let b = changes[1] - l1[0] * a;
        let c = changes[2] - l2[0] * a - l2[1] * b;
        let d = changes[3] - l3[0] * a - l3[1] * b - l3[2] * c;
        let e = changes[4] - l4[0] * a - l4[1] * b - l4[2] * c - l4[3] * d;
        let f = changes[5] - l5[0] * a - l5[1] * b - l5[2] * c - l5[3] * d - l5[4] * e;
        let [u0, u1, u2, u3, u4, u5] = &self.lines;
        let f = f * u5[5];
        let e = (e - u4[5] * f) * u4[4];
        let d = (d - u3[5] * f - u3[4] * e) * u3[3];
        let c = (c - u2[5] * f - u2[4] * e - u2[3] * d) * u2[2];
        let b = (b - u1[5] * f - u1[4] * e - u1[3] * d - u1[2] * c) * u1[1];
        let a = (a - u0[5] * f - u0[4] * e - u0[3] * d - u0[2] * c - u0[1] * b) * u0[0];
        [a, b, c, d, e, f]
    }

    /// The inverse of the Jacobian, a line a motion; its columns are those of the rows in their order.
    #[inline]
    pub(super) fn inverse(&self) -> Lines<T> {
        let mut lines = [[T::splat(0.0); 6]; 6];
        for (i, line) in lines.iter_mut().enumerate() {
            line[i] = T::splat(1.0);
        }
        self.forward::<0>(&mut lines);
        self.forward::<1>(&mut lines);
        self.forward::<2>(&mut lines);
        self.forward::<3>(&mut lines);
        self.forward::<4>(&mut lines);
        let [mut a, mut b, mut c, mut d, mut e, mut f] = lines;
        let [u0, u1, u2, u3, u4, u5] = &self.lines;
        scale(&mut f, u5[5]);
        lessen(&mut e, u4[5], &f);
        scale(&mut e, u4[4]);
        lessen(&mut d, u3[5], &f);
        lessen(&mut d, u3[4], &e);
        scale(&mut d, u3[3]);
        lessen(&mut c, u2[5], &f);
        lessen(&mut c, u2[4], &e);
        lessen(&mut c, u2[3], &d);
        scale(&mut c, u2[2]);
        lessen(&mut b, u1[5], &f);
        lessen(&mut b, u1[4], &e);
        lessen(&mut b, u1[3], &d);
        lessen(&mut b, u1[2], &c);
        scale(&mut b, u1[1]);
        lessen(&mut a, u0[5], &f);
        lessen(&mut a, u0[4], &e);
        lessen(&mut a, u0[3], &d);
        lessen(&mut a, u0[2], &c);
        lessen(&mut a, u0[1], &b);
        scale(&mut a, u0[0]);
        [a, b, c, d, e, f]
    }

    /// What column `K` of `L` takes from the lines below `K`, which have nothing to the right of their own place yet.
    #[inline]
    fn forward<const K: usize>(&self, lines: &mut Lines<T>) {
        let from = lines[K];
        for (line, factors) in lines[K + 1..].iter_mut().zip(&self.lines[K + 1..]) {
            for c in 0..=K {
                line[c] -= factors[K] * from[c];
            }
        }
    }
}

/// Takes a part of one line from another.
#[inline]
fn lessen<T: InRows>(line: &mut [T; 6], part: T, by: &[T; 6]) {
    for (x, by) in line.iter_mut().zip(by) {
        *x -= part * *by;
    }
}

#[inline]
fn scale<T: InRows>(line: &mut [T; 6], by: T) {
    for x in line {
        *x *= by;
    }
}

/// Puts the line with the largest pivot in column `K` before the others that are not eliminated yet.
#[inline]
fn largest_first<T: InRows, const K: usize>(lines: &mut Lines<T>, order: &mut Order) {
    let size = |line: &[T; 6]| line[K].extract(0).abs();
    let (mut best, mut largest) = (K, size(&lines[K]));
    for (i, line) in lines.iter().enumerate().skip(K + 1) {
        if size(line) > largest {
            (best, largest) = (i, size(line));
        }
    }
    if best != K {
        lines.swap(K, best);
        order.swap(K, best);
    }
}

/// One step of Gauss's elimination: what is below the pivot of column `K` goes, and its multipliers take the place.
#[inline]
fn eliminate<T: InRows, const K: usize>(lines: &mut Lines<T>) {
    let from = lines[K];
    let pivot = T::splat(1.0) / from[K];
    lines[K][K] = pivot;
    for line in &mut lines[K + 1..] {
        let part = line[K] * pivot;
        line[K] = part;
        for j in K + 1..6 {
            line[j] -= part * from[j];
        }
    }
}
