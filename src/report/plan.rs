//! The page of `plan`.

use std::fmt;

use super::cams::cam_table;
use super::heading::{Readings, heading};
use super::number::{ToeUnit, fixed, mm, signed, turns};
use super::table::Table;
use super::words::{
    CAUTIONS, item, limit_sentence, paragraph, side_names, stock_cams_sentence, touchy_sentence,
};
use crate::car::{Car, Limit, Stance};
use crate::plan::{ArmSetting, Plan};

/// Arm lengths and turns, for people.
#[derive(Debug)]
pub struct PlanPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// How it stands.
    pub stance: &'a Stance,
    /// The answer.
    pub answer: &'a Plan,
    /// Unit for toe.
    pub toe: ToeUnit,
}

impl fmt::Display for PlanPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        heading(f, "Plan", self.car, self.stance)?;
        self.arms(f)?;
        self.cams(f)?;
        self.readings(f)?;
        self.limits(f)?;
        writeln!(f, "BEFORE YOU RELY ON IT")?;
        for caution in CAUTIONS {
            item(f, "-", caution)?;
        }
        item(f, "-", "The page for the bench, with the order of work: rodset sheet.")
    }
}

impl PlanPage<'_> {
    fn arms(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [left, right] = &self.answer.sides;
        if left.arms.is_empty() && left.kept_arms.is_empty() {
            writeln!(f, "NO ARM IS FITTED\n")?;
            return Ok(());
        }
        writeln!(f, "SET THE ARMS: match each to its stock length first, then turn it")?;
        let mut table =
            Table::new(&["<arm", "<side", "stock mm", "turns", "<", "set to mm", "thread left mm", "<"]);
        for (a, b) in left.arms.iter().zip(&right.arms) {
            for (side, i) in side_names(alike(a, b)) {
                table.row(arm_row([a, b][i], side));
            }
        }
        for (a, b) in left.kept_arms.iter().zip(&right.kept_arms) {
            for (side, i) in side_names((a.stock_mm - b.stock_mm).abs() < 0.05) {
                let arm = [a, b][i];
                let [stock, set] = [mm(arm.stock_mm), mm(arm.stock_mm)];
                table.row([
                    arm.link.clone(),
                    side.to_owned(),
                    stock,
                    "-".to_owned(),
                    "stays at stock".to_owned(),
                    set,
                ]);
            }
        }
        writeln!(f, "{table}")
    }

    fn cams(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sides = &self.answer.sides;
        if sides.iter().any(|side| !side.cams.is_empty()) {
            writeln!(f, "TURN THE STOCK CAMS that stay in use to about this, then to the reading")?;
            writeln!(f, "{}", cam_table(sides.each_ref().map(|side| side.cams.as_slice())))?;
        }
        Ok(())
    }

    fn readings(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Plan { sides, axle, .. } = self.answer;
        writeln!(f, "THE WHEELS WILL READ")?;
        let mut readings = Readings::new(self.toe);
        readings.row("only lowered", sides.each_ref().map(|side| side.lowered));
        readings.row("set as above", sides.each_ref().map(|side| side.result.reading));
        readings.wanted(sides.each_ref().map(|side| side.spec));
        writeln!(f, "{readings}")?;
        let verdict = if self.answer.succeeds() {
            "Both wheels come within spec."
        } else {
            "THE SPEC IS NOT MET: see the limits below."
        };
        paragraph(
            f,
            &format!(
                "{verdict} Thrust angle {} deg (plus: the axle steers to the left), left minus right camber {} deg.",
                signed(axle.thrust_angle_deg, 2),
                signed(axle.cross_camber_deg, 2)
            ),
        )?;
        writeln!(f)
    }

    fn limits(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Plan { sides, axle, stock_cams } = self.answer;
        writeln!(f, "LIMITS")?;
        for side in sides {
            if let Some(sentence) = touchy_sentence(side.side, &side.certainty) {
                item(f, "-", &sentence)?;
            }
            let arms = side.arms.iter().map(|arm| (&arm.link, arm.limit));
            for (link, limit) in arms.chain(side.kept_arms.iter().map(|arm| (&arm.link, arm.limit))) {
                if let Some(sentence) = limit_sentence(side.side, link, limit) {
                    item(f, "-", &sentence)?;
                }
            }
            for cam in side.cams.iter().filter(|cam| !cam.in_reach) {
                item(
                    f,
                    "-",
                    &format!(
                        "{} cam, {}: at its end; the {} is not reached with it.",
                        cam.link, side.side, cam.sets
                    ),
                )?;
            }
            for figure in &side.unset {
                item(
                    f,
                    "-",
                    &format!(
                        "{figure}, {}: nothing that is fitted sets it; it stays as it comes.",
                        side.side
                    ),
                )?;
            }
            if !side.result.within_spec {
                let off = [
                    (
                        "camber",
                        side.result.reading.camber_deg - side.spec.camber_deg,
                        side.spec.camber_tolerance_deg,
                    ),
                    ("toe", side.result.reading.toe_deg - side.spec.toe_deg, side.spec.toe_tolerance_deg),
                ];
                for (name, off, tolerance) in
                    off.into_iter().filter(|(_, off, tolerance)| off.abs() > *tolerance)
                {
                    let text = format!(
                        "{name}, {}: {} deg off the target, {} is allowed.",
                        side.side,
                        signed(off, 2),
                        fixed(tolerance, 2)
                    );
                    item(f, "-", &text)?;
                }
            }
        }
        if !axle.within_limits {
            item(
                f,
                "-",
                "The two wheels differ by more than the spec's limit for cross camber or thrust angle.",
            )?;
        }
        if let Some(verdict) = stock_cams {
            item(f, "-", &stock_cams_sentence(verdict))?;
        }
        if self.answer.sides[0].arms.iter().any(|arm| !arm.thread_left_mm.is_empty()) {
            item(
                f,
                "-",
                "Thread left is counted per end; the least allowed here is one nominal diameter unless the profile says \
                 otherwise. The arm maker's figure rules.",
            )?;
        }
        writeln!(f)
    }
}

