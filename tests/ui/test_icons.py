"""Icons: all there, one grid, drawn at every size, in the palette's ink, told apart in grey."""

import itertools
import xml.etree.ElementTree as ElementTree

import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QIcon, QImage

from desk.cards.fonts import resource_folder
from desk.ui.look.icons import icon
from desk.ui.look.palette import DARK, LIGHT
from desk.ui.look.theme import Appearance
from tests.ui.pixels import alphas

NAMES = [
    "add",
    "add-card",
    "add-scene",
    "set-aside",
    "put-back",
    "lock",
    "unlock",
    "proof",
    "undo",
    "redo",
    "folder",
    "play",
    "stop",
    "search",
    "close",
    "more",
    "fold",
    "unfold",
    "up",
    "down",
    "warning",
    "duplicate",
    "delete",
    "number",
    "film",
    "keys",
    "check",
    "open-part",
    "history",
    "picture",
    "sound",
    "music",
    "grade",
    "story",
    "assemble",
    "pencil",
    "new-film",
    "pause",
    "step-back",
    "step-forth",
    "cut-back",
    "cut-forth",
    "around",
    "loop",
    "full-view",
    "leave-full-view",
    "sound-on",
    "sound-off",
]
LEAST_DIFFERENCE_PX = 12
"""Of 400: less is a line of 8 px."""


def sources():
    return sorted((resource_folder() / "icons").glob("*.svg"))


def painted(name, theme, side_px, mode=QIcon.Mode.Normal):
    return icon(name, theme).pixmap(QSize(side_px, side_px), 1.0, mode).toImage()


def test_every_icon_is_there_and_no_other():
    assert sorted(path.stem for path in sources()) == sorted(NAMES)


def test_all_are_drawn_on_one_grid():
    for path in sources():
        root = ElementTree.parse(path).getroot()
        assert root.get("viewBox") == "0 0 20 20", path.stem
        assert (root.get("stroke"), root.get("stroke-width"), root.get("fill")) == ("#000000", "1.6", "none")
        assert (root.get("stroke-linecap"), root.get("stroke-linejoin")) == ("round", "round"), path.stem
        for part in root.iter():
            assert part is root or part.get("stroke-width") is None, path.stem
            assert part.get("stroke") in (None, "none", "#000000"), path.stem
            assert part.get("fill") in (None, "none", "#000000"), path.stem


@pytest.mark.parametrize("side_px", [16, 20, 40])
def test_each_paints_something(side_px, theme):
    """An icon is a few strokes: it fills some of its square, and not most of it."""
    for name in NAMES:
        assert 0.04 < alphas(painted(name, theme, side_px)).mean() / 255 < 0.5, name


def test_none_is_cut_off(theme):
    for name in NAMES:
        drawn = alphas(painted(name, theme, 40))
        assert drawn[0].max() == drawn[-1].max() == drawn[:, 0].max() == drawn[:, -1].max() == 0, name


def test_icons_are_told_apart_without_colour(theme):
    drawn = {name: alphas(painted(name, theme, 20)) for name in NAMES}
    for one, other in itertools.combinations(NAMES, 2):
        difference_px = abs(drawn[one] - drawn[other]).sum() / 255
        assert difference_px >= LEAST_DIFFERENCE_PX, f"{one} and {other} differ by {difference_px:.1f} px"


def colours(image):
    return {
        QColor(image.pixel(x, y)).name()
        for x in range(image.width())
        for y in range(image.height())
        if image.pixelColor(x, y).alpha() == 255
    }


def test_they_are_drawn_in_the_ink_of_the_palette_and_follow_it(theme):
    shown = icon("stop", theme)
    size = QSize(40, 40)

    def painted_in(mode):
        image = shown.pixmap(size, 1.0, mode).toImage()
        return colours(image.convertToFormat(QImage.Format.Format_ARGB32))

    assert painted_in(QIcon.Mode.Normal) == {DARK.ink}
    assert painted_in(QIcon.Mode.Disabled) == {DARK.outline}
    theme.set_appearance(Appearance.LIGHT)
    assert painted_in(QIcon.Mode.Normal) == {LIGHT.ink}


def test_a_name_without_a_drawing_is_our_own_mistake(theme):
    with pytest.raises(FileNotFoundError):
        icon("no-such-icon", theme)
