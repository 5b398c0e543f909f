"""When the frames of a file are shown, exactly, for film frames are chosen by it.

The times come from an MP4's own tables or an MXF's even ones where the file has them, so that 100 GB are not
read through; in other containers every packet's head is read. The first frames are decoded and compared with
those times; a file whose packets are not its frames is decoded as a whole.
"""

import bisect
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.packet import Packet
from av.stream import Stream
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from desk.errors import MediaError
from desk.footage.reading import frame_time, open_media, packets_of, picture_stream, unreadable
from desk.footage.structure import composition_offsets

HEAD_FRAMES = 8
"""How many frames are decoded to learn what the picture is, and to check the times."""

_MOST_HEAD_PACKETS = 1000
_PACKETS_PER_CHECK = 256

FRAME_PER_PACKET = frozenset(
    {
        *("h264", "hevc", "vvc", "av1", "vp9", "mpeg4", "mpeg2video", "mpeg1video", "h263", "vc1"),
        *("prores", "dnxhd", "cfhd", "dvvideo", "mjpeg", "jpeg2000", "hap", "qtrle", "png"),
        *("rawvideo", "v210", "ffv1", "huffyuv", "ffvhuff", "utvideo", "magicyuv"),
        *("msmpeg4v2", "msmpeg4v3", "wmv1", "wmv2", "wmv3"),
    }
)
"""Codecs in which each packet gives one frame that is shown. VP8, for one, has hidden frames of their own."""


@dataclass(frozen=True, slots=True)
class PacketTimes:
    """When a packet's frame is shown and decoded, in ticks, and whether an edit list leaves it out."""

    pts: int | None
    dts: int | None
    duration: int
    discarded: bool


@dataclass(frozen=True, slots=True)
class Head:
    """The first frames of a file.

    Attributes:
        first: The first frame that can be decoded.
        times: When those decoded are shown.
        packets: The packets that they came from.
    """

    first: VideoFrame
    times: tuple[int | None, ...]
    packets: tuple[PacketTimes, ...]


@dataclass(frozen=True, slots=True)
class Timing:
    """When all frames of a file are shown.

    Attributes:
        times: Ticks, sorted; one or more.
        last_duration: How long the last one is, in ticks; 0 where nothing tells.
    """

    times: tuple[int, ...]
    last_duration: int


@dataclass(frozen=True, slots=True)
class Scan:
    """All packets of a file.

    Attributes:
        packets: The picture's.
        sound_seconds: From the start of the first packet of sound to the end of the last; 0 without sound.
    """

    packets: tuple[PacketTimes, ...]
    sound_seconds: Fraction


def no_decoder(path: Path, stream: VideoStream | None) -> MediaError:
    """Return the sentence for a picture that can't be decoded."""
    context = stream.codec_context if stream is not None else None
    coding = f"“{context.codec.canonical_name}”" if context else "an unknown coding"
    return MediaError(
        f"The picture of “{path}” is in {coding}, and none of it can be decoded here.",
        advice="Convert it with the camera maker's program to ProRes, DNxHR or H.264 and use that file.",
        code="media.no-decoder",
        path=path,
    )


def require_stream(container: InputContainer, path: Path) -> VideoStream:
    """Return the picture of a file that had one when it was read before.

    Raises:
        MediaError: `media.changed`.
    """
    stream = picture_stream(container)
    if stream is None:
        raise MediaError(
            f"“{path}” has changed: it has no picture any more.",
            advice="Put back the file that was there.",
            code="media.changed",
            path=path,
        )
    return stream


def decode(stream: VideoStream, packet: "Packet[Stream] | None") -> list[VideoFrame]:
    """Return the frames that come out of the decoder for a packet; None for those that it still holds.

    A packet that can't be decoded gives none, as in ffmpeg: the next one may be right.
    """
    try:
        return stream.decode(packet)
    except (av.FFmpegError, NotImplementedError):
        return []


