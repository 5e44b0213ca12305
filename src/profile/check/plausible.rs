//! What a sound car hardly has, although it could: pivots where no rear axle has them, roles that are mixed up, sides that are unlike.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{Hand, Hardpoints, Setup, Side, is_ordinary, unlikeness};
use crate::geometry::{Figure, Ground, Position};
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::guess::corrections;
use crate::profile::keys::{Link, Profile};
use crate::profile::layers::Layers;

/// A slip is told where it makes the layout likelier by this, as a logarithm: of a hundred sound cars hardly one has one.
const TELLING: f64 = 8.0;
/// How unlike the places a layout is on average: half of its thirty coordinates.
const EXPECTED: f64 = 15.0;
/// A layout that is less likely than this is told whatever may explain it.
const FAR: f64 = 60.0;
/// Pivots of two links that are as near as this along two axes are one joint, mm.
const SHARED: f64 = 0.5;

/// Another reading of the pivots, what is said of it, and where it stands.
struct MisreadPivot {
    points: Hardpoints,
    cost: f64,
    words: String,
    span: Range<usize>,
}

impl Checker {
    /// Whether the pivots lie as those of a rear axle do, and which slip explains it if they do not.
    pub(super) fn resembles(&mut self, side: &Side, links: &[Layers<'_, Link>]) {
        let own = |keys: &Layers<'_, Link>, end: usize| {
            keys.get(Link::ENDS[end]).is_some_and(|(_, from_right)| from_right == (side.hand == Hand::Right))
        };
        let any = links.iter().any(|keys| (0..2).any(|end| own(keys, end)));
        let odd_wheel = !is_ordinary("half of the track", side.wheel.centre.y)
            || !is_ordinary("the height of the hub", side.wheel.centre.z);
        if !any || odd_wheel {
            return;
        }
        self.one_joint(side, links);
        self.front_behind_rear(side, links);
        let points = Hardpoints::of(side);
        let before = unlikeness(&points);
        if before < TELLING {
            return;
        }
        let mut suspects: Vec<MisreadPivot> = (links.iter().enumerate())
            .flat_map(|(i, keys)| (0..2).map(move |end| (i, keys, end)))
            .filter(|(_, keys, end)| own(keys, *end))
            .filter_map(|(i, keys, end)| Some(misread(&points, i, end, keys.get(Link::ENDS[end])?.0)))
            .flatten()
            .collect();
        suspects.extend(turned_round(&points, links));
        // What is like no known layout with the slip undone either says less of it, as with the variance factor of an adjustment.
        let gain = |suspect: &MisreadPivot| {
            let after = unlikeness(&suspect.points);
            (before - after - suspect.cost) / (after / EXPECTED).max(1.0)
        };
        let told = suspects.iter().map(|suspect| (gain(suspect), suspect)).max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((gain, suspect)) = told.filter(|(gain, _)| *gain >= TELLING || before > FAR) else { return };
        let finding = Finding::warning(suspect.span.clone(), "hardly a rear axle has its pivots like this");
        let finding = if gain >= TELLING {
            finding.label(suspect.words.clone())
        } else {
            finding.label("this one first of all")
        };
        self.tell(finding.help(
            "measure this point again: forward of the wheel centre, from the centreline, from the floor",
        ));
    }

