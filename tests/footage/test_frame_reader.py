"""The frame at a place, from anywhere to anywhere: compared with all frames as they are decoded in order.

The reference is PyAV's plain decoding from the file's beginning, one frame after the other, in one thread.
"""

import random
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from av.video.frame import VideoFrame
from numpy.typing import NDArray

from desk.errors import MediaError
from desk.ffmpeg.program import find_program
from desk.film.media import PictureFacts
from desk.film.rates import FILM_RATES, Rate
from desk.footage.frame_reader import FrameReader
from desk.footage.probe import probe
from desk.footage.proxy import make_proxy
from tests.footage.conftest import Make
from tests.footage.decoded import picture_of
from tests.making import make_numbered, read_pictures, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

Planes = NDArray[np.generic]

UNEVEN = [Fraction(sum((33, 34, 41, 110)[index % 4] for index in range(at)), 1000) for at in range(90)]
KINDS: list[tuple[str, dict[str, Any]]] = [
    ("reader.mp4", {}),
    ("reader_long.mp4", {"gop": 250, "bframes": 3}),
    ("reader_open.mp4", {"gop": 15, "bframes": 3, "extra": ("-x264-params", "open-gop=1:b-adapt=0")}),
    ("reader_open_hevc.mov", {"codec": "libx265", "gop": 20,
                              "extra": ("-x265-params", "open-gop=1:log-level=error:bframes=4:b-adapt=0")}),
    ("reader_10.mov", {"codec": "libx265", "pixel_format": "yuv420p10le", "gop": 50}),
    ("reader.mkv", {}),
    ("reader.ts", {"gop": 40}),
    ("reader.avi", {"codec": "mpeg4", "extra": ("-q:v", "2", "-bf", "2")}),
    ("reader_mpeg2.ts", {"codec": "mpeg2video", "gop": 15, "extra": ("-q:v", "2", "-bf", "2")}),
    ("reader_intra.mov", {"codec": "prores_ks", "pixel_format": "yuv422p10le"}),
    ("reader.mxf", {"codec": "mpeg2video", "bframes": 0}),
    ("reader_late.mkv", {"start_seconds": Fraction(7)}),
    ("reader_uneven.mp4", {"variable_times": UNEVEN, "rate": Rate(30), "gop": 30, "bframes": 3}),
    ("reader_uneven.mkv", {"variable_times": UNEVEN, "rate": Rate(30), "gop": 30, "bframes": 3}),
]  # fmt: skip


def planes(frame: VideoFrame | None) -> Planes:
    assert frame is not None
    return frame.to_ndarray()


def in_order(path: Path) -> list[Planes]:
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "NONE"
        return [planes(frame) for frame in container.decode(stream)]


def starts(facts: PictureFacts, options: dict[str, Any]) -> list[Fraction]:
    times = options.get("variable_times")
    return list(times) if times else [facts.rate.seconds(index) for index in range(facts.frames)]


def places(begins: Sequence[Fraction]) -> Iterator[tuple[Fraction, int]]:
    """Yield places at frames' very beginnings, within them and just before their ends, and the frames."""
    for index, (start, end) in enumerate(zip(begins, [*begins[1:], begins[-1] + 1], strict=True)):
        for into in (Fraction(0), Fraction(1, 3), Fraction(999, 1000)):
            yield start + into * (end - start), index


@pytest.mark.parametrize(("name", "options"), KINDS, ids=[kind[0] for kind in KINDS])
def test_any_place_in_any_order_is_what_decoding_in_order_gives(
    make: Make, name: str, options: dict[str, Any]
) -> None:
    path = make(name, **{"frames": 90, "rate": Rate(25), "size": (128, 72), **options})
    facts, reference = picture_of(path), in_order(path)
    asked = list(places(starts(facts, options)))
    shuffled = random.Random(5).sample(asked, 60)
    backwards = asked[::-4]
    for order, cache_bytes in ((asked, 0), (shuffled, 0), (backwards, 0), (shuffled + backwards, 1 << 20)):
        with FrameReader(path, facts, cache_bytes=cache_bytes) as reader:
            for seconds, index in order:
                assert np.array_equal(planes(reader.frame_at(seconds)), reference[index]), (seconds, index)


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_at_every_rate_a_frame_is_on_screen_from_its_exact_beginning(make: Make, rate: Rate) -> None:
    path = make(f"reader_{rate.numerator}_{rate.denominator}.mp4", frames=40, rate=rate, size=(128, 72))
    facts, reference = picture_of(path), in_order(path)
    with FrameReader(path, facts) as reader:
        for index in (39, 1, 7, 38, 8, 0):
            start = rate.seconds(index)
            assert np.array_equal(planes(reader.frame_at(start)), reference[index])
            before = reader.frame_at(start - Fraction(1, 10**9))
            assert np.array_equal(planes(before), reference[max(0, index - 1)])


