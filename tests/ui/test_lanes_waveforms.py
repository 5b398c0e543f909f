"""Outlines of sounds in the lanes: drawn where the samples are, and made and kept beside the window."""

import dataclasses
import math
from fractions import Fraction

import numpy as np
import pytest

from desk.errors import MediaError
from desk.film.lanes import spans
from desk.film.model import Clip, ClipSound, SceneContent, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.waveform import outline, waveform_key
from desk.store.folder import desk_folder
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.cutting.lanes.layout import Row
from desk.ui.cutting.lanes.tiles import fade_levels
from desk.ui.cutting.lanes.waveform_files import WaveformFiles
from desk.ui.cutting.lanes.waveforms import Waveforms
from tests.film.films import RATE, facts, small_film
from tests.making import BEEP_HZ
from tests.ui.lanes import box_of
from tests.ui.scene_parts import scene_with, with_media

PATH = "footage/2/a.mov"


def burst(begin: float, end: float, seconds: float = 12.0, level: float = 0.5):
    """A sine between two places in seconds, silence around it."""
    samples = np.zeros((round(seconds * SAMPLE_RATE_HZ), 2), np.float32)
    first, last = round(begin * SAMPLE_RATE_HZ), round(end * SAMPLE_RATE_HZ)
    wave = level * np.sin(2 * np.pi * BEEP_HZ * np.arange(last - first) / SAMPLE_RATE_HZ)
    samples[first:last] = wave[:, None]
    return samples


class Reader:
    """Stands in for the reading of files: gives the samples of a test."""

    def __init__(self, samples=None, error=None):
        self.samples, self.error = samples, error
        self.read = []

    def __call__(self, path, facts, *, progress, cancel):
        self.read.append(path.name)
        if self.error is not None:
            raise self.error
        return outline([self.samples])


@pytest.fixture
def show(make_bench, qtbot):
    """Shows one clip, and waits until its sound is drawn."""
    kept = []

    def show_it(clip, samples, width=1000):
        film, scene = scene_with(SceneContent(clips=(clip,)))
        bench = with_media(make_bench(film))
        waveforms = Waveforms(bench, bench.session, make=Reader(samples))
        lanes = Lanes(bench, waveforms=waveforms)
        kept.append(lanes)
        qtbot.addWidget(lanes)
        lanes.resize(width, 300)
        bench.cut.open(scene.id)
        with qtbot.waitSignal(waveforms.made):
            lanes.show()
            qtbot.waitExposed(lanes)
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
        return lanes.view, bench

    return show_it


def heights(view, owner):
    """How high the outline is in each column of pixels of a clip's sound."""
    box = box_of(view, owner, Row.DIALOGUE)
    image = view.grab().toImage()
    rect = box.rect(view.axis)
    colour = view._bench.theme.colour("dim").rgb()
    # Arrows stand where the edges of the screen cut something off.
    left = math.ceil(max(rect.left(), view.axis.left_px + 10))
    right = math.floor(min(rect.right(), view.axis.right_px - 10)) - 1
    top, bottom = round(rect.top()), round(rect.bottom())
    return {x: sum(image.pixel(x, y) == colour for y in range(top, bottom)) for x in range(left, right)}


CLIP = Clip(id="c3", source=PATH, in_seconds=Fraction(2), length_frames=144)


@pytest.mark.parametrize("zoom", [1, 4])
@pytest.mark.parametrize("speed", [Fraction(1), Fraction(1, 2), Fraction(2)])
def test_a_burst_stands_where_it_sounds_to_the_pixel(show, zoom, speed):
    clip = dataclasses.replace(CLIP, speed=speed)
    # From 24 to 48 film frames after the head, at the clip's speed.
    begin, end = (float(2 + Fraction(frames, 24) * speed) for frames in (24, 48))
    view, _ = show(clip, burst(begin, end, seconds=16))
    view.zoom(zoom, view.axis.x(36))
    left, right = view.axis.x(24), view.axis.x(48)
    # A stretch of the outline is 256 samples long, and up to one more at each end counts in.
    beside = math.ceil(256 / SAMPLE_RATE_HZ * 24 / float(speed) * view.axis.px_per_frame) + 1
    found = heights(view, "c3")
    for x, height in found.items():
        if left + 1 <= x < right - 1:
            # A level of a half, to the power of 0.6, is 26 of 40 pixels.
            assert height == pytest.approx(40 * 0.5**0.6, abs=3), x
        elif not left - beside <= x <= right + beside:
            assert height <= 2, x


