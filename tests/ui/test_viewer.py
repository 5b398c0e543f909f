"""What the person sees of the viewer, and does with it by pointer and key."""

import dataclasses
import time
from fractions import Fraction

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSlider,
    QApplication,
    QMainWindow,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from desk.film import edits
from desk.film.model import Size
from desk.ui.actions import Actions
from desk.ui.viewer.commands import viewer_commands
from desk.ui.viewer.controls import CAUTION
from desk.ui.viewer.picture_view import PictureView
from desk.ui.viewer.player import Player
from desk.ui.viewer.readouts import source_label
from desk.ui.viewer.subject import Kind
from desk.ui.viewer.viewer import Viewer
from tests.film.films import facts
from tests.making import read_pictures
from tests.ui.viewing import (
    FRAMES_1,
    SIZE,
    Device,
    number_at,
    numbered_footage,
    put_footage,
    viewed_film,
    wait_for_frame,
    wait_for_media,
)

pytestmark = pytest.mark.ffmpeg


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


@pytest.fixture
def bench(make_bench, footage, tmp_path, qtbot):
    made = make_bench(viewed_film(), put_footage(footage, tmp_path / "film"))
    wait_for_media(made, qtbot)
    made.cut.open("s1")
    return made


@pytest.fixture
def make_viewer(bench, qtbot):
    viewers = []

    def make(make_output=lambda _: None, size=(640, 520)):
        player = Player(bench, make_output=make_output)
        viewer = Viewer(bench, player=player)
        player.setParent(viewer)
        viewers.append(viewer)
        qtbot.addWidget(viewer)
        viewer.resize(*size)
        viewer.show()
        return viewer

    yield make
    for viewer in viewers:
        viewer.shut()


@pytest.fixture
def viewer(make_viewer):
    return make_viewer()


def number_on_screen(view: PictureView) -> int:
    """Return the number in the frame as it is painted."""
    frame = view.frame_rect().toRect()
    image = view.grab(frame).toImage().convertToFormat(QImage.Format.Format_Grayscale8)
    data = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return read_pictures([data[:, : image.width()].copy()])[0].number


def values(viewer):
    return [item.text() for item in (
        viewer.readouts.scene, viewer.readouts.film, viewer.readouts.clip, viewer.readouts.source
    )]  # fmt: skip


# -- the picture


def test_the_frame_at_the_playhead_is_painted(viewer, bench, qtbot):
    for frame in (0, 12, 33):
        bench.cut.go_to(frame)
        wait_for_frame(viewer.player, qtbot, frame)
        assert number_on_screen(viewer.picture) == number_at(frame)
        assert not viewer.picture.words


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_the_frame_stands_on_whole_pixels_in_the_shape_of_the_film(theme, qtbot, ratio, monkeypatch):
    view = PictureView(theme)
    qtbot.addWidget(view)
    monkeypatch.setattr(view, "devicePixelRatioF", lambda: ratio)
    view.set_shape(Size(2048, 858))
    for width, height in ((481, 300), (640, 101), (333, 777)):
        view.resize(width, height)
        frame = view.frame_rect()
        edges = [edge * ratio for edge in (frame.left(), frame.top(), frame.width(), frame.height())]
        assert edges == pytest.approx([round(edge) for edge in edges])
        assert frame.width() / frame.height() == pytest.approx(2048 / 858, rel=0.02)
        assert view.rect().toRectF().adjusted(-1, -1, 1, 1).contains(frame)
        assert frame.width() > width - 2 or frame.height() > height - 2


