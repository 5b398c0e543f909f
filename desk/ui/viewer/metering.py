"""What the meters show of what is played: it follows the ear, and stands while nothing is played."""

import time
from dataclasses import dataclass
from typing import Protocol

from PySide6.QtCore import QObject, QTimer, Signal

from desk.sound.loudness import decibels
from desk.ui.viewer.clock import Now
from desk.ui.viewer.live_levels import FULL_SCALE, LiveLevels

LEAST_DB = -60.0
"""The lowest that a meter shows."""

INTERVAL_MS = 40
"""25 times a second."""

FALL_DB_PER_SECOND = 20 / 1.7
"""How fast a peak falls: 20 dB in 1.7 s, as IEC 60268-10 has it for type I (from memory)."""

HOLD_SECONDS = 1.5
"""So long the line of the highest peak stands (common practice, no source)."""


class MeteredPlaying(Protocol):
    """What is played, as far as meters ask."""

    @property
    def levels(self) -> LiveLevels | None:
        """How loud the run is that is played, or was last; None before the first."""

    @property
    def heard_samples(self) -> int:
        """How many samples of it were heard."""


@dataclass(frozen=True, slots=True)
class Needle:
    """One channel of a peak meter.

    Attributes:
        level_db: What its bar shows.
        hold_db: What its line shows.
        held_seconds: How long the line has stood.
    """

    level_db: float = LEAST_DB
    hold_db: float = LEAST_DB
    held_seconds: float = 0.0

    def after(self, seconds: float, peak_db: float) -> "Needle":
        """Return where it stands after a while in which a peak was heard: up at once, down steadily."""
        level = max(LEAST_DB, peak_db, self.level_db - FALL_DB_PER_SECOND * seconds)
        if peak_db >= self.hold_db:
            return Needle(level, peak_db)
        held = self.held_seconds + seconds
        if held < HOLD_SECONDS:
            return Needle(level, self.hold_db, held)
        return Needle(level, max(level, self.hold_db - FALL_DB_PER_SECOND * seconds), held)


class Metering(QObject):
    """Reads how loud it is 25 times a second while it is played.

    Signals:
        changed: Something else is to be shown.
        told: The figures are other ones, or the mark of full scale; at most 5 times a second.

    Attributes:
        needles: The peak meter, left and right.
        momentary_lufs: Loudness of the last 400 ms, or None.
        short_term_lufs: Loudness of the last 3 s, or None.
        peak_dbfs: The highest sample since it began to play, or None.
        is_over: Whether full scale was reached since the mark was last cleared.
    """

    changed = Signal()
    told = Signal()

    def __init__(
        self, playing: MeteredPlaying, parent: QObject | None = None, *, now: Now = time.monotonic
    ) -> None:
        super().__init__(parent)
        self._playing = playing
        self._now = now
        self._levels: LiveLevels | None = None
        self._at = 0.0
        self._ticks = 0
        self.needles = (Needle(), Needle())
        self.momentary_lufs: float | None = None
        self.short_term_lufs: float | None = None
        self.peak_dbfs: float | None = None
        self.is_over = False
        self._timer = QTimer(self, interval=INTERVAL_MS)
        self._timer.timeout.connect(self.read)

    @property
    def is_on(self) -> bool:
        """Whether it reads."""
        return self._timer.isActive()

    def follow(self, is_playing: bool) -> None:
        """Read while it is played; otherwise stand at nothing, with the highest peak kept to be read."""
        if is_playing == self.is_on:
            return
        if is_playing:
            self._at, self._ticks, self.peak_dbfs = self._now(), 0, None
            self._timer.start()
        else:
            self.read()
            self._timer.stop()
            self.needles = (Needle(), Needle())
            self.momentary_lufs = self.short_term_lufs = None
        self.changed.emit()
        self.told.emit()

    def clear_over(self) -> None:
        """Take back the mark that full scale was reached."""
        self.is_over = False
        self.told.emit()

    def read(self) -> None:
        """Take what was heard since it was last read."""
        now = self._now()
        seconds, self._at = now - self._at, now
        levels = self._playing.levels
        if levels is None:
            return
        heard = levels.take(self._playing.heard_samples)
        peaks = [decibels(peak) for peak in heard.peaks] if heard.peaks else [None, None]
        self.needles = (
            self.needles[0].after(seconds, _shown(peaks[0])),
            self.needles[1].after(seconds, _shown(peaks[1])),
        )
        self.momentary_lufs, self.short_term_lufs = heard.momentary_lufs, heard.short_term_lufs
        was_over = self.is_over
        if heard.peaks:
            highest = max(heard.peaks)
            self.is_over = self.is_over or highest >= FULL_SCALE
            found = decibels(highest)
            if found is not None:
                self.peak_dbfs = found if self.peak_dbfs is None else max(self.peak_dbfs, found)
        self._ticks += 1
        self.changed.emit()
        if self._ticks % 5 == 0 or self.is_over != was_over:
            self.told.emit()


def _shown(decibels_found: float | None) -> float:
    return LEAST_DB if decibels_found is None else decibels_found
