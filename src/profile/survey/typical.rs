//! Where the points of a car would typically be, and how far a car may be off that.

use nalgebra::DMatrix;
use toml::Spanned;

use crate::car::{Measurand, Sigmas, TypicalPlace, Variance, typical};
use crate::measure::network::PointPrior;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::{LIES, Link, Member, Profile, Typical};
use crate::profile::layers::Layers;

/// Standard deviation of a coordinate of a pivot off its typical place, all in all, mm: common practice, no source.
const OFF: f64 = 30.0;
/// The same of the wheel centre, whose place is measured: half of the track, and the radius, mm.
const OFF_AT_WHEEL: f64 = 2.0;

/// Places of the points of a car, before anything is measured.
#[derive(Clone)]
pub(super) struct Assumed {
    /// In the order of [`Measurand::points`], mm.
    pub(super) places: [[f64; 3]; 11],
    covariance: DMatrix<f64>,
    /// The pivots that are typical; the others are given.
    pub(super) typical: Vec<usize>,
}

impl Checker {
    /// Where the points are assumed to be; what the file gives is given.
    pub(super) fn assumed(&mut self, profile: &Profile, sigmas: &Sigmas) -> Option<Assumed> {
        let keys = Layers::alone(profile, Profile::typical);
        let [track, radius] = [Typical::track, Typical::wheel_radius].map(|slot| self.read(&keys, slot));
        let [off, off_at_wheel] = [(Typical::pivot, OFF), (Typical::wheel, OFF_AT_WHEEL)]
            .map(|(slot, usual)| self.read(&keys, slot).unwrap_or(usual));
        let kinds: Vec<Option<&TypicalPlace>> =
            (0..Profile::link.all(profile).len()).map(|link| self.lies(profile, link)).collect();
        let (track, radius) = (track?, radius?);
        let mut assumed =
            Assumed { places: [[0.0; 3]; 11], covariance: DMatrix::zeros(33, 33), typical: Vec::new() };
        let mut missing = false;
        for (i, point) in Measurand::points().enumerate() {
            let given = profile.point(point);
            // What is one with another's is known by that.
            let own = point.link().is_none_or(|link| {
                let of = Profile::link.all(profile).get(link).map(|of| of.get_ref().member());
                of.is_none_or(|member| member.owns()[usize::from(matches!(point, Measurand::Knuckle(_)))])
            });
            let deviations = if let Some(value) = given {
                let Some(at) = self.coordinates(value) else {
                    missing = true;
                    continue;
                };
                assumed.places[i] = at;
                let deviations = self.of_point(point, Some(value), profile.point_sigma(point), sigmas)?;
                if own { deviations } else { [0.0; 3] }
            } else if point == Measurand::Centre {
                assumed.places[i] = [0.0, track / 2.0, radius];
                [off_at_wheel; 3]
            } else {
                // What is wrong with a link that does not say where it lies was told.
                let place = point.link().and_then(|link| kinds.get(link).copied().flatten());
                let Some(place) = place else {
                    missing = true;
                    continue;
                };
                let end = usize::from(matches!(point, Measurand::Knuckle(_)));
                assumed.places[i] = place.at(assumed.places[0], radius)[end];
                let deviations = match place.off {
                    Some(own) if end == 0 => own.map(|own| own * off / OFF),
                    _ => [off; 3],
                };
                if own {
                    assumed.typical.push(i);
                    deviations
                } else {
                    [0.0; 3]
                }
            };
            for (axis, deviation) in deviations.iter().enumerate() {
                assumed.covariance[(3 * i + axis, 3 * i + axis)] = deviation.powi(2);
            }
        }
        if missing {
            return None;
        }
        assumed.together(&kinds);
        Some(assumed)
    }

