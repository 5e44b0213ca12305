//! What the documents show is what the program does.

use std::path::Path;

use crate::command::rodset;

/// A `console` block: a command line and the output under it.
struct Session {
    command: String,
    output: Vec<String>,
}

fn sessions(document: &str) -> Vec<Session> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(document);
    let text = std::fs::read_to_string(path).expect("a document");
    let blocks = text.split("```console\n").skip(1).map(|rest| rest.split("```").next().unwrap_or(""));
    blocks
        .map(|block| {
            let mut lines = block.lines();
            let command =
                lines.next().and_then(|line| line.strip_prefix("$ rodset ")).expect("a rodset command");
            Session { command: command.to_owned(), output: lines.map(str::to_owned).collect() }
        })
        .collect()
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

#[test]
fn the_readme_shows_true_output() {
    let sessions = sessions("README.md");
    assert!(sessions.len() >= 4, "the README has lost its examples");
    for Session { command, output } in sessions {
        let run = rodset(&command.split_whitespace().collect::<Vec<_>>());
        let printed = format!("{}{}", run.stdout, run.stderr);
        let printed: Vec<&str> = printed.lines().collect();
        assert!(shows(&output, &printed), "`rodset {command}` now prints:\n{}", printed.join("\n"));
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
