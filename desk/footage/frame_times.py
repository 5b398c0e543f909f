"""When the frames of variable-rate footage are shown, near given places, without reading the whole file.

A frame stays on screen until the next one, so the frame at a place is the last that starts at or before it.
In constant-rate footage frame i starts at start_pts + i / rate, and none of this is needed.
"""

import bisect
import itertools
import math
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
from av.container import InputContainer
from av.packet import Packet
from av.stream import Stream
from av.video.stream import VideoStream

from desk.errors import MediaError
from desk.film.media import PictureFacts
from desk.footage.reading import frame_time, open_media, packets_of
from desk.footage.timing import FRAME_PER_PACKET, decode, filled_times, require_stream

_FIRST_STEP_SECONDS = 2
_STEP_GROWTH = 8
_DECODED_BEYOND = 4
"""Frames that a decoder may hold back: so many come out beyond the last that is needed."""


def shown_times(
    path: Path, facts: PictureFacts, start_seconds: Fraction, end_seconds: Fraction
) -> tuple[int, ...]:
    """Return when the frames of one stretch are shown: `shown_times_of` for one stretch.

    Raises:
        MediaError: as `shown_times_of`.
    """
    return shown_times_of(path, facts, [(start_seconds, end_seconds)])[0]


def shown_times_of(
    path: Path, facts: PictureFacts, stretches: Sequence[tuple[Fraction, Fraction]]
) -> tuple[tuple[int, ...], ...]:
    """Return, for each stretch, when its frames are shown, in ticks of `facts.time_base`, sorted.

    The first time is that of the frame on screen at the stretch's start, the last that of the first frame
    at or after its end. Before the file's first frame stands the first, after its last frame the last; so
    there is always one at least. Frames that an edit list leaves out are not among them.

    Args:
        path: The footage.
        facts: What is known of its picture.
        stretches: Start and end, in seconds from the first frame.

    Raises:
        MediaError: when the file can't be read any more, or has no picture.
    """
    found: list[tuple[int, ...]] = []
    with open_media(path) as container:
        stream = require_stream(container, path)
        for start_seconds, end_seconds in stretches:
            start = facts.start_pts + math.floor(start_seconds / facts.time_base)
            end = facts.start_pts + math.ceil(end_seconds / facts.time_base)
            start, end = max(start, facts.start_pts), max(end, start, facts.start_pts)
            times = _near(path, container, stream, facts, start, end)
            if not times:
                raise MediaError(
                    f"“{path}” has changed: its frames are not where they were.",
                    advice="Read the footage again.",
                    code="media.changed",
                    path=path,
                )
            first = max(0, bisect.bisect_right(times, start) - 1)
            last = bisect.bisect_left(times, end)
            found.append(tuple(times[first : last + 1]) or (times[-1],))
    return tuple(found)


def _near(
    path: Path, container: InputContainer, stream: VideoStream, facts: PictureFacts, start: int, end: int
) -> list[int]:
    """Return all times from one at or before `start` to one at or after `end`, or to the file's ends."""
    read = _packet_times if facts.codec in FRAME_PER_PACKET else _decoded_times
    back, step = 0, math.ceil(_FIRST_STEP_SECONDS / facts.time_base)
    while start - back >= facts.start_pts:
        try:
            container.seek(start - back, stream=stream)
        except av.FFmpegError:
            break
        times = read(container, stream, end)
        if times is None:
            read = _decoded_times
            continue
        # The place to which a container can seek may lie behind the frame that is wanted.
        if times and times[0] <= start:
            return [time for time in times if time >= facts.start_pts]
        back = back * _STEP_GROWTH or step
    # Some containers can't seek, or not to their first frame: read from the beginning.
    with open_media(path) as fresh:
        times = read(fresh, require_stream(fresh, path), end)
    if times is None:
        with open_media(path) as fresh:
            times = _decoded_times(fresh, require_stream(fresh, path), end)
    return [time for time in times if time >= facts.start_pts]


def _packet_times(container: InputContainer, stream: VideoStream, end: int) -> list[int] | None:
    """Return the times from the next key frame to beyond `end`; None where packets don't tell them.

    In stored order all that is shown after a key frame is stored after it; and no packet is shown before it
    is decoded, so that once decoding is past a frame, no earlier one can come.
    """
    times: list[int] = []
    beyond: int | None = None
    first: int | None = None
    for packet in packets_of(container, stream):
        if first is None and not packet.is_keyframe:
            continue
        if packet.pts is None or packet.dts is None:
            return None
        if first is None:
            first = packet.pts
        if beyond is not None and packet.dts > beyond:
            break
        if _counts(packet) and packet.pts >= first:
            times.append(packet.pts)
            if packet.pts >= end:
                beyond = packet.pts if beyond is None else min(beyond, packet.pts)
    return sorted(times)


def _counts(packet: "Packet[Stream]") -> bool:
    return not packet.is_discard and not packet.is_corrupt


def _decoded_times(container: InputContainer, stream: VideoStream, end: int) -> list[int]:
    """Return the times of the frames decoded from here to beyond `end`."""
    times: list[int | None] = []
    duration = past = 0
    for packet in itertools.chain(packets_of(container, stream), [None]):
        for frame in decode(stream, packet):
            time = frame_time(frame)
            times.append(time)
            duration = frame.duration or duration
            past += time is not None and time >= end
        if past > _DECODED_BEYOND:
            break
    return list(filled_times(times, duration))
