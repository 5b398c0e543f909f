"""Key pictures: at any place they show the last key frame before it, by the number in the picture.

The reference for where key frames are is PyAV's plain list of packets; the footage's frames carry numbers.
"""

import bisect
import threading
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import pytest

from desk.errors import MediaError
from desk.ffmpeg.program import find_program
from desk.film.media import MediaFacts
from desk.film.rates import Rate
from desk.footage.frame_reader import FrameReader
from desk.footage.key_pictures import (
    MOST_LINES,
    REFUSED,
    SUFFIX,
    key_pictures_key,
    make_key_pictures,
)
from desk.footage.pixels import to_pixels
from desk.footage.probe import probe
from desk.jobs import Cancelled, CancelToken
from tests.footage.conftest import Make
from tests.footage.test_frame_times import uneven_times
from tests.making import make_numbered, read_pictures, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

FRAMES = 60
UNEVEN = uneven_times(FRAMES)
KINDS: list[tuple[str, dict[str, Any]]] = [
    ("keys.mp4", {"gop": 12}),
    ("keys_29.mov", {"gop": 15, "rate": Rate(30_000, 1001), "sound": "beeps"}),
    ("keys_one.mkv", {"gop": 250, "bframes": 3}),
    ("keys_late.ts", {"gop": 20, "start_seconds": Fraction(3)}),
    ("keys_uneven.mp4", {"gop": 16, "variable_times": UNEVEN, "rate": Rate(30)}),
    ("keys_uneven.mkv", {"gop": 16, "variable_times": UNEVEN, "rate": Rate(30)}),
    ("keys_turned.mov", {"gop": 12, "rotation": 90}),
    ("keys_deep.mov", {"gop": 20, "codec": "libx265", "pixel_format": "yuv420p10le"}),
    ("keys_open.mp4", {"gop": 15, "bframes": 3, "extra": ("-x264-params", "open-gop=1:b-adapt=0")}),
    ("keys.mxf", {"gop": 12, "codec": "mpeg2video", "bframes": 0}),
]  # fmt: skip


def made(path: Path, target: Path, **options: Any) -> MediaFacts:
    facts = probe(path)
    make_key_pictures(path, facts, target, program=find_program(), **options)
    return facts


def key_frames(path: Path) -> list[int]:
    """Return which of the frames, as they are shown, are key frames."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        packets = [packet for packet in container.demux(stream) if packet.size]
    shown = sorted(packets, key=lambda packet: packet.pts if packet.pts is not None else packet.dts)
    return [index for index, packet in enumerate(shown) if packet.is_keyframe]


@pytest.mark.parametrize(("name", "options"), KINDS, ids=[kind[0] for kind in KINDS])
def test_at_any_place_it_is_the_last_key_frame(
    make: Make, tmp_path: Path, name: str, options: dict[str, Any]
) -> None:
    path, target = make(name, frames=FRAMES, **options), tmp_path / f"keys{SUFFIX}"
    before = path.read_bytes(), path.stat().st_mtime_ns
    picture, keys = made(path, target).picture, key_frames(path)
    assert picture is not None
    assert keys[0] == 0
    assert len(keys) == 1 or len(keys) >= 3
    starts = options.get("variable_times") or [picture.rate.seconds(index) for index in range(FRAMES)]
    wanted, pictures = [], []
    with FrameReader(target, picture) as reader:
        for index in [*range(0, FRAMES, 3), FRAMES - 1, *keys, *(key - 1 for key in keys[1:])]:
            frame = reader.frame_at(starts[index] + Fraction(1, 1000))
            assert frame is not None
            key = keys[bisect.bisect_right(keys, index) - 1]
            assert reader.kept_before(starts[index] + Fraction(1, 1000)) is not None
            wanted.append(key)
            pictures.append(to_pixels(frame, picture, *map(int, picture.upright_size))[..., 1])
    assert [reading.number for reading in read_pictures(pictures)] == wanted
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_they_are_small(tmp_path: Path) -> None:
    path = make_numbered(tmp_path / "large.mp4", frames=30, size=(1280, 720), gop=10)
    made(path, tmp_path / f"keys{SUFFIX}")
    with av.open(str(tmp_path / f"keys{SUFFIX}")) as container:
        stream = container.streams.video[0]
        assert (stream.width, stream.height) == (480, MOST_LINES)
        assert len(list(container.decode(stream))) == 3


def test_fields_are_made_whole_from_the_frame_alone(tmp_path: Path) -> None:
    path = tmp_path / "fields.mov"
    run_ffmpeg(
        "-f", "lavfi", "-i", "testsrc2=s=320x180:r=50:d=1,interlace", "-c:v", "libx264", "-g", "10",
        "-flags", "+ilme+ildct", "-x264-params", "interlaced=1", path,
    )  # fmt: skip
    facts = made(path, tmp_path / f"keys{SUFFIX}")
    assert facts.picture is not None
    assert facts.picture.interlaced
    found = probe(tmp_path / f"keys{SUFFIX}").picture
    assert found is not None
    assert not found.interlaced
    assert found.frames == len(key_frames(path))


def test_footage_of_key_frames_alone_needs_none(make: Make, tmp_path: Path) -> None:
    path = make("key_intra.mov", frames=12, codec="prores_ks", pixel_format="yuv422p10le")
    with pytest.raises(MediaError) as refused:
        made(path, tmp_path / f"keys{SUFFIX}")
    assert refused.value.code == REFUSED
    assert list(tmp_path.iterdir()) == []


def test_stopped_it_leaves_nothing(make: Make, tmp_path: Path) -> None:
    path, cancel = make("keys.mp4", frames=FRAMES, gop=12), CancelToken()
    # It is stopped while it stands still, so that it can't be done before.
    stood = threading.Event()

    def is_held() -> bool:
        stood.set()
        cancel.set()
        return True

    with pytest.raises(Cancelled):
        made(path, tmp_path / f"keys{SUFFIX}", cancel=cancel, is_held=is_held)
    assert stood.is_set()
    assert list(tmp_path.iterdir()) == []


def test_moved_footage_keeps_its_name_and_other_footage_has_another(make: Make, tmp_path: Path) -> None:
    one, other = make("keys.mp4", frames=FRAMES, gop=12), make("keys_one.mkv", frames=FRAMES, **KINDS[2][1])
    moved = tmp_path / "elsewhere.mp4"
    moved.write_bytes(one.read_bytes())
    names = {key_pictures_key(probe(path)) for path in (one, moved)}
    assert len(names) == 1
    assert key_pictures_key(probe(other)) not in names
