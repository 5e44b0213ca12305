//! The page of `correct`.

use super::flags::flag_sentence;
use super::heading::{ReadingsTable, how_it_stands, of_car};
use super::hint::Hint;
use super::limits::{self, Limits};
use super::number::{Units, is_nothing, of_100, signed, turns, turns_words};
use super::page::{BOX, Page, Printable};
use super::sheet::step_cells;
use super::table::Table;
use super::words::{axle_sentence, listed, near_singular_sentence, rotation, thread_words};
use crate::car::{Car, Hand, PerSide, Stance};
use crate::plan::{
    ArmTurn, CamTurn, CorrectedSide, Correction, Fewer, FigureOrigin, Leave, RoundSeen, Settles,
};

/// What to turn after a reading, for people.
#[derive(Debug)]
pub(crate) struct CorrectPage<'a> {
    pub(crate) car: &'a Car,
    /// How it stands.
    pub(crate) stance: &'a Stance,
    pub(crate) answer: &'a Correction,
    /// The units shown.
    pub(crate) units: Units,
    /// The record to which the last reading was added just now.
    pub(crate) added: Option<&'a str>,
}

impl Printable for CorrectPage<'_> {
    fn put(&self, page: &mut Page) {
        page.verdict(self.verdict());
        of_car(page, "Correction", self.car, self.stance, self.units);
        self.flags(page);
        self.turns(page);
        self.readings(page);
        self.limits(page);
        self.added(page);
        page.rest(|page| {
            self.together(page);
            self.arms_then(page);
            self.steps(page);
            self.so_far(page);
            how_it_stands(page, self.car, self.stance, self.units);
            caveats(page);
        });
    }
}

