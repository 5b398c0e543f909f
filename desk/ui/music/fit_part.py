"""The part of a cue's fields that makes its music as long as the cue."""

import dataclasses
import functools
from collections.abc import Callable, Generator
from fractions import Fraction
from pathlib import Path
from typing import Unpack

from PySide6.QtWidgets import QPushButton, QWidget

from desk.errors import DeskError
from desk.film.edit import Edit
from desk.film.edits import CandidateFields
from desk.film.lanes import spans
from desk.film.media import MediaFacts
from desk.film.model import Candidate, Cue, Film, SceneContent
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.sound.fitting import Fitted, fit_music
from desk.sound.plan import Passage, SceneSound
from desk.sound.reading import Samples
from desk.sound.streaming import Track, stream
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.job_runner import Job
from desk.ui.labels import note, say
from desk.ui.music import music_edits
from desk.ui.music.hearing import Hearing
from desk.ui.music.words import NEAR_FRAMES, fit_words, seam_frames, spare_frames

AROUND_SECONDS = 3
"""So much before and after a seam is heard (common practice, no source)."""

_FAULT = "The music could not be fitted. This is a fault of the program itself."


class FitPart(SheetPart):
    """How the music fits, and a proposal of parts that fill the cue, each seam of which can be heard."""

    def __init__(self, bench: Bench, hearing: Hearing, parent: QWidget) -> None:
        super().__init__(bench, parent, "Length of the music")
        self._hearing = hearing
        self._cue: Cue | None = None
        self._rate = Rate(24)
        self._reason = ""
        self._job: Job | None = None
        self._asked: Cue | None = None
        self._found: Fitted | None = None
        self._seam = 0
        self.told = note("dim", self)
        self.proposed = note("open", self)
        self.fit = self._button("Make it fit", self._on_fit)
        self.stop = self._button("Stop", self._on_stop)
        self.hear = self._button("Listen to a seam", self._on_hear)
        self.take = self._button("Take it", self._on_take)
        self.leave = self._button("Not now", self._on_leave)
        self.whole = self._button("Make it whole again", self._on_whole)
        self.add_wide(self.told)
        self.add_wide(self.proposed)
        self.add_line(self.fit, self.stop, self.whole)
        self.add_line(self.hear, self.take, self.leave)

    @property
    def found(self) -> Fitted | None:
        """What is proposed, or None."""
        return self._found

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        return tuple(f"{cue.id} {cue.chosen}" for cue in shown.cues)

    def fill(self, shown: Shown, anew: bool) -> None:
        self._cue = cue = shown.cues[0]
        self._rate = shown.film.rate
        if anew or (self._asked is not None and not _is_alike(self._asked, cue)):
            self._forget()
        if anew:
            self._seam = 0
        self._show()

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self._reason = reason
        for button in (self.fit, self.take, self.whole):
            button.setEnabled(not reason)
            button.setToolTip(reason)

    def _button(self, text: str, call: Callable[[], None]) -> QPushButton:
        button = QPushButton(text, self)
        button.setAccessibleName(text)
        button.clicked.connect(call)
        return button

    def _show(self) -> None:
        cue = self._cue
        choice = cue.choice if cue is not None else None
        if cue is None or choice is None:
            return
        facts = self.bench.media.facts
        words, kind = fit_words(cue, choice, self._rate, facts)
        say(self.told, words, kind)
        spare = spare_frames(cue, choice, self._rate, facts)
        fits = spare is None or abs(spare) <= NEAR_FRAMES
        is_busy, is_found = self._job is not None, self._found is not None
        offered = not is_busy and not is_found
        self.fit.setVisible(offered and not fits)
        self.fit.setText("Make it fit" if not choice.parts else "Fit it again")
        self.fit.setAccessibleName(f"{self.fit.text()}: the music and the cue")
        self.stop.setVisible(is_busy)
        self.whole.setVisible(offered and bool(choice.parts))
        shown = self._proposal() or choice
        seams = seam_frames(cue, shown, self._rate)
        self.hear.setVisible(bool(seams) and not is_busy)
        if seams:
            at = self._seam % len(seams)
            self.hear.setAccessibleName(f"Listen to seam {at + 1} of {len(seams)}")
            self.hear.setText(
                f"Listen to seam {at + 1} of {len(seams)}, at {format_length(seams[at], self._rate)}"
            )
        self.take.setVisible(is_found)
        self.leave.setVisible(is_found)
        if self._found is not None:
            say(self.proposed, _told(self._found, len(seams)), "open")
        elif not is_busy and not self.proposed.property("isFault"):
            say(self.proposed, "")

    def _proposal(self) -> Candidate | None:
        choice = self._cue.choice if self._cue is not None else None
        if choice is None or self._found is None:
            return None
        return dataclasses.replace(choice, parts=self._found.parts)

    def _forget(self) -> None:
        if self._job is not None:
            self._job.cancel()
        self._job = self._asked = self._found = None
        self._fault("")

    def _fault(self, words: str) -> None:
        self.proposed.setProperty("isFault", bool(words))
        say(self.proposed, words, "fault")

    def _on_fit(self) -> None:
        cue = self._cue
        choice = cue.choice if cue is not None else None
        known = self.bench.media.facts.get(choice.file) if choice is not None else None
        if cue is None or choice is None or not isinstance(known, MediaFacts):
            return
        self._forget()
        self._asked, self._seam = cue, 0
        path = self.bench.session.folder / choice.file
        work = functools.partial(_fit, path, known, choice.in_seconds, self._rate.seconds(cue.length_frames))
        job = self.bench.jobs.start("fit music", work)
        self._job = job
        job.progressed.connect(self._on_progressed)
        job.succeeded.connect(self._on_fitted)
        job.failed.connect(self._on_failed)
        say(self.proposed, "Listening for places that sound alike…", "dim")
        self._show()

    def _on_stop(self) -> None:
        self._forget()
        self._show()

    def _on_progressed(self, progress: Progress) -> None:
        if self.sender() is self._job:
            say(self.proposed, f"{progress.text}… {progress.fraction * 100:.0f} %", "dim")

    def _on_fitted(self, found: object) -> None:
        assert isinstance(found, Fitted)
        if self.sender() is self._job:
            self._job, self._found = None, found
            self._show()

    def _on_failed(self, error: object) -> None:
        if self.sender() is self._job:
            self._job = self._asked = None
            self._fault(str(error) if isinstance(error, DeskError) else _FAULT)
            self._show()

    def _on_hear(self) -> None:
        cue = self._cue
        choice = self._proposal() or (cue.choice if cue is not None else None)
        if cue is None or choice is None:
            return
        seams = seam_frames(cue, choice, self._rate)
        media = {
            path: facts for path, facts in self.bench.media.facts.items() if isinstance(facts, MediaFacts)
        }
        at = seams[self._seam % len(seams)]
        self._seam += 1
        blocks = seam_blocks(cue, choice, at, self._rate, media, self.bench.session.folder)
        self._hearing.start(f"seam at {format_length(at, self._rate)}", blocks)
        self._show()

    def _on_take(self) -> None:
        if self._found is None:
            return
        parts = self._found.parts
        # The film is told first: what is shown after it is the film.
        self._asked = self._found = None
        self._fault(self._change(parts=parts))
        self._show()

    def _on_leave(self) -> None:
        self._forget()
        self._show()

    def _on_whole(self) -> None:
        self._fault(self._change(parts=()))
        self._show()

    def _change(self, **fields: Unpack[CandidateFields]) -> str:
        choice = self._cue.choice if self._cue is not None else None
        if self._cue is None or choice is None:
            return ""
        return self.change("", functools.partial(_changed, self.scene_id, self._cue.id, choice.id, fields))