def test_a_picture_of_the_right_size_is_painted_pixel_for_pixel(theme, qtbot):
    """Also where the screen has two pixels for one: nothing is blurred."""
    view = PictureView(theme)
    qtbot.addWidget(view)
    view.set_shape(Size(320, 180))
    view.resize(400, 300)
    frame = view.frame_rect()
    width, height = round(frame.width()), round(frame.height())
    pixels = np.random.default_rng(1).integers(0, 256, (height, width, 4), np.uint8)
    pixels[..., 3] = 255
    image = QImage(pixels.data, width, height, width * 4, QImage.Format.Format_RGB32)
    view.show_image(image)
    shown = view.grab(frame.toRect()).toImage().convertToFormat(QImage.Format.Format_RGB32)
    data = np.frombuffer(shown.constBits(), np.uint8).reshape(height, width, 4)
    np.testing.assert_array_equal(data[..., :3], pixels[..., :3])


def test_the_surround_is_the_grey_of_the_bench(viewer, bench, qtbot, theme):
    viewer.resize(640, 700)
    wait_for_frame(viewer.player, qtbot, 0)
    image = viewer.picture.grab().toImage()
    assert image.pixelColor(image.width() // 2, 3) == theme.colour("bench")


def test_pictures_are_made_as_large_as_they_are_shown(viewer, qtbot):
    viewer.resize(640, 260)
    frame = viewer.picture.frame_rect()
    qtbot.waitUntil(
        lambda: (
            viewer.player.picture is not None
            and viewer.player.picture.image.width() == round(viewer.picture.frame_rect().width())
        )
    )
    assert frame.width() < SIZE.width


def test_something_can_be_laid_over_the_picture(viewer):
    overlay = QWidget()
    viewer.picture.set_overlay(overlay)
    overlay.show()
    assert overlay.parentWidget() is viewer.picture
    assert overlay.geometry() == viewer.picture.rect()
    viewer.resize(500, 480)
    assert overlay.geometry() == viewer.picture.rect()
    viewer.picture.set_overlay(None)
    assert overlay.parentWidget() is None
    overlay.deleteLater()


def test_words_stand_where_there_is_no_picture(viewer, bench, qtbot):
    bench.cut.open("s3")
    assert "no clips yet" in viewer.picture.words
    assert viewer.picture.accessibleDescription() == viewer.picture.words
    bench.cut.open("")
    assert "Choose a scene" in viewer.picture.words
    bench.cut.open("s1")
    wait_for_frame(viewer.player, qtbot, 0)
    assert viewer.picture.words == ""
    (bench.session.folder / "a.mov").unlink()
    bench.media.look()
    qtbot.waitUntil(lambda: "a.mov" in viewer.picture.words, timeout=20_000)


def test_both_sides_of_a_cut_are_shown_while_it_is_dragged(viewer, bench, qtbot):
    bench.cut.attempt(lambda film: edits.trim_head(film, "s1", "c2", 2), edge=25)
    qtbot.waitUntil(lambda: viewer.picture.look is not None and viewer.picture.look.after.picture is not None)
    assert (viewer.picture.look.before.name, viewer.picture.look.after.name) == ("Black", "First of b.mov")
    assert "First of b.mov" in viewer.picture.accessibleDescription()
    half = viewer.picture.width() / 2
    image = viewer.picture.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
    data = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    assert read_pictures([data[:, int(half) : image.width()].copy()])[0].number == 2032
    bench.cut.give_up()
    qtbot.waitUntil(lambda: viewer.picture.look is None)


# -- read-outs


def test_the_read_outs_say_where_it_stands(viewer, bench, qtbot):
    bench.cut.go_to(12)
    assert values(viewer) == ["0:00:12", "01:00:00:12", "a.mov", "0:00.880"]
    bench.cut.go_to(22)
    assert values(viewer) == ["0:00:22", "01:00:00:22", "Black", "–"]
    viewer.player.show_film()
    viewer.player.go_to(FRAMES_1 + 5)
    assert values(viewer) == ["0:00:05", "01:00:03:20", "b.mov", "0:02.500"]
    viewer.show_footage("b.mov", bench.media.facts["b.mov"])
    viewer.player.go_to(30)
    assert values(viewer) == ["0:01:05", "–", "b.mov", "0:01.200"]
    names = [item.accessibleName() for item in (viewer.readouts.scene, viewer.readouts.source)]
    assert names == ["Footage time: 0:01:05", "Source time: 0:01.200"]


def test_a_source_with_timecode_says_it():
    """By SMPTE ST 12-1: 25 frames after 10:00:00:20 at 25 a second it is 10:00:01:20."""
    known = facts(rate=dataclasses.replace(viewed_film().rate), frames=2500)
    known = dataclasses.replace(known, timecode="10:00:00:20")
    assert source_label(known, Fraction(1)) == "10:00:01:20"
    assert source_label(known, Fraction(1, 26)) == "10:00:00:20"
    assert source_label(dataclasses.replace(known, timecode=""), Fraction(61, 2)) == "0:30.500"
    assert source_label(dataclasses.replace(known, timecode="99:99"), Fraction(1)) == "0:01.000"
    assert source_label(None, Fraction(125, 2)) == "1:02.500"


# -- buttons and keys


def test_every_control_has_a_name_and_is_reached_by_the_keyboard(viewer):
    controls = [*viewer.findChildren(QAbstractButton), *viewer.findChildren(QAbstractSlider), viewer.picture]
    assert len(controls) > 12
    for control in controls:
        assert control.accessibleName() or control.text(), control
        assert control.focusPolicy() & Qt.FocusPolicy.TabFocus, control


def test_the_buttons_do_what_they_say(viewer, bench, qtbot):
    transport = viewer.transport
    transport.forth.click()
    transport.forth.click()
    assert bench.cut.frame == 2
    transport.back.click()
    assert bench.cut.frame == 1
    transport.next_cut.click()
    assert bench.cut.frame == 20
    transport.previous_cut.click()
    assert bench.cut.frame == 0
    transport.play.click()
    assert viewer.player.is_playing
    assert (transport.play.icon_name, transport.play.accessibleName()) == ("pause", "Pause")
    transport.play.click()
    assert not viewer.player.is_playing
    assert (transport.play.icon_name, transport.play.accessibleName()) == ("play", "Play")
    transport.loop.click()
    assert viewer.player.is_looping
    assert "all" in transport.loop.toolTip()
    bench.cut.set_loop(3, 9)
    assert "frames 3 to 8" in transport.loop.toolTip()
    transport.loop.click()
    assert not viewer.player.is_looping
    transport.around.click()
    assert viewer.player.is_playing
    viewer.player.pause()


def test_keys_move_the_playhead_as_a_cursor(viewer, bench):
    viewer.picture.setFocus()
    for key, modifier, frame in (
        (Qt.Key.Key_Right, Qt.KeyboardModifier.NoModifier, 1),
        (Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier, 26),
        (Qt.Key.Key_Left, Qt.KeyboardModifier.NoModifier, 25),
        (Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier, 20),
        (Qt.Key.Key_End, Qt.KeyboardModifier.NoModifier, FRAMES_1 - 1),
        (Qt.Key.Key_Home, Qt.KeyboardModifier.NoModifier, 0),
        (Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier, 20),
    ):
        QTest.keyClick(viewer.picture, key, modifier)
        assert bench.cut.frame == frame
    QTest.keyClick(viewer.picture, Qt.Key.Key_Space)
    assert viewer.player.is_playing
    QTest.keyClick(viewer.picture, Qt.Key.Key_Space)
    assert not viewer.player.is_playing


def test_keys_of_a_focused_button_and_of_the_volume_stay_theirs(viewer):
    """The window has commands on Space and the arrows, which act in the viewer too."""
    for control, key in (
        (viewer.transport.forth, Qt.Key.Key_Space),
        (viewer.transport.volume, Qt.Key.Key_Left),
    ):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, Qt.KeyboardModifier.NoModifier)
        event.ignore()
        QApplication.sendEvent(control, event)
        assert event.isAccepted()
    event = QKeyEvent(QEvent.Type.ShortcutOverride, Qt.Key.Key_Right, Qt.KeyboardModifier.NoModifier)
    event.ignore()
    QApplication.sendEvent(viewer.transport.forth, event)
    assert not event.isAccepted()


