"""Thumbnails through a bench: what is shown, what is decoded, and what is kept."""

import dataclasses
import threading
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QObject
from PySide6.QtGui import QImage

from desk.errors import MediaError
from desk.film.media import PictureFacts
from desk.film.model import Card, Clip, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.footage.thumbnail import Picture, Wanted, pictures
from desk.ui.bench import Bench
from desk.ui.thumbnail_making import Maker
from desk.ui.thumbnails import Thumbnails
from tests.making import make_numbered, read_pictures, run_ffmpeg
from tests.ui.conftest import MakeBench

pytestmark = pytest.mark.ffmpeg

TIMEOUT_MS = 20_000
ONE, TWO, STILL = "footage/one.mp4", "footage/two.mp4", "still.png"


class Counting:
    """Decodes as the program does, and notes what it was asked for."""

    def __init__(self) -> None:
        self.orders: list[tuple[str, list[Wanted]]] = []
        self.fault: MediaError | None = None
        self.go_on = threading.Event()
        self.go_on.set()

    def __call__(
        self, path: Path, facts: PictureFacts, wanted: Sequence[Wanted], *, check: Callable[[], None] | None
    ) -> Iterator[Picture | None]:
        self.orders.append((path.name, list(wanted)))
        if self.fault:
            raise self.fault
        for picture in pictures(path, facts, wanted, check=check):
            assert self.go_on.wait(20)
            yield picture

    @property
    def decoded(self) -> int:
        """How many places were asked for."""
        return sum(len(wanted) for _, wanted in self.orders)


def clip_of(source: str, *, seconds: int = 2, **options: object) -> Clip:
    return Clip(id=f"c{len(source)}-{source[8:11]}", source=source, length_frames=25 * seconds, **options)


FILM = Film(
    title="Low Water",
    rate=Rate(25),
    size=Size(320, 180),
    start_frames=90_000,
    scenes=(
        Scene(id="s1", number="1", content=SceneContent(clips=(clip_of(ONE), clip_of(TWO)))),
        Scene(id="s2", number="2", content=SceneContent(clips=(clip_of("footage/missing.mp4"),))),
    ),
    cards=(Card(id="k1", lines=("Low Water",), picture=STILL),),
    order=(Placement(entry="k1"), Placement(entry="s1"), Placement(entry="s2")),
    next_id=100,
)


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("thumbnails")
    make_numbered(folder / "one.mp4", frames=60)
    make_numbered(folder / "two.mp4", frames=60, start=1000)
    return folder


@pytest.fixture
def bench(make_bench: MakeBench, tmp_path: Path, footage: Path, qtbot) -> Bench:
    """A film whose files were looked at; scene 2 has a file that is missing."""
    made = make_bench(FILM, tmp_path / "film")
    folder = made.session.folder
    (folder / "footage").mkdir()
    for name in ("one.mp4", "two.mp4"):
        (folder / "footage" / name).write_bytes((footage / name).read_bytes())
    run_ffmpeg("-f", "lavfi", "-i", "color=c=0x336699:s=64x36", "-frames:v", "1", folder / STILL)
    look(made, qtbot)
    return made


def look(bench: Bench, qtbot) -> None:
    with qtbot.waitSignal(bench.media.changed, timeout=TIMEOUT_MS):
        bench.media.look()


@pytest.fixture
def new(bench: Bench) -> Iterator[Callable[..., tuple[Thumbnails, Counting]]]:
    owner = QObject()

    def make(**options: object) -> tuple[Thumbnails, Counting]:
        counting = Counting()
        maker = Maker(pictures=counting)
        made = Thumbnails(bench.session, bench.media, bench.jobs, owner, maker=maker, **options)
        return made, counting

    yield make
    owner.deleteLater()


def shown(qtbot, thumbnails: Thumbnails, source: str, frame: float, *, height_px: int = 96) -> QImage:
    """Ask as a view does, again and again, until the picture is there."""
    seconds = Fraction(frame) / 25
    qtbot.waitUntil(
        lambda: thumbnails.picture(source, seconds, height_px=height_px) is not None, timeout=TIMEOUT_MS
    )
    image = thumbnails.picture(source, seconds, height_px=height_px)
    assert image is not None
    return image


