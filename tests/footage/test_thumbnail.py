"""Small pictures of footage: its frames carry numbers, its colours are those that ffmpeg was asked for."""

import gc
import struct
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from av.video.frame import VideoFrame

from desk.errors import MediaError
from desk.film.rates import Rate
from desk.footage.thumbnail import Picture, Wanted, mean_colour, pictures, still
from tests.footage.conftest import Make
from tests.footage.decoded import picture_of
from tests.making import Reading, make_numbered, read_pictures, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

HEIGHT_PX = 96
WARM = (0xC8, 0x64, 0x32)


def readings(path: Path, places: Sequence[Fraction], **options: Any) -> list[Reading]:
    """Return what stands in the pictures of a file."""
    found = list(pictures(path, picture_of(path), [Wanted(place, HEIGHT_PX) for place in places], **options))
    whole = [picture for picture in found if picture is not None]
    assert len(whole) == len(found)
    return read_pictures([luma(picture) for picture in whole])


def luma(picture: Picture) -> Picture:
    assert picture.dtype == np.uint8
    return picture.mean(axis=2).astype(np.uint8)


def numbers(path: Path, places: Sequence[Fraction], **options: Any) -> list[int]:
    return [reading.number for reading in readings(path, places, **options)]


def at_25(*frames: float) -> list[Fraction]:
    """Places in the middle of frames, so that no rounding decides."""
    return [Fraction(frame) / 25 + Fraction(1, 50) for frame in frames]


CONSTANT: list[tuple[str, dict[str, Any]]] = [
    ("thumb.mp4", {}),
    ("thumb_long.mp4", {"gop": 250, "bframes": 3}),
    ("thumb.mkv", {}),
    ("thumb.ts", {}),
    ("thumb.avi", {"codec": "mpeg4", "bframes": 0}),
    ("thumb_hevc.mov", {"codec": "libx265"}),
    ("thumb_prores.mov", {"codec": "prores_ks", "pixel_format": "yuv422p10le"}),
    ("thumb.mxf", {"codec": "mpeg2video", "bframes": 0}),
    ("thumb_late.mkv", {"start_seconds": Fraction(7)}),
]


@pytest.mark.parametrize(("name", "options"), CONSTANT, ids=[case[0] for case in CONSTANT])
def test_the_frame_on_screen_at_each_place(make: Make, name: str, options: dict[str, Any]) -> None:
    path = make(name, frames=100, **options)
    rising = [0, 1, 5, 11, 12, 13, 40, 41, 77, 98, 99]
    assert numbers(path, at_25(*rising)) == rising
    jumping = [60, 3, 99, 0, 30, 31, 29]
    assert numbers(path, at_25(*jumping)) == jumping


def test_places_before_the_start_and_beyond_the_end(make: Make) -> None:
    path = make("thumb.mp4", frames=100)
    assert numbers(path, [Fraction(-3), Fraction(4), Fraction(1000)]) == [0, 99, 99]


def test_variable_rate(make: Make) -> None:
    times = [Fraction(sum(17 if index % 3 else 110 for index in range(at)), 1000) for at in range(90)]
    path = make("thumb_uneven.mp4", frames=90, variable_times=times, rate=Rate(30))
    places = [times[at] + Fraction(1, 200) for at in (0, 1, 2, 30, 31, 60, 88)]
    assert numbers(path, places) == [0, 1, 2, 30, 31, 60, 88]


def test_within_a_long_group_what_is_shown_comes_before_and_never_after(make: Make) -> None:
    path = make("thumb_long.mp4", frames=100, gop=250, bframes=3)
    asked = [20, 60, 95]
    shown = numbers(path, at_25(*asked), most_decoded_px=0)
    assert all(number <= frame for number, frame in zip(shown, asked, strict=True))
    assert shown == sorted(shown)
    assert shown[0] > 0


def test_a_scene_cut_in_the_footage_is_not_crossed(tmp_path: Path) -> None:
    """Two shots in one file, each a group of its own: places at the second's first frames show the second."""
    first, second, both = tmp_path / "1.mp4", tmp_path / "2.mp4", tmp_path / "both.mp4"
    make_numbered(first, frames=50, gop=250)
    make_numbered(second, frames=50, gop=250, start=500)
    (tmp_path / "list.txt").write_text("file 1.mp4\nfile 2.mp4\n")
    run_ffmpeg("-f", "concat", "-i", tmp_path / "list.txt", "-c", "copy", both)
    before, after = numbers(both, at_25(49, 50), most_decoded_px=0)
    assert before < 50
    assert after == 500


