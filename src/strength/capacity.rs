//! What an arm stands along its line, and a bolt under its torque.
//!
//! A straight arm between two pivots yields at `A s` when it is pulled. Pushed together it is a column with pinned ends; with
//! `k` its radius of gyration, Euler's load holds for slender ones and J. B. Johnson's parabola for the others, from where the
//! two touch, `L/k = sqrt(2 pi^2 E / s)`:
//!
//! ```text
//! Euler     P = pi^2 E A / (L/k)^2
//! Johnson   P = A s (1 - s (L/k)^2 / (4 pi^2 E))
//! ```
//!
//! A bent arm stands off the line by `e`: it bends, and yields at its edge `c` where the secant formula says so,
//!
//! ```text
//! pushed    s = P/A (1 + e c / k^2 sec(L/(2k) sqrt(P / (E A))))
//! pulled    s = P/A (1 + e c / k^2)          without what the pull straightens, which is on the safe side
//! ```
//!
//! (R. C. Hibbeler, *Mechanics of Materials*, chapter 13; V. M. Faires, *Design of Machine Elements*, columns.)

use std::f64::consts::PI;

use crate::car::{Section, Thread};
use crate::geometry::search::{Until, last_to_hold};

/// The diameter at which a nut's face rubs, in parts of the thread's: five quarters, as hexagon nuts do to a few percent (back
/// from the torques of VDI 2230's table).
pub const BEARING: f64 = 1.25;

/// Halvings of an interval until nothing of it is left in the digits of a number.
const HALVINGS: usize = 60;

/// Euler's load of a column with pinned ends, N.
pub fn euler(section: &Section, length: f64) -> f64 {
    PI * PI * section.modulus * section.inertia / (length * length)
}

/// Johnson's load of a column with pinned ends, N; it holds for stocky ones only.
pub fn johnson(section: &Section, length: f64) -> f64 {
    let Section { area, yield_stress, modulus, .. } = *section;
    let slender = length / section.gyration();
    area * yield_stress * (1.0 - yield_stress * slender * slender / (4.0 * PI * PI * modulus))
}

/// The load at which a straight column with pinned ends gives, N: Johnson's for a stocky one, Euler's for a slender one.
///
/// # Examples
///
/// ```
/// # use rodset::car::Section;
/// # use rodset::strength::capacity::{column, euler, johnson};
/// let tube = Section::round(22.0, 16.0, 355.0, 210_000.0);
/// assert_eq!(column(&tube, 250.0), johnson(&tube, 250.0));
/// assert_eq!(column(&tube, 900.0), euler(&tube, 900.0));
/// ```
pub fn column(section: &Section, length: f64) -> f64 {
    let touch = (2.0 * PI * PI * section.modulus / section.yield_stress).sqrt();
    if length / section.gyration() < touch { johnson(section, length) } else { euler(section, length) }
}

/// The push at which a column that stands off its line by `off` mm yields at its edge, N.
pub fn secant(section: &Section, length: f64, off: f64) -> f64 {
    let Section { area, edge, yield_stress, modulus, .. } = *section;
    let lever = off * edge * area / section.inertia;
    let stress = |push: f64| {
        let angle = length / 2.0 * (push / (modulus * section.inertia)).sqrt();
        push / area * (1.0 + lever / angle.cos())
    };
    let most = euler(section, length).min(area * yield_stress);
    last_to_hold(0.0, most, Until::Halved(HALVINGS), |push| stress(push) < yield_stress)
}

/// What an arm stands, N: pulled, and pushed together.
pub fn arm(section: &Section, length: f64, off: f64) -> [f64; 2] {
    let pull =
        section.area * section.yield_stress / (1.0 + off * section.edge * section.area / section.inertia);
    let straight = column(section, length);
    [pull, if off > 0.0 { straight.min(secant(section, length, off)) } else { straight }]
}

