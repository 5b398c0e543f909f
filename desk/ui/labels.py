"""Labels that show words of the film as they are, never as rich text."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget


def label(text: str, parent: QWidget, *, kind: str = "", wraps: bool = False) -> QLabel:
    """Return a label.

    Args:
        text: What it says.
        parent: Who owns it.
        kind: Its role in the window's style, or "".
        wraps: Whether it takes several lines where one is too short.
    """
    made = QLabel(text, parent)
    made.setTextFormat(Qt.TextFormat.PlainText)
    made.setWordWrap(wraps)
    if kind:
        made.setProperty("kind", kind)
    return made


def heading(text: str, parent: QWidget) -> QLabel:
    """Return the heading of a group."""
    return label(text.upper(), parent, kind="heading")


def set_kind(widget: QWidget, kind: str) -> None:
    """Give a widget another role in the window's style."""
    if widget.property("kind") != kind:
        widget.setProperty("kind", kind)
        widget.style().unpolish(widget)
        widget.style().polish(widget)


def note(kind: str, parent: QWidget) -> QLabel:
    """Return a label for sentences, of a role of the style; hidden until it says something."""
    made = label("", parent, kind=kind, wraps=True)
    made.hide()
    return made


def say(shown: QLabel, text: str, kind: str = "") -> None:
    """Put a sentence in a label, or hide it where there is none."""
    shown.setText(text)
    shown.setVisible(bool(text))
    if kind:
        set_kind(shown, kind)
