//! How well the points and readings of one side are known, and how their errors go together.

use nalgebra::{DMatrix, DVector, Vector3};
use std::ops::Range;

use super::{Hand, LINKS, PerSide, Sigmas};

/// Something of a side that was measured and that its answers rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measurand {
    /// The wheel centre.
    Centre,
    /// The subframe pivot of a link.
    Subframe(usize),
    /// The knuckle pivot of a link.
    Knuckle(usize),
    /// The camber that was read at the reference.
    Camber,
    /// The toe that was read at the reference.
    Toe,
}

impl Measurand {
    /// The place of the readings among a side's numbers, behind the points.
    pub(crate) const READINGS: usize = 3 * (1 + 2 * LINKS);
    /// How many numbers all of them are: the points and two readings.
    pub const NUMBERS: usize = Self::READINGS + 2;

    /// All of them in the order of a side's numbers.
    pub fn all() -> impl Iterator<Item = Self> {
        let links = (0..LINKS).flat_map(|i| [Self::Subframe(i), Self::Knuckle(i)]);
        [Self::Centre].into_iter().chain(links).chain([Self::Camber, Self::Toe])
    }

    /// The points among them.
    pub fn points() -> impl Iterator<Item = Self> {
        Self::all().filter(|measurand| measurand.place().len() == 3)
    }

    /// The link whose pivot it is.
    pub(crate) fn link(self) -> Option<usize> {
        match self {
            Self::Subframe(link) | Self::Knuckle(link) => Some(link),
            _ => None,
        }
    }

    /// Its places among a side's numbers: three coordinates in mm, or one angle in rad.
    pub fn place(self) -> Range<usize> {
        match self {
            Self::Centre => 0..3,
            Self::Subframe(link) => 3 + 6 * link..6 + 6 * link,
            Self::Knuckle(link) => 6 + 6 * link..9 + 6 * link,
            Self::Camber => Self::READINGS..Self::READINGS + 1,
            Self::Toe => Self::READINGS + 1..Self::NUMBERS,
        }
    }
}

/// The covariance of a side's numbers, in the order of [`Measurand::all`], mm and rad.
#[derive(Debug, Clone, PartialEq)]
pub struct Errors {
    covariance: DMatrix<f64>,
}

impl Errors {
    /// The places of the readings.
    const READINGS: Range<usize> = Measurand::READINGS..Measurand::NUMBERS;

    /// Independent errors, all points alike.
    pub fn independent(sigmas: &Sigmas) -> Self {
        let mut deviations = [sigmas.point; Measurand::NUMBERS];
        let own = Measurand::READINGS;
        [deviations[own], deviations[own + 1]] = [sigmas.camber, sigmas.toe];
        Self::correlated(&deviations, None)
    }

    /// Errors from standard deviations and, where there is one, a correlation matrix.
    ///
    /// A printed correlation matrix is rounded and may be a trace off being one; the nearest sound matrix is taken.
    pub(crate) fn correlated(
        deviations: &[f64; Measurand::NUMBERS],
        correlation: Option<&DMatrix<f64>>,
    ) -> Self {
        let scale = DMatrix::from_diagonal(&DVector::from_column_slice(deviations));
        let covariance = match correlation {
            None => scale.component_mul(&scale),
            Some(correlation) => &scale * sound(correlation) * &scale,
        };
        Self { covariance }
    }

    /// The errors of both sides, and the covariance of the left numbers (rows) with the right ones, where the right side is the
    /// mirror image of the left one but for `mirror` mm in every coordinate, and for the numbers that were measured there by
    /// themselves, `own`.
    pub fn mirrored(
        of: PerSide<Self>,
        own: impl Fn(usize) -> bool,
        mirror: f64,
    ) -> (PerSide<Self>, DMatrix<f64>) {
        let PerSide { left, mut right } = of;
        let readings = Self::READINGS;
        let mut between = DMatrix::zeros(Measurand::NUMBERS, Measurand::NUMBERS);
        for j in 0..Measurand::NUMBERS {
            let (reading, own_here) = (readings.contains(&j), own(j));
            for i in 0..readings.start {
                // What is read on a wheel goes with the points as it does on its own side.
                between[(i, j)] = match (reading, own_here) {
                    (true, _) => right.covariance[(i, j)],
                    (false, true) => 0.0,
                    (false, false) => left.covariance[(i, j)],
                };
            }
            for i in readings.clone().filter(|_| !reading && !own_here) {
                between[(i, j)] = left.covariance[(i, j)];
            }
            for i in (0..Measurand::NUMBERS).filter(|&i| i != j && own_here) {
                (right.covariance[(i, j)], right.covariance[(j, i)]) = (0.0, 0.0);
            }
            if !reading && !own_here {
                right.covariance[(j, j)] += mirror.powi(2);
            }
        }
        (PerSide { left, right }, between)
    }

    /// The errors of a right side of which some subframe pivots, by their links, are only assumed to be the mirror image of the left
    /// ones, on a subframe that may sit beside the centreline: what is further out on the left is as much further in on the right. The
    /// left ones, known far worse than that, have it in them.
    #[must_use]
    pub(crate) fn beside_the_centreline(mut self, links: &[usize]) -> Self {
        /// Standard deviation of how far a subframe sits beside the centreline, mm: common practice, no source.
        const BESIDE: f64 = 2.0;
        let out: Vec<usize> = links.iter().map(|link| Measurand::Subframe(*link).place().start + 1).collect();
        for (&i, &j) in out.iter().flat_map(|i| out.iter().map(move |j| (i, j))) {
            self.covariance[(i, j)] += (2.0 * BESIDE).powi(2);
        }
        self
    }

