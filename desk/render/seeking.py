"""From where footage has to be read, so that a frame and all it refers to is decoded, and little else.

A jump in a file is not exact: some containers jump to a key frame whose earlier shown neighbours refer to the
group of pictures before it, and those without an index to a place between key frames. So the jump is tried
here, with the same library that ffmpeg jumps with, and the packets are looked at.
"""

import math
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from av.packet import Packet
from av.stream import Stream

from desk.film.media import PictureFacts
from desk.footage.reading import open_media, packets_of
from desk.footage.timing import require_stream

_FIRST_STEP_SECONDS = 1
_STEP_GROWTH = 4
_MOST_REORDERED = 17
"""Frames between decoding one and showing it: H.264 and HEVC hold back 16 at most."""


def jump_seconds(path: Path, facts: PictureFacts, key_seconds: Fraction) -> Fraction | None:
    """Return where to jump to before reading, in the file's own time, or None for its beginning.

    Args:
        path: The footage.
        facts: What is known of its picture.
        key_seconds: A key frame that is shown by this time has to be read.

    Raises:
        MediaError: when the file can't be read any more.
    """
    wanted = math.floor(key_seconds / facts.time_base)
    back, step = 0, math.ceil(_FIRST_STEP_SECONDS / facts.time_base)
    delay = math.ceil(_MOST_REORDERED / facts.rate.fraction / facts.time_base)
    with open_media(path, try_picture=False) as container:
        stream = require_stream(container, path)
        while wanted - back > facts.start_pts:
            container.seek(wanted - back, stream=stream)
            if _starts_with_key(packets_of(container, stream), wanted, delay):
                return (wanted - back) * facts.time_base
            back = back * _STEP_GROWTH or step
    return None


def _starts_with_key(packets: "Iterator[Packet[Stream]]", wanted: int, delay: int) -> bool:
    """Return whether the first key frame is shown by `wanted`."""
    for packet in packets:
        if packet.is_keyframe:
            shown = packet.pts
            if shown is None:
                shown = None if packet.dts is None else packet.dts + delay
            return shown is not None and shown <= wanted
        if packet.dts is not None and packet.dts > wanted:
            return False
    return False
