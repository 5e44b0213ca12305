//! What the working out of a reading found, told where it stands in the text.

use std::ops::Range;
use toml::Spanned;

use super::height::first;
use super::links::of_side;
use super::value::span;
use crate::car::{Car, Hand};
use crate::measure::{AngleEntry, Corner, Flaw};
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::Key;
use crate::profile::keys::record::{Reading, Wheel};

impl Checker {
    /// Tells of a flaw of a reading.
    #[expect(clippy::too_many_lines, reason = "the words for each")]
    pub(super) fn flaw(&mut self, flaw: &Flaw, reading: &Spanned<Reading>, car: &Car) {
        let places = Places(reading.get_ref());
        let place = places.of(flaw, car).unwrap_or(reading.span());
        let link = |hand: Hand, link: usize| &car.sides[hand].links[link];
        let headline = match *flaw {
            Flaw::NoThread(hand, i) => format!("\"{}\" has no [link.arm] in the profile", link(hand, i).name),
            Flaw::Length(hand, i, length) => {
                let link = link(hand, i);
                format!("no arm of {:.1} mm goes in the place of \"{}\"", link.on_bench(length), link.name)
            }
            Flaw::PastArm(hand, i, _) => format!("the arm \"{}\" does not go that far", link(hand, i).name),
            _ => flaw.to_string(),
        };
        let finding =
            if flaw.is_fatal() { Finding::error(place, headline) } else { Finding::warning(place, headline) };
        let degrees = |angle: f64| format!("{:.2} degrees", angle.to_degrees());
        self.tell(match *flaw {
            Flaw::NoGapBefore(corner) => finding.label("only the new gap is known").help(match corner {
                Corner::Rear(hand) => format!(
                    "add `arch_gap` to [ride] in the profile, or `rear_{hand}` to [heights] at the head of this record"
                ),
                Corner::Front(hand) => format!("add `front_{hand}` to [heights] at the head of this record"),
            }),
            Flaw::Drop(..) => finding.label("mm are meant"),
            Flaw::Odd(..) => finding
                .label("is it a mistake?")
                .help("a drop is the gap before less the gap now; plus: lowered; mm are meant"),
            Flaw::Uneven([left, right]) => finding
                .label(format!("{left:.0} mm on the left, {right:.0} mm on the right"))
                .help("measure the gaps of both sides again, with those from before: from the hub's centre straight up to the lip"),
            Flaw::ToesApart([left, right]) => finding
                .label(format!("{:+.2} and {:+.2} degrees", left.to_degrees(), right.to_degrees()))
                .help("are front and rear in each other's place on one wheel, or a sign lost? Toe-in is plus on either side"),
            Flaw::NoWheelbase => finding.help(
                "add `wheelbase = ...` to [car] in the profile, or leave the front out: it then follows the rear",
            ),
            Flaw::PastTravel(hand, drop) => finding
                .label(format!("a drop of {drop:.1} mm on the {hand}"))
                .help("bump and droop are in [ride] of the profile"),
            Flaw::Twisted([front, rear]) => finding
                .label(format!("left minus right: front {front:.0} mm, rear {rear:.0} mm lower"))
                .help("a body does not twist so far; measure the four gaps again, on level floor"),
            Flaw::NoThread(..) => finding
                .label("so turns do not say how long it is")
                .help("give its length from bolt to bolt: \"247.2 mm\""),
            Flaw::Turns(..) => finding
                .label("turns from the stock length, plus: longer")
                .help("a length carries its unit: \"247.2 mm\""),
            Flaw::Length(hand, i, _) => finding
                .label(format!("the stock length on the {hand} is {:.1} mm", link(hand, i).real_length()))
                .help("a length is from bolt to bolt; what it was changed by is written \"5.8 mm longer\""),
            Flaw::PastArm(hand, i, length) => {
                let link = link(hand, i);
                let [shortest, longest] = link.arm.as_ref().map_or([length; 2], |arm| [arm.shortest, arm.longest]);
                finding.label(format!(
                    "{:.1} mm, the arm goes from {} to {}",
                    link.on_bench(length),
                    link.on_bench(shortest),
                    link.on_bench(longest)
                ))
            }
            Flaw::NoRim(_) => finding
                .label("needs `across`")
                .help("add `across = ...` here, or `rim_diameter` to [wheel] in the profile"),
            Flaw::NoAngle(_) => finding.label("no such angle").help("check the units: bare numbers are mm"),
            Flaw::Much(entry, angle) => {
                // An angle that a wheel can have; one that it hardly has is told, because minutes are easily read as decimals.
                let key = if matches!(entry, AngleEntry::Camber(_) | AngleEntry::CamberTurnedRound(_)) { Wheel::camber.key } else { Wheel::toe.key };
                let key = Key { noun: entry.ordinarily(), ..*key };
                self.within(&key, &Spanned::new(finding.span, ()), angle);
                return;
            }
            Flaw::RunOut(_, run_out, across) => {
                let label = match across {
                    // d = across sin(toe +- w) differs by twice what a dial gauge reads in a turn
                    Some(across) => format!("a run-out of {:.1} mm at the rim's edge", across * run_out.sin()),
                    None => format!("{} to either side", degrees(run_out)),
                };
                finding.label(label).help(
                    "read both again; was the wheel turned by half a turn, and are front and rear, top and bottom the same way?",
                )
            }
            Flaw::NoString(hand) => finding
                .label("measured from that string")
                .help(format!("add `{hand} = {{ front = ..., rear = ... }}` to [reading.string]")),
            Flaw::NoDistance => finding
                .label("needs `apart`")
                .help("along the car; where both are at the hubs, `wheelbase` in [car] of the profile does as well"),
            Flaw::Askew(_, angle) => finding
                .label(format!("{} off it", degrees(angle)))
                .help("check the distances, and the tracks if they are measured to the hubs"),
            Flaw::Steep(slope) => finding
                .label(degrees(slope))
                .help("a bare number is degrees; minutes are written \"15'\""),
            Flaw::FloorUnderRack => {
                let source = span(&reading.get_ref().source).unwrap_or_default();
                finding
                    .label("this floor would be taken out twice")
                    .other(source, "the reading comes from a rack")
                    .help("leave the floor out, or say `source = \"gauge\"`")
            }
            Flaw::NoPair => finding
                .label("turned round")
                .help("the same wheel before and after the car was turned: that tells its camber and the floor"),
            Flaw::TwoFloors([left, right]) => finding
                .label(format!(
                    "left {:+.2}, right {:+.2} degrees up to the left",
                    left.to_degrees(),
                    right.to_degrees()
                ))
                .help("was the car on the same spots, each wheel on the other's?"),
            Flaw::NothingRead => finding
                .label("no camber, no toe")
                .help("add `camber` and `toe` to [reading.left] and [reading.right], or `total_toe`"),
            Flaw::CambersApart(cambers) => return self.cambers_apart(cambers, finding.span),
            Flaw::TotalDiffers { total, sum, each } => finding
                .label(format!("{}; left and right together are {:.2}", degrees(total), sum.to_degrees()))
                .help(if each {
                    "is the total given for each wheel? `toe` is that of one wheel alone"
                } else {
                    "the total is the sum of both; minutes are written \"0°17'\", which is 0.28 degree"
                }),
            Flaw::EachReadsTotal(toe) => finding
                .label(format!("{}; the spec has that for both together", degrees(toe)))
                .help("is the total given for each wheel? `toe` is that of one wheel alone, `total_toe` that of both"),
            // A record has its links from the car.
            Flaw::NoLink(..) => finding,
        });
    }
}

