//! What a survey came to, as findings that point into its file.

use super::CheckedSurvey;
use crate::measure::network::{Freedom, ObservationKind};
use crate::measure::{Decide, NoSurvey, Slip, SuspectCandidate, SuspectObservation};
use crate::profile::finding::{Finding, locate};

impl CheckedSurvey {
    /// The observations that do not go with the others, each where it stands.
    pub fn suspect_findings(&self, suspects: &[SuspectObservation], text: &str) -> Vec<Finding> {
        let mut findings = suspects.iter().map(|suspect| self.suspect(suspect)).collect();
        locate(&mut findings, text);
        findings
    }

    fn suspect(&self, suspect: &SuspectObservation) -> Finding {
        let SuspectObservation { observation, what, should_read, off, standardized, candidates, .. } =
            suspect;
        let unit = self.unit(*observation);
        let span = |observation: usize| self.spans[observation].clone();
        if candidates.is_empty() {
            let headline = format!("this does not go with the other measurements ({what})");
            let slip = suspect.slip.map_or(String::new(), |slip| format!("{} ", slip_words(slip)));
            return Finding::error(span(*observation), headline)
                .label(format!("the others say {should_read:.1} {unit}, {off:.1} off"))
                .help(format!(
                    "{slip}Measure it again, or write `leave_out = true` beside it. It is {:.0} standard deviations off",
                    standardized.abs()
                ));
        }
        let headline = format!("one of {} measurements is wrong, and nothing tells which", candidates.len());
        let told = |candidate: &SuspectCandidate| {
            let SuspectCandidate { observation, should_read, off, slip, .. } = candidate;
            let slip = slip.map_or(String::new(), |slip| format!(": {}", slip_words(slip)));
            format!("should read {should_read:.1} {}, {off:.1} off{slip}", self.unit(*observation))
        };
        let decide =
            suspect.decide.as_ref().map_or("measure these again".to_owned(), |decide| self.measure(decide));
        let finding = Finding::error(span(*observation), headline).help(format!(
            "{decide}; until that is known none is taken for wrong. Together they are {:.0} standard deviations off",
            standardized.abs()
        ));
        candidates.iter().fold(finding, |finding, candidate| {
            if candidate.observation == *observation {
                finding.label(told(candidate))
            } else {
                finding.other(span(candidate.observation), format!("or this {}", told(candidate)))
            }
        })
    }