def test_the_gain_makes_it_higher_and_a_fade_lower(show):
    sound = ClipSound(gain_db=-12, fade_in_frames=72)
    view, _ = show(dataclasses.replace(CLIP, sound=sound), burst(0, 12))
    found = heights(view, "c3")
    rect = box_of(view, "c3", Row.DIALOGUE).rect(view.axis)
    # Beside the label, and where the lines of fade and gain do not lie on the outline.
    for frames in (60, 100, 130):
        x = round(view.axis.x(frames))
        fade = fade_levels(np.array([(x + 0.5 - rect.left()) / view.axis.px_per_frame]), 144, 72, 0)[0]
        level = 0.5 * 10 ** (-12 / 20) * fade
        assert found[x] == pytest.approx(40 * level**0.6, abs=4)
    assert found[round(view.axis.x(60))] < found[round(view.axis.x(100))] or fade == 1


def test_a_fade_is_a_quarter_of_a_sine_as_in_the_mix():
    # The mix gives half the power, sin 45 deg, in the middle of a fade.
    levels = fade_levels(np.array([0.0, 12.0, 24.0, 60.0, 108.0, 120.0]), 120, 24, 24)
    assert levels == pytest.approx([0, math.sqrt(0.5), 1, 1, math.sqrt(0.5), 0], abs=1e-9)


def test_a_lead_and_a_separate_recording_are_read_where_they_are(show):
    sound = ClipSound(
        kind=SoundKind.SEPARATE, file="sound/voice.wav", offset_seconds=Fraction(3), lead_frames=24
    )
    clip = dataclasses.replace(CLIP, sound=sound)
    # The head of the clip is second 5 of the recording, so its lead begins with second 4.
    (span,) = spans(SceneContent(clips=(clip,)), RATE)
    assert span.in_seconds == 4
    view, _ = show(clip, burst(4.5, 5.0))
    found = heights(view, "c3")
    loud = [x for x, height in found.items() if height > 15]
    assert min(loud) == pytest.approx(view.axis.x(-12), abs=2)
    # The line that marks the start of the picture stands at its end.
    assert max(loud) == pytest.approx(view.axis.x(0) - 1, abs=2)


