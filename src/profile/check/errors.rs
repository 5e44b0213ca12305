//! How well the car was measured: standard deviations, and how errors go together.

use nalgebra::DMatrix;
use toml::Spanned;

use super::checker::Checker;
use crate::car::{Errors, Measurand, PerSide, Side, Sigmas};
use crate::measure::point_of;
use crate::profile::Quantity;
use crate::profile::finding::Finding;
use crate::profile::keys::{Correlation, Link, Profile, Sigma, Wheel};
use crate::profile::layers::Layers;

/// Standard deviation of a coordinate that was judged by eye, mm: common practice, no source.
const BY_EYE: f64 = 10.0;

impl Checker {
    /// How well the car was measured, where the profile says so; by hand, where it does not.
    pub(super) fn sigmas(&mut self, profile: &Profile) -> Sigmas {
        let keys = Layers::alone(profile, Profile::sigma);
        let rim = Layers::alone(profile, Profile::wheel).get(Wheel::rim_diameter);
        let rim = rim.and_then(|(rim, _)| rim.get_ref().length().ok());
        let usual = Sigmas::default();
        let mut own = |slot, usual| self.read(&keys, slot).unwrap_or(usual);
        Sigmas {
            point: own(Sigma::point, usual.point),
            mirror: own(Sigma::mirror, usual.mirror),
            camber: own(Sigma::camber, usual.camber),
            drop: own(Sigma::drop, usual.drop),
            preset: own(Sigma::preset, usual.preset),
            slack: own(Sigma::slack, usual.slack),
            toe: (keys.get(Sigma::toe))
                .and_then(|(toe, _)| self.toe_at(Sigma::toe.key, toe, rim))
                .unwrap_or(usual.toe),
        }
    }

