"""Slates."""

import numpy as np
import pytest

from desk.cards.drawing import draw_slate
from desk.errors import OutputError
from desk.film.model import Size
from tests.cards.pixels import box, decode, ink, runs

SIZE = Size(1280, 674)


def slate(folder, size=SIZE, **texts):
    target = folder / "slate.png"
    wanted = {"number": "4A", "slugline": "EXT. SLIPWAY - DUSK", "note": "no footage"} | texts
    draw_slate(size=size, target=target, **wanted)
    return decode(target)


def text_part(pixels):
    """What stands inside the empty frame, with a row of ground above it to compare with."""
    height, width = pixels.shape[:2]
    top, left = round(0.1 * height), round(0.1 * width)
    return np.concatenate([pixels[:1, left:-left], pixels[top:-top, left:-left]])


@pytest.mark.parametrize("size", [SIZE, Size(2048, 1080), Size(1080, 1920), Size(320, 180)])
def test_a_slate_is_an_empty_frame_with_three_lines(tmp_path, size):
    pixels = slate(tmp_path, size)
    assert pixels.shape == (size.height, size.width, 3)
    lines = runs(ink(text_part(pixels)).any(axis=1))
    assert len(lines) == 3
    number, slugline, note = (bottom - top for top, bottom in lines)
    assert number > slugline
    assert slugline > 0.8 * note
    left, top, right, bottom = box(ink(pixels))
    assert abs(left + right - size.width) <= 2
    assert abs(top + bottom - size.height) <= 2


def test_each_word_of_a_slate_shows(tmp_path):
    plain = slate(tmp_path)
    for change in ({"number": "4B"}, {"slugline": "INT. KIOSK - DAY"}, {"note": "not locked"}):
        assert not np.array_equal(plain, slate(tmp_path, **change))


def test_the_wax_pencil_marks_one_thing(tmp_path):
    pixels = slate(tmp_path).astype(int)
    yellow = (pixels[..., 0] - pixels[..., 2]) > 60
    left, top, right, bottom = box(yellow)
    assert right - left == pytest.approx(bottom - top, abs=2)
    assert right - left < SIZE.height / 30
    assert not ((slate(tmp_path, note="").astype(int)[..., 0] - pixels[..., 2]) > 60)[yellow].any()


@pytest.mark.parametrize(
    "text", ["INT. " + "A VERY LONG CORRIDOR " * 6, "W" * 400, "line\none\ttwo", "", "日本 👩‍👩‍👧 שלום"]
)
@pytest.mark.parametrize("size", [Size(640, 360), Size(360, 640)])
def test_no_text_leaves_the_empty_frame(tmp_path, size, text):
    left, top, right, bottom = box(ink(slate(tmp_path, size)))
    pixels = slate(tmp_path, size, number=text[:8], slugline=text, note=text)
    assert box(ink(pixels)) == (left, top, right, bottom)
    # Just inside the frame, nothing is drawn.
    marked = ink(pixels)
    inside = marked[top + 12 : bottom - 12, left + 12 : right - 12]
    assert not inside[:, 0].any()
    assert not inside[:, -1].any()
    assert not inside[0].any()
    assert not inside[-1].any()


def test_a_slate_that_can_not_be_written_is_told(tmp_path):
    with pytest.raises(OutputError, match="the folder is missing"):
        slate(tmp_path / "nowhere")
