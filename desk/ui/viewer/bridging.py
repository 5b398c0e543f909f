"""Near frames for what is wanted while another frame is still being made, in a thread of their own.

A decoder can't be stopped within a frame, which of 4K takes a tenth of a second; a near one does not wait
for it.
"""

import logging
import threading
from collections.abc import Callable

from desk.render.showing import Shown
from desk.ui.viewer.kits import Kits
from desk.ui.viewer.pictures import MakeMaker, PictureMaker, Wish
from desk.ui.viewer.subject import Subject

_log = logging.getLogger(__name__)


class BrokenOff(Exception):
    """Another picture is wanted by now than the one that was being made."""


class OwnMaker:
    """What makes the pictures of one thread, as it has to be for what is looked at now."""

    def __init__(self, kits: Kits, make_maker: MakeMaker, check: Callable[[], None]) -> None:
        self._kits = kits
        self._make_maker = make_maker
        self._check = check
        self._maker: PictureMaker | None = None
        self._made_for: Subject | None = None
        self._is_stale = False

    def outdate(self) -> None:
        """Have it look again which pieces there are. May be called from any thread."""
        self._is_stale = True

    def for_subject(self, subject: Subject) -> PictureMaker:
        """Return what makes pictures of a subject.

        Raises:
            FfmpegError: where ffmpeg is missing.
        """
        is_stale, self._is_stale = self._is_stale, False
        before = self._made_for
        if self._maker is None:
            self._maker = self._make_maker(self._kits.kit(subject), self._check)
        elif (
            is_stale
            or before is None
            or before.media is not subject.media
            or before.film.size != subject.film.size
        ):
            self._maker.renew(self._kits.kit(subject))
        self._made_for = subject
        return self._maker

    def close(self) -> None:
        """Close all files."""
        if self._maker is not None:
            self._maker.close()


class Bridging:
    """The thread, and what it is asked for. It begins with the first wish."""

    def __init__(self, kits: Kits, make_maker: MakeMaker, found: Callable[[str, Wish, Shown], None]) -> None:
        """Begin nothing yet.

        Args:
            kits: What an assembly is made with.
            make_maker: Makes what makes pictures.
            found: Told of a near frame, in the thread: for which place and which wish it is.
        """
        self._found = found
        self._changed = threading.Condition()
        self._wishes: dict[str, Wish] = {}
        self._is_closed = False
        self._thread: threading.Thread | None = None
        self._maker = OwnMaker(kits, make_maker, self._check)

    def want(self, place: str, wish: Wish) -> None:
        """Look for a near frame, instead of what was looked for at that place before."""
        with self._changed:
            if self._is_closed:
                return
            self._wishes[place] = wish
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="desk-viewer-near", daemon=True)
                self._thread.start()
            self._changed.notify_all()

    def renew(self) -> None:
        """Look again which pieces there are."""
        self._maker.outdate()

    def close(self) -> None:
        """End the thread, and wait for it."""
        with self._changed:
            self._is_closed = True
            self._wishes.clear()
            self._changed.notify_all()
            thread, self._thread = self._thread, None
        if thread is not None:
            thread.join()

    def _work(self) -> None:
        try:
            while True:
                with self._changed:
                    while not self._is_closed and not self._wishes:
                        self._changed.wait()
                    if self._is_closed:
                        return
                    place, wish = self._wishes.popitem()
                self._look_for(place, wish)
        finally:
            self._maker.close()

    def _look_for(self, place: str, wish: Wish) -> None:
        try:
            near = near_of(self._maker, wish)
        except BrokenOff:
            return
        if near is not None:
            self._found(place, wish, near)

    def _check(self) -> None:
        if self._is_closed or self._wishes:
            raise BrokenOff


def near_of(maker: OwnMaker, wish: Wish) -> Shown | None:
    """Return a near frame for a wish, or None where none is needed, allowed or there.

    Raises:
        BrokenOff: as the maker's check.
    """
    reel = wish.subject.reel
    if not wish.may_be_near or not 0 <= wish.frame < reel.frames:
        return None
    try:
        ready = maker.for_subject(wish.subject)
        return ready.near(reel, wish.frame, wish.width_px, wish.height_px, on=wish.on)
    except BrokenOff:
        raise
    except Exception:  # noqa: BLE001 - the frame itself is made all the same
        _log.exception("nothing near frame %d could be shown", wish.frame)
        return None
