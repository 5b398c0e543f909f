"""Proofs, locking, unlocking and broken locks through the sheet of a scene, on real tiny footage."""

import shutil
import threading
from pathlib import Path

import pytest
from PySide6.QtCore import QDate, Qt
from PySide6.QtWidgets import QApplication

from desk.film import edits
from desk.film.effects import Figures
from desk.film.locking import Part
from desk.film.model import Rights
from desk.film.timecode import format_length
from desk.jobs import Progress
from desk.ui.dates import short_date, today
from desk.ui.look.marks import Mark
from desk.ui.scene.lock_dialog import LockDialog, size_text
from desk.ui.scene.proof_dialog import ProofDialog
from desk.ui.scene.unlock_dialog import UnlockDialog
from tests.film.editing import DAY, ready
from tests.film.films import small_film
from tests.making import make_numbered
from tests.ui.scene_sheets import (
    dialog_of,
    focusable,
    is_done_undone_and_redone,
    name_of,
    notices,
    open_sheet,
    unfold,
)

pytestmark = pytest.mark.ffmpeg
TICKET = "footage/2/ticket.mov"


@pytest.fixture(scope="module")
def two_clips(tmp_path_factory) -> tuple[Path, Path]:
    """Two pieces of footage of different lengths."""
    folder = tmp_path_factory.mktemp("clips")
    return (
        make_numbered(folder / "one.mov", frames=6, size=(64, 36)),
        make_numbered(folder / "two.mov", frames=8, size=(64, 36)),
    )


@pytest.fixture
def open_scene(qtbot, make_bench, two_clips):
    """Opens the sheet of scene 2 of a film, whose footage is there and was looked at."""

    def make(film):
        bench = make_bench(film)
        file = bench.session.folder / TICKET
        file.parent.mkdir(parents=True)
        shutil.copyfile(two_clips[0], file)
        bench.media.look()
        qtbot.waitUntil(lambda: TICKET in bench.media.facts)
        sheet = open_sheet(qtbot, bench, "s2")
        unfold(sheet, Part.PROOFS)
        return bench, sheet

    return make


@pytest.fixture
def settled(open_scene):
    """Scene 2 with everything settled."""
    return open_scene(ready(small_film(), "s2"))


@pytest.fixture
def unsettled(open_scene):
    """Scene 2 with voices, music, grade note and proof open."""
    return open_scene(small_film())


@pytest.fixture
def hold_reading():
    """Keeps all threads that read busy until the test lets go of them."""
    let_go = threading.Event()

    def hold(bench):
        begun = [threading.Event() for _ in range(2)]
        for event in begun:
            bench.jobs.start("busy", lambda _, __, event=event: (event.set(), let_go.wait(60)))
        for event in begun:
            assert event.wait(60)
        return let_go

    yield hold
    let_go.set()


def wait_for_lock(qtbot, bench, version: int = 1) -> None:
    def is_locked() -> None:
        lock = bench.session.film.scene("s2").lock
        assert lock is not None
        assert lock.version == version

    qtbot.waitUntil(is_locked, timeout=20_000)


def wait_for_end(qtbot, sheet) -> None:
    qtbot.waitUntil(lambda: not sheet.lock_bar.isVisible(), timeout=20_000)


def lock_now(qtbot, bench, sheet, version: int = 1) -> None:
    qtbot.mouseClick(sheet.proofs.lock, Qt.MouseButton.LeftButton)
    wait_for_lock(qtbot, bench, version)
    wait_for_end(qtbot, sheet)


def test_a_settled_scene_is_locked_at_once_with_its_hashes(qtbot, settled):
    bench, sheet = settled
    heard = notices(bench)
    assert sheet.proofs.lock.text() == "Lock"
    is_done_undone_and_redone(bench, lambda: lock_now(qtbot, bench, sheet))
    lock = bench.session.film.scene("s2").lock
    assert (lock.version, lock.date, lock.reason) == (1, today(), "")
    assert [media.path for media in lock.media] == [TICKET]
    assert bench.session.stack.undoText() == "Lock scene 2"
    assert heard == ["Scene 2 is locked, version 1."]
    assert sheet.header.mark.mark is Mark.LOCKED
    assert sheet.header.text.text() == "Locked"
    assert sheet.header.more.text() == f"version 1, locked {short_date(today())}; 1 proof of it"
    assert sheet.proofs.lock.text() == "Unlock…"


