//! Who may use whom: the house rule of DEVELOPERS.md as a test.

use std::collections::{BTreeMap, BTreeSet};
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
    ("rustix::", &["cli"]),
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

/// Files of `report` that draw or lay out, that know units, or that show what the explanation of a figure moved.
const DRAWN: [&str; 13] = [
    "number.rs",
    "svg.rs",
    "chart.rs",
    "draw.rs",
    "report/bars.rs",
    "report/reach.rs",
    "survey_sketch.rs",
    "curves.rs",
    "arm_drawing.rs",
    "page.rs",
    "paper.rs",
    "table.rs",
    "explain.rs",
];

/// Pages show figures and work none out: what one multiplies, divides or looks for the most of belongs into an answer.
#[test]
fn pages_hold_no_arithmetic() {
    let files = sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/report"));
    let pages = files.iter().filter(|file| DRAWN.iter().all(|drawn| !file.ends_with(drawn)));
    let mut looked = 0;
    for file in pages {
        for line in code(file).lines() {
            // Quoted words are no code.
            let code: String = line.split('"').step_by(2).collect();
            for sign in [" * ", " / ", ".sum()", "f64::max", "f64::min", "midpoint", ".hypot(", ".sqrt("] {
                let letters = code.contains("index / 26");
                assert!(letters || !code.contains(sign), "{}: a page works out:{line}", file.display());
            }
        }
        looked += 1;
    }
    assert!(looked > 20, "{looked} pages");
}

/// A module by its path from the crate's root, without `crate`.
type Module = Vec<String>;

/// One file: what its `use` lines bring in, and the paths in the rest of it.
#[derive(Default)]
struct File {
    /// The path behind each name, as it is written.
    brought: BTreeMap<String, Vec<String>>,
    paths: BTreeSet<Vec<String>>,
}

impl File {
    fn of(code: &str) -> Self {
        let mut file = Self::default();
        let mut tokens = tokens(code).into_iter().peekable();
        while let Some(token) = tokens.next() {
            if token == "use" {
                let tree: Vec<String> = tokens.by_ref().take_while(|token| token != ";").collect();
                file.bring(&mut tree.into_iter().peekable(), &[]);
            } else if token == "mod" {
                tokens.next();
            } else if token.starts_with(is_of_name) {
                let mut path = vec![token];
                while tokens.next_if(|token| token == "::").is_some() {
                    path.extend(tokens.next_if(|token| token.starts_with(is_of_name)));
                }
                file.paths.insert(path);
            }
        }
        file
    }

    /// Takes in one branch of a tree of imports: `a::{b, c::d as e, self}`.
    fn bring(&mut self, tokens: &mut Tokens, before: &[String]) {
        let mut path = before.to_vec();
        while let Some(token) = tokens.next_if(|token| !matches!(token.as_str(), "," | "}")) {
            match token.as_str() {
                "::" => {}
                "{" => {
                    while tokens.next_if(|token| token == "}").is_none() && tokens.peek().is_some() {
                        self.bring(tokens, &path);
                        tokens.next_if(|token| token == ",");
                    }
                    return;
                }
                "self" if path.len() > before.len() || !before.is_empty() => {}
                "as" => {
                    if let Some(name) = tokens.next() {
                        self.brought.insert(name, path.clone());
                    }
                    return;
                }
                _ => path.push(token),
            }
        }
        if let Some(name) = path.last() {
            self.brought.insert(name.clone(), path.clone());
        }
    }
}

type Tokens = std::iter::Peekable<std::vec::IntoIter<String>>;

/// Names, `::` and single signs, up to the tests; without texts and comments.
fn tokens(code: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    let mut rest = code.split("#[cfg(test)]").next().unwrap_or("");
    while let Some(first) = rest.chars().next() {
        let name = rest.find(|c: char| !is_of_name(c)).unwrap_or(rest.len());
        let passed = match first {
            _ if rest.starts_with("//") => rest.find('\n').unwrap_or(rest.len()),
            _ if rest.starts_with("'\"'") => 3,
            '"' => {
                let mut before = first;
                let end = |c: char| {
                    let escaped = std::mem::replace(&mut before, c) == '\\';
                    before = if escaped { first } else { before };
                    c == '"' && !escaped
                };
                rest[1..].find(end).map_or(rest.len(), |end| end + 2)
            }
            _ if first.is_whitespace() => first.len_utf8(),
            _ => {
                let end = if rest.starts_with("::") { 2 } else { name.max(first.len_utf8()) };
                tokens.push(rest[..end].to_owned());
                end
            }
        };
        rest = &rest[passed..];
    }
    tokens
}

