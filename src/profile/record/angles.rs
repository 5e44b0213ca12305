//! What was read on the two wheels: cambers, toes, strings, plates and floor, value by value.

use toml::Spanned;

use super::value::{Told, span};
use crate::car::{Car, Hand, PerSide};
use crate::measure::{
    Angle, Chord, Plates as RawPlates, RawAngles, RawCamber, RawFloor, RawToe, RawTotalToe,
    Strings as RawStrings,
};
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::record::{Floor, FrontRear, Plates, Reading, Rim, Strings, TopBottom, Wheel};
use crate::profile::keys::{Key, Value};

/// The tables of the left and of the right wheel.
type WheelTables<'a> = PerSide<&'a Option<Spanned<Wheel>>>;

impl Checker {
    /// Camber and toe of both wheels, or what there is of them.
    pub(super) fn angles(&mut self, keys: &Reading, car: &Car) -> Result<RawAngles, Told> {
        let tables = PerSide { left: &keys.left, right: &keys.right };
        let rims = car.sides.each(|side| side.rim_diameter);
        let strings = keys.string.as_ref().map(|strings| self.strings(strings.get_ref())).transpose();
        let toes = wheels(tables, |hand, wheel| self.toe_of(wheel, rims[hand]));
        let total_toe = self.total_toe(keys, rims.left);
        let cambers = wheels(tables, |_, wheel| self.camber_of(wheel));
        let floor = self.floor(keys);
        Ok(RawAngles {
            cambers: cambers?,
            toes: toes?,
            total_toe: total_toe?,
            strings: strings?,
            floor: floor?,
        })
    }

    /// The camber of a wheel as it was read, whichever way.
    fn camber_of(&mut self, keys: &Wheel) -> Result<Option<RawCamber>, Told> {
        self.one_way([span(&keys.camber), span(&keys.level), span(&keys.plumb)], "the camber")?;
        let sigma = self.camber_sigma(&keys.camber_sigma, &keys.camber)?;
        self.half_turn_of(span(&keys.level_half_turn), keys.level.is_some(), "level")?;
        self.half_turn_of(span(&keys.plumb_half_turn), keys.plumb.is_some(), "plumb")?;
        Ok(Some(if let Some(value) = &keys.camber {
            RawCamber::Angle(Angle { value: self.figure(Wheel::camber.key, value).ok_or(Told)?, sigma })
        } else if let Some(level) = &keys.level {
            let value = self.level(level)?;
            let half_turn = keys.level_half_turn.as_ref().map(|half| self.level(half)).transpose()?;
            RawCamber::Level { value, half_turn }
        } else if let Some(plumb) = &keys.plumb {
            let table = plumb.get_ref();
            let ends = self.edges([("bottom", &table.bottom), ("top", &table.top)], plumb.span())?;
            let half = |half: &Spanned<TopBottom>| {
                let keys = half.get_ref();
                self.edges([("bottom", &keys.bottom), ("top", &keys.top)], half.span())
            };
            let half_turn = keys.plumb_half_turn.as_ref().map(half).transpose()?;
            RawCamber::Plumb(Chord { ends, half_turn, across: self.given(Rim::across.key, &table.across)? })
        } else {
            return Ok(None);
        }))
    }

    fn level(&mut self, value: &Spanned<Quantity>) -> Result<f64, Told> {
        let angle = self.angle(value).ok_or(Told)?;
        if (angle.abs().to_degrees() - 90.0).abs() < 20.0 {
            self.tell(
                Finding::error(value.span(), "this level shows 90 degrees for upright")
                    .label(format!("{:.2} degrees from upright", (90.0 - angle.abs().to_degrees()).abs()))
                    .help("give what it is off upright, with its sign: minus where the top leans in"),
            );
            return Err(Told);
        }
        self.within(Wheel::level.key, value, angle).ok_or(Told)
    }

    /// The toe of one wheel, whichever way it was read.
    fn toe_of(&mut self, keys: &Wheel, rim_diameter: Option<f64>) -> Result<Option<RawToe>, Told> {
        self.one_way([span(&keys.toe), span(&keys.rim), None], "the toe")?;
        let sigma = self.toe_sigma(&keys.toe_sigma, (&keys.toe, "toe"), rim_diameter)?;
        self.half_turn_of(span(&keys.rim_half_turn), keys.rim.is_some(), "rim")?;
        Ok(Some(if let Some(value) = &keys.toe {
            RawToe::Angle(Angle {
                value: self.toe_at(Wheel::toe.key, value, rim_diameter).ok_or(Told)?,
                sigma,
            })
        } else if let Some(rim) = &keys.rim {
            let table = rim.get_ref();
            let ends = self.edges([("front", &table.front), ("rear", &table.rear)], rim.span())?;
            let half = |half: &Spanned<FrontRear>| {
                let keys = half.get_ref();
                self.edges([("front", &keys.front), ("rear", &keys.rear)], half.span())
            };
            let half_turn = keys.rim_half_turn.as_ref().map(half).transpose()?;
            RawToe::Rim(Chord { ends, half_turn, across: self.given(Rim::across.key, &table.across)? })
        } else {
            return Ok(None);
        }))
    }

