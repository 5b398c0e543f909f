"""Reads all that the program needs to know of a media file, without changing it."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.video.stream import VideoStream

from desk.errors import MediaError
from desk.files import sample_hash
from desk.film.media import MediaFacts, PictureFacts, SoundFacts
from desk.film.rates import Rate
from desk.footage.reading import open_media, picture_stream, require_file, truncated, unreadable
from desk.footage.spacing import find_rate
from desk.footage.structure import read_structure
from desk.footage.timing import (
    FRAME_PER_PACKET,
    Head,
    Scan,
    Timing,
    decode_head,
    no_decoder,
    require_stream,
    scan,
    timing_by_decoding,
    timing_of_packets,
    timing_of_tables,
)

_LONE_RATE = Rate(25)  # of a single frame in a file that states nothing
_SLOWEST = Fraction(1, 1_000_000)

_EXACT_LENGTH = frozenset({"mov,mp4,m4a,3gp,3g2,mj2", "mxf", "wav", "w64", "flac", "aiff", "caf"})
"""Containers whose stated length of sound is exact."""

# Code points of ISO/IEC 23091-2, which FFmpeg uses as they are, with FFmpeg's names. 2 is "not said".
_MATRICES = {
    0: "gbr",
    1: "bt709",
    4: "fcc",
    5: "bt470bg",
    6: "smpte170m",
    7: "smpte240m",
    8: "ycgco",
    9: "bt2020nc",
    10: "bt2020c",
    11: "smpte2085",
    12: "chroma-derived-nc",
    13: "chroma-derived-c",
    14: "ictcp",
}
_PRIMARIES = {
    1: "bt709",
    4: "bt470m",
    5: "bt470bg",
    6: "smpte170m",
    7: "smpte240m",
    8: "film",
    9: "bt2020",
    10: "smpte428",
    11: "smpte431",
    12: "smpte432",
    22: "ebu3213",
}
_TRANSFERS = {
    1: "bt709",
    4: "bt470m",
    5: "bt470bg",
    6: "smpte170m",
    7: "smpte240m",
    8: "linear",
    9: "log100",
    10: "log316",
    11: "iec61966-2-4",
    12: "bt1361e",
    13: "iec61966-2-1",
    14: "bt2020-10",
    15: "bt2020-12",
    16: "smpte2084",
    17: "smpte428",
    18: "arib-std-b67",
}
_FULL_RANGE = 2
_PROGRESSIVE = 1  # of FFmpeg's field orders; 0 is "not said", those above are orders of two fields

_LAYOUTS = {"1 channels": "mono", "2 channels": "stereo"}
"""FFmpeg's names where a file has channels but doesn't say which; it plays them as these."""

_LABEL = re.compile(r"\d{2}:\d{2}:\d{2}[:;.]\d{2}", re.ASCII)
_MAKE_KEYS = ("com.apple.quicktime.make", "com.android.manufacturer", "make", "manufacturer")
_MODEL_KEYS = ("com.apple.quicktime.model", "com.android.model", "model")
_MOST_NAME = 60


def probe(path: Path, *, check: Callable[[], None] | None = None) -> MediaFacts:
    """Return the facts of a media file.

    Does not promise that every frame can be decoded: damage in the middle shows when it is played.

    Args:
        path: The file, or a link to one.
        check: Called again and again while a long file is read; it stops the work by raising.

    Raises:
        MediaError: `media.missing`, `media.empty`, `media.unreadable`, `media.truncated`, `media.refused`,
            `media.still`, `media.no-picture` for a file with neither picture nor sound, or
            `media.no-decoder`.
    """
    check = check or _go_on
    status = require_file(path)
    try:
        fault = truncated(path, read_structure(path))
        if fault:
            raise fault
        digest = sample_hash(path)
    except OSError as error:
        raise unreadable(path, error) from error
    with open_media(path) as container:
        container_name = container.format.name
        picture_of_file = picture_stream(container)
        sound_of_file = next(iter(container.streams.audio), None)
        timecode = _timecode(container, picture_of_file)
        camera = _camera(container, picture_of_file)
        sound = _sound_facts(container_name, sound_of_file) if sound_of_file is not None else None
        if picture_of_file is not None and picture_of_file.codec_context is None:
            raise no_decoder(path, None)
    scanned = _LazyScan(path, check)
    picture = _picture_facts(path, scanned, check) if picture_of_file is not None else None
    if sound is not None and sound.seconds == 0:
        seconds = scanned.get().sound_seconds
        sound = replace(sound, seconds=seconds) if seconds else None
    if picture is None and sound is None:
        raise MediaError(
            f"“{path}” has neither picture nor sound.",
            advice="Leave it out of the footage.",
            code="media.no-picture",
            path=path,
        )
    return MediaFacts(
        size_bytes=status.st_size,
        sample_hash=digest,
        modified_ns=status.st_mtime_ns,
        container=container_name,
        picture=picture,
        sound=sound,
        timecode=timecode,
        camera=camera,
    )


def _go_on() -> None:
    pass


class _LazyScan:
    """Reads a file through at most once, and only when something can't be told without."""

    def __init__(self, path: Path, check: Callable[[], None]) -> None:
        self._path = path
        self._check = check
        self._scan: Scan | None = None

    def get(self) -> Scan:
        """Return all packets.

        Raises:
            MediaError: when the file can't be read any more.
        """
        if self._scan is None:
            self._scan = scan(self._path, self._check)
        return self._scan


