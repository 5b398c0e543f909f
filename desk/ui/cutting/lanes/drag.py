"""A drag in the lanes while it is under way: tried at every move, made an edit when it ends."""

from PySide6.QtCore import QObject, QPointF, QTimer, Signal

from desk.film.snapping import snap_places
from desk.ui.bench import Bench
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.gestures import Attempt, Gesture, Scope, Where

SNAP_PX = 8.0
"""How near a drag has to come to a place to stop there by itself."""

_SCROLL_EVERY_MS = 30
_SCROLL_PART = 0.2
_MOST_SCROLL_PX = 40.0


class LaneDrag(QObject):
    """Takes one drag after the other from its first move to its end.

    Signals:
        said: What the drag would do, in words, and whether that is why it can't.
        showed: What is shown of it besides the trial is another: the shift, the place of a drop.
        scrolled: The pointer is beyond an edge: scroll by so many pixels, and move the drag again.
    """

    said = Signal(str, bool)
    showed = Signal()
    scrolled = Signal(float)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._gesture: Gesture | None = None
        self._attempt: Attempt | None = None
        self._shown: Attempt | None = None
        self._pressed_place = 0.0
        self._pressed_y = 0.0
        self._beyond_px = 0.0
        self._timer = QTimer(self, interval=_SCROLL_EVERY_MS)
        self._timer.timeout.connect(self._on_beyond)

    @property
    def is_under_way(self) -> bool:
        """Whether something is being dragged."""
        return self._gesture is not None

    @property
    def shows_trial(self) -> bool:
        """Whether the lanes are shown as the drag would leave them."""
        return self._gesture is None or self._gesture.shows_trial

    @property
    def shift_frames(self) -> int:
        """By how much all is shown further right."""
        return self._shown.shift_frames if self._shown else 0

    @property
    def drop_frame(self) -> int | None:
        """Where what is dragged would be put in."""
        return self._shown.drop_frame if self._shown else None

    def scope(self, axis: TimeAxis, without: tuple[str, ...]) -> Scope:
        """Return what a drag that begins now begins with.

        Args:
            axis: Where the lanes stand on the screen.
            without: Ids of what is dragged, whose own edges stop nothing.
        """
        cut, rate = self._bench.cut, self._bench.session.film.rate
        return Scope(
            scene_id=cut.scene_id,
            content=cut.content,
            rate=rate,
            facts=self._bench.media.facts,
            places=tuple(sorted(set(snap_places(cut.content, rate, without=without)))),
            playhead=cut.frame,
            within_frames=round(SNAP_PX / axis.px_per_frame),
        )

    def begin(self, gesture: Gesture, axis: TimeAxis, point: QPointF) -> None:
        """Begin a drag that was pressed at a point."""
        self._gesture = gesture
        self._pressed_place, self._pressed_y = axis.place(point.x()), point.y()

    def move(self, axis: TimeAxis, point: QPointF, *, free: bool) -> None:
        """Try what the drag would do at a point.

        Args:
            axis: Where the lanes stood on the screen when it began, as far as nothing was scrolled.
            point: The pointer.
            free: Whether nothing stops it by itself.
        """
        gesture = self._gesture
        if gesture is None:
            return
        place = axis.place(point.x())
        attempt = gesture.at(
            Where(
                place=place,
                moved_frames=place - self._pressed_place,
                moved_px=point.y() - self._pressed_y,
                free=free,
            )
        )
        self._attempt = attempt
        self._bench.cut.attempt(attempt.make, edge=attempt.edge, words=attempt.words)
        trial = self._bench.cut.trial
        if trial is not None and not trial.refusal:
            self._shown = attempt
        self.showed.emit()
        if trial is not None and trial.refusal:
            self.said.emit(trial.refusal, True)
        else:
            self.said.emit(f"{attempt.words} {gesture.stops}".strip(), False)
        self._beyond_px = min(0.0, point.x() - axis.left_px) + max(0.0, point.x() - axis.right_px)
        if self._beyond_px and not self._timer.isActive():
            self._timer.start()
        elif not self._beyond_px:
            self._timer.stop()

    def finish(self) -> None:
        """Make the edit that was last allowed; say once why, where none was."""
        attempt, trial = self._attempt, self._bench.cut.trial
        self._end()
        if not self._bench.cut.take() and attempt is not None and trial is not None and trial.refusal:
            # The session says why, as it does of every edit that is refused.
            self._bench.session.do(attempt.make)

    def give_up(self) -> None:
        """End the drag and leave the film as it is."""
        self._end()
        self._bench.cut.give_up()

    def _end(self) -> None:
        self._timer.stop()
        self._gesture = self._attempt = self._shown = None
        self.showed.emit()

    def _on_beyond(self) -> None:
        px = self._beyond_px * _SCROLL_PART
        self.scrolled.emit(max(-_MOST_SCROLL_PX, min(px, _MOST_SCROLL_PX)))
