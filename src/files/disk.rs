//! What a log needs of the disk that it lies on.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

use crate::files::write::{sync, sync_folder};

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
