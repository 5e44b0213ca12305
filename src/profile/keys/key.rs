//! What a key is, and how keys are declared.

use std::ops::Range;
use toml::Spanned;

use crate::car::ordinary;
use crate::measure::MOST_DEG;
use crate::profile::Quantity;

/// A table of a file.
#[derive(Debug)]
pub struct KeyTable {
    /// What the schema calls it.
    pub name: &'static str,
    /// What it holds.
    pub(crate) about: &'static str,
    /// What may stand in it, in the order in which it is shown.
    pub keys: &'static [&'static Key],
}

/// A key of a table: all there is to say of it.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// As it stands in the file.
    pub name: &'static str,
    /// What it was called before, which is still read; empty where it always was called so.
    pub(crate) formerly: &'static str,
    /// What it is, with its unit and its sign.
    pub meaning: &'static str,
    /// How to measure it; empty where there is nothing to measure.
    pub(crate) how: &'static str,
    /// What kind of value it takes.
    pub kind: Kind,
    /// A value as it stands in a file; empty where a table shows what is in it.
    pub(crate) example: &'static str,
    /// The same in another unit, or another way to say it.
    pub(crate) also: &'static str,
    /// From - to of what is read, in the unit of its kind.
    pub range: Option<[f64; 2]>,
    /// Whether its table cannot do without it.
    pub need: Need,
    /// How an interview asks for it.
    pub question: Option<KeyQuestion>,
    /// How it asks for that of the right side, which may be left out: as on the left.
    pub(crate) right: Option<KeyQuestion>,
    /// For which of the choices of its table it is, where not for all of them.
    pub(crate) of: &'static [&'static str],
    /// The key in whose place it may stand.
    pub(crate) instead: &'static str,
    /// Whether it counts as measured, or as asked for: what it does to an answer is told by itself.
    pub(in crate::profile) is_read: bool,
    /// Whether a starter shows it; what only the program writes it does not.
    pub shown: bool,
    /// By which name it stands in the table of what is ordinary, where not by its noun: anything beyond that is told as odd.
    pub(in crate::profile) ordinary: &'static str,
    /// What it is called in a sentence.
    pub(in crate::profile) noun: &'static str,
    /// What is said of one that is odd, where that is not plain from what it is.
    pub(in crate::profile) oddity: &'static str,
    /// What is said of a value out of its range; `{}` is that value.
    pub(in crate::profile) refusal: &'static str,
    /// What to do about one that is refused or odd.
    pub(in crate::profile) hint: &'static str,
}

/// What kind of value a key takes.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A line of text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A whole number.
    Whole,
    /// A number, and what it counts.
    Number(&'static str),
    /// mm, or with its unit.
    Length,
    /// Degrees, or with minutes.
    Angle,
    /// Degrees, or a distance across the rim.
    Toe,
    /// N/mm.
    Rate,
    /// kg.
    Mass,
    /// N.
    Force,
    /// N m.
    Torque,
    /// N/mm2.
    Stress,
    /// Three coordinates, mm.
    Point,
    /// Three numbers for a way in space.
    Direction,
    /// Three factors.
    Factors,
    /// A list of lists of so many lengths.
    Rows(usize),
    /// Two numbers, from - to.
    Stretch,
    /// Texts, at least and at most so many.
    Texts(usize, usize),
    /// Lists of texts.
    Groups,
    /// One of these.
    Choice(&'static [&'static str]),
    /// So many of these.
    Choices(&'static [&'static str], usize),
    /// Where a cam stands.
    CamPosition,
    /// Settings by the names of links, of both sides or of each.
    Settings,
    /// A day.
    Date,
    /// Numbers row by row.
    Matrix,
    /// A table.
    Table(&'static KeyTable),
    /// Tables, at most so many; `[[...]]`.
    Tables(&'static KeyTable, usize),
    /// The same in a list of tables in braces.
    List(&'static KeyTable),
}

/// Whether a table cannot do without a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It may be left out.
    Not,
    /// It may be left out, but a starter waits for it.
    Wanted,
    /// It may be left out, but a starter has it.
    Set,
    /// It must be there, but not in a survey, which works it out.
    Measured,
    /// It must be there.
    Always,
}

/// How an interview asks; `{link}` is the name of the link, `{where}` where that one usually is.
#[derive(Debug, Clone, Copy)]
pub struct KeyQuestion {
    /// What it is about, in a few words.
    pub(crate) title: &'static str,
    /// What to tell, and from where to where.
    pub(crate) ask: &'static str,
    /// How an answer is typed.
    pub(crate) typed: &'static str,
    /// How it is read.
    pub(crate) answer: Answer,
    /// What waits for it in the file.
    pub(crate) example: &'static str,
}

/// How an answer is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Answer {
    /// A figure, or a text.
    One,
    /// Three coordinates.
    Point,
    /// How far from the centreline and how high: the wheel centre, which lies at 0 forward of itself.
    Centre,
    /// Texts, with commas between.
    List,
    /// A length and the thread in each end at it.
    Engaged,
    /// Which way a slot runs.
    Along,
    /// Toe, for each wheel or in total.
    Toe,
    /// Whether there is a table at all.
    Whether,
}

