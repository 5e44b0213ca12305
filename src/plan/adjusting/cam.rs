//! Cams as an answer sets them, or leaves them.

use serde::Serialize;

use super::adjust::{AdjustedSide, Adjuster, AdjusterPart, SettingQuestion};
use super::task::CONFIRMED;
use crate::car::{Link, Side};
use crate::geometry::Figure;
use crate::plan::wheel::Reading;

/// A stock cam that is not turned.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct OtherCam {
    /// The link at whose subframe pivot it sits.
    pub link: String,
    /// What becomes of it.
    #[serde(rename = "use")]
    pub stands: CamUse,
    /// Turn from the middle, degrees; positive: pivot moved along the slot's direction.
    pub setting_deg: f64,
    /// Shift of the pivot from the middle of the slot, mm.
    pub shift_mm: f64,
    /// Turn in marks from the middle, where the cam has marks.
    pub marks: Option<f64>,
    /// Whether the pivot stands towards the wheel from the middle, rather than away from it.
    pub towards_wheel: bool,
}

/// What a wheel reads with a cam at one of its marks.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct AtMark {
    /// The link at whose subframe pivot the cam sits.
    pub link: String,
    /// Marks from the middle; positive: pivot moved along the slot's direction.
    pub marks: i32,
    /// What the wheel reads.
    #[serde(flatten)]
    pub reading: Reading,
}

/// What becomes of a stock cam that is not turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CamUse {
    /// It stays as it was found.
    AsFound,
    /// It is locked out at the middle of its slot, because an arm takes its place.
    Locked,
}

/// A cam that is turned.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamSetting {
    /// The link at whose subframe pivot it sits.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Turn from the middle, degrees; positive: pivot moved along the slot's direction.
    pub setting_deg: f64,
    /// Shift of the pivot from the middle of the slot, mm.
    pub shift_mm: f64,
    /// What is left of the pivot's movement towards the end it is turned to, mm.
    pub reserve_mm: f64,
    /// Whether the pivot moves towards the wheel from the middle, rather than away from it.
    pub towards_wheel: bool,
    /// The turn as it was found, degrees.
    pub found_deg: f64,
    /// Turn in marks from the middle, where the cam has marks.
    pub marks: Option<f64>,
    /// What the next mark outward would still move the pivot, mm.
    pub next_mark_mm: Option<f64>,
    /// What it would change the figure that the cam sets, degrees.
    pub next_mark_deg: Option<f64>,
    /// False where the cam stands at its end and the figure is not met.
    pub in_reach: bool,
}

/// The cams that an answer turns, at given values of its adjusters.
pub(crate) fn cams_turned(
    question: &SettingQuestion<'_>,
    exact: &AdjustedSide,
    values: &[f64],
) -> Vec<CamSetting> {
    let turned = |i: &usize| question.adjusters[*i].is_cam() && exact.parts[*i] != AdjusterPart::Home;
    let places = (0..question.adjusters.len()).filter(turned);
    places.filter_map(|i| cam_setting(question, i, exact, values[i])).collect()
}

/// All other cams of a side: those that stay as they were found, and those that are locked out at the middle of the slot.
pub(crate) fn cams_left(
    side: &Side,
    adjusters: &[Adjuster],
    exact: &AdjustedSide,
    locked: impl Fn(&Link) -> bool,
) -> Vec<OtherCam> {
    let turned = |link: usize| {
        let parts = adjusters.iter().zip(&exact.parts);
        parts.into_iter().any(|(a, part)| a.is_cam() && a.link == link && *part != AdjusterPart::Home)
    };
    let left = |(i, link): (usize, &Link)| {
        let cam = link.cam.filter(|_| !turned(i))?;
        let setting = if locked(link) { 0.0 } else { cam.setting };
        Some(OtherCam {
            link: link.name.clone(),
            stands: if locked(link) { CamUse::Locked } else { CamUse::AsFound },
            setting_deg: setting.to_degrees(),
            shift_mm: cam.shift(setting),
            marks: cam.mark().map(|mark| setting / mark),
            towards_wheel: link.is_outward(cam.shift(setting)),
        })
    };
    side.links.iter().enumerate().filter_map(left).collect()
}

pub(crate) fn cam_setting(
    question: &SettingQuestion<'_>,
    index: usize,
    exact: &AdjustedSide,
    shift: f64,
) -> Option<CamSetting> {
    let (side, adjuster) = (question.side, &question.adjusters[index]);
    let link = &side.links[adjuster.link];
    let cam = link.cam.as_ref()?;
    let setting = cam.setting_for(shift);
    let next_mark_mm = cam.next_mark(setting, if shift < 0.0 { -1.0 } else { 1.0 });
    let part = exact.parts[index];
    let rates =
        question.linkage(exact).ok().map(|position| question.rates(adjuster, &exact.setup, &position));
    let sets = part.meets().or(adjuster.sets).unwrap_or_else(|| {
        let in_tolerances =
            |f: Figure| rates.map_or(0.0, |r| (r[f as usize] / question.spec.tolerance(f)).abs());
        if in_tolerances(Figure::Camber) >= in_tolerances(Figure::Toe) { Figure::Camber } else { Figure::Toe }
    });
    // One that is used for no figure stands at its end for whatever is missed.
    let figures = question.figures(&exact.position);
    let off = |f: Figure| (question.spec.target(f) - figures[f as usize]).abs();
    let unset = question.unset();
    let both = [Figure::Camber, Figure::Toe].into_iter().filter(|f| !unset.contains(f));
    let off = if adjuster.sets.is_some() { off(sets) } else { both.map(off).fold(0.0, f64::max) };
    Some(CamSetting {
        link: link.name.clone(),
        sets,
        setting_deg: setting.to_degrees(),
        shift_mm: shift,
        reserve_mm: (cam.eccentricity - shift.abs()).max(0.0),
        towards_wheel: link.is_outward(shift),
        found_deg: cam.setting.to_degrees(),
        marks: cam.mark().map(|mark| setting / mark),
        next_mark_mm,
        next_mark_deg: next_mark_mm.zip(rates).map(|(mm, rates)| (mm * rates[sets as usize]).to_degrees()),
        in_reach: part.stop().is_none() || off <= CONFIRMED,
    })
}
