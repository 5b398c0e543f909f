"""How long a frame of 4K takes from any place in its file to a picture of 960 x 540 for the screen.

The footage is HEVC of 10 bits with a key frame every 2 s, about 60 Mbit/s, as cameras make it. Places are
drawn at random over all of it, so that what was decoded before is hardly of use; then it is played on, frame
by frame, and back. What is shown first is a near frame where there is one and it is needed, else the exact
one; in a drag it is wanted while the one before is still being made, which is broken off. Pieces of HD made
of it are played on from one to the next.
"""

import random
import statistics
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QCoreApplication

from desk.cards import drawing
from desk.ffmpeg.program import find_program
from desk.film.media import MediaFacts
from desk.film.model import Film, Framing, Size
from desk.film.rates import Rate
from desk.footage.key_pictures import make_key_pictures
from desk.footage.probe import probe
from desk.footage.proxy import make_proxy
from desk.jobs import CancelToken
from desk.render.cache import PieceStore
from desk.render.encoding import REVIEW
from desk.render.kit import Kit
from desk.render.plan import Footage, Missing, Placed
from desk.render.reel import OnScreen, Reel, reel_of_footage
from desk.render.run import make_piece
from desk.render.showing import Origin, Showing
from desk.ui.viewer.decoding import Decoding
from desk.ui.viewer.kits import Kits
from desk.ui.viewer.pictures import Picture, Wish
from desk.ui.viewer.subject import Kind, Subject
from tests.making import run_ffmpeg

RATE = Rate(25)
SECONDS = 8
VIEW = (960, 540)
FILM = Size(1920, 1080)
HD = (1920, 1080)
_KEY_EVERY = 50
_PLACES = 60
_STEPS = 75


def measure(folder: Path) -> list[str]:
    """Return the lines of a report.

    Args:
        folder: Where footage is kept from run to run.
    """
    source, proxy = _footage(folder), folder / "scrub-proxy.mov"
    facts = probe(source)
    if not proxy.exists():
        make_proxy(source, facts, proxy, program=find_program())
    keys = folder / "scrub-keys.mov"
    start = time.perf_counter()
    make_key_pictures(source, facts, keys, program=find_program())
    taken = time.perf_counter() - start
    bits = f"{source.stat().st_size * 8 / SECONDS / 1e6:.0f} Mbit/s"
    lines = [f"4K HEVC, 10 bits, key frame every {_KEY_EVERY}: {bits}"]
    size = f"{keys.stat().st_size / SECONDS / 1000:.0f} kB for a second of footage"
    lines.append(f"key pictures: made in {taken:.1f} s for {SECONDS} s of footage, {size}")
    reel = reel_of_footage(str(source), facts, RATE, FILM)
    for name, stand_in in (("without a proxy", None), ("with a proxy", proxy)):
        for what, frames in _ways(reel):
            with _showing(folder, source, facts, stand_in) as showing:
                showing.picture(reel, frames[0], *VIEW)
                lines.append(f"{name}, {what}, exact frame: {_told(_timed(showing, reel, frames[1:]))}")
        places = next(_ways(reel))[1]
        for what, dragged in (("at random", False), ("dragged", True)):
            first = _first_shown(_kit(folder, source, facts), stand_in, keys, places, dragged=dragged)
            lines.append(f"{name}, {what}, first shown: {first}")
    cut = _cut(source, facts)
    for placed in cut.placed:
        if not isinstance(placed.piece, Missing):
            kit = _kit(folder, source, facts)
            make_piece(placed.piece, rate=RATE, size=FILM, kit=kit, cancel=CancelToken())
    for name, size, quick in (("960 x 540", VIEW, False), ("HD", HD, False), ("HD, quick", HD, True)):
        with _showing(folder, source, facts, None) as showing:
            played = _timed(showing, cut, range(cut.frames), size, quick=quick)
        lines.append(f"pieces of HD played as {name}: {_told(played)}")
    return lines


def _cut(source: Path, facts: MediaFacts) -> Reel:
    """Return four pieces of 2 s, in another order than they were shot in."""
    placed: list[Placed[OnScreen]] = []
    for index, start in enumerate((4, 0, 6, 2)):
        piece = Footage(
            source=str(source),
            media=facts,
            in_seconds=Fraction(start),
            speed=Fraction(1),
            frames=50,
            framing=Framing(),
        )
        placed.append(Placed(piece=piece, start_frames=50 * index, entry="s1"))
    return Reel(placed=tuple(placed), frames=200, rate=RATE, size=FILM)


def _ways(reel: Reel) -> Iterator[tuple[str, list[int]]]:
    draw = random.Random(1)
    yield "at random", [draw.randrange(reel.frames) for _ in range(_PLACES)]
    yield "on, one by one", list(range(_STEPS))
    yield "back, one by one", list(range(reel.frames - 1, reel.frames - 1 - _STEPS, -1))


