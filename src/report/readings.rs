//! The page of `readings`.

use super::heading::height;
use super::number::{Units, fixed, is_nothing, signed, turns};
use super::page::{Page, Printable};
use super::table::Table;
use super::words::{listed, loading};
use crate::car::{Car, Hand, PerSide};
use crate::plan::{ArmRead, CamRead, Read, Readings, SideRead, StateRead, Verdict};

/// What the readings of a record come to, for people.
#[derive(Debug)]
pub struct ReadingsPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// The answer.
    pub answer: &'a Readings,
    /// The units shown.
    pub units: Units,
}

impl Printable for ReadingsPage<'_> {
    fn put(&self, page: &mut Page) {
        let readings = &self.answer.rounds;
        page.verdict(self.verdict());
        page.title(format!("Readings: {}", self.car.name));
        page.paragraph(loading(self.car));
        page.gap();
        for (i, read) in readings.iter().enumerate() {
            self.state(page, i + 1, read);
        }
        page.rest(how_to_read);
    }
}

fn how_to_read(page: &mut Page) {
    page.heading("HOW TO READ THIS");
    for text in [
        "\"Good to\" holds for 95 of 100 readings made with such means. How good yours are goes into [sigma] at the \
             head of the record, or beside a reading as `camber_sigma` and `toe_sigma`.",
        "Within: the spec is kept even at the worse end of \"good to\". CANNOT TELL: the limit lies inside of it; read \
             again, or read better.",
        "Camber: minus leans in at the top. Toe: plus is toe-in, each wheel by itself. Thrust angle: plus, both rear \
             wheels point to the left.",
        "A level and a string do not replace an inspection: worn joints and bent parts read well too. Where they and \
             a rack disagree, find out why.",
    ] {
        page.item("-", text);
    }
}

/// How an angle or its size is shown.
type Show<'a> = &'a dyn Fn(f64) -> String;

impl ReadingsPage<'_> {
    /// Whether the last reading keeps the spec.
    fn verdict(&self) -> String {
        let Some(last) = self.answer.rounds.last() else { return "Nothing was read yet.".to_owned() };
        let of_side = |side: &SideRead| {
            let name = side.side;
            [("camber", side.camber), ("toe", side.toe)]
                .map(|(figure, read)| Some((format!("{figure} {name}"), read?.against_spec?)))
        };
        let shared = [
            ("total toe", last.total_toe),
            ("thrust angle", last.thrust_angle),
            ("left minus right camber", last.cross_camber),
        ]
        .map(|(figure, read)| Some((figure.to_owned(), read?.against_spec?)));
        let all: Vec<(String, Verdict)> =
            last.sides.iter().flat_map(of_side).chain(shared).flatten().collect();
        let those = |verdict: Verdict| -> Vec<String> {
            all.iter().filter(|(_, of)| *of == verdict).map(|(figure, _)| figure.clone()).collect()
        };
        let (out, open) = (those(Verdict::Out), those(Verdict::CannotTell));
        let open_words = if open.is_empty() {
            String::new()
        } else {
            format!(" It cannot be told of {}: read again, or better.", listed(&open))
        };
        match (all.is_empty(), out.is_empty(), open.is_empty()) {
            (true, ..) => {
                "What was read stands below; the profile has no [spec] to hold it against.".to_owned()
            }
            (_, false, _) => format!("NO. The last reading is OUT OF SPEC in {}.{open_words}", listed(&out)),
            (_, true, false) => format!("CANNOT TELL whether the last reading keeps the spec.{open_words}"),
            (_, true, true) => "The last reading keeps the spec, as sure as it was read.".to_owned(),
        }
    }

    fn state(&self, page: &mut Page, number: usize, read: &StateRead) {
        let said: Vec<&str> = [&read.title, &read.date].into_iter().flatten().map(String::as_str).collect();
        let said = if said.is_empty() { String::new() } else { format!(": {}", said.join(", ")) };
        page.paragraph(format!("READING {number}{said}"));
        page.paragraph(stood(read, self.units));
        if let Some(slope) = &read.floor_slope {
            let way = if slope.value_deg < 0.0 { "right" } else { "left" };
            let text = format!(
                "The floor rises by {} deg to the {way}, good to {}; that has been taken out of the cambers.",
                fixed(slope.value_deg.abs(), 2),
                fixed(slope.band_deg, 2)
            );
            page.paragraph(text);
        }
        page.gap();
        self.figures(page, read);
        set_up(page, &read.sides, self.units);
        let run_outs: Vec<String> = read.sides.iter().filter_map(run_out).collect();
        if !run_outs.is_empty() {
            page.paragraph(format!(
                "Run-out of the rims, deg to either side, averaged out: {}.",
                run_outs.join("; ")
            ));
            page.gap();
        }
        let left_in: Vec<Hand> =
            (read.sides.iter()).filter(|side| side.run_out_remains).map(|side| side.side).collect();
        if !left_in.is_empty() {
            page.paragraph(format!(
                "Not read again after half a turn of the wheel, so that the rim's run-out is still in it: {}. How good it is counts a \
                 usual run-out; a second reading after half a turn takes it out.",
                listed(&left_in)
            ));
            page.gap();
        }
    }

    fn figures(&self, page: &mut Page, read: &StateRead) {
        let toe = self.units.toe;
        let degrees = |value: f64| signed(value, 2);
        let size = |value: f64| fixed(value, 2);
        let mut table = Table::new(&["<", "reads", "good to", "wanted", "tolerance", "<"]);
        let mut row =
            |name: String, read: Option<Read>, wanted: Option<[f64; 2]>, value: Show<'_>, size: Show<'_>| {
                let Some(read) = read else { return };
                let [wanted, tolerance] = wanted
                    .map_or_else(Default::default, |[wanted, tolerance]| [value(wanted), size(tolerance)]);
                let seen = [name, value(read.value_deg), size(read.band_deg), wanted, tolerance];
                table.row(seen.into_iter().chain([verdict(read.against_spec).to_owned()]));
            };
        for side in &read.sides {
            let wanted = side.spec.map(|spec| [spec.camber_deg, spec.camber_tolerance_deg]);
            row(format!("camber deg, {}", side.side), side.camber, wanted, &degrees, &size);
        }
        for side in &read.sides {
            let name = format!("toe {}, {}", toe.name(), side.side);
            let wanted = side.spec.map(|spec| [spec.toe_deg, spec.toe_tolerance_deg]);
            let size = |toe_deg| toe.show_size(side.side, toe_deg);
            row(name, side.toe, wanted, &|toe_deg| toe.show(side.side, toe_deg), &size);
        }
        let wanted = read.total_toe_spec.map(|spec| [spec.toe_deg, spec.tolerance_deg]);
        let toe_size = |total_deg| toe.show_size(Hand::Left, total_deg);
        let name = format!("toe {}, total", toe.name());
        row(name, read.total_toe, wanted, &|total_deg| toe.show_even(total_deg), &toe_size);
        let limits = self.car.axle;
        for (name, read, limit) in [
            ("thrust angle deg", read.thrust_angle, limits.thrust_angle),
            ("left - right camber deg", read.cross_camber, limits.cross_camber),
        ] {
            row(name.to_owned(), read, limit.map(|limit| [0.0, limit.to_degrees()]), &degrees, &size);
        }
        page.table(table);
        page.gap();
    }
}

