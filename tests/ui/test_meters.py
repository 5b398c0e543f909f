"""Meters go with what is played: figures of known tones, ballistics, and what the person sees."""

import dataclasses
import time
import wave

import numpy as np
import pytest
from PySide6.QtCore import QObject, Qt

from desk.film import edits
from desk.film.model import Candidate, ClipSound, Cue, Delivery, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.loudness import measure
from desk.ui.level_words import shown_level, signed_level
from desk.ui.viewer.live_levels import LiveLevels
from desk.ui.viewer.metering import HOLD_SECONDS, LEAST_DB, Metering, Needle
from desk.ui.viewer.meters import LevelMeter
from desk.ui.viewer.player import Player
from desk.ui.viewer.viewer import Viewer
from tests.ui.viewing import (
    Device,
    SteppedClock,
    numbered_footage,
    put_footage,
    viewed_film,
    wait_for_media,
)

DELIVERY = Delivery()


def tone(dbfs: float, seconds: float) -> np.ndarray:
    """Return a stereo sine of 1 kHz, as in EBU Tech 3341."""
    times = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    sine = 10 ** (dbfs / 20) * np.sin(2 * np.pi * 1000 * times)
    return np.stack([sine, sine], axis=1).astype(np.float32)


def in_blocks(samples: np.ndarray, *sizes: int):
    at = number = 0
    while at < len(samples):
        size = sizes[number % len(sizes)]
        yield samples[at : at + size]
        at, number = at + size, number + 1


def measured(samples: np.ndarray, *sizes: int) -> LiveLevels:
    levels = LiveLevels()
    for _ in levels.through(in_blocks(samples, *(sizes or (4800,)))):
        pass
    return levels


# -- what is found


def test_a_tone_is_as_loud_as_the_standard_says():
    """EBU Tech 3341, case 1: 1 kHz at -23 dBFS, 20 s: momentary and short-term -23 LUFS within 0.1."""
    heard = measured(tone(-23, 20)).take(20 * SAMPLE_RATE_HZ)
    assert heard.momentary_lufs == pytest.approx(-23, abs=0.1)
    assert heard.short_term_lufs == pytest.approx(-23, abs=0.1)
    assert 20 * np.log10(heard.peaks) == pytest.approx(-23, abs=0.01)


@pytest.mark.parametrize("sizes", [(4800,), (1, 4799, 333), (48_000,)])
def test_each_step_is_as_a_whole_measurement_has_it(sizes):
    random = np.random.default_rng(3)
    sound = np.concatenate([tone(-30, 2), tone(-12, 2), tone(-50, 1)])
    sound += random.normal(0, 0.01, sound.shape).astype(np.float32)
    whole = measure(in_blocks(sound, 4800))
    levels = measured(sound, *sizes)
    for step in range(len(whole.momentary_lufs)):
        heard = levels.take((step + 1) * 4800)
        for found, wanted in (
            (heard.momentary_lufs, whole.momentary_lufs[step]),
            (heard.short_term_lufs, whole.short_term_lufs[step]),
        ):
            assert found == (pytest.approx(wanted, abs=0.001) if wanted > -70 else None)
        part = np.abs(sound[step * 4800 : (step + 1) * 4800]).max(axis=0)
        assert heard.peaks == pytest.approx(part)


def test_blocks_pass_as_they_are_and_are_closed():
    closed = []

    def blocks():
        try:
            yield from parts
        finally:
            closed.append(True)

    parts = [tone(-20, 0.1), tone(-20, 0.037), tone(-20, 0.25)]
    through = LiveLevels().through(blocks())
    assert next(through) is parts[0]
    assert [block is part for block, part in zip(through, parts[1:], strict=True)] == [True, True]
    again = LiveLevels().through(blocks())
    next(again)
    again.close()
    assert closed == [True, True]


def test_what_is_not_heard_yet_is_not_told():
    levels = measured(np.concatenate([np.zeros((48_000, 2), np.float32), tone(-6, 1)]))
    before = levels.take(48_000)
    assert (before.peaks, before.momentary_lufs) == ((0, 0), None)
    assert max(levels.take(48_960).peaks) == pytest.approx(10 ** (-6 / 20), abs=0.001)
    assert levels.take(48_960).peaks is None


def test_silence_has_no_loudness():
    heard = measured(np.zeros((4 * SAMPLE_RATE_HZ, 2), np.float32)).take(10**9)
    assert (heard.peaks, heard.momentary_lufs, heard.short_term_lufs) == ((0, 0), None, None)


# -- ballistics