def _picture_facts(path: Path, scanned: _LazyScan, check: Callable[[], None]) -> PictureFacts | None:
    head = decode_head(path)
    if head is None:
        return None
    with open_media(path) as container:
        stream = require_stream(container, path)
        time_base, codec = stream.time_base, stream.codec_context.codec.canonical_name
        pixel_aspect, field_order = stream.sample_aspect_ratio, stream.codec_context.field_order
        rates = (stream.codec_context.framerate, stream.guessed_rate, stream.average_rate, stream.base_rate)
    if time_base is None:
        raise no_decoder(path, None)
    stated = [rate for rate in rates if rate]
    timing = _timing(path, codec, head, scanned, check)
    frames = len(timing.times)
    constant = find_rate(timing.times, time_base, stated) if frames > 1 else _lone_rate(stated)
    if constant is not None:
        rate, seconds = constant, frames / constant
    else:
        seconds = _span_ticks(timing) * time_base
        rate = max(_SLOWEST, (frames / seconds).limit_denominator(1_000_000))
    frame = head.first
    return PictureFacts(
        width=frame.width,
        height=frame.height,
        pixel_aspect=Fraction(pixel_aspect) if pixel_aspect else Fraction(1),
        rotation_degrees=round(-frame.rotation / 90) * 90 % 360,
        rate=Rate.of(rate),
        variable=constant is None,
        frames=frames,
        seconds=seconds,
        start_pts=timing.times[0],
        time_base=time_base,
        codec=codec,
        # FFmpeg is giving up its old names for full range: `full_range` alone tells the levels.
        pixel_format=frame.format.name.replace("yuvj", "yuv"),
        bit_depth=max(component.bits for component in frame.format.components),
        full_range=int(frame.color_range) == _FULL_RANGE or frame.format.name.startswith("yuvj"),
        matrix=_MATRICES.get(int(frame.colorspace), ""),
        primaries=_PRIMARIES.get(int(frame.color_primaries), ""),
        transfer=_TRANSFERS.get(int(frame.color_trc), ""),
        interlaced=frame.interlaced_frame or field_order > _PROGRESSIVE,
    )


def _timing(path: Path, codec: str, head: Head, scanned: _LazyScan, check: Callable[[], None]) -> Timing:
    """Return when all frames are shown, in the quickest way that is right for this file."""
    timing = None
    if codec in FRAME_PER_PACKET:
        timing = timing_of_tables(path, head) or timing_of_packets(scanned.get().packets, head)
    return timing or timing_by_decoding(path, check)


def _lone_rate(stated: Sequence[Fraction]) -> Fraction:
    return stated[0] if stated else _LONE_RATE.fraction


def _span_ticks(timing: Timing) -> int:
    """Return the time from the first frame to the end of the last."""
    last = timing.last_duration
    if last <= 0 and len(timing.times) > 1:
        last = int(np.median(np.diff(timing.times)))
    return max(timing.times[-1] - timing.times[0] + last, 1)


def _sound_facts(container_name: str, stream: AudioStream) -> SoundFacts | None:
    """Return what the head of a file says of its sound; 0 seconds where the length has to be read."""
    context = stream.codec_context
    if context is None or not context.sample_rate:
        return None
    length = Fraction(0)
    if container_name in _EXACT_LENGTH and stream.duration and stream.time_base:
        length = max(length, stream.duration * stream.time_base)
    return SoundFacts(
        sample_rate_hz=context.sample_rate,
        channels=context.channels,
        layout=_LAYOUTS.get(context.layout.name, context.layout.name),
        seconds=length,
        codec=context.codec.canonical_name,
    )


def _tags(container: InputContainer, stream: VideoStream | None) -> list[Mapping[str, str]]:
    """Return the tags of the picture, of the file and of its other tracks, keys in lower case."""
    groups = [stream.metadata] if stream is not None else []
    groups += [container.metadata, *(other.metadata for other in container.streams.data)]
    return [{key.lower(): value for key, value in group.items()} for group in groups]


def _timecode(container: InputContainer, stream: VideoStream | None) -> str:
    for tags in _tags(container, stream):
        label = tags.get("timecode", "").strip()
        if _LABEL.fullmatch(label):
            return label
    return ""


def _camera(container: InputContainer, stream: VideoStream | None) -> str:
    """Return make and model. No other tag is read, so that no place or person gets into the film's file."""
    tags = _tags(container, stream)

    def first(keys: tuple[str, ...]) -> str:
        found = (group[key] for key in keys for group in tags if group.get(key, "").strip())
        text = next(found, "")
        return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())[:_MOST_NAME]

    make, model = first(_MAKE_KEYS), first(_MODEL_KEYS)
    return model if model.lower().startswith(make.lower()) else f"{make} {model}".strip()