def seam_blocks(
    cue: Cue, choice: Candidate, at: int, rate: Rate, media: dict[str, MediaFacts], folder: Path
) -> Callable[[], Generator[Samples]]:
    """Return what gives the samples around a seam of a cue's music, at its gain.

    Args:
        cue: The cue.
        choice: The music, in parts.
        at: Where the seam is, in frames from the cue's start.
        rate: The film's rate.
        media: What was read of each file.
        folder: The project folder.
    """
    alone = dataclasses.replace(cue, start_frames=0, candidates=(choice,), chosen=choice.id, duck=None)
    sound = SceneSound(
        scene="",
        start_frames=0,
        spans=spans(SceneContent(cues=(alone,)), rate),
        opening=Passage(),
        closing=Passage(),
    )
    around = round(AROUND_SECONDS * rate.fraction)
    end = min(cue.length_frames, at + around)
    track = Track(sounds=(sound,), rate=rate, frames=end)
    first = rate.samples(max(0, at - around))
    files = {path: folder / path for path in media}

    def blocks() -> Generator[Samples]:
        return stream(track, files, media, first=first)

    return blocks


def _is_alike(first: Cue, second: Cue) -> bool:
    """Return whether what was found for one cue fits another."""
    one, other = first.choice, second.choice
    if one is None or other is None or first.length_frames != second.length_frames:
        return False
    return (one.id, one.file, one.in_seconds, one.parts) == (
        other.id,
        other.file,
        other.in_seconds,
        other.parts,
    )


def _told(found: Fitted, seams: int) -> str:
    if not seams:
        return "No two places are alike enough: it would end sooner, without a seam. A fade out helps."
    parts = f"{seams + 1} parts with {seams} seam{'' if seams == 1 else 's'}"
    alike = found.alike or 0.0
    how = f"whose sides are {alike * 100:.0f} % alike" if alike > 0 else "at which it begins again"
    beat = f" Its beats are {found.beat_seconds:.2f} s apart." if found.beat_seconds else ""
    heard = "it" if seams == 1 else "them"
    return f"It would play in {parts}, {how}.{beat} Listen to {heard} before you take it."


def _fit(
    path: Path,
    facts: MediaFacts,
    in_seconds: Fraction,
    length_seconds: Fraction,
    progress: ProgressListener,
    cancel: CancelToken,
) -> Fitted:
    return fit_music(path, facts, in_seconds, length_seconds, progress=progress, cancel=cancel)


def _changed(scene_id: str, cue_id: str, candidate_id: str, fields: CandidateFields, film: Film) -> Edit:
    return music_edits.set_music(film, scene_id, cue_id, candidate_id, **fields)
