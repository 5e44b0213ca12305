//! Adding to a record: what is there stays, and nothing is ever half-written.

use std::fs;
use std::path::{Path, PathBuf};

use crate::command::{Run, rodset};

const CAR: &str = "examples/tansy-wharf.toml";

/// A folder of its own that goes away with it.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("rodset-{}-{name}", std::process::id()));
        fs::create_dir_all(&path).expect("the temporary folder can be written");
        Self(path)
    }

    fn file(&self, text: &str) -> PathBuf {
        let path = self.0.join("record.toml");
        fs::write(&path, text).expect("the folder can be written");
        path
    }

    fn entries(&self) -> usize {
        fs::read_dir(&self.0).expect("the folder").count()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn read(record: &Path, args: &[&str]) -> Run {
    let record = record.to_str().expect("a plain path");
    rodset(&[&["correct", CAR, "--record", record, "--left=-1.2,0.15", "--right=-1.1,0.05"], args].concat())
}

fn sound() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records/wrong-way.toml");
    fs::read_to_string(path).expect("the record")
}

#[test]
fn a_record_is_begun_and_added_to_and_what_was_there_stays() {
    let folder = Folder::new("begun");
    let path = folder.0.join("record.toml");
    let first = read(&path, &["--drop", "40", "--title", "one \"quoted\""]);
    assert_eq!(first.status, 0, "{}", first.all());
    let one = fs::read_to_string(&path).expect("the record");
    let second = read(&path, &["--again"]);
    assert_eq!(second.status, 0, "{}", second.all());
    let two = fs::read_to_string(&path).expect("the record");
    assert!(two.len() > one.len() && two.starts_with(&one), "{two}");
    let json =
        rodset(&["correct", CAR, "--record", path.to_str().expect("a plain path"), "--format", "json"]);
    let rounds = json.json()["rounds"].as_array().expect("a list").clone();
    assert_eq!(rounds.len(), 2);
    assert_eq!(rounds[0]["title"], "one \"quoted\"");
    assert_eq!(folder.entries(), 1, "nothing else is left behind");
}

/// The new reading is of the arms as the last correction told them to be set, or as they were, where nothing was turned.
#[test]
fn the_arms_stand_as_told_or_as_they_did() {
    let folder = Folder::new("told");
    let path = folder.file(&sound());
    let record = path.to_str().expect("a plain path");
    let told = rodset(&["correct", CAR, "--record", record, "--format", "json"]).json();
    let lengths = |json: &serde_json::Value, key: &str| -> Vec<f64> {
        let sides = json["sides"].as_array().expect("two sides").iter();
        let arms = sides.flat_map(|side| side["arms"].as_array().expect("arms").clone());
        arms.map(|arm| arm[key].as_f64().expect("a length")).collect()
    };
    let now = read(&path, &["--format", "json"]).json();
    for (told, now) in lengths(&told, "set_mm").iter().zip(lengths(&now, "now_mm")) {
        assert!((told - now).abs() < 1e-9, "{told} {now}");
    }
    let path = folder.file(&sound());
    let now = read(&path, &["--unturned", "--format", "json"]).json();
    assert_eq!(lengths(&told, "now_mm"), lengths(&now, "now_mm"));
    let path = folder.file(&sound());
    let now = read(&path, &["--arm", "upper left=1 longer", "--format", "json"]).json();
    let from_stock = lengths(&now, "now_mm")[0] - 241.5;
    assert!((from_stock - 3.0).abs() < 0.05, "{from_stock}");
}

#[test]
fn no_byte_of_a_record_is_changed() {
    let folder = Folder::new("bytes");
    // No newline at the end, odd spaces, comments, other line ends.
    for text in
        [sound().trim_end().to_owned() + "   # the end", sound().replace('\n', "\r\n"), sound() + "\n\n#\n"]
    {
        let path = folder.file(&text);
        let run = read(&path, &[]);
        assert_eq!(run.status, 0, "{}", run.all());
        let after = fs::read_to_string(&path).expect("the record");
        assert!(after.starts_with(&text) && after.matches("[[reading]]").count() == 3, "{after}");
    }
}

#[test]
fn a_damaged_record_is_left_untouched() {
    let folder = Folder::new("damaged");
    for (from, to) in [
        ("camber = -1.79", "camber = -179"),
        ("[[reading]]", "[[reading"),
        ("upper =", "uper ="),
        ("format = 1", ""),
    ] {
        let text = sound().replace(from, to);
        assert_ne!(text, sound());
        let path = folder.file(&text);
        let run = read(&path, &[]);
        assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{to:?}: {}", run.all());
        assert!(run.stderr.contains("record.toml"), "{}", run.stderr);
        assert_eq!(fs::read_to_string(&path).expect("the record"), text);
    }
    // Sound, but no place for a wheel.
    let path = folder.file(&sound());
    let run = read(&path, &["--drop", "300"]);
    assert_eq!(run.status, 1, "{}", run.all());
    assert_eq!(fs::read_to_string(&path).expect("the record"), sound());
    assert_eq!(folder.entries(), 1);
}

#[test]
fn a_reading_that_is_not_understood_is_not_kept() {
    let folder = Folder::new("unread");
    let path = folder.file(&sound());
    for args in
        [&["--arm", "uper=1"][..], &["--total-toe", "far"], &["--cam", "upper=400 deg"], &["--date", "a\nb"]]
    {
        let run = read(&path, args);
        assert_eq!((run.status, run.stdout.as_str()), (2, ""), "{args:?}: {}", run.all());
        assert_eq!(fs::read_to_string(&path).expect("the record"), sound());
    }
}

