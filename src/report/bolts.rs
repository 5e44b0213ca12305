//! The page of `bolts`.

use std::fmt;

use super::heading::heading;
use super::number::{Units, fixed};
use super::sides::by_side;
use super::table::Table;
use super::words::{CAUTIONS, NO_APPROVAL, item, missing, paragraph};
use crate::car::{Car, Stance};
use crate::strength::{Bolts, Kits, PivotBolt, Tightened};

/// What the pivots' bolts hold, for people.
#[derive(Debug)]
pub struct BoltsPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// How it stands.
    pub stance: &'a Stance,
    /// The answer.
    pub answer: &'a Bolts,
}

impl fmt::Display for BoltsPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        heading(f, "Bolts at the subframe pivots", self.car, self.stance, Units::default())?;
        paragraph(f, NO_APPROVAL)?;
        writeln!(f)?;
        self.slip(f)?;
        self.torque(f)?;
        kits(f, &self.answer.kits)?;
        missing(f, &self.answer.missing)?;
        writeln!(f, "BEFORE YOU RELY ON IT")?;
        for text in [
            "A torque says little about the preload: K scatters by more than any rule for grease. The manual's torque goes with the \
             manual's state of the threads; paint, rust or a locking nut change it again.",
            "Never a bolt of a lower class than the maker's, never one without a full shank where it is sheared; self-locking nuts new \
             each time.",
            "Mark bolt head, plates and bracket with one stroke of paint: a joint that has slipped shows it.",
        ] {
            item(f, "-", text)?;
        }
        item(f, "-", CAUTIONS[2])?;
        item(f, "-", CAUTIONS[3])
    }
}

impl BoltsPage<'_> {
    fn bolts(&self) -> [&[PivotBolt]; 2] {
        self.answer.sides.each_ref().map(|side| side.bolts.as_slice())
    }

    fn slip(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bolts = self.bolts();
        if bolts.iter().all(|bolts| bolts.is_empty()) {
            return Ok(());
        }
        let known = self.answer.sides.iter().all(|side| side.wheel_load_known);
        writeln!(f, "MARGIN TO SLIP in the hardest case of ordinary driving (1.0: it just slips), kN")?;
        let mut table = Table::new(&[
            "<bolt",
            "<side",
            "margin",
            "load",
            "holds",
            "turns cam N m",
            "at a kerb",
            "pothole",
        ]);
        let shown = by_side(bolts, |bolt| &bolt.link, |a, b| slip_row(a) == slip_row(b));
        for shown in &shown {
            table.row(
                [shown.item.link.clone(), shown.side.to_owned()].into_iter().chain(slip_row(shown.item)),
            );
        }
        table.write(f)?;
        paragraph(
            f,
            "load: what friction has to hold, along the slot of a cam, else across the bolt; holds: clamped faces, from the least to the \
             most. Locked out or with a cam the faces hold alike. Past that a lock-out plate comes to rest on its guides; a cam is \
             turned by its arm, with the torque shown, and the alignment goes with it.",
        )?;
        if !known {
            paragraph(f, "The profile does not say what a wheel carries: these loads are for 1 kN on it.")?;
        }
        for shown in &shown {
            if shown.item.margin.is_some_and(|[least, _]| least < 1.0) {
                let text = format!(
                    "{}, {}: MAY SLIP in ordinary driving. A lock-out plate between guides, cleaner faces or the maker's word on a higher \
                     torque.",
                    shown.item.link,
                    shown.words()
                );
                item(f, "!", &text)?;
            }
        }
        writeln!(f)
    }

    fn torque(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bolts = self.bolts();
        if bolts.iter().all(|bolts| bolts.iter().all(|bolt| bolt.tightened.is_empty())) {
            return Ok(());
        }
        writeln!(f, "WHAT THE TORQUE MAKES, T = K F d: preload in kN, and what the bolt stands of it")?;
        let mut table = Table::new(&["<bolt", "<threads", "K", "preload", "stands", "like dry N m"]);
        let told = |a: &PivotBolt, b: &PivotBolt| a.tightened == b.tightened;
        for shown in by_side(bolts, |bolt| &bolt.link, told) {
            let PivotBolt { link, thread, class, torque_nm, tightened, .. } = shown.item;
            for (i, state) in tightened.iter().enumerate() {
                let name = match (i, torque_nm) {
                    (0, Some(_)) => format!("{link}, {}", shown.side),
                    (1, Some(_)) => format!("  {thread}, {class}"),
                    (2, Some(torque)) => format!("  {} N m", fixed(*torque, 0)),
                    _ => String::new(),
                };
                table.row([name].into_iter().chain(torque_row(state)));
            }
        }
        table.write(f)?;
        paragraph(
            f,
            "stands: the preload at which pull and twist bring the shank to nine tenths of its yield stress. Anti-seize or oil make more \
             preload of the same torque; \"like dry\" is the torque that makes no more of it than on dry threads.",
        )?;
        for shown in by_side(bolts, |bolt| &bolt.link, told) {
            for state in shown.item.tightened.iter().filter(|state| state.too_much) {
                let text = format!(
                    "{}, {}: on {} threads this torque may STRETCH the bolt for good.",
                    shown.item.link,
                    shown.words(),
                    surface(state)
                );
                item(f, "!", &text)?;
            }
        }
        writeln!(f)
    }
}

