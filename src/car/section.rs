//! What an arm's bar is made of.

use std::f64::consts::PI;

/// A bar's cross-section and material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Area, mm2.
    pub area: f64,
    /// Second moment of area about the axis that it bends about most easily, mm4.
    pub inertia: f64,
    /// From its middle to its outermost edge, mm.
    pub edge: f64,
    /// Yield stress, N/mm2.
    pub yield_stress: f64,
    /// Modulus of elasticity, N/mm2.
    pub modulus: f64,
}

impl Section {
    /// Steel, N/mm2: 200 to 210 thousand in handbooks, the middle of them (common practice, no source).
    pub(crate) const STEEL: f64 = 205_000.0;

    /// A round bar or tube of these diameters, mm; stresses in N/mm2.
    pub fn round(outer: f64, inner: f64, yield_stress: f64, modulus: f64) -> Self {
        Self {
            area: PI / 4.0 * (outer * outer - inner * inner),
            inertia: PI / 64.0 * (outer.powi(4) - inner.powi(4)),
            edge: outer / 2.0,
            yield_stress,
            modulus,
        }
    }

    /// Radius of gyration, mm: `k = sqrt(I / A)`.
    pub(crate) fn gyration(&self) -> f64 {
        (self.inertia / self.area).sqrt()
    }
}
