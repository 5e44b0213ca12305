//! What the arms and the wheel must keep clear of.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, Hand, Part, PerLink, PerSide, Setup, Side};
use crate::geometry::DEGREE;
use crate::geometry::solids::{Obstacle, gap};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::keys::{Declared, Keepout, Link, Profile, Shape, Slot};
use crate::profile::layers::Layers;

/// More than anybody measures.
const MOST: usize = 50;
/// Edges of a measured box further from square than this are told, rad.
const OUT_OF_SQUARE: f64 = 8.0 * DEGREE;
/// A shape that nothing comes nearer to than this is told, mm.
const FAR: f64 = 300.0;

/// A shape in car axes, and the sides that its points are on.
struct Placed {
    name: String,
    obstacle: Obstacle,
    only: Vec<String>,
    /// Whether it has points on either side of the centreline.
    on: PerSide<bool>,
    mirrored: bool,
}

impl Placed {
    /// The shape as a wheel sees it, in the axes in which that side is stored.
    ///
    /// A shape with points on both sides of the centreline stands there once, for both wheels. One on one side has its
    /// mirror image on the other, unless the profile says that it has not.
    fn seen_from(&self, hand: Hand) -> Option<car::Keepout> {
        let here = self.on[hand];
        if !here && !self.mirrored {
            return None;
        }
        // As given for the left wheel if it stands there, and for the right one, whose side is stored mirrored, if it
        // does not stand there.
        let as_given = here == (hand == Hand::Left);
        let obstacle = if as_given { self.obstacle.clone() } else { self.obstacle.mirrored() };
        Some(car::Keepout { name: self.name.clone(), obstacle, only: self.only.clone() })
    }
}

impl Checker {
    /// Puts the shapes of the profile into both sides.
    pub(super) fn keepouts(&mut self, sides: &mut PerSide<Side>, profile: &Profile) {
        let shapes = Profile::keepout.all(profile);
        if let Some(extra) = shapes.get(MOST) {
            self.tell(Finding::error(extra.span(), format!("more than {MOST} shapes to keep clear of")));
            return;
        }
        for (i, shape) in shapes.iter().enumerate() {
            let Some(placed) = self.keepout(shape, sides) else { continue };
            if shapes[..i].iter().any(|other| named(other) == named(shape)) {
                self.tell(Finding::error(
                    Keepout::name.span(shape.get_ref()).unwrap_or(shape.span()),
                    format!("two shapes are called \"{}\"", placed.name),
                ));
            }
            for (side, hand) in sides.iter_mut().zip(Hand::BOTH) {
                side.keepouts.extend(placed.seen_from(hand));
            }
            self.as_measured(&placed.name, sides, shape.span(), profile);
        }
    }

    fn keepout(&mut self, shape: &Spanned<Keepout>, sides: &PerSide<Side>) -> Option<Placed> {
        let table = Profile::keepout.key.name.to_owned();
        let keys = Layers { table, base: Some(shape), over: None };
        let name = self.need(&keys, Keepout::name).and_then(|(name, _)| self.name(name));
        let only = self.only(&keys, sides);
        let mirrored = keys.get(Keepout::mirrored).is_none_or(|(value, _)| *value.get_ref());
        let kind = *self.need(&keys, Keepout::shape)?.0.get_ref();
        self.foreign(kind, shape.get_ref());
        let (points, spans): (Vec<Point3<f64>>, Range<usize>) = match kind {
            Shape::Box => self.several(&keys, Keepout::corners, &[2, 4])?,
            Shape::Cylinder => self.several(&keys, Keepout::ends, &[2])?,
            Shape::Plane => self.several(&keys, Keepout::points, &[3])?,
            Shape::Sphere => self.point(&keys, Keepout::centre).map(|(p, span)| (vec![p], span))?,
        };
        let on = PerSide { left: points.iter().any(|p| p.y >= 0.0), right: points.iter().any(|p| p.y < 0.0) };
        let radius = match kind {
            Shape::Cylinder | Shape::Sphere => {
                let (value, _) = self.need(&keys, Keepout::radius)?;
                self.figure(Keepout::radius.key, value)?
            }
            Shape::Box | Shape::Plane => 0.0,
        };
        let obstacle = match (kind, points.as_slice()) {
            (Shape::Box, &[a, b]) => {
                self.solid_or(Obstacle::upright([a, b]), spans, "these are no opposite corners of a box")
            }
            (Shape::Box, &[corner, a, b, c]) => {
                let found = Obstacle::from_edges([corner, a, b, c]);
                if let Some((_, off)) = found
                    && off > OUT_OF_SQUARE
                {
                    self.tell(
                        Finding::warning(spans.clone(), "the edges of this box are not square to each other")
                            .label(format!("{:.0} degrees off", off.to_degrees()))
                            .help("give one corner, then the other ends of the three edges that meet there"),
                    );
                }
                self.solid_or(found.map(|(obstacle, _)| obstacle), spans, "these four points make no box")
            }
            (Shape::Cylinder, &[a, b]) => {
                let found = ((b - a).norm() > 0.0).then_some(Obstacle::Cylinder { ends: [a, b], radius });
                self.solid_or(found, spans, "this cylinder has no length")
            }
            (Shape::Plane, &[a, b, c]) => {
                let near = self.near(on, sides);
                self.solid_or(
                    Obstacle::behind([a, b, c], &near),
                    spans,
                    "these three points make no plane beside the wheel",
                )
            }
            (_, &[centre]) => Some(Obstacle::Ball { centre, radius }),
            _ => None,
        };
        Some(Placed { name: name?, obstacle: obstacle?, only: only?, on, mirrored })
    }

