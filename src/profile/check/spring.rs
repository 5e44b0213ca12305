//! Spring and damper: where they sit, and whether the wheel compresses them.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, Hold, Link, Seat, Setup, Side, Strut, is_ordinary};
use crate::geometry::{InArm, Position, Rise};
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

/// The first leg of the wishbone of a name.
fn wishbone(links: &[Link], name: &str) -> Option<usize> {
    links.iter().position(|link| matches!(link.hold, Hold::Leg(_)) && link.member() == name)
}

/// A point of a wishbone as a seat on it; none where it is further off the joint and both pivots than any plate reaches.
fn on_plate(links: &[Link], legs: [usize; 2], at: &Point3<f64>) -> Option<Seat> {
    let [first, second] = [links.get(legs[0])?, links.get(legs[1])?];
    let corners = [first.subframe, second.subframe, first.knuckle];
    let reach = corners.iter().map(|corner| (corner - at).norm()).fold(0.0, f64::max);
    if reach > 1.5 * first.stock_length().max(second.stock_length()) {
        return None;
    }
    Some(Seat::Plate { legs, inner: InArm::of(at, [first.subframe, second.subframe], &first.knuckle)? })
}

impl Checker {
    pub(super) fn spring(&mut self, keys: &Layers<'_, Spring>, links: &[Link]) -> Option<car::Spring> {
        let upper = self.point(keys, Spring::upper);
        let seat = SeatKeys {
            lower: keys.get(Spring::lower),
            on: keys.get(Spring::on),
            along: (Spring::from_inner.key, keys.get(Spring::from_inner)),
        };
        let line = self.strut(upper, &seat, keys.span(), links, "spring");
        let [rate, tyre_rate] = [Spring::rate, Spring::tyre_rate].map(|slot| self.read(keys, slot));
        let lead = self.read(keys, Spring::lead);
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
        Some(car::Spring { line: line?, rate, lead, corner_mass, unsprung_mass, tyre_rate, diameter, length })
    }

    pub(super) fn damper(&mut self, keys: &Layers<'_, Damper>, links: &[Link]) -> Option<car::Damper> {
        let upper = self.point(keys, Damper::upper);
        let seat = SeatKeys {
            lower: keys.get(Damper::lower),
            on: keys.get(Damper::on),
            along: (Damper::from_inner.key, keys.get(Damper::from_inner)),
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
            Seat::Plate { legs, inner } => {
                inner.at(legs.map(|leg| links[leg].subframe), &links[legs[0]].knuckle)
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
        const HELP: &str = "on the knuckle: `lower = [x, y, z]`; on a link: `on = \"lower rear\"` and `from_inner`, how far from its \
                            subframe bolt; on a wishbone: `on` with its name, and the point of it as `lower`";
        if let Some((on, _)) = keys.on
            && let Some(leg) = wishbone(links, on.get_ref().trim())
        {
            let Some((lower, from_right)) = keys.lower else {
                self.tell(
                    Finding::error(on.span(), format!("where on this wishbone the {what} sits is missing"))
                        .label("needs `lower`")
                        .help(HELP),
                );
                return None;
            };
            let at = self.triple(lower, from_right)?;
            let seat = on_plate(links, [leg, leg + 1], &at);
            if seat.is_none() {
                self.tell(
                    Finding::error(lower.span(), format!("the {what} would sit far off its wishbone"))
                        .help(HELP),
                );
            }
            return seat.map(|seat| (seat, lower.span()));
        }
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
                let Some(link) = links.iter().position(|link| link.name == name && link.hold.is_rod()) else {
                    let known = links.iter().filter(|link| link.hold.is_rod());
                    let known = known.flat_map(|link| [link.name.as_str(), link.member()]);
                    let mut known: Vec<&str> = known.collect();
                    known.dedup();
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

    /// Whether the wheel works on a spring or damper as it rises; how long that is at the reference, mm.
    pub(super) fn is_compressed<T>(
        &mut self,
        side: &Side,
        line: Option<Strut>,
        keys: &Layers<'_, T>,
    ) -> Option<f64> {
        let setup = Setup::as_found(side);
        let position = Position::known(&setup.rows(side, 0.0), side.reference()).ok()?;
        let line = line?;
        let moving = line.moving(side, &setup, &position, &Rise::of(&position));
        let [length, slope, _] = moving.distance(&line.upper);
        let lean = ((line.upper.z - moving.at.z) / length).clamp(-1.0, 1.0).acos().to_degrees();
        // An override is to blame for what it changed.
        let place = keys.over.or(keys.base).map_or(0..0, Spanned::span);
        if -slope < HARDLY {
            self.tell(
                Finding::error(place, format!("the {} would not be compressed as the wheel rises", keys.table))
                    .label(match slope {
                        slope if slope > 0.0 => format!("{slope:.2} mm longer per mm of wheel travel"),
                        slope => format!("only {:.2} mm shorter per mm of wheel travel", -slope),
                    })
                    .help("check its two points: the upper one stays with the body, the lower one goes up with the wheel"),
            );
        } else if !is_ordinary("the motion ratio", -slope) || !is_ordinary("the lean of a strut", lean) {
            self.tell(
                Finding::warning(place, format!("hardly a {} stands like this", keys.table))
                    .label(format!("it leans by {lean:.0} degrees and gets {:.2} mm shorter per mm of wheel travel", -slope))
                    .help("look for a misreading in its two points: x forward, y from the centreline, z from the floor, all in mm"),
            );
        }
        Some(length)
    }

    /// Whether a damper that is so long at the reference, mm, has its ends and its stop beyond that.
    pub(super) fn damper_fits(&mut self, damper: &car::Damper, length: f64, keys: &Layers<'_, Damper>) {
        let car::Damper { stop_gap, closed, open, .. } = damper;
        let most = closed.map_or(f64::INFINITY, |closed| length - closed);
        for (wrong, slot, what) in [
            (
                closed.is_some_and(|closed| closed > length),
                Damper::closed,
                "pushed together the damper is longer than it is now",
            ),
            (
                open.is_some_and(|open| open < length),
                Damper::open,
                "pulled out the damper is shorter than it is now",
            ),
            (
                stop_gap.is_some_and(|gap| gap > most),
                Damper::stop_gap,
                "the bump stop is further than the damper goes",
            ),
        ] {
            if wrong {
                self.tell(
                    Finding::warning(keys.span_of(slot), what)
                        .label(format!("its mounts are {length:.1} mm apart, the car standing"))
                        .help("`closed` and `open` are from mount to mount; look at them and at the damper's two points"),
                );
            }
        }
    }
}
