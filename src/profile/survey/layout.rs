//! The points of a survey: those of the car, the marks, and which of them are one.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::observed::Observed;
use super::typical::Assumed;
use crate::car::{Hold, Measurand, PerLink, Sigmas};
use crate::measure::network::{
    At, Network, Observation, ObservationKind, PointPrior, Shared, Spot, Unadjusted, adjust,
};
use crate::measure::{Survey, point_name};
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::{Link, Mark, Profile, Survey as Lists};
use crate::profile::survey::CheckedSurvey;

/// The points of a survey and what they are called.
#[derive(Clone)]
pub(super) struct Layout {
    names: Vec<String>,
    spans: Vec<Range<usize>>,
    spots: Vec<SpotPlace>,
    /// The spot that each one is: itself, or the one that it was made one with.
    joined: Vec<usize>,
    points: [usize; 11],
    links: PerLink<String>,
    /// How each of them holds the knuckle, as far as its points go.
    holds: PerLink<Hold>,
    /// Where the points are before anything is measured.
    assumed: Option<Assumed>,
}

/// What a file says of where a spot is.
#[derive(Clone, Copy, Default)]
struct SpotPlace {
    known: [Option<f64>; 3],
    held: [bool; 3],
}

/// Where a bolt of an ordinary car would be, for a start when nothing is said.
const A_SUBFRAME: [f64; 3] = [0.0, 400.0, 320.0];
const A_KNUCKLE: [f64; 3] = [0.0, 670.0, 320.0];
const A_CENTRE: [f64; 3] = [0.0, 750.0, 310.0];
/// A mark, most likely on the floor.
const A_MARK: [f64; 3] = [0.0, 300.0, 0.0];

impl Checker {
    pub(super) fn spots(
        &mut self,
        profile: &Profile,
        survey: Option<&Lists>,
        assumed: Option<Assumed>,
    ) -> Option<Layout> {
        let names = Profile::link.all(profile).iter().map(|link| {
            let name = Link::name.of(link.get_ref())?;
            Some((name.get_ref().trim().to_owned(), name.span()))
        });
        let links: Vec<(String, Range<usize>)> = names.collect::<Option<_>>()?;
        let members = Profile::link.all(profile).iter().map(|link| link.get_ref().member());
        let holds = members.enumerate().map(|(place, member)| member.hold(place));
        let mut layout = Layout {
            names: Vec::new(),
            spans: Vec::new(),
            spots: Vec::new(),
            joined: Vec::new(),
            points: [0; 11],
            links: links.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>().try_into().ok()?,
            holds: holds.collect::<Vec<_>>().try_into().ok()?,
            assumed,
        };
        for (i, point) in Measurand::points().enumerate() {
            let name = point_name(&layout.links, &layout.holds, point);
            let span = point
                .link()
                .map_or_else(|| Profile::wheel.span(profile).unwrap_or(0..0), |link| links[link].1.clone());
            let rough = match &layout.assumed {
                Some(assumed) => Some(assumed.places[i]),
                None => profile.point(point).and_then(|rough| self.coordinates(rough)),
            };
            let known = rough.map_or([None; 3], |at| at.map(Some));
            layout.points[i] = layout.add(name, span, SpotPlace { known, held: [false; 3] });
        }
        layout.one_member();
        for mark in survey.map_or(&[][..], |survey| Lists::mark.all(survey)) {
            self.mark(&mut layout, mark);
        }
        for same in survey.map_or(&[][..], |survey| Lists::same.all(survey)) {
            self.same(&mut layout, same);
        }
        Some(layout)
    }

    /// Three coordinates, mm.
    pub(super) fn coordinates(&mut self, point: &Spanned<Vec<crate::profile::Quantity>>) -> Option<[f64; 3]> {
        let numbers: Result<Vec<f64>, _> =
            point.get_ref().iter().map(|quantity| quantity.coordinate()).collect();
        let wrong = match numbers {
            Ok(numbers) => match <[f64; 3]>::try_from(numbers) {
                Ok(at) if at.iter().all(|x| x.abs() <= 1e5) => return Some(at),
                Ok(_) => "this point is not on the car: more than 100 m away".to_owned(),
                Err(numbers) => format!("a point has three coordinates, this has {}", numbers.len()),
            },
            Err(error) => error.to_string(),
        };
        self.tell(Finding::error(point.span(), wrong).label("x forward, y to the left, z up, in mm"));
        None
    }