    /// How well each of one side's numbers is known by itself.
    pub(super) fn errors(
        &mut self,
        wheel: &Layers<'_, Wheel>,
        links: &[Layers<'_, Link>],
        sigmas: &Sigmas,
    ) -> Option<Errors> {
        let mut deviations = [sigmas.point; Measurand::NUMBERS];
        (deviations[33], deviations[34]) = (sigmas.camber, sigmas.toe);
        for (place, slot) in [(33, Wheel::camber_sigma), (34, Wheel::toe_sigma)] {
            deviations[place] = self.read(wheel, slot).unwrap_or(deviations[place]);
        }
        for point in Measurand::points() {
            let end = |end: usize| {
                let link = links.get(point.link()?)?;
                Some([link.get(Link::ENDS[end]), link.get(Link::END_SIGMAS[end])])
            };
            let found = match point {
                Measurand::Subframe(_) => end(0),
                Measurand::Knuckle(_) => end(1),
                _ => Some(Wheel::MIDDLE.map(|slot| wheel.get(slot))),
            };
            let [at, sigma] = found.unwrap_or_default().map(|found| found.map(|(value, _)| value));
            deviations[point.place()].copy_from_slice(&self.of_point(point, at, sigma, sigmas)?);
        }
        Some(Errors::correlated(&deviations, None))
    }

    /// How the errors of both sides go together: by the table of the profile, else as far as the one is the mirror image of the
    /// other; where that is only assumed of points of the subframe, it may sit beside the centreline.
    pub(super) fn together(
        &mut self,
        sides: &mut PerSide<Side>,
        profile: &Profile,
        sigmas: &Sigmas,
        assumed: &[String],
    ) -> Option<DMatrix<f64>> {
        let deviations = sides.each(|side| {
            let of: Vec<f64> = Measurand::all().flat_map(|of| side.errors.deviations(of)).collect();
            std::array::from_fn(|i| of[i])
        });
        let correlation = match Profile::correlation.of(profile) {
            Some(_) => Some(self.correlation(profile)?),
            None => None,
        };
        let (errors, between) = match correlation {
            Some(all) if all.nrows() > Measurand::NUMBERS => Errors::of_both(&deviations, &all),
            of_left => {
                let errors = deviations.map(|of| Errors::correlated(&of, of_left.as_ref()));
                let right = Profile::right.of(profile).map(Spanned::get_ref);
                let own: Vec<bool> = Measurand::all()
                    .flat_map(|of| {
                        vec![right.is_some_and(|right| right.gives(profile, of)); of.place().len()]
                    })
                    .collect();
                let (errors, between) = Errors::mirrored(errors, |number| own[number], sigmas.mirror);
                let links = &sides.left.links;
                let beside = |link: &usize| {
                    let pivot = Measurand::Subframe(*link);
                    !own[pivot.place().start] && assumed.contains(&point_of(links, pivot))
                };
                let beside: Vec<usize> = (0..links.len()).filter(beside).collect();
                let PerSide { left, right } = errors;
                (PerSide { left, right: right.beside_the_centreline(&beside) }, between)
            }
        };
        for (side, errors) in sides.iter_mut().zip(errors) {
            side.errors = errors;
        }
        Some(between)
    }

    /// Standard deviations of the coordinates of a point, mm: as the file says, else as it was read, by a tape or by eye.
    pub(in crate::profile) fn of_point(
        &mut self,
        point: Measurand,
        at: Option<&Spanned<Vec<Quantity>>>,
        sigma: Option<&Spanned<Vec<Quantity>>>,
        sigmas: &Sigmas,
    ) -> Option<[f64; 3]> {
        if let Some(sigma) = sigma {
            // The wheel centre may be where x begins, and has no error there.
            let least = if point == Measurand::Centre { 0.0 } else { f64::MIN_POSITIVE };
            return self.deviations(sigma, least);
        }
        let by_eye = |axis: usize| at.and_then(|at| at.get_ref().get(axis)).is_some_and(|at| at.is_by_eye());
        Some([0, 1, 2].map(|axis| if by_eye(axis) { BY_EYE } else { sigmas.point }))
    }

    /// Standard deviations of three coordinates, each at least `least`, mm.
    fn deviations(&mut self, value: &Spanned<Vec<Quantity>>, least: f64) -> Option<[f64; 3]> {
        let mut deviations = [0.0; 3];
        let count = value.get_ref().len();
        if count != 3 {
            let text = format!("a point has three standard deviations, this has {count}");
            self.tell(Finding::error(value.span(), text).label("of x, y and z, in mm"));
            return None;
        }
        for (deviation, quantity) in deviations.iter_mut().zip(value.get_ref()) {
            *deviation = self.accept(value, quantity.length())?;
            // Coordinates that are known no better than this are not known.
            let [_, most] = Wheel::MIDDLE[1].key.range.unwrap_or([0.0, f64::MAX]);
            if !(least..=most).contains(deviation) {
                let text = format!("a standard deviation of {deviation} mm cannot be");
                let wanted = format!("more than zero and at most {most} mm");
                self.tell(Finding::error(value.span(), text).label(wanted));
                return None;
            }
        }
        Some(deviations)
    }

    /// The correlation matrix whose lower triangle the profile carries: of the left side, or of both.
    fn correlation(&mut self, profile: &Profile) -> Option<DMatrix<f64>> {
        const STALE: &str = "the program writes the table [correlation]; take it out and the errors count as independent, or let it \
                             be written again";
        let keys = Layers::alone(profile, Profile::correlation);
        let (links, _) = self.need(&keys, Correlation::links)?;
        let (rows, _) = self.need(&keys, Correlation::rows)?;
        let names = Profile::link.all(profile).iter().filter_map(|link| Link::name.of(link.get_ref()));
        let names: Vec<&str> = names.map(|name| name.get_ref().trim()).collect();
        if links.get_ref().iter().map(|name| name.trim()).ne(names.iter().copied()) {
            self.tell(
                Finding::error(links.span(), "these are not the links of this profile in their order")
                    .label(format!("expected {}", names.join(", ")))
                    .help(STALE),
            );
            return None;
        }
        let size = rows.get_ref().len() + 1;
        if size != Measurand::NUMBERS && size != 2 * Measurand::NUMBERS {
            let [one, both] = [Measurand::NUMBERS - 1, 2 * Measurand::NUMBERS - 1];
            let text =
                format!("a correlation has {one} rows, or {both} of both sides; this has {}", size - 1);
            self.tell(Finding::error(rows.span(), text).help(STALE));
            return None;
        }
        let mut matrix = DMatrix::identity(size, size);
        for (i, row) in (1..).zip(rows.get_ref()) {
            let sound = row.get_ref().len() == i && row.get_ref().iter().all(|r| r.abs() <= 1.0);
            if !sound {
                let text = format!("row {i} of a correlation has {i} numbers from -1 to 1");
                self.tell(Finding::error(row.span(), text).help(STALE));
                return None;
            }
            for (j, r) in row.get_ref().iter().enumerate() {
                (matrix[(i, j)], matrix[(j, i)]) = (*r, *r);
            }
        }
        Some(matrix)
    }
}
