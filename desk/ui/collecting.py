"""Where and when Python looks for cycles of objects that nobody uses any more: in the window's thread.

By itself Python looks in whichever thread happens to make an object too many, and destroys what it finds. But
objects of Qt must not be destroyed outside the thread that they belong to, so in the window's process the
collector is off, and a timer of the window does its work.
"""

import gc
from collections.abc import Callable
from typing import Self

from PySide6.QtCore import QObject, QTimer

INTERVAL_MS = 50
"""How often it is looked whether a collection is due; a young generation grows by little meanwhile."""

_YOUNG, _MIDDLE, _ALL = 0, 1, 2


class Collecting(QObject):
    """Collects in the thread in which it was made, from `with` on to its end.

    What is there for long is set aside (frozen), so that collecting all does not go through it: at the start
    what was imported, and with `set_aside` what came with a film. Collecting all waits while the person drags
    or something plays; the young generations are short and go on.
    """

    def __init__(
        self,
        is_busy: Callable[[], bool],
        parent: QObject | None = None,
        *,
        interval_ms: int = INTERVAL_MS,
    ) -> None:
        """Be ready to collect.

        Args:
            is_busy: Says whether something is under way that must not stand still for a moment.
            parent: Who owns it.
            interval_ms: How often it is looked whether a collection is due.
        """
        super().__init__(parent)
        self._is_busy = is_busy
        self._sets_aside = False
        self._was_on = False
        self._timer = QTimer(self, interval=interval_ms)
        self._timer.timeout.connect(self._on_time)

    def __enter__(self) -> Self:
        self._was_on = gc.isenabled()
        gc.disable()
        gc.freeze()
        self._timer.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._timer.stop()
        gc.unfreeze()
        if self._was_on:
            gc.enable()

    def set_aside(self) -> None:
        """At the next quiet moment collect all, and leave what is there then alone from now on."""
        self._sets_aside = True

    def take_back(self) -> None:
        """Look at what was set aside again, as much of it is to go; then set aside what stays."""
        gc.unfreeze()
        self._sets_aside = True

    def _on_time(self) -> None:
        due = _due()
        if due == _ALL or self._sets_aside:
            if not self._is_busy():
                self._collect_all()
                return
            due = min(due, _MIDDLE)
        if due >= _YOUNG:
            gc.collect(due)

    def _collect_all(self) -> None:
        gc.collect(_ALL)
        if self._sets_aside:
            self._sets_aside = False
            gc.freeze()


def _due() -> int:
    """Return the oldest generation that has grown beyond its threshold, or -1."""
    for generation in (_ALL, _MIDDLE, _YOUNG):
        if gc.get_count()[generation] > gc.get_threshold()[generation]:
            return generation
    return -1