    fn mark(&mut self, layout: &mut Layout, mark: &Spanned<Mark>) {
        let keys = mark.get_ref();
        let [at, about] = [Mark::at, Mark::about].map(|slot| slot.of(keys));
        let Some(name) = Mark::name.of(keys) else {
            let finding = Finding::error(mark.span(), "this mark has no name").help("add `name = \"A\"`");
            return self.tell(finding);
        };
        let text = name.get_ref().trim();
        if layout.find(text).is_some() || text.is_empty() {
            let finding = Finding::error(name.span(), format!("there is another point called \"{text}\""));
            return self.tell(finding.help("every mark needs a name of its own"));
        }
        let on_floor = Mark::on_floor.of(keys).is_some_and(|on_floor| *on_floor.get_ref());
        let mut place = match (at, about) {
            (Some(at), Some(about)) => {
                let finding = Finding::error(about.span(), "a mark is either known or roughly known")
                    .label("roughly")
                    .other(at.span(), "known");
                return self.tell(finding);
            }
            (Some(at), None) => match self.coordinates(at) {
                Some(at) => SpotPlace { known: at.map(Some), held: [true; 3] },
                None => return,
            },
            (None, about) => {
                let about = about.and_then(|about| self.coordinates(about));
                SpotPlace { known: about.map_or([None; 3], |about| about.map(Some)), held: [false; 3] }
            }
        };
        if on_floor && !place.held[2] {
            place.held[2] = true;
            place.known[2] = Some(0.0);
        }
        layout.add(text.to_owned(), name.span(), place);
    }

    /// Points that are one bolt.
    fn same(&mut self, layout: &mut Layout, same: &Spanned<Vec<Spanned<String>>>) {
        let spots: Option<Vec<At>> = same.get_ref().iter().map(|name| self.spot(layout, name)).collect();
        let Some(spots) = spots else { return };
        let [first, others @ ..] = spots.as_slice() else { return };
        let wrong = if others.is_empty() {
            Some("one bolt needs two names at least")
        } else if spots.iter().any(|at| at.mirrored) {
            Some("points of one side only can be one bolt")
        } else {
            None
        };
        if let Some(wrong) = wrong {
            return self.tell(Finding::error(same.span(), wrong));
        }
        for other in others {
            layout.join(first.spot, other.spot);
        }
        let one_end = |link: &String| layout.link(link).is_some_and(|[inner, outer]| inner == outer);
        if let Some(link) = layout.links.iter().find(|link| one_end(link)) {
            self.tell(Finding::error(same.span(), format!("these would be both ends of \"{link}\"")));
        }
    }

    /// The point that a text names.
    pub(super) fn spot(&mut self, layout: &Layout, name: &Spanned<String>) -> Option<At> {
        let text = name.get_ref().trim();
        let found = layout.find(text);
        if found.is_none() {
            let known: Vec<&str> = layout.original_names().collect();
            let first = known.first().copied().unwrap_or_default();
            self.tell(Finding::unknown(name.span(), "point", text, &known).help(format!(
                "points are: {}; the counterpart on the other side: \"right {first}\"",
                known.join(", ")
            )));
        }
        found
    }
}

impl Layout {
    /// Makes a spot one with another, which keeps what either knows.
    fn join(&mut self, keep: usize, other: usize) {
        if keep == other {
            return;
        }
        let lost = self.spots[other];
        let kept = &mut self.spots[keep];
        for axis in 0..3 {
            kept.known[axis] =
                if lost.held[axis] { lost.known[axis] } else { kept.known[axis].or(lost.known[axis]) };
            kept.held[axis] |= lost.held[axis];
        }
        for spot in &mut self.joined {
            if *spot == other {
                *spot = keep;
            }
        }
        for point in &mut self.points {
            if *point == other {
                *point = keep;
            }
        }
    }

    /// Points of members that are one point by themselves.
    fn one_member(&mut self) {
        for (i, point) in Measurand::points().enumerate() {
            let home = Hold::own(&self.holds, point);
            if let Some(home) = Measurand::points().position(|point| point == home) {
                self.join(self.points[home], self.points[i]);
            }
        }
    }

