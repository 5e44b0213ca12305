//! A survey of one side of a car: rough measurements between pivots and marks, and the pivots that fit them best.
//!
//! Survey: a survey file is a profile with `[survey]` in place of its points. x begins at the wheel centre unless what was
//! measured ties it to a known mark. Deviations are multiplied by the unit weight where that is more than 1, never made
//! smaller. Points that nobody placed are placed first (`network/place.rs`); slips are set aside one by one at a standardized
//! residual of 3.29; a profile is written only when none is left (exit 3). A direction known no better than 100 mm counts as
//! not measured. What all readings share (a tape's length and hook, a mark beside the wheel's centre) are unknowns with rows of
//! their own (`network/shared.rs`): they are in every band, and neither in `unknowns` nor in `redundancy`.

use nalgebra::{DMatrix, Vector3};
use serde::Serialize;
use std::fmt;

use super::network::{
    Adjusted, Freedom, Network, ObservationKind, Suspect, Twin, Unadjusted, adjust, deciding, judged, twins,
};
use super::{Listed, MeasuringWay, SIGMAS_OF_95};
use crate::car::{Errors, Hold, Link, Measurand, PerLink, Sigmas};

/// What was measured on one side of a car.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// The car's name.
    pub(crate) car: String,
    /// Names of the spots, as they are shown.
    pub names: Vec<String>,
    /// The spots and what was measured between them.
    pub network: Network,
    /// What each observation is, in words.
    pub what: Vec<String>,
    /// The spot that each one is: itself, or the one that it was made one with.
    pub(crate) joined: Vec<usize>,
    /// The spot of each point of the car, in the order of [`Measurand::points`].
    pub points: [usize; 11],
    /// Points that are assumed, by their places among the car's: nobody measured them before.
    pub(crate) assumed: Vec<usize>,
    /// Names of the links.
    pub links: PerLink<String>,
    /// How each of them holds the knuckle, as far as its points go.
    pub holds: PerLink<Hold>,
    /// Observations that are the length of an arm, and of which link.
    pub(crate) arms: Vec<(usize, usize)>,
    /// Everything that the file lists, in its order, measured or not: for the page that is carried under the car.
    pub(crate) listed: Vec<Listed>,
}

/// Why a survey gives no points.
#[derive(Debug, Clone, PartialEq)]
pub enum NoSurvey {
    /// Some points are not held by what was measured.
    Loose(Vec<Freedom>),
    /// Nothing fits what was measured.
    Contradictory,
    /// A point fits as well in another place, mm.
    Twin {
        /// Which spot.
        spot: usize,
        /// The one place.
        here: [f64; 3],
        /// The other.
        there: [f64; 3],
        /// Further points that have another place with it.
        others: Vec<usize>,
        /// What would tell, and what it would read here and there, mm or degrees.
        decide: Option<Box<(Decide, [f64; 2])>>,
    },
}

impl fmt::Display for NoSurvey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Loose(ways) => write!(f, "what was measured leaves the points {} ways to move", ways.len()),
            Self::Contradictory => {
                f.write_str("the measurements contradict each other so badly that nothing fits them")
            }
            Self::Twin { spot, .. } => write!(f, "point {} fits in two places", spot + 1),
        }
    }
}

impl std::error::Error for NoSurvey {}

/// The points that fit a survey best, and how well.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Surveyed {
    /// The car's points and the marks.
    pub points: Vec<SurveyedPoint>,
    /// The links.
    pub links: Vec<SurveyedLink>,
    /// Everything that was measured.
    pub observations: Vec<SurveyedObservation>,
    /// Slips, the worst first: observations that do not go with the others and were set aside.
    pub suspects: Vec<SuspectObservation>,
    /// Coordinates that were worked out.
    pub unknowns: usize,
    /// Observations more than coordinates.
    pub redundancy: usize,
    /// How many times as large as stated the errors look, slips set aside.
    pub unit_weight: f64,
    /// By how much the deviations were widened for it: never less than 1.
    pub widened: f64,
    /// By how much the deviations of the typical layout were widened, because all that was measured speaks against it; 1: by nothing.
    /// Only where points are assumed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layout_widened: Option<f64>,
    /// Points that rest on a typical layout more than on what was measured.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
    /// What the points rest on.
    #[serde(skip)]
    pub errors: Errors,
}

