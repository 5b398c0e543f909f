"""Walks through a page with the Tab key, and says whether that goes as the page is read."""

from itertools import pairwise

from PySide6.QtCore import QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget


def tab_stops(page: QWidget) -> list[QWidget]:
    """Press Tab until it leaves a page or comes round; returns what had the keyboard, from the first on."""
    found: list[QWidget] = []
    page.focusWidget().setFocus()
    while (at := page.window().focusWidget()) not in found and page.isAncestorOf(at):
        found.append(at)
        QTest.keyClick(at, Qt.Key.Key_Tab)
    return found


def out_of_place(page: QWidget, stops: list[QWidget]) -> list[tuple[str, str]]:
    """Return the steps that go neither down a page nor to the right in a line, by accessible name."""
    places = [
        (stop.accessibleName(), QRect(stop.mapTo(page, stop.rect().topLeft()), stop.size())) for stop in stops
    ]
    return [
        (name, next_name)
        for (name, place), (next_name, next_place) in pairwise(places)
        if not (next_place.top() > place.bottom() or next_place.left() >= place.right())
    ]
