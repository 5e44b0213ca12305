//! How keys and values are written in a file.

use std::fmt::Display;
use toml::Value;
use toml::de::DeValue;

/// A text as TOML writes it.
pub(super) fn quoted(text: impl Display) -> String {
    Value::String(text.to_string()).to_string()
}

/// The shortest number that TOML reads as the same.
pub(super) fn float(value: f64) -> String {
    Value::Float(value).to_string()
}

/// A list of what is written.
pub(super) fn list(items: impl IntoIterator<Item = String>) -> String {
    format!("[{}]", items.into_iter().collect::<Vec<_>>().join(", "))
}

/// A name as a key, in quotes where it needs them.
pub(super) fn key(name: &str) -> String {
    let bare = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if bare { name.to_owned() } else { quoted(name) }
}

/// Whether a text is a value as TOML writes it.
pub(super) fn is_value(text: &str) -> bool {
    DeValue::parse(text).is_ok()
}
