"""PNG files, read by decoders that are not ours."""

import numpy as np
import pytest
from PySide6.QtGui import QImage

from desk.cards.png import is_whole_png, write_png
from tests.cards.pixels import decode


@pytest.mark.parametrize("channels", [3, 4])
def test_bands_become_one_picture(tmp_path, channels):
    picture = np.random.default_rng(7).integers(0, 256, (50, 33, channels), dtype=np.uint8)
    target = tmp_path / "noise.png"
    bands = [picture[:20], picture[20:21], picture[21:]]
    write_png(target, width=33, height=50, channels=channels, bands=bands)
    assert np.array_equal(decode(target), picture)
    image = QImage(str(target))
    assert (image.width(), image.height(), image.hasAlphaChannel()) == (33, 50, channels == 4)
    assert image.pixelColor(5, 30).getRgb()[:channels] == tuple(picture[30, 5])
    assert is_whole_png(target.read_bytes())


def test_missing_lines_are_a_fault_and_leave_nothing(tmp_path):
    with pytest.raises(ValueError, match="10 lines for a picture of 12"):
        write_png(
            tmp_path / "a.png", width=4, height=12, channels=3, bands=[np.zeros((10, 4, 3), dtype=np.uint8)]
        )
    assert list(tmp_path.iterdir()) == []


def test_every_cut_and_every_changed_byte_is_seen(tmp_path):
    target = tmp_path / "a.png"
    write_png(target, width=4, height=4, channels=3, bands=[np.zeros((4, 4, 3), dtype=np.uint8)])
    data = target.read_bytes()
    assert not any(is_whole_png(data[:end]) for end in range(len(data)))
    changed = [data[:at] + bytes([data[at] ^ 0x40]) + data[at + 1 :] for at in range(8, len(data))]
    assert not any(is_whole_png(other) for other in changed)