def test_arrows_are_those_of_the_footage_while_it_is_shown(viewer, bench):
    def is_taken():
        event = QKeyEvent(QEvent.Type.ShortcutOverride, Qt.Key.Key_Right, Qt.KeyboardModifier.NoModifier)
        event.ignore()
        QApplication.sendEvent(viewer.picture, event)
        return event.isAccepted()

    assert not is_taken()
    viewer.show_footage("b.mov", bench.media.facts["b.mov"])
    assert is_taken()


def test_what_is_shown_is_chosen_with_buttons(viewer, bench, qtbot):
    assert viewer.scene_button.isChecked()
    viewer.film_button.click()
    assert viewer.player.kind is Kind.FILM
    assert viewer.film_button.isChecked()
    viewer.scene_button.click()
    assert viewer.player.kind is Kind.SCENE
    assert not viewer.back_button.isVisible()
    viewer.show_footage("b.mov", bench.media.facts["b.mov"])
    assert viewer.back_button.isVisible()
    assert not viewer.scene_button.isVisible()
    viewer.back_button.click()
    assert viewer.player.kind is Kind.SCENE
    assert viewer.scene_button.text() == "Scene 1"


def test_footage_that_is_asked_for_comes_into_view_and_can_be_played(viewer, bench, qtbot):
    page, area = QWidget(), QScrollArea()
    qtbot.addWidget(area)
    layout = QVBoxLayout(page)
    layout.addWidget(viewer)
    layout.addSpacing(2000)
    area.setWidgetResizable(True)
    area.setWidget(page)
    area.resize(700, 500)
    area.show()
    area.activateWindow()
    qtbot.waitUntil(area.isActiveWindow)
    area.verticalScrollBar().setValue(area.verticalScrollBar().maximum())
    assert viewer.picture.visibleRegion().isEmpty()
    viewer.show_footage("b.mov", bench.media.facts["b.mov"])
    assert viewer.picture.visibleRegion().boundingRect() == viewer.picture.rect()
    assert viewer.picture.hasFocus()
    viewer.hide()
    viewer.setParent(None)


