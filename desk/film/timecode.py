"""Timecode labels and frame counts.

Rules of SMPTE ST 12-1:2014, read in FFmpeg's libavutil/timecode.c and OpenTimelineIO's opentime: with
N the nominal count, non-drop is ((h·60 + m)·60 + s)·N + f. Drop-frame exists at 30000/1001 (d = 2 labels)
and 60000/1001 (d = 4): the first d labels of every minute that is not a tenth one do not exist, so
n = non-drop(n) − d·(minutes − minutes // 10). Labels are left out, never pictures.
"""

import re

from desk.errors import TimecodeError
from desk.film.rates import Rate

_LABEL = re.compile(r"(\d{2}):(\d{2}):(\d{2})([:;.])(\d{2})", re.ASCII)
_DROPPED_LABELS = {Rate(30000, 1001): 2, Rate(60000, 1001): 4}


def has_drop_frame(rate: Rate) -> bool:
    """Return whether a drop-frame count exists at this rate."""
    return rate in _DROPPED_LABELS


def frames_per_day(rate: Rate, *, drop_frame: bool = False) -> int:
    """Return how many labels 24 hours have.

    Raises:
        TimecodeError: for drop-frame at a rate that has none.
    """
    return 24 * 6 * _frames_per_ten_minutes(rate, drop_frame)


def parse_label(label: str, rate: Rate) -> tuple[int, bool]:
    """Return the frame count of a label and whether it is a drop-frame label (`;` or `.` before the frames).

    Args:
        label: `hh:mm:ss:ff`, or `hh:mm:ss;ff` for drop-frame.
        rate: The rate it counts at.

    Raises:
        TimecodeError: when the label is malformed or names a frame that does not exist at this rate.
    """
    match = _LABEL.fullmatch(label)
    if not match:
        raise TimecodeError(
            f"“{label}” is not a timecode.", advice="Write it as hh:mm:ss:ff, or hh:mm:ss;ff for drop-frame."
        )
    hours, minutes, seconds, frames = (int(match[group]) for group in (1, 2, 3, 5))
    drop_frame = match[4] in ";."
    if drop_frame and not has_drop_frame(rate):
        raise TimecodeError(
            f"Timecode “{label}” is drop-frame, which does not exist at {rate} frames a second.",
            advice="Write a colon before the frames.",
        )
    limits = (("hours", hours, 23), ("minutes", minutes, 59), ("seconds", seconds, 59))
    for name, value, most in (*limits, ("frames", frames, rate.nominal - 1)):
        if value > most:
            raise TimecodeError(
                f"Timecode “{label}” has {value} {name}; at {rate} frames a second the most is {most}.",
                advice="Correct the label.",
            )
    total_minutes = hours * 60 + minutes
    count = (total_minutes * 60 + seconds) * rate.nominal + frames
    if not drop_frame:
        return count, False
    dropped = _DROPPED_LABELS[rate]
    if seconds == 0 and minutes % 10 and frames < dropped:
        raise TimecodeError(
            f"Timecode “{label}” does not exist: drop-frame leaves out frames 00 to {dropped - 1:02} there.",
            advice=f"The next label is {label[:-2]}{dropped:02}.",
        )
    return count - dropped * (total_minutes - total_minutes // 10), True


def format_label(frames: int, rate: Rate, *, drop_frame: bool = False) -> str:
    """Return the label of a frame count; it wraps after 24 hours.

    Args:
        frames: The count, 0 or more.
        rate: The rate it counts at.
        drop_frame: Whether to leave out labels; written with `;`.

    Raises:
        TimecodeError: for a negative count, or drop-frame at a rate that has none.
    """
    if frames < 0:
        raise TimecodeError(f"There is no timecode before 00:00:00:00 (frame {frames}).")
    ten_minutes = _frames_per_ten_minutes(rate, drop_frame)
    frames %= 24 * 6 * ten_minutes
    if drop_frame:
        dropped = _DROPPED_LABELS[rate]
        per_minute = 60 * rate.nominal - dropped
        tens, rest = divmod(frames, ten_minutes)
        # The first minute of ten keeps all its labels.
        frames += dropped * 9 * tens + dropped * max(0, (rest - dropped) // per_minute)
    seconds, frame = divmod(frames, rate.nominal)
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    return f"{hour:02}:{minute:02}:{second:02}{';' if drop_frame else ':'}{frame:02}"


def format_length(frames: int, rate: Rate) -> str:
    """Return a length as a person reads it, as m:ss:ff: `1:02:05`, `−0:10:00`; counted non-drop."""
    sign = "−" if frames < 0 else ""
    seconds, frame = divmod(abs(frames), rate.nominal)
    minutes, second = divmod(seconds, 60)
    return f"{sign}{minutes}:{second:02}:{frame:02}"


def _frames_per_ten_minutes(rate: Rate, drop_frame: bool) -> int:
    whole = 600 * rate.nominal
    if not drop_frame:
        return whole
    if not has_drop_frame(rate):
        raise TimecodeError(
            f"Drop-frame timecode does not exist at {rate} frames a second.", advice="Use a non-drop count."
        )
    return whole - 9 * _DROPPED_LABELS[rate]
