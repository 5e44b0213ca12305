//! The page of `check`.

use std::fmt;

use super::number::{fixed, mm, signed};
use super::table::Table;
use super::words::{item, loading, paragraph, side_names};
use crate::car::{Car, Limit};
use crate::geometry::Figure;
use crate::plan::Description;

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
        let Description { name, links, warnings } = self.answer;
        match warnings.len() {
            0 => writeln!(f, "{name}: the profile is sound")?,
            1 => writeln!(f, "{name}: the profile can be used, with one warning (above)")?,
            count => writeln!(f, "{name}: the profile can be used, with {count} warnings (above)")?,
        }
        paragraph(f, &loading(self.car))?;

        writeln!(f, "\nTHE LINKS: hold a tape to them, centre to centre")?;
        let mut table =
            Table::new(&["<link", "<side", "<sets", "length mm", "1 mm longer: camber", "toe", "pitch deg"]);
        for link in links {
            for (side, i) in side_names((link.length_mm - link.right_length_mm).abs() < 0.05) {
                let effect = |value: f64| if i == 0 { signed(value, 2) } else { String::new() };
                table.row([
                    link.name.clone(),
                    side.to_owned(),
                    link.sets.map_or("-".to_owned(), |figure| figure.to_string()),
                    mm([link.length_mm, link.right_length_mm][i]),
                    effect(link.per_mm.camber_deg),
                    effect(link.per_mm.toe_deg),
                    effect(link.per_mm.pitch_deg),
                ]);
            }
        }
        writeln!(f, "{table}")?;
        paragraph(
            f,
            "camber: plus leans out at the top; toe: plus is toe-in; pitch: plus turns the top of the knuckle forward, \
             which changes how toe moves over bumps.",
        )?;

        if links.iter().any(|link| link.lead_mm.is_some() || link.cam_eccentricity_mm.is_some()) {
            writeln!(f, "\nWHAT CAN BE ADJUSTED")?;
        }
        for link in links {
            if let (Some(lead), Some([shorter, longer])) = (link.lead_mm, link.arm_range_mm) {
                let thread = |(_, limit): (f64, Limit)| if limit == Limit::Thread { " (thread)" } else { "" };
                item(
                    f,
                    "-",
                    &format!(
                        "{} arm: {} mm per turn; from stock {} mm shorter{} to {} mm longer{}",
                        link.name,
                        fixed(lead, 2),
                        mm(-shorter.0),
                        thread(shorter),
                        mm(longer.0),
                        thread(longer),
                    ),
                )?;
            }
            if let (Some(e), Some(shift)) = (link.cam_eccentricity_mm, link.cam_shift_mm) {
                let text = format!(
                    "{} cam: {} mm either way; found {} mm from its middle",
                    link.name,
                    mm(e),
                    signed(shift, 1)
                );
                item(f, "-", &text)?;
            }
        }
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
