"""Small pictures of footage, made beside the window and kept in the project folder."""

import functools
import math
from fractions import Fraction

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QColor, QGuiApplication, QImage

from desk.film.media import MediaFacts
from desk.film.model import Clip
from desk.footage.thumbnail import Wanted
from desk.ui.job_runner import Job, JobRunner, Lane
from desk.ui.media import Media
from desk.ui.session import Session
from desk.ui.thumbnail_making import TICKS_PER_SECOND, Made, Maker, Order, ThumbnailFiles, make

_GATHER_MS = 30
"""What is asked for while the window is painted is gathered for so long."""

_NEWS_MS = 60
"""How long news of pictures is gathered; each edit puts it off, so that what the edit shows comes first."""

LIMIT_BYTES = 64 << 20
"""Pictures held in memory: 250 of 96 px at 200 %, each 0.26 MB."""

_MOST_ASKED = 2000
"""What scrolled by and was not reached is forgotten beyond this."""

_MOST_PICTURES_AN_ORDER = 24
_MOST_MOMENTS_AN_ORDER = 96
_VARIABLE_STEPS_PER_SECOND = 100

_Key = tuple[str, int, int]
"""A source, the step of its clock, and the height in pixels of the screen."""


class Thumbnails(QObject):
    """Small pictures by source and place.

    Pictures that are asked for while the window is painted are made in a thread, those asked for last first,
    and colours after all pictures. A source that can't be read is not tried again until its file changes.

    Signals:
        made: Pictures or colours of a source are there now, or are to be asked for again because its file
            is another one; its path in the film. At most ten times a second.
    """

    made = Signal(str)

    def __init__(
        self,
        session: Session,
        media: Media,
        jobs: JobRunner,
        parent: QObject | None = None,
        *,
        maker: Maker | None = None,
        limit_bytes: int = LIMIT_BYTES,
    ) -> None:
        """Make ready; nothing is read before it is asked for.

        Args:
            session: The film.
            media: Tells which file is which.
            jobs: Runs the work.
            parent: Who owns it.
            maker: What decodes.
            limit_bytes: What pictures may take in memory; those not used for longest go.
        """
        super().__init__(parent)
        self._session = session
        self._media = media
        self._jobs = jobs
        self._maker = maker or Maker()
        self._files = ThumbnailFiles(session.folder)
        self._images: dict[_Key, QImage] = {}
        self._bytes = 0
        self._limit_bytes = limit_bytes
        self._colours: dict[str, dict[int, int | None]] = {}
        self._nothing: set[_Key] = set()
        self._unreadable: set[str] = set()
        self._sources: set[str] = set()
        self._asked: dict[_Key, Wanted] = {}
        self._moments: dict[str, dict[int, None]] = {}
        self._news: dict[str, None] = {}
        self._job: Job | None = None
        self._source = ""
        self._gathering = QTimer(self, singleShot=True, interval=_GATHER_MS)
        self._gathering.timeout.connect(self._start_next)
        self._telling = QTimer(self, singleShot=True, interval=_NEWS_MS)
        self._telling.timeout.connect(self._tell)
        session.changed.connect(self._on_film_changed)
        media.changed.connect(self._on_media_changed)

    def picture(self, source: str, seconds: Fraction, *, height_px: int = 96) -> QImage | None:
        """Return a small picture of a source at a place, or None and make it beside the window.

        Args:
            source: Path of footage or of a still picture in the film.
            seconds: Place in it.
            height_px: Height on the screen; the picture has as many pixels as the sharpest screen asks for.
        """
        facts = self._facts(source)
        if facts is None:
            return None
        step, pixels = _step(facts, seconds), math.ceil(height_px * _pixel_ratio())
        key = (source, step, pixels)
        if image := self._images.pop(key, None):
            # What was used last stands last.
            self._images[key] = image
            return image
        if key not in self._nothing:
            self._asked.pop(key, None)
            self._asked[key] = Wanted(step / _clock(facts)[0], pixels)
            if len(self._asked) > _MOST_ASKED:
                del self._asked[next(iter(self._asked))]
            self._gather()
        return None

    def colours(self, clip: Clip, count: int) -> list[QColor] | None:
        """Return the mean colour of `count` moments spread over a clip, or None and read them beside it."""
        facts = self._facts(clip.source)
        if facts is None or facts.picture is None:
            return None
        moments = _moments(clip, count, float(self._session.film.rate.seconds(clip.length_frames)))
        known = self._colours.get(clip.source, {})
        if missing := [moment for moment in moments if moment not in known]:
            asked = self._moments.pop(clip.source, {})
            asked.update(dict.fromkeys(missing))
            self._moments[clip.source] = asked
            self._gather()
            return None
        found = [colour for moment in moments if (colour := known[moment]) is not None]
        if not found:
            return None
        colours, last = [], found[0]
        for moment in moments:
            colour = known[moment]
            # Where nothing can be decoded, the moment before stands in.
            last = last if colour is None else colour
            colours.append(QColor.fromRgb(last))
        return colours

    def _facts(self, source: str) -> MediaFacts | None:
        """Return what is known of a source that may have pictures, and remember that it was asked for."""
        self._sources.add(source)
        facts = self._media.facts.get(source)
        if not isinstance(facts, MediaFacts) or source in self._unreadable:
            return None
        is_still = not facts.container
        return facts if facts.picture is not None or is_still else None

    def _gather(self) -> None:
        if self._job is None and not self._gathering.isActive():
            self._gathering.start()

    def _start_next(self) -> None:
        order = self._next_order() if self._job is None else None
        if order is None:
            return
        work = functools.partial(make, order, self._files, self._maker)
        try:
            job = self._jobs.start("make thumbnails", work, lane=Lane.PICTURES)
        except RuntimeError:
            return  # the window is being closed
        self._job, self._source = job, order.source
        job.succeeded.connect(self._on_made)
        job.failed.connect(self._on_failed)
        job.finished.connect(self._on_finished)

    def _next_order(self) -> Order | None:
        if self._asked:
            source = next(reversed(self._asked))[0]
            latest = [wanted for key, wanted in reversed(self._asked.items()) if key[0] == source]
            return self._order(source, wanted=tuple(sorted(latest[:_MOST_PICTURES_AN_ORDER])))
        if self._moments:
            source = next(reversed(self._moments))
            latest_moments = list(reversed(self._moments[source]))[:_MOST_MOMENTS_AN_ORDER]
            return self._order(source, moments=tuple(sorted(latest_moments)))
        return None

    def _order(self, source: str, *, wanted: tuple[Wanted, ...] = (), moments: tuple[int, ...] = ()) -> Order:
        facts = self._media.facts[source]
        # What is asked of a file goes when its facts change.
        assert isinstance(facts, MediaFacts)
        path = self._session.folder / source
        return Order(source=source, path=path, facts=facts, wanted=wanted, moments=moments)

    def _on_made(self, result: object) -> None:
        assert isinstance(result, Made)
        source = result.order.source
        if self._media.facts.get(source) != result.order.facts:
            return  # of a file that is another one by now
        for wanted, image in result.images.items():
            key = (source, _step(result.order.facts, wanted.seconds), wanted.height_px)
            self._asked.pop(key, None)
            if image is None:
                self._nothing.add(key)
            else:
                self._hold(key, image)
        if result.colours:
            self._colours.setdefault(source, {}).update(result.colours)
            asked = self._moments.get(source, {})
            for moment in result.colours:
                asked.pop(moment, None)
            if not asked:
                self._moments.pop(source, None)
        if result.fault:
            self._give_up(source)
        if result.images or result.colours:
            self._say(source)

    def _on_failed(self) -> None:
        self._give_up(self._source)

    def _on_finished(self) -> None:
        self._job = None
        if self._asked or self._moments:
            self._start_next()

    def _hold(self, key: _Key, image: QImage) -> None:
        if (before := self._images.pop(key, None)) is not None:
            self._bytes -= before.sizeInBytes()
        image.setDevicePixelRatio(_pixel_ratio())
        self._images[key] = image
        self._bytes += image.sizeInBytes()
        while self._bytes > self._limit_bytes and len(self._images) > 1:
            oldest = next(iter(self._images))
            self._bytes -= self._images.pop(oldest).sizeInBytes()

    def _give_up(self, source: str) -> None:
        self._unreadable.add(source)
        self._forget_asked(source)

    def _forget_asked(self, source: str) -> None:
        self._moments.pop(source, None)
        for key in [key for key in self._asked if key[0] == source]:
            del self._asked[key]

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        for path in sorted(paths & self._sources):
            self._unreadable.discard(path)
            self._forget_asked(path)
            self._colours.pop(path, None)
            self._nothing = {key for key in self._nothing if key[0] != path}
            for key in [key for key in self._images if key[0] == path]:
                self._bytes -= self._images.pop(key).sizeInBytes()
            self._say(path)

    def _say(self, source: str) -> None:
        self._news[source] = None
        if not self._telling.isActive():
            self._telling.start()

    def _tell(self) -> None:
        news, self._news = self._news, {}
        for source in news:
            self.made.emit(source)

    def _on_film_changed(self) -> None:
        if self._news:
            self._telling.start()


