"""What the running order shows of a scene or card wherever it stands: its words, its length, its pictures."""

import operator
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import PurePosixPath

from desk.film.filling import fills_itself, shown_card
from desk.film.model import Card, Cue, Film, Motion, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.film.reading import card_text, is_empty, kind_name
from desk.film.timecode import format_length
from desk.film.timing import content_frames, entry_frames
from desk.film.wording import counted, quoted

MOST_THUMBNAILS = 3
NO_SLUGLINE = "no slugline"
NO_PURPOSE = "no purpose written"
NO_MUSIC = "no music"


@dataclass(frozen=True, slots=True)
class Moment:
    """A place in the footage that stands for a part of a scene.

    Attributes:
        source: The footage.
        seconds: Place in it.
    """

    source: str
    seconds: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryFacts:
    """What is shown of an entry.

    Attributes:
        number: Number of a scene, or "".
        title: Slugline, or what a card is called.
        detail: Purpose of a scene, or the first line of a card.
        cues: Words about the music.
        cues_are_open: Whether a cue waits for a choice.
        note: Grade note, on one line.
        length_frames: Length in the film; 0 for a card that is empty, and so left out.
        length: The same as m:ss:ff.
        moments: Up to three, spread over the scene.
        searched: All words that a search looks through.
    """

    number: str
    title: str
    detail: str
    cues: str
    cues_are_open: bool
    note: str
    length_frames: int
    length: str
    moments: tuple[Moment, ...]
    searched: str


class FactsCache:
    """Facts of entries, prepared once for each value of an entry."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[Scene | Card, Rate, Size, tuple[object, ...], EntryFacts]] = {}

    def of(self, entry: Scene | Card, film: Film) -> EntryFacts:
        """Return the facts of an entry of a film."""
        known = self._known.get(entry.id)
        # A card that fills itself is another one when the scenes are: by identity, since they are many.
        scenes = (film.scenes, film.order) if isinstance(entry, Card) and fills_itself(entry) else ()
        if known and known[0] is entry and known[1:3] == (film.rate, film.size) and _same(known[3], scenes):
            return known[4]
        facts = facts_of(entry, film)
        self._known[entry.id] = (entry, film.rate, film.size, scenes, facts)
        return facts

    def forget_others(self, entry_ids: Sequence[str]) -> None:
        """Forget all entries but these."""
        for entry_id in self._known.keys() - set(entry_ids):
            del self._known[entry_id]


def _same(before: tuple[object, ...], now: tuple[object, ...]) -> bool:
    return len(before) == len(now) and all(map(operator.is_, before, now))


def facts_of(entry: Scene | Card, film: Film) -> EntryFacts:
    """Return what is shown of an entry of a film."""
    return _card_facts(entry, film) if isinstance(entry, Card) else _scene_facts(entry, film)


def cue_words(content: SceneContent) -> tuple[str, bool]:
    """Return words about the music of a scene, and whether a cue waits for a choice."""
    if not content.cues:
        return (NO_MUSIC, False) if content.no_music else ("", False)
    only = content.cues[0] if len(content.cues) == 1 else None
    if only and only.candidates and only.choice is None:
        return _untold(only), True
    told = [
        f"{cue.label or 'cue'} “{cue_title(cue)}”" if cue.choice else f"{cue.label or 'cue'}: {_untold(cue)}"
        for cue in content.cues
    ]
    return ", ".join(told), any(cue.choice is None for cue in content.cues)


def cue_title(cue: Cue) -> str:
    """Return what the chosen music of a cue is called, or "" where nothing is chosen."""
    choice = cue.choice
    return (choice.rights.title or PurePosixPath(choice.file).stem) if choice else ""


def spread(content: SceneContent, rate: Rate) -> tuple[Moment, ...]:
    """Return the moments whose pictures stand for a scene: one in the middle of each third of it."""
    total = content_frames(content)
    wanted = [total * (2 * part + 1) // (2 * MOST_THUMBNAILS) for part in range(MOST_THUMBNAILS)]
    found: list[Moment] = []
    start = 0
    for clip in content.clips:
        end = start + clip.length_frames
        while len(found) < len(wanted) and wanted[len(found)] < end:
            at = wanted[len(found)] - start
            found.append(Moment(clip.source, clip.in_seconds + at * clip.speed / rate.fraction))
        start = end
    return tuple(found)


def _scene_facts(scene: Scene, film: Film) -> EntryFacts:
    content = scene.content
    cues, cues_are_open = cue_words(content)
    length = entry_frames(scene, film)
    music = [
        word
        for cue in content.cues
        for word in (cue.label, cue_title(cue), *(item.rights.title for item in cue.candidates))
    ]
    words = (scene.number, scene.slugline, scene.purpose, scene.synopsis, content.grade_note, cues, *music)
    return EntryFacts(
        number=scene.number,
        title=scene.slugline.strip(),
        detail=_on_one_line(scene.purpose),
        cues=cues,
        cues_are_open=cues_are_open,
        note=_on_one_line(content.grade_note),
        length_frames=length,
        length=format_length(length, film.rate),
        moments=spread(content, film.rate),
        searched="\n".join(words).casefold(),
    )


def _card_facts(card: Card, film: Film) -> EntryFacts:
    shown = shown_card(card, film)
    length = 0 if is_empty(shown) else entry_frames(card, film)
    name = kind_name(card)
    return EntryFacts(
        number="",
        title=name,
        detail=_card_line(shown),
        cues="",
        cues_are_open=False,
        note="",
        length_frames=length,
        length=format_length(length, film.rate),
        moments=(),
        searched=f"{name}\n{card_text(shown)}".casefold(),
    )


def _card_line(card: Card) -> str:
    """Return the one line that stands for a card: its first words, else how it moves.

    A first line or heading that only says the card's name again is left out: the name stands before it.
    """
    name = kind_name(card).strip().casefold()
    if lines := [line.strip() for line in card.lines if line.strip()]:
        return next((line for line in lines[lines[0].casefold() == name :]), "")
    if is_empty(card):
        return ""
    if card.motion is Motion.ROLL:
        return f"roll, {card.roll_px} px a frame"
    text = _on_one_line(card_text(card))
    heading = _on_one_line(card.credits[0].heading) if card.credits else ""
    if heading and heading.casefold() == name:
        return text[len(heading) :].strip()
    return text or "a picture"


def _untold(cue: Cue) -> str:
    return (
        f"{counted(len(cue.candidates), 'candidate')}, none chosen" if cue.candidates else "nothing tried yet"
    )


def _on_one_line(text: str) -> str:
    return " ".join(text.split())


def spoken(facts: EntryFacts) -> str:
    """Return what a sentence for the ear calls an entry: `Scene 4A, EXT. SLIPWAY - DUSK`."""
    if not facts.number:
        return f"Card {facts.title}" + (f", {quoted(facts.detail)}" if facts.detail else "")
    return f"Scene {facts.number}, {facts.title or NO_SLUGLINE}"
