"""Lets one sound be heard by itself: a file as it is, or a stretch of music in parts."""

from collections.abc import Callable, Generator
from fractions import Fraction
from pathlib import Path

import numpy as np
from PySide6.QtCore import QObject, QTimer, Signal

from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.probe import probe
from desk.sound.reading import Samples, read_sound
from desk.ui.viewer.player import Player
from desk.ui.viewer.playing import FIRST_VOLUME, MakeOutput
from desk.ui.viewer.sound_feed import Blocks, SoundFeed
from desk.ui.viewer.sound_output import SoundOutput, open_output

MOST_SECONDS = 3600
"""So much of a file is heard at most."""

NO_DEVICE = "No sound device was found, so nothing can be heard."

_GIVE_MS = 20
_TAIL_SAMPLES = SAMPLE_RATE_HZ // 2


class Hearing(QObject):
    """Plays one sound at a time, as loud as the viewer plays. What the viewer plays stops for it.

    Signals:
        changed: Another sound is heard, or none: its name, or "".
        unheard: Why a sound can't be heard, as a sentence.
    """

    changed = Signal(str)
    unheard = Signal(str)

    def __init__(self, parent: QObject | None = None, *, make_output: MakeOutput = open_output) -> None:
        super().__init__(parent)
        self._make_output = make_output
        self._output: SoundOutput | None = None
        self._feed = SoundFeed()
        self._player: Player | None = None
        self._name = ""
        self._is_begun = False
        self._tail_left = 0
        self._timer = QTimer(self, interval=_GIVE_MS)
        self._timer.timeout.connect(self._give)
        self.destroyed.connect(self._feed.close)

    @property
    def name(self) -> str:
        """What is heard now, or ""."""
        return self._name

    def attach(self, player: Player) -> None:
        """Follow a player's volume, and stop when it plays."""
        self._player = player
        player.played.connect(self._on_played)
        player.adjusted.connect(self._set_gain)

    def toggle(self, name: str, blocks: Blocks) -> None:
        """Let a sound be heard from its start, or be silent where it is heard already.

        Args:
            name: What it is called, such as its path.
            blocks: Gives its samples; called in a thread.
        """
        if self._name == name:
            self.stop()
        else:
            self.start(name, blocks)

    def start(self, name: str, blocks: Blocks) -> None:
        """Let a sound be heard from its start, in place of another; see `toggle`."""
        self._be_silent()
        if self._player is not None:
            self._player.pause()
        if self._output is not None and (self._output.is_outdated or self._output.is_lost):
            self._output.close()
            self._output = None
        if self._output is None:
            self._output = self._make_output(self)
        if self._output is None:
            self._put_name("")
            self.unheard.emit(NO_DEVICE)
            return
        self._feed.start(blocks)
        self._tail_left = _TAIL_SAMPLES
        self._timer.start()
        self._put_name(name)

    def stop(self) -> None:
        """Be silent."""
        self._be_silent()
        self._put_name("")

    def close(self) -> None:
        """Be silent, end the thread, and let the device go."""
        self._be_silent()
        self._name = ""
        self._feed.close()
        if self._output is not None:
            self._output.close()
            self._output = None

    def _be_silent(self) -> None:
        self._timer.stop()
        self._feed.stop()
        self._is_begun = False
        if self._output is not None:
            self._output.stop()

    def _put_name(self, name: str) -> None:
        if name != self._name:
            self._name = name
            self.changed.emit(name)

    def _set_gain(self) -> None:
        if self._output is None:
            return
        playing = self._player.playing if self._player is not None else None
        volume = FIRST_VOLUME if playing is None else playing.volume
        is_muted = playing is not None and playing.is_muted
        self._output.set_gain(0.0 if is_muted else volume**2)

    def _on_played(self, plays: bool) -> None:
        if plays and self._name:
            self.stop()

    def _give(self) -> None:
        output = self._output
        assert output is not None
        if not self._is_begun:
            if not self._feed.is_ready:
                return
            self._is_begun = True
            output.start()
            self._set_gain()
        if output.is_lost:
            output.close()
            self._output = None
            self.stop()
            return
        room = output.room_samples()
        samples = self._feed.take(room)
        if len(samples):
            output.give(samples)
            room -= len(samples)
        if self._feed.is_over:
            if self._tail_left <= 0:
                self.stop()
            elif room > 0:
                tail = min(room, self._tail_left)
                output.give(np.zeros((tail, 2), np.float32))
                self._tail_left -= tail


def file_blocks(
    path: Path, facts: MediaFacts | None = None, in_seconds: Fraction = Fraction(0)
) -> Callable[[], Generator[Samples]]:
    """Return what gives the samples of a file as it is.

    Args:
        path: The file.
        facts: What was read of it; None to read it first.
        in_seconds: Where to begin.
    """

    def blocks() -> Generator[Samples]:
        known = facts or probe(path)
        if known.sound is None:
            return
        left = min(Fraction(MOST_SECONDS), known.sound.seconds - in_seconds)
        if left > 0:
            yield from read_sound(path, known, in_seconds=in_seconds, samples=int(left * SAMPLE_RATE_HZ))

    return blocks
