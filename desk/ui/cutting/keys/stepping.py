"""Moving the playhead and choosing, as a cursor moves in a text: a frame is a letter, a cut a word."""

from PySide6.QtCore import QObject

from desk.film.model import Scene
from desk.film.timing import content_frames
from desk.film.wording import entry_name, sentence
from desk.ui.cutting.keys.aim import Thing, beside, cut_beside, extent, in_lane_beside, things
from desk.ui.cutting.keys.nudging import CutNudges


class CutSteps(QObject):
    """Moves the playhead and what is selected. The playhead moves without changing what is selected."""

    def __init__(self, nudges: CutNudges) -> None:
        super().__init__(nudges)
        self._nudges = nudges
        self._bench = nudges.bench

    def by_frames(self, frames: int) -> None:
        """Move what is held by frames, or the playhead where nothing is held."""
        if self._nudges.held is not None:
            self._nudges.move_held(frames)
        elif self._nudges.scene() is not None:
            self._bench.cut.go_to(self._bench.cut.frame + frames)

    def by_seconds(self, seconds: int) -> None:
        """Move what is held by whole seconds of timecode, or the playhead where nothing is held."""
        self.by_frames(seconds * self._bench.session.film.rate.nominal)

    def by_cuts(self, by: int) -> None:
        """Put the playhead on the next cut, or the one before."""
        if scene := self._scene():
            self._bench.cut.go_to(cut_beside(scene.content, self._bench.cut.frame, by))

    def to_head(self) -> None:
        """Put the playhead on the scene's first frame."""
        if self._scene():
            self._bench.cut.go_to(0)

    def to_tail(self) -> None:
        """Put the playhead on the scene's last frame."""
        if scene := self._scene():
            self._bench.cut.go_to(content_frames(scene.content) - 1)

    def to_head_of_selection(self) -> None:
        """Put the playhead on the first frame of what is selected."""
        self._nudges.let_go()
        if chosen := self._nudges.meant():
            self._bench.cut.go_to(extent(chosen)[0])

    def to_tail_of_selection(self) -> None:
        """Put the playhead on the last frame of what is selected."""
        self._nudges.let_go()
        if chosen := self._nudges.meant():
            self._bench.cut.go_to(extent(chosen)[1] - 1)

    def select_all(self) -> None:
        """Select every clip, cue and spot of the scene."""
        scene = self._scene()
        if scene is None:
            return
        content = scene.content
        every = list(things(content))
        if not every:
            self._bench.messages.notice(f"{sentence(entry_name(scene))} has nothing to select yet.")
        self._bench.cut.select(every, main=self._bench.cut.main)

    def leave(self) -> None:
        """Give up a drag; or else let go of what is held; or else select nothing."""
        if self._nudges.held is not None:
            self._nudges.let_go()
        elif self._bench.cut.trial is not None:
            self._bench.cut.give_up()
        else:
            self._bench.cut.select_none()

    def to_thing(self, by: int, *, extend: bool = False) -> None:
        """Select the next thing of the lane, or the one before, and put the playhead on its first frame.

        Args:
            by: 1 for the next, -1 for the one before.
            extend: Whether what is selected stays selected beside it.
        """
        scene = self._scene()
        if scene is None:
            return
        cut = self._bench.cut
        found = beside(scene.content, cut.main, cut.frame, by)
        if found is None:
            which = "last" if by > 0 else "first"
            said = f"It is the {which} one of its lane." if cut.main else f"There is no clip {_WAYS[by]} it."
            self._bench.messages.notice(said if scene.content.clips else _empty(scene))
            return
        self._choose(found, extend=extend)
        cut.go_to(found.start_frames)

    def to_lane(self, by: int) -> None:
        """Select what is at the playhead, or nearest to it, in the lane below or above.

        Args:
            by: 1 for below, -1 for above.
        """
        scene = self._scene()
        if scene is None:
            return
        found = in_lane_beside(scene.content, self._bench.cut.main, self._bench.cut.frame, by)
        if found is not None:
            self._choose(found)
        elif scene.content.clips or self._bench.cut.main:
            where = "below" if by > 0 else "above"
            self._bench.messages.notice(f"There is nothing in a lane {where} this one.")
        else:
            self._bench.messages.notice(_empty(scene))

    def _choose(self, found: Thing, *, extend: bool = False) -> None:
        cut = self._bench.cut
        cut.select((*cut.selection, found.id) if extend else (found.id,), main=found.id)

    def _scene(self) -> Scene | None:
        self._nudges.end()
        return self._nudges.scene()


_WAYS = {1: "after", -1: "before"}


def _empty(scene: Scene) -> str:
    return f"{sentence(entry_name(scene))} has no clips yet."
