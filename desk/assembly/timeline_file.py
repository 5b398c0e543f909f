"""Timeline files on disk: `.otio`, the URLs in it, and `.otioz` with the media inside."""

import os
import re
import stat
import unicodedata
import urllib.parse
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path, PurePosixPath

import opentimelineio as otio
from opentimelineio.adapters import file_bundle_utils

from desk.assembly.timeline_notes import KEY
from desk.errors import MediaError
from desk.files import replacing, write_whole
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress

_CHUNK_BYTES = 1 << 22


def relative_url(source: Path, folder: Path) -> str:
    """Return the URL of a file as seen from a folder, percent-encoded as in RFC 3986.

    Links on the way are kept where the path still leads to the file; `..` goes up from where a link leads to.
    A file on another drive has no relative URL and gets a whole one.

    Args:
        source: The file.
        folder: Where the timeline file is or will be.
    """
    try:
        path = os.path.relpath(source, folder)
        if (Path(os.path.realpath(folder)) / path).resolve() != source.resolve():
            path = os.path.relpath(os.path.realpath(source), os.path.realpath(folder))
    except ValueError:
        return source.resolve().as_uri()
    # As bytes, so that a name that is not UTF-8 keeps them; a colon would make a scheme of what is before it.
    return urllib.parse.quote(os.fsencode(path.replace(os.sep, "/")), safe="/")


def write_timeline(timeline: otio.schema.Timeline, target: Path) -> None:
    """Write a timeline as `.otio`.

    Raises:
        OutputError: when the disk refuses; an old file is then untouched.
    """
    write_whole(target, f"{timeline.to_json_string(indent=2)}\n".encode())


def write_bundle(
    timeline: otio.schema.Timeline,
    target: Path,
    media: Mapping[str, Path],
    *,
    cancel: CancelToken | None = None,
    progress: ProgressListener = no_progress,
) -> tuple[str, ...]:
    """Write a timeline as `.otioz`, with all its media inside, and return the files that were missing.

    The library's own writer looks relative URLs up from the working directory, decodes names twice, and
    refuses two files of one name, so the media are put into the archive here: by plain unique names, the
    original path in the reference's metadata. A missing file becomes a missing reference with a note.

    Args:
        timeline: The timeline; it is not changed.
        target: The file to write.
        media: Where each file is on disk, by its path in the film.
        cancel: Stops it.
        progress: Told how much is written.

    Raises:
        OutputError: when the disk refuses; an old file is then untouched.
        MediaError: when a file is there but can't be read.
        Cancelled: when stopped on request; an old file is then untouched.
    """
    timeline = timeline.deepcopy()
    sources = sorted({_source(clip.media_reference) for clip in timeline.find_clips()} - {""})
    sizes_bytes = {source: _size_bytes(media[source]) for source in sources if source in media}
    found = [source for source in sources if sizes_bytes.get(source) is not None]
    total_bytes = sum(sizes_bytes[source] or 0 for source in found)
    names = _bundle_names(found)
    for clip in timeline.find_clips():
        source = _source(clip.media_reference)
        if source in names:
            clip.media_reference = _inside(clip.media_reference, names[source])
        elif source:
            clip.media_reference = _missing(clip.media_reference)
    written_bytes = 0
    with replacing(target) as part, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(_entry(file_bundle_utils.BUNDLE_VERSION_FILE), file_bundle_utils.BUNDLE_VERSION)
        archive.writestr(_entry(file_bundle_utils.BUNDLE_PLAYLIST_PATH), timeline.to_json_string(indent=2))
        for source in found:
            entry = _entry(names[source])
            entry.compress_type = zipfile.ZIP_STORED
            with archive.open(entry, "w", force_zip64=True) as inside:
                for chunk in _chunks(media[source]):
                    if cancel:
                        cancel.check()
                    inside.write(chunk)
                    written_bytes += len(chunk)
                    fraction = min(1.0, written_bytes / max(1, total_bytes))
                    progress(Progress("bundle", f"Bundling {PurePosixPath(source).name}", fraction))
    return tuple(source for source in sources if source not in found)


def _source(reference: otio.core.MediaReference) -> str:
    """Return the path, in the film, of what a clip refers to, or "" for what is drawn."""
    if isinstance(reference, otio.schema.GeneratorReference):
        return ""
    return str(reference.metadata[KEY]["source"])


def _inside(reference: otio.core.MediaReference, url: str) -> otio.core.MediaReference:
    inside = otio.schema.ExternalReference(
        target_url=url, available_range=reference.available_range, metadata=reference.metadata
    )
    inside.name = reference.name
    return inside


def _missing(reference: otio.core.MediaReference) -> otio.core.MediaReference:
    missing = otio.schema.MissingReference(
        name=reference.name, available_range=reference.available_range, metadata=reference.metadata
    )
    missing.metadata[KEY]["note"] = "missing when this bundle was written"
    return missing


def _bundle_names(sources: Iterable[str]) -> dict[str, str]:
    """Return a name inside the archive for each file: plain, and unique whatever the case of its letters."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for source in sources:
        name = PurePosixPath(source)
        stem, suffix = _plain(name.stem) or "media", _plain(name.suffix)
        suffix = f".{suffix}" if suffix else ""
        number, plain = 1, f"{stem}{suffix}"
        while plain.casefold() in taken:
            number += 1
            plain = f"{stem}-{number}{suffix}"
        taken.add(plain.casefold())
        names[source] = f"{file_bundle_utils.BUNDLE_DIR_NAME}/{plain}"
    return names


def _plain(text: str) -> str:
    """Return a text in letters, digits, `.`, `_` and `-` alone, which need no escape in a URL."""
    folded = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9._-]+", "-", folded).strip("-.")


def _entry(name: str) -> zipfile.ZipInfo:
    # A fixed date, so that the same film makes the same bytes.
    entry = zipfile.ZipInfo(name)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    return entry


def _size_bytes(path: Path) -> int | None:
    """Return the size of a file, or None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size if stat.S_ISREG(found.st_mode) else None


def _chunks(path: Path) -> Iterator[bytes]:
    """Yield a file's bytes.

    Raises:
        MediaError: when it can't be read.
    """
    try:
        with path.open("rb") as stream:
            while chunk := stream.read(_CHUNK_BYTES):
                yield chunk
    except OSError as error:
        raise MediaError(
            f"“{path}” can't be read.",
            advice="Check its permissions and the disk it is on.",
            path=path,
            detail=str(error),
        ) from error
