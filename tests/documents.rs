//! What the documents show is what the program does.

use std::path::Path;

use crate::command::{commands, rodset, shell, workplace};

/// A command line of a `console` block and the output under it.
struct Session {
    command: String,
    output: Vec<String>,
}

fn sessions(document: &str) -> Vec<Session> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(document);
    let text = std::fs::read_to_string(path).expect("a document");
    let mut sessions: Vec<Session> = Vec::new();
    for block in text.split("```console\n").skip(1).filter_map(|rest| rest.split("```").next()) {
        assert!(block.starts_with("$ rodset "), "{document}: {block}");
        for line in block.lines() {
            if let Some(command) = line.strip_prefix("$ ") {
                sessions.push(Session { command: command.to_owned(), output: Vec::new() });
            } else if let Some(session) = sessions.last_mut() {
                session.output.push(line.to_owned());
            }
        }
    }
    sessions
}

/// Runs what a document shows in a folder, from above to below, and holds it against what is printed.
fn is_true(document: &str, folder: &Path) -> usize {
    let sessions = sessions(document);
    for Session { command, output } in &sessions {
        let run = shell(folder, command, &[]);
        let printed = [run.stdout, run.stderr].map(|text| String::from_utf8(text).expect("text")).concat();
        let printed: Vec<&str> = printed.lines().collect();
        assert!(shows(output, &printed), "{document}: `{command}` now prints:\n{}", printed.join("\n"));
    }
    sessions.len()
}

/// Whether the shown lines are the printed ones; a line `...` stands for any number of them.
fn shows(shown: &[String], printed: &[&str]) -> bool {
    match shown.split_first() {
        None => printed.is_empty(),
        Some((gap, rest)) if gap == "..." => (0..=printed.len()).any(|skip| shows(rest, &printed[skip..])),
        Some((line, rest)) => {
            printed.split_first().is_some_and(|(first, others)| first == line && shows(rest, others))
        }
    }
}

/// The notice of licences lists the crates of `Cargo.lock` that are built, on any system, each with its version, and no other.
#[test]
fn the_notice_lists_every_crate_that_is_built() {
    let read =
        |file: &str| std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file)).expect(file);
    let manifest: toml::Table = toml::from_str(&read("Cargo.toml")).expect("TOML");
    let lock: toml::Table = toml::from_str(&read("Cargo.lock")).expect("TOML");
    let packages = lock["package"].as_array().expect("packages");
    let text = |package: &toml::Value, key: &str| package[key].as_str().expect("a text").to_owned();
    // Named with a version where there are several.
    let find = |needed: &str| {
        let (name, version) =
            needed.split_once(' ').map_or((needed, None), |(name, version)| (name, Some(version)));
        let is_it = |package: &&toml::Value| {
            text(package, "name") == name && version.is_none_or(|version| text(package, "version") == version)
        };
        packages.iter().find(is_it).unwrap_or_else(|| panic!("no {needed}"))
    };
    let tables =
        [&manifest["dependencies"], &manifest["target"]["cfg(target_os = \"linux\")"]["dependencies"]];
    let mut ways: Vec<String> =
        tables.iter().flat_map(|table| table.as_table().expect("a table").keys().cloned()).collect();
    let mut built = std::collections::BTreeSet::new();
    while let Some(needed) = ways.pop() {
        let package = find(&needed);
        if built.insert(format!("{} {}", text(package, "name"), text(package, "version"))) {
            let needs = package.get("dependencies").and_then(toml::Value::as_array).into_iter().flatten();
            ways.extend(needs.map(|needed| needed.as_str().expect("a name").to_owned()));
        }
    }
    let notice = rodset(&["manual", "--licences"]).stdout;
    let listed: std::collections::BTreeSet<String> = notice
        .lines()
        .filter(|line| {
            line.split_once(' ').is_some_and(|(_, rest)| {
                rest.starts_with(|c: char| c.is_ascii_digit()) && !rest.contains(' ')
            })
        })
        .map(str::to_owned)
        .collect();
    assert_eq!(listed, built, "python3 tests/refresh-licences.py");
    assert!(built.len() > 100, "{}", built.len());
}

#[test]
fn the_readme_shows_true_output() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let count = is_true("README.md", root) + is_true("examples/measuring.md", root);
    assert!(count >= 7, "the README has lost its examples");
}

