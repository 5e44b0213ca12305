//! Which adjusters an answer uses.
//!
//! The target is met by as many adjusters as there are figures; all others stay where they are. Where several choices do, the
//! one that touches the fewest cams is taken (fitted arms are touched anyway), then the one whose adjusters move the
//! least, in parts of what each can; then the order of the file decides. A cam moves only where what its link is used to set
//! has no fitted arm, or where that arm ends: on the car a cam under an arm is locked out, and one beside it is left alone.
//!
//! An adjuster that cannot go far enough stays at its end, and the others are solved again around it. Where that does not meet the
//! target, settings of all adjusters together that are within tolerance come before any that are not.
//!
//! Adjusters: a side has any number of them, fitted arms and cams; `sets` says what a link is used to set, and several links
//! may set the same. An answer takes as many free adjusters as figures (`plan/adjusting/aim.rs`): fewest cams touched, then the
//! least sum of movement over range, then the order of the file. A cam is free where what its link is used to set has no fitted
//! arm or one that ends, or to set a figure for which no link is used; one on a link that sets pitch never. Two adjusters not
//! used for both figures must have effects at a sine of 0.05 or more. One that cannot go far enough stays at its end, the
//! others are solved again; if that misses the tolerance, settings of all adjusters together within it are searched
//! (`plan/adjusting/reach.rs`), and the nearest to the target taken.

use nalgebra::Vector2;
use std::cell::OnceCell;

use super::adjust::{AdjustedSide, Adjuster, AdjusterEnd, AdjusterPart, SettingQuestion};
use crate::geometry::Figure;
use crate::plan::wheel::{NoPosition, forward};

/// What a wheel is set to.
pub(crate) const BOTH: [Figure; 2] = [Figure::Camber, Figure::Toe];
/// Effects on camber and toe, in tolerances, whose directions have a smaller sine between them are nearly the same.
const PARALLEL: f64 = 0.05;
/// Sums of movement closer than this, in parts of the range, are alike.
const ALIKE: f64 = 1e-9;
/// Where more adjusters than this miss the target together, only the nearer end of each is looked at.
const FEW: usize = 4;

/// An adjuster that had to stop, by its place, and where.
type AimStop = (usize, AdjusterEnd);

impl SettingQuestion<'_> {
    /// Meets the spec as far as the adjusters go.
    pub(crate) fn adjust(&self) -> Result<AdjustedSide, NoPosition> {
        let held = self.hold()?;
        if self.in_spec(&held.position) {
            return Ok(held);
        }
        Ok(self.within_tolerance(&held, &self.may_move(&held)).unwrap_or(held))
    }

    /// The same, where tolerances do not count: an adjuster that cannot go far enough stays at its end.
    pub(crate) fn hold(&self) -> Result<AdjustedSide, NoPosition> {
        let aim = Aim::new(self);
        aim.on_target().map_or_else(|| aim.nearest(), Ok)
    }

    /// Which adjusters may move in an answer: all arms, and the cams that no arm that goes far enough takes the place of.
    pub(super) fn may_move(&self, adjusted: &AdjustedSide) -> Vec<bool> {
        Aim::new(self).may_move(adjusted)
    }

    /// The target met, as few cams turned as that takes; `None` where no choice of adjusters does.
    pub(super) fn on_target(&self) -> Option<AdjustedSide> {
        Aim::new(self).on_target()
    }

    /// The target met by the first choice of adjusters, whatever that asks of them.
    pub(super) fn wanted(&self) -> Option<AdjustedSide> {
        let aim = Aim::new(self);
        aim.choices(&[]).into_iter().find_map(|parts| self.solve(&parts).ok())
    }

    /// The figures of camber and toe that nothing sets.
    pub(crate) fn unset(&self) -> Vec<Figure> {
        let set = Aim::new(self).figures;
        BOTH.into_iter().filter(|figure| !set.contains(figure)).collect()
    }
}

