"""Loudness over the scene: as loud as its tones, on the lanes' time line, and measured anew after edits."""

import dataclasses

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from desk.film import edits
from desk.film.edits import set_content
from desk.film.model import Delivery, Scene, SceneContent
from desk.sound.loudness import measure
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.loudness.canvas import relative_gate
from desk.ui.loudness.line import LoudnessLine
from tests.ui.sounding import film_of, tone, voiced, write_tone
from tests.ui.viewing import wait_for_media

FRAMES = 300


@pytest.fixture
def show(make_bench, tmp_path, qtbot):
    """Shows the loudness of a film's first scene, under its lanes."""
    lines = []

    def make(*scenes: Scene, wait: bool = True, width: int = 700) -> LoudnessLine:
        folder = tmp_path / "film"
        folder.mkdir()
        # Six seconds at -33 dBFS, then six at -23.
        write_tone(folder / "steps.wav", (-33, 6), (-23, 6))
        write_tone(folder / "even.wav", (-23, 12))
        write_tone(folder / "music.wav", (-37, 12), hz=997)
        bench = make_bench(film_of(*scenes), folder)
        wait_for_media(bench, qtbot)
        bench.cut.open(scenes[0].id)
        lanes = Lanes(bench)
        line = LoudnessLine(bench, lanes)
        line.bench, line.lanes = bench, lanes
        for widget in (lanes, line):
            qtbot.addWidget(widget)
            widget.resize(width, widget.sizeHint().height())
            widget.show()
            qtbot.waitExposed(widget)
        lines.append(line)
        if wait:
            wait_for_words(line, qtbot, "The mix of this scene")
        return line

    yield make
    for line in lines:
        line.hide()


def wait_for_words(line: LoudnessLine, qtbot, words: str) -> None:
    qtbot.waitUntil(lambda: words in line.words.text() and not line.meter.is_old, timeout=20_000)


def softer(scene_id: str):
    """Return an edit that makes a scene's first clip softer by 6 dB."""

    def edit(film):
        content = film.scene(scene_id).content
        clip = content.clips[0]
        clip = dataclasses.replace(clip, sound=dataclasses.replace(clip.sound, gain_db=-6.0))
        return set_content(film, scene_id, dataclasses.replace(content, clips=(clip,)), "soften a clip")

    return edit


EVEN, STEPS = voiced(1, "even.wav", FRAMES), voiced(1, "steps.wav", FRAMES)


def test_a_scene_is_as_loud_as_its_tone(show):
    """EBU Tech 3341, case 1: a stereo sine of 1 kHz at -23 dBFS is -23 LUFS within 0.1."""
    line = show(voiced(1, "even.wav", FRAMES, "music.wav"))
    found = line.meter.loudness
    assert found.voices_lufs == pytest.approx(-23, abs=0.1)
    assert found.music_below_voices_lu == pytest.approx(14, abs=0.1)
    assert line.words.text() == (
        "The mix of this scene: −22.8 LUFS, range 0.0 LU, true peak −21.4 dBTP, voices −23.0 LUFS, "
        "music 14.0 LU below them."
    )
    assert line.canvas.accessibleName() == f"Loudness over the scene. {line.words.text()}"


def test_the_line_stands_on_the_time_line_of_the_lanes(show):
    line = show(STEPS)
    canvas, axis = line.canvas, line.lanes.view.axis
    assert canvas._axis == axis
    # A short-term value is of 3 s, and stands in the middle of them.
    for seconds, level in ((2, -33), (10, -23)):
        assert f"short-term {str(level).replace('-', '−')}.0 LUFS" in canvas.words_at(axis.x(seconds * 25))
    assert canvas.words_at(axis.x(0.5 * 25)).startswith("0:00:12: short-term – LUFS, momentary −33.0")
    points = dict(canvas._points(line.meter.loudness.mix.short_term_lufs, 3.0))
    first = min(points)
    assert first == pytest.approx(axis.x(1.5 * 25))
    assert points[first] == pytest.approx(canvas.y_of(-33), abs=0.2)
    assert points[max(points)] == pytest.approx(canvas.y_of(-23), abs=0.2)
    line.lanes.zoom_in()
    assert canvas._axis == line.lanes.view.axis != axis


def test_where_many_values_lie_on_a_pixel_the_loudest_is_drawn(show):
    canvas = show(EVEN).canvas
    levels = np.full(3000, -40, np.float32)
    levels[1234] = -10
    canvas.show_axis(TimeAxis.of_range(0, 7500, left_px=76, width_px=300))
    points = canvas._points(levels, 0.4)
    assert len(points) <= 302
    assert min(y for _, y in points) == pytest.approx(canvas.y_of(-10))


