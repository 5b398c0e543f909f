"""The frame of a file that is on screen at a place, by the same rule as in an assembly, quickly.

Frames of constant rate stand at i / rate, others at their own times; a frame stays until the next that can be
decoded, the last one for ever. Going on costs one frame; going elsewhere, all that the wanted one refers to
since its key frame. Frames that no other one needs are passed over on the way, and those decoded last are
kept around the place, so that going back by a few frames costs nothing.
"""

import bisect
import collections
import contextlib
import math
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

import av
from av.packet import Packet
from av.stream import Stream
from av.video.frame import VideoFrame

from desk.film.media import PictureFacts
from desk.footage.reading import frame_time, open_media, packets_of
from desk.footage.timing import FRAME_PER_PACKET, decode, no_decoder, require_stream

CACHE_BYTES = 384 << 20
"""What the frames around a place may take: 15 of 4K with 10 bits, 120 of HD."""

_MOST_THREADS = 8
_MOST_REORDERED = 17
"""Packets between decoding a frame and showing it: H.264 and HEVC hold back 16 at most."""

_KEPT_BEFORE = 4
"""Frames before the wanted one that are decoded even where no other one is said to need them."""

_FIRST_STEP_SECONDS = 1
_STEP_GROWTH = 4
_NEAR_SECONDS = Fraction(1)
"""So far it is quicker to read on than to jump in a file that has no index."""

_JUMP_FRAMES = 2
"""What a jump costs, in frames."""


@dataclass(slots=True)
class _Held:
    """A decoded frame, and from where to where it is known to be on screen."""

    start: int
    end: int
    frame: VideoFrame


