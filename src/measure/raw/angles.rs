//! Camber and toe of both wheels from what was read of them.

use std::f64::consts::SQRT_2;

use super::floor::Cambers;
use super::reduce::{FAR, Reduction};
use super::{Angle, AngleEntry, Chord, Flaw, RawAngles, RawCamber, RawFloor, RawToe, RawTotalToe, Strings};
use crate::car::{Hand, PerSide, is_ordinary};
use crate::geometry::{Angles, DEGREE};
use crate::measure::{
    ChordAngle, Measured, ReadWith, WheelReading, Workings, chord_angle, string_angle, total_toe_of_plates,
};

/// A string further off the centreline's direction than this is a slip, rad.
const ASKEW: f64 = 1.5 * DEGREE;
/// A rim runs out by this from its lowest place to its highest, mm, which is most of what makers let pass: common practice, no
/// source. Where in that the wheel stood nobody knows.
const USUAL_RUN_OUT: f64 = 1.0;
/// The diameter of a rim of which it was not said, mm.
const USUAL_RIM: f64 = 430.0;

/// What was read on both wheels.
pub(super) struct Figures {
    pub(super) wheels: PerSide<WheelReading>,
    pub(super) total_toe: Option<Measured>,
    /// Standard deviation of the run-out that is still in them, rad.
    pub(super) run_out: PerSide<Angles>,
    pub(super) workings: Workings,
}

/// The toes of both wheels, or of both together.
struct Toes {
    wheels: PerSide<Option<ChordAngle>>,
    total: Option<ChordAngle>,
    covariance: f64,
}

/// How the strings run.
struct Run {
    angles: PerSide<Option<Measured>>,
    /// What the two share, rad2.
    covariance: f64,
}

