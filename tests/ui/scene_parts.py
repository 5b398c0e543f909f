"""What the tests of a scene's parts share: media that are known without files, and pictures of one colour."""

import dataclasses
from collections.abc import Iterable
from fractions import Fraction

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QWidget

from desk.film.edits import set_content
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, Scene, SceneContent
from desk.film.paths import film_paths
from desk.film.problem import MediaTrouble
from desk.ui.bench import Bench
from tests.film.films import facts, small_film

MISSING = MediaTrouble("It is missing.", "Connect its disk, or say where it is now.", "media.missing")


class KnownMedia(QObject):
    """Stands in for `desk.ui.media.Media`, with facts that a test gives."""

    changed = Signal(object)
    looking = Signal(object)

    def __init__(self, known: dict[str, MediaFacts | MediaTrouble], parent: QObject):
        super().__init__(parent)
        self.facts = known
        self.asked: tuple[str, ...] = ()

    def is_present(self, path: str) -> bool:
        return not isinstance(self.facts.get(path), MediaTrouble)

    def also(self, paths: Iterable[str]) -> None:
        self.asked = tuple(paths)

    def source_seconds(self) -> dict[str, Fraction]:
        read = {path: facts for path, facts in self.facts.items() if isinstance(facts, MediaFacts)}
        return {path: facts.picture.seconds for path, facts in read.items() if facts.picture}

    def now(self, **known: object) -> None:
        """Learn other facts and tell of it."""
        self.facts = {**self.facts, **known}
        self.changed.emit(frozenset(known))


class Swatches(QObject):
    """Stands in for `desk.ui.thumbnails.Thumbnails`: each picture is there once it was asked for and made."""

    made = Signal(str)

    def __init__(self, parent: QObject, *, at_once: bool = True):
        super().__init__(parent)
        self.at_once = at_once
        self.asked: list[tuple[str, Fraction, int]] = []
        self.size = (160, 90)
        self.colour = QColor("#4080c0")

    def picture(self, source: str, seconds: Fraction, *, height_px: int = 96) -> QImage | None:
        self.asked.append((source, seconds, height_px))
        if not self.at_once:
            return None
        width, height = self.size
        image = QImage(round(width * height_px / height), height_px, QImage.Format.Format_RGB32)
        image.fill(self.colour)
        return image

    def make(self, source: str) -> None:
        """Have all pictures of a source from now on."""
        self.at_once = True
        self.made.emit(source)


def with_media(bench: Bench, known: dict | None = None, *, pictures: bool = True) -> Bench:
    """A bench whose media and pictures are those of a test; by default every file is there."""
    if known is None:
        known = {path: facts() for path in paths(bench.session.film)}
    return dataclasses.replace(
        bench,
        media=KnownMedia(known, bench.session),
        thumbnails=Swatches(bench.session, at_once=pictures),
    )


def paths(film: Film) -> list[str]:
    return list(film_paths(film))


def scene_with(content: SceneContent, film: Film | None = None, scene_id: str = "s2") -> tuple[Film, Scene]:
    """A film whose scene 2 has a content of the test's own."""
    film = set_content(film or small_film(), scene_id, content, "For the test").after
    return film, film.scene(scene_id)


def many_clips(count: int) -> SceneContent:
    """A scene of short clips, in turn of ten sources."""
    return SceneContent(
        clips=tuple(
            Clip(
                id=f"c{1000 + place}",
                source=f"footage/2/{place % 10}.mov",
                in_seconds=Fraction(2 * place),
                length_frames=12 + place % 30,
            )
            for place in range(count)
        )
    )


def focus_chain(body: QWidget) -> list[QWidget]:
    """What Tab reaches in a part, in its order."""
    found, widget = [], body.nextInFocusChain()
    while widget is not body:
        if widget.isVisible() and widget.isEnabled() and widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
            found.append(widget)
        widget = widget.nextInFocusChain()
    return found
