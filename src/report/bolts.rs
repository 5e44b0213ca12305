//! The page of `bolts`.

use super::heading::AnswerPage;
use super::hint::Hint;
use super::number::{Units, fixed, kilonewtons, signed};
use super::page::{Page, Printable};
use super::sides::{Shown, by_pair};
use super::table::Table;
use super::words::{before_strength, missing, not_held_sentence};
use crate::car::{Bolt, LoadCase, Surface};
use crate::plan::ArmEnd;
use crate::strength::{Bolts, CamGrip, Kits, PivotBolt, Tightened};

impl Printable for AnswerPage<'_, Bolts> {
    fn put(&self, page: &mut Page) {
        let (verdict, is_known) = self.verdict();
        self.head(page, "Bolts at the ends of the links", verdict);
        self.slip(page);
        if !is_known {
            missing(page, &self.answer.missing);
        }
        page.rest(|page| {
            self.slip_words(page);
            self.torque(page);
            kits(page, &self.answer.kits);
            if is_known {
                missing(page, &self.answer.missing);
            }
            self.how_it_stands(page);
            before_strength(page, TO_KNOW);
        });
    }
}

/// What to know of its own before anything is done by the page.
const TO_KNOW: [&str; 4] = [
    "A torque says little about the preload: K scatters by more than any rule for grease. The manual's torque goes with the \
             manual's state of the threads; paint, rust or a locking nut change it again.",
    "Never a bolt of a lower class than the maker's, never one without a full shank where it is sheared; self-locking nuts new \
             each time.",
    "Keep oil, paste and paint off the clamped faces and off the plates: they hold by friction. Anti-seize belongs where the manual \
             has it, if anywhere.",
    "Mark bolt head, plates and bracket with one stroke of paint: a joint that has slipped shows it.",
];