def number(image: QImage) -> int:
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    pixels = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), grey.bytesPerLine())
    return read_pictures([pixels[:, : grey.width()]])[0].number


def idle(qtbot, bench: Bench) -> None:
    """Wait until what was asked for is made or given up."""
    qtbot.waitUntil(lambda: not bench.jobs.jobs, timeout=TIMEOUT_MS)


def kept(bench: Bench, name: str = "thumbnails") -> list[Path]:
    return sorted((bench.session.folder / ".desk" / name).iterdir())


def test_the_frame_at_a_place_is_shown(qtbot, new):
    thumbnails, _ = new()
    assert thumbnails.picture(ONE, Fraction(1)) is None
    for source, frame in ((ONE, 25), (TWO, 0), (ONE, 59), (TWO, 33.5)):
        image = shown(qtbot, thumbnails, source, frame)
        assert number(image) == int(frame) + (1000 if source == TWO else 0)
        assert image.deviceIndependentSize().height() == 96
        assert image.width() == pytest.approx(image.height() * 16 / 9, abs=1)


def test_who_asks_is_told_when_it_is_there(qtbot, new):
    thumbnails, _ = new()
    with qtbot.waitSignal(thumbnails.made, timeout=TIMEOUT_MS) as told:
        thumbnails.picture(TWO, Fraction(0))
    assert told.args == [TWO]
    assert thumbnails.picture(TWO, Fraction(0)) is not None


def test_what_is_painted_together_is_decoded_in_one_go(qtbot, bench, new):
    thumbnails, counting = new()
    for frame in (50, 10, 30):
        thumbnails.picture(ONE, Fraction(frame, 25))
    shown(qtbot, thumbnails, ONE, 30)
    idle(qtbot, bench)
    ((name, wanted),) = counting.orders
    assert name == "one.mp4"
    assert [item.seconds for item in wanted] == [Fraction(frame, 25) for frame in (10, 30, 50)]


def test_what_was_asked_for_last_comes_first(qtbot, bench, new):
    thumbnails, counting = new()
    thumbnails.picture(ONE, Fraction(0))
    thumbnails.picture(TWO, Fraction(0))
    thumbnails.picture(ONE, Fraction(1))
    thumbnails.picture(TWO, Fraction(1))
    thumbnails.colours(clip_of(ONE), 1)
    qtbot.waitUntil(lambda: len(counting.orders) == 3, timeout=TIMEOUT_MS)
    idle(qtbot, bench)
    assert [name for name, _ in counting.orders] == ["two.mp4", "one.mp4", "one.mp4"]


def test_all_places_within_a_frame_are_one_picture(qtbot, bench, new):
    thumbnails, counting = new()
    first = shown(qtbot, thumbnails, ONE, 12)
    assert shown(qtbot, thumbnails, ONE, 12.9).cacheKey() == first.cacheKey()
    idle(qtbot, bench)
    assert counting.decoded == 1


def test_what_is_on_disk_is_not_decoded_again(qtbot, bench, new):
    thumbnails, counting = new()
    before = shown(qtbot, thumbnails, ONE, 25)
    again, not_asked = new()
    after = shown(qtbot, again, ONE, 25)
    assert number(after) == number(before) == 25
    assert counting.decoded == 1
    assert not_asked.decoded == 0
    # Another height is another picture.
    assert shown(qtbot, again, ONE, 25, height_px=48).deviceIndependentSize().height() == 48
    assert not_asked.decoded == 1


@pytest.mark.parametrize("damage", [b"", b"not a picture", None])
def test_a_damaged_file_on_disk_is_made_again(qtbot, bench, new, damage):
    thumbnails, _ = new()
    shown(qtbot, thumbnails, ONE, 25)
    idle(qtbot, bench)
    (path,) = kept(bench)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] if damage is None else damage)
    again, counting = new()
    assert number(shown(qtbot, again, ONE, 25)) == 25
    assert counting.decoded == 1
    idle(qtbot, bench)
    assert path.read_bytes() == whole


def test_a_changed_file_has_new_pictures(qtbot, bench, new, footage):
    thumbnails, _ = new()
    assert number(shown(qtbot, thumbnails, ONE, 25)) == 25
    path = bench.session.folder / ONE
    path.write_bytes((footage / "two.mp4").read_bytes())
    with qtbot.waitSignal(thumbnails.made, timeout=TIMEOUT_MS) as told:
        look(bench, qtbot)
    assert told.args == [ONE]
    assert thumbnails.picture(ONE, Fraction(1)) is None
    assert number(shown(qtbot, thumbnails, ONE, 25)) == 1025


