"""Makes a picture of every screen, to be looked at: `python -m tests.ui.screens --out DIR`.

The demo film is copied and shown at 100 % and 200 %, dark and light, and in the narrowest window. Pictures
are named for what they show: `dark-100-scene.png`. Nothing is compared here: somebody looks.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

DEMO = Path(__file__).parent.parent.parent / "demo_project"
VARIANTS = (
    ("dark-100", "dark", "1", (1440, 900)),
    ("dark-200", "dark", "2", (1440, 900)),
    ("light-100", "light", "1", (1440, 900)),
    ("narrow-100", "dark", "1", (1024, 700)),
)

_QUIET = 3


def main() -> None:
    """Make all pictures, each variant in a process of its own, since Qt reads the scale once."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--out", type=Path, required=True)
    asked.add_argument("--only-cutting", action="store_true", help="only the screens of a scene that is cut")
    asked.add_argument("--variant", help=argparse.SUPPRESS)
    options = asked.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    if options.variant:
        variant = next(item for item in VARIANTS if item[0] == options.variant)
        _make(options.out, *variant, only_cutting=options.only_cutting)
        return
    for name, _, scale, _ in VARIANTS:
        environment = {
            **os.environ,
            "QT_QPA_PLATFORM": "offscreen",
            "QT_SCALE_FACTOR": scale,
            "XDG_CONFIG_HOME": tempfile.mkdtemp(prefix="desk-settings-"),
        }
        command = [sys.executable, "-m", "tests.ui.screens", "--out", str(options.out), "--variant", name]
        command += ["--only-cutting"] if options.only_cutting else []
        subprocess.run(command, check=True, env=environment)


def _make(
    out: Path, name: str, appearance: str, _scale: str, size: tuple[int, int], *, only_cutting: bool
) -> None:
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication, QWidget

    from desk.app import build_window, make_application
    from desk.ui.job_runner import Lane
    from desk.ui.look.theme import Appearance, Theme
    from desk.ui.messages import Messages
    from tests.ui.cutting_screens import cutting_screens

    application = make_application()
    theme = Theme(Appearance(appearance))
    theme.apply_to(application)
    window = build_window(theme, Messages(application))
    window.resize(*size)
    window.show()

    def settle(seconds: float = 0.3) -> None:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            QApplication.processEvents()
            time.sleep(0.005)

    def is_busy() -> bool:
        """Return whether something is being read that is about to be shown."""
        behind = (Lane.PIECES, Lane.BACKGROUND)
        return window.view is not None and any(job.lane not in behind for job in window.view.bench.jobs.jobs)

    def keep(what: str, act: Callable[[], object], of: QWidget | None = None) -> None:
        """Do something, wait until nothing is read any more, and take a widget or what stands in front."""
        taken: list[QWidget] = []
        quiet: list[bool] = []

        def take() -> None:
            quiet.append(not is_busy())
            # What was read is drawn, and asks for pictures.
            if not all(quiet[-_QUIET:]) or len(quiet) < _QUIET:
                QTimer.singleShot(150, take)
                return
            over = [widget for widget in QApplication.topLevelWidgets() if widget.isVisible()]
            over.sort(key=lambda widget: widget is window)
            taken.append(of or over[0])
            taken[0].grab().save(str(out / f"{name}-{what}.png"))
            for widget in over:
                if widget is not window:
                    widget.close()

        # Some dialogs wait for their answer in a loop of their own.
        QTimer.singleShot(300, take)
        act()
        while not taken:
            settle(0.05)

    keep("start", window.show)
    with tempfile.TemporaryDirectory(prefix="desk-screens-") as folder:
        project = Path(folder) / "The Unprinted Ticket"
        shutil.copytree(DEMO, project, ignore=shutil.ignore_patterns(".desk", "review"))
        window.open_film(project)
        while window.view is None:
            settle(0.05)
        while is_busy():
            settle(0.1)
        settle(2)
        if not only_cutting:
            for what, act in _screens(window):
                keep(what, act)
        for what, act, of in cutting_screens(window, project):
            keep(what, act, of)
        window.close()
        settle(0.1)


def _screens(window: "object") -> Iterator[tuple[str, Callable[[], object]]]:
    from desk.film.locking import Part
    from desk.film.model import Card
    from desk.ui.window import MainWindow

    assert isinstance(window, MainWindow)
    view = window.shown()
    film = view.bench.session.film
    choose = view.bench.choice.choose
    numbers = {scene.number: scene.id for scene in film.scenes}
    cards = [entry for entry in film.cards if isinstance(entry, Card)]
    yield "film", lambda: choose("")
    yield "scene", lambda: choose(numbers["5"])
    for part in Part:
        yield f"part-{part.value}", lambda part=part: view.scene_sheet.focus_part(part)
    yield "scene-locked", lambda: choose(numbers["2"])
    for index, card in enumerate(cards):
        yield f"card-{index + 1}", lambda card=card: choose(card.id)
    yield "lock", lambda: (choose(numbers["4A"]), view.scene_sheet.lock())
    yield "unlock", lambda: (choose(numbers["2"]), view.scene_sheet.unlock())
    yield "proof", view.scene_sheet.add_proof
    yield "history", view.scene_sheet.show_history
    yield "level", lambda: (choose(numbers["4A"]), view.scene_sheet.level())
    yield "level-film", view.scene_sheet.level_film
    yield "voices", view.scene_sheet.dialogue.open_voices
    yield "join", view.order.edit_join
    yield "renumber", view.order.renumber
    yield "assemble", view.assemble
    yield "keys", window.show_keys
    yield "cautions", window.show_cautions
    yield "new-film", window.begin_new_film


if __name__ == "__main__":
    main()
