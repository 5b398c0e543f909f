"""Raw footage in the viewer: which part of it is wanted, and what is done with it, by key and button."""

from collections.abc import Callable

from PySide6.QtCore import QKeyCombination, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent

from desk.ui.cutting.marks import Marked, Marks
from desk.ui.viewer.player import Player
from desk.ui.viewer.player_keys import combination
from desk.ui.viewer.subject import Kind


class Marking(QObject):
    """Marks head and tail of the footage that is shown, and asks for what is to be done with it.

    Signals:
        add_wanted: The footage is to be added to the scene: its path, and whether at the playhead rather than
            in natural order.
        other_wanted: Other footage of the scene is to be shown: 1 for the next file, -1 for the one before.
    """

    add_wanted = Signal(str, bool)
    other_wanted = Signal(int)

    def __init__(self, player: Player, marks: Marks, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._player = player
        self._marks = marks

    @property
    def is_on(self) -> bool:
        """Whether footage is shown that can be marked."""
        return self._player.kind is Kind.FOOTAGE and self._player.frames > 0

    @property
    def marked(self) -> Marked | None:
        """What is marked of the footage that is shown, or None for all of it."""
        return self._marks.of(self._player.subject.name) if self.is_on else None

    def mark_head(self) -> None:
        """Begin with the frame that is on."""
        player = self._player
        self._marks.mark_head(player.subject.name, player.frame, player.frames)

    def mark_tail(self) -> None:
        """End with the frame that is on."""
        player = self._player
        self._marks.mark_tail(player.subject.name, player.frame, player.frames)

    def clear(self) -> None:
        """Want all of it."""
        self._marks.clear(self._player.subject.name)

    def go_to_head(self) -> None:
        """Stand on the first frame that is wanted."""
        self._player.go_to(self.marked.first if self.marked else 0)

    def go_to_tail(self) -> None:
        """Stand on the last frame that is wanted."""
        self._player.go_to((self.marked.end if self.marked else self._player.frames) - 1)

    def add_in_order(self) -> None:
        """Ask for it to be added in natural order."""
        self.add_wanted.emit(self._player.subject.name, False)

    def add_at_playhead(self) -> None:
        """Ask for it to be added at the playhead of the scene."""
        self.add_wanted.emit(self._player.subject.name, True)

    def show_next(self) -> None:
        """Ask for the next file."""
        self.other_wanted.emit(1)

    def show_previous(self) -> None:
        """Ask for the file before."""
        self.other_wanted.emit(-1)

    def leave(self) -> None:
        """Show the scene again."""
        self._player.show_scene()

    def takes(self, event: QKeyEvent) -> bool:
        """Return whether a key does something with the footage that is shown."""
        return self.is_on and combination(event) in _KEYS

    def press(self, event: QKeyEvent) -> bool:
        """Do what a key does with the footage that is shown; returns whether it does anything."""
        call = _KEYS.get(combination(event)) if self.is_on else None
        if call is None:
            return False
        call(self)
        return True


_SHIFT, _CTRL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
_KEYS: dict[QKeyCombination, Callable[[Marking], object]] = {
    # As in the lanes, where the letter of a part with Shift brings it to the playhead.
    QKeyCombination(Qt.Key.Key_H): Marking.mark_head,
    QKeyCombination(_SHIFT, Qt.Key.Key_H): Marking.mark_head,
    QKeyCombination(Qt.Key.Key_T): Marking.mark_tail,
    QKeyCombination(_SHIFT, Qt.Key.Key_T): Marking.mark_tail,
    QKeyCombination(Qt.Key.Key_Delete): Marking.clear,
    QKeyCombination(_SHIFT, Qt.Key.Key_Home): Marking.go_to_head,
    QKeyCombination(_SHIFT, Qt.Key.Key_End): Marking.go_to_tail,
    QKeyCombination(Qt.Key.Key_Return): Marking.add_in_order,
    QKeyCombination(Qt.Key.Key_Enter): Marking.add_in_order,
    QKeyCombination(_CTRL, Qt.Key.Key_Return): Marking.add_at_playhead,
    QKeyCombination(_CTRL, Qt.Key.Key_Enter): Marking.add_at_playhead,
    QKeyCombination(Qt.Key.Key_PageDown): Marking.show_next,
    QKeyCombination(Qt.Key.Key_PageUp): Marking.show_previous,
    QKeyCombination(Qt.Key.Key_Escape): Marking.leave,
}
