//! An arm as a solid: a round bar about its centreline, straight or bent.

use nalgebra::{Point3, Vector3};

use crate::geometry::solids::{Core, Solid};

/// The bar of an arm.
///
/// # How a bent arm is clocked
///
/// A bent arm stands off the straight line between its two pivots, and it keeps its clocking about that line by its bushes.
/// So there is a direction fixed to the car, the *guide*, to which the arm holds: the subframe bolt where the profile
/// gives it, for the bush is pressed square onto it, and else the direction in which the arm was seen to stand off. In
/// every position the part of the guide that is square to the line keeps its angle to the arm: with `u` along the line from
/// subframe to knuckle, `g` the guide, and `lean` the angle between them as measured,
///
/// ```text
/// p = (g - (g.u) u) / |...|,   q = u x p
/// up = p cos(lean) + q sin(lean)
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Half its thickness, mm; of a bar that is not round, half its largest.
    pub(crate) radius: f64,
    /// Where its centreline leaves the straight line, if it does.
    pub(crate) bend: Option<Bend>,
}

/// The bends of a bar, all in one plane with its pivots.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bend {
    /// Its corners between the pivots, in the order from the subframe on.
    pub(crate) corners: Vec<BarCorner>,
    guide: Vector3<f64>,
    lean: f64,
}

/// A corner of a centreline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BarCorner {
    /// How far along the straight line from the subframe pivot, as part of its length, 0 to 1. An arm that is made longer
    /// is taken to grow alike all along.
    pub(crate) part: f64,
    /// How far off the straight line, mm; negative: the other way.
    pub(crate) up: f64,
}

/// A direction closer to the line than this has no clear part square to it, rad.
pub(crate) const ALONG_THE_LINE: f64 = 10.0 * std::f64::consts::PI / 180.0;

impl Bend {
    /// Bends of an arm that stands off towards `towards` where `line`, from subframe to knuckle, is as measured, and is
    /// held by a bolt along `bolt`, where that is known. `None` where `towards` runs along the line, so that the clocking
    /// is undefined; a bolt that does is not used.
    pub(crate) fn new(
        corners: Vec<BarCorner>,
        towards: Vector3<f64>,
        bolt: Option<Vector3<f64>>,
        line: Vector3<f64>,
    ) -> Option<Self> {
        let u = line.normalize();
        let up = square(&towards, &u)?;
        let bolt = bolt.filter(|bolt| square(bolt, &u).is_some());
        let guide = bolt.unwrap_or(towards);
        let p = square(&guide, &u)?;
        let lean = up.dot(&u.cross(&p)).atan2(up.dot(&p));
        Some(Self { corners, guide, lean })
    }

    /// The standing-off direction of an arm that lies along `u`, unit.
    fn up(&self, u: &Vector3<f64>) -> Vector3<f64> {
        // No arm swings so far that its bolt would come to lie along it; if one did, any direction is as good.
        let p = (self.guide - u * self.guide.dot(u)).try_normalize(1e-9).unwrap_or_else(|| any_square(u));
        p * self.lean.cos() + u.cross(&p) * self.lean.sin()
    }
}

/// The part of a direction square to a unit vector, made unit; `None` where there is hardly any.
fn square(direction: &Vector3<f64>, u: &Vector3<f64>) -> Option<Vector3<f64>> {
    (direction - u * direction.dot(u)).try_normalize(ALONG_THE_LINE.sin() * direction.norm())
}

fn any_square(u: &Vector3<f64>) -> Vector3<f64> {
    let other = if u.x.abs() < 0.5 { Vector3::x() } else { Vector3::y() };
    u.cross(&other).normalize()
}

impl Bar {
    /// The arm between two pivots.
    pub(crate) fn solid(&self, subframe: &Point3<f64>, knuckle: &Point3<f64>) -> Solid {
        let line = knuckle - subframe;
        let mut points = vec![*subframe];
        if let Some(bend) = &self.bend {
            let u = line.normalize();
            let up = bend.up(&u);
            let at = |corner: &BarCorner| subframe + line * corner.part + up * corner.up;
            points.extend(bend.corners.iter().map(at));
        }
        points.push(*knuckle);
        Solid { core: Core::Line(points), round: self.radius }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn arch(towards: Vector3<f64>, bolt: Option<Vector3<f64>>) -> Bar {
        let corners = vec![BarCorner { part: 0.5, up: 30.0 }];
        let bend = Bend::new(corners, towards, bolt, Vector3::new(0.0, 200.0, 0.0));
        Bar { radius: 10.0, bend }
    }

    fn middle(bar: &Bar, knuckle: Point3<f64>) -> Point3<f64> {
        match bar.solid(&Point3::origin(), &knuckle).core {
            Core::Line(points) => points[1],
            Core::Drum { .. } => panic!("a bar"),
        }
    }

    #[test]
    fn an_arch_stands_off_as_it_was_measured() {
        for bolt in [None, Some(Vector3::x()), Some(Vector3::new(1.0, 0.3, -2.0))] {
            let bar = arch(Vector3::z(), bolt);
            assert_relative_eq!(
                middle(&bar, Point3::new(0.0, 200.0, 0.0)),
                Point3::new(0.0, 100.0, 30.0),
                epsilon = 1e-12
            );
        }
    }

    /// Swung about its bolt, as a bush lets it, an arch goes round rigidly.
    #[test]
    fn an_arm_that_swings_about_its_bolt_takes_its_arch_with_it() {
        let turn = nalgebra::Rotation3::from_axis_angle(&Vector3::x_axis(), 0.4);
        let bar = arch(Vector3::new(0.5, 0.2, 1.0), Some(Vector3::x()));
        let before = middle(&bar, Point3::new(0.0, 200.0, 0.0));
        let after = middle(&bar, turn * Point3::new(0.0, 200.0, 0.0));
        assert_relative_eq!(after, turn * before, epsilon = 1e-12);
    }

    #[test]
    fn a_clocking_along_the_line_is_none() {
        assert!(arch(Vector3::y(), None).bend.is_none());
        // A bolt along the arm says nothing; what was seen does.
        let bar = arch(Vector3::z(), Some(Vector3::y()));
        assert_relative_eq!(middle(&bar, Point3::new(0.0, 200.0, 0.0)).z, 30.0, epsilon = 1e-12);
    }
}
