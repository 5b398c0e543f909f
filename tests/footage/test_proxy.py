"""Proxies against their footage: the same frame at every time, the same look, the same sound."""

import dataclasses
import subprocess
import sys
import threading
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from desk.errors import FfmpegError, MediaError
from desk.ffmpeg.program import find_program
from desk.film.media import MediaFacts
from desk.film.rates import Rate
from desk.footage.probe import probe
from desk.footage.proxy import (
    MOST_LINES,
    REFUSED,
    SUFFIX,
    estimated_bytes,
    is_heavy,
    make_proxy,
    proxy_key,
    proxy_size,
)
from desk.footage.thumbnail import Wanted, pictures
from desk.jobs import Cancelled, CancelToken, Progress
from desk.render.cache import PieceStore
from desk.sound.reading import read_sound
from tests.footage.conftest import Make
from tests.footage.decoded import FFMPEGS, decoded_times
from tests.footage.facts import clip, sound_alone
from tests.footage.test_frame_times import uneven_times
from tests.making import bundled_ffmpeg, make_numbered, read_numbers, run_ffmpeg

FRAMES = 40
HIDDEN = ("-auto-alt-ref", "1", "-lag-in-frames", "16", "-cpu-used", "5")
VARIABLE = {"variable_times": uneven_times(FRAMES), "rate": Rate(30)}
UHD, HD, SMALL = (3840, 2160), (1920, 1080), (1280, 720)

KINDS: list[tuple[str, dict[str, Any]]] = [
    ("plain.mp4", {"sound": "beeps"}),
    ("pull.mov", {"rate": Rate(30_000, 1001), "sound": "beeps"}),
    ("long.mkv", {"gop": 250, "bframes": 3, "rate": Rate(24_000, 1001)}),
    ("variable.mp4", {**VARIABLE, "sound": "beeps"}),
    ("variable.mkv", {**VARIABLE}),
    ("late_variable.mkv", {"variable_times": uneven_times(FRAMES, Fraction(5)), "rate": Rate(30)}),
    ("late.ts", {"start_seconds": Fraction(3), "sound": "beeps"}),
    ("turned.mov", {"rotation": 90, "sound": "silence"}),
    ("over.mp4", {"rotation": 180}),
    ("deep.mp4", {"codec": "libx265", "pixel_format": "yuv420p10le", "sound": "beeps"}),
    ("deep_variable.mov", {**VARIABLE, "codec": "libx265", "pixel_format": "yuv420p10le", "rotation": 270}),
    ("frames.mxf", {"codec": "mpeg2video", "rate": Rate(30_000, 1001)}),
    ("frames.avi", {"rate": Rate(30_000, 1001), "bframes": 0}),
    ("hidden.webm", {**VARIABLE, "codec": "libvpx", "extra": HIDDEN}),
    ("full.mov", {"full_range": True}),
    ("wide.mov", {"pixel_aspect": Fraction(4, 3)}),
]


def made(path: Path, target: Path, ffmpeg: str | None = None, **options: Any) -> MediaFacts:
    """Make a proxy; returns the footage's facts."""
    facts = probe(path)
    make_proxy(path, facts, target, program=find_program(ffmpeg), **options)
    return facts


def seconds_of(path: Path, ticks: Fraction) -> list[Fraction]:
    return [time * ticks for time in decoded_times(path, bundled_ffmpeg())]


def sound_of(path: Path, facts: MediaFacts, start: Fraction, samples: int) -> np.ndarray:
    return np.concatenate(list(read_sound(path, facts, in_seconds=start, samples=samples)))