def test_the_volume_begins_moderate_and_carries_a_caution(make_viewer):
    viewer = make_viewer(make_output=lambda _: Device(time.monotonic))
    volume = viewer.transport.volume
    assert volume.value() == 50
    assert CAUTION in volume.toolTip()
    volume.setValue(20)
    assert viewer.player.playing.volume == pytest.approx(0.2)
    viewer.transport.mute.click()
    assert viewer.player.playing.is_muted
    assert viewer.transport.mute.accessibleName() == "Sound on"
    viewer.transport.mute.click()
    assert viewer.transport.mute.accessibleName() == "Sound off"
    volume.setValue(0)
    assert viewer.transport.mute.accessibleName() == "Sound on"


def test_without_a_sound_device_it_says_so(viewer, qtbot):
    viewer.player.play()
    qtbot.waitUntil(lambda: viewer.player.shown > 0)
    viewer.player.pause()
    assert "No sound device" in viewer.transport.volume.toolTip()


def test_what_was_not_shown_in_time_is_told(viewer, qtbot):
    wait_for_frame(viewer.player, qtbot, 0)
    assert viewer.state_words == "from the footage"
    viewer.player.play()
    qtbot.waitUntil(lambda: viewer.player.shown > 0)
    viewer.player.playing.dropped = 3
    viewer.player.pause()
    assert viewer.state_words == "3 frames not shown in time"


@pytest.mark.parametrize("width", [480, 1400])
def test_nothing_is_cut_off_in_a_narrow_or_a_wide_window(make_viewer, width):
    viewer = make_viewer(size=(width, 420))
    QApplication.processEvents()
    assert viewer.width() == width
    for control in (viewer.transport.full, viewer.transport.volume, viewer.transport.loop):
        right = control.mapTo(viewer, QPoint(control.width(), 0)).x()
        assert right <= width
    assert viewer.picture.size().height() > 150


