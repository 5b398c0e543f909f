"""The Dialogue part: who speaks and how loud, measured by itself, and what is wrong in words and marks."""

import functools

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtTest import QAbstractItemModelTester, QTest
from PySide6.QtWidgets import QApplication

from desk.film import edits
from desk.film.lanes import spans
from desk.film.locking import Part
from desk.film.model import Clip, ClipSound, Compression, SceneContent, SoundKind, VoiceChain
from desk.sound.chain import presets
from desk.sound.speech import listen_to_span
from desk.ui.look.theme import Appearance
from desk.ui.scene.dialogue import DialogueBody
from desk.ui.scene.voices.rows import WAITING, figure
from desk.ui.scene.voices.table import AWAY, CLIP, NOISE, PEAK, SPEAKER, SPEECH, VoiceModel, paint_clipped
from tests.film.films import locked_media
from tests.ui.scene_sheets import is_done_undone_and_redone, name_of
from tests.ui.spoken import FRAMES, RATE, put_sounds, says, spoken_film, spoken_sounds
from tests.ui.viewing import wait_for_media

pytestmark = pytest.mark.ffmpeg

SILENT = Clip(id="c9", source="picture.mov", length_frames=FRAMES, sound=ClipSound(kind=SoundKind.SILENCE))
CLIPS = (says("c1", "loud.wav", "v1", -3.0), says("c2", "soft.wav", "v2"), says("c3", "clipped.wav", "v1"))


@pytest.fixture(scope="session")
def sounds(tmp_path_factory):
    return spoken_sounds(tmp_path_factory)


@pytest.fixture
def show(make_bench, sounds, tmp_path, qtbot):
    """Shows the part for the first scene as the sheet does: again after each change."""

    def show_it(*contents, width=720, measured=True, **fields):
        bench = make_bench(spoken_film(*contents, **fields), put_sounds(sounds, tmp_path / "film"))
        wait_for_media(bench, qtbot)
        body = DialogueBody(bench)
        qtbot.addWidget(body)
        bench.session.changed.connect(functools.partial(_again, body))
        body.resize(width, 700)
        body.show_scene(bench.session.film.scene("s1"))
        body.show()
        if measured:
            wait_until_measured(body, qtbot)
        return body

    return show_it


def _again(body, film, _):
    body.show_scene(film.scene("s1"))


def wait_until_measured(body, qtbot):
    def is_there():
        rows = body.table.voices.rows
        return body.bench.listening.is_settled("dialogue") and not any(row.is_waiting for row in rows)

    qtbot.waitUntil(is_there, timeout=20_000)


def cells(body, column):
    model = body.table.voices
    return [model.index(row, column).data() for row in range(model.rowCount())]


def content(body):
    return body.bench.session.film.scene("s1").content


def test_each_clip_says_who_speaks_how_loud_and_how_far_from_the_target(show):
    chain = VoiceChain(voice="v2", low_cut_hz=300.0, compression=Compression.FIRM)
    body = show(SceneContent(clips=(*CLIPS, SILENT), voice_chains=(chain,), voices_offset_lu=-2.0))
    bench = body.bench
    found = [
        listen_to_span(span, RATE, bench.session.folder / span.file, bench.media.facts[span.file])
        for span in spans(content(body), RATE)
    ]
    assert cells(body, CLIP)[0] == "1  picture.mov"
    assert cells(body, SPEAKER) == ["Ada", "Ben", "Ada", ""]
    gains = (-3.0, 0.0, 0.0)
    loudness = [speech.loudness_lufs + gain for speech, gain in zip(found, gains, strict=True)]
    assert cells(body, SPEECH) == [*(figure(value) for value in loudness), "silent"]
    assert [row.away_lu for row in body.table.voices.rows[:3]] == pytest.approx(
        [value + 25 for value in loudness]
    )
    noise = [figure(speech.noise_floor_dbfs + gain) for speech, gain in zip(found, gains, strict=True)]
    peaks = [figure(speech.peak_dbtp + gain) for speech, gain in zip(found, gains, strict=True)]
    assert cells(body, NOISE) == [*noise, ""]
    assert cells(body, PEAK) == [*peaks, ""]
    assert body.summary(bench.session.film.scene("s1")).startswith("2 voices, ")
    assert "chain on" in body.summary(bench.session.film.scene("s1"))


