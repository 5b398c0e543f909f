"""Playing pieces of 1080 lines for a minute in the viewer: what is dropped, and how sound stays with picture.

A scene of 12 clips of 5 s at 25 frames a second, 1920x1080; all its pieces are made before. It plays in a
viewer of about 1280x720, drawn into memory, twice: by the machine's clock, and by a stand-in for a sound
device whose clock is 500 millionths fast, which is more than real ones are. Without following it, sound and
picture would be 30 ms apart at the end.
"""

import os
import statistics
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QEventLoop, QObject, QTimer
from PySide6.QtWidgets import QApplication

from desk.cards.fonts import prepare_drawing
from desk.film import edits
from desk.film.model import Clip, Delivery, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken
from desk.render.run import make_piece
from desk.store.project import new_project, open_film
from desk.ui.bench import Bench
from desk.ui.building import clear_bench, lay_bench
from desk.ui.look.theme import Appearance, Theme
from desk.ui.messages import Messages
from desk.ui.viewer.pictures import Picture
from desk.ui.viewer.player import Player
from desk.ui.viewer.sound_output import SoundOutput
from desk.ui.viewer.viewer import Viewer
from tests.making import run_ffmpeg
from tests.ui.viewing import Device

RATE = Rate(25)
SIZE = Size(1920, 1080)
CLIPS, CLIP_SECONDS, SOURCES = 12, 5, 4
FAST = 1.0005
TRIMS = 10
_VIEWER_PX = (1280, 860)


def measure(folder: Path) -> list[str]:
    """Return the lines of a report.

    Args:
        folder: Where footage and pieces are kept from run to run.
    """
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    prepare_drawing()
    owner = QObject()
    theme = Theme(Appearance.DARK, owner)
    theme.apply_to(app)
    opened = open_film(_project(folder / "playing"))
    bench = lay_bench(opened, theme=theme, messages=Messages(parent=owner), parent=owner)
    bench.proxies.turn(on=False)
    bench.media.look()
    _wait(lambda: bool(bench.media.facts))
    bench.cut.open("s1")
    lines = [f"{CLIPS * CLIP_SECONDS} s of pieces of {SIZE}, {RATE} frames a second, {os.cpu_count()} cores"]
    try:
        for name, output in (
            ("the machine's clock", None),
            ("a sound device", Device(time.monotonic, pace=FAST)),
        ):
            lines += _played(bench, name, output)
        lines += _trimmed(bench)
    finally:
        clear_bench(bench)
    return lines


def _played(bench: Bench, name: str, output: Device | None) -> list[str]:
    def make_output(_: QObject | None) -> SoundOutput | None:
        return output

    player = Player(bench, make_output=make_output)
    viewer = Viewer(bench, player=player)
    player.setParent(viewer)
    viewer.resize(*_VIEWER_PX)
    viewer.show()
    _make_pieces(player)
    player.ask_again()
    _wait(lambda: player.picture is not None)
    apart: list[float] = []
    late: list[float] = []

    def note(picture: Picture) -> None:
        place = RATE.samples(picture.frame)
        late.append((player.playing.heard_seconds - place / SAMPLE_RATE_HZ) * 1000)
        if output is not None:
            apart.append((output.heard_samples - place) * 1000 / SAMPLE_RATE_HZ)

    player.playing.showed.connect(note)
    begun, before = time.monotonic(), time.process_time()
    player.play()
    _wait(lambda: not player.is_playing, seconds=CLIPS * CLIP_SECONDS + 60)
    taken, used = time.monotonic() - begun, time.process_time() - before
    size = player.picture.image.size() if player.picture else None
    lines = [
        f"by {name}: {player.dropped} of {player.frames} pictures dropped, {player.shown} shown"
        + (f" at {size.width()}x{size.height()}" if size else ""),
        f"  a picture came {statistics.median(late):.1f} ms after its time, at most {max(late):.1f} ms; "
        f"{used / taken:.0%} of a core",
    ]
    if apart:
        last = apart[-25:]
        lines.append(
            f"  sound ahead of picture at the end {statistics.median(last):.1f} ms, "
            f"over all from {min(apart):.1f} to {max(apart):.1f} ms"
        )
    viewer.shut()
    viewer.deleteLater()
    return lines