@pytest.mark.parametrize("rotation", [90, 180, 270])
def test_turned_footage_is_upright(make: Make, rotation: int) -> None:
    path = make(f"thumb_turned_{rotation}.mp4", frames=30, rotation=rotation)
    (found,) = pictures(path, picture_of(path), [Wanted(Fraction(1), 160)])
    assert found is not None
    assert found.shape == ((160, 90, 3) if rotation != 180 else (160, 284, 3))
    # A frame that is not upright has no number.
    assert read_pictures([luma(found)])[0].number == 25


def test_pixels_that_are_not_square(make: Make) -> None:
    path = make("thumb_wide.mov", frames=10, size=(320, 240), pixel_aspect=Fraction(4, 3))
    (found,) = pictures(path, picture_of(path), [Wanted(Fraction(0), 90)])
    assert found is not None
    assert found.shape == (90, 160, 3)


@pytest.mark.parametrize("full_range", [False, True])
def test_levels_are_those_of_a_screen(make: Make, full_range: bool) -> None:
    path = make(f"thumb_levels_{full_range}.mp4", frames=10, full_range=full_range)
    (reading,) = readings(path, [Fraction(0)])
    assert reading.black < 8
    assert reading.white > 247


def plain(path: Path, colour: tuple[int, int, int], size: str, matrix: str, *tags: str) -> Path:
    """Make a second of one colour, coded with a matrix."""
    picture = f"color=c=0x{bytes(colour).hex()}:s={size}:r=25:d=1,format=gbrp"
    coded = f"scale=out_color_matrix={matrix}:out_range=tv:flags=accurate_rnd+full_chroma_int,format=yuv444p"
    run_ffmpeg("-f", "lavfi", "-i", picture, "-vf", coded, "-c:v", "libx264", "-crf", "4", *tags, path)
    return path


@pytest.mark.parametrize(
    ("size", "matrix", "tags"),
    [
        ("1280x720", "bt709", ("-colorspace", "bt709")),
        ("1280x720", "bt601", ("-colorspace", "smpte170m")),
        ("320x180", "bt709", ("-colorspace", "bt709")),
        ("1280x720", "bt709", ()),  # what says nothing: by its lines, as players do (common practice)
        ("720x576", "bt601", ()),
        ("1280x720", "bt2020", ("-colorspace", "bt2020nc")),
    ],
)
@pytest.mark.parametrize("colour", [WARM, (20, 160, 90), (235, 235, 235), (10, 12, 40)])
def test_colours_are_those_that_were_filmed(
    tmp_path: Path, colour: tuple[int, int, int], size: str, matrix: str, tags: tuple[str, ...]
) -> None:
    path = plain(tmp_path / "plain.mp4", colour, size, matrix, *tags)
    (found,) = pictures(path, picture_of(path), [Wanted(Fraction(0), 24)])
    assert found is not None
    assert mean_colour(found) == pytest.approx(colour, abs=3)


def test_the_mean_of_two_halves() -> None:
    picture = np.zeros((10, 20, 3), dtype=np.uint8)
    picture[:, 10:] = (200, 100, 50)
    assert mean_colour(picture) == (100, 50, 25)


def test_a_check_stops_the_work(make: Make) -> None:
    path = make("thumb.mp4", frames=100)

    def stop() -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        list(pictures(path, picture_of(path), [Wanted(Fraction(0), HEIGHT_PX)], check=stop))


def test_what_is_not_asked_for_is_not_read(make: Make) -> None:
    """The pictures come one by one, so that whoever asked may go."""
    path = make("thumb.mp4", frames=100)
    packets = []
    found = pictures(
        path,
        picture_of(path),
        [Wanted(place, HEIGHT_PX) for place in at_25(0, 99)],
        check=lambda: packets.append(1),
    )
    next(found)
    assert len(packets) < 20
    found.close()


def test_no_frame_is_held_when_it_is_over(make: Make) -> None:
    """Frames of UHD have 12 MB each: they may not wait until Python looks for cycles."""
    path = make("thumb.mp4", frames=100)
    facts = picture_of(path)
    gc.collect()
    gc.disable()
    try:
        assert list(pictures(path, facts, [Wanted(place, HEIGHT_PX) for place in at_25(90, 10, 50)]))
        assert not [found for found in gc.get_objects() if isinstance(found, VideoFrame)]
    finally:
        gc.enable()