def test_what_was_being_made_of_a_changed_file_is_dropped(qtbot, bench, new, footage):
    thumbnails, counting = new()
    counting.go_on.clear()
    thumbnails.picture(ONE, Fraction(1))
    qtbot.waitUntil(lambda: bool(counting.orders), timeout=TIMEOUT_MS)
    (bench.session.folder / ONE).write_bytes((footage / "two.mp4").read_bytes())
    look(bench, qtbot)
    counting.go_on.set()
    idle(qtbot, bench)
    assert thumbnails.picture(ONE, Fraction(1)) is None
    assert number(shown(qtbot, thumbnails, ONE, 25)) == 1025


def test_a_source_that_cannot_be_read_is_asked_once(qtbot, bench, new):
    thumbnails, counting = new()
    counting.fault = MediaError("It is broken.")
    thumbnails.picture(ONE, Fraction(0))
    qtbot.waitUntil(lambda: len(counting.orders) == 1, timeout=TIMEOUT_MS)
    idle(qtbot, bench)
    for frame in range(10):
        assert thumbnails.picture(ONE, Fraction(frame, 25)) is None
    assert thumbnails.colours(clip_of(ONE), 4) is None
    idle(qtbot, bench)
    assert len(counting.orders) == 1
    counting.fault = None
    make_numbered(bench.session.folder / ONE, frames=30, start=7)
    look(bench, qtbot)
    assert number(shown(qtbot, thumbnails, ONE, 0)) == 7


def test_a_fault_of_our_own_is_not_tried_for_ever(qtbot, bench, new, caplog):
    thumbnails, counting = new()
    counting.fault = ZeroDivisionError("ours")
    thumbnails.picture(ONE, Fraction(0))
    qtbot.waitUntil(lambda: "ours" in caplog.text, timeout=TIMEOUT_MS)
    idle(qtbot, bench)
    assert thumbnails.picture(ONE, Fraction(0)) is None
    assert len(counting.orders) == 1


def test_a_missing_source_has_none(qtbot, bench, new):
    thumbnails, counting = new()
    assert thumbnails.picture("footage/missing.mp4", Fraction(0)) is None
    assert thumbnails.colours(clip_of("footage/missing.mp4"), 3) is None
    shown(qtbot, thumbnails, ONE, 0)
    assert [name for name, _ in counting.orders] == ["one.mp4"]


def test_what_is_asked_before_the_files_were_looked_at_is_told_of_later(qtbot, make_bench, tmp_path, footage):
    bench = make_bench(FILM, tmp_path / "new")
    (bench.session.folder / "footage").mkdir()
    (bench.session.folder / ONE).write_bytes((footage / "one.mp4").read_bytes())
    assert bench.thumbnails.picture(ONE, Fraction(1)) is None
    with qtbot.waitSignal(bench.thumbnails.made, timeout=TIMEOUT_MS):
        look(bench, qtbot)
    assert number(shown(qtbot, bench.thumbnails, ONE, 25)) == 25


def test_a_still_picture(qtbot, new):
    thumbnails, counting = new()
    image = shown(qtbot, thumbnails, STILL, 0, height_px=36)
    colour = image.pixelColor(10, 10)
    assert (colour.red(), colour.green(), colour.blue()) == pytest.approx((0x33, 0x66, 0x99), abs=3)
    assert counting.decoded == 0


def test_nothing_is_kept_where_the_disk_refuses(qtbot, bench, new):
    (bench.session.folder / ".desk").mkdir(exist_ok=True)
    for name in ("thumbnails", "colours"):
        (bench.session.folder / ".desk" / name).write_text("in the way")
    thumbnails, _ = new()
    assert number(shown(qtbot, thumbnails, ONE, 25)) == 25
    assert colours(qtbot, thumbnails, clip_of(ONE), 2)


