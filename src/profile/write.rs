//! Points put into a file that people wrote: everything else in it stays as it is, comments too.

use nalgebra::DMatrix;

use super::edit::{EditError, Editor, append_table, remove_whole};
use super::keys::{Car, Correlation, Key, Link, Member, Profile, Typical, Wheel};
use super::literal::{float, list, quoted};
use crate::car::{Errors, Hand, Measurand, PerSide};
use crate::geometry::Angles;

/// Decimals of a coordinate or its deviation, mm: far below any measurement.
const MM: usize = 3;
/// Decimals of a reading, degrees.
const DEGREES: usize = 4;
/// Decimals of a correlation.
const CORRELATION: usize = 4;

/// What is to be put into a file.
#[derive(Debug, Clone, Copy)]
pub struct Numbers<'a> {
    /// The points of the left side, in the order of [`Measurand::points`], mm.
    pub points: &'a [[f64; 3]; 11],
    /// Points of the right side that are no mirror images, in car axes, mm.
    pub right: &'a [(Measurand, [f64; 3])],
    /// How well the right side is known, and how its numbers go with the left ones (rows), where it is not as the mirror image has it.
    pub right_errors: Option<(&'a Errors, &'a DMatrix<f64>)>,
    /// The readings at the reference, where they changed.
    pub readings: Option<References>,
    /// How well all of them are known.
    pub errors: &'a Errors,
    /// Fingerprints of the readings that went into them.
    pub learnt: &'a [String],
    /// Stock arms from whose lengths the points came.
    pub lengths: &'a [UsedLength],
    /// Points that still rest on a typical layout, where there is one.
    pub assumed: &'a [String],
}

/// The length of a stock arm that went into the points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsedLength {
    /// The side whose arm it is.
    pub(crate) hand: Hand,
    /// The link, by its place.
    pub(crate) link: usize,
    /// What was read and its standard deviation, mm; `None` where the file has both.
    pub(crate) read: Option<[f64; 2]>,
}

/// Readings at the reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct References {
    /// Camber and toe, left and right, rad.
    pub(crate) angles: PerSide<Angles>,
    /// Standard deviations of camber and of toe, left and right, rad.
    pub(crate) deviations: PerSide<Angles>,
}

/// Puts points, their deviations and correlations into the text of a profile or a survey; the latter's `[survey]` goes.
///
/// # Errors
///
/// Why the file cannot take them.
pub fn write_numbers(text: &str, numbers: &Numbers<'_>) -> Result<String, EditError> {
    let editor = Editor::of(remove_whole(text, Profile::survey.key.name)?)?;
    let mut draft = Draft { homes: homes(&editor)?, editor };
    for (measurand, at) in Measurand::points().zip(numbers.points) {
        draft.put_point(Hand::Left, measurand, at, Some(numbers.errors))?;
    }
    for length in numbers.lengths {
        draft.put_length(length)?;
    }
    if let Some(References { angles, deviations }) = &numbers.readings {
        draft.put_readings(angles, deviations)?;
    }
    if !numbers.learnt.is_empty() {
        let key = path(Profile::car.key, Car::learnt.key);
        let before = draft.editor.value_at(&key)?.unwrap_or_default();
        let before: Vec<String> =
            toml::from_str::<toml::Table>(&format!("{} = {before}", Car::learnt.key.name))
                .ok()
                .and_then(|table| table.get(Car::learnt.key.name)?.clone().try_into().ok())
                .unwrap_or_default();
        draft.put(&key, &list(before.iter().chain(numbers.learnt).map(quoted)))?;
    }
    if draft.editor.has_table(Profile::typical.key.name) {
        let key = path(Profile::typical.key, Typical::assumed.key);
        draft.put(&key, &list(numbers.assumed.iter().map(quoted)))?;
    }
    for (measurand, at) in numbers.right {
        draft.put_point(Hand::Right, *measurand, at, numbers.right_errors.map(|(errors, _)| errors))?;
    }
    draft.with_correlation(numbers)
}

/// Where one of the five places stands in a file.
struct Home {
    /// What it is called.
    name: String,
    /// The member that fills it, by its name.
    of: String,
    /// Where in the member's table its subframe's pivot stands, if not there itself.
    leg: Option<&'static str>,
    /// Which of its pivots, subframe's first, are no other place's too.
    owns: [bool; 2],
}

/// Where the five places stand.
fn homes(editor: &Editor) -> Result<Vec<Home>, EditError> {
    let mut homes = Vec::new();
    for of in editor.link_names() {
        let kind = editor.value_at(&format!("{}.{of}.{}", Profile::link.key.name, Link::kind.key.name))?;
        let kind = kind.as_deref().map(|kind| kind.trim_matches(['"', '\'']));
        homes.extend(Member::called(kind).fills(&of).into_iter().map(|(name, leg, owns)| Home {
            name,
            of: of.clone(),
            leg,
            owns,
        }));
    }
    Ok(homes)
}

/// A text on its way, and where its five places stand.
struct Draft {
    editor: Editor,
    homes: Vec<Home>,
}

impl Draft {
    fn put(&mut self, key: &str, value: &str) -> Result<(), EditError> {
        self.editor.set(key, value).map(|_| ())
    }

