"""The contact strip: what it shows of a scene's files, and how they come into the cut."""

import functools
import random
from fractions import Fraction

import numpy as np
import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, QRect, Qt, QUrl
from PySide6.QtGui import QContextMenuEvent, QDragEnterEvent, QDropEvent, QImage, QPainter
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QApplication, QPushButton, QToolButton

from desk.film import edits
from desk.film.edits import lock
from desk.film.model import Clip, ClipSound, SceneContent, SoundKind
from desk.film.timing import clip_starts
from desk.ui.cutting.footage import folder as footage_folder
from desk.ui.cutting.footage import footage
from desk.ui.cutting.footage.cells import LEAST_CELL_PX, paint_use
from desk.ui.cutting.footage.footage import FootageList
from desk.ui.cutting.footage.menu import FootageCommand
from desk.ui.cutting.footage.model import MIME_TYPE, FootageModel, footage_in
from desk.ui.cutting.footage.rows import FootageKind, FootageRow
from desk.ui.cutting.footage.view import FootageView
from desk.ui.messages import Answer
from desk.ui.order.ink import Ink
from desk.ui.scene import empty_scene
from tests.film.films import facts, locked_media, small_film
from tests.ui.scene_parts import MISSING, focus_chain, scene_with, with_media

FOLDER = "footage/2"
NAMES = ("a1.mov", "a2.mov", "a10.mov", "r1.wav", "c1.braw")
CONTENT = SceneContent(
    clips=(
        Clip(id="c60", source=f"{FOLDER}/a1.mov", length_frames=24),
        Clip(id="c61", source=f"{FOLDER}/a10.mov", length_frames=24),
    )
)


def known_of(names=NAMES):
    return {f"{FOLDER}/{name}": facts(2, sound=2) if name[0] == "a" else facts(None) for name in names}


@pytest.fixture
def make(make_bench, qtbot, monkeypatch):
    """Makes a list of scene 2 in a film whose media are known without being read."""
    monkeypatch.setattr(footage_folder, "_SETTLE_MS", 20)
    made = []

    def make_it(content=CONTENT, names=NAMES, known=None, film=None, folder=FOLDER, width=700):
        film = film or scene_with(content)[0]
        film = edits.edit_story(film, "s2", folder=folder).after if folder else film
        bench = with_media(make_bench(film), known_of(names) if known is None else known)
        place = bench.session.folder / (folder or "x")
        for name in names:
            place.mkdir(parents=True, exist_ok=True)
            (place / name).write_text("x")
        bench.cut.open("s2")
        shown = FootageList(bench)
        qtbot.addWidget(shown)
        made.append(shown)
        shown.bench = bench
        shown.told = []
        bench.messages.noticed.connect(shown.told.append)
        bench.session.refused.connect(bench.messages.refusal)
        shown.resize(width, 700)
        shown.show_scene(film.scene("s2"))
        shown.show()
        settled(shown, qtbot)
        return shown

    yield make_it
    for shown in made:
        shown._watch.stop()
        qtbot.waitUntil(lambda shown=shown: not shown.bench.jobs.jobs)


def settled(shown, qtbot):
    qtbot.waitUntil(lambda: not shown._watch.is_looking and not shown.bench.jobs.jobs)


def listed(shown):
    return [row.name for row in shown.model.rows]


def clips(shown):
    return [clip.source.removeprefix(f"{FOLDER}/") for clip in content(shown).clips]


def content(shown):
    return shown.bench.session.film.scene("s2").content


def uses(shown):
    return {row.name: row.uses for row in shown.rows if row.uses}


def choose(shown, *names):
    view = shown.view
    view.choose(f"{FOLDER}/{names[0]}")
    for name in names[1:]:
        index = shown.model.index(shown.model.place_of(f"{FOLDER}/{name}"))
        view.selectionModel().select(index, view.selectionModel().SelectionFlag.Select)


def offered(shown):
    return [action.text().partition("\t")[0] for action in shown.menu.actions() if action.text()]


def take(shown, text):
    action = next(item for item in shown.menu.actions() if item.text().startswith(text))
    shown.menu.triggered.emit(action)


def rows_of(names):
    return [FootageRow(path=name, kind=FootageKind.PICTURE, uses=len(name) % 2) for name in names]


