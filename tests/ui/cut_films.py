"""A film to cut by keys, and a bench that remembers what it says."""

import dataclasses
from fractions import Fraction

from PySide6.QtCore import QObject

from desk.film.model import (
    Candidate,
    Clip,
    ClipSound,
    Cue,
    Film,
    Placement,
    SceneContent,
    SoundKind,
    Spot,
)
from desk.ui.bench import Bench
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.cutting.keys.rows import rows
from tests.film.editing import locked
from tests.film.films import small_film

ROWS = {row.id: row for row in rows()}


def cut_film() -> Film:
    """Scene 1 has four clips with 12 frames of black before the third, two spots and a cue with music and one
    without; scene 2 has a clip, scene 3 none, and scene 4 is locked.

    Clips of scene 1 from its start: c1 0-48, c2 48-120, black 120-132, c3 132-192, c4 192-222.
    """
    film = small_film()
    content = SceneContent(
        clips=(
            Clip(id="c1", source="footage/1/quay.mov", in_seconds=Fraction(2), length_frames=48),
            Clip(
                id="c2",
                source="footage/1/kiosk.mov",
                in_seconds=Fraction(3),
                length_frames=72,
                sound=ClipSound(gain_db=-2.0, lead_frames=4, lag_frames=6, fade_in_frames=3),
            ),
            Clip(
                id="c3",
                source="footage/1/rope.mov",
                in_seconds=Fraction(5),
                length_frames=60,
                gap_frames=12,
                speed=Fraction(1, 2),
            ),
            Clip(
                id="c4",
                source="footage/1/gulls.mov",
                in_seconds=Fraction(1),
                length_frames=30,
                sound=ClipSound(
                    kind=SoundKind.SEPARATE, file="sound/gulls.wav", offset_seconds=Fraction(1, 2)
                ),
            ),
        ),
        cues=(
            Cue(
                id="m1",
                label="m1",
                start_frames=20,
                length_frames=100,
                candidates=(
                    Candidate(id="a1", file="music/tide.wav", in_seconds=Fraction(4), fade_out_frames=5),
                ),
                chosen="a1",
            ),
            Cue(id="m2", label="m2", start_frames=150, length_frames=40),
        ),
        spots=(
            Spot(
                id="f1",
                file="effects/horn.wav",
                label="horn",
                start_frames=10,
                length_frames=24,
                in_seconds=Fraction(1),
            ),
            Spot(id="f2", file="effects/rope.wav", label="rope", start_frames=140, length_frames=12),
        ),
    )
    others = {"s2": "c8", "s4": "c9"}
    scenes = [dataclasses.replace(film.scene("s1"), content=content)]
    for scene in film.scenes[1:]:
        clips = tuple(dataclasses.replace(clip, id=others[scene.id]) for clip in scene.content.clips)
        scenes.append(dataclasses.replace(scene, content=dataclasses.replace(scene.content, clips=clips)))
    film = dataclasses.replace(
        film,
        scenes=tuple(scenes),
        order=tuple(Placement(entry=item) for item in ("k1", "s1", "s2", "s3", "s4", "k2")),
        aside=(),
    )
    return locked(film, "s4")


class Told(QObject):
    """What a bench has said in passing."""

    def __init__(self, bench: Bench):
        super().__init__(bench.session)
        self.said: list[str] = []
        bench.messages.noticed.connect(self._on_noticed)

    @property
    def last(self) -> str:
        """What was said last, which is then forgotten, or ""."""
        return self.said.pop() if self.said else ""

    def _on_noticed(self, notice: object) -> None:
        self.said.append(notice.text)


def do(bench: Bench, *ids: str) -> None:
    """Do what rows of the table do, as their keys would."""
    for row_id in ids:
        ROWS[row_id].call(CutEdits.of(bench))


def content_now(bench: Bench, scene_id: str = "s1") -> SceneContent:
    return bench.session.film.scene(scene_id).content
