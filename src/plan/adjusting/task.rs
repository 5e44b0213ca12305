//! A side's question as a whole, worked out exactly, confirmed, and rounded to whole steps, the two sides held together.

use super::adjust::{AdjustedSide, Adjuster, AdjusterPart, SettingQuestion};
use super::settle::{best_pair, settle};
use super::whole_steps::{Lattice, Rounded};
use crate::car::{AxleLimits, PerSide, Setup, Side, Spec};
use crate::geometry::{Angles, Figure, Ground};
use crate::plan::wheel::{NoPosition, Reading, Reason, forward};

/// The exact answer, put back into the car, must give its figures again to this, rad.
pub(super) const CONFIRMED: f64 = 1e-10;

/// A side's question with everything that belongs to it; see [`SettingQuestion`].
#[derive(Debug, Clone)]
pub(crate) struct Task<'a> {
    pub(crate) side: &'a Side,
    pub(crate) ground: &'a Ground,
    pub(crate) drop: f64,
    pub(crate) spec: Spec,
    pub(crate) setup: Setup,
    pub(crate) adjusters: Vec<Adjuster>,
    /// By how much more is read than the model says, rad.
    pub(crate) offset: Angles,
    pub(crate) only: Option<Figure>,
    /// Whether it is left as it is.
    pub(crate) stays: bool,
}

/// A side that has been worked out.
#[derive(Debug, Clone)]
pub(crate) struct Worked<'a> {
    pub(crate) task: Task<'a>,
    pub(crate) exact: AdjustedSide,
    pub(crate) confirmed: Reading,
    pub(crate) rounded: Rounded,
}

impl Task<'_> {
    pub(crate) fn question(&self) -> SettingQuestion<'_> {
        let Self { side, ground, drop, spec, setup, adjusters, offset, only, .. } = self;
        SettingQuestion { side, ground, drop: *drop, setup, spec, adjusters, offset: *offset, only: *only }
    }

    fn exact(&self) -> Result<AdjustedSide, NoPosition> {
        let question = self.question();
        if self.stays {
            question.solve(&vec![AdjusterPart::Home; self.adjusters.len()])
        } else {
            question.adjust()
        }
    }
}

/// The exact answers of both sides, settled with each other and each put back into the car, with what it reads there.
pub(crate) fn exact_pair(
    axle: &AxleLimits,
    tasks: PerSide<&Task<'_>>,
) -> Result<PerSide<(AdjustedSide, Reading)>, NoPosition> {
    let exact = tasks.map(Task::exact).ok()?;
    let questions = tasks.map(Task::question);
    let settled = settle(axle, questions, exact, tasks.map(|task| task.stays));
    let confirmed = PerSide::try_of(|hand| confirm(&questions[hand], &settled[hand]))?;
    Ok(settled.zip(confirmed))
}

/// Works both sides out: exactly, then in whole steps, both together.
pub(crate) fn work_out<'a>(
    axle: &AxleLimits,
    tasks: PerSide<Task<'a>>,
) -> Result<PerSide<Worked<'a>>, NoPosition> {
    let exact = exact_pair(axle, tasks.as_ref())?;
    let rounded = {
        let mut lattices = PerSide::try_of(|hand| Lattice::new(tasks[hand].question(), &exact[hand].0))?;
        let best = PerSide::try_of(|hand| lattices[hand].best())?;
        best_pair(axle, &mut lattices, best)
    };
    let worked = |((task, (exact, confirmed)), rounded)| Worked { task, exact, confirmed, rounded };
    Ok(tasks.zip(exact).zip(rounded).map(worked))
}

/// Works one side out by itself.
pub(crate) fn work_alone(task: Task<'_>) -> Result<Worked<'_>, NoPosition> {
    let exact = task.exact()?;
    let confirmed = confirm(&task.question(), &exact)?;
    let rounded = Lattice::new(task.question(), &exact)?.best()?;
    Ok(Worked { task, exact, confirmed, rounded })
}

/// Puts the exact answer back into the car and solves it as a plain linkage: it must give the same figures.
fn confirm(question: &SettingQuestion<'_>, exact: &AdjustedSide) -> Result<Reading, NoPosition> {
    let SettingQuestion { side, drop, .. } = question;
    let again = forward(side, &exact.setup, *drop)?;
    let [before, after] = [&exact.position, &again].map(|position| question.figures(position));
    let off = before.iter().zip(after).map(|(before, after)| (before - after).abs()).fold(0.0, f64::max);
    if off <= CONFIRMED * again.condition.max(1.0) {
        return Ok(Reading::from_radians(after[0], after[1]));
    }
    Err(NoPosition {
        hand: side.hand,
        drop: *drop,
        links: Vec::new(),
        reason: Reason::Unconfirmed(off.to_degrees()),
    })
}
