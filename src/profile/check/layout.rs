//! The five links together.

use nalgebra::Point3;
use std::ops::Range;

use super::checker::Checker;
use crate::car::{Setup, Side};
use crate::geometry::Position;
use crate::profile::finding::Finding;
use crate::profile::keys::{Link, Profile};

/// Two links whose lines stay within this of each other are one line, mm.
const SAME_LINE: f64 = 0.5;
/// Condition number of the reference position past which the layout does not hold the wheel.
const SINGULAR: f64 = 1e5;
/// Links with at least this share in a lost freedom are named.
const BLAMED: f64 = 0.2;

impl Checker {
    /// What the roles leave undone.
    pub(super) fn setters(&mut self, side: &Side, profile: &Profile) {
        for (i, link) in side.links.iter().enumerate() {
            if link.sets.is_none() && link.arm.is_some() {
                self.tell(
                    Finding::warning(
                        Profile::link.all(profile)[i].span(),
                        format!("\"{}\" has an adjustable arm but sets nothing", link.name),
                    )
                    .help("add `sets = \"camber\"`, \"toe\" or \"pitch\", or it stays at stock length"),
                );
            }
        }
    }

    /// The five links together: no two on one line, and the wheel held.
    pub(super) fn layout(&mut self, side: &Side, profile: &Profile) {
        let span = |i: usize| Link::ENDS[1].span(Profile::link.all(profile)[i].get_ref()).unwrap_or(0..0);
        for i in side.rods() {
            for j in side.rods().take_while(|j| *j < i) {
                let (a, b) = (&side.links[j], &side.links[i]);
                let line = (a.knuckle - a.subframe).normalize();
                let off = |point: &Point3<f64>| (point - a.subframe).cross(&line).norm();
                if off(&b.subframe) < SAME_LINE && off(&b.knuckle) < SAME_LINE {
                    self.tell(
                        Finding::error(span(i), format!("\"{}\" and \"{}\" lie on one line", a.name, b.name))
                            .label("this link")
                            .other(span(j), "and this one")
                            .help("two rods on one line hold the wheel like one; check the points"),
                    );
                    return;
                }
            }
        }
        self.held(side, span);
    }

    /// Whether the links hold the wheel at the reference, and how firmly; the links that hold it twice are named.
    fn held(&mut self, side: &Side, span: impl Fn(usize) -> Range<usize>) {
        let rows = Setup::as_found(side).rows(side, 0.0);
        let position = Position::known(&rows, side.reference());
        let share = match &position {
            Ok(position) if !position.is_near_singular() => return,
            Ok(position) => position.share(),
            Err(stuck) => stuck.share,
        };
        let blamed: Vec<usize> = (0..side.links.len()).filter(|&i| share[i] >= BLAMED).collect();
        let place = span(blamed.first().copied().unwrap_or(0));
        let names: Vec<&str> = blamed.iter().map(|&i| side.links[i].name.as_str()).collect();
        let finding = match position {
            Ok(position) if position.condition < SINGULAR => {
                let rate = position.worst_rate();
                Finding::warning(place, "these links hold the wheel only loosely")
                    .label(format!("1 mm in a link's length moves the wheel by up to {rate:.1} mm"))
            }
            _ => Finding::error(place, "these five links do not hold the wheel")
                .label("the wheel could move without any link changing its length"),
        };
        self.tell(finding.help(format!(
            "check the points of {}: links that are parallel, or meet in one point or line, hold it only once",
            names.join(", ")
        )));
    }
}