/// A point that was surveyed.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SurveyedPoint {
    /// Its name.
    pub name: String,
    /// Which point of the car it is; none for a mark.
    #[serde(skip)]
    pub measurand: Option<Measurand>,
    /// Where it is, car axes, mm.
    pub at_mm: [f64; 3],
    /// Standard deviations of the coordinates, mm; 0 for one that is fixed by definition.
    pub sigma_mm: [f64; 3],
    /// Half-widths that hold 95 of 100 errors of the coordinates, mm.
    pub good_to_mm: [f64; 3],
}

/// A link between two surveyed points.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SurveyedLink {
    /// Its name.
    pub name: String,
    /// Centre to centre, mm.
    pub length_mm: f64,
    /// Half-width that holds 95 of 100 errors, mm.
    pub good_to_mm: f64,
}

/// One thing that was measured; mm, or degrees for a slope.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SurveyedObservation {
    /// What it is.
    pub what: String,
    /// "mm" or "deg".
    pub unit: &'static str,
    /// What was read.
    pub reads: f64,
    /// Its standard deviation as stated.
    pub sigma: f64,
    /// What fits best.
    pub fits: f64,
    /// Which part of a slip would show, 0 to 1.
    pub redundancy: f64,
    /// The residual over its own deviation.
    pub standardized: f64,
    /// The smallest slip that would be noticed; none where nothing else checks it.
    pub noticed_from: Option<f64>,
}

/// An observation that does not go with the others.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SuspectObservation {
    /// Its place among the observations.
    pub observation: usize,
    /// What it is.
    pub what: String,
    /// "mm" or "deg".
    pub unit: &'static str,
    /// What was read, mm or degrees.
    pub reads: f64,
    /// What the others say.
    pub should_read: f64,
    /// How much more was read than they say.
    pub off: f64,
    /// How far off, in standard deviations.
    pub standardized: f64,
    /// What kind of slip it looks like.
    pub slip: Option<Slip>,
    /// Places of others that could as well be wrong.
    pub alike: Vec<usize>,
    /// All that could be the one slip, this one among them, the likeliest first; none where nothing else could. While there are
    /// some, none is taken for wrong, and how good points are reaches over all of these cases.
    pub candidates: Vec<SuspectCandidate>,
    /// The one further reading that would tell them apart best.
    pub decide: Option<Decide>,
}

/// A reading that could be a slip as well as others.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SuspectCandidate {
    /// Its place among the observations.
    pub observation: usize,
    /// What it is.
    pub what: String,
    /// "mm" or "deg".
    pub unit: &'static str,
    /// What was read, mm or degrees.
    pub reads: f64,
    /// What it should read if all others are right.
    pub should_read: f64,
    /// How much more was read than that.
    pub off: f64,
    /// What kind of slip it looks like.
    pub slip: Option<Slip>,
    /// What the deciding reading would read if this one is the slip, mm or degrees; none where nothing decides.
    pub decides: Option<f64>,
}

/// A reading that would tell cases apart.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Decide {
    /// What to read: something new, or once more what was read.
    pub what: String,
    /// "mm" or "deg".
    pub unit: &'static str,
    /// Whether it was read before.
    pub again: bool,
    /// What it measures.
    #[serde(skip)]
    pub kind: ObservationKind,
}

/// The usual slips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Slip {
    /// Inches written as mm, or the other way round.
    Inches,
    /// cm written as mm, or the other way round.
    Centimetres,
    /// Two neighbouring digits changed places.
    Transposed,
    /// The sign is the wrong one.
    Sign,
    /// Off by a whole 10, 50 or 100 mm: the tape was misread or hooked at the wrong line.
    Round,
}

