"""One writer at a time for a project."""

import contextlib
import errno
import logging
import os
import platform
import stat
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

import msgspec

from desk.errors import FilmBusyError, OutputError
from desk.files import output_error
from desk.store.folder import make_inside, shown, utc_now

_log = logging.getLogger(__name__)

_HOLDER_BYTES = 4096
_NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP)


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """Who holds a film.

    Attributes:
        command: What it does, such as `desk assemble`.
        pid: Its process.
        host: The computer it runs on.
        since: When it began, ISO 8601.
    """

    command: str
    pid: int
    host: str
    since: str


@contextlib.contextmanager
def hold(folder: Path, command: str) -> Iterator[None]:
    """Hold a project for writing while the block runs. Reading needs no lock.

    The system itself gives the lock back when the process ends in any way, so that a file left by a killed
    one blocks nobody. The lock file is never removed, since another process may wait on it.

    Does not promise to keep out a program on another computer where the disk is a synchronised or shared
    folder without locks; saving still refuses to overwrite what it has not read.

    Args:
        folder: The project folder, which exists.
        command: What is being done, told to whoever comes second.

    Raises:
        FilmBusyError: when another command or window holds it.
        OutputError: when the disk refuses.
    """
    path = make_inside(folder, ".desk") / "film.lock"
    descriptor = _opened(path)
    try:
        if not _locked(descriptor, path):
            raise _busy(folder, descriptor)
        holder = Holder(command=command, pid=os.getpid(), host=platform.node(), since=utc_now().isoformat())
        with contextlib.suppress(OSError):
            # On a full disk the lock holds all the same, without a name.
            _write(descriptor, msgspec.json.encode(asdict(holder)))
        yield
    finally:
        os.close(descriptor)


def _opened(path: Path) -> int:
    flags = os.O_RDWR | os.O_CREAT
    # A stranger's project may have a link or a pipe here: neither may be written through, nor hold us.
    for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_BINARY"):
        flags |= getattr(os, name, 0)
    try:
        descriptor = os.open(path, flags, 0o666)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.EISDIR, errno.ENXIO):
            raise _not_plain(path) from error
        raise output_error(path, error) from error
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        os.close(descriptor)
        raise _not_plain(path)
    return descriptor


def _not_plain(path: Path) -> OutputError:
    return OutputError(f"“{path}” is not a plain file.", advice="Move or rename it.", path=path)


if sys.platform == "win32":
    import msvcrt

    # Windows keeps others from reading what is locked, so a byte far beyond the holder's name is.
    _LOCKED_BYTE = 1 << 30

    def _locked(descriptor: int, path: Path) -> bool:
        os.lseek(descriptor, _LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            if error.errno in (errno.EACCES, errno.EDEADLK):
                return False
            raise output_error(path, error) from error
        return True

else:
    import fcntl

    def _locked(descriptor: int, path: Path) -> bool:
        """Take the lock; returns False when another has it.

        Raises:
            OutputError: when the disk refuses.
        """
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError as error:
            if error.errno not in _NO_LOCKS:
                raise output_error(path, error) from error
            _log.warning("the disk of “%s” has no locks: nothing keeps a second writer out", path)
        return True


def _write(descriptor: int, data: bytes) -> None:
    os.ftruncate(descriptor, 0)
    os.lseek(descriptor, 0, os.SEEK_SET)
    os.write(descriptor, data)


def _busy(folder: Path, descriptor: int) -> FilmBusyError:
    os.lseek(descriptor, 0, os.SEEK_SET)
    try:
        holder = msgspec.json.decode(os.read(descriptor, _HOLDER_BYTES), type=Holder)
        since = datetime.fromisoformat(holder.since).astimezone().strftime("%Y-%m-%d %H:%M:%S")
    except (msgspec.DecodeError, ValueError, OSError):
        # It has the lock and has not written its name yet.
        return FilmBusyError(
            f"“{folder}” is in use by another command or window.",
            advice="Wait until it is done, or close it.",
            path=folder,
        )
    return FilmBusyError(
        f"“{folder}” is in use by `{shown(holder.command)}` since {since} (process {holder.pid} on "
        f"{shown(holder.host)}).",
        advice="Wait until it is done, or close it.",
        path=folder,
    )