    /// The path of a table of one side: of a link, or of the wheel.
    fn table(&self, hand: Hand, link: Option<usize>) -> Result<String, EditError> {
        let right = match hand {
            Hand::Left => String::new(),
            Hand::Right => format!("{}.", Profile::right.key.name),
        };
        let Some(link) = link else { return Ok(format!("{right}{}", Profile::wheel.key.name)) };
        let list = Profile::link.key.name;
        Ok(format!("{right}{list}.{}", self.home(link)?.of))
    }

    fn home(&self, link: usize) -> Result<&Home, EditError> {
        let known = || self.homes.iter().map(|home| home.of.clone()).collect();
        let missing = || EditError::NoLink { name: (link + 1).to_string(), known: known() };
        self.homes.get(link).ok_or_else(missing)
    }

    /// A point, and where they are told its deviations.
    fn put_point(
        &mut self,
        hand: Hand,
        of: Measurand,
        at: &[f64; 3],
        errors: Option<&Errors>,
    ) -> Result<(), EditError> {
        let (link, end) = match of {
            Measurand::Subframe(link) => (Some(link), 0),
            Measurand::Knuckle(link) => (Some(link), 1),
            _ => (None, 0),
        };
        let mut table = self.table(hand, link)?;
        let [key, sigma] = match link {
            None => [Wheel::centre.key.name, Wheel::centre_sigma.key.name],
            Some(link) => {
                let home = self.home(link)?;
                if !home.owns[end] {
                    return Ok(());
                }
                if let (Some(leg), 0) = (home.leg, end) {
                    table = format!("{table}.{leg}");
                }
                [Link::ENDS[end].key.name, Link::END_SIGMAS[end].key.name]
            }
        };
        self.put(&format!("{table}.{key}"), &array(at, MM))?;
        errors.map_or(Ok(()), |errors| {
            self.put(&format!("{table}.{sigma}"), &array(&errors.deviations(of), MM))
        })
    }

    /// What a stock arm measures, and that the points came from it.
    fn put_length(&mut self, length: &UsedLength) -> Result<(), EditError> {
        let table = self.table(length.hand, Some(length.link))?;
        let keys = [Link::measured_length.key, Link::measured_length_sigma.key];
        for (key, read) in keys.into_iter().zip(length.read.into_iter().flatten()) {
            self.put(&format!("{table}.{}", key.name), &rounded(read, MM))?;
        }
        self.put(&format!("{table}.{}", Link::measured_length_used.key.name), "true")
    }

    fn put_readings(
        &mut self,
        angles: &PerSide<Angles>,
        deviations: &PerSide<Angles>,
    ) -> Result<(), EditError> {
        // Both wheels read alike so far; if they no longer do, the right one needs its own.
        let differ = |both: &PerSide<Angles>| {
            both.left.iter().zip(&both.right).any(|(left, right)| (left - right).abs() > 1e-12)
        };
        let own = self.editor.has_table(&self.table(Hand::Right, None)?);
        for hand in Hand::BOTH {
            if hand == Hand::Right && !own && !differ(angles) && !differ(deviations) {
                continue;
            }
            let (read, sigma) = (&angles[hand], &deviations[hand]);
            let table = self.table(hand, None)?;
            for (key, angle) in [
                (Wheel::camber.key, read.camber),
                (Wheel::toe.key, read.toe),
                (Wheel::camber_sigma.key, sigma.camber),
                (Wheel::toe_sigma.key, sigma.toe),
            ] {
                self.put(&format!("{table}.{}", key.name), &rounded(angle.to_degrees(), DEGREES))?;
            }
        }
        Ok(())
    }

    /// The text with how the errors of its points go together.
    fn with_correlation(self, numbers: &Numbers<'_>) -> Result<String, EditError> {
        let text = remove_whole(&self.editor.text, Profile::correlation.key.name)?;
        let all = match numbers.right_errors {
            Some((right, between)) => Errors::correlations(numbers.errors, right, between),
            None if numbers.errors.are_correlated() => Errors::correlations_of(numbers.errors),
            None => return Ok(text),
        };
        let row = |i: usize| list((0..i).map(|j| rounded(all[(i, j)], CORRELATION)));
        let rows: String =
            (1..all.nrows()).flat_map(|i| ["  ".to_owned(), row(i), ",\n".to_owned()]).collect();
        let [table, links, of] =
            [Profile::correlation.key, Correlation::links.key, Correlation::rows.key].map(|key| key.name);
        Ok(append_table(
            &text,
            &format!(
                "# How the errors of the points go together. Written by rodset, not to be edited; without it they count as\n\
                 # independent of each other.\n[{table}]\n{links} = {}\n{of} = [\n{rows}]",
                list(self.homes.iter().map(|home| quoted(&home.name))),
            ),
        ))
    }
}

fn path(table: &Key, key: &Key) -> String {
    format!("{}.{}", table.name, key.name)
}

fn array(numbers: &[f64], decimals: usize) -> String {
    list(numbers.iter().map(|number| rounded(*number, decimals)))
}

/// A number as it is written, never `-0.0`.
fn rounded(number: f64, decimals: usize) -> String {
    // Through its text: what is written is what will be read again.
    float(format!("{number:.decimals$}").parse().unwrap_or(number) + 0.0)
}
