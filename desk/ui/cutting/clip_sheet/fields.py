"""Fields of the clip sheet: places in footage, lengths and offsets that also take steps, and speeds."""

from collections.abc import Callable
from fractions import Fraction

from PySide6.QtWidgets import QWidget

from desk.film.model import Clip
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.ui.cutting.clip_sheet.source_places import SourceScale, Way
from desk.ui.fields import LineField, NumberField
from desk.ui.figures import parse_length, parse_seconds, parse_speed, parse_steps
from desk.ui.sheet.picks import Picks

SEVERAL = "several"
"""What a field says of things that differ."""

_PLACE_DIGITS, _LENGTH_DIGITS, _SPEED_DIGITS, _SECONDS_DIGITS = 12, 10, 8, 11
_FEW_DIGITS = 4


class PlaceField(LineField):
    """A place in a clip's footage, such as its in point. The arrow keys move it by a film frame."""

    def __init__(self, name: str, move: Callable[[Way], str], parent: QWidget) -> None:
        """Make it.

        Args:
            name: What it is called, for those who can't see it.
            move: Moves it; returns why that is refused, or "".
            parent: Who owns it.
        """
        super().__init__(name, self._apply_text, parent, live=False)
        self._move = move
        self._clip: Clip | None = None
        self._seconds = Fraction(0)
        self._scale = SourceScale()
        self._rate = Rate(24)
        self.keep_narrow(_PLACE_DIGITS)

    def show_place(
        self, clip: Clip, seconds: Fraction, scale: SourceScale, rate: Rate, *, anew: bool = False
    ) -> None:
        """Show where it is.

        Args:
            clip: The clip.
            seconds: The place, in its source.
            scale: How places in the source are counted.
            rate: The film's rate.
            anew: As for `show_text`.
        """
        self._clip, self._seconds, self._scale, self._rate = clip, seconds, scale, rate
        self.show_text(scale.text(seconds), anew=anew)

    def _apply_text(self, text: str) -> str:
        if self._clip is None:
            return ""
        try:
            way = self._scale.way_to(text, self._clip, self._seconds, self._rate)
        except ValueError as error:
            return str(error)
        return self._move(way)

    def _on_stepped(self, by: int) -> None:
        if not self.is_pending:
            self.tell(self._move(Way(by)))


class FramesField(LineField):
    """A length or a place in the scene as m:ss:ff; `+12`, `-12` and the arrow keys step from where it is."""

    def __init__(
        self, name: str, apply_frames: Callable[[int], str], parent: QWidget, *, is_signed: bool = False
    ) -> None:
        """Make it.

        Args:
            name: What it is called, for those who can't see it.
            apply_frames: Takes it in frames.
            parent: Who owns it.
            is_signed: Whether it may be below 0.
        """
        super().__init__(name, self._apply_text, parent, live=False)
        self._apply_frames = apply_frames
        self._is_signed = is_signed
        self._frames = 0
        self._rate = Rate(24)
        self.keep_narrow(_LENGTH_DIGITS)

    def show_frames(self, frames: int, rate: Rate, *, anew: bool = False) -> None:
        """Show what the film holds."""
        self._frames, self._rate = frames, rate
        self.show_text(format_length(frames, rate), anew=anew)

    def _apply_text(self, text: str) -> str:
        try:
            return self._apply_frames(self._read(text.strip()))
        except ValueError as error:
            return str(error)

    def _read(self, text: str) -> int:
        steps = parse_steps(text)
        if steps is not None:
            return self._frames + steps
        if self._is_signed and text.startswith(("-", "−")):
            return -parse_length(text[1:], self._rate)
        return parse_length(text, self._rate)

    def _on_stepped(self, by: int) -> None:
        if not self.is_pending:
            self.tell(self._apply_frames(self._frames + by))


class SpeedField(LineField):
    """A speed, as a fraction."""

    def __init__(self, apply_speed: Callable[[Fraction], str], parent: QWidget) -> None:
        super().__init__("Speed", self._apply_text, parent, live=False)
        self._apply_speed = apply_speed
        self.keep_narrow(_SPEED_DIGITS)

    def _apply_text(self, text: str) -> str:
        try:
            return self._apply_speed(parse_speed(text))
        except ValueError as error:
            return str(error)


class SecondsField(LineField):
    """A place in a file, in seconds; `+1 f` and the arrow keys step by a film frame."""

    def __init__(self, name: str, apply_seconds: Callable[[Fraction], str], parent: QWidget) -> None:
        super().__init__(name, self._apply_text, parent, live=False)
        self._apply_seconds = apply_seconds
        self._seconds = Fraction(0)
        self._rate = Rate(24)
        self.keep_narrow(_SECONDS_DIGITS)

    def show_seconds(self, seconds: Fraction, rate: Rate, *, anew: bool = False) -> None:
        """Show what the film holds."""
        self._seconds, self._rate = seconds, rate
        self.show_text(seconds_text(seconds), anew=anew)

    def _apply_text(self, text: str) -> str:
        text = text.strip()
        steps = parse_steps(text) if "f" in text else None
        if steps is not None:
            return self._apply_seconds(self._seconds + self._rate.seconds(steps))
        try:
            return self._apply_seconds(parse_seconds(text))
        except ValueError as error:
            return str(error)

    def _on_stepped(self, by: int) -> None:
        if not self.is_pending:
            self.tell(self._apply_seconds(self._seconds + self._rate.seconds(by)))


class FewFramesField(NumberField):
    """A number of frames: a lead, a lag or a fade."""

    def __init__(self, name: str, apply_frames: Callable[[int], str], parent: QWidget) -> None:
        super().__init__(name, self._apply_whole, parent)
        self._apply_frames = apply_frames
        self.edit.setFixedWidth(self.edit.fontMetrics().horizontalAdvance("0" * _FEW_DIGITS) + 16)

    def _apply_whole(self, value: float) -> str:
        return self._apply_frames(int(value))


class SharedPicks(Picks):
    """A list that says where things differ."""

    OTHER = SEVERAL


def show_common(field: LineField, text: str | None, *, anew: bool) -> None:
    """Show what several things have in common, or that they differ.

    Args:
        field: The field.
        text: What they have in common, or None where they differ.
        anew: As for `TypedField.show_text`.
    """
    field.edit.setPlaceholderText(SEVERAL if text is None else "")
    field.show_text(text or "", anew=anew)


def seconds_text(seconds: Fraction) -> str:
    """Return a place in seconds, to a tenth of a millisecond."""
    text = f"{float(seconds):.4f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} s".replace("-", "−")
