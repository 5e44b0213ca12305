//! What one step of each arm does, for the correction after a reading.

use crate::plan::ArmSetting;
use crate::report::number::{Units, signed, turns};
use crate::report::plan::correction;
use crate::report::sides::Shown;
use crate::report::table::Table;

/// One step LONGER of every arm; sides that answer alike share a row.
pub(in crate::report) fn correction_table(arms: &[Shown<'_, ArmSetting>], units: Units) -> Table {
    let (toe, name) = (units.toe, units.length_name());
    let toe_head = format!("toe {}", toe.name());
    let mut table =
        Table::new(&["<arm", "<side", "step, turns", name, "camber deg", &toe_head, "<expect up to"]);
    let row = |shown: &Shown<'_, ArmSetting>| {
        let Shown { item: arm, hand, .. } = shown;
        let step = arm.step_turns;
        let toe = toe.show_fine(*hand, arm.per_turn.toe_deg * step);
        let camber = signed(arm.per_turn.camber_deg * step, 2);
        [turns(step), units.length(arm.lead_mm * step), camber, toe, correction(arm)]
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
