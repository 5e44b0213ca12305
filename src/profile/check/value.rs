//! Single values: of the right kind, finite, in the range of their key.

use nalgebra::{Point3, Vector3};
use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use crate::profile::finding::Finding;
use crate::profile::guess::meant;
use crate::profile::keys::{Key, Kind, Need, Slot};
use crate::profile::layers::{Found, Layers};
use crate::profile::load::{Force, Mass, Rate, Stress, Torque};
use crate::profile::{Quantity, QuantityError};

/// How the label of a missing key begins.
const NEEDS: &str = "needs ";
const MINUTES: &str =
    "a bare number is degrees; minutes are written \"0°17'\", which is 0.28 degree, and toe in mm \"1.6 mm\"";

/// A value that is a number: mm, rad, or in its key's own unit.
pub(in crate::profile) trait Numeric {
    fn figure(&self, kind: Kind) -> Result<f64, QuantityError>;
}

impl Numeric for Quantity {
    fn figure(&self, kind: Kind) -> Result<f64, QuantityError> {
        match kind {
            Kind::Angle | Kind::Toe => self.angle(),
            // What is no plain number is in no range.
            Kind::Number(_) => Ok(self.number().unwrap_or(f64::NAN)),
            _ => self.length(),
        }
    }
}

impl Numeric for i64 {
    #[expect(clippy::cast_precision_loss, reason = "counts are far below 2^53")]
    fn figure(&self, _: Kind) -> Result<f64, QuantityError> {
        Ok(*self as f64)
    }
}

impl Numeric for f64 {
    fn figure(&self, _: Kind) -> Result<f64, QuantityError> {
        Ok(*self)
    }
}

macro_rules! figures {
    ($($name:ident),*) => {$(
        impl Numeric for $name {
            fn figure(&self, _: Kind) -> Result<f64, QuantityError> {
                Ok(self.0)
            }
        }
    )*};
}

figures!(Rate, Mass, Force, Torque, Stress);

impl Checker {
    /// The figure of a key, if it stands anywhere and is in its range.
    pub(in crate::profile) fn read<T, V: Numeric>(
        &mut self,
        keys: &Layers<'_, T>,
        slot: Slot<T, V>,
    ) -> Option<f64> {
        let (value, _) = self.found(keys, slot)?;
        self.figure(slot.key, value)
    }

