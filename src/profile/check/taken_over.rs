//! What the right side takes over from the left: figures that differ from side to side on a real car, but are given for one.

use toml::Spanned;

use crate::profile::keys::{Declared, Link, Profile, Right};
use crate::profile::layers::Layers;

/// The keys of readings, heights and cams that are given for the left side and not under `[right]`, in the order of a profile.
pub(super) fn taken_over(profile: &Profile) -> Vec<String> {
    fn given<T: Declared>(table: Option<&Spanned<T>>) -> Vec<&'static str> {
        let keys = table.map_or(Vec::new(), |table| table.get_ref().given());
        keys.into_iter().filter(|(key, _)| key.right.is_some()).map(|(key, _)| key.name).collect()
    }
    fn taken<T: Declared>(keys: &Layers<'_, T>) -> Vec<String> {
        let own = given(keys.over);
        let left = given(keys.base).into_iter().filter(|name| !own.contains(name));
        left.map(|name| format!("{}.{name}", keys.table)).collect()
    }
    let right = Profile::right.of(profile).map(Spanned::get_ref);
    let mut all = taken(&Layers::of((profile, Profile::wheel), right.map(|right| (right, Right::wheel))));
    all.extend(taken(&Layers::of((profile, Profile::ride), right.map(|right| (right, Right::ride)))));
    for link in Profile::link.all(profile) {
        let keys = Layers::of_link(link, right);
        let [left, own] = [keys.base, keys.over].map(|link| Link::cam.of(link?.get_ref()));
        let Some((_, name)) = left.zip(Link::name.of(link.get_ref())) else { continue };
        // A cam that stands under [right] with another throw or slot is still set as the left one, unless that says how.
        let of_cam = Link::cam.key.table().map_or(&[][..], |table| table.keys);
        let settings = of_cam.iter().filter(|key| key.right.is_some() && !given(own).contains(&key.name));
        let (link, cam) = (&keys.table, Link::cam.key.name);
        all.extend(settings.map(|key| format!("{link}.{}.{cam}.{}", name.get_ref().trim(), key.name)));
    }
    all
}