def test_a_peak_rises_at_once_falls_steadily_and_is_held():
    """20 dB in 1.7 s: IEC 60268-10, type I (from memory)."""
    needle = Needle().after(0.04, -6)
    assert (needle.level_db, needle.hold_db) == (-6, -6)
    for _ in range(17):
        needle = needle.after(0.1, LEAST_DB)
    assert needle.level_db == pytest.approx(-26)
    # The line stood for its time, and fell for what is left of 1.7 s.
    assert -6 > needle.hold_db > needle.level_db
    needle = Needle().after(0.1, -6).after(HOLD_SECONDS - 0.1, LEAST_DB)
    assert needle.hold_db == -6
    for _ in range(100):
        needle = needle.after(0.1, LEAST_DB)
    assert (needle.level_db, needle.hold_db) == (LEAST_DB, LEAST_DB)


class Played:
    """Sound that is played as a test says."""

    def __init__(self, samples: np.ndarray) -> None:
        self.levels = measured(samples)
        self.heard_samples = 0


@pytest.fixture
def metering(qapp):
    owner = QObject()
    clock = SteppedClock()

    def make(samples: np.ndarray) -> Metering:
        made = Metering(Played(samples), owner, now=clock)
        made.clock = clock
        made_ones.append(made)
        return made

    made_ones: list[Metering] = []
    yield make
    for made in made_ones:
        made.follow(False)
    owner.deleteLater()


def hear(metering: Metering, seconds: float) -> None:
    """Let time pass, tick by tick."""
    for _ in range(round(seconds / 0.04)):
        metering.clock.seconds += 0.04
        metering._playing.heard_samples += 1920
        metering.read()


def test_full_scale_is_marked_until_the_mark_is_taken_back(metering):
    read = metering(np.concatenate([tone(-3, 1), tone(0.5, 0.1), tone(-3, 1)]))
    read.follow(True)
    hear(read, 0.8)
    assert not read.is_over
    hear(read, 0.6)
    assert read.is_over
    assert read.peak_dbfs == pytest.approx(0.5, abs=0.01)
    hear(read, 0.4)
    read.follow(False)
    assert read.is_over
    read.clear_over()
    assert not read.is_over


def test_figures_are_told_five_times_a_second_and_never_while_it_stands(metering, qtbot):
    read = metering(tone(-23, 4))
    told, changed = [], []
    read.told.connect(lambda: told.append(read.momentary_lufs))
    read.changed.connect(lambda: changed.append(read.needles))
    read.follow(True)
    hear(read, 2)
    assert len(told) == 1 + 10
    assert len(changed) == 1 + 50
    read.follow(False)
    assert not read.is_on
    assert (read.momentary_lufs, read.needles) == (None, (Needle(), Needle()))
    assert read.peak_dbfs == pytest.approx(-23, abs=0.01)


# -- what is seen


@pytest.fixture
def show(metering, theme, qtbot):
    def make(samples: np.ndarray, delivery: Delivery = DELIVERY, width: int = 360) -> LevelMeter:
        meter = LevelMeter(metering(samples), lambda: delivery, theme)
        qtbot.addWidget(meter)
        meter.resize(width, meter.sizeHint().height())
        meter.show()
        qtbot.waitExposed(meter)
        return meter

    return make


def test_the_figures_can_be_read_aloud(show):
    meter = show(tone(-23, 4))
    assert meter.accessibleName().startswith("Levels: momentary – LUFS")
    read = meter._metering
    read.follow(True)
    hear(read, 3.4)
    assert meter.loudness.text() == "M −23.0  S −23.0 LUFS"
    assert meter.peak.text() == "Peak −23.0 dBFS"
    assert meter.accessibleName() == (
        "Levels: momentary −23.0 LUFS, short-term −23.0 LUFS, highest peak −23.0 dBFS"
    )
    assert "voices at −23 LUFS, the master's target −14 LUFS" in meter.accessibleDescription()


def test_the_mark_of_full_scale_is_taken_back_by_key(show, qtbot):
    meter = show(tone(1, 1))
    assert not meter.over.isVisible()
    meter._metering.follow(True)
    hear(meter._metering, 0.4)
    assert meter.over.isVisible()
    assert meter.accessibleName().endswith("over full scale")
    meter.over.setFocus()
    qtbot.keyClick(meter.over, Qt.Key.Key_Space)
    assert not meter.over.isVisible()
    assert "over" not in meter.accessibleName()


def pixel(meter: LevelMeter, level_db: float, y: int) -> str:
    image = meter.bars.grab().toImage()
    ratio = image.width() / meter.bars.width()
    return image.pixelColor(round(meter.bars.x_of(level_db) * ratio), round(y * ratio)).name()


def test_the_bars_reach_as_far_as_it_is_loud(show, theme):
    meter = show(np.concatenate([tone(-20, 3) * np.array([1, 0.1], np.float32), tone(-20, 1)]))
    meter._metering.follow(True)
    hear(meter._metering, 3)
    # The left at -20 dBFS, the right at -40.
    left, right = 2, 9
    assert [pixel(meter, level, left) for level in (-59, -22, -16)] == [
        theme.palette.draft, theme.palette.draft, theme.palette.field,
    ]  # fmt: skip
    assert [pixel(meter, level, right) for level in (-59, -42, -36)] == [
        theme.palette.draft, theme.palette.draft, theme.palette.field,
    ]  # fmt: skip


