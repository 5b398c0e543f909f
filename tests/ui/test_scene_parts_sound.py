"""Music and effects, and Grade: what they show; each edit done, undone and done again."""

import dataclasses
from fractions import Fraction

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QLabel

from desk.film.edits import lock
from desk.film.locking import Part
from desk.film.model import (
    CameraLook,
    Candidate,
    Clip,
    ClipSound,
    Cue,
    Grade,
    Rights,
    SceneContent,
    SoundKind,
    Spot,
)
from desk.ui.look.theme import Appearance
from desk.ui.scene.clip_table import CLIP_COLUMNS, SoundModel, clip_rows
from desk.ui.scene.grade import GradeBody
from desk.ui.scene.music import MusicBody
from tests.film.films import locked_media, random_film, small_film
from tests.ui.scene_parts import MISSING, focus_chain, scene_with, with_media

CONTENT = SceneContent(
    clips=(
        Clip(
            id="c3",
            source="footage/2/a.mov",
            length_frames=48,
            sound=ClipSound(gain_db=-3.5, lead_frames=6, lag_frames=2, fade_in_frames=4, fade_out_frames=10),
        ),
        Clip(
            id="c60",
            source="footage/2/b.mov",
            length_frames=48,
            sound=ClipSound(
                kind=SoundKind.SEPARATE, file="footage/2/R1.wav", offset_seconds=Fraction(117, 50)
            ),
        ),
        Clip(id="c61", source="footage/2/c.mov", length_frames=48, sound=ClipSound(kind=SoundKind.SILENCE)),
    ),
    cues=(
        Cue(
            id="m60",
            label="m2",
            start_frames=24,
            length_frames=144,
            candidates=(
                Candidate(
                    id="a60",
                    file="music/twice b.opus",
                    rights=Rights(
                        title="Twice (b)",
                        author="Wenke Aldous",
                        licence="CC BY 4.0",
                        required_credit="“Twice (b)” by Wenke Aldous, licensed under CC BY 4.0",
                    ),
                ),
                Candidate(id="a61", file="music/own & old.wav"),
            ),
        ),
    ),
    spots=(
        Spot(id="f60", file="effects/horn.wav", label="horn", start_frames=30, length_frames=24, gain_db=-12),
    ),
    grade=Grade(slope=(0.95, 0.98, 1.06), offset=(0.012, 0.012, -0.018), saturation=0.92),
    grade_note="colder",
)


@pytest.fixture
def show(make_bench, qtbot):
    """Shows a part of scene 2 as the sheet does: again after each change."""

    def show_it(kind, film, known=None):
        bench = with_media(make_bench(film), known)
        body = kind(bench)
        qtbot.addWidget(body)
        bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s2")))
        body.resize(520, 500)
        body.show_scene(film.scene("s2"))
        body.show()
        return body

    return show_it


@pytest.fixture
def film():
    return scene_with(CONTENT)[0]


def locked(film):
    content = film.scene("s2").content
    return lock(film, "s2", "2026-03-01", locked_media(content), "trial").after


def content(body):
    return body.bench.session.film.scene("s2").content


def there_and_back(body, check_before, check_after):
    """What was done by the person is undone and done again, and the part shows it each time."""
    check_after()
    body.bench.session.stack.undo()
    check_before()
    body.bench.session.stack.redo()
    check_after()


def cells(table):
    model = table.sounds
    return [
        [model.index(row, column).data() for column in range(model.columnCount())]
        for row in range(model.rowCount())
    ]


class TestTable:
    def test_the_model_keeps_the_rules(self, theme, qapp):
        """Films of chance, one after the other, under Qt's own tester of models."""
        model = SoundModel(CLIP_COLUMNS, theme)
        QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, model)
        for seed in range(40):
            for scene in random_film(seed).scenes:
                rows = clip_rows(scene, {})
                model.show_rows(rows)
                assert model.rowCount() == len(scene.content.clips)
                for row in range(model.rowCount()):
                    for column, _ in enumerate(CLIP_COLUMNS):
                        index = model.index(row, column)
                        assert index.data() == rows[row][column].text
                        assert index.data(Qt.ItemDataRole.AccessibleTextRole)
        theme.set_appearance(Appearance.LIGHT)
        model.deleteLater()

    def test_only_rows_that_differ_are_told_of(self, theme):
        model = SoundModel(CLIP_COLUMNS, theme)
        _, scene = scene_with(CONTENT)
        model.show_rows(clip_rows(scene, {}))
        told = []
        model.dataChanged.connect(lambda first, last, roles: told.append((first.row(), last.row())))
        model.modelReset.connect(lambda: told.append("reset"))
        model.show_rows(clip_rows(scene, {"footage/2/R1.wav": MISSING}))
        assert told == [(1, 1)]
        model.deleteLater()


def chosen_name(body, cue=0):
    return next(button.full_text for button in body.cues[cue].buttons if button.isChecked())


