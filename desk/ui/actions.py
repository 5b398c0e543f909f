"""Everything that menus and keys do, as a table."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar, QWidget

from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme

StandardKey = QKeySequence.StandardKey

WITHIN = "within"
"""Property of an action: the part of the window that its key acts in."""


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
        group: The submenu of its menu that it stands in, with Qt's `&`, or "".
        within: The part of the window that its key acts in, as a sentence calls it; "" for all of it.
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
    group: str = ""
    within: str = ""
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
        keys = _KeysOfMenus(bar)
        bar.installEventFilter(keys)
        for name in menus:
            made[name] = bar.addMenu(name)
            made[name].installEventFilter(keys)
            submenus = {"": made[name]}
            for command in self._commands.values():
                if command.menu == name:
                    if command.group not in submenus:
                        if len(submenus) == 1:
                            made[name].addSeparator()
                        submenus[command.group] = made[name].addMenu(command.group)
                        submenus[command.group].installEventFilter(keys)
                    menu = submenus[command.group]
                    if command.starts_group:
                        menu.addSeparator()
                    menu.addAction(self.actions[command.id])
        return made

    def let_keys_act_in(self, place: str, widget: QWidget) -> None:
        """Let the keys of commands that act within one part of the window act while a widget has the focus.

        Args:
            place: The part, as the commands have it.
            widget: The widget; what is in it counts too.
        """
        widget.addActions(
            [self.actions[name] for name, item in self._commands.items() if item.within == place]
        )

    def refresh(self) -> None:
        """Ask again what can be done now."""
        # Many commands share a condition.
        answers: dict[Callable[[], bool], bool] = {}
        for name, command in self._commands.items():
            if command.enabled is not None:
                if command.enabled not in answers:
                    answers[command.enabled] = command.enabled()
                self.actions[name].setEnabled(answers[command.enabled])

    def _action(self, command: Command) -> QAction:
        action = QAction(command.text, self)
        action.setObjectName(command.id)
        action.setMenuRole(command.role)
        if isinstance(command.key, str):
            action.setShortcut(QKeySequence(command.key))
        elif command.key is not None:
            action.setShortcuts(command.key)
        if command.within:
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            action.setProperty(WITHIN, command.within)
        if command.icon:
            action.setIcon(icon(command.icon, self._theme))
        action.triggered.connect(command.call)
        return action


class _KeysOfMenus(QObject):
    """Leaves the keys to the menus while one of them or their bar has the keyboard.

    The bar stands for all that is in its menus, so that Qt would take a key that acts in one part of the
    window, such as Right, for that part's, and the menus would not get it.
    """

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().eventFilter(watched, event)
