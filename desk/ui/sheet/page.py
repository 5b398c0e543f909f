"""What the sheets of a card and of the film are laid out with."""

from collections.abc import Sequence

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from desk.film.wording import sentence
from desk.ui.fields import LineField
from desk.ui.labels import note
from desk.ui.look.marks import Mark, paint_fade, paint_mark
from desk.ui.look.theme import Theme
from desk.ui.look.type import HEADING_PX, LARGE_PX, SMALL_PX, sans

WIDE_PX = 900
"""A sheet at least this wide has two columns."""

GAP_PX = 8
MARGIN_PX = 12
_LABEL_PX = 116
_LABEL_DROP_PX = 3
"""What brings a label level with the line beside it, which has a frame."""


class Section(QFrame):
    """A part of a sheet, with a heading over it.

    Attributes:
        body: What stands under the heading, from the top down.
    """

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setProperty("kind", "part")
        self.setAccessibleName(title)
        heading = QLabel(title.upper(), self)
        heading.setProperty("kind", "heading")
        heading.setAccessibleName(title)
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(MARGIN_PX, MARGIN_PX, MARGIN_PX, MARGIN_PX)
        self.body.setSpacing(GAP_PX)
        self.body.addWidget(heading)

    def add_form(self) -> "Form":
        """Add fields with their names beside them."""
        form = Form()
        self.body.addLayout(form)
        return form

    def add_note(self, kind: str = "small", *, indented: bool = True) -> QLabel:
        """Add a label for sentences.

        Args:
            kind: Its role in the style.
            indented: Whether it stands below the fields, rather than at the left of the section.
        """
        label = note(kind, self)
        row = QHBoxLayout()
        row.setContentsMargins(_LABEL_PX + MARGIN_PX if indented else 0, 0, 0, 0)
        row.addWidget(label)
        self.body.addLayout(row)
        return label

    def add_button(self, text: str, row: QHBoxLayout | None = None, *, name: str = "") -> QPushButton:
        """Add a button.

        Args:
            text: What it does, as a verb.
            row: What it stands in; at the end of the section otherwise.
            name: What it is called for those who can't see where it stands, or "" for its text.
        """
        button = QPushButton(text, self)
        button.setAccessibleName(name or text)
        if row is None:
            self.body.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        else:
            row.addWidget(button)
        return button


class Form(QFormLayout):
    """Fields one under the other, with their names beside them."""

    def __init__(self) -> None:
        super().__init__()
        self.setContentsMargins(0, 0, 0, 0)
        self.setHorizontalSpacing(MARGIN_PX)
        self.setVerticalSpacing(GAP_PX)
        self.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        self.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)

    def add(self, name: str, field: QWidget) -> None:
        """Add a field."""
        label = QLabel(sentence(name))
        label.setProperty("kind", "dim")
        label.setMinimumWidth(_LABEL_PX)
        label.setContentsMargins(0, _LABEL_DROP_PX if isinstance(field, LineField) else 1, 0, 0)
        label.setBuddy(field.edit if isinstance(field, LineField) else field)
        self.addRow(label, field)


def row_of(*widgets: QWidget, spacing_px: int = GAP_PX) -> QHBoxLayout:
    """Return widgets in a row, at its left."""
    row = QHBoxLayout()
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(spacing_px)
    for widget in widgets:
        row.addWidget(widget)
    row.addStretch(1)
    return row


def boxed(*widgets: QWidget) -> QWidget:
    """Return widgets in a row, as one field of a form."""
    # Without a parent it would be a window of its own, and its widgets would come last for the Tab key.
    box = QWidget(widgets[0].parentWidget())
    box.setLayout(row_of(*widgets))
    return box


class ColumnPage(QWidget):
    """Sections one under the other, at the top of a page."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(GAP_PX)
        self._column.addStretch(1)
        self._sections: tuple[QWidget, ...] = ()

    def take(self, sections: Sequence[QWidget]) -> None:
        """Show these sections, and no others; those of another page are taken from there."""
        # Taking items out one by one would leave each widget with the sizes that its old item remembers.
        for section in self._sections:
            self._column.removeWidget(section)
        self._sections = tuple(sections)
        for at, section in enumerate(sections):
            self._column.insertWidget(at, section)


class ScrolledPage(QScrollArea):
    """A page that scrolls up and down."""

    def __init__(self, page: QWidget, name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(page)

    def minimumSizeHint(self) -> QSize:
        page = self.widget()
        inside = page.minimumSizeHint().width() if page is not None else 0
        return QSize(inside + self.verticalScrollBar().sizeHint().width(), 120)


class SheetHead(QWidget):
    """The line over a card's sheet: its mark, what it is called, its length and where it starts."""

    _HEIGHT_PX = 48
    _MARK_PX = 20

    def __init__(self, mark: Mark, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._mark = mark
        self._theme = theme
        self._name = self._length = self._place = ""
        self.setFixedHeight(self._HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def show_line(self, name: str, length: str, place: str) -> None:
        """Show what it is called, how long it is, and where it stands in the film."""
        self._name, self._length, self._place = name, length, place
        self.setAccessibleName(f"{self._mark.value.capitalize()} {name}, {length}, {place}")
        self.setToolTip(name)
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        colour = self._theme.colour
        painter = QPainter(self)
        mark = QRectF(MARGIN_PX, (self.height() - self._MARK_PX) / 2, self._MARK_PX, self._MARK_PX)
        paint_mark(painter, mark, self._mark, self._theme.palette)
        length_font, place_font, name_font = (
            sans(LARGE_PX, strong=True),
            sans(SMALL_PX),
            sans(HEADING_PX, strong=True),
        )
        right = self.width() - MARGIN_PX
        wide = max(_width(length_font, self._length), _width(place_font, self._place))
        left = round(mark.right()) + MARGIN_PX
        name = QRect(left, 0, max(0, right - wide - MARGIN_PX - left), self.height())
        flags = Qt.AlignmentFlag
        self._write(painter, name, self._name, name_font, flags.AlignLeft | flags.AlignVCenter)
        upper = QRect(right - wide, 4, wide, self.height() // 2 - 2)
        lower = QRect(right - wide, upper.bottom() + 1, wide, self.height() // 2 - 8)
        self._write(painter, upper, self._length, length_font, flags.AlignRight | flags.AlignVCenter)
        painter.setPen(colour("dim"))
        painter.setFont(place_font)
        painter.drawText(lower, flags.AlignRight | flags.AlignVCenter, self._place)

    def _write(self, painter: QPainter, box: QRect, text: str, font: QFont, where: Qt.AlignmentFlag) -> None:
        painter.setPen(self._theme.colour("ink"))
        painter.setFont(font)
        short = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, where, short)


class FadeMark(QWidget):
    """The wax pencil mark of a fade, beside its length."""

    def __init__(self, theme: Theme, parent: QWidget, *, up: bool) -> None:
        super().__init__(parent)
        self._theme = theme
        self._up = up
        self.setFixedSize(40, 16)
        theme.changed.connect(self.update)

    def paintEvent(self, _: QPaintEvent) -> None:
        box = QRectF(self.rect()).adjusted(2, 3, -2, -3)
        paint_fade(QPainter(self), box, self._theme.palette, up=self._up)


def _width(font: QFont, text: str) -> int:
    return QFontMetrics(font).horizontalAdvance(text) + 1
