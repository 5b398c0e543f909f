"""Keys and menus of cutting, through the real window; what is asked for; the context menu."""

import dataclasses
import functools
import wave
from collections import Counter
from fractions import Fraction

import pytest
from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit

from desk.app import build_window
from desk.film import edits
from desk.film.model import SoundKind
from desk.film.rates import Rate
from desk.film.timecode import format_label
from desk.store.project import new_project
from desk.ui.actions import WITHIN
from desk.ui.cutting.cut import Loop
from desk.ui.cutting.keys import asking
from desk.ui.cutting.keys.asking import parse_move
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.cutting.keys.menu import cut_menu, cut_menu_rows
from desk.ui.cutting.keys.rows import rows
from desk.ui.cutting.keys.value_dialog import ValueDialog
from desk.ui.messages import Messages
from desk.ui.order.menu import MenuRow
from tests.film.films import facts
from tests.making import run_ffmpeg
from tests.ui.conftest import MakeBench
from tests.ui.cut_films import Told, content_now, cut_film, do
from tests.ui.scene_parts import KnownMedia

FILM = cut_film()


@pytest.fixture
def window(theme, tmp_path, qtbot):
    owner = QObject()
    made = build_window(theme, Messages(owner))
    made.show()
    new_project(tmp_path / "kiosk", FILM)
    made.open_film(tmp_path / "kiosk")
    qtbot.waitUntil(lambda: made.view is not None)
    made.view.bench.choice.choose("s1")
    made.view.go_to_lanes()
    qtbot.waitUntil(lambda: made.view.cutting_places()[0].hasFocus())
    yield made
    made.close()
    made.deleteLater()
    owner.deleteLater()


def press(window, *keys: str) -> None:
    """Press keys where the focus is."""
    for key in keys:
        combination = QKeySequence(key)[0]
        QTest.keyClick(QApplication.focusWidget(), combination.key(), combination.keyboardModifiers())


def test_no_two_keys_are_the_same_in_one_part_of_the_window(window):
    """A key of the lanes may not be one of the whole window either: both would act there, and so neither."""
    keys = Counter(
        key.toString()
        for action in window.actions_by_id.actions.values()
        for key in action.shortcuts()
        if not key.isEmpty()
    )
    assert [key for key, count in keys.items() if count > 1] == []


def test_every_row_is_a_command_with_its_key_in_the_menu(window):
    menu = next(action.menu() for action in window.menuBar().actions() if action.text() == "&Cut")
    inside = [*menu.actions()]
    for action in menu.actions():
        if action.menu():
            inside += action.menu().actions()
    shown = {action.objectName(): action for action in inside}
    for row in rows():
        action = shown[row.id]
        assert action.shortcut() == QKeySequence(row.key)
        assert action.property(WITHIN) == "lanes and viewer"
        assert action.shortcutContext() is Qt.ShortcutContext.WidgetWithChildrenShortcut
        assert action.isEnabled()


def test_mnemonics_of_one_menu_differ(window):
    menu = next(action.menu() for action in window.menuBar().actions() if action.text() == "&Cut")
    for part in (menu, *(action.menu() for action in menu.actions() if action.menu())):
        letters = Counter(
            action.text()[action.text().index("&") + 1].lower()
            for action in part.actions()
            if "&" in action.text()
        )
        assert [letter for letter, count in letters.items() if count > 1] == [], part.title()


def test_no_scene_shown_nothing_to_cut(window):
    window.view.choose_film()
    assert not any(window.actions_by_id.actions[row.id].isEnabled() for row in rows())
    window.view.bench.choice.choose("s4")
    assert all(window.actions_by_id.actions[row.id].isEnabled() for row in rows()), "it says itself why not"


