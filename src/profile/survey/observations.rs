//! The lists of a survey: what was measured, each with its standard deviation.

use std::ops::Range;
use toml::Spanned;

use super::layout::Layout;
use super::observed::Observed;
use crate::car::Sigmas;
use crate::measure::network::{At, Observation, ObservationKind};
use crate::measure::{Listed, MeasuringWay};
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::{Declared, Key, Profile, Seen, Slot, Survey, SurveySigma, Wheel};

/// What one entry measures, and in which words.
type Meant = (ObservationKind, String);

impl Checker {
    pub(super) fn observations(&mut self, survey: &Survey, layout: &Layout) -> Observed {
        let mut observed = Observed::default();
        for way in MeasuringWay::ALL {
            let usual = self.usual_sigma(survey, way);
            let first = observed.network.len();
            for seen in list_of(way).all(survey) {
                let Some((kind, words)) = self.meant(way, seen, layout) else { continue };
                let what = format!("{} {words}", way.name());
                let keys = seen.get_ref();
                let left_out = Seen::leave_out.of(keys).is_some_and(|leave| *leave.get_ref());
                let reads = match Seen::reads.of(keys) {
                    Some(reads) => match self.number(way, reads) {
                        Some(number) => Some((number, reads.span())),
                        None => continue,
                    },
                    None => None,
                };
                if let Some((number, span)) = &reads
                    && !self.can_be(&kind, *number, span, layout)
                {
                    continue;
                }
                let reading = reads.as_ref().map(|(number, _)| *number);
                observed.listed.push(Listed { way, what: words, reads: reading, left_out });
                let sigma = match Seen::sigma.of(keys) {
                    Some(sigma) => match self.figure(sigma_of(way).key, sigma) {
                        Some(sigma) => sigma,
                        None => continue,
                    },
                    None => usual,
                };
                if let Some((reads, span)) = reads.filter(|_| !left_out) {
                    let named = Seen::link.of(keys).filter(|_| way == MeasuringWay::Arm);
                    let link = named.and_then(|name| layout.link_place(name.get_ref()));
                    observed.arms.extend(link.map(|link| (observed.network.len(), link)));
                    observed.network.push(Observation { kind, reads, sigma });
                    observed.what.push(what);
                    observed.spans.push(span);
                }
            }
            self.list_in_inches(way, &observed, first);
            self.given_twice(&observed, first);
        }
        observed
    }

    /// The lengths of stock arms, which are readings of their points.
    pub(super) fn taped(
        &mut self,
        profile: &Profile,
        sigmas: &Sigmas,
        layout: &Layout,
        observed: &mut Observed,
    ) {
        for (link, of) in Profile::link.all(profile).iter().enumerate() {
            let Some((name, [from, to])) =
                layout.links().get(link).and_then(|name| Some((name, layout.link(name)?)))
            else {
                continue;
            };
            let Some((reads, sigma, span)) = self.taped_length(of.get_ref(), sigmas) else { continue };
            observed.arms.push((observed.network.len(), link));
            observed.network.push(Observation { kind: ObservationKind::Distance { from, to }, reads, sigma });
            observed.what.push(format!("{} {name}", MeasuringWay::Arm.name()));
            observed.spans.push(span);
        }
    }

    /// Readings of one and the same thing that differ by more than chance.
    fn given_twice(&mut self, observed: &Observed, first: usize) {
        /// One tape at one point has most of its error both times: so many standard deviations are no chance. Common practice, no source.
        const AGAIN: f64 = 2.0;
        let all = observed.network.iter().zip(&observed.spans).skip(first);
        for (i, (seen, span)) in all.clone().enumerate() {
            let Some((other, place)) = all.clone().take(i).find(|(other, _)| other.kind == seen.kind) else {
                continue;
            };
            let apart = (seen.reads - other.reads).abs();
            if apart > AGAIN * seen.sigma.max(other.sigma) {
                self.tell(
                    Finding::warning(
                        span.clone(),
                        "this was measured twice, and the two readings differ by more than chance",
                    )
                    .label("the second")
                    .other(place.clone(), "the first")
                    .help("measure it a third time and write `leave_out = true` beside the wrong one"),
                );
            }
        }
    }

    /// A list whose readings are those of a toy: inches written as bare numbers.
    fn list_in_inches(&mut self, way: MeasuringWay, observed: &Observed, first: usize) {
        // What no car's list comes to in its middle, mm; half of them in inches and half not is for the slips to show.
        let least = match way {
            MeasuringWay::Height | MeasuringWay::Across | MeasuringWay::Tape | MeasuringWay::Arm => 45.0,
            MeasuringWay::Pair => 90.0,
            MeasuringWay::Forward | MeasuringWay::Offset | MeasuringWay::Slope => return,
        };
        let mut reads: Vec<f64> = observed.network[first..].iter().map(|seen| seen.reads.abs()).collect();
        reads.sort_by(f64::total_cmp);
        let Some(middle) = reads.get(reads.len() / 2).filter(|middle| reads.len() >= 3 && **middle < least)
        else {
            return;
        };
        self.tell(
            Finding::error(observed.spans[first].clone(), format!("the list `{}` looks like inches", way.name()))
                .label(format!("half of its readings are below {middle:.1} mm"))
                .help("bare numbers are mm, and an inch is 25.4 of them; write inches with their unit: \"12 1/4 in\""),
        );
    }