def _trimmed(bench: Bench) -> list[str]:
    """Trim the first clip again and again, while it plays and while it stands."""
    player = Player(bench, make_output=_no_output)
    viewer = Viewer(bench, player=player)
    player.setParent(viewer)
    viewer.resize(*_VIEWER_PX)
    viewer.show()
    _wait(lambda: viewer.pieces.ready == ((0, player.frames),))
    player.set_looping(True)
    player.play()
    _wait(lambda: player.shown > 10)
    on: list[float] = []
    for _ in range(TRIMS):
        player.go_to(20)
        _wait(lambda: player.shown > 0 and player.frame > 25)
        begun = time.monotonic()
        bench.session.do(lambda film: edits.trim_tail(film, "s1", "c0", 1))
        waiting = _Waiting(lambda: False, 30, viewer)
        player.playing.showed.connect(waiting.stop)
        waiting.run()
        on.append(time.monotonic() - begun)
    player.pause()
    _wait(lambda: viewer.pieces.ready == ((0, player.frames),))
    made: list[float] = []
    for _ in range(TRIMS):
        begun = time.monotonic()
        bench.session.do(lambda film: edits.trim_tail(film, "s1", "c0", 1))
        waiting = _Waiting(lambda: viewer.pieces.ready == ((0, player.frames),), 30, viewer)
        viewer.pieces.ready_changed.connect(waiting.look)
        waiting.run()
        made.append(time.monotonic() - begun)
    viewer.shut()
    viewer.deleteLater()
    return [
        f"a trim while it plays: plays on after {statistics.median(on) * 1000:.0f} ms, "
        f"at most {max(on) * 1000:.0f} ms",
        f"a trim of a clip of {CLIP_SECONDS} s: its piece is there after {statistics.median(made):.1f} s, "
        f"at most {max(made):.1f} s",
    ]


def _no_output(_: QObject | None) -> None:
    return None


def _make_pieces(player: Player) -> None:
    subject = player.subject
    kit = player.kits.kit(subject)
    for placed in subject.reel.placed:
        make_piece(placed.piece, rate=subject.rate, size=subject.size, kit=kit, cancel=CancelToken())


class _Waiting(QObject):
    """Runs the event loop until something holds, or until it is stopped."""

    def __init__(self, holds: Callable[[], bool], seconds: float, parent: QObject) -> None:
        super().__init__(parent)
        self._holds = holds
        self._loop = QEventLoop(self)
        self._until = time.monotonic() + seconds
        self._asking = QTimer(self, interval=50)
        self._asking.timeout.connect(self.look)

    def run(self) -> None:
        self._asking.start()
        self._loop.exec()
        self._asking.stop()
        assert time.monotonic() <= self._until, "waited in vain"
        self.deleteLater()

    def look(self) -> None:
        if self._holds() or time.monotonic() > self._until:
            self._loop.quit()

    def stop(self) -> None:
        self._loop.quit()


def _wait(holds: Callable[[], bool], seconds: float = 60) -> None:
    """Run the event loop until something holds."""
    app = QApplication.instance()
    assert app is not None
    _Waiting(holds, seconds, app).run()


def _project(folder: Path) -> Path:
    """Return a project folder with footage that was made once: noise over a moving picture, and a tone."""
    folder.mkdir(parents=True, exist_ok=True)
    for index in range(SOURCES):
        target = folder / f"A{index:03}.mp4"
        if not target.exists():
            picture = f"testsrc2=s={SIZE}:r={RATE}:d=20,hue=h={index * 70},noise=alls=6:allf=t"
            part = target.with_name(f"part-{target.name}")
            run_ffmpeg(
                "-f", "lavfi", "-i", picture, "-f", "lavfi", "-i", f"sine=frequency={300 + 90 * index}:d=20",
                "-c:v", "libx264", "-preset", "ultrafast", "-b:v", "20M", "-g", "50", "-c:a", "aac", part,
            )  # fmt: skip
            part.replace(target)
    if not (folder / "film.json").exists():
        new_project(folder, _film())
    return folder


def _film() -> Film:
    clips = tuple(
        Clip(
            id=f"c{index}",
            source=f"A{index % SOURCES:03}.mp4",
            in_seconds=Fraction(1 + index),
            length_frames=CLIP_SECONDS * 25,
        )
        for index in range(CLIPS)
    )
    return Film(
        title="Benchmark",
        rate=RATE,
        size=SIZE,
        start_frames=90_000,
        scenes=(Scene(id="s1", number="1", content=SceneContent(clips=clips)),),
        order=(Placement(entry="s1"),),
        delivery=Delivery(review_height=SIZE.height),
        next_id=100,
    )


if __name__ == "__main__":
    sys.stdout.write(
        "\n".join(measure(Path(sys.argv[1] if len(sys.argv) > 1 else "playing-benchmark"))) + "\n"
    )
