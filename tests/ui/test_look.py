"""Colours, marks and type: what can be read, and what can be told apart without colour."""

import itertools
import re
from dataclasses import fields, replace
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QObject, QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QWidget,
)

import desk.ui
from desk.cards.fonts import resource_folder
from desk.errors import DeskError
from desk.ui.look import type as types
from desk.ui.look.marks import Mark, paint_mark
from desk.ui.look.palette import DARK, LIGHT, Palette
from desk.ui.look.style import style_sheet
from desk.ui.look.theme import Appearance
from desk.ui.messages import Messages
from tests.ui.pixels import alphas, blank, greys

PALETTES = pytest.mark.parametrize("look", [DARK, LIGHT], ids=["dark", "light"])
COLOURS = [field.name for field in fields(Palette) if field.name != "name"]

SURFACES = ("bench", "panel", "row", "row_chosen", "field")
TEXTS = ("ink", "dim", "pencil_text", "broken_text")
MARKS = ("pencil", "locked", "draft", "broken", "outline")
GREYS = ("bench", "panel", "row", "row_chosen", "field", "line", "outline", "ink", "dim", "draft", "unlit")

TEXT_CONTRAST = 4.5
MARK_CONTRAST = 3.0
MOST_CHROMA = 0.03
LEAST_SIZE_PX = 11
MARK_PX = 12
LEAST_DIFFERENCE_PX = 8
"""Of the 144 that a mark has at 12 px."""


def luminance(colour):
    """Return relative luminance as WCAG 2.2 defines it, with the threshold of IEC 61966-2-1."""
    channels = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Return the contrast ratio as WCAG 2.2 defines it."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # WCAG 2.2, note to "contrast ratio": ratios range from 1 to 21.
        ("#000000", "#ffffff", 21),
        ("#ffffff", "#ffffff", 1),
        # WebAIM's article on contrast: #767676 passes on white, #777777 just fails; from memory.
        ("#767676", "#ffffff", 4.54),
        ("#777777", "#ffffff", 4.48),
    ],
)
def test_the_formula_gives_the_standard_s_examples(one, other, ratio):
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


def too_faint(look, names, least):
    """Return the pairs of a name and a surface whose contrast is too low."""
    ratios = {
        f"{name} on {surface}": round(contrast(getattr(look, name), getattr(look, surface)), 2)
        for name in names
        for surface in SURFACES
    }
    return {pair: ratio for pair, ratio in ratios.items() if ratio < least}


@PALETTES
def test_text_can_be_read(look):
    """WCAG 2.2, 1.4.3 (AA)."""
    assert too_faint(look, TEXTS, TEXT_CONTRAST) == {}


@PALETTES
def test_text_on_the_pencil_can_be_read(look):
    assert contrast(look.on_pencil, look.pencil) >= TEXT_CONTRAST


@PALETTES
def test_marks_and_edges_of_controls_can_be_seen(look):
    """WCAG 2.2, 1.4.11 (AA)."""
    assert too_faint(look, MARKS, MARK_CONTRAST) == {}


def test_what_is_too_faint_is_found():
    assert set(too_faint(replace(DARK, dim=DARK.panel), TEXTS, TEXT_CONTRAST)) == {
        f"dim on {surface}" for surface in SURFACES
    }


@PALETTES
def test_greys_are_neutral(look):
    """A coloured surround misleads the eye when grading (common practice, no source)."""
    for name in GREYS:
        channels = [int(getattr(look, name)[place : place + 2], 16) for place in (1, 3, 5)]
        assert (max(channels) - min(channels)) / 255 <= MOST_CHROMA, name


@PALETTES
def test_surfaces_are_told_apart_from_each_other(look):
    assert len({getattr(look, name) for name in ("bench", "panel", "row", "row_chosen")}) == 4


def test_every_colour_is_used():
    modules = (path for path in Path(desk.ui.__file__).parent.rglob("*.py") if path.name != "palette.py")
    text = "\n".join(path.read_text(encoding="utf-8") for path in modules)
    unused = [name for name in COLOURS if not re.search(rf'(?:look|palette)\.{name}\b|"{name}"', text)]
    assert unused == []


def one_grey():
    return replace(DARK, **dict.fromkeys(COLOURS, "#808080"))


def silhouette(mark, side_px=MARK_PX):
    image = blank(side_px)
    painter = QPainter(image)
    paint_mark(painter, QRectF(0, 0, side_px, side_px), mark, one_grey())
    painter.end()
    return alphas(image)


def test_marks_are_told_apart_in_one_grey_at_12_px(theme):
    for one, other in itertools.combinations(Mark, 2):
        difference_px = abs(silhouette(one) - silhouette(other)).sum() / 255
        assert difference_px >= LEAST_DIFFERENCE_PX, f"{one} and {other}"


def test_marks_are_no_faint_dots_and_stay_inside_their_square(theme):
    """Painted with room around, nothing lies in the room."""
    for mark in Mark:
        assert silhouette(mark).sum() / 255 >= 2 * LEAST_DIFFERENCE_PX, mark
        image = blank(3 * MARK_PX)
        painter = QPainter(image)
        paint_mark(painter, QRectF(MARK_PX, MARK_PX, MARK_PX, MARK_PX), mark, one_grey())
        painter.end()
        drawn = alphas(image)
        drawn[MARK_PX:-MARK_PX, MARK_PX:-MARK_PX] = 0
        assert drawn.max() == 0, mark