@pytest.mark.parametrize("name", ["reader_long.mp4", "reader_uneven.mp4"])
def test_a_way_that_was_broken_off_leads_to_no_other_frame(make: Make, name: str) -> None:
    """Broken off after so many packets at random, then somewhere else, also to what was passed over."""
    options = dict(KINDS)[name]
    path = make(name, **{"frames": 90, "rate": Rate(25), "size": (128, 72), **options})
    facts, reference, draw = picture_of(path), in_order(path), random.Random(11)
    asked, left, broken = list(places(starts(facts, options))), [0], 0

    def check() -> None:
        left[0] -= 1
        if left[0] == 0:
            raise InterruptedError

    with FrameReader(path, facts, cache_bytes=0, check=check) as reader:
        for _ in range(150):
            seconds, index = draw.choice(asked)
            left[0] = draw.choice([0, 5, 15, 30])
            try:
                frame = reader.frame_at(seconds)
            except InterruptedError:
                broken += 1
            else:
                assert np.array_equal(planes(frame), reference[index])
    assert broken > 20


@pytest.mark.parametrize("name", ["reader.mp4", "reader_uneven.mp4", "reader.ts"])
def test_beyond_the_ends_the_first_and_last_are_held(make: Make, name: str) -> None:
    options = dict(KINDS)[name]
    path = make(name, **{"frames": 90, "rate": Rate(25), "size": (128, 72), **options})
    reference = in_order(path)
    with FrameReader(path, picture_of(path)) as reader:
        for seconds, index in ((-3, 0), (1000, -1), (-1, 0), (500, -1), (501, -1)):
            assert np.array_equal(planes(reader.frame_at(Fraction(seconds))), reference[index])


def test_back_and_forth_in_a_long_group_does_not_decode_it_again_and_again(make: Make) -> None:
    """Packets decoded are counted: going back through 90 frames of one group, and about one place."""
    path = make("reader_long.mp4", frames=90, rate=Rate(25), size=(128, 72), gop=250, bframes=3)
    packets: list[int] = []
    with FrameReader(path, picture_of(path), check=lambda: packets.append(1)) as reader:
        for index in reversed(range(90)):
            reader.frame_at(Fraction(index, 25))
        assert len(packets) < 5 * 90  # against 45 * 90
        packets.clear()
        for index in (60, 61, 59, 60, 58, 61, 62, 57) * 3:
            reader.frame_at(Fraction(index, 25))
        assert not packets


def test_frames_that_are_kept_take_no_more_than_is_said(make: Make) -> None:
    path = make("reader.mp4", frames=90, rate=Rate(25), size=(128, 72))
    one_bytes = 128 * 72 * 3 // 2
    packets: list[int] = []
    facts = picture_of(path)
    with FrameReader(path, facts, cache_bytes=20 * one_bytes, check=lambda: packets.append(1)) as reader:
        for index in range(90):
            reader.frame_at(Fraction(index, 25))
        packets.clear()
        reader.frame_at(Fraction(89 - 5, 25))
        assert not packets
        reader.trim(2 * one_bytes)
        reader.frame_at(Fraction(89 - 7, 25))
        assert packets


def test_a_frame_that_can_not_be_decoded_leaves_the_one_before_it(tmp_path: Path) -> None:
    path = make_numbered(tmp_path / "spot.mov", frames=30, codec="mjpeg", pixel_format="yuvj420p",
                         full_range=True, size=(128, 72), extra=("-q:v", "2"))  # fmt: skip
    facts, reference = picture_of(path), in_order(path)
    with av.open(str(path)) as container:
        packet = next(item for index, item in enumerate(container.demux(video=0)) if index == 20)
        assert packet.pos is not None
        start, end = packet.pos, packet.pos + packet.size
    data = bytearray(path.read_bytes())
    data[start:end] = bytes(end - start)
    path.write_bytes(data)
    for order in (range(30), (25, 20, 19, 21)):
        with FrameReader(path, facts) as reader:
            for index in order:
                wanted = reference[19 if index == 20 else index]
                assert np.array_equal(planes(reader.frame_at(Fraction(index, 25))), wanted)


def test_what_can_not_be_read_is_said(tmp_path: Path, make: Make) -> None:
    facts = picture_of(make("reader.mp4", frames=90, rate=Rate(25), size=(128, 72)))
    with pytest.raises(MediaError) as caught:
        FrameReader(tmp_path / "gone.mp4", facts)
    assert caught.value.code == "media.missing"
    sound = tmp_path / "sound.wav"
    run_ffmpeg("-f", "lavfi", "-i", "sine=440:d=1", sound)
    with pytest.raises(MediaError) as caught:
        FrameReader(sound, facts)
    assert caught.value.code == "media.changed"


@pytest.mark.parametrize(
    "name", ["reader_open_hevc.mov", "reader_uneven.mkv", "reader_late.mkv", "reader.ts"]
)
def test_a_proxy_shows_the_frames_of_its_footage(make: Make, tmp_path: Path, name: str) -> None:
    """Numbers are compared: its pixels are others."""
    options = dict(KINDS)[name]
    path = make(name, **{"frames": 90, "rate": Rate(25), "size": (128, 72), **options})
    proxy, facts = tmp_path / "proxy.mov", probe(path)
    make_proxy(path, facts, proxy, program=find_program())
    assert facts.picture is not None
    asked = random.Random(2).sample(list(places(starts(facts.picture, options))), 40)
    with FrameReader(proxy, facts.picture, cache_bytes=0) as reader:
        shown = [planes(reader.frame_at(seconds))[:72].astype(np.uint8) for seconds, _ in asked]
    assert [reading.number for reading in read_pictures(shown)] == [index for _, index in asked]
