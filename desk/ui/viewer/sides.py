"""The two frames beside a cut that is worked at."""

import dataclasses
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from desk.film.cut_view import OnScreen, edge
from desk.film.model import Size
from desk.ui.bench import Bench
from desk.ui.viewer.decoding import Decoding
from desk.ui.viewer.pictures import Picture, Wish
from desk.ui.viewer.stage import Stage
from desk.ui.viewer.subject import Kind

BEFORE, AFTER = "before", "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class SideLook:
    """What is on one side of a cut.

    Attributes:
        name: What it is, for the person: `Last of C0001.mp4`.
        picture: The frame, or None where there is none, or it is not made yet.
        words: What stands in its place, or "".
    """

    name: str
    picture: Picture | None = None
    words: str = ""


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
            if self._look is not None:
                self._put(None)
            return
        frames = {BEFORE: trial.edge - 1, AFTER: trial.edge}
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

    def _side(self, which: str, seen: OnScreen | None, before: SideLook | None) -> SideLook:
        picture = before.picture if before is not None else None
        return SideLook(
            name="Black" if seen is None else f"{which} {Path(seen.clip.source).name}", picture=picture
        )

    def _on_made(self, place: str, picture: Picture) -> None:
        look = self._look
        if look is None or place not in (BEFORE, AFTER):
            return
        side = dataclasses.replace(getattr(look, place), picture=picture, words=picture.note)
        self._put(dataclasses.replace(look, **{place: side}))

    def _put(self, look: CutLook | None) -> None:
        self._look = look
        self.looked.emit(look)
