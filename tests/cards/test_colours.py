"""Contrast of what is drawn."""

import numpy as np
import pytest

from desk.cards.colours import contrast, dimmed, parse_colour, veil_share
from desk.cards.drawing import draw_slate
from desk.errors import AssemblyError
from desk.film.model import Card, CreditBlock, CreditRow, Size
from tests.cards.pixels import box, decode, drawn, ink

SIZE = Size(1280, 674)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # WCAG 2.x: contrast ratio runs from 1:1 to 21:1.
        ("#000000", "#ffffff", 21.0),
        ("#336699", "#336699", 1.0),
        # Greys on white on either side of 4.5:1, widely cited (from memory).
        ("#767676", "#ffffff", 4.54),
        ("#777777", "#ffffff", 4.48),
        # Computed by hand: luminance 0.2126, 0.7152 and 0.0722, plus 0.05, over 0.05.
        ("#ff0000", "#000000", 5.252),
        ("#00ff00", "#000000", 15.304),
        ("#0000ff", "#000000", 2.444),
    ],
)
def test_contrast_is_that_of_wcag(one, other, ratio):
    assert contrast(parse_colour(one), parse_colour(other)) == pytest.approx(ratio, abs=0.005)
    assert contrast(parse_colour(other), parse_colour(one)) == pytest.approx(ratio, abs=0.005)


def test_the_default_card_reads(tmp_path):
    # WCAG 2.x level AA: 4.5:1 for text.
    card = Card(id="c1", credits=(CreditBlock(rows=(CreditRow(role="MMMM", names=("MMMM",)),)),))
    pixels = drawn(card, tmp_path, SIZE)
    half = SIZE.width // 2
    for part in (pixels[:, :half], pixels[:, half:]):
        brightest = part.reshape(-1, 3)[part.reshape(-1, 3).sum(axis=1).argmax()]
        assert contrast(tuple(int(value) for value in brightest), (0, 0, 0)) >= 4.5
    names, roles = pixels[:, half:].max(), pixels[:, :half].max()
    assert names == 0xE9
    assert roles < names


def test_ink_that_hardly_reads_is_not_made_quieter():
    assert dimmed((0x80, 0x80, 0x80), (0, 0, 0)) == (0x80, 0x80, 0x80)
    assert dimmed((0xFF, 0xFF, 0xFF), (0, 0, 0)) == (204, 204, 204)


def test_a_veil_is_as_thin_as_the_picture_allows():
    shares = [
        veil_share(np.full((4, 4, 3), level, dtype=np.uint8), (255, 255, 255), (0, 0, 0))
        for level in (0, 200, 255)
    ]
    assert shares[0] == 0.3
    assert shares[0] < shares[1] < shares[2] < 0.7
    unreadable = veil_share(np.full((4, 4, 3), 128, dtype=np.uint8), (128, 128, 128), (128, 128, 128))
    assert unreadable == 0.9


@pytest.mark.parametrize("text", ["", "#fff", "red", "#12345g", "#1234567", "102030", "#10203０"])
def test_what_is_no_colour_is_told(text):
    with pytest.raises(AssemblyError, match="is no colour") as caught:
        parse_colour(text)
    assert caught.value.code == "card.colour"


def test_a_slate_reads(tmp_path):
    target = tmp_path / "slate.png"
    draw_slate(number="4A", slugline="EXT. SLIPWAY - DUSK", note="no footage", size=SIZE, target=target)
    pixels = decode(target)
    ground = tuple(int(value) for value in pixels[0, 0])
    assert ground == (0x2A, 0x2A, 0x29)
    inner = pixels[70:-70, 140:-140]
    left, top, right, bottom = box(ink(np.concatenate([pixels[:1, 140:-140], inner])))
    assert left < right
    assert top < bottom
    # WCAG 2.x level AA: 4.5:1 for text, 3:1 for marks.
    assert contrast((0xE9, 0xE6, 0xDD), ground) >= 4.5
    note = inner[350:400, :, :].reshape(-1, 3)
    grey = note[np.ptp(note, axis=1) < 20]
    assert contrast(tuple(int(value) for value in grey[grey.sum(axis=1).argmax()]), ground) >= 4.5
    outline = pixels[SIZE.height // 2, : SIZE.width // 6]
    assert contrast(tuple(int(value) for value in outline[outline.sum(axis=1).argmax()]), ground) >= 3