/// A point is still assumed where a coordinate is known no better than this part of what was assumed.
const ASSUMED: f64 = 0.5;

/// Finds the points that fit a survey best. `sigmas` are those of the readings.
///
/// # Errors
///
/// [`NoSurvey`] where there are none, or more than one set.
pub fn survey(survey: &Survey, sigmas: &Sigmas) -> Result<Surveyed, NoSurvey> {
    let (network, adjusted, suspects) = survey.adjusted().map_err(|error| match error {
        Unadjusted::Loose(freedoms) => NoSurvey::Loose(freedoms),
        Unadjusted::Unsettled => NoSurvey::Contradictory,
    })?;
    // While something does not go with the rest, that is what is asked about first.
    // Beside an assumed place there is no other but for a mark.
    let two = network.prior.is_none() || network.spots.iter().any(|spot| spot.guessed);
    let twins = if two && suspects.is_empty() { twins(&network, &adjusted) } else { Vec::new() };
    if let Some(twin) = twins.first() {
        return Err(survey.twin(twin, &adjusted));
    }
    let widened = adjusted.unit_weight().max(1.0);
    // Beside what is assumed only the readings' own deviations were widened, and that in the covariance already.
    let factor = if adjusted.weighed.is_some() { 1.0 } else { widened.powi(2) };
    let of_spots = covariance_of_spots(&adjusted) * factor;
    let cases: Vec<&Adjusted> =
        suspects.iter().flat_map(|suspect| &suspect.cases).map(|case| &case.rest).collect();
    // Where nothing tells which reading is wrong, how good a point is reaches to its place in each of the cases.
    let reach = |of: &dyn Fn(&Adjusted) -> f64| {
        let off = cases.iter().map(|case| (of(case) - of(&adjusted)).abs());
        off.fold(0.0, f64::max) / SIGMAS_OF_95
    };
    let deviation = |spot: usize| {
        [0, 1, 2].map(|axis| {
            let sigma = of_spots[(3 * spot + axis, 3 * spot + axis)].max(0.0).sqrt();
            sigma + reach(&|case| case.points[spot][axis])
        })
    };
    let point = |spot: usize, name: String, measurand: Option<Measurand>| SurveyedPoint {
        name,
        measurand,
        at_mm: adjusted.points[spot].into(),
        sigma_mm: deviation(spot),
        good_to_mm: deviation(spot).map(|sigma| SIGMAS_OF_95 * sigma),
    };
    let of_car = Measurand::points().zip(survey.points).map(|(measurand, spot)| {
        let name = point_name(&survey.links, &survey.holds, measurand);
        point(spot, name, Some(measurand))
    });
    let of_car: Vec<SurveyedPoint> = of_car.collect();
    let is_assumed = |point: &usize| {
        let stated = survey.network.prior.as_ref().map_or([0.0; 3], |prior| prior.sigma(*point));
        stated.iter().zip(of_car[*point].sigma_mm).any(|(stated, left)| left > ASSUMED * stated)
    };
    let assumed = survey.assumed.iter().filter(|point| is_assumed(point));
    let assumed: Vec<String> = assumed.map(|point| of_car[*point].name.clone()).collect();
    let errors = survey.errors(&of_spots, sigmas);
    let marks =
        (0..survey.names.len()).filter(|&spot| !survey.points.contains(&spot) && survey.joined[spot] == spot);
    let marks = marks.map(|spot| point(spot, survey.names[spot].clone(), None));
    Ok(Surveyed {
        points: of_car
            .into_iter()
            .filter(|point| point.measurand.is_none_or(|of| survey.is_own(of)))
            .chain(marks)
            .collect(),
        links: (0..survey.links.len())
            .filter(|link| survey.has_length(*link))
            .map(|link| survey.link(link, &adjusted, &errors, &reach))
            .collect(),
        observations: (0..survey.what.len()).map(|i| survey.observation(i, &adjusted)).collect(),
        suspects: suspects.iter().map(|suspect| survey.suspect(suspect)).collect(),
        unknowns: adjusted.covariance.nrows(),
        redundancy: if adjusted.weighed.is_none() {
            adjusted.freedom
        } else {
            survey.what.len().saturating_sub(suspects.len() + adjusted.covariance.nrows())
        },
        unit_weight: adjusted.unit_weight(),
        widened,
        layout_widened: adjusted.weighed.map(|_| adjusted.wider),
        assumed,
        errors,
    })
}

