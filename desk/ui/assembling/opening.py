"""Opens what was made with the person's own programs."""

from pathlib import Path

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices

from desk.ui.messages import Messages


def open_outside(path: Path, messages: Messages) -> bool:
    """Open a file with the player, or a folder in the files of the desktop; returns whether that was begun.

    Args:
        path: The file or folder.
        messages: Says so where it is gone or nothing opens it.
    """
    if not path.exists():
        messages.notice(f"“{path}” is not there any more.", urgent=True)
        return False
    if not QDesktopServices.openUrl(QUrl.fromLocalFile(str(path.absolute()))):
        messages.notice(f"Nothing on this machine opens “{path}”.", urgent=True)
        return False
    return True
