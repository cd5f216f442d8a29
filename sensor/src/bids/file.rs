//! Bytes of one file, within limits, and the writing of one file so that it is there whole or not at all.

use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::Path;

use flate2::read::MultiGzDecoder;

use super::error::{Place, ReadError, ReadErrorKind};
use super::write_error::{WriteError, WriteErrorKind};

/// No file of samples may be larger, unpacked.
pub(crate) const MOTION_BYTES_MAX: u64 = 2 << 30;
/// No side file may be larger.
pub(crate) const SIDE_BYTES_MAX: u64 = 16 << 20;

/// What a file holds, and whether a compressed one broke off.
pub(crate) struct Bytes {
    pub(crate) bytes: Vec<u8>,
    pub(crate) is_cut: bool,
}

/// Reads a whole regular file; one whose name ends in `.gz` is unpacked.
pub(crate) fn read_bytes(path: &Path, limit: u64) -> Result<Bytes, ReadError> {
    let fail = |kind| ReadError {
        place: Place::of(path),
        kind,
    };
    let io = |e| fail(ReadErrorKind::Io(e));
    let meta = fs::metadata(path).map_err(io)?;
    if !meta.is_file() {
        return Err(fail(ReadErrorKind::NotAFile));
    }
    if meta.len() > limit {
        return Err(fail(ReadErrorKind::TooLarge {
            bytes: meta.len(),
            limit,
        }));
    }
    let file = File::open(path).map_err(io)?;
    if path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("gz"))
    {
        let mut bytes = Vec::new();
        let outcome = MultiGzDecoder::new(file)
            .take(limit + 1)
            .read_to_end(&mut bytes);
        if bytes.len() as u64 > limit {
            return Err(fail(ReadErrorKind::TooLarge {
                bytes: bytes.len() as u64,
                limit,
            }));
        }
        return match outcome {
            Ok(_) => Ok(Bytes {
                bytes,
                is_cut: false,
            }),
            // What came out before the break is good: the format checks it block by block.
            Err(_) if !bytes.is_empty() => Ok(Bytes {
                bytes,
                is_cut: true,
            }),
            Err(_) if meta.len() == 0 => Err(fail(ReadErrorKind::Empty)),
            Err(e) => Err(io(e)),
        };
    }
    let mut bytes = Vec::with_capacity(usize::try_from(meta.len()).unwrap_or(0) + 1);
    // It may have grown since it was looked at: the limit holds for what is read.
    file.take(limit + 1).read_to_end(&mut bytes).map_err(io)?;
    if bytes.len() as u64 > limit {
        return Err(fail(ReadErrorKind::TooLarge {
            bytes: bytes.len() as u64,
            limit,
        }));
    }
    Ok(Bytes {
        bytes,
        is_cut: false,
    })
}

/// Without the byte order mark some programs put first.
pub(crate) fn without_bom(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)
}

/// The error of a failed system call on a path.
pub(crate) fn write_io(path: &Path) -> impl FnOnce(io::Error) -> WriteError + '_ {
    move |e| WriteError {
        path: path.to_owned(),
        kind: WriteErrorKind::Io(e),
    }
}

/// Writes under a hidden name, syncs, and renames: a reader, or a power cut, sees the old or the new file.
/// The file is its owner's alone, as health data should be.
pub(crate) fn replace(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let mut part = tempfile::Builder::new()
        .prefix(&format!(".{name}."))
        .suffix(".part")
        .tempfile_in(folder)
        .map_err(write_io(path))?;
    part.write_all(bytes).map_err(write_io(path))?;
    part.as_file().sync_all().map_err(write_io(path))?;
    part.persist(path).map_err(|e| write_io(path)(e.error))?;
    Ok(())
}

/// Makes the renames in a folder last through a power cut, where the system lets a folder be synced.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), WriteError> {
    if cfg!(unix) {
        File::open(folder)
            .and_then(|f| f.sync_all())
            .map_err(write_io(folder))
    } else {
        Ok(())
    }
}

/// Creates a folder and its parents, for the owner alone.
pub(crate) fn make_folder(path: &Path) -> Result<(), WriteError> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path).map_err(write_io(path))
}

/// Keeps two programs from changing one data set's tables at the same time, until dropped. A file system
/// without locks gives none: then the last writer wins.
pub(crate) fn lock(root: &Path) -> Result<Option<File>, WriteError> {
    let path = root.join(".legraise.lock");
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(write_io(&path))?;
    match file.lock() {
        Ok(()) => Ok(Some(file)),
        Err(e) if e.kind() == io::ErrorKind::Unsupported => Ok(None),
        Err(e) => Err(write_io(&path)(e)),
    }
}
