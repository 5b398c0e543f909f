"""The picture at the playhead while it stands, and both sides of a cut while one is worked at."""

from enum import StrEnum

from PySide6.QtCore import QObject, QTimer, Signal

from desk.film.model import Size
from desk.render.showing import Origin
from desk.ui.bench import Bench
from desk.ui.viewer.decoding import Decoding
from desk.ui.viewer.pictures import Picture, Wish
from desk.ui.viewer.sides import LATE_MS, CutLook, Sides
from desk.ui.viewer.stage import Stage

_MAIN = "main"
_FIRST_SIZE = Size(640, 360)


class Lag(StrEnum):
    """How the picture that is on is not the frame that is stood on; the value says it to the person."""

    NONE = ""
    NEAR = Origin.NEAR.value
    KEPT = "another frame stays on, while the exact one is made"


class Stills(QObject):
    """Has the picture made of the frame that is stood on, as large as it is shown.

    Signals:
        pictured: Another picture is on; a `Picture`, or None where there is none to show.
        looked: The frames beside a cut that is worked at; a `CutLook`, or None when that is over.
        lagged: The picture that is on is not the frame that is stood on, or is again; a `Lag`.
    """

    pictured = Signal(object)
    looked = Signal(object)
    lagged = Signal(object)

    def __init__(self, bench: Bench, stage: Stage, decoding: Decoding, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._stage = stage
        self._decoding = decoding
        self._sides = Sides(bench, stage, decoding, self)
        self._sizes: dict[str, Size] = {}
        self._frame = 0
        self._rests = False
        self._picture: Picture | None = None
        self._lag = Lag.NONE
        self._lagging = QTimer(self, singleShot=True, interval=LATE_MS)
        self._lagging.timeout.connect(self._on_late)
        # What is wanted several times in one turn, as by an edit that ends a drag, is asked for once.
        self._asking = QTimer(self, singleShot=True, interval=0)
        self._asking.timeout.connect(self._ask)
        self._sides.looked.connect(self.looked)
        decoding.made.connect(self._on_made)

    @property
    def picture(self) -> Picture | None:
        """The picture that is on."""
        return self._picture

    @property
    def lag(self) -> Lag:
        """How the picture that is on is not the frame that is stood on."""
        return self._lag

    @property
    def look(self) -> CutLook | None:
        """The frames beside the cut that is worked at, or None."""
        return self._sides.look

    @property
    def size(self) -> Size:
        """How large pictures are made: as the largest view shows them, up to the film's size."""
        largest = max(self._sizes.values(), key=lambda size: size.width, default=_FIRST_SIZE)
        return min((largest, self._stage.subject.film.size), key=lambda size: size.width)

    def set_size(self, who: str, size: Size | None) -> None:
        """Say how large a view shows the frame; see `Player.set_size`."""
        if size is None:
            self._sizes.pop(who, None)
        else:
            self._sizes[who] = size

    def want(self, frame: int) -> None:
        """Have a frame made and shown; the picture that is on stays until then."""
        self._frame = frame
        self._rests = False
        self._asking.start()

    def rest(self) -> None:
        """Want nothing, while something is played."""
        self._rests = True
        self._asking.stop()
        self._decoding.forget(_MAIN)
        self._keep_up()

    def put(self, picture: Picture | None) -> None:
        """Show a picture that was made for a run, or none."""
        self._picture = picture
        self.pictured.emit(picture)

    def close(self) -> None:
        """Ask for nothing more."""
        self._asking.stop()
        self._lagging.stop()

    def _ask(self) -> None:
        size, subject = self.size, self._stage.subject
        self._sides.ask(Size(max(2, size.width // 2), max(2, size.height // 2)))
        if self._sides.is_on or not subject.frames:
            self._decoding.forget(_MAIN)
            self._keep_up()
            if not subject.frames:
                self.put(None)
            return
        frame = min(self._frame, subject.frames - 1)
        on = self._picture
        if self._is_exact(on):
            self._keep_up()
        elif self._lag is Lag.NONE and not self._lagging.isActive():
            self._lagging.start()
        is_of_it = on is not None and on.subject is subject and on.origin is not Origin.NEAR
        wish = Wish(
            subject=subject,
            frame=frame,
            width_px=size.width,
            height_px=size.height,
            may_be_near=True,
            on=on.frame if on is not None and is_of_it else None,
        )
        self._decoding.want(_MAIN, wish)

    def _on_made(self, place: str, picture: Picture) -> None:
        subject = self._stage.subject
        is_same = (picture.subject.kind, picture.subject.name) == (subject.kind, subject.name)
        if place == _MAIN and is_same and not self._rests:
            if self._is_exact(picture):
                self._keep_up()
            elif picture.origin is Origin.NEAR or self._lag is not Lag.NONE:
                self._on_late(picture)
            self.put(picture)

    def _is_exact(self, picture: Picture | None) -> bool:
        """Return whether a picture is what is stood on, as it is now."""
        subject = self._stage.subject
        frame = min(self._frame, subject.frames - 1)
        return (
            picture is not None
            and picture.subject is subject
            and picture.frame == frame
            and picture.origin is not Origin.NEAR
        )

    def _keep_up(self) -> None:
        self._lagging.stop()
        self._tell_lag(Lag.NONE)

    def _on_late(self, picture: Picture | None = None) -> None:
        on = picture or self._picture
        self._lagging.stop()
        self._tell_lag(Lag.NEAR if on is not None and on.origin is Origin.NEAR else Lag.KEPT)

    def _tell_lag(self, lag: Lag) -> None:
        if lag is not self._lag:
            self._lag = lag
            self.lagged.emit(lag)