def test_no_text_is_smaller_than_11_px():
    sizes = {name: value for name, value in vars(types).items() if name.endswith("_PX")}
    assert sizes
    assert min(sizes.values()) >= LEAST_SIZE_PX
    for look in (DARK, LIGHT):
        in_style = [int(size) for size in re.findall(r"font-size: (\d+)px", style_sheet(look))]
        assert in_style
        assert min(in_style) >= LEAST_SIZE_PX


@PALETTES
def test_the_style_has_no_colour_of_its_own(look):
    assert set(re.findall(r"#[0-9a-fA-F]{3,8}\b", style_sheet(look))) <= {
        getattr(look, name) for name in COLOURS
    }


@PALETTES
def test_ticks_and_arrows_are_there_in_the_palette_s_colours(look):
    names = set(re.findall(r"url\(controls:([^)]+)\)", style_sheet(look)))
    assert names
    for name in names:
        text = (resource_folder() / "icons" / "controls" / name).read_text(encoding="utf-8")
        wanted = {
            "tick-off": look.outline,
            "tick": look.on_pencil,
            "done": look.ink,
            "dot": look.ink,
            "warning": look.broken,
        }.get(name.rsplit("-", 1)[0], look.dim)
        assert f'stroke="{wanted}"' in text, name


@pytest.mark.parametrize("appearance", [Appearance.DARK, Appearance.LIGHT])
@pytest.mark.parametrize("kind", [QCheckBox, QRadioButton])
def test_states_of_a_box_are_told_apart_in_grey(kind, appearance, theme, qtbot):
    """Checked has a shape, disabled and focus are seen, and none of it by colour alone."""
    theme.set_appearance(appearance)
    box = kind("Every clip")
    box.setAutoExclusive(False)
    qtbot.addWidget(box)
    box.show()
    plain = greys(box.grab().toImage())
    box.setChecked(True)
    checked = greys(box.grab().toImage())
    box.setEnabled(False)
    checked_disabled = greys(box.grab().toImage())
    box.setChecked(False)
    disabled = greys(box.grab().toImage())
    indicator = (slice(None), slice(0, 20))
    for one, other in itertools.combinations((plain, checked, checked_disabled, disabled), 2):
        assert (abs(one[indicator] - other[indicator]) > 24).sum() >= 12
    # The tick or dot is lighter or darker than what it lies on by 3:1.
    look = theme.palette
    on, under = (look.on_pencil, look.pencil) if kind is QCheckBox else (look.pencil, look.field)
    assert contrast(on, under) >= MARK_CONTRAST


@pytest.mark.parametrize("appearance", [Appearance.DARK, Appearance.LIGHT])
@pytest.mark.parametrize("button_kind", ["", "main", "plain", "danger"])
def test_focus_of_a_button_is_seen(button_kind, appearance, theme, qtbot):
    theme.set_appearance(appearance)
    window = QWidget()
    qtbot.addWidget(window)
    row = QHBoxLayout(window)
    other, button = QPushButton("Stop"), QPushButton("Assemble…")
    button.setProperty("kind", button_kind)
    row.addWidget(other)
    row.addWidget(button)
    window.show()
    window.activateWindow()
    other.setFocus()
    qtbot.waitUntil(other.hasFocus)
    plain = greys(button.grab().toImage())
    button.setFocus()
    qtbot.waitUntil(button.hasFocus)
    focused = greys(button.grab().toImage())
    assert plain.shape == focused.shape
    # A line of 2 px at least along the longest side.
    assert (abs(plain - focused) > 24).sum() >= button.width()


def test_buttons_of_dialogs_bear_no_pictures_of_the_platform(theme, qtbot):
    box = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
    qtbot.addWidget(box)
    box.show()
    assert all(button.icon().isNull() for button in box.buttons())
    # The platform without a screen has none anyway; where it has, the style says no.
    assert "dialogbuttonbox-buttons-have-icons: 0" in style_sheet(theme.palette)


def test_the_warning_of_a_message_is_drawn_for_the_program(theme, qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    window.show()
    messages = Messages(window)
    messages.set_window(window)
    messages.fault(DeskError("The film is not saved."))
    box = QApplication.activeModalWidget()
    seen = box.iconPixmap().toImage()
    shades = {seen.pixelColor(x, y).name() for x in range(seen.width()) for y in range(seen.height())}
    assert theme.palette.broken in shades
    box.close()


class Told(QObject):
    """Counts what a widget is told of style and palette."""

    KINDS = (QEvent.Type.StyleChange, QEvent.Type.PaletteChange)

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        self.times = 0
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.times += event.type() in self.KINDS
        return False


def test_other_colours_are_told_to_a_widget_as_often_however_deep_it_lies(theme, qtbot):
    """Counts instead of times: told for every widget around each, a window would stand still for long."""
    page = QWidget()
    qtbot.addWidget(page)
    widgets = [page]
    for _ in range(12):
        widgets.append(QWidget(widgets[-1]))
    label = QLabel("Low Water", widgets[-1])
    page.show()
    shallow, deep = Told(page), Told(label)
    theme.set_appearance(Appearance.LIGHT)
    QApplication.processEvents()
    assert 0 < deep.times <= shallow.times + 4
    assert label.palette().color(label.foregroundRole()).name() == LIGHT.ink
    theme.set_appearance(Appearance.DARK)
    QApplication.processEvents()
    assert label.palette().color(label.foregroundRole()).name() == DARK.ink