/// The adjusters that may move as long as nothing ends.
pub(crate) fn in_play(adjusters: &[Adjuster]) -> Vec<Adjuster> {
    adjusters.iter().filter(|adjuster| moves(adjusters, adjuster, &[])).copied().collect()
}

/// Whether an adjuster may leave its place where some had to stop: a cam only where what its link is used to set has no fitted arm
/// or one that ended, or where it can set what no link is used for.
fn moves(adjusters: &[Adjuster], adjuster: &Adjuster, stops: &[AimStop]) -> bool {
    let is_left_to_an_arm = |figure: Figure| {
        let arms = || {
            let arms = adjusters.iter().enumerate().filter(|(_, adjuster)| !adjuster.is_cam());
            arms.filter(|(_, adjuster)| adjuster.is_for(figure))
        };
        arms().next().is_some() && !arms().any(|(i, _)| stops.iter().any(|stop| stop.0 == i))
    };
    !adjuster.is_cam()
        || BOTH.into_iter().any(|figure| {
            let its_own = adjuster.sets.is_none_or(|sets| sets == figure);
            if its_own { !is_left_to_an_arm(figure) } else { !is_used_for(adjusters, figure) }
        })
}

fn is_used_for(adjusters: &[Adjuster], figure: Figure) -> bool {
    adjusters.iter().any(|adjuster| adjuster.is_for(figure))
}

/// A question with what its choices rest on.
struct Aim<'a> {
    question: &'a SettingQuestion<'a>,
    /// What can be set of camber and toe.
    figures: Vec<Figure>,
    /// What a mm of each adjuster does to camber and toe, in tolerances, before anything is set.
    effects: OnceCell<Option<Vec<Vector2<f64>>>>,
}

/// How much a choice touches; less is better.
#[derive(Debug, Clone, Copy)]
struct Touch {
    cams: usize,
    /// Sum of movements, each as a part of what the adjuster can do.
    movement: f64,
}

impl Touch {
    fn is_less_than(&self, other: &Self) -> bool {
        self.cams < other.cams || (self.cams == other.cams && self.movement < other.movement - ALIKE)
    }
}

impl<'a> Aim<'a> {
    fn new(question: &'a SettingQuestion<'a>) -> Self {
        let figures = question.only.map_or_else(|| BOTH.to_vec(), |only| vec![only]);
        let mut aim = Self { question, figures, effects: OnceCell::new() };
        if aim.matches(&aim.figures, &[]).is_empty() {
            aim.figures =
                if question.only.is_none() { aim.only_figure().into_iter().collect() } else { Vec::new() };
        }
        aim
    }

