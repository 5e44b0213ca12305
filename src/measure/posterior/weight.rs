//! What readings weigh.

use nalgebra::allocator::Allocator;
use nalgebra::{Cholesky, DMatrix, DVector, DefaultAllocator, Dim, Dyn, OMatrix};

use super::slopes::Slopes;

/// An unknown that touches more readings than this is shared: those of six states.
const SHARED: usize = 24;

/// `J J' + 1` of some readings, factored.
///
/// Of a few readings as it is. Of many, the unknowns that only some of them rest on are put first: then the readings fall apart into
/// islands, `B`, and what all share comes back by `(B + S S')^-1 = B^-1 - B^-1 S (1 + S' B^-1 S)^-1 S' B^-1` (M. A. Woodbury,
/// *Inverting modified matrices*, 1950, cited from memory), so that the work grows as the readings do and not as their cube.
#[derive(Debug, Clone)]
pub(super) enum Weight {
    /// All at once.
    Whole(Cholesky<f64, Dyn>),
    /// In islands.
    Parted(Box<Parted>),
}

/// Readings that hang together, and what they weigh by themselves.
type Island = (Vec<usize>, Cholesky<f64, Dyn>);

/// Readings in islands.
#[derive(Debug, Clone)]
pub(super) struct Parted {
    islands: Vec<Island>,
    /// `B^-1 S`.
    shared: DMatrix<f64>,
    /// `1 + S' B^-1 S`.
    between: Cholesky<f64, Dyn>,
    /// That of the first rows alone.
    first: Cholesky<f64, Dyn>,
}

fn gram(slopes: &DMatrix<f64>) -> DMatrix<f64> {
    let count = slopes.nrows();
    slopes * slopes.transpose() + DMatrix::identity(count, count)
}

impl Weight {
    /// Of readings with these derivatives, of which so many of the first are no readings.
    pub(super) fn of(slopes: &Slopes, granted: usize) -> Option<Self> {
        if slopes.rows() <= 2 * slopes.own.ncols() {
            return Some(Self::Whole(gram(&slopes.dense()).cholesky()?));
        }
        let (shared, own): (Vec<_>, Vec<_>) =
            slopes.others.iter().partition(|(_, touched)| touched.len() > SHARED);
        let own: Vec<&[(usize, f64)]> = own.into_iter().map(|(_, touched)| &touched[..]).collect();
        let mut all = slopes.own.clone().resize_horizontally(slopes.own.ncols() + shared.len(), 0.0);
        for (i, (&place, _)) in shared.into_iter().enumerate() {
            all.set_column(slopes.own.ncols() + i, &slopes.column(place));
        }
        let rows = apart(slopes.rows(), &own);
        let mut place = vec![(0, 0); slopes.rows()];
        for (island, rows) in rows.iter().enumerate() {
            for (i, &row) in rows.iter().enumerate() {
                place[row] = (island, i);
            }
        }
        let mut blocks: Vec<DMatrix<f64>> =
            rows.iter().map(|rows| DMatrix::identity(rows.len(), rows.len())).collect();
        for touched in own {
            for &(row, slope) in touched {
                for &(other, with) in touched {
                    let (island, i) = place[row];
                    blocks[island][(i, place[other].1)] += slope * with;
                }
            }
        }
        let islands: Vec<_> = (rows.into_iter().zip(blocks))
            .map(|(rows, block)| Some((rows, block.cholesky()?)))
            .collect::<Option<_>>()?;
        let inverse = each_solved(&islands, &all);
        let count = all.ncols();
        let between = (all.transpose() * &inverse + DMatrix::identity(count, count)).cholesky()?;
        let first = gram(&slopes.first(granted).dense()).cholesky()?;
        Some(Self::Parted(Box::new(Parted { islands, shared: inverse, between, first })))
    }

    /// `(J J' + 1)^-1` times something, a row a reading.
    pub(super) fn solve<C: Dim>(&self, of: &OMatrix<f64, Dyn, C>) -> OMatrix<f64, Dyn, C>
    where
        DefaultAllocator: Allocator<Dyn, C>,
    {
        match self {
            Self::Whole(whole) => whole.solve(of),
            Self::Parted(parted) => {
                let shared = parted.between.solve(&parted.shared.tr_mul(of));
                each_solved(&parted.islands, of) - &parted.shared * shared
            }
        }
    }

    /// The diagonal of `(J J' + 1)^-1`.
    pub(super) fn cofactors(&self) -> Vec<f64> {
        let diagonal = |of: &Cholesky<f64, Dyn>| -> Vec<f64> {
            let count = of.l_dirty().nrows();
            of.solve(&DMatrix::identity(count, count)).diagonal().iter().copied().collect()
        };
        match self {
            Self::Whole(whole) => diagonal(whole),
            Self::Parted(parted) => {
                let mut all = vec![0.0; parted.shared.nrows()];
                for (rows, block) in &parted.islands {
                    for (&row, value) in rows.iter().zip(diagonal(block)) {
                        all[row] = value;
                    }
                }
                let through = parted.between.solve(&parted.shared.transpose());
                for (row, value) in all.iter_mut().enumerate() {
                    *value -= parted.shared.row(row).transpose().dot(&through.column(row));
                }
                all
            }
        }
    }

