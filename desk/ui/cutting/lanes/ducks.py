"""How the music of a scene goes down where somebody speaks, for drawing it on its lane."""

from collections.abc import Mapping

from PySide6.QtCore import QObject, QTimer, Signal

from desk.film.lanes import spans
from desk.film.media import MediaFacts
from desk.film.model import SceneContent
from desk.sound.ducking import DuckPoint, duck_curve
from desk.sound.plan import speech_in
from desk.ui.bench import Bench

Curves = Mapping[str, tuple[DuckPoint, ...]]
"""Corners of the gain by cue, in frames from the scene's start; only cues that go down."""

_SETTLE_MS = 150
"""Found once an edit or a drag is over, and once what is listened to does not come in a burst."""


class Ducks(QObject):
    """Knows how the music of the scene in the lanes goes down, as far as its clips were listened to.

    Signals:
        changed: It goes down in another way.
    """

    changed = Signal()

    def __init__(self, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._bench = bench
        self._content: SceneContent | None = None
        self._curves: Curves = {}
        self._timer = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._timer.timeout.connect(self._find)
        bench.listening.heard.connect(self._look)
        bench.listening.settled.connect(self._look)
        bench.jobs.ending.connect(self._timer.stop)

    @property
    def curves(self) -> Curves:
        """What is known, as it was when the scene last stood still."""
        return self._curves

    def show(self, content: SceneContent, *, anew: bool) -> None:
        """Find the curves of a scene.

        Args:
            content: What is in the lanes.
            anew: Whether it is another scene, of which nothing is known yet.
        """
        if anew and self._curves:
            self._curves = {}
        self._content = content
        self._look()

    def _look(self, _: str = "") -> None:
        if self._curves or (self._content is not None and _goes_down(self._content)):
            self._timer.start()

    def _find(self) -> None:
        content, rate = self._content, self._bench.session.film.rate
        found: Curves = {}
        if content is not None and _goes_down(content):
            own = [span for span in spans(content, rate) if span.kind == "dialogue"]
            facts = self._bench.media.facts
            media = {
                span.file: known for span in own if isinstance(known := facts.get(span.file), MediaFacts)
            }
            speech_of = self._bench.listening.speech_of(rate, media)
            stretches = speech_in(own, rate, speech_of)
            found = {
                cue.id: duck_curve(cue.duck, stretches, rate)
                for cue in content.cues
                if cue.duck is not None and cue.choice is not None and stretches
            }
        if found != self._curves:
            self._curves = found
            self.changed.emit()


def _goes_down(content: SceneContent) -> bool:
    return any(cue.duck is not None and cue.choice is not None for cue in content.cues)
