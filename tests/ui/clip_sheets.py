"""A clip sheet to test with, and how a person fills it."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from desk.film.model import Clip, Film, Scene
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.clip_sheet import ClipSheet
from desk.ui.fields import LineField


def open_clip_sheet(
    qtbot, bench: Bench, scene_id: str, ids: Sequence[str] = (), *, size: tuple[int, int] = (280, 900)
) -> ClipSheet:
    """The sheet of what is selected in a scene, shown and with the focus of the keyboard."""
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(*size)
    sheet = ClipSheet(bench, window)
    # Nothing else holds the window.
    sheet.window_of_the_test = window
    sheet.resize(*size)
    bench.cut.open(scene_id)
    bench.cut.select(ids)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    return sheet


def put(qtbot, field: LineField, text: str) -> None:
    """Type a text in place of what a field holds, and press Return."""
    field.setFocus()
    field.edit.selectAll()
    qtbot.keyClicks(field.edit, text)
    qtbot.keyClick(field.edit, Qt.Key.Key_Return)


def scene_of(bench: Bench) -> Scene:
    """The scene that is cut."""
    scene = bench.cut.scene
    assert scene is not None
    return scene


def clip_of(film: Film, clip_id: str) -> Clip:
    """A clip by its id."""
    return next(clip for scene in film.scenes for clip in scene.content.clips if clip.id == clip_id)