def test_pictures_not_used_for_longest_leave_the_memory(qtbot, bench, new):
    one_picture = 96 * 171 * 4
    thumbnails, counting = new(limit_bytes=3 * one_picture)
    for frame in (0, 10, 20):
        shown(qtbot, thumbnails, ONE, frame)
    assert thumbnails.picture(ONE, Fraction(0)) is not None
    shown(qtbot, thumbnails, ONE, 30)
    assert thumbnails.picture(ONE, Fraction(0)) is not None
    assert thumbnails.picture(ONE, Fraction(10, 25)) is None
    # It is on disk still.
    assert number(shown(qtbot, thumbnails, ONE, 10)) == 10
    idle(qtbot, bench)
    assert counting.decoded == 4


def test_closing_while_something_is_asked_for(qtbot, bench, new):
    thumbnails, _ = new()
    thumbnails.picture(ONE, Fraction(0))
    bench.jobs.shut_down()
    qtbot.wait(60)
    assert thumbnails.picture(ONE, Fraction(0)) is None


# Colours


def colours(qtbot, thumbnails: Thumbnails, clip: Clip, count: int) -> list[tuple[int, int, int]]:
    qtbot.waitUntil(lambda: thumbnails.colours(clip, count) is not None, timeout=TIMEOUT_MS)
    found = thumbnails.colours(clip, count)
    assert found is not None
    return [(colour.red(), colour.green(), colour.blue()) for colour in found]


RED, BLUE = (200, 30, 40), (30, 60, 190)


@pytest.fixture
def coloured(bench: Bench, qtbot) -> Bench:
    """Source one is red for two seconds, then blue for two."""
    parts = [f"color=c=0x{bytes(colour).hex()}:s=320x180:r=25:d=2" for colour in (RED, BLUE)]
    joined = (
        "concat,format=gbrp,scale=out_color_matrix=bt709:flags=accurate_rnd+full_chroma_int,format=yuv444p"
    )
    run_ffmpeg(
        "-f", "lavfi", "-i", parts[0], "-f", "lavfi", "-i", parts[1], "-filter_complex", joined,
        "-c:v", "libx264", "-crf", "4", "-colorspace", "bt709", bench.session.folder / ONE,
    )  # fmt: skip
    look(bench, qtbot)
    return bench


def test_colours_are_those_that_were_filmed(qtbot, coloured, new):
    thumbnails, _ = new()
    found = colours(qtbot, thumbnails, clip_of(ONE, seconds=4), 8)
    assert found[:4] == [pytest.approx(RED, abs=3)] * 4
    assert found[4:] == [pytest.approx(BLUE, abs=3)] * 4


def test_colours_follow_in_point_and_speed(qtbot, coloured, new):
    thumbnails, _ = new()
    late = clip_of(ONE, seconds=1, in_seconds=Fraction(5, 2))
    assert colours(qtbot, thumbnails, late, 3) == [pytest.approx(BLUE, abs=3)] * 3
    fast = clip_of(ONE, seconds=1, in_seconds=Fraction(1), speed=Fraction(2))
    red, blue = colours(qtbot, thumbnails, fast, 2)
    assert (red, blue) == (pytest.approx(RED, abs=3), pytest.approx(BLUE, abs=3))


def test_colours_are_kept_and_a_trim_meets_them(qtbot, coloured, new):
    thumbnails, counting = new()
    clip = clip_of(ONE, seconds=4)
    before = colours(qtbot, thumbnails, clip, 8)
    idle(qtbot, coloured)
    decoded = counting.decoded
    assert decoded == 8
    trimmed = dataclasses.replace(clip, length_frames=96, in_seconds=Fraction(2, 25))
    assert len(colours(qtbot, thumbnails, trimmed, 8)) == 8
    idle(qtbot, coloured)
    assert counting.decoded - decoded <= 2
    again, not_asked = new()
    assert colours(qtbot, again, clip, 8) == before
    assert not_asked.decoded == 0


@pytest.mark.parametrize("damage", [b"", b"{}", b"no colours at all"])
def test_damaged_colours_on_disk_are_read_again(qtbot, coloured, new, damage):
    thumbnails, _ = new()
    before = colours(qtbot, thumbnails, clip_of(ONE), 2)
    idle(qtbot, coloured)
    (path,) = kept(coloured, "colours")
    path.write_bytes(damage)
    again, counting = new()
    assert colours(qtbot, again, clip_of(ONE), 2) == before
    assert counting.decoded == 2
