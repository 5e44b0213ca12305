//! How the arms and the cams stood.

use std::ops::Range;
use toml::Spanned;

use super::schema::{Reading, Settings, Sides};
use super::setting::Setting;
use crate::car::{Car, Hand, Link};
use crate::profile::check::Checker;
use crate::profile::finding::{Finding, nearest};

/// More turns than any arm has thread for.
const MOST_TURNS: f64 = 40.0;
/// An arm of another length than this part of the stock one is a slip.
const LENGTHS: std::ops::RangeInclusive<f64> = 0.6..=1.6;
/// An arm is read to this, mm: its own ends are kept no closer.
const READ: f64 = 1.0;

/// Lengths and shifts of both sides, mm, where they were given.
#[derive(Default)]
pub(super) struct State {
    pub(super) lengths: [[Option<f64>; 5]; 2],
    pub(super) shifts: [[Option<f64>; 5]; 2],
}

impl Checker {
    /// How the arms and cams of a reading stood; `None` where some of it is unsound.
    pub(super) fn settings(&mut self, keys: &Reading, car: &Car) -> Option<State> {
        let lengths = self.each(keys.arms.as_ref(), car, Self::length);
        let shifts = self.each(keys.cams.as_ref(), car, Self::shift);
        let mut state = State { lengths: lengths?, shifts: shifts? };
        // A fitted arm's cam is locked out at the middle of its slot, unless the record says otherwise.
        for (side, (lengths, shifts)) in car.sides.iter().zip(state.lengths.iter().zip(&mut state.shifts)) {
            for (i, link) in side.links.iter().enumerate() {
                if lengths[i].is_some() && link.cam.is_some() {
                    shifts[i].get_or_insert(0.0);
                }
            }
        }
        Some(state)
    }

    /// The settings of all links that are named, worked out by `work` for each side.
    fn each(
        &mut self,
        settings: Option<&Spanned<Settings>>,
        car: &Car,
        work: impl Fn(&mut Self, Hand, &Link, Setting, Range<usize>) -> Option<f64>,
    ) -> Option<[[Option<f64>; 5]; 2]> {
        let names = car.sides.left.links.each_ref().map(|link| link.name.as_str());
        let mut found = [[None; 5]; 2];
        let mut sound = true;
        for (name, sides) in settings.into_iter().flat_map(|settings| settings.get_ref()) {
            let Some(i) = names.iter().position(|known| *known == name.get_ref().trim()) else {
                self.tell(
                    Finding::error(name.span(), format!("there is no link called {:?}", name.get_ref()))
                        .label(
                            nearest(name.get_ref(), &names)
                                .map_or(String::new(), |near| format!("did you mean \"{near}\"?")),
                        )
                        .help(format!("the links are: {}", names.join(", "))),
                );
                sound = false;
                continue;
            };
            for hand in Hand::BOTH {
                let Some((setting, span)) = of_side(sides, hand) else { continue };
                let value = work(self, hand, &car.sides[hand].links[i], setting, span);
                sound &= value.is_some();
                found[hand as usize][i] = value;
            }
        }
        sound.then_some(found)
    }

    /// The length of an arm, mm.
    fn length(&mut self, hand: Hand, link: &Link, setting: Setting, span: Range<usize>) -> Option<f64> {
        let stock = link.stock_length();
        let length = match setting {
            Setting::Bare(turns) | Setting::Turns(turns) => {
                let Some(arm) = &link.arm else {
                    self.tell(
                        Finding::error(span, format!("\"{}\" has no [link.arm] in the profile", link.name))
                            .label("so turns do not say how long it is")
                            .help("give its length from bolt to bolt: \"247.2 mm\""),
                    );
                    return None;
                };
                if turns.abs() > MOST_TURNS {
                    self.tell(
                        Finding::error(span, format!("no arm is turned {turns} times"))
                            .label("turns from the stock length, plus: longer")
                            .help("a length carries its unit: \"247.2 mm\""),
                    );
                    return None;
                }
                stock + turns * arm.lead()
            }
            // A tape on the bench reads it, beside the stock arm.
            Setting::Length(length) => link.between_pivots(length),
            Setting::Change(change) => stock + change,
            Setting::Cam(_) => {
                self.tell(
                    Finding::error(span, "an arm has turns or a length").label("this sets a cam").help(
                        "turns from the stock length, plus: longer, like \"1 11/12\"; or a length from bolt to bolt, like \
                         \"247.2 mm\"",
                    ),
                );
                return None;
            }
        };
        if !LENGTHS.contains(&(length / stock)) {
            self.tell(
                Finding::error(
                    span,
                    format!(
                        "no arm of {:.1} mm goes in the place of \"{}\"",
                        link.on_bench(length),
                        link.name
                    ),
                )
                .label(format!("the stock length on the {hand} is {:.1} mm", link.real_length()))
                .help("a length is from bolt to bolt; what it was changed by is written \"5.8 mm longer\""),
            );
            return None;
        }
        if let Some(arm) = &link.arm
            && !(arm.shortest - READ..=arm.longest + READ).contains(&length)
        {
            self.tell(
                Finding::warning(span, format!("the arm \"{}\" does not go that far", link.name)).label(
                    format!(
                        "{:.1} mm, the arm goes from {} to {}",
                        link.on_bench(length),
                        link.on_bench(arm.shortest),
                        link.on_bench(arm.longest)
                    ),
                ),
            );
        }
        Some(length)
    }

    /// The shift of a cam's pivot from the middle of its slot, mm.
    fn shift(&mut self, hand: Hand, link: &Link, setting: Setting, span: Range<usize>) -> Option<f64> {
        if link.cam.is_none() {
            self.tell(
                Finding::error(span, format!("\"{}\" has no cam in the profile", link.name))
                    .label(format!("none on the {hand}"))
                    .help("add a [link.cam], or leave it out here"),
            );
            return None;
        }
        let Some(position) = setting.of_cam() else {
            self.tell(
                Finding::error(span, "a cam is turned by degrees or marks").label("this sets an arm").help(
                    "from the middle, plus: the way of the profile's `along`, like \"15 deg\" or \"-2 marks\"",
                ),
            );
            return None;
        };
        position.shift(link).map_err(|error| self.tell(Finding::of_words(span, &error.to_string()))).ok()
    }
}

/// The setting of a side and its place.
fn of_side(sides: &Spanned<Sides>, hand: Hand) -> Option<(Setting, Range<usize>)> {
    match sides.get_ref() {
        Sides::Both(setting) => Some((*setting, sides.span())),
        Sides::Each(each) => {
            let side = match hand {
                Hand::Left => &each.left,
                Hand::Right => &each.right,
            };
            side.as_ref().map(|setting| (*setting.get_ref(), setting.span()))
        }
    }
}
