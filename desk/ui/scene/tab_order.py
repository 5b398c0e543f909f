"""Keeps the Tab key going down the page, where widgets come and go."""

import itertools
from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLayout, QWidget


def tab_down(first: QWidget, page: QWidget) -> None:
    """Let the Tab key go from a widget through all controls of a page, in the order of its layouts.

    Qt puts a widget that is made later at the end, wherever it stands on the page.
    """
    wanted = [control for control in _controls(page) if control is not first]
    if wanted == _following(first, page):
        return
    before = first
    for control in wanted:
        QWidget.setTabOrder(before, control)
        before = control


def tab_within(page: QWidget) -> None:
    """Let the Tab key go through the controls of a page in the order of its layouts.

    For what moved within the page; where the page itself comes in the window stays as it is.
    """
    for before, control in itertools.pairwise(_controls(page)):
        QWidget.setTabOrder(before, control)


def _controls(page: QWidget) -> Iterator[QWidget]:
    if page.focusPolicy() is not Qt.FocusPolicy.NoFocus:
        # What stands in a control, such as the field of a spin box, is its own affair.
        yield page
    elif (layout := page.layout()) is not None:
        yield from _in_layout(layout)
    else:
        for child in page.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly):
            # A dialog that a control owns stands in a window of its own.
            if not child.isWindow():
                yield from _controls(child)


def _in_layout(layout: QLayout) -> Iterator[QWidget]:
    for at in range(layout.count()):
        item = layout.itemAt(at)
        if item is None:
            continue
        if (widget := item.widget()) is not None:
            yield from _controls(widget)
        elif (inner := item.layout()) is not None:
            yield from _in_layout(inner)


def _following(first: QWidget, page: QWidget) -> list[QWidget]:
    """Return the controls of a page that follow a widget now, until one of another page does."""
    found: list[QWidget] = []
    widget = first.nextInFocusChain()
    # The chain is a ring: from within the page it leads back to where it began.
    while widget is not None and widget is not first and (page is widget or page.isAncestorOf(widget)):
        parent = widget.parentWidget()
        inside_control = (
            parent is not None and parent is not page and parent.focusPolicy() is not Qt.FocusPolicy.NoFocus
        )
        if widget.focusPolicy() is not Qt.FocusPolicy.NoFocus and not inside_control:
            found.append(widget)
        widget = widget.nextInFocusChain()
    return found