def test_the_dialog_of_a_settled_scene_asks_for_nothing(qtbot, settled):
    bench, sheet = settled
    qtbot.mouseClick(sheet.header.button, Qt.MouseButton.LeftButton)
    dialog = dialog_of(sheet, LockDialog)
    assert dialog.windowTitle() == "Lock scene 2"
    assert dialog.asks.open_parts == ()
    assert set(dialog.asks.words) == {Part.PICTURE, Part.DIALOGUE, Part.MUSIC, Part.GRADE, Part.PROOFS}
    assert not dialog.reason_field.isVisible()
    assert dialog.lock_button.text() == "Lock"
    assert dialog.lock_button.isEnabled()
    qtbot.keyClick(dialog, Qt.Key.Key_Return)
    wait_for_lock(qtbot, bench)
    wait_for_end(qtbot, sheet)


def test_music_without_a_licence_is_told_before_it_is_locked_and_is_no_obstacle(qtbot, settled):
    bench, sheet = settled
    told = (
        "No licence is entered for “music/tide.wav” in cue m1.\n"
        "This is no legal advice: the licence itself counts."
    )
    assert not sheet.proofs.told.isVisible()

    do = bench.session.do
    do(lambda film: edits.add_cue(film, "s2", 0, 10))
    cue = bench.session.film.scene("s2").content.cues[-1].id
    do(lambda film: edits.edit_cue(film, "s2", cue, label="m1"))
    do(lambda film: edits.add_candidate(film, "s2", cue, "music/tide.wav"))
    tried = bench.session.film.scene("s2").content.cues[-1].candidates[0].id
    do(lambda film: edits.choose_candidate(film, "s2", cue, tried))
    assert (sheet.proofs.told.text(), sheet.proofs.told.isVisible()) == (told, True)
    sheet.lock()
    dialog = dialog_of(sheet, LockDialog)
    assert (dialog.told.text(), dialog.told.isVisible()) == (told, True)
    rights = Rights(title="Tide", author="Ada Reed", licence="own work")
    do(lambda film: edits.edit_candidate(film, "s2", cue, tried, rights=rights))
    assert not dialog.told.isVisible()
    dialog.reject()


def test_locking_anyway_wants_a_reason(qtbot, unsettled):
    bench, sheet = unsettled
    assert sheet.proofs.lock.text() == "Lock anyway…"
    assert sheet.proofs.asks.open_parts == (Part.DIALOGUE, Part.MUSIC, Part.GRADE, Part.PROOFS)
    assert sheet.proofs.asks.words[Part.GRADE] == "It has no grade note."
    assert sheet.proofs.asks.words[Part.PICTURE] == "Its footage is there."
    qtbot.mouseClick(sheet.proofs.lock, Qt.MouseButton.LeftButton)
    dialog = dialog_of(sheet, LockDialog)
    assert dialog.lock_button.text() == "Lock anyway"
    assert not dialog.lock_button.isEnabled()
    assert dialog.why.isVisible()
    assert dialog.why.text() == dialog.lock_button.toolTip()
    assert "Write why" in dialog.why.text()
    qtbot.keyClicks(dialog.reason_field, "   ")
    assert not dialog.lock_button.isEnabled()
    qtbot.keyClicks(dialog.reason_field, "Festival deadline ")
    assert dialog.lock_button.isEnabled()
    assert not dialog.why.isVisible()

    def answered() -> None:
        qtbot.mouseClick(dialog.lock_button, Qt.MouseButton.LeftButton)
        wait_for_lock(qtbot, bench)

    is_done_undone_and_redone(bench, answered)
    assert bench.session.film.scene("s2").lock.reason == "Festival deadline"
    assert "It was locked although something was open: Festival deadline" in sheet.proofs.locked.text()
    wait_for_end(qtbot, sheet)


def test_cancelling_the_dialog_locks_nothing(qtbot, unsettled):
    bench, sheet = unsettled
    before = bench.session.film
    sheet.lock()
    dialog = dialog_of(sheet, LockDialog)
    dialog.reason_field.setText("never mind")
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert not sheet.lock_bar.isVisible()
    assert bench.session.film is before


