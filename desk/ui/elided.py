"""Words that are cut with an ellipsis where there is no room, and are told in full in the tool tip."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QRadioButton, QSizePolicy, QStyle, QWidget

from desk.ui.labels import set_kind

_LEAST_PX = 48
_MARK_PX = 26
"""What a radio button's mark takes with the space after it."""


class ElidedLabel(QLabel):
    """One line of text. Its whole text is its accessible name."""

    def __init__(
        self,
        text: str = "",
        parent: QWidget | None = None,
        *,
        mode: Qt.TextElideMode = Qt.TextElideMode.ElideRight,
    ) -> None:
        super().__init__(text, parent)
        self._mode = mode
        self._more = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._tell()

    def say(self, text: str, *, kind: str | None = None, more: str = "") -> None:
        """Show a text.

        Args:
            text: The text.
            kind: Its role in the window's style; None for the one it has.
            more: What the tool tip says beyond it, or "".
        """
        self._more = more
        if kind is not None:
            set_kind(self, kind)
        if self.text() != text:
            self.setText(text)
            self.setAccessibleName(text)
        self._tell()

    def _is_cut(self) -> bool:
        return self.fontMetrics().horizontalAdvance(self.text()) > self.contentsRect().width()

    def _tell(self) -> None:
        parts = [self.text() if self._is_cut() else "", self._more]
        self.setToolTip("\n".join(part for part in parts if part))

    def minimumSizeHint(self) -> QSize:
        hint = super().sizeHint()
        return QSize(min(_LEAST_PX, hint.width()), hint.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._tell()

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._is_cut():
            super().paintEvent(event)
            return
        painter = QPainter(self)
        painter.setFont(self.font())
        painter.setPen(self.palette().color(self.foregroundRole()))
        room = self.contentsRect()
        text = self.fontMetrics().elidedText(self.text(), self._mode, room.width())
        painter.drawText(room, int(self.alignment()) | Qt.TextFlag.TextSingleLine, text)


class ElidedRadio(QRadioButton):
    """A choice whose words are cut where there is no room. Its whole text is its accessible name."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._full = text
        self.setAccessibleName(text)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._fit()

    @property
    def full_text(self) -> str:
        """What it says in full."""
        return self._full

    def set_full_text(self, text: str) -> None:
        """Say something else; the accessible name is for who calls it to change."""
        if text != self._full:
            self._full = text
            self.updateGeometry()
            self._fit()

    def _room_px(self) -> int:
        indicator = self.style().pixelMetric(QStyle.PixelMetric.PM_ExclusiveIndicatorWidth, None, self)
        return self.width() - max(_MARK_PX, indicator + 14)

    def _fit(self) -> None:
        # Qt would take a lone “&” for the sign of a key.
        shown = self.fontMetrics().elidedText(
            self._full, Qt.TextElideMode.ElideRight, max(0, self._room_px())
        )
        self.setToolTip(self._full if shown != self._full else "")
        text = shown.replace("&", "&&")
        if text != self.text():
            self.setText(text)

    def sizeHint(self) -> QSize:
        width = self.fontMetrics().horizontalAdvance(self._full) + _MARK_PX + 14
        return QSize(width, max(24, super().sizeHint().height()))

    def minimumSizeHint(self) -> QSize:
        return QSize(_LEAST_PX + _MARK_PX, self.sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()
