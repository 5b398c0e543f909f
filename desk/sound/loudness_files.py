"""Keeps what was measured of sounds in the project folder: `.desk/loudness/<key>.loud`."""

from pathlib import Path

from desk.sound.loudness import Loudness
from desk.store.kept_files import KeptFiles

_LIMIT_BYTES = 64 << 20
"""What the measurements of a film may take on disk before the oldest go: 220 hours of sound."""


class LoudnessFiles:
    """The measurements on disk; see `KeptFiles`."""

    def __init__(self, project_folder: Path) -> None:
        self._files = KeptFiles(project_folder, "loudness", "loud", _LIMIT_BYTES)

    def find(self, key: str) -> Loudness | None:
        """Return a measurement that was kept, or None."""
        kept = self._files.find(key)
        if kept is None:
            return None
        try:
            return Loudness.from_bytes(kept)
        except ValueError:
            return None

    def keep(self, key: str, loudness: Loudness) -> None:
        """Keep a measurement."""
        self._files.keep(key, loudness.to_bytes())
