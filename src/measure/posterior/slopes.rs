//! How readings change with all that is not known.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector, RowDVector};

/// Derivatives of readings, a row each, with all unknowns in deviations of before. The car's own unknowns touch every reading, any
/// other only those of some states.
#[derive(Debug, Clone)]
pub(super) struct Slopes {
    /// With the car's own unknowns, which stand first.
    pub(super) own: DMatrix<f64>,
    /// With each of the others that touches any, counted from 0: the rows that it touches in their order, and how.
    pub(super) others: BTreeMap<usize, Vec<(usize, f64)>>,
    /// How many unknowns there are.
    count: usize,
}

impl Slopes {
    /// Of so many readings with so many unknowns of the car itself, of all; nothing touches anything yet.
    pub(super) fn zeros(rows: usize, own: usize, count: usize) -> Self {
        Self { own: DMatrix::zeros(rows, own), others: BTreeMap::new(), count }
    }

    /// Adds to what one of the other unknowns does to a row.
    pub(super) fn add(&mut self, row: usize, place: usize, slope: f64) {
        let touched = self.others.entry(place).or_default();
        match touched.last_mut().filter(|(last, _)| *last == row) {
            Some((_, before)) => *before += slope,
            None => touched.push((row, slope)),
        }
    }

    /// Puts a sum of the rows of others in the place of a row.
    pub(super) fn put(&mut self, row: usize, weights: &RowDVector<f64>, of: &Self) {
        self.own.row_mut(row).copy_from(&(weights * &of.own));
        for (&place, touched) in &of.others {
            for &(other, slope) in touched {
                self.add(row, place, weights[other] * slope);
            }
        }
    }

    /// Puts others in the place of the rows from one on.
    pub(super) fn put_all(&mut self, from: usize, of: &Self) {
        self.own.rows_mut(from, of.rows()).copy_from(&of.own);
        for (&place, touched) in &of.others {
            for &(other, slope) in touched {
                self.add(from + other, place, slope);
            }
        }
    }

    /// How many readings there are.
    pub(super) fn rows(&self) -> usize {
        self.own.nrows()
    }

    /// Of the first readings alone.
    pub(super) fn first(&self, rows: usize) -> Self {
        let mut first = Self::zeros(0, 0, self.count);
        first.own = self.own.rows(0, rows).into_owned();
        for (&place, touched) in &self.others {
            touched
                .iter()
                .filter(|(row, _)| *row < rows)
                .for_each(|&(row, slope)| first.add(row, place, slope));
        }
        first
    }

    /// One of the other unknowns, as a column.
    pub(super) fn column(&self, place: usize) -> DVector<f64> {
        let mut column = DVector::zeros(self.rows());
        for &(row, slope) in self.others.get(&place).into_iter().flatten() {
            column[row] = slope;
        }
        column
    }

    /// All of it as one matrix.
    pub(super) fn dense(&self) -> DMatrix<f64> {
        let own = self.own.ncols();
        let mut all = self.own.clone().resize_horizontally(self.count, 0.0);
        for (&place, touched) in &self.others {
            for &(row, slope) in touched {
                all[(row, own + place)] = slope;
            }
        }
        all
    }

    /// `J z`.
    pub(super) fn times(&self, z: &DVector<f64>) -> DVector<f64> {
        let own = self.own.ncols();
        let mut sum = &self.own * z.rows(0, own);
        for (&place, touched) in &self.others {
            for &(row, slope) in touched {
                sum[row] += slope * z[own + place];
            }
        }
        sum
    }

    /// `J' v`.
    pub(super) fn back(&self, v: &DVector<f64>) -> DVector<f64> {
        let own = self.own.tr_mul(v);
        let others = (0..self.count - own.len()).map(|place| self.column(place).dot(v));
        DVector::from_iterator(self.count, own.iter().copied().chain(others))
    }

    /// `G J'` of something else that changes so, a row each.
    pub(super) fn across(&self, slope: &DMatrix<f64>) -> DMatrix<f64> {
        let own = self.own.ncols();
        let mut all = slope.columns(0, own) * self.own.transpose();
        for (&place, touched) in &self.others {
            for &(row, with) in touched {
                for (i, of) in slope.column(own + place).iter().enumerate() {
                    all[(i, row)] += of * with;
                }
            }
        }
        all
    }

    /// Whether every derivative is a number.
    pub(super) fn is_sound(&self) -> bool {
        self.own.iter().chain(self.others.values().flatten().map(|(_, slope)| slope)).all(|x| x.is_finite())
    }
}