def decode_head(path: Path) -> Head | None:
    """Return the first frames; None where the picture has no packet at all.

    Raises:
        MediaError: `media.no-decoder` where there are packets but no frame comes out.
    """
    frames: list[VideoFrame] = []
    packets: list[PacketTimes] = []
    with open_media(path) as container:
        stream = require_stream(container, path)
        for packet in packets_of(container, stream):
            packets.append(_times_of(packet))
            frames += decode(stream, packet)
            if len(frames) >= HEAD_FRAMES or len(packets) >= _MOST_HEAD_PACKETS:
                break
        else:
            frames += decode(stream, None)
        if frames:
            return Head(frames[0], tuple(frame_time(frame) for frame in frames), tuple(packets))
        if packets:
            raise no_decoder(path, stream)
    return None


def timing_of_tables(path: Path, head: Head) -> Timing | None:
    """Return the times that a file's own tables tell; None where they can't be told without reading it.

    Raises:
        MediaError: when the file can't be read any more.
    """
    with open_media(path) as container:
        stream = require_stream(container, path)
        kind = container.format.name.split(",")[0]
        if kind == "mov":
            return _mov_timing(path, container, stream, head)
        if kind == "mxf":
            return _mxf_timing(container, stream, head)
    return None


def scan(path: Path, check: Callable[[], None]) -> Scan:
    """Return all packets, reading the file from its beginning to its end.

    Raises:
        MediaError: when the file can't be read any more.
    """
    packets: list[PacketTimes] = []
    with open_media(path) as container:
        picture, sound = picture_stream(container), next(iter(container.streams.audio), None)
        streams = [stream for stream in (picture, sound) if stream is not None]
        start = end = None
        for packet in _checked(packets_of(container, *streams), check):
            if picture is not None and packet.stream_index == picture.index:
                if not packet.is_discard and not packet.is_corrupt:
                    packets.append(_times_of(packet))
            elif packet.pts is not None:
                start = packet.pts if start is None else min(start, packet.pts)
                end = max(end or start, packet.pts + (packet.duration or 0))
        return Scan(tuple(packets), _span_seconds(sound, start, end))


def timing_of_packets(packets: tuple[PacketTimes, ...], head: Head) -> Timing | None:
    """Return the times from all packets; None where packets and decoded frames don't agree."""
    start = head.times[0]
    if not packets or start is None:
        return None
    if all(packet.pts is not None for packet in packets):
        timed = sorted((packet.pts, packet.duration) for packet in packets if packet.pts is not None)
    elif all(packet.dts is not None for packet in packets):
        # Such as AVI: ffmpeg counts the frames from the decoding time at which the first one comes out.
        timed = sorted((packet.dts, packet.duration) for packet in packets if packet.dts is not None)
        timed = [(time - timed[0][0] + start, duration) for time, duration in timed]
    else:
        return None
    # Frames before the first that can be decoded are not shown, as in a file that starts within a group.
    timed = timed[bisect.bisect_left(timed, (start, -1)) :]
    times = tuple(time for time, _ in timed)
    return Timing(times, timed[-1][1]) if _agrees(head, times) else None


def timing_by_decoding(path: Path, check: Callable[[], None]) -> Timing:
    """Return the times of all frames by decoding them: slow, and right where nothing else is.

    Raises:
        MediaError: `media.no-decoder`, or when the file can't be read any more.
    """
    times: list[int | None] = []
    duration = 0
    with open_media(path) as container:
        stream = require_stream(container, path)
        stream.thread_type = "AUTO"
        for packet in itertools.chain(packets_of(container, stream), [None]):
            check()
            frames = decode(stream, packet)
            times += [frame_time(frame) for frame in frames]
            duration = next((frame.duration for frame in reversed(frames) if frame.duration), duration)
        if not times:
            raise no_decoder(path, stream)
    return Timing(filled_times(times, duration), duration)


