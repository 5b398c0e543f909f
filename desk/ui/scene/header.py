"""The top of a scene's sheet: its state, what that means, and the one thing to do about it."""

from dataclasses import dataclass
from pathlib import PurePosixPath

from PySide6.QtCore import QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleEvent, QFontMetrics, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from desk.film.locking import proofs_since_change
from desk.film.model import Film, Scene
from desk.film.wording import counted, listed, quoted, sentence
from desk.ui.bench import Bench
from desk.ui.dates import short_date
from desk.ui.labels import label, set_kind
from desk.ui.look.marks import Mark, paint_mark
from desk.ui.look.theme import Theme
from desk.ui.look.type import HEADING_PX, typewriter
from desk.ui.status import SceneStatus

_MARK_PX = 28
_NARROW_PX = 720
_WORDS_PX = 260
_NEW_LOCK = "If the scene is still right, proof it as it is now and lock it again."
_GAP_PX = 12


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a scene's state means.

    Attributes:
        text: One line.
        more: Another one, or "".
        kind: The role of the first in the style of labels: `fault`, `open` or "".
    """

    text: str
    more: str
    kind: str = ""


def meaning(film: Film, scene: Scene, status: SceneStatus) -> Meaning:
    """Return what a scene's state means.

    Args:
        film: The film.
        scene: A scene of it.
        status: How it stands.
    """
    state = _state(scene, status)
    aside = next((item for item in film.aside if item.entry == scene.id), None)
    if aside is None:
        return state
    text = f"Set aside: {aside.reason}" if aside.reason else "Set aside"
    return Meaning(text, f"{state.text}; {state.more}" if state.more else state.text, state.kind)


def version_line(scene: Scene) -> str:
    """Return which version a locked scene is, since when, and how often it was proofed."""
    assert scene.lock is not None
    proofs = proofs_since_change(scene)
    line = f"version {scene.lock.version}, locked {short_date(scene.lock.date)}"
    return f"{line}; {counted(proofs, 'proof') if proofs else 'no proof'} of it"


def _state(scene: Scene, status: SceneStatus) -> Meaning:
    if scene.lock is None:
        return _draft(scene, status)
    if not status.broken:
        return Meaning("Locked", version_line(scene))
    why = status.broken[0].removeprefix("Its file ")
    for media in scene.lock.media:
        # The whole path stands below.
        why = why.replace(quoted(media.path), quoted(PurePosixPath(media.path).name))
    more = f" And {len(status.broken) - 1} more." if len(status.broken) > 1 else ""
    return Meaning(f"Lock broken: {why[:1].lower()}{why[1:]}{more}", version_line(scene), "fault")


def _draft(scene: Scene, status: SceneStatus) -> Meaning:
    text = "Draft" if scene.content.clips else "Draft, no footage yet"
    if not status.asked:
        return Meaning(text, "Ready to be locked.")
    asked = counted(len(status.asked), "thing")
    return Meaning(text, f"{asked} to settle before it is locked")


class SceneHeader(QWidget):
    """Mark, number, slugline, meaning and the main button.

    Signals:
        lock_wanted: The main button was pressed on a draft.
        unlock_wanted: It was pressed on a locked scene.
    """

    lock_wanted = Signal()
    unlock_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._is_locked = False
        self._is_narrow: bool | None = None
        self.mark = StateMark(bench.theme, self)
        self.name = SceneName(bench.theme, self)
        self.text = label("", self, wraps=True)
        self.more = label("", self, kind="dim", wraps=True)
        self.button = QPushButton(self)
        self.button.clicked.connect(self._on_clicked)
        self._words = QWidget(self)
        words = QVBoxLayout(self._words)
        words.setContentsMargins(0, 0, 0, 0)
        words.setSpacing(2)
        words.addWidget(self.text)
        words.addWidget(self.more)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(_GAP_PX, 8, _GAP_PX, 8)
        self._grid.setHorizontalSpacing(_GAP_PX)
        self._grid.setVerticalSpacing(4)
        self._grid.addWidget(self.mark, 0, 0)
        self._grid.addWidget(self.name, 0, 1)
        self._grid.addWidget(self.button, 0, 3)
        self._arrange(narrow=True)

    def show_scene(self, scene: Scene) -> None:
        """Show a scene as it is now."""
        status = self._bench.statuses.of(scene)
        self.mark.show_mark(status.mark)
        self.name.show_name(scene.number, scene.slugline)
        said = meaning(self._bench.session.film, scene, status)
        self.text.setText(said.text)
        self.more.setText(said.more)
        set_kind(self.text, said.kind)
        self._is_locked = scene.lock is not None
        # Locking is the one thing to do here once nothing is open; before that, and after, it is not.
        set_kind(self.button, "main" if not self._is_locked and not status.asked else "")
        self.button.setText("Unlock…" if self._is_locked else "Lock…")
        self.button.setAccessibleName("Unlock the scene" if self._is_locked else "Lock the scene")

    def allow(self, allowed: bool, why_not: str) -> None:
        """Allow the main button, or say in its tool tip why not."""
        self.button.setEnabled(allowed)
        self.button.setToolTip("" if allowed else why_not)

    def _on_clicked(self) -> None:
        (self.unlock_wanted if self._is_locked else self.lock_wanted).emit()

    def _arrange(self, *, narrow: bool) -> None:
        """Put what the state means beside the name, or under it where there is no room."""
        if narrow == self._is_narrow:
            return
        self._is_narrow = narrow
        side = Qt.AlignmentFlag.AlignLeft if narrow else Qt.AlignmentFlag.AlignRight
        for words in (self.text, self.more):
            words.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
        self._grid.removeWidget(self._words)
        if narrow:
            self._grid.addWidget(self._words, 1, 1, 1, 3)
        else:
            self._grid.addWidget(self._words, 0, 2)
        self._words.setMinimumWidth(0 if narrow else _WORDS_PX)
        self._grid.setColumnStretch(1, 1 if narrow else 0)
        self._grid.setColumnStretch(2, 0 if narrow else 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._arrange(narrow=event.size().width() < _NARROW_PX)
        super().resizeEvent(event)


class BrokenLock(QFrame):
    """Says at once that a lock does not hold, why, and what to do.

    Signals:
        lock_wanted: To lock the scene again as it is now.
        proof_wanted: To note a proof first.
        file_wanted: To see which file it is, where another one can be found for it.
    """

    lock_wanted = Signal()
    proof_wanted = Signal()
    file_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "part")
        self.setAccessibleName("Lock broken")
        self.reasons = label("", self, kind="fault", wraps=True)
        self.advice = label("", self, wraps=True)
        self.file = QPushButton("Go to the file", self)
        self.file.setAccessibleName("Go to the file that broke the lock")
        self.file.clicked.connect(self.file_wanted)
        self.proof = QPushButton("Add proof…", self)
        self.proof.setAccessibleName("Add a proof of the scene as it is now")
        self.proof.clicked.connect(self.proof_wanted)
        self.again = QPushButton("Lock again…", self)
        self.again.setAccessibleName("Lock the scene again as it is now")
        self.again.clicked.connect(self.lock_wanted)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addStretch(1)
        buttons.addWidget(self.file)
        buttons.addWidget(self.proof)
        buttons.addWidget(self.again)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 12)
        layout.setSpacing(4)
        layout.addWidget(self.reasons)
        layout.addWidget(self.advice)
        layout.addLayout(buttons)
        self.hide()

    def show_scene(self, scene: Scene, broken: tuple[str, ...]) -> None:
        """Show why the lock of a scene does not hold, one sentence each; hidden where it does."""
        was_hidden = self.isHidden()
        self.setVisible(bool(broken))
        if not broken:
            return
        # One reason stands in the header.
        self.reasons.setText("\n".join(broken))
        self.reasons.setVisible(len(broken) > 1)
        self.advice.setText(f"{_way_back(scene, broken)} {_NEW_LOCK}")
        self.file.setVisible(bool(_files(scene, broken)))
        if was_hidden:
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.Alert))

    def allow(self, allowed: bool, why_not: str) -> None:
        """Allow the buttons, or say in their tool tips why not."""
        for button in (self.proof, self.again):
            button.setEnabled(allowed)
            button.setToolTip("" if allowed else why_not)


def _files(scene: Scene, broken: tuple[str, ...]) -> list[str]:
    """Return the files that broke a lock, in quotation marks."""
    media = scene.lock.media if scene.lock else ()
    return [quoted(item.path) for item in media if any(quoted(item.path) in line for line in broken)]


def _way_back(scene: Scene, broken: tuple[str, ...]) -> str:
    """Return what makes a lock hold again."""
    files = _files(scene, broken)
    if not files:
        return "What is in it was changed outside the program."
    return f"Put back {listed(files)} as locked, and the lock holds again."


class StateMark(QWidget):
    """The mark of a scene's state."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._mark = Mark.DRAFT
        self.setFixedSize(_MARK_PX, _MARK_PX)
        theme.changed.connect(self.update)

    @property
    def mark(self) -> Mark:
        """What it shows."""
        return self._mark

    def show_mark(self, mark: Mark) -> None:
        """Show a state."""
        self._mark = mark
        self.setAccessibleName(sentence(mark.value))
        self.setToolTip(sentence(mark.value))
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_mark(painter, QRectF(self.rect()).adjusted(2, 2, -2, -2), self._mark, self._theme.palette)


