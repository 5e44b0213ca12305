//! Members that are no plain rods: what belongs to them, how they hold the knuckle, and what they leave it free to do.

use nalgebra::{Point3, Vector3};
use std::ops::Range;

use super::checker::Checker;
use crate::car::{self, Hold, is_ordinary};
use crate::profile::finding::Finding;
use crate::profile::keys::{Declared, Lean, Link, Member, Profile, Right};
use crate::profile::layers::Layers;

/// A strut whose top is less than this above its lower end is none, mm.
const SHORTEST_STRUT: f64 = 100.0;
/// A slot of a top mount that is nearer to the strut's own line than this moves nothing, as a cosine.
const ALONG_THE_STRUT: f64 = 0.95;

impl Checker {
    /// Keys that do not belong to what a link is.
    pub(in crate::profile) fn members(&mut self, profile: &Profile) {
        let links = Profile::link.all(profile);
        let name = |link: &Link| Link::name.of(link).map(|name| name.get_ref().trim().to_owned());
        let over = Profile::right.of(profile).map_or(&[][..], |right| Right::link.all(right.get_ref()));
        let named = |link: &Link| {
            links.iter().find(|base| name(link).is_some() && name(base.get_ref()) == name(link))
        };
        let kinds = links.iter().map(|link| (link, link.get_ref().member()));
        let kinds = kinds
            .chain(over.iter().filter_map(|link| Some((link, named(link.get_ref())?.get_ref().member()))));
        for (link, kind) in kinds {
            for (key, span) in link.get_ref().given() {
                if let Some(help) = kind.refuses(key) {
                    let text = format!("a {} has no `{}`", kind.noun(), key.name);
                    self.tell(Finding::error(span, text).help(help));
                }
            }
        }
    }

    /// How a link holds its place among all of them.
    pub(super) fn hold(&mut self, place: usize, links: &[Layers<'_, Link>]) -> Option<Hold> {
        let keys = &links[place];
        let kind = |keys: &Layers<'_, Link>| keys.base.map_or(Member::Rod, |link| link.get_ref().member());
        let number = |place: usize| u8::try_from(place).unwrap_or_default();
        let hold = kind(keys).hold(place);
        Some(match hold {
            Hold::Bolt(before, usual) => {
                let lean = keys.inner(Link::lean);
                let above = lean.as_ref().and_then(|keys| self.read(keys, Lean::above));
                if let (Some(above), Some(keys)) = (above, &lean)
                    && !is_ordinary("a strut's two bolts apart", above.abs())
                {
                    self.tell(
                        Finding::warning(keys.span_of(Lean::above), "hardly a strut has its two bolts that far apart")
                            .label(format!("{:.1} mm", above.abs()))
                            .help("measure it along the strut, from the middle of one bolt to the middle of the other: are these cm, is a decimal point wrong?"),
                    );
                }
                Hold::Bolt(before, above.filter(|above| *above != 0.0).unwrap_or(usual))
            }
            Hold::Rod => {
                let Some((on, _)) = keys.get(Link::on) else { return Some(Hold::Rod) };
                let wanted = Member::Wishbone.first_place(on.get_ref().trim());
                let is_it = |keys: &Layers<'_, Link>| {
                    kind(keys) == Member::Wishbone
                        && keys.get(Link::name).is_some_and(|(name, _)| name.get_ref().trim() == wanted)
                };
                let Some(first) = links.iter().position(is_it) else {
                    self.tell(
                        Finding::error(
                            on.span(),
                            format!("there is no wishbone called \"{}\"", on.get_ref().trim()),
                        )
                        .help("`on` names the [[link]] with kind = \"wishbone\" on which this link stands"),
                    );
                    return None;
                };
                Hold::OnArm([number(first), number(first + 1)])
            }
            _ => hold,
        })
    }