def test_what_is_wrong_is_told_in_plain_words(show):
    clips = (
        *CLIPS[:2],
        says("c3", "clipped.wav", "v1"),
        says("c4", "room.wav", "v1"),
        says("c5", "noisy.wav"),
        says("c6", "room.wav"),
    )
    body = show(SceneContent(clips=clips))
    assert cells(body, SPEECH)[3:] == ["no speech", "nobody", "nobody"]
    clipped = body.table.voices.rows[2].clipped_samples
    assert clipped > 100
    told = body.looks.text()
    assert f"Clip 3: {clipped:,} samples of its recording are clipped." in told
    assert "Clip 4: No speech was found, so its gain stays." in told
    assert "Clip 5: Somebody speaks in it, and it is not said who, so its gain stays." in told
    assert "Clip 6" not in told, "nobody speaks there, as it is said"
    row = body.table.voices.index(2, CLIP)
    assert "samples of its recording are clipped" in row.data(Qt.ItemDataRole.AccessibleTextRole)
    assert "samples of its recording are clipped" in row.data(Qt.ItemDataRole.ToolTipRole)


def test_missing_files_are_told(show):
    body = show(SceneContent(clips=(CLIPS[0], says("c2", "gone.wav", "v1"))))
    assert cells(body, SPEECH)[1] == "missing"
    index = body.table.voices.index(1, SPEECH)
    assert index.data(Qt.ItemDataRole.ForegroundRole) == body.bench.theme.colour("broken_text")
    assert "gone.wav" in body.looks.text()


def test_the_mark_of_clipping_has_a_shape_of_its_own(show):
    """It is there in grey too: a row with it differs from the same row without it, and it is not the bar."""
    body = show(SceneContent(clips=(says("c1", "loud.wav"), says("c2", "clipped.wav"))))
    image = body.table.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
    ratio = image.devicePixelRatio()

    def strip(row):
        rect = body.table.visualRect(body.table.voices.index(row, CLIP))
        top = body.table.viewport().mapTo(body.table, rect.topLeft()).y()
        right = body.table.viewport().mapTo(body.table, rect.topRight()).x()
        return image.copy(*(round(value * ratio) for value in (right - 20, top + 4, 18, 20)))

    def shades(picture):
        return {
            picture.pixelColor(x, y).red() for x in range(picture.width()) for y in range(picture.height())
        }

    assert len(shades(strip(0))) == 1
    assert len(shades(strip(1))) > 3
    # Its top is flat: one line from side to side.
    alone = QImage(32, 32, QImage.Format.Format_RGB32)
    alone.fill(Qt.GlobalColor.black)
    painter = QPainter(alone)
    paint_clipped(painter, alone.rect().adjusted(4, 8, -4, -8).toRectF(), Qt.GlobalColor.white)
    painter.end()
    lit = [sum(alone.pixelColor(x, y).red() > 100 for x in range(32)) for y in range(32)]
    assert max(lit) >= 22
    assert lit.index(max(lit)) < 12


@pytest.mark.parametrize(("file", "side"), [("loud.wav", 1), ("soft.wav", -1)])
def test_the_bar_goes_to_the_side_of_what_is_louder(show, file, side):
    body = show(SceneContent(clips=(says("c1", file),)))
    row = body.table.voices.rows[0]
    assert row.away_lu * side > 1
    rect = body.table.visualRect(body.table.voices.index(0, AWAY))
    corner = body.table.viewport().mapTo(body.table, rect.topLeft())
    image = body.table.grab().toImage()
    ratio, pencil = image.devicePixelRatio(), body.bench.theme.colour("pencil")
    y = round((corner.y() + rect.height() / 2) * ratio)
    # The figure behind the bar has the same colour.
    places = range(rect.width() - 52)
    lit = [x for x in places if image.pixelColor(round((corner.x() + x) * ratio), y) == pencil]
    middle = 8 + (rect.width() - 16 - 44) / 2
    assert lit
    assert all((x - middle) * side >= -1 for x in lit)