    /// The wheel centre, in car axes, on whose side a plane is free.
    #[expect(clippy::unused_self, reason = "it stands beside its kin")]
    fn near(&self, on: PerSide<bool>, sides: &PerSide<Side>) -> Point3<f64> {
        let side = &sides[if on.left { Hand::Left } else { Hand::Right }];
        Point3::from(side.car_point(&side.wheel.centre))
    }

    fn solid_or(&mut self, found: Option<Obstacle>, span: Range<usize>, headline: &str) -> Option<Obstacle> {
        if found.is_none() {
            self.tell(Finding::error(span, headline).label("points that do not span it").help(
                "box: two opposite corners, edges along the car, or four: a corner and the other ends of its three edges; \
                 cylinder: the middles of its two ends; plane: three points that do not lie on a line",
            ));
        }
        found
    }

    /// A list of points in car axes, of one of the given counts.
    fn several(
        &mut self,
        keys: &Layers<'_, Keepout>,
        slot: Slot<Keepout, Vec<Spanned<Vec<Quantity>>>>,
        counts: &[usize],
    ) -> Option<(Vec<Point3<f64>>, Range<usize>)> {
        let (list, _) = self.need(keys, slot)?;
        let key = slot.key.name;
        let count = list.get_ref().len();
        if !counts.contains(&count) {
            let counts: Vec<String> = counts.iter().map(usize::to_string).collect();
            self.tell(
                Finding::error(list.span(), format!("`{key}` takes {} points", counts.join(" or ")))
                    .label(format!("{count} here"))
                    .help("points are lists of three: [[-30.0, 380.0, 470.0], [40.0, 430.0, 520.0]]"),
            );
            return None;
        }
        let points: Vec<Option<Point3<f64>>> =
            list.get_ref().iter().map(|point: &Spanned<Vec<Quantity>>| self.triple(point, false)).collect();
        Some((points.into_iter().collect::<Option<_>>()?, list.span()))
    }

    /// Keys that belong to another shape.
    fn foreign(&mut self, kind: Shape, keys: &Keepout) {
        for (key, span) in keys.given() {
            if !key.of.is_empty() && !key.of.contains(&kind.name()) {
                let headline = format!("`{}` does not belong to this shape", key.name);
                self.tell(Finding::error(span, headline).help(
                    "box: corners; cylinder: ends and radius; sphere: centre and radius; plane: points",
                ));
            }
        }
    }

    /// The names of the parts that a shape is held against.
    fn only(&mut self, keys: &Layers<'_, Keepout>, sides: &PerSide<Side>) -> Option<Vec<String>> {
        let Some((list, _)) = keys.get(Keepout::only) else { return Some(Vec::new()) };
        let links = sides.iter().flat_map(|side| &side.links).map(|link| link.name.as_str());
        let mut known: Vec<&str> = links.chain([Part::TYRE, Part::RIM]).collect();
        known.dedup();
        known.sort_unstable();
        known.dedup();
        let mut names = Vec::new();
        for name in list.get_ref() {
            let text = name.get_ref().trim();
            if !known.contains(&text) {
                self.tell(Finding::unknown(name.span(), "part", text, &known));
                return None;
            }
            names.push(text.to_owned());
        }
        Some(names)
    }

    /// Looks at a shape with the car as it was measured: something that it goes through, or that nothing is near it.
    fn as_measured(&mut self, name: &str, sides: &PerSide<Side>, span: Range<usize>, profile: &Profile) {
        let mut closest = f64::INFINITY;
        for side in sides {
            let Some(keepout) = side.keepouts.iter().find(|keepout| keepout.name == name) else { continue };
            let setup = Setup::as_found(side);
            for part in side.parts().into_iter().filter(|&part| keepout.concerns(side.part_name(part))) {
                let Some(solid) = side.solid(part, &setup, PerLink::default(), &side.reference()) else {
                    continue;
                };
                let gap = gap(&solid, &keepout.obstacle);
                closest = closest.min(gap);
                if gap > 0.0 {
                    continue;
                }
                let place = match part {
                    Part::Arm(link) => Link::radius.span(Profile::link.all(profile)[link].get_ref()),
                    Part::Tyre | Part::Rim => Profile::tyre.span(profile),
                };
                let part = side.part_name(part);
                let finding = Finding::warning(span.clone(), format!("{part} goes through this shape as the car was measured"))
                    .label(format!("\"{name}\""))
                    .help(
                        "one of the two is measured wrong, or it is the part's own bracket: then name what it is to be held \
                         against, `only = [...]`",
                    );
                self.tell(match place {
                    Some(place) => finding.other(place, part),
                    None => finding,
                });
            }
        }
        if closest.is_finite() && closest > FAR {
            self.tell(
                Finding::warning(span, "nothing comes near this shape")
                    .label(format!("\"{name}\": {closest:.0} mm away as the car was measured"))
                    .help("bare numbers are mm; inches need their unit: \"14 1/4 in\""),
            );
        }
    }
}

fn named(keepout: &Spanned<Keepout>) -> Option<&str> {
    Keepout::name.of(keepout.get_ref()).map(|name| name.get_ref().trim())
}
