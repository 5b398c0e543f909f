"""How loud the voices of a scene are meant to be: the film's loudness of voices, and the scene's offset."""

import dataclasses
import functools

from PySide6.QtWidgets import QGridLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, Scene
from desk.ui.bench import Bench
from desk.ui.fields import NumberField, attempt
from desk.ui.labels import label
from desk.ui.scene.voices.rows import figure, target_lufs

_STEP = 0.5


class Targets(QWidget):
    """Two fields and what comes of them.

    Attributes:
        film_lufs: How loud the film's voices are.
        offset_lu: How much louder, or softer, those of the scene are.
        words: How loud those of the scene are meant to be with that.
    """

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene_id = ""
        self.film_lufs = NumberField(
            "Loudness of the film’s voices", self._take_film, self, unit="LUFS", step=_STEP, whole=False
        )
        self.offset_lu = NumberField(
            "By how much the voices of this scene are louder than the film’s",
            self._take_offset,
            self,
            unit="LU, below 0 for softer",
            step=_STEP,
            whole=False,
        )
        self.words = label("", self, kind="small", wraps=True)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        for row, (text, field) in enumerate(
            (("Voices of the film", self.film_lufs), ("This scene beside them", self.offset_lu))
        ):
            named = label(text, self, kind="dim")
            named.setBuddy(field)
            grid.addWidget(named, 2 * row, 0)
            grid.addWidget(field, 2 * row, 1)
            grid.addWidget(field.fault, 2 * row + 1, 0, 1, 2)
            field.left.connect(bench.session.end_gesture)
        grid.addWidget(self.words, 4, 0, 1, 2)

    def show_scene(self, film: Film, scene: Scene, reason: str) -> None:
        """Show what holds.

        Args:
            film: The film.
            scene: The scene.
            reason: Why the scene can't be changed, or "".
        """
        anew = scene.id != self._scene_id
        self._scene_id = scene.id
        self.film_lufs.show_number(film.delivery.voices_lufs, anew=anew)
        self.film_lufs.set_read_only(self._bench.session.read_only)
        self.offset_lu.show_number(scene.content.voices_offset_lu, anew=anew)
        self.offset_lu.set_read_only(reason)
        self.words.setText(
            f"The speech of this scene is meant to lie at {figure(target_lufs(film, scene))} LUFS in the "
            "mix, before the master. A whispered scene may lie lower, a shouted one higher."
        )

    def _take_film(self, value: float) -> str:
        return attempt(self._bench.session, functools.partial(_at, value), merge="film voices")

    def _take_offset(self, value: float) -> str:
        make = functools.partial(edits.set_voices_offset, scene_id=self._scene_id, offset_lu=value)
        return attempt(self._bench.session, make, merge=f"voices offset {self._scene_id}")


def _at(voices_lufs: float, film: Film) -> Edit:
    return edits.edit_film(film, delivery=dataclasses.replace(film.delivery, voices_lufs=voices_lufs))
