//! What one step of each arm does, for the correction after a reading.

use crate::car::Hand;
use crate::plan::{ArmSetting, Step};
use crate::report::number::{Units, signed, turns};
use crate::report::plan::correction;
use crate::report::sides::Shown;
use crate::report::table::Table;

/// One step LONGER of every arm; sides that answer alike share a row.
pub(in crate::report) fn correction_table(arms: &[Shown<'_, ArmSetting>], units: Units) -> Table {
    let (toe_head, name) = (format!("toe {}", units.toe.name()), units.length_name());
    let mut table =
        Table::new(&["<arm", "<side", "step, turns", name, "camber deg", &toe_head, "<expect up to"]);
    let row = |shown: &Shown<'_, ArmSetting>| {
        let [step, length, camber, toe] = step_cells(&shown.item.step, shown.hand, units);
        [step, length, camber, toe, correction(shown.item)]
    };
    let mut before: Option<(&str, [String; 5])> = None;
    for shown in arms {
        let cells = row(shown);
        // Sides that are set differently mostly still answer alike; then one row says it.
        if before.as_ref().is_some_and(|(link, above)| *link == shown.item.link && *above == cells) {
            continue;
        }
        let of_link = || arms.iter().filter(|other| other.item.link == shown.item.link);
        let same =
            shown.side == "both" || (of_link().count() > 1 && of_link().all(|other| row(other) == cells));
        let side = if same { "each" } else { shown.side };
        table.row([shown.item.link.clone(), side.to_owned()].into_iter().chain(cells.clone()));
        before = Some((&shown.item.link, cells));
    }
    table
}

/// What one step is and does: its turns, its length, camber and toe.
pub(in crate::report) fn step_cells(step: &Step, hand: Hand, units: Units) -> [String; 4] {
    let Step { turns: part, length_mm, effect } = step;
    let toe = units.toe.show_fine(hand, effect.toe_deg);
    [turns(*part), units.length(*length_mm), signed(effect.camber_deg, 2), toe]
}