def test_the_model_keeps_to_the_rules_of_models(tmp_path):
    model = FootageModel(tmp_path)
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    dice = random.Random(7)
    names = [f"{number}.mov" for number in range(40)]
    for _ in range(60):
        some = dice.sample(names, dice.randrange(len(names)))
        model.show_rows(rows_of(some))
        assert [row.path for row in model.rows] == some
    tester.deleteLater()
    model.deleteLater()


class TestShown:
    @pytest.mark.parametrize("width", [330, 500, 640, 655, 700, 763, 790, 900])
    @pytest.mark.parametrize("count", [9, 60])
    def test_cells_fill_the_width(self, make, width, count):
        """Whether a scroll bar is there or not."""
        shown = make(names=[f"a{number}.mov" for number in range(count)], width=width)
        view = shown.view
        rects = [view.visualRect(shown.model.index(place)) for place in range(count)]
        line = [rect for rect in rects if rect.top() == rects[0].top()]
        assert view.width() - line[-1].right() < LEAST_CELL_PX
        assert line[-1].right() <= view.viewport().width()

    def test_natural_order_and_counts(self, make):
        shown = make()
        assert listed(shown) == ["a1.mov", "a2.mov", "a10.mov", "c1.braw", "r1.wav"]
        assert shown.head.counts.text() == "5 files, 3 not used"
        assert shown.bench.media.asked == tuple(
            f"{FOLDER}/{name}" for name in ("a1.mov", "a2.mov", "a10.mov", "c1.braw", "r1.wav")
        )

    def test_every_cell_speaks(self, make):
        shown = make()
        spoken = [shown.model.index(place).data(Qt.ItemDataRole.AccessibleTextRole) for place in (0, 1, 3, 4)]
        assert spoken == [
            "a1.mov, 0:02:00, 1920×1080 · 24, used once",
            "a2.mov, 0:02:00, 1920×1080 · 24, not used",
            "c1.braw, can't be read, raw, can't be read, not used",
            "r1.wav, sound, 1:40:00, 48 kHz · stereo, not used",
        ]
        reason = shown.model.index(3).data(Qt.ItemDataRole.AccessibleDescriptionRole)
        assert "raw picture data of a camera" in reason
        assert not shown.model.index(3).flags() & Qt.ItemFlag.ItemIsDragEnabled
        assert shown.model.index(3).flags() & Qt.ItemFlag.ItemIsSelectable

    def test_controls_have_names_and_are_reached_in_the_order_of_the_page(self, make):
        shown = make()
        choose(shown, "a1.mov")
        order = focus_chain(shown)
        assert [item.accessibleName() or item.text() for item in order] == [
            "More for the footage of the scene",
            "Find files of the scene",
            "Only files that are not used yet",
            "Footage of the scene",
            "Add the chosen files in natural order",
            "Add the chosen files at the playhead",
            "Show the chosen file in the viewer",
            "More with the chosen files",
        ]
        for button in (*shown.findChildren(QPushButton), *shown.findChildren(QToolButton)):
            assert button.accessibleName() or button.text() or button.objectName() or not button.isVisible()

    def test_words_and_use_filter(self, make):
        shown = make()
        shown.filter.text.setText("A1")
        assert listed(shown) == ["a1.mov", "a10.mov"]
        assert shown.head.counts.text() == "5 files, 3 not used, 2 shown"
        shown.filter.unused.setChecked(True)
        assert listed(shown) == []
        assert shown.none_fits.isVisible()
        assert not shown.view.isVisible()
        shown.filter.text.clear()
        assert listed(shown) == ["a2.mov", "c1.braw", "r1.wav"]
        assert not shown.none_fits.isVisible()

    def test_marks_follow_edits_and_undo(self, make):
        shown = make()
        session = shown.bench.session
        assert uses(shown) == {"a1.mov": 1, "a10.mov": 1}
        session.do(functools.partial(edits.remove_clips, scene_id="s2", clip_ids=["c60"]))
        assert uses(shown) == {"a10.mov": 1}
        session.stack.undo()
        assert uses(shown) == {"a1.mov": 1, "a10.mov": 1}

    def test_only_what_is_on_the_screen_is_asked_for(self, make):
        names = [f"a{number}.mov" for number in range(200)]
        shown = make(SceneContent(), names)
        QApplication.processEvents()
        shown.view.grab()
        asked = {source for source, _, _ in shown.bench.thumbnails.asked}
        assert 4 <= len(asked) <= 24
        assert f"{FOLDER}/a199.mov" not in asked
        shown.view.scrollToBottom()
        shown.view.grab()
        assert f"{FOLDER}/a199.mov" in {source for source, _, _ in shown.bench.thumbnails.asked}

    def test_narrow(self, make):
        shown = make(width=330)
        assert shown.view.gridSize().width() * 2 <= shown.view.viewport().width()
        assert shown.minimumSizeHint().width() <= 330

    def test_a_hidden_list_waits(self, make, qtbot):
        shown = make()
        shown.hide()
        shown.bench.session.do(functools.partial(edits.remove_clips, scene_id="s2", clip_ids=["c60"]))
        assert uses(shown) == {"a1.mov": 1, "a10.mov": 1}
        shown.show()
        assert uses(shown) == {"a10.mov": 1}
        settled(shown, qtbot)


