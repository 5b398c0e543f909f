"""Loudness over the film on its sheet: measured when asked, and told where a scene stands out."""

import dataclasses

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QWidget

from desk.film import edits
from desk.film.edits import set_content
from desk.film.media import MediaFacts
from desk.film.model import Duck, Scene
from desk.ui.film.sheet import FilmSheet
from desk.ui.loudness.table import SoundModel, SoundRow, row_words
from tests.sound.signals import babble, write_sound
from tests.ui.sounding import film_of, voiced, write_tone
from tests.ui.viewing import wait_for_media

FRAMES = 100


@pytest.fixture
def show(make_bench, tmp_path, qtbot):
    """Shows the sheet of a film whose sounds are known."""
    sheets = []

    def make(*scenes: Scene, size: tuple[int, int] = (560, 900), seconds: float = 5) -> FilmSheet:
        folder = tmp_path / "film"
        folder.mkdir()
        for name, dbfs in (("even.wav", -23), ("soft.wav", -33), ("loud.wav", -17)):
            write_tone(folder / name, (dbfs, seconds))
        write_tone(folder / "steps.wav", (-23, seconds / 2), (-33, seconds / 2))
        write_tone(folder / "music.wav", (-37, seconds), hz=997)
        bench = make_bench(film_of(*scenes), folder)
        wait_for_media(bench, qtbot)
        sheet = FilmSheet(bench)
        sheet.bench = bench
        qtbot.addWidget(sheet)
        sheet.resize(*size)
        sheet.show()
        qtbot.waitExposed(sheet)
        sheets.append(sheet)
        return sheet

    yield make
    for sheet in sheets:
        sheet.hide()
        sheet.obstacles._timer.stop()
        sheet.bench.saving.save_now()


EVEN = voiced(1, "even.wav", FRAMES)
EVEN_2 = voiced(2, "even.wav", FRAMES)
FILM = (
    EVEN,
    voiced(2, "even.wav", FRAMES, "music.wav"),
    voiced(3, "soft.wav", FRAMES),
    voiced(4, "even.wav", FRAMES),
    voiced(5, "loud.wav", FRAMES),
)


def measure(sheet: FilmSheet, qtbot) -> None:
    section = sheet.loudness
    section.measure_button.setFocus()
    with qtbot.waitSignal(section.meter.ended, timeout=30_000):
        qtbot.keyClick(section.measure_button, Qt.Key.Key_Space)


def cells(sheet: FilmSheet) -> list[list[str]]:
    model = sheet.loudness.table.sounds
    return [
        [model.index(row, column).data() for column in range(model.columnCount())]
        for row in range(model.rowCount())
    ]


def test_nothing_is_measured_before_it_is_asked(show, qtbot):
    section = show(*FILM).loudness
    assert section.told.text().startswith("Not measured yet. “Measure the film” reads the sound")
    assert not section.table.isVisible()
    assert not section.picture.isVisible()
    assert not section.meter.is_measuring


def test_each_scene_is_as_loud_as_its_tone(show, qtbot):
    """EBU Tech 3341, case 1: a stereo sine of 1 kHz at -23 dBFS is -23 LUFS within 0.1."""
    sheet = show(*FILM)
    measure(sheet, qtbot)
    rows = sheet.loudness.table.sounds.rows
    # Tones of 997 Hz and 1 kHz add up in power.
    for row, wanted in zip(rows, (-23, -22.83, -33, -23, -17), strict=True):
        assert row.integrated_lufs == pytest.approx(wanted, abs=0.1)
    assert rows[1].music_below_voices_lu == pytest.approx(14, abs=0.1)
    assert rows[4].true_peak_dbtp == pytest.approx(-17, abs=0.1)
    assert cells(sheet)[0][:5] == ["1", "−23.0", "−23.0", "–", "−23.0"]


def test_scenes_that_stand_out_are_told(show, qtbot):
    sheet = show(*FILM)
    measure(sheet, qtbot)
    assert [row.stands_out_lu is not None for row in sheet.loudness.table.sounds.rows] == [
        False, False, True, False, True,
    ]  # fmt: skip
    assert sheet.loudness.outstanding.text() == (
        "Scene 3 is 10.0 LU softer than what is beside it. Scene 5 is 6.0 LU louder than what is beside it. "
        "It may be meant."
    )
    assert "It is" not in sheet.loudness.told.text()


