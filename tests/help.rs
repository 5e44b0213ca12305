//! The program in a shell: help, examples, colour, narrow terminals, standard input, files.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::command::{commands, rodset, shell, workplace};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const PROFILE: &str = "examples/tansy-wharf.toml";

/// Every command shows examples, and every example runs as it stands.
#[test]
fn the_examples_of_every_help_run() {
    for command in commands() {
        let folder = workplace();
        let help = rodset(&[&command, "--help"]).stdout;
        let examples =
            help.split("Examples:\n").nth(1).unwrap_or_else(|| panic!("{command} has no examples"));
        let lines: Vec<&str> = examples
            .lines()
            .filter_map(|line| line.strip_prefix("  "))
            .filter(|line| line.starts_with("rodset "))
            .collect();
        assert!(!lines.is_empty(), "{command}");
        for line in lines {
            let output = shell(folder.path(), line, &[]);
            let told = String::from_utf8_lossy(&output.stderr);
            assert!(matches!(output.status.code(), Some(0 | 3)), "{line}: {told}");
            assert!(!told.contains("error"), "{line}: {told}");
            assert!(line.contains("--output") != output.stdout.len().gt(&0), "{line}");
        }
    }
}

/// What one command calls something, all do: the same option, the same meaning.
#[test]
fn options_are_the_same_everywhere() {
    let mut seen = std::collections::BTreeMap::<String, (String, String)>::new();
    for command in commands() {
        let help = rodset(&[&command, "-h"]).stdout;
        for (option, words) in [
            ("--format", "For people (text)"),
            ("--output", "Write to this file instead of the screen"),
            ("--toe-unit", "Unit for toe"),
            ("--length-unit", "Unit for lengths"),
            ("--drop ", "How far both rear sides come down"),
        ] {
            let Some(at) = help.find(&format!("{option}{}", if option.ends_with(' ') { "<" } else { " <" }))
            else {
                continue;
            };
            let text = help[at..].split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(text.split(" --").next().unwrap_or("").contains(words), "{command}: {text}");
            seen.insert(format!("{command} {option}"), (command.clone(), option.to_owned()));
        }
        assert!(help.contains("--output <FILE>"), "{command}");
        // Whoever shows toe has a unit for it, and then one for lengths too.
        let without = [
            "starter",
            "interview",
            "set",
            "draw",
            "survey",
            "spec",
            "glossary",
            "keys",
            "schema",
            "shell",
            "manual",
        ];
        assert_eq!(help.contains("--toe-unit <"), !without.contains(&command.as_str()), "{command}");
        let without = ["starter", "interview", "set", "glossary", "keys", "schema", "shell", "manual"];
        assert_eq!(help.contains("--length-unit <"), !without.contains(&command.as_str()), "{command}");
    }
    assert!(seen.len() > 60, "{}", seen.len());
}