def test_keys_cut_in_the_lanes(window):
    bench = window.view.bench
    bench.cut.go_to(60)
    press(window, "Return")
    assert bench.session.film == edits.split(FILM, "s1", 60).after
    press(window, "Ctrl+Z")
    assert bench.session.film == FILM
    press(window, "Esc", "Home", "Ctrl+Right", "Right", "T", "Right", "Shift+Left", "Return")
    assert bench.session.film == edits.trim_tail(FILM, "s1", "c2", 23).after
    press(window, "Ctrl+Z", "Esc", "Home", "PgDown", "PgDown", "+", "-", "+", "0")
    expected = edits.edit_clip_sound(FILM, "s1", ("c2",), gain_db=-1.0, kind=SoundKind.SILENCE).after
    assert bench.session.film == expected
    press(window, "Ctrl+Z", "Ctrl+Z", "Ctrl+A", "Backspace")
    assert content_now(bench).clips == ()
    press(window, "Ctrl+Z")
    assert bench.session.film == FILM


def test_undo_in_the_window_goes_on_holding(window):
    bench = window.view.bench
    press(window, "PgDown", "T", "Left", "Left", "Ctrl+Z")
    assert bench.session.film == FILM
    press(window, "Left")
    assert bench.session.film == edits.trim_tail(FILM, "s1", "c1", 1).after


def test_every_key_reaches_its_row(window, monkeypatch):
    """Each key, pressed in the lanes, does its row and nothing else."""
    done: list[str] = []
    for row in rows():
        action = window.actions_by_id.actions[row.id]
        action.triggered.disconnect()
        action.triggered.connect(functools.partial(_note, done, row.id))
    for row in rows():
        press(window, row.key)
        assert done == [row.id]
        done.clear()


def _note(done: list[str], row_id: str, _: bool = False) -> None:
    done.append(row_id)


def test_copying_and_pasting_by_key_over_scenes(window, qtbot):
    bench = window.view.bench
    press(window, "PgDown", "Ctrl+C")
    bench.choice.choose("s2")
    assert bench.cut.scene_id == "s2"
    press(window, "Ctrl+2")
    qtbot.waitUntil(lambda: window.view.cutting_places()[0].hasFocus())
    press(window, "Ctrl+Shift+V")
    copied = edits.copy_clips(FILM, "s1", ("c1",))
    assert bench.session.film == edits.paste_clips(FILM, "s2", copied, 1).after


def test_typing_in_a_field_types(window, qtbot):
    bench = window.view.bench
    field = QLineEdit(window.view.cutting_places()[0])
    field.show()
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    QTest.keyClicks(field, "Hut 08 + G-N=%")
    press(window, "Ctrl+A", "Ctrl+C")
    assert QGuiApplication.clipboard().text() == "Hut 08 + G-N=%"
    press(window, "End", "Ctrl+V", "Backspace", "Home", "Del", "Left")
    assert field.text() == "ut 08 + G-N=%Hut 08 + G-N="
    press(window, "Ctrl+A", "Ctrl+X")
    assert field.text() == ""
    assert bench.session.film == FILM
    assert bench.cut.frame == 0
    field.deleteLater()


def test_elsewhere_the_keys_of_the_lanes_do_nothing(window, qtbot):
    bench = window.view.bench
    story = window.view.scene_sheet.story
    window.view.scene_sheet.frames[story.part].set_unfolded(True)
    fields = [field for field in story.findChildren(QLineEdit) if field.isVisible()]
    assert fields
    fields[0].setFocus()
    qtbot.waitUntil(fields[0].hasFocus)
    before = fields[0].text()
    fields[0].selectAll()
    QTest.keyClicks(fields[0], "The 8 huts")
    assert fields[0].text() == "The 8 huts" != before
    assert content_now(bench) == FILM.scene("s1").content
    window.view.order.setFocus()
    frame = bench.cut.frame
    press(window, "Return", "G", "Right", "0", "8")
    assert content_now(bench) == FILM.scene("s1").content
    assert (bench.cut.frame, bench.cut.loop) == (frame, None)


# The context menu.


def lines(bench) -> list[MenuRow]:
    return [row for part in cut_menu_rows(bench).values() for row in part if row is not None]


def texts(bench) -> list[str]:
    return [row.text for row in lines(bench)]


def titles(menu) -> list[str]:
    return [action.menu().title() for action in menu.actions() if action.menu()]


