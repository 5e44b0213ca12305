//! Spring and damper: where they sit, and whether the wheel compresses them.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::Checker;
use crate::car::{Damper, Link, Seat, Setup, Side, Spring, Strut};
use crate::geometry::{Position, Rise};
use crate::profile::Quantity;
use crate::profile::finding::{Finding, nearest};
use crate::profile::layers::{Found, Layers};
use crate::profile::load::{Mass, Rate};
use crate::profile::schema;

/// No spring or damper is shorter than this, mm.
const SHORTEST: f64 = 50.0;
/// One that moves less than this per mm of the wheel is not where the profile says, mm.
const HARDLY: f64 = 0.05;

/// Where the lower end sits, as the profile says it.
struct SeatKeys<'a> {
    lower: Option<Found<'a, Vec<Quantity>>>,
    on: Option<Found<'a, String>>,
    along: Option<Found<'a, Quantity>>,
}

impl Checker {
    pub(super) fn spring(&mut self, keys: &Layers<'_, schema::Spring>, links: &[Link; 5]) -> Option<Spring> {
        let upper = self.point(keys, "upper", |spring| &spring.upper);
        let seat = SeatKeys {
            lower: keys.get(|spring| &spring.lower),
            on: keys.get(|spring| &spring.on),
            along: keys.get(|spring| &spring.along),
        };
        let line = self.strut(upper, &seat, keys.span(), links, "spring");
        let rate =
            keys.get(|spring| &spring.rate).and_then(|(v, _)| self.rate(v, "the spring's rate", 1.0..2000.0));
        let tyre_rate = keys
            .get(|spring| &spring.tyre_rate)
            .and_then(|(v, _)| self.rate(v, "the tyre's rate", 50.0..2000.0));
        let pitch = keys
            .get(|spring| &spring.pitch)
            .and_then(|(v, _)| self.positive(v, "the collar's travel per turn"));
        let corner = keys.get(|spring| &spring.corner_mass);
        let corner_mass = corner.and_then(|(v, _)| self.mass(v, "the mass on a wheel", 50.0..3000.0));
        let unsprung = keys.get(|spring| &spring.unsprung_mass);
        let unsprung_mass = unsprung.and_then(|(v, _)| self.mass(v, "the unsprung mass", 1.0..500.0));
        if let (Some((value, _)), Some(corner), Some(unsprung)) = (unsprung, corner_mass, unsprung_mass)
            && unsprung >= corner
        {
            self.tell(
                Finding::error(value.span(), "the wheel cannot weigh as much as it carries")
                    .label(format!("{unsprung:.1} kg, {corner:.1} kg in all"))
                    .help("`corner_mass` is what a scale under the tyre reads, `unsprung_mass` the part of it that moves with the wheel"),
            );
        }
        Some(Spring { line: line?, rate, pitch, corner_mass, unsprung_mass, tyre_rate })
    }

    pub(super) fn damper(&mut self, keys: &Layers<'_, schema::Damper>, links: &[Link; 5]) -> Option<Damper> {
        let upper = self.point(keys, "upper", |damper| &damper.upper);
        let seat = SeatKeys {
            lower: keys.get(|damper| &damper.lower),
            on: keys.get(|damper| &damper.on),
            along: keys.get(|damper| &damper.along),
        };
        let line = self.strut(upper, &seat, keys.span(), links, "damper");
        let [stop_gap, closed, open] = [
            (keys.get(|damper| &damper.stop_gap), "the gap to the bump stop"),
            (keys.get(|damper| &damper.closed), "the closed length"),
            (keys.get(|damper| &damper.open), "the open length"),
        ]
        .map(|(found, what)| found.and_then(|(value, _)| self.positive(value, what)));
        if let (Some((value, _)), Some(shut), Some(wide)) = (keys.get(|damper| &damper.closed), closed, open)
            && shut >= wide
        {
            self.tell(
                Finding::error(value.span(), "the damper is longer closed than open")
                    .label(format!("{shut:.1} mm closed, {wide:.1} mm open")),
            );
        }
        Some(Damper { line: line?, stop_gap, closed, open })
    }

    /// The line of a spring or damper, from its keys.
    fn strut(
        &mut self,
        upper: Option<(Point3<f64>, Range<usize>)>,
        keys: &SeatKeys<'_>,
        span: Range<usize>,
        links: &[Link; 5],
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
        links: &[Link; 5],
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
                    let near = nearest(name, &known);
                    self.tell(
                        Finding::error(on.span(), format!("there is no link called {name:?}"))
                            .label(near.map_or(String::new(), |near| format!("did you mean \"{near}\"?")))
                            .help(format!("the links are: {}", known.join(", "))),
                    );
                    return None;
                };
                let Some((along, _)) = keys.along else {
                    self.tell(
                        Finding::error(on.span(), format!("where on this link the {what} sits is missing"))
                            .help(HELP),
                    );
                    return None;
                };
                let distance = self.positive(along, "the distance along the link")?;
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

    fn rate(&mut self, value: &Spanned<Rate>, what: &str, range: Range<f64>) -> Option<f64> {
        let Rate(rate) = *value.get_ref();
        let rate = self.above_zero(value, rate, what)?;
        if range.contains(&rate) {
            return Some(rate);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} is not {rate:.2} N/mm"))
                .label(format!("expected {:.0} to {:.0} N/mm", range.start, range.end))
                .help("a bare number is N/mm; pounds need their unit: \"250 lb/in\""),
        );
        None
    }

    fn mass(&mut self, value: &Spanned<Mass>, what: &str, range: Range<f64>) -> Option<f64> {
        let Mass(mass) = *value.get_ref();
        let mass = self.above_zero(value, mass, what)?;
        if range.contains(&mass) {
            return Some(mass);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} is not {mass} kg"))
                .label(format!("expected {:.0} to {:.0} kg", range.start, range.end))
                .help("a bare number is kg; pounds need their unit: \"750 lb\""),
        );
        None
    }
}