def filled_times(times: list[int | None], duration: int) -> tuple[int, ...]:
    """Return times sorted, with those that are missing counted on from the one before, as ffmpeg does.

    Args:
        times: In the order in which the frames came out.
        duration: Ticks of one frame, or 0.
    """
    filled: list[int] = []
    for time in times:
        step = duration or (filled[-1] - filled[-2] if len(filled) > 1 else 1)
        filled.append(time if time is not None else filled[-1] + step if filled else 0)
    return tuple(sorted(filled))


def _times_of(packet: "Packet[Stream]") -> PacketTimes:
    return PacketTimes(packet.pts, packet.dts, packet.duration or 0, packet.is_discard)


def _checked(packets: "Iterator[Packet[Stream]]", check: Callable[[], None]) -> "Iterator[Packet[Stream]]":
    for count, packet in enumerate(packets):
        if count % _PACKETS_PER_CHECK == 0:
            check()
        yield packet


def _span_seconds(sound: AudioStream | None, start: int | None, end: int | None) -> Fraction:
    if sound is None or sound.time_base is None or start is None or end is None:
        return Fraction(0)
    return (end - start) * sound.time_base


def _agrees(head: Head, times: tuple[int, ...]) -> bool:
    """Return whether the first frames decoded are the first of these times."""
    known = tuple(time for time in head.times if time is not None)
    return bool(known) and tuple(sorted(known)) == times[: len(known)]


def _mov_timing(path: Path, container: InputContainer, stream: VideoStream, head: Head) -> Timing | None:
    """Return the times from an MP4's tables; None where it has none, or other ones.

    The reader's index has the decoding times after the edit list; the file's own table has what is to be
    added for presentation. Both are checked against the packets at the file's head and tail.
    """
    entries = [(entry.timestamp, entry.is_discard, entry.is_keyframe) for entry in stream.index_entries]
    try:
        offsets = composition_offsets(path, stream.id, len(entries)) if entries else None
    except OSError as error:
        raise unreadable(path, error) from error
    first = head.packets[0].pts
    if offsets is None or first is None:
        return None
    decoding = np.fromiter((entry[0] for entry in entries), np.int64, len(entries))
    discarded = np.fromiter((entry[1] for entry in entries), np.bool_, len(entries))
    shown = decoding + offsets
    shown += first - shown[0]
    last_key = next((entry[0] for entry in reversed(entries) if entry[2]), entries[0][0])
    try:
        container.seek(last_key, stream=stream)
        tail = tuple(_times_of(packet) for packet in packets_of(container, stream))
    except av.FFmpegError:
        return None
    for packets, part in (
        (head.packets, slice(len(head.packets))),
        (tail, slice(len(entries) - len(tail), None)),
    ):
        table = list(zip(shown[part].tolist(), discarded[part].tolist(), strict=True))
        if not packets or [(packet.pts, packet.discarded) for packet in packets] != table:
            return None
    times = tuple(np.sort(shown[~discarded]).tolist())
    if not times or not _agrees(head, times):
        return None
    return Timing(times, next((packet.duration for packet in tail if packet.pts == times[-1]), 0))


def _mxf_timing(container: InputContainer, stream: VideoStream, head: Head) -> Timing | None:
    """Return the times of an MXF, whose clock ticks once a frame; None where its tail says otherwise."""
    start, length = head.times[0], stream.duration
    if start is None or not length or stream.time_base is None or stream.average_rate is None:
        return None
    if stream.time_base * stream.average_rate != 1:
        return None
    times = tuple(range(start, start + length))
    try:
        container.seek(times[-1], stream=stream)
        tail = sorted(packet.pts for packet in packets_of(container, stream) if packet.pts is not None)
    except av.FFmpegError:
        return None
    if not tail or tail != list(range(tail[0], times[-1] + 1)) or not _agrees(head, times):
        return None
    return Timing(times, 1)