    /// A value, if it stands anywhere; told where its table cannot do without it.
    pub(super) fn found<'a, T, V>(&mut self, keys: &Layers<'a, T>, slot: Slot<T, V>) -> Option<Found<'a, V>> {
        if matches!(slot.key.need, Need::Measured | Need::Always) {
            self.need(keys, slot)
        } else {
            keys.get(slot)
        }
    }

    /// A value that there has to be.
    pub(super) fn need<'a, T, V>(&mut self, keys: &Layers<'a, T>, slot: Slot<T, V>) -> Option<Found<'a, V>> {
        let found = keys.get(slot);
        if found.is_none() {
            self.missing(keys.span(), &keys.table, slot.key.name);
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

    /// What a value comes to, where it is in the range of its key.
    pub(in crate::profile) fn figure<V: Numeric>(&mut self, key: &Key, value: &Spanned<V>) -> Option<f64> {
        let figure = self.accept(value, value.get_ref().figure(key.kind))?;
        self.within(key, value, figure)
    }

    /// The toe of one wheel, or a tolerance of it; a length is taken across a rim.
    pub(in crate::profile) fn toe_at(
        &mut self,
        key: &Key,
        value: &Spanned<Quantity>,
        rim: Option<f64>,
    ) -> Option<f64> {
        let toe = self.accept(value, value.get_ref().toe(rim))?;
        self.within(key, value, toe)
    }

    /// Holds a figure (mm, rad, or in its key's own unit) against the range of its key; what is hardly meant is told as odd.
    pub(in crate::profile) fn within<V>(
        &mut self,
        key: &Key,
        value: &Spanned<V>,
        figure: f64,
    ) -> Option<f64> {
        let is_angle = matches!(key.kind, Kind::Angle | Kind::Toe);
        let inside = |[least, most]: [f64; 2]| {
            let [least, most] = [least, most].map(|end| if is_angle { end.to_radians() } else { end });
            (least..=most).contains(&figure)
        };
        let said = match key.kind {
            Kind::Angle | Kind::Toe => format!("{:.2} degrees", figure.to_degrees()),
            Kind::Length => format!("{figure:.1} mm"),
            Kind::Rate => format!("{figure:.2} N/mm"),
            kind => format!("{figure} {}", kind.unit()).trim_end().to_owned(),
        };
        let Key { noun, .. } = key;
        let help = |finding: Finding| match (key.hint, key.kind) {
            ("", Kind::Angle | Kind::Toe) => finding.help(MINUTES),
            ("", Kind::Length) if !key.also.is_empty() => {
                finding.help(format!("bare numbers are mm; inches need their unit: \"{}\"", key.also))
            }
            ("", _) => finding,
            (hint, _) => finding.help(hint),
        };
        let counts = matches!(key.kind, Kind::Number(_) | Kind::Whole);
        if let Some([least, most]) = key.range.filter(|range| !inside(*range) || range[0] == 0.0) {
            if least >= 0.0 && figure <= 0.0 && !counts {
                let finding = Finding::error(value.span(), format!("{noun} must be more than zero"));
                let finding = finding.label("not positive");
                self.tell(if key.hint.is_empty() { finding } else { finding.help(key.hint) });
                return None;
            }
            if !inside([least, most]) {
                let headline = match key.refusal {
                    "" if key.kind.range() == key.range => format!("{noun} is longer than any car"),
                    "" => format!("{noun} is not {said}"),
                    refusal => refusal.replace("{}", &said).replace("{noun}", noun),
                };
                let expected = if least == 0.0 && !counts {
                    format!("at most {most}")
                } else {
                    format!("{least} to {most}")
                };
                let label = match key.kind {
                    Kind::Angle | Kind::Toe => said,
                    kind => format!("expected {expected} {}", kind.unit()).trim_end().to_owned(),
                };
                self.tell(help(Finding::error(value.span(), headline).label(label)));
                return None;
            }
        }
        if let Some([least, most]) = key.usual().filter(|usual| !inside(*usual)) {
            let headline = match key.oddity {
                "" if is_angle && figure.abs() > least.abs().max(most.abs()).to_radians() => {
                    format!("that is a lot of {noun}")
                }
                "" if is_angle => format!("hardly a rear wheel has that {noun}"),
                "" if figure < least => format!("{noun} of {said} is very little"),
                "" => format!("{noun} of {said} is a lot"),
                oddity => oddity.to_owned(),
            };
            let finding = help(Finding::warning(value.span(), headline));
            let finding = if is_angle { finding.label(said) } else { finding };
            let value = if is_angle { figure.to_degrees() } else { figure };
            self.tell(finding.asking(meant(key.kind, key.ordinarily(), value)));
        }
        Some(figure)
    }

    /// A point as the mirrored left side sees it, and its place.
    pub(super) fn point<T>(
        &mut self,
        keys: &Layers<'_, T>,
        slot: Slot<T, Vec<Quantity>>,
    ) -> Option<(Point3<f64>, Range<usize>)> {
        let (value, from_right) = self.need(keys, slot)?;
        Some((self.triple(value, from_right)?, value.span()))
    }

    /// A way in space, of length 1, as the mirrored left side sees it, and its place; told where it is none.
    pub(super) fn direction<T>(
        &mut self,
        keys: &Layers<'_, T>,
        slot: Slot<T, Vec<Quantity>>,
    ) -> Option<(Vector3<f64>, Range<usize>)> {
        let (value, from_right) = self.found(keys, slot)?;
        let direction = self.triple(value, from_right)?.coords.try_normalize(1e-9);
        if direction.is_none() {
            self.tell(
                Finding::error(value.span(), format!("{} needs a direction", slot.key.noun))
                    .label(format!("a vector such as {}", slot.key.example)),
            );
        }
        Some((direction?, value.span()))
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
            point[axis] = self.accept(value, quantity.coordinate())?;
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

    /// Two numbers, from - to, in the range of their key.
    pub(super) fn stretch(&mut self, key: &Key, list: &Spanned<Vec<f64>>) -> Option<[f64; 2]> {
        let Key { noun, hint, range, .. } = key;
        let [least, most] = range.unwrap_or([f64::MIN, f64::MAX]);
        let stretch = <[f64; 2]>::try_from(list.get_ref().as_slice()).ok();
        let stretch = stretch.filter(|[from, to]| least <= *from && from <= to && *to <= most);
        if stretch.is_none() {
            self.tell(
                Finding::error(list.span(), format!("{noun} is not understood"))
                    .label(format!("two numbers, {least} to {most}, the smaller one first"))
                    .help(*hint),
            );
        }
        stretch
    }

    pub(super) fn thread(&mut self, text: &Spanned<String>) -> Option<crate::car::Thread> {
        let thread = text.get_ref().parse().map_err(|error| {
            let headline = format!("\"{}\" is {error}", text.get_ref());
            self.tell(Finding::error(text.span(), headline).label("this thread"));
        });
        thread.ok()
    }

    pub(in crate::profile) fn angle(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        self.accept(value, value.get_ref().angle())
    }
}
