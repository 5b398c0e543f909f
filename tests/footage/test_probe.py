"""Facts read without decoding, checked against what FFmpeg decodes: the bundled release and the system's."""

import os
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from desk.errors import MediaError
from desk.files import sample_hash
from desk.film.rates import Rate
from desk.footage import timing
from desk.footage.probe import probe
from tests.footage.conftest import Make
from tests.footage.decoded import FFMPEGS, decoded_times, picture_of
from tests.making import make_numbered, read_sound, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

FRAMES = 31
PHONE_STEPS_MS = (33, 42, 33, 50, 17)


def phone_times(frames: int, start: Fraction = Fraction(0)) -> list[Fraction]:
    """Return uneven times, as a phone has them in low light."""
    times = [start]
    for index in range(frames - 1):
        times.append(times[-1] + Fraction(PHONE_STEPS_MS[index % len(PHONE_STEPS_MS)], 1000))
    return times


HIDDEN = ("-auto-alt-ref", "1", "-lag-in-frames", "16", "-cpu-used", "5")
INTERLACED = ("-flags", "+ildct+ilme", "-x264-params", "tff=1")
MPEG2 = {"codec": "mpeg2video", "extra": ("-bf", "2")}
CONSTANT: list[tuple[str, Rate, dict[str, Any]]] = [
    ("b_frames.mp4", Rate(25), {"bframes": 3}),
    ("intra.mov", Rate(25), {"codec": "mjpeg", "pixel_format": "yuvj422p"}),
    ("film.mp4", Rate(24000, 1001), {}),
    ("film.mkv", Rate(24000, 1001), {}),
    ("ntsc.mkv", Rate(30000, 1001), {}),
    ("ntsc.ts", Rate(30000, 1001), {}),
    ("pal.ts", Rate(25), {}),
    ("fields.mts", Rate(25), {"extra": (*INTERLACED, "-f", "mpegts")}),
    ("high.mp4", Rate(100), {}),
    ("high.mov", Rate(120000, 1001), {}),
    ("high.mkv", Rate(120000, 1001), {"frames": 260, "size": (160, 90)}),
    ("double.ts", Rate(60000, 1001), {}),
    ("slow.mp4", Rate(12), {}),
    ("fifteen.mkv", Rate(15), {}),
    ("simple.avi", Rate(25), {"codec": "mpeg4", "bframes": 0}),
    ("b_frames.avi", Rate(25), {"codec": "mpeg4", "extra": ("-bf", "2")}),
    ("h264.avi", Rate(25), {}),
    ("program.mpg", Rate(25), MPEG2),
    ("card.mxf", Rate(25), MPEG2),
    ("web.flv", Rate(30), {}),
    ("late.mp4", Rate(25), {"start_seconds": Fraction(2, 5)}),
    ("fragments.mp4", Rate(25), {"extra": ("-movflags", "frag_keyframe+empty_moov")}),
    (
        "hidden_frames.webm",
        Rate(25),
        {"codec": "libvpx", "extra": HIDDEN},
    ),
    ("next.mkv", Rate(25), {"codec": "libvpx-vp9", "extra": ("-cpu-used", "8")}),
    ("ten_bit.mp4", Rate(24), {"codec": "libx265", "pixel_format": "yuv420p10le"}),
    ("one.mp4", Rate(25), {"frames": 1}),
    ("two.mkv", Rate(25), {"frames": 2}),
]


@pytest.mark.parametrize("ffmpeg", FFMPEGS)
@pytest.mark.parametrize(("name", "rate", "options"), CONSTANT, ids=[case[0] for case in CONSTANT])
def test_constant_rates_are_exact(
    make: Make, name: str, rate: Rate, options: dict[str, Any], ffmpeg: str
) -> None:
    path = make(name, rate=rate, **{"frames": FRAMES, **options})
    picture = picture_of(path)
    shown = sorted(decoded_times(path, ffmpeg))
    assert (picture.rate, picture.variable) == (rate, False)
    assert (picture.frames, picture.start_pts) == (len(shown), shown[0])
    assert picture.seconds == rate.seconds(len(shown))
    for index, pts in enumerate(shown):
        assert abs((pts - picture.start_pts) * picture.time_base - rate.seconds(index)) <= picture.time_base


