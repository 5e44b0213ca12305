//! Who may use whom: the house rule of DEVELOPERS.md as a test.

use std::fs;
use std::path::{Path, PathBuf};

/// A layer and the layers of this crate that it may name.
const MAY_USE: &[(&str, &[&str])] = &[
    ("geometry", &[]),
    ("car", &["geometry"]),
    ("measure", &["car", "geometry"]),
    ("plan", &["measure", "car", "geometry"]),
    ("profile", &["measure", "car", "geometry"]),
    ("strength", &["plan", "car", "geometry"]),
    ("explain", &["profile", "measure", "car"]),
    ("report", &["explain", "strength", "plan", "measure", "car", "geometry"]),
    ("cli", &["profile", "report", "explain", "strength", "plan", "measure", "car", "geometry"]),
];

/// Crates and modules that only one layer may touch.
const ONLY_IN: &[(&str, &[&str])] = &[
    ("clap::", &["cli"]),
    ("annotate_snippets", &["profile"]),
    ("toml::", &["profile", "car", "explain", "report"]),
    ("toml_edit", &["profile"]),
    ("std::fs", &["cli"]),
    ("std::env", &["cli"]),
    ("std::io", &["cli"]),
    ("println!", &["cli"]),
    ("textwrap", &["report"]),
    ("serde_json", &["cli", "explain"]),
    ("parry3d_f64", &["geometry"]),
    ("csv::", &["report"]),
    ("sha2::", &["cli"]),
    ("jiff::", &["cli"]),
    ("inquire::", &["cli"]),
    ("signal_hook::", &["cli"]),
];

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder of sources") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files
}

/// The code of a file without its comments.
fn code(file: &Path) -> String {
    let text = fs::read_to_string(file).expect("a source file");
    text.lines().map(|line| line.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

#[test]
fn arrows_point_down() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for (layer, may_use) in MAY_USE {
        let files = sources(&src.join(layer));
        assert!(files.len() > 1, "the layer {layer} is gone");
        for file in files {
            // What stands behind `#[cfg(test)]` may look around.
            let code = code(&file);
            let code = code.split("#[cfg(test)]").next().unwrap_or("");
            for (other, _) in MAY_USE.iter().filter(|(other, _)| other != layer && !may_use.contains(other)) {
                for path in [format!("crate::{other}"), format!("rodset::{other}")] {
                    assert!(!code.contains(&path), "{} must not use {other}", file.display());
                }
            }
            // Ways round the rule.
            assert!(!code.contains("crate::{"), "{}: name each layer by itself", file.display());
            assert!(!code.contains("super::super"), "{}: go by `crate::`", file.display());
            for (name, layers) in ONLY_IN.iter().filter(|(_, layers)| !layers.contains(layer)) {
                assert!(!code.contains(name), "{} must not use {name}: only {layers:?} may", file.display());
            }
        }
    }
}