    fn unit(&self, observation: usize) -> &'static str {
        self.survey.unit(observation)
    }

    /// What to measure so as to tell cases apart.
    fn measure(&self, decide: &Decide) -> String {
        if decide.again {
            format!("measure `{}` once more", decide.what)
        } else {
            format!("measure and add {}", self.entry(&decide.kind))
        }
    }

    /// Why a survey gives no points.
    pub fn no_survey_findings(&self, error: &NoSurvey, text: &str) -> Vec<Finding> {
        let mut findings = match error {
            NoSurvey::Loose(freedoms) => freedoms.iter().map(|freedom| self.loose(freedom)).collect(),
            NoSurvey::Contradictory => vec![
                Finding::error(
                    0..0,
                    "these measurements contradict each other so badly that nothing fits them",
                )
                .help("look for mixed-up units (inches are 25.4 mm) and for swapped names of points"),
            ],
            NoSurvey::Twin { spot, here, there, others, decide } => {
                let show = |at: &[f64; 3]| format!("({:.0}, {:.0}, {:.0})", at[0], at[1], at[2]);
                let names: Vec<&str> = others.iter().map(|spot| self.survey.names[*spot].as_str()).collect();
                let with = if names.is_empty() {
                    String::new()
                } else {
                    format!(", and with it {}", names.join(", "))
                };
                let tell = decide.as_deref().map_or(
                    "measure its height too".to_owned(),
                    |(decide, [here, there])| {
                        format!(
                            "{}, which reads {here:.0} {unit} or {there:.0} {unit}",
                            self.measure(decide),
                            unit = decide.unit
                        )
                    },
                );
                vec![
                    Finding::error(
                        self.spots[*spot].clone(),
                        format!("{} fits in two places", self.survey.names[*spot]),
                    )
                    .label(format!("at {} and at {}{with}", show(here), show(there)))
                    .help(format!(
                        "{tell}; or say roughly where it is (its point in [[link]], or `about` of a mark)"
                    )),
                ]
            }
        };
        locate(&mut findings, text);
        findings
    }

    fn loose(&self, freedom: &Freedom) -> Finding {
        let names: Vec<&str> =
            freedom.moves.iter().take(3).map(|(spot, _)| self.survey.names[*spot].as_str()).collect();
        let more = if freedom.moves.len() > 3 { " and others" } else { "" };
        let first = freedom.moves.first();
        let way = first.map_or("", |(_, way)| match way.iamax() {
            0 => "forward and back",
            1 => "sideways",
            _ => "up and down",
        });
        let span = first.map_or(0..0, |(spot, _)| self.spots[*spot].clone());
        let headline = format!("{}{more} could still move, mostly {way}", names.join(", "));
        let swings = first.is_some_and(|(spot, _)| self.swings(*spot));
        let finding = Finding::error(span, headline).label(if swings {
            "measured only from points on one line: it can still swing round that line"
        } else {
            "not held by what was measured"
        });
        match freedom.mend.map(|kind| self.entry(&kind)) {
            Some(entry) => finding.help(format!("measure and add {entry}")),
            None => finding.help("measure it to more points"),
        }
    }

    /// Whether a point is measured only by tape, and only from points that stand on one line.
    fn swings(&self, spot: usize) -> bool {
        /// Points nearer to a line than this are on it, mm.
        const STRAIGHT: f64 = 10.0;
        let network = &self.survey.network;
        let of_spot = network.observations.iter().filter(|seen| seen.kind.spots().contains(&spot));
        let partners: Option<Vec<_>> = of_spot
            .map(|seen| match seen.kind {
                ObservationKind::Distance { from, to } => {
                    let other = if from.spot == spot { to } else { from };
                    Some(network.spots[other.spot].start)
                }
                _ => None,
            })
            .collect();
        let Some([first, others @ ..]) = partners.as_deref() else { return false };
        let furthest = others.iter().map(|at| at - first).max_by(|a, b| a.norm().total_cmp(&b.norm()));
        let Some(line) = furthest.and_then(|line| line.try_normalize(STRAIGHT)) else { return false };
        others.iter().all(|at| (at - first).cross(&line).norm() < STRAIGHT)
    }

    /// An observation as it would be written into the file.
    fn entry(&self, kind: &ObservationKind) -> String {
        let name = |spot: usize| &self.survey.names[spot];
        match kind {
            ObservationKind::Difference { axis: 0, of, .. } if of.spot == self.survey.points[0] => {
                "to `tape`: { from = (a known mark), to = \"wheel centre\", reads = ... }".to_owned()
            }
            ObservationKind::Difference { axis: 0, of, .. } => {
                format!("to `forward`: {{ of = \"{}\", reads = ... }}", name(of.spot))
            }
            ObservationKind::Difference { axis: 1, of, .. } => {
                format!("to `across`: {{ of = \"{}\", reads = ... }}", name(of.spot))
            }
            ObservationKind::Difference { of, .. } => {
                format!("to `height`: {{ of = \"{}\", reads = ... }}", name(of.spot))
            }
            ObservationKind::Distance { from, to } | ObservationKind::Slope { from, to } => {
                format!(
                    "to `tape`: {{ from = \"{}\", to = \"{}\", reads = ... }}",
                    name(from.spot),
                    name(to.spot)
                )
            }
            ObservationKind::Offset { of, line } => format!(
                "to `offset`: {{ of = \"{}\", line = [\"{}\", \"{}\"], reads = ... }}",
                name(of.spot),
                name(line[0].spot),
                name(line[1].spot)
            ),
        }
    }
}

fn slip_words(slip: Slip) -> &'static str {
    match slip {
        Slip::Inches => "inches and mm mixed up? They differ by the factor 25.4.",
        Slip::Centimetres => "cm and mm mixed up?",
        Slip::Transposed => "two digits changed places?",
        Slip::Sign => "the wrong sign?",
        Slip::Round => "misread by whole centimetres, or the tape hooked at another line?",
    }
}