class TestMaking:
    @pytest.fixture
    def bench(self, make_bench):
        return with_media(make_bench(small_film()))

    def test_it_is_made_once_and_kept(self, bench, qtbot):
        reader = Reader(burst(0, 1, seconds=2))
        waveforms = Waveforms(bench, bench.session, make=reader)
        with qtbot.waitSignal(waveforms.made) as told:
            assert waveforms.waveform("footage/1/quay.mov") is None
            assert waveforms.waveform("footage/1/quay.mov") is None
        assert told.args == ["footage/1/quay.mov"]
        made = waveforms.waveform("footage/1/quay.mov")
        assert made.samples == 2 * SAMPLE_RATE_HZ
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
        other = Waveforms(bench, bench.session, make=reader)
        with qtbot.waitSignal(other.made):
            other.waveform("footage/1/quay.mov")
        kept = other.waveform("footage/1/quay.mov")
        assert np.array_equal(kept.outlines[0].high, made.outlines[0].high)
        assert reader.read == ["quay.mov"]
        qtbot.waitUntil(lambda: not bench.jobs.jobs)

    def test_what_was_asked_for_last_is_made_first(self, bench, qtbot):
        reader = Reader(burst(0, 1, seconds=1))
        bench.media.facts = {
            path: dataclasses.replace(known, sample_hash=path) for path, known in bench.media.facts.items()
        }
        waveforms = Waveforms(bench, bench.session, make=reader)
        for path in ("footage/1/quay.mov", "footage/1/kiosk.mov", "music/tide.wav"):
            waveforms.waveform(path)
        qtbot.waitUntil(lambda: len(reader.read) == 3 and not bench.jobs.jobs)
        assert reader.read == ["quay.mov", "tide.wav", "kiosk.mov"]

    def test_another_file_in_its_place_is_outlined_anew(self, bench, qtbot):
        reader = Reader(burst(0, 1, seconds=1))
        waveforms = Waveforms(bench, bench.session, make=reader)
        path = "footage/1/quay.mov"
        with qtbot.waitSignal(waveforms.made):
            waveforms.waveform(path)
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
        with qtbot.waitSignal(waveforms.made):
            bench.media.now(**{path: dataclasses.replace(facts(), sample_hash="f" * 32)})
        assert waveforms.waveform(path) is None
        qtbot.waitUntil(lambda: len(reader.read) == 2 and not bench.jobs.jobs)

    def test_one_that_can_not_be_read_is_not_tried_again(self, bench, qtbot):
        reader = Reader(error=MediaError("It can't be read.", code="media.unreadable"))
        waveforms = Waveforms(bench, bench.session, make=reader)
        path = "footage/1/quay.mov"
        waveforms.waveform(path)
        qtbot.waitUntil(lambda: len(reader.read) == 1 and not bench.jobs.jobs)
        assert waveforms.waveform(path) is None
        assert not bench.jobs.jobs
        bench.media.now(**{path: bench.media.facts[path]})
        waveforms.waveform(path)
        qtbot.waitUntil(lambda: len(reader.read) == 2 and not bench.jobs.jobs)

    def test_a_file_without_sound_is_not_read(self, bench):
        bench.media.facts = {"footage/1/quay.mov": facts(sound=None)}
        waveforms = Waveforms(bench, bench.session, make=Reader())
        assert waveforms.waveform("footage/1/quay.mov") is None
        assert not bench.jobs.jobs

    def test_those_not_used_for_longest_go(self, bench, qtbot):
        reader = Reader(burst(0, 1, seconds=8))
        bench.media.facts = {
            path: dataclasses.replace(known, sample_hash=path) for path, known in bench.media.facts.items()
        }
        waveforms = Waveforms(bench, bench.session, make=reader, limit_bytes=9000)
        for path in ("footage/1/quay.mov", "footage/1/kiosk.mov"):
            with qtbot.waitSignal(waveforms.made):
                waveforms.waveform(path)
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
        assert waveforms.waveform("footage/1/kiosk.mov") is not None
        assert waveforms.waveform("footage/1/quay.mov") is None
        qtbot.waitUntil(lambda: not bench.jobs.jobs)


class TestFiles:
    def test_what_is_damaged_is_made_anew(self, tmp_path):
        files = WaveformFiles(tmp_path)
        key = waveform_key(facts())
        made = outline([burst(0, 1, seconds=2)])
        assert files.find(key) is None
        files.keep(key, made)
        (path,) = (desk_folder(tmp_path) / "waveforms").iterdir()
        assert files.find(key).samples == made.samples
        data = path.read_bytes()
        for broken in (b"", data[:9], data[:-1], data[:50] + b"?" + data[51:]):
            path.write_bytes(broken)
            assert WaveformFiles(tmp_path).find(key) is None

    def test_a_disk_that_refuses_keeps_nothing(self, tmp_path):
        (tmp_path / ".desk").write_text("in the way")
        files = WaveformFiles(tmp_path)
        files.keep("a", outline([burst(0, 1, seconds=1)]))
        assert files.find("a") is None