    /// A front link that lies behind the rear one of the same name.
    fn front_behind_rear(&mut self, side: &Side, links: &[Layers<'_, Link>]) {
        let name = |i: usize| side.links[i].name.to_lowercase();
        for front in (0..links.len()).filter(|i| name(*i).contains("front")) {
            let named = |i: &usize| name(*i) == name(front).replace("front", "rear");
            let Some(rear) = (0..links.len()).find(named) else { continue };
            if side.links[front].subframe.x < side.links[rear].subframe.x {
                let [here, there] = [front, rear].map(|link| links[link].span_of(Link::ENDS[0]));
                let [front, rear] = [front, rear].map(|link| &side.links[link].name);
                self.tell(
                    Finding::warning(here, format!("\"{front}\" lies behind \"{rear}\""))
                        .label("this pivot")
                        .other(there, "is behind this one")
                        .help("x counts forward of the wheel centre, behind it is minus: is a sign lost, here or on all x?"),
                );
            }
        }
    }

    /// Two pivots of the knuckle that are one joint but for one coordinate.
    fn one_joint(&mut self, side: &Side, links: &[Layers<'_, Link>]) {
        for i in 0..links.len() {
            for j in 0..i {
                let off = (side.links[i].knuckle - side.links[j].knuckle).abs();
                let near = off.iter().filter(|off| **off < SHARED).count();
                let axis = off.imax();
                let [a, b] = [i, j].map(|link| side.links[link].knuckle[axis]);
                let slip = |typed, meant: f64| {
                    corrections(typed).iter().any(|correction| (correction.value - meant).abs() < SHARED)
                };
                if near == 2 && (slip(a, b) || slip(b, a)) {
                    let [here, there] = [i, j].map(|link| links[link].span_of(Link::ENDS[1]));
                    self.tell(
                        Finding::warning(here, format!("\"{}\" and \"{}\" end at one place but for one coordinate", side.links[j].name, side.links[i].name))
                            .label(format!("{:.0} mm off", off.amax()))
                            .other(there, "this one")
                            .help("do they share one joint? Then both points are the same: look for the misreading in one of them"),
                    );
                }
            }
        }
    }

    /// Pivots that stand by themselves on the right, beside the mirror images of those on the left.
    pub(super) fn beside_its_mirror_image(&mut self, keys: &Layers<'_, Link>) {
        for end in Link::ENDS {
            let (Some(left), Some(right)) = (
                keys.base.and_then(|link| end.of(link.get_ref())),
                keys.over.and_then(|link| end.of(link.get_ref())),
            ) else {
                continue;
            };
            let mm = |point: &Spanned<Vec<Quantity>>| -> Vec<f64> {
                point.get_ref().iter().filter_map(|quantity| quantity.coordinate().ok()).collect()
            };
            // y has the other sign on the right.
            let pairs = mm(left).into_iter().zip(mm(right)).zip([1.0, -1.0, 1.0]);
            let worst = pairs.map(|((left, right), sign)| (left - sign * right).abs()).fold(0.0, f64::max);
            if !is_ordinary("a pivot beside its mirror image", worst) {
                self.tell(
                    Finding::warning(right.span(), "this pivot is far from the mirror image of the left one")
                        .label(format!("{worst:.0} mm"))
                        .other(left.span(), "the left one")
                        .help("a car's two sides are alike to a few mm: measure both again"),
                );
            }
        }
    }

    /// Whether each link that is used to set a figure moves it.
    pub(super) fn roles(&mut self, side: &Side, profile: &Profile) {
        let rows = Setup::as_found(side).rows(side, 0.0);
        let Ok(position) = Position::known(&rows, side.reference()) else { return };
        for figure in [Figure::Camber, Figure::Toe] {
            let effect = |i: usize| position.rate(figure, &side.wheel, &Ground::level(), i).abs();
            let all: Vec<f64> = (0..side.links.len()).map(effect).collect();
            let largest = all.iter().copied().fold(0.0, f64::max);
            for (i, link) in side.links.iter().enumerate() {
                // A cam of what is no rod has a lever of its own.
                let used = link.sets == Some(figure) && link.hold.is_rod();
                if used && !is_ordinary("the role of a link", all[i] / largest) {
                    let keys = Profile::link.all(profile)[i].get_ref();
                    let strongest = all
                        .iter()
                        .position(|effect| *effect >= largest)
                        .map_or("", |most| &side.links[most].name);
                    self.tell(
                        Finding::warning(
                            Link::sets.span(keys).unwrap_or(0..0),
                            format!("\"{}\" hardly moves {figure}, which it is to set", link.name),
                        )
                        .label(format!(
                            "a mm of \"{strongest}\" does {:.0} times as much",
                            largest / all[i].max(1e-9)
                        ))
                        .help("are the roles of two links mixed up, or one of its points misread?"),
                    );
                }
            }
        }
    }
}

/// What a pivot may have been before one slip in one of its coordinates, or with two of them in each other's place.
fn misread<'a>(
    points: &'a Hardpoints,
    link: usize,
    end: usize,
    typed: &'a Spanned<Vec<Quantity>>,
) -> impl Iterator<Item = MisreadPivot> + 'a {
    let put = move |at: Point3<f64>, cost, words| {
        let mut points = *points;
        let pivots = if end == 0 { &mut points.subframe } else { &mut points.knuckle };
        pivots[link] = at;
        MisreadPivot { points, cost, words, span: typed.span() }
    };
    let pivots = if end == 0 { &points.subframe } else { &points.knuckle };
    let at = pivots[link];
    // The pivot of a cam is where it was found, and so as it was typed.
    let slips = (0..3).flat_map(move |axis| {
        corrections(at[axis]).into_iter().filter(move |correction| axis != 1 || correction.value > 0.0).map(
            move |correction| {
                let mut meant = at;
                meant[axis] = correction.value;
                let words = format!(
                    "{} {:.0} for {:.0} would be usual. {}",
                    ["x", "y", "z"][axis],
                    correction.value,
                    at[axis],
                    correction.words
                );
                // Forward is where sound cars differ most.
                put(meant, correction.cost + if axis == 0 { 1.0 } else { 0.0 }, words)
            },
        )
    });
    let swapped = [(0, 1), (1, 2), (0, 2)].into_iter().filter_map(move |(a, b)| {
        let mut meant = at;
        meant.coords.swap_rows(a, b);
        let words = format!("{} and {} in each other's place?", ["x", "y", "z"][a], ["x", "y", "z"][b]);
        (meant.y > 0.0).then(|| put(meant, 2.5, words))
    });
    slips.chain(swapped)
}

/// The whole car with forward and backward in each other's place.
fn turned_round(points: &Hardpoints, links: &[Layers<'_, Link>]) -> Option<MisreadPivot> {
    let mut meant = *points;
    let about = points.wheel.centre.x;
    for pivot in meant.subframe.iter_mut().chain(meant.knuckle.iter_mut()) {
        pivot.x = 2.0 * about - pivot.x;
    }
    let words =
        "are the signs of all x turned round? x counts forward of the wheel centre, behind it is minus"
            .to_owned();
    Some(MisreadPivot { points: meant, cost: 1.0, words, span: links.first()?.span_of(Link::ENDS[0]) })
}
