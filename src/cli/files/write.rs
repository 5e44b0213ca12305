//! The one place that writes: a regular file whole or not at all, into its own place, and only over what was read of it.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, ErrorKind, Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use tempfile::NamedTempFile;

use super::identity::Identity;
use super::read::{shown, touch};
use super::signals::Waiting;
use crate::cli::failure::Failure;

/// What this run has written so far, by name.
static WRITTEN: Mutex<Vec<String>> = Mutex::new(Vec::new());

/// What a run that ends here has written.
fn fate() -> String {
    let written = WRITTEN.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    match &written[..] {
        [] => "nothing was written".to_owned(),
        [one] => format!("this was not written, but before it {one} was"),
        [first, .., last] => {
            format!(
                "this was not written, but before it {} files were, from {first} to {last}",
                written.len()
            )
        }
    }
}

/// Why something could not be written, and what was.
pub(super) fn unwritten(path: &Path, what: &dyn std::fmt::Display) -> Failure {
    Failure::unsound(format!("{}: {what}; {}", shown(path), fate()))
}

/// The same of what the system says.
fn refused(path: &Path) -> impl Fn(io::Error) -> Failure {
    move |error| match error.kind() {
        ErrorKind::NotFound => unwritten(path, &"the folder does not exist"),
        ErrorKind::AlreadyExists => Failure::unsound(format!(
            "{} exists already and is left as it is; choose another name",
            shown(path)
        )),
        _ => unwritten(path, &error),
    }
}

fn done(path: &Path) {
    touch(Identity::at(path));
    WRITTEN.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push(shown(path));
}

/// Prints to standard output; a reader that stops listening is no error.
pub(in crate::cli) fn print(output: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(output.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::unsound(format!("standard output: {error}; {}", fate())))
        }
        _ => Ok(()),
    }
}

/// Writes a file where none is, and never takes the place of another.
pub(in crate::cli) fn create(path: &Path, text: &str) -> Result<(), Failure> {
    let write = || {
        if path.symlink_metadata().is_ok() {
            return Err(ErrorKind::AlreadyExists.into());
        }
        let _waiting = Waiting::begin();
        let file = beside(path, text)?;
        file.as_file().sync_all()?;
        file.persist_noclobber(path)?;
        Ok(())
    };
    write().map_err(refused(path))?;
    done(path);
    Ok(())
}

/// Writes into what is no regular file: a device, a pipe.
pub(super) fn through(path: &Path, text: &str) -> Result<(), Failure> {
    let mut file = OpenOptions::new().write(true).open(path).map_err(|error| unwritten(path, &error))?;
    match file.write_all(text.as_bytes()).and_then(|()| file.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(unwritten(path, &error)),
        _ => Ok(()),
    }
}

/// Puts a text in the place of what a regular file holds; `before` is what was read of it, and no other text is written over.
///
/// The file keeps its owner, its mode and its other names.
pub(super) fn over(path: &Path, before: Option<&str>, text: &str) -> Result<(), Failure> {
    let fail = |what: &dyn std::fmt::Display| unwritten(path, what);
    let failed = |error: io::Error| fail(&error);
    let place = path.canonicalize().map_err(failed)?;
    let metadata = fs::metadata(&place).map_err(failed)?;
    if metadata.permissions().readonly() {
        return Err(fail(&"this file is write-protected"));
    }
    let _waiting = Waiting::begin();
    let new = beside(&place, text).map_err(refused(path))?;
    let holds = if is_alone(&metadata) && takes_after(new.as_file(), &metadata).is_ok() {
        new.as_file().sync_all().map_err(failed)?;
        swap(new, &place, before)
    } else {
        rewrite(&place, before, text)
    };
    if !holds.map_err(failed)? {
        return Err(fail(&"somebody else has changed this file just now; try again"));
    }
    done(path);
    Ok(())
}

/// Whether a file has no other name.
#[cfg(unix)]
fn is_alone(metadata: &Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(metadata) == 1
}

#[cfg(not(unix))]
fn is_alone(_: &Metadata) -> bool {
    true
}

/// Gives a new file the owner and the mode of the one whose place it takes.
fn takes_after(new: &File, metadata: &Metadata) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt, fchown};
        let own = new.metadata()?;
        if (own.uid(), own.gid()) != (metadata.uid(), metadata.gid()) {
            fchown(new, Some(metadata.uid()), Some(metadata.gid()))?;
        }
    }
    new.set_permissions(metadata.permissions())
}

/// Puts a new file in the place of another, if that holds what was read of it; says whether it did.
///
/// The two change places, and only then is it looked what the old one held: whoever writes without asking for a lock cannot get in
/// between. Where the system cannot do that, it is looked before.
fn swap(new: NamedTempFile, place: &Path, before: Option<&str>) -> io::Result<bool> {
    let Some(before) = before else {
        new.persist(place)?;
        return Ok(true);
    };
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        let exchange = || renameat_with(CWD, new.path(), CWD, place, RenameFlags::EXCHANGE);
        if exchange().is_ok() {
            if holds(&mut File::open(new.path())?, before)? {
                return Ok(true);
            }
            if let Err(error) = exchange() {
                let (_, kept) = new.keep()?;
                let told = format!("{error}; what it held a moment ago is now in {}", shown(&kept));
                return Err(io::Error::other(told));
            }
            return Ok(false);
        }
    }
    if !holds(&mut File::open(place)?, before)? {
        return Ok(false);
    }
    new.persist(place)?;
    Ok(true)
}

/// Writes into a file that has other names, or another owner who must keep it. Its old text is put back where the new one does not fit.
fn rewrite(place: &Path, before: Option<&str>, text: &str) -> io::Result<bool> {
    let mut file = OpenOptions::new().read(true).write(true).open(place)?;
    if let Some(before) = before
        && !holds(&mut file, before)?
    {
        return Ok(false);
    }
    let put = |mut file: &File, text: &str| {
        file.rewind()?;
        file.write_all(text.as_bytes())?;
        file.set_len(text.len() as u64)?;
        file.sync_all()
    };
    let put_back = |error| before.map_or(Ok(()), |before| put(&file, before)).and(Err(error));
    put(&file, text).or_else(put_back).map(|()| true)
}

/// Whether a file holds a text, and nothing else.
fn holds(file: &mut File, text: &str) -> io::Result<bool> {
    let mut now = Vec::new();
    file.take(text.len() as u64 + 1).read_to_end(&mut now)?;
    Ok(now == text.as_bytes())
}

/// A file of no lasting name in the folder of another, with a text in it.
fn beside(path: &Path, text: &str) -> io::Result<NamedTempFile> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    // An ordinary file, not one that only its owner may read; the umask still has its say.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    Ok(file)
}

/// Where a path leads at last, also where nothing is there yet.
pub(super) fn end_of_links(path: &Path) -> PathBuf {
    /// As many as systems follow.
    const MOST_LINKS: usize = 40;
    let mut end = path.to_owned();
    for _ in 0..MOST_LINKS {
        let Ok(target) = fs::read_link(&end) else { break };
        end = end.parent().map_or(target.clone(), |folder| folder.join(&target));
    }
    end
}