/// The covariance of all spots' coordinates, three a spot; zero for what is held.
fn covariance_of_spots(adjusted: &Adjusted) -> DMatrix<f64> {
    let places: Vec<Option<usize>> = adjusted.places.iter().flatten().copied().collect();
    DMatrix::from_fn(places.len(), places.len(), |i, j| match (places[i], places[j]) {
        (Some(i), Some(j)) => adjusted.covariance[(i, j)],
        _ => 0.0,
    })
}

/// The name of a point of the car, as a survey calls it.
pub(crate) fn point_name(links: &[String], holds: &[Hold], point: Measurand) -> String {
    let (link, end) = match point {
        Measurand::Subframe(link) => (link, "subframe"),
        Measurand::Knuckle(link) => (link, "knuckle"),
        _ => return "wheel centre".to_owned(),
    };
    format!("{} {end}", holds[link].of_pivot(&links[link], end == "knuckle"))
}

/// The same by the links of a car.
pub(crate) fn point_of(links: &PerLink<Link>, point: Measurand) -> String {
    let names: Vec<String> = links.iter().map(|link| link.name.clone()).collect();
    let holds: Vec<Hold> = links.iter().map(|link| link.hold).collect();
    point_name(&names, &holds, point)
}

fn is_angle(kind: &ObservationKind) -> bool {
    matches!(kind, ObservationKind::Slope { .. })
}

/// mm, or degrees for an angle.
fn shown(kind: &ObservationKind, value: f64) -> f64 {
    if is_angle(kind) { value.to_degrees() } else { value }
}

fn unit(kind: &ObservationKind) -> &'static str {
    if is_angle(kind) { "deg" } else { "mm" }
}

impl Survey {
    /// The car's points by their numbers and names, in their order: the wheel centre, then each link's pivots, each of them once.
    pub fn place_names(&self) -> impl Iterator<Item = (usize, &str)> {
        let all = (1..).zip(Measurand::points().zip(self.points));
        all.filter(|(_, (of, _))| self.is_own(*of))
            .map(|(number, (_, spot))| (number, self.names[spot].as_str()))
    }

    /// Whether a point is no other one of the same member too.
    pub fn is_own(&self, of: Measurand) -> bool {
        Hold::own(&self.holds, of) == of
    }

    /// Where these points roughly are, mm, if every one of them is known.
    pub(crate) fn known_places(&self) -> Option<Vec<[f64; 3]>> {
        let spots = self.points.iter().map(|&spot| &self.network.spots[self.joined[spot]]);
        spots.map(|spot| (!spot.guessed).then(|| spot.start.coords.into())).collect()
    }

    /// The numbers of the places between which something is read, as "2-6"; empty where it is between marks.
    pub(crate) fn places(&self, listed: &Listed) -> String {
        let number = |part: &str| {
            let name = part.trim_start_matches("right ");
            let point =
                self.place_names().find(|(_, known)| *known == name).map(|(place, _)| place.to_string());
            let link = || self.links.iter().position(|link| link == name);
            point.or_else(|| link().map(|link| format!("{}-{}", 2 * link + 2, 2 * link + 3)))
        };
        let numbers: Vec<String> = listed.what.split(" - ").filter_map(number).collect();
        numbers.join("-")
    }

    /// The network that was adjusted: marks that nothing of the car depends on stay where they are thought to be.
    fn adjusted(&self) -> Result<(Network, Adjusted, Vec<Suspect>), Unadjusted> {
        let network = match judged(&self.network) {
            Ok((adjusted, suspects)) => return Ok((self.network.clone(), adjusted, suspects)),
            Err(Unadjusted::Loose(ways)) => self.with_marks_held(&ways).ok_or(Unadjusted::Loose(ways))?,
            Err(error) => return Err(error),
        };
        judged(&network).map(|(adjusted, suspects)| (network, adjusted, suspects))
    }