def test_the_dialog_follows_the_film(qtbot, unsettled):
    bench, sheet = unsettled
    sheet.lock()
    dialog = dialog_of(sheet, LockDialog)
    bench.session.do(lambda film: edits.set_grade_note(film, "s2", "plain"))
    assert Part.GRADE not in dialog.asks.open_parts
    bench.session.do(lambda film: edits.delete_entry(film, "s2"))
    assert not dialog.isVisible()


def test_what_is_open_leads_to_where_it_is_settled(qtbot, unsettled):
    _, sheet = unsettled
    (way,) = (item for item in focusable(sheet.proofs.asks) if item.text() == "Go to Grade")
    qtbot.mouseClick(way, Qt.MouseButton.LeftButton)
    assert sheet.frames[Part.GRADE].is_unfolded
    assert sheet.frames[Part.GRADE].fold.hasFocus()


def test_the_window_goes_on_while_files_are_read_and_the_lock_is_of_the_film_as_it_is_then(
    qtbot, settled, hold_reading
):
    bench, sheet = settled
    let_go = hold_reading(bench)
    sheet.lock_now()
    assert sheet.lock_bar.isVisible()
    bench.session.do(lambda film: edits.edit_story(film, "s2", purpose="Changed meanwhile."))
    bench.choice.choose("s4")
    assert sheet.lock_bar.isVisible()
    let_go.set()
    wait_for_lock(qtbot, bench)
    wait_for_end(qtbot, sheet)
    assert bench.session.film.scene("s2").purpose == "Changed meanwhile."


def test_content_that_changes_meanwhile_is_not_locked(qtbot, settled, hold_reading):
    bench, sheet = settled
    heard = notices(bench)
    let_go = hold_reading(bench)
    sheet.lock_now()
    bench.session.do(lambda film: edits.set_grade_note(film, "s2", "colder"))
    let_go.set()
    wait_for_end(qtbot, sheet)
    assert bench.session.film.scene("s2").lock is None
    assert heard == [
        "Scene 2 was changed while its files were read, so it was not locked. Lock it as it is now."
    ]


def test_a_scene_that_is_deleted_meanwhile(qtbot, settled, hold_reading):
    bench, sheet = settled
    heard = notices(bench)
    let_go = hold_reading(bench)
    sheet.lock_now()
    bench.session.do(lambda film: edits.delete_entry(film, "s2"))
    let_go.set()
    wait_for_end(qtbot, sheet)
    assert heard == ["Scene 2 is not in the film any more, so it was not locked."]


def test_reading_can_be_stopped_and_begun_again(qtbot, settled, hold_reading):
    bench, sheet = settled
    before = bench.session.film
    heard = notices(bench)
    let_go = hold_reading(bench)
    sheet.lock_now()
    (stop,) = focusable(sheet.lock_bar)
    assert name_of(stop) == "Stop locking scene 2"
    qtbot.mouseClick(stop, Qt.MouseButton.LeftButton)
    let_go.set()
    wait_for_end(qtbot, sheet)
    assert heard == ["Scene 2 was not locked: reading its files was stopped."]
    assert bench.session.film is before
    lock_now(qtbot, bench, sheet)


def test_a_second_lock_of_a_scene_waits_for_the_first(qtbot, settled, hold_reading):
    bench, sheet = settled
    heard = notices(bench)
    let_go = hold_reading(bench)
    sheet.lock_now()
    sheet.lock()
    assert heard == ["Scene 2 is being locked already."]
    assert not sheet.findChildren(LockDialog)
    let_go.set()
    wait_for_lock(qtbot, bench)
    wait_for_end(qtbot, sheet)
    sheet.lock()
    assert heard[-1] == "Scene 2 is locked already."


def test_how_far_the_reading_is(qtbot, settled, hold_reading):
    bench, sheet = settled
    let_go = hold_reading(bench)
    sheet.lock_now()
    (run,) = sheet.runs
    run.progressed.emit(Progress("hash", f"Reading {TICKET}", 0.42))
    assert sheet.lock_bar.lines == ["Locking scene 2, 42% read"]
    let_go.set()
    wait_for_end(qtbot, sheet)