/// The guide is one story: each command finds what those before it wrote. Its pictures are what they drew.
#[test]
fn the_guide_is_true_from_the_first_line_to_the_last() {
    let folder = workplace();
    let count = is_true("examples/README.md", folder.path());
    assert!(count >= 20, "the guide has lost its commands");
    for picture in ["curves.svg", "links.svg", "blade.svg", "strut.svg", "integral.svg"] {
        let shown =
            std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/pictures").join(picture));
        let drawn = std::fs::read(folder.path().join(picture)).expect("the guide draws it");
        assert!(shown.expect("the picture") == drawn, "{picture}: python3 tests/refresh-documents.py");
    }
}

/// Every command has its place in the guide, but for those that set the program itself up.
#[test]
fn the_guide_knows_every_command() {
    let text = sessions("examples/README.md")
        .into_iter()
        .map(|session| session.command)
        .collect::<Vec<_>>()
        .join("\n");
    for command in commands() {
        let sets_up = ["schema", "shell", "manual"].contains(&command.as_str());
        assert!(sets_up || text.contains(&format!("rodset {command} ")), "{command}");
    }
}

#[test]
fn ci_runs_the_test_command_of_the_readme() {
    let read = |file: &str| {
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file)).expect("a file")
    };
    let (readme, ci) = (read("README.md"), read(".ci/run"));
    let command =
        readme.lines().find(|line| line.starts_with("cargo test")).expect("a test command in the README");
    assert_eq!(ci.trim_end().lines().last(), Some(command));
}

/// Every file that a document links to is there.
#[test]
fn links_lead_somewhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for document in [
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "examples/README.md",
        "examples/measuring.md",
        "tests/README.md",
        "benches/README.md",
        "data/README.md",
        "tests/reference/README.md",
        "tests/independent/README.md",
    ] {
        let text = std::fs::read_to_string(root.join(document)).expect("a document");
        for target in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            if target.contains("://") || target.starts_with('#') {
                continue;
            }
            let path = root.join(document).with_file_name(target);
            assert!(path.exists(), "{document} links to {target}");
        }
    }
}

/// Every shipped profile is sound and says that it is invented.
#[test]
fn the_examples_are_sound_and_marked_as_invented() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).expect("the examples") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        count += 1;
        let text = std::fs::read_to_string(&path).expect("an example");
        assert!(text.lines().next().is_some_and(|line| line.contains("invented")), "{}", path.display());
        let run = rodset(&["check", path.to_str().expect("a plain path")]);
        assert_eq!((run.status, run.stderr.as_str()), (0, ""), "{}", path.display());
    }
    assert!(count >= 2);
}

/// Every shipped record goes with the example of its name, reads without a word, and says that it is invented.
#[test]
fn the_records_are_sound_and_marked_as_invented() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut count = 0;
    for entry in std::fs::read_dir(examples.join("records")).expect("the records") {
        let path = entry.expect("an entry").path();
        count += 1;
        let text = std::fs::read_to_string(&path).expect("a record");
        assert!(text.lines().next().is_some_and(|line| line.contains("invented")), "{}", path.display());
        // A record is named after its profile, with what it is of behind it.
        let name = path.file_stem().and_then(|stem| stem.to_str()).expect("a plain name");
        let profile = ["tansy-wharf", "sedge-mill"].into_iter().find(|profile| name.starts_with(profile));
        let profile = examples.join(format!("{}.toml", profile.expect("a record of an example")));
        let paths = [&profile, &path].map(|path| path.to_str().expect("a plain path"));
        let run = rodset(&["readings", paths[0], paths[1]]);
        assert_eq!((run.status, run.stderr.as_str()), (0, ""), "{}", path.display());
    }
    assert!(count >= 2);
}

/// Every shipped survey says that it is invented and gives a sound profile.
#[test]
fn the_surveys_are_sound_and_marked_as_invented() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/surveys");
    for entry in std::fs::read_dir(folder).expect("the surveys") {
        let path = entry.expect("an entry").path();
        let text = std::fs::read_to_string(&path).expect("a survey");
        assert!(text.lines().next().is_some_and(|line| line.contains("invented")), "{}", path.display());
        let profile = std::env::temp_dir().join(format!("rodset-{}-surveyed.toml", std::process::id()));
        let output = profile.to_str().expect("a plain path");
        let run = rodset(&["survey", path.to_str().expect("a plain path"), "--write", output]);
        assert_eq!((run.status, run.stderr.as_str()), (0, ""), "{}", path.display());
        let check = rodset(&["check", output]);
        std::fs::remove_file(&profile).expect("it was written");
        assert_eq!((check.status, check.stderr.as_str()), (0, ""), "{}", path.display());
    }
}