def test_a_file_that_is_gone_or_another_one(make: Make, tmp_path: Path) -> None:
    facts = picture_of(make("thumb.mp4", frames=100))
    wanted = [Wanted(Fraction(0), HEIGHT_PX)]
    with pytest.raises(MediaError) as caught:
        list(pictures(tmp_path / "gone.mp4", facts, wanted))
    assert caught.value.code == "media.missing"
    sound = tmp_path / "sound.wav"
    run_ffmpeg("-f", "lavfi", "-i", "sine=440:d=1", sound)
    with pytest.raises(MediaError) as caught:
        list(pictures(sound, facts, wanted))
    assert caught.value.code == "media.changed"
    text = tmp_path / "text.mp4"
    text.write_text("Not a film at all, but long enough to be looked at. " * 20)
    with pytest.raises(MediaError) as caught:
        list(pictures(text, facts, wanted))
    assert caught.value.path == text


def test_a_file_whose_frames_are_all_damaged(make: Make, tmp_path: Path) -> None:
    whole = make("thumb.mp4", frames=100)
    facts = picture_of(whole)
    data = bytearray(whole.read_bytes())
    start, end = data.index(b"mdat") + 4, data.index(b"moov") - 4
    data[start:end] = bytes(end - start)
    damaged = tmp_path / "damaged.mp4"
    damaged.write_bytes(data)
    with pytest.raises(MediaError) as caught:
        list(pictures(damaged, facts, [Wanted(Fraction(1), HEIGHT_PX)]))
    assert caught.value.code == "media.no-decoder"


# Still pictures


def halves(path: Path, *options: str) -> Path:
    """Make a picture of 80 x 40, red at the left and blue at the right."""
    red, blue = "color=c=red:s=40x40", "color=c=blue:s=40x40"
    run_ffmpeg(
        "-f", "lavfi", "-i", red, "-f", "lavfi", "-i", blue, "-filter_complex", "hstack",
        "-frames:v", "1", *options, path,
    )  # fmt: skip
    return path


def quarters(picture: Picture) -> list[tuple[int, int, int]]:
    """Return the colours of the middles of the left, top, right and bottom edges' inner parts."""
    height, width, _ = picture.shape
    places = [
        (height // 2, width // 8),
        (height // 8, width // 2),
        (height // 2, -1 - width // 8),
        (-1 - height // 8, width // 2),
    ]
    return [tuple(int(level) for level in picture[place]) for place in places]


@pytest.mark.parametrize("suffix", ["png", "jpg", "webp", "tiff", "bmp", "gif"])
def test_a_still_picture(tmp_path: Path, suffix: str) -> None:
    found = still(halves(tmp_path / f"a still.{suffix}"), 20)
    assert found.shape == (20, 40, 3)
    left, _, right, _ = quarters(found)
    # ffmpeg gives a GIF a palette of its own, of 3 bits a colour.
    slack = 32 if suffix == "gif" else 6
    assert left == pytest.approx((255, 0, 0), abs=slack)
    assert right == pytest.approx((0, 0, 255), abs=slack)


def with_orientation(jpeg: bytes, orientation: int) -> bytes:
    """Put an Exif block behind a JPEG's start (JEITA CP-3451, 4.5.4 and tag 0x0112)."""
    entry = struct.pack(">HHIHH", 0x0112, 3, 1, orientation, 0)
    tiff = b"MM\x00*" + struct.pack(">I", 8) + struct.pack(">H", 1) + entry + struct.pack(">I", 0)
    block = b"Exif\0\0" + tiff
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(block) + 2) + block + jpeg[2:]


@pytest.mark.parametrize(("orientation", "red_edge"), [(1, 0), (6, 1), (3, 2), (8, 3)])
def test_a_photograph_is_upright(tmp_path: Path, orientation: int, red_edge: int) -> None:
    """Red is stored at the left; 6 is to be turned clockwise, which brings it to the top."""
    path = tmp_path / "photo.jpg"
    path.write_bytes(with_orientation(halves(tmp_path / "plain.jpg").read_bytes(), orientation))
    found = still(path, 40)
    assert found.shape[:2] == ((40, 80) if orientation in (1, 3) else (40, 20))
    assert quarters(found)[red_edge] == pytest.approx((255, 0, 0), abs=6)


def test_what_is_transparent_is_black(tmp_path: Path) -> None:
    path = tmp_path / "clear.png"
    run_ffmpeg("-f", "lavfi", "-i", "color=c=white@0.5:s=40x40,format=rgba", "-frames:v", "1", path)
    assert mean_colour(still(path, 20)) == pytest.approx((128, 128, 128), abs=2)


def test_a_picture_that_is_none(tmp_path: Path) -> None:
    text, cut, gone = tmp_path / "text.png", tmp_path / "cut.png", tmp_path / "gone.png"
    text.write_text("no picture")
    cut.write_bytes(halves(tmp_path / "whole.png").read_bytes()[:40])
    for path in (text, cut, gone):
        with pytest.raises(MediaError) as caught:
            still(path, 20)
        assert caught.value.path == path
        assert str(path) in caught.value.message
