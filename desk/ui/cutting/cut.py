"""What the person looks at and has hold of while a scene is cut: view state, and never an edit."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from desk.errors import EditError
from desk.film.edits import Edit
from desk.film.model import Film, Scene, SceneContent
from desk.film.timing import content_frames
from desk.ui.choice import Choice
from desk.ui.cutting.marks import Marks
from desk.ui.scene_place import ScenePlaces
from desk.ui.session import MakeEdit, Session

_NOTHING = SceneContent()


@dataclass(frozen=True, slots=True)
class Loop:
    """A range of a scene that plays again and again.

    Attributes:
        first: Its first frame, from the scene's start.
        end: The frame after its last; above `first`.
    """

    first: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What a drag that is under way would do. Nothing is edited yet.

    Attributes:
        film: The film with it.
        edge: The first frame after the cut that is worked at, from the scene's start, or None where there
            is none: the viewer shows what is on both sides of it.
        words: What it would do, for the person: `tail +12 frames`.
        refusal: Why the film does not allow where the pointer is now, as a sentence, or ""; `film` is then
            what it last allowed.
    """

    film: Film
    edge: int | None = None
    words: str = ""
    refusal: str = ""


class Cut(QObject):
    """The scene that is being cut, its playhead, what is selected in it, and what a drag would do.

    The playhead goes with the film's: where one goes, the other follows, unless the scene is set aside.

    Signals:
        opened: Another scene; its id.
        moved: The playhead stands on another frame; it, from the scene's start.
        selected: Other things are selected; a tuple of their ids.
        looped: The range that plays again and again is another; a `Loop` or None.
        tried: What a drag would do is something else; a `Trial` or None.

    Attributes:
        marks: What is marked of footage before it is used.
    """

    opened = Signal(str)
    moved = Signal(int)
    selected = Signal(object)
    looped = Signal(object)
    tried = Signal(object)

    def __init__(self, session: Session, choice: Choice, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._choice = choice
        self.marks = Marks(session, self)
        self._places = ScenePlaces(session, self)
        self._scene_id = ""
        self._frame = 0
        self._selection: tuple[str, ...] = ()
        self._main = ""
        self._gone: list[tuple[tuple[str, ...], str]] = []
        self._loop: Loop | None = None
        self._trial: Trial | None = None
        self._edit: Edit | None = None
        self._is_leading = False
        choice.moved.connect(self._on_film_moved)
        session.changed.connect(self._on_film_changed)

    @property
    def scene_id(self) -> str:
        """Id of the scene, or ""."""
        return self._scene_id

    @property
    def scene(self) -> Scene | None:
        """The scene as it is in the film now."""
        return _scene_of(self._session.film, self._scene_id)

    @property
    def content(self) -> SceneContent:
        """What to show: what a drag would leave, or else what the film has."""
        film = self._trial.film if self._trial else self._session.film
        scene = _scene_of(film, self._scene_id)
        return scene.content if scene else _NOTHING

    @property
    def frame(self) -> int:
        """Where the playhead stands, from the scene's start; on a frame of its picture, or 0."""
        return self._frame

    @property
    def insertion_frame(self) -> int:
        """Where clips come in that are put in at the playhead: after the last frame, if it stands on that.

        The playhead can't stand beyond it, and nobody wants a clip of one frame left over there.
        """
        length = content_frames(self.content)
        return length if length and self._frame == length - 1 else self._frame

    @property
    def film_frame(self) -> int | None:
        """The first frame of the scene in the film, or None for one that is set aside."""
        return self._places.start_frames(self._scene_id)

    @property
    def selection(self) -> tuple[str, ...]:
        """Ids of the clips, then cues, then spots that are selected, each in the scene's order."""
        return self._selection

    @property
    def main(self) -> str:
        """Id of the selected thing that was chosen last, whose sheet is shown, or ""."""
        return self._main

    @property
    def loop(self) -> Loop | None:
        """The range that plays again and again."""
        return self._loop

    @property
    def trial(self) -> Trial | None:
        """What a drag that is under way would do."""
        return self._trial

    def open(self, scene_id: str) -> None:
        """Take another scene, with nothing selected."""
        if scene_id == self._scene_id:
            return
        self.give_up()
        self.clear_loop()
        self.select(())
        self._gone.clear()
        self._scene_id = scene_id
        start = self.film_frame
        here = 0 if start is None else self._choice.frame - start
        self._frame = here if 0 <= here < content_frames(self.content) else 0
        self.opened.emit(scene_id)
        self.moved.emit(self._frame)

    def go_to(self, frame: int) -> None:
        """Put the playhead on a frame, or on the nearest one of the scene's picture."""
        frame = max(0, min(frame, content_frames(self.content) - 1))
        if frame == self._frame:
            return
        self._frame = frame
        self.moved.emit(frame)
        start = self.film_frame
        if start is not None:
            self._is_leading = True
            self._choice.go_to(start + frame)
            self._is_leading = False

    def select(self, ids: Iterable[str], *, main: str = "") -> None:
        """Select just these of the scene's clips, cues and spots.

        Args:
            ids: Their ids; one that the scene does not have is left out.
            main: Which of them was chosen last, or "" for the last of them.
        """
        wanted = set(ids)
        selection = tuple(item for item in _ids(self.content) if item in wanted)
        last = next(reversed(selection), "")
        self._put_selection(selection, main if main in selection else last)

    def toggle(self, item_id: str) -> None:
        """Select one more, or take it out of what is selected."""
        if item_id in self._selection:
            self.select(item for item in self._selection if item != item_id)
        else:
            self.select((*self._selection, item_id), main=item_id)

    def select_none(self) -> None:
        """Select nothing."""
        self._put_selection((), "")

    def set_loop(self, first: int, end: int) -> None:
        """Set the range that plays again and again, cut to the scene; an empty one is none."""
        first, end = max(0, first), min(end, content_frames(self.content))
        self._put_loop(Loop(first, end) if first < end else None)

    def clear_loop(self) -> None:
        """Let nothing play again and again."""
        self._put_loop(None)

    def attempt(self, make: MakeEdit, *, edge: int | None = None, words: str = "") -> None:
        """Show what an edit would do while a drag is under way.

        What the film does not allow leaves what it last allowed, and why.

        Args:
            make: Gives the edit of the film as it is now.
            edge: The first frame after the cut that is worked at, or None.
            words: What it would do, for the person.
        """
        before = self._trial
        if self._session.read_only:
            made: Edit | EditError = EditError(self._session.read_only)
        else:
            made = _made(make, self._session.film)
        if isinstance(made, Edit):
            self._edit = made
            self._trial = Trial(film=made.after, edge=edge, words=words)
        else:
            self._trial = Trial(
                film=before.film if before else self._session.film,
                edge=before.edge if before else edge,
                words=before.words if before else "",
                refusal=f"{made.message} {made.advice}".strip(),
            )
        self.tried.emit(self._trial)

    def take(self) -> bool:
        """Make the edit that was last allowed, as one step of undoing; returns whether there was one."""
        edit = self._edit
        self.give_up()
        if edit is None or edit.changes_nothing or edit.before is not self._session.film:
            return False
        self._session.apply(edit)
        return True

    def give_up(self) -> None:
        """End the drag and leave the film as it is."""
        self._edit = None
        if self._trial is not None:
            self._trial = None
            self.tried.emit(None)

    def _put_selection(self, selection: tuple[str, ...], main: str) -> None:
        if (selection, main) != (self._selection, self._main):
            self._selection, self._main = selection, main
            self.selected.emit(selection)

    def _keep_selection(self) -> None:
        here = set(_ids(self.content))
        back = next((held for held in reversed(self._gone) if here.issuperset(held[0])), None)
        if back is not None:
            self._gone.remove(back)
            self.select(back[0], main=back[1])
            return
        if not here.issuperset(self._selection):
            self._gone.append((self._selection, self._main))
        self.select(self._selection, main=self._main)

    def _put_loop(self, loop: Loop | None) -> None:
        if loop != self._loop:
            self._loop = loop
            self.looped.emit(loop)

    def _on_film_moved(self, film_frame: int) -> None:
        start = self.film_frame
        if self._is_leading or start is None:
            return
        frame = film_frame - start
        if 0 <= frame < content_frames(self.content) and frame != self._frame:
            self._frame = frame
            self.moved.emit(frame)

    def _on_film_changed(self) -> None:
        """Let go of what is not there any more, and take hold again of what comes back."""
        self.give_up()
        self._keep_selection()
        if self._loop is not None:
            self.set_loop(self._loop.first, self._loop.end)
        self.go_to(self._frame)


def _scene_of(film: Film, scene_id: str) -> Scene | None:
    return next((scene for scene in film.scenes if scene.id == scene_id), None)


def _made(make: MakeEdit, film: Film) -> Edit | EditError:
    try:
        return make(film)
    except EditError as error:
        return error


def _ids(content: SceneContent) -> Iterator[str]:
    yield from (clip.id for clip in content.clips)
    yield from (cue.id for cue in content.cues)
    yield from (spot.id for spot in content.spots)
