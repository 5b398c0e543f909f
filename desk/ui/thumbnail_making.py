"""Makes small pictures in a thread, and keeps them in the project folder.

    .desk/thumbnails/<key>.jpg    a picture, with a checksum behind it
    .desk/thumbnails/<key>.json   mean colours of one source, by place

A key is made of the source's size and sample hash, the place and the height, so that a file that has become
another one has other keys. Losing the folder costs nothing but time: what is missing or damaged is made
again.
"""

import contextlib
import hashlib
import os
import time
import zlib
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Protocol

import msgspec
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QImage, QImageWriter

from desk.errors import DeskError, OutputError
from desk.film.media import MediaFacts, PictureFacts
from desk.footage.thumbnail import Picture, Wanted, mean_colour, pictures, still
from desk.jobs import CancelToken, ProgressListener
from desk.store.folder import desk_folder, make_inside

VERSION = 1
"""Rises when pictures are made in another way, so that old ones are made anew."""

TICKS_PER_SECOND = 10
"""Colours are those of moments on this clock, so that a trim meets moments that are known."""

_SLICE_SECONDS = 0.4
"""An order that takes longer is given back, so that what the person looks at by now comes first."""

_COLOUR_HEIGHT_PX = 24
_JPEG_QUALITY = 88
_HIGHEST_KEPT_PX = 256
"""Larger pictures are for one look at one frame, and are not kept on disk."""

_CHECKSUM_BYTES = 4
_LIMIT_BYTES = 256 << 20
"""What the pictures of a film may take on disk before the oldest go."""