    fn add(&mut self, name: String, span: Range<usize>, place: SpotPlace) -> usize {
        self.names.push(name);
        self.spans.push(span);
        self.spots.push(place);
        self.joined.push(self.joined.len());
        self.spots.len() - 1
    }

    /// The names as the file would write them, before points were made one.
    fn original_names(&self) -> impl Iterator<Item = &str> {
        let other = |i: &usize| !self.names[..*i].contains(&self.names[*i]);
        (0..self.names.len()).filter(other).map(|i| self.names[i].as_str())
    }

    /// The point of a name, or its counterpart on the right.
    pub(super) fn find(&self, text: &str) -> Option<At> {
        let plain = |text: &str| text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ");
        let wanted = plain(text);
        let spot = |wanted: &str| {
            let car = Measurand::points()
                .zip(self.points)
                .find(|(point, _)| plain(&point_name(&self.links, &self.holds, *point)) == wanted);
            let mark =
                || self.names.iter().position(|name| plain(name) == wanted).map(|spot| self.joined[spot]);
            car.map(|(_, spot)| spot).or_else(mark)
        };
        let here = spot(&wanted).map(At::spot);
        here.or_else(|| Some(At { spot: spot(wanted.strip_prefix("right ")?)?, mirrored: true }))
    }

    /// The place of a link among the five.
    pub(super) fn link_place(&self, name: &str) -> Option<usize> {
        self.links.iter().position(|link| link == name.trim())
    }

    /// The two ends of a link.
    pub(super) fn link(&self, name: &str) -> Option<[At; 2]> {
        let link = self.link_place(name)?;
        let spot = |of: Measurand| Measurand::points().position(|point| point == of).map(|i| self.points[i]);
        Some([spot(Measurand::Subframe(link))?, spot(Measurand::Knuckle(link))?].map(At::spot))
    }

    /// Whether two known marks stand one above the other, so that no level line leads through both.
    pub(super) fn one_above_other(&self, ends: [At; 2]) -> bool {
        let near = |axis: usize| match ends.map(|at| self.known(at, axis)) {
            [Some(a), Some(b)] => (a - b).abs() < 1.0,
            _ => false,
        };
        near(0) && near(1)
    }

    /// Whether points are assumed before anything is measured.
    pub(super) fn is_assumed(&self) -> bool {
        self.assumed.is_some()
    }

    fn prior(&self) -> Option<PointPrior> {
        self.assumed.as_ref().map(|assumed| assumed.prior(&self.points))
    }

    pub(super) fn links(&self) -> &[String] {
        &self.links
    }

    pub(super) fn centre(&self) -> At {
        At::spot(self.points[0])
    }

    /// Everything together, with a start for each point.
    pub(super) fn survey(mut self, name: String, sigmas: Sigmas, observed: Observed) -> CheckedSurvey {
        self.begin(&observed.network);
        self.follow(&observed.network);
        let network = Network {
            spots: self.starts(),
            observations: observed.network,
            prior: self.prior(),
            shared: Shared::by_hand(self.points[0]),
        };
        CheckedSurvey {
            survey: Survey {
                car: name,
                names: self.names,
                network,
                assumed: self.assumed.map_or_else(Vec::new, |assumed| assumed.typical),
                what: observed.what,
                points: self.points,
                joined: self.joined,
                links: self.links,
                holds: self.holds,
                arms: observed.arms,
                listed: observed.listed,
            },
            sigmas,
            warnings: Vec::new(),
            spans: observed.spans,
            spots: self.spans,
        }
    }

    /// x may begin anywhere: at the wheel centre, unless what was measured ties it to a mark that is known.
    fn begin(&mut self, observations: &[Observation]) {
        if !self.is_tied(observations, true)
            || (!self.is_tied(observations, false) && self.slides(observations))
        {
            self.begin_at_centre();
        }
    }

    fn begin_at_centre(&mut self) {
        let centre = &mut self.spots[self.points[0]];
        centre.held[0] = true;
        centre.known[0] = Some(centre.known[0].unwrap_or(0.0));
    }