    /// The network with the coordinates held in which it is loose, if they are those of marks that may be a good deal off
    /// without moving any point of the car much, as along a string.
    fn with_marks_held(&self, ways: &[Freedom]) -> Option<Network> {
        /// How far off a mark may be, mm, and how much of that a point may move.
        const OFF: [f64; 2] = [50.0, 0.05];
        let of_mark = |way: &Freedom| match way.mend? {
            ObservationKind::Difference { axis, of, .. } if !self.points.contains(&of.spot) => {
                Some((of.spot, axis))
            }
            _ => None,
        };
        let marks: Vec<(usize, usize)> = ways.iter().filter_map(of_mark).collect();
        if marks.is_empty() {
            return None;
        }
        let mut network = self.network.clone();
        for &(spot, axis) in &marks {
            network.spots[spot].held[axis] = true;
        }
        let here = adjust(&network).ok()?;
        let idle = |(spot, axis, by): (usize, usize, f64)| {
            let mut moved = network.clone();
            moved.spots[spot].start[axis] += by;
            let near =
                |there: &Adjusted, of: usize| (there.points[of] - here.points[of]).norm() < OFF[0] * OFF[1];
            adjust(&moved).is_ok_and(|there| self.points.iter().all(|&of| near(&there, of)))
        };
        let mut moves = marks.iter().flat_map(|&(spot, axis)| [OFF[0], -OFF[0]].map(|by| (spot, axis, by)));
        moves.all(idle).then_some(network)
    }

    /// What the arm of each link was read to be, and its standard deviation, mm; readings of one arm are averaged by their weights.
    pub fn arm_lengths(&self) -> Vec<(usize, [f64; 2])> {
        let of_link = |link: usize| {
            let of_link = self.arms.iter().filter(|(_, of)| *of == link);
            let read = of_link.filter_map(|(observation, _)| self.network.observations.get(*observation));
            let [weight, sum] = read.fold([0.0, 0.0], |[weight, sum], read| {
                [weight + read.sigma.powi(-2), sum + read.reads * read.sigma.powi(-2)]
            });
            (weight > 0.0).then(|| (link, [sum / weight, weight.sqrt().recip()]))
        };
        (0..self.links.len()).filter_map(of_link).collect()
    }

    /// The errors of the car's numbers: those of its points, and of the readings beside them.
    fn errors(&self, of_spots: &DMatrix<f64>, sigmas: &Sigmas) -> Errors {
        let mut covariance = DMatrix::zeros(Measurand::NUMBERS, Measurand::NUMBERS);
        covariance[(33, 33)] = sigmas.camber.powi(2);
        covariance[(34, 34)] = sigmas.toe.powi(2);
        let points: Vec<(Measurand, usize)> = Measurand::points().zip(self.points).collect();
        for (a, spot_a) in &points {
            for (b, spot_b) in &points {
                let from = of_spots.view((3 * spot_a, 3 * spot_b), (3, 3));
                covariance.view_mut((a.place().start, b.place().start), (3, 3)).copy_from(&from);
            }
        }
        Errors::of(covariance)
    }

    /// The spots at the ends of a link.
    fn ends(&self, link: usize) -> Option<[usize; 2]> {
        let spot = |of: Measurand| Measurand::points().position(|point| point == of).map(|i| self.points[i]);
        Some([spot(Measurand::Subframe(link))?, spot(Measurand::Knuckle(link))?])
    }

    /// Whether a link has a length of its own: two ends, and not those of the link before it, as a strut's second place has.
    fn has_length(&self, link: usize) -> bool {
        let ends = self.ends(link);
        let before = link.checked_sub(1).and_then(|before| self.ends(before));
        ends.is_some_and(|[inner, outer]| inner != outer) && ends != before
    }