impl Reduction<'_> {
    /// Camber and toe of both wheels, or what there is of them.
    pub(super) fn figures(&mut self, raw: &RawAngles, source: Option<ReadWith>) -> Option<Figures> {
        let toes = self.toes(raw);
        let known = toes
            .as_ref()
            .map_or(PerSide::default(), |toes| toes.wheels.map(|toe| toe.map_or(0.0, |toe| toe.angle.value)));
        let cambers = self.cambers(raw, source, known);
        let (toes, cambers): (Toes, Cambers) = (toes?, cambers?);
        let angle = |read: &Option<ChordAngle>| read.as_ref().map(|read| read.angle);
        let wheels = PerSide::of(|hand| WheelReading {
            camber: angle(&cambers.wheels[hand]),
            toe: angle(&toes.wheels[hand]),
        });
        let total = angle(&toes.total);
        if total.is_none() && wheels.iter().all(|wheel| *wheel == WheelReading::default()) {
            return self.fail(Flaw::NothingRead);
        }
        if let Some(PerSide { left, right }) = wheels.map(|wheel| wheel.toe).all()
            && !is_ordinary("left and right toe apart", (left.value - right.value).abs().to_degrees())
        {
            self.tell(Flaw::ToesApart([left.value, right.value]));
        }
        if let Some(PerSide { left, right }) = wheels.map(|wheel| wheel.camber).all()
            && !is_ordinary("left and right camber apart", (left.value - right.value).abs().to_degrees())
        {
            self.tell(Flaw::CambersApart([left.value, right.value]));
        }
        let each = wheels.map(|wheel| wheel.toe);
        if let Some(PerSide { left, right }) = each.all() {
            match total {
                Some(total) => self.total_and_each(total, [left, right]),
                None => self.total_for_each([left.value, right.value]),
            }
        }
        let run_out = |read: &Option<ChordAngle>| read.as_ref().and_then(|read| read.run_out);
        let workings = Workings {
            floor: cambers.floor,
            run_out: PerSide::of(|hand| Angles {
                camber: run_out(&cambers.wheels[hand]),
                toe: run_out(&toes.wheels[hand]),
            }),
            camber_covariance: cambers.covariance,
            toe_covariance: toes.covariance,
        };
        // The total is of use only where one of the wheels was not read.
        let total_toe = total.filter(|_| each.all().is_none());
        let run_out = PerSide::of(|hand| self.left_in(raw, hand, source, total_toe.is_some()));
        Some(Figures { wheels, total_toe, run_out, workings })
    }

    /// Standard deviation of the run-out of a rim that no half turn took out of what was read, rad. A rack takes it out by itself. An
    /// angle that was read at home has it, unless it was said how good it is, which is then all that there is to say.
    fn left_in(&self, raw: &RawAngles, hand: Hand, source: Option<ReadWith>, by_total: bool) -> Angles {
        let sigma = USUAL_RUN_OUT / SQRT_2 / self.car.sides[hand].rim_diameter.unwrap_or(USUAL_RIM);
        let at_home = source.is_some_and(|source| source != ReadWith::Rack);
        let angle = |angle: &Angle| at_home && angle.sigma.is_none();
        let camber = |read: &RawCamber| match read {
            RawCamber::Angle(read) => angle(read),
            RawCamber::Level { half_turn, .. } => half_turn.is_none(),
            RawCamber::Plumb(chord) => chord.half_turn.is_none(),
        };
        let turned_round = match &raw.floor {
            Some(RawFloor::TurnedRound(cambers)) => cambers[hand].as_ref(),
            _ => None,
        };
        let toe = match (&raw.toes[hand], &raw.total_toe) {
            (Some(RawToe::Angle(read)), _) => angle(read),
            (Some(RawToe::Rim(chord)), _) => chord.half_turn.is_none(),
            (None, Some(RawTotalToe::Angle(read))) => by_total && angle(read),
            (None, Some(RawTotalToe::Plates(plates))) => by_total && plates.half_turn.is_none(),
            (None, None) => false,
        };
        let left_in = |is: bool| if is && source != Some(ReadWith::Rack) { sigma } else { 0.0 };
        Angles {
            camber: left_in(raw.cambers[hand].iter().chain(turned_round).any(camber)),
            toe: left_in(toe),
        }
    }

    /// A total that is not the sum of the two wheels.
    fn total_and_each(&mut self, total: Measured, [left, right]: [Measured; 2]) {
        let off = total.value - left.value - right.value;
        let sigma = total.sigma.hypot(left.sigma).hypot(right.sigma);
        if off.abs() > FAR * sigma {
            let is_total = |toe: Measured| (toe.value - total.value).abs() < off.abs() / 4.0;
            let each = is_total(left) && is_total(right);
            self.tell(Flaw::TotalDiffers { total: total.value, sum: left.value + right.value, each });
        }
    }

    /// Two wheels that each read the total of the spec, to the digit.
    fn total_for_each(&mut self, [left, right]: [f64; 2]) {
        const SAME: f64 = 0.005 * DEGREE;
        let Some(specs) = self.car.sides.each(|side| side.spec).all() else { return };
        let total = specs.left.toe + specs.right.toe;
        let out = (left - specs.left.toe).abs() > specs.left.toe_tolerance;
        if out && (left - right).abs() < SAME && (left - total).abs() < SAME {
            self.tell(Flaw::EachReadsTotal(right));
        }
    }

    fn toes(&mut self, raw: &RawAngles) -> Option<Toes> {
        let run = match &raw.strings {
            Some(strings) => Some(self.strings(strings)?),
            None => None,
        };
        let wheels = PerSide::of(|hand| match &raw.toes[hand] {
            Some(toe) => self.toe(hand, toe, run.as_ref()).map(Some),
            None => Some(None),
        });
        let total = match &raw.total_toe {
            Some(total) => Some(self.total_toe(total)?),
            None => None,
        };
        Some(Toes { wheels: wheels.all()?, total, covariance: run.map_or(0.0, |run| run.covariance) })
    }

    /// The angles of the strings to the centreline, from where they run.
    fn strings(&mut self, raw: &Strings) -> Option<Run> {
        let Some(apart) = raw.apart.or(self.car.wheelbase) else { return self.fail(Flaw::NoDistance) };
        let tape = self.instruments.tape;
        let mut run = Run { angles: PerSide::default(), covariance: 0.0 };
        // Half of a track's error; and of the rule where it goes only to the hub.
        let sigma = if raw.tracks.is_some() { (tape / 2.0).hypot(self.instruments.ruler) } else { tape };
        let [half_front, half_rear] = raw.tracks.map_or([0.0; 2], |tracks| tracks.map(|track| track / 2.0));
        for hand in Hand::BOTH {
            let Some([front, rear]) = raw.gaps[hand] else { continue };
            let measured = |value: f64| Measured { value, sigma };
            let apart = Measured { value: apart, sigma: tape };
            let found = string_angle(measured(half_front + front), measured(half_rear + rear), apart);
            if found.value.abs() > ASKEW {
                return self.fail(Flaw::Askew(hand, found.value));
            }
            run.angles[hand] = Some(found);
        }
        if raw.tracks.is_some() {
            // Both strings count the same tracks: their halves' errors over the distance.
            let share = tape / 2.0 / apart;
            run.covariance = 2.0 * share * share;
        }
        Some(run)
    }

    /// The toe of one wheel, whichever way it was read.
    fn toe(&mut self, hand: Hand, raw: &RawToe, run: Option<&Run>) -> Option<ChordAngle> {
        let entry = AngleEntry::Toe(hand);
        let chord = match raw {
            RawToe::Angle(angle) => return Some(as_read(angle, self.usual.toe)),
            RawToe::Rim(chord) => self.chord(entry, hand, chord)?,
        };
        let string = match run {
            Some(run) => match run.angles[hand] {
                Some(string) => string,
                None => return self.fail(Flaw::NoString(hand)),
            },
            None => Measured { value: 0.0, sigma: 0.0 },
        };
        let value = self.believed(entry, chord.angle.value - string.value);
        Some(ChordAngle { angle: Measured { value, sigma: chord.angle.sigma.hypot(string.sigma) }, ..chord })
    }

    /// The toe of both wheels together, as it was read.
    fn total_toe(&mut self, raw: &RawTotalToe) -> Option<ChordAngle> {
        let plates = match raw {
            RawTotalToe::Angle(angle) => return Some(as_read(angle, SQRT_2 * self.usual.toe)),
            RawTotalToe::Plates(plates) => plates,
        };
        let tape = self.instruments.tape;
        let length = Measured { value: plates.length, sigma: tape };
        let Some(chord) = total_toe_of_plates(plates.ends, plates.half_turn, tape, length) else {
            return self.fail(Flaw::NoAngle(AngleEntry::TotalToe));
        };
        // Two rims run out here.
        self.run_out(AngleEntry::TotalToe, chord.run_out.map(|both| both / 2.0), None);
        self.believed(AngleEntry::TotalToe, chord.angle.value);
        Some(chord)
    }

    /// The camber of a wheel as it was read, whichever way.
    pub(super) fn camber(&mut self, entry: AngleEntry, hand: Hand, raw: &RawCamber) -> Option<ChordAngle> {
        match raw {
            RawCamber::Angle(angle) => Some(as_read(angle, self.usual.camber)),
            // The mean of two readings of a level is as good as one of them: its zero is off in both.
            RawCamber::Level { value, half_turn } => {
                let run_out = half_turn.map(|half_turn| (value - half_turn).abs() / 2.0);
                self.run_out(entry, run_out, self.car.sides[hand].rim_diameter);
                let mean = half_turn.map_or(*value, |half_turn| f64::midpoint(*value, half_turn));
                Some(ChordAngle { angle: Measured { value: mean, sigma: self.instruments.level }, run_out })
            }
            RawCamber::Plumb(chord) => {
                let chord = self.chord(entry, hand, chord)?;
                self.believed(entry, chord.angle.value);
                Some(chord)
            }
        }
    }

    /// The angle of a chord of the rim to its line.
    fn chord(&mut self, entry: AngleEntry, hand: Hand, raw: &Chord) -> Option<ChordAngle> {
        let Some(value) = raw.across.or(self.car.sides[hand].rim_diameter) else {
            return self.fail(Flaw::NoRim(entry));
        };
        let across = Measured { value, sigma: self.instruments.tape };
        let Some(chord) = chord_angle(raw.ends, raw.half_turn, self.instruments.ruler, across) else {
            return self.fail(Flaw::NoAngle(entry));
        };
        self.run_out(entry, chord.run_out, Some(value));
        Some(chord)
    }

    /// A run-out that no rim has.
    fn run_out(&mut self, entry: AngleEntry, run_out: Option<f64>, across: Option<f64>) {
        if let Some(run_out) = run_out.filter(|run_out| !is_ordinary("a rim's run-out", run_out.to_degrees()))
        {
            self.tell(Flaw::RunOut(entry, run_out, across));
        }
    }

    /// An angle that a wheel can have.
    fn believed(&mut self, entry: AngleEntry, angle: f64) -> f64 {
        if !is_ordinary(entry.ordinarily(), angle.to_degrees()) {
            self.tell(Flaw::Much(entry, angle));
        }
        angle
    }
}

/// An angle that needs no working.
fn as_read(angle: &Angle, usual: f64) -> ChordAngle {
    ChordAngle { angle: Measured { value: angle.value, sigma: angle.sigma.unwrap_or(usual) }, run_out: None }
}
