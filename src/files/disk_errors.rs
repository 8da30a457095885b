//! What the system says when it does not write: what is meant, in plain words, and the way out.

use std::io::{self, ErrorKind};

/// The way out where the system lets nobody write, or not this user.
pub(super) const WHEN_NOT_ALLOWED: &str = "nothing was written: choose a folder that you may write to, \
     let yourself write into this one, or work on a copy of the whole folder elsewhere";

/// Whether the system does not let this user write there.
pub(super) fn is_not_allowed(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem)
}

/// Whether the disk is full or broken: another name would not help.
pub(super) fn is_of_the_disk(error: &io::Error) -> bool {
    /// `EIO` of Linux, of the BSDs and of macOS.
    const BROKEN: i32 = 5;
    matches!(error.kind(), ErrorKind::StorageFull | ErrorKind::QuotaExceeded)
        || error.raw_os_error() == Some(BROKEN)
}

/// Why something cannot be written, in plain words where we have them.
pub(super) fn why_not(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::PermissionDenied => "you may not write here".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "what is on this disk can only be read".to_owned(),
        _ => error.to_string(),
    }
}

/// Whether the file system does not offer what was asked, as some of those of networks, of cards and
/// of containers do not.
pub(super) fn is_not_offered(error: &io::Error) -> bool {
    /// Errors of Linux, macOS and the BSDs: EINVAL, ENOSYS (Linux, BSD), ENOLCK (Linux, BSD),
    /// ENOTSUP and EOPNOTSUPP (Linux, BSD).
    const CODES: [i32; 7] = [22, 38, 78, 37, 77, 95, 45];
    error.kind() == ErrorKind::Unsupported
        || error.raw_os_error().is_some_and(|code| CODES.contains(&code))
}