@pytest.mark.ffmpeg
@pytest.mark.parametrize(("name", "options"), KINDS, ids=[kind[0] for kind in KINDS])
def test_each_frame_stands_where_it_stands_in_the_footage(
    make: Make, tmp_path: Path, name: str, options: dict[str, Any]
) -> None:
    path = make(f"proxied_{name}", frames=FRAMES, **options)
    before = path.read_bytes(), path.stat().st_mtime_ns
    target = tmp_path / f"proxy{SUFFIX}"
    source = made(path, target)
    proxy = probe(target)
    assert source.picture is not None
    assert proxy.picture is not None
    assert seconds_of(target, proxy.picture.time_base) == seconds_of(path, source.picture.time_base)
    numbers = read_numbers(target)
    assert numbers == read_numbers(path)
    assert numbers == list(range(FRAMES))
    assert proxy.picture.rotation_degrees == source.picture.rotation_degrees
    assert proxy.picture.upright_size == source.picture.upright_size
    assert proxy.picture.full_range == source.picture.full_range
    assert proxy.picture.bit_depth == 8
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.ffmpeg
@pytest.mark.parametrize("ffmpeg", FFMPEGS)
def test_every_release_of_ffmpeg_keeps_turn_and_start(make: Make, tmp_path: Path, ffmpeg: str) -> None:
    turned = {"codec": "libx265", "pixel_format": "yuv420p10le", "rotation": 90}
    path = make("late_turned.mov", frames=FRAMES, start_seconds=Fraction(1, 3), sound="beeps", **turned)
    target = tmp_path / f"proxy{SUFFIX}"
    source = made(path, target, ffmpeg)
    proxy = probe(target)
    assert source.picture is not None
    assert source.picture.start_pts > 0
    assert proxy.picture == dataclasses.replace(
        source.picture, codec="h264", pixel_format="yuv420p", bit_depth=8
    )
    assert read_numbers(target) == list(range(FRAMES))


@pytest.mark.ffmpeg
@pytest.mark.parametrize(
    ("matrix", "primaries", "transfer"),
    [("bt2020nc", "bt2020", "arib-std-b67"), ("smpte170m", "smpte170m", "bt709"), ("", "", "")],
)
def test_it_looks_like_the_footage(tmp_path: Path, matrix: str, primaries: str, transfer: str) -> None:
    path, target = tmp_path / "bars.mov", tmp_path / f"proxy{SUFFIX}"
    tags = {"colorspace": matrix, "color_primaries": primaries, "color_trc": transfer}
    named = ":".join(f"{name}={value or 'unknown'}" for name, value in tags.items())
    bars = f"smptebars=s=960x768:r=25:d=0.2,scale=out_color_matrix={matrix or 'bt709'},format=yuv422p10le"
    bars += f",setparams={named}"
    coder = ["-c:v", "libx265", "-x265-params", "log-level=error", "-crf", "4"]
    run_ffmpeg("-f", "lavfi", "-i", bars, *coder, path)
    source = made(path, target)
    proxy = probe(target)
    assert source.picture is not None
    assert proxy.picture is not None
    assert (source.picture.matrix, source.picture.transfer) == (matrix, transfer)
    assert proxy.picture.matrix == (matrix or "bt709")
    assert (proxy.picture.primaries, proxy.picture.transfer) == (primaries, transfer)
    assert (proxy.picture.width, proxy.picture.height) == (900, 720)
    wanted = [Wanted(Fraction(0), 180)]
    [seen] = pictures(path, source.picture, wanted)
    [shown] = pictures(target, proxy.picture, wanted)
    assert seen is not None
    assert shown is not None
    off = np.abs(seen.astype(int) - shown.astype(int))
    # What is 8 bits of 10 and a coarse encoder; a wrong matrix or wrong levels are 10 and more off.
    assert off.mean() < 1.5
    assert np.percentile(off, 95) <= 6


@pytest.mark.ffmpeg
@pytest.mark.parametrize("size", ["960x768", "320x180"])
def test_red_green_and_blue_look_the_same_by_what_is_known_of_the_footage(tmp_path: Path, size: str) -> None:
    path, target = tmp_path / "rgb.mkv", tmp_path / f"proxy{SUFFIX}"
    bars = f"smptebars=s={size}:r=25:d=0.2,format=gbrp"
    run_ffmpeg("-f", "lavfi", "-i", bars, "-c:v", "libx264rgb", "-crf", "4", path)
    source = made(path, target)
    assert source.picture is not None
    wanted = [Wanted(Fraction(0), 180)]
    [seen] = pictures(path, source.picture, wanted)
    [shown] = pictures(target, source.picture, wanted)
    assert seen is not None
    assert shown is not None
    off = np.abs(seen.astype(int) - shown.astype(int))
    # Colours have half as many pixels each way in the proxy; a wrong matrix is 10 and more off.
    assert off.mean() < 3
    assert np.percentile(off, 95) <= 6