class TestMusic:
    def test_cues_and_candidates(self, show, film):
        body = show(MusicBody, film)
        assert (body.part, body.title) == (Part.MUSIC, "Music and effects")
        (cue,) = body.cues
        assert cue.heading.text() == "m2: from 0:01:00, 0:06:00 long, 0:01:00 of it after the scene's end"
        assert [button.full_text for button in cue.buttons] == [
            "Twice (b), by Wenke Aldous",
            "own & old.wav",
            "None of them",
        ]
        assert chosen_name(body) == "None of them"
        assert not cue.untried.isVisible()
        words = [label.text() for label in cue.findChildren(QLabel)]
        assert "CC BY 4.0" in words
        assert "no licence entered" in words
        assert "Credit: “Twice (b)” by Wenke Aldous, licensed under CC BY 4.0" in words
        kinds = {label.text(): label.property("kind") for label in cue.findChildren(QLabel)}
        assert kinds["no licence entered"] == "open"
        assert "no legal advice" in body.rights.text()
        assert body.rights.isVisible()
        assert body.summary(film.scene("s2")) == "m2 has 2 candidates, none chosen · 1 spot"

    def test_choosing(self, show, film):
        body = show(MusicBody, film)
        body.cues[0].buttons[0].click()

        def after():
            assert content(body).cues[0].chosen == "a60"
            assert chosen_name(body) == "Twice (b), by Wenke Aldous"

        def before():
            assert content(body).cues[0].chosen == ""
            assert chosen_name(body) == "None of them"

        there_and_back(body, before, after)
        summary = body.summary(body.bench.session.film.scene("s2"))
        assert summary == "m2 “Twice (b)”, chosen of 2 · 1 spot"
        body.cues[0].buttons[2].click()
        before()

    def test_declaring_none(self, show):
        without = dataclasses.replace(CONTENT, cues=())
        body = show(MusicBody, scene_with(without)[0])
        assert body.no_cues.isVisible()
        body.no_music.click()

        def after():
            assert content(body).no_music
            assert body.no_music.isChecked()
            assert not body.no_cues.isVisible()

        def before():
            assert not content(body).no_music
            assert not body.no_music.isChecked()

        there_and_back(body, before, after)
        assert body.summary(body.bench.session.film.scene("s2")) == "no music, as declared · 1 spot"

    def test_none_can_not_be_declared_over_a_choice(self, show, film, qtbot):
        body = show(MusicBody, film)
        body.cues[0].buttons[0].click()
        with qtbot.waitSignal(body.bench.session.refused) as told:
            body.no_music.click()
        assert "has music chosen for cue m2" in told.args[0].message
        assert not body.no_music.isChecked()

    def test_spots(self, show, film):
        body = show(MusicBody, film)
        assert cells(body.spots) == [["horn", "horn.wav", "0:01:06", "0:01:00", "−12 dB", "none"]]
        body = show(MusicBody, film, {"effects/horn.wav": MISSING})
        assert cells(body.spots)[0][1] == "horn.wav, missing"

    def test_missing_files_can_be_found_here_too(self, show, film):
        body = show(MusicBody, film, {"music/own & old.wav": MISSING, "effects/horn.wav": MISSING})
        assert body.troubles.isVisible()
        words = [label.accessibleName() for label in body.troubles.findChildren(QLabel)]
        advice = "It is missing. Connect its disk, or say where it is now."
        assert f"“music/own & old.wav”: {advice}" in words
        assert f"“effects/horn.wav”: {advice}" in words
        (cue,) = body.cues
        assert "file missing; no licence entered" in [label.text() for label in cue.findChildren(QLabel)]

    def test_a_scene_with_neither(self, show):
        body = show(MusicBody, scene_with(SceneContent())[0])
        assert body.cues == ()
        assert body.no_cues.isVisible()
        assert body.effects.text() == "NO EFFECTS"
        assert not body.spots.isVisible()
        assert not body.rights.isVisible()
        assert body.summary(body.bench.session.film.scene("s2")) == "no music yet · no effects"

    def test_a_cue_for_which_nothing_was_tried(self, show):
        bare = dataclasses.replace(CONTENT, cues=(Cue(id="m60", label="m2", length_frames=24),))
        body = show(MusicBody, scene_with(bare)[0])
        assert body.cues[0].untried.isVisible()
        assert body.cues[0].buttons == ()

    def test_other_scenes_have_other_cues(self, show, film):
        body = show(MusicBody, film)
        body.show_scene(film.scene("s1"))
        assert [button.full_text for button in body.cues[0].buttons] == [
            "tide.wav",
            "fog.wav",
            "None of them",
        ]
        assert chosen_name(body) == "tide.wav"
        body.show_scene(film.scene("s4"))
        assert body.cues == ()
        body.show_scene(film.scene("s2"))
        assert chosen_name(body) == "None of them"

    def test_a_locked_scene(self, show, film):
        body = show(MusicBody, locked(film))
        assert not body.no_music.isEnabled()
        assert not any(button.isEnabled() for button in body.cues[0].buttons)

    def test_names_for_those_who_do_not_see_it(self, show, film):
        body = show(MusicBody, film)
        names = [button.accessibleName() for button in body.cues[0].buttons]
        assert names == [
            "m2: Twice (b), by Wenke Aldous, CC BY 4.0",
            "m2: own & old.wav, no licence entered",
            "m2: none of them",
        ]

    def test_tab_goes_down_the_page(self, show, film):
        body = show(MusicBody, film, {"effects/horn.wav": MISSING})
        body.show_scene(film.scene("s1"))
        body.show_scene(film.scene("s2"))
        assert [widget.accessibleName() or widget.text() for widget in focus_chain(body)] == [
            "Find the file horn.wav",
            "m2: Twice (b), by Wenke Aldous, CC BY 4.0",
            "m2: own & old.wav, no licence entered",
            "m2: none of them",
            "No music in this scene",
            "Effects",
        ]

    def test_a_long_name_is_cut_and_told_in_full(self, show, film):
        body = show(MusicBody, film)
        body.resize(240, 500)
        button = body.cues[0].buttons[0]
        assert button.text().endswith("…")
        assert button.toolTip() == "Twice (b), by Wenke Aldous"