@pytest.mark.parametrize("ffmpeg", FFMPEGS)
@pytest.mark.parametrize("name", ["phone.mp4", "phone.mkv", "phone.ts", "phone.mov", "phone.webm"])
def test_variable_rates_are_told_from_times(make: Make, name: str, ffmpeg: str) -> None:
    codec = "libvpx" if name.endswith("webm") else "libx264"
    path = make(
        name,
        frames=FRAMES,
        variable_times=phone_times(FRAMES),
        rate=Rate(30),
        codec=codec,
        size=(160, 90),
    )
    picture = picture_of(path)
    shown = sorted(decoded_times(path, ffmpeg))
    assert picture.variable
    assert (picture.frames, picture.start_pts) == (len(shown), shown[0])
    span = (shown[-1] - shown[0]) * picture.time_base
    assert span < picture.seconds <= span + Fraction(1, 16)
    assert abs(picture.rate.fraction - picture.frames / picture.seconds) < Fraction(1, 1000)


@pytest.mark.parametrize("ffmpeg", FFMPEGS)
@pytest.mark.parametrize("start", ["0.3", "0.5", "0.88"])
def test_frames_that_an_edit_list_leaves_out_do_not_count(
    make: Make, tmp_path: Path, start: str, ffmpeg: str
) -> None:
    whole = make("b_frames.mp4", rate=Rate(25), frames=FRAMES, bframes=3)
    cut = tmp_path / "cut.mp4"
    run_ffmpeg("-ss", start, "-t", "0.3", "-i", whole, "-c", "copy", cut)
    picture = picture_of(cut)
    shown = sorted(decoded_times(cut, ffmpeg))
    assert (picture.frames, picture.start_pts) == (len(shown), shown[0])
    assert picture.frames < FRAMES


@pytest.mark.parametrize("ffmpeg", FFMPEGS)
def test_a_stream_that_starts_within_a_group(make: Make, tmp_path: Path, ffmpeg: str) -> None:
    whole = make("pal.ts", rate=Rate(25), frames=FRAMES)
    part = tmp_path / "part.ts"
    part.write_bytes(whole.read_bytes()[20 * 188 :])
    picture = picture_of(part)
    shown = sorted(decoded_times(part, ffmpeg))
    assert (picture.frames, picture.start_pts) == (len(shown), shown[0])
    assert picture.frames < FRAMES