    /// Of what all but the first so many rows are beyond what the first let expect: the sum of squares in their deviations, and the
    /// logarithm of the determinant of their covariance.
    pub(super) fn beyond(&self, granted: usize, off: &DVector<f64>) -> (f64, f64) {
        let size = |of: &Cholesky<f64, Dyn>, from: usize| -> f64 {
            of.l_dirty().diagonal().iter().skip(from).map(|x| 2.0 * x.ln()).sum()
        };
        // What is granted stands first, so that the factor has the readings as they follow from it in its last rows.
        let squares = |of: &Cholesky<f64, Dyn>, off: &DVector<f64>, from: usize| {
            let each = of.l_dirty().solve_lower_triangular(off);
            each.map_or(f64::INFINITY, |each| each.rows_range(from..).norm_squared())
        };
        match self {
            Self::Whole(whole) => (squares(whole, off, granted), size(whole, granted)),
            Self::Parted(parted) => {
                let all = off.dot(&self.solve(off));
                let first = off.rows(0, granted).into_owned();
                let islands: f64 = parted.islands.iter().map(|(_, block)| size(block, 0)).sum();
                (
                    all - squares(&parted.first, &first, 0),
                    islands + size(&parted.between, 0) - size(&parted.first, 0),
                )
            }
        }
    }
}

/// `B^-1` times something, a row a reading.
fn each_solved<C: Dim>(islands: &[Island], of: &OMatrix<f64, Dyn, C>) -> OMatrix<f64, Dyn, C>
where
    DefaultAllocator: Allocator<Dyn, C>,
{
    let mut solved = of.clone();
    for (rows, block) in islands {
        let own = block.solve(&of.select_rows(rows));
        for (i, &row) in rows.iter().enumerate() {
            solved.row_mut(row).copy_from(&own.row(i));
        }
    }
    solved
}

/// The rows that hang together by unknowns, each island in their order.
fn apart(rows: usize, unknowns: &[&[(usize, f64)]]) -> Vec<Vec<usize>> {
    fn root(above: &mut [usize], mut row: usize) -> usize {
        while above[row] != row {
            above[row] = above[above[row]];
            row = above[row];
        }
        row
    }
    let mut above: Vec<usize> = (0..rows).collect();
    for touched in unknowns {
        for pair in touched.windows(2) {
            let [a, b] = [pair[0].0, pair[1].0].map(|row| root(&mut above, row));
            above[a.max(b)] = a.min(b);
        }
    }
    let mut all: Vec<Vec<usize>> = vec![Vec::new(); rows];
    for row in 0..rows {
        let of = root(&mut above, row);
        all[of].push(row);
    }
    all.retain(|rows| !rows.is_empty());
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Readings in which every kind of unknown occurs: the car's own, one that most share, some of two or three readings, one of one.
    fn readings() -> Slopes {
        let mut state = 7_u64;
        let mut random = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            #[expect(clippy::cast_precision_loss, reason = "any number will do")]
            let value = (state >> 11) as f64 / (1_u64 << 53) as f64;
            4.0 * value - 2.0
        };
        let mut slopes = Slopes::zeros(90, 3, 80);
        slopes.own.iter_mut().for_each(|slope| *slope = random());
        for row in 0..90 {
            if row % 7 != 0 {
                slopes.add(row, 0, random());
            }
            slopes.add(row, 1 + row / 2, random());
            slopes.add(row, 46 + row / 3, random());
        }
        slopes
    }

    #[test]
    fn readings_weigh_the_same_in_islands_as_all_at_once() {
        let (slopes, granted) = (readings(), 5);
        let parted = Weight::of(&slopes, granted).expect("definite");
        assert!(matches!(&parted, Weight::Parted(parted) if parted.islands.len() > 5));
        let whole = Weight::Whole(gram(&slopes.dense()).cholesky().expect("definite"));
        let off =
            DVector::from_fn(slopes.rows(), |row, _| f64::from(u8::try_from(row % 11).expect("small")) - 5.0);
        assert_relative_eq!(parted.solve(&off), whole.solve(&off), epsilon = 1e-12);
        for (own, all) in parted.cofactors().iter().zip(whole.cofactors()) {
            assert_relative_eq!(*own, all, epsilon = 1e-12);
        }
        let (own, all) = (parted.beyond(granted, &off), whole.beyond(granted, &off));
        assert_relative_eq!(own.0, all.0, max_relative = 1e-12);
        assert_relative_eq!(own.1, all.1, max_relative = 1e-12);
    }
}