def test_the_keys_of_the_lanes_do_nothing_while_the_menu_bar_has_the_keyboard(window, qtbot):
    """They are the menus' own then: Right goes to the next menu, and letters choose in it."""
    bar, bench = window.menuBar(), window.view.bench
    before, frame = bench.session.film, bench.cut.frame
    bar.setFocus(Qt.FocusReason.MenuBarFocusReason)
    qtbot.waitUntil(bar.hasFocus)
    for key in (Qt.Key.Key_Right, Qt.Key.Key_S, Qt.Key.Key_Delete, Qt.Key.Key_Space):
        QTest.keyClick(bar, key)
    QTest.keyClick(bar, Qt.Key.Key_Escape)
    assert bench.cut.frame == frame
    assert bench.session.film is before


def test_the_context_menu_fits_what_is_selected(make_bench: MakeBench, qtbot):
    bench = make_bench(FILM)
    bench.cut.open("s1")
    nothing = texts(bench)
    assert "Add a spot at the playhead…" in nothing
    assert "Split at the playhead" not in nothing
    bench.cut.select(("c2",))
    assert {"Split at the playhead", "Where the sound comes &early", "Speed…"} <= set(texts(bench))
    bench.cut.select(("f1",))
    assert "&Head" in texts(bench)
    assert not {"Speed…", "Copy", "What is &shown"} & set(texts(bench))
    for part in cut_menu_rows(bench).values():
        assert part[0] is not None
        assert part[-1] is not None
    parent = QLineEdit()
    qtbot.addWidget(parent)
    menu = cut_menu(bench, parent)
    remove = next(action for action in menu.actions() if action.text().startswith("Remove and close"))
    assert titles(menu) == ["&Hold", "S&ound"]
    remove.trigger()
    assert bench.session.film == edits.remove_spots(FILM, "s1", ("f1",)).after


def test_the_context_menu_allows_what_can_be_done(make_bench: MakeBench):
    bench = make_bench(FILM)
    bench.cut.open("s1")
    QGuiApplication.clipboard().clear()
    bench.cut.select(("c2",))
    pastes = [row.enabled for row in lines(bench) if row.text.startswith("Paste")]
    assert pastes == [False, False]
    do(bench, "cut-copy")
    pastes = [row.enabled for row in lines(bench) if row.text.startswith("Paste")]
    assert pastes == [True, True]
    for clip, has_gap in (("c2", False), ("c3", True)):
        bench.cut.select((clip,))
        assert [row.enabled for row in lines(bench) if row.text == "Close the black"] == [has_gap]
    bench.cut.open("s4")
    bench.cut.select(("c9",))
    enabled = [row.text for row in lines(bench) if row.enabled]
    assert enabled == ["Copy", "Loop over what is selected"]


# What is asked for.


@pytest.fixture
def bench(make_bench: MakeBench):
    made = make_bench(FILM)
    made.cut.open("s1")
    return made


@pytest.fixture
def over(bench, qtbot):
    """The window that dialogs stand over."""
    made = QLineEdit()
    qtbot.addWidget(made)
    made.show()
    CutEdits.of(bench).asks.set_window(made)
    return made


def answer(over, qtbot, text: str) -> ValueDialog:
    """Type in the dialog that is open, and press Return; it closes where that is taken."""
    dialog = next(item for item in over.findChildren(ValueDialog) if item.isVisible())
    dialog.line.selectAll()
    QTest.keyClicks(dialog.line, text)
    QTest.keyClick(dialog.line, Qt.Key.Key_Return)
    return dialog