@pytest.mark.parametrize("ffmpeg", FFMPEGS)
def test_a_stream_that_is_cut_off_has_what_is_there(make: Make, tmp_path: Path, ffmpeg: str) -> None:
    whole = make("pal.ts", rate=Rate(25), frames=FRAMES)
    part = tmp_path / "part.ts"
    part.write_bytes(whole.read_bytes()[: whole.stat().st_size * 2 // 3])
    picture = picture_of(part)
    shown = sorted(decoded_times(part, ffmpeg))
    assert (picture.frames, picture.start_pts) == (len(shown), shown[0])
    assert 0 < picture.frames < FRAMES


@pytest.mark.parametrize(
    ("flags", "cut", "said"),
    [
        (("-movflags", "faststart"), "moov", "at least {} bytes are missing"),
        (("-movflags", "faststart"), "mdat", "its last {} bytes are missing"),
        ((), "mdat", "at least {} bytes are missing"),
    ],
)
def test_a_file_that_is_cut_off_says_no_more_than_can_be_known(
    tmp_path: Path, flags: tuple[str, ...], cut: str, said: str
) -> None:
    path = make_numbered(tmp_path / "a.mp4", frames=FRAMES, extra=flags)
    data = path.read_bytes()
    start = data.index(cut.encode()) - 4
    end = start + int.from_bytes(data[start : start + 4], "big")
    path.write_bytes(data[: start + 200])
    with pytest.raises(MediaError, match="is cut off: ") as caught:
        probe(path)
    assert said.format(f"{end - start - 200:,}") in caught.value.message
    if said.startswith("its last"):
        assert len(data) == end, "the number is that of the whole file"


def test_a_long_mp4_is_not_read_through(tmp_path: Path) -> None:
    path = make_numbered(tmp_path / "a.mp4", frames=200, extra=("-movflags", "faststart"))
    facts = probe(path)
    data = bytearray(path.read_bytes())
    start = data.index(b"mdat") + 4
    # All but the first and the last second.
    data[start + (len(data) - start) // 8 : len(data) - (len(data) - start) // 8] = bytes(
        (len(data) - start) - 2 * ((len(data) - start) // 8)
    )
    path.write_bytes(data)
    hollow = probe(path)
    assert hollow.picture == facts.picture
    assert hollow.picture is not None
    assert hollow.picture.frames == 200


@pytest.mark.parametrize(
    ("name", "reader"),
    [
        ("b_frames.mp4", "timing_of_tables"),
        ("card.mxf", "timing_of_tables"),
        ("film.mkv", "timing_of_packets"),
        ("hidden_frames.webm", "timing_by_decoding"),
    ],
)
def test_each_container_is_read_in_the_quickest_right_way(
    make: Make, monkeypatch: pytest.MonkeyPatch, name: str, reader: str
) -> None:
    used: list[str] = []

    def watch(way: str) -> Callable[..., object]:
        original = getattr(timing, way)

        def watched(*arguments: object) -> object:
            result = original(*arguments)
            used.extend([way] if result else [])
            return result

        return watched

    for way in ("timing_of_tables", "timing_of_packets", "timing_by_decoding"):
        monkeypatch.setattr(f"desk.footage.probe.{way}", watch(way))
    rate, options = next((rate, options) for case, rate, options in CONSTANT if case == name)
    probe(make(name, rate=rate, **{"frames": FRAMES, **options}))
    assert used == [reader]


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_rotation(make: Make, rotation: int) -> None:
    picture = probe(make(f"turned_{rotation}.mp4", frames=3, rotation=rotation)).picture
    assert picture is not None
    assert picture.rotation_degrees == rotation
    assert (picture.width, picture.height) == (320, 180)
    assert picture.upright_size == ((180, 320) if rotation % 180 else (320, 180))


def test_pixels_that_are_not_square(make: Make) -> None:
    picture = probe(make("wide_pixels.mp4", frames=3, size=(144, 108), pixel_aspect=Fraction(4, 3))).picture
    assert picture is not None
    assert picture.pixel_aspect == Fraction(4, 3)
    assert picture.upright_size == (192, 108)


def test_levels_and_colour(make: Make) -> None:
    full = probe(make("full.mp4", frames=3, full_range=True)).picture
    limited = probe(make("limited.mp4", frames=3)).picture
    assert full is not None
    assert limited is not None
    assert (full.full_range, limited.full_range) == (True, False)
    assert (full.pixel_format, limited.pixel_format) == ("yuv420p", "yuv420p")
    assert (limited.matrix, limited.primaries, limited.transfer) == ("bt709", "bt709", "bt709")


def test_ten_bits(make: Make) -> None:
    picture = probe(make("ten.mp4", frames=3, codec="libx265", pixel_format="yuv420p10le")).picture
    assert picture is not None
    assert (picture.codec, picture.pixel_format, picture.bit_depth) == ("hevc", "yuv420p10le", 10)


def test_two_fields(make: Make) -> None:
    fields = probe(make("fields.mts", rate=Rate(25), frames=FRAMES, extra=(*INTERLACED, "-f", "mpegts")))
    frames = probe(make("limited.mp4", frames=3))
    assert fields.picture is not None
    assert frames.picture is not None
    assert (fields.picture.interlaced, frames.picture.interlaced) == (True, False)


def test_the_file_itself(make: Make) -> None:
    path = make("limited.mp4", frames=3)
    facts = probe(path)
    assert facts.size_bytes == path.stat().st_size
    assert facts.modified_ns == path.stat().st_mtime_ns
    assert facts.sample_hash == sample_hash(path)
    assert facts.container == "mov,mp4,m4a,3gp,3g2,mj2"


@pytest.mark.parametrize(
    ("name", "label", "options"),
    [
        ("timecode.mov", "09:58:30:05", {"rate": Rate(25)}),
        ("drop.mov", "01:00:00;02", {"rate": Rate(30000, 1001)}),
        ("timecode.mxf", "10:00:00:00", {"rate": Rate(25), **MPEG2}),
        ("none.mov", "", {"rate": Rate(25)}),
    ],
)
def test_timecode(make: Make, name: str, label: str, options: dict[str, Any]) -> None:
    assert probe(make(name, frames=3, timecode=label, **options)).timecode == label


@pytest.mark.parametrize(
    ("number", "tags", "camera"),
    [
        (
            1,
            {"com.apple.quicktime.make": "Ferry Optics", "com.apple.quicktime.model": "F-2"},
            "Ferry Optics F-2",
        ),
        (2, {"com.android.manufacturer": "Kiosk", "com.android.model": "Kiosk 9"}, "Kiosk 9"),
        (3, {"model": "Pier\tCam\n7"}, "Pier Cam 7"),
        (4, {"com.apple.quicktime.location.ISO6709": "+57.7+011.9/", "comment": "at home"}, ""),
    ],
)
def test_camera_and_nothing_else(make: Make, number: int, tags: dict[str, str], camera: str) -> None:
    facts = probe(make(f"camera_{number}.mov", frames=3, metadata=tags))
    assert facts.camera == camera
    assert "57.7" not in repr(facts)


@pytest.mark.parametrize(
    ("name", "sound_codec", "tolerance_seconds"),
    [
        ("sound.mov", "pcm_s16le", Fraction(0)),
        ("sound.mp4", "aac", Fraction(1024, 48000)),
        ("sound.mkv", "pcm_s24le", Fraction(1, 500)),
        ("sound.ts", "aac", Fraction(3 * 1024, 48000)),
    ],
)
def test_length_of_sound(make: Make, name: str, sound_codec: str, tolerance_seconds: Fraction) -> None:
    path = make(name, frames=50, sound="beeps", sound_codec=sound_codec)
    facts = probe(path)
    assert facts.sound is not None
    assert facts.picture is not None
    assert (facts.sound.sample_rate_hz, facts.sound.channels, facts.sound.layout) == (48000, 1, "mono")
    assert facts.sound.codec == sound_codec
    assert abs(facts.sound.seconds - 2) <= tolerance_seconds
    assert facts.picture.frames == 50


@pytest.mark.parametrize(
    ("name", "arguments", "layout"),
    [
        ("a.wav", ("-ac", "2"), "stereo"),
        ("a.flac", ("-ac", "1"), "mono"),
        ("a.mp3", ("-ac", "2"), "stereo"),
        ("a.m4a", ("-ac", "2"), "stereo"),
        ("a.ogg", ("-ac", "2", "-c:a", "libopus"), "stereo"),
        ("a.aac", ("-ac", "2"), "stereo"),
        ("surround.wav", ("-ac", "6"), "5.1"),
    ],
)
def test_sound_alone(tmp_path: Path, name: str, arguments: tuple[str, ...], layout: str) -> None:
    path = tmp_path / name
    run_ffmpeg("-f", "lavfi", "-i", "sine=440:r=48000:d=1.5", *arguments, path)
    facts = probe(path)
    assert facts.picture is None
    assert facts.sound is not None
    assert facts.sound.layout == layout
    assert abs(float(facts.sound.seconds) - len(read_sound(path)) / 48000) < 0.1


@pytest.mark.parametrize("name", ["cover.mp3", "cover.m4a", "cover.mp4"])
def test_a_cover_is_no_picture_of_footage(make: Make, tmp_path: Path, name: str) -> None:
    cover = tmp_path / "cover.png"
    run_ffmpeg("-f", "lavfi", "-i", "color=red:s=64x64", "-frames:v", "1", cover)
    path = tmp_path / name
    if name.endswith("mp4"):
        # The cover comes before the footage.
        footage = make("limited.mp4", frames=3)
        run_ffmpeg(
            *("-i", cover, "-i", footage, "-map", "0", "-map", "1", "-c:v:0", "png", "-c:v:1", "copy"),
            *("-disposition:v:0", "attached_pic", path),
        )
        picture = probe(path).picture
        assert picture is not None
        assert (picture.codec, picture.frames, picture.width) == ("h264", 3, 320)
    else:
        run_ffmpeg(
            *("-f", "lavfi", "-i", "sine=440:d=1", "-i", cover, "-map", "0", "-map", "1", "-c:v", "png"),
            *("-disposition:v:0", "attached_pic", path),
        )
        assert probe(path).picture is None


def test_names_with_signs_in_them(make: Make, tmp_path: Path) -> None:
    data = make("limited.mp4", frames=3).read_bytes()
    names = [
        "-i.mp4",
        "a%03d b.mp4",
        'it\'s "x".mp4',
        "line\nbreak.mp4",
        "ferry ⛴️.mp4",
        "http:x.mp4",
        "a,b;c[0].mp4",
    ]
    for name in names:
        (tmp_path / name).write_bytes(data)
        assert probe(tmp_path / name).picture == probe(make("limited.mp4", frames=3)).picture
    folder = Path.cwd()
    os.chdir(tmp_path)
    try:
        assert probe(Path("-i.mp4")).picture is not None
    finally:
        os.chdir(folder)


def test_footage_is_not_written_to(make: Make, tmp_path: Path) -> None:
    path = tmp_path / "locked.mkv"
    path.write_bytes(make("film.mkv", rate=Rate(24000, 1001), frames=FRAMES).read_bytes())
    before = path.read_bytes(), path.stat().st_mtime_ns
    path.chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        probe(path)
        assert (path.read_bytes(), path.stat().st_mtime_ns) == before
        assert list(tmp_path.iterdir()) == [path]
    finally:
        tmp_path.chmod(0o755)


def test_a_long_scan_can_be_stopped(make: Make) -> None:
    def stop() -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        probe(make("film.mkv", rate=Rate(24000, 1001), frames=FRAMES), check=stop)