fn is_of_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// The files of the crate by their modules.
struct House(BTreeMap<Module, File>);

impl House {
    fn built() -> Self {
        let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut files = BTreeMap::new();
        for path in sources(&src).into_iter().filter(|path| !path.ends_with("main.rs")) {
            let place = path.strip_prefix(&src).expect("a file of the crate").with_extension("");
            let mut module: Module = place.iter().map(|part| part.to_string_lossy().into_owned()).collect();
            if module.last().is_some_and(|last| last == "mod" || last == "lib") {
                module.pop();
            }
            files.insert(module, File::of(&fs::read_to_string(&path).expect("a source file")));
        }
        Self(files)
    }

    /// The module in which stands what a path leads to, seen from a module: through whatever brings it in on the way. `None` for a
    /// module as such, and for what is not of this crate.
    fn home(&self, from: &[String], path: &[String], depth: usize) -> Option<Module> {
        let (first, rest) = path.split_first()?;
        let child = [from, std::slice::from_ref(first)].concat();
        let (at, rest) = match first.as_str() {
            "crate" => (Module::new(), rest),
            "self" => (from.to_vec(), rest),
            "super" => (from.split_last()?.1.to_vec(), rest),
            // What `use` brought in, unless it leads back to itself.
            _ => match self.0.get(from)?.brought.get(first) {
                Some(brought) if depth < 20 && brought != path => {
                    return self.home(from, &[brought, rest].concat(), depth + 1);
                }
                _ if self.0.contains_key(&child) => (child, rest),
                _ => return None,
            },
        };
        let next = rest.first()?;
        let child = [&at[..], std::slice::from_ref(next)].concat();
        if next == "super" || self.0.contains_key(&child) || self.0.get(&at)?.brought.contains_key(next) {
            return self.home(&at, rest, depth + 1);
        }
        Some(at)
    }

    /// The modules that a module needs; a front page needs what it shows.
    fn needs(&self, module: &Module) -> BTreeSet<Module> {
        let File { brought, paths } = &self.0[module];
        let needs = paths.iter().chain(brought.values()).filter_map(|path| self.home(module, path, 0));
        needs.filter(|other| other != module).collect()
    }
}

#[test]
fn no_files_go_in_a_circle() {
    let house = House::built();
    let needs: BTreeMap<&Module, BTreeSet<Module>> =
        house.0.keys().map(|module| (module, house.needs(module))).collect();
    // The reading of the files is itself in order: it finds arrows of each kind.
    let needed = |of: &str| {
        let of: Module = of.split('/').map(str::to_owned).collect();
        needs[&of].iter().map(|other| other.join("/")).collect::<Vec<_>>()
    };
    assert!(
        needed("geometry/solve").contains(&"geometry/certificate".to_owned()),
        "through a room's front page"
    );
    assert!(needed("report/explain").contains(&"explain".to_owned()), "what stands on a front page itself");
    let adjustment = needed("measure/network/adjustment");
    assert!(adjustment.contains(&"measure/least_squares".to_owned()), "through its own `use`");

    let mut circles = Vec::new();
    for start in needs.keys() {
        let mut ways = vec![vec![*start]];
        let mut seen = BTreeSet::new();
        while let Some(way) = ways.pop() {
            for next in way.last().and_then(|last| needs.get(last)).into_iter().flatten() {
                if next == *start {
                    // Each circle once.
                    if way.iter().min() == Some(start) {
                        circles.push(way.iter().map(|module| module.join("/")).collect::<Vec<_>>());
                    }
                } else if seen.insert(next) {
                    ways.push([&way[..], &[next]].concat());
                }
            }
        }
    }
    circles.retain(|circle| {
        !DESCRIBE_ALL.iter().any(|known| circle.iter().any(|module| module.starts_with(known)))
    });
    circles.sort_by_key(Vec::len);
    let told = circles.iter().map(|circle| circle.join(" -> ") + "\n").collect::<String>();
    assert!(circles.is_empty(), "files that need each other, with or without others between them:\n{told}");
}

/// Commands that describe the list in which they themselves stand.
const DESCRIBE_ALL: &[&str] = &["cli/manual", "cli/schema", "cli/shell"];