/// On a narrow terminal no line of any page is longer than it, and no word of the wide page is lost.
#[test]
fn pages_fit_narrow_terminals() {
    for line in [
        "check examples/tansy-wharf.toml",
        "lower examples/tansy-wharf.toml --drop 40 --samples 100",
        "cams examples/tansy-wharf.toml --drop 40",
        "arms examples/tansy-wharf.toml --drop 40",
        "plan examples/tansy-wharf.toml --drop 40",
        "sheet examples/tansy-wharf.toml --drop 40",
        "correct examples/tansy-wharf.toml --drop 40 --left=-1.25,0.20 --right=-0.80,0.02",
        "readings examples/tansy-wharf.toml examples/records/tansy-wharf.toml",
        "fit examples/tansy-wharf.toml examples/records/tansy-wharf-heights.toml --drop 40",
        "survey examples/surveys/tansy-wharf.toml",
        "survey examples/surveys/tansy-wharf.toml --sheet",
        "clearance examples/tansy-wharf.toml --drop 40",
        "joints examples/tansy-wharf.toml --drop 40",
        "springs examples/tansy-wharf.toml --drop 40",
        "loads examples/tansy-wharf.toml --drop 40",
        "bolts examples/tansy-wharf.toml --drop 40",
        "lockout examples/tansy-wharf.toml --cam upper=30",
        "shop examples/tansy-wharf.toml --drop 40",
        "spec toe 0°05'..0°15' --each",
        "travel examples/tansy-wharf.toml --drop 40 --detail",
        "tune examples/tansy-wharf.toml --drop 40",
    ] {
        let page = |columns: &str| {
            let output = shell(Path::new(ROOT), &format!("rodset {line} --full"), &[("COLUMNS", columns)]);
            String::from_utf8(output.stdout).expect("text")
        };
        let wide = page("80");
        for columns in [40, 52, 66, 100, 120, 200] {
            let narrow = page(&columns.to_string());
            for text in narrow.lines() {
                assert!(text.chars().count() <= columns.min(120), "{line} at {columns}: {text}");
            }
            let mut words: Vec<&str> = narrow.split_whitespace().collect();
            words.sort_unstable();
            // What is longer than a line may be broken, so only words that fit are looked for.
            for word in wide.split_whitespace().filter(|word| word.len() < 16 && !word.contains('-')) {
                assert!(words.binary_search(&word).is_ok(), "{line} at {columns}: lost {word}");
            }
        }
    }
}

/// Colour only on a terminal or where it is forced, never with `NO_COLOR`, and it says nothing that words do not.
#[test]
fn colour_is_never_needed() {
    let line = "rodset check tests/findings/slip.toml";
    let told = |variables: &[(&str, &str)]| {
        String::from_utf8(shell(Path::new(ROOT), line, variables).stderr).expect("text")
    };
    let plain = told(&[]);
    assert!(!plain.contains('\u{1b}') && plain.contains("^^^"), "{plain}");
    let coloured = told(&[("CLICOLOR_FORCE", "1")]);
    assert!(coloured.contains('\u{1b}'), "{coloured}");
    assert_eq!(anstream::adapter::strip_str(&coloured).to_string(), plain);
    assert_eq!(told(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]), plain);
}

/// `-` is standard input for every file that is read, and stands for one of them only.
#[test]
fn a_dash_is_standard_input() {
    let root = Path::new(ROOT);
    for (by_name, by_dash) in [
        ("rodset check examples/tansy-wharf.toml", "rodset check - < examples/tansy-wharf.toml"),
        (
            "rodset readings examples/tansy-wharf.toml examples/records/tansy-wharf.toml",
            "rodset readings examples/tansy-wharf.toml - < examples/records/tansy-wharf.toml",
        ),
        (
            "rodset correct examples/tansy-wharf.toml --record tests/records/wrong-way.toml",
            "rodset correct examples/tansy-wharf.toml --record - < tests/records/wrong-way.toml",
        ),
        (
            "rodset survey examples/surveys/tansy-wharf.toml --format json",
            "rodset survey - --format json < examples/surveys/tansy-wharf.toml",
        ),
    ] {
        let (named, dashed) = (shell(root, by_name, &[]), shell(root, by_dash, &[]));
        assert!(!named.stdout.is_empty());
        assert_eq!((named.stdout, named.status.code()), (dashed.stdout, dashed.status.code()), "{by_dash}");
    }
    let twice = shell(root, "rodset readings - - < examples/tansy-wharf.toml", &[]);
    assert_eq!(twice.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&twice.stderr).contains("one file only"));
    let added = shell(
        root,
        "rodset correct examples/tansy-wharf.toml --drop 40 --left=-1,0.1 --record - < /dev/null",
        &[],
    );
    assert_eq!((added.status.code(), added.stdout.len()), (Some(1), 0));
    let broken = shell(root, "echo 'format = 2' | rodset check -", &[]);
    assert!(String::from_utf8_lossy(&broken.stderr).contains("standard input:1"), "{broken:?}");
}

