"""The film that is open, and all that is done to it.

Nothing else changes a film. Views read `film`, call `do` with an edit, and follow `changed`.
"""

import dataclasses
import functools
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from desk.errors import EditError
from desk.film.edits import Change, ChangeKind, Edit, add_review_copy
from desk.film.model import Film, ReviewCopy

MakeEdit = Callable[[Film], Edit]

_MERGING_ID = 1
_CHANGE_OF_COPIES = Change(ChangeKind.FILM)


class Session(QObject):
    """An open film with its undo stack.

    Signals:
        changed: The film is another one now: the film, and the `Change` that led to it.
        refused: An edit was refused; the `DeskError` that says why.
    """

    changed = Signal(object, object)
    refused = Signal(object)

    def __init__(
        self, film: Film, folder: Path, *, read_only: str = "", parent: QObject | None = None
    ) -> None:
        """Open a session.

        Args:
            film: The film as it was opened.
            folder: Its project folder.
            read_only: Why edits are refused, as a sentence, or "".
            parent: Who owns it.
        """
        super().__init__(parent)
        self._film = film
        self._last_effect: Edit | None = None
        self._gesture = 0
        self.folder = folder
        self.read_only = read_only
        self.stack = QUndoStack(self)

    @property
    def film(self) -> Film:
        """The film as it is now."""
        return self._film

    @property
    def last_effect(self) -> Edit | None:
        """What was last done, undone or done again, with the film before and after it."""
        return self._last_effect

    def do(self, make: MakeEdit, *, merge: str = "") -> bool:
        """Make an edit of the film as it is now; returns whether the film allowed it.

        A refusal is told with `refused`. An edit that changes nothing leaves no trace.

        Args:
            make: Gives the edit; it raises EditError when the film does not allow it.
            merge: Edits with the same name, one after the other, become one step of undoing, until
                `end_gesture`. "" for a step of its own.
        """
        if self.read_only:
            refusal = EditError(f"Nothing was changed. {self.read_only}", code="edit.read-only")
            self.refused.emit(refusal)
            return False
        try:
            edit = make(self._film)
        except EditError as error:
            self.refused.emit(error)
            return False
        self.apply(edit, merge=merge)
        return True

    def apply(self, edit: Edit, *, merge: str = "") -> None:
        """Push an edit that was made of the film as it is now; see `do`.

        Raises:
            ValueError: when it was made of another film, which is our own mistake.
        """
        if edit.before is not self._film:
            raise ValueError("the edit was made of another film than the one that is open")
        if not edit.changes_nothing:
            self.stack.push(_Step(self, edit, f"{merge}#{self._gesture}" if merge else ""))

    def end_gesture(self) -> None:
        """End what merges: the next edit is a step of its own."""
        self._gesture += 1

    def enter_copy(self, copy: ReviewCopy) -> None:
        """Enter a review copy that was made. It is a fact about the world, so undoing edits keeps it."""
        before = self._film
        edit = add_review_copy(before, copy)
        self._film = edit.after
        self._last_effect = edit
        self.changed.emit(self._film, _CHANGE_OF_COPIES)

    def put(self, edit: Edit) -> None:
        """Put an edit's film in place of the one that is open; for the steps of the undo stack alone."""
        after = edit.after
        if after.review_copies != self._film.review_copies:
            after = dataclasses.replace(after, review_copies=self._film.review_copies)
        before, self._film = self._film, after
        self._last_effect = dataclasses.replace(edit, before=before, after=after)
        self.changed.emit(after, edit.change)

    def tell_whole(self, edit: Edit) -> None:
        """Tell what a step does since it began as what was last done; for the steps of the undo stack."""
        self._last_effect = dataclasses.replace(edit, after=self._film)


class _Step(QUndoCommand):
    """One step of undoing. Its redo and undo only swap films, so they can't fail."""

    def __init__(self, session: Session, edit: Edit, merge: str) -> None:
        super().__init__(edit.text)
        self._session = session
        self._edit = edit
        self._merge = merge

    def id(self) -> int:
        return _MERGING_ID if self._merge else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        if not isinstance(other, _Step) or other._merge != self._merge:
            return False
        self._edit = Edit(other._edit.text, self._edit.before, other._edit.after, other._edit.change)
        self._session.tell_whole(self._edit)
        self.setText(other._edit.text)
        self.setObsolete(self._edit.changes_nothing)
        return True

    def redo(self) -> None:
        self._session.put(self._edit)

    def undo(self) -> None:
        self._session.put(self._edit.inverse())


def several(text: str, steps: list[MakeEdit]) -> MakeEdit:
    """Return one edit out of several, each on the film that the one before gives.

    Args:
        text: What it does, for the undo menu.
        steps: One or more edits. The change is that of the last, over the entries of all.
    """
    return functools.partial(_in_turn, text, tuple(steps))


def _in_turn(text: str, steps: tuple[MakeEdit, ...], film: Film) -> Edit:
    entries: dict[str, None] = {}
    now, kinds = film, set()
    for step in steps:
        edit = step(now)
        now = edit.after
        kinds.add(edit.change.kind)
        entries |= dict.fromkeys(edit.change.entries)
    kind = kinds.pop() if len(kinds) == 1 else ChangeKind.FILM
    return Edit(text, film, now, Change(kind, tuple(entries)))
