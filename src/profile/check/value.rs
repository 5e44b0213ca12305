//! Single values: of the right kind, finite, in range.

use nalgebra::Point3;
use std::ops::Range;
use toml::Spanned;

use super::{Checker, DEGREE};
use crate::profile::finding::Finding;
use crate::profile::layers::{Found, Layers};
use crate::profile::schema::Point;
use crate::profile::{Quantity, QuantityError};

/// How the label of a missing key begins.
const NEEDS: &str = "needs ";
/// No wheel is set to more than this, rad.
const MOST: f64 = 20.0 * DEGREE;

impl Checker {
    // Single values.

    pub(super) fn need<'a, T, V>(
        &mut self,
        keys: &Layers<'a, T>,
        key: &str,
        pick: impl Fn(&'a T) -> &'a Option<Spanned<V>>,
    ) -> Option<Found<'a, V>> {
        let found = keys.get(pick);
        if found.is_none() {
            self.missing(keys.span(), keys.table, key);
        }
        found
    }

    /// Tells of a missing key; all that are missing in one table are told together.
    fn missing(&mut self, span: Range<usize>, table: &str, key: &str) {
        let key = format!("`{key}`");
        let same = |finding: &&mut Finding| finding.span == span && finding.label.starts_with(NEEDS);
        match self.findings.iter_mut().find(same) {
            Some(finding) if finding.label.contains(&key) => {}
            Some(finding) => {
                finding.headline = format!("keys are missing in [{table}]");
                finding.label = format!("{}, {key}", finding.label);
            }
            None => {
                let headline = format!("the key {key} is missing in [{table}]");
                self.tell(Finding::gap(span, headline).label(format!("{NEEDS}{key}")));
            }
        }
    }

    /// A point as the mirrored left side sees it, and its place.
    pub(super) fn point<'a, T>(
        &mut self,
        keys: &Layers<'a, T>,
        key: &str,
        pick: impl Fn(&'a T) -> &'a Point,
    ) -> Option<(Point3<f64>, Range<usize>)> {
        let (value, from_right) = self.need(keys, key, pick)?;
        Some((self.triple(value, from_right)?, value.span()))
    }

    /// Three coordinates as the mirrored left side sees them.
    pub(super) fn triple(&mut self, value: &Spanned<Vec<Quantity>>, from_right: bool) -> Option<Point3<f64>> {
        let mut point = Point3::origin();
        let count = value.get_ref().len();
        if count != 3 {
            let finding =
                Finding::error(value.span(), format!("a point has three coordinates, this has {count}"));
            self.tell(if count == 6 {
                finding.label("decimal commas?").help("use points: [-160.0, 360.0, 220.0]")
            } else {
                finding.label("x, y and z").help("x forward, y to the left, z up")
            });
            return None;
        }
        for (axis, quantity) in value.get_ref().iter().enumerate() {
            point[axis] = self.accept(value, quantity.length())?;
        }
        if point.coords.amax() > 1e5 {
            self.tell(
                Finding::error(value.span(), "this point is not on the car").label("more than 100 m away"),
            );
            return None;
        }
        if from_right {
            point.y = -point.y;
        }
        Some(point)
    }

    pub(in crate::profile) fn accept<V>(
        &mut self,
        value: &Spanned<V>,
        result: Result<f64, QuantityError>,
    ) -> Option<f64> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.tell(Finding::error(value.span(), error.to_string()));
                None
            }
        }
    }

    pub(in crate::profile) fn angle(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        self.accept(value, value.get_ref().angle())
    }

    pub(in crate::profile) fn camber(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        const USUAL: f64 = 5.0 * DEGREE;
        let camber = self.angle(value)?;
        self.plausible(value, "camber", camber, USUAL)
    }

    pub(in crate::profile) fn toe(&mut self, value: &Spanned<Quantity>, rim: Option<f64>) -> Option<f64> {
        const USUAL: f64 = 0.8 * DEGREE;
        let toe = self.accept(value, value.get_ref().toe(rim))?;
        self.plausible(value, "toe", toe, USUAL)
    }

    /// An angle that a wheel can have; one that it hardly has is told, because minutes are easily read as decimals.
    pub(in crate::profile) fn plausible<V>(
        &mut self,
        value: &Spanned<V>,
        what: &str,
        angle: f64,
        usual: f64,
    ) -> Option<f64> {
        const MINUTES: &str = "a bare number is degrees; minutes are written \"0°17'\", which is 0.28 degree, and toe in mm \"1.6 mm\"";
        let label = format!("{:.2} degrees", angle.to_degrees());
        if angle.abs() > MOST {
            self.tell(
                Finding::error(value.span(), format!("no wheel has that much {what}"))
                    .label(label)
                    .help(MINUTES),
            );
            return None;
        }
        if angle.abs() > usual {
            self.tell(
                Finding::warning(value.span(), format!("that is a lot of {what}")).label(label).help(MINUTES),
            );
        }
        Some(angle)
    }

    pub(in crate::profile) fn toe_tolerance(
        &mut self,
        value: &Spanned<Quantity>,
        rim: Option<f64>,
    ) -> Option<f64> {
        let toe = self.accept(value, value.get_ref().toe(rim))?;
        self.above_zero(value, toe, "a tolerance")
    }

    pub(in crate::profile) fn tolerance(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let angle = self.angle(value)?;
        self.above_zero(value, angle, "a tolerance")
    }

    pub(super) fn wheelbase(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let length = self.positive(value, "the wheelbase")?;
        if (1000.0..=8000.0).contains(&length) {
            return Some(length);
        }
        self.tell(
            Finding::error(value.span(), format!("no car has a wheelbase of {length:.1} mm"))
                .help("bare numbers are mm; inches need their unit: \"104 in\""),
        );
        None
    }

    pub(super) fn gravity_height(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let height = self.positive(value, "the height of the centre of gravity")?;
        if (150.0..=1500.0).contains(&height) {
            return Some(height);
        }
        self.tell(
            Finding::error(
                value.span(),
                format!("no car has its centre of gravity {height:.1} mm above the floor"),
            )
            .help("bare numbers are mm; inches need their unit: \"20 in\""),
        );
        None
    }

    /// A part of a whole, 0 to 1.
    pub(super) fn share(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        match *value.get_ref() {
            Quantity::Bare(share) if (0.0..=1.0).contains(&share) => Some(share),
            _ => {
                self.tell(
                    Finding::error(value.span(), "a share is a number from 0 to 1")
                        .help("for 35 percent write 0.35"),
                );
                None
            }
        }
    }

    /// A height or a travel: more than zero and less than any suspension moves.
    pub(in crate::profile) fn travel(&mut self, value: &Spanned<Quantity>, what: &str) -> Option<f64> {
        const MOST: f64 = 1000.0;
        const LEAST: f64 = 15.0;
        let length = self.positive(value, what)?;
        if length < LEAST {
            self.tell(
                Finding::warning(value.span(), format!("{what} of {length} mm is very little"))
                    .help("bare numbers are mm; inches need their unit: \"3 1/2 in\""),
            );
        }
        if length > MOST {
            self.tell(
                Finding::error(value.span(), format!("{what} is more than any car has"))
                    .label("mm are meant"),
            );
            return None;
        }
        Some(length)
    }

    pub(in crate::profile) fn positive(&mut self, value: &Spanned<Quantity>, what: &str) -> Option<f64> {
        let length = self.accept(value, value.get_ref().length())?;
        if length > 1e5 {
            self.tell(
                Finding::error(value.span(), format!("{what} is longer than any car")).label("mm are meant"),
            );
            return None;
        }
        self.above_zero(value, length, what)
    }

    pub(in crate::profile) fn above_zero<V>(
        &mut self,
        value: &Spanned<V>,
        number: f64,
        what: &str,
    ) -> Option<f64> {
        if number > 0.0 {
            return Some(number);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} must be more than zero")).label("not positive"),
        );
        None
    }
}
