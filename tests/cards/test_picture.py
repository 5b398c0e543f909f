"""Pictures behind cards."""

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QColor, QImage

from desk.cards.colours import contrast
from desk.errors import MediaError
from desk.film.model import Card, Size
from tests.cards.pixels import drawn, ink

SIZE = Size(640, 360)
BLANK = Card(id="c1")


def write_jpeg(path: Path, colour: tuple[int, int, int], width: int = 200, height: int = 150) -> Path:
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(*colour))
    assert image.save(str(path))
    return path


def test_a_picture_fills_the_frame_and_is_cut_at_both_sides_alike(tmp_path):
    image = QImage(400, 100, QImage.Format.Format_RGB32)
    image.fill(QColor("#ff0000"))
    for x in range(200):
        for y in range(100):
            image.setPixelColor(100 + x, y, QColor("#0000ff"))
    path = tmp_path / "wide.png"
    image.save(str(path))
    pixels = drawn(BLANK, tmp_path, SIZE, picture=path).astype(int)
    # 100 lines are scaled to 360: the frame shows 177.8 of 400 columns, all of them in the blue middle.
    assert (pixels[..., 2] > 60).all()
    assert (pixels[..., 0] == 0).all()


def test_a_card_with_a_picture_reads_on_black_and_on_white(tmp_path):
    # WCAG 2.x level AA: 4.5:1.
    for level in (0, 128, 255):
        picture = write_jpeg(tmp_path / "plain.jpg", (level,) * 3)
        pixels = drawn(BLANK, tmp_path, SIZE, picture=picture)
        shade = tuple(int(value) for value in pixels[100, 100])
        assert contrast((0xE9, 0xE6, 0xDD), shade) >= 4.5
        text = drawn(Card(id="c1", lines=("Ferry",)), tmp_path, SIZE, picture=picture)
        assert ink(text).any()


def test_a_dark_picture_is_dimmed_only_slightly(tmp_path):
    picture = write_jpeg(tmp_path / "night.jpg", (60, 60, 60))
    assert drawn(BLANK, tmp_path, SIZE, picture=picture)[9, 9, 0] in range(40, 45)


def test_a_thin_picture_does_not_grow_beyond_memory(tmp_path):
    picture = write_jpeg(tmp_path / "thin.png", (0, 90, 0), width=1, height=20000)
    assert drawn(BLANK, tmp_path, SIZE, picture=picture).shape == (360, 640, 3)


def test_a_missing_picture_is_told(tmp_path):
    with pytest.raises(MediaError, match=r"“sea\.jpg” behind a card is missing") as caught:
        drawn(BLANK, tmp_path, SIZE, picture=tmp_path / "sea.jpg")
    assert caught.value.code == "media.missing"


def damaged(kind: str, folder: Path) -> Path:
    path = folder / f"sea.{'jpg' if 'jpeg' in kind else 'png'}"
    data = write_jpeg(path, (10, 80, 200)).read_bytes()
    content = {
        "empty": b"",
        "text": b"no picture " * 40,
        "drawing": b"<svg xmlns='http://www.w3.org/2000/svg'><rect width='9' height='9'/></svg>",
        "png cut off": data[: len(data) // 2],
        "png changed": data[:60] + bytes([data[60] ^ 1]) + data[61:],
        "jpeg cut off": data[: len(data) * 3 // 4],
        "jpeg header": data[:60],
        "png signature": data[:8],
    }[kind]
    path.write_bytes(content)
    return path


@pytest.mark.parametrize(
    "kind",
    [
        "empty",
        "text",
        "drawing",
        "png cut off",
        "png changed",
        "jpeg cut off",
        "jpeg header",
        "png signature",
    ],
)
def test_a_damaged_picture_is_told_in_one_sentence_and_nothing_else(tmp_path, capfd, kind):
    picture = damaged(kind, tmp_path)
    with pytest.raises(MediaError, match=r"can't be read: ") as caught:
        drawn(BLANK, tmp_path, SIZE, picture=picture)
    assert caught.value.path == picture
    assert "PNG or JPEG" in caught.value.advice
    assert capfd.readouterr() == ("", "")
    assert list(tmp_path.iterdir()) == [picture]


def test_a_folder_is_no_picture(tmp_path):
    with pytest.raises(MediaError, match="can't be read"):
        drawn(BLANK, tmp_path, SIZE, picture=tmp_path)


def test_a_picture_turned_by_its_camera_is_shown_upright(tmp_path):
    # EXIF orientation 6: to be turned clockwise by 90 degrees (EXIF 2.3, tag 0x0112; from memory).
    image = QImage(90, 160, QImage.Format.Format_RGB32)
    image.fill(QColor("#000000"))
    for x in range(45):
        for y in range(160):
            image.setPixelColor(x, y, QColor("#ffffff"))
    path = tmp_path / "turned.jpg"
    image.save(str(path), quality=95)
    data = path.read_bytes()
    tags = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0"
    path.write_bytes(data[:2] + b"\xff\xe1" + (len(tags) + 2).to_bytes(2, "big") + tags + data[2:])
    pixels = drawn(BLANK, tmp_path, SIZE, picture=path)
    # The left half becomes the upper half.
    assert pixels[20, :, 0].min() > 60
    assert pixels[340, :, 0].max() < 10


def test_colours_are_dimmed_but_kept(tmp_path):
    picture = write_jpeg(tmp_path / "plain.png", (100, 50, 20))
    red, green, blue = drawn(BLANK, tmp_path, SIZE, picture=picture)[50, 50].astype(float)
    assert np.allclose([green / red, blue / red], [0.5, 0.2], atol=0.02)