    /// The toe of both wheels together, as it was read.
    fn total_toe(&mut self, keys: &Reading, rim_diameter: Option<f64>) -> Result<Option<RawTotalToe>, Told> {
        self.one_way([span(&keys.total_toe), span(&keys.plates), None], "the total toe")?;
        let sigma = self.toe_sigma(&keys.total_toe_sigma, (&keys.total_toe, "total_toe"), rim_diameter)?;
        self.half_turn_of(span(&keys.plates_half_turn), keys.plates.is_some(), "plates")?;
        Ok(Some(if let Some(value) = &keys.total_toe {
            // A total in mm is the sum over both rims.
            let half = self.toe_of_total(Reading::total_toe.key, value, rim_diameter).ok_or(Told)?;
            RawTotalToe::Angle(Angle { value: 2.0 * half, sigma })
        } else if let Some(plates) = &keys.plates {
            let Plates { front, rear, length } = plates.get_ref();
            let ends = self.pair([front, rear], plates, Plates::front.key)?;
            let length = self.due(length, "length", plates.span())?;
            let length = self.figure(Plates::length.key, length).ok_or(Told)?;
            let half = |half: &Spanned<FrontRear>| self.front_rear(half, Plates::front.key);
            let half_turn = keys.plates_half_turn.as_ref().map(half).transpose()?;
            RawTotalToe::Plates(RawPlates { ends, half_turn, length })
        } else {
            return Ok(None);
        }))
    }

    /// Where the strings run.
    fn strings(&mut self, keys: &Strings) -> Result<RawStrings, Told> {
        let apart = self.given(Strings::apart.key, &keys.apart)?;
        let tracks = |tracks| self.front_rear(tracks, &Strings::TRACK);
        let tracks = keys.tracks.as_ref().map(tracks).transpose()?;
        let to = if tracks.is_some() { Strings::TO_HUB } else { Strings::TO_CENTRELINE };
        let gaps = PerSide { left: &keys.left, right: &keys.right }
            .map(|gaps| gaps.as_ref().map(|gaps| self.front_rear(gaps, &to)).transpose());
        Ok(RawStrings { gaps: gaps.ok()?, tracks, apart })
    }

    fn front_rear(&mut self, pair: &Spanned<FrontRear>, key: &Key) -> Result<[f64; 2], Told> {
        let FrontRear { front, rear } = pair.get_ref();
        self.pair([front, rear], pair, key)
    }

    /// The front and the rear distance in a table.
    fn pair<T>(
        &mut self,
        [front, rear]: [&Value; 2],
        table: &Spanned<T>,
        key: &Key,
    ) -> Result<[f64; 2], Told> {
        let front = self.due(front, "front", table.span())?;
        let rear = self.due(rear, "rear", table.span())?;
        let [front, rear] = [front, rear].map(|value| self.figure(key, value).ok_or(Told));
        Ok([front?, rear?])
    }

    /// What is known of the floor: measured, or read with the car turned round.
    fn floor(&mut self, keys: &Reading) -> Result<Option<RawFloor>, Told> {
        let measured = keys.floor.as_ref().map(|floor| self.measured_floor(floor)).transpose();
        let turned = keys.other_way_round.as_ref().map(Spanned::get_ref);
        let turned = turned.map(|turned| {
            let tables = PerSide { left: &turned.left, right: &turned.right };
            for wheel in tables.into_iter().flatten() {
                self.only_camber(wheel.get_ref());
            }
            wheels(tables, |_, wheel| self.camber_of(wheel)).map(RawFloor::TurnedRound)
        });
        let turned = turned.transpose();
        self.one_way([span(&keys.floor), span(&keys.other_way_round), None], "the floor")?;
        Ok(measured?.or(turned?))
    }

    /// The slope of the floor as it was measured.
    fn measured_floor(&mut self, floor: &Spanned<Floor>) -> Result<RawFloor, Told> {
        let keys = floor.get_ref();
        match (&keys.left_higher, &keys.slope) {
            (Some(higher), None) => {
                let height = self.figure(Floor::left_higher.key, higher).ok_or(Told)?;
                Ok(RawFloor::Higher(height, self.given(Floor::across.key, &keys.across)?))
            }
            (None, Some(slope)) => self.figure(Floor::slope.key, slope).map(RawFloor::Slope).ok_or(Told),
            (Some(one), Some(other)) => {
                self.tell(
                    Finding::error(other.span(), "the floor is given twice")
                        .label("this way")
                        .other(one.span(), "and this way")
                        .help("keep one of them"),
                );
                Err(Told)
            }
            (None, None) => {
                self.tell(
                    Finding::error(floor.span(), "how does the floor slope?").label("needs `left_higher` or `slope`").help(
                        "`left_higher`: by how much the floor is higher under the left rear tyre than under the right one; `slope`: \
                         the angle, plus where it rises to the left",
                    ),
                );
                Err(Told)
            }
        }
    }

    /// Turned round, only cambers are read again.
    fn only_camber(&mut self, keys: &Wheel) {
        for place in [span(&keys.toe), span(&keys.rim)].into_iter().flatten() {
            self.tell(
                Finding::error(place, "turned round, only the camber is read again")
                    .help("the floor does not change the toe; put it into [reading.left] or [reading.right]"),
            );
        }
    }
}

/// What was read on the left and on the right wheel.
fn wheels<T>(
    tables: WheelTables<'_>,
    mut read: impl FnMut(Hand, &Wheel) -> Result<Option<T>, Told>,
) -> Result<PerSide<Option<T>>, Told> {
    PerSide::try_of(|hand| tables[hand].as_ref().map_or(Ok(None), |wheel| read(hand, wheel.get_ref())))
}
