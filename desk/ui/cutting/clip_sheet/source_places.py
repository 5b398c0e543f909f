"""Places in a piece of footage as its sheet shows and takes them."""

import math
from dataclasses import dataclass
from fractions import Fraction

from desk.errors import TimecodeError
from desk.film.media import MediaFacts
from desk.film.model import Clip
from desk.film.problem import MediaTrouble
from desk.film.rates import Rate
from desk.film.timecode import format_label, parse_label
from desk.ui.figures import parse_length, parse_seconds, parse_steps

_MOST_RATE = 100
"""Rates from here on would need three digits for the frames of a label."""


@dataclass(frozen=True, slots=True)
class Way:
    """How the edge of a clip comes to a place in its footage.

    Attributes:
        frames: By how many film frames it moves.
        exact_seconds: The place, where no whole number of film frames leads to its label: the last of them
            goes a little too far. None where it leads there.
    """

    frames: int
    exact_seconds: Fraction | None = None


@dataclass(frozen=True, slots=True)
class SourceScale:
    """How places in a source are counted.

    Attributes:
        rate: The source's own rate, or None where nothing is known of it: then in seconds.
        start_frames: The label of its first picture, as a count; 0 where the file gives none.
        drop_frame: Whether its labels leave some out.
        has_timecode: Whether the file gives labels of its own.
    """

    rate: Rate | None = None
    start_frames: int = 0
    drop_frame: bool = False
    has_timecode: bool = False

    @classmethod
    def of(cls, known: MediaFacts | MediaTrouble | None) -> "SourceScale":
        """Return how places in a file are counted."""
        if not isinstance(known, MediaFacts) or known.picture is None:
            return cls()
        rate = known.picture.rate
        if rate.nominal > _MOST_RATE:
            return cls()
        if not known.timecode:
            return cls(rate)
        try:
            start, drop_frame = parse_label(known.timecode, rate)
        except TimecodeError:
            return cls(rate)
        return cls(rate, start, drop_frame, True)

    def text(self, seconds: Fraction) -> str:
        """Return a place as its label, or in seconds."""
        if self.rate is None or seconds < 0:
            return f"{float(seconds):.3f} s"
        frames = self.start_frames + math.floor(seconds * self.rate.fraction)
        return format_label(frames, self.rate, drop_frame=self.drop_frame)

    def way_to(self, text: str, clip: Clip, from_seconds: Fraction, rate: Rate) -> "Way":
        """Return how a clip's edge comes to a place that was typed.

        Args:
            text: A label of the source, `m:ss:ff` or a count of frames from its first picture, seconds, or a
                number of film frames with a sign, such as `+12`.
            clip: The clip.
            from_seconds: Where the edge is, in the source.
            rate: The film's rate.

        Raises:
            ValueError: with a sentence, when the text is none of these, or is before the first picture.
        """
        steps = parse_steps(text)
        if steps is not None:
            return Way(steps)
        seconds, is_label = self._seconds(text.strip())
        frames = (seconds - from_seconds) * rate.fraction / clip.speed
        if not is_label or self.rate is None:
            return Way(math.floor(frames + Fraction(1, 2)))
        whole = math.ceil(frames)
        there = from_seconds + rate.seconds(whole) * clip.speed
        is_shown = math.floor(there * self.rate.fraction) == seconds * self.rate.fraction
        return Way(whole, None if is_shown else seconds)

    def _seconds(self, text: str) -> tuple[Fraction, bool]:
        if self.rate is None or text.endswith("s"):
            return parse_seconds(text), False
        if text.count(":") + text.count(";") + text.count(".") == 3:
            try:
                count, _ = parse_label(text, self.rate)
            except TimecodeError as error:
                raise ValueError(str(error)) from error
            if count < self.start_frames:
                first = format_label(self.start_frames, self.rate, drop_frame=self.drop_frame)
                raise ValueError(f"Its footage begins at {first}, after {text}.")
            return self.rate.seconds(count - self.start_frames), True
        try:
            return self.rate.seconds(parse_length(text, self.rate)), True
        except ValueError as error:
            example = self.text(Fraction(0))
            raise ValueError(
                f"“{text}” is no place in its footage. Write a label such as {example}, seconds such as "
                f"2.5 s, or +12 for 12 frames later."
            ) from error
