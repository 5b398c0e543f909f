"""Writing files: H.264 pictures at a constant or a variable frame rate, AAC, Opus and FLAC sound."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import wave
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
from av.video.reformatter import ColorRange, Colorspace
from numpy.typing import NDArray

from making.plan import Camera

Picture = NDArray[np.uint8]
QUALITY = {"A": 25, "B": 27, "P": 27}
PRESET = "slow"
# Ticks a second in which both steps of the phone's clock are whole.
PHONE_TICKS = 120000
PHONE_STEPS = (4004, 5005)


def ffmpeg() -> str:
    """Returns the bundled ffmpeg."""
    return str(imageio_ffmpeg.get_ffmpeg_exe())


def run(arguments: list[str]) -> None:
    """Runs ffmpeg, or ends with its last words."""
    done = subprocess.run(
        [ffmpeg(), "-hide_banner", "-nostdin", "-loglevel", "error", "-y", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        sys.exit(f"ffmpeg could not write {arguments[-1]}: {done.stderr.strip()[-800:]}")


@contextlib.contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """Gives a name beside the target and moves it there when all went well."""
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(f".{os.getpid()}-{target.name}")
    try:
        yield part
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def write_wave(path: Path, sound: NDArray[np.float64]) -> None:
    """Writes samples (count, channels) as 16 bit WAV with a dither of one step."""
    rng = np.random.default_rng(len(sound))
    dither = (rng.random(sound.shape) - rng.random(sound.shape)) / 32768
    data = np.clip(np.round((sound + dither) * 32767), -32768, 32767).astype("<i2")
    with wave.open(str(path), "wb") as out:
        out.setnchannels(sound.shape[1])
        out.setsampwidth(2)
        out.setframerate(48000)
        out.writeframes(data.tobytes())


def sound_file(
    target: Path, sound: NDArray[np.float64], *, kilobits: int = 64, tags: dict[str, str] | None = None
) -> None:
    """Writes Opus or FLAC, as the name says, with tags."""
    with tempfile.TemporaryDirectory() as folder, whole_file(target) as part:
        raw = Path(folder) / "sound.wav"
        write_wave(raw, sound)
        codec = (
            ["-c:a", "flac", "-compression_level", "12"]
            if target.suffix == ".flac"
            else ["-c:a", "libopus", "-b:a", f"{kilobits}k", "-vbr", "on"]
        )
        marks = [text for key, value in (tags or {}).items() for text in ("-metadata", f"{key}={value}")]
        run(
            [
                "-i",
                str(raw),
                "-fflags",
                "+bitexact",
                "-flags:a",
                "+bitexact",
                *codec,
                *marks,
                "-f",
                target.suffix[1:],
                str(part),
            ]
        )


def _x264(camera: str) -> list[str]:
    return [
        "-c:v",
        "libx264",
        "-preset",
        PRESET,
        "-crf",
        str(QUALITY[camera]),
        "-x264-params",
        "threads=2:aq-mode=3:aq-strength=0.9:keyint=100",
    ]


def steady(
    target: Path,
    pictures: Iterable[Picture],
    camera_id: str,
    camera: Camera,
    sound: NDArray[np.float64] | None,
) -> None:
    """Writes a clip at a constant rate; bt709, limited range.

    Args:
        target: the MP4.
        pictures: 8-bit RGB.
        camera_id: 'A' or 'B'.
        camera: its size and rate.
        sound: samples at 48 kHz, or None.
    """
    width, height = camera.size
    with tempfile.TemporaryDirectory() as folder, whole_file(target) as part:
        inputs = [
            "-f",
            "rawvideo",
            "-pix_fmt",
            "rgb24",
            "-s",
            f"{width}x{height}",
            "-r",
            camera.rate,
            "-i",
            "-",
        ]
        audio = ["-an"]
        if sound is not None:
            raw = Path(folder) / "sound.wav"
            write_wave(raw, sound)
            inputs += ["-i", str(raw)]
            audio = ["-map", "1:a", "-c:a", "aac", "-b:a", "96k", "-flags:a", "+bitexact"]
        command = [
            ffmpeg(),
            "-hide_banner",
            "-loglevel",
            "error",
            "-y",
            *inputs,
            "-map",
            "0:v",
            "-vf",
            "scale=out_color_matrix=bt709:out_range=tv:flags=accurate_rnd+full_chroma_int,format=yuv420p,setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=tv",
            *_x264(camera_id),
            "-flags:v",
            "+bitexact",
            "-colorspace",
            "bt709",
            "-color_primaries",
            "bt709",
            "-color_trc",
            "bt709",
            "-color_range",
            "tv",
            *audio,
            "-map_metadata",
            "-1",
            "-fflags",
            "+bitexact",
            "-movflags",
            "+faststart",
            "-f",
            "mp4",
            str(part),
        ]
        process = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE)
        if process.stdin is None or process.stderr is None:
            sys.exit("ffmpeg was started without pipes")
        try:
            for picture in pictures:
                process.stdin.write(np.ascontiguousarray(picture).tobytes())
            process.stdin.close()
        except BrokenPipeError:
            pass
        words = process.stderr.read().decode(errors="replace")
        if process.wait():
            sys.exit(f"ffmpeg could not write {target.name}: {words.strip()[-800:]}")


def phone_times(seconds: float, seed: int) -> list[int]:
    """Returns the times of a phone's frames in ticks: its clock jumps between two steps."""
    rng = np.random.default_rng(seed)
    times, now = [], 0
    while now < seconds * PHONE_TICKS - PHONE_STEPS[0]:
        times.append(now)
        now += PHONE_STEPS[int(rng.random() < 0.36)]
    return [*times, now]