/// A number that may stand under a key.
pub(in crate::profile) type Value = Option<Spanned<Quantity>>;

/// A key of a shape, with how to get at its value.
pub(in crate::profile) struct Slot<T: 'static, V: 'static> {
    pub(in crate::profile) key: &'static Key,
    pub(in crate::profile) pick: for<'a> fn(&'a T) -> &'a Option<Spanned<V>>,
}

impl<T, V> Clone for Slot<T, V> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T, V> Copy for Slot<T, V> {}

impl<T, V> Slot<T, V> {
    /// What stands under the key.
    pub(in crate::profile) fn of(self, table: &T) -> Option<&Spanned<V>> {
        (self.pick)(table).as_ref()
    }

    /// Where it stands.
    pub(in crate::profile) fn span(self, table: &T) -> Option<Range<usize>> {
        self.of(table).map(Spanned::span)
    }
}

impl<T, V> Slot<T, Vec<Spanned<V>>> {
    /// What stands in the list.
    pub(in crate::profile) fn all(self, table: &T) -> &[Spanned<V>] {
        self.of(table).map_or(&[], |list| list.get_ref())
    }
}

/// The shape of a table, as serde reads it: every key may be missing, every value has its place in the text.
pub(in crate::profile) trait Declared {
    const TABLE: KeyTable;
    /// The keys that stand in it, and where.
    fn given(&self) -> Vec<(&'static Key, Range<usize>)>;
}

/// Declares the keys of tables: the doc comment is the meaning, the expression the rest. Values are had by `KeyTable::key`, and where the
/// fields are open as such.
macro_rules! keys {
    ($vis:vis fields; $($(#[doc = $about:literal])+ $table:ident {
        $($(#[doc = $meaning:literal])+ $key:ident $(as $name:literal)?: $value:ty = $facts:expr;)+
    })+) => {$(
        $(#[doc = $about])+
        #[derive(Debug, Clone, Default)]
        pub(in crate::profile) struct $table {
            $($vis $key: Option<toml::Spanned<$value>>,)+
        }

        impl $crate::profile::keys::Readable for $table {
            fn read(value: toml::Spanned<toml::de::DeValue<'_>>) -> Result<Self, toml::de::Error> {
                let mut table = Self::default();
                for (key, value) in $crate::profile::keys::entries(value, concat!("struct ", stringify!($table)))? {
                    $(if Self::$key.key.goes_by(key.get_ref()) {
                        if table.$key.is_some() {
                            return Err($crate::profile::keys::twice(key, Self::$key.key.name, Self::$key.key.formerly));
                        }
                        table.$key = Some($crate::profile::keys::Readable::read(value)?);
                        continue;
                    })+
                    return Err($crate::profile::keys::unknown(key, &[$(Self::$key.key.name),+]));
                }
                Ok(table)
            }
        }

        #[allow(non_upper_case_globals, dead_code, reason = "as it stands in the file; what is only described is not asked for")]
        impl $table {
            $($(#[doc = $meaning])+
            pub(in crate::profile) const $key: $crate::profile::keys::Slot<Self, $value> = $crate::profile::keys::Slot {
                key: &$crate::profile::keys::Key {
                    name: $crate::profile::keys::keys!(@name $key $($name)?),
                    meaning: concat!($($meaning),+),
                    ..$facts
                },
                pick: |table| &table.$key,
            };)+
        }

        impl $crate::profile::keys::Declared for $table {
            const TABLE: $crate::profile::keys::KeyTable = $crate::profile::keys::KeyTable {
                name: stringify!($table),
                about: concat!($($about),+),
                keys: &[$(Self::$key.key),+],
            };
            fn given(&self) -> Vec<(&'static $crate::profile::keys::Key, std::ops::Range<usize>)> {
                let all = [$((Self::$key.key, Self::$key.span(self))),+];
                all.into_iter().filter_map(|(key, span)| Some((key, span?))).collect()
            }
        }
    )+};
    (@name $key:ident) => { stringify!($key) };
    (@name $key:ident $name:literal) => { $name };
}
pub(in crate::profile) use keys;

/// A key of a kind, to be said more of.
pub(super) const fn key(kind: Kind) -> Key {
    Key {
        name: "",
        formerly: "",
        meaning: "",
        how: "",
        kind,
        example: "",
        also: "",
        range: kind.range(),
        need: Need::Not,
        question: None,
        right: None,
        of: &[],
        instead: "",
        is_read: false,
        shown: true,
        ordinary: "",
        noun: "",
        oddity: "",
        refusal: "",
        hint: "",
    }
}

pub(super) const fn text(example: &'static str) -> Key {
    key(Kind::Text).like(example)
}

pub(super) const fn flag(example: &'static str) -> Key {
    key(Kind::Flag).like(example)
}

pub(super) const fn length(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Length).called(noun).like(example)
}

pub(super) const fn angle(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Angle).called(noun).like(example)
}

pub(super) const fn toe(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Toe).called(noun).like(example)
}

pub(super) const fn point(example: &'static str) -> Key {
    key(Kind::Point).like(example)
}

pub(super) const fn direction(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Direction).called(noun).like(example)
}

pub(super) const fn table(table: &'static KeyTable) -> Key {
    key(Kind::Table(table))
}

/// The standard deviation of a length.
pub(super) const fn deviation(example: &'static str) -> Key {
    length("a standard deviation", example)
}

/// The standard deviations of three coordinates, which the program writes.
pub(super) const fn deviations() -> Key {
    point("[2.0, 2.0, 2.0]").within(0.0, 200.0).unshown()
}

/// A camber, degrees.
pub(super) const fn camber(example: &'static str) -> Key {
    angle("camber", example).signed(MOST_DEG)
}

/// An angle of tolerance, degrees.
pub(super) const fn tolerance(kind: Kind, example: &'static str) -> Key {
    key(kind).called("a tolerance").like(example)
}

impl Key {
    /// Whether it goes by a name, or did before.
    pub(in crate::profile) fn goes_by(&self, name: &str) -> bool {
        name == self.name || !self.formerly.is_empty() && name == self.formerly
    }

