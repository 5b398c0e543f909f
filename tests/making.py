"""Makes tiny footage whose frames carry their number in the picture, and reads the numbers back.

In the middle of each frame stands a white ring around 6 x 4 blocks, black for 0 and white for 1: 16 bits of
the number, then 8 bits of a checksum. The reader finds the ring, so the picture may have been scaled,
cropped (not into the ring), letterboxed, dimmed or overlaid with text elsewhere. A mix of two frames has
grey blocks and is read as -1. A frame that is not upright is read as -1 too. Numbers are taken modulo
65536.
"""

import subprocess
import tempfile
import wave
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
from numpy.typing import NDArray

from desk.film.rates import SAMPLE_RATE_HZ, Rate

Picture = NDArray[np.uint8]
Levels = NDArray[np.float64]

UNREADABLE = -1
RATE_25 = Rate(25)
BEEP_HZ = 2100
"""Not 2000: 16-bit sound that repeats every 192 bytes can be taken for a transport stream."""

BEEP_SECONDS = 0.03
COLUMNS, ROWS = 6, 4
_RING = 0.7  # of the frame, each way
_BORDER = 1 / 24  # thickness of the ring, and of the black gap inside it, in heights of the ring
_READ_WIDTH_PX = 640
_VARIABLE_TICKS_HZ = 90_000


def bundled_ffmpeg() -> str:
    """Return the FFmpeg that comes with the program."""
    return str(imageio_ffmpeg.get_ffmpeg_exe())


def system_ffmpeg() -> str | None:
    """Return the system's FFmpeg, where there is one."""
    found = Path("/usr/bin/ffmpeg")
    return str(found) if found.exists() else None


def run_ffmpeg(*arguments: str | Path, ffmpeg: str | None = None, data: bytes | None = None) -> bytes:
    """Run FFmpeg and return its output; its log is the error's text when it fails."""
    command = [
        ffmpeg or bundled_ffmpeg(),
        "-hide_banner",
        "-nostdin",
        "-y",
        "-v",
        "error",
        *map(str, arguments),
    ]
    done = subprocess.run(command, input=data, capture_output=True, check=False)
    if done.returncode:
        raise AssertionError(f"{command}\n{done.stderr.decode(errors='replace')}")
    return done.stdout


def number_bits(number: int) -> Levels:
    """Return the 24 blocks of a number, row by row: 0.0 for black, 1.0 for white."""
    number %= 1 << 16
    check = zlib.crc32(number.to_bytes(2, "big")) & 0xFF
    word = (number << 8) | check
    return np.array([(word >> (23 - place)) & 1 for place in range(24)], dtype=np.float64)


def _number_of(levels: Levels, tolerance: float) -> int:
    if np.any((levels > tolerance) & (levels < 1 - tolerance)):
        return UNREADABLE
    number = int("".join("1" if level > 0.5 else "0" for level in levels[:16]), 2)
    return number if np.array_equal(number_bits(number), levels > 0.5) else UNREADABLE


