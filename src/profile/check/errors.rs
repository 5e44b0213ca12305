//! How well the car was measured: standard deviations, and how errors go together.

use nalgebra::DMatrix;
use toml::Spanned;

use super::Checker;
use crate::car::{Errors, Measurand, Sigmas};
use crate::profile::finding::Finding;
use crate::profile::layers::Layers;
use crate::profile::schema::{self, Profile};

/// What a length that is a standard deviation is called.
pub(super) const DEVIATION: &str = "a standard deviation";
/// Coordinates that are known no better than this are not known, mm.
pub(super) const LOOSEST: f64 = 200.0;

impl Checker {
    /// How well the car was measured, where the profile says so; by hand, where it does not.
    pub(super) fn sigmas(&mut self, profile: &Profile) -> Sigmas {
        let keys = Layers { table: "sigma", base: profile.sigma.as_ref(), over: None };
        let rim = profile.wheel.as_ref().and_then(|wheel| wheel.get_ref().rim_diameter.as_ref());
        let rim = rim.and_then(|rim| rim.get_ref().length().ok());
        let usual = Sigmas::default();
        let mut length = |pick: fn(&schema::Sigma) -> &schema::Value, usual: f64| {
            keys.get(pick).and_then(|(v, _)| self.positive(v, DEVIATION)).unwrap_or(usual)
        };
        let point = length(|s| &s.point, usual.point);
        let drop = length(|s| &s.drop, usual.drop);
        let preset = length(|s| &s.preset, usual.preset);
        let slack = length(|s| &s.slack, usual.slack);
        Sigmas {
            point,
            camber: keys.get(|s| &s.camber).and_then(|(v, _)| self.tolerance(v)).unwrap_or(usual.camber),
            toe: keys.get(|s| &s.toe).and_then(|(v, _)| self.toe_tolerance(v, rim)).unwrap_or(usual.toe),
            drop,
            preset,
            slack,
        }
    }

    /// The errors of one side's numbers.
    pub(super) fn errors(
        &mut self,
        wheel: &Layers<'_, schema::Wheel>,
        links: &[Layers<'_, schema::Link>],
        profile: &Profile,
        sigmas: &Sigmas,
    ) -> Option<Errors> {
        let mut deviations = [sigmas.point; Measurand::NUMBERS];
        (deviations[33], deviations[34]) = (sigmas.camber, sigmas.toe);
        for point in Measurand::points() {
            let found = match point {
                Measurand::Centre => wheel.get(|wheel| &wheel.centre_sigma),
                Measurand::Subframe(i) => links.get(i).and_then(|link| link.get(|link| &link.subframe_sigma)),
                Measurand::Knuckle(i) => links.get(i).and_then(|link| link.get(|link| &link.knuckle_sigma)),
                Measurand::Camber | Measurand::Toe => None,
            };
            if let Some((value, _)) = found {
                // The wheel centre may be where x begins, and has no error there.
                let least = if point == Measurand::Centre { 0.0 } else { f64::MIN_POSITIVE };
                deviations[point.place()].copy_from_slice(&self.deviations(value, least)?);
            }
        }
        let correlation = match &profile.correlation {
            Some(table) => Some(self.correlation(table, profile)?),
            None => None,
        };
        Some(Errors::correlated(&deviations, correlation.as_ref()))
    }

    /// Standard deviations of three coordinates, each at least `least`, mm.
    fn deviations(&mut self, value: &Spanned<Vec<crate::profile::Quantity>>, least: f64) -> Option<[f64; 3]> {
        let mut deviations = [0.0; 3];
        let count = value.get_ref().len();
        if count != 3 {
            let text = format!("a point has three standard deviations, this has {count}");
            self.tell(Finding::error(value.span(), text).label("of x, y and z, in mm"));
            return None;
        }
        for (deviation, quantity) in deviations.iter_mut().zip(value.get_ref()) {
            *deviation = self.accept(value, quantity.length())?;
            if !(least..=LOOSEST).contains(deviation) {
                let text = format!("a standard deviation of {deviation} mm cannot be");
                let wanted = format!("more than zero and at most {LOOSEST} mm");
                self.tell(Finding::error(value.span(), text).label(wanted));
                return None;
            }
        }
        Some(deviations)
    }

    /// The correlation matrix whose lower triangle the profile carries.
    fn correlation(
        &mut self,
        table: &Spanned<schema::Correlation>,
        profile: &Profile,
    ) -> Option<DMatrix<f64>> {
        const STALE: &str = "the table [correlation] is written by `rodset survey` and `rodset fit`; take it out and \
                             the errors count as independent, or let them write it again";
        let keys = Layers { table: "correlation", base: Some(table), over: None };
        let (links, _) = self.need(&keys, "links", |table| &table.links)?;
        let (rows, _) = self.need(&keys, "rows", |table| &table.rows)?;
        let names = profile.link.iter().filter_map(|link| link.get_ref().name.as_ref());
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
        if size != Measurand::NUMBERS {
            let text = format!("a correlation has {} rows, this has {}", Measurand::NUMBERS - 1, size - 1);
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
