"""The two frames beside a cut that is worked at."""

import dataclasses
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from desk.film.cut_view import OnScreen, edge
from desk.film.model import Size
from desk.ui.bench import Bench
from desk.ui.viewer.decoding import Decoding
from desk.ui.viewer.pictures import Picture, Wish
from desk.ui.viewer.stage import Stage
from desk.ui.viewer.subject import Kind

BEFORE, AFTER = "before", "after"

LATE_MS = 50
"""A frame that takes longer is told to be on its way; one that comes sooner could not be read of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideLook:
    """What is on one side of a cut.

    Attributes:
        name: What it is, for the person: `Last of C0001.mp4`.
        picture: The frame, or None where there is none, or it is not made yet.
        words: What stands in its place, or "".
        is_late: Whether the picture is not this frame yet, and that is to be told.
    """

    name: str
    picture: Picture | None = None
    words: str = ""
    is_late: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLook:
    """What is on both sides of a cut that is worked at."""

    before: SideLook
    after: SideLook


class Sides(QObject):
    """Has the frames made on both sides of the cut at which something is dragged.

    Signals:
        looked: They are others; a `CutLook`, or None when nothing is dragged any more.
    """

    looked = Signal(object)

    def __init__(self, bench: Bench, stage: Stage, decoding: Decoding, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._stage = stage
        self._decoding = decoding
        self._look: CutLook | None = None
        self._frames: dict[str, int] = {}
        self._lagging = QTimer(self, singleShot=True, interval=LATE_MS)
        self._lagging.timeout.connect(self._on_late)
        decoding.made.connect(self._on_made)

    @property
    def look(self) -> CutLook | None:
        """What is on both sides, or None where nothing is dragged."""
        return self._look

    @property
    def is_on(self) -> bool:
        """Whether a cut is worked at now, so that its sides are looked at."""
        trial = self._bench.cut.trial
        return self._stage.kind is Kind.SCENE and trial is not None and trial.edge is not None

    def ask(self, size: Size) -> None:
        """Have both sides made as they are now, or end where nothing is dragged.

        Args:
            size: Of each picture.
        """
        trial, subject = self._bench.cut.trial, self._stage.subject
        if not self.is_on or trial is None or trial.edge is None:
            self._decoding.forget(BEFORE)
            self._decoding.forget(AFTER)
            self._lagging.stop()
            if self._look is not None:
                self._put(None)
            return
        frames = self._frames = {BEFORE: trial.edge - 1, AFTER: trial.edge}
        for place, frame in frames.items():
            if 0 <= frame < subject.frames:
                wish = Wish(subject=subject, frame=frame, width_px=size.width, height_px=size.height)
                self._decoding.want(place, wish)
            else:
                self._decoding.forget(place)
        sides = edge(subject.film.scene(subject.name).content, subject.rate, trial.edge)
        before = self._side("Last of", sides.before, self._look.before if self._look else None)
        after = self._side("First of", sides.after, self._look.after if self._look else None)
        if frames[BEFORE] < 0:
            before = SideLook(name="Before the scene", words="The scene begins here.")
        if frames[AFTER] >= subject.frames:
            after = SideLook(name="After the scene", words="The scene ends here.")
        self._put(CutLook(before=before, after=after))
        if not self._lagging.isActive() and any(self._is_behind(place) for place in frames):
            self._lagging.start()

    def _is_behind(self, place: str) -> bool:
        """Return whether what is on at a side is not the frame that belongs there."""
        if self._look is None or not 0 <= self._frames[place] < self._stage.subject.frames:
            return False
        picture = getattr(self._look, place).picture
        return picture is None or (picture.subject, picture.frame) != (
            self._stage.subject,
            self._frames[place],
        )

    def _on_late(self) -> None:
        if self._look is not None:
            late = {place: self._is_behind(place) for place in self._frames}
            sides = {
                place: dataclasses.replace(getattr(self._look, place), is_late=late[place]) for place in late
            }
            self._put(dataclasses.replace(self._look, **sides))

    def _side(self, which: str, seen: OnScreen | None, before: SideLook | None) -> SideLook:
        picture = before.picture if before is not None else None
        return SideLook(
            name="Black" if seen is None else f"{which} {Path(seen.clip.source).name}",
            picture=picture,
            is_late=before is not None and before.is_late,
        )

    def _on_made(self, place: str, picture: Picture) -> None:
        look = self._look
        if look is None or place not in (BEFORE, AFTER):
            return
        side = dataclasses.replace(getattr(look, place), picture=picture, words=picture.note)
        self._look = dataclasses.replace(look, **{place: side})
        if side.is_late and not self._is_behind(place):
            self._look = dataclasses.replace(look, **{place: dataclasses.replace(side, is_late=False)})
        if not any(self._is_behind(other) for other in self._frames):
            self._lagging.stop()
        self._put(self._look)

    def _put(self, look: CutLook | None) -> None:
        self._look = look
        self.looked.emit(look)