def test_the_film_is_told_with_what_the_master_changes(show, qtbot):
    sheet = show(EVEN, voiced(2, "even.wav", FRAMES))
    measure(sheet, qtbot)
    assert sheet.loudness.told.text() == (
        "The mix: −23.0 LUFS, true peak −23.0 dBTP. The master changes it by about +9.0 dB, to −14 LUFS."
    )
    delivery = dataclasses.replace(sheet.bench.session.film.delivery, integrated_lufs=-24.0)
    sheet.bench.session.do(lambda film: edits.edit_film(film, delivery=delivery))
    assert sheet.loudness.told.text().endswith("by about −1.0 dB, to −24 LUFS.")


def softer(film):
    content = film.scene("s1").content
    clip = content.clips[0]
    clip = dataclasses.replace(clip, sound=dataclasses.replace(clip.sound, gain_db=-2.0))
    return set_content(film, "s1", dataclasses.replace(content, clips=(clip,)), "soften a clip")


def test_a_scene_that_changed_is_not_told_as_it_was(show, qtbot):
    sheet = show(EVEN, voiced(2, "even.wav", FRAMES))
    section = sheet.loudness
    measure(sheet, qtbot)
    assert not section.measure_button.isEnabled()
    sheet.bench.session.do(softer)
    assert cells(sheet)[0][1] == "–"
    assert section.told.text().endswith("1 scene not measured yet, or changed since.")
    assert section.measure_button.isEnabled()
    measure(sheet, qtbot)
    assert cells(sheet)[0][1] == "−25.0"
    # What was measured before is found again by itself.
    sheet.bench.session.stack.undo()
    qtbot.waitUntil(lambda: cells(sheet)[0][1] == "−23.0", timeout=20_000)


def test_what_was_measured_is_there_when_the_film_is_opened_again(show, qtbot):
    sheet = show(EVEN)
    measure(sheet, qtbot)
    other = FilmSheet(sheet.bench)
    other.bench = sheet.bench
    qtbot.addWidget(other)
    other.show()
    qtbot.waitUntil(lambda: other.loudness.table.isVisible(), timeout=20_000)
    assert cells(other) == cells(sheet)
    other.hide()
    other.obstacles._timer.stop()


def test_an_edit_that_changes_no_scene_works_nothing_out_anew(show, qtbot):
    sheet = show(EVEN)
    measure(sheet, qtbot)
    before = sheet.loudness.meter.numbers()
    sheet.bench.session.do(lambda film: edits.edit_film(film, title="Low Water"))
    assert sheet.loudness.meter.numbers() is before


def test_music_that_goes_down_under_speech_is_measured_as_it_is_heard(show, qtbot):
    scene = voiced(1, "syllables.wav", 200, "music.wav")
    cue = dataclasses.replace(scene.content.cues[0], duck=Duck(depth_db=20.0))
    ducked = dataclasses.replace(scene.content, cues=(cue,))
    steady = dataclasses.replace(voiced(2, "syllables.wav", 200, "music.wav"))
    sheet = show(dataclasses.replace(scene, content=ducked), steady, seconds=8)
    write_sound(sheet.bench.session.folder / "syllables.wav", babble(8))
    sheet.bench.media.look()
    qtbot.waitUntil(lambda: "syllables.wav" in read_files(sheet), timeout=20_000)
    measure(sheet, qtbot)
    first, second = sheet.loudness.table.sounds.rows
    assert first.voices_lufs == pytest.approx(second.voices_lufs, abs=0.01)
    assert first.music_below_voices_lu > second.music_below_voices_lu + 10


def read_files(sheet: FilmSheet) -> set[str]:
    facts = sheet.bench.media.facts
    return {path for path, known in facts.items() if isinstance(known, MediaFacts)}


def test_a_file_that_is_another_one_is_measured_anew(show, qtbot):
    sheet = show(EVEN, voiced(2, "soft.wav", FRAMES))
    measure(sheet, qtbot)
    folder = sheet.bench.session.folder
    write_tone(folder / "even.wav", (-28, 5))
    sheet.bench.media.look()
    qtbot.waitUntil(lambda: cells(sheet)[0][1] == "–", timeout=20_000)
    assert cells(sheet)[1][1] == "−33.0"
    qtbot.waitUntil(lambda: not sheet.bench.jobs.jobs, timeout=20_000)
    measure(sheet, qtbot)
    assert cells(sheet)[0][1] == "−28.0"


