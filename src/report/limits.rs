//! What stops the arms and cams of a wheel, and what that leaves undone.

use crate::car::{Hand, Limit};
use crate::geometry::Figure;
use crate::plan::{CamSetting, CorrectedSide, Judged, PlanSide};

/// What is left to a wheel whose arm ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AtEnd {
    /// It is on target all the same: a cam takes the rest.
    OnTarget,
    /// It is within tolerance all the same.
    Tolerated,
    /// It is out of spec.
    Missed,
}

impl AtEnd {
    /// Of a wheel by what it reads with the exact lengths, and after rounding; `set` are the figures that something sets.
    fn of(exact: &Judged, result: &Judged, set: impl Fn(Figure) -> bool) -> Self {
        /// More than the exact solution is off, degrees.
        const MET: f64 = 1e-7;
        let met = |figure, off: f64| !set(figure) || off.abs() <= MET;
        let on_target = met(Figure::Camber, exact.camber_off_deg) && met(Figure::Toe, exact.toe_off_deg);
        match (on_target, result.within_spec) {
            (_, false) => Self::Missed,
            (true, true) => Self::OnTarget,
            (false, true) => Self::Tolerated,
        }
    }
}

/// What stops an arm, as a sentence.
pub(super) fn limit_sentence(hand: Hand, link: &str, limit: Limit, at_end: AtEnd) -> Option<String> {
    let wants = |way: &str| match at_end {
        AtEnd::OnTarget => format!("a cam does what is left {way}."),
        AtEnd::Tolerated => format!("the target wants it {way}. Within tolerance all the same."),
        AtEnd::Missed => format!("the target wants it {way}. A {way} arm is needed."),
    };
    Some(match limit {
        Limit::Ok => return None,
        Limit::Shortest => format!("{link}, {hand}: as short as it goes, {}", wants("shorter")),
        Limit::Longest => format!("{link}, {hand}: as long as it goes, {}", wants("longer")),
        Limit::Thread if at_end == AtEnd::OnTarget => {
            format!("{link}, {hand}: as long as its thread lets it, a cam does what is left longer.")
        }
        Limit::Thread => format!(
            "{link}, {hand}: REFUSED at the length wanted, too little thread would be in the body. Get an arm that reaches \
             it with enough thread in. The arm maker's figure rules."
        ),
    })
}

/// What becomes of the spec, in one sentence: `met` where it is met and no arm is refused.
pub(super) fn verdict(met: &'static str, within_spec: bool, refused: bool) -> &'static str {
    match (within_spec, refused) {
        (true, false) => met,
        (true, true) => "AN ARM IS REFUSED, though the wheels would read within spec",
        (false, true) => "THE SPEC IS NOT MET AND AN ARM IS REFUSED",
        (false, false) => "THE SPEC IS NOT MET",
    }
}

/// A wheel that was worked out with whole steps.
pub(super) struct Limits<'a> {
    hand: Hand,
    arms: Vec<(&'a str, Limit)>,
    /// Arms that would have too little thread in even at the stock length.
    refused: Vec<&'a str>,
    cams: Vec<&'a CamSetting>,
    unset: &'a [Figure],
    exact: &'a Judged,
    result: &'a Judged,
}

impl<'a> From<&'a PlanSide> for Limits<'a> {
    fn from(side: &'a PlanSide) -> Self {
        let refused = side.kept_arms.iter().filter(|arm| arm.limit == Limit::Thread);
        Self {
            hand: side.side,
            arms: side.arms.iter().map(|arm| (arm.link.as_str(), arm.limit)).collect(),
            refused: refused.map(|arm| arm.link.as_str()).collect(),
            cams: side.cams.iter().collect(),
            unset: &side.unset,
            exact: &side.exact,
            result: &side.result,
        }
    }
}

impl<'a> From<&'a CorrectedSide> for Limits<'a> {
    fn from(side: &'a CorrectedSide) -> Self {
        Self {
            hand: side.side,
            arms: side.arms.iter().map(|arm| (arm.link.as_str(), arm.limit)).collect(),
            refused: Vec::new(),
            cams: side.cams.iter().map(|cam| &cam.setting).collect(),
            unset: &side.unset,
            exact: &side.exact,
            result: &side.result,
        }
    }
}

impl Limits<'_> {
    /// What stops its arms and cams.
    pub(super) fn stops(&self) -> Vec<String> {
        let hand = self.hand;
        let at_end = AtEnd::of(self.exact, self.result, |figure| !self.unset.contains(&figure));
        let arms = self.arms.iter().filter_map(|(link, limit)| limit_sentence(hand, link, *limit, at_end));
        let refused = self.refused.iter().map(|link| {
            format!(
                "{link}, {hand}: REFUSED, too little thread is in the body even at the stock length. Do not fit it."
            )
        });
        let enough = self.result.within_spec;
        let short = if enough { "short of the target, but within tolerance" } else { "and it is not enough" };
        let cams = self.cams.iter().filter(|cam| !cam.in_reach);
        let cams = cams.map(|cam| format!("{} cam, {hand}: at its end for {}, {short}.", cam.link, cam.sets));
        arms.chain(refused).chain(cams).collect()
    }

    /// Figures that nothing sets.
    pub(super) fn unset(&self) -> Vec<String> {
        let words = |figure| {
            format!("{figure}, {}: nothing that is fitted sets it; it stays as it comes.", self.hand)
        };
        self.unset.iter().map(words).collect()
    }

    /// That finer steps would do.
    pub(super) fn too_coarse(&self) -> Option<String> {
        (!self.result.within_spec && self.exact.within_spec).then(|| {
            format!(
                "{}: only the steps that can be locked are too coarse; the exact lengths are within spec. A finer setting \
                 reaches it.",
                self.hand
            )
        })
    }
}
