"""The jobs in which key pictures and proxies meet: looking for both, making the one instead of the other."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from desk.film.media import MediaFacts
from desk.jobs import CancelToken, ProgressListener
from desk.ui.key_picture_files import KeyPictureFiles
from desk.ui.proxy_files import MadeProxy, ProxyFiles, Sought


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What came of looking for proxies and key pictures.

    Attributes:
        proxies: The proxies.
        near: The key pictures of sources without a proxy; None for those that need none or can have none.
    """

    proxies: Sought
    near: Mapping[str, Path | None]


def look(
    files: ProxyFiles,
    key_files: KeyPictureFiles,
    wanted: dict[str, MediaFacts],
    progress: ProgressListener,
    cancel: CancelToken,
) -> Looked:
    """Look for proxies, and for key pictures; those that a proxy stands in for are dropped; a job.

    Args:
        files: Where proxies are.
        key_files: Where key pictures are.
        wanted: What was read of each source, by its path in the film.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        Cancelled: when stopped on request.
    """
    sought = files.look(wanted, progress, cancel)
    near = key_files.look(wanted, cancel)
    for source in sought.files.keys() & near.keys():
        key_files.drop(wanted[source])
        del near[source]
    return Looked(proxies=sought, near=near)


def make_instead(
    make: Callable[[ProgressListener, CancelToken], MadeProxy],
    key_files: KeyPictureFiles,
    facts: MediaFacts,
    progress: ProgressListener,
    cancel: CancelToken,
) -> MadeProxy:
    """Make a proxy, and drop the key pictures that it stands in for; a job.

    Args:
        make: Makes it.
        key_files: Where key pictures are.
        facts: What was read of the source.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        DeskError: as `ProxyFiles.make`.
    """
    made = make(progress, cancel)
    key_files.drop(facts)
    return made