impl CorrectPage<'_> {
    /// What to turn in a word, and how surely that does it.
    fn verdict(&self) -> String {
        let sides = &self.answer.sides;
        let then = verdict(self.answer);
        if self.answer.cannot_be_right() {
            return then;
        }
        let turned = |side: &CorrectedSide| {
            let arms = side.arms.iter().filter(|arm| arm.turns != 0.0).map(|arm| arm.link.clone());
            let cams = side.cams.iter().filter(|cam| !is_nothing(cam.turn_mm));
            let links: Vec<String> =
                arms.chain(cams.map(|cam| format!("the {} cam", cam.setting.link))).collect();
            (side.leave.is_none() && !links.is_empty()).then(|| format!("{} {}", side.side, listed(&links)))
        };
        let turned: Vec<String> = sides.iter().filter_map(turned).collect();
        let what = if turned.is_empty() {
            "TURN NOTHING.".to_owned()
        } else {
            format!("TURN {}, as below, then read again.", turned.join("; "))
        };
        let PerSide { left, right } = sides.each(|side| of_100(side.probability_within_spec));
        if self.answer.succeeds() {
            format!(
                "{what} The left wheel is within spec then in {left}, the right one in {right} of 100 cases."
            )
        } else {
            format!("NO. {then} {what}")
        }
    }

    fn turns(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if !sides.iter().all(|side| side.leave.is_some()) {
            page.heading("TURN, each arm and cam from where it stands now");
        }
        if self.answer.doubts_the_last_reading() {
            page.item("!", "FIRST SEE WHAT IS ODD, above: turns that follow from a wrong reading or a loose joint are wrong too.");
        }
        for side in sides {
            if let Some(leave) = side.leave {
                page.item("-", format!("{}: LEAVE IT. {}", side.side, leave_sentence(page, leave, side)));
                continue;
            }
            for arm in &side.arms {
                self.arm(page, side.side, arm);
            }
            for cam in &side.cams {
                cam_item(page, side.side, cam, self.units);
            }
            if let Some(Fewer { link, off_deg }) = &side.fewer {
                page.item(
                    "-",
                    format!(
                        "{}: why more than one: {link} alone would leave camber {} and toe {} deg off.",
                        side.side,
                        signed(off_deg.camber, 2),
                        signed(off_deg.toe, 2)
                    ),
                );
            }
            if side.part_of_the_way < 1.0 {
                page.item("-", format!(
                    "{}: this goes {} of the way only. How much a turn does on this car is not known well enough yet; the reading \
                     after it will tell.",
                    side.side,
                    if side.part_of_the_way < 0.4 { "a quarter" } else { "half" }
                ));
            }
            if side.now.within_spec {
                page.item(
                    "-",
                    format!("{}: it is within tolerance as it reads; the turn may wait.", side.side),
                );
            }
        }
        page.gap();
    }

    fn arm(&self, page: &mut Page, hand: Hand, arm: &ArmTurn) {
        let Some(fitted) = self.car.sides[hand].arm(&arm.link) else { return };
        // A tape reads the arm, not the pivots; where the stock arm was not measured, the pivots have to do.
        let set_mm = arm.bench.bench_mm.unwrap_or(arm.set_mm);
        if arm.turns == 0.0 {
            let text = format!("{}, {hand}: leave it at {}", arm.link, self.units.with_unit(set_mm));
            page.item(BOX, text);
            return;
        }
        let way = if arm.turns > 0.0 { "LONGER" } else { "SHORTER" };
        let by = self.units.with_unit(arm.longer_mm.abs());
        let text = format!(
            "{}, {hand}: {way} {} ({by}), to {}",
            arm.link,
            turns_words(arm.turns),
            self.units.with_both(set_mm)
        );
        page.item(BOX, text);
        page.line(format!("        {}", rotation(&fitted.threads, fitted.clockwise(), arm.turns > 0.0)));
        if arm.thread.short {
            page.line("        TOO LITTLE THREAD IN THE BODY: DO NOT DRIVE ON IT");
        }
    }

    /// How the arms that are turned stand before and after.
    fn arms_then(&self, page: &mut Page) {
        let arms = |side: &CorrectedSide| side.arms.iter().any(|arm| arm.turns != 0.0);
        if !self.answer.sides.iter().any(arms) {
            return;
        }
        page.heading("THE ARMS THEN");
        for side in &self.answer.sides {
            for arm in side.arms.iter().filter(|arm| arm.turns != 0.0) {
                page.item(
                    "-",
                    format!(
                        "{}, {}: from {}; then {}; {}",
                        arm.link,
                        side.side,
                        self.units.with_unit(arm.bench_now_mm.unwrap_or(arm.now_mm)),
                        from_stock(arm.turns_from_stock),
                        thread_words(&arm.thread, self.units)
                    ),
                );
            }
        }
        page.gap();
    }

    fn readings(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        let mut readings = ReadingsTable::headed("THE WHEELS WILL READ", self.units.toe);
        readings.row("they read now", sides.each(|side| side.now.reading));
        readings.good_to(sides.each(|side| &side.now_band));
        readings.row("turned as above", sides.each(|side| side.result.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.wanted(sides.each(|side| side.spec));
        readings.put(page);
        page.gap();
        for sentence in self.origins() {
            page.paragraph(sentence);
        }
        page.gap();
    }

    /// What the two wheels do together.
    fn together(&self, page: &mut Page) {
        let Correction { axle_now, axle, .. } = self.answer;
        page.paragraph(format!(
            "Thrust angle now {}, then {} deg (plus: the axle points to the left); left minus right camber now {}, then {} deg.",
            signed(axle_now.thrust_angle_deg, 2),
            signed(axle.thrust_angle_deg, 2),
            signed(axle_now.cross_camber_deg, 2),
            signed(axle.cross_camber_deg, 2)
        ));
        page.gap();
    }

    /// Which figures of now were not read, and where they come from.
    fn origins(&self) -> Vec<String> {
        let sides = &self.answer.sides;
        let mut sentences = Vec::new();
        if sides.iter().all(|side| side.toe_from == FigureOrigin::Total) {
            sentences.push(
                "Only total toe was read; what it is off what was expected is split evenly between the wheels.".to_owned(),
            );
        }
        if !self.answer.thrust_known {
            sentences.push(
                "The thrust angle is not known: read the toe of each wheel against the car's centreline."
                    .to_owned(),
            );
        }
        for side in sides {
            for (figure, origin) in [("camber", side.camber_from), ("toe", side.toe_from)] {
                let from = match origin {
                    FigureOrigin::Read | FigureOrigin::Total => continue,
                    FigureOrigin::Before => "is the one read before, with what was turned since",
                    FigureOrigin::Profile => {
                        "was never read, so nothing is turned for it; it is what the profile says"
                    }
                };
                sentences.push(format!("The {figure} on the {} {from}.", side.side));
            }
        }
        sentences
    }

    fn flags(&self, page: &mut Page) {
        if self.answer.flags.is_empty() {
            return;
        }
        page.heading("WHAT IS ODD");
        for flag in &self.answer.flags {
            page.item("!", flag_sentence(page, flag, self.units, self.answer.rounds.len()));
        }
        page.gap();
    }

    fn limits(&self, page: &mut Page) {
        let of = |side: &CorrectedSide| {
            let (limits, near_singular) =
                (Limits::from(side), near_singular_sentence(side.side, &side.certainty, self.units));
            near_singular.into_iter().chain(limits.stops()).chain(limits.unset()).chain(limits.too_coarse())
        };
        let mut sentences: Vec<String> = self.answer.sides.iter().flat_map(of).collect();
        sentences.extend(axle_sentence(self.car, &self.answer.axle));
        if !sentences.is_empty() {
            page.heading("LIMITS");
            page.items("-", sentences);
            page.gap();
        }
    }

    /// What one more step does, as far as the readings have shown.
    fn steps(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if sides.iter().all(|side| side.arms.is_empty()) {
            return;
        }
        let learnt =
            if self.answer.rounds.iter().filter(|round| round.sides.left.expected.is_some()).count() > 1 {
                "as the readings show"
            } else {
                "by the profile"
            };
        let name = self.units.length_name();
        page.heading(format!("ONE STEP LONGER DOES, {learnt}; shorter, the opposite"));
        let toe_head = format!("toe {}", self.units.toe.name());
        let mut table = Table::new(&["<arm", "<side", "step, turns", name, "camber deg", &toe_head]);
        for side in sides {
            for arm in &side.arms {
                let head = [arm.link.clone(), side.side.to_string()];
                table.row(head.into_iter().chain(step_cells(&arm.step, side.side, self.units)));
            }
        }
        page.table(table);
        page.gap();
    }

    fn so_far(&self, page: &mut Page) {
        let rounds = &self.answer.rounds;
        page.heading("READ SO FAR");
        let left_out = self.answer.left_out;
        if left_out > 0 {
            page.paragraph(format!(
                "The oldest {left_out} of {} readings were not learnt from and are not shown; {} lists them.",
                rounds.len(),
                page.hint(Hint::All)
            ));
        }
        let toe_head = format!("toe {}: left", self.units.toe.name());
        let mut table = Table::new(&["<", "<", "camber deg: left", "right", &toe_head, "right", "<"]);
        for (number, round) in (1..).zip(rounds).skip(left_out) {
            let PerSide { left, right } = &round.sides;
            let show = |value: Option<f64>, show: &dyn Fn(f64) -> String| value.map_or("-".to_owned(), show);
            table.row([
                number.to_string(),
                name(round),
                show(left.camber_deg, &|camber| signed(camber, 2)),
                show(right.camber_deg, &|camber| signed(camber, 2)),
                show(left.toe_deg, &|toe| self.units.toe.show(Hand::Left, toe)),
                show(right.toe_deg, &|toe| self.units.toe.show(Hand::Right, toe)),
                match round.total_toe_deg {
                    _ if rounds.last().is_some_and(|last| drops(last) != drops(round)) => {
                        "other height".to_owned()
                    }
                    Some(total) => format!("total {}", self.units.toe.show_even(total)),
                    None => String::new(),
                },
            ]);
            if let (Some(left), Some(right)) = (left.expected, right.expected) {
                table.row([
                    String::new(),
                    "  expected".to_owned(),
                    signed(left.camber_deg, 2),
                    signed(right.camber_deg, 2),
                    self.units.toe.show(Hand::Left, left.toe_deg),
                    self.units.toe.show(Hand::Right, right.toe_deg),
                ]);
            }
        }
        page.table(table);
        page.gap();
    }
}

impl CorrectPage<'_> {
    fn added(&self, page: &mut Page) {
        let Some(record) = self.added else { return };
        let number = self.answer.rounds.len();
        page.paragraph(format!(
            "Added to {record} as reading {number}. To see this page again, leave out {}, {} and {}: given \
                 again they are a new reading, of the car with the turns above made.",
            page.hint(Hint::Left),
            page.hint(Hint::Right),
            page.hint(Hint::TotalToe)
        ));
        page.gap();
    }
}

