"""Proofs and lock: who has looked at the scene, and whether it is closed."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desk.film.fingerprint import fingerprint
from desk.film.locking import Part, proofs_since_change
from desk.film.model import Proof, Scene
from desk.film.wording import counted, sentence
from desk.ui.bench import Bench
from desk.ui.dates import short_date
from desk.ui.labels import heading, label, note, say
from desk.ui.scene.asks import AskList, told_before_lock
from desk.ui.scene.header import version_line
from desk.ui.scene.part import PartBody

_NONE_YET = "Nobody has proofed it yet. Watch the whole scene once with care, then note what was seen."
_BROKEN = "Its lock does not hold any more."
_NO_HISTORY = "It has not been locked and opened before."


class ProofsBody(PartBody):
    """The proofs of a scene, what a lock asks for, and the lock.

    Signals:
        proof_wanted: To note a proof.
        lock_wanted: To ask about a lock first, since something is open or a lock is to be replaced.
        lock_now_wanted: To lock at once, since nothing is open.
        unlock_wanted: To open the lock.
        history_wanted: To see earlier locked versions.
        part_wanted: To settle something in another `Part`.
    """

    part = Part.PROOFS
    title = "Proofs and lock"
    proof_wanted = Signal()
    lock_wanted = Signal()
    lock_now_wanted = Signal()
    unlock_wanted = Signal()
    history_wanted = Signal()
    part_wanted = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._is_ready = False
        self._is_locked = False
        self.proofs = ProofList(self)
        self.add = QPushButton("Add proof…", self)
        self.add.setAccessibleName("Add a proof")
        self.add.clicked.connect(self.proof_wanted)
        self._lock_heading = heading("What a lock asks for", self)
        self.asks = AskList(bench.theme, self, with_ways=True)
        self.asks.part_wanted.connect(self.part_wanted)
        self.told = note("open", self)
        self.locked = label("", self, wraps=True)
        self.lock = QPushButton(self)
        self.lock.clicked.connect(self._on_lock)
        self.again = QPushButton("Lock again…", self)
        self.again.setAccessibleName("Lock the scene again as it is now")
        self.again.clicked.connect(self.lock_wanted)
        self.history = QPushButton(self)
        self.history.clicked.connect(self.history_wanted)
        self._arrange()

    def show_scene(self, scene: Scene) -> None:
        status = self.bench.statuses.of(scene)
        self._is_locked = scene.lock is not None
        self._is_ready = not self._is_locked and not status.asked
        self.proofs.show_proofs(scene)
        self._lock_heading.setText("LOCK" if self._is_locked else "WHAT A LOCK ASKS FOR")
        self.asks.setVisible(not self._is_locked)
        self.asks.show_asks(status.asked, proofs_since_change(scene))
        say(self.told, "" if self._is_locked else told_before_lock(scene))
        self.locked.setVisible(self._is_locked)
        self.locked.setText(_told_of_lock(scene))
        self.again.setVisible(bool(status.broken))
        if self._is_locked:
            text, name = "Unlock…", "Unlock the scene"
        elif self._is_ready:
            text, name = "Lock", "Lock the scene now"
        else:
            text, name = "Lock anyway…", "Lock the scene anyway"
        self.lock.setText(text)
        self.lock.setAccessibleName(name)
        count = len(scene.history)
        self.history.setText(f"{counted(count, 'earlier version')}…" if count else "Earlier versions…")
        self.history.setAccessibleName("Earlier locked versions")
        self.history.setEnabled(count > 0)
        self.history.setToolTip("" if count else _NO_HISTORY)

    def summary(self, scene: Scene) -> str:
        if scene.lock:
            return version_line(scene)
        if not self.bench.statuses.of(scene).asked:
            return f"ready to be locked; {counted(proofs_since_change(scene), 'proof')} since its last change"
        return counted(len(scene.proofs), "proof") if scene.proofs else "no proof yet"

    def open_lines(self, scene: Scene) -> tuple[str, ...]:
        status = self.bench.statuses.of(scene)
        return (*((_BROKEN,) if status.broken else ()), *status.open_in(self.part))

    def allow(self, allowed: bool, why_not: str) -> None:
        """Allow what changes the scene, or say in the tool tips why not."""
        for button in (self.add, self.lock, self.again):
            button.setEnabled(allowed)
            button.setToolTip("" if allowed else why_not)

    def _arrange(self) -> None:
        proofs = QHBoxLayout()
        proofs.addWidget(self.add)
        proofs.addStretch(1)
        locks = QHBoxLayout()
        locks.setSpacing(8)
        locks.addWidget(self.lock)
        locks.addWidget(self.again)
        locks.addStretch(1)
        locks.addWidget(self.history)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(heading("Proofs", self))
        layout.addWidget(self.proofs)
        layout.addLayout(proofs)
        layout.addSpacing(8)
        layout.addWidget(self._lock_heading)
        layout.addWidget(self.asks)
        layout.addWidget(self.told)
        layout.addWidget(self.locked)
        layout.addLayout(locks)

    def _on_lock(self) -> None:
        if self._is_locked:
            self.unlock_wanted.emit()
        elif self._is_ready:
            self.lock_now_wanted.emit()
        else:
            self.lock_wanted.emit()


class ProofList(QWidget):
    """The proofs of a scene, the latest first, each with whether it saw the scene as it is now."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: tuple[tuple[Proof, ...], str] | None = None
        self._empty = label(_NONE_YET, self, kind="dim", wraps=True)
        self._labels: list[QLabel] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnStretch(2, 1)
        self._grid.addWidget(self._empty, 0, 0, 1, 4)

    @property
    def rows(self) -> list[tuple[str, str, str, str]]:
        """What it shows: date, who, remark, and what the proof has seen."""
        texts = [label.text() for label in self._labels]
        return list(zip(texts[0::4], texts[1::4], texts[2::4], texts[3::4], strict=True))

    def show_proofs(self, scene: Scene) -> None:
        """Show the proofs of a scene."""
        now = fingerprint(scene.content) if scene.proofs else ""
        if self._shown == (scene.proofs, now):
            return
        self._shown = (scene.proofs, now)
        for old in self._labels:
            self._grid.removeWidget(old)
            old.hide()
            old.deleteLater()
        self._labels = []
        self._empty.setVisible(not scene.proofs)
        for row, proof in enumerate(reversed(scene.proofs), start=1):
            self._add(row, 0, short_date(proof.date), "dim")
            self._add(row, 1, proof.by, "")
            self._add(row, 2, proof.remark or "no remark", "" if proof.remark else "dim")
            seen = "as it is now" if proof.content == now else "before the last change"
            self._add(row, 3, seen, "" if proof.content == now else "dim")

    def _add(self, row: int, column: int, text: str, kind: str) -> None:
        made = label(text, self, kind=kind, wraps=column == 2)
        self._labels.append(made)
        self._grid.addWidget(made, row, column, Qt.AlignmentFlag.AlignTop)


def _told_of_lock(scene: Scene) -> str:
    if scene.lock is None:
        return ""
    files = counted(len(scene.lock.media), "file")
    verb = "is" if len(scene.lock.media) == 1 else "are"
    told = f"{sentence(version_line(scene))}. {files} {verb} known by their bytes, and watched."
    return (
        f"{told}\nIt was locked although something was open: {scene.lock.reason}"
        if scene.lock.reason
        else told
    )