def test_it_is_measured_only_while_it_can_be_seen_and_only_this_scene(show, qtbot):
    body = show(SceneContent(clips=CLIPS[:2]), SceneContent(clips=(says("c8", "noisy.wav"),)))
    bench = body.bench
    heard = []
    bench.listening.heard.connect(heard.append)
    other = spans(bench.session.film.scene("s2").content, RATE)[0]
    assert bench.listening.find(bench.listening.key(other)) is None
    # What changed is measured again, and nothing else.
    bench.session.do(lambda film: edits.set_voice_chain(film, "s1", VoiceChain(voice="v2", low_cut_hz=150.0)))
    assert cells(body, SPEECH)[1] == WAITING
    wait_until_measured(body, qtbot)
    assert len(heard) == 1
    # A gain is shown at once, and nothing is measured.
    before = body.table.voices.rows[0].level.loudness_lufs
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s1", ["c1"], gain_db=3.0))
    assert body.table.voices.rows[0].level.loudness_lufs == pytest.approx(before + 6)
    wait_until_measured(body, qtbot)
    assert len(heard) == 1
    body.hide()
    bench.session.do(lambda film: edits.trim_tail(film, "s1", "c1", 10))
    qtbot.waitUntil(lambda: not bench.jobs.jobs, timeout=20_000)
    assert len(heard) == 1
    body.show()
    wait_until_measured(body, qtbot)
    assert len(heard) == 2


def test_it_says_how_far_listening_is(show, qtbot):
    body = show(SceneContent(clips=CLIPS), measured=False)
    assert cells(body, SPEECH) == [WAITING] * 3
    assert body.stage.isVisible()
    told = []
    body.bench.listening.progressed.connect(lambda who, report: told.append(report.text))
    wait_until_measured(body, qtbot)
    assert "Listening to “loud.wav”, 1 of 3" in told
    qtbot.waitUntil(lambda: not body.stage.isVisible())


def test_saying_who_speaks_in_several_clips_at_once(show):
    body = show(SceneContent(clips=CLIPS))
    body.table.select(["c1", "c2"])
    speaker = body.speaker
    assert speaker.words.text() == "In clips 1 and 2 speaks"
    assert speaker.name.lineEdit().placeholderText() == "several"

    def type_name(name):
        speaker.name.setFocus()
        speaker.name.setEditText(name)
        QTest.keyClick(speaker.name.lineEdit(), Qt.Key.Key_Return)

    is_done_undone_and_redone(body.bench, lambda: type_name("Carla"))
    carla = body.bench.session.film.voices[-1]
    assert carla.name == "Carla"
    assert [clip.sound.voice for clip in content(body).clips] == [carla.id, carla.id, "v1"]
    assert cells(body, SPEAKER) == ["Carla", "Carla", "Ada"]
    assert body.table.selected == ("c1", "c2")
    # A name that is there already is that voice, however it is written.
    is_done_undone_and_redone(body.bench, lambda: type_name("ben"))
    assert [clip.sound.voice for clip in content(body).clips] == ["v2", "v2", "v1"]
    assert len(body.bench.session.film.voices) == 3
    is_done_undone_and_redone(body.bench, lambda: speaker.name.activated.emit(0))
    assert [clip.sound.voice for clip in content(body).clips] == ["", "", "v1"]


def test_a_name_that_is_not_taken_is_not_kept(show, qtbot):
    body = show(SceneContent(clips=CLIPS))
    body.activateWindow()
    qtbot.waitUntil(body.isActiveWindow)
    body.table.select(["c1"])
    body.speaker.name.setFocus()
    body.speaker.name.setEditText("Car")
    QTest.keyClick(body.speaker.name.lineEdit(), Qt.Key.Key_Escape)
    assert body.speaker.name.currentText() == "Ada"
    body.speaker.name.setEditText("Car")
    body.table.setFocus()
    QApplication.processEvents()
    assert body.speaker.name.currentText() == "Ada"
    assert body.bench.session.stack.count() == 0


def test_a_clip_is_gone_to_with_enter(show):
    body = show(SceneContent(clips=CLIPS))
    body.bench.cut.open("s1")
    body.table.setCurrentIndex(body.table.voices.index(1, 0))
    QTest.keyClick(body.table, Qt.Key.Key_Return)
    assert body.bench.cut.frame == FRAMES


def test_targets_are_fields(show):
    body = show(SceneContent(clips=CLIPS))
    targets, bench = body.targets, body.bench

    def type_into(field, text):
        field.edit.setText(text)
        field.edit.textEdited.emit(text)
        field.edit.editingFinished.emit()

    away = body.table.voices.rows[0].away_lu
    is_done_undone_and_redone(bench, lambda: type_into(targets.offset_lu, "-4"))
    assert content(body).voices_offset_lu == -4
    assert body.table.voices.rows[0].away_lu == pytest.approx(away + 4)
    assert "−27.0 LUFS" in targets.words.text()
    is_done_undone_and_redone(bench, lambda: type_into(targets.film_lufs, "-20"))
    assert bench.session.film.delivery.voices_lufs == -20
    assert "−24.0 LUFS" in targets.words.text()
    type_into(targets.offset_lu, "99")
    assert targets.offset_lu.fault.isVisible()
    assert content(body).voices_offset_lu == -4