@pytest.mark.parametrize(
    ("selected", "ids", "typed", "make"),
    [
        ("c2", ["cut-hold-tail", "cut-number"], "12", lambda film: edits.trim_tail(film, "s1", "c2", -12)),
        (
            "c2",
            ["cut-hold-head", "cut-number"],
            "-0:01:00",
            lambda film: edits.trim_head(film, "s1", "c2", -24),
        ),
        ("c2", ["cut-hold-shown", "cut-number"], "+0.5 s", lambda film: edits.slide(film, "s1", "c2", 12)),
        ("c1", ["cut-hold-place", "cut-number"], "2", lambda film: edits.move_clips(film, "s1", ("c1",), 2)),
        (
            "c1 c2",
            ["cut-gain"],
            "-6.5 dB",
            lambda film: edits.edit_clip_sound(film, "s1", ("c1", "c2"), gain_db=-6.5),
        ),
        ("f1", ["cut-gain"], "3", lambda film: edits.edit_spot(film, "s1", "f1", gain_db=3.0)),
        ("c1", ["cut-speed"], "50 %", lambda film: edits.set_speed(film, "s1", "c1", Fraction(1, 2))),
        ("c1", ["cut-speed"], "24/25", lambda film: edits.set_speed(film, "s1", "c1", Fraction(24, 25))),
    ],
)
def test_a_value_is_typed(bench, over, qtbot, selected, ids, typed, make):
    bench.cut.select(selected.split())
    do(bench, *ids)
    dialog = answer(over, qtbot, typed)
    assert not dialog.isVisible()
    assert content_now(bench) == make(FILM).after.scene("s1").content
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == FILM


def test_what_is_held_stays_held_while_a_number_is_typed(bench, over, qtbot):
    over.setFocus()
    bench.cut.select(("c2",))
    do(bench, "cut-hold-tail", "cut-frame-later", "cut-number")
    answer(over, qtbot, "5")
    qtbot.waitUntil(over.isActiveWindow)
    do(bench, "cut-frame-later")
    assert content_now(bench).clips[1].length_frames == 72 + 7
    assert bench.session.stack.count() == 1


@pytest.mark.parametrize(
    ("selected", "ids", "typed", "says"),
    [
        ("c2", ["cut-hold-tail", "cut-number"], "-72", "Clip 2 in scene 1 has 72 frames"),
        ("c2", ["cut-hold-tail", "cut-number"], "x", "“x” is not a length"),
        ("c2", ["cut-gain"], "loud", "“loud” is not a number."),
        ("c2", ["cut-gain"], "99", "The gain"),
        ("c2", ["cut-speed"], "fast", "“fast” is not a speed."),
        ("c2", ["cut-speed"], "1/0", "“1/0” is not a speed."),
        ("c2", ["cut-speed"], "-1", "Clip 2 in scene 1 can't run backwards"),
        ("c2", ["cut-speed"], "every frame", "Its footage was not read yet"),
        ("", ["cut-number"], "9:00:00", "That is outside the scene, which is 0:09:06 long."),
        ("", ["cut-number"], "01:00:00:30", "Timecode “01:00:00:30” has 30 frames"),
    ],
)
def test_a_value_that_is_refused_stays_with_the_reason(bench, over, qtbot, selected, ids, typed, says):
    bench.cut.select(selected.split())
    do(bench, *ids)
    dialog = answer(over, qtbot, typed)
    assert dialog.isVisible()
    assert says in dialog.fault.text()
    assert dialog.line.text() == typed
    assert dialog.height() >= dialog.layout().totalHeightForWidth(dialog.width()), "nothing is cut off"
    assert bench.session.film == FILM
    QTest.keyClick(dialog.line, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert bench.session.film == FILM


@pytest.mark.parametrize(("typed", "frame"), [("100", 100), ("0:02:05", 53), ("4 s", 96)])
def test_with_nothing_held_a_number_is_a_place(bench, over, qtbot, typed, frame):
    do(bench, "cut-number")
    answer(over, qtbot, typed)
    assert bench.cut.frame == frame


def test_a_place_may_be_a_timecode_of_the_film(bench, over, qtbot):
    film = bench.session.film
    do(bench, "cut-number")
    answer(over, qtbot, format_label(film.start_frames + bench.cut.film_frame + 77, film.rate))
    assert bench.cut.frame == 77


def test_every_frame_is_shown_where_the_rate_is_known(make_bench, qtbot):
    bench = make_bench(FILM)
    known = facts()
    known = dataclasses.replace(known, picture=dataclasses.replace(known.picture, rate=Rate(50)))
    bench = dataclasses.replace(bench, media=KnownMedia({"footage/1/quay.mov": known}, bench.session))
    bench.cut.open("s1")
    over = QLineEdit()
    qtbot.addWidget(over)
    over.show()
    made = CutEdits(bench, bench.session)
    made.asks.set_window(over)
    made.asks.speed()
    answer(over, qtbot, "every frame")
    assert content_now(bench).clips[0].speed == Fraction(12, 25)


@pytest.mark.parametrize("row", ["cut-gain", "cut-speed", "cut-add-spot", "cut-add-cue"])
def test_a_locked_scene_is_not_asked_about(bench, over, row):
    told = Told(bench)
    bench.cut.open("s4")
    do(bench, row)
    assert told.last.startswith("Scene 4 is locked")
    assert not over.findChildren(ValueDialog)


def test_a_spot_has_no_speed(bench, over):
    told = Told(bench)
    bench.cut.select(("f1",))
    do(bench, "cut-speed")
    assert told.last == "Spot horn has no speed: only clips have. Select a clip."


@pytest.fixture
def bell(bench):
    """Two seconds of sound in the project folder."""
    path = bench.session.folder / "effects" / "bell.wav"
    path.parent.mkdir()
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 48_000, 0, "NONE", ""))
        file.writeframes(bytes(2 * 2 * 48_000))
    return path


