//! What the right side takes over from the left: figures that differ from side to side on a real car, but are given for one.

use toml::Spanned;

use super::named_alike;
use crate::profile::schema::{Link, Profile};

/// The keys of readings, heights and cams that are given for the left side and not under `[right]`, in the order of a profile.
pub(super) fn taken_over(profile: &Profile) -> Vec<String> {
    let right = profile.right.as_ref().map(Spanned::get_ref);
    let mut keys = Vec::new();
    let mut note = |key: String, left: bool, right: bool| {
        if left && !right {
            keys.push(key);
        }
    };
    let wheels = [profile.wheel.as_ref(), right.and_then(|right| right.wheel.as_ref())];
    let [left, own] = wheels.map(|wheel| wheel.map(Spanned::get_ref));
    note(
        "wheel.camber".into(),
        left.is_some_and(|w| w.camber.is_some()),
        own.is_some_and(|w| w.camber.is_some()),
    );
    note("wheel.toe".into(), left.is_some_and(|w| w.toe.is_some()), own.is_some_and(|w| w.toe.is_some()));
    let rides = [profile.ride.as_ref(), right.and_then(|right| right.ride.as_ref())];
    let [left, own] = rides.map(|ride| ride.is_some_and(|ride| ride.get_ref().arch_gap.is_some()));
    note("ride.arch_gap".into(), left, own);
    // A cam that stands under [right] with another throw or slot is still set as the left one, unless that says how.
    let is_set =
        |link: &Spanned<Link>| link.get_ref().cam.as_ref().is_some_and(|cam| cam.get_ref().setting.is_some());
    for link in &profile.link {
        let Some(name) = &link.get_ref().name else { continue };
        let over = right.and_then(|right| right.link.iter().find(|over| named_alike(over, link)));
        note(
            format!("link.{}.cam.setting", name.get_ref().trim()),
            link.get_ref().cam.is_some(),
            over.is_some_and(is_set),
        );
    }
    keys
}
