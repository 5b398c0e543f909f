"""Plays a course: each picture at its time, sound and picture in step."""

import functools
import math
import time
from collections.abc import Callable, Generator

import numpy as np
from PySide6.QtCore import QObject, Qt, QTimer, Signal

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.reading import Samples
from desk.ui.viewer.clock import Clock, MachineClock, Now, SoundClock
from desk.ui.viewer.course import Course
from desk.ui.viewer.decoding import Decoding
from desk.ui.viewer.live_levels import LiveLevels
from desk.ui.viewer.pictures import Run
from desk.ui.viewer.sound_feed import SoundFeed
from desk.ui.viewer.sound_output import SoundOutput, open_output
from desk.ui.viewer.subject import Subject

MakeOutput = Callable[[QObject | None], SoundOutput | None]

FIRST_VOLUME = 0.5
"""Moderate: a quarter of full scale. Sudden loud sound can hurt, and levels are not known beforehand."""

_PATIENCE_SECONDS = 1.0
"""So long the first picture and the first sound are waited for; then it begins without."""

_STILL_SECONDS = 2.0
"""A device that has played nothing for so long is gone."""

_FIRST_READY = 4
"""So many pictures are ready when it begins, so that it does not begin with a stumble."""

_LEAST_MS = 1
_SOUND_MS = 20
"""Sound is given so often."""

_TAIL_SAMPLES = SAMPLE_RATE_HZ // 2
"""Silence after the end, so that the end itself is heard before the device runs dry."""