fn verdict(verdict: Option<Verdict>) -> &'static str {
    match verdict {
        None => "",
        Some(Verdict::Within) => "within",
        Some(Verdict::Out) => "OUT",
        Some(Verdict::CannotTell) => "CANNOT TELL",
    }
}

/// How high the car stood.
fn stood(read: &StateRead, units: Units) -> String {
    let drops = read.sides.each(|side| side.drop_mm);
    let height = if drops.iter().all(|drop| is_nothing(*drop)) && read.front_drop_mm.is_none() {
        "At the reference height".to_owned()
    } else {
        height(drops, read.front_drop_mm, units)
    };
    let mut text = format!("{height} (each side good to {}).", units.with_unit(read.sides.left.drop_band_mm));
    if let Some(rake) = read.rake_deg {
        let way = if rake < 0.0 { "up" } else { "down" };
        text +=
            &format!(" The nose points {} deg further {way} than at the reference.", fixed(rake.abs(), 2));
    }
    let lean = fixed(read.lean_deg.abs(), 2);
    if lean != fixed(0.0, 2) {
        let way = if read.lean_deg < 0.0 { "right" } else { "left" };
        text += &format!(" It leans {lean} deg further to the {way}.");
    }
    text
}

/// How the arms and cams stood, where the record says so.
fn set_up(page: &mut Page, sides: &PerSide<SideRead>, units: Units) {
    let name = units.length_name();
    let mut arms = Table::new(&["<arm", "<side", "turns from stock", "<", &format!("length {name}")]);
    arms.sides(sides.each(|side| &side.arms[..]), units, |arm| [arm.link.clone()], arm_cells);
    let mut cams = Table::new(&[
        "<cam",
        "<side",
        "angle deg",
        &format!("pivot {} from the middle", units.length_word()),
    ]);
    cams.sides(sides.each(|side| &side.cams[..]), units, |cam| [cam.link.clone()], cam_cells);
    for (table, any) in [
        (arms, sides.iter().any(|side| !side.arms.is_empty())),
        (cams, sides.iter().any(|side| !side.cams.is_empty())),
    ] {
        if any {
            page.table(table);
            page.gap();
        }
    }
}

fn arm_cells(arm: &ArmRead, units: Units) -> [String; 3] {
    let (count, way) = match arm.turns {
        None => ("-".to_owned(), ""),
        Some(count) if turns(count) == "0" => ("-".to_owned(), "as stock"),
        Some(count) => (turns(count), if count < 0.0 { "shorter" } else { "longer" }),
    };
    [count, way.to_owned(), units.length(arm.length_mm)]
}

fn cam_cells(cam: &CamRead, units: Units) -> [String; 2] {
    [signed(cam.setting_deg, 0), units.length_signed(cam.shift_mm)]
}

/// What a rim runs out by.
fn run_out(side: &SideRead) -> Option<String> {
    let figures = [("camber", side.camber_run_out_deg), ("toe", side.toe_run_out_deg)];
    let figures: Vec<String> = (figures.into_iter())
        .filter_map(|(name, run_out)| Some(format!("{} as {name}", fixed(run_out?, 2))))
        .collect();
    (!figures.is_empty()).then(|| format!("{} {}", side.side, figures.join(" and ")))
}