class TestGrade:
    def test_words_numbers_and_cameras(self, show, film):
        looks = (CameraLook(id="l1", name="camera A", note="25p"),)
        clips = (dataclasses.replace(CONTENT.clips[0], camera="l1"), *CONTENT.clips[1:])
        film = dataclasses.replace(film, camera_looks=looks)
        film, scene = scene_with(dataclasses.replace(CONTENT, clips=clips), film)
        body = show(GradeBody, film)
        assert (body.part, body.title) == (Part.GRADE, "Grade")
        assert body.note.edit.toPlainText() == "colder"
        names = {label.accessibleName() for label in body.numbers.findChildren(QLabel)}
        assert {
            "slope of blue: 1.060",
            "offset of blue: −0.018",
            "power of red: 1.000",
            "saturation: 0.920",
        } <= names
        assert body.cameras.text().splitlines() == [
            "camera A, 1 clip: 25p",
            "No camera look: 2 clips.",
        ]
        assert "timeline file" in body.kept.text()
        assert body.summary(scene) == "“colder” · numbers set · 2 clips without a camera look"
        assert not body.flashing.isVisible()

    def test_a_plain_grade(self, show):
        body = show(GradeBody, small_film())
        assert not body.numbers.isVisible()
        assert "plain look" in body.kept.text()
        assert body.summary(small_film().scene("s2")) == "no note · plain"

    def test_what_is_typed_is_one_step(self, show, film, qtbot):
        body = show(GradeBody, film)
        body.note.setFocus()
        body.note.edit.selectAll()
        qtbot.keyClicks(body.note.edit, "warmer")
        assert content(body).grade_note == "warmer"
        assert body.bench.session.stack.count() == 1
        assert body.note.edit.toPlainText() == "warmer"
        body.note.edit.clearFocus()

        def after():
            assert content(body).grade_note == "warmer"
            assert body.note.edit.toPlainText() == "warmer"

        def before():
            assert content(body).grade_note == "colder"
            assert body.note.edit.toPlainText() == "colder"

        there_and_back(body, before, after)

    def test_the_cursor_stays_where_it_is_typed(self, show, film, qtbot):
        body = show(GradeBody, film)
        body.note.setFocus()
        cursor = body.note.edit.textCursor()
        cursor.setPosition(4)
        body.note.edit.setTextCursor(cursor)
        qtbot.keyClicks(body.note.edit, "er, much cold")
        assert content(body).grade_note == "colder, much colder"
        assert body.note.edit.textCursor().position() == 4 + len("er, much cold")

    def test_leaving_the_field_ends_the_step(self, show, film, qtbot):
        body = show(GradeBody, film)
        for text in (" a", " b"):
            body.note.setFocus()
            qtbot.keyClicks(body.note.edit, text)
            body.note.edit.clearFocus()
            body.note.left.emit()
        assert body.bench.session.stack.count() == 2

    def test_a_note_that_is_too_long_stays_to_be_mended(self, show, film, qtbot):
        body = show(GradeBody, film)
        body.note.edit.setPlainText("x" * 10_001)
        assert "grade note" in body.note.fault.text()
        assert len(body.note.edit.toPlainText()) == 10_001
        assert content(body).grade_note == "colder"

    def test_a_locked_scene_is_read_only(self, show, film, qtbot):
        body = show(GradeBody, locked(film))
        assert body.note.edit.isReadOnly()
        qtbot.keyClicks(body.note.edit, "x")
        assert content(body).grade_note == "colder"

    def test_cuts_that_can_flash(self, show):
        clips = tuple(
            Clip(id=f"c{100 + place}", source="footage/2/a.mov", length_frames=3) for place in range(12)
        )
        body = show(GradeBody, scene_with(SceneContent(clips=clips))[0])
        assert body.flashing.isVisible()
        assert body.flashing.text().startswith("8 cuts within a second at 0:00:03. ")
        assert "seizures" in body.flashing.text()