class TestFolder:
    def test_new_files_and_files_that_go_are_noticed(self, make, qtbot):
        shown = make()
        place = shown.bench.session.folder / FOLDER
        (place / "a3.mov").write_text("x")
        qtbot.waitUntil(lambda: "a3.mov" in listed(shown))
        assert listed(shown)[2] == "a3.mov"
        (place / "a3.mov").unlink()
        qtbot.waitUntil(lambda: "a3.mov" not in listed(shown))
        (place / "card").mkdir()
        qtbot.waitUntil(lambda: str(place / "card") in shown._watch._watcher.directories())
        (place / "card" / "b.mov").write_text("x")
        qtbot.waitUntil(lambda: "b.mov" in listed(shown))
        settled(shown, qtbot)

    def test_side_files_are_counted(self, make):
        shown = make(names=("a1.mov", "a1.xml", "a2.xml"))
        assert shown.remarks.text() == "2 other files lie there too (.xml) and are not listed."

    def test_no_folder(self, make, qtbot, monkeypatch):
        shown = make(SceneContent(), (), folder="")
        assert "This scene has no folder yet." in shown.state.words.text()
        assert not shown.filter.isVisible()
        place = shown.bench.session.folder / "shot"
        place.mkdir()
        (place / "a1.mov").write_text("x")
        monkeypatch.setattr(empty_scene, "ask_for_folder", lambda parent, start: place)
        qtbot.mouseClick(shown.state.choose_button, Qt.MouseButton.LeftButton)
        assert shown.bench.session.film.scene("s2").folder == "shot"
        qtbot.waitUntil(lambda: listed(shown) == ["a1.mov"])
        assert not shown.state.isVisible()
        shown.bench.session.stack.undo()
        qtbot.waitUntil(lambda: listed(shown) == [])

    def test_two_scenes_of_one_folder(self, make, qtbot):
        shown = make()
        shown.bench.session.do(lambda film: edits.edit_story(film, "s4", folder=FOLDER))
        shown.show_scene(shown.bench.session.film.scene("s4"))
        settled(shown, qtbot)
        assert listed(shown)[:3] == ["a1.mov", "a2.mov", "a10.mov"]
        assert uses(shown) == {"lamp.mov": 1}

    def test_an_empty_folder_fills(self, make, qtbot):
        shown = make(SceneContent(), ("notes.txt",))
        assert shown.state.words.text() == (
            "There is no footage in “footage/2” yet. Copy it there, and it shows up here by itself. "
            "1 other file lies there too (.txt) and is not listed."
        )
        assert shown.state.open_button.isVisible()
        (shown.bench.session.folder / FOLDER / "a1.mov").write_text("x")
        qtbot.waitUntil(lambda: listed(shown) == ["a1.mov"])
        settled(shown, qtbot)

    def test_a_folder_that_is_missing_comes_back(self, make, qtbot):
        shown = make(SceneContent(), ())
        assert shown.state.words.text() == (
            "Its folder “footage/2” is missing. Connect its disk, or choose another folder."
        )
        place = shown.bench.session.folder / FOLDER
        place.parent.mkdir()
        qtbot.waitUntil(lambda: str(place.parent) in shown._watch._watcher.directories())
        place.mkdir()
        (place / "a1.mov").write_text("x")
        qtbot.waitUntil(lambda: listed(shown) == ["a1.mov"])
        settled(shown, qtbot)

    def test_opening_the_folder(self, make, monkeypatch):
        shown = make()
        monkeypatch.setattr(footage, "show_folder", lambda folder: False)
        shown.head.open_action.trigger()
        assert "can't be opened" in shown.told[-1].text

    def test_files_by_way_of_a_link_keep_the_name_that_the_scene_has(self, make, qtbot, tmp_path):
        real = tmp_path / "disk"
        real.mkdir()
        (real / "a1.mov").write_text("x")
        source = "../disk/a1.mov"
        used = SceneContent(clips=(Clip(id="c60", source=source, length_frames=9),))
        shown = make(used, (), known={source: facts()})
        (shown.bench.session.folder / "footage").mkdir()
        (shown.bench.session.folder / FOLDER).symlink_to(real)
        shown._watch.look()
        settled(shown, qtbot)
        assert [(row.path, row.uses) for row in shown.rows] == [(source, 1)]


