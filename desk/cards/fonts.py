"""The fonts that the program brings along, and Qt made ready to draw text without a window.

The fonts are EB Garamond, Inter and Courier Prime under family names of our own, so that a copy of another
release, installed on the machine, can't take their place and move a line (see `resources/fonts/README.md`).
What they lack, such as Chinese or emoji, Qt takes from the machine's own fonts.
"""

import locale
import threading
from pathlib import Path

from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QFontDatabase, QGuiApplication

import desk
from desk.errors import DeskError

SERIF = "Desk Serif"
"""EB Garamond, cut for 12 points: titles."""

SERIF_SMALL = "Desk Serif Small"
"""EB Garamond, cut for 8 points: sturdier, for credits."""

SANS = "Desk Sans"
"""Inter: small text."""

TYPEWRITER = "Desk Typewriter"
"""Courier Prime: scene numbers and sluglines."""

_lock = threading.Lock()
_applications: list[QGuiApplication] = []
_families: set[str] = set()


def resource_folder() -> Path:
    """Return the folder of icons, fonts and presets, in a checkout, an editable install or a wheel.

    Raises:
        DeskError: when the folder is missing.
    """
    package = Path(desk.__file__).resolve().parent
    for folder in (package / "resources", package.parent / "resources"):
        if (folder / "fonts").is_dir():
            return folder
    raise DeskError(
        f"The program's own fonts are missing from “{package / 'resources'}”.",
        advice="Install the program again.",
        code="resources.missing",
        path=package / "resources",
    )


def prepare_drawing() -> None:
    """Make Qt ready to draw text and load the fonts; does nothing the second time.

    Where no Qt application runs, one without a window is made, which must happen in the main thread: one
    made elsewhere crashes when the program ends. After that, any thread may draw. A running window
    program's own application is used as it is.

    Raises:
        DeskError: when the fonts are missing or damaged.
        RuntimeError: when called first in another thread than the main one, or beside an application that
            can't draw.
    """
    with _lock:
        application = QCoreApplication.instance()
        if application is None:
            _applications.append(_windowless_application())
        elif not isinstance(application, QGuiApplication):
            raise RuntimeError("a QCoreApplication runs here, and can't draw text")
        if not _families:
            _families.update(_load_fonts())


def _windowless_application() -> QGuiApplication:
    if threading.current_thread() is not threading.main_thread():
        raise RuntimeError("call prepare_drawing() in the main thread before drawing in another")
    numeric = locale.setlocale(locale.LC_NUMERIC)
    application = QGuiApplication(["desk", "-platform", "offscreen"])
    # Qt takes the person's locale for the whole process. Where that writes 0,5 for a half, ffmpeg's libraries
    # would then misread numbers in this process.
    locale.setlocale(locale.LC_NUMERIC, numeric)
    return application


def _load_fonts() -> set[str]:
    families: set[str] = set()
    for path in sorted((resource_folder() / "fonts").glob("*.otf")):
        number = QFontDatabase.addApplicationFont(str(path))
        if number < 0:
            raise DeskError(
                f"The program's own font “{path.name}” can't be read.",
                advice="Install the program again.",
                code="resources.damaged",
                path=path,
            )
        families.update(QFontDatabase.applicationFontFamilies(number))
    if missing := {SERIF, SERIF_SMALL, SANS, TYPEWRITER} - families:
        raise DeskError(
            f"The program's own font “{min(missing)}” is missing.",
            advice="Install the program again.",
            code="resources.missing",
            path=resource_folder() / "fonts",
        )
    return families
