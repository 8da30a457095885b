//! The disk: waiting until it holds what was written, and what a log needs of the one that it lies on.

use std::fs::File;
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::Path;

use crate::files::disk_errors::is_not_offered;

/// The folder that something stands in.
pub(super) fn around(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Waits until a file is on the disk. File systems that cannot say so keep it in their own time.
pub(super) fn sync(file: &File) -> io::Result<()> {
    match file.sync_all() {
        Err(error) if is_not_offered(&error) => Ok(()),
        other => other,
    }
}

/// A rename is only certain to survive a power cut once the folder itself is on disk. Systems
/// that cannot open or sync a folder as a file do not need this.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    match File::open(folder) {
        Ok(handle) => sync(&handle),
        Err(error) if error.kind() == ErrorKind::PermissionDenied => Ok(()),
        Err(error) => Err(error),
    }
}

/// What a log needs of the disk. In tests a disk that fails takes its place.
pub(super) trait Disk {
    /// Length in bytes.
    fn length(&mut self) -> io::Result<u64>;
    /// Reads bytes from a place on.
    fn read(&mut self, from: u64, into: &mut [u8]) -> io::Result<()>;
    /// Writes bytes at a place.
    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()>;
    /// Cuts the file to a length.
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Waits until all of it is on the disk, and the folder's entry too where that is wanted.
    fn sync(&mut self) -> io::Result<()>;
}

/// A file with the folder that must know of it.
pub(super) struct OnDisk<'a> {
    pub(super) file: File,
    /// The folder of a file that is new.
    pub(super) new_in: Option<&'a Path>,
}

impl Disk for OnDisk<'_> {
    fn length(&mut self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> io::Result<()> {
        self.file.seek(SeekFrom::Start(from))?;
        self.file.read_exact(into)
    }

    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.file.seek(SeekFrom::Start(at))?;
        self.file.write_all(bytes)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length)
    }

    fn sync(&mut self) -> io::Result<()> {
        sync(&self.file)?;
        self.new_in.map_or(Ok(()), sync_folder)
    }
}