@pytest.mark.ffmpeg
def test_fields_become_whole_frames(tmp_path: Path) -> None:
    path, target = tmp_path / "fields.mov", tmp_path / f"proxy{SUFFIX}"
    fields = "testsrc2=s=320x180:r=50:d=0.8,interlace,format=yuv420p10le"
    run_ffmpeg("-f", "lavfi", "-i", fields, "-flags", "+ildct+ilme", "-c:v", "libx264", path)
    source = made(path, target)
    proxy = probe(target).picture
    assert source.picture is not None
    assert proxy is not None
    assert source.picture.interlaced
    assert not proxy.interlaced
    assert (proxy.frames, proxy.time_base) == (source.picture.frames, source.picture.time_base)


@pytest.mark.ffmpeg
@pytest.mark.parametrize(
    ("name", "codec"), [("proxied.mov", "pcm_s24le"), ("proxied.mp4", "aac"), ("proxied.mkv", "flac")]
)
def test_the_sound_is_the_footages_sample_for_sample(
    make: Make, tmp_path: Path, name: str, codec: str
) -> None:
    path = make(name, frames=FRAMES, sound="beeps", sound_codec=codec, beep_every=5)
    target = tmp_path / f"proxy{SUFFIX}"
    source = made(path, target)
    proxy = probe(target)
    assert proxy.sound is not None
    assert (proxy.sound.codec, proxy.sound.sample_rate_hz) == ("pcm_f32le", 48_000)
    for start in (Fraction(0), Fraction(1, 3)):
        heard = sound_of(path, source, start, 48_000)
        assert np.abs(heard).max() > 0.2
        assert np.array_equal(heard, sound_of(target, proxy, start, 48_000))


@pytest.mark.ffmpeg
@pytest.mark.parametrize("channels", [1, 3, 6, 8])
def test_all_channels_are_kept(tmp_path: Path, channels: int) -> None:
    path, target = tmp_path / "many.mov", tmp_path / f"proxy{SUFFIX}"
    tones = "|".join(f"{level / 10}" for level in range(1, channels + 1))
    sound = f"aevalsrc='{tones}':s=48000:d=0.4"
    run_ffmpeg(
        "-f",
        "lavfi",
        "-i",
        "testsrc2=s=64x36:r=25:d=0.4",
        "-f",
        "lavfi",
        "-i",
        sound,
        "-c:a",
        "pcm_s16le",
        path,
    )
    made(path, target)
    raw = [run_ffmpeg("-i", file, "-map", "0:a", "-f", "f32le", "-") for file in (path, target)]
    heard, kept = (np.frombuffer(data, np.float32).reshape(-1, channels) for data in raw)
    assert np.array_equal(heard, kept)
    assert np.allclose(kept[0], np.arange(1, channels + 1) / 10, atol=1e-3)


@pytest.mark.ffmpeg
def test_sound_of_another_rate_and_start_stays_with_the_picture(tmp_path: Path) -> None:
    path, target = tmp_path / "late.mkv", tmp_path / f"proxy{SUFFIX}"
    tone, picture = tmp_path / "tone.wav", "testsrc2=s=64x36:r=25:d=1.6"
    run_ffmpeg("-f", "lavfi", "-i", "sine=f=440:r=44100:d=1", tone)
    late = ["-itsoffset", "0.31", "-i", tone]
    run_ffmpeg("-f", "lavfi", "-i", picture, *late, "-map", "0", "-map", "1", "-c:a", "pcm_s16le", path)
    source = made(path, target)
    heard = sound_of(path, source, Fraction(0), 72_000)
    kept = sound_of(target, probe(target), Fraction(0), 72_000)
    begins = [int(np.flatnonzero(np.abs(sound[:, 0]) > 0.01)[0]) for sound in (heard, kept)]
    assert abs(begins[0] - round(0.31 * 48_000)) < 100
    # A sample either way: two resamplers.
    assert abs(begins[0] - begins[1]) <= 3
    middle = slice(20_000, 60_000)
    assert np.abs(heard[middle] - kept[middle]).max() < 0.003