def test_the_gate_is_ten_below_the_mean_of_what_is_heard(show):
    """ITU-R BS.1770-4, formula 6: the relative threshold is 10 LU below the mean of the blocks above -70."""
    loud = measure(iter([tone(-23, 5)])).momentary_lufs
    assert relative_gate(loud) == pytest.approx(-33, abs=0.1)
    assert relative_gate(np.concatenate([loud, np.full(500, -120, np.float32)])) == pytest.approx(
        -33, abs=0.1
    )
    assert relative_gate(np.full(5, -120, np.float32)) is None


def test_an_edit_is_measured_anew_and_meanwhile_what_was_measured_is_old(show, qtbot):
    line = show(EVEN)
    session = line.bench.session

    session.do(softer("s1"))
    assert line.meter.is_old
    assert line.words.text().endswith("Measuring anew…")
    wait_for_words(line, qtbot, "−29.0 LUFS")
    session.stack.undo()
    wait_for_words(line, qtbot, "−23.0 LUFS")
    session.stack.redo()
    wait_for_words(line, qtbot, "−29.0 LUFS")


def test_an_edit_that_changes_no_sound_of_the_scene_measures_nothing(show):
    line = show(EVEN, voiced(2, "steps.wav", FRAMES))
    line.bench.session.do(lambda film: edits.edit_story(film, "s1", purpose="The lamp goes out."))
    line.bench.session.do(softer("s2"))
    assert not line.meter.is_old
    assert line.meter.fraction is None


def test_what_was_measured_is_found_again(show, qtbot):
    line = show(EVEN)
    kept = list((line.bench.session.folder / ".desk" / "loudness").glob("*.loud"))
    assert len(kept) == 3
    first = line.meter.loudness
    line.meter.measure()
    qtbot.waitUntil(lambda: line.meter.loudness is not first, timeout=20_000)
    assert line.meter.loudness.mix.integrated_lufs == first.mix.integrated_lufs


def test_another_target_is_drawn(show, theme):
    line = show(EVEN)

    def pencil_at(level: float) -> bool:
        image = line.canvas.grab().toImage()
        ratio = image.width() / line.canvas.width()
        y = int(round(line.canvas.y_of(level)) * ratio)
        x = round((line.canvas._axis.left_px + 40) * ratio)
        return image.pixelColor(x, y).name() == theme.palette.pencil

    assert (pencil_at(-14), pencil_at(-30)) == (True, False)
    delivery = dataclasses.replace(Delivery(), integrated_lufs=-30.0)
    line.bench.session.do(lambda film: edits.edit_film(film, delivery=delivery))
    assert (pencil_at(-14), pencil_at(-30)) == (False, True)


def test_a_click_and_the_button_move_the_playhead(show, qtbot):
    line = show(STEPS)
    cut = line.bench.cut
    at = QPoint(round(line.canvas._axis.x(100.5)), 20)
    qtbot.mouseClick(line.canvas, Qt.MouseButton.LeftButton, pos=at)
    assert cut.frame == 100
    line.loudest.setFocus()
    qtbot.keyClick(line.loudest, Qt.Key.Key_Space)
    # The loud tone begins with second 6.
    assert 6 * 25 <= cut.frame < FRAMES
    assert line.loudest.accessibleName().startswith("Go to the loudest moment, at 0:0")


def test_folded_it_measures_nothing_and_stays_folded(show, qtbot):
    line = show(EVEN, voiced(2, "steps.wav", FRAMES))
    line.fold_button.setFocus()
    qtbot.keyClick(line.fold_button, Qt.Key.Key_Space)
    assert not line.is_open
    assert not line.meter.is_wanted
    line.bench.cut.open("s2")
    assert line.words.text() == ""
    other = LoudnessLine(line.bench, line.lanes)
    qtbot.addWidget(other)
    assert not other.is_open
    qtbot.keyClick(line.fold_button, Qt.Key.Key_Space)
    wait_for_words(line, qtbot, "LUFS")


def test_a_scene_without_sound_says_so(show, qtbot):
    line = show(Scene(id="s1", number="1", content=SceneContent()), voiced(2, "even.wav", FRAMES), wait=False)
    wait_for_words(line, qtbot, "Nothing is heard in this scene.")
    assert not line.loudest.isVisible()


def test_another_scene_shows_nothing_of_the_one_before(show, qtbot):
    line = show(EVEN, voiced(2, "steps.wav", FRAMES))
    line.bench.cut.open("s2")
    assert line.meter.loudness is None
    wait_for_words(line, qtbot, "range")
    assert "−23.0 LUFS" not in line.words.text().split("range")[0]
