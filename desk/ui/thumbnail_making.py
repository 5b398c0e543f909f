"""Makes small pictures in a thread, and keeps them in the project folder.

    .desk/thumbnails/<key>.jpg   a picture
    .desk/colours/<key>.json     mean colours of one source, by place

A key is made of the source's size and sample hash, the place and the height; see `desk.store.kept_files`.
"""

import contextlib
import hashlib
import time
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Protocol

import msgspec
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QImage, QImageWriter

from desk.errors import DeskError
from desk.film.media import MediaFacts, PictureFacts
from desk.footage.thumbnail import Picture, Wanted, mean_colour, pictures, still
from desk.jobs import CancelToken, ProgressListener
from desk.store.kept_files import KeptFiles

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

_LIMIT_BYTES = 256 << 20
_LIMIT_OF_COLOURS_BYTES = 16 << 20
"""What the pictures of a film may take on disk before the oldest go, and their colours."""


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


class ThumbnailFiles:
    """The pictures on disk. Used by one job at a time; where the disk refuses, nothing is kept.

    Does not promise that what was kept is found again: it may be cleared away at any time.
    """

    def __init__(self, project_folder: Path) -> None:
        self._images = KeptFiles(project_folder, "thumbnails", "jpg", _LIMIT_BYTES)
        self._colours = KeptFiles(project_folder, "colours", "json", _LIMIT_OF_COLOURS_BYTES)

    def image(self, facts: MediaFacts, wanted: Wanted) -> QImage | None:
        """Return a picture that was kept, or None."""
        if wanted.height_px > _HIGHEST_KEPT_PX:
            return None
        data = self._images.find(_image_key(facts, wanted))
        image = QImage() if data is None else QImage.fromData(data)
        return None if image.isNull() else image.convertToFormat(QImage.Format.Format_RGB32)

    def keep_image(self, facts: MediaFacts, wanted: Wanted, image: QImage) -> None:
        """Keep a picture, if it is a small one."""
        if wanted.height_px > _HIGHEST_KEPT_PX:
            return
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        writer = QImageWriter(buffer, b"jpg")
        writer.setQuality(_JPEG_QUALITY)
        if writer.write(image):
            self._images.keep(_image_key(facts, wanted), bytes(buffer.data().data()))

    def colours(self, facts: MediaFacts) -> dict[int, int]:
        """Return the colours of a source that were kept, by place in ticks."""
        data = self._colours.find(_key(facts, "colours"))
        return {} if data is None else msgspec.json.decode(data, type=dict[int, int])

    def keep_colours(self, facts: MediaFacts, colours: dict[int, int]) -> None:
        """Keep colours of a source beside those kept before."""
        data = msgspec.json.encode(self.colours(facts) | colours)
        self._colours.keep(_key(facts, "colours"), data)


def _image_key(facts: MediaFacts, wanted: Wanted) -> str:
    return _key(facts, f"{wanted.seconds} {wanted.height_px}")


def _key(facts: MediaFacts, what: str) -> str:
    words = f"{VERSION} {facts.size_bytes} {facts.sample_hash} {what}"
    return hashlib.sha256(words.encode()).hexdigest()[:32]


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
