"""Cuts a scene in a real window; started by `test_whole_cut.py` on a screen of its own."""

import sys
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QLineEdit, QScrollArea, QWidget

from desk.film.model import Clip, SceneContent
from desk.film.timing import clip_starts, content_frames
from desk.ui.cutting.lanes.grips import Hold
from desk.ui.cutting.lanes.layout import RULER_PX, Row
from desk.ui.cutting.lanes.view import LanesView
from desk.ui.cutting.marks import Marked
from desk.ui.window import MainWindow
from tests.ui.driving import Driver
from tests.ui.lanes import box_of, edge, middle
from tests.ui.window_job import WindowJob, do_in_window

SCENE = "1"
_WHEEL_DOWN, _WHEEL_UP = "5", "4"
_MARGIN_PX = 3


class CutJob(WindowJob):
    """The cut, step by step. What each step is to do is checked in the film before the next begins."""

    def __init__(self, window: MainWindow, driver: Driver, project: Path) -> None:
        super().__init__(window, driver)
        self.project = project

    def do(self) -> None:
        self.open_the_film()
        self.add_files()
        self.trim()
        self.move_a_cut()
        self.slide()
        self.split_and_remove()
        self.change_the_speed()
        self.reorder()
        self.lead()
        self.add_a_spot()
        self.undo_and_redo()
        self.play()
        self.lock(SCENE)
        self.refuse()
        self.assemble()

    # What there is.

    @property
    def content(self) -> SceneContent:
        """The scene's content now."""
        return self.driver.ask(self._content)

    def _content(self) -> SceneContent:
        (scene,) = self.window.shown().bench.session.film.scenes
        return scene.content

    def clip(self, name: str) -> Clip:
        """The one clip of a file."""
        (clip,) = (clip for clip in self.content.clips if Path(clip.source).stem == name)
        return clip

    def names(self) -> list[str]:
        """The files of the clips; asked in the window's thread."""
        return [Path(clip.source).stem for clip in self._content().clips]

    @property
    def lanes(self) -> LanesView:
        """The lanes."""
        return self.view.picture.lanes.view

    # Hands.

    def bring(self, widget: QWidget) -> None:
        """Turn the wheel over the margin of the sheet until all of something is on the screen."""
        driver = self.driver
        area = widget.parentWidget()
        while not isinstance(area, QScrollArea):
            area = area.parentWidget()
        port = area.viewport()

        def beyond() -> int:
            """By how much it is below the lower edge, or above the upper one as a number below 0."""
            top = widget.mapTo(port, QPoint(0, 0)).y()
            bottom = top + widget.height()
            return min(top, 0) or max(bottom - port.height(), 0)

        for _ in range(60):
            by = driver.ask(beyond)
            if not by:
                return
            driver.move_to(port, lambda: QPoint(_MARGIN_PX, port.height() // 2))
            before = driver.ask(area.verticalScrollBar().value)
            driver.turn(_WHEEL_DOWN if by > 0 else _WHEEL_UP)
            if driver.ask(area.verticalScrollBar().value) == before:
                return

    def drag_in_lanes(
        self,
        start: Callable[[], QPoint],
        frames: float,
        *,
        held: str = "",
        on_the_way: Callable[[], None] | None = None,
    ) -> None:
        """Drag something in the lanes by frames, with a key held."""
        self.bring(self.lanes)
        lanes = self.lanes

        def end() -> QPoint:
            return start() + QPoint(round(frames * lanes.axis.px_per_frame), 0)

        self.driver.drag(lanes, start, lanes, end, on_the_way, held=held)

    def press_in_lanes(self, *keys: str) -> None:
        """Press keys with the focus in the lanes."""
        assert self.driver.ask(self.lanes.hasFocus), "the lanes do not have the focus"
        self.driver.press(*keys)

    def click_clip(self, clip_id: str) -> None:
        """Select a clip in the Picture lane."""
        self.bring(self.lanes)
        lanes = self.lanes
        self.driver.click(lanes, lambda: middle(lanes, clip_id))
        self.driver.wait("the clip selected", lambda: self.window.shown().bench.cut.main == clip_id)

    def wait_for(self, what: str, holds: Callable[[SceneContent], object]) -> None:
        """Wait until something holds for the scene's content."""
        self.driver.wait(what, lambda: holds(self._content()))

    # Steps.

    def open_the_film(self) -> None:
        driver = self.driver
        driver.ask(lambda: self.window.open_film(self.project))
        driver.wait("the film to open", lambda: self.window.view is not None)
        self.choose(SCENE)
        driver.press("alt+2")
        footage = self.view.picture.footage
        driver.wait("the part unfolded", footage.isVisible)
        driver.wait("five files read", lambda: [row.is_known for row in footage.rows] == [True] * 5)

    def place_of(self, name: str) -> Callable[[], QPoint]:
        """Return what tells where a file stands in the footage strip."""
        footage = self.view.picture.footage

        def place() -> QPoint:
            path = next(row.path for row in footage.rows if row.name == name)
            return footage.view.visualRect(footage.model.index(footage.model.place_of(path))).center()

        return place

    def add_files(self) -> None:
        """One by double click, one by key before it, one by drag onto the lanes, and a marked part of one."""
        driver = self.driver
        strip = self.view.picture.footage.view
        self.bring(strip)
        driver.click(strip.viewport(), self.place_of("C0002.mov"), times=2)
        driver.wait("a first clip", lambda: self.names() == ["C0002"])
        driver.wait("lanes to cut in", self.lanes.isVisible)
        self.bring(strip)
        driver.click(strip.viewport(), self.place_of("C0001.mov"))
        driver.press("Return")
        driver.wait("a clip before it", lambda: self.names() == ["C0001", "C0002"])
        self.bring(strip)
        self.bring(self.lanes)
        lanes = self.lanes
        last = driver.ask(lambda: self._content().clips[-1].id)
        driver.drag(
            strip.viewport(),
            self.place_of("C0003.mov"),
            lanes,
            lambda: box_of(lanes, last).rect(lanes.axis).toRect().bottomRight() - QPoint(12, 12),
            lambda: driver.wait("a place to drop at", lambda: lanes.drop is not None),
        )
        driver.wait("a clip after them", lambda: self.names() == ["C0001", "C0002", "C0003"])
        self.bring(strip)
        driver.click(strip.viewport(), self.place_of("C0004.mov"))
        self.add_a_part()
        driver.wait("four clips", lambda: self.names() == ["C0001", "C0002", "C0003", "C0004"])

    def add_a_part(self) -> None:
        """Look at the footage that is chosen, scrub through it, mark a part by key, and add that."""
        driver, viewer = self.driver, self.view.picture.viewer
        driver.press("shift+Return")
        driver.wait("the footage shown", viewer.footage_bar.isVisible)
        scale = viewer.footage_bar.scale
        self.bring(scale)
        marks = self.view.bench.cut.marks
        for frame, key in ((5, "h"), (33, "t")):

            def place(frame: int = frame) -> QPoint:
                return QPoint(round(scale.axis.x(frame + 0.5)), scale.height() // 2)

            driver.click(scale, place)
            driver.wait(f"frame {frame}", lambda frame=frame: viewer.player.frame == frame)
            driver.press(key)
            driver.wait("a mark", lambda: bool(marks.all))
        path = driver.ask(lambda: viewer.player.subject.name)
        driver.wait("the part marked", lambda: marks.of(path) == Marked(5, 34))
        driver.press("Return")
        driver.wait("the part added", lambda: self.names()[-1] == "C0004")
        clip = self.clip("C0004")
        assert (clip.in_seconds * 25, clip.length_frames) == (5, 29)
        driver.press("Escape")
        driver.wait("the scene shown", lambda: not viewer.footage_bar.isVisible())

    def trim(self) -> None:
        """A head by drag, with both frames at the cut shown; a tail by key."""
        driver, clip = self.driver, self.clip("C0002")
        player = self.view.picture.viewer.player
        lanes = self.lanes
        self.drag_in_lanes(
            lambda: edge(lanes, clip.id, Hold.HEAD),
            12,
            on_the_way=lambda: driver.wait("both frames shown", lambda: player.look is not None),
        )
        self.wait_for("the head trimmed", lambda content: content.clips[1].in_seconds > 0)
        after = self.clip("C0002")
        assert after.length_frames + after.in_seconds * 25 == clip.length_frames
        driver.wait("one frame shown again", lambda: player.look is None)
        first = self.clip("C0001")
        self.click_clip(first.id)
        self.press_in_lanes("t", "Left", "Left", "Left", "Left", "Left", "Left", "Return")
        self.wait_for(
            "the tail trimmed by 6", lambda content: content.clips[0].length_frames == first.length_frames - 6
        )

    def move_a_cut(self) -> None:
        """Move the cut between the first two clips; the scene keeps its length."""
        before, lanes = self.content, self.lanes
        second = before.clips[1].id
        self.drag_in_lanes(lambda: edge(lanes, second, Hold.HEAD), -5, held="ctrl")
        self.wait_for("the cut moved", lambda content: content != before)
        after = self.content
        assert content_frames(after) == content_frames(before)
        by = before.clips[0].length_frames - after.clips[0].length_frames
        assert by > 0
        assert after.clips[1].length_frames == before.clips[1].length_frames + by
        assert (before.clips[1].in_seconds - after.clips[1].in_seconds) * 25 == by

    def slide(self) -> None:
        """Let a clip show what comes earlier in its footage, without moving it."""
        before, lanes = self.content, self.lanes
        second = before.clips[1].id
        self.drag_in_lanes(lambda: middle(lanes, second), 3, held="ctrl")
        self.wait_for("another stretch shown", lambda content: content != before)
        after = self.content
        assert 0 <= after.clips[1].in_seconds < before.clips[1].in_seconds
        assert [clip.length_frames for clip in after.clips] == [clip.length_frames for clip in before.clips]

    def split_and_remove(self) -> None:
        """Split the third clip at the playhead, put there on the ruler, and take the first part out."""
        before, lanes, driver = self.content, self.lanes, self.driver
        third, start = before.clips[2], clip_starts(before)[2]
        self.bring(lanes)
        driver.click(lanes, lambda: QPoint(round(lanes.axis.x(start + 20.5)), RULER_PX // 2))
        cut = self.view.bench.cut
        driver.wait("the playhead there", lambda: abs(cut.frame - start - 20) <= 1)
        at = driver.ask(lambda: cut.frame)
        self.press_in_lanes("Return")
        self.wait_for("five clips", lambda content: len(content.clips) == 5)
        self.click_clip(third.id)
        self.press_in_lanes("Delete")
        self.wait_for("four clips", lambda content: len(content.clips) == 4)
        after = self.content
        assert third.id not in {clip.id for clip in after.clips}
        assert content_frames(after) == content_frames(before) - (at - start)
        assert after.clips[2].in_seconds * 25 == at - start

    def change_the_speed(self) -> None:
        """The last clip at half its speed, and without its sound."""
        driver, clip = self.driver, self.clip("C0004")
        self.click_clip(clip.id)
        self.press_in_lanes("percent")
        line = driver.find(QLineEdit, "Speed of clip 4")
        driver.wait("a line to type in", line.hasFocus)
        driver.press("ctrl+a")
        driver.write("1/2")
        driver.press("Return")
        self.wait_for(
            "twice as long", lambda content: content.clips[3].length_frames == 2 * clip.length_frames
        )
        lanes = self.lanes
        driver.wait("the lanes to be where the keyboard was", lambda: self.window.focusWidget() is lanes)
        # Without a window manager nobody gives the keyboard back to the window.
        self.click_clip(clip.id)
        self.press_in_lanes("0")
        self.wait_for("no sound", lambda content: content.clips[3].sound.kind.value == "silence")

    def reorder(self) -> None:
        """Drag the last clip before the first."""
        lanes, last = self.lanes, self.clip("C0004").id
        self.drag_in_lanes(lambda: middle(lanes, last), -content_frames(self.content))
        self.driver.wait("the last clip first", lambda: self.names()[0] == "C0004")

    def lead(self) -> None:
        """Let the sound of a clip begin before its picture, by drag."""
        lanes, clip = self.lanes, self.clip("C0003")
        self.drag_in_lanes(lambda: edge(lanes, clip.id, Hold.HEAD, Row.DIALOGUE), -9)
        self.wait_for("a lead", lambda content: content.clips[3].sound.lead_frames > 0)

    def add_a_spot(self) -> None:
        """Put the recording at the playhead as a spot, by the keyboard alone."""
        driver, footage = self.driver, self.view.picture.footage
        self.click_clip(self.clip("C0001").id)
        self.press_in_lanes("Home", "shift+Right", "Right", "Right")
        cut = self.view.bench.cut
        driver.wait("the playhead at 27", lambda: cut.frame == 27)
        self.bring(footage.view)
        driver.click(footage.view.viewport(), self.place_of("R0001.wav"))
        driver.press("Return")
        driver.wait("its menu", footage.menu.isVisible)
        driver.press("Down", "Return")
        self.wait_for("a spot", lambda content: [spot.start_frames for spot in content.spots] == [27])

    def undo_and_redo(self) -> None:
        """Undo the spot, the lead and the new order, and do them again."""
        driver, before = self.driver, self.content
        driver.press("ctrl+z", "ctrl+z", "ctrl+z")
        self.wait_for("three steps undone", lambda content: not content.spots and self.names()[3] == "C0004")
        driver.press("ctrl+shift+z", "ctrl+shift+z", "ctrl+shift+z")
        self.wait_for("three steps done again", lambda content: content == before)

    def play(self) -> None:
        """Play a second, pause, and step."""
        driver, lanes = self.driver, self.lanes
        self.bring(lanes)
        self.click_clip(self.clip("C0004").id)
        cut, player = self.view.bench.cut, self.view.picture.viewer.player
        self.press_in_lanes("Home")
        driver.wait("the playhead at the start", lambda: cut.frame == 0)
        self.press_in_lanes("space")
        driver.wait("a second played", lambda: cut.frame >= 25)
        self.press_in_lanes("space")
        driver.wait("a pause", lambda: not player.is_playing)
        at = driver.ask(lambda: cut.frame)
        self.press_in_lanes("Right")
        driver.wait("a frame on", lambda: cut.frame == at + 1)
        driver.wait("its picture", lambda: player.picture is not None and player.picture.frame == at + 1)
        self.press_in_lanes("Left", "Left")
        driver.wait("two frames back", lambda: cut.frame == at - 1)

    def refuse(self) -> None:
        """A locked scene is not cut, and it says why."""
        driver, before = self.driver, self.content
        said: list[str] = []
        driver.ask(
            lambda: self.window.shown().bench.messages.noticed.connect(lambda it: said.append(it.text))
        )
        self.click_clip(self.clip("C0001").id)
        self.press_in_lanes("Delete")
        driver.wait("a word why not", lambda: any("lock" in text for text in said))
        assert self.content == before


def main(project: Path) -> int:
    """Do the job; returns the exit code."""
    return do_in_window(lambda window, driver: CutJob(window, driver, project).do(), size=(1500, 1160))


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