@pytest.mark.ffmpeg
def test_a_gap_in_the_sound_stays_a_gap(tmp_path: Path) -> None:
    whole, path, target = tmp_path / "whole.ts", tmp_path / "gap.mkv", tmp_path / f"proxy{SUFFIX}"
    make_numbered(whole, frames=FRAMES, sound="beeps", beep_every=5)
    holed = ["-c", "copy", "-bsf:a", "noise=drop='between(pts*tb,2,2.5)'"]
    run_ffmpeg("-copyts", "-i", whole, *holed, path)
    source = made(path, target)
    heard = sound_of(path, source, Fraction(0), 70_000)
    kept = sound_of(target, probe(target), Fraction(0), 70_000)
    unbroken = sound_of(whole, probe(whole), Fraction(0), 70_000)
    assert np.abs(unbroken - heard).max() > 0.2
    assert np.abs(heard - kept).max() < 1e-3


@pytest.mark.ffmpeg
def test_a_proxy_is_smaller_and_every_frame_a_key_frame(tmp_path: Path) -> None:
    path, target = tmp_path / "large.mov", tmp_path / f"proxy{SUFFIX}"
    large = "testsrc2=s=2704x1520:r=25:d=0.2"
    run_ffmpeg("-f", "lavfi", "-i", large, "-c:v", "libx264", "-preset", "ultrafast", path)
    source = made(path, target)
    assert is_heavy(source)
    proxy = probe(target)
    assert proxy.picture is not None
    assert (proxy.picture.width, proxy.picture.height) == (1280, 720)
    assert proxy.picture.upright_size[0] / proxy.picture.upright_size[1] == Fraction(2704, 1520)
    flags = run_ffmpeg("-i", target, "-map", "0:v", "-c", "copy", "-f", "framecrc", "-").decode()
    packets = [line for line in flags.splitlines() if not line.startswith("#")]
    assert len(packets) == 5
    assert not any("F=0x0" in line for line in packets)
    assert target.stat().st_size < 2 * estimated_bytes(source)


def test_what_is_heavy() -> None:
    assert not is_heavy(clip())
    assert not is_heavy(clip(size=(1080, 1920)))
    assert not is_heavy(clip(size=(2048, 1080), codec="prores", bit_depth=10))
    assert not is_heavy(clip(size=SMALL, codec="hevc", bit_depth=10))
    assert not is_heavy(sound_alone())
    assert is_heavy(clip(size=UHD))
    assert is_heavy(clip(size=UHD, codec="prores", bit_depth=10))
    assert is_heavy(clip(size=HD, codec="hevc"))
    assert is_heavy(clip(bit_depth=10))