    pub(super) const fn formerly(self, formerly: &'static str) -> Self {
        Self { formerly, ..self }
    }

    pub(super) const fn like(self, example: &'static str) -> Self {
        Self { example, ..self }
    }

    pub(super) const fn also(self, also: &'static str) -> Self {
        Self { also, ..self }
    }

    pub(super) const fn how(self, how: &'static str) -> Self {
        Self { how, ..self }
    }

    pub(super) const fn called(self, noun: &'static str) -> Self {
        Self { noun, ..self }
    }

    pub(super) const fn within(self, least: f64, most: f64) -> Self {
        Self { range: Some([least, most]), ..self }
    }

    pub(super) const fn ordinary(self, ordinary: &'static str) -> Self {
        Self { ordinary, ..self }
    }

    /// From - to of what is ordinary, in the unit of its kind.
    pub(in crate::profile) fn usual(&self) -> Option<[f64; 2]> {
        ordinary(self.ordinarily())
    }

    /// What it goes by among what is ordinary.
    pub(in crate::profile) fn ordinarily(&self) -> &'static str {
        if self.ordinary.is_empty() { self.noun } else { self.ordinary }
    }

    /// Either way up to so much.
    pub(super) const fn signed(self, most: f64) -> Self {
        Self { refusal: "no wheel has that much {noun}", ..self.within(-most, most) }
    }

    pub(super) const fn odd(self, oddity: &'static str) -> Self {
        Self { oddity, ..self }
    }

    pub(super) const fn refused(self, refusal: &'static str) -> Self {
        Self { refusal, ..self }
    }

    pub(super) const fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }

    pub(super) const fn needed(self) -> Self {
        Self { need: Need::Always, ..self }
    }

    pub(super) const fn wanted(self) -> Self {
        Self { need: Need::Wanted, ..self }
    }

    pub(super) const fn measured(self) -> Self {
        Self { need: Need::Measured, ..self.read() }
    }

    pub(super) const fn read(self) -> Self {
        Self { is_read: true, ..self }
    }

    pub(super) const fn unshown(self) -> Self {
        Self { shown: false, ..self }
    }

    pub(super) const fn of(self, of: &'static [&'static str]) -> Self {
        Self { of, ..self }
    }

    pub(super) const fn asked(self, title: &'static str, ask: &'static str, typed: &'static str) -> Self {
        let question = KeyQuestion { title, ask, typed, answer: Answer::One, example: self.example };
        Self { question: Some(question), ..self }
    }

    pub(super) const fn answered(self, answer: Answer) -> Self {
        match self.question {
            Some(question) => Self { question: Some(KeyQuestion { answer, ..question }), ..self },
            None => self,
        }
    }

    /// Of the right side too; the example is what waits for it.
    pub(super) const fn right(
        self,
        example: &'static str,
        title: &'static str,
        ask: &'static str,
        typed: &'static str,
    ) -> Self {
        Self { right: Some(KeyQuestion { title, ask, typed, answer: Answer::One, example }), ..self }
    }

    /// The table in which its own keys stand, if it is one.
    pub const fn table(&self) -> Option<&'static KeyTable> {
        match self.kind {
            Kind::Table(table) | Kind::Tables(table, _) | Kind::List(table) => Some(table),
            _ => None,
        }
    }
}

impl Kind {
    /// From - to of what such a key takes where it does not say itself: more than nothing, and no longer than a street.
    pub(in crate::profile) const fn range(self) -> Option<[f64; 2]> {
        match self {
            Self::Length => Some([0.0, 1e5]),
            Self::Angle | Self::Toe => Some([0.0, 180.0]),
            _ => None,
        }
    }

    /// The unit of a bare number.
    pub(crate) const fn unit(self) -> &'static str {
        match self {
            Self::Length | Self::Point | Self::Rows(_) => "mm",
            Self::Angle | Self::Toe => "degrees",
            Self::Rate => "N/mm",
            Self::Mass => "kg",
            Self::Force => "N",
            Self::Torque => "N m",
            Self::Stress => "N/mm2",
            Self::Number(unit) => unit,
            _ => "",
        }
    }
}