class TestAdding:
    def test_return_adds_in_natural_order_as_one_step(self, make, qtbot):
        shown = make()
        choose(shown, "a2.mov")
        before = shown.bench.session.film
        qtbot.keyClick(shown.view, Qt.Key.Key_Return)
        assert clips(shown) == ["a1.mov", "a2.mov", "a10.mov"]
        new = content(shown).clips[1]
        assert (new.length_frames, new.sound.kind) == (48, SoundKind.OWN)
        assert shown.bench.cut.selection == (new.id,)
        assert shown.bench.cut.frame == 24
        assert uses(shown)["a2.mov"] == 1
        stack = shown.bench.session.stack
        after = shown.bench.session.film
        stack.undo()
        assert shown.bench.session.film == before
        stack.redo()
        assert shown.bench.session.film == after

    def test_what_is_added_at_the_playhead_follows_what_was_added_there_before(self, make, qtbot):
        shown = make()
        shown.bench.cut.go_to(10)
        for name, after in (("a2.mov", 58), ("a10.mov", 106)):
            choose(shown, name)
            qtbot.keyClick(shown.view, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
            assert shown.bench.cut.frame == after
        assert clips(shown) == ["a1.mov", "a2.mov", "a10.mov", "a1.mov", "a10.mov"]

    def test_on_the_last_frame_nothing_of_the_last_clip_is_left_over(self, make, qtbot):
        shown = make()
        shown.bench.cut.go_to(47)
        choose(shown, "a2.mov", "a1.mov")
        qtbot.keyClick(shown.view, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        assert clips(shown) == ["a1.mov", "a10.mov", "a1.mov", "a2.mov"]
        choose(shown, "a2.mov")
        qtbot.keyClick(shown.view, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        assert clips(shown) == ["a1.mov", "a10.mov", "a1.mov", "a2.mov", "a2.mov"]

    def test_control_and_return_add_at_the_playhead(self, make, qtbot):
        shown = make()
        shown.bench.cut.go_to(10)
        choose(shown, "a2.mov")
        qtbot.keyClick(shown.view, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        assert clips(shown) == ["a1.mov", "a2.mov", "a1.mov", "a10.mov"]
        assert clip_starts(content(shown))[1] == 10
        assert shown.bench.cut.selection == (content(shown).clips[1].id,)

    def test_double_click(self, make, qtbot):
        shown = make()
        rect = shown.view.visualRect(shown.model.index(1))
        qtbot.mouseClick(shown.view.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())
        qtbot.mouseDClick(shown.view.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())
        assert clips(shown) == ["a1.mov", "a2.mov", "a10.mov"]

    def test_several_at_once_with_a_sound_among_them(self, make, qtbot):
        shown = make(SceneContent())
        choose(shown, "a10.mov", "r1.wav", "a2.mov")
        qtbot.mouseClick(shown.acts.first_button, Qt.MouseButton.LeftButton)
        assert clips(shown) == ["a2.mov", "a10.mov"]
        assert shown.bench.session.stack.count() == 1
        assert shown.told[-1].text.startswith("“r1.wav” has sound alone")

    def test_a_sound_opens_its_menu(self, make, qtbot):
        shown = make()
        shown.bench.cut.go_to(12)
        choose(shown, "r1.wav")
        qtbot.keyClick(shown.view, Qt.Key.Key_Return)
        assert offered(shown)[:2] == ["Add as a spot at the playhead", "Add as a cue at the playhead"]
        shown.menu.close()
        take(shown, "Add as a spot")
        (spot,) = content(shown).spots
        assert (spot.label, spot.start_frames, spot.file) == ("r1", 12, f"{FOLDER}/r1.wav")
        assert shown.bench.cut.selection == (spot.id,)
        qtbot.mouseClick(shown.acts.second_button, Qt.MouseButton.LeftButton)
        assert content(shown).cues[0].choice.file == f"{FOLDER}/r1.wav"

    def test_drag_carries_paths_and_files_and_never_moves_them(self, make):
        shown = make()
        data = shown.model.mimeData([shown.model.index(place) for place in (2, 0, 3)])
        assert footage_in(data) == (f"{FOLDER}/a1.mov", f"{FOLDER}/a10.mov"), "what can't be read stays"
        folder = shown.bench.session.folder / FOLDER
        assert [url.toLocalFile() for url in data.urls()] == [str(folder / "a1.mov"), str(folder / "a10.mov")]
        assert shown.model.supportedDragActions() == Qt.DropAction.CopyAction

    @pytest.mark.parametrize("told", [b"", b"{", b'{"a": 1}', b"[1, null]"])
    def test_what_others_drag_under_our_name(self, told):
        data = QMimeData()
        data.setData(MIME_TYPE, told)
        assert footage_in(data) == ()

    def test_a_locked_scene_refuses_with_a_word_why(self, make, qtbot):
        film, scene = scene_with(CONTENT)
        film = lock(film, "s2", "2026-03-01", locked_media(scene.content), "for the test").after
        shown = make(film=film)
        assert listed(shown)[0] == "a1.mov"
        choose(shown, "a2.mov")
        qtbot.keyClick(shown.view, Qt.Key.Key_Return)
        assert clips(shown) == ["a1.mov", "a10.mov"]
        assert "Scene 2 is locked" in shown.told[-1].text

    def test_what_was_not_looked_at_yet(self, make, qtbot):
        shown = make(known={})
        choose(shown, "a2.mov")
        qtbot.keyClick(shown.view, Qt.Key.Key_Return)
        assert shown.told[-1].text == "“a2.mov” is being looked at. Wait a moment, then try again."


class TestMenu:
    def menu(self, shown):
        index = shown.view.currentIndex()
        event = QContextMenuEvent(
            QContextMenuEvent.Reason.Keyboard, shown.view.visualRect(index).center(), QPoint(0, 0)
        )
        QApplication.sendEvent(shown.view.viewport(), event)
        texts = offered(shown)
        shown.menu.close()
        return texts

    def test_replacing_a_source_keeps_the_place(self, make):
        shown = make()
        shown.bench.cut.select(["c61"])
        choose(shown, "a2.mov")
        assert "Replace the source of clip 2, same in point" in self.menu(shown)
        take(shown, "Replace the source of clip 2, same")
        assert clips(shown) == ["a1.mov", "a2.mov"]
        assert content(shown).clips[1].id == "c61"
        shown.bench.session.stack.undo()
        assert clips(shown) == ["a1.mov", "a10.mov"]

    def test_footage_that_is_too_short_says_by_how_much(self, make):
        known = {**known_of(), f"{FOLDER}/a2.mov": facts("0.5")}
        shown = make(known=known)
        shown.bench.cut.select(["c61"])
        choose(shown, "a2.mov")
        self.menu(shown)
        take(shown, "Replace the source of clip 2, same")
        assert clips(shown) == ["a1.mov", "a10.mov"]
        assert "is 12 frames too short for clip 2" in shown.told[-1].text

    def test_from_its_first_frame(self, make):
        late = SceneContent(
            clips=(Clip(id="c60", source=f"{FOLDER}/a1.mov", in_seconds=Fraction(1), length_frames=24),)
        )
        known = {**known_of(), f"{FOLDER}/a2.mov": facts(1)}
        shown = make(late, known=known)
        shown.bench.cut.select(["c60"])
        choose(shown, "a2.mov")
        self.menu(shown)
        take(shown, "Replace the source of clip 1, same")
        assert "begin earlier in it" in shown.told[-1].text
        take(shown, "Replace the source of clip 1, from")
        assert (content(shown).clips[0].source, content(shown).clips[0].in_seconds) == (f"{FOLDER}/a2.mov", 0)

    def test_a_recording_that_stays_is_spoken_of(self, make):
        sound = ClipSound(kind=SoundKind.SEPARATE, file=f"{FOLDER}/r1.wav")
        used = SceneContent(clips=(Clip(id="c60", source=f"{FOLDER}/a1.mov", length_frames=9, sound=sound),))
        shown = make(used)
        shown.bench.cut.select(["c60"])
        choose(shown, "a2.mov")
        shown.run(FootageCommand.REPLACE)
        assert "keeps its recording “r1.wav”" in shown.told[-1].text

    def test_where_it_is_used(self, make):
        twice = SceneContent(
            clips=(*CONTENT.clips, Clip(id="c62", source=f"{FOLDER}/a10.mov", length_frames=9))
        )
        shown = make(twice)
        choose(shown, "a10.mov")
        assert "Select where it is used" in self.menu(shown)
        take(shown, "Select where it is used")
        assert shown.bench.cut.selection == ("c61", "c62")
        assert shown.bench.cut.frame == 24

    def test_showing_raw_footage(self, make, qtbot):
        shown = make()
        choose(shown, "a10.mov")
        with qtbot.waitSignal(shown.show_wanted) as told:
            qtbot.keyClick(shown.view, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
        assert told.args == [f"{FOLDER}/a10.mov"]
        self.menu(shown)
        with qtbot.waitSignal(shown.show_wanted):
            take(shown, "Show in the viewer")

    def test_what_can_not_be_read_offers_only_its_folder(self, make):
        shown = make()
        choose(shown, "c1.braw")
        assert self.menu(shown) == ["Open its folder"]
        assert not shown.acts.first_button.isEnabled()

    def test_missing_files_are_found_in_a_folder(self, make, qtbot, monkeypatch, tmp_path):
        known = {**known_of(), f"{FOLDER}/a10.mov": MISSING}
        shown = make(names=NAMES[:2], known=known)
        assert shown.missing.words.text() == "1 file of this scene is missing."
        choose(shown, "a10.mov")
        assert {"Find the file…", "Find missing files in a folder…"} <= set(self.menu(shown))
        (tmp_path / "disk").mkdir()
        (tmp_path / "disk" / "a10.mov").write_text("x")
        monkeypatch.setattr(
            "desk.ui.cutting.footage.relinking.ask_for_place", lambda parent, start: tmp_path / "disk"
        )
        monkeypatch.setattr(type(shown.bench.messages), "ask", lambda *_, **__: Answer.FIRST)
        with qtbot.waitSignal(shown.folder_relinking.finished):
            qtbot.mouseClick(shown.missing.button, Qt.MouseButton.LeftButton)
        assert clips(shown)[1] == "../disk/a10.mov"
        assert not shown.missing.isVisible()


class TestFromElsewhere:
    @pytest.fixture
    def disk(self, tmp_path):
        (tmp_path / "disk").mkdir()
        for name in ("x.mov", "notes.pdf"):
            (tmp_path / "disk" / name).write_text("x")
        return tmp_path / "disk"

    def drop(self, shown, *paths):
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
        rest = (data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
        entered = QDragEnterEvent(QPoint(9, 9), Qt.DropAction.CopyAction, *rest)
        shown.dragEnterEvent(entered)
        shown.dropEvent(QDropEvent(QPointF(9, 9), Qt.DropAction.CopyAction, *rest))
        return entered.isAccepted()

    def test_dropped_files_are_listed_where_they_lie(self, make, disk, qtbot):
        shown = make()
        assert self.drop(shown, disk / "x.mov", disk / "notes.pdf")
        assert listed(shown)[-1] == "x.mov"
        assert shown.rows[-1].origin == "from disk"
        assert shown.bench.media.asked[-1] == "../disk/x.mov"
        assert shown.told[-1].text == (
            "“x.mov” is listed with scene 2. It stays where the disk has it, as nothing is copied: keep that "
            "disk connected. “notes.pdf” is neither footage nor sound."
        )
        assert shown.view.chosen_rows()[0].name == "x.mov"
        session = shown.bench.session
        assert session.film.scene("s2").more_footage == ("../disk/x.mov",), "the film remembers it"
        shown.run(FootageCommand.TAKE_OFF)
        assert "x.mov" not in listed(shown)
        session.stack.undo()
        assert listed(shown)[-1] == "x.mov"
        session.stack.undo()
        assert "x.mov" not in listed(shown)

    def test_they_can_be_added_and_used(self, make, disk, qtbot):
        shown = make(known={**known_of(), "../disk/x.mov": facts(1)})
        shown.add_files([disk / "x.mov"])
        qtbot.keyClick(shown.view, Qt.Key.Key_Return)
        assert clips(shown) == ["a1.mov", "a10.mov", "../disk/x.mov"]
        assert shown.rows[-1].uses == 1
        assert not shown.rows[-1].is_added, "the scene uses it now, so it stays on the list by itself"

    def test_a_folder_becomes_that_of_a_scene_without_one(self, make, disk, qtbot):
        shown = make(SceneContent(), (), folder="")
        assert self.drop(shown, disk)
        assert shown.bench.session.film.scene("s2").folder == "../disk"
        qtbot.waitUntil(lambda: listed(shown) == ["x.mov"])

    def test_a_folder_beside_the_scenes_own_is_told(self, make, disk):
        shown = make()
        self.drop(shown, disk)
        assert shown.told[-1].text == "“disk” is a folder: choose it as the folder of the scene."

    def test_files_chosen_in_a_dialog(self, make, disk, monkeypatch):
        shown = make()
        monkeypatch.setattr(footage, "ask_for_files", lambda parent, start: [disk / "x.mov"])
        shown.head.files_action.trigger()
        assert listed(shown)[-1] == "x.mov"

    def test_our_own_drag_is_not_taken(self, make):
        shown = make()
        data = shown.model.mimeData([shown.model.index(0)])
        rest = (data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
        entered = QDragEnterEvent(QPoint(9, 9), Qt.DropAction.CopyAction, *rest)
        entered.ignore()
        shown.dragEnterEvent(entered)
        assert not entered.isAccepted()

    def test_what_is_added_to_one_scene_is_not_on_the_list_of_another(self, make, disk, qtbot):
        shown = make()
        shown.add_files([disk / "x.mov"])
        shown.show_scene(shown.bench.session.film.scene("s1"))
        settled(shown, qtbot)
        assert listed(shown) == ["kiosk.mov", "quay.mov", "horn.wav", "fog.wav", "tide.wav"]
        shown.show_scene(shown.bench.session.film.scene("s2"))
        settled(shown, qtbot)
        assert listed(shown)[-1] == "x.mov"


@pytest.mark.parametrize("uses", range(5))
def test_how_often_is_told_by_shape(uses, theme):
    """As many upright strokes as uses, and one flat line for none: told apart without colour."""
    image = QImage(20, 16, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.black)
    painter = QPainter(image)
    paint_use(Ink(painter, theme.palette), QRect(0, 0, 20, 16), uses)
    painter.end()
    lit = np.array([[image.pixelColor(x, y).lightness() > 60 for x in range(20)] for y in range(16)])
    heights = lit.sum(axis=0)
    if uses:
        tall = heights >= 8
        assert (tall[1:] & ~tall[:-1]).sum() + tall[0] == uses
    else:
        assert heights.max() <= 3
        assert (heights > 0).sum() >= 8


def test_view_tells_how_it_is_used(make_bench, qtbot):
    bench = with_media(make_bench(small_film()))
    view = FootageView(bench, FootageModel(bench.session.folder, bench.session))
    qtbot.addWidget(view)
    assert "Return adds" in view.accessibleDescription()
