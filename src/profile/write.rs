//! Points put into a file that people wrote: everything else in it stays as it is, comments too.

use nalgebra::DMatrix;
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value, value};

use super::keys::{Car, Correlation, Link, Member, Typical, Wheel};
use crate::car::{Errors, Hand, LINKS, Measurand, PerSide};
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
    pub hand: Hand,
    /// The link, by its place.
    pub link: usize,
    /// What was read and its standard deviation, mm; `None` where the file has both.
    pub read: Option<[f64; 2]>,
}

/// Readings at the reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct References {
    /// Camber and toe, left and right, rad.
    pub angles: PerSide<Angles>,
    /// Standard deviations of camber and of toe, left and right, rad.
    pub deviations: PerSide<Angles>,
}

/// Puts points, their deviations and correlations into the text of a profile or a survey; the latter's `[survey]` goes.
///
/// # Errors
///
/// What the file lacks to take them, in words.
pub fn write_numbers(text: &str, numbers: &Numbers<'_>) -> Result<String, String> {
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    document.remove("survey");
    let wheel = document.entry("wheel").or_insert(Item::Table(Table::new()));
    let wheel = wheel.as_table_like_mut().ok_or("[wheel] is not a table")?;
    for (measurand, at) in Measurand::points().zip(numbers.points) {
        if let (None, keys) = of_point(measurand) {
            put_point(wheel, keys, at, numbers.errors, measurand);
        }
    }
    if let Some(References { angles, deviations }) = numbers.readings {
        put_reading(wheel, angles.left, deviations.left);
    }
    put_learnt(&mut document, numbers.learnt)?;
    let homes = homes(&mut document)?;
    for (measurand, at) in Measurand::points().zip(numbers.points) {
        let (Some(link), keys) = of_point(measurand) else { continue };
        if homes[link].owns(measurand) {
            let table = homes[link].within(link_table(&mut document, homes[link].member)?, measurand)?;
            put_point(table, keys, at, numbers.errors, measurand);
        }
    }
    let names: Vec<String> = homes.iter().map(|home| home.name.clone()).collect();
    for length in numbers.lengths {
        let table = match length.hand {
            Hand::Left => Some(link_table(&mut document, homes[length.link].member)?),
            Hand::Right => right_link(&mut document, &names[length.link]),
        };
        put_length(table.ok_or("[right] has no table for measured_length")?, length.read);
    }
    if let Some(typical) = document.get_mut("typical").and_then(Item::as_table_like_mut) {
        put(typical, Typical::assumed.key.name, numbers.assumed.iter().collect::<Array>().into());
    }
    put_right(&mut document, numbers, &homes)?;
    document.remove("correlation");
    let both =
        numbers.right_errors.map(|(right, between)| Errors::correlations(numbers.errors, right, between));
    let left = || Errors::correlations_of(numbers.errors);
    if numbers.errors.are_correlated() || both.is_some() {
        let mut table = correlation(&both.unwrap_or_else(left), &names);
        table.decor_mut().set_prefix(
            "\n# How the errors of the points go together. Written by rodset, not to be edited; without it they count as\n\
             # independent of each other.\n",
        );
        document.insert("correlation", Item::Table(table));
    }
    Ok(document.to_string())
}

/// Where one of the five places stands in a file.
struct Home {
    /// What it is called.
    name: String,
    /// The member that fills it, by its place among the file's links and by its name.
    member: usize,
    of: String,
    /// Where in the member's table its subframe's pivot stands, if not there itself.
    leg: Option<&'static str>,
    /// Which of its pivots, subframe's first, are no other place's too.
    owns: [bool; 2],
}

impl Home {
    /// Whether a point of this place stands here, not at another place.
    fn owns(&self, point: Measurand) -> bool {
        self.owns[end(point)]
    }

    /// The table of the member's in which a point of this place stands.
    fn within<'a>(
        &self,
        member: &'a mut dyn TableLike,
        point: Measurand,
    ) -> Result<&'a mut dyn TableLike, String> {
        let Some(leg) = self.leg.filter(|_| end(point) == 0) else { return Ok(member) };
        let table = member.entry(leg).or_insert(Item::Table(Table::new())).as_table_like_mut();
        table.ok_or_else(|| format!("{} of {} is not a table", leg, self.of))
    }
}

