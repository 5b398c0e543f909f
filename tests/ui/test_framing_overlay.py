"""Framing in the viewer: a drag gives the same framing however large the viewer is, as one step."""

import dataclasses
from fractions import Fraction

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QAction, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QWidget

from desk.film import edits
from desk.film.model import Fit, Framing, Size
from desk.render.placing import place
from desk.ui.cutting.framing.geometry import moved, picture_box, scaled
from desk.ui.cutting.framing.overlay import FramingOverlay
from tests.film.editing import locked
from tests.film.films import facts, small_film
from tests.ui.clip_sheets import clip_of, open_clip_sheet
from tests.ui.scene_parts import paths, with_media
from tests.ui.scene_sheets import is_done_undone_and_redone, notices

FILM = small_film()
FRAME = Size(1920, 1080)
NO_KEYS = Qt.KeyboardModifier.NoModifier


class Surface(QWidget):
    """Stands in for the picture of the viewer: the frame lies in its middle, as large as fits."""

    def set_overlay(self, overlay: QWidget) -> None:
        overlay.setParent(self)
        overlay.setGeometry(self.rect())

    def frame_rect(self) -> QRectF:
        width = min(self.width(), self.height() * 16 / 9)
        frame = QRectF(0, 0, width, width * 9 / 16)
        frame.moveCenter(QRectF(self.rect()).center())
        return frame


@pytest.fixture
def bench(make_bench):
    bench = with_media(make_bench(FILM), {path: facts(width=1280, height=720) for path in paths(FILM)})
    bench.cut.open("s1")
    bench.cut.select(["c1"])
    return bench


@pytest.fixture
def make_overlay(bench, qtbot):
    def make(width: int = 960, height: int = 540) -> FramingOverlay:
        surface = Surface()
        qtbot.addWidget(surface)
        surface.resize(width, height)
        overlay = FramingOverlay(bench, surface)
        # Nothing else holds the surface.
        overlay.surface_of_the_test = surface
        surface.show()
        surface.activateWindow()
        qtbot.waitUntil(surface.isActiveWindow)
        overlay.begin("c1")
        return overlay

    return make


def framing(bench) -> Framing:
    return clip_of(bench.session.film, "c1").framing


def at(overlay: FramingOverlay, x: float, y: float) -> QPointF:
    """A place in the film's frame, given in parts of its width and height."""
    frame = overlay.surface_of_the_test.frame_rect()
    return QPointF(frame.left() + x * frame.width(), frame.top() + y * frame.height())


def send(overlay: FramingOverlay, kind: QEvent.Type, place: QPointF, held: bool = True) -> None:
    button = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseMove else Qt.MouseButton.LeftButton
    buttons = Qt.MouseButton.LeftButton if held else Qt.MouseButton.NoButton
    QApplication.sendEvent(overlay, QMouseEvent(kind, place, place, button, buttons, NO_KEYS))


def drag(overlay: FramingOverlay, start: QPointF, end: QPointF, *, release: bool = True) -> None:
    send(overlay, QEvent.Type.MouseButtonPress, start)
    for part in (0.3, 0.7, 1.0):
        send(overlay, QEvent.Type.MouseMove, start + (end - start) * part)
    if release:
        send(overlay, QEvent.Type.MouseButtonRelease, end, held=False)


