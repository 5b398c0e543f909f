"""Chapters, checked against what ffmpeg reads back and against the WebVTT tables.

Sources: FFmpeg's formats documentation, "Metadata" (order, escapes, time base); W3C "WebVTT: The Web Video
Text Tracks Format" (timestamps, escapes). Clock values are worked out by hand as frames / rate, to the
nearest millisecond.
"""

import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import av
import imageio_ffmpeg
import pytest

from desk.assembly.chapters import chapters_text, chapters_vtt, entry_name, escape_metadata, format_clock
from desk.film.model import Card, CardKind, Clip, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.film.timing import Include, Layout, lay_out

PROGRAMS = {"bundled": imageio_ffmpeg.get_ffmpeg_exe(), "system": shutil.which("ffmpeg", path="/usr/bin")}
NTSC_FILM = Rate(24000, 1001)


def film_of(rate: Rate, sluglines: list[str], *, title: str = "The last ferry", frames: int = 25) -> Film:
    scenes = tuple(
        Scene(
            id=f"s{index}",
            number=str(index + 1),
            slugline=slugline,
            content=SceneContent(clips=(Clip(id=f"c{index}", source="a.mov", length_frames=frames),)),
        )
        for index, slugline in enumerate(sluglines)
    )
    return Film(
        title=title,
        rate=rate,
        size=Size(1280, 720),
        start_frames=0,
        scenes=scenes,
        order=tuple(Placement(entry=scene.id) for scene in scenes),
    )


def laid_out(film: Film) -> Layout:
    return lay_out(film, Include.ALL)


def test_names_of_chapters():
    assert (
        entry_name(Scene(id="s", number="4A", slugline="INT. BOATHOUSE - NIGHT"))
        == "4A INT. BOATHOUSE - NIGHT"
    )
    assert entry_name(Scene(id="s", number="4A", slugline=" two\nlines\t\x00 ")) == "4A two lines"
    assert entry_name(Scene(id="s", number="")) == "Scene"
    assert entry_name(Card(id="c", name="Opening")) == "Opening"
    assert entry_name(Card(id="c", kind=CardKind.CREDITS)) == "Credits"


def test_the_file_is_in_the_order_that_ffmpeg_asks_for():
    film = film_of(NTSC_FILM, ["INT. KIOSK - DAY", "EXT. QUAY - DUSK"])
    assert chapters_text(film, laid_out(film)) == (
        ";FFMETADATA1\ntitle=The last ferry\n"
        "[CHAPTER]\nTIMEBASE=1001/24000\nSTART=0\nEND=25\ntitle=1 INT. KIOSK - DAY\n"
        "[CHAPTER]\nTIMEBASE=1001/24000\nSTART=25\nEND=50\ntitle=2 EXT. QUAY - DUSK\n"
    )


def test_escapes():
    # FFmpeg's documentation: `=`, `;`, `#`, `\` and a newline take a backslash; spaces count.
    assert escape_metadata(r"A=B; #1 \ x") == r"A\=B\; \#1 \\ x"
    assert escape_metadata("two\nlines") == "two\\\nlines"
    # As read back below: ffmpeg joins the next line to a value that ends in an escaped backslash.
    assert escape_metadata("end \\") == "end \\\\ "


TITLES = [
    r"A=B; #1 \ x",
    "[CHAPTER]",
    "É ferry → 100 %",
    "'quotes' \"too\"",
    ";",
    "#",
    "\\",
    "=" * 3,
    "a\\=b",
]


BACKSLASH = "\\"


def with_metadata(program: str, metadata: Path, made: Path, seconds: float) -> None:
    """Make a tiny film with the chapters and title of a metadata file."""
    arguments = [PROGRAMS[program], "-v", "error", "-f", "lavfi"]
    arguments += ["-i", f"color=s=16x16:r=24000/1001:d={seconds}", "-i", metadata, "-map", "0"]
    arguments += ["-map_metadata", "1", "-map_chapters", "1", "-c:v", "mpeg4", made]
    subprocess.run(arguments, check=True, stdin=subprocess.DEVNULL)