    fn usual_sigma(&mut self, survey: &Survey, way: MeasuringWay) -> f64 {
        let own = Survey::sigma.of(survey).and_then(|sigma| sigma_of(way).of(sigma.get_ref()));
        own.and_then(|sigma| self.figure(sigma_of(way).key, sigma)).unwrap_or(way.usual_sigma())
    }

    /// What was read, mm or rad.
    fn number(&mut self, way: MeasuringWay, reads: &Spanned<Quantity>) -> Option<f64> {
        let value = reads.get_ref();
        let number = if way == MeasuringWay::Slope { value.angle() } else { value.length() };
        let wrong = match number {
            Err(error) => error.to_string(),
            Ok(number) if number.abs() > 1e4 => "this is longer than a car".to_owned(),
            Ok(number) if way == MeasuringWay::Slope && number.abs() > 1.5 => {
                "no link stands upright".to_owned()
            }
            Ok(number)
                if matches!(way, MeasuringWay::Tape | MeasuringWay::Arm | MeasuringWay::Pair)
                    && number <= 0.0 =>
            {
                "a distance is more than zero".to_owned()
            }
            Ok(number) => return Some(number),
        };
        self.tell(Finding::error(reads.span(), wrong).label("as read, in mm, or with its unit in quotes"));
        None
    }

    /// Whether a height, or a distance from the centreline, can be that of its point; told at once, before there is anything to
    /// hold it against.
    fn can_be(&mut self, kind: &ObservationKind, number: f64, span: &Range<usize>, layout: &Layout) -> bool {
        let ObservationKind::Difference { axis: axis @ (1 | 2), of, from: None } = *kind else { return true };
        let number = if of.mirrored && axis == 1 { -number } else { number };
        if axis == 1 && number < 0.0 {
            let headline = "this is on the other side of the centreline";
            let help = "`across` is plus to the left and minus to the right; without \"right\" before its name a point is on the left";
            self.tell(
                Finding::error(span.clone(), headline).label(format!("{number} mm to the left")).help(help),
            );
            return false;
        }
        let usual = if axis == 1 { Wheel::CENTRE_OUT } else { Wheel::CENTRE_UP };
        if of.spot == layout.centre().spot && !usual.contains(&number) {
            self.tell(
                Finding::error(span.clone(), "no car has its wheel centre there")
                    .label(format!("{number:.1} mm, expected {} to {}", usual.start(), usual.end()))
                    .help("bare numbers are mm; inches need their unit: \"12 1/4 in\""),
            );
            return false;
        }
        true
    }

    fn meant(&mut self, way: MeasuringWay, seen: &Spanned<Seen>, layout: &Layout) -> Option<Meant> {
        let keys = seen.get_ref();
        let line = Seen::line.of(keys);
        let link = Seen::link.of(keys);
        self.only_keys(way, seen)?;
        match way {
            MeasuringWay::Height => self.difference(2, way, seen, layout, None),
            MeasuringWay::Forward => self.difference(0, way, seen, layout, Some(layout.centre())),
            MeasuringWay::Across => self.difference(1, way, seen, layout, None),
            MeasuringWay::Pair => {
                let (at, name) = self.place(way, seen, Seen::of, layout)?;
                let other = At { mirrored: !at.mirrored, ..at };
                Some((ObservationKind::Difference { axis: 1, of: at, from: Some(other) }, name))
            }
            MeasuringWay::Offset => {
                let (at, name) = self.place(way, seen, Seen::of, layout)?;
                let line = line.or_else(|| {
                    self.missing_in_list(way, seen, Seen::line.key);
                    None
                })?;
                let [a, b] = line.get_ref().as_slice() else {
                    let text = "a line goes through two points";
                    self.tell(Finding::error(line.span(), text).help("line = [\"A\", \"B\"]"));
                    return None;
                };
                let ends = [self.spot(layout, a)?, self.spot(layout, b)?];
                if ends[0] == ends[1] || ends.contains(&at) || layout.one_above_other(ends) {
                    self.tell(Finding::error(
                        line.span(),
                        "a line needs two points besides the one measured, not one above the other",
                    ));
                    return None;
                }
                let words = format!("{name} from line {} - {}", a.get_ref().trim(), b.get_ref().trim());
                Some((ObservationKind::Offset { of: at, line: ends }, words))
            }
            MeasuringWay::Tape => {
                let (a, from) = self.place(way, seen, Seen::from, layout)?;
                let (b, to) = self.place(way, seen, Seen::to, layout)?;
                if a == b {
                    self.tell(Finding::error(seen.span(), "a tape from a point to itself"));
                    return None;
                }
                Some((ObservationKind::Distance { from: a, to: b }, format!("{from} - {to}")))
            }
            MeasuringWay::Arm | MeasuringWay::Slope => {
                let link = link.or_else(|| {
                    self.missing_in_list(way, seen, Seen::link.key);
                    None
                })?;
                let Some([subframe, knuckle]) = layout.link(link.get_ref()) else {
                    let known: Vec<&str> = layout.links().iter().map(String::as_str).collect();
                    self.tell(Finding::unknown(link.span(), "link", link.get_ref(), &known));
                    return None;
                };
                let kind = if way == MeasuringWay::Arm {
                    ObservationKind::Distance { from: subframe, to: knuckle }
                } else {
                    ObservationKind::Slope { from: subframe, to: knuckle }
                };
                Some((kind, link.get_ref().trim().to_owned()))
            }
        }
    }