/// Where the values of a reading stand.
struct Places<'a>(&'a Reading);

impl<'a> Places<'a> {
    fn of(&self, flaw: &Flaw, car: &Car) -> Option<Range<usize>> {
        let keys = self.0;
        match *flaw {
            Flaw::NoGapBefore(corner) | Flaw::Drop(corner, _) | Flaw::Odd(corner, _) => self.corner(corner),
            Flaw::Uneven(_) => self
                .corner(Corner::Rear(Hand::Right))
                .or_else(|| keys.height_ways().into_iter().flatten().next()),
            Flaw::NoWheelbase | Flaw::Twisted(_) => self.front(),
            Flaw::PastTravel(..) => keys.height_ways().into_iter().flatten().next(),
            Flaw::NoThread(hand, link)
            | Flaw::Turns(hand, link, _)
            | Flaw::Length(hand, link, _)
            | Flaw::PastArm(hand, link, _) => {
                let name = &car.sides[hand].links[link].name;
                let sides =
                    keys.arms.as_ref()?.get_ref().iter().find(|(key, _)| key.get_ref().trim() == name)?.1;
                of_side(sides, hand).map(|(_, place)| place)
            }
            Flaw::NoRim(entry) | Flaw::NoAngle(entry) => self.read(entry),
            Flaw::Much(entry, _) => self.first_end(entry),
            Flaw::RunOut(entry, ..) => self.half_turn(entry),
            Flaw::NoString(hand) => self.read(AngleEntry::Toe(hand)),
            Flaw::NoDistance => span(&keys.string),
            Flaw::Askew(hand, _) => {
                let strings = keys.string.as_ref()?.get_ref();
                span(of(hand, [&strings.left, &strings.right]))
            }
            Flaw::Steep(_) => span(&keys.floor),
            Flaw::FloorUnderRack => span(&keys.floor).or(span(&keys.other_way_round)),
            Flaw::NoPair | Flaw::TwoFloors(_) => span(&keys.other_way_round),
            Flaw::ToesApart(_) => {
                self.read(AngleEntry::Toe(Hand::Right)).or(self.read(AngleEntry::Toe(Hand::Left)))
            }
            Flaw::CambersApart(_) => {
                let right = Hand::Right;
                self.read(AngleEntry::Camber(right)).or(self.read(AngleEntry::CamberTurnedRound(right)))
            }
            Flaw::TotalDiffers { .. } => self.read(AngleEntry::TotalToe),
            Flaw::EachReadsTotal(_) => self.read(AngleEntry::Toe(Hand::Right)),
            Flaw::NothingRead | Flaw::NoLink(..) => None,
        }
    }

