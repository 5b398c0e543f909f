"""How loud a review copy came out, in words and scene by scene."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from desk.assembly.copy_sound import CopySound
from desk.ui.bench import Bench
from desk.ui.labels import note, say
from desk.ui.level_words import plain_level, shown_level, signed_level
from desk.ui.loudness.table import SoundRow, SoundTable, go_to_row
from desk.ui.scene_place import ScenePlaces

_MOST_TOLD = 6


class CopySoundView(QWidget):
    """What was asked of a copy's sound, what was reached, each scene, and what deserves a look.

    Attributes:
        words: The copy in sentences.
        table: Its scenes.
        remarks: What deserves a look.
    """

    def __init__(self, bench: Bench, parent: QWidget, *, most_rows: int = 6) -> None:
        """Make it; nothing is shown yet.

        Args:
            bench: The film and what the person looks at.
            parent: Who owns it.
            most_rows: So many scenes are shown at once.
        """
        super().__init__(parent)
        self._bench = bench
        self._places = ScenePlaces(bench.session, self)
        self.words = note("", self)
        self.table = SoundTable(
            "Loudness of the scenes in the copy", bench.theme, self, has_peaks=False, most_rows=most_rows
        )
        self.remarks = note("open", self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        for widget in (self.words, self.table, self.remarks):
            column.addWidget(widget)
        self.table.went.connect(self._go)
        self.show_sound(None)

    def show_sound(self, sound: CopySound | None) -> None:
        """Show how loud a copy is, or nothing."""
        self.setVisible(sound is not None)
        say(self.words, sound_words(sound) if sound else "")
        self.table.show_rows(_rows(sound) if sound else ())
        told = sound.remarks if sound else ()
        more = f" {len(told) - _MOST_TOLD:,} more are in the manifest." if len(told) > _MOST_TOLD else ""
        say(self.remarks, " ".join(told[:_MOST_TOLD]) + more)

    def _go(self, row: SoundRow) -> None:
        go_to_row(self._bench, self._places, row)


def sound_words(sound: CopySound) -> str:
    """Return what was asked of a copy's sound and what was reached, in sentences."""
    if sound.integrated_lufs is None:
        return "Nothing is heard in this copy."
    words = (
        f"Sound: {shown_level(sound.integrated_lufs)} LUFS reached, {plain_level(sound.target_lufs)} asked "
        f"({sound.target}). True peak as decoded {shown_level(sound.true_peak_dbtp)} dBTP of "
        f"{plain_level(sound.ceiling_dbtp)} at most, range {shown_level(sound.range_lu)} LU. The master "
        f"changed the level by {signed_level(sound.gain_db)} dB"
    )
    return f"{words} after {sound.compression} compression." if sound.compression != "off" else f"{words}."


def _rows(sound: CopySound) -> tuple[SoundRow, ...]:
    return tuple(
        SoundRow(
            entry=scene.entry,
            number=scene.number,
            integrated_lufs=scene.integrated_lufs,
            voices_lufs=scene.voices_lufs,
            music_below_voices_lu=scene.music_below_voices_lu,
            loudest_at=scene.loudest_at,
            loudest_frames=scene.loudest_frames,
            stands_out_lu=scene.stands_out_lu,
        )
        for scene in sound.scenes
    )