def numbered_luma(
    number: int, size: tuple[int, int], *, flash: bool = False, black: int = 16, white: int = 235
) -> Picture:
    """Return the luma of an upright frame with its number.

    Args:
        number: The number.
        size: Width and height.
        flash: Whether the surround is light grey instead of dark grey.
        black: Level of black.
        white: Level of white.
    """
    width, height = size
    span = white - black
    picture: Picture = np.full((height, width), black + span * (3 if flash else 1) // 5, dtype=np.uint8)
    ring_width, ring_height = round(width * _RING), round(height * _RING)
    left, top = (width - ring_width) // 2, (height - ring_height) // 2
    border = max(2, round(min(ring_width, ring_height) * _BORDER))
    inner = picture[top : top + ring_height, left : left + ring_width]
    inner[:] = white
    inner = inner[border:-border, border:-border]
    inner[:] = black
    inner = inner[border:-border, border:-border]
    bits = number_bits(number)
    rows, columns = _edges(inner.shape[0], ROWS), _edges(inner.shape[1], COLUMNS)
    for place, bit in enumerate(bits):
        row, column = divmod(place, COLUMNS)
        inner[rows[row] : rows[row + 1], columns[column] : columns[column + 1]] = white if bit else black
    return picture


def _edges(length: float, parts: int) -> list[int]:
    return [round(length * part / parts) for part in range(parts + 1)]


def beep_samples(numbers: Sequence[int], times: Sequence[Fraction], every: int, seconds: Fraction) -> bytes:
    """Return 48 kHz 16-bit mono sound: a beep starts with each frame whose number `every` divides."""
    total = round(seconds * SAMPLE_RATE_HZ)
    sound = np.zeros(total, dtype=np.int16)
    length = round(BEEP_SECONDS * SAMPLE_RATE_HZ)
    tone = (12_000 * np.cos(2 * np.pi * BEEP_HZ * np.arange(length) / SAMPLE_RATE_HZ)).astype(np.int16)
    for number, time in zip(numbers, times, strict=True):
        at = round(time * SAMPLE_RATE_HZ)
        if number % every == 0 and at < total:
            sound[at : at + length] = tone[: total - at]
    return sound.tobytes()


def make_numbered(
    path: Path,
    *,
    rate: Rate = RATE_25,
    frames: int,
    size: tuple[int, int] = (320, 180),
    start: int = 0,
    codec: str = "libx264",
    pixel_format: str = "yuv420p",
    variable_times: Sequence[Fraction] | None = None,
    start_seconds: Fraction = Fraction(0),
    full_range: bool = False,
    rotation: int = 0,
    pixel_aspect: Fraction = Fraction(1),
    sound: str | None = None,
    beep_every: int | None = None,
    sound_codec: str | None = None,
    gop: int = 12,
    bframes: int = 2,
    timecode: str = "",
    metadata: Mapping[str, str] | None = None,
    extra: Sequence[str] = (),
    ffmpeg: str | None = None,
) -> Path:
    """Make footage whose frames carry their numbers, and return `path`.

    Args:
        path: Where; its suffix decides the container.
        rate: Frames a second.
        frames: How many.
        size: Stored width and height, before rotation; even.
        start: Number of the first frame.
        codec: FFmpeg's name of an encoder.
        pixel_format: FFmpeg's name.
        variable_times: Time of each frame in seconds, for variable rate; kept to 1/90000 s. None: by `rate`.
        start_seconds: Time of the first frame, for constant rate.
        full_range: Whether levels are full range, and tagged so.
        rotation: Clockwise turn that shows it upright: 0, 90, 180, 270. Kept in mov and mp4.
        pixel_aspect: Width of a pixel over its height.
        sound: None, `beeps` (a beep starts with each flash frame) or `silence`.
        beep_every: Frames whose number this divides beep and flash; None: once in a nominal second.
        sound_codec: FFmpeg's name of an encoder; None: AAC in mp4, m4v and ts, else 16-bit PCM.
        gop: Most frames between key frames.
        bframes: Frames in a row that may be predicted from both sides.
        timecode: Label of the first frame, for a timecode track, or "".
        metadata: Tags of the whole file.
        extra: More arguments for FFmpeg's output.
        ffmpeg: The program; None: the bundled one.
    """
    every = beep_every or rate.nominal
    numbers = [start + index for index in range(frames)]
    if variable_times is None:
        times = [start_seconds + rate.seconds(index) for index in range(frames)]
        end_seconds = start_seconds + rate.seconds(frames)
    else:
        times = list(variable_times)
        end_seconds = times[-1] + rate.seconds(1)
    flashing = sound == "beeps"
    black, white = (0, 255) if full_range else (16, 235)
    width, height = size
    upright = (height, width) if rotation % 180 else size

    def planes(number: int) -> tuple[Picture, Picture]:
        flash = flashing and number % every == 0
        luma = numbered_luma(number, upright, flash=flash, black=black, white=white)
        luma = np.ascontiguousarray(np.rot90(luma, rotation // 90))
        return luma, np.full((height, width // 2), 128, dtype=np.uint8)

    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        picture = work / "picture.nut"
        if variable_times is None:
            raw = b"".join(part.tobytes() for number in numbers for part in planes(number))
            source: list[str | Path] = [
                "-f",
                "rawvideo",
                "-pix_fmt",
                "yuv420p",
                "-video_size",
                f"{width}x{height}",
            ]
            source += ["-framerate", str(rate), "-itsoffset", f"{float(start_seconds):.9f}", "-i", "pipe:0"]
            ticks = f"1:{_VARIABLE_TICKS_HZ}" if start_seconds else f"{rate.denominator}:{rate.numerator}"
            clock = ["-enc_time_base:v", ticks]
        else:
            raw = b""
            _write_timed(picture, [planes(number) for number in numbers], times, size)
            source = ["-copyts", "-i", picture]
            clock = ["-enc_time_base:v", f"1:{_VARIABLE_TICKS_HZ}"]
            if path.suffix.lower() in (".mp4", ".mov", ".m4v"):
                clock += ["-video_track_timescale", str(_VARIABLE_TICKS_HZ)]
        if sound:
            samples = (
                beep_samples(numbers, times, every, end_seconds)
                if flashing
                else bytes(2 * round(end_seconds * SAMPLE_RATE_HZ))
            )
            with wave.open(str(work / "sound.wav"), "wb") as stream:
                stream.setnchannels(1)
                stream.setsampwidth(2)
                stream.setframerate(SAMPLE_RATE_HZ)
                stream.writeframes(samples)
            compressed = path.suffix.lower() in (".mp4", ".m4v", ".ts", ".mts")
            source += ["-f", "wav", "-i", work / "sound.wav"]
            clock += ["-c:a", sound_codec or ("aac" if compressed else "pcm_s16le"), "-map", "1:a"]
        levels = "pc" if full_range else "tv"
        filters = f"setparams=range={levels}:color_primaries=bt709:color_trc=bt709:colorspace=bt709"
        filters += f",setsar={pixel_aspect.numerator}/{pixel_aspect.denominator}"
        picture_arguments = ["-map", "0:v", "-vf", filters, "-fps_mode", "passthrough", "-c:v", codec]
        picture_arguments += ["-pix_fmt", pixel_format, "-color_range", levels, "-g", str(gop)]
        picture_arguments += ["-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709"]
        if codec in ("libx264", "libx265"):
            picture_arguments += ["-bf", str(bframes), "-preset", "ultrafast", "-crf", "16"]
        if codec == "libx265":
            picture_arguments += ["-x265-params", "log-level=error"]
        tags = [part for key, value in (metadata or {}).items() for part in ("-metadata", f"{key}={value}")]
        if metadata and path.suffix.lower() in (".mov", ".mp4", ".m4v"):
            tags += ["-movflags", "use_metadata_tags"]
        if timecode:
            tags += ["-timecode", timecode]
        made = work / f"made{path.suffix}" if rotation else path.absolute()
        run_ffmpeg(
            *source,
            *picture_arguments,
            *clock,
            *tags,
            *extra,
            f"file:{made}",
            ffmpeg=ffmpeg,
            data=raw or None,
        )
        if rotation:
            turn = [
                "-display_rotation",
                str(-rotation % 360),
                "-i",
                f"file:{made}",
                "-c",
                "copy",
                "-map",
                "0",
            ]
            run_ffmpeg(*turn, f"file:{path.absolute()}")
    return path


def _write_timed(
    target: Path,
    pictures: Sequence[tuple[Picture, Picture]],
    times: Sequence[Fraction],
    size: tuple[int, int],
) -> None:
    """Write uncompressed frames with their own times."""
    with av.open(str(target), "w", format="nut") as container:
        stream = container.add_stream("rawvideo", rate=30)
        stream.width, stream.height = size
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = stream.time_base = Fraction(1, _VARIABLE_TICKS_HZ)
        for (luma, chroma), time in zip(pictures, times, strict=True):
            frame = av.VideoFrame.from_ndarray(
                np.concatenate([luma.ravel(), chroma.ravel()]).reshape(size[1] * 3 // 2, size[0]),
                format="yuv420p",
            )
            frame.pts, frame.time_base = round(time * _VARIABLE_TICKS_HZ), Fraction(1, _VARIABLE_TICKS_HZ)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read of one decoded frame.

    Attributes:
        number: Its number, or -1.
        levels: The 24 blocks, 0.0 for the ring's black and 1.0 for its white; empty where no ring was found.
        black: Level of black, of 255.
        white: Level of white, of 255; tells how far the picture is dimmed.
        surround: Level outside of the ring, of 255; tells flash frames.
        box: Left, top, right, bottom of the ring, as parts of the frame's width and height.
    """

    number: int
    levels: Levels
    black: float = 0.0
    white: float = 0.0
    surround: float = 0.0
    box: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)

    @property
    def flash(self) -> bool:
        """Whether the surround is light."""
        return self.white > self.black and (self.surround - self.black) / (self.white - self.black) > 0.4


def read_numbers(path: Path, ffmpeg: str | None = None, *, before: Sequence[str] = ()) -> list[int]:
    """Decode every frame of a file and return their numbers; -1 for what is not one upright numbered frame.

    Args:
        path: The file.
        ffmpeg: The program; None: the bundled one.
        before: Arguments before the input, such as `("-ss", "1.5")`.
    """
    return [reading.number for reading in read_frames(path, ffmpeg, before=before)]


def read_frames(
    path: Path, ffmpeg: str | None = None, *, before: Sequence[str] = (), tolerance: float = 0.1
) -> list[Reading]:
    """Decode every frame of a file and return what is read in each.

    Args:
        path: The file.
        ffmpeg: The program; None: the bundled one.
        before: Arguments before the input.
        tolerance: How far a block may be from black or white, of 1.
    """
    with tempfile.TemporaryDirectory() as folder:
        # A Y4M file tells its own size, whatever rotation and scaling gave.
        decoded = Path(folder) / "frames.y4m"
        scale = f"scale=w='2*trunc(min(iw,{_READ_WIDTH_PX})/2)':h=-2:flags=area,format=gray"
        read = [*before, "-i", f"file:{path.absolute()}", "-map", "0:v:0", "-vf", scale]
        run_ffmpeg(
            *read, "-fps_mode", "passthrough", "-f", "yuv4mpegpipe", "-strict", "-1", decoded, ffmpeg=ffmpeg
        )
        data = decoded.read_bytes()
    return read_pictures(_y4m_pictures(data), tolerance=tolerance)


def _y4m_pictures(data: bytes) -> list[Picture]:
    if not data:
        return []
    end = data.index(b"\n")
    fields = data[:end].decode().split()
    width, height = (int(next(part[1:] for part in fields if part[0] == key)) for key in "WH")
    pictures, at = [], end + 1
    while at < len(data):
        at = data.index(b"\n", at) + 1
        pictures.append(np.frombuffer(data, np.uint8, width * height, at).reshape(height, width))
        at += width * height
    return pictures


def read_pictures(pictures: Sequence[Picture], *, tolerance: float = 0.1) -> list[Reading]:
    """Return what is read in each of several luma pictures."""
    readings: list[Reading] = []
    box: tuple[int, int, int, int] | None = None
    for picture in pictures:
        reading = _read_in(picture, box, tolerance) if box else None
        if reading is None or reading.number == UNREADABLE:
            box = _find_ring(picture)
            reading = _read_in(picture, box, tolerance) if box else None
        readings.append(reading or Reading(number=UNREADABLE, levels=np.empty(0)))
    return readings


def _longest_runs(mask: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the longest run of True down each column."""
    count = np.cumsum(mask, axis=0)
    since = np.maximum.accumulate(np.where(mask, 0, count), axis=0)
    runs: NDArray[np.int64] = (count - since).max(axis=0)
    return runs


def _find_ring(picture: Picture) -> tuple[int, int, int, int] | None:
    """Return left, top, right, bottom (exclusive) of the ring: the outermost of the long white lines."""
    low, high = int(picture.min()), int(picture.max())
    if high - low < 30:
        return None
    mask = picture > low + 0.8 * (high - low)
    columns = _longest_runs(mask)
    sides = np.flatnonzero(columns >= 0.9 * columns.max())
    left, right = int(sides[0]), int(sides[-1]) + 1
    rows = _longest_runs(mask[:, left:right].T)
    edges = np.flatnonzero(rows >= 0.9 * (right - left))
    if not len(edges) or right - left < 24 or edges[-1] - edges[0] < 16:
        return None
    return left, int(edges[0]), right, int(edges[-1]) + 1


def _read_in(picture: Picture, box: tuple[int, int, int, int], tolerance: float) -> Reading | None:
    left, top, right, bottom = box
    width, height = right - left, bottom - top
    border = min(width, height) * _BORDER
    ring = picture[top:bottom, left:right].astype(np.float64)
    thin = max(1, round(border * 0.5))
    middle = round(border * 0.25)
    white = float(np.median(ring[middle : middle + thin, :]))
    gap = round(border * 1.25)
    black = float(np.median(ring[gap : gap + thin, gap:-gap]))
    if white - black < 20:
        return None
    inside_left, inside_top = 2 * border, 2 * border
    block_width, block_height = (width - 4 * border) / COLUMNS, (height - 4 * border) / ROWS
    levels = np.empty(24)
    for place in range(24):
        row, column = divmod(place, COLUMNS)
        # Only the middle of a block: its edges are soft after scaling.
        y, x = inside_top + row * block_height, inside_left + column * block_width
        part = ring[
            round(y + 0.25 * block_height) : max(
                round(y + 0.75 * block_height), round(y + 0.25 * block_height) + 1
            ),
            round(x + 0.25 * block_width) : max(
                round(x + 0.75 * block_width), round(x + 0.25 * block_width) + 1
            ),
        ]
        levels[place] = (part.mean() - black) / (white - black)
    away = max(2, round(border))
    outside = picture[top : top + height, max(0, left - 2 * away) : max(1, left - away)]
    total_height, total_width = picture.shape
    return Reading(
        number=_number_of(levels, tolerance),
        levels=levels,
        black=black,
        white=white,
        surround=float(np.median(outside)),
        box=(left / total_width, top / total_height, right / total_width, bottom / total_height),
    )


def read_sound(path: Path, ffmpeg: str | None = None, *, before: Sequence[str] = ()) -> NDArray[np.float32]:
    """Return a file's sound as mono samples at 48 kHz, from the file's time 0, gaps filled with silence."""
    arguments = [
        *before,
        "-i",
        f"file:{path.absolute()}",
        "-map",
        "0:a:0",
        "-af",
        "aresample=async=1:first_pts=0",
    ]
    arguments += ["-ac", "1", "-ar", str(SAMPLE_RATE_HZ), "-f", "f32le", "pipe:1"]
    return np.frombuffer(run_ffmpeg(*arguments, ffmpeg=ffmpeg), dtype=np.float32)


def find_beeps(samples: NDArray[np.float32]) -> list[float]:
    """Return the time, in seconds, at which each beep starts.

    The onset is where the tone's energy over one period passes half of its steady value, less half a period:
    right to about 0.1 ms, also after a lossy codec.
    """
    period = round(SAMPLE_RATE_HZ / BEEP_HZ)
    energy = np.convolve(samples.astype(np.float64) ** 2, np.ones(period) / period, mode="full")[
        : len(samples)
    ]
    if not len(energy) or energy.max() < 1e-6:
        return []
    loud = energy > energy.max() / 4
    starts = np.flatnonzero(loud[1:] & ~loud[:-1]) + 1
    if loud[0]:
        starts = np.concatenate([[0], starts])
    least = round(2 * BEEP_SECONDS * SAMPLE_RATE_HZ)
    kept: list[int] = []
    for start in starts:
        if not kept or start - kept[-1] > least:
            kept.append(int(start))
    return [max(0.0, (start - period / 4) / SAMPLE_RATE_HZ) for start in kept]
