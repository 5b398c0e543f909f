"""What the program says of itself, and the cautions of the craft."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QVBoxLayout, QWidget

from desk import __version__
from desk.ui.look.type import TITLE_PX, serif

CAUTIONS = (
    (
        "Flashing light",
        "Lightning, strobes and fast cuts between light and dark can set off seizures: see ITU-R BT.1702 and "
        "WCAG 2.3.1. What the program tells is an aid and no clearance; a broadcaster's own test decides.",
    ),
    ("Loud sound", "Monitor at a moderate level; a cut or a new cue can be suddenly loud."),
    ("Cards", "Do not erase a card before two verified copies exist."),
    (
        "Licences",
        "The program records what was entered about music and effects. It gives no legal advice; the licence "
        "itself and local law decide.",
    ),
)


def show_cautions(parent: QWidget) -> None:
    """Open a dialog with the cautions."""
    _show(parent, "Cautions", CAUTIONS)


def show_about(parent: QWidget) -> None:
    """Open a dialog about the program."""
    about = (
        ("Version", __version__),
        ("What it is for", "Scenes that are really finished, in order, made into a review copy."),
        (
            "Made with",
            "Qt for Python, FFmpeg, PyAV, OpenTimelineIO, NumPy, msgspec and soxr; the fonts EB Garamond, "
            "Inter and Courier Prime under the SIL Open Font Licence.",
        ),
    )
    _show(parent, "Assembly Desk", about)


def _show(parent: QWidget, title: str, entries: tuple[tuple[str, str], ...]) -> None:
    dialog = QDialog(parent)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setWindowTitle(title)
    page = QVBoxLayout(dialog)
    page.setContentsMargins(24, 24, 24, 16)
    page.setSpacing(12)
    heading = QLabel(title)
    heading.setFont(serif(TITLE_PX))
    page.addWidget(heading)
    for name, text in entries:
        said = QLabel(f"<b>{name}.</b> {text}")
        said.setWordWrap(True)
        said.setFixedWidth(440)
        page.addWidget(said)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
    buttons.rejected.connect(dialog.reject)
    page.addWidget(buttons)
    dialog.open()
