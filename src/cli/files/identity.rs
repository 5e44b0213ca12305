//! Which file it is, whatever it is called.

use std::fs::{self, File, Metadata};
use std::io;
use std::path::Path;

/// A file, whatever names and links lead to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Identity(Inner);

#[cfg(unix)]
type Inner = [u64; 2];
#[cfg(not(unix))]
type Inner = Option<std::path::PathBuf>;

impl Identity {
    /// Of what a path leads to.
    pub(super) fn at(path: &Path) -> io::Result<Self> {
        Ok(Self::of(&fs::metadata(path)?, path))
    }

    /// Of an open file that was found at a path.
    pub(super) fn open(file: &File, path: &Path) -> io::Result<Self> {
        Ok(Self::of(&file.metadata()?, path))
    }

    #[cfg(unix)]
    fn of(metadata: &Metadata, _: &Path) -> Self {
        use std::os::unix::fs::MetadataExt;
        Self([metadata.dev(), metadata.ino()])
    }

    #[cfg(not(unix))]
    fn of(_: &Metadata, path: &Path) -> Self {
        Self(path.canonicalize().ok())
    }
}