def test_calling_the_voices_level(show):
    body = show(SceneContent(clips=CLIPS))
    is_done_undone_and_redone(body.bench, body.levelled.click)
    assert content(body).voices_levelled
    assert body.levelled.isChecked()
    assert body.summary(body.bench.session.film.scene("s1")).endswith("voices level")
    assert body.bench.statuses.of(body.bench.session.film.scene("s1")).open_in(Part.DIALOGUE) == ()


def test_cautions_and_explanations(show):
    body = show(SceneContent(clips=CLIPS))
    assert "Monitor at a moderate level" in body.caution.text()
    assert "Voices come first" in body.words.text()


def test_silent_scenes_and_empty_ones(show):
    body = show(SceneContent(clips=(SILENT,)))
    assert "All clips are silent" in body.words.text()
    assert not body.caution.isVisible()
    assert not body.levelled.isVisible()
    assert not body.voice.isVisible()
    body.bench.session.do(lambda film: edits.set_content(film, "s1", SceneContent(), "For the test"))
    assert "no clips yet" in body.words.text()
    assert not body.table.isVisible()
    assert body.summary(body.bench.session.film.scene("s1")) == "no clips yet"


def is_fixed(body):
    body.table.select(["c1"])
    assert not body.speaker.name.isEnabled()
    assert not body.levelled.isEnabled()
    assert body.targets.offset_lu.edit.isReadOnly()
    chain = body.voice.chain
    assert not chain.on.isEnabled()
    assert not chain.preset.isEnabled()
    assert chain.low_cut.edit.isReadOnly()


def test_a_locked_scene_is_shown_and_refuses_with_a_sentence(show):
    body = show(SceneContent(clips=CLIPS, voice_chains=(presets()[0].chain("v1"),)))
    locked = edits.lock(body.bench.session.film, "s1", "2026-03-01", locked_media(content(body)), "trial")
    body.bench.session.apply(locked)
    assert cells(body, SPEAKER)[0] == "Ada"
    is_fixed(body)
    assert body.speaker.name.toolTip() == "Scene 1 is locked. Unlock it first."
    assert not body.targets.film_lufs.edit.isReadOnly()


def test_a_film_for_reading_only(show):
    body = show(SceneContent(clips=CLIPS))
    body.bench.session.read_only = "It is open elsewhere."
    body.show_scene(body.bench.session.film.scene("s1"))
    is_fixed(body)
    assert body.speaker.name.toolTip() == "It is open elsewhere."
    assert body.targets.film_lufs.edit.isReadOnly()


def test_what_has_no_column_in_a_narrow_window_is_told_below(show):
    body = show(SceneContent(clips=CLIPS), width=480)
    assert body.table.isColumnHidden(NOISE)
    body.table.select(["c3"])
    assert body.detail.isVisible()
    assert "Noise floor" in body.detail.text()
    assert "samples of its recording are clipped." in body.detail.text()
    assert body.table.horizontalHeader().length() <= body.table.viewport().width()
    body.resize(900, 700)
    QApplication.processEvents()
    assert not body.table.isColumnHidden(NOISE)
    assert not body.detail.isVisible()


def test_the_model_keeps_the_rules(show, theme):
    body = show(SceneContent(clips=CLIPS))
    model = VoiceModel(theme, body)
    QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, model)
    rows = body.table.voices.rows
    told = []
    model.dataChanged.connect(lambda first, last, roles: told.append((first.row(), last.row())))
    for shown in (rows, rows[:2], (), rows, (rows[0], rows[2], rows[1])):
        model.show_rows(shown)
        assert model.rowCount() == len(shown)
    assert told == []
    theme.set_appearance(Appearance.LIGHT)
    assert told == [(0, 2)]


def test_everything_has_a_name(show):
    body = show(SceneContent(clips=CLIPS, voice_chains=(presets()[1].chain("v1"),)))
    from tests.ui.scene_sheets import focusable

    controls = list(focusable(body))
    assert len(controls) > 15
    assert [control for control in controls if not name_of(control)] == []


def test_many_clips_scroll_inside(show):
    many = tuple(
        Clip(id=f"c{number}", source="picture.mov", length_frames=2, sound=SILENT.sound)
        for number in range(1, 201)
    )
    body = show(SceneContent(clips=(*many, says("c900", "loud.wav"))))
    assert body.table.voices.rowCount() == 201
    assert body.table.height() < 400