/// The preload at which a bolt's shank comes to a part of its yield stress while it is being torqued, N: pull and twist
/// together, VDI 2230 (formula from memory, held against its table).
///
/// ```text
/// F = A0 part s / sqrt(1 + 3 (3/2 d2/d0 (P/(pi d2) + 1.155 mu))^2),   d0 = (d2 + d3)/2,  A0 = pi d0^2 / 4
/// ```
pub fn assembly_limit(thread: &Thread, yield_stress: f64, part: f64, friction: f64) -> f64 {
    let (d2, d3) = (thread.diameter - 0.649_519 * thread.pitch, thread.diameter - 1.226_869 * thread.pitch);
    let d0 = f64::midpoint(d2, d3);
    let twist = 1.5 * d2 / d0 * (thread.pitch / (PI * d2) + 1.155 * friction);
    PI / 4.0 * d0 * d0 * part * yield_stress / (1.0 + 3.0 * twist * twist).sqrt()
}

/// The bending at which a threaded shank comes to a stress at the bottom of its thread, N mm: `s pi d3^3 / 32`.
pub fn shank_bending(thread: &Thread, stress: f64) -> f64 {
    stress * PI / 32.0 * (thread.diameter - 1.226_869 * thread.pitch).powi(3)
}

/// The nut factor `K` that friction makes, alike in the thread and under the nut: VDI 2230's torque over `F d`, with a nut's face
/// that rubs at a diameter of `bearing` mm.
pub fn nut_factor(thread: &Thread, friction: f64, bearing: f64) -> f64 {
    let d2 = thread.diameter - 0.649_519 * thread.pitch;
    (0.16 * thread.pitch + 0.58 * d2 * friction + friction * bearing / 2.0) / thread.diameter
}

/// The friction that belongs to a nut factor, the nut's face rubbing where [`BEARING`] has it.
pub fn friction_of(thread: &Thread, factor: f64) -> f64 {
    let bearing = BEARING * thread.diameter;
    let none = nut_factor(thread, 0.0, bearing);
    ((factor - none) / (nut_factor(thread, 1.0, bearing) - none)).max(0.0)
}

/// The preload that a torque in N m makes, N: `F = T / (K d)`.
pub fn preload(torque: f64, factor: f64, diameter: f64) -> f64 {
    1000.0 * torque / (factor * diameter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn johnson_and_euler_touch() {
        let tube = Section::round(25.0, 20.0, 355.0, 205_000.0);
        let touch = (2.0 * PI * PI * tube.modulus / tube.yield_stress).sqrt() * tube.gyration();
        assert_relative_eq!(column(&tube, touch * 0.999_999), column(&tube, touch), max_relative = 1e-5);
        assert_relative_eq!(column(&tube, touch), tube.area * tube.yield_stress / 2.0, max_relative = 1e-9);
        assert_relative_eq!(column(&tube, 1e-3), tube.area * tube.yield_stress, max_relative = 1e-9);
    }

    /// Put back into the formula, the load gives the yield stress again; without a bend it is the lesser of yield and Euler.
    #[test]
    fn the_secant_formula_is_solved() {
        let tube = Section::round(30.0, 24.0, 300.0, 205_000.0);
        for (length, off) in [(250.0, 1.0), (330.0, 22.0), (900.0, 5.0), (2000.0, 40.0)] {
            let push = secant(&tube, length, off);
            let k2 = tube.inertia / tube.area;
            let sec = 1.0 / (length / 2.0 / k2.sqrt() * (push / (tube.modulus * tube.area)).sqrt()).cos();
            let stress = push / tube.area * (1.0 + off * tube.edge / k2 * sec);
            assert_relative_eq!(stress, 300.0, max_relative = 1e-9);
            assert!(push < euler(&tube, length));
        }
        assert_relative_eq!(secant(&tube, 250.0, 0.0), tube.area * 300.0, max_relative = 1e-9);
        assert_relative_eq!(secant(&tube, 3000.0, 0.0), euler(&tube, 3000.0), max_relative = 1e-9);
    }
}