    fn adjusters(&self) -> &'a [Adjuster] {
        self.question.adjusters
    }

    /// The figure that is set where not both can be: the one that a link is used to set, else the one that moves the most.
    fn only_figure(&self) -> Option<Figure> {
        let used = BOTH.into_iter().find(|figure| self.is_used_for(*figure));
        let first = self.adjusters().iter().position(|adjuster| !adjuster.is_for(Figure::Pitch));
        used.or_else(|| first.map(|first| self.main_figure(first)))
    }

    /// The figure that an adjuster is used for; of one that is used for none, the one that it moves more, in tolerances.
    fn main_figure(&self, index: usize) -> Figure {
        let by_effect = || {
            let effect = self.effects().map_or(Vector2::x(), |effects| effects[index]);
            if effect.x.abs() >= effect.y.abs() { Figure::Camber } else { Figure::Toe }
        };
        self.adjusters()[index].sets.unwrap_or_else(by_effect)
    }

    fn is_used_for(&self, figure: Figure) -> bool {
        is_used_for(self.adjusters(), figure)
    }

    fn moves(&self, index: usize, stops: &[AimStop]) -> bool {
        moves(self.adjusters(), &self.adjusters()[index], stops)
    }

    /// Which adjusters may move in an answer, with the stops that it has.
    fn may_move(&self, adjusted: &AdjustedSide) -> Vec<bool> {
        let stops: Vec<AimStop> = stops(&adjusted.parts);
        (0..self.adjusters().len()).map(|i| self.moves(i, &stops)).collect()
    }

    /// Whether an adjuster can be free for a figure.
    fn fits(&self, index: usize, figure: Figure, stops: &[AimStop]) -> bool {
        let adjuster = &self.adjusters()[index];
        if figure == Figure::Pitch || adjuster.is_for(Figure::Pitch) {
            return adjuster.is_for(figure);
        }
        if adjuster.is_cam() {
            return self.moves(index, stops);
        }
        adjuster.is_for(figure) || !self.is_used_for(figure)
    }

    fn effects(&self) -> Option<&Vec<Vector2<f64>>> {
        let work_out = || {
            let question = self.question;
            let SettingQuestion { side, setup, drop, .. } = question;
            let position = forward(side, setup, *drop).ok()?;
            let slope = |adjuster: &Adjuster| question.slope(adjuster, setup, &position);
            Some(question.adjusters.iter().map(slope).collect())
        };
        self.effects.get_or_init(work_out).as_ref()
    }

    /// Whether two adjusters have effects of their own: those of links that are used for it are taken to have.
    fn are_apart(&self, for_camber: usize, for_toe: usize) -> bool {
        let [camber, toe] = [for_camber, for_toe].map(|i| &self.adjusters()[i]);
        if camber.link == toe.link {
            return false;
        }
        if camber.is_for(Figure::Camber) && toe.is_for(Figure::Toe) {
            return true;
        }
        self.effects().is_some_and(|effects| {
            let (a, b) = (effects[for_camber], effects[for_toe]);
            a.perp(&b).abs() >= PARALLEL * a.norm() * b.norm()
        })
    }

    /// The ways to let one free adjuster meet each of some figures, by place, while others stand at an end. The same adjusters
    /// are not taken twice: which of them is said to meet which figure makes no difference.
    fn matches(&self, figures: &[Figure], stops: &[AimStop]) -> Vec<Vec<(usize, Figure)>> {
        let mut ways: Vec<Vec<(usize, Figure)>> = vec![Vec::new()];
        for &figure in figures {
            let with = |way: Vec<(usize, Figure)>| {
                let free = (0..self.adjusters().len())
                    .filter(move |i| stops.iter().all(|stop| stop.0 != *i) && self.fits(*i, figure, stops));
                free.filter_map(move |i| {
                    let mut way = way.clone();
                    way.push((i, figure));
                    (!self.repeats_a_link(&way)).then_some(way)
                })
                .collect::<Vec<_>>()
            };
            ways = ways.into_iter().flat_map(with).collect();
        }
        // First the ways in which links set what they are used for, so that these name the figure.
        ways.sort_by_key(|way| {
            way.iter().filter(|(i, figure)| !self.adjusters()[*i].is_for(*figure)).count()
        });
        let mut seen: Vec<Vec<usize>> = Vec::new();
        ways.retain(|way| {
            let for_figure = |wanted| way.iter().find(|(_, figure)| *figure == wanted).map(|(i, _)| *i);
            let both = for_figure(Figure::Camber).zip(for_figure(Figure::Toe));
            let mut places: Vec<usize> = way.iter().map(|(i, _)| *i).collect();
            places.sort_unstable();
            let is_new = !seen.contains(&places);
            let good = is_new && both.is_none_or(|(camber, toe)| self.are_apart(camber, toe));
            if good {
                seen.push(places);
            }
            good
        });
        // In the order of the file again, for what is otherwise alike.
        ways.sort_by_cached_key(|way| {
            let mut places: Vec<usize> = way.iter().map(|(i, _)| *i).collect();
            places.sort_unstable();
            places
        });
        ways
    }

    fn repeats_a_link(&self, way: &[(usize, Figure)]) -> bool {
        let link = |(i, _): &(usize, Figure)| self.adjusters()[*i].link;
        way.split_last().is_some_and(|(last, others)| others.iter().any(|other| link(other) == link(last)))
    }

    /// What all adjusters do in each choice that may meet the target, with some at their ends.
    fn choices(&self, stops: &[AimStop]) -> Vec<Vec<AdjusterPart>> {
        let mut figures = self.figures.clone();
        let sets_pitch = |(i, adjuster): (usize, &Adjuster)| {
            adjuster.is_for(Figure::Pitch) && stops.iter().all(|stop| stop.0 != i)
        };
        if self.adjusters().iter().enumerate().any(sets_pitch) {
            figures.push(Figure::Pitch);
        }
        let parts = |way: Vec<(usize, Figure)>| {
            let mut parts = vec![AdjusterPart::Home; self.adjusters().len()];
            for (i, end) in stops {
                parts[*i] = AdjusterPart::Stopped(*end);
            }
            for (i, figure) in way {
                parts[i] = AdjusterPart::Meets(figure);
            }
            parts
        };
        self.matches(&figures, stops).into_iter().map(parts).collect()
    }

    fn on_target(&self) -> Option<AdjustedSide> {
        let mut ended: Vec<AimStop> = Vec::new();
        for stopped in 0..=self.adjusters().len() {
            let mut best: Option<(Touch, AdjustedSide)> = None;
            let mut beyond: Vec<AimStop> = Vec::new();
            for stops in subsets(&ended, stopped) {
                for parts in self.choices(&stops) {
                    let solved = self.question.solve(&parts).ok();
                    let within = |adjusted: &AdjustedSide| self.question.beyond(adjusted).is_empty();
                    // Where effects are nearly alike, the way there at once may end in another assembly.
                    let near = || self.question.approach(&parts);
                    let Some(adjusted) = (match solved {
                        Some(solved) if !within(&solved) => near().filter(within).or(Some(solved)),
                        Some(solved) => Some(solved),
                        None => near(),
                    }) else {
                        continue;
                    };
                    let out = self.question.beyond(&adjusted);
                    if !out.is_empty() {
                        beyond.extend(out);
                        continue;
                    }
                    let touch = self.touch(&adjusted);
                    if best.as_ref().is_none_or(|(least, _)| touch.is_less_than(least)) {
                        best = Some((touch, adjusted));
                    }
                }
            }
            if let Some((_, best)) = best {
                return Some(best);
            }
            for stop in beyond {
                if !ended.contains(&stop) {
                    ended.push(stop);
                }
            }
            if ended.len() <= stopped {
                break;
            }
        }
        None
    }

    fn touch(&self, adjusted: &AdjustedSide) -> Touch {
        let moved = |(i, adjuster): (usize, &Adjuster)| {
            let by = (adjusted.values[i] - self.question.home(adjuster)).abs();
            if by > 0.0 { by / adjuster.range() } else { 0.0 }
        };
        let cams = (self.adjusters().iter().zip(&adjusted.parts))
            .filter(|(adjuster, part)| adjuster.is_cam() && **part != AdjusterPart::Home)
            .count();
        Touch { cams, movement: self.adjusters().iter().enumerate().map(moved).sum() }
    }

    /// The nearest to the spec where the target is out of reach: as many figures met as can be, those adjusters at an end that
    /// would have to pass it.
    fn nearest(&self) -> Result<AdjustedSide, NoPosition> {
        let mut best: Option<(Missed, AdjustedSide)> = None;
        let mut fallback: Option<(Missed, AdjustedSide)> = None;
        for parts in self.all_parts() {
            let Ok(adjusted) = self.question.solve(&parts) else { continue };
            if !self.question.beyond(&adjusted).is_empty() {
                continue;
            }
            let missed = self.missed(&adjusted);
            let place = if self.has_to_stop(&adjusted) { &mut best } else { &mut fallback };
            if place.as_ref().is_none_or(|(least, _)| missed.is_less_than(least)) {
                *place = Some((missed, adjusted));
            }
        }
        // Only an odd layout has no such choice; then the nearest of all that hold together.
        if let Some((_, nearest)) = best.or(fallback) {
            return Ok(nearest);
        }
        // Why even the first choice fails, or how far it could be followed.
        let parts = self.choices(&[]).into_iter().next();
        let parts = parts.unwrap_or_else(|| vec![AdjusterPart::Home; self.adjusters().len()]);
        let wanted = self.question.solve(&parts)?;
        let reached = wanted.position.pose.centre.z - self.question.side.wheel.centre.z;
        Err(self.question.out_of_reach(reached))
    }

    fn missed(&self, adjusted: &AdjustedSide) -> Missed {
        let unmet = |figure: Figure| adjusted.parts.iter().all(|part| part.meets() != Some(figure));
        let pitch = self.is_used_for(Figure::Pitch) && unmet(Figure::Pitch);
        Missed {
            figures: self.figures.iter().filter(|figure| unmet(**figure)).count(),
            pitch,
            miss: self.question.miss(&adjusted.position),
            touch: self.touch(adjusted),
        }
    }

    /// Everything that the adjusters may do together, each figure met by one at the most.
    fn all_parts(&self) -> Vec<Vec<AdjusterPart>> {
        let count = self.adjusters().len();
        let mut all: Vec<Vec<AdjusterPart>> = vec![Vec::with_capacity(count)];
        // The arms first, since the cams move only where these have to stop.
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|i| self.adjusters()[*i].is_cam());
        for &i in &order {
            let with = |begun: Vec<AdjusterPart>| {
                let stops: Vec<AimStop> =
                    (begun.iter().zip(&order)).filter_map(|(part, i)| Some((*i, part.stop()?))).collect();
                let met = |figure: Figure| begun.iter().any(|part| part.meets() == Some(figure));
                let mut parts = vec![AdjusterPart::Home];
                if self.moves(i, &stops) {
                    let for_it = |figure: &Figure| !met(*figure) && self.nearest_fits(i, *figure);
                    parts.extend(Figure::ALL.into_iter().filter(for_it).map(AdjusterPart::Meets));
                    parts.extend(self.ends_to_try(i).into_iter().map(AdjusterPart::Stopped));
                }
                let grown = |part| begun.iter().copied().chain([part]).collect::<Vec<_>>();
                parts.into_iter().map(grown).collect::<Vec<_>>()
            };
            all = all.into_iter().flat_map(with).collect();
        }
        let in_order = |parts: Vec<AdjusterPart>| {
            let mut placed = vec![AdjusterPart::Home; count];
            for (part, i) in parts.into_iter().zip(&order) {
                placed[*i] = part;
            }
            placed
        };
        let of_links = |parts: &Vec<AdjusterPart>| {
            let free: Vec<(usize, Figure)> =
                parts.iter().enumerate().filter_map(|(i, part)| Some((i, part.meets()?))).collect();
            (1..=free.len()).all(|i| !self.repeats_a_link(&free[..i]))
        };
        all.into_iter().map(in_order).filter(of_links).collect()
    }

    /// Whether an adjuster may meet a figure where not all are met: then a link sets what it is used for, if any link is.
    fn nearest_fits(&self, index: usize, figure: Figure) -> bool {
        let adjuster = &self.adjusters()[index];
        match figure {
            Figure::Pitch => adjuster.is_for(Figure::Pitch),
            _ if adjuster.is_for(Figure::Pitch) || !self.figures.contains(&figure) => false,
            _ => adjuster.sets.is_none_or(|sets| sets == figure) || !self.is_used_for(figure),
        }
    }

    /// The ends at which an adjuster may have to stop; of many only those towards the target.
    fn ends_to_try(&self, index: usize) -> Vec<AdjusterEnd> {
        let both = vec![AdjusterEnd::Low, AdjusterEnd::High];
        if self.adjusters().len() <= FEW || self.adjusters()[index].is_for(Figure::Pitch) {
            return both;
        }
        let SettingQuestion { side, setup, drop, .. } = self.question;
        let Some((effects, position)) = self.effects().zip(forward(side, setup, *drop).ok()) else {
            return both;
        };
        let figure = self.main_figure(index) as usize;
        let miss = self.question.misses(&position)[figure];
        vec![if effects[index][figure] * miss > 0.0 { AdjusterEnd::Low } else { AdjusterEnd::High }]
    }

    /// Whether an arm stands at an end where a cam on its link does the rest.
    fn is_left_at_its_end(&self, index: usize, parts: &[AdjusterPart]) -> bool {
        !self.adjusters()[index].is_cam() && parts[index].stop().is_some()
    }

    /// Whether each adjuster that meets no figure stands at an end and would have to pass it for a figure that is not met: its own,
    /// or for one without a figure of its own any. Only then has it stopped on the way there.
    fn has_to_stop(&self, adjusted: &AdjustedSide) -> bool {
        let AdjustedSide { setup, position, parts, .. } = adjusted;
        let question = self.question;
        let figures = question.figures(position);
        let stops = stops(parts);
        let unmet = |figure: &Figure| parts.iter().all(|part| part.meets() != Some(*figure));
        (self.adjusters().iter().enumerate()).all(|(i, adjuster)| {
            if parts[i].meets().is_some() || !self.moves(i, &stops) {
                return true;
            }
            // Beside one on the same link that meets a figure it changes nothing.
            let beside =
                |(j, other): (usize, &Adjuster)| other.link == adjuster.link && parts[j].meets().is_some();
            if self.adjusters().iter().enumerate().any(beside) {
                return parts[i] == AdjusterPart::Home || self.is_left_at_its_end(i, parts);
            }
            let wants = |figure: &Figure| {
                *figure == Figure::Pitch && adjuster.is_for(Figure::Pitch)
                    || (self.figures.contains(figure) && self.nearest_fits(i, *figure))
            };
            let mut wanted = Figure::ALL.into_iter().filter(wants).filter(unmet).peekable();
            if wanted.peek().is_none() {
                return true;
            }
            let Some(end) = parts[i].stop() else { return false };
            let rates = question.rates(adjuster, setup, position);
            let outward = if end == AdjusterEnd::High { 1.0 } else { -1.0 };
            wanted.any(|figure| {
                let short = question.spec.target(figure) - figures[figure as usize];
                short * rates[figure as usize] * outward > 0.0
            })
        })
    }
}

