//! The answer first: what a terminal of 80 columns and 24 rows shows of a page without being asked for all of it.

use crate::command::{as_typed, rodset};

const TANSY: &str = "examples/tansy-wharf.toml";
const SEDGE: &str = "examples/sedge-mill.toml";

/// Rows of a terminal, less the one on which the next command is typed.
const ROWS: usize = 23;

fn shown(args: &[&str]) -> String {
    as_typed(args).stdout
}

#[test]
fn what_is_to_be_done_fits_a_terminal() {
    let correct = ["correct", TANSY, "--record", "examples/records/tansy-wharf.toml"];
    let drop = ["--drop", "40"];
    let mut pages: Vec<Vec<&str>> = vec![correct.to_vec(), vec!["lockout", TANSY], vec!["check", TANSY]];
    for car in [TANSY, SEDGE] {
        for command in ["plan", "cams", "arms", "lower", "next", "springs", "loads", "bolts"] {
            pages.push([[command, car].as_slice(), &drop].concat());
        }
    }
    for page in pages {
        let text = shown(&page);
        let what = page.join(" ");
        // The narrowest page that is not folded.
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{what}:\n{text}");
        let is_long =
            what.starts_with("loads") || what.starts_with("bolts") || what.starts_with("springs sedge");
        assert!(is_long || text.lines().count() <= ROWS, "{what}: {} rows\n{text}", text.lines().count());
        assert!(text.ends_with("--full\n"), "{what}:\n{text}");
        let all = rodset(&page).stdout;
        assert!(all.lines().count() > text.lines().count(), "{what}");
        assert!(all.starts_with(text.lines().next().expect("a verdict")), "{what}: the verdict stands first");
        // What is shown is shown in all of it too, in the same order.
        let mut rest = all.lines();
        let closing = text.lines().last();
        for line in text.lines().filter(|line| !line.is_empty() && Some(*line) != closing) {
            assert!(rest.any(|other| other == line), "{what}: {line}");
        }
    }
}

#[test]
fn a_verdict_sounds_no_better_than_its_odds() {
    let plan = shown(&["plan", TANSY, "--drop", "40"]);
    let verdict: String = plan.lines().take(2).collect::<Vec<_>>().join(" ");
    assert!(verdict.contains("within spec, but at once in ONLY 15 to 16 OF 100"), "{verdict}");
    let missed = shown(&["plan", TANSY, "--drop", "40", "--fit", "none"]);
    assert!(missed.starts_with("NO. "), "{missed}");
    for (page, begins) in [
        (vec!["cams", TANSY, "--drop", "40"], "NO. The stock cams alone do not reach"),
        (vec!["cams", TANSY, "--drop", "10"], "YES. The stock cams alone can bring both"),
        (vec!["clearance", TANSY, "--drop", "40"], "Nothing touches on paper"),
    ] {
        let text = shown(&page);
        assert!(text.starts_with(begins), "{text}");
    }
}

/// A warning that an answer rests on stands under its verdict, and is not left out.
#[test]
fn a_warning_stands_under_the_verdict() {
    let text = shown(&["plan", TANSY, "--drop", "4"]);
    let [verdict, warning, arms] = ["within spec", "FIRST OF ALL: this looks like a mistake", "SET THE ARMS"]
        .map(|words| text.find(words).unwrap_or(usize::MAX));
    assert!(verdict < warning && warning < arms && arms < usize::MAX, "{text}");
}

/// A file has all of a page; nothing that is written into one or through a pipe has the marks of a terminal.
#[test]
fn files_have_all_and_pipes_are_plain() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("plan.txt");
    let path = file.to_str().expect("a plain path");
    let run = as_typed(&["plan", TANSY, "--drop", "40", "--output", path]);
    assert_eq!(run.status, 0, "{}", run.stderr);
    let kept = std::fs::read_to_string(&file).expect("the page");
    assert!(kept.contains("BEFORE YOU RELY ON IT"), "{kept}");
    assert!(!kept.contains('\x1b') && !shown(&["plan", TANSY, "--drop", "40"]).contains('\x1b'));
}
