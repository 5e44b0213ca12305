//! What the stock arms measure, held against their pivots.

use std::ops::Range;

use super::checker::Checker;
use crate::car::{self, ArmLength, Hand, LengthMisfit, Side, Sigmas};
use crate::profile::finding::Finding;
use crate::profile::guess::corrections;
use crate::profile::keys::Link;
use crate::profile::layers::Layers;

impl Checker {
    /// What the stock arm of a link measures by itself and how well that is known, mm, and where it stands.
    pub(in crate::profile) fn taped_length(
        &mut self,
        keys: &Link,
        sigmas: &Sigmas,
    ) -> Option<(f64, f64, Range<usize>)> {
        let value = Link::measured_length.of(keys)?;
        let length = self.figure(Link::measured_length.key, value)?;
        let sigma = match Link::measured_length_sigma.of(keys) {
            Some(sigma) => self.figure(Link::measured_length_sigma.key, sigma)?,
            None => sigmas.taping(),
        };
        Some((length, sigma, value.span()))
    }

    /// What the stock arm of a link measures.
    pub(super) fn arm_length(
        &mut self,
        keys: &Layers<'_, Link>,
        link: &car::Link,
        sigmas: &Sigmas,
    ) -> Option<ArmLength> {
        let sigma = keys.get(Link::measured_length_sigma);
        let Some((value, from_right)) = keys.get(Link::measured_length) else {
            if let Some((sigma, _)) = sigma {
                self.tell(
                    Finding::error(sigma.span(), "how well is a length known that is not there?")
                        .label("needs `measured_length` beside it")
                        .help("measured_length is what the stock arm measures, centre to centre"),
                );
            }
            return None;
        };
        let length = self.figure(Link::measured_length.key, value)?;
        if !link.can_measure(length) {
            self.tell(
                Finding::error(value.span(), format!("no arm of {length:.1} mm goes between these pivots"))
                    .label(format!("they are {:.1} mm apart", link.stock_length()))
                    .help("bare numbers are mm; inches need their unit: \"9 1/2 in\""),
            );
            return None;
        }
        let sigma = match sigma {
            Some((value, _)) => self.figure(Link::measured_length_sigma.key, value)?,
            None => sigmas.taping(),
        };
        // Whether it was used goes with the reading itself: a reading of the right side's own has not been, because the left
        // side's was.
        let layer = if from_right { keys.over } else { keys.base };
        let used = layer.and_then(|link| Link::measured_length_used.of(link.get_ref()));
        Some(ArmLength {
            length,
            sigma,
            hand: if from_right { Hand::Right } else { Hand::Left },
            used: used.is_some_and(|used| *used.get_ref()),
        })
    }

    /// Whether each stock arm is as long as its pivots are apart, as far as both errors tell.
    pub(super) fn lengths_fit(&mut self, side: &Side, links: &[Layers<'_, Link>]) {
        for (i, keys) in links.iter().enumerate() {
            let Some(misfit) = side.length_misfit(i) else { continue };
            let Some((value, _)) = keys.get(Link::measured_length) else { continue };
            let span = value.span();
            let name = &side.links[i].name;
            let whose = if keys.over.is_some() { format!("{} {name}", side.hand) } else { name.clone() };
            let longer = misfit.longer();
            let way = if longer > 0.0 { "longer" } else { "shorter" };
            let misread =
                misread(&side.links[i], &misfit).map_or_else(String::new, |words| format!("{words} Else "));
            self.tell(
                Finding::warning(
                    span,
                    format!(
                        "the arm \"{whose}\" is {:.1} mm {way} than its pivots are apart, and the errors of both explain {:.1} mm",
                        longer.abs(),
                        misfit.explained
                    ),
                )
                .label(format!("the points `subframe` and `knuckle` are {:.1} mm apart", misfit.between))
                .help(format!(
                    "{misread}measure the arm again, straight and centre to centre, then both its points: either the tape was misread, or \
                     the points should be {} apart",
                    if longer > 0.0 { "further" } else { "less far" }
                )),
            );
        }
    }
}

/// The slip in a coordinate of a link's pivots that explains its length best, if one does.
fn misread(link: &car::Link, misfit: &LengthMisfit) -> Option<String> {
    let ends = [link.subframe, link.knuckle];
    let slips = (0..2).flat_map(|end| (0..3).map(move |axis| (end, axis))).flat_map(|(end, axis)| {
        corrections(ends[end][axis]).into_iter().map(move |correction| {
            let mut meant = ends;
            meant[end][axis] = correction.value;
            let off = ((meant[1] - meant[0]).norm() - misfit.measured).abs() / misfit.explained;
            (off + correction.cost, off, end, axis, correction)
        })
    });
    let (.., end, axis, correction) =
        slips.filter(|(_, off, ..)| *off <= 1.0).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let (end_name, axis_name) = (["subframe", "knuckle"][end], ["x", "y", "z"][axis]);
    let was = ends[end][axis];
    Some(format!(
        "With {axis_name} {:.0} for {was:.0} of `{end_name}` it would fit: {}",
        correction.value, correction.words
    ))
}