# -- full view


def move_pointer(widget):
    place = QPointF(20, 20)
    move = QMouseEvent(
        QEvent.Type.MouseMove, place, place, Qt.MouseButton.NoButton, Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
    )  # fmt: skip
    QApplication.sendEvent(widget, move)


def test_the_full_view_tells_where_it_stands_and_scrubs(viewer, bench, qtbot):
    viewer.toggle_full_view()
    view = viewer.full_view
    move_pointer(view.picture)
    assert view.is_bar_shown
    scale = view.scale
    QTest.mouseClick(scale, Qt.MouseButton.LeftButton, pos=QPoint(round(scale.axis.x(30.5)), 28))
    assert (viewer.player.frame, bench.cut.frame) == (30, 30)
    assert view.readouts.scene.text() == "0:01:05"
    assert view.readouts.clip.text() == "b.mov"
    assert scale.geometry().bottom() < view.readouts.geometry().top()
    assert view.rect().contains(scale.mapTo(view, scale.rect().bottomRight()))
    assert view.rect().contains(view.readouts.mapTo(view, view.readouts.rect().bottomRight()))


def test_full_view_opens_follows_and_closes(viewer, bench, qtbot):
    wait_for_frame(viewer.player, qtbot, 0)
    viewer.transport.full.click()
    view = viewer.full_view
    assert view is not None
    assert view.isFullScreen()
    bench.cut.go_to(30)
    wait_for_frame(viewer.player, qtbot, 30)
    assert number_on_screen(view.picture) == number_at(30)
    assert not view.is_bar_shown
    move_pointer(view.picture)
    assert view.is_bar_shown
    QTest.keyClick(view.picture, Qt.Key.Key_Right)
    assert bench.cut.frame == 31
    QTest.keyClick(view.picture, Qt.Key.Key_Escape)
    assert viewer.full_view is None
    viewer.toggle_full_view()
    viewer.toggle_full_view()
    assert viewer.full_view is None
    QTest.mouseDClick(viewer.picture, Qt.MouseButton.LeftButton)
    assert viewer.full_view is not None


# -- commands


def test_commands_do_the_same_in_a_window(viewer, theme, qtbot):
    window = QMainWindow()
    qtbot.addWidget(window)
    actions = Actions(
        viewer_commands("&Cut", lambda: viewer, lambda: True, group="&Play", within="viewer"), theme, window
    )
    actions.add_to(window.menuBar(), ["&Cut"])
    run = {name.removeprefix("viewer-"): action for name, action in actions.actions.items()}
    keys = [action.shortcut().toString() for action in run.values()]
    assert len(set(keys)) == len(keys)
    run["play"].trigger()
    assert viewer.player.is_playing
    run["play"].trigger()
    assert not viewer.player.is_playing
    run["looping"].trigger()
    assert viewer.player.is_looping
    run["looping"].trigger()
    run["sound"].trigger()
    assert viewer.player.playing.is_muted
    run["whole-film"].trigger()
    assert viewer.player.kind is Kind.FILM
    run["whole-film"].trigger()
    assert viewer.player.kind is Kind.SCENE
    run["full-view"].trigger()
    assert viewer.full_view is not None
    run["full-view"].trigger()
    run["around"].trigger()
    assert viewer.player.is_playing
    viewer.player.pause()


def test_the_wheel_over_the_volume_moves_the_page_unless_the_volume_has_the_keyboard(viewer, qtbot):
    volume = viewer.transport.volume
    before = volume.value()
    turn_wheel(volume)
    assert volume.value() == before
    viewer.activateWindow()
    volume.setFocus()
    qtbot.waitUntil(volume.hasFocus)
    turn_wheel(volume)
    assert volume.value() < before


def turn_wheel(widget):
    middle = QPointF(widget.rect().center())
    event = QWheelEvent(
        middle,
        widget.mapToGlobal(middle),
        QPoint(),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)