def unsteady(
    target: Path,
    pictures: Iterable[Picture],
    times: list[int],
    camera: Camera,
    sound: NDArray[np.float64],
    rotation: int,
) -> None:
    """Writes a clip at a variable rate; bt709, full range, mono AAC at 44.1 kHz.

    Args:
        target: the MP4.
        pictures: 8-bit RGB, one for each time but the last.
        times: when each is shown in ticks; the last is the end.
        camera: its size.
        sound: samples at 48 kHz.
        rotation: degrees clockwise by which a player must turn the picture.
    """
    width, height = camera.size
    with tempfile.TemporaryDirectory() as folder, whole_file(target) as part:
        silent = Path(folder) / "picture.mp4"
        with av.open(
            str(silent), "w", options={"video_track_timescale": str(PHONE_TICKS), "fflags": "+bitexact"}
        ) as out:
            stream = out.add_stream("libx264", rate=30)
            stream.width, stream.height = width, height
            stream.pix_fmt = "yuvj420p"
            stream.time_base = Fraction(1, PHONE_TICKS)
            context = stream.codec_context
            context.time_base = Fraction(1, PHONE_TICKS)
            context.color_range = ColorRange.JPEG
            context.colorspace = Colorspace.ITU709
            context.color_primaries = 1
            context.color_trc = 1
            # With its block tree the x264 in PyAV does not write the same bytes each time.
            stream.options = {
                "preset": PRESET,
                "crf": str(QUALITY["P"]),
                "x264-params": "threads=2:aq-mode=3:keyint=60:no-mbtree=1",
                "flags": "+bitexact",
            }
            for number, picture in enumerate(pictures):
                frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
                frame = frame.reformat(
                    format="yuvj420p",
                    dst_colorspace=Colorspace.ITU709,
                    src_color_range=ColorRange.JPEG,
                    dst_color_range=ColorRange.JPEG,
                )
                frame.color_range = ColorRange.JPEG
                frame.pts = times[number]
                frame.time_base = Fraction(1, PHONE_TICKS)
                frame.duration = times[number + 1] - times[number]
                out.mux(stream.encode(frame))
            out.mux(stream.encode(None))
        raw = Path(folder) / "sound.wav"
        write_wave(raw, sound)
        turn = ["-display_rotation", str(-rotation)] if rotation else []
        run(
            [
                *turn,
                "-i",
                str(silent),
                "-i",
                str(raw),
                "-map",
                "0:v",
                "-map",
                "1:a",
                "-c:v",
                "copy",
                "-c:a",
                "aac",
                "-ar",
                "44100",
                "-ac",
                "1",
                "-b:a",
                "64k",
                "-flags:a",
                "+bitexact",
                "-map_metadata",
                "-1",
                "-fflags",
                "+bitexact",
                "-video_track_timescale",
                str(PHONE_TICKS),
                "-movflags",
                "+faststart",
                "-f",
                "mp4",
                str(part),
            ]
        )