impl AnswerPage<'_, Bolts> {
    /// Whether every bolt holds, and the one with the least in hand; and whether that is known of any.
    fn verdict(&self) -> (String, bool) {
        let bolts =
            self.answer.sides.iter().flat_map(|side| side.bolts.iter().map(move |bolt| (side.side, bolt)));
        let known = bolts.filter_map(|(side, bolt)| Some((side, bolt, bolt.margin?)));
        let Some((side, bolt, margin)) = known.min_by(|a, b| a.2[0].total_cmp(&b.2[0])) else {
            return ("NOT KNOWN: the profile does not say enough of any bolt and its load; what to add stands below.".to_owned(), false);
        };
        let least = format!("the least in hand has {}, {side}: margin {}", bolt_name(bolt), span(margin));
        let verdict = if !self.answer.succeeds() {
            format!(
                "NO. NOT EVERY BOLT HOLDS ORDINARY DRIVING, by what the profile says; {least}, where 1.0 just slips."
            )
        } else if bolt.has_little_in_hand() {
            format!(
                "Every bolt holds ordinary driving, but with LITTLE IN HAND; {least}, where 1.8 is usual."
            )
        } else {
            format!(
                "Every bolt holds ordinary driving, by what the profile says; {least}, where 1.0 just slips."
            )
        };
        (verdict, true)
    }

    /// The bolts of both sides, those that look alike once.
    fn shown(&self, alike: impl Fn(&PivotBolt, &PivotBolt) -> bool) -> Vec<Shown<'_, PivotBolt>> {
        let bolts = self.answer.sides.each(|side| side.bolts.as_slice());
        by_pair(bolts, |a, b| a.link == b.link && a.end == b.end, alike)
    }

    fn slip(&self, page: &mut Page) {
        let shown = self.shown(|a, b| slip_rows(a) == slip_rows(b));
        if shown.is_empty() {
            return;
        }
        page.heading("MARGIN TO SLIP in the hardest case of ordinary driving (1.0: it just slips), kN");
        let mut table =
            Table::new(&["<bolt", "<side", "<held by", "margin", "holds", "load", "kerb", "pothole"]);
        for shown in &shown {
            for (i, row) in slip_rows(shown.item).into_iter().enumerate() {
                let name =
                    if i == 0 { [bolt_name(shown.item), shown.side.to_owned()] } else { Default::default() };
                table.row(name.into_iter().chain(row));
            }
        }
        page.table(table);
        for shown in self.shown(|a, b| slip_remark(a) == slip_remark(b)) {
            if let Some((mark, remark)) = slip_remark(shown.item) {
                page.item(mark, format!("{}, {}: {remark}", bolt_name(shown.item), shown.words()));
            }
        }
        if !self.answer.sides.iter().all(|side| side.wheel_load_known) {
            page.paragraph("The profile does not say what a wheel carries: these loads are for 1 kN on it.");
        }
        for side in &self.answer.sides {
            page.items("!", not_held_sentence(side.side, side.not_held_mm, self.units));
        }
        page.gap();
    }

    /// What the words of that table mean, and what is taken for granted in it.
    fn slip_words(&self, page: &mut Page) {
        if self.shown(|_, _| true).is_empty() {
            return;
        }
        page.heading("WHAT THE MARGIN MEANS");
        page.paragraph("load: what friction has to hold, the most over the travel: the whole force of the link, for a bolt in a slot as for any other; holds: \
             preload times the friction of the clamped faces, from the least to the most. A manual that gives a torque and an angle \
             beyond it makes more preload than the torque alone: then these margins do not hold, and what the bolt stands is the \
             manual's word.");
        self.faces(page);
        self.cams(page);
        page.gap();
    }

    /// How many faces are clamped, and how they rub.
    fn faces(&self, page: &mut Page) {
        let mut kinds: Vec<(String, Vec<String>)> = Vec::new();
        for shown in self.shown(|a, b| faces_words(a) == faces_words(b)) {
            let (words, name) =
                (faces_words(shown.item), format!("{}, {}", bolt_name(shown.item), shown.words()));
            match kinds.iter_mut().find(|(known, _)| *known == words) {
                Some((_, names)) => names.push(name),
                None => kinds.push((words, vec![name])),
            }
        }
        match kinds.as_slice() {
            [(words, _)] => page.paragraph(format!("Taken for every bolt: {words}.")),
            kinds => {
                for (words, names) in kinds {
                    page.item("-", format!("{}: {words}.", names.join("; ")));
                }
            }
        }
        let is_usual = |bolt: &PivotBolt| factor(bolt.friction) == factor(Bolt::FRICTION);
        if self.answer.sides.iter().flat_map(|side| &side.bolts).any(is_usual) {
            let [low, high] = Bolt::FRICTION.map(|friction| fixed(friction, 2));
            page.paragraph(format!(
                    "Friction {low} is for painted or oily faces (common practice, no source), {high} for bare steel as rolled (class D of \
                     EN 1090-2, from memory); your own goes into friction in [link.bolt]."
                ));
        }
    }

    /// How a cam and a lock-out differ.
    fn cams(&self, page: &mut Page) {
        let with_cam: Vec<Shown<'_, PivotBolt>> =
            self.shown(|a, b| a.cam == b.cam).into_iter().filter(|shown| shown.item.cam.is_some()).collect();
        if with_cam.is_empty() {
            return;
        }
        page.paragraph("faces: the clamped faces alone, alike for a lock-out and for a cam; past that the bolt moves within its play. A lock-out plate \
             then comes to rest on its guides and cannot go further. A cam has only its two plates' friction against being turned, and \
             once it turns the alignment is gone: \"cam turns\" is faces and plates together. That line is OUR OWN ESTIMATE, no source, never \
             measured: the plates are taken to rub close round the bolt, as under a hexagon. Not known are wear, rust, dirt and \
             loads that go to and fro, which walk a cam round at less; nor is the guides' friction, which helps.");
        let same = self.units.to_compare();
        for shown in self.shown(|a, b| cam_words(a, same) == cam_words(b, same)) {
            if let Some(words) = cam_words(shown.item, self.units) {
                page.item("-", format!("{}, {}: {words}", bolt_name(shown.item), shown.words()));
            }
        }
    }

    fn torque(&self, page: &mut Page) {
        let shown = self.shown(|a, b| a.tightened == b.tightened);
        if shown.iter().all(|shown| shown.item.tightened.is_empty()) {
            return;
        }
        page.heading("WHAT THE TORQUE MAKES, T = K F d: preload in kN, and what the bolt stands of it");
        let mut table = Table::new(&["<bolt", "<threads", "K", "preload", "stands", "like dry N m"]);
        for shown in &shown {
            let PivotBolt { thread, class, torque_nm, tightened, .. } = shown.item;
            for (i, state) in tightened.iter().enumerate() {
                let name = match (i, torque_nm) {
                    (0, Some(_)) => format!("{}, {}", bolt_name(shown.item), shown.side),
                    (1, Some(_)) => format!("  {thread}, {class}"),
                    (2, Some(torque)) => format!("  {} N m", fixed(*torque, 0)),
                    _ => String::new(),
                };
                table.row([name].into_iter().chain(torque_row(state)));
            }
        }
        page.table(table);
        for shown in &shown {
            stretched(page, shown);
        }
        page.paragraph("K, dry: a fastener maker's table; oiled and with anti-seize: common practice, no source. Oil and anti-seize make more \
             preload of the same torque, in the inverse of K; \"like dry\" is the torque whose most preload is no more than on dry \
             threads. Rules of thumb take 25 to 35 percent off for anti-seize (common practice, no source); K scatters more than that. A \
             K that you measured goes into nut_factor. stands: the preload at which pull and twist bring the shank to nine \
             tenths of its yield stress.");
        page.gap();
    }
}

