//! The page of `survey`.

use super::hint::Hint;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use crate::measure::{Slip, Survey, Surveyed, SurveyedObservation, SuspectObservation};

/// Readings of which less than this part of a slip would show are not checked.
const UNCHECKED: f64 = 0.1;
/// More than anybody measures again.
const MOST_NAMED: usize = 8;

/// What a survey came to, for people.
#[derive(Debug)]
pub(crate) struct SurveyPage<'a> {
    /// What was measured.
    pub(crate) survey: &'a Survey,
    pub(crate) answer: &'a Surveyed,
    /// The unit of lengths.
    pub(crate) units: Units,
    /// Name of the survey file.
    pub(crate) file: &'a str,
    /// Name of the profile that was written, if one was.
    pub(crate) written: Option<&'a str>,
}

impl Printable for SurveyPage<'_> {
    fn put(&self, page: &mut Page) {
        let Surveyed { observations, unknowns, redundancy, .. } = self.answer;
        let count = observations.len();
        let suspects = self.answer.suspects.len();
        let wrong = match suspects {
            0 => String::new(),
            1 => "NO. One reading does not go with the others: see below. ".to_owned(),
            _ => format!("NO. {suspects} readings do not go with the others: see below. "),
        };
        page.verdict(match self.answer.layout_widened {
            Some(widened) => format!("{wrong}{}", self.beside_a_layout(widened)),
            None => format!(
                "{wrong}{count} readings for {unknowns} unknowns, {redundancy} to spare. {}",
                self.agreement()
            ),
        });
        page.title(format!("Survey: {}", self.survey.car));
        self.assumed(page);
        page.gap();
        self.slips(page);
        self.points(page);
        self.links(page);
        self.unchecked(page);
        self.next(page);
    }
}