    /// The drop or the gap of a corner.
    fn corner(&self, corner: Corner) -> Option<Range<usize>> {
        let keys = self.0;
        let heights = keys.heights.as_ref().map(Spanned::get_ref);
        match corner {
            Corner::Rear(hand) => {
                let drop = [&keys.drop, of(hand, [&keys.drop_left, &keys.drop_right])];
                let gap = [&keys.arch_gap, of(hand, [&keys.arch_gap_left, &keys.arch_gap_right])];
                let rear =
                    heights.and_then(|heights| span(of(hand, [&heights.rear_left, &heights.rear_right])));
                first(drop).or(first(gap)).or(rear)
            }
            Corner::Front(hand) => span(&keys.front_drop).or(span(keys.front_gaps()[hand])),
        }
    }

    /// The height of the front.
    fn front(&self) -> Option<Range<usize>> {
        span(&self.0.front_drop).or(first(self.0.front_gaps()))
    }

    /// The table of the wheel to which a reading belongs.
    fn wheel(&self, entry: AngleEntry) -> Option<&'a Wheel> {
        let keys = self.0;
        let table = match entry {
            AngleEntry::Camber(hand) | AngleEntry::Toe(hand) => of(hand, [&keys.left, &keys.right]),
            AngleEntry::CamberTurnedRound(hand) => {
                let turned = keys.other_way_round.as_ref()?.get_ref();
                of(hand, [&turned.left, &turned.right])
            }
            AngleEntry::TotalToe => return None,
        };
        table.as_ref().map(Spanned::get_ref)
    }

    /// A reading of an angle as a whole.
    fn read(&self, entry: AngleEntry) -> Option<Range<usize>> {
        match entry {
            AngleEntry::TotalToe => span(&self.0.total_toe).or(span(&self.0.plates)),
            AngleEntry::Toe(_) => self.wheel(entry).and_then(|keys| span(&keys.toe).or(span(&keys.rim))),
            _ => {
                let keys = self.wheel(entry)?;
                span(&keys.camber).or(span(&keys.level)).or(span(&keys.plumb))
            }
        }
    }

    /// The first of the two distances that it comes from.
    fn first_end(&self, entry: AngleEntry) -> Option<Range<usize>> {
        match entry {
            AngleEntry::TotalToe => span(&self.0.plates.as_ref()?.get_ref().front),
            AngleEntry::Toe(_) => span(&self.wheel(entry)?.rim.as_ref()?.get_ref().front),
            _ => span(&self.wheel(entry)?.plumb.as_ref()?.get_ref().top),
        }
    }

    /// The same reading half a turn later.
    fn half_turn(&self, entry: AngleEntry) -> Option<Range<usize>> {
        match entry {
            AngleEntry::TotalToe => span(&self.0.plates_half_turn),
            AngleEntry::Toe(_) => span(&self.wheel(entry)?.rim_half_turn),
            _ => {
                let keys = self.wheel(entry)?;
                span(&keys.level_half_turn).or(span(&keys.plumb_half_turn))
            }
        }
    }
}

#[expect(clippy::ref_option, reason = "as a shape has it")]
fn of<T>(hand: Hand, [left, right]: [&Option<T>; 2]) -> &Option<T> {
    match hand {
        Hand::Left => left,
        Hand::Right => right,
    }
}