class MakePictures(Protocol):
    """`desk.footage.thumbnail.pictures`, or what stands in for it."""

    def __call__(
        self, path: Path, facts: PictureFacts, wanted: Sequence[Wanted], *, check: Callable[[], None] | None
    ) -> Generator[Picture | None, None, None]: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Maker:
    """What decodes: from footage, and from still pictures."""

    pictures: MakePictures = pictures
    still: Callable[[Path, int], Picture] = still


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is to be made of one source.

    Attributes:
        source: Its path in the film.
        path: Where it is.
        facts: What is known of it.
        wanted: Pictures, by place; heights in pixels of the screen.
        moments: Colours, by place in ticks.
    """

    source: str
    path: Path
    facts: MediaFacts
    wanted: tuple[Wanted, ...] = ()
    moments: tuple[int, ...] = ()


@dataclass(slots=True)
class Made:
    """What came of an order; what is in neither was not reached.

    Attributes:
        order: The order.
        images: The pictures; None where there is nothing to see.
        colours: Mean colours as 0xRRGGBB; None where there is nothing to see.
        fault: Why the source can't be read, or None.
    """

    order: Order
    images: dict[Wanted, QImage | None] = field(default_factory=dict)
    colours: dict[int, int | None] = field(default_factory=dict)
    fault: DeskError | None = None


class _ColoursFile(msgspec.Struct):
    version: int
    colours: dict[int, int]


class ThumbnailFiles:
    """The pictures on disk. Used by one job at a time; where the disk refuses, nothing is kept.

    Does not promise that what was kept is found again: it may be cleared away at any time.
    """

    def __init__(self, project_folder: Path) -> None:
        self._project_folder = project_folder
        self._folder = desk_folder(project_folder) / "thumbnails"
        self._can_write: bool | None = None

    def image(self, facts: MediaFacts, wanted: Wanted) -> QImage | None:
        """Return a picture that was kept, or None."""
        if wanted.height_px > _HIGHEST_KEPT_PX:
            return None
        try:
            data = self._image_path(facts, wanted).read_bytes()
        except OSError:
            return None
        picture, checksum = data[:-_CHECKSUM_BYTES], data[-_CHECKSUM_BYTES:]
        if zlib.crc32(picture).to_bytes(_CHECKSUM_BYTES, "big") != checksum:
            return None
        image = QImage.fromData(picture)
        return None if image.isNull() else image.convertToFormat(QImage.Format.Format_RGB32)

    def keep_image(self, facts: MediaFacts, wanted: Wanted, image: QImage) -> None:
        """Keep a picture, if it is a small one."""
        if wanted.height_px > _HIGHEST_KEPT_PX:
            return
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        writer = QImageWriter(buffer, b"jpg")
        writer.setQuality(_JPEG_QUALITY)
        if not writer.write(image):
            return
        data = bytes(buffer.data().data())
        self._write(self._image_path(facts, wanted), data + zlib.crc32(data).to_bytes(_CHECKSUM_BYTES, "big"))

    def colours(self, facts: MediaFacts) -> dict[int, int]:
        """Return the colours of a source that were kept, by place in ticks."""
        try:
            read = msgspec.json.decode(self._colours_path(facts).read_bytes(), type=_ColoursFile)
        except (OSError, msgspec.DecodeError, RecursionError):
            return {}
        return read.colours if read.version == VERSION else {}

    def keep_colours(self, facts: MediaFacts, colours: dict[int, int]) -> None:
        """Keep colours of a source beside those kept before."""
        together = _ColoursFile(VERSION, self.colours(facts) | colours)
        self._write(self._colours_path(facts), msgspec.json.encode(together))

    def _image_path(self, facts: MediaFacts, wanted: Wanted) -> Path:
        return self._path(facts, f"{wanted.seconds} {wanted.height_px}", "jpg")

    def _colours_path(self, facts: MediaFacts) -> Path:
        return self._path(facts, "colours", "json")

    def _path(self, facts: MediaFacts, what: str, suffix: str) -> Path:
        words = f"{VERSION} {facts.size_bytes} {facts.sample_hash} {what}"
        return self._folder / f"{hashlib.sha256(words.encode()).hexdigest()[:32]}.{suffix}"

    def _write(self, target: Path, data: bytes) -> None:
        """Write a file whole, without waiting for the disk: a loss is noticed and costs nothing."""
        if self._can_write is None:
            self._can_write = self._prepare()
        if not self._can_write:
            return
        part = target.with_name(f".{target.stem}.{os.urandom(4).hex()}{target.suffix}")
        try:
            part.write_bytes(data)
            part.replace(target)
        except OSError:
            self._can_write = False
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)

    def _prepare(self) -> bool:
        try:
            make_inside(self._project_folder, self._folder.parent.name, self._folder.name)
        except OutputError:
            return False
        self._tidy()
        return True

    def _tidy(self) -> None:
        kept = []
        with contextlib.suppress(OSError):
            for item in os.scandir(self._folder):
                state = item.stat()
                kept.append((state.st_mtime, state.st_size, Path(item.path)))
        total = sum(size for _, size, _ in kept)
        for _, size, path in sorted(kept):
            if total <= _LIMIT_BYTES:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                total -= size


def make(order: Order, files: ThumbnailFiles, maker: Maker, _: ProgressListener, cancel: CancelToken) -> Made:
    """Carry out an order, or as much of it as fits into a short while; a job.

    Raises:
        Cancelled: when stopped on request.
    """
    made = Made(order)
    until = time.monotonic() + _SLICE_SECONDS
    try:
        _make_images(made, files, maker, until, cancel)
        _make_colours(made, files, maker, until, cancel)
    except DeskError as error:
        made.fault = error
    return made


def _make_images(made: Made, files: ThumbnailFiles, maker: Maker, until: float, cancel: CancelToken) -> None:
    facts = made.order.facts
    for wanted in made.order.wanted:
        cancel.check()
        if image := files.image(facts, wanted):
            made.images[wanted] = image
    missing = [wanted for wanted in made.order.wanted if wanted not in made.images]
    for wanted, picture in _decoded(made.order, missing, maker, until, cancel):
        image = None if picture is None else _image_of(picture)
        made.images[wanted] = image
        if image is not None:
            files.keep_image(facts, wanted, image)


def _make_colours(made: Made, files: ThumbnailFiles, maker: Maker, until: float, cancel: CancelToken) -> None:
    if not made.order.moments:
        return
    known = files.colours(made.order.facts)
    made.colours.update((moment, known[moment]) for moment in made.order.moments if moment in known)
    places = {
        Wanted(Fraction(moment, TICKS_PER_SECOND), _COLOUR_HEIGHT_PX): moment
        for moment in made.order.moments
        if moment not in known
    }
    new: dict[int, int] = {}
    try:
        for wanted, picture in _decoded(made.order, list(places), maker, until, cancel):
            if picture is not None:
                red, green, blue = mean_colour(picture)
                new[places[wanted]] = red << 16 | green << 8 | blue
            made.colours[places[wanted]] = new.get(places[wanted])
    finally:
        if new:
            files.keep_colours(made.order.facts, new)


def _decoded(
    order: Order, wanted: Sequence[Wanted], maker: Maker, until: float, cancel: CancelToken
) -> Iterator[tuple[Wanted, Picture | None]]:
    """Yield pictures, at least one, until the time is over."""
    if not wanted:
        return
    if order.facts.picture is None:
        for item in wanted:
            yield item, maker.still(order.path, item.height_px)
        return
    with contextlib.closing(
        maker.pictures(order.path, order.facts.picture, wanted, check=cancel.check)
    ) as found:
        for item, picture in zip(wanted, found, strict=True):
            yield item, picture
            if time.monotonic() >= until:
                return


def _image_of(picture: Picture) -> QImage:
    height, width, channels = picture.shape
    image = QImage(picture.tobytes(), width, height, width * channels, QImage.Format.Format_RGB888)
    # The conversion also makes the image own its pixels.
    return image.convertToFormat(QImage.Format.Format_RGB32)