fn caveats(page: &mut Page) {
    page.heading("BEFORE AND AFTER");
    page.item("-", format!(
        "Each arm is taken to stand as it was told to be set last, each cam where it was told to be set. Where one does not, \
         say so: {}, {}.",
        page.hint(Hint::Arm),
        page.hint(Hint::Cam)
    ));
    page.items("-", [
        "Stands on firm level ground and chocks before anything is turned; nobody under a car on a jack. A cam is not turned \
         with the wheel loaded, and never past 90 degrees.",
        "Down on its wheels, loaded as above, rolled and bounced; then read again. Only a car that has rolled reads true.",
        "Lock nuts tight, both ends, arm held, to the maker's figure; then read once more, because tightening moves the \
         setting. A joint that turns with its nut has undone the turn.",
        "The car maker's manual and the arm maker's figures rule. A licensed workshop has the last word where the law asks for \
         it.",
    ]);
}

fn cam_item(page: &mut Page, hand: Hand, cam: &CamTurn, units: Units) {
    let link = &cam.setting.link;
    if is_nothing(cam.turn_mm) {
        let text = format!("{link} cam, {hand}: leave it at {} degrees", signed(cam.setting.setting_deg, 0));
        page.item(BOX, text);
        return;
    }
    let way = if cam.turns_towards_wheel { "OUTBOARD" } else { "INBOARD" };
    let marks = cam.turn_marks.map_or(String::new(), |marks| format!(", {} marks", signed(marks, 1)));
    let text = format!(
        "{link} cam, {hand}: pivot {} {way}: turn it by {} degrees{marks}",
        units.with_unit(cam.turn_mm.abs()),
        signed(cam.turn_deg, 0)
    );
    page.item(BOX, text);
    let marks = cam.setting.marks.map_or(String::new(), |marks| format!(", {} marks", signed(marks, 1)));
    page.line(format!(
        "        from {} to {} degrees from its middle{marks}",
        signed(cam.now_deg, 0),
        signed(cam.setting.setting_deg, 0)
    ));
}

