//! From the members that a file names to the places that they fill: a link for each of the five, before anything is checked.
//!
//! So `NAME front` and `NAME rear` of a wishbone, `NAME fore-aft` and `NAME up-down` of a blade's bush, `NAME top` and `NAME bolt` of a strut are
//! names of links in answers, in records and under `[right]`.

use toml::Spanned;

use super::{Link, Member, Profile, Right};

impl Profile {
    /// The same with a link for each of the five places of a side, in the place of the members that fill them.
    pub(in crate::profile) fn spread(mut self) -> Self {
        let kinds: Vec<(String, Member)> = Self::link
            .all(&self)
            .iter()
            .filter_map(|link| {
                let name = Link::name.of(link.get_ref())?.get_ref().trim().to_owned();
                Some((name, link.get_ref().member()))
            })
            .collect();
        if kinds.iter().all(|(_, kind)| *kind == Member::Rod) {
            return self;
        }
        if let Some(links) = &mut self.link {
            *links.get_mut() = std::mem::take(links.get_mut())
                .into_iter()
                .flat_map(|link| {
                    let kind = link.get_ref().member();
                    places(link, kind)
                })
                .collect();
        }
        let over = self.right.as_mut().and_then(|right| Right::links_mut(right.get_mut()));
        if let Some(links) = over {
            let kind = |link: &Spanned<Link>| {
                let name = Link::name.of(link.get_ref())?.get_ref().trim();
                kinds.iter().find(|(other, _)| other == name).map(|(_, kind)| *kind)
            };
            *links = std::mem::take(links)
                .into_iter()
                .flat_map(|link| {
                    let kind = kind(&link).unwrap_or_default();
                    places(link, kind)
                })
                .collect();
        }
        self
    }
}

impl Link {
    /// What it is.
    pub(in crate::profile) fn member(&self) -> Member {
        self.kind.as_ref().map_or_else(Member::default, |kind| *kind.get_ref())
    }
}

/// The places of a member, each as a link.
fn places(link: Spanned<Link>, kind: Member) -> Vec<Spanned<Link>> {
    let span = link.span();
    let mut second = link.get_ref().clone();
    let mut first = link.into_inner();
    let at = |span: &std::ops::Range<usize>, value: Member| Some(Spanned::new(span.clone(), value));
    let [front, rear] = [first.front.take(), first.rear.take()];
    match kind {
        Member::Wishbone => {
            let mut spans = [span.clone(), span.clone()];
            let kinds = [Member::Wishbone, Member::RearLeg];
            for (i, (leg, pivot)) in [(&mut first, front), (&mut second, rear)].into_iter().enumerate() {
                leg.kind = at(&span, kinds[i]);
                if let Some(pivot) = pivot {
                    spans[i] = pivot.span();
                    let pivot = pivot.into_inner();
                    (leg.sets, leg.subframe, leg.subframe_sigma) =
                        (pivot.sets, pivot.subframe, pivot.subframe_sigma);
                    (leg.cam, leg.subframe_axis, leg.bolt) = (pivot.cam, pivot.subframe_axis, pivot.bolt);
                    leg.bracket_rating = pivot.bracket_rating;
                }
            }
            let [a, b] = spans;
            return named(kind, [Spanned::new(a, first), Spanned::new(b, second)]);
        }
        Member::Blade => {
            first.knuckle.clone_from(&first.subframe);
            first.knuckle_sigma.clone_from(&first.subframe_sigma);
            first.kind = at(&span, Member::Blade);
            second.clone_from(&first);
            second.kind = at(&span, Member::BushUp);
        }
        Member::Strut => {
            second.cam = None;
            second.kind = at(&span, Member::StrutBolt);
            let lean = second.lean.as_ref().map(Spanned::get_ref);
            second.sets = lean.and_then(|lean| lean.sets.clone());
            first.lean = None;
            first.kind = at(&span, Member::Strut);
        }
        _ => return vec![Spanned::new(span, first)],
    }
    named(kind, [Spanned::new(span.clone(), first), Spanned::new(span, second)])
}

/// The two places of a member by their names.
fn named(kind: Member, places: [Spanned<Link>; 2]) -> Vec<Spanned<Link>> {
    let names = kind.places();
    let one = |(mut link, name): (Spanned<Link>, &str)| {
        if let Some(own) = &mut link.get_mut().name {
            *own.get_mut() = format!("{} {name}", own.get_ref().trim());
        }
        link
    };
    places.into_iter().zip(names).map(one).collect()
}
