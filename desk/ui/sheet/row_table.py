"""A table of names with its buttons: rows are added, removed, moved, copied and pasted."""

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from desk.ui.labels import note, say
from desk.ui.look.theme import Theme
from desk.ui.sheet.page import row_of
from desk.ui.sheet.row_view import RowView, Wish
from desk.ui.sheet.rows import BLANK, Row, Rows, moved, read_rows, with_rows, without_rows, written
from desk.ui.sheet.rows_model import RowsModel

ApplyRows = Callable[[Rows], str]
"""Takes the rows as a person wants them; returns why they are refused, as a sentence, or ""."""

_KEYS = "Enter types in a row and goes on to the next; lines that are pasted become rows."
_KEY_OF = {
    Wish.ADD: "Insert",
    Wish.ADD_HEADING: "Alt+Insert",
    Wish.REMOVE: "Delete",
    Wish.UP: "Alt+↑",
    Wish.DOWN: "Alt+↓",
}


class RowTable(QWidget):
    """Rows of two cells.

    What is typed in a cell is taken as it is typed. What the film refuses stays in the table, with the reason
    below it, until the film changes.

    Signals:
        settled: What was done is done: the end of a gesture.
    """

    settled = Signal()

    def __init__(
        self,
        name: str,
        heads: tuple[str, str],
        apply: ApplyRows,
        theme: Theme,
        parent: QWidget,
        *,
        noun: str,
        has_headings: bool,
    ) -> None:
        """Make a table.

        Args:
            name: What it is called, for those who can't see it.
            heads: What the cells of a row are.
            apply: Takes the rows as the person wants them.
            theme: Colours in use.
            parent: Who owns it.
            noun: What a row is: `a row`, `a person`.
            has_headings: Whether there are headings among the rows, and blank rows are kept. Else a row is
                only kept in the film once something stands in it.
        """
        super().__init__(parent)
        self._apply = apply
        self._has_headings = has_headings
        self._held: Rows = ()
        self._is_trying = False
        self._is_adding = False
        self._reason = ""
        self.model = RowsModel(heads, theme, self, quiet=0 if has_headings else 1)
        self.model.typed.connect(self._try)
        self.view = RowView(self.model, self)
        self.view.setAccessibleName(name)
        self.view.setAccessibleDescription(_KEYS)
        self.view.wished.connect(self._on_wished)
        self.view.cells.returned.connect(self._on_returned)
        self.view.cells.pasted.connect(self.paste)
        self.view.cells.ended.connect(self._on_ended)
        self.fault = note("fault", self)
        self.buttons: dict[Wish, QPushButton] = {}
        wishes = [(Wish.ADD, f"Add {noun}")]
        if has_headings:
            wishes.append((Wish.ADD_HEADING, "Add a heading"))
        wishes += [(Wish.REMOVE, "Remove"), (Wish.UP, "Up"), (Wish.DOWN, "Down")]
        keys = note("small", self)
        say(keys, _KEYS)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addWidget(self.view)
        page.addWidget(self.fault)
        page.addLayout(row_of(*(self._button(wish, text, name) for wish, text in wishes), spacing_px=4))
        page.addWidget(keys)
        self.setFocusProxy(self.view)

    @property
    def rows(self) -> Rows:
        """The rows as they are shown."""
        return self.model.rows

    def show_rows(self, rows: Rows, *, anew: bool = False) -> None:
        """Show what the film holds.

        Args:
            rows: What it holds; the same as before leaves alone what was typed and refused.
            anew: Whether it is another thing of the film, so that nothing typed is kept.
        """
        if not anew and (self._is_trying or rows == self._held):
            self._held = rows
            return
        self._held = rows
        say(self.fault, "")
        self.model.put(rows)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back."""
        self._reason = reason
        self.model.set_read_only(reason)
        for button in self.buttons.values():
            button.setEnabled(not reason)
            if reason:
                button.setToolTip(reason)

    def add(self, row: Row = BLANK) -> None:
        """Add a row below the chosen one and type in it."""
        rows = self.rows
        if self._has_headings and not rows and not row.is_heading:
            rows = (Row(is_heading=True),)
        first, count = self.view.chosen()
        at = min(first + count, len(rows)) if count else len(rows)
        self.settled.emit()
        self._is_adding = True
        self._take(with_rows(rows, at, (row,)))
        at = min(at, len(self.rows) - 1)
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)
        self.view.type_in(at)
        self._is_adding = False

    def put_in(self, new: Rows) -> None:
        """Put rows in below the chosen ones."""
        if not new:
            return
        first, count = self.view.chosen()
        at = first + count if count else len(self.rows)
        self._do(with_rows(self.rows, at, new), at, len(new))

    def remove(self) -> None:
        """Remove the chosen rows."""
        first, count = self.view.chosen()
        if count:
            self._do(without_rows(self.rows, range(first, first + count)), first, 1)

    def shift(self, by: int) -> None:
        """Move the chosen rows up or down."""
        first, count = self.view.chosen()
        if count:
            rows, to = moved(self.rows, first, count, by)
            if rows != self.rows:
                self._do(rows, to, count)

    def copy(self) -> None:
        """Put the chosen rows on the clipboard, as table programs read them."""
        first, count = self.view.chosen()
        if count:
            QGuiApplication.clipboard().setText(written(self.rows[first : first + count]))

    def paste(self) -> None:
        """Make rows of the lines on the clipboard."""
        text = QGuiApplication.clipboard().text()
        new = read_rows(text, alone_is_second=self._has_headings)
        self.put_in(new if self._has_headings else tuple(row for row in new if not row.is_heading))

    def _button(self, wish: Wish, text: str, name: str) -> QPushButton:
        button = QPushButton(text, self)
        button.setAccessibleName(f"{name}: {text}")
        button.setProperty("wish", wish)
        button.setToolTip(f"{text} ({_KEY_OF[wish]})")
        button.clicked.connect(self._on_clicked)
        self.buttons[wish] = button
        return button

    def _on_clicked(self) -> None:
        button = self.sender()
        if isinstance(button, QPushButton):
            self._on_wished(button.property("wish"))

    def _on_wished(self, wish: Wish) -> None:
        if wish is Wish.COPY:
            self.copy()
        if self._reason or wish is Wish.COPY:
            return
        match wish:
            case Wish.ADD:
                self.add()
            case Wish.ADD_HEADING:
                self.add(Row(is_heading=True))
            case Wish.REMOVE:
                self.remove()
            case Wish.UP:
                self.shift(-1)
            case Wish.DOWN:
                self.shift(1)
            case Wish.CUT:
                self.copy()
                self.remove()
            case Wish.PASTE:
                self.paste()

    def _do(self, rows: Rows, at: int, count: int) -> None:
        """Take rows as a step of its own, and choose some of them."""
        self.settled.emit()
        self._take(rows)
        self._settle()
        if self.rows:
            first = min(at, len(self.rows) - 1)
            self.view.choose(first, min(count, len(self.rows) - first))

    def _take(self, rows: Rows) -> None:
        self.model.put(rows)
        self._try(rows)

    def _try(self, rows: Rows) -> None:
        self._is_trying = True
        try:
            refused = self._apply(rows)
        finally:
            self._is_trying = False
        say(self.fault, refused)

    def _settle(self) -> None:
        """Show the rows as the film has them, and end the gesture."""
        is_pending = not self._has_headings and any(row.is_blank for row in self.rows)
        if not (self.fault.text() or is_pending):
            self.model.put(self._held)
        self.settled.emit()

    def _on_ended(self) -> None:
        if not self._is_adding:
            self._settle()

    def _on_returned(self) -> None:
        """Go on typing: in the next cell, or in a new row after the last."""
        index = self.view.currentIndex()
        at = index.row()
        if not index.isValid() or at >= len(self.rows):
            return
        row = self.rows[at]
        if not row.is_heading and index.column() == 0:
            self.view.type_in(at, 1)
        elif at + 1 < len(self.rows):
            self.view.type_in(at + 1, 0)
        elif row.is_heading or not row.is_blank:
            self.add()
