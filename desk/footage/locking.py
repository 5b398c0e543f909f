"""The media of a scene as a lock keeps them: every file with the hash of all its bytes."""

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from desk.errors import MediaError
from desk.files import sample_hash
from desk.film.model import LockedMedia
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress

_BLOCK_BYTES = 4 << 20


def hash_media(
    paths: Sequence[str],
    folder: Path,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> tuple[LockedMedia, ...]:
    """Return those of the files that are there, each with its hashes; reads all of every file.

    A folder, a pipe or a device in the place of a file counts as a file that is missing.

    Args:
        paths: Files as the film names them.
        folder: The project folder.
        progress: Told how far it is, by bytes.
        cancel: Stops it between two blocks of a file.

    Raises:
        MediaError: when a file is there and can't be read, or changes while it is read.
        Cancelled: when stopped on request.
    """
    cancel = cancel or CancelToken()
    sizes = {path: size for path in paths if (size := _size_bytes(folder / path)) is not None}
    total_bytes = max(1, sum(sizes.values()))
    done_bytes = 0
    found = []
    for path, expected_bytes in sizes.items():
        file = folder / path
        digest, size_bytes = hashlib.sha256(), 0
        try:
            for block in _blocks(file):
                cancel.check()
                digest.update(block)
                size_bytes += len(block)
                done_bytes += len(block)
                progress(Progress("hash", f"Reading {path}", min(1.0, done_bytes / total_bytes)))
                if size_bytes > expected_bytes:
                    break  # one that grows as fast as it is read would never end
            sample = sample_hash(file)
        except OSError as error:
            raise _unreadable(file, error) from error
        if not size_bytes == expected_bytes == _size_bytes(file):
            raise MediaError(
                f"“{file}” grew or shrank while it was read.",
                advice="Wait until it is copied, then lock again.",
                code="media.changed",
                path=file,
            )
        found.append(
            LockedMedia(path=path, size_bytes=size_bytes, sample_hash=sample, sha256=digest.hexdigest())
        )
    return tuple(found)


def _size_bytes(file: Path) -> int | None:
    """Return a file's size, or None where there is no file."""
    try:
        return file.stat().st_size if file.is_file() else None
    except OSError as error:
        raise _unreadable(file, error) from error


def _unreadable(file: Path, error: OSError) -> MediaError:
    return MediaError(
        f"“{file}” can't be read: {error.strerror}.",
        advice="Look at its permissions and its disk, or copy it again from the card.",
        path=file,
        detail=str(error),
    )


def _blocks(file: Path) -> Iterator[bytes]:
    with file.open("rb") as stream:
        while block := stream.read(_BLOCK_BYTES):
            yield block