/// Which pivot of its link a point is, subframe's first.
fn end(point: Measurand) -> usize {
    usize::from(matches!(point, Measurand::Knuckle(_)))
}

/// Where the five places stand.
fn homes(document: &mut DocumentMut) -> Result<Vec<Home>, String> {
    let mut homes = Vec::new();
    for member in 0..LINKS {
        if homes.len() >= LINKS {
            break;
        }
        let table = link_table(document, member)?;
        let text = |key: &str| table.get(key).and_then(Item::as_str);
        let of = text("name").unwrap_or_default().trim().to_owned();
        let places = Member::called(text(Link::kind.key.name)).fills(&of);
        homes.extend(places.into_iter().map(|(name, leg, owns)| Home {
            name,
            member,
            of: of.clone(),
            leg,
            owns,
        }));
    }
    Ok(homes)
}

/// The table of a link, by its place.
fn link_table(document: &mut DocumentMut, link: usize) -> Result<&mut dyn TableLike, String> {
    let lacking = || format!("link {} is missing", link + 1);
    match document.get_mut("link").ok_or_else(lacking)? {
        Item::ArrayOfTables(tables) => tables.get_mut(link).map(|table| table as &mut dyn TableLike),
        Item::Value(Value::Array(tables)) => tables
            .get_mut(link)
            .and_then(Value::as_inline_table_mut)
            .map(|table: &mut InlineTable| table as &mut dyn TableLike),
        _ => None,
    }
    .ok_or_else(lacking)
}

/// The table of a link under `[right]`, where there is one.
fn right_link<'a>(document: &'a mut DocumentMut, name: &str) -> Option<&'a mut dyn TableLike> {
    let tables = document.get_mut("right")?.get_mut("link")?.as_array_of_tables_mut()?;
    let named = |table: &&mut Table| table.get("name").and_then(Item::as_str).map(str::trim) == Some(name);
    tables.iter_mut().find(named).map(|table| table as &mut dyn TableLike)
}

/// What the file gives of the right side by itself.
fn put_right(document: &mut DocumentMut, numbers: &Numbers<'_>, homes: &[Home]) -> Result<(), String> {
    if let Some(References { angles: PerSide { left, right }, deviations }) = numbers.readings {
        let own = document.get("right").and_then(|right| right.get("wheel")).is_some();
        // Both wheels read alike so far; if they no longer do, the right one needs its own.
        if own || differ(left, right) || differ(deviations.left, deviations.right) {
            put_reading(right_wheel(document)?, right, deviations.right);
        }
    }
    for (measurand, at) in numbers.right {
        let (link, keys) = of_point(*measurand);
        let table = match link {
            None => right_wheel(document)?,
            Some(link) if !homes[link].owns(*measurand) => continue,
            Some(link) => homes[link].within(own_right_link(document, &homes[link].of)?, *measurand)?,
        };
        match numbers.right_errors {
            Some((errors, _)) => put_point(table, keys, at, errors, *measurand),
            None => put(table, keys[0], array(at, MM).into()),
        }
    }
    Ok(())
}

/// `[right]`, made where there is none.
fn right_table(document: &mut DocumentMut) -> Result<&mut dyn TableLike, String> {
    let made = || {
        let mut table = Table::new();
        table.set_implicit(true);
        Item::Table(table)
    };
    let right = document.entry("right").or_insert_with(made);
    right.as_table_like_mut().ok_or_else(|| "[right] is not a table".to_owned())
}

/// `[right.wheel]`, made where there is none.
fn right_wheel(document: &mut DocumentMut) -> Result<&mut dyn TableLike, String> {
    let wheel = right_table(document)?.entry("wheel").or_insert(Item::Table(Table::new()));
    wheel.as_table_like_mut().ok_or_else(|| "[right.wheel] is not a table".to_owned())
}