class SceneName(QLabel):
    """Number and slugline in the typewriter face; cut where there is no room, then whole in the tool tip."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._number = ""
        self._slugline = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def show_name(self, number: str, slugline: str) -> None:
        """Show a scene's name."""
        self._number, self._slugline = number, slugline
        # The text is what a screen reader says; it is drawn by hand.
        self.setText(f"{number} {slugline}".strip())
        self.setAccessibleName(f"Scene {self.text()}")
        self.updateGeometry()
        self._tell_in_full()
        self.update()

    def _number_px(self) -> int:
        return _metrics().horizontalAdvance(self._number) + _GAP_PX

    def _tell_in_full(self) -> None:
        cut = self._number_px() + _metrics().horizontalAdvance(self._slugline) > self.width()
        self.setToolTip(self.text() if cut else "")

    def sizeHint(self) -> QSize:
        width = self._number_px() + _metrics().horizontalAdvance(self._slugline or "no slugline") + 4
        return QSize(width, _MARK_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(self._number_px() + 80, _MARK_PX)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._tell_in_full()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(typewriter(HEADING_PX))
        painter.setPen(self._theme.colour("ink"))
        vertical = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        painter.drawText(self.rect(), vertical, self._number)
        left = self._number_px()
        if not self._slugline:
            painter.setPen(self._theme.colour("dim"))
        text = self._slugline or "no slugline"
        width = max(0, self.width() - left)
        text = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, width)
        painter.drawText(QRect(left, 0, width, self.height()), vertical, text)


def _metrics() -> QFontMetrics:
    return QFontMetrics(typewriter(HEADING_PX))