def _pixel_ratio() -> float:
    """Return that of the sharpest screen."""
    return max((screen.devicePixelRatio() for screen in QGuiApplication.screens()), default=1.0)


def _clock(facts: MediaFacts) -> tuple[Fraction, int]:
    """Return how many steps a second pictures are told apart by, and the last step."""
    picture = facts.picture
    if picture is None:
        return Fraction(1), 0
    if picture.variable:
        steps = Fraction(_VARIABLE_STEPS_PER_SECOND)
        return steps, math.floor(picture.seconds * steps)
    return picture.rate.fraction, picture.frames - 1


def _step(facts: MediaFacts, seconds: Fraction) -> int:
    """Return the step whose frame is on screen at a place: all places within it are one.

    Asked for each picture that is painted, so in whole numbers.
    """
    steps, last = _clock(facts)
    step = seconds.numerator * steps.numerator // (seconds.denominator * steps.denominator)
    return min(max(step, 0), last)


def _moments(clip: Clip, count: int, film_seconds: float) -> list[int]:
    """Return places spread over a clip, in ticks of its source.

    They lie on steps that double, so that a longer or shorter clip of the same footage has most of them in
    common.
    """
    start = float(clip.in_seconds) * TICKS_PER_SECOND
    length = film_seconds * float(clip.speed) * TICKS_PER_SECOND
    count = max(1, count)
    step = 1
    while step * 2 <= length / count:
        step *= 2
    first, last = math.ceil(start), max(math.ceil(start), math.ceil(start + length) - 1)
    places = (start + (index + 0.5) * length / count for index in range(count))
    return [min(max(int(place) // step * step, first), last) for place in places]
