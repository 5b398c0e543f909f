"""Keeps the outlines of sounds in the project folder: `.desk/waveforms/<key>.wave`."""

from pathlib import Path

from desk.sound.waveform import Waveform
from desk.store.kept_files import KeptFiles

_LIMIT_BYTES = 256 << 20
"""What the outlines of a film may take on disk before the oldest go: 95 hours of sound."""


class WaveformFiles:
    """The outlines on disk, used by one job at a time; see `KeptFiles`."""

    def __init__(self, project_folder: Path) -> None:
        self._files = KeptFiles(project_folder, "waveforms", "wave", _LIMIT_BYTES)

    def find(self, key: str) -> Waveform | None:
        """Return an outline that was kept, or None."""
        kept = self._files.find(key)
        if kept is None:
            return None
        try:
            return Waveform.from_bytes(kept)
        except ValueError:
            return None

    def keep(self, key: str, waveform: Waveform) -> None:
        """Keep an outline."""
        self._files.keep(key, waveform.to_bytes())