/// Whether two sides' arms are set alike, as far as the page shows.
pub(super) fn alike(a: &ArmSetting, b: &ArmSetting) -> bool {
    let close = |a: f64, b: f64| (a - b).abs() < 0.05;
    close(a.stock_mm, b.stock_mm)
        && close(a.set_mm, b.set_mm)
        && turns(a.turns) == turns(b.turns)
        && a.limit == b.limit
}

/// "longer", "shorter", or that it stays.
pub(super) fn direction(turns: f64) -> &'static str {
    if turns > 0.0 {
        "longer"
    } else if turns < 0.0 {
        "shorter"
    } else {
        "leave at stock"
    }
}

/// Whether less thread is in than must be at the set length itself, not only at the length wanted.
pub(super) fn short_of_thread(arm: &ArmSetting) -> bool {
    arm.thread_left_mm.iter().zip(&arm.thread_least_mm).any(|(left, least)| left < least)
}

fn arm_row(arm: &ArmSetting, side: &str) -> [String; 8] {
    let count = if arm.turns == 0.0 { "-".to_owned() } else { turns(arm.turns) };
    let thread = match arm.thread_left_mm.iter().copied().reduce(f64::min) {
        Some(least) => mm(least),
        None => "not measured".to_owned(),
    };
    let limit = match arm.limit {
        Limit::Ok => "",
        Limit::Thread if short_of_thread(arm) => "TOO LITTLE THREAD",
        Limit::Thread => "NO MORE THREAD",
        _ => "AT ITS END",
    };
    [
        arm.link.clone(),
        side.to_owned(),
        mm(arm.stock_mm),
        count,
        direction(arm.turns).to_owned(),
        mm(arm.set_mm),
        thread,
        limit.to_owned(),
    ]
}
