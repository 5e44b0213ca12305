//! The page of `check`.

use std::fmt;

use super::number::{fixed, mm, signed};
use super::sides::by_side;
use super::table::Table;
use super::words::{alike, item, loading, paragraph};
use crate::car::{Car, Limit};
use crate::geometry::Figure;
use crate::plan::{Description, LinkDescription};

/// What a sound profile describes, for people.
#[derive(Debug)]
pub struct CheckPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// The answer.
    pub answer: &'a Description,
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
        let mut table =
            Table::new(&["<link", "<side", "<sets", "length mm", "1 mm longer: camber", "toe", "pitch deg"]);
        for shown in by_side([links, right_links], |link| &link.name, look_alike) {
            let link = shown.item;
            table.row([
                link.name.clone(),
                shown.side.to_owned(),
                link.sets.map_or("-".to_owned(), |figure| figure.to_string()),
                mm(link.length_mm),
                signed(link.per_mm.camber_deg, 2),
                signed(link.per_mm.toe_deg, 2),
                signed(link.per_mm.pitch_deg, 2),
            ]);
        }
        table.write(f)?;
        writeln!(f)?;
        paragraph(
            f,
            "camber: plus leans out at the top; toe: plus is toe-in; pitch: plus turns the top of the knuckle forward, \
             which changes how toe moves over bumps.",
        )?;
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
    fn adjusters(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
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
                    "{name}, {}: an arm of {} mm per turn; from stock {} mm shorter{} to {} mm longer{}",
                    shown.words(),
                    fixed(arm.lead_mm, 2),
                    mm(arm.shorter_mm),
                    thread(arm.shorter_limit),
                    mm(arm.longer_mm),
                    thread(arm.longer_limit),
                );
                item(f, "-", &text)?;
            }
            if let Some(cam) = cam {
                let text = format!(
                    "{name}, {}: a cam of {} mm either way; found {} mm from its middle",
                    shown.words(),
                    mm(cam.eccentricity_mm),
                    signed(cam.found_mm, 1)
                );
                item(f, "-", &text)?;
            }
        }
        Ok(())
    }
}

fn look_alike(a: &LinkDescription, b: &LinkDescription) -> bool {
    let figures = |link: &LinkDescription| {
        let effect = link.per_mm;
        [effect.camber_deg, effect.toe_deg, effect.pitch_deg].map(|figure| signed(figure, 2))
    };
    alike(a.length_mm, b.length_mm) && a.sets == b.sets && figures(a) == figures(b)
}