def test_a_file_that_can_not_be_read_is_a_fault_that_is_told(qtbot, settled):
    if not Path("/proc/self/mem").exists():
        pytest.skip("there is no such file here")
    bench, sheet = settled
    file = bench.session.folder / TICKET
    file.unlink()
    # The start of `/proc/self/mem` is there, and reading it is an error of the disk.
    file.symlink_to("/proc/self/mem")
    bench.messages.set_window(sheet)
    sheet.lock_now()
    wait_for_end(qtbot, sheet)
    box = QApplication.activeModalWidget()
    assert "ticket.mov” can't be read" in box.text()
    box.close()
    assert bench.session.film.scene("s2").lock is None


def test_a_lock_breaks_when_the_file_changes_and_holds_again_when_it_is_put_back(qtbot, settled, two_clips):
    bench, sheet = settled
    lock_now(qtbot, bench, sheet)
    file = bench.session.folder / TICKET
    shutil.copyfile(two_clips[1], file)
    qtbot.waitUntil(sheet.broken.isVisible, timeout=20_000)
    assert sheet.header.mark.mark is Mark.BROKEN
    assert sheet.header.text.text() == "Lock broken: “ticket.mov” is not the one that was locked."
    assert sheet.header.text.property("kind") == "fault"
    assert sheet.broken.advice.text() == (
        f"Put back “{TICKET}” as locked, and the lock holds again. "
        "If the scene is still right, proof it as it is now and lock it again."
    )
    fold = sheet.frames[Part.PROOFS].fold
    assert fold.is_open
    assert fold.accessibleName().startswith("Proofs and lock, open")
    sheet.frames[Part.PICTURE].set_unfolded(False)
    qtbot.mouseClick(sheet.broken.file, Qt.MouseButton.LeftButton)
    assert sheet.frames[Part.PICTURE].is_unfolded
    shutil.copyfile(two_clips[0], file)
    qtbot.waitUntil(lambda: not sheet.broken.isVisible(), timeout=20_000)
    assert sheet.header.mark.mark is Mark.LOCKED


def test_a_broken_lock_is_replaced_in_one_step(qtbot, settled, two_clips):
    bench, sheet = settled
    lock_now(qtbot, bench, sheet)
    shutil.copyfile(two_clips[1], bench.session.folder / TICKET)
    qtbot.waitUntil(sheet.broken.isVisible, timeout=20_000)
    old = bench.session.film.scene("s2").lock

    def locked_again() -> None:
        qtbot.mouseClick(sheet.broken.again, Qt.MouseButton.LeftButton)
        dialog = dialog_of(sheet, LockDialog)
        assert dialog.windowTitle() == "Lock scene 2 again"
        qtbot.mouseClick(dialog.lock_button, Qt.MouseButton.LeftButton)
        wait_for_lock(qtbot, bench, version=2)

    is_done_undone_and_redone(bench, locked_again)
    scene = bench.session.film.scene("s2")
    assert [past.lock for past in scene.history] == [old]
    assert scene.history[0].reason == f"Its file “{TICKET}” is not the one that was locked."
    assert scene.lock.media != old.media
    assert sheet.header.text.text() == "Locked"
    assert bench.session.stack.undoText() == "Lock scene 2 again"
    wait_for_end(qtbot, sheet)


def test_unlocking_says_what_will_follow(qtbot, settled):
    bench, sheet = settled
    lock_now(qtbot, bench, sheet)
    qtbot.mouseClick(sheet.header.button, Qt.MouseButton.LeftButton)
    dialog = dialog_of(sheet, UnlockDialog)
    assert dialog.windowTitle() == "Unlock scene 2"
    said = dialog.effects.text()
    assert "Scene 2 is a draft again, and not in an assembly of locked scenes." in said
    # 96 frames at 24 a second; what is left is what the foot line says then, without the cards.
    film = bench.session.film
    left = format_length(Figures.of(edits.unlock(film, "s2", today()).after).locked_frames, film.rate)
    assert f"How much of the film is locked falls by 0:04:00, to {left}." in said
    assert "Version 1 stays in its history and can be brought back." in said
    assert "Its 1 proof counts only until its content changes." in said

    def unlocked() -> None:
        qtbot.keyClicks(dialog.reason_field, "New take")
        qtbot.mouseClick(dialog.unlock_button, Qt.MouseButton.LeftButton)

    is_done_undone_and_redone(bench, unlocked)
    (past,) = bench.session.film.scene("s2").history
    assert (past.reason, past.unlocked) == ("New take", today())
    assert sheet.header.button.text() == "Lock…"
    assert sheet.proofs.history.text() == "1 earlier version…"