    /// A coordinate, counted from another point or from where it begins.
    fn difference(
        &mut self,
        axis: usize,
        way: MeasuringWay,
        seen: &Spanned<Seen>,
        layout: &Layout,
        usual: Option<At>,
    ) -> Option<Meant> {
        let (of, name) = self.place(way, seen, Seen::of, layout)?;
        let (from, words) = match Seen::from.of(seen.get_ref()) {
            Some(text) => {
                let (from, other) = self.place(way, seen, Seen::from, layout)?;
                if from == of {
                    self.tell(Finding::error(text.span(), "a point counted from itself"));
                    return None;
                }
                (Some(from), format!("{name} from {other}"))
            }
            // The wheel centre itself is where counting forward begins.
            None if usual == Some(of) => {
                let text = "forward is counted from the wheel centre, or `from` another point";
                self.tell(Finding::error(seen.span(), text));
                return None;
            }
            None => (usual, name),
        };
        Some((ObservationKind::Difference { axis, of, from }, words))
    }

    /// The point under a key.
    fn place(
        &mut self,
        way: MeasuringWay,
        seen: &Spanned<Seen>,
        slot: Slot<Seen, String>,
        layout: &Layout,
    ) -> Option<(At, String)> {
        let Some(text) = slot.of(seen.get_ref()) else {
            self.missing_in_list(way, seen, slot.key);
            return None;
        };
        Some((self.spot(layout, text)?, text.get_ref().trim().to_owned()))
    }

    fn missing_in_list(&mut self, way: MeasuringWay, seen: &Spanned<Seen>, key: &Key) {
        let finding = Finding::error(seen.span(), format!("the key `{}` is missing", key.name));
        self.tell(finding.help(format!("an entry of this list looks like {}", list_of(way).key.example)));
    }

    /// Whether an entry has only the keys that its list knows.
    fn only_keys(&mut self, way: MeasuringWay, seen: &Spanned<Seen>) -> Option<()> {
        let strays = |key: &Key| !key.of.is_empty() && !key.of.contains(&way.name());
        let stray = seen.get_ref().given().into_iter().find(|(key, _)| strays(key));
        let Some((key, span)) = stray else { return Some(()) };
        let finding = Finding::error(span, format!("there is no key `{}` in this list", key.name));
        self.tell(finding.help(format!("an entry of this list looks like {}", list_of(way).key.example)));
        None
    }
}

fn list_of(way: MeasuringWay) -> Slot<Survey, Vec<Spanned<Seen>>> {
    match way {
        MeasuringWay::Height => Survey::height,
        MeasuringWay::Forward => Survey::forward,
        MeasuringWay::Across => Survey::across,
        MeasuringWay::Pair => Survey::pair,
        MeasuringWay::Offset => Survey::offset,
        MeasuringWay::Tape => Survey::tape,
        MeasuringWay::Arm => Survey::arm,
        MeasuringWay::Slope => Survey::slope,
    }
}

fn sigma_of(way: MeasuringWay) -> Slot<SurveySigma, Quantity> {
    match way {
        MeasuringWay::Height => SurveySigma::height,
        MeasuringWay::Forward => SurveySigma::forward,
        MeasuringWay::Across => SurveySigma::across,
        MeasuringWay::Pair => SurveySigma::pair,
        MeasuringWay::Offset => SurveySigma::offset,
        MeasuringWay::Tape => SurveySigma::tape,
        MeasuringWay::Arm => SurveySigma::arm,
        MeasuringWay::Slope => SurveySigma::slope,
    }
}