    /// Whether the wheel centre is tied to a mark that is known by something that may tell of x, lines among it or not.
    fn is_tied(&self, observations: &[Observation], by_lines: bool) -> bool {
        let mut tied = vec![false; self.spots.len()];
        tied[self.points[0]] = true;
        // What is assumed of the others counts from it.
        self.points.iter().filter(|_| self.is_assumed()).for_each(|&spot| tied[spot] = true);
        let mut growing = true;
        while growing {
            growing = false;
            for observation in observations {
                // A height or an offset from the centreline says nothing of x.
                match observation.kind {
                    ObservationKind::Difference { axis: 1 | 2, .. } => continue,
                    ObservationKind::Offset { .. } if !by_lines => continue,
                    _ => {}
                }
                let spots = observation.kind.spots();
                if spots.iter().any(|spot| tied[*spot]) {
                    for spot in spots {
                        growing |= !tied[spot];
                        tied[spot] = true;
                    }
                }
            }
        }
        (0..self.spots.len()).any(|spot| tied[spot] && self.spots[spot].held[0])
    }

    /// Whether all of the car could still slide along the lines that tie it to marks, until x begins at its wheel centre.
    fn slides(&self, observations: &[Observation]) -> bool {
        let ways = |mut layout: Self| {
            layout.follow(observations);
            match adjust(&Network {
                spots: layout.starts(),
                observations: observations.to_vec(),
                prior: layout.prior(),
                shared: Shared::default(),
            }) {
                Err(Unadjusted::Loose(ways)) => ways.len(),
                _ => 0,
            }
        };
        let mut begun = self.clone();
        begun.begin_at_centre();
        ways(self.clone()) > ways(begun)
    }

    /// Takes coordinates that were measured from a known point as they are, one after another.
    fn follow(&mut self, observations: &[Observation]) {
        loop {
            let mut moved = false;
            for observation in observations {
                let ObservationKind::Difference { axis, of, from } = observation.kind else { continue };
                // A counterpart on the right is as far from the centreline on the other side: half of a pair.
                if let Some(from) = from
                    && from.mirrored
                    && from.spot == of.spot
                {
                    moved |= self.learn(of, axis, observation.reads / 2.0);
                    continue;
                }
                let there = from.map_or(Some(0.0), |from| self.known(from, axis));
                if let Some(there) = there {
                    moved |= self.learn(of, axis, there + observation.reads);
                } else if let (Some(here), Some(from)) = (self.known(of, axis), from) {
                    moved |= self.learn(from, axis, here - observation.reads);
                }
            }
            if !moved {
                return;
            }
        }
    }

    fn known(&self, at: At, axis: usize) -> Option<f64> {
        let value = self.spots[at.spot].known[axis]?;
        Some(if at.mirrored && axis == 1 { -value } else { value })
    }

    /// Notes a coordinate where none is known yet.
    fn learn(&mut self, at: At, axis: usize, value: f64) -> bool {
        let place = &mut self.spots[at.spot].known[axis];
        if place.is_some() {
            return false;
        }
        *place = Some(if at.mirrored && axis == 1 { -value } else { value });
        true
    }

    fn starts(&self) -> Vec<Spot> {
        (0..self.spots.len()).map(|spot| self.start(spot)).collect()
    }

    fn start(&self, spot: usize) -> Spot {
        let SpotPlace { known, held } = self.spots[spot];
        let usual = match Measurand::points().zip(self.points).find(|(_, of)| *of == spot) {
            Some((Measurand::Subframe(_), _)) => A_SUBFRAME,
            Some((Measurand::Knuckle(_), _)) => A_KNUCKLE,
            Some(_) => A_CENTRE,
            None => A_MARK,
        };
        // Not all at one spot, where distances have no direction.
        #[expect(clippy::cast_precision_loss, reason = "a count of points")]
        let apart = 7.0 * spot as f64;
        let start = [0, 1, 2].map(|axis| known[axis].unwrap_or(usual[axis] + apart));
        // A spot that became one with another is not asked any more.
        let unused = self.joined[spot] != spot;
        Spot {
            start: Point3::from(start),
            held: if unused { [true; 3] } else { held },
            guessed: !unused && known.iter().any(Option::is_none),
        }
    }
}