fn leave_sentence(page: &Page, leave: Leave, side: &CorrectedSide) -> String {
    let words = match leave {
        Leave::Step => "It is within tolerance, and what is missing is less than a step that can be locked.",
        Leave::Noise => "It is within tolerance, and what is missing is less than the reading is good for.",
        Leave::Impossible => {
            return format!(
                "What it reads CANNOT BE RIGHT, see below; no turns follow from it. A bare number is degrees: minutes are written \
             15', a distance across the rim \"1.2 mm\". If it really reads so, measure its arms and say how they stand ({}).",
                page.hint(Hint::Arm)
            );
        }
        Leave::OtherWay => {
            let link = side.other_way.as_deref().unwrap_or("the link");
            return format!(
                "STOP: it answered the turns of {link} THE OTHER WAY. Turning on would make it worse each time. Find out first: was \
                 {link} turned the way that was told (mark its body, turn it an eighth, see which way it goes); was it the arm of \
                 this side; and does the link meet the knuckle on the side of the wheel centre that the file says (`lies`)? Put the \
                 file or the record right ({}), then ask again.",
                page.hint(Hint::Arm)
            );
        }
        Leave::Unread => "Nothing was read on it.",
        Leave::Worse => "It is NOT within tolerance, but nothing that can be turned brings it nearer.",
        Leave::Unsure => {
            let settles = match &side.settles {
                Some(Settles::TurnOnce { link }) => format!(
                    "What would settle it: turn {link} by one whole turn the way it should go, write it down, and read again."
                ),
                Some(Settles::ReadAgain { figure }) => format!(
                    "What would settle it: read {figure} again, three times, the car rolled and bounced between, and add each \
                     reading."
                ),
                None => String::new(),
            };
            return format!(
                "By what is known so far a turn would make it worse in more than one of ten cases. {settles}"
            );
        }
        Leave::Nothing if side.result.within_spec => {
            "It is within tolerance; nothing on this side can be turned."
        }
        Leave::Nothing => "Nothing on this side can be turned.",
    };
    words.to_owned()
}

fn verdict(answer: &Correction) -> String {
    if answer.cannot_be_right() {
        return "FIRST FIND OUT what cannot be right, and read again.".to_owned();
    }
    let wheels = answer.sides.iter().all(|side| side.result.within_spec);
    let refused = answer.sides.iter().any(CorrectedSide::refuses_an_arm);
    let within_spec = wheels && answer.axle.within_limits;
    format!("{}: see the limits.", limits::verdict("Both wheels come within spec", within_spec, refused))
}

fn from_stock(by: f64) -> String {
    match turns(by).as_str() {
        "0" => "the stock length".to_owned(),
        _ if by > 0.0 => format!("{} longer than stock", turns_words(by)),
        _ => format!("{} shorter than stock", turns_words(by)),
    }
}

fn drops(round: &RoundSeen) -> PerSide<f64> {
    round.sides.each(|side| side.drop_mm)
}

fn name(round: &RoundSeen) -> String {
    match (&round.title, &round.date) {
        (Some(title), Some(date)) => format!("{title}, {date}"),
        (Some(only), None) | (None, Some(only)) => only.clone(),
        (None, None) => "read".to_owned(),
    }
}