/// Whether the torque stretches the bolt: as its threads are, and as they might be.
fn stretched(page: &mut Page, shown: &Shown<'_, PivotBolt>) {
    let name = format!("{}, {}", bolt_name(shown.item), shown.words());
    let too_much = || shown.item.tightened.iter().filter(|state| state.too_much);
    for state in too_much().filter(|state| state.is_so) {
        let text = format!(
            "{name}: on {} threads this torque may STRETCH the bolt for good, or break it. What it holds is counted no further than \
                 the bolt stands.",
            surface(state)
        );
        page.item("!", text);
    }
    let others: Vec<&str> = too_much().filter(|state| !state.is_so).map(smeared).collect();
    if !others.is_empty() {
        let text = format!(
            "{name}: with {} on its threads this torque might stretch the bolt for good.",
            others.join(" or ")
        );
        page.item("-", text);
    }
}

fn bolt_name(bolt: &PivotBolt) -> String {
    match bolt.end {
        ArmEnd::Subframe => bolt.link.clone(),
        ArmEnd::Knuckle => format!("{}, knuckle", bolt.link),
    }
}

/// A friction or a nut factor, from - to.
fn factor([low, high]: [f64; 2]) -> String {
    format!("{} - {}", fixed(low, 2), fixed(high, 2))
}

fn faces_words(bolt: &PivotBolt) -> String {
    let faces = if bolt.faces == 1 { "one face".to_owned() } else { format!("{} faces", bolt.faces) };
    format!("{faces} of friction {}", factor(bolt.friction))
}

/// What would be on the threads of a state that is not the profile's.
fn smeared(state: &Tightened) -> &'static str {
    match state.surface {
        Some(Surface::Dry) => "nothing",
        Some(Surface::Oiled) => "oil",
        Some(Surface::AntiSeize) => "anti-seize",
        None => "what was measured",
    }
}

fn surface(state: &Tightened) -> &'static str {
    state.surface.map_or("measured", Surface::name)
}

fn span([low, high]: [f64; 2]) -> String {
    format!("{} - {}", fixed(low, 1), fixed(high, 1))
}

fn forces(range: [f64; 2]) -> String {
    let [low, high] = range.map(|force| kilonewtons(force, 1));
    format!("{low} - {high}")
}

/// What the faces hold, and below it when a cam turns.
fn slip_rows(bolt: &PivotBolt) -> Vec<[String; 6]> {
    let of = |case: LoadCase| {
        let found = bolt.cases.iter().find(|slip| slip.case == case);
        found.map_or("-".to_owned(), |slip| kilonewtons(slip.load_n, 2))
    };
    let or_dash = |range: Option<[f64; 2]>, show: fn([f64; 2]) -> String| range.map_or("-".to_owned(), show);
    let faces = [
        "faces".to_owned(),
        or_dash(bolt.margin, span),
        or_dash(bolt.as_it_is().map(|state| state.holds_n), forces),
        bolt.hardest_n.map_or("-".to_owned(), |load| kilonewtons(load, 2)),
        of(LoadCase::Kerb),
        of(LoadCase::Pothole),
    ];
    let turns = bolt.cam.map(|CamGrip { margin, holds_n, .. }| {
        let [label, margin, holds] =
            ["cam turns".to_owned(), or_dash(margin, span), or_dash(holds_n, forces)];
        [label, margin, holds, String::new(), String::new(), String::new()]
    });
    [Some(faces), turns].into_iter().flatten().collect()
}