/// How far a choice is from the target; less is better.
#[derive(Debug, Clone, Copy)]
struct Missed {
    /// Figures of camber and toe that are not met.
    figures: usize,
    pitch: bool,
    miss: f64,
    touch: Touch,
}

impl Missed {
    fn is_less_than(&self, other: &Self) -> bool {
        /// Misses closer than this, in tolerances, are alike.
        const ALIKE: f64 = 1e-9;
        let [this, that] = [self, other].map(|missed| (missed.figures, missed.pitch));
        match this.cmp(&that) {
            std::cmp::Ordering::Equal if (self.miss - other.miss).abs() <= ALIKE => {
                self.touch.is_less_than(&other.touch)
            }
            std::cmp::Ordering::Equal => self.miss < other.miss,
            order => order.is_lt(),
        }
    }
}

fn stops(parts: &[AdjusterPart]) -> Vec<AimStop> {
    parts.iter().enumerate().filter_map(|(i, part)| Some((i, part.stop()?))).collect()
}

/// All ways to take so many of some stops, none of the same adjuster twice.
fn subsets(of: &[AimStop], count: usize) -> Vec<Vec<AimStop>> {
    let mut all: Vec<Vec<AimStop>> = vec![Vec::new()];
    for stop in of {
        let with = |subset: &Vec<AimStop>| {
            let fits = subset.len() < count && subset.iter().all(|other| other.0 != stop.0);
            fits.then(|| subset.iter().copied().chain([*stop]).collect::<Vec<_>>())
        };
        let more: Vec<Vec<AimStop>> = all.iter().filter_map(with).collect();
        all.extend(more);
    }
    all.retain(|subset| subset.len() == count);
    all
}
