//! How the arms and the cams stood.

use std::ops::Range;
use toml::Spanned;

use super::schema::{Settings, Sides};
use super::setting::WrittenSetting;
use super::value::Told;
use crate::car::{Car, Hand, Link};
use crate::measure::{LinkSetting, RawArm};
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::record::Reading;

/// Arms as they were set.
type Arms = Vec<LinkSetting<RawArm>>;
/// Shifts of cams from the middle of their slots, mm.
type CamShifts = Vec<LinkSetting<f64>>;

impl Checker {
    /// How the arms and cams of a reading stood.
    pub(super) fn settings(&mut self, keys: &Reading, car: &Car) -> Result<(Arms, CamShifts), Told> {
        let arms =
            self.each(Reading::arms.of(keys), car, |check, _, _, setting, span| check.set_arm(setting, span));
        let cams = self.each(Reading::cams.of(keys), car, Self::shift);
        Ok((arms?, cams?))
    }

    /// The settings of all links that are named, worked out by `work` for each side.
    fn each<T>(
        &mut self,
        settings: Option<&Spanned<Settings>>,
        car: &Car,
        work: impl Fn(&mut Self, Hand, &Link, WrittenSetting, Range<usize>) -> Option<T>,
    ) -> Result<Vec<LinkSetting<T>>, Told> {
        let names = car.sides.left.links.each(|link| link.name.as_str());
        let mut found = Vec::new();
        let mut sound = true;
        for (name, sides) in settings.into_iter().flat_map(Spanned::get_ref) {
            let Some(i) = names.iter().position(|known| *known == name.get_ref().trim()) else {
                self.tell(Finding::unknown(name.span(), "link", name.get_ref(), &names));
                sound = false;
                continue;
            };
            for hand in Hand::BOTH {
                let Some((setting, span)) = of_side(sides, hand) else { continue };
                let value = work(self, hand, &car.sides[hand].links[i], setting, span);
                sound &= value.is_some();
                found.extend(value.map(|to| LinkSetting { hand, link: i, to }));
            }
        }
        if sound { Ok(found) } else { Err(Told) }
    }

    /// How an arm is set.
    fn set_arm(&mut self, setting: WrittenSetting, span: Range<usize>) -> Option<RawArm> {
        Some(match setting {
            WrittenSetting::Bare(turns) | WrittenSetting::Turns(turns) => RawArm::Turns(turns),
            WrittenSetting::Length(length) => RawArm::Length(length),
            WrittenSetting::Change(change) => RawArm::Change(change),
            WrittenSetting::Cam(_) => {
                self.tell(
                    Finding::error(span, "an arm has turns or a length").label("this sets a cam").help(
                        "turns from the stock length, plus: longer, like \"1 11/12\"; or a length from bolt to bolt, like \
                         \"247.2 mm\"",
                    ),
                );
                return None;
            }
        })
    }

    /// The shift of a cam's pivot from the middle of its slot, mm.
    fn shift(&mut self, hand: Hand, link: &Link, setting: WrittenSetting, span: Range<usize>) -> Option<f64> {
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
pub(super) fn of_side(sides: &Spanned<Sides>, hand: Hand) -> Option<(WrittenSetting, Range<usize>)> {
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
