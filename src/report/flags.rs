//! What is odd about readings, in plain sentences.

use super::hint::Hint;
use super::number::{Units, fixed, signed};
use super::page::Page;
use super::words::listed;
use crate::car::Hand;
use crate::plan::{Cause, Flag, Mistyping};

/// One odd thing and what to do about it; `last` is the number of the last reading, older ones are told in short.
pub(super) fn flag_sentence(page: &Page, flag: &Flag, units: Units, last: usize) -> String {
    let toe = units.toe;
    match flag {
        Flag::Change { side, round, turned, off_deg, usual_deg, causes, .. } => {
            let mut off = Vec::new();
            if let Some(camber) = off_deg.camber {
                off.push(format!(
                    "camber {} deg ({} is usual)",
                    signed(camber, 2),
                    fixed(usual_deg.camber, 2)
                ));
            }
            if let Some(off_toe) = off_deg.toe {
                let usual = toe.show_size(*side, usual_deg.toe);
                off.push(format!("toe {} {} ({usual} is usual)", toe.show(*side, off_toe), toe.name()));
            }
            let what = if *turned { "than its turns explain" } else { "though nothing was turned" };
            format!(
                "{side} wheel, reading {round}: it reads otherwise {what}: off by {}. {}",
                off.join(", "),
                if *round == last {
                    cause_sentences(*side, causes, units)
                } else {
                    "Nothing was learnt from it.".to_owned()
                }
            )
        }
        Flag::UnevenGround { slope_deg, lower_left_mm, known, rims, rounds } => {
            let side = if *lower_left_mm >= 0.0 { Hand::Left } else { Hand::Right };
            let (slope, lower) = (fixed(slope_deg.abs(), 2), units.with_unit(lower_left_mm.abs()));
            if *known {
                let source = page.hint(Hint::Source);
                format!(
                    "The floor slopes: it is {lower} lower under the {side} wheel, worth {slope} deg of camber. That is taken \
                     off readings {}; readings with another source, or with none said, are left as they were read ({source}). \
                     Better level it, with tiles or thin boards, and read again.",
                    listed(rounds)
                )
            } else {
                let turned_round = page.hint(Hint::TurnedRound);
                let rims = if *rims {
                    " Rims that are bent or sit crooked look the same: read each wheel again after half a turn of it as well."
                } else {
                    ""
                };
                format!(
                    "UNEVEN GROUND? The cambers are off by equal and opposite amounts, {slope} deg, as on a floor that is {lower} \
                     lower under the {side} wheel. Turn the car round, put it on the same spots and read again ({turned_round}), \
                     or lay a level across, before anything is turned.{rims}"
                )
            }
        }
        Flag::Noise { figure, stated_deg, repeat_deg } => format!(
            "Readings of one state differ: {figure} repeats to {} deg, where {} was stated (standard deviations). The larger is \
             used. Roll and bounce before each reading; look for play in bushes and bearings.",
            fixed(*repeat_deg, 3),
            fixed(*stated_deg, 3)
        ),
    }
}

fn cause_sentences(side: Hand, causes: &[Cause], units: Units) -> String {
    const OTHERWISE: &str = "else a joint slipped, an arm was not seated, a cam moved, or the reading is wrong. Look before you \
                             turn.";
    let Some((first, others)) = causes.split_first() else {
        return "No one thing explains it: look for a joint that slipped, an arm that is not seated, a cam that moved, a bent \
                part; read again."
            .to_owned();
    };
    let mut text = format!("Likeliest: {}", cause_words(side, first, units));
    for other in others {
        text += &format!("; or {}", cause_words(side, other, units));
    }
    format!("{text}; {OTHERWISE}")
}

fn cause_words(side: Hand, cause: &Cause, units: Units) -> String {
    match cause {
        Cause::NothingTurned => {
            "nothing was turned on this side, or each joint turned with its lock nut".to_owned()
        }
        Cause::NotTurned { link } => format!("{link} was not turned, or its joint turned with the lock nut"),
        Cause::WrongWay { link } => format!("{link} was turned the wrong way"),
        Cause::OtherSide { link, meant_for } if *meant_for == side => {
            format!("the turn of {link} was made on the other side of the car")
        }
        Cause::OtherSide { link, meant_for } => {
            format!("the turn of {link} that was meant for the {meant_for} was made here")
        }
        Cause::RunOut { run_out_mm } => {
            let by = run_out_mm.map_or(String::new(), |by| format!(" by {}", units.with_unit(by)));
            format!(
                "the rim is bent or sits crooked, so that its edge goes in and out{by} as it turns: read again after half a turn of \
                 the wheel and give both"
            )
        }
        Cause::Mistyped { how } => match how {
            Mistyping::CamberSign => "the sign of camber was lost, or one too many was typed".to_owned(),
            Mistyping::ToeSign => "the sign of toe was lost, or one too many was typed".to_owned(),
            Mistyping::TotalToe => "the total toe of both wheels was typed as that of this wheel".to_owned(),
            Mistyping::Sides => "the readings of the left and the right wheel changed places".to_owned(),
        },
        Cause::Moved { link, by_mm, cam } => {
            let way = if *by_mm >= 0.0 { "longer" } else { "shorter" };
            let cam = if *cam { ", or its cam moved" } else { "" };
            format!(
                "{link} acts {} {way} than noted: it slipped or is not seated{cam}",
                units.with_unit(by_mm.abs())
            )
        }
    }
}
