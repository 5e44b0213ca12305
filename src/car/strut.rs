//! Spring and damper as they were measured.

use nalgebra::Point3;

use crate::geometry::InArm;

/// Where the lower end of a spring or damper sits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seat {
    /// On the knuckle: the point at the reference, mm.
    Knuckle(Point3<f64>),
    /// On the arm of a link.
    Arm {
        /// The link, by its place among the five.
        link: usize,
        /// How far along it from the subframe pivot, mm.
        along: f64,
    },
    /// On a wishbone, anywhere on its plate.
    Plate {
        /// The places of its two legs.
        legs: [usize; 2],
        /// Where it stands in the wishbone.
        inner: InArm,
    },
}

impl Seat {
    /// Whether it is on the link of a place, or on the wishbone of which that is a leg.
    pub fn is_on(&self, index: usize) -> bool {
        match self {
            Self::Knuckle(_) => false,
            Self::Arm { link, .. } => *link == index,
            Self::Plate { legs, .. } => legs.contains(&index),
        }
    }
}

/// A line from a point of the body to one that moves with the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strut {
    /// Point on the body, mm.
    pub upper: Point3<f64>,
    /// The other end.
    pub lower: Seat,
}

/// A coil spring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spring {
    /// The line in which it pushes.
    pub line: Strut,
    /// Its rate, N/mm, where it is known.
    pub rate: Option<f64>,
    /// Travel of its collar per turn, mm, where it sits on one.
    pub(crate) lead: Option<f64>,
    /// What the wheel carries, kg, as a scale under it reads, where it is known.
    pub corner_mass: Option<f64>,
    /// What of that is wheel, brake, knuckle and half of the links, kg, where it is known.
    pub unsprung_mass: Option<f64>,
    /// Rate of the tyre, N/mm, where it is known.
    pub(crate) tyre_rate: Option<f64>,
    /// Over its coils, mm, where it was measured.
    pub(crate) diameter: Option<f64>,
    /// From its upper end to the lower end of its coils at the reference, mm; all of its line where that was not measured.
    pub(crate) length: Option<f64>,
}

/// A damper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Damper {
    /// The line in which it works.
    pub line: Strut,
    /// Bare rod between its body and the bump stop at the reference, mm, where it was measured.
    pub(crate) stop_gap: Option<f64>,
    /// Its length fully closed and fully open, between the same two points, mm, where they are known.
    pub(crate) closed: Option<f64>,
    /// See `closed`.
    pub(crate) open: Option<f64>,
}

impl Spring {
    /// What the spring itself carries, kg; without the unsprung mass all that is on the wheel.
    pub(crate) fn sprung_mass(&self) -> Option<f64> {
        self.corner_mass.map(|corner| corner - self.unsprung_mass.unwrap_or(0.0))
    }
}
