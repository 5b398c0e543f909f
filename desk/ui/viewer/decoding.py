"""Pictures made in a thread of their own: the newest one that is wanted, and those that are played next.

The window's thread says what it wants and is never held. Of what is wanted for the same place on the screen
only the newest is made; what is shown there stays until then, or until a near frame is there that bridges a
longer wait.
"""

import logging
import threading
import time
from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QImage

from desk.errors import DeskError
from desk.render.showing import Origin, Shown
from desk.ui.viewer.bridging import Bridging, BrokenOff, OwnMaker, near_of
from desk.ui.viewer.kits import Kits
from desk.ui.viewer.pictures import MakeMaker, Picture, Run, Wish

_MOST_LEAD_SECONDS = 2
_LEAST_PICTURES_HZ = 4
"""While the playhead is dragged, so many pictures a second are made to the end rather than broken off."""

_LONGEST_SECONDS = 0.5
"""One that takes longer is broken off in any case when another one is wanted."""

_log = logging.getLogger(__name__)


class Decoding(QObject):
    """Has pictures made.

    Signals, in the window's thread:
        made: A picture that was wanted: the place on the screen that it is for, and the `Picture`.
        ahead: Another picture of the run is ready.
    """

    made = Signal(str, object)
    ahead = Signal()

    _made = Signal(str, object)
    _ahead = Signal()

    def __init__(self, kits: Kits, make_maker: MakeMaker, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._made.connect(self.made, Qt.ConnectionType.QueuedConnection)
        self._ahead.connect(self.ahead, Qt.ConnectionType.QueuedConnection)
        self._worker = _Worker(kits, make_maker, self._made.emit, self._ahead.emit)
        # Whoever forgets to close it is no reason for a thread that talks to what is gone.
        self.destroyed.connect(self._worker.close)

    def want(self, place: str, wish: Wish) -> None:
        """Have a picture made for a place on the screen, instead of what was wanted for it before.

        Args:
            place: Name of the place.
            wish: The picture.
        """
        self._worker.want(place, wish)

    def forget(self, place: str) -> None:
        """Want nothing for a place any more."""
        self._worker.forget(place)

    def play(self, run: Run | None) -> None:
        """Have the pictures of a run made ahead, instead of those of the run before; None for no run."""
        self._worker.play(run)

    def take(self, step: int) -> Picture | None:
        """Return the picture of a step of the run when it is ready; earlier ones are dropped."""
        return self._worker.take(step)

    def is_ready(self, step: int) -> bool:
        """Return whether the picture of a step of the run is ready."""
        return self._worker.is_ready(step)

    def renew(self) -> None:
        """Look again which pieces there are, before the next picture."""
        self._worker.renew()

    def close(self) -> None:
        """End the thread, and wait for it."""
        self._worker.close()


class _Worker:
    """The thread, and what it is asked for. It begins with the first wish."""

    def __init__(
        self,
        kits: Kits,
        make_maker: MakeMaker,
        made: Callable[[str, Picture], None],
        ahead: Callable[[], None],
    ) -> None:
        self._made = made
        self._ahead = ahead
        self._changed = threading.Condition()
        self._wishes: dict[str, Wish] = {}
        self._run: Run | None = None
        self._bridged: Wish | None = None
        self._is_closed = False
        self._bridging = Bridging(kits, make_maker, self._on_near)
        self._thread: threading.Thread | None = None
        # Of the thread alone:
        self._maker = OwnMaker(kits, make_maker, self._check)
        self._lead = 1
        self._place = ""
        self._playing: Run | None = None
        self._begun = self._last_made = 0.0
        self._is_bridged = False

    def want(self, place: str, wish: Wish) -> None:
        with self._changed:
            self._wishes[place] = wish
            self._wake()
            is_busy = bool(self._place)
        if is_busy and wish.may_be_near:
            self._bridging.want(place, wish)

    def forget(self, place: str) -> None:
        with self._changed:
            self._wishes.pop(place, None)

    def play(self, run: Run | None) -> None:
        with self._changed:
            self._run = run
            self._wake()

    def take(self, step: int) -> Picture | None:
        with self._changed:
            run = self._run
            if run is None:
                return None
            run.due = step
            for past in [other for other in run.ready if other < step]:
                del run.ready[past]
            picture = run.ready.pop(step, None)
            self._changed.notify_all()
            return picture

    def is_ready(self, step: int) -> bool:
        with self._changed:
            return self._run is not None and step in self._run.ready

    def renew(self) -> None:
        self._maker.outdate()
        self._bridging.renew()

    def close(self) -> None:
        with self._changed:
            self._is_closed = True
            self._run = None
            self._wishes.clear()
            self._changed.notify_all()
            thread, self._thread = self._thread, None
        self._bridging.close()
        if thread is not None:
            thread.join()

    def _wake(self) -> None:
        if self._is_closed:
            return
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, name="desk-viewer-picture", daemon=True)
            self._thread.start()
        self._changed.notify_all()

    # -- in the thread

    def _work(self) -> None:
        try:
            while not self._is_closed:
                self._work_once()
        finally:
            self._maker.close()

    def _work_once(self) -> None:
        with self._changed:
            while not self._is_closed and not self._wishes and self._next_step() is None:
                self._changed.wait()
            if self._is_closed:
                return
            place, wish = next(iter(self._wishes.items()), ("", None))
            run, step = self._run, self._next_step()
            if wish is not None:
                del self._wishes[place]
            elif run is not None and step is not None:
                frame = run.course.frame(step)
                run.next = step + 1
                wish = Wish(subject=run.subject, frame=frame, width_px=run.width_px, height_px=run.height_px)
            self._place, self._playing, self._begun = place, run, time.monotonic()
            self._is_bridged = False
        if wish is None:
            return
        try:
            if place:
                self._bridge(place, wish)
            picture = self._picture(wish)
        except BrokenOff:
            return
        finally:
            self._place = ""
        if place:
            self._put(place, picture)
            return
        assert run is not None
        assert step is not None
        if self._is_in_time(run, step, picture) and not self._is_closed:
            self._ahead()

    def _is_in_time(self, run: Run, step: int, picture: Picture) -> bool:
        """Keep a picture of the run if its time is not over; returns whether it was kept."""
        with self._changed:
            if run is not self._run:
                return False
            if step < run.due:
                # Aim further ahead, so that the next ones are ready before their time and follow each other.
                most = int(_MOST_LEAD_SECONDS * run.course.rate.fraction)
                self._lead = min(2 * self._lead + 1, most)
                return False
            self._lead = max(1, self._lead - 1)
            run.ready[step] = picture
            return True

    def _check(self) -> None:
        """Break off a picture that is of no use any more."""
        if self._place:
            # Something is to be seen now and then, however fast the playhead goes.
            now = time.monotonic()
            is_recent = now - self._last_made < 1 / _LEAST_PICTURES_HZ
            is_enough = self._is_bridged or is_recent or now - self._begun > _LONGEST_SECONDS
            is_over = self._place in self._wishes and is_enough
        else:
            is_over = self._playing is not self._run
        if is_over or self._is_closed:
            raise BrokenOff

    def _next_step(self) -> int | None:
        """Return the step that is made next, or None where enough is ready or the run is at its end."""
        run = self._run
        if run is None or len(run.ready) >= run.ahead:
            return None
        step = run.next
        if 0 < step <= run.due:
            # What would come too late is passed over.
            step = run.due + self._lead
        steps = run.course.steps
        return None if steps is not None and step >= steps else step

    def _put(self, place: str, picture: Picture) -> None:
        """Have a picture shown, unless a near frame of what is wanted by now is on already."""
        with self._changed:
            wish = self._wishes.get(place)
            if not self._is_closed and (wish is None or wish is not self._bridged):
                self._last_made = time.monotonic()
                self._made(place, picture)

    def _bridge(self, place: str, wish: Wish) -> None:
        """Show a near frame where the one that is wanted takes long."""
        near = near_of(self._maker, wish)
        if near is not None:
            self._is_bridged = True
            self._put(place, _picture_of(wish, near))

    def _on_near(self, place: str, wish: Wish, near: Shown) -> None:
        """Show a near frame of what waits for another frame; called in the thread that makes those."""
        picture = _picture_of(wish, near)
        with self._changed:
            if self._wishes.get(place) is wish and not self._is_closed:
                self._bridged = wish
                self._made(place, picture)

    def _picture(self, wish: Wish) -> Picture:
        note, shown = "", None
        try:
            if 0 <= wish.frame < wish.subject.reel.frames:
                maker = self._maker.for_subject(wish.subject)
                shown = maker.picture(wish.subject.reel, wish.frame, wish.width_px, wish.height_px)
        except BrokenOff:
            raise
        except DeskError as error:
            note = str(error)
        except Exception:  # noqa: BLE001 - a fault of our own is told, and the next picture is tried
            _log.exception("frame %d could not be shown", wish.frame)
            note = "This frame can't be shown."
        return _picture_of(wish, shown, note)


def _picture_of(wish: Wish, shown: Shown | None, note: str = "") -> Picture:
    """Return what was made for a wish as Qt takes it; without anything to see where nothing was made."""
    image, pixels = QImage(), None
    if shown is not None:
        # FFmpeg may put rows apart from each other, which Qt doesn't take.
        pixels = np.ascontiguousarray(shown.pixels)
        height, width = pixels.shape[:2]
        image = QImage(pixels.data, width, height, pixels.strides[0], QImage.Format.Format_RGB32)
    return Picture(
        subject=wish.subject,
        frame=wish.frame,
        image=image,
        pixels=pixels,
        origin=shown.origin if shown else Origin.MISSING,
        note=shown.note if shown else note,
    )
