"""Fields of the sheets: what is typed goes into the film, or is refused right below and stays as typed.

A field never overwrites what a person types with an echo of it: what the film made of it is shown when they
leave. Escape puts back what the film holds. Undoing in a field is undoing in the film, but for text that the
film does not have: that is undone in the field.
"""

from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from desk.errors import EditError
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.ui.figures import parse_length, parse_number
from desk.ui.labels import note, say
from desk.ui.session import MakeEdit, Session

Apply = Callable[[str], str]
"""Takes what was typed; returns why it is refused, as a sentence, or ""."""

_STEPS = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}


def attempt(session: Session, make: MakeEdit, *, merge: str = "") -> str:
    """Make an edit, and return why the film does not allow it, or "".

    Unlike `Session.do` it tells nobody else: the field says it where it was typed.

    Args:
        session: The open film.
        make: Gives the edit.
        merge: As in `Session.do`.
    """
    if session.read_only:
        return session.read_only
    try:
        edit = make(session.film)
    except EditError as error:
        return error.message if error.code == "edit.value" else str(error)
    session.apply(edit, merge=merge)
    return ""


class TypedField(QWidget):
    """What lines and texts have in common.

    Signals:
        left: The person is done with it: the end of a gesture.
    """

    left = Signal()

    def __init__(self, apply: Apply, parent: QWidget, *, live: bool = True) -> None:
        """Make a field.

        Args:
            apply: Takes what was typed.
            parent: Who owns it.
            live: Whether it is taken as it is typed, rather than when it is finished.
        """
        super().__init__(parent)
        self._apply = apply
        self._live = live
        self._held = ""
        self._tried: str | None = None
        self._trying = False
        self.fault = note("fault", self)

    @property
    def held(self) -> str:
        """What the film holds, as it is shown."""
        return self._held

    @property
    def is_pending(self) -> bool:
        """Whether it holds another text than the film."""
        return self._typed() != self._held

    def finish(self) -> str:
        """Take what was typed and not tried yet; returns why that is refused, or ""."""
        typed = self._typed()
        if not self._live and typed not in (self._held, self._tried):
            self._try(typed)
            return self.fault.text()
        return ""

    def tell(self, refused: str) -> None:
        """Say why something is refused that was not typed, or with "" that nothing is."""
        say(self.fault, refused)

    def show_text(self, text: str, *, anew: bool = False) -> None:
        """Show what the film holds.

        Args:
            text: What it holds; the same as before leaves alone what was typed and refused.
            anew: Whether it is another thing of the film, so that nothing typed is kept.
        """
        if not anew and (self._trying or text == self._held):
            self._held = text
            return
        self._held, self._tried = text, None
        say(self.fault, "")
        self._put(text)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be typed, and why; "" to take that back."""
        raise NotImplementedError

    def _typed(self) -> str:
        raise NotImplementedError

    def _put(self, text: str) -> None:
        raise NotImplementedError

    def _try(self, text: str) -> None:
        self._tried = text
        self._trying = True
        try:
            refused = self._apply(text)
        finally:
            self._trying = False
        say(self.fault, refused)

    def _on_edited(self) -> None:
        if self._live:
            self._try(self._typed())
        else:
            self._tried = None
            say(self.fault, "")

    def _on_left(self) -> None:
        self.finish()
        if not self.fault.text() and self.is_pending:
            self._put(self._held)
        self.left.emit()

    def _on_escaped(self) -> None:
        if self.is_pending:
            self.show_text(self._held, anew=True)


class LineField(TypedField):
    """One line of text."""

    def __init__(
        self, name: str, apply: Apply, parent: QWidget, *, live: bool = True, hint: str = "", unit: str = ""
    ) -> None:
        """Make a line.

        Args:
            name: What it is called, for those who can't see it.
            apply: Takes what was typed.
            parent: Who owns it.
            live: As in `TypedField`.
            hint: Shown while it is empty.
            unit: Said behind it.
        """
        super().__init__(apply, parent, live=live)
        self.edit = _LineEdit(self)
        self.edit.setAccessibleName(name)
        self.edit.setPlaceholderText(hint)
        self.edit.textEdited.connect(self._on_edited)
        self.edit.editingFinished.connect(self._on_left)
        self.edit.escaped.connect(self._on_escaped)
        self.edit.stepped.connect(self._on_stepped)
        self._is_narrow = False
        self._row = QHBoxLayout()
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(8)
        self._row.addWidget(self.edit, 1)
        if unit:
            label = QLabel(unit, self)
            label.setProperty("kind", "dim")
            self._row.addWidget(label)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addLayout(self._row)
        page.addWidget(self.fault)
        self.setFocusProxy(self.edit)

    def add_before(self, widget: QWidget) -> None:
        """Put something in front of the line."""
        self._row.insertWidget(0, widget)

    def add_beside(self, widget: QWidget) -> None:
        """Put something behind the line."""
        self._row.insertWidget(self._row.count() - self._is_narrow, widget)

    def keep_narrow(self, digits: int) -> None:
        """Make the line as wide as some digits need, instead of all the room there is."""
        self.edit.setFixedWidth(self.edit.fontMetrics().horizontalAdvance("0" * digits) + 24)
        self._row.addStretch(1)
        self._is_narrow = True

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be typed, and why; "" to take that back."""
        self.edit.setReadOnly(bool(reason))
        self.edit.setToolTip(reason)

    def _typed(self) -> str:
        return self.edit.text()

    def _put(self, text: str) -> None:
        at = min(self.edit.cursorPosition(), len(text)) if self.edit.hasFocus() else 0
        self.edit.setText(text)
        self.edit.setCursorPosition(at)

    def _on_stepped(self, by: int) -> None:
        """Take an arrow key; a plain line has no use for it."""


