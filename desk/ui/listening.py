"""Where somebody speaks in the sounds of clips: listened to beside the window, kept in the project folder.

What is found in a sound is named by all that decides it, so that nothing found is ever out of date: what
changed has another name and is listened to anew, and what did not is never heard twice.
"""

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal

from desk.errors import MediaError
from desk.film.lanes import Span
from desk.film.media import MediaFacts
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.sound.plan import SpeechOf
from desk.sound.speech import Speech, SpeechFile, listen_to_span, speech_key
from desk.ui.job_runner import Job, JobRunner
from desk.ui.media import Media
from desk.ui.session import Session

SpansOf = Callable[[], Sequence[Span]]
"""Gives what is to be listened to; called beside the window."""

_Tell = Callable[[str, object], None]


@dataclass(frozen=True, slots=True)
class _Wish:
    """What somebody wants to know.

    Attributes:
        about: What it was made for; a wish about the same is the same.
        spans_of: Gives the sounds.
    """

    about: object
    spans_of: SpansOf


class Listening(QObject):
    """Knows where somebody speaks in the film's clips, as far as that was listened to.

    Signals:
        heard: One more sound is known, or can't be read; its name.
        settled: All that somebody wants is known now, as far as it can be; who.
        progressed: Who it is listened for, and a `Progress`.
    """

    heard = Signal(str)
    settled = Signal(str)
    progressed = Signal(str, object)

    _found = Signal(str, object)

    def __init__(
        self, session: Session, media: Media, jobs: JobRunner, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._media = media
        self._jobs = jobs
        self._kept: SpeechFile | None = None
        self._known: dict[str, Speech] = {}
        self._unreadable: set[str] = set()
        self._wishes: dict[str, _Wish] = {}
        self._pending: dict[str, None] = {}
        self._job: Job | None = None
        self._who = ""
        self._version = 0
        self._found.connect(self._on_found, Qt.ConnectionType.QueuedConnection)
        media.changed.connect(self._on_media_changed)

    @property
    def listening_for(self) -> str:
        """Who it is listened for now, or ""."""
        return self._who if self._job is not None else ""

    @property
    def version(self) -> int:
        """A number that grows when something else is known."""
        return self._version

    def is_settled(self, who: str) -> bool:
        """Return whether all that somebody wants was looked for."""
        return who not in self._pending and self._who != who

    def key(self, span: Span) -> str:
        """Return the name of what is found in a clip's sound, or "" where its file was not read."""
        facts = self._media.facts.get(span.file)
        return speech_key(span, self._session.film.rate, facts) if isinstance(facts, MediaFacts) else ""

    def find(self, key: str) -> Speech | None:
        """Return what was found under a name, or None. May be called from any thread."""
        found = self._known.get(key)
        if found is None and self._kept is not None:
            return self._kept.find(key)
        return found

    def is_unreadable(self, key: str) -> bool:
        """Return whether it was tried in vain to listen to a sound."""
        return key in self._unreadable

    def speech_of(self, rate: Rate, media: Mapping[str, MediaFacts]) -> SpeechOf:
        """Return what gives the speech in a clip's sound, of what is known when it is asked.

        Args:
            rate: The film's rate.
            media: What was read of each file.
        """
        return functools.partial(_speech_of, self.find, rate, media)

    def want(self, who: str, about: object, spans_of: SpansOf) -> None:
        """Listen to sounds, in place of those that were wanted before by the same.

        Args:
            who: Who wants it.
            about: What it is wanted for; where that is equal to what it was, nothing is begun again.
            spans_of: Gives the sounds; only dialogue is listened to.
        """
        before = self._wishes.get(who)
        if before is not None and before.about == about:
            return
        self._wishes[who] = _Wish(about, spans_of)
        self._ask(who)

    def forget(self, who: str) -> None:
        """Listen no more for somebody."""
        self._wishes.pop(who, None)
        self._pending.pop(who, None)
        if self._who == who and self._job is not None:
            self._job.cancel()

    def take(self, kept: SpeechFile) -> None:
        """Know what was listened to and kept by others, as by a levelling."""
        self._kept = kept
        self._version += 1

    def _ask(self, who: str) -> None:
        self._pending[who] = None
        if self._job is not None and self._who == who:
            self._job.cancel()
        self._start_next()

    def _start_next(self) -> None:
        if self._job is not None or not self._pending:
            return
        who = next(iter(self._pending))
        wish = self._wishes[who]
        work = functools.partial(
            _listen,
            wish.spans_of,
            self._session.film.rate,
            self._session.folder,
            self._media.facts,
            self._kept,
            frozenset(self._unreadable),
            self._found.emit,
        )
        try:
            job = self._jobs.start("listen for speech", work)
        except RuntimeError:
            return  # the window is being closed
        del self._pending[who]
        self._job, self._who = job, who
        job.progressed.connect(self._on_progressed)
        job.succeeded.connect(self._on_succeeded)
        job.finished.connect(self._on_finished)

    def _on_found(self, key: str, speech: Speech | None) -> None:
        if speech is None:
            self._unreadable.add(key)
        else:
            self._known[key] = speech
        self._version += 1
        self.heard.emit(key)

    def _on_progressed(self, report: Progress) -> None:
        self.progressed.emit(self._who, report)

    def _on_succeeded(self, kept: object) -> None:
        assert isinstance(kept, SpeechFile)
        if self._kept is None:
            self._version += 1
        self._kept = kept
        self._known.clear()

    def _on_finished(self) -> None:
        who, self._job, self._who = self._who, None, ""
        self._start_next()
        if who in self._wishes and self.is_settled(who):
            self.settled.emit(who)

    def _on_media_changed(self) -> None:
        self._unreadable.clear()
        self._version += 1
        for who in self._wishes:
            self._ask(who)


def _speech_of(
    find: Callable[[str], Speech | None], rate: Rate, media: Mapping[str, MediaFacts], span: Span
) -> Speech | None:
    facts = media.get(span.file)
    return find(speech_key(span, rate, facts)) if facts else None


def _listen(
    spans_of: SpansOf,
    rate: Rate,
    folder: Path,
    facts: Facts,
    kept: SpeechFile | None,
    unreadable: frozenset[str],
    tell: _Tell,
    progress: ProgressListener,
    cancel: CancelToken,
) -> SpeechFile:
    """Listen to what is not known yet, tell of each sound, and keep all of it; a job."""
    kept = kept or SpeechFile(folder)
    wanted: dict[str, tuple[Span, MediaFacts]] = {}
    for span in spans_of():
        cancel.check()
        known = facts.get(span.file)
        if span.kind == "dialogue" and isinstance(known, MediaFacts) and known.sound:
            key = speech_key(span, rate, known)
            if key not in unreadable and kept.find(key) is None:
                wanted[key] = (span, known)
    whole, done = sum(span.length_frames for span, _ in wanted.values()), 0
    found: dict[str, Speech] = {}
    try:
        for number, (key, (span, known)) in enumerate(wanted.items(), start=1):
            name = span.file.rpartition("/")[2]
            told = f"Listening to “{name}”, {number} of {len(wanted)}"
            progress(Progress("speech", told, done / whole))
            try:
                found[key] = listen_to_span(span, rate, folder / span.file, known, cancel=cancel)
            except MediaError:
                tell(key, None)
            else:
                tell(key, found[key])
            done += span.length_frames
    finally:
        kept.keep(found)
    return kept