    fn link(
        &self,
        link: usize,
        adjusted: &Adjusted,
        errors: &Errors,
        reach: &impl Fn(&dyn Fn(&Adjusted) -> f64) -> f64,
    ) -> SurveyedLink {
        let way = |adjusted: &Adjusted| {
            let way = |[subframe, knuckle]: [usize; 2]| adjusted.points[knuckle] - adjusted.points[subframe];
            self.ends(link).map_or(Vector3::zeros(), way)
        };
        let length = way(adjusted).norm();
        let sigma = errors.of_length(link, &(way(adjusted) / length)) + reach(&|case| way(case).norm());
        let name = &self.links[link];
        let name = if self.holds[link].is_rod() { name } else { self.holds[link].member(name) }.to_owned();
        SurveyedLink { name, length_mm: length, good_to_mm: SIGMAS_OF_95 * sigma }
    }

    /// What is measured, in words as they stand with the observations.
    fn what_is(&self, kind: &ObservationKind) -> String {
        let read = self.network.observations.iter().position(|seen| seen.kind == *kind);
        read.map_or_else(
            || {
                let names: Vec<&str> = kind.spots().iter().map(|spot| self.names[*spot].as_str()).collect();
                format!("{} {}", MeasuringWay::of(kind).name(), names.join(" - "))
            },
            |i| self.what[i].clone(),
        )
    }

    /// The reading that tells cases apart, and what it would read in each, mm or degrees.
    fn decide(&self, cases: &[&Adjusted]) -> Option<(Decide, Vec<f64>)> {
        let deciding = deciding(&self.network, cases, |kind| MeasuringWay::of(kind).usual_sigma())?;
        let kind = deciding.kind;
        let again = self.network.observations.iter().any(|seen| seen.kind == kind);
        let reads = deciding.reads.iter().map(|reads| shown(&kind, *reads)).collect();
        Some((Decide { what: self.what_is(&kind), unit: unit(&kind), again, kind }, reads))
    }

    /// The unit that an observation is shown in: "mm" or "deg".
    pub(crate) fn unit(&self, observation: usize) -> &'static str {
        unit(&self.network.observations[observation].kind)
    }

    fn twin(&self, twin: &Twin, adjusted: &Adjusted) -> NoSurvey {
        let moved = |spot: &usize| (twin.there.points[*spot] - adjusted.points[*spot]).norm() > Twin::APART;
        NoSurvey::Twin {
            spot: twin.spot,
            here: adjusted.points[twin.spot].into(),
            there: twin.other.into(),
            others: (0..self.names.len()).filter(|spot| *spot != twin.spot && moved(spot)).collect(),
            decide: self
                .decide(&[adjusted, &twin.there])
                .map(|(decide, reads)| Box::new((decide, [reads[0], reads[1]]))),
        }
    }

    fn observation(&self, i: usize, adjusted: &Adjusted) -> SurveyedObservation {
        let (observation, look) = (&self.network.observations[i], &adjusted.looks[i]);
        let shown = |value: f64| shown(&observation.kind, value);
        SurveyedObservation {
            what: self.what[i].clone(),
            unit: unit(&observation.kind),
            reads: shown(observation.reads),
            sigma: shown(observation.sigma),
            fits: shown(look.adjusted),
            redundancy: look.redundancy,
            standardized: look.standardized,
            noticed_from: look.noticed_from.is_finite().then(|| shown(look.noticed_from)),
        }
    }

    fn suspect(&self, suspect: &Suspect) -> SuspectObservation {
        let alone = self.candidate(suspect.observation, suspect.should_read);
        let mut cases: Vec<(SuspectCandidate, &Adjusted)> = (suspect.cases.iter())
            .map(|case| (self.candidate(case.observation, case.should_read), &case.rest))
            .collect();
        // Among equals the one that looks like a usual slip is the likeliest.
        cases.sort_by_key(|(candidate, _)| candidate.slip.is_none());
        let rests: Vec<&Adjusted> = cases.iter().map(|(_, rest)| *rest).collect();
        let (decide, reads) = self.decide(&rests).unzip();
        let mut candidates: Vec<SuspectCandidate> =
            cases.into_iter().map(|(candidate, _)| candidate).collect();
        for (candidate, reads) in candidates.iter_mut().zip(reads.unwrap_or_default()) {
            candidate.decides = Some(reads);
        }
        let first = candidates.first().unwrap_or(&alone).clone();
        let SuspectCandidate { observation, what, unit, reads, should_read, off, slip, .. } = first;
        SuspectObservation {
            observation,
            what,
            unit,
            reads,
            should_read,
            off,
            standardized: suspect.standardized,
            slip,
            alike: candidates.iter().skip(1).map(|candidate| candidate.observation).collect(),
            candidates,
            decide,
        }
    }

    fn candidate(&self, place: usize, should: f64) -> SuspectCandidate {
        let observation = &self.network.observations[place];
        let [reads, should_read] = [observation.reads, should].map(|value| shown(&observation.kind, value));
        // Four deviations of the reading itself: what it might be off without any slip.
        let near = 4.0 * observation.sigma;
        SuspectCandidate {
            observation: place,
            what: self.what[place].clone(),
            unit: unit(&observation.kind),
            reads,
            should_read,
            off: reads - should_read,
            slip: Slip::of(observation.reads, should, near, is_angle(&observation.kind)),
            decides: None,
        }
    }
}