fn surface(state: &Tightened) -> &'static str {
    state.surface.map_or("measured", |surface| surface.name())
}

fn kilonewtons([low, high]: [f64; 2]) -> String {
    format!("{} - {}", fixed(low / 1000.0, 1), fixed(high / 1000.0, 1))
}

fn slip_row(bolt: &PivotBolt) -> [String; 6] {
    let of = |case: crate::car::LoadCase| {
        let found = bolt.cases.iter().find(|slip| slip.case == case);
        found.map_or("-".to_owned(), |slip| fixed(slip.load_n / 1000.0, 2))
    };
    let held = bolt.tightened.iter().find(|state| state.is_so);
    [
        bolt.margin
            .map_or("-".to_owned(), |[least, most]| format!("{} - {}", fixed(least, 1), fixed(most, 1))),
        fixed(bolt.hardest_n / 1000.0, 2),
        held.map_or("-".to_owned(), |state| kilonewtons(state.holds_n)),
        bolt.turns_cam_nm.map_or("-".to_owned(), |torque| fixed(torque, 1)),
        of(crate::car::LoadCase::Kerb),
        of(crate::car::LoadCase::Pothole),
    ]
}

fn torque_row(state: &Tightened) -> [String; 5] {
    let [low, high] = state.nut_factor;
    [
        if state.is_so { format!("{} (yours)", surface(state)) } else { surface(state).to_owned() },
        format!("{} - {}", fixed(low, 2), fixed(high, 2)),
        kilonewtons(state.preload_n),
        fixed(state.stands_n / 1000.0, 1),
        fixed(state.like_dry_nm, 0),
    ]
}

fn kits(f: &mut fmt::Formatter<'_>, kits: &Kits) -> fmt::Result {
    writeln!(f, "LOCK-OUT KITS")?;
    let usual = match kits.usual {
        Some(usual) if usual == kits.cams => " That is the usual number, too.".to_owned(),
        Some(usual) => format!(
            " Usual would be {usual} on a car {} rear steering (common practice, no source): check the profile's cams.",
            if kits.rear_steering == Some(true) { "with" } else { "without" }
        ),
        None => " Usual are four, or two where the rear wheels are steered (common practice, no source)."
            .to_owned(),
    };
    let text = format!(
        "This profile has {} cam bolts on both sides together, so as many kits, one bolt with its two plates each.{usual}",
        kits.cams
    );
    paragraph(f, &text)?;
    paragraph(f, "`rodset lockout` gives the arm lengths with which nothing moves when the cams go.")?;
    writeln!(f)
}
