"""Drags of a trim in a scene of 200 clips: how long a move of the pointer takes to the end of the repaint.

The goal is a frame of a screen that shows 60 a second: 16.7 ms.
"""

import dataclasses
import math
import statistics
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desk.cards.fonts import prepare_drawing
from desk.film.media import MediaFacts
from desk.film.model import SceneContent
from desk.film.rates import SAMPLE_RATE_HZ
from desk.jobs import CancelToken, ProgressListener
from desk.sound.waveform import Waveform, outline
from desk.store.project import new_project
from desk.ui.bench import Bench
from desk.ui.building import clear_bench, lay_bench
from desk.ui.cutting.lanes.grips import Hold
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.cutting.lanes.view import LanesView
from desk.ui.cutting.lanes.waveforms import Waveforms
from desk.ui.look.theme import Appearance, Theme
from desk.ui.messages import Messages
from tests.ui.lanes import box_of, edge
from tests.ui.scene_parts import many_clips, scene_with, with_media

CLIPS = 200
MOVES = 300
WIDTH_PX = 1100
GOAL_MS = 1000 / 60
_SOUND_SECONDS = 600


def measure(folder: Path) -> list[str]:
    """Drag tails and heads in the whole scene and zoomed in; returns lines of figures.

    Args:
        folder: Where a project may be made.
    """
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    prepare_drawing()
    theme = Theme(Appearance.DARK)
    theme.apply_to(application)
    owner = QObject()
    film, scene = scene_with(_content())
    opened = new_project(folder / "dragging", film)
    laid = lay_bench(opened, theme=theme, messages=Messages(parent=owner), parent=owner)
    bench = with_media(laid)
    lanes = Lanes(bench, waveforms=Waveforms(bench, owner, make=_outline))
    lanes.resize(WIDTH_PX, 300)
    bench.cut.open(scene.id)
    lanes.show()
    view = lanes.view
    _wait_for_sounds(application, view, bench)
    lines = [f"Drag of a trim, {CLIPS} clips, {WIDTH_PX} px wide, {MOVES} moves; goal < {GOAL_MS:.1f} ms."]
    for name, zoom, clip, hold in (
        ("whole scene, tail of the first clip", 0, "c1000", Hold.TAIL),
        ("whole scene, head of the first clip", 0, "c1000", Hold.HEAD),
        ("zoomed in 8 times, tail of a clip in the middle", 8, "c1100", Hold.TAIL),
        ("24 px a frame, tail of a clip in the middle", 10**6, "c1100", Hold.TAIL),
    ):
        view.show_whole()
        bench.cut.go_to(box_of(view, clip).start_frames)
        if zoom:
            view.zoom(zoom)
            view.scroll_to(box_of(view, clip).end_frames - 8)
        lines.append(_line(name, _drag(application, view, clip, hold)))
    lanes.close()
    lanes.deleteLater()
    clear_bench(laid)
    owner.deleteLater()
    return lines


def _content() -> SceneContent:
    """Return a scene whose first clip is wide enough to be trimmed while the whole scene is shown."""
    content = many_clips(CLIPS)
    first = dataclasses.replace(content.clips[0], in_seconds=Fraction(20), length_frames=400)
    return dataclasses.replace(content, clips=(first, *content.clips[1:]))


def _outline(_: Path, facts: MediaFacts, *, progress: ProgressListener, cancel: CancelToken) -> Waveform:
    """Return the outline of a noise that comes and goes, in place of a file's."""
    random = np.random.default_rng(7)
    second = random.normal(0, 0.2, (SAMPLE_RATE_HZ, 2)).astype(np.float32)
    second *= np.sin(np.linspace(0, 9, SAMPLE_RATE_HZ, dtype=np.float32))[:, None]
    return outline(second for _ in range(_SOUND_SECONDS))


def _wait_for_sounds(application: QApplication, view: LanesView, bench: Bench) -> None:
    until = time.monotonic() + 120
    view.repaint()
    while bench.jobs.jobs:
        assert time.monotonic() < until
        application.processEvents()
    view.repaint()


def _drag(application: QApplication, view: LanesView, clip: str, hold: Hold) -> list[tuple[float, float]]:
    """Drag to and fro; returns for each move how long it took to the end of the repaint, in ms.

    Beside the time stands that of the processor in the window's thread, whatever else the machine does.
    """
    view.repaint()
    application.processEvents()
    point = edge(view, clip, hold)
    took = []
    QTest.mousePress(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, point)
    for number in range(MOVES):
        # A pixel or two at a time, as a hand goes.
        to = point + QPoint(round(30 * math.sin(number / 20)), 0)
        begin, begin_here = time.perf_counter(), time.thread_time()
        event = QMouseEvent(
            QEvent.Type.MouseMove,
            QPointF(to),
            QPointF(view.mapToGlobal(to)),
            Qt.MouseButton.NoButton,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
        QApplication.sendEvent(view, event)
        application.processEvents()
        took.append(((time.perf_counter() - begin) * 1000, (time.thread_time() - begin_here) * 1000))
    QTest.keyClick(view, Qt.Key.Key_Escape)
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, point)
    application.processEvents()
    return took


def _line(name: str, took: list[tuple[float, float]]) -> str:
    parts = []
    for what, values in (
        ("", [wall for wall, _ in took]),
        (" of processor time", [here for _, here in took]),
    ):
        at_95 = sorted(values)[math.ceil(0.95 * len(values)) - 1]
        parts.append(
            f"median {statistics.median(values):.1f} ms, 95th {at_95:.1f} ms, "
            f"longest {max(values):.1f} ms{what}"
        )
    return f"  {name}: {'; '.join(parts)}"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        print("\n".join(measure(Path(made))))
