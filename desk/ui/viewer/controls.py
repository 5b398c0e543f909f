"""Buttons and the volume of the viewer."""

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QSlider, QToolButton, QWidget

from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme

ICON_PX = 20
CAUTION = "Monitor at a moderate level: sudden loud sound can hurt your hearing."

_OF_SLIDER = {
    Qt.Key.Key_Left,
    Qt.Key.Key_Right,
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_Home,
    Qt.Key.Key_End,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
}


class PlayerButton(QToolButton):
    """A button with an icon. Space presses it while it has the focus, whatever Space does around it."""

    def __init__(
        self, icon_name: str, name: str, tip: str, theme: Theme, parent: QWidget | None = None
    ) -> None:
        """Make it.

        Args:
            icon_name: Name of its icon.
            name: What it does, for who can't see the icon.
            tip: What the tool tip says beyond the name: its key, or "".
            theme: Colours in use.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._theme = theme
        self._icon_name = ""
        self.setProperty("kind", "plain")
        self.setIconSize(QSize(ICON_PX, ICON_PX))
        self.say(icon_name, name, tip)

    def say(self, icon_name: str, name: str, tip: str = "") -> None:
        """Do another thing from now on; see `__init__`."""
        if icon_name != self._icon_name:
            self._icon_name = icon_name
            self.setIcon(icon(icon_name, self._theme))
        self.setAccessibleName(name)
        self.setToolTip(f"{name} ({tip})" if tip else name)

    @property
    def icon_name(self) -> str:
        """Name of its icon."""
        return self._icon_name

    def event(self, event: QEvent) -> bool:
        if _is_override(event, {Qt.Key.Key_Space}):
            event.accept()
            return True
        return super().event(event)


class VolumeSlider(QSlider):
    """How loud. Arrow keys move it while it has the focus, whatever they do around it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setRange(0, 100)
        self.setPageStep(10)
        self.setFixedWidth(72)
        self.setAccessibleName("Volume")

    def event(self, event: QEvent) -> bool:
        if _is_override(event, _OF_SLIDER):
            event.accept()
            return True
        return super().event(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            # The page is being scrolled, and came to lie under the pointer.
            event.ignore()


def _is_override(event: QEvent, keys: set[Qt.Key]) -> bool:
    """Return whether an event asks if a key without others is meant for the widget itself."""
    return (
        isinstance(event, QKeyEvent)
        and event.type() == QEvent.Type.ShortcutOverride
        and event.key() in keys
        and event.modifiers() in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
    )
