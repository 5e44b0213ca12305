//! An arm as a solid: its thickness, its bends and how they are clocked.

use nalgebra::Vector3;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{Bar, BarCorner, Bend};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::keys::{Arm, Link};
use crate::profile::layers::{Found, Layers};

/// More corners than any arm has.
const MOST_CORNERS: usize = 20;

/// Several points or pairs, each with its place.
type Lists = Vec<Spanned<Vec<Quantity>>>;

/// What a profile says of a bar, of a stock link or of an arm.
pub(super) struct BarKeys<'a> {
    radius: Option<Found<'a, Quantity>>,
    bend: Option<Found<'a, Lists>>,
    towards: Option<Found<'a, Vec<Quantity>>>,
}

impl<'a> BarKeys<'a> {
    pub(super) fn of_link(keys: &Layers<'a, Link>) -> Self {
        Self {
            radius: keys.get(Link::radius),
            bend: keys.get(Link::bend),
            towards: keys.get(Link::bend_towards),
        }
    }

    /// Of an arm; without a thickness of its own it has the stock one's.
    pub(super) fn of_arm(keys: &Layers<'a, Arm>, stock: &Self) -> Self {
        let bend = keys.get(Arm::bend);
        Self {
            radius: keys.get(Arm::radius).or(bend.and(stock.radius)),
            bend,
            towards: keys.get(Arm::bend_towards).or(stock.towards),
        }
    }
}

impl Checker {
    /// The bar of an arm that lies along `line` as measured; `bolt` is the direction of its subframe bolt, where it is
    /// known.
    pub(super) fn bar(
        &mut self,
        keys: &BarKeys<'_>,
        line: Vector3<f64>,
        bolt: Option<Vector3<f64>>,
    ) -> Option<Bar> {
        let radius = keys.radius.map(|(value, _)| self.figure(Link::radius.key, value));
        let bend = keys.bend.map(|(list, _)| {
            if radius.is_none() {
                self.tell(
                    Finding::error(list.span(), "a bend needs the bar's thickness")
                        .label("no `radius` beside it")
                        .help("add `radius`, half the thickness of the bar, in mm"),
                );
            }
            self.bend(list, keys.towards, line, bolt)
        });
        match (radius, bend) {
            (Some(radius), Some(bend)) => Some(Bar { radius: radius?, bend: Some(bend?) }),
            (Some(radius), None) => Some(Bar { radius: radius?, bend: None }),
            (None, _) => None,
        }
    }

    fn bend(
        &mut self,
        list: &Spanned<Lists>,
        towards: Option<Found<'_, Vec<Quantity>>>,
        line: Vector3<f64>,
        bolt: Option<Vector3<f64>>,
    ) -> Option<Bend> {
        let corners = self.corners(list, line.norm());
        let Some((towards, from_right)) = towards else {
            self.tell(
                Finding::error(list.span(), "the clocking of this bend is undefined")
                    .label("no `bend_towards` beside it")
                    .help("add the direction in which the bend stands off as fitted, such as bend_towards = [0.0, 0.0, 1.0] for up"),
            );
            return None;
        };
        let direction = self.triple(towards, from_right)?;
        let bend = Bend::new(corners?, direction.coords, bolt, line);
        if bend.is_none() {
            self.tell(
                Finding::error(towards.span(), "the clocking of this bend is undefined")
                    .label("along the arm itself")
                    .help("give the direction in which the bend stands off from the straight line between the bolts"),
            );
        }
        bend
    }

    fn corners(&mut self, list: &Spanned<Lists>, length: f64) -> Option<Vec<BarCorner>> {
        const HELP: &str = "lay the arm down, stretch a string from bolt middle to bolt middle, and give for each corner of the bar's \
             middle line how far along the string from the subframe bolt, and how far off it: bend = [[80.0, 35.0], [160.0, 35.0]]";
        let count = list.get_ref().len();
        if !(1..=MOST_CORNERS).contains(&count) {
            self.tell(
                Finding::error(
                    list.span(),
                    format!("a bend has 1 to {MOST_CORNERS} corners, this has {count}"),
                )
                .help(HELP),
            );
            return None;
        }
        let mut corners: Vec<BarCorner> = Vec::with_capacity(count);
        for pair in list.get_ref() {
            let [along, off] = pair.get_ref().as_slice() else {
                self.tell(
                    Finding::error(pair.span(), "a corner of a bend has two lengths")
                        .label(format!("{} here", pair.get_ref().len()))
                        .help(HELP),
                );
                return None;
            };
            let along = self.accept(pair, along.length())?;
            let up = self.accept(pair, off.length())?;
            let before = corners.last().map_or(0.0, |corner| corner.part * length);
            if !(along > before && along < length && up.abs() < length) {
                self.tell(
                    Finding::error(pair.span(), "this corner does not lie on the arm after the one before")
                        .label(format!("{along} mm along, {up} mm off; the arm is {length:.1} mm long"))
                        .help(HELP),
                );
                return None;
            }
            corners.push(BarCorner { part: along / length, up });
        }
        Some(corners)
    }
}
