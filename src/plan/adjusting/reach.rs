//! What adjusters can reach all together: settings within tolerance, the outline of all readings, and over which drops.

use nalgebra::Vector2;

use super::adjust::{AdjustedSide, Adjuster, AdjusterPart, SettingQuestion};
use super::cam::AtMark;
use super::plane::{Polygon, Reached};
use crate::car::{Setup, Side, Spec};
use crate::geometry::search::{Until, last_to_hold};
use crate::geometry::{Angles, Figure, Ground};
use crate::plan::Asked;
use crate::plan::wheel::{NoPosition, Reading, forward, forward_from};

/// Distance between the drops at which reach is looked at before the run-out is narrowed down, mm.
const SCAN: f64 = 2.0;
/// The ends of a stretch of drops are narrowed down to this, mm.
const NARROW: f64 = 1e-9;
/// A shift smaller than this brings nothing more, mm.
const LEAST_SHIFT: f64 = 1e-9;
/// No grid over more adjusters than this is laid.
const MOST_IN_GRID: usize = 6;
/// So many of its settings are begun from.
const STARTS: usize = 6;
/// More rounds than any search needs whose slopes change as little as those of links.
const MOST_ROUNDS: usize = 40;

impl SettingQuestion<'_> {
    /// Settings of adjusters within their ends with both figures within tolerance, the nearest to the target; `None` where
    /// there are none.
    ///
    /// First those adjusters are tried that play a part at the start, or may; all of them only where these do not do.
    pub(super) fn within_tolerance(&self, start: &AdjustedSide, may_move: &[bool]) -> Option<AdjustedSide> {
        let all: Vec<bool> = self.adjusters.iter().map(|adjuster| !adjuster.is_for(Figure::Pitch)).collect();
        let some: Vec<bool> = all.iter().zip(may_move).map(|(all, may)| *all && *may).collect();
        let attempts = if some == all { vec![all] } else { vec![some, all] };
        attempts.iter().find_map(|moving| {
            // The grid is only laid where the search from the start stops short.
            let grid = std::iter::once_with(|| self.starts(moving)).flatten();
            let mut within =
                std::iter::once(start.clone()).chain(grid).map(|start| self.least_miss(&start, moving));
            let within = within.find(|within| self.worst_miss(&within.position) <= 1.0)?;
            Some(self.nearer(within, moving))
        })
    }

    /// The best settings of a coarse grid over several adjusters: together they can bend what is reached so that a search from
    /// one place stops short of what there is.
    fn starts(&self, moving: &[bool]) -> Vec<AdjustedSide> {
        let places: Vec<usize> = (0..moving.len()).filter(|i| moving[*i]).collect();
        let home = self.solve(&vec![AdjusterPart::Home; moving.len()]);
        let Some(home) = home.ok().filter(|_| (2..=MOST_IN_GRID).contains(&places.len())) else {
            return Vec::new();
        };
        let mut starts: Vec<AdjustedSide> = Vec::new();
        for code in 0..3_usize.pow(u32::try_from(places.len()).unwrap_or(0)) {
            let mut code = code;
            let mut by = vec![0.0; moving.len()];
            for i in &places {
                let [low, high] = self.adjusters[*i].ends();
                by[*i] = [low, f64::midpoint(low, high), high][code % 3] - home.values[*i];
                code /= 3;
            }
            starts.extend(self.moved(&home, &by));
        }
        starts.sort_by(|a, b| self.worst_miss(&a.position).total_cmp(&self.worst_miss(&b.position)));
        starts.truncate(STARTS);
        starts
    }

    /// Free adjusters that meet camber and toe, found step by step where the links cannot be followed there at once.
    pub(super) fn approach(&self, parts: &[AdjusterPart]) -> Option<AdjustedSide> {
        let free: Vec<bool> = parts.iter().map(|part| part.meets().is_some()).collect();
        let standing = |part: &AdjusterPart| if part.meets().is_some() { AdjusterPart::Home } else { *part };
        let start = self.solve(&parts.iter().map(standing).collect::<Vec<_>>()).ok()?;
        let near = self.nearer(self.least_miss(&start, &free), &free);
        self.solve_near(parts, Some(&near.position.pose)).ok()
    }

    /// The larger of the two misses made as small as it gets from a start; it ends as soon as both figures are within tolerance.
    pub(super) fn least_miss(&self, start: &AdjustedSide, moving: &[bool]) -> AdjustedSide {
        let worst = |at: &AdjustedSide| self.worst_miss(&at.position);
        let aim = |reached: Polygon| reached.least_larger();
        let better = |there: &AdjustedSide, here: &AdjustedSide| worst(there) < worst(here);
        self.descend(start.clone(), moving, |here| worst(here) <= 1.0, aim, better)
    }

    /// Settings within tolerance moved as near to the target as tolerance and ends let them.
    fn nearer(&self, within: AdjustedSide, moving: &[bool]) -> AdjustedSide {
        let aim = |reached: Polygon| reached.within_tolerance().nearest(Vector2::zeros());
        let off = |at: &AdjustedSide| Vector2::from(self.misses(&at.position)).norm();
        let better = |there: &AdjustedSide, here: &AdjustedSide| {
            self.worst_miss(&there.position) <= 1.0 && off(there) < off(here)
        };
        self.descend(within, moving, |_| false, aim, better)
    }

    /// From a setting to better ones, by linear programmes on the slopes at hand, each solved exactly; a step that does not come
    /// out better is tried shorter.
    fn descend(
        &self,
        start: AdjustedSide,
        moving: &[bool],
        done: impl Fn(&AdjustedSide) -> bool,
        aim: impl Fn(Polygon) -> Option<Reached>,
        better: impl Fn(&AdjustedSide, &AdjustedSide) -> bool,
    ) -> AdjustedSide {
        let mut here = start;
        let mut trust = f64::INFINITY;
        for _ in 0..MOST_ROUNDS {
            if done(&here) {
                break;
            }
            let Some(aim) = self.reached(&here, moving, trust).and_then(&aim) else { break };
            let size = size(&aim);
            if size < LEAST_SHIFT {
                break;
            }
            match self.moved(&here, &aim.by) {
                Some(there) if better(&there, &here) => {
                    here = there;
                    trust *= 2.0;
                }
                _ => trust = size / 4.0,
            }
        }
        here
    }

    /// What the adjusters that may move reach from a setting, none moved by more than `trust`, if slopes were constant.
    pub(super) fn reached(&self, from: &AdjustedSide, moving: &[bool], trust: f64) -> Option<Polygon> {
        let position = self.linkage(from).ok()?;
        let mut slopes = Vec::with_capacity(self.adjusters.len());
        let mut bounds = Vec::with_capacity(self.adjusters.len());
        for (i, adjuster) in self.adjusters.iter().enumerate() {
            slopes.push(self.slope(adjuster, &from.setup, &position));
            let [low, high] = adjuster.ends();
            let value = from.values[i].clamp(low, high);
            bounds.push(if moving[i] {
                [(low - value).max(-trust), (high - value).min(trust)]
            } else {
                [0.0; 2]
            });
        }
        Some(Polygon::reach(Vector2::from(self.misses(&position)), &slopes, &bounds))
    }

    /// A setting with its adjusters moved; `None` where the links do not go together then.
    pub(super) fn moved(&self, from: &AdjustedSide, by: &[f64]) -> Option<AdjustedSide> {
        let mut there = from.clone();
        for ((i, adjuster), by) in self.adjusters.iter().enumerate().zip(by) {
            // Not past an end by a rounding.
            let [low, high] = adjuster.ends();
            if *by != 0.0 {
                there.values[i] = (from.values[i] + by).clamp(low, high);
                there.parts[i] = AdjusterPart::Within;
                adjuster.apply(self.side, &mut there.setup, there.values[i]);
            }
        }
        there.position = forward_from(&from.position, self.side, &there.setup, self.drop).ok()?;
        Some(there)
    }

    /// The nearest settings in reach to ones that may lie beyond it.
    fn clamped(&self, wanted: &AdjustedSide) -> Option<AdjustedSide> {
        let mut start = wanted.clone();
        for (i, adjuster) in self.adjusters.iter().enumerate() {
            let [low, high] = adjuster.ends();
            let home = self.home(adjuster);
            start.values[i] = match wanted.parts[i] {
                AdjusterPart::Meets(_) => wanted.values[i].clamp(low, high),
                _ => wanted.values[i],
            };
            if start.values[i].is_nan() {
                start.values[i] = home;
            }
            adjuster.apply(self.side, &mut start.setup, start.values[i]);
        }
        start.position = forward_from(&wanted.position, self.side, &start.setup, self.drop).ok()?;
        Some(start)
    }

    /// Whether some settings in reach put both figures within tolerance.
    pub(super) fn holds(&self) -> bool {
        let all: Vec<bool> = self.adjusters.iter().map(|adjuster| !adjuster.is_for(Figure::Pitch)).collect();
        let holds = |start: &AdjustedSide| self.worst_miss(&self.least_miss(start, &all).position) <= 1.0;
        // The cheap ways to find a setting first: free adjusters reach the target, or nearly do.
        let wanted = self.wanted();
        let reaches =
            |wanted: &AdjustedSide| self.beyond(wanted).is_empty() && self.in_spec(&wanted.position);
        wanted.as_ref().is_some_and(reaches)
            || wanted.and_then(|wanted| self.clamped(&wanted)).is_some_and(|start| holds(&start))
            || self.solve(&vec![AdjusterPart::Home; self.adjusters.len()]).is_ok_and(|home| holds(&home))
            || self.starts(&all).iter().any(holds)
    }
}

