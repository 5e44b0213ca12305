//! A proof that a computed position is a true one, and the only one near it.
//!
//! Newton's method stops at a pose that satisfies the rows to rounding. That such a pose lies near a true solution, and
//! near one only, follows from the theorem of Newton and Kantorovich in the form of a *radii polynomial*: with `A` an
//! approximate inverse of the Jacobian `J` at the pose and `F` the six residuals, let
//!
//! ```text
//! |A F|        <= Y      how far one more Newton step would go
//! |I - A J|    <= Z      how good the approximate inverse is
//! |A D2F[v,w]| <= W |v| |w|   how fast the rows bend, anywhere within R of the pose
//! ```
//!
//! If `W/2 r^2 - (1 - Z) r + Y < 0` for some `r <= R`, the rows have exactly one solution within `r` of the pose. The
//! smallest such `r` says how near the true position is, the largest how far there is no other.
//! (L. V. Kantorovich and G. P. Akilov, *Functional Analysis*, 2nd edition, Pergamon 1982, chapter XVIII; A. Hungria,
//! J.-P. Lessard, J. D. Mireles James, *Rigorous numerics for analytic solutions of differential equations: the radii
//! polynomial approach*, Mathematics of Computation 85 (2016). Both cited from memory.)
//!
//! `F` and the constants are computed in floating point; their rounding is bounded generously (see `Row::rounding`)
//! and added to `Y` and `Z`, not tracked by interval arithmetic.

use nalgebra::{Matrix6, Vector6};

use super::{Pose, Row};

/// The constant `W` is taken over these distances from the pose, mm (angles times the characteristic length), and the best result kept: a
/// wide neighbourhood says more of an ordinary link, but bounds nothing of one as short as itself.
const NEIGHBOURHOODS: [f64; 3] = [20.0, 5.0, 1.0];

/// What is proven of a position. Distances are in the norm of the six motions: mm, angles times [`CHARACTERISTIC_LENGTH`](super::CHARACTERISTIC_LENGTH).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Certificate {
    /// A true solution of the rows lies within this distance, mm.
    pub within: f64,
    /// There is no other solution within this distance, mm.
    pub alone_within: f64,
}

impl Certificate {
    /// Certifies a pose in which the rows are met, with the inverse of their Jacobian there; `None` where they bend too fast for
    /// it: near a dead point.
    pub(super) fn of(rows: &[Row; 6], pose: &Pose, inverse: &Matrix6<f64>) -> Option<Self> {
        let jacobian = Matrix6::from_rows(&rows.each_ref().map(|row| row.gradient(pose).transpose()));
        let weight = inverse.abs();
        let miss = Vector6::from_fn(|i, _| rows[i].residual(pose).abs() + rows[i].rounding(pose));
        let slant = rows.iter().map(|row| row.slant_rounding(pose)).fold(0.0, f64::max);
        let y = (weight * miss).norm();
        let z = (Matrix6::identity() - inverse * jacobian).norm() + slant * inverse.norm() * jacobian.norm();
        let within = |radius: f64| {
            let bend = Vector6::from_fn(|i, _| rows[i].curvature(pose, radius));
            Self::from_bounds(y, z, (weight * bend).norm(), radius)
        };
        let certificates = NEIGHBOURHOODS.into_iter().filter_map(within);
        certificates.max_by(|a, b| a.alone_within.total_cmp(&b.alone_within))
    }

    /// The roots of `W/2 r^2 - (1 - Z) r + Y`, as far as they lie within `radius`.
    fn from_bounds(y: f64, z: f64, w: f64, radius: f64) -> Option<Self> {
        let slack = 1.0 - z;
        let discriminant = slack * slack - 2.0 * w * y;
        if !(slack > 0.0 && discriminant > 0.0) {
            return None;
        }
        let root = discriminant.sqrt();
        // The smaller root in the form without cancellation.
        let within = 2.0 * y / (slack + root);
        let alone_within = if w > 0.0 { ((slack + root) / w).min(radius) } else { radius };
        (within < alone_within).then_some(Self { within, alone_within })
    }
}

#[cfg(test)]
mod tests {
    use super::Certificate;
    use approx::assert_relative_eq;

    /// One unknown, `f(x) = x^2 - 2` near `x = 1.4`: the roots are those of the polynomial, and the true root lies within.
    #[test]
    fn a_square_root_is_certified() {
        let x: f64 = 1.4;
        let (y, w) = ((x * x - 2.0).abs() / (2.0 * x), 2.0 / (2.0 * x));
        let certificate = Certificate::from_bounds(y, 0.0, w, 10.0).expect("near enough");
        let off = (2.0_f64.sqrt() - x).abs();
        assert!(off <= certificate.within, "{certificate:?}");
        // The other root is as far away as the polynomial allows.
        assert!((-(2.0_f64.sqrt()) - x).abs() >= certificate.alone_within, "{certificate:?}");
        assert_relative_eq!(certificate.alone_within + certificate.within, 2.0 / w, epsilon = 1e-12);
        assert_eq!(Certificate::from_bounds(1.0, 0.0, 0.6, 10.0), None);
        assert_eq!(Certificate::from_bounds(0.1, 1.0, 0.1, 10.0), None);
        assert_eq!(Certificate::from_bounds(0.1, f64::NAN, 0.1, 10.0), None);
    }
}
