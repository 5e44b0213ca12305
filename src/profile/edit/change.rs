//! A changed text, or why it cannot be changed so.

use std::fmt;
use std::ops::Range;

/// A changed text, and what stood and stands under the key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The whole text.
    pub text: String,
    /// What stood there, as it was written.
    pub before: Option<String>,
    /// What stands there now.
    pub now: Option<String>,
}

/// Why a text cannot be changed so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditError {
    /// The text is not TOML; what the parser says.
    NotToml(String),
    /// The value is none that could stand in a file.
    NotAValue(String),
    /// Nothing stands under this key.
    Nothing {
        /// The key.
        key: String,
        /// A key that looks alike.
        near: Option<String>,
    },
    /// There is no link of this name, and none can be added.
    NoLink {
        /// The name.
        name: String,
        /// Those that there are.
        known: Vec<String>,
    },
    /// Several things go by this key.
    Several(String),
    /// A part of a whole that is nothing without it.
    Part(String),
    /// The point of this key stands nowhere, so that one coordinate of it cannot be set.
    NoPoint(String),
    /// The key does not say which value is meant.
    Unclear(String),
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotToml(message) => write!(f, "the file cannot be read:\n{}", message.trim_end()),
            Self::NotAValue(value) => write!(f, "{value:?} cannot stand in a file"),
            Self::Nothing { key, near } => {
                write!(f, "nothing stands under `{key}`")?;
                near.iter().try_for_each(|near| write!(f, "; did you mean `{near}`?"))
            }
            Self::NoLink { name, known } => {
                write!(f, "there is no link called \"{name}\"; the links are: {}", known.join(", "))
            }
            Self::Several(key) => write!(f, "more than one thing goes by `{key}`; change it in an editor"),
            Self::Part(key) => {
                write!(f, "`{key}` is one of three coordinates and cannot be left out by itself")
            }
            Self::NoPoint(key) => {
                write!(
                    f,
                    "`{key}` is not in the file, so one coordinate alone cannot be set; give all three, \"{key}=x, y, z\""
                )?;
                let right = key.starts_with("right.");
                f.write_str(if right { "; points of the right side have a negative y" } else { "" })
            }
            Self::Unclear(key) => write!(f, "`{key}` names no value; a key is written like wheel.camber"),
        }
    }
}

impl std::error::Error for EditError {}

/// A text with another passage in the place of one.
pub(super) fn spliced(text: &str, range: Range<usize>, passage: &str) -> String {
    [&text[..range.start], passage, &text[range.end..]].concat()
}

/// How lines end in a text.
pub(super) fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}
