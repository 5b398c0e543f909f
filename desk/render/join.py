"""Put pieces together to the finished file, without encoding any of them again."""

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from desk.ffmpeg.program import Program
from desk.ffmpeg.run import run
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken
from desk.render.encoding import track_clock
from desk.sound.aac import PRIMING_SAMPLES


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """What goes into the finished file beside picture and sound.

    Attributes:
        chapters: Title and chapters in FFmpeg's metadata format.
        timecode: Label of the first frame.
        rate: The film's rate.
    """

    chapters: str
    timecode: str
    rate: Rate


def join_pieces(
    pieces: Sequence[Path],
    frames: Sequence[int],
    sound: Path,
    finish: Finish,
    target: Path,
    program: Program,
    *,
    cancel: CancelToken,
) -> None:
    """Write pieces and sound to an MP4 file.

    Args:
        pieces: Files of one folder, whose names are plain, in order; one may stand there more than once.
        frames: How many frames each has.
        sound: AAC packets in MP4, the first of which is the encoder's priming.
        finish: Title, chapters and timecode.
        target: The file to write.
        program: Which ffmpeg.
        cancel: Stops it.

    Raises:
        FfmpegError: when ffmpeg fails.
        OutputError: when the disk is full.
        Cancelled: when stopped on request.
    """
    ticks = round(finish.rate.seconds(1) * track_clock(finish.rate))
    early_seconds = Fraction(PRIMING_SAMPLES, SAMPLE_RATE_HZ)
    with tempfile.TemporaryDirectory(prefix=".join-", dir=pieces[0].parent) as folder:
        listed, chapters = Path(folder) / "pieces.txt", Path(folder) / "chapters.txt"
        # The names are hashes: nothing in them needs quoting.
        listed.write_text("".join(_lines(pieces, frames, finish.rate)), encoding="utf-8")
        chapters.write_text(finish.chapters, encoding="utf-8")
        arguments = [
            "-f", "concat", "-safe", "0", "-protocol_whitelist", "file", "-i", f"file:{listed}",
            "-itsoffset", f"-{float(early_seconds):.9f}", "-i", f"file:{sound}",
            "-f", "ffmetadata", "-i", f"file:{chapters}",
            "-map", "0:v:0", "-map", "1:a:0", "-map_metadata", "2", "-map_chapters", "2", "-c", "copy",
            "-bsf:v", f"setts=pts=round(PTS/{ticks})*{ticks}:dts=round(DTS/{ticks})*{ticks}",
            "-video_track_timescale", str(track_clock(finish.rate)),
            "-timecode", finish.timecode, "-write_tmcd", "1", "-movflags", "+faststart", "-f", "mp4",
            f"file:{target}",
        ]  # fmt: skip
        run(program, arguments, cancel=cancel, doing="the review copy")


def _lines(pieces: Sequence[Path], frames: Sequence[int], rate: Rate) -> Iterator[str]:
    """Give the list of pieces, with lengths: files keep theirs in ms. What µs leave is rounded off later."""
    at = 0
    for path, count in zip(pieces, frames, strict=True):
        start_us, end_us = (round(rate.seconds(frame) * 1_000_000) for frame in (at, at + count))
        yield f"file '../{path.name}'\nduration {end_us - start_us}us\n"
        at += count
