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
//! `F` and the constants are computed in floating point; their rounding is bounded generously (see [`Row::rounding`])
//! and added to `Y` and `Z`, not tracked by interval arithmetic.

use nalgebra::{Matrix6, Vector6};

use super::{Pose, Row};

/// The constant `W` is taken over this distance from the pose, mm (angles times the lever).
const NEIGHBOURHOOD: f64 = 20.0;

/// What is proven of a position. Distances are in the norm of the six motions: mm, angles times [`LEVER`](super::LEVER).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Certificate {
    /// A true solution of the rows lies within this distance, mm.
    pub within: f64,
    /// There is no other solution within this distance, mm.
    pub alone_within: f64,
}

impl Certificate {
    /// Certifies a pose; `None` where the rows bend too fast for their Jacobian: near a dead point.
    pub(super) fn of(
        rows: &[Row; 6],
        pose: &Pose,
        jacobian: &Matrix6<f64>,
        inverse: &Matrix6<f64>,
    ) -> Option<Self> {
        let weight = inverse.abs();
        let miss = Vector6::from_fn(|i, _| rows[i].residual(pose).abs() + rows[i].rounding(pose));
        let bend = Vector6::from_fn(|i, _| rows[i].curvature(pose, NEIGHBOURHOOD));
        let y = (weight * miss).norm();
        let w = (weight * bend).norm();
        let z = (Matrix6::identity() - inverse * jacobian).norm()
            + Row::ROUNDING * inverse.norm() * jacobian.norm();
        // Roots of W/2 r^2 - (1 - Z) r + Y; the smaller one in the form without cancellation.
        let slack = 1.0 - z;
        let discriminant = slack * slack - 2.0 * w * y;
        if !(slack > 0.0 && discriminant > 0.0) {
            return None;
        }
        let root = discriminant.sqrt();
        let within = 2.0 * y / (slack + root);
        let alone_within = if w > 0.0 { ((slack + root) / w).min(NEIGHBOURHOOD) } else { NEIGHBOURHOOD };
        (within < alone_within).then_some(Self { within, alone_within })
    }
}