    /// Whether a strut stands as one does: its top above its lower end.
    pub(super) fn strut_stands(
        &mut self,
        top: (&Point3<f64>, &Range<usize>),
        foot: (&Point3<f64>, &Range<usize>),
    ) -> Option<()> {
        if top.0.z > foot.0.z + SHORTEST_STRUT {
            return Some(());
        }
        self.tell(
            Finding::error(top.1.clone(), "the top of this strut is not above its lower end")
                .label("`subframe` is the middle of its top mount")
                .other(
                    foot.1.clone(),
                    "`knuckle` is a point of its line on the knuckle: the bolt that stays",
                ),
        );
        None
    }

    /// The cam of a strut's bolt: across the strut, outward.
    pub(super) fn lean(&mut self, keys: &Layers<'_, Lean>, line: &Vector3<f64>) -> Option<car::Cam> {
        let eccentricity = self.read(keys, Lean::eccentricity)?;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few, by its range")]
        let marks = self.read(keys, Lean::marks).map(|marks| marks as u32);
        let up = line.normalize() * -1.0;
        let along = up.cross(&Vector3::x()).normalize();
        let mut cam = car::Cam { eccentricity, along, setting: 0.0, marks };
        if let Some((position, _)) = keys.get(Lean::setting) {
            cam.setting = self.standing(position, &cam, keys.get(Lean::marks).is_some(), Some(1.0))?;
        }
        Some(cam)
    }

    /// Whether the slot of a top mount moves the strut.
    pub(super) fn moves_the_top(&mut self, cam: &car::Cam, line: &Vector3<f64>, span: &Range<usize>) {
        if cam.along.dot(&line.normalize()).abs() > ALONG_THE_STRUT {
            self.tell(
                Finding::error(span.clone(), "this slot runs along the strut itself")
                    .help("a top mount moves across the strut: give the direction of its slot in the body"),
            );
        }
    }
}

/// What each member holds.
const EACH: &str = "a rod holds the wheel once, a wishbone, a blade and a strut twice each, and five times leave it free only \
                    to go up and down";

/// What the members of a side hold too much or too little, and which to take out or to add.
pub(super) fn freedoms(members: &[Member]) -> (String, String) {
    let count = |of: &[Member]| members.iter().filter(|member| of.contains(member)).count();
    let rods = count(&[Member::Rod]);
    let (wishbones, blades, struts) =
        (count(&[Member::Wishbone]), count(&[Member::Blade]), count(&[Member::Strut]));
    let some = |number: usize, noun: &str| match number {
        0 => None,
        1 => Some(format!("a {noun}")),
        _ => Some(format!("{number} {noun}s")),
    };
    let list = [some(struts, "strut"), some(blades, "blade"), some(wishbones, "wishbone"), some(rods, "rod")];
    let list: Vec<String> = list.into_iter().flatten().collect();
    let listed = match list.as_slice() {
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
        [] => "nothing".to_owned(),
    };
    let held = members.len();
    if held > 5 {
        let over = held - 5;
        let out = match (over, rods) {
            _ if blades + struts > 1 && over > rods => {
                "a blade and a strut do not go together on one wheel".to_owned()
            }
            (1, 1..) => "take out one of the rods".to_owned(),
            (_, rods) if over <= rods => format!("take out {over} of the rods"),
            _ => "take out one of the wide members".to_owned(),
        };
        (
            format!("{listed} hold a wheel {held} times, which leaves it no freedom at all"),
            format!("{EACH}: {out}"),
        )
    } else {
        let lacks = 5 - held;
        let rods_more = if lacks == 1 { "one more rod".to_owned() } else { format!("{lacks} more rods") };
        let add = match () {
            () if struts > 0 && wishbones == 0 => format!(
                "add {rods_more}: beside a strut a wheel has two rods across and one along the car, or a wishbone and a toe link"
            ),
            () if blades > 0 => {
                format!("add {rods_more}: beside a blade a wheel has three across, upper, lower and toe link")
            }
            () => format!(
                "add {rods_more}, such as an upper link, a toe link or, on a wishbone, an upright link with `on`"
            ),
        };
        (format!("{listed} hold a wheel only {held} times, and it takes five"), format!("{EACH}: {add}"))
    }
}