/// A file that may not be written is not replaced by one that may, nor is anything left in a folder that may not.
#[test]
fn what_is_write_protected_stays() {
    let folder = Folder::new("protected");
    let path = folder.file(&sound());
    let protect = |path: &Path, readonly: bool| {
        let mut permissions = fs::metadata(path).expect("it is there").permissions();
        permissions.set_readonly(readonly);
        fs::set_permissions(path, permissions).expect("it is ours");
    };
    protect(&path, true);
    let run = read(&path, &[]);
    protect(&path, false);
    assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{}", run.all());
    assert!(run.stderr.contains("write-protected"), "{}", run.stderr);
    assert_eq!(fs::read_to_string(&path).expect("the record"), sound());

    protect(&folder.0, true);
    // Who may do everything is not stopped by a folder.
    let stopped = fs::write(folder.0.join("probe"), "").is_err();
    let run = read(&path, &[]);
    protect(&folder.0, false);
    let _ = fs::remove_file(folder.0.join("probe"));
    if stopped {
        assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{}", run.all());
        assert_eq!(fs::read_to_string(&path).expect("the record"), sound());
    }
    assert_eq!(folder.entries(), 1);
}

/// A link to a record stays a link, and a record keeps its permissions.
#[cfg(unix)]
#[test]
fn links_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new("links");
    let path = folder.file(&sound());
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("it is ours");
    let link = folder.0.join("link.toml");
    std::os::unix::fs::symlink("record.toml", &link).expect("a link");
    let run = read(&link, &[]);
    assert_eq!(run.status, 0, "{}", run.all());
    assert!(fs::symlink_metadata(&link).expect("the link").is_symlink());
    assert!(fs::read_to_string(&path).expect("the record").len() > sound().len());
    assert_eq!(fs::metadata(&path).expect("the record").permissions().mode() & 0o777, 0o640);
}

/// The same command given again is no new reading: its turns would be doubled and the wheel accused of not having moved.
#[test]
fn the_same_command_again_is_no_new_reading() {
    let folder = Folder::new("again");
    let path = folder.0.join("record.toml");
    let first = read(&path, &["--drop", "40"]);
    assert_eq!(first.status, 0, "{}", first.all());
    let one_line = first.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    let added = format!("Added to {} as reading 1.", path.display());
    assert!(one_line.replace(' ', "").contains(&added.replace(' ', "")), "{}", first.stdout);
    let one = fs::read_to_string(&path).expect("the record");
    let again = read(&path, &["--toe-unit", "mm"]);
    assert_eq!((again.status, again.stdout.as_str()), (2, ""), "{}", again.all());
    assert!(again.stderr.contains("--again"), "{}", again.stderr);
    assert_eq!(fs::read_to_string(&path).expect("the record"), one);
    // The page itself comes without the figures, and is not added.
    let record = path.to_str().expect("a plain path");
    let page = rodset(&["correct", CAR, "--record", record, "--toe-unit", "mm"]);
    assert!(page.status == 0 && !page.stdout.contains("Added to"), "{}", page.all());
    let really = read(&path, &["--again"]);
    assert!(really.status == 0 && really.stdout.contains("reading 2"), "{}", really.all());
}

/// Readings may also stand in a list, behind which no table can follow.
#[test]
fn a_record_that_could_not_be_read_again_is_not_written() {
    let folder = Folder::new("list");
    let text = "format = 1\nreading = [{ title = \"a\", drop = 35, left = { camber = -1.2 } }]\n";
    let path = folder.file(text);
    let record = path.to_str().expect("a plain path");
    assert!(
        rodset(&["correct", CAR, "--record", record]).stdout.contains("Correction"),
        "it can be read as it is"
    );
    let run = read(&path, &[]);
    assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{}", run.all());
    assert!(
        run.stderr.contains("[[reading]]") && run.stderr.contains("nothing was written"),
        "{}",
        run.stderr
    );
    assert_eq!(fs::read_to_string(&path).expect("the record"), text);
}

/// A record may be begun by hand, or by the starter, before anything was read.
#[test]
fn a_record_without_a_reading_is_begun() {
    let folder = Folder::new("starter");
    let starter = folder.0.join("starter.toml");
    assert_eq!(rodset(&["starter", "--record", starter.to_str().expect("a plain path")]).status, 0);
    let unfilled = fs::read_to_string(&starter).expect("the starter");
    fs::remove_file(&starter).expect("it is ours");
    for text in ["format = 1\n", "format = 1\n[sigma]\nruler = 0.4\n", &unfilled] {
        let path = folder.file(text);
        let run = read(&path, &["--drop", "40"]);
        assert_eq!(run.status, 0, "{text}: {}", run.all());
        let record = path.to_str().expect("a plain path");
        let json = rodset(&["correct", CAR, "--record", record, "--format", "json"]).json();
        assert_eq!(json["rounds"].as_array().map(Vec::len), Some(1), "{text}");
        assert_eq!(rodset(&["readings", CAR, record]).status, 0, "{text}");
        // With nothing read at all there is nothing to correct from.
        let path = folder.file(text);
        let run = rodset(&["correct", CAR, "--record", path.to_str().expect("a plain path")]);
        assert!(run.status != 0 && run.stderr.contains("--left"), "{}", run.all());
    }
}

/// What cannot be right is not kept, so that the right figures can be given next.
#[test]
fn an_impossible_reading_is_not_kept() {
    let folder = Folder::new("impossible");
    let path = folder.file(&sound());
    let record = path.to_str().expect("a plain path");
    let run = rodset(&["correct", CAR, "--record", record, "--left=-1.2,15", "--right=-1.1,0.05"]);
    assert!(run.stderr.contains("not added to") && !run.stdout.contains("Added to"), "{}", run.all());
    assert_eq!(fs::read_to_string(&path).expect("the record"), sound());
}
