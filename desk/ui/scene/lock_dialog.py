"""The dialog before a lock."""

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLineEdit, QPushButton, QVBoxLayout, QWidget

from desk.film.content_faults import LONGEST_TEXT
from desk.film.locking import proofs_since_change, what_a_lock_asks
from desk.film.media import MediaFacts
from desk.film.paths import content_paths
from desk.film.wording import counted, entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.labels import heading, label, note, say
from desk.ui.scene.asks import AskList, told_before_lock

_WIDTH_PX = 520
_WHY_DISABLED = "Something is open. Write why it is locked anyway; the reason is kept with the lock."
_CLOSES = "A lock closes picture, sound and grade. The scene goes into the assembly of locked scenes."
_UNITS = ("bytes", "kB", "MB", "GB", "TB")


class LockDialog(QDialog):
    """Says what a lock asks for, and takes the reason where something is open.

    It is filled anew when the film or its media change while it is open. After `accepted`, `reason` is the
    answer.
    """

    def __init__(
        self, bench: Bench, scene_id: str, parent: QWidget | None = None, *, again: bool = False
    ) -> None:
        """Make the dialog.

        Args:
            bench: The film.
            scene_id: The scene.
            parent: Who owns it.
            again: Whether the scene has a lock that does not hold, which is replaced.
        """
        super().__init__(parent)
        self._bench = bench
        self.scene_id = scene_id
        self.again = again
        self.setMinimumWidth(_WIDTH_PX)
        self._is_open = False
        closes = label(_CLOSES, self, wraps=True)
        self._broken = label("", self, kind="fault", wraps=True)
        asks_heading = heading("What a lock asks for", self)
        self.asks = AskList(bench.theme, self)
        self._reason_label = label("Reason for locking it anyway", self)
        self.reason_field = QLineEdit(self)
        self.reason_field.setAccessibleName("Reason for locking it anyway")
        self.reason_field.setMaxLength(LONGEST_TEXT)
        self.reason_field.textChanged.connect(self._on_reason)
        self._reason_label.setBuddy(self.reason_field)
        self.why = label(_WHY_DISABLED, self, kind="open", wraps=True)
        self.told = note("open", self)
        self._files = label("", self, kind="dim", wraps=True)
        self.lock_button = QPushButton("Lock", self)
        self.lock_button.setProperty("kind", "main")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel, parent=self)
        buttons.addButton(self.lock_button, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 16, 16, 16)
        layout.setSpacing(12)
        for widget in (closes, self._broken, asks_heading, self.asks, self._reason_label):
            layout.addWidget(widget)
        layout.addWidget(self.reason_field)
        layout.addWidget(self.why)
        layout.addWidget(self.told)
        layout.addWidget(self._files)
        layout.addStretch(1)
        layout.addWidget(buttons)
        bench.session.changed.connect(self._fill)
        bench.statuses.changed.connect(self._fill)
        bench.media.changed.connect(self._fill)
        self._fill()
        if self._is_open:
            self.reason_field.setFocus()
        else:
            self.lock_button.setFocus()

    @property
    def reason(self) -> str:
        """Why it is locked although something is open; "" where nothing is."""
        return self.reason_field.text().strip() if self._is_open else ""

    def _fill(self) -> None:
        film = self._bench.session.film
        scene = next((item for item in film.scenes if item.id == self.scene_id), None)
        if scene is None or (scene.lock is not None) != self.again:
            self.reject()
            return
        self.setWindowTitle(f"Lock {entry_name(scene)}{' again' if self.again else ''}")
        asked = what_a_lock_asks(film, scene, self._bench.media.is_present)
        self._is_open = bool(asked)
        self.asks.show_asks(asked, proofs_since_change(scene))
        broken = self._bench.statuses.of(scene).broken
        self._broken.setText("\n".join(broken))
        self._broken.setVisible(bool(broken))
        say(self.told, told_before_lock(scene))
        self._files.setText(self._told_of_files(content_paths(scene.content)))
        for widget in (self._reason_label, self.reason_field):
            widget.setVisible(self._is_open)
        self.lock_button.setText("Lock anyway" if self._is_open else "Lock")
        self._on_reason()

    def _told_of_files(self, paths: tuple[str, ...]) -> str:
        if not paths:
            return "It has no files."
        facts = [self._bench.media.facts.get(path) for path in paths]
        size = sum(known.size_bytes for known in facts if isinstance(known, MediaFacts))
        files = sentence(counted(len(paths), "file"))
        verb = "is" if len(paths) == 1 else "are"
        told = f"{files}{f', {size_text(size)},' if size else ''} {verb} read whole first"
        return f"{told}, so that a later change is noticed. You can go on working meanwhile."

    def _on_reason(self) -> None:
        ready = not self._is_open or bool(self.reason_field.text().strip())
        self.lock_button.setEnabled(ready)
        self.lock_button.setToolTip("" if ready else _WHY_DISABLED)
        self.why.setVisible(not ready)


def size_text(size_bytes: int) -> str:
    """Return a size as a person says it: `1.3 GB`, in powers of 1,000."""
    size, at = float(size_bytes), 0
    while size >= 999.5 and at < len(_UNITS) - 1:
        size, at = size / 1000, at + 1
    return f"{size:.0f} {_UNITS[at]}" if at == 0 or size >= 99.95 else f"{size:.1f} {_UNITS[at]}"
