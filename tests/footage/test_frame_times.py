"""Times of the frames of variable-rate footage, compared with a decode of the whole file by FFmpeg."""

import bisect
import random
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from desk.errors import MediaError
from desk.film.media import PictureFacts
from desk.film.rates import Rate
from desk.footage.frame_times import shown_times, shown_times_of
from tests.footage.conftest import Make
from tests.footage.decoded import decoded_times, picture_of
from tests.making import bundled_ffmpeg, make_numbered, run_ffmpeg
from tests.real_media import real_media

pytestmark = pytest.mark.ffmpeg

FRAMES = 200
TRIES = 40


def uneven_times(frames: int, start: Fraction = Fraction(0)) -> list[Fraction]:
    rng = random.Random(frames)
    times = [start]
    for _ in range(frames - 1):
        times.append(times[-1] + Fraction(rng.choice((17, 33, 33, 42, 50, 210)), 1000))
    return times


HIDDEN = ("-auto-alt-ref", "1", "-lag-in-frames", "16", "-cpu-used", "5")
UNEVEN: list[tuple[str, dict[str, Any]]] = [
    ("uneven.mp4", {}),
    ("uneven.mov", {"gop": 100, "bframes": 3}),
    ("uneven.mkv", {}),
    ("uneven.ts", {}),
    ("uneven.flv", {}),
    ("uneven_hevc.mp4", {"codec": "libx265"}),
    ("late.mkv", {"variable_times": uneven_times(FRAMES, Fraction(5))}),
    ("hidden_uneven.webm", {"codec": "libvpx", "extra": HIDDEN, "size": (128, 72)}),
]


def expected(
    times: list[int], facts: PictureFacts, start_seconds: Fraction, end_seconds: Fraction
) -> tuple[int, ...]:
    """Return from the frame on screen at the start to the first at or after the end, as the words say."""
    start, end = (times[0] + seconds / facts.time_base for seconds in (start_seconds, end_seconds))
    first = max(0, bisect.bisect_right(times, start) - 1)
    last = min(len(times) - 1, bisect.bisect_left(times, max(start, end)))
    return tuple(times[first : max(first, last) + 1])


def stretches(times: list[int], facts: PictureFacts) -> list[tuple[Fraction, Fraction]]:
    """Return random stretches: some beyond the file, some from one frame's very start to another's."""
    rng = random.Random(7)
    places = [(time - times[0]) * facts.time_base for time in times]
    chosen = []
    for _ in range(TRIES):
        start = Fraction(rng.uniform(-1, float(facts.seconds) + 1)).limit_denominator(48_000)
        chosen.append((start, start + Fraction(rng.uniform(0, 2)).limit_denominator(1000)))
        chosen.append((start, start))
        first, last = sorted((rng.choice(places), rng.choice(places)))
        chosen.append((first, last))
    return chosen


def check(path: Path) -> None:
    facts = picture_of(path)
    assert facts.variable
    times = sorted(decoded_times(path, bundled_ffmpeg()))
    wanted = stretches(times, facts)
    found = shown_times_of(path, facts, wanted)
    for stretch, shown in zip(wanted, found, strict=True):
        assert shown == expected(times, facts, *stretch), stretch


@pytest.mark.parametrize(("name", "options"), UNEVEN, ids=[case[0] for case in UNEVEN])
def test_times_are_those_of_a_decode(make: Make, name: str, options: dict[str, Any]) -> None:
    check(
        make(name, **{"frames": FRAMES, "variable_times": uneven_times(FRAMES), "rate": Rate(30), **options})
    )


def test_frames_that_an_edit_list_leaves_out(make: Make, tmp_path: Path) -> None:
    whole = make("uneven.mp4", frames=FRAMES, variable_times=uneven_times(FRAMES), rate=Rate(30))
    cut = tmp_path / "cut.mp4"
    run_ffmpeg("-ss", "3.3", "-t", "8", "-i", whole, "-c", "copy", cut)
    check(cut)


def test_one_stretch(make: Make) -> None:
    times = uneven_times(FRAMES)
    path = make("uneven.mp4", frames=FRAMES, variable_times=times, rate=Rate(30))
    facts = picture_of(path)
    shown = shown_times(path, facts, times[100], times[110])
    assert [round(time * facts.time_base, 3) for time in shown] == times[100:111]


def test_a_file_that_became_another(make: Make, tmp_path: Path) -> None:
    path = make("uneven.mp4", frames=FRAMES, variable_times=uneven_times(FRAMES), rate=Rate(30))
    facts = picture_of(path)
    other = tmp_path / "other.wav"
    run_ffmpeg("-f", "lavfi", "-i", "sine=440:d=1", other)
    with pytest.raises(MediaError) as caught:
        shown_times(other, facts, Fraction(0), Fraction(1))
    assert caught.value.code == "media.changed"
    with pytest.raises(MediaError) as caught:
        shown_times(tmp_path / "gone.mp4", facts, Fraction(0), Fraction(1))
    assert caught.value.code == "media.missing"


def test_a_file_that_became_shorter(tmp_path: Path) -> None:
    long, short = tmp_path / "long.ts", tmp_path / "short.ts"
    times = uneven_times(60, Fraction(90))
    make_numbered(long, frames=60, variable_times=times, rate=Rate(30))
    make_numbered(short, frames=60, variable_times=uneven_times(60), rate=Rate(30))
    facts = picture_of(long)
    with pytest.raises(MediaError) as caught:
        shown_times(short, facts, Fraction(0), Fraction(1))
    assert caught.value.code == "media.changed"


@pytest.mark.media
@pytest.mark.parametrize("name", ["face_noface.mov", "noface_face.mov"])
def test_footage_of_a_phone(name: str) -> None:
    check(real_media(name))
