"""One cue with all that was tried for it, one of which can be chosen."""

from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QLabel, QVBoxLayout, QWidget

from desk.film.media import MediaFacts
from desk.film.model import Candidate, Cue, Film, Scene
from desk.film.problem import Facts, MediaTrouble
from desk.film.timecode import format_length
from desk.film.timing import content_frames
from desk.ui.elided import ElidedLabel, ElidedRadio
from desk.ui.scene.clip_facts import file_name, gain_text

NONE_CHOSEN = "None of them"
NO_LICENCE = "no licence entered"


@dataclass(frozen=True, slots=True)
class _Line:
    """What is shown of one candidate."""

    id: str
    name: str
    licence: str
    kind: str
    more: str
    credit: str


class CueView(QWidget):
    """A cue: where it stands, and what was tried for it.

    Signals:
        chosen: The person has chosen; the cue's id, and the candidate's or "" for none.
    """

    chosen = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cue_id = ""
        self._lines: tuple[_Line, ...] | None = None
        self._ids: list[str] = []
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self._on_clicked)
        self._list: QWidget | None = None
        self.heading = ElidedLabel()
        self.untried = ElidedLabel()
        self.untried.say("Nothing was tried for it yet.", kind="open")
        self._page = QVBoxLayout(self)
        self._page.setContentsMargins(0, 0, 0, 4)
        self._page.setSpacing(2)
        self._page.addWidget(self.heading)
        self._page.addWidget(self.untried)

    @property
    def buttons(self) -> tuple[ElidedRadio, ...]:
        """The candidates in their order, and last the one for none; empty where nothing was tried."""
        found = [button for button in self._group.buttons() if isinstance(button, ElidedRadio)]
        return tuple(sorted(found, key=self._group.id))

    def show_cue(self, film: Film, scene: Scene, cue: Cue, facts: Facts) -> None:
        """Show a cue of a scene."""
        self._cue_id = cue.id
        self.heading.say(_heading(film, scene, cue))
        lines = tuple(_line(candidate, facts) for candidate in cue.candidates)
        if lines != self._lines:
            self._fill(lines, cue.label or cue.id)
        self.untried.setVisible(not cue.candidates)
        if self._ids:
            chosen = self._group.button(self._ids.index(cue.chosen))
            chosen.setChecked(True)

    def set_free(self, free: bool) -> None:
        """Allow choosing or not."""
        for button in self._group.buttons():
            button.setEnabled(free)

    def _fill(self, lines: tuple[_Line, ...], label: str) -> None:
        self._lines = lines
        for button in self._group.buttons():
            self._group.removeButton(button)
        if self._list is not None:
            self._page.removeWidget(self._list)
            self._list.hide()
            self._list.deleteLater()
        self._list = QWidget(self)
        grid = QGridLayout(self._list)
        grid.setContentsMargins(8, 2, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(0)
        grid.setColumnStretch(0, 3)
        grid.setColumnStretch(1, 2)
        row = 0
        for number, line in enumerate(lines):
            button = ElidedRadio(line.name, self._list)
            button.setAccessibleName(f"{label}: {line.name}, {line.licence}")
            self._group.addButton(button, number)
            grid.addWidget(button, row, 0)
            licence = ElidedLabel(parent=self._list)
            licence.say(line.licence, kind=line.kind, more=line.more)
            grid.addWidget(licence, row, 1)
            row += 1
            if line.credit:
                credit = QLabel(f"Credit: {line.credit}", self._list)
                credit.setProperty("kind", "small")
                credit.setWordWrap(True)
                credit.setContentsMargins(26, 0, 0, 4)
                grid.addWidget(credit, row, 0, 1, 2)
                row += 1
        self._ids = [line.id for line in lines]
        if lines:
            none = ElidedRadio(NONE_CHOSEN, self._list)
            none.setAccessibleName(f"{label}: {NONE_CHOSEN.lower()}")
            self._group.addButton(none, len(lines))
            grid.addWidget(none, row, 0)
            self._ids.append("")
        self._page.addWidget(self._list)
        self._list.setVisible(bool(lines))

    def _on_clicked(self, number: int) -> None:
        self.chosen.emit(self._cue_id, self._ids[number])


def _heading(film: Film, scene: Scene, cue: Cue) -> str:
    rate = film.rate
    start = format_length(cue.start_frames, rate)
    words = f"{cue.label or cue.id}: from {start}, {format_length(cue.length_frames, rate)} long"
    beyond = cue.start_frames + cue.length_frames - content_frames(scene.content)
    if scene.content.clips and beyond > 0:
        words += f", {format_length(beyond, rate)} of it after the scene's end"
    return words


def _line(candidate: Candidate, facts: Facts) -> _Line:
    rights = candidate.rights
    name = rights.title or file_name(candidate.file)
    if rights.author:
        name += f", by {rights.author}"
    licence, kind = (rights.licence, "dim") if rights.licence.strip() else (NO_LICENCE, "open")
    known = facts.get(candidate.file)
    if isinstance(known, MediaTrouble):
        licence, kind = f"file missing; {licence}", "fault"
    elif isinstance(known, MediaFacts) and known.sound is None:
        licence, kind = f"file has no sound; {licence}", "fault"
    more = [candidate.file, gain_text(candidate.gain_db), rights.source, rights.licence_link]
    return _Line(
        candidate.id, name, licence, kind, "\n".join(part for part in more if part), rights.required_credit
    )
