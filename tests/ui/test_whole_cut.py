"""A scene cut from raw clips in a real window, with the pointer and the keyboard of the X server.

Then the scene is locked and assembled, and the review copy is decoded with PyAV, which has no part in
making it: each frame of the footage carries its number, and beeps tell where its sound is. What is to be
there is worked out here from the clips in the film file, by the definition of a clip: frame k shows the
source at in point + k · speed / rate.
"""

import json
import math
import wave
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from desk.film.model import Delivery, Film, Placement, Scene, Size
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.store.project import new_project
from tests.making import BEEP_SECONDS, beep_samples, find_beeps, make_numbered, read_pictures
from tests.ui.window_job import WITH_A_SCREEN, run_on_screen

pytestmark = WITH_A_SCREEN

RATE = 25
SIZE = (320, 180)
CLIPS = {"C0001.mov": (60, 0), "C0002.mov": (50, 120), "C0003.mov": (70, 213), "C0004.mov": (40, 300)}
"""How many frames each file has, and the number of its first."""

RECORDING, RECORDING_SECONDS = "R0001.wav", Fraction(1)
FOLDER = "footage/01 quay"
WITHIN_SECONDS = 0.001


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project with one scene that has no clips, and footage in its folder."""
    project = tmp_path / "kiosk"
    film = Film(
        title="The Late Ferry",
        rate=Rate(RATE),
        size=Size(*SIZE),
        start_frames=90_000,
        footage="footage",
        scenes=(Scene(id="s1", number="1", slugline="EXT. QUAY - DAWN", folder=FOLDER),),
        order=(Placement(entry="s1"),),
        delivery=Delivery(review_height=SIZE[1]),
        next_id=2,
    )
    new_project(project, film)
    folder = project / FOLDER
    folder.mkdir(parents=True)
    for name, (frames, first) in CLIPS.items():
        make_numbered(folder / name, frames=frames, start=first, size=SIZE, sound="beeps")
    with wave.open(str(folder / RECORDING), "wb") as recording:
        recording.setparams((1, 2, SAMPLE_RATE_HZ, 0, "NONE", ""))
        numbers = range(RATE)
        times = [Fraction(number, RATE) for number in numbers]
        # A beep in frame 6 and one in frame 19.
        recording.writeframes(beep_samples([number + 7 for number in numbers], times, 13, RECORDING_SECONDS))
    return project


def test_a_scene_is_cut_from_raw_clips_and_the_copy_shows_the_cut(tmp_path: Path, project: Path):
    footage = project / "footage"
    before = {path: path.read_bytes() for path in footage.rglob("*") if path.is_file()}

    run_on_screen("tests.ui.whole_cut", project, settings=tmp_path / "settings", size=(1520, 1180))

    told = json.loads((project / "film.json").read_text())["film"]
    (scene,) = told["scenes"]
    content = scene["content"]
    assert [clip.source for clip in _clips(content)] == ["C0004.mov", "C0001.mov", "C0002.mov", "C0003.mov"]
    assert scene["lock"]["reason"] == "a trial"
    (copy,) = project.rglob("*-review-001.mp4")
    numbers, sound = _decode(copy)
    assert numbers == list(_numbers(content))
    _assert_beeps(find_beeps(sound), list(_beeps(content)))
    assert {path: path.read_bytes() for path in footage.rglob("*") if path.is_file()} == before


@dataclass(frozen=True, slots=True, kw_only=True)
class _Clip:
    """A clip as the film file has it, and where it starts."""

    source: str
    start: int
    length: int
    in_seconds: Fraction
    speed: Fraction
    lead: int
    lag: int
    is_heard: bool


def _clips(content: dict) -> Iterator[_Clip]:
    start = 0
    for clip in content["clips"]:
        start += clip.get("gap_frames", 0)
        sound = clip.get("sound", {})
        yield _Clip(
            source=Path(clip["source"]).name,
            start=start,
            length=clip["length_frames"],
            in_seconds=Fraction(clip.get("in_seconds", "0")),
            speed=Fraction(clip.get("speed", "1")),
            lead=sound.get("lead_frames", 0),
            lag=sound.get("lag_frames", 0),
            is_heard=sound.get("kind", "own") == "own",
        )
        start += clip["length_frames"]


def _numbers(content: dict) -> Iterator[int]:
    """The numbers that the copy has to show."""
    for clip in _clips(content):
        for index in range(clip.length):
            seconds = clip.in_seconds + index * clip.speed / RATE
            yield CLIPS[clip.source][1] + math.floor(seconds * RATE)


def _beeps(content: dict) -> Iterator[tuple[float, bool]]:
    """When beeps are to be heard, and whether all of each is."""
    for clip in _clips(content):
        frames, first = CLIPS[clip.source]
        if clip.is_heard:
            assert clip.speed == 1
            begin, end = Fraction(clip.start - clip.lead, RATE), clip.start + clip.length + clip.lag
            for index in range(frames):
                if (first + index) % RATE == 0:
                    at = Fraction(clip.start, RATE) + Fraction(index, RATE) - clip.in_seconds
                    yield from _heard(at, begin, Fraction(end, RATE))
    for spot in content["spots"]:
        begin = Fraction(spot["start_frames"], RATE)
        end = begin + Fraction(spot["length_frames"], RATE)
        for frame in (6, 19):
            at = begin + Fraction(frame, RATE) - Fraction(spot.get("in_seconds", "0"))
            yield from _heard(at, begin, end)


def _heard(at: Fraction, begin: Fraction, end: Fraction) -> Iterator[tuple[float, bool]]:
    length = Fraction(BEEP_SECONDS)
    if at + length > begin and at < end:
        yield float(max(at, begin)), begin <= at and at + length <= end


def _assert_beeps(found: list[float], wanted: list[tuple[float, bool]]) -> None:
    """Every whole beep is heard where it belongs; one that is cut off may be too soft to be found."""
    whole = sorted(at for at, is_whole in wanted if is_whole)
    assert len(whole) >= 6
    others = [at for at in found if all(abs(at - it) > WITHIN_SECONDS for it in whole)]
    kept = [at for at in found if at not in others]
    assert kept == pytest.approx(whole, abs=WITHIN_SECONDS)
    parts = [at for at, is_whole in wanted if not is_whole]
    assert all(any(abs(at - it) < BEEP_SECONDS for it in parts) for at in others)


def _decode(copy: Path) -> tuple[list[int], NDArray[np.float32]]:
    """Return the numbers of a copy's frames, and its sound as mono samples from time 0."""
    with av.open(str(copy)) as container:
        pictures = [frame.to_ndarray(format="gray") for frame in container.decode(video=0)]
    with av.open(str(copy)) as container:
        stream = container.streams.audio[0]
        samples = np.zeros(round(SAMPLE_RATE_HZ * (len(pictures) / RATE + 1)), dtype=np.float32)
        for frame in container.decode(stream):
            assert frame.sample_rate == SAMPLE_RATE_HZ
            part = frame.to_ndarray().mean(axis=0)
            start = round(frame.pts * frame.time_base * SAMPLE_RATE_HZ)
            begin, part = max(start, 0), part[max(-start, 0) :]
            part = part[: len(samples) - begin]
            samples[begin : begin + len(part)] = part
    return [reading.number for reading in read_pictures(pictures)], samples
