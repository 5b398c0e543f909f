"""Files that are never half-written, and hashes of files."""

import contextlib
import errno
import hashlib
import os
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path

from desk.errors import OutputError

_SAMPLE_BYTES = 1 << 20


def output_error(path: Path, error: OSError) -> OutputError:
    """Return the sentence for an OSError met while writing to `path`."""
    reasons = {
        errno.ENOSPC: ("the disk is full", "Free some space and try again."),
        errno.EDQUOT: ("the disk quota is used up", "Free some space and try again."),
        errno.EROFS: ("the disk is read-only", "Choose another folder."),
        errno.EACCES: ("writing there is not allowed", "Choose another folder or change its permissions."),
        errno.EPERM: ("writing there is not allowed", "Choose another folder or change its permissions."),
        errno.ENOENT: ("the folder is missing", "Create it or choose another folder."),
        errno.ENOTDIR: ("part of the path is a file, not a folder", "Choose another folder."),
        errno.ENAMETOOLONG: ("the name is too long for this disk", "Choose a shorter name."),
    }
    reason, advice = reasons.get(
        error.errno or 0, (os.strerror(error.errno) if error.errno else str(error), "Choose another folder.")
    )
    code = "output.full" if error.errno in (errno.ENOSPC, errno.EDQUOT) else "output.unwritable"
    return OutputError(
        f"“{path}” could not be written: {reason}.", advice=advice, code=code, path=path, detail=str(error)
    )


def sync_folder(folder: Path) -> None:
    """Flush a folder's entries to disk where the system can do that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def replacing(target: Path) -> Iterator[Path]:
    """Give a path beside `target` to write to, and put it in `target`'s place when the block ends well.

    On any failure, also of the flush, the part-file is removed and `target` is as it was. Does not promise
    that two writers at once are serialised: the last one wins, whole.

    Args:
        target: The file to write. Its suffix is kept, so that programs can tell the format.

    Raises:
        OutputError: when the disk refuses.
    """
    part = target.with_name(f".{target.stem}.{os.getpid()}-{os.urandom(4).hex()}.part{target.suffix}")
    try:
        yield part
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        part.replace(target)
    except OSError as error:
        raise output_error(target, error) from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
    sync_folder(target.parent)


def write_whole(target: Path, data: bytes) -> None:
    """Write `data` to `target` so that it is never half-written.

    Raises:
        OutputError: when the disk refuses; the old file is then untouched.
    """
    with replacing(target) as part:
        part.write_bytes(data)


def sample_hash(path: Path) -> str:
    """Return a hash over the size, the head, the middle and the tail of a file: quick, for any size.

    Raises:
        OSError: when the file can't be read.
    """
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        size = os.fstat(stream.fileno()).st_size
        digest.update(str(size).encode())
        for start in sorted({0, max(0, (size - _SAMPLE_BYTES) // 2), max(0, size - _SAMPLE_BYTES)}):
            stream.seek(start)
            digest.update(stream.read(_SAMPLE_BYTES))
    return digest.hexdigest()[:32]


def whole_hash(path: Path) -> str:
    """Return the SHA-256 of a whole file in lower-case hex, as `sha256sum` prints it.

    Raises:
        OSError: when the file can't be read.
    """
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def resolved(path: Path) -> Path:
    """Return where a path really leads to; it may be missing.

    Raises:
        OutputError: when it is a link that leads round in a circle.
    """
    try:
        return path.resolve()
    except (OSError, RuntimeError) as error:
        # Python tells such a link in either way.
        raise OutputError(
            f"“{path}” is a link that leads round in a circle.",
            advice="Choose another folder.",
            path=path,
            detail=str(error),
        ) from error


def plain_name(text: str, *, fallback: str = "film") -> str:
    """Return `text` as a file name that every common disk takes: letters, digits, `-` and `_`, at most 80."""
    folded = unicodedata.normalize("NFKC", text)
    name = re.sub(r"[^\w-]+", "-", folded, flags=re.UNICODE).strip("-_").lower()
    return name.encode()[:80].decode(errors="ignore") or fallback