def test_a_spot_is_added_at_the_playhead(bench, over, bell, qtbot, monkeypatch):
    monkeypatch.setattr(asking, "ask_for_sound", lambda *_: bell)
    bench.cut.go_to(100)
    with qtbot.waitSignal(bench.session.changed):
        do(bench, "cut-add-spot")
    expected = edits.add_spot(FILM, "s1", "effects/bell.wav", 100, 48, label="bell").after
    assert bench.session.film == expected
    assert bench.cut.selection == (expected.scene("s1").content.spots[-1].id,)
    assert bench.cut.frame == 100
    bench.session.stack.undo()
    assert bench.session.film == FILM


@pytest.mark.parametrize(
    ("selected", "loop", "first", "length"),
    [
        ("", None, 210, 12),
        ("c4", None, 192, 30),
        ("c2 c3", None, 48, 48),
        ("c2", Loop(10, 25), 10, 15),
    ],
)
def test_a_cue_is_added_over_the_loop_or_the_selection(
    bench, over, bell, qtbot, monkeypatch, selected, loop, first, length
):
    """It is no longer than its music."""
    monkeypatch.setattr(asking, "ask_for_sound", lambda *_: bell)
    bench.cut.go_to(210)
    bench.cut.select(selected.split())
    if loop:
        bench.cut.set_loop(loop.first, loop.end)
    with qtbot.waitSignal(bench.session.changed):
        do(bench, "cut-add-cue")
    assert bench.session.film == edits.add_cue(FILM, "s1", first, length, file="effects/bell.wav").after


def test_a_scene_left_meanwhile_still_gets_its_spot(bench, over, bell, qtbot, monkeypatch):
    monkeypatch.setattr(asking, "ask_for_sound", lambda *_: bell)
    with qtbot.waitSignal(bench.session.changed):
        do(bench, "cut-add-spot")
        bench.cut.open("s2")
    assert len(content_now(bench).spots) == 3
    assert bench.cut.selection == ()


@pytest.mark.ffmpeg
def test_a_file_without_sound_is_told(bench, over, qtbot, monkeypatch):
    silent = bench.session.folder / "silent.mkv"
    run_ffmpeg("-f", "lavfi", "-i", "color=size=64x36:rate=24", "-frames:v", "4", "-c:v", "ffv1", silent)
    monkeypatch.setattr(asking, "ask_for_sound", lambda *_: silent)
    told: list[object] = []
    monkeypatch.setattr(bench.messages, "fault", told.append)
    do(bench, "cut-add-spot")
    qtbot.waitUntil(lambda: bool(told))
    assert str(told[0]) == "“silent.mkv” has no sound. Choose a file with sound."
    assert bench.session.film == FILM


def test_no_file_chosen_nothing_is_added(bench, over, monkeypatch):
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: ("", ""))
    do(bench, "cut-add-spot", "cut-add-cue")
    assert bench.session.film == FILM


@pytest.mark.parametrize(
    ("text", "frames"), [("12", 12), ("-12", -12), ("+3", 3), ("−1 s", -24), ("0:01:02", 26)]
)
def test_moves_are_read(text, frames):
    assert parse_move(text, FILM.rate) == frames