def test_a_reason_for_unlocking_may_be_left_out_and_the_dialog_left(qtbot, settled):
    bench, sheet = settled
    lock_now(qtbot, bench, sheet)
    before = bench.session.film
    sheet.unlock()
    qtbot.keyClick(dialog_of(sheet, UnlockDialog), Qt.Key.Key_Escape)
    assert bench.session.film is before
    sheet.unlock()
    dialog_of(sheet, UnlockDialog).accept()
    assert bench.session.film.scene("s2").history[0].reason == ""


def test_a_proof_is_noted(qtbot, unsettled):
    bench, sheet = unsettled
    qtbot.mouseClick(sheet.proofs.add, Qt.MouseButton.LeftButton)
    dialog = dialog_of(sheet, ProofDialog)
    assert dialog.answer.date == today()

    def noted() -> None:
        dialog.date_field.setDate(QDate(2026, 3, 1))
        dialog.by_field.setText("Ida Holm")
        qtbot.keyClicks(dialog.remark_field, "Horn too early.")
        qtbot.keyClick(dialog.remark_field, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)

    is_done_undone_and_redone(bench, noted)
    (proof,) = bench.session.film.scene("s2").proofs
    assert (proof.date, proof.by, proof.remark) == ("2026-03-01", "Ida Holm", "Horn too early.")
    assert sheet.proofs.proofs.rows == [("1 Mar 2026", "Ida Holm", "Horn too early.", "as it is now")]
    bench.session.do(lambda film: edits.set_grade_note(film, "s2", "colder"))
    assert sheet.proofs.proofs.rows == [
        ("1 Mar 2026", "Ida Holm", "Horn too early.", "before the last change")
    ]
    sheet.add_proof()
    again = dialog_of(sheet, ProofDialog)
    assert again.by_field.text() == "Ida Holm"
    again.reject()


def test_a_proof_that_is_refused_keeps_what_was_written(qtbot, unsettled):
    bench, sheet = unsettled
    sheet.add_proof()
    dialog = dialog_of(sheet, ProofDialog)
    dialog.remark_field.setPlainText("x" * 10_001)
    qtbot.mouseClick(dialog.add_button, Qt.MouseButton.LeftButton)
    assert dialog.isVisible()
    assert "remark" in dialog.fault.text()
    assert len(dialog.remark_field.toPlainText()) == 10_001
    dialog.reject()
    assert bench.session.film == small_film()


def test_a_scene_without_clips_is_not_proofed(qtbot, make_bench):
    bench = make_bench(small_film())
    sheet = open_sheet(qtbot, bench, "s3")
    told = []
    bench.messages.noticed.connect(told.append)
    sheet.add_proof()
    assert not sheet.findChildren(ProofDialog)
    assert "no clips yet" in told[-1].text


def test_the_latest_proof_stands_first(qtbot, open_scene):
    film = ready(small_film(), "s2")
    film = edits.add_proof(film, "s2", "2026-04-02", "", "").after
    _, sheet = open_scene(film)
    assert [row[0] for row in sheet.proofs.proofs.rows] == ["2 Apr 2026", short_date(DAY)]
    assert sheet.proofs.proofs.rows[0][2] == "no remark"


def test_controls_of_the_dialogs_have_names(qtbot, unsettled):
    _, sheet = unsettled
    for opens, kind in ((sheet.lock, LockDialog), (sheet.add_proof, ProofDialog)):
        opens()
        dialog = dialog_of(sheet, kind)
        controls = [item for item in focusable(dialog) if not item.objectName().startswith("qt_")]
        assert len(controls) >= 3
        assert not [item for item in controls if not name_of(item)]
        dialog.reject()


@pytest.mark.parametrize(
    ("size", "text"),
    [(0, "0 bytes"), (999, "999 bytes"), (1500, "1.5 kB"), (999_950, "1.0 MB"), (1_340_000_000, "1.3 GB")],
)
def test_sizes_as_a_person_says_them(size, text):
    assert size_text(size) == text


@pytest.mark.parametrize(
    ("date", "said"), [("2026-11-01", "1 Nov 2026"), ("2026-11-25T10:00", "25 Nov 2026"), ("soon", "soon")]
)
def test_dates_as_they_are_said(date, said):
    assert short_date(date) == said