class FrameReader:
    """Finds frames in a file. One thread uses it."""

    def __init__(
        self,
        path: Path,
        facts: PictureFacts,
        *,
        cache_bytes: int = CACHE_BYTES,
        most_decoded: int | None = None,
        check: Callable[[], None] | None = None,
    ) -> None:
        """Open a file.

        Args:
            path: The footage, or a stand-in with the same time stamps.
            facts: What is known of the footage's picture.
            cache_bytes: What the frames that are kept may take; one is kept at least.
            most_decoded: How many frames are decoded at most on the way to one; an earlier one is then
                returned. None: as many as it takes.
            check: Called for every packet; it stops the work by raising. The reader can be used again then.

        Raises:
            MediaError: when the file can't be read or its picture not be decoded.
        """
        self._path = path
        self._facts = facts
        self._cache_bytes = cache_bytes
        self._most_decoded = most_decoded
        self._check = check
        self._held: list[_Held] = []
        self._last: _Held | None = None
        self._frame_bytes = 0
        self._any = False
        self._left = most_decoded
        self._target = 0
        self._wanted = _KEPT_BEFORE
        self._step = Fraction(1) / facts.rate.fraction if not facts.variable else facts.time_base
        self._opened = contextlib.ExitStack()
        try:
            self._open()
        except BaseException:
            self._opened.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file and drop all frames."""
        self._held.clear()
        self._last = None
        self._waiting.clear()
        self._ready.clear()
        self._opened.close()

    def trim(self, cache_bytes: int) -> None:
        """Drop kept frames, those farthest from the last place first, until they take no more than this."""
        self._evict(cache_bytes)

    def frames_to(self, seconds: Fraction) -> int | None:
        """Return how many frames are decoded at most for a place, by going on; 0 for one that is kept.

        Nothing is read for it. None where what is wanted is not reached by going on.

        Args:
            seconds: The place, from the first frame.
        """
        target = self._position_of(seconds)
        if self._find(target) is not None:
            return 0
        if self._last is None or not self._is_near(target):
            return None
        away = (target - self._last.start) * self._step * self._facts.rate.fraction
        return max(1, math.ceil(away))

    def kept_before(self, seconds: Fraction) -> tuple[Fraction, VideoFrame] | None:
        """Return the kept frame nearest before a place or at it, and when it comes on; nothing is read.

        Args:
            seconds: The place, from the first frame.
        """
        target = self._position_of(seconds)
        index = bisect.bisect_right(self._held, target, key=lambda held: held.start) - 1
        if index < 0:
            return None
        return self._held[index].start * self._step, self._held[index].frame

    def frame_at(self, seconds: Fraction) -> VideoFrame | None:
        """Return the frame on screen at a place; None where nothing near it can be decoded.

        Before the first frame that is the first, after the last one the last.

        Args:
            seconds: The place, from the first frame.

        Raises:
            MediaError: when the file can't be read any more, or none of its frames can be decoded.
        """
        target = self._position_of(seconds)
        is_back = target < self._target and (self._target - target) * self._step <= _NEAR_SECONDS
        self._target = target
        found = self._find(target)
        if found is not None:
            return found.frame
        # Who goes on going back gets more and more of the frames before, for a step back is a whole way here.
        self._wanted = min(2 * self._wanted, self._capacity()) if is_back else _KEPT_BEFORE
        self._left = self._most_decoded
        if self._is_near(target):
            found = self._advance(target)
        if found is None:
            for _ in self._jumps(target):
                found = self._advance(target)
                if found is not None:
                    break
        if found is None:
            if not self._any:
                raise no_decoder(self._path, self._stream)
            return None
        return found.frame

    # -- places

    def _position_of(self, seconds: Fraction) -> int:
        """Return a place as a number of frames for constant rate, of ticks for variable rate."""
        seconds = min(max(seconds, Fraction(0)), self._facts.seconds)
        if self._facts.variable:
            return math.floor(seconds / self._facts.time_base)
        return min(math.floor(seconds * self._facts.rate.fraction), self._facts.frames - 1)

    def _position(self, time: int) -> int:
        """Return the place at which what has this time stamp comes on screen."""
        since = (time - self._start) * self._time_base
        return math.floor(since / self._step + Fraction(1, 2))

    def _ticks(self, position: int) -> int:
        return self._start + math.floor(position * self._step / self._time_base)

    # -- frames that are kept

    def _find(self, target: int) -> _Held | None:
        index = bisect.bisect_right(self._held, target, key=lambda held: held.start) - 1
        if index >= 0 and target < self._held[index].end:
            return self._held[index]
        return None

    def _keep(self, held: _Held) -> _Held:
        """Keep a frame, or return the one that is kept of the same place."""
        index = bisect.bisect_left(self._held, held.start, key=lambda other: other.start)
        if index < len(self._held) and self._held[index].start == held.start:
            return self._held[index]
        if not self._frame_bytes:
            self._frame_bytes = sum(plane.buffer_size for plane in held.frame.planes)
        self._held.insert(index, held)
        self._evict(self._cache_bytes)
        return held

    def _evict(self, cache_bytes: int) -> None:
        most = max(1, cache_bytes // self._frame_bytes) if self._frame_bytes else 1
        while len(self._held) > most:
            # Kept in order, so that one of the two ends is farthest away.
            is_first = self._target - self._held[0].start >= self._held[-1].start - self._target
            self._held.pop(0 if is_first else -1)

    def _capacity(self) -> int:
        if not self._frame_bytes:
            return _KEPT_BEFORE
        return max(_KEPT_BEFORE, self._cache_bytes // self._frame_bytes - 1)

    # -- where the file stands

    def _open(self) -> None:
        """Stand at the beginning of the file."""
        self._opened.close()
        self._container = self._opened.enter_context(open_media(self._path))
        self._stream = require_stream(self._container, self._path)
        if self._stream.codec_context is None or self._stream.time_base is None:
            raise no_decoder(self._path, None)
        self._stream.thread_type = "AUTO"
        self._stream.codec_context.thread_count = min(os.cpu_count() or 1, _MOST_THREADS)
        self._time_base = self._stream.time_base
        self._can_pass = self._stream.codec_context.codec.canonical_name in FRAME_PER_PACKET
        # A stand-in has the same times in ticks of its own.
        self._start = round(self._facts.start_pts * self._facts.time_base / self._time_base)
        self._stand()

    def _stand(self) -> None:
        """Begin to decode where the container stands."""
        self._packets = packets_of(self._container, self._stream)
        self._waiting: collections.deque[tuple[Packet[Stream], int | None]] = collections.deque()
        self._ready: collections.deque[VideoFrame] = collections.deque()
        self._is_read = self._is_over = False
        self._from_start = True
        self._key_position: int | None = None
        self._last = None
        self._last_time: int | None = None
        self._passed: list[int] = []
        self._aim = 0

    def _is_near(self, target: int) -> bool:
        """Return whether a place is reached soonest by going on."""
        if self._is_over:
            return self._last is not None and self._last.start <= target
        if self._last is None:
            return not self._any and self._from_start and target * self._step <= _NEAR_SECONDS
        here = self._last.start
        if target < here or (target < self._aim and self._is_gap(here, self._aim)):
            # What comes next is shown later, or what is wanted was passed over on a way that was broken off.
            return False
        entries = self._stream.index_entries
        found = entries.search_timestamp(self._ticks(target)) if len(entries) else -1
        if found < 0:
            return (target - here) * self._step <= _NEAR_SECONDS
        key = self._position(entries[found].timestamp)
        return (key - here) * self._step <= _JUMP_FRAMES / self._facts.rate.fraction

    def _jumps(self, target: int) -> Iterator[None]:
        """Stand at a key frame shown by a place, then at earlier ones, then at the beginning of the file."""
        wanted = self._ticks(target)
        back, step = 0, math.ceil(_FIRST_STEP_SECONDS / self._time_base)
        delay = math.ceil(_MOST_REORDERED / self._facts.rate.fraction / self._time_base)
        while wanted - back > self._start:
            try:
                self._container.seek(wanted - back, stream=self._stream)
            except av.FFmpegError:
                break
            self._stand()
            if self._stands_at_key(target, delay):
                yield
            back = back * _STEP_GROWTH or step
        self._open()
        yield

    def _stands_at_key(self, target: int, delay: int) -> bool:
        """Read up to the next key frame, and return whether it is shown by a place."""
        self._from_start = False
        wanted = self._ticks(target)
        for packet in self._packets:
            self._look()
            if packet.is_keyframe:
                self._wait(packet)
                if packet.pts is not None:
                    # What is shown before it and stored after it refers to what was not decoded.
                    self._key_position = self._position(packet.pts)
                    return self._key_position <= target
                return packet.dts is not None and packet.dts + delay <= wanted
            if packet.dts is not None and packet.dts > wanted:
                return False
        return False

    # -- decoding

    def _advance(self, target: int) -> _Held | None:
        """Decode up to a place, and return the frame there; None where none comes out before it."""
        while True:
            frame = self._next_frame(target)
            if frame is None:
                if self._last is not None:
                    self._last.end = max(self._last.end, target + 1)
                return self._last
            start = self._position(self._time(frame))
            if start < 0 or (self._key_position is not None and start < self._key_position):
                continue
            before = self._last
            if before is not None and before.start < start and not self._is_gap(before.start, start):
                before.end = start
            self._last = self._keep(_Held(start, start + 1, frame))
            if start == target or (start > target and before is None and self._from_start):
                return self._last
            if start > target:
                return before
            if self._left is not None and self._left <= 0:
                return self._last

    def _next_frame(self, target: int) -> VideoFrame | None:
        """Return the frame that the decoder brings next; None after the last one."""
        while not self._ready and not self._is_over:
            self._feed(target)
        if not self._ready:
            return None
        self._any = True
        if self._left is not None:
            self._left -= 1
        return self._ready.popleft()

    def _feed(self, target: int) -> None:
        """Give the decoder another packet, or at the end have it bring what it still holds."""
        self._look()
        if not self._waiting:
            self._read_on(1)
        if not self._waiting:
            self._is_over = True
            self._ready.extend(decode(self._stream, None))
            return
        packet, position = self._waiting.popleft()
        is_passed = position is not None and self._may_pass(position, target)
        if is_passed and position is not None:
            bisect.insort(self._passed, position)
            self._aim = max(self._aim, target)
        self._stream.codec_context.skip_frame = "NONREF" if is_passed else "DEFAULT"
        self._ready.extend(decode(self._stream, packet))

    def _may_pass(self, position: int, target: int) -> bool:
        """Return whether a frame is far enough before a place to be passed over if no other needs it.

        Those are decoded in any case: the one wanted, those that are kept before it, and what stands in
        where one of them is damaged.
        """
        if position >= target or not self._can_pass:
            return False
        if not self._facts.variable and position + self._wanted > target:
            return False
        self._read_on(self._wanted + _MOST_REORDERED)
        later = sum(
            other is not None and position < other <= target and not packet.is_discard
            for packet, other in self._waiting
        )
        return later >= self._wanted

    def _read_on(self, packets: int) -> None:
        """Read ahead until so many packets wait."""
        while len(self._waiting) < packets and not self._is_read:
            packet = next(self._packets, None)
            if packet is None:
                self._is_read = True
            else:
                self._wait(packet)

    def _wait(self, packet: "Packet[Stream]") -> None:
        self._waiting.append((packet, None if packet.pts is None else self._position(packet.pts)))

    def _is_gap(self, start: int, end: int) -> bool:
        """Return whether a frame was passed over between two that came out one after the other."""
        index = bisect.bisect_right(self._passed, start)
        return index < len(self._passed) and self._passed[index] < end

    def _time(self, frame: VideoFrame) -> int:
        """Return when a frame is shown; where nothing tells, one frame after the one before."""
        time = frame_time(frame)
        if time is None:
            step = 1 / self._facts.rate.fraction / self._time_base
            time = self._start if self._last_time is None else self._last_time + round(step)
        self._last_time = time
        return time

    def _look(self) -> None:
        if self._check is not None:
            self._check()