impl SurveyPage<'_> {
    fn agreement(&self) -> String {
        let Surveyed { unit_weight, widened, redundancy, suspects, .. } = self.answer;
        let aside = if suspects.iter().all(is_tied) { "" } else { "Without the misreadings below, " };
        if *redundancy == 0 {
            return "With none to spare nothing is checked: measure some in a second way.".to_owned();
        }
        let times = fixed(*unit_weight, 1);
        let text = if *widened > 1.05 {
            format!(
                "their errors look {times} times as large as you said; the deviations were widened for it."
            )
        } else {
            format!("they agree as well as you said they would ({times} times the stated deviations).")
        };
        let mut letters = text.chars();
        let first = letters.next().map(|c| if aside.is_empty() { c.to_ascii_uppercase() } else { c });
        first.map_or_else(String::new, |first| format!("{aside}{first}{}", letters.as_str()))
    }

    /// How readings and a typical layout go together.
    fn beside_a_layout(&self, layout_widened: f64) -> String {
        let observations = &self.answer.observations;
        let verdict = if layout_widened > 1.05 {
            let times = fixed(layout_widened, 1);
            format!("All together they speak against it: its deviations were widened {times} times.")
        } else {
            "They go with it.".to_owned()
        };
        let count = observations.len();
        match count {
            0 => "Nothing measured yet beside a typical layout.".to_owned(),
            1 => format!("1 reading beside a typical layout. {}", verdict.replace("They go", "It goes")),
            _ => format!("{count} readings beside a typical layout. {verdict}"),
        }
    }

    /// What is assumed from it, and how the readings go together.
    fn assumed(&self, page: &mut Page) {
        let Surveyed { assumed, widened, layout_widened, .. } = self.answer;
        if layout_widened.is_none() {
            return;
        }
        if *widened > 1.05 {
            page.paragraph(format!(
                "The errors of the readings look {} times as large as you said; the deviations were widened for it.",
                fixed(*widened, 1)
            ));
        }
        if !assumed.is_empty() {
            page.paragraph(format!("Assumed from it, not measured: {}.", assumed.join(", ")));
        }
    }

    fn slips(&self, page: &mut Page) {
        let (tied, told): (Vec<_>, Vec<_>) =
            self.answer.suspects.iter().partition(|suspect| is_tied(suspect));
        for suspect in tied {
            self.tied(page, suspect);
        }
        if told.is_empty() {
            return;
        }
        page.heading("MEASURE THESE AGAIN: they do not go with the others");
        let mut table = Table::new(&["<reading", "read", "others say", "off", "deviations"]);
        for suspect in told {
            let length = self.is_length(suspect.observation);
            let [reads, should] = [suspect.reads, suspect.should_read].map(|value| self.shown(length, value));
            let off = self.off(length, suspect.off);
            table.row([suspect.what.clone(), reads, should, off, fixed(suspect.standardized.abs(), 1)]);
        }
        page.table(table);
        page.gap();
    }

    /// Readings of which one is wrong, the likeliest first, and what would tell.
    fn tied(&self, page: &mut Page, suspect: &SuspectObservation) {
        page.heading("ONE OF THESE IS WRONG: nothing tells which, so none is set aside");
        let then = suspect.decide.as_ref().map_or("", |_| "then (1)");
        let mut table = Table::new(&["<reading", "read", "should read", "off", then, "<misread"]);
        for candidate in &suspect.candidates {
            let length = self.is_length(candidate.observation);
            let [reads, should] =
                [candidate.reads, candidate.should_read].map(|value| self.shown(length, value));
            let decides = suspect.decide.as_ref().zip(candidate.decides);
            let decides =
                decides.map_or("-".to_owned(), |(seen, reads)| self.shown(seen.unit == "mm", reads));
            let slip = candidate.slip.map_or(String::new(), |slip| self.slip(slip, candidate.whole_mm()));
            table.row([
                candidate.what.clone(),
                reads,
                should,
                self.off(length, candidate.off),
                decides,
                slip,
            ]);
        }
        page.table(table);
        if let Some(decide) = &suspect.decide {
            let again = if decide.again { " once more" } else { "" };
            page.item("-", format!("(1) To tell which, measure {}{again}.", decide.what));
        }
        page.item("-", "The points below rest on all readings, right and wrong; how good they are reaches to where each of these cases has them.");
        page.gap();
    }

    fn slip(&self, slip: Slip, whole: f64) -> String {
        match slip {
            Slip::Inches => "inches?".to_owned(),
            Slip::Centimetres => "cm?".to_owned(),
            Slip::Transposed => "digits swapped?".to_owned(),
            Slip::Sign => "sign?".to_owned(),
            Slip::Round => format!("{} {}?", self.units.length(whole), self.units.length_name()),
        }
    }

    fn off(&self, length: bool, off: f64) -> String {
        if length { self.units.length_signed(off) } else { signed(off, 1) }
    }

    fn is_length(&self, observation: usize) -> bool {
        self.answer.observations.get(observation).is_none_or(is_length)
    }

    fn points(&self, page: &mut Page) {
        page.heading("THE POINTS, left side");
        let [x, y, z] = ["x", "y", "z"].map(|axis| format!("{axis} {}", self.units.length_name()));
        let mut table = Table::new(&["<point", &x, &y, &z, "good to: x", "y", &z]);
        for point in &self.answer.points {
            let at = point.at_mm.map(|at| self.units.length(at));
            let good = point
                .good_to_mm
                .map(|good| if good > 0.0 { self.units.length(good) } else { "-".to_owned() });
            table.row([point.name.clone()].into_iter().chain(at).chain(good));
        }
        page.table(table);
        page.note("x forward, y to the left, z up; good to: 95 of 100; -: fixed by definition");
        page.gap();
    }

    fn links(&self, page: &mut Page) {
        let name = self.units.length_name();
        page.heading("THE LINKS, centre to centre");
        let mut table = Table::new(&["<link", &format!("length {name}"), &format!("good to {name}")]);
        for link in &self.answer.links {
            table.row([
                link.name.clone(),
                self.units.length(link.length_mm),
                self.units.length(link.good_to_mm),
            ]);
        }
        page.table(table);
        page.gap();
    }

    fn unchecked(&self, page: &mut Page) {
        let mut unchecked: Vec<&SurveyedObservation> =
            self.answer.observations.iter().filter(|seen| seen.redundancy < UNCHECKED).collect();
        if unchecked.is_empty() {
            return;
        }
        unchecked.sort_by(|a, b| a.redundancy.total_cmp(&b.redundancy));
        page.heading("HARDLY CHECKED BY THE OTHERS: measure across these, or a second time");
        let mut table = Table::new(&["<reading", "read", "<", "a misreading shows from"]);
        for seen in unchecked.iter().take(MOST_NAMED) {
            let length = is_length(seen);
            let from = seen.noticed_from.map_or("never".to_owned(), |from| self.shown(length, from));
            let unit = if length { self.units.length_name() } else { seen.unit };
            table.row([seen.what.clone(), self.shown(length, seen.reads), unit.to_owned(), from]);
        }
        page.table(table);
        if unchecked.len() > MOST_NAMED {
            page.line(format!(
                "  and {} more; {} has them all",
                unchecked.len() - MOST_NAMED,
                page.hint(Hint::All)
            ));
        }
        page.gap();
    }

    /// What was read: a length, or an angle in degrees.
    fn shown(&self, length: bool, value: f64) -> String {
        if length { self.units.length(value) } else { fixed(value, 1) }
    }

    fn next(&self, page: &mut Page) {
        let open = self.survey.listed.iter().filter(|listed| listed.reads.is_none()).count();
        if open > 0 {
            let text =
                format!("{open} of the {} listed readings are not filled in yet.", self.survey.listed.len());
            page.item("-", text);
        }
        match self.written {
            Some(profile) => page.item("-", format!(
                    "Wrote {profile}. Next: {}, and hold a tape to the lengths it prints.", page.hint(Hint::Check(profile)))),
            None if self.answer.suspects.iter().any(is_tied) => {
                page.item("-", "No profile is written while nothing tells which reading is wrong.");
            }
            None if !self.answer.suspects.is_empty() => page.item("-", "No profile is written while a reading does not go with the others: measure it again, or write \
                 `leave_out = true` beside it."),
            None => page.item("-", format!("To write the profile: {}", page.hint(Hint::ProfileOf(self.file)))),
        }
    }
}

/// Whether nothing tells a slip from other readings.
fn is_tied(suspect: &SuspectObservation) -> bool {
    !suspect.candidates.is_empty()
}

/// Whether a reading is a length and no angle.
fn is_length(seen: &SurveyedObservation) -> bool {
    seen.unit == "mm"
}