def _timed(
    showing: Showing,
    reel: Reel,
    frames: Sequence[int],
    size: tuple[int, int] = VIEW,
    *,
    quick: bool = False,
) -> list[float]:
    taken = []
    for frame in frames:
        start = time.perf_counter()
        showing.picture(reel, frame, *size, quick=quick)
        taken.append((time.perf_counter() - start) * 1000)
    return taken


class _Kits(Kits):
    """Kits of the measured footage alone."""

    def __init__(self, kit: Kit) -> None:
        self._only = kit

    def kit(self, subject: Subject) -> Kit:
        return self._only


def _first_shown(kit: Kit, proxy: Path | None, keys: Path, frames: Sequence[int], *, dragged: bool) -> str:
    """Return how long it takes the viewer from a wish to its first picture, and to near frames alone.

    No near frame is shown where the exact one is at hand. Where what is on is nearer than all others, it
    stays, and the viewer says at once that it is not the frame that is wanted: those places are counted, with
    the time to the exact frame.

    Args:
        kit: Of the footage.
        proxy: Its proxy, or None.
        keys: Its key pictures.
        frames: The places.
        dragged: Whether each is wanted a time drawn at random after the one before, which is still being made
            then, or when the exact frame of that is there.
    """
    (source, facts), app = next(iter(kit.media.items())), QCoreApplication.instance() or QCoreApplication([])
    subject = Subject(
        kind=Kind.FOOTAGE,
        name=source,
        film=Film(title="Scrubbed", rate=RATE, size=FILM, start_frames=0),
        folder=Path(source).parent,
        media={source: facts},
        size=FILM,
        frames=reel_of_footage(source, facts, RATE, FILM).frames,
    )
    decoding = Decoding(
        _Kits(kit),
        lambda kit, check: Showing(
            kit, proxy=lambda path: proxy, key_pictures=lambda path: keys, check=check
        ),
    )
    made: list[tuple[float, Picture]] = []
    decoding.made.connect(lambda place, picture: made.append((time.perf_counter(), picture)))
    draw, on = random.Random(2), None
    taken: list[float] = []
    near: list[float] = []
    stayed: list[float] = []
    for frame in frames:
        made.clear()
        wish = Wish(
            subject=subject, frame=frame, width_px=VIEW[0], height_px=VIEW[1], may_be_near=True, on=on
        )
        start, pause = time.perf_counter(), draw.uniform(0.02, 0.3)
        decoding.want("main", wish)
        while True:
            app.processEvents()
            shown = [(at, picture) for at, picture in made if picture.frame == frame]
            is_exact = any(picture.origin is not Origin.NEAR for _, picture in shown)
            if is_exact or (shown and dragged and time.perf_counter() - start >= pause):
                break
            time.sleep(0.0005)
        waited = (shown[0][0] - start) * 1000
        is_near = shown[0][1].origin is Origin.NEAR
        stays = not is_near and proxy is None and on is not None and abs(frame - on) <= frame % _KEY_EVERY
        (stayed if stays else taken).append(waited)
        if is_near:
            near.append(waited)
        on = frame if is_exact else None
    decoding.close()
    told = _told(taken)
    if near:
        told += f"; near frames, at {len(near)} of {len(frames)} places: {_told(near)}"
    if stayed:
        told += f"; what is on is nearer, and stays, at {len(stayed)}, to the exact frame: {_told(stayed)}"
    return told


def _told(taken: Sequence[float]) -> str:
    ordered = sorted(taken)
    high = ordered[round(0.95 * (len(ordered) - 1))]
    mean = statistics.mean(ordered)
    return f"median {statistics.median(ordered):.1f} ms, 95th percentile {high:.1f} ms, mean {mean:.1f} ms"


@contextmanager
def _showing(
    folder: Path,
    source: Path,
    facts: MediaFacts,
    proxy: Path | None,
) -> Iterator[Showing]:
    with Showing(_kit(folder, source, facts), proxy=lambda path: proxy) as showing:
        yield showing


def _kit(folder: Path, source: Path, facts: MediaFacts) -> Kit:
    return Kit(
        program=find_program(),
        store=PieceStore(folder / "pieces"),
        encoding=REVIEW,
        drawer=drawing,
        film_size=FILM,
        files={str(source): source},
        media={str(source): facts},
    )


def _footage(folder: Path) -> Path:
    """Make 4K footage once: a moving pattern with noise, which costs as many bits as a camera's."""
    path = folder / "scrub.mp4"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        part = folder / "part-scrub.mp4"
        pattern = f"testsrc2=s=3840x2160:r={RATE}:d={SECONDS},noise=alls=8:allf=t,format=yuv420p10le"
        coding = f"log-level=error:keyint={_KEY_EVERY}:min-keyint={_KEY_EVERY}:bframes=3:b-adapt=0"
        run_ffmpeg(
            "-f", "lavfi", "-i", pattern, "-c:v", "libx265", "-preset", "ultrafast", "-b:v", "60M",
            "-x265-params", coding, part,
        )  # fmt: skip
        part.replace(path)
    return path


if __name__ == "__main__":
    print("\n".join(measure(Path(sys.argv[1]))))