/// A page goes into a file whole, or the file stays as it was.
#[test]
fn output_is_written_whole_or_not_at_all() {
    let folder = workplace();
    let page = folder.path().join("plan.txt");
    let line = format!("rodset plan {PROFILE} --drop 40");
    let printed = shell(folder.path(), &format!("{line} --full"), &[]).stdout;
    // Not as narrow as the terminal: the file is for any.
    let run = shell(folder.path(), &format!("{line} --output plan.txt"), &[("COLUMNS", "40")]);
    assert_eq!((run.status.code(), run.stdout.len()), (Some(0), 0));
    let lines = |text: &[u8]| {
        let mut lines: Vec<String> = String::from_utf8_lossy(text).lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    // A file has the title first, as paper does.
    assert_eq!(lines(&fs::read(&page).expect("the page")), lines(&printed));
    // An answer that does not meet the spec is written too; what is no answer leaves the file alone.
    let run = shell(folder.path(), &format!("{line} --camber 4 --output plan.txt"), &[]);
    assert_eq!(run.status.code(), Some(3));
    let before = fs::read(&page).expect("the page");
    assert_ne!(before, printed);
    let run = shell(folder.path(), "rodset plan examples/tansy-wharf.toml --drop 300 --output plan.txt", &[]);
    assert_eq!(run.status.code(), Some(1));
    assert_eq!(fs::read(&page).expect("the page"), before);
    // Never over one of rodset's own files.
    let profile = fs::read(folder.path().join(PROFILE)).expect("the profile");
    let run = shell(folder.path(), &format!("{line} --output {PROFILE}"), &[]);
    assert_eq!(run.status.code(), Some(2));
    assert_eq!(fs::read(folder.path().join(PROFILE)).expect("the profile"), profile);
    let run = shell(folder.path(), &format!("{line} --output nowhere/plan.txt"), &[]);
    assert!(String::from_utf8_lossy(&run.stderr).contains("nothing was written"));
    let left: Vec<_> = fs::read_dir(folder.path()).expect("a folder").collect();
    assert_eq!(left.len(), 2, "nothing half-written lies about");
}

/// Completions and manual pages know every command and its options.
#[test]
fn completions_and_manual_pages_know_every_command() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = shell(folder.path(), "rodset manual .", &[]);
    assert_eq!(run.status.code(), Some(0));
    let bash = rodset(&["shell", "bash"]).stdout;
    for command in commands() {
        let page = fs::read_to_string(folder.path().join(format!("rodset-{command}.1"))).expect("a page");
        assert!(
            page.contains(".SH EXAMPLES\n.nf\nrodset")
                && page.contains(".SH EXIT STATUS")
                && page.contains("\\-\\-output"),
            "{command}"
        );
        assert!(bash.contains(&format!("rodset,{command})")), "{command}");
    }
    fs::write(folder.path().join("c.bash"), &bash).expect("written");
    assert!(shell(folder.path(), "bash -n c.bash", &[]).status.success());
    for shell in ["zsh", "fish", "elvish", "powershell"] {
        assert!(rodset(&["shell", shell]).stdout.contains("clearance"), "{shell}");
    }
}

