"""A colour: a patch that opens Qt's colour dialog, and its six digits."""

from collections.abc import Callable

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QColorDialog, QPushButton, QWidget

from desk.ui.fields import LineField
from desk.ui.look.theme import Theme

_DIGITS = 9


class ColourField(LineField):
    """A colour as `#rrggbb`."""

    def __init__(self, name: str, apply: Callable[[str], str], theme: Theme, parent: QWidget) -> None:
        """Make it.

        Args:
            name: What it is called, for those who can't see it.
            apply: Takes a colour, and what was typed for one.
            theme: Colours in use.
            parent: Who owns it.
        """
        super().__init__(name, self._apply_text, parent, live=False)
        self._apply_colour = apply
        self._before = ""
        self.dialog: QColorDialog | None = None
        self.patch = _Patch(theme, self)
        self.patch.setAccessibleName(f"Choose the {name.lower()}")
        self.patch.setToolTip(f"Choose the {name.lower()}")
        self.patch.clicked.connect(self.open_dialog)
        self.add_before(self.patch)
        self.setFocusProxy(self.patch)
        self.setTabOrder(self.patch, self.edit)
        self.keep_narrow(_DIGITS)

    def show_text(self, text: str, *, anew: bool = False) -> None:
        super().show_text(text, anew=anew)
        self.patch.show_colour(QColor(text))

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.patch.setEnabled(not reason)
        if reason:
            self.patch.setToolTip(reason)

    def open_dialog(self) -> None:
        """Open the colour dialog; the card follows what is chosen in it."""
        if self.dialog is not None:
            self.dialog.raise_()
            return
        self._before = self.held
        dialog = QColorDialog(QColor(self.held), self)
        dialog.setWindowTitle(self.patch.accessibleName())
        dialog.currentColorChanged.connect(self._on_coloured)
        dialog.finished.connect(self._on_finished)
        self.dialog = dialog
        dialog.open()

    def _apply_text(self, text: str) -> str:
        digits = text.strip().lower()
        return self._apply_colour(digits if digits.startswith("#") else f"#{digits}")

    def _on_coloured(self, colour: QColor) -> None:
        self._apply_colour(colour.name())

    def _on_finished(self, result: int) -> None:
        if self.dialog is None:
            return
        self.dialog.deleteLater()
        self.dialog = None
        if result == QColorDialog.DialogCode.Rejected:
            self._apply_colour(self._before)
        self.left.emit()


class _Patch(QPushButton):
    """A button that shows a colour."""

    _SIDE_PX = 28

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._colour = QColor()
        self.setFixedSize(QSize(self._SIDE_PX + 8, self._SIDE_PX))
        theme.changed.connect(self.update)

    def show_colour(self, colour: QColor) -> None:
        """Show a colour."""
        self._colour = colour
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        focus = self.hasFocus()
        painter.setPen(QPen(self._theme.colour("pencil" if focus else "outline"), 2 if focus else 1))
        painter.setBrush(self._colour)
        painter.drawRoundedRect(frame, 3, 3)
