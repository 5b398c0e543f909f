"""What deserves a look in a scene, in lines for its sheet."""

import dataclasses
from collections.abc import Iterable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from desk.film.model import Clip, Film, Scene, SceneContent
from desk.film.problem import Facts, Problem, Severity
from desk.film.scene_checks import SceneCheck
from desk.film.wording import entry_name, listed, quoted, sentence, uncapped

_MOST_LINES = 6
_UNREAD = "media.unread"


class LooksLabel(QLabel):
    """Lines about what deserves a look. It is hidden where nothing does."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "open")
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.hide()

    def say(self, lines: Sequence[str]) -> None:
        """Show lines; of many the first, and how many more there are."""
        shown = list(lines[:_MOST_LINES])
        if len(lines) > len(shown):
            shown.append(f"And {len(lines) - len(shown)} more.")
        text = "\n".join(shown)
        if text != self.text():
            self.setText(text)
            self.setAccessibleName(text)
        self.setVisible(bool(lines))


def clip_looks(film: Film, scene: Scene, clip: Clip, facts: Facts) -> tuple[str, ...]:
    """Return what deserves a look in one clip, without what concerns its sound."""
    alone = dataclasses.replace(scene, content=SceneContent(clips=(clip,)))
    check = SceneCheck(film, alone, facts, Severity.LOOK)
    file = f": {quoted(clip.source)}."
    return tuple(
        # Which file it is goes without saying: one line is told of rather than read over.
        f"{problem.sentence.replace(file, '.')} {problem.advice}"
        for problem in (*check.gaps(), *check.clips())
        if not problem.code.startswith("sound.")
    )


def dialogue_looks(film: Film, scene: Scene, facts: Facts) -> tuple[str, ...]:
    """Return what deserves a look in the sound of a scene's clips."""
    alone = dataclasses.replace(scene, content=SceneContent(clips=scene.content.clips))
    check = SceneCheck(film, alone, facts, Severity.LOOK)
    pitch = (problem for problem in check.clips() if problem.code.startswith("sound."))
    return told((*pitch, *check.sounds()), scene)


def music_looks(film: Film, scene: Scene, facts: Facts) -> tuple[str, ...]:
    """Return what deserves a look in a scene's music and effects, without what is said of each cue."""
    alone = dataclasses.replace(scene, content=dataclasses.replace(scene.content, clips=()))
    check = SceneCheck(film, alone, facts, Severity.LOOK)
    silent = (problem for problem in check.media() if problem.code == "media.no-sound")
    sounds = (problem for problem in check.sounds() if problem.code != "music.no-licence")
    outside = _outside(film, scene, facts)
    return told((*silent, *sounds, *outside), scene)


def _outside(film: Film, scene: Scene, facts: Facts) -> tuple[Problem, ...]:
    """Return the sounds that lie outside of the picture, which only the whole scene can tell."""
    found = SceneCheck(film, scene, facts, Severity.LOOK).sounds()
    return tuple(problem for problem in found if problem.code == "sound.outside")


def told(problems: Iterable[Problem], scene: Scene) -> tuple[str, ...]:
    """Return problems as lines; what is said of several things is said once, with all of them."""
    whole = sentence(entry_name(scene))
    groups: dict[tuple[str, str], list[str]] = {}
    for problem in problems:
        if problem.code != _UNREAD:
            subject = problem.subject.removeprefix(whole).removeprefix(", ")
            groups.setdefault((problem.sentence, problem.advice), []).append(subject)
    lines = []
    for (words, advice), subjects in groups.items():
        named = sentence(listed([subjects[0], *(uncapped(item) for item in subjects[1:])]))
        each = ", each" if len(subjects) > 1 else ""
        lines.append(f"{named}{each}: {uncapped(words)} {advice}" if named else f"{words} {advice}")
    return tuple(lines)
