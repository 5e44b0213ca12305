//! Spring and damper: where they sit, and whether the wheel compresses them.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, Link, Seat, Setup, Side, Strut};
use crate::geometry::{Position, Rise};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::keys::{Damper, Key, Spring};
use crate::profile::layers::{Found, Layers};

/// No spring or damper is shorter than this, mm.
const SHORTEST: f64 = 50.0;
/// One that moves less than this per mm of the wheel is not where the profile says, mm.
const HARDLY: f64 = 0.05;

/// Where the lower end sits, as the profile says it.
struct SeatKeys<'a> {
    lower: Option<Found<'a, Vec<Quantity>>>,
    on: Option<Found<'a, String>>,
    along: (&'static Key, Option<Found<'a, Quantity>>),
}

impl Checker {
    pub(super) fn spring(&mut self, keys: &Layers<'_, Spring>, links: &[Link]) -> Option<car::Spring> {
        let upper = self.point(keys, Spring::upper);
        let seat = SeatKeys {
            lower: keys.get(Spring::lower),
            on: keys.get(Spring::on),
            along: (Spring::along.key, keys.get(Spring::along)),
        };
        let line = self.strut(upper, &seat, keys.span(), links, "spring");
        let [rate, tyre_rate] = [Spring::rate, Spring::tyre_rate].map(|slot| self.read(keys, slot));
        let pitch = self.read(keys, Spring::pitch);
        let [corner_mass, unsprung_mass] =
            [Spring::corner_mass, Spring::unsprung_mass].map(|slot| self.read(keys, slot));
        if let (Some(corner), Some(unsprung)) = (corner_mass, unsprung_mass)
            && unsprung >= corner
        {
            self.tell(
                Finding::error(keys.span_of(Spring::unsprung_mass), "the wheel cannot weigh as much as it carries")
                    .label(format!("{unsprung:.1} kg, {corner:.1} kg in all"))
                    .help("`corner_mass` is what a scale under the tyre reads, `unsprung_mass` the part of it that moves with the wheel"),
            );
        }
        let [diameter, length] = [Spring::diameter, Spring::length].map(|slot| self.read(keys, slot));
        Some(car::Spring {
            line: line?,
            rate,
            pitch,
            corner_mass,
            unsprung_mass,
            tyre_rate,
            diameter,
            length,
        })
    }

    pub(super) fn damper(&mut self, keys: &Layers<'_, Damper>, links: &[Link]) -> Option<car::Damper> {
        let upper = self.point(keys, Damper::upper);
        let seat = SeatKeys {
            lower: keys.get(Damper::lower),
            on: keys.get(Damper::on),
            along: (Damper::along.key, keys.get(Damper::along)),
        };
        let line = self.strut(upper, &seat, keys.span(), links, "damper");
        let [stop_gap, closed, open] =
            [Damper::stop_gap, Damper::closed, Damper::open].map(|slot| self.read(keys, slot));
        if let (Some(shut), Some(wide)) = (closed, open)
            && shut >= wide
        {
            self.tell(
                Finding::error(keys.span_of(Damper::closed), "the damper is longer closed than open")
                    .label(format!("{shut:.1} mm closed, {wide:.1} mm open")),
            );
        }
        Some(car::Damper { line: line?, stop_gap, closed, open })
    }

    /// The line of a spring or damper, from its keys.
    fn strut(
        &mut self,
        upper: Option<(Point3<f64>, Range<usize>)>,
        keys: &SeatKeys<'_>,
        span: Range<usize>,
        links: &[Link],
        what: &str,
    ) -> Option<Strut> {
        let lower = self.seat(keys, span, links, what);
        let ((upper, place), (lower, seat)) = (upper?, lower?);
        let low = match lower {
            Seat::Knuckle(point) => point,
            Seat::Arm { link, along } => {
                let Link { subframe, knuckle, .. } = &links[link];
                subframe + (knuckle - subframe).normalize() * along
            }
        };
        if (upper - low).norm() < SHORTEST {
            self.tell(
                Finding::error(place, format!("no {what} is that short"))
                    .label(format!("{:.1} mm from one end to the other", (upper - low).norm()))
                    .other(seat, "the lower end")
                    .help("`upper` is the end on the body, `lower` the one that moves with the wheel"),
            );
            return None;
        }
        Some(Strut { upper, lower })
    }

    /// The lower end and its place in the text: a point of the knuckle, or a distance along a link.
    fn seat(
        &mut self,
        keys: &SeatKeys<'_>,
        span: Range<usize>,
        links: &[Link],
        what: &str,
    ) -> Option<(Seat, Range<usize>)> {
        const HELP: &str = "on the knuckle: `lower = [x, y, z]`; on a link: `on = \"lower rear\"` and `along`, how far from its \
                            subframe bolt";
        match (keys.lower, keys.on) {
            (Some((lower, a)), Some((on, b))) if a == b => {
                self.tell(
                    Finding::error(on.span(), format!("the {what} sits both on the knuckle and on a link"))
                        .label("on this link")
                        .other(lower.span(), "at this point of the knuckle")
                        .help(HELP),
                );
                None
            }
            // What stands under [right] takes the place of the other kind.
            (Some((lower, true)), _) | (Some((lower, false)), None) => {
                let from_right = keys.lower.is_some_and(|(_, right)| right);
                Some((Seat::Knuckle(self.triple(lower, from_right)?), lower.span()))
            }
            (_, Some((on, _))) => {
                let name = on.get_ref().trim();
                let Some(link) = links.iter().position(|link| link.name == name) else {
                    let known: Vec<&str> = links.iter().map(|link| link.name.as_str()).collect();
                    self.tell(Finding::unknown(on.span(), "link", name, &known));
                    return None;
                };
                let (key, Some((along, _))) = keys.along else {
                    self.tell(
                        Finding::error(on.span(), format!("where on this link the {what} sits is missing"))
                            .help(HELP),
                    );
                    return None;
                };
                let distance = self.figure(key, along)?;
                let length = links[link].stock_length();
                if distance > 1.5 * length {
                    self.tell(
                        Finding::error(along.span(), format!("the {what} would sit far off its link"))
                            .label(format!("{distance:.1} mm along, the link is {length:.1} mm long"))
                            .help(HELP),
                    );
                    return None;
                }
                Some((Seat::Arm { link, along: distance }, along.span()))
            }
            (None, None) => {
                self.tell(
                    Finding::error(span, format!("where the {what}'s lower end sits is missing")).help(HELP),
                );
                None
            }
        }
    }

    /// Whether the wheel works on a spring or damper as it rises.
    pub(super) fn is_compressed<T>(&mut self, side: &Side, line: Option<Strut>, keys: &Layers<'_, T>) {
        let setup = Setup::as_found(side);
        let rows = setup.rows(side, 0.0);
        let (Some(line), Ok(position)) = (line, Position::known(&rows, side.reference())) else { return };
        let rise = Rise::of(&position);
        let [_, slope, _] = line.moving(side, &setup, &position, &rise).distance(&line.upper);
        if -slope >= HARDLY {
            return;
        }
        // An override is to blame for what it changed.
        let place = keys.over.or(keys.base).map_or(0..0, Spanned::span);
        self.tell(
            Finding::error(place, format!("the {} would not be compressed as the wheel rises", keys.table))
                .label(match slope {
                    slope if slope > 0.0 => format!("{slope:.2} mm longer per mm of wheel travel"),
                    slope => format!("only {:.2} mm shorter per mm of wheel travel", -slope),
                })
                .help("check its two points: the upper one stays with the body, the lower one goes up with the wheel"),
        );
    }
}
