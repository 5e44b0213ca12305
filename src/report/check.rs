//! The page of `check`.

use std::fmt;

use super::number::{ToeUnit, Units, signed};
use super::sides::by_side;
use super::table::Table;
use super::words::{alike, item, loading, paragraph};
use crate::car::{Car, Hand, Limit};
use crate::geometry::Figure;
use crate::plan::{Description, LinkDescription};

/// What a sound profile describes, for people.
#[derive(Debug)]
pub struct CheckPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// The answer.
    pub answer: &'a Description,
    /// The units shown.
    pub units: Units,
}

impl fmt::Display for CheckPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Description { name, links, right_links, warnings } = self.answer;
        match warnings.len() {
            0 => writeln!(f, "{name}: the profile is sound")?,
            1 => writeln!(f, "{name}: the profile can be used, with one warning (above)")?,
            count => writeln!(f, "{name}: the profile can be used, with {count} warnings (above)")?,
        }
        paragraph(f, &loading(self.car))?;

        writeln!(f, "\nTHE LINKS: hold a tape to them, centre to centre")?;
        let small = self.units.small();
        let length = format!("length {}", self.units.length_name());
        let longer = format!("{} longer: camber", small.name);
        let toe = match self.units.toe {
            ToeUnit::Degrees => "toe".to_owned(),
            unit => format!("toe {}", unit.name()),
        };
        let mut table = Table::new(&["<link", "<side", "<sets", &length, &longer, &toe, "pitch deg"]);
        for shown in by_side([links, right_links], |link| &link.name, |a, b| self.look_alike(a, b)) {
            let link = shown.item;
            table.row(
                [
                    link.name.clone(),
                    shown.side.to_owned(),
                    link.sets.map_or("-".to_owned(), |figure| figure.to_string()),
                    self.units.length(link.length_mm),
                ]
                .into_iter()
                .chain(effect(shown.hand, link, self.units)),
            );
        }
        table.write(f)?;
        writeln!(f)?;
        paragraph(
            f,
            "camber: plus leans out at the top; toe: plus is toe-in; pitch: plus turns the top of the knuckle forward, \
             which changes how toe moves over bumps.",
        )?;
        self.taped(f)?;
        self.adjusters(f)?;
        let unset: Vec<&str> = [(Figure::Camber, "camber"), (Figure::Toe, "toe")]
            .into_iter()
            .filter(|(figure, _)| links.iter().all(|link| link.sets != Some(*figure)))
            .map(|(_, name)| name)
            .collect();
        if !unset.is_empty() {
            item(f, "-", &format!("nothing sets {}: no link says so with `sets`", unset.join(" or ")))?;
        }
        Ok(())
    }
}

impl CheckPage<'_> {
    /// What the stock arms measure, beside their pivots.
    fn taped(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Description { links, right_links, .. } = self.answer;
        for shown in by_side([links, right_links], |link| &link.name, |a, b| self.look_alike(a, b)) {
            let LinkDescription { name, length_mm, measured_mm, .. } = shown.item;
            let Some(measured) = measured_mm else { continue };
            let text = format!(
                "{name}, {}: the stock arm was taped at {}, {} against its pivots",
                shown.words(),
                self.units.with_unit(*measured),
                self.units.length_signed(measured - length_mm)
            );
            item(f, "-", &text)?;
        }
        Ok(())
    }

    fn adjusters(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.units.length_name();
        let Description { links, right_links, .. } = self.answer;
        if links.iter().chain(right_links).any(|link| link.arm.is_some() || link.cam.is_some()) {
            writeln!(f, "\nWHAT CAN BE ADJUSTED")?;
        }
        let same = |a: &LinkDescription, b: &LinkDescription| a.arm == b.arm && a.cam == b.cam;
        for shown in by_side([links, right_links], |link| &link.name, same) {
            let LinkDescription { name, arm, cam, .. } = shown.item;
            if let Some(arm) = arm {
                let thread = |limit| if limit == Limit::Thread { " (end of its thread)" } else { "" };
                let text = format!(
                    "{name}, {}: an arm of {} {unit} per turn; from stock {} shorter{} to {} longer{}",
                    shown.words(),
                    self.units.length_to(arm.lead_mm, 2),
                    self.units.with_unit(arm.shorter_mm),
                    thread(arm.shorter_limit),
                    self.units.with_unit(arm.longer_mm),
                    thread(arm.longer_limit),
                );
                item(f, "-", &text)?;
            }
            if let Some(cam) = cam {
                let text = format!(
                    "{name}, {}: a cam of {} either way; found {} {unit} from its middle",
                    shown.words(),
                    self.units.with_unit(cam.eccentricity_mm),
                    self.units.length_signed(cam.found_mm)
                );
                item(f, "-", &text)?;
            }
        }
        if self.car.sides.iter().all(|side| side.spec.is_none()) {
            let text = "There is no [spec] yet: the figures of the maker's manual for rear camber and toe. `lower` and `travel` do without, \
                        `plan` and `cams` need it.";
            writeln!(f)?;
            paragraph(f, text)?;
        }
        Ok(())
    }

    fn look_alike(&self, a: &LinkDescription, b: &LinkDescription) -> bool {
        let units = self.units.to_compare();
        let effects = effect(Hand::Left, a, units) == effect(Hand::Right, b, units);
        let taped = match (a.measured_mm, b.measured_mm) {
            (Some(a), Some(b)) => alike(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        alike(a.length_mm, b.length_mm) && taped && a.sets == b.sets && effects
    }
}

/// What a link does that is a little longer: camber, toe, pitch.
fn effect(hand: Hand, link: &LinkDescription, units: Units) -> [String; 3] {
    let (effect, longer) = (link.per_mm, units.small().mm);
    let angle = |per_mm: f64| signed(per_mm * longer, 2);
    [angle(effect.camber_deg), units.toe.show(hand.index(), effect.toe_deg * longer), angle(effect.pitch_deg)]
}
