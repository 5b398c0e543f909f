"""Grade: what it shows; each edit done, undone and done again. And the table of a scene's sounds."""

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
from desk.ui.music.spot_details import SPOT_COLUMNS, spot_rows
from desk.ui.scene.clip_table import SoundModel
from desk.ui.scene.grade import GradeBody
from tests.film.films import locked_media, random_film, small_film
from tests.ui.scene_parts import MISSING, scene_with, with_media

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
        model = SoundModel(SPOT_COLUMNS, theme)
        QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, model)
        for seed in range(40):
            film = random_film(seed)
            for scene in film.scenes:
                rows = spot_rows(film, scene, {})
                model.show_rows(rows)
                assert model.rowCount() == len(scene.content.spots)
                for row in range(model.rowCount()):
                    for column, _ in enumerate(SPOT_COLUMNS):
                        index = model.index(row, column)
                        assert index.data() == rows[row][column].text
                        assert index.data(Qt.ItemDataRole.AccessibleTextRole)
        theme.set_appearance(Appearance.LIGHT)
        model.deleteLater()

    def test_only_rows_that_differ_are_told_of(self, theme):
        model = SoundModel(SPOT_COLUMNS, theme)
        second = Spot(id="f61", file="effects/gull.wav", start_frames=0, length_frames=24)
        spots = (*CONTENT.spots, second)
        film, scene = scene_with(dataclasses.replace(CONTENT, spots=spots))
        model.show_rows(spot_rows(film, scene, {}))
        told = []
        model.dataChanged.connect(lambda first, last, roles: told.append((first.row(), last.row())))
        model.modelReset.connect(lambda: told.append("reset"))
        model.show_rows(spot_rows(film, scene, {"effects/gull.wav": MISSING}))
        assert told == [(1, 1)]
        model.deleteLater()


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