/// The table of a link under `[right]`, made where there is none.
fn own_right_link<'a>(document: &'a mut DocumentMut, name: &str) -> Result<&'a mut dyn TableLike, String> {
    if right_link(document, name).is_none() {
        let mut table = Table::new();
        table.insert("name", value(name));
        let right = right_table(document)?;
        if right.get("link").is_none_or(Item::is_none) {
            right.insert("link", Item::ArrayOfTables(ArrayOfTables::new()));
        }
        let links = right.get_mut("link").and_then(Item::as_array_of_tables_mut);
        links.ok_or("[[right.link]] is not a list of tables")?.push(table);
    }
    right_link(document, name).ok_or_else(|| format!("[right] has no link {name}"))
}

/// What readings went into the car.
fn put_learnt(document: &mut DocumentMut, learnt: &[String]) -> Result<(), String> {
    if learnt.is_empty() {
        return Ok(());
    }
    let car = document.get_mut("car").and_then(Item::as_table_like_mut).ok_or("[car] is not a table")?;
    let key = Car::learnt.key.name;
    let mut all: Array = car.get(key).and_then(Item::as_array).cloned().unwrap_or_default();
    all.extend(learnt.iter());
    put(car, key, all.into());
    Ok(())
}

/// Whether two readings are not one.
fn differ(left: Angles, right: Angles) -> bool {
    left.iter().zip(&right).any(|(left, right)| (left - right).abs() > 1e-12)
}

/// The link of a point, where it is a link's, and the keys under which it and its deviations stand.
fn of_point(measurand: Measurand) -> (Option<usize>, [&'static str; 2]) {
    let of_link = |link, end: usize| (Some(link), [Link::ENDS[end].key.name, Link::END_SIGMAS[end].key.name]);
    match measurand {
        Measurand::Subframe(link) => of_link(link, 0),
        Measurand::Knuckle(link) => of_link(link, 1),
        _ => (None, [Wheel::centre.key.name, Wheel::centre_sigma.key.name]),
    }
}

fn put_point(
    table: &mut dyn TableLike,
    [key, sigma]: [&str; 2],
    at: &[f64; 3],
    errors: &Errors,
    measurand: Measurand,
) {
    put(table, key, array(at, MM).into());
    put(table, sigma, array(&errors.deviations(measurand), MM).into());
}

fn put_reading(table: &mut dyn TableLike, read: Angles, deviations: Angles) {
    let read = [(Wheel::camber.key, read.camber), (Wheel::toe.key, read.toe)];
    let deviations = [(Wheel::camber_sigma.key, deviations.camber), (Wheel::toe_sigma.key, deviations.toe)];
    for (key, angle) in read.into_iter().chain(deviations) {
        put(table, key.name, rounded(angle.to_degrees(), DEGREES).into());
    }
}

/// What a stock arm measures, and that the points came from it.
fn put_length(table: &mut dyn TableLike, read: Option<[f64; 2]>) {
    let keys = [Link::measured_length.key, Link::measured_length_sigma.key];
    for (key, read) in keys.into_iter().zip(read.into_iter().flatten()) {
        put(table, key.name, rounded(read, MM).into());
    }
    put(table, Link::measured_length_used.key.name, true.into());
}

/// Puts a value under a key; what stands round an old value, such as a comment behind it, stays.
fn put(table: &mut dyn TableLike, key: &str, mut new: Value) {
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *new.decor_mut() = old.decor().clone();
    }
    table.insert(key, value(new));
}

fn correlation(all: &DMatrix<f64>, names: &[String]) -> Table {
    let mut table = Table::new();
    table.insert(Correlation::links.key.name, value(names.iter().collect::<Array>()));
    let mut rows = Array::new();
    for i in 1..all.nrows() {
        let row: Array = (0..i).map(|j| rounded(all[(i, j)], CORRELATION)).collect();
        let mut row = Value::Array(row);
        row.decor_mut().set_prefix("\n  ");
        rows.push_formatted(row);
    }
    rows.set_trailing("\n");
    rows.set_trailing_comma(true);
    table.insert(Correlation::rows.key.name, value(rows));
    table
}

fn array(numbers: &[f64], decimals: usize) -> Array {
    numbers.iter().map(|number| rounded(*number, decimals)).collect()
}

/// A number as it is written, never `-0.0`.
fn rounded(number: f64, decimals: usize) -> f64 {
    // Through its text: what is written is what will be read again.
    format!("{number:.decimals$}").parse().unwrap_or(number) + 0.0
}