fn size(aim: &Reached) -> f64 {
    aim.by.iter().fold(0.0, |size, by| by.abs().max(size))
}

/// What the adjusters of a side, cams or arms, can reach on a given ground.
pub(crate) struct Reach<'a> {
    pub(crate) side: &'a Side,
    pub(crate) ground: &'a Ground,
    /// The links but for the adjusters.
    pub(crate) found: &'a Setup,
    pub(crate) spec: &'a Spec,
    pub(crate) adjusters: &'a [Adjuster],
}

impl Reach<'_> {
    pub(super) fn question(&self, drop: f64) -> SettingQuestion<'_> {
        SettingQuestion {
            side: self.side,
            ground: self.ground,
            drop,
            setup: self.found,
            spec: self.spec,
            adjusters: self.adjusters,
            offset: Angles::default(),
            only: None,
        }
    }

    /// What the wheel reads at the corners of all that the adjusters reach at a drop, in order round it; a corner that the links
    /// do not come to is left out.
    pub(crate) fn outline(&self, drop: f64) -> Result<Vec<Reading>, NoPosition> {
        let question = self.question(drop);
        let home = question.solve(&vec![AdjusterPart::Home; self.adjusters.len()])?;
        let all = vec![true; self.adjusters.len()];
        let Some(reached) = question.reached(&home, &all, f64::INFINITY) else { return Ok(Vec::new()) };
        let corners = reached.corners().iter();
        let readings = corners.filter_map(|corner| question.moved(&home, &corner.by));
        Ok(readings.map(|at| Reading::of(self.side, &at.position.pose, self.ground)).collect())
    }

    /// What the wheel reads at the marks of the cams along the edges of that, along each of which one cam alone turns.
    pub(crate) fn marks(&self, drop: f64) -> Result<Vec<AtMark>, NoPosition> {
        let question = self.question(drop);
        let home = question.solve(&vec![AdjusterPart::Home; self.adjusters.len()])?;
        let all = vec![true; self.adjusters.len()];
        let Some(reached) = question.reached(&home, &all, f64::INFINITY) else { return Ok(Vec::new()) };
        let corners: Vec<&[f64]> = reached.corners().iter().map(|corner| &corner.by[..]).collect();
        let mut marks = Vec::new();
        for (from, to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            for (i, adjuster) in self.adjusters.iter().enumerate() {
                let link = &self.side.links[adjuster.link];
                let (low, high) = (from[i].min(to[i]), from[i].max(to[i]));
                let Some((cam, mark)) = link.cam.as_ref().and_then(|cam| Some((cam, cam.mark()?))) else {
                    continue;
                };
                let Some(count) = cam.marks.and_then(|count| i32::try_from(count).ok()) else { continue };
                if high - low < cam.eccentricity {
                    continue;
                }
                for marks_on in -count..=count {
                    let mut by = from.to_vec();
                    by[i] = (cam.shift(f64::from(marks_on) * mark) - home.values[i]).clamp(low, high);
                    if let Some(at) = question.moved(&home, &by) {
                        let reading = Reading::of(self.side, &at.position.pose, self.ground);
                        marks.push(AtMark { link: link.name.clone(), marks: marks_on, reading });
                    }
                }
            }
        }
        Ok(marks)
    }

    /// The stretch of drops, counted up from 0, over which the adjusters reach the spec on this ground, where its ends are asked for.
    ///
    /// Looked at every [`SCAN`] mm, so a stretch or a gap shorter than that can be missed; its ends are then narrowed down.
    /// It ends at full bump, or where the wheel can go no further.
    pub(crate) fn stretch(&self, bump: f64, asked: Asked<'_>) -> Stretch {
        if !asked.wants("reach_from_drop_mm") && !asked.wants("run_out_drop_mm") {
            return Stretch::default();
        }
        let mut before = None;
        let mut from = None;
        let mut drop = 0.0;
        loop {
            let holds = self.question(drop).holds();
            match (holds, from, before) {
                (true, None, None) => from = Some(0.0),
                (true, None, Some(before)) => from = Some(self.narrow(drop, before)),
                (false, Some(from), Some(before)) => {
                    return Stretch { from: Some(from), to: Some(self.narrow(before, drop)) };
                }
                _ => {}
            }
            let ends = drop >= bump || (!holds && forward(self.side, self.found, drop).is_err());
            if ends {
                return Stretch { from, to: if from.is_some() { None } else { Some(0.0) } };
            }
            before = Some(drop);
            drop = (drop + SCAN).min(bump);
        }
    }

    /// Where between a drop at which the adjusters reach the spec and one at which they do not the change comes, mm.
    fn narrow(&self, holds: f64, fails: f64) -> f64 {
        last_to_hold(holds, fails, Until::Within(NARROW), |drop| self.question(drop).holds())
    }
}

/// Drops over which the adjusters reach the spec, mm.
#[derive(Default)]
pub(crate) struct Stretch {
    /// From where; `None`: nowhere.
    pub(crate) from: Option<f64>,
    /// Up to where; `None`: to full bump.
    pub(crate) to: Option<f64>,
}
