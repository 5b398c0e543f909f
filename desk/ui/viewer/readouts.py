"""Where the viewer stands, in figures: in the scene, in the film, in the clip and in its source."""

import bisect
import math
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from PySide6.QtWidgets import QGridLayout, QWidget

from desk.errors import TimecodeError
from desk.film.cut_view import OnScreen, on_screen
from desk.film.media import MediaFacts
from desk.film.model import Scene
from desk.film.timecode import format_label, format_length, parse_label
from desk.film.timing import Include, Layout, Slot, lay_out
from desk.film.wording import entry_name, sentence
from desk.ui.elided import ElidedLabel
from desk.ui.labels import label
from desk.ui.look.type import SMALL_PX, TEXT_PX, sans
from desk.ui.session import Session
from desk.ui.viewer.player import Player
from desk.ui.viewer.subject import Kind, Subject

NONE = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the viewer stands, for the person.

    Attributes:
        scene: Time from the start of the scene, or of the footage.
        film: Timecode of the film.
        clip: What is on: a file, a card, or black.
        source: Timecode or time of the source.
        whole: What the scene's read-out counts: `Scene`, or `Footage`.
    """

    scene: str = NONE
    film: str = NONE
    clip: str = NONE
    source: str = NONE
    whole: str = "Scene"


class Readouts(QWidget):
    """Four small read-outs under the picture."""

    def __init__(self, session: Session, player: Player, parent: QWidget | None = None) -> None:
        """Follow a player; where its scene stands in the film may change without it."""
        super().__init__(parent)
        self._session = session
        self._player = player
        self._layout_of: tuple[Subject, Layout] | None = None
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(0)
        self._whole = label("Scene", self, kind="small")
        names = (self._whole, *(label(text, self, kind="small") for text in ("Film", "Clip", "Source")))
        self.scene, self.film, self.clip, self.source = (ElidedLabel("", self) for _ in names)
        values = (self.scene, self.film, self.clip, self.source)
        for column, (name, value) in enumerate(zip(names, values, strict=True)):
            name.setFont(sans(SMALL_PX))
            value.setFont(sans(TEXT_PX))
            grid.addWidget(name, 0, column)
            grid.addWidget(value, 1, column)
            grid.setColumnStretch(column, 3 if value is self.clip else 2)
        player.moved.connect(self.refresh)
        player.subject_changed.connect(self.refresh)
        session.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Say where the viewer stands now."""
        place = self._place()
        self._whole.setText(place.whole)
        for value, text, name in (
            (self.scene, place.scene, f"{place.whole} time"),
            (self.film, place.film, "Film timecode"),
            (self.clip, place.clip, "Clip"),
            (self.source, place.source, "Source time"),
        ):
            value.say(text)
            value.setAccessibleName(f"{name}: {text}")

    def _place(self) -> Place:
        player = self._player
        subject = player.subject
        if subject.kind is Kind.FOOTAGE:
            seconds = subject.rate.seconds(player.frame)
            facts = subject.media[subject.name]
            return Place(
                scene=format_length(player.frame, subject.rate),
                clip=Path(subject.name).name,
                source=source_label(facts, seconds),
                whole="Footage",
            )
        film_frame = player.film_frame
        film = NONE
        if film_frame is not None:
            now = self._session.film
            film = format_label(now.start_frames + film_frame, subject.rate, drop_frame=now.drop_frame)
        if not subject.frames:
            return Place(film=film)
        if subject.kind is Kind.SCENE:
            return self._in_scene(subject.film.scene(subject.name), player.frame, film)
        slot = self._slot(subject, player.frame)
        frame = player.frame - slot.start_frames
        if isinstance(slot.entry, Scene):
            return self._in_scene(slot.entry, frame, film)
        return Place(
            scene=format_length(frame, subject.rate), film=film, clip=sentence(entry_name(slot.entry))
        )

    def _in_scene(self, scene: Scene, frame: int, film: str) -> Place:
        subject = self._player.subject
        seen = on_screen(scene.content, subject.rate, frame)
        time = format_length(frame, subject.rate)
        if seen is None:
            return Place(scene=time, film=film, clip="Black")
        return Place(scene=time, film=film, clip=Path(seen.clip.source).name, source=self._source(seen))

    def _source(self, seen: OnScreen) -> str:
        return source_label(self._player.subject.media.get(seen.clip.source), seen.source_seconds)

    def _slot(self, subject: Subject, frame: int) -> Slot:
        if self._layout_of is None or self._layout_of[0] is not subject:
            self._layout_of = subject, lay_out(subject.film, Include.ALL)
        slots = self._layout_of[1].slots
        return slots[bisect.bisect_right(slots, frame, key=lambda slot: slot.start_frames) - 1]


def source_label(facts: MediaFacts | None, seconds: Fraction) -> str:
    """Return a place in a source as its timecode, or as time from its start where it has none.

    Args:
        facts: What was read of the source, or None.
        seconds: The place, from its first picture.
    """
    picture = facts.picture if facts is not None else None
    if facts is not None and picture is not None and facts.timecode and not picture.variable:
        try:
            first, drop_frame = parse_label(facts.timecode, picture.rate)
        except TimecodeError:
            pass
        else:
            index = min(math.floor(seconds * picture.rate.fraction), picture.frames - 1)
            return format_label(first + index, picture.rate, drop_frame=drop_frame)
    minutes, rest = divmod(seconds, 60)
    return f"{minutes}:{math.floor(rest):02}.{math.floor(rest * 1000) % 1000:03}"
