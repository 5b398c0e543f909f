"""What the tests of the lanes share: a scene with something in each lane, and hands on the lanes."""

from fractions import Fraction

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desk.film.model import Candidate, Clip, ClipSound, Cue, SceneContent, SoundKind, Spot
from desk.ui.cutting.lanes.grips import Hold
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.cutting.lanes.layout import Row
from desk.ui.cutting.lanes.view import LanesView
from tests.ui.scene_parts import scene_with, with_media

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
LEFT = Qt.MouseButton.LeftButton

THREE = SceneContent(
    clips=(
        Clip(id="c3", source="footage/2/a.mov", length_frames=48),
        Clip(
            id="c50",
            source="footage/2/b.mov",
            in_seconds=Fraction(2),
            length_frames=24,
            sound=ClipSound(lead_frames=12, lag_frames=6, gain_db=-3),
        ),
        Clip(id="c51", source="footage/2/c.mov", length_frames=72, sound=ClipSound(kind=SoundKind.SILENCE)),
    ),
    cues=(
        Cue(
            id="m50",
            label="m2",
            start_frames=24,
            length_frames=4000,
            candidates=(Candidate(id="a50", file="music/tide.wav"),),
            chosen="a50",
        ),
        Cue(id="m51", label="m3", start_frames=0, length_frames=20),
    ),
    spots=(
        Spot(id="f50", file="effects/horn.wav", label="horn", start_frames=-6, length_frames=30),
        Spot(id="f51", file="effects/gulls.wav", label="gulls", start_frames=20, length_frames=30),
        Spot(id="f52", file="effects/bell.wav", start_frames=60, length_frames=10),
    ),
)


@pytest.fixture
def show(make_bench, qtbot):
    """Shows a content's lanes at a width of 800."""
    kept = []

    def show_it(content, known=None, *, edit=None, width=800, **options):
        film, scene = scene_with(content)
        bench = with_media(make_bench(edit(film) if edit else film), known, **options)
        lanes = Lanes(bench)
        kept.append(lanes)
        qtbot.addWidget(lanes)
        lanes.resize(width, 300)
        bench.cut.open(scene.id)
        lanes.show()
        qtbot.waitExposed(lanes)
        return lanes.view, bench

    return show_it


def box_of(view: LanesView, owner: str, row: Row = Row.PICTURE):
    return next(box for box in view.lanes.boxes_of(owner) if box.row is row)


def middle(view: LanesView, owner: str, row: Row = Row.PICTURE) -> QPoint:
    """A point in the middle of something, below the line of its gain."""
    rect = box_of(view, owner, row).rect(view.axis)
    return QPointF(rect.center().x(), rect.bottom() - 4).toPoint()


def colour_at(view: LanesView, point: QPointF | QPoint) -> QColor:
    image = view.grab().toImage()
    ratio = image.devicePixelRatio()
    return image.pixelColor(round(point.x() * ratio), round(point.y() * ratio))


def move(view, point, modifiers=Qt.KeyboardModifier.NoModifier, button=LEFT):
    """Move the pointer with a button and keys held, which qtbot can't."""
    at = QPointF(point)
    QApplication.sendEvent(
        view,
        QMouseEvent(
            QEvent.Type.MouseMove,
            at,
            QPointF(view.mapToGlobal(point)),
            Qt.MouseButton.NoButton,
            button,
            modifiers,
        ),
    )


def wheel(view, point, turned, modifiers=Qt.KeyboardModifier.NoModifier):
    """Turn the wheel; returns whether the lanes took it."""
    event = QWheelEvent(
        QPointF(point),
        QPointF(view.mapToGlobal(point)),
        QPoint(),
        QPoint(0, turned),
        Qt.MouseButton.NoButton,
        modifiers,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view, event)
    return event.isAccepted()


def press(view: LanesView, point: QPoint, modifiers=Qt.KeyboardModifier.NoModifier) -> None:
    QTest.mousePress(view, LEFT, modifiers, point)


def release(view: LanesView, point: QPoint, modifiers=Qt.KeyboardModifier.NoModifier) -> None:
    QTest.mouseRelease(view, LEFT, modifiers, point)


def edge(view: LanesView, owner: str, hold: Hold, row: Row = Row.PICTURE) -> QPoint:
    """A point where something of a clip, spot or cue is taken hold of."""
    rect = box_of(view, owner, row).rect(view.axis)
    y = rect.bottom() - 3
    within = min(3.0, rect.width() / 6)
    x = {
        Hold.HEAD: rect.left() + within,
        Hold.TAIL: rect.right() - within,
        Hold.BODY: rect.center().x(),
        Hold.BLACK: rect.left() - 3,
    }[hold]
    return QPointF(x, y).toPoint()


def drag(view, point, frames, modifiers=Qt.KeyboardModifier.NoModifier, *, free=False) -> None:
    """Drag from a point by some frames, freely with Shift held once it goes on."""
    to = point + QPoint(round(frames * view.axis.px_per_frame), 0)
    press(view, point, modifiers)
    move(view, point + QPoint(4 if frames > 0 else -4, 0), modifiers)
    if free:
        modifiers |= SHIFT
    move(view, to, modifiers)
    release(view, to, modifiers)