class Playing(QObject):
    """Plays one course at a time.

    Without a sound device, or when it goes away, the machine's clock sets the pace; the sound is read all the
    same, for the meters. A picture that is not ready while it is on is never shown afterwards: it counts as
    dropped.

    Signals:
        showed: A `Picture` is on now.
        reached: Another frame is on now, whether its picture was ready or not.
        ended: The course is at its end.

    Attributes:
        dropped: How many pictures were not shown since `begin`.
        shown: How many were.
    """

    showed = Signal(object)
    reached = Signal(int)
    ended = Signal()

    def __init__(
        self,
        decoding: Decoding,
        parent: QObject | None = None,
        *,
        make_output: MakeOutput = open_output,
        now: Now = time.monotonic,
    ) -> None:
        super().__init__(parent)
        self._decoding = decoding
        self._make_output = make_output
        self._now = now
        self._feed = SoundFeed()
        self._output: SoundOutput | None = None
        self._was_sought = False
        self._volume = FIRST_VOLUME
        self._is_muted = False
        self._run: Run | None = None
        self._clock: Clock | None = None
        self._levels: LiveLevels | None = None
        self._taken_samples = self._heard_samples = 0
        self._tail_left = 0
        self._shown_step = -1
        self._seen_step = -1
        self._deadline = 0.0
        self.dropped = 0
        self.shown = 0
        self._timer = QTimer(self, singleShot=True, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._on_time)
        decoding.ahead.connect(self._on_ahead)
        self.destroyed.connect(self._feed.close)

    @property
    def is_on(self) -> bool:
        """Whether something is played."""
        return self._run is not None

    @property
    def has_sound(self) -> bool:
        """Whether there is a sound device, as far as is known."""
        return self._output is not None or not self._was_sought

    @property
    def volume(self) -> float:
        """How loud, from 0 to 1, as it is heard: half of it is a quarter of full scale."""
        return self._volume

    @property
    def is_muted(self) -> bool:
        """Whether nothing is heard."""
        return self._is_muted

    @property
    def heard_samples(self) -> int:
        """How many samples had gone by when it was last looked what is due; the clock is not asked again."""
        return self._heard_samples

    @property
    def heard_seconds(self) -> float:
        """How much has gone by since it began, by the clock that sets the pace."""
        return self._clock.samples() / SAMPLE_RATE_HZ if self._clock else 0.0

    @property
    def levels(self) -> LiveLevels | None:
        """How loud what is played is, or was last, before the volume; None when nothing was played yet."""
        return self._levels

    def set_volume(self, volume: float) -> None:
        """Play louder or softer.

        Args:
            volume: From 0 to 1.
        """
        self._volume = min(1.0, max(0.0, volume))
        self._set_gain()

    def set_muted(self, is_muted: bool) -> None:
        """Let nothing be heard, or let it be heard again."""
        self._is_muted = is_muted
        self._set_gain()

    def begin(self, subject: Subject, course: Course, width_px: int, height_px: int) -> None:
        """Play a course from its start, instead of what is played now.

        Args:
            subject: What is shown.
            course: Its frames in order.
            width_px: Pixels across of each picture.
            height_px: Lines.
        """
        self.dropped = self.shown = 0
        self.go_on(subject, course, width_px, height_px)

    def go_on(self, subject: Subject, course: Course, width_px: int, height_px: int) -> None:
        """Play another course instead, and go on counting; see `begin`."""
        self._silence()
        self._run = Run(subject=subject, course=course, width_px=width_px, height_px=height_px)
        self._shown_step = self._seen_step = -1
        self._deadline = self._now() + _PATIENCE_SECONDS
        self._decoding.play(self._run)
        self._is_output_open()
        self._levels = LiveLevels()
        self._taken_samples = self._heard_samples = 0
        self._feed.start(functools.partial(_sound, subject, course, self._levels))
        self._timer.start(_LEAST_MS)

    def resize(self, width_px: int, height_px: int) -> None:
        """Show pictures of another size from now on."""
        if self._run is not None:
            self._run.width_px, self._run.height_px = width_px, height_px

    def stop(self) -> None:
        """Play nothing."""
        self._timer.stop()
        self._silence()
        self._run = None
        self._decoding.play(None)

    def close(self) -> None:
        """Stop, end the threads and let the sound device go."""
        self.stop()
        self._feed.close()
        if self._output is not None:
            self._output.close()
            self._output = None

    def _silence(self) -> None:
        self._clock = None
        self._feed.stop()
        if self._output is not None:
            self._output.stop()

    # -- sound

    def _is_output_open(self) -> bool:
        if self._output is not None and self._output.is_outdated:
            self._output.close()
            self._output = None
        if self._output is None:
            self._was_sought = True
            self._output = self._make_output(self)
            self._set_gain()
        return self._output is not None

    def _set_gain(self) -> None:
        if self._output is not None:
            self._output.set_gain(0.0 if self._is_muted else self._volume**2)

    def _give_sound(self) -> None:
        output = self._output
        if output is None:
            # Nobody hears it, but the meters go on.
            passed = self.heard_samples - self._taken_samples
            self._taken_samples += len(self._feed.take(max(0, passed)))
            return
        # Asked once: a device that plays on meanwhile always has room for a little more.
        room = output.room_samples()
        samples = self._feed.take(room)
        self._taken_samples += len(samples)
        if len(samples):
            output.give(samples)
            room -= len(samples)
        if room > 0 and self._tail_left > 0 and self._feed.is_over:
            tail = min(room, self._tail_left)
            output.give(np.zeros((tail, 2), np.float32))
            self._tail_left -= tail

    def _is_still(self) -> bool:
        """Return whether the device takes nothing any more; some say nothing of it when they are gone."""
        return isinstance(self._clock, SoundClock) and self._clock.still_seconds > _STILL_SECONDS

    def _lose_output(self) -> None:
        """Go on by the machine's clock; the next time it plays, a device is looked for again."""
        if self._output is not None:
            self._output.close()
        self._output = None
        if self._clock is not None:
            self._clock = MachineClock(self._clock.samples(), self._now)

    # -- pictures

    def _on_ahead(self) -> None:
        if self._run is not None and (self._clock is None or self._seen_step != self._shown_step):
            self._on_time()

    def _on_time(self) -> None:
        if self._run is None:
            return
        if self._clock is None and not self._is_begun():
            self._timer.start(_SOUND_MS)
            return
        if self._output is not None and (self._output.is_lost or self._is_still()):
            self._lose_output()
        self._give_sound()
        self._show_due()

    def _is_begun(self) -> bool:
        """Start the clock when picture and sound are ready, and return whether it runs."""
        assert self._run is not None
        first = min(_FIRST_READY, self._run.ahead, self._run.course.steps or _FIRST_READY)
        is_ready = self._decoding.is_ready(first - 1) and (self._output is None or self._feed.is_ready)
        if not is_ready and self._now() < self._deadline:
            return False
        if self._output is not None:
            self._tail_left = _TAIL_SAMPLES
            self._output.start()
            self._set_gain()
        if self._output is None or self._output.is_lost:
            self._lose_output()
            self._clock = MachineClock(0, self._now)
        else:
            self._give_sound()
            self._clock = SoundClock(self._output, self._now)
        return True

    def _show_due(self) -> None:
        run, clock = self._run, self._clock
        assert run is not None
        assert clock is not None
        course = run.course
        sample = self._heard_samples = clock.samples()
        step = course.step(sample)
        if course.steps is not None and step >= course.steps:
            self.dropped += course.steps - 1 - self._shown_step
            self.stop()
            self.reached.emit(course.frame(course.steps - 1))
            self.ended.emit()
            return
        if step > self._shown_step and (picture := self._decoding.take(step)) is not None:
            self.dropped += step - self._shown_step - 1
            self.shown += 1
            self._shown_step = step
            self.showed.emit(picture)
        is_next = step != self._seen_step
        self._seen_step = step
        left_ms = math.ceil((course.sample(step + 1) - sample) * 1000 / SAMPLE_RATE_HZ)
        self._timer.start(max(_LEAST_MS, left_ms if self._output is None else min(left_ms, _SOUND_MS)))
        if is_next:
            self.reached.emit(course.frame(step))


def _sound(subject: Subject, course: Course, levels: LiveLevels) -> Generator[Samples]:
    return levels.through(course.sound(subject.track, subject.files, subject.media))
