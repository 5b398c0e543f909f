"""The dialog before a locked scene is opened again."""

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLineEdit, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.content_faults import LONGEST_TEXT
from desk.film.effects import Figures
from desk.film.model import Film, Scene
from desk.film.timecode import format_length
from desk.film.wording import counted, entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.dates import today
from desk.ui.labels import label

_WIDTH_PX = 480


def what_follows(film: Film, scene: Scene) -> tuple[str, ...]:
    """Return what unlocking a scene does, one sentence each.

    Args:
        film: The film.
        scene: A locked scene of it.
    """
    assert scene.lock is not None
    lines = [f"{sentence(entry_name(scene))} is a draft again, and not in an assembly of locked scenes."]
    before = Figures.of(film).locked_frames
    after = Figures.of(edits.unlock(film, scene.id, today()).after).locked_frames
    if before == after:
        lines.append("How much of the film is locked stays as it is.")
    else:
        falls, to = format_length(before - after, film.rate), format_length(after, film.rate)
        lines.append(f"How much of the film is locked falls by {falls}, to {to}.")
    lines.append(f"Version {scene.lock.version} stays in its history and can be brought back.")
    if scene.proofs:
        proofs = counted(len(scene.proofs), "proof")
        verb = "counts" if len(scene.proofs) == 1 else "count"
        lines.append(f"Its {proofs} {verb} only until its content changes.")
    return tuple(lines)


class UnlockDialog(QDialog):
    """Says what follows, and takes a reason. After `accepted`, `reason` is the answer."""

    def __init__(self, bench: Bench, scene_id: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.scene_id = scene_id
        self.setMinimumWidth(_WIDTH_PX)
        self.effects = label("", self, wraps=True)
        about = label("Reason, kept with the locked version (may be left out)", self, kind="dim")
        self.reason_field = QLineEdit(self)
        self.reason_field.setAccessibleName("Reason for unlocking")
        self.reason_field.setMaxLength(LONGEST_TEXT)
        about.setBuddy(self.reason_field)
        self.unlock_button = QPushButton("Unlock", self)
        self.unlock_button.setProperty("kind", "main")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel, parent=self)
        buttons.addButton(self.unlock_button, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 16, 16, 16)
        layout.setSpacing(8)
        layout.addWidget(self.effects)
        layout.addSpacing(8)
        layout.addWidget(about)
        layout.addWidget(self.reason_field)
        layout.addStretch(1)
        layout.addSpacing(8)
        layout.addWidget(buttons)
        bench.session.changed.connect(self._fill)
        self._fill()
        self.reason_field.setFocus()

    @property
    def reason(self) -> str:
        """Why it is unlocked, or ""."""
        return self.reason_field.text().strip()

    def _fill(self) -> None:
        film = self._bench.session.film
        scene = next((item for item in film.scenes if item.id == self.scene_id), None)
        if scene is None or scene.lock is None:
            self.reject()
            return
        self.setWindowTitle(f"Unlock {entry_name(scene)}")
        self.effects.setText("\n".join(f"•  {line}" for line in what_follows(film, scene)))