/// Every command line that a text of the program or of its documents spells, each once.
fn spelled() -> BTreeSet<String> {
    let root = Path::new(ROOT);
    let documents = ["README.md", "DEVELOPERS.md", "examples/README.md", "examples/measuring.md"];
    let mut texts = documents.map(|name| root.join(name)).to_vec();
    let mut folders = vec![root.join("src"), root.join("data")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() { folders.push(path) } else { texts.push(path) }
        }
    }
    let commands = commands();
    let mut spelled = BTreeSet::new();
    for path in texts {
        let text = fs::read_to_string(&path).expect("a text");
        // A line that goes on behind a backslash is one line.
        let mut text = text.split("\\\n").map(str::trim_start).collect::<Vec<_>>().join("");
        for (written, meant) in [("\\n", "\n"), ("\\\"", "\u{1}"), ("examples/", "absent/"), ("...", "")] {
            text = text.replace(written, meant);
        }
        for line in text.lines() {
            let whole = line.trim_start().trim_start_matches(['$', '/', ' ']).starts_with("rodset ");
            for (at, _) in line.match_indices("rodset ") {
                let quoted = line[..at].ends_with('`');
                let end = |c: char| if quoted { c == '`' } else { c == '`' || (c == '"' && !whole) };
                let command = line[at..].split(end).next().unwrap_or_default();
                let command = ["  ", " < ", " | ", " # ", ": "]
                    .iter()
                    .fold(command, |command, end| command.split(end).next().unwrap_or_default());
                let is_quoted = command.contains(['"', '\'', '\u{1}']);
                let command =
                    if is_quoted { command } else { command.split(", ").next().unwrap_or_default() };
                let word = command.split_whitespace().nth(1).unwrap_or_default();
                // Behind a backtick stands a command line; elsewhere it may be the program that is talked of.
                if quoted || commands.iter().any(|command| command == word) {
                    let command = command.trim_end_matches([',', ';', ')', ' ']);
                    let mut command = command.replace('\u{1}', "\"");
                    while let (Some(from), Some(to)) = (command.find('{'), command.find('}')) {
                        command.replace_range(from..=to, "absent.toml");
                    }
                    // The end of the text in which it stands.
                    let is_open = command.matches('"').count() % 2 == 1;
                    spelled.insert(command.trim_end_matches(|c| is_open && c == '"').to_owned());
                }
            }
        }
    }
    spelled
}

/// What a text tells somebody to type is understood: no option, command or name in it is refused.
#[test]
fn every_command_line_that_a_text_spells_is_understood() {
    let folder = tempfile::tempdir().expect("a folder");
    let lines: Vec<String> = spelled().into_iter().filter(|line| !line.contains("COMMAND")).collect();
    assert!(lines.len() > 120, "{}: {lines:#?}", lines.len());
    let mut script = String::new();
    for line in &lines {
        // Pages of the manual would all be written.
        let line = if line.ends_with(" .") { line.replace(" .", " absent") } else { line.clone() };
        let line = line.replace('\'', "'\\''");
        script += &format!("echo '@' >&2\nsh -c '{line} </dev/null >/dev/null'\n");
    }
    let told = shell(folder.path(), &script, &[]).stderr;
    let told = String::from_utf8(told).expect("text");
    let answers: Vec<&str> = told.split("@\n").skip(1).collect();
    assert_eq!(answers.len(), lines.len());
    for (line, answer) in lines.iter().zip(answers) {
        for refusal in
            ["unexpected", "unrecognized", "invalid value", "cannot be used", "syntax", "Syntax", "not found"]
        {
            assert!(!answer.contains(refusal), "{line}: {answer}");
        }
    }
}

/// Every option that a text names is one of some command.
#[test]
fn every_option_that_a_text_names_is_there() {
    let mut known: BTreeSet<String> =
        ["--release", "--path", "--locked", "--target"].map(str::to_owned).into();
    let options = |text: &str| -> Vec<String> {
        let of_option = |c: char| c.is_ascii_lowercase() || c == '-';
        let named = text.match_indices("--").map(|(at, _)| &text[at..]);
        let named = named.map(|text| &text[..text.find(|c| !of_option(c)).unwrap_or(text.len())]);
        named
            .filter(|option| option.len() > 3 && !option.starts_with("---") && !option.ends_with('-'))
            .map(str::to_owned)
            .collect()
    };
    for command in commands() {
        known.extend(options(&rodset(&[&command, "--help"]).stdout));
    }
    let mut folders = vec![Path::new(ROOT).join("src"), Path::new(ROOT).join("data")];
    let mut looked = 0;
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = fs::read_to_string(&path).expect("a text");
            for option in options(text.split("#[cfg(test)]").next().unwrap_or_default()) {
                assert!(known.contains(&option), "{}: {option}", path.display());
                looked += 1;
            }
        }
    }
    assert!(looked > 150, "{looked}");
}
