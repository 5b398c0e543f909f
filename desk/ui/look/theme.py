"""Which palette the window has, and its change while the window is open."""

from enum import StrEnum

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from desk.ui.look.palette import DARK, LIGHT, Palette
from desk.ui.look.style import style_sheet
from desk.ui.look.type import sans

_STYLE = "fusion"


class Appearance(StrEnum):
    """What the person asked for."""

    SYSTEM = "system"
    DARK = "dark"
    LIGHT = "light"


class Theme(QObject):
    """The palette in use.

    Signals:
        changed: Another palette is in use; what is painted by hand is painted again.
    """

    changed = Signal()

    def __init__(self, appearance: Appearance = Appearance.DARK, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._appearance = appearance
        self.palette = self._wanted()
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._on_scheme_changed)

    @property
    def appearance(self) -> Appearance:
        """What the person asked for."""
        return self._appearance

    def set_appearance(self, appearance: Appearance) -> None:
        """Take another palette."""
        self._appearance = appearance
        self._take()

    def apply_to(self, application: QApplication) -> None:
        """Give an application this palette, its controls' style and its type."""
        # Over a style sheet, another one and a palette are told to each widget once for every widget around
        # it: some 40 times for each of 1,400 widgets. From none, each is told once.
        application.setStyleSheet("")
        if application.style().name() != _STYLE:
            application.setStyle(_STYLE)
        application.setPalette(_qt_palette(self.palette))
        application.setFont(sans())
        application.setStyleSheet(style_sheet(self.palette))

    def colour(self, name: str) -> QColor:
        """Return a colour of the palette by its name there."""
        return QColor(getattr(self.palette, name))

    def _wanted(self) -> Palette:
        if self._appearance is Appearance.SYSTEM:
            scheme = QGuiApplication.styleHints().colorScheme()
            return LIGHT if scheme is Qt.ColorScheme.Light else DARK
        return LIGHT if self._appearance is Appearance.LIGHT else DARK

    def _on_scheme_changed(self) -> None:
        if self._appearance is Appearance.SYSTEM:
            self._take()

    def _take(self) -> None:
        palette = self._wanted()
        if palette is self.palette:
            return
        self.palette = palette
        application = QApplication.instance()
        if isinstance(application, QApplication):
            self.apply_to(application)
        self.changed.emit()


def _qt_palette(look: Palette) -> QPalette:
    palette = QPalette()
    roles = {
        QPalette.ColorRole.Window: look.panel,
        QPalette.ColorRole.WindowText: look.ink,
        QPalette.ColorRole.Base: look.field,
        QPalette.ColorRole.AlternateBase: look.row,
        QPalette.ColorRole.Text: look.ink,
        QPalette.ColorRole.PlaceholderText: look.dim,
        QPalette.ColorRole.Button: look.row,
        QPalette.ColorRole.ButtonText: look.ink,
        QPalette.ColorRole.ToolTipBase: look.row_chosen,
        QPalette.ColorRole.ToolTipText: look.ink,
        QPalette.ColorRole.Highlight: look.pencil,
        QPalette.ColorRole.HighlightedText: look.on_pencil,
        QPalette.ColorRole.Link: look.pencil_text,
        QPalette.ColorRole.Accent: look.pencil,
    }
    for role, colour in roles.items():
        palette.setColor(role, QColor(colour))
    for role in (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor(look.outline))
    return palette