@pytest.mark.ffmpeg
@pytest.mark.parametrize("program", [name for name, path in PROGRAMS.items() if path])
def test_ffmpeg_reads_back_titles_and_times(program: str, tmp_path: Path):
    film = film_of(NTSC_FILM, TITLES, title="T=1; #2 \\ é")
    layout = laid_out(film)
    metadata = tmp_path / "chapters.txt"
    metadata.write_text(chapters_text(film, layout), encoding="utf-8")
    for suffix in (".mkv", ".mp4"):
        made = tmp_path / f"made{suffix}"
        with_metadata(program, metadata, made, float(film.rate.seconds(layout.length_frames)))
        with av.open(made) as container:
            found = container.chapters()
            assert container.metadata["title"] == film.title
        assert [chapter["metadata"]["title"] for chapter in found] == [
            f"{index} {title}{' ' if title[-1] == BACKSLASH else ''}"
            for index, title in enumerate(TITLES, start=1)
        ]
        for index, chapter in enumerate(found):
            # Matroska keeps nanoseconds, MP4 milliseconds.
            start, end = (chapter[key] * chapter["time_base"] for key in ("start", "end"))
            assert abs(start - film.rate.seconds(25 * index)) <= Fraction(1, 1000)
            assert abs(end - film.rate.seconds(25 * index + 25)) <= Fraction(1, 1000)


@pytest.mark.ffmpeg
@pytest.mark.parametrize("program", [name for name, path in PROGRAMS.items() if path])
def test_ffmpeg_reads_an_escaped_line_end(program: str, tmp_path: Path):
    title = "two\nlines; x"
    metadata = tmp_path / "escaped.txt"
    metadata.write_text(f";FFMETADATA1\ntitle={escape_metadata(title)}\n", encoding="utf-8")
    made = tmp_path / "made.mkv"
    with_metadata(program, metadata, made, 0.1)
    with av.open(made) as container:
        assert container.metadata["title"] == title


@pytest.mark.parametrize(
    ("rate", "frame", "clock"),
    [
        (Rate(24), 1, "00:00:00.042"),
        (Rate(24), 23, "00:00:00.958"),
        (Rate(24), 24, "00:00:01.000"),
        (Rate(24), 1440, "00:01:00.000"),
        (Rate(24), 86400, "01:00:00.000"),
        (NTSC_FILM, 24, "00:00:01.001"),
        (NTSC_FILM, 1440, "00:01:00.060"),
        (NTSC_FILM, 86400, "01:00:03.600"),
        (Rate(25), 1, "00:00:00.040"),
        (Rate(25), 24, "00:00:00.960"),
        (Rate(30000, 1001), 1, "00:00:00.033"),
        (Rate(30000, 1001), 25, "00:00:00.834"),
        (Rate(30000, 1001), 107892, "00:59:59.996"),
        (Rate(30000, 1001), 108000, "01:00:03.600"),
    ],
)
def test_clock(rate: Rate, frame: int, clock: str):
    assert format_clock(rate.seconds(frame)) == clock


def test_clock_carries():
    assert format_clock(Fraction(599996, 10000)) == "00:01:00.000"
    assert format_clock(Fraction(360000)) == "100:00:00.000"


def test_vtt_is_in_film_time_and_escaped():
    # W3C WebVTT: `a --> b`, `<i>` and `R&B` may not stand in a payload as they are.
    film = film_of(Rate(24), ["a --> b", "<i>", "R&B"], frames=1440)
    assert chapters_vtt(film, laid_out(film)) == (
        "WEBVTT\n\n"
        "00:00:00.000 --> 00:01:00.000\n1 a --&gt; b\n\n"
        "00:01:00.000 --> 00:02:00.000\n2 &lt;i&gt;\n\n"
        "00:02:00.000 --> 00:03:00.000\n3 R&amp;B\n"
    )


@pytest.mark.ffmpeg
def test_a_demuxer_reads_the_vtt(tmp_path: Path):
    film = film_of(NTSC_FILM, ["INT. KIOSK - DAY", "R&B", "x"])
    path = tmp_path / "chapters.vtt"
    path.write_text(chapters_vtt(film, laid_out(film)), encoding="utf-8")
    with av.open(path) as container:
        stream = container.streams[0]
        packets = [packet for packet in container.demux(stream) if packet.size]
    assert [bytes(packet).decode() for packet in packets] == ["1 INT. KIOSK - DAY", "2 R&amp;B", "3 x"]
    # 25 frames are 1.042708… s.
    assert [round(packet.pts * packet.time_base * 1000) for packet in packets] == [0, 1043, 2085]