def test_nothing_is_painted_while_it_stands(show, qtbot):
    meter = show(tone(-23, 4))
    meter._metering.follow(True)
    hear(meter._metering, 1)
    meter._metering.follow(False)
    qtbot.waitUntil(lambda: meter.bars.painted > 0)
    before = meter.bars.painted
    qtbot.wait(120)
    assert meter.bars.painted <= before + 1


@pytest.mark.parametrize(
    ("level", "shown"), [(None, "–"), (-23.04, "−23.0"), (-0.04, "0.0"), (1.25, "1.2"), (0.0, "0.0")]
)
def test_levels_are_written_with_a_tenth(level, shown):
    assert shown_level(level) == shown


@pytest.mark.parametrize(("level", "shown"), [(None, "–"), (3.0, "+3.0"), (-4.21, "−4.2"), (0.01, "0.0")])
def test_differences_are_written_with_their_sign(level, shown):
    assert signed_level(level) == shown


# -- in the viewer


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


def write_tone(path, dbfs: float, seconds: float) -> None:
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(SAMPLE_RATE_HZ)
        out.writeframes((tone(dbfs, seconds) * 32767).astype("<i2").tobytes())


def film_with_a_tone():
    """Scene 1 with no sound but a tone under it."""
    film = viewed_film()
    scene = film.scenes[0]
    silent = tuple(
        dataclasses.replace(item, sound=ClipSound(kind=SoundKind.SILENCE)) for item in scene.content.clips
    )
    cue = Cue(
        id="m1",
        start_frames=0,
        length_frames=40,
        candidates=(Candidate(id="a1", file="tone.wav"),),
        chosen="a1",
    )
    content = dataclasses.replace(scene.content, clips=silent, cues=(cue,))
    return dataclasses.replace(film, scenes=(dataclasses.replace(scene, content=content), *film.scenes[1:]))


@pytest.fixture
def make_viewer(make_bench, footage, tmp_path, qtbot):
    viewers = []

    def make(make_output):
        folder = put_footage(footage, tmp_path / "film")
        write_tone(folder / "tone.wav", -23, 3)
        bench = make_bench(film_with_a_tone(), folder)
        wait_for_media(bench, qtbot)
        bench.cut.open("s1")
        player = Player(bench, make_output=make_output)
        viewer = Viewer(bench, player=player)
        player.setParent(viewer)
        viewers.append(viewer)
        qtbot.addWidget(viewer)
        viewer.resize(640, 520)
        viewer.show()
        return viewer

    yield make
    for viewer in viewers:
        viewer.shut()


@pytest.mark.ffmpeg
@pytest.mark.parametrize("has_device", [True, False])
def test_the_meters_show_what_is_played_with_and_without_a_sound_device(make_viewer, qtbot, has_device):
    device = Device(time.monotonic)
    viewer = make_viewer(lambda _: device if has_device else None)
    told = []
    metering = viewer.player.metering
    metering.told.connect(lambda: told.append(metering.momentary_lufs))
    viewer.player.set_volume(0.1)
    with qtbot.waitSignal(viewer.player.played, timeout=20_000, check_params_cb=lambda is_on: not is_on):
        viewer.player.play()
    # The volume turns down the device, and not what is measured.
    assert max(level for level in told if level is not None) == pytest.approx(-23, abs=0.1)
    assert metering.peak_dbfs == pytest.approx(-23, abs=0.05)
    assert not metering.is_on
    assert viewer.meter.loudness.text() == "M –  S – LUFS"
    assert viewer.meter.peak.text() == "Peak −23.0 dBFS"


@pytest.mark.ffmpeg
def test_the_full_view_has_the_same_meters(make_viewer, qtbot):
    viewer = make_viewer(lambda _: None)
    viewer.toggle_full_view()
    viewer.full_view.show()
    viewer.player.metering.is_over = True
    viewer.player.metering.told.emit()
    assert not viewer.full_view.meter.over.isHidden()
    viewer.full_view.meter.over.click()
    assert viewer.meter.over.isHidden()
    viewer.toggle_full_view()


@pytest.mark.ffmpeg
def test_another_target_moves_its_mark(make_viewer):
    viewer = make_viewer(lambda _: None)
    session = viewer._bench.session
    session.do(
        lambda film: edits.edit_film(
            film, delivery=dataclasses.replace(film.delivery, integrated_lufs=-23.0, voices_lufs=-27.5)
        )
    )
    assert "voices at −27.5 LUFS, the master's target −23 LUFS" in viewer.meter.toolTip()
