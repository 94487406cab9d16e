//! SQLite's results as what they mean here (SQLite's manual, "Result and Error Codes").

use crate::RecordError;
use rusqlite::{Error, ErrorCode};
use std::path::Path;

pub(super) fn of(path: &Path, error: &Error) -> RecordError {
    let path = path.to_owned();
    let what = error.to_string();
    match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => RecordError::Full { path },
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => {
            RecordError::ReadOnly { path }
        }
        Some(ErrorCode::DatabaseCorrupt) => RecordError::Damaged { path, what },
        Some(ErrorCode::NotADatabase) => RecordError::Damaged { path, what },
        // The file of shared memory beside the journal couldn't grow: there is no other cause.
        Some(ErrorCode::SystemIoFailure)
            if error.sqlite_error().map(|it| it.extended_code)
                == Some(rusqlite::ffi::SQLITE_IOERR_SHMSIZE) =>
        {
            RecordError::Full { path }
        }
        Some(ErrorCode::SystemIoFailure) => RecordError::Disk { path, what },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => RecordError::Busy { path },
        _ => RecordError::Database { path, what },
    }
}
