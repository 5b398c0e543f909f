"""What keys do where the picture has the focus: the playhead goes as a cursor goes in a text."""

from collections.abc import Callable

from PySide6.QtCore import QKeyCombination, Qt
from PySide6.QtGui import QKeyEvent

from desk.ui.viewer.player import Player

_Call = Callable[[Player], object]


def _second(player: Player, direction: int) -> None:
    player.step(direction * player.subject.rate.nominal)


_KEYS: dict[QKeyCombination, _Call] = {
    QKeyCombination(Qt.Key.Key_Space): lambda player: player.toggle(),
    QKeyCombination(Qt.KeyboardModifier.ShiftModifier, Qt.Key.Key_Space): lambda player: player.play_around(),
    QKeyCombination(Qt.Key.Key_Left): lambda player: player.step(-1),
    QKeyCombination(Qt.Key.Key_Right): lambda player: player.step(1),
    QKeyCombination(Qt.KeyboardModifier.ShiftModifier, Qt.Key.Key_Left): lambda player: _second(player, -1),
    QKeyCombination(Qt.KeyboardModifier.ShiftModifier, Qt.Key.Key_Right): lambda player: _second(player, 1),
    QKeyCombination(Qt.KeyboardModifier.ControlModifier, Qt.Key.Key_Left): lambda player: player.go_to_cut(
        -1
    ),
    QKeyCombination(Qt.KeyboardModifier.ControlModifier, Qt.Key.Key_Right): lambda player: player.go_to_cut(
        1
    ),
    QKeyCombination(Qt.Key.Key_Home): lambda player: player.go_to(0),
    QKeyCombination(Qt.Key.Key_End): lambda player: player.go_to(player.frames - 1),
}


def is_player_key(event: QKeyEvent) -> bool:
    """Return whether a key does something here."""
    return combination(event) in _KEYS


def press_player_key(player: Player, event: QKeyEvent) -> bool:
    """Do what a key does; returns whether it does anything."""
    call = _KEYS.get(combination(event))
    if call is None:
        return False
    call(player)
    return True


def combination(event: QKeyEvent) -> QKeyCombination:
    """Return which key is pressed with which others, wherever it is on the keyboard."""
    modifiers = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    return QKeyCombination(modifiers, Qt.Key(event.key()))