    /// The kind of a link, where it says how it lies or is what lies at one place only; told where it has neither that nor its points.
    fn lies(&mut self, profile: &Profile, link: usize) -> Option<&'static TypicalPlace> {
        let links = Profile::link.all(profile);
        let of = &links[link];
        let member = of.get_ref().member();
        let whole =
            Link::ENDS.iter().zip(member.owns()).all(|(end, own)| !own || end.of(of.get_ref()).is_some());
        let lies = Link::lies.of(of.get_ref());
        let stands = Link::on.of(of.get_ref());
        if let (Some(lies), Some(on)) = (lies, stands) {
            self.tell(
                Finding::error(lies.span(), "this link needs no `lies`")
                    .other(on.span(), "it stands on that wishbone")
                    .help("take the line with `lies` out"),
            );
            return None;
        }
        let wide = matches!(member, Member::Wishbone | Member::RearLeg);
        let places: Vec<&str> = LIES.into_iter().filter(|lies| is_wide(lies) == wide).collect();
        let text = match member {
            Member::Blade | Member::BushUp | Member::Strut | Member::StrutBolt => member.noun().to_owned(),
            _ if stands.is_some() => "upright".to_owned(),
            _ => {
                let Some(lies) = lies else {
                    // Of a wishbone it was told of its first leg.
                    if !whole && member != Member::RearLeg {
                        let name = Link::name.of(of.get_ref()).map_or("", |name| name.get_ref().trim());
                        let name = if wide { name.trim_end_matches(member.places()[0]).trim() } else { name };
                        self.tell(
                            Finding::gap(
                                of.span(),
                                format!(
                                    "where does the {} \"{name}\" lie?",
                                    if wide { "wishbone" } else { "link" }
                                ),
                            )
                            .label("needs `lies`, or its points")
                            .help(format!("add `lies = \"...\"`, one of: {}", places.join("; "))),
                        );
                    }
                    return None;
                };
                let text = plain(lies.get_ref());
                if !places.contains(&text.as_str()) {
                    let quoted: Vec<String> = places.iter().map(|kind| format!("\"{kind}\"")).collect();
                    self.tell(
                        Finding::unknown(lies.span(), "place", lies.get_ref(), &places)
                            .help(format!("the places are: {}", quoted.join(", "))),
                    );
                    return None;
                }
                let said = |other: &'_ &Spanned<Link>| other.get_ref().member() != Member::RearLeg;
                let before = links[..link].iter().filter(said);
                let before = before.filter_map(|other| Link::lies.of(other.get_ref()));
                if let Some(first) = before
                    .into_iter()
                    .find(|other| !whole && member != Member::RearLeg && plain(other.get_ref()) == text)
                {
                    self.tell(
                        Finding::error(lies.span(), "two links cannot lie at one place")
                            .label("the second")
                            .other(first.span(), "the first")
                            .help("of two alike say which is the front and which the rear one, or give the points of one"),
                    );
                }
                if member == Member::RearLeg { format!("{text}, rear") } else { text }
            }
        };
        let kinds: Vec<&str> = links.iter().map(|link| link.get_ref().member().noun()).collect();
        typical().place(&text, &kinds)
    }
}

/// Whether a place is a wishbone's.
fn is_wide(lies: &str) -> bool {
    lies.ends_with("wide")
}

impl Assumed {
    /// Puts in how the errors of typical places go together.
    fn together(&mut self, kinds: &[Option<&TypicalPlace>]) {
        let points: Vec<Measurand> = Measurand::points().collect();
        let Variance { link, frame, knuckle, corner } = &typical().variance;
        let off = self.covariance.diagonal().map(f64::sqrt);
        let corner_of = |point: Measurand| Some(&kinds.get(point.link()?)?.as_ref()?.corner);
        for &i in &self.typical {
            for &j in self.typical.iter().filter(|j| **j != i) {
                let [a, b] = [points[i], points[j]];
                for axis in 0..3 {
                    let shared = match (a, b) {
                        (Measurand::Subframe(_), Measurand::Subframe(_)) => frame[axis],
                        (Measurand::Knuckle(_), Measurand::Knuckle(_)) if corner_of(a) == corner_of(b) => {
                            knuckle[axis] + corner[axis]
                        }
                        (Measurand::Knuckle(_), Measurand::Knuckle(_)) => knuckle[axis],
                        _ if a.link() == b.link() => link[axis],
                        _ => 0.0,
                    };
                    let [i, j] = [i, j].map(|point| 3 * point + axis);
                    self.covariance[(i, j)] = shared * (off[i] * off[j]);
                }
            }
        }
        // Forward counts from the wheel centre.
        self.covariance.row_mut(0).fill(0.0);
        self.covariance.column_mut(0).fill(0.0);
    }

    /// What a network takes of it.
    pub(super) fn prior(&self, spots: &[usize]) -> PointPrior {
        PointPrior::new(spots, &self.places, self.covariance.clone())
    }
}

fn plain(text: &str) -> String {
    text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_has_the_kinds_that_may_be_said_and_sound_parts() {
        let kinds = typical().kind.iter().map(|kind| kind.lies.as_str());
        assert!(kinds.eq(LIES.into_iter().filter(|lies| !is_wide(lies))));
        for (kind, words) in [
            ("blade", &["blade"][..]),
            ("strut", &["strut"]),
            (
                "wishbone",
                &["below, wide", "below, wide, rear", "above, wide", "above, wide, rear", "upright"],
            ),
        ] {
            assert!(words.iter().all(|word| typical().place(word, &[kind]).is_some()));
        }
        let Variance { link, frame, knuckle, corner } = &typical().variance;
        for axis in 0..3 {
            assert!(link[axis] + frame[axis] < 1.0 && link[axis] + knuckle[axis] + corner[axis] < 1.0);
        }
    }
}