def test_measuring_can_be_stopped(show, qtbot):
    sheet = show(*FILM)
    section = sheet.loudness
    section.measure_button.click()
    assert section.stop_button.isVisible()
    assert section.bar.isVisible()
    with qtbot.waitSignal(section.meter.ended, timeout=30_000) as ended:
        qtbot.keyClick(section.stop_button, Qt.Key.Key_Space)
    assert ended.args == [""]
    assert section.measure_button.isVisible()
    assert not section.stop_button.isVisible()
    assert len([row for row in section.meter.numbers().rows if row.is_known]) < len(FILM)


def test_a_row_goes_to_the_loudest_moment_by_key_and_by_click(show, qtbot):
    sheet = show(*FILM)
    measure(sheet, qtbot)
    table, choice = sheet.loudness.table, sheet.bench.choice
    table.setFocus()
    table.selectRow(2)
    qtbot.keyClick(table, Qt.Key.Key_Return)
    row = table.sounds.rows[2]
    assert (choice.entry, choice.frame) == ("s3", 2 * FRAMES + row.loudest_frames)
    choice.choose("")
    at = table.visualRect(table.sounds.index(1, 5)).center()
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert choice.entry == "s2"


def test_the_drawing_is_in_proportion_and_leads_to_its_scenes(show, qtbot):
    sheet = show(EVEN, voiced(2, "even.wav", 3 * FRAMES))
    measure(sheet, qtbot)
    picture = sheet.loudness.picture
    room = picture.width() - 30
    assert picture.row_at(30 + room * 0.24).entry == "s1"
    assert picture.row_at(30 + room * 0.26).entry == "s2"
    assert picture.row_at(10) is None
    qtbot.mouseClick(picture, Qt.MouseButton.LeftButton, pos=QPoint(round(30 + room * 0.5), 40))
    assert sheet.bench.choice.entry == "s2"


def test_loudness_is_drawn_over_the_time_of_each_scene(show, qtbot):
    """Half a scene at -23 LUFS and half of it 10 LU softer: each half is as high as it is loud."""
    sheet = show(voiced(1, "steps.wav", FRAMES), EVEN_2)
    measure(sheet, qtbot)
    picture = sheet.loudness.picture
    image = picture.grab().toImage()
    ratio = picture.devicePixelRatioF()
    room = picture.width() - 30
    unlit = sheet.bench.theme.colour("unlit").rgb()

    def is_filled(part, lufs):
        x, y = 30 + room * part, picture.y_of(lufs)
        return image.pixelColor(round(x * ratio), round(y * ratio)).rgb() == unlit

    first, second = 0.1, 0.4
    assert is_filled(first, -27.5)
    assert not is_filled(second, -31.5)
    assert is_filled(second, -36.5)
    words = picture.words_at(30 + room * first)
    assert "momentary −23.0 LUFS" in words
    assert "momentary −33.0 LUFS" in picture.words_at(30 + room * second)
    # A click goes to that moment.
    qtbot.mouseClick(picture, Qt.MouseButton.LeftButton, pos=QPoint(round(30 + room * second), 40))
    assert sheet.bench.choice.entry == "s1"
    assert abs(sheet.bench.choice.frame - round(2 * FRAMES * second)) <= 1


def test_words_of_a_row():
    row = SoundRow(
        entry="s1",
        number="4A",
        integrated_lufs=-22.84,
        voices_lufs=-23.0,
        music_below_voices_lu=-2.0,
        true_peak_dbtp=-3.1,
        loudest_at="0:12:05",
        stands_out_lu=-5.25,
    )
    assert row_words(row) == (
        "Scene 4A: −22.8 LUFS, voices −23.0 LUFS, music 2.0 LU above them, true peak −3.1 dBTP, loudest at "
        "0:12:05, 5.2 LU softer than what is beside it."
    )
    assert row_words(SoundRow(entry="s1", number="1")) == "Scene 1: nothing is heard."
    assert row_words(SoundRow(entry="s1", number="1", is_known=False)).endswith("not measured as it is now.")


def test_the_model_of_scenes_holds(theme, qtbot):
    owner = QWidget()
    qtbot.addWidget(owner)
    model = SoundModel(theme, owner)
    QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, owner)
    one, two = SoundRow(entry="s1", number="1"), SoundRow(entry="s2", number="2")
    for rows in ((one, two), (one, dataclasses.replace(two, integrated_lufs=-20.0)), (), (two,)):
        model.show_rows(rows)
        assert model.rowCount() == len(rows)
