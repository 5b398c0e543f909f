"""The history of a scene's locks in the window: what changed, and the way back."""

import dataclasses

from PySide6.QtCore import Qt

from desk.film import edits
from desk.film.locking import Part
from desk.ui.scene.history import HistoryDialog
from tests.film.editing import locked
from tests.film.films import small_film
from tests.ui.scene_sheets import (
    dialog_of,
    focusable,
    is_done_undone_and_redone,
    name_of,
    open_sheet,
    unfold,
)

FILM = small_film()


def twice_locked():
    """Scene 2 locked, opened, given a grade note, locked and opened again, and trimmed since."""
    film = locked(FILM, "s2")
    film = edits.unlock(film, "s2", "2026-03-02", "New take").after
    film = edits.set_grade_note(film, "s2", "colder").after
    film = edits.unlock(locked(film, "s2"), "s2", "2026-03-04").after
    return trimmed(film)


def trimmed(film):
    scene = film.scene("s2")
    clip = dataclasses.replace(scene.content.clips[0], length_frames=90)
    content = dataclasses.replace(scene.content, clips=(clip,))
    return edits.set_content(film, "s2", content, "Trim").after


def open_history(qtbot, bench):
    sheet = open_sheet(qtbot, bench, "s2")
    unfold(sheet, Part.PROOFS)
    qtbot.mouseClick(sheet.proofs.history, Qt.MouseButton.LeftButton)
    return sheet, dialog_of(sheet, HistoryDialog)


def titles(dialog) -> list[str]:
    model = dialog.versions.model()
    return [model.index(row, 0).data() for row in range(model.rowCount())]


def choose(dialog, row: int) -> None:
    dialog.versions.setCurrentIndex(dialog.versions.model().index(row, 0))


def test_it_lists_versions_with_dates_reasons_and_what_changed(qtbot, make_bench):
    _, dialog = open_history(qtbot, make_bench(twice_locked()))
    assert titles(dialog) == [
        "Version 2, locked 1 Mar 2026, unlocked 4 Mar 2026",
        "Version 1, locked 1 Mar 2026, unlocked 2 Mar 2026: New take",
    ]
    assert dialog.from_before.toPlainText() == "Grade note: “” → “colder”"
    assert dialog.since.toPlainText().split("\n") == [
        "Length 0:04:00 → 0:03:18, 6 frames shorter",
        "Clip 1: trimmed by 6 frames at the tail",
    ]
    choose(dialog, 1)
    assert dialog.from_before.toPlainText() == "The first locked version: 1 clip, 0:04:00."
    assert "Grade note: “” → “colder”" in dialog.since.toPlainText()
    dialog.reject()


def test_a_version_is_brought_back(qtbot, make_bench):
    bench = make_bench(twice_locked())
    _, dialog = open_history(qtbot, bench)
    choose(dialog, 1)
    assert dialog.back.text() == "Bring back version 1"

    def brought_back() -> None:
        qtbot.mouseClick(dialog.back, Qt.MouseButton.LeftButton)

    is_done_undone_and_redone(bench, brought_back)
    assert bench.session.film.scene("s2").content == FILM.scene("s2").content
    assert dialog.since.toPlainText() == "Nothing: picture, sound and grade are the same."
    assert not dialog.back.isEnabled()
    assert dialog.why.text() == "The scene is like this version now."
    assert titles(dialog)[1].startswith("Version 1")
    assert dialog.versions.currentIndex().row() == 1
    dialog.reject()


def test_a_locked_scene_has_to_be_unlocked_first(qtbot, make_bench):
    bench = make_bench(locked(twice_locked(), "s2"))
    _, dialog = open_history(qtbot, bench)
    assert not dialog.back.isEnabled()
    assert dialog.why.text() == "Scene 2 is locked. Unlock it first to bring an earlier version back."
    assert dialog.back.toolTip() == dialog.why.text()
    bench.session.do(lambda film: edits.unlock(film, "s2", "2026-03-05"))
    assert len(titles(dialog)) == 3
    choose(dialog, 1)
    assert dialog.back.isEnabled()
    dialog.reject()


def test_a_scene_without_history_says_so(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2")
    unfold(sheet, Part.PROOFS)
    assert not sheet.proofs.history.isEnabled()
    assert sheet.proofs.history.toolTip() == "It has not been locked and opened before."
    sheet.show_history()
    dialog = dialog_of(sheet, HistoryDialog)
    assert dialog.empty.text() == "Scene 2 has not been locked and opened before."
    assert not dialog.back.isVisible()
    dialog.reject()


def test_it_closes_when_the_scene_is_gone(qtbot, make_bench):
    bench = make_bench(twice_locked())
    _, dialog = open_history(qtbot, bench)
    bench.session.do(lambda film: edits.delete_entry(film, "s2"))
    assert not dialog.isVisible()


def test_nothing_is_brought_back_in_a_film_that_is_read_only(qtbot, make_bench):
    bench = make_bench(twice_locked())
    bench.session.read_only = "It is open in another window."
    _, dialog = open_history(qtbot, bench)
    assert not dialog.back.isEnabled()
    assert dialog.why.text() == "It is open in another window."
    dialog.reject()


def test_everything_has_a_name_and_is_reached_by_tab(qtbot, make_bench):
    _, dialog = open_history(qtbot, make_bench(twice_locked()))
    controls = list(focusable(dialog))
    assert [name_of(item) for item in controls if not name_of(item)] == []
    assert {dialog.versions, dialog.from_before, dialog.since, dialog.back} <= set(controls)
    dialog.reject()