def wheel(overlay: FramingOverlay, place: QPointF, notches: int, keys: Qt.KeyboardModifier) -> QWheelEvent:
    event = QWheelEvent(
        place,
        place,
        QPoint(),
        QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton,
        keys,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(overlay, event)
    return event


SIZES = [(320, 180), (960, 540), (960, 800), (1500, 540), (1919, 1077), (2880, 1620)]


@pytest.mark.parametrize("size", SIZES)
def test_the_same_movement_gives_the_same_framing_at_every_size(make_overlay, bench, size):
    overlay = make_overlay(*size)
    drag(overlay, at(overlay, 0.4, 0.5), at(overlay, 0.5, 0.25))
    assert framing(bench) == Framing(x=192 / 1920, y=-270 / 1080)
    bench.session.stack.undo()
    # The corner of the frame, half a frame from its middle, comes a quarter of that way nearer.
    drag(overlay, at(overlay, 0, 0), at(overlay, 0.125, 0.125))
    assert framing(bench) == Framing(scale=0.75)


@pytest.mark.parametrize("size", SIZES)
def test_a_corner_scales_around_the_middle_of_the_picture(make_overlay, bench, size):
    start = Framing(scale=0.5, x=0.125)
    bench.session.do(lambda film: edits.edit_clips(film, "s1", ["c1"], framing=start))
    overlay = make_overlay(*size)
    # The picture lies from 0.375 to 0.875 across and from 0.25 to 0.75 down.
    drag(overlay, at(overlay, 0.875, 0.75), at(overlay, 0.9375, 0.8125))
    assert framing(bench) == Framing(scale=0.625, x=0.125)


def test_a_drag_is_tried_and_then_one_step(make_overlay, bench):
    overlay = make_overlay()
    film = bench.session.film
    drag(overlay, at(overlay, 0.5, 0.5), at(overlay, 0.6, 0.5), release=False)
    assert bench.session.film is film
    assert bench.cut.content.clips[0].framing == Framing(x=0.1)
    assert "192 px right" in overlay.words()
    send(overlay, QEvent.Type.MouseButtonRelease, at(overlay, 0.6, 0.5), held=False)
    assert bench.session.stack.count() == 1
    assert bench.session.stack.undoText() == "Change the framing of clip 1 in scene 1"
    after = bench.session.film
    bench.session.stack.undo()
    assert bench.session.film == film
    assert "px" not in overlay.words()
    bench.session.stack.redo()
    assert bench.session.film == after


def test_a_click_changes_nothing(make_overlay, bench):
    overlay = make_overlay()
    drag(overlay, at(overlay, 0.5, 0.5), at(overlay, 0.5, 0.5))
    assert bench.session.stack.count() == 0
    assert bench.cut.trial is None


def test_escape_gives_up_a_drag_and_then_leaves(make_overlay, bench, qtbot):
    overlay = make_overlay()
    film = bench.session.film
    drag(overlay, at(overlay, 0.5, 0.5), at(overlay, 0.9, 0.9), release=False)
    qtbot.keyClick(overlay, Qt.Key.Key_Escape)
    assert (bench.cut.trial, bench.session.film) == (None, film)
    assert overlay.is_on
    with qtbot.waitSignal(overlay.ended):
        qtbot.keyClick(overlay, Qt.Key.Key_Escape)
    assert not overlay.isVisible()
    overlay.begin("c1")
    assert overlay.isVisible()
    drag(overlay, at(overlay, 0.5, 0.5), at(overlay, 0.6, 0.5))
    assert framing(bench).x == 0.1


KEYS = {
    "right": (Qt.Key.Key_Right, NO_KEYS, Framing(x=1 / 1920)),
    "up by ten": (Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier, Framing(y=-10 / 1080)),
    "larger": (Qt.Key.Key_Plus, NO_KEYS, Framing(scale=1.01)),
}


@pytest.mark.parametrize(("key", "modifier", "expected"), KEYS.values(), ids=KEYS)
def test_keys(make_overlay, bench, qtbot, key, modifier, expected):
    overlay = make_overlay()
    is_done_undone_and_redone(bench, lambda: qtbot.keyClick(overlay, key, modifier))
    assert framing(bench) == expected


def test_keys_of_framing_come_before_those_of_the_window(make_overlay, bench, qtbot):
    overlay = make_overlay()
    pressed: list[str] = []
    for key in ("Right", "Ctrl+Right", "Esc"):
        action = QAction(overlay.surface_of_the_test)
        action.setShortcut(key)
        action.triggered.connect(lambda _=False, key=key: pressed.append(key))
        overlay.surface_of_the_test.addAction(action)
    qtbot.keyClick(overlay, Qt.Key.Key_Right)
    qtbot.keyClick(overlay, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert pressed == ["Ctrl+Right"]
    assert framing(bench) == Framing(x=1 / 1920)
    qtbot.keyClick(overlay, Qt.Key.Key_Escape)
    assert (pressed, overlay.is_on) == (["Ctrl+Right"], False)


def test_keys_that_are_let_go_are_steps_of_their_own(make_overlay, bench, qtbot):
    overlay = make_overlay()
    for _ in range(3):
        qtbot.keyClick(overlay, Qt.Key.Key_Left)
    assert framing(bench).x == -3 / 1920
    assert bench.session.stack.count() == 3


@pytest.mark.parametrize("place", [(0.5, 0.5), (0.1, 0.8), (0.75, 0.25)])
def test_the_wheel_scales_around_the_pointer(make_overlay, bench, place):
    overlay = make_overlay()
    pointer = at(overlay, *place)
    before = picture_part_at(bench, place)
    assert not wheel(overlay, pointer, 1, NO_KEYS).isAccepted()
    assert bench.session.stack.count() == 0
    wheel(overlay, pointer, 4, Qt.KeyboardModifier.ControlModifier)
    assert framing(bench).scale == round(1.05**4, 3)
    # To half a pixel of the film, as it is moved by whole ones.
    assert picture_part_at(bench, place) == pytest.approx(before, abs=0.6 / 1080)


def picture_part_at(bench, place: tuple[float, float]) -> tuple[float, float]:
    """Which part of the picture lies at a place of the frame."""
    left, top, width, height = picture_box(framing(bench), (Fraction(1280), Fraction(720)), FRAME)
    return (place[0] * 1920 - left) / width, (place[1] * 1080 - top) / height


@pytest.mark.parametrize("upright", [(1920, 1080), (1440, 1080), (1080, 1920), (2880, 1206), (640, 480)])
@pytest.mark.parametrize(
    "shape", [Framing(), Framing(fit=Fit.FILL), Framing(scale=0.4, x=0.2, y=-0.1), Framing(scale=3, y=0.25)]
)
def test_the_outline_is_where_the_picture_is_rendered(upright, shape):
    size = (Fraction(upright[0]), Fraction(upright[1]))
    left, top, width, height = picture_box(shape, size, FRAME)
    placed = place(shape, size, FRAME)
    # Rendering is to even pixels, so each edge is off by two at most.
    assert abs(placed.scaled.width - width) <= 2
    assert abs(placed.scaled.height - height) <= 2
    assert abs(placed.at[0] - placed.crop[0] - left) <= 2
    assert abs(placed.at[1] - placed.crop[1] - top) <= 2


def test_geometry_is_tidy():
    assert moved(Framing(x=0.0004), 3.4, -2.6, FRAME) == Framing(x=4 / 1920, y=-3 / 1080)
    assert scaled(Framing(scale=0.5), 1e-9, None, FRAME).scale == 0.01
    # What is at the right edge of the frame stays there.
    assert scaled(Framing(), 2, (1920, 540), FRAME) == Framing(scale=2, x=-0.5)


def test_words_tell_the_enlargement(make_overlay, bench):
    overlay = make_overlay()
    # 1280 pixels fill 1920: one and a half times.
    assert overlay.words() == "100 %. Enlarged to 150 % of its own pixels: it will look soft."
    assert overlay.accessibleDescription() == overlay.words()
    bench.session.do(lambda film: edits.edit_clips(film, "s1", ["c1"], framing=Framing(scale=0.5, y=0.1)))
    assert overlay.words() == "50 %, 108 px down. Shown at 75 % of its own pixels."


def test_a_framing_that_is_not_allowed_keeps_the_last_that_was(make_overlay, bench):
    overlay = make_overlay(320, 180)
    drag(overlay, at(overlay, 0.5, 0.5), at(overlay, 12, 0.5), release=False)
    assert bench.cut.trial is not None
    assert bench.cut.trial.refusal
    send(overlay, QEvent.Type.MouseButtonRelease, at(overlay, 12, 0.5), held=False)
    assert 0 < framing(bench).x < 10


def test_the_playhead_goes_to_the_clip(make_overlay, bench):
    bench.cut.go_to(100)
    make_overlay()
    assert bench.cut.frame == 0


def test_a_locked_scene_refuses(make_bench, qtbot):
    film = locked(FILM, "s1")
    bench = with_media(make_bench(film), {path: facts() for path in paths(film)})
    bench.cut.open("s1")
    heard = notices(bench)
    surface = Surface()
    qtbot.addWidget(surface)
    overlay = FramingOverlay(bench, surface)
    overlay.begin("c1")
    assert heard == ["Scene 1 is locked. Unlock it to change its framing."]
    assert not overlay.is_on


def test_footage_that_is_not_read_refuses(bench, make_overlay):
    heard = notices(bench)
    overlay = make_overlay()
    overlay.end()
    bench.media.facts = {}
    overlay.begin("c1")
    assert heard == ["The picture of “footage/1/quay.mov” is missing or not read yet."]
    overlay.begin("none of them")
    assert heard[1:] == ["No clip is selected. Select one to frame it."]


def test_it_ends_when_the_clip_goes_or_another_scene_is_cut(make_overlay, bench, qtbot):
    overlay = make_overlay()
    with qtbot.waitSignal(overlay.ended):
        bench.session.do(lambda film: edits.remove_clips(film, "s1", ["c1"]))
    bench.session.stack.undo()
    overlay.begin("c1")
    with qtbot.waitSignal(overlay.ended):
        bench.cut.open("s2")
    assert not overlay.is_on


def test_the_button_of_the_clip_sheet(make_overlay, bench, qtbot):
    overlay = make_overlay()
    overlay.end()
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    sheet.attach(overlay)
    button = sheet.framing.frame
    button.click()
    assert overlay.is_on
    assert (button.isChecked(), button.text()) == (True, "Stop framing")
    button.click()
    assert not overlay.is_on
    button.click()
    qtbot.keyClick(overlay, Qt.Key.Key_Escape)
    assert not button.isChecked()
    button.click()
    bench.cut.select(["c2"])
    assert not overlay.is_on
    assert not button.isChecked()


def test_leaving_gives_the_keyboard_back_to_where_it_was(make_overlay, bench, qtbot):
    """And not to the next field, which would take what is typed for the cut."""
    overlay = make_overlay()
    overlay.end()
    surface = overlay.surface_of_the_test
    button, field = QPushButton("Frame…", surface), QLineEdit(surface)
    button.show()
    field.show()
    QWidget.setTabOrder(overlay, field)
    button.setFocus()
    overlay.begin("c1")
    assert overlay.hasFocus()
    qtbot.keyClick(overlay, Qt.Key.Key_Escape)
    assert button.hasFocus()

    overlay.begin("c1")
    button.hide()
    qtbot.keyClick(overlay, Qt.Key.Key_Escape)
    assert not field.hasFocus()


def test_it_paints_frame_outline_and_handles(make_overlay, bench, theme):
    shape = dataclasses.replace(Framing(), scale=0.5)
    bench.session.do(lambda film: edits.edit_clips(film, "s1", ["c1"], framing=shape))
    overlay = make_overlay(960, 540)
    image = overlay.surface_of_the_test.grab().toImage()
    ratio = image.devicePixelRatio()

    def colour(x: float, y: float) -> str:
        return image.pixelColor(round(x * ratio), round(y * ratio)).name()

    assert colour(240, 135) == theme.palette.pencil
    assert colour(720, 405) == theme.palette.pencil
    assert colour(480, 2) != theme.palette.pencil
