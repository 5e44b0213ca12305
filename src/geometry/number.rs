//! What the solver calculates with: one number, or the same number of several wheels side by side.

use nalgebra::{SimdBool, SimdRealField};
use simba::simd::WideF64x4;

/// A number of the solver: an `f64`, or several of them that are worked on at once.
///
/// The solver is written once for both. What holds of several numbers is asked of all of them together.
pub trait Number: SimdRealField<Element = f64> + Copy {}

impl<T: SimdRealField<Element = f64> + Copy> Number for T {}

/// The same number of four wheels.
pub type Four = WideF64x4;

/// Whether something holds of every wheel. A number that is not one holds nothing.
pub(super) fn holds<B: SimdBool>(of: B) -> bool {
    of.all()
}