impl SuspectCandidate {
    /// The whole centimetres by which it is off, mm.
    pub(crate) fn whole_mm(&self) -> f64 {
        (self.off / 10.0).round().abs() * 10.0
    }
}

impl Slip {
    /// The usual slip that makes one number of another, to within `near`.
    fn of(reads: f64, should: f64, near: f64, angle: bool) -> Option<Self> {
        let fits = |read: f64, scale: f64| (read - should).abs() <= near.max(scale * should.abs());
        if fits(-reads, 0.0) && reads.abs() > near {
            return Some(Self::Sign);
        }
        if angle {
            return None;
        }
        // A factor betrays itself within a few percent; nothing else comes near it.
        let by = |factor: f64| fits(reads * factor, 0.03) || fits(reads / factor, 0.03);
        if by(25.4) {
            return Some(Self::Inches);
        }
        if by(10.0) {
            return Some(Self::Centimetres);
        }
        if transposed(reads).any(|read| (read - should).abs() <= near) {
            return Some(Self::Transposed);
        }
        // Whole lines of a tape, to what an eye makes of them; nearer multiples would fit any error.
        let off = (reads - should).abs();
        let round = [10.0, 20.0, 50.0, 100.0, 200.0].into_iter().any(|line| (off - line).abs() <= 1.5);
        round.then_some(Self::Round)
    }
}

/// A whole number of mm with two neighbouring digits exchanged, all ways.
pub(crate) fn transposed(reads: f64) -> impl Iterator<Item = f64> {
    let digits: Vec<u8> = format!("{:.0}", reads.abs()).into_bytes();
    let sign = reads.signum();
    (1..digits.len()).filter_map(move |i| {
        let mut other = digits.clone();
        other.swap(i - 1, i);
        let number: f64 = std::str::from_utf8(&other).ok()?.parse().ok()?;
        (other != digits).then_some(sign * number)
    })
}

#[cfg(test)]
mod tests {
    use super::Slip;

    #[test]
    fn the_usual_slips_are_told_apart() {
        let slip = |reads, should| Slip::of(reads, should, 6.0, false);
        assert_eq!(slip(20.0, 508.9), Some(Slip::Inches));
        assert_eq!(slip(50.9, 508.0), Some(Slip::Centimetres));
        assert_eq!(slip(542.0, 517.0), None);
        assert_eq!(slip(452.0, 542.5), Some(Slip::Transposed));
        assert_eq!(slip(-165.0, 164.2), Some(Slip::Sign));
        assert_eq!(slip(608.0, 508.5), Some(Slip::Round));
        assert_eq!(slip(523.5, 508.0), None);
    }
}