class NumberField(LineField):
    """A number; the arrow keys change it in steps."""

    def __init__(
        self,
        name: str,
        apply_number: Callable[[float], str],
        parent: QWidget,
        *,
        unit: str = "",
        step: float = 1,
        whole: bool = True,
    ) -> None:
        super().__init__(name, self._apply_text, parent, live=False, unit=unit)
        self._apply_number = apply_number
        self._step = step
        self._whole = whole
        self.keep_narrow(6)

    def show_number(self, value: float, *, anew: bool = False) -> None:
        """Show what the film holds."""
        self.show_text(f"{value:g}", anew=anew)

    def _apply_text(self, text: str) -> str:
        try:
            return self._apply_number(parse_number(text, whole=self._whole))
        except ValueError as error:
            return str(error)

    def _on_stepped(self, by: int) -> None:
        try:
            value = parse_number(self._typed(), whole=self._whole)
        except ValueError:
            return
        self._put(f"{value + by * self._step:g}")
        self._try(self._typed())


class LengthField(LineField):
    """A length, shown as m:ss:ff; the arrow keys change it by a frame."""

    def __init__(
        self, name: str, apply_frames: Callable[[int], str], parent: QWidget, *, may_be_none: bool = False
    ) -> None:
        """Make it.

        Args:
            name: What it is called, for those who can't see it.
            apply_frames: Takes a length in frames.
            parent: Who owns it.
            may_be_none: Whether an empty line is a length of 0.
        """
        super().__init__(name, self._apply_text, parent, live=False, hint="m:ss:ff" if may_be_none else "")
        self._apply_frames = apply_frames
        self._may_be_none = may_be_none
        self._rate = Rate(24)
        self.keep_narrow(9)

    def show_frames(self, frames: int, rate: Rate, *, anew: bool = False) -> None:
        """Show what the film holds."""
        self._rate = rate
        is_none = self._may_be_none and not frames
        self.show_text("" if is_none else format_length(frames, rate), anew=anew)

    def _apply_text(self, text: str) -> str:
        try:
            return self._apply_frames(self._read(text))
        except ValueError as error:
            return str(error)

    def _read(self, text: str) -> int:
        return 0 if self._may_be_none and not text.strip() else parse_length(text, self._rate)

    def _on_stepped(self, by: int) -> None:
        try:
            frames = self._read(self._typed()) + by
        except ValueError:
            return
        if frames >= 0:
            self._put(format_length(frames, self._rate))
            self._try(self._typed())


def undoes(event: QEvent) -> bool:
    """Return whether Qt asks if a field wants the key of undoing for itself."""
    keys = QKeySequence.StandardKey
    return (
        isinstance(event, QKeyEvent)
        and event.type() == QEvent.Type.ShortcutOverride
        and (event.matches(keys.Undo) or event.matches(keys.Redo))
    )


def _is_step(event: QEvent) -> bool:
    """Return whether Qt asks if a line wants an arrow key for itself."""
    return (
        isinstance(event, QKeyEvent)
        and event.type() == QEvent.Type.ShortcutOverride
        and event.key() in _STEPS
        and not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    )


def holds_more(edit: QWidget) -> bool:
    """Return whether the edit of a field holds another text than the film."""
    field = edit.parentWidget()
    return isinstance(field, TypedField) and field.is_pending


class _LineEdit(QLineEdit):
    """A line that leaves undoing to the film."""

    escaped = Signal()
    stepped = Signal(int)

    def event(self, event: QEvent) -> bool:
        if undoes(event) and not holds_more(self):
            event.ignore()
            return False
        if _is_step(event):
            # The arrow keys step here, whatever they do elsewhere in the window.
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and holds_more(self):
            self.escaped.emit()
        elif event.key() in _STEPS and not self.isReadOnly():
            self.stepped.emit(_STEPS[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)