    /// The same from the deviations of both sides and the correlation of all of them, left numbers first.
    pub(crate) fn of_both(
        deviations: &PerSide<[f64; Measurand::NUMBERS]>,
        correlation: &DMatrix<f64>,
    ) -> (PerSide<Self>, DMatrix<f64>) {
        let all: Vec<f64> = deviations.iter().flatten().copied().collect();
        let scale = DMatrix::from_diagonal(&DVector::from_vec(all));
        let covariance = &scale * sound(correlation) * &scale;
        let own = Measurand::NUMBERS;
        let block = |i: usize, j: usize| covariance.view((i * own, j * own), (own, own)).into_owned();
        let side =
            |hand: Hand| if hand == Hand::Left { Self::of(block(0, 0)) } else { Self::of(block(1, 1)) };
        (PerSide::of(side), block(0, 1))
    }

    /// Errors from a covariance.
    pub fn of(covariance: DMatrix<f64>) -> Self {
        Self { covariance }
    }

    /// The covariance, 35 by 35.
    pub fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// Standard deviations of one measurand's numbers, mm or rad.
    pub fn deviations(&self, of: Measurand) -> Vec<f64> {
        of.place().map(|i| self.covariance[(i, i)].max(0.0).sqrt()).collect()
    }

    /// Standard deviation of a link's length between its pivots, mm, by the unit `way` from the subframe to the knuckle.
    pub fn of_length(&self, link: usize, way: &Vector3<f64>) -> f64 {
        let mut slope = DVector::zeros(Measurand::NUMBERS);
        for (point, sign) in [(Measurand::Knuckle(link), 1.0), (Measurand::Subframe(link), -1.0)] {
            slope.rows_mut(point.place().start, 3).copy_from(&(way * sign));
        }
        slope.dot(&(&self.covariance * &slope)).max(0.0).sqrt()
    }

    /// The smallest and the largest standard deviation of any coordinate that has an error, mm.
    pub(crate) fn of_points(&self) -> [f64; 2] {
        let all = Measurand::points().flat_map(|point| self.deviations(point)).filter(|sigma| *sigma > 0.0);
        all.fold([f64::INFINITY, 0.0], |[least, most], sigma| [least.min(sigma), most.max(sigma)])
    }

    /// Whether any two numbers have errors that go together.
    pub fn are_correlated(&self) -> bool {
        let size = self.covariance.nrows();
        (0..size).any(|i| (0..i).any(|j| self.covariance[(i, j)] != 0.0))
    }

    /// How all numbers of a side go together.
    pub(crate) fn correlations_of(errors: &Self) -> DMatrix<f64> {
        let size = errors.covariance.nrows();
        DMatrix::from_fn(size, size, |i, j| errors.correlation(i, j))
    }

    /// The same of both sides, left numbers first; `between` is the covariance of the left ones (rows) with the right ones.
    pub(crate) fn correlations(left: &Self, right: &Self, between: &DMatrix<f64>) -> DMatrix<f64> {
        let size = Measurand::NUMBERS;
        let mut all = DMatrix::zeros(2 * size, 2 * size);
        all.view_mut((0, 0), (size, size)).copy_from(&left.covariance);
        all.view_mut((size, size), (size, size)).copy_from(&right.covariance);
        all.view_mut((0, size), (size, size)).copy_from(between);
        all.view_mut((size, 0), (size, size)).tr_copy_from(between);
        Self::correlations_of(&Self::of(all))
    }

    /// Correlation of two numbers, by their places; 0 where one has no error.
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        let scale = (self.covariance[(i, i)] * self.covariance[(j, j)]).sqrt();
        if scale > 0.0 { self.covariance[(i, j)] / scale } else { f64::from(u8::from(i == j)) }
    }
}

/// A symmetric matrix with its negative eigenvalues taken away.
fn sound(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    let eigen = matrix.clone().symmetric_eigen();
    let kept = eigen.eigenvalues.map(|value| value.max(0.0));
    &eigen.eigenvectors * DMatrix::from_diagonal(&kept) * eigen.eigenvectors.transpose()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn every_number_belongs_to_one_measurand_and_they_stand_in_order() {
        let places: Vec<usize> = Measurand::all().flat_map(Measurand::place).collect();
        assert_eq!(places, (0..Measurand::NUMBERS).collect::<Vec<_>>());
        assert_eq!(Measurand::points().count(), 11);
    }

    #[test]
    fn a_rounded_correlation_is_made_sound_without_being_changed_much() {
        let mut correlation = DMatrix::identity(35, 35);
        // Three numbers that go together so closely that rounding breaks the matrix.
        for (i, j, r) in [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 0.999)] {
            (correlation[(i, j)], correlation[(j, i)]) = (r, r);
        }
        let errors = Errors::correlated(&[2.0; 35], Some(&correlation));
        let least = errors.covariance().clone().symmetric_eigen().eigenvalues.min();
        assert!(least > -1e-12, "{least}");
        assert_relative_eq!(errors.correlation(0, 1), 1.0, epsilon = 1e-3);
        assert_relative_eq!(errors.deviations(Measurand::Centre)[0], 2.0, max_relative = 1e-3);
    }
}
