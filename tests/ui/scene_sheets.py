"""A scene's sheet to test with, and what a person reads on it."""

from collections.abc import Callable, Iterator
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from desk.film.locking import Part
from desk.ui.bench import Bench
from desk.ui.scene.sheet import SceneSheet

Found = TypeVar("Found", bound=QDialog)


def open_sheet(qtbot, bench: Bench, scene_id: str, *, size: tuple[int, int] = (800, 900)) -> SceneSheet:
    """The sheet of a scene, shown and with the focus of the keyboard."""
    # In a window of its own, its changing least size would be told to a screen that is not there.
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(*size)
    sheet = SceneSheet(bench, window)
    # Nothing else holds the window.
    sheet.window_of_the_test = window
    sheet.resize(*size)
    bench.choice.choose(scene_id)
    bench.choice.chosen.connect(lambda entry: sheet.show_scene(entry) if entry else None)
    sheet.show_scene(scene_id)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    return sheet


def unfold(sheet: SceneSheet, *parts: Part) -> None:
    """Unfold parts, all without names."""
    for part, frame in sheet.frames.items():
        if part in parts or not parts:
            frame.set_unfolded(True)


def notices(bench: Bench) -> list[str]:
    """What is said in passing from now on."""
    heard: list[str] = []
    bench.messages.noticed.connect(lambda notice: heard.append(notice.text))
    return heard


def dialog_of(sheet: QWidget, kind: type[Found]) -> Found:
    """The dialog of a kind that is open."""
    (found,) = (dialog for dialog in sheet.findChildren(kind) if dialog.isVisible())
    return found


def focusable(widget: QWidget) -> Iterator[QWidget]:
    """Everything shown that the Tab key reaches."""
    for child in widget.findChildren(QWidget):
        if child.isVisibleTo(widget) and child.focusPolicy() & Qt.FocusPolicy.TabFocus:
            yield child


def name_of(widget: QWidget) -> str:
    """What a screen reader calls a widget."""
    interface = QAccessible.queryAccessibleInterface(widget)
    return interface.text(QAccessible.Text.Name) if interface else ""


def tab_through(sheet: QWidget) -> list[QWidget]:
    """The widgets that Tab visits, from the first round to where it begins again."""
    visited: list[QWidget] = []
    while True:
        sheet.focusNextChild()
        widget = QApplication.focusWidget()
        if widget is None or widget in visited:
            return visited
        visited.append(widget)


def is_done_undone_and_redone(bench: Bench, does: Callable[[], object]) -> None:
    """Do something in the window that has to be one step, take it back and do it again."""
    before, count = bench.session.film, bench.session.stack.index()
    does()
    after = bench.session.film
    assert after != before
    assert bench.session.stack.index() == count + 1
    assert bench.session.stack.undoText()
    bench.session.stack.undo()
    assert bench.session.film == before
    bench.session.stack.redo()
    assert bench.session.film == after