def test_what_assembles_knows_no_proxies() -> None:
    """What is sent out can't be made of proxies: nothing that assembles loads what names them."""
    rooms = "desk.assembly.review, desk.cli.main, desk.render.run, desk.render.join, desk.sound.stems"
    told = (
        f"import sys, {rooms}; print('desk.footage.proxy' in sys.modules, 'desk.render.run' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]


def test_the_name_follows_the_bytes_of_the_footage() -> None:
    one = clip()
    assert proxy_key(one) == proxy_key(dataclasses.replace(one, modified_ns=5, camera="another"))
    others = [dataclasses.replace(one, size_bytes=1001), dataclasses.replace(one, sample_hash="1" * 32)]
    assert len({proxy_key(facts) for facts in (one, *others)}) == 3


@pytest.mark.parametrize(
    ("size", "expected"),
    [(UHD, SMALL), ((4096, 2160), (1366, 720)), ((2160, 3840), (404, 720)), ((321, 181), (320, 180))],
)
def test_the_size_is_even_and_at_most_720_lines(size: tuple[int, int], expected: tuple[int, int]) -> None:
    picture = clip(size=size).picture
    assert picture is not None
    assert proxy_size(picture) == expected
    assert expected[1] <= MOST_LINES


@pytest.mark.ffmpeg
def test_what_is_stopped_leaves_nothing_and_can_be_made_again(make: Make, tmp_path: Path) -> None:
    path = make("stopped.mp4", frames=400)
    store, cancel = PieceStore(tmp_path / "proxies"), CancelToken()
    facts = probe(path)

    def write(part: Path) -> None:
        make_proxy(path, facts, part, program=find_program(), progress=stop, cancel=cancel)

    def stop(_: Progress) -> None:
        cancel.set()

    with pytest.raises(Cancelled):
        store.make(proxy_key(facts), SUFFIX, write)
    assert not list(store.folder.iterdir())
    cancel = CancelToken()
    target = tmp_path / f"again{SUFFIX}"
    make_proxy(path, facts, target, program=find_program(), cancel=cancel)
    assert target.exists()


@pytest.mark.ffmpeg
def test_what_is_held_stands_still_and_goes_on(make: Make, tmp_path: Path) -> None:
    path = make("stopped.mp4", frames=400)
    facts, target, held = probe(path), tmp_path / f"held{SUFFIX}", threading.Event()
    held.set()
    work = threading.Thread(
        target=make_proxy,
        args=(path, facts, target),
        kwargs={"program": find_program(), "is_held": held.is_set},
    )
    work.start()
    work.join(1)
    assert work.is_alive()
    held.clear()
    work.join(60)
    assert not work.is_alive()
    picture = probe(target).picture
    assert picture is not None
    assert picture.frames == 400


@pytest.mark.ffmpeg
def test_what_stands_still_can_be_stopped(make: Make, tmp_path: Path) -> None:
    path, cancel, asked = make("stopped.mp4", frames=400), CancelToken(), threading.Event()

    def is_held() -> bool:
        if asked.is_set():
            cancel.set()
        asked.set()
        return True

    target = tmp_path / f"held{SUFFIX}"
    with pytest.raises(Cancelled):
        make_proxy(path, probe(path), target, program=find_program(), cancel=cancel, is_held=is_held)
    assert not target.exists()


@pytest.mark.ffmpeg
def test_a_damaged_proxy_counts_as_none(make: Make, tmp_path: Path) -> None:
    path = make("proxied_plain.mp4", frames=FRAMES, sound="beeps")
    facts, store = probe(path), PieceStore(tmp_path / "proxies")
    key = proxy_key(facts)
    kept = store.make(key, SUFFIX, lambda part: make_proxy(path, facts, part, program=find_program()))
    assert PieceStore(store.folder).find(key) == kept
    data = bytearray(kept.read_bytes())
    data[len(data) // 2] ^= 0xFF
    kept.write_bytes(data)
    assert PieceStore(store.folder).find(key) is None
    assert not kept.exists()


@pytest.mark.ffmpeg
def test_frames_that_would_stand_elsewhere_are_refused(make: Make, tmp_path: Path) -> None:
    """The footage became another file behind our back: one frame more than is known of it."""
    path, target = (
        make("proxied_late.ts", frames=FRAMES, start_seconds=Fraction(3), sound="beeps"),
        tmp_path / "no.mov",
    )
    facts = probe(path)
    assert facts.picture is not None
    later = dataclasses.replace(facts.picture, start_pts=facts.picture.start_pts + 3600)
    with pytest.raises(MediaError) as caught:
        make_proxy(path, dataclasses.replace(facts, picture=later), target, program=find_program())
    assert caught.value.code == REFUSED
    assert "proxied_late.ts" in caught.value.message
    assert not list(tmp_path.iterdir())


@pytest.mark.ffmpeg
def test_footage_that_is_gone(make: Make, tmp_path: Path) -> None:
    path = make("proxied_plain.mp4", frames=FRAMES, sound="beeps")
    with pytest.raises(FfmpegError):
        make_proxy(tmp_path / "gone.mp4", probe(path), tmp_path / "no.mov", program=find_program())
    with pytest.raises(MediaError) as caught:
        make_proxy(path, sound_alone(), tmp_path / "no.mov", program=find_program())
    assert caught.value.code == REFUSED
    assert not list(tmp_path.iterdir())