/// What is to be said of a joint that may slip, with its mark.
fn slip_remark(bolt: &PivotBolt) -> Option<(&'static str, String)> {
    let slips = |margin: Option<[f64; 2]>| margin.is_some_and(|[least, _]| least < 1.0);
    let locked = bolt.locked_out;
    let remark = match (slips(bolt.margin), bolt.cam) {
        (false, _) if bolt.has_little_in_hand() => {
            let text = "holds in ordinary driving with LITTLE IN HAND: below 1.2, and 1.8 is usual where the load goes to and fro (VDI 2230, \
                        from memory).";
            return Some(("!", text.to_owned()));
        }
        (false, _) if bolt.slips_at.is_empty() => return None,
        (false, _) => {
            let blows: Vec<&str> = bolt.slips_at.iter().map(|case| case.name()).collect();
            let text = format!(
                "holds in ordinary driving, but the faces may slip at a blow ({}). After one look at the paint marks and read the \
                 alignment again.",
                blows.join(", ")
            );
            return Some(("-", text));
        }
        (true, Some(cam)) if !locked && slips(cam.margin) => {
            "the cam MAY SLIP AND TURN in ordinary driving. A lock-out, cleaner faces or the maker's word on a higher torque."
        }
        (true, Some(_)) if !locked => {
            "the faces MAY SLIP in ordinary driving, and only the cam's plates hold it then. A lock-out, cleaner faces or the \
             maker's word on a higher torque."
        }
        (true, Some(_)) => {
            "MAY SLIP in ordinary driving until the lock-out plates rest on their guides: no play there, cleaner faces or the \
             maker's word on a higher torque."
        }
        (true, None) => {
            "MAY SLIP in ordinary driving until the bolt rests in its hole: cleaner faces, or the maker's word on a higher torque."
        }
    };
    Some(("!", remark.to_owned()))
}

/// Where a cam stands and with what it is turned.
fn cam_words(bolt: &PivotBolt, units: Units) -> Option<String> {
    let cam = bolt.cam?;
    let turned = cam.turned_with_nm.filter(|_| !cam.is_at_full_throw).map_or(String::new(), |torque| {
        format!(", where its arm turns it with {} N m once the faces have let go", fixed(torque, 1))
    });
    let locked = if bolt.locked_out { " The plan has it locked out." } else { "" };
    let end = if cam.is_at_full_throw { " At full throw the arm has no lever on it." } else { "" };
    Some(format!(
        "cam at {} deg from its middle, lever {}{turned}.{end}{locked}",
        signed(cam.setting_deg, 0),
        units.with_unit(cam.lever_mm)
    ))
}

fn torque_row(state: &Tightened) -> [String; 5] {
    [
        if state.is_so { format!("{} (yours)", surface(state)) } else { surface(state).to_owned() },
        factor(state.nut_factor),
        forces(state.preload_n),
        kilonewtons(state.stands_n, 1),
        fixed(state.like_dry_nm, 0),
    ]
}

fn kits(page: &mut Page, kits: &Kits) {
    let Kits { cams, links, rear_steering, usual, usual_without, usual_with } = kits;
    page.heading("LOCK-OUT KITS");
    let need = match cams {
        0 => "This profile has no cam bolt, so there is nothing to lock out.".to_owned(),
        1 => format!(
            "This profile has one cam bolt ({}): one kit, a bolt with its two plates.",
            links.join(", ")
        ),
        _ => format!(
            "This profile has {cams} cam bolts on both sides together ({}): as many kits, one bolt with its two plates each.",
            links.join(", ")
        ),
    };
    let this_car = match rear_steering {
        Some(true) => "This car's rear wheels are steered",
        Some(false) => "This car's are not steered",
        None => "The profile does not say which this car is",
    };
    let check = if usual.is_some_and(|usual| usual != *cams) { ": count its cams again" } else { "" };
    page.paragraph(format!(
            "{need} Usual are {usual_without} where the rear wheels are not steered, {usual_with} where they are and the toe links have no \
             cams (common practice, no source). {this_car}{check}."
        ));
    if *cams > 0 {
        page.paragraph(format!(
            "`{}` gives the arm lengths with which nothing moves when the cams go.",
            page.hint(Hint::LockOut)
        ));
    }
    page.gap();
}
