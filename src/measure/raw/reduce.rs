//! A raw reading put together again as a round.
//!
//! A floor that is given is taken out of every camber of its reading, whether it stands as `camber`, `level` or `plumb`. Signs
//! and formulas of home measurements are in `src/measure/home.rs`. A total toe is dropped where both wheels were read.

use super::{Flaw, GapsBefore, Instruments, RawReading, Usual};
use crate::car::Car;
use crate::measure::{Round, Workings};

/// So many standard deviations are no chance.
pub(super) const FAR: f64 = 4.0;

/// What comes of a raw reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// The state of the car and what it reads.
    pub round: Round,
    /// What came out beside it.
    pub workings: Workings,
    /// What looks like a slip.
    pub oddities: Vec<Flaw>,
}

/// A reading on its way to a round.
pub(super) struct Reduction<'a> {
    pub(super) car: &'a Car,
    pub(super) before: &'a GapsBefore,
    pub(super) instruments: &'a Instruments,
    pub(super) usual: Usual,
    pub(super) flaws: Vec<Flaw>,
}

impl RawReading {
    /// Works out what this reading on a car says; `before` are the arch gaps of the reference.
    ///
    /// # Errors
    ///
    /// All flaws, if one of them is fatal.
    pub fn reduce(
        &self,
        car: &Car,
        before: &GapsBefore,
        instruments: &Instruments,
    ) -> Result<Reduced, Vec<Flaw>> {
        let usual = Usual::of(self.source, &car.sigmas);
        let mut reduction = Reduction { car, before, instruments, usual, flaws: Vec::new() };
        let height = reduction.height(&self.height);
        let links = reduction.links(self);
        let figures = reduction.figures(&self.angles, self.source);
        let flaws = reduction.flaws;
        let (Some(height), Some(links), Some(figures), false) =
            (height, links, figures, flaws.iter().any(Flaw::is_fatal))
        else {
            return Err(flaws);
        };
        let round = Round {
            title: self.title.clone(),
            date: self.date.clone(),
            drops: height.drops,
            drop_sigma: height.sigma,
            front: height.front,
            lengths: links.lengths,
            shifts: links.shifts,
            wheels: figures.wheels,
            total_toe: figures.total_toe,
            source: self.source,
            levelled: figures.workings.floor.is_some(),
            turned_round: self.turned_round,
            run_out: figures.run_out,
        };
        Ok(Reduced { round, workings: figures.workings, oddities: flaws })
    }
}

impl Reduction<'_> {
    pub(super) fn tell(&mut self, flaw: Flaw) {
        self.flaws.push(flaw);
    }

    /// Nothing comes of it.
    pub(super) fn fail<T>(&mut self, flaw: Flaw) -> Option<T> {
        self.tell(flaw);
        None
    }
}
