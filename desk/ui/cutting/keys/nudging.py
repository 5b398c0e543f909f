"""Edits of a cut by keys: what all of them share, and the ones that are made in small steps.

What one takes hold of moves with the arrow keys until one lets go. While it is held, the cut that it is at is
shown as for a drag, with the frames on both sides; each step is an edit at once, and all of them together are
one step of undoing.
"""

import contextlib
import functools
from collections.abc import Iterator

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from desk.errors import EditError
from desk.film.edits import Change, ChangeKind, Edit
from desk.film.media import MediaFacts
from desk.film.model import Film, Scene
from desk.film.paths import content_paths
from desk.film.wording import entry_name, sentence, true_minus
from desk.ui.bench import Bench
from desk.ui.cutting.keys.aim import Kind, Thing, clip_at, nearest_cut, things
from desk.ui.cutting.keys.grips import (
    OF_SEVERAL,
    Grip,
    Held,
    Known,
    edge_of,
    held_name,
    nudge,
    playhead_after,
    to_playhead_frames,
)
from desk.ui.session import MakeEdit

_HOW_TO = "Left and Right move it by a frame, with Shift by a second. Return lets go."
_HOW_TO_ORDER = "Left and Right move it by a place. Return lets go."


class CutNudges(QObject):
    """What is held of the scene that is being cut, and the edits that repeat.

    Signals:
        held_changed: Something else is held; a `Held` or None.
    """

    held_changed = Signal(object)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._held: Held | None = None
        self._moved_frames = 0
        self._focus: QWidget | None = None
        self._own_depth = 0
        self._last = ""
        self._serial = 0
        bench.cut.selected.connect(self._on_elsewhere)
        bench.cut.opened.connect(self._on_elsewhere)
        bench.cut.tried.connect(self._on_tried)
        bench.session.changed.connect(self._on_film_changed)
        application = QGuiApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._on_focus_changed)

    @property
    def held(self) -> Held | None:
        """What is held."""
        return self._held

    # What commands mean.

    def scene(self) -> Scene | None:
        """Return the scene; without one, it is said that there is none."""
        scene = self.bench.cut.scene
        if scene is None:
            self.bench.messages.notice("No scene is shown. Choose one in the running order.")
        return scene

    def meant(self) -> tuple[Thing, ...]:
        """Return what is selected, or the clip at the playhead; none when there is neither, which is said."""
        scene = self.scene()
        if scene is None:
            return ()
        cut = self.bench.cut
        found = things(scene.content)
        if cut.selection:
            return tuple(found[item] for item in cut.selection)
        clip = clip_at(scene.content, cut.frame)
        if clip is not None:
            return (clip,)
        if scene.content.clips:
            why = "the playhead stands in black. Select something first."
        else:
            why = f"{entry_name(scene)} has no clips yet."
        self.bench.messages.notice(f"Nothing is selected, and {why}")
        return ()

    def main(self) -> Thing | None:
        """Return what was selected last, or the clip at the playhead; None when there is neither."""
        chosen = self.meant()
        return next((thing for thing in chosen if thing.id == self.bench.cut.main), next(iter(chosen), None))

    def known(self, scene: Scene) -> Known:
        """Return how long the files of a scene are, as far as they were looked at."""
        facts = self.bench.media.facts
        found = {
            path: item
            for path in content_paths(scene.content)
            if isinstance(item := facts.get(path), MediaFacts)
        }
        return Known(
            picture_seconds={path: item.picture.seconds for path, item in found.items() if item.picture},
            sound_seconds={path: item.sound.seconds for path, item in found.items() if item.sound},
        )

    # Taking hold and letting go.

    def take_hold(self, grip: Grip) -> None:
        """Take hold of a grip of what is selected, or of the clip at the playhead, which is then selected.

        Of the cut, it is the one nearest to the playhead. The playhead goes to what is held. What the film
        does not allow to be moved is not held, and it says why.
        """
        self.end()
        held = self._grip(grip)
        if held is None or not self._allows(held):
            return
        cut = self.bench.cut
        self._held, self._moved_frames = held, 0
        self._focus = QApplication.focusWidget()
        with self._own_doing():
            if grip is not Grip.CUT:
                cut.select(cut.selection or held.ids, main=held.main)
            cut.go_to(playhead_after(cut.content, held, cut.frame))
        self._show_edge()
        self.held_changed.emit(held)
        name = sentence(held_name(cut.content, held))
        is_order = grip is Grip.PLACE and things(cut.content)[held.main].kind is Kind.CLIP
        self.bench.messages.notice(f"{name} is held. {_HOW_TO_ORDER if is_order else _HOW_TO}")

    def let_go(self) -> None:
        """Let go of what is held; what was moved stays moved."""
        if self._held is None:
            return
        self._held = None
        self._focus = None
        self.bench.cut.give_up()
        self.bench.session.end_gesture()
        self.held_changed.emit(None)

    def end(self) -> None:
        """Let go, and let the next edit be a step of its own: what every other command does first."""
        self.let_go()
        self._last = ""
        self.bench.session.end_gesture()

    def move_held(self, frames: int) -> None:
        """Move what is held by frames, later, or below 0 earlier."""
        if self._held is None:
            self.bench.messages.notice(
                "Nothing is held. Take hold of a head, a tail or a cut first: the menu Cut has the keys."
            )
            return
        self._move(self._held, frames)

    def refusal(self, frames: int) -> str:
        """Return why what is held can't be moved by so many frames, as a sentence, or ""."""
        scene = self.bench.cut.scene
        if self._held is None or scene is None:
            return "Nothing is held any more."
        try:
            nudge(self.bench.session.film, self._held, frames, self.known(scene))
        except EditError as error:
            return str(error)
        return ""

    def to_playhead(self, grip: Grip) -> None:
        """Bring a grip of what is selected, or of the clip at the playhead, to the playhead.

        A clip's tail is brought there so that the cut falls before the frame at the playhead, as for
        splitting. The playhead goes with what was brought there.
        """
        self.end()
        held, scene = self._grip(grip), self.bench.cut.scene
        if held is None or scene is None or not self._allows(held):
            return
        try:
            frames = to_playhead_frames(scene, held, self.bench.cut.frame)
        except EditError as error:
            self.bench.messages.refusal(error)
            return
        if not frames:
            name = sentence(held_name(scene.content, held))
            self.bench.messages.notice(f"{name} is at the playhead already.")
            return
        at = self.bench.cut.frame
        if self.bench.session.do(functools.partial(_nudge, held, frames, self.known(scene))):
            if grip is Grip.TAIL:
                self.bench.cut.go_to(at)
            else:
                self.bench.cut.go_to(playhead_after(self.bench.cut.content, held, at))

    def nudge(self, grip: Grip, frames: int) -> None:
        """Move a grip of what is selected by frames, without holding it; again the same merges.

        Args:
            grip: What to move.
            frames: By how many frames, later; below 0, earlier.
        """
        self.let_go()
        held = self._grip(grip)
        if held is not None:
            self._move(held, frames)

    def repeat(self, key: str, make: MakeEdit) -> bool:
        """Make an edit that merges with the one before where that had the same key.

        Args:
            key: Names what is done to which things.
            make: Gives the edit.
        """
        if key != self._last:
            self.bench.session.end_gesture()
            self._serial += 1
        with self._own_doing():
            is_allowed = self.bench.session.do(make, merge=f"{key}#{self._serial}")
        self._last = key
        return is_allowed

    def _grip(self, grip: Grip) -> Held | None:
        scene = self.scene()
        if scene is None:
            return None
        if grip is Grip.CUT:
            clip = nearest_cut(scene.content, self.bench.cut.frame)
            if not clip:
                self.bench.messages.notice(f"{sentence(entry_name(scene))} has no clips yet, and so no cut.")
                return None
            return Held(scene_id=scene.id, grip=grip, main=clip, ids=(clip,))
        chosen, main = self.meant(), self.main() if self.bench.cut.selection else None
        main = main or next(iter(chosen), None)
        if main is None:
            return None
        ids = tuple(thing.id for thing in chosen) if grip in OF_SEVERAL else (main.id,)
        return Held(scene_id=scene.id, grip=grip, main=main.id, ids=ids)

    def _allows(self, held: Held) -> bool:
        """Return whether a grip can be moved at all, and say why not."""
        session = self.bench.session
        scene = self.bench.cut.scene
        try:
            if scene is not None:
                nudge(session.film, held, 0, self.known(scene))
        except EditError as error:
            self.bench.messages.refusal(error)
            return False
        if session.read_only:
            self.bench.messages.notice(f"Nothing can be moved. {session.read_only}", urgent=True)
        return not session.read_only

    def _move(self, held: Held, frames: int) -> None:
        scene, cut = self.bench.cut.scene, self.bench.cut
        if scene is None:
            return
        before, frame = self.bench.session.film, cut.frame
        shown = _picture_at(scene, frame) if held.grip is Grip.PLACE else None
        self._moved_frames += frames
        make = functools.partial(_nudge, held, frames, self.known(scene))
        if not self.repeat(f"cut.{held.grip.name}.{held.scene_id}.{','.join(held.ids)}", make):
            self._moved_frames -= frames
            self._show_edge()
            return
        if self.bench.session.film is before:
            self._moved_frames -= frames
            name = sentence(held_name(cut.content, held))
            self.bench.messages.notice(f"{name} can't go any further that way.")
            return
        if shown is not None:
            cut.go_to(things(cut.content)[shown[0]].start_frames + shown[1])
        else:
            cut.go_to(playhead_after(cut.content, held, frame))

    def _show_edge(self) -> None:
        """Show the frames on both sides of the cut that is held, as for a drag that changes nothing."""
        held = self._held
        if held is None:
            return
        content = self.bench.cut.content
        moved = true_minus(f"{self._moved_frames:+,}")
        by = f"{moved} frame{'' if abs(self._moved_frames) == 1 else 's'}"
        words = held.grip.value.removeprefix("the ") + (f" {by}" if self._moved_frames else "")
        with self._own_doing():
            self.bench.cut.attempt(
                functools.partial(_as_it_is, held.scene_id), edge=edge_of(content, held), words=words
            )

    @contextlib.contextmanager
    def _own_doing(self) -> Iterator[None]:
        """Take what is told meanwhile for what comes of a command here, and not of the person's hand."""
        self._own_depth += 1
        try:
            yield
        finally:
            self._own_depth -= 1

    def _on_film_changed(self) -> None:
        held = self._held
        if not self._own_depth:
            self._last = ""
        if held is None:
            return
        if any(item not in things(self.bench.cut.content) for item in held.ids):
            self.let_go()
        else:
            self._show_edge()

    def _on_elsewhere(self) -> None:
        """Let go when the person takes something else."""
        if not self._own_depth:
            self.let_go()
            self._last = ""

    def _on_tried(self, trial: object) -> None:
        """Let go when something else is being dragged."""
        if not self._own_depth and trial is not None and self._held is not None:
            self._held, self._focus = None, None
            self.bench.session.end_gesture()
            self.held_changed.emit(None)

    def _on_focus_changed(self, _: QWidget | None, now: QWidget | None) -> None:
        """Let go when the person goes to another part of the window: its arrow keys mean something else."""
        if self._focus is None or now is None or now is self._focus:
            return
        if now.window() is self._focus.window():
            self.let_go()


def _picture_at(scene: Scene, frame: int) -> tuple[str, int] | None:
    """Return the clip at a frame and how many frames into it that is, or None in black."""
    clip = clip_at(scene.content, frame)
    return (clip.id, frame - clip.start_frames) if clip else None


def _nudge(held: Held, frames: int, known: Known, film: Film) -> Edit:
    return nudge(film, held, frames, known)


def _as_it_is(scene_id: str, film: Film) -> Edit:
    return Edit("", film, film, Change(ChangeKind.CONTENT, (scene_id,)))
