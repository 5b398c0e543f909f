"""The Picture part of a scene's sheet: a still, the lanes, and what is to be said of the chosen clip."""

from collections.abc import Iterator
from fractions import Fraction
from typing import ClassVar

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from desk.film.locking import Part
from desk.film.model import Clip, Scene
from desk.film.paths import content_paths
from desk.film.timecode import format_length
from desk.film.timing import clip_starts, content_frames
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.cutting.lanes import Lanes
from desk.ui.labels import label
from desk.ui.scene.clip_facts import FileTrouble, clip_facts, file_name, file_trouble
from desk.ui.scene.empty_scene import EmptyScene
from desk.ui.scene.facts_view import FactsView
from desk.ui.scene.media_troubles import MediaTroubles
from desk.ui.scene.part import PartBody
from desk.ui.scene.still import STILL_PX, StillView
from desk.ui.scene.worth_a_look import LooksLabel, clip_looks
from desk.ui.scene_place import ScenePlaces

_LONGEST_NOTE = 240
_ASK_MS = 60
"""How long the playhead has to stand before its picture is asked for: dragging it asks for none."""


class PictureBody(PartBody):
    """Shows the picture of a scene: all that its clips are made of.

    Attributes:
        lanes: The lanes to scale.
        still: The picture at the playhead.
        facts: What is to be said of the chosen clip.
        note: The words about it.
        troubles: Files that are not as they should be.
        empty: What stands there while the scene has no clips.
    """

    part: ClassVar[Part] = Part.PICTURE
    title: ClassVar[str] = "Picture"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._clip_id = ""
        self._remarks: dict[str, tuple[str, ...]] = {}
        self._places = ScenePlaces(bench.session, self)
        self.lanes = Lanes(bench)
        self.still = StillView(bench.theme)
        self.facts = FactsView()
        self.troubles = MediaTroubles(bench)
        self.empty = EmptyScene(bench)
        self.note = label("", self, kind="dim", wraps=True)
        self.looks = LooksLabel()
        self.remarks = LooksLabel()
        self.place = QLabel()
        self.film_place = QLabel()
        self.film_place.setProperty("kind", "dim")
        self._ask_timer = QTimer(self, singleShot=True, interval=_ASK_MS)
        self._ask_timer.timeout.connect(self._ask_for_still)
        self._arrange()
        self.empty.taken.connect(self._on_taken)
        bench.cut.moved.connect(self._on_moved)
        bench.cut.selected.connect(self._on_selected)
        bench.thumbnails.made.connect(self._on_made)
        bench.session.changed.connect(self._show_place)

    def show_scene(self, scene: Scene) -> None:
        self.bench.cut.open(scene.id)
        film = self.bench.session.film
        clips = scene.content.clips
        self._clip_id = self._clip_now(scene)
        self.still.set_frame(film.size)
        self.empty.setVisible(not clips)
        self._above.setVisible(bool(clips))
        self._line.setVisible(bool(clips))
        self.lanes.setVisible(bool(clips or scene.content.cues or scene.content.spots))
        if not clips:
            self.empty.show_scene(scene)
        self.remarks.say(self._remarks.get(scene.id, ()) if clips else ())
        self.troubles.show_troubles(tuple(_troubles(scene, self.bench)))
        self._show_clip()
        self._show_place()
        self._ask_for_still()

    def open_lines(self, scene: Scene) -> tuple[str, ...]:
        # A lock that does not hold is about its files: the part is not settled while it lasts.
        return (*super().open_lines(scene), *self.bench.statuses.of(scene).broken)

    def summary(self, scene: Scene) -> str:
        clips = scene.content.clips
        if not clips:
            return "no clips yet"
        length = format_length(content_frames(scene.content), self.bench.session.film.rate)
        parts = [f"{counted(len(clips), 'clip')}, {length}"]
        facts = self.bench.media.facts
        if gone := sum(not self.bench.media.is_present(path) for path in content_paths(scene.content)):
            parts.append(f"{counted(gone, 'file')} missing")
        elif changed := sum(1 for _ in _troubles(scene, self.bench)):
            parts.append(f"{counted(changed, 'file')} changed")
        elif scene.content.clips and not facts:
            parts.append("files not looked at yet")
        return " · ".join(parts)

    def _arrange(self) -> None:
        self._above = QWidget()
        above = QHBoxLayout(self._above)
        above.setContentsMargins(0, 0, 0, 0)
        above.setSpacing(16)
        above.addWidget(self.still, 3)
        above.addWidget(self.facts, 2)
        self._line = QWidget()
        line = QHBoxLayout(self._line)
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(self.place)
        line.addStretch(1)
        line.addWidget(self.film_place)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        for widget in (
            self.troubles,
            self.empty,
            self._above,
            self.note,
            self.looks,
            self._line,
            self.lanes,
            self.remarks,
        ):
            page.addWidget(widget)

    def _scene(self) -> Scene | None:
        return self.bench.cut.scene

    def _clip(self, scene: Scene) -> Clip | None:
        return next((clip for clip in scene.content.clips if clip.id == self._clip_id), None)

    def _clip_now(self, scene: Scene) -> str:
        """Return the clip that was selected last, or that at the playhead, or ""."""
        main = self.bench.cut.main
        if any(clip.id == main for clip in scene.content.clips):
            return main
        return _clip_at(scene, self.bench.cut.frame)

    def _show_clip(self) -> None:
        scene = self._scene()
        clip = self._clip(scene) if scene else None
        self.note.setVisible(clip is not None and bool(clip.note.strip()))
        if scene is None or clip is None:
            self.looks.say(())
            return
        self.note.setText(shortened(clip.note))
        self.note.setToolTip(clip.note if self.note.text() != clip.note else "")
        film, known = self.bench.session.film, self.bench.media.facts
        number = scene.content.clips.index(clip) + 1
        heading = f"Clip {number} of {len(scene.content.clips)}"
        self.facts.show_facts(heading, clip_facts(film, scene, clip, known))
        self.looks.say(clip_looks(film, scene, clip, known))

    def _show_place(self) -> None:
        scene = self._scene()
        if scene is None or not scene.content.clips:
            return
        rate = self.bench.session.film.rate
        length = format_length(content_frames(scene.content), rate)
        self.place.setText(f"{format_length(self.bench.cut.frame, rate)} of {length}")
        self.place.setAccessibleName(f"Playhead at {self.place.text()}")
        label = self._places.label(scene.id, self.bench.cut.frame)
        self.film_place.setText(f"film {label}" if label else "set aside, not in the film")

    def _ask_for_still(self) -> None:
        """Show the picture at the playhead, or ask for it."""
        self._ask_timer.stop()
        scene = self._scene()
        if scene is None or not scene.content.clips:
            return
        found = _at(scene, self.bench.cut.frame)
        if found is None:
            self.still.show_words("Black.")
            return
        clip, into = found
        if not self.bench.media.is_present(clip.source):
            self.still.show_words(f"{file_name(clip.source)} is missing or can't be read.")
            return
        film = self.bench.session.film
        seconds: Fraction = clip.in_seconds + film.rate.seconds(into) * clip.speed
        image = self.bench.thumbnails.picture(clip.source, seconds, height_px=STILL_PX)
        place = format_length(self.bench.cut.frame, film.rate)
        if image is not None and not image.isNull():
            self.still.show_picture(image, clip.framing, scene.number, place)
        elif self.still.place != place:
            self.still.show_words("")

    def _show_other_clip(self) -> None:
        """Show what is to be said of the clip, if it is another one."""
        scene = self._scene()
        clip_id = self._clip_now(scene) if scene else ""
        if clip_id != self._clip_id:
            self._clip_id = clip_id
            self._show_clip()

    def _on_selected(self, _: object) -> None:
        self._show_other_clip()

    def _on_moved(self, _: int) -> None:
        self._show_other_clip()
        self._show_place()
        self._ask_timer.start()

    def _on_made(self, source: str) -> None:
        scene = self._scene()
        found = _at(scene, self.bench.cut.frame) if scene else None
        if found is not None and found[0].source == source and not self._ask_timer.isActive():
            self._ask_for_still()

    def _on_taken(self, scene_id: str, remarks: tuple[str, ...]) -> None:
        self._remarks[scene_id] = remarks
        scene = self._scene()
        if scene is not None and scene.id == scene_id:
            self.remarks.say(remarks)


def shortened(note: str) -> str:
    """Return a note as one line that does not fill the sheet."""
    text = " ".join(note.split())
    return text if len(text) <= _LONGEST_NOTE else f"{text[: _LONGEST_NOTE - 1]}…"


def _at(scene: Scene, frame: int) -> tuple[Clip, int] | None:
    """Return the clip at a frame of a scene, and how many frames into it that is."""
    clips = scene.content.clips
    for clip, start in zip(clips, clip_starts(scene.content), strict=True):
        if start <= frame < start + clip.length_frames:
            return clip, frame - start
    return None


def _clip_at(scene: Scene, frame: int) -> str:
    """Return the clip at a frame of a scene, or ""; the black before a clip belongs to it."""
    clips = scene.content.clips
    starts = clip_starts(scene.content)
    return next(
        (clip.id for clip, start in zip(clips, starts, strict=True) if frame < start + clip.length_frames), ""
    )


def _troubles(scene: Scene, bench: Bench) -> Iterator[FileTrouble]:
    for path in content_paths(scene.content):
        if trouble := file_trouble(scene, path, bench.media.facts):
            yield trouble
