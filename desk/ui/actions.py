"""Everything that menus and keys do, as a table."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar

from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme

StandardKey = QKeySequence.StandardKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One thing that can be done from a menu or with a key.

    Attributes:
        id: A stable name.
        menu: The menu it stands in.
        text: What it does, as a verb; the menu's mnemonic is Qt's `&`.
        call: Does it.
        key: Its key, as text or as the platform's own, or None.
        enabled: Says whether it can be done now; None for always.
        icon: Name of its icon, or "".
        starts_group: Whether a line stands above it in its menu.
        role: Where platforms have a place of their own for it.
    """

    id: str
    menu: str
    text: str
    call: Callable[[], object]
    key: str | StandardKey | None = None
    enabled: Callable[[], bool] | None = None
    icon: str = ""
    starts_group: bool = False
    role: QAction.MenuRole = QAction.MenuRole.NoRole


class Actions(QObject):
    """The actions of a table of commands."""

    def __init__(self, commands: Sequence[Command], theme: Theme, parent: QObject) -> None:
        super().__init__(parent)
        self._theme = theme
        self._commands = {command.id: command for command in commands}
        self.actions = {command.id: self._action(command) for command in commands}
        self.refresh()

    def add_to(self, bar: QMenuBar, menus: Sequence[str]) -> dict[str, QMenu]:
        """Add the menus to a bar, in this order, and return them by name.

        Args:
            bar: The menu bar.
            menus: Their names, with Qt's `&`.
        """
        made: dict[str, QMenu] = {}
        for name in menus:
            menu = bar.addMenu(name)
            made[name] = menu
            for command in self._commands.values():
                if command.menu == name:
                    if command.starts_group:
                        menu.addSeparator()
                    menu.addAction(self.actions[command.id])
        return made

    def refresh(self) -> None:
        """Ask again what can be done now."""
        for name, command in self._commands.items():
            if command.enabled is not None:
                self.actions[name].setEnabled(command.enabled())

    def _action(self, command: Command) -> QAction:
        action = QAction(command.text, self)
        action.setObjectName(command.id)
        action.setMenuRole(command.role)
        if isinstance(command.key, str):
            action.setShortcut(QKeySequence(command.key))
        elif command.key is not None:
            action.setShortcuts(command.key)
        if command.icon:
            action.setIcon(icon(command.icon, self._theme))
        action.triggered.connect(command.call)
        return action
