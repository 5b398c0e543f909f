"""What stands in the way of an assembly, and what deserves a look.

What belongs to an entry that goes into the assembly blocks it where the assembly could not be right: media
that can't be used, clips that run beyond their footage, joins that do not fit. The same in a scene that is
set aside, or that this assembly leaves out or shows a slate for, only deserves a look. A lock that does not
hold blocks an assembly of locked scenes and deserves a look in the others, which take drafts anyway.

The film must have no faults (`desk.film.faults`).
"""

from collections.abc import Iterable, Iterator
from itertools import chain, pairwise

from desk.film.content_faults import Fault
from desk.film.filling import filled_card
from desk.film.locking import broken
from desk.film.media import MediaFacts
from desk.film.model import CUT, Card, Film, Join, JoinKind, Motion, Rights, Scene
from desk.film.problem import Facts, MediaTrouble, Problem, Severity, told_of, trouble_with
from desk.film.reading import card_text, is_empty, reading_frames
from desk.film.rights import NO_LEGAL_ADVICE, has_to_be_credited
from desk.film.scene_checks import SceneCheck
from desk.film.timing import Include, JoinRoom, Layout, Slot, fitting_join, join_room, lay_out
from desk.film.wording import counted, entry_name, join_name, listed, quoted, sentence, uncapped

__all__ = ["Facts", "MediaTrouble", "Problem", "Severity", "check", "problems_of_faults"]

_STILL = "media.still"
"""Code of a file that is a still picture: wrong as footage, right behind a card."""


def check(film: Film, facts: Facts, include: Include) -> tuple[Problem, ...]:
    """Return what stands in the way of an assembly, then what deserves a look, each in the order of the film.

    Args:
        film: The film; it must have no faults.
        facts: What is known of each file, by its path in the film.
        include: Which scenes the assembly takes.
    """
    layout = lay_out(film, include)
    made = {slot.entry.id for slot in layout.slots if not slot.slate}
    playing = [slot.entry for slot in layout.slots if isinstance(slot.entry, Scene) and not slot.slate]
    entries = film.entries()
    found = [*_nothing(film, layout, include)]
    for placement in film.order:
        entry = entries[placement.entry]
        if isinstance(entry, Card):
            found += _card(film, filled_card(entry, playing), facts)
        else:
            found += _scene(film, entry, facts, include, entry.id in made)
    found += _joins(film, layout, facts)
    found += _fades(film, layout)
    found += _credits(layout)
    for aside in film.aside:
        found += _aside(film, entries[aside.entry], facts)
    return tuple(sorted(found, key=lambda problem: problem.severity is not Severity.BLOCKS))


def problems_of_faults(faults: Iterable[Fault]) -> tuple[Problem, ...]:
    """Return faults in the form of problems, all of which block."""
    return tuple(
        Problem(
            severity=Severity.BLOCKS,
            place="",
            subject=fault.place,
            sentence=fault.sentence,
            advice="Correct it in the film file.",
            code="film.fault",
        )
        for fault in faults
    )


def _nothing(film: Film, layout: Layout, include: Include) -> Iterator[Problem]:
    if any(isinstance(slot.entry, Scene) for slot in layout.slots):
        return
    in_order = {placement.entry for placement in film.order}
    if not any(scene.id in in_order for scene in film.scenes):
        told, advice = "It has no scenes in its running order.", "Add a scene, or put one back."
    elif include is Include.LOCKED:
        told, advice = (
            "None of its scenes is locked with clips in it.",
            "Lock a scene, or take the drafts too.",
        )
    else:
        told, advice = "None of its scenes has clips.", "Add footage to a scene."
    yield Problem(
        severity=Severity.BLOCKS,
        place="",
        subject="The film",
        sentence=f"There is nothing to assemble: {uncapped(told)}",
        advice=advice,
        code="film.nothing",
    )


def _scene(film: Film, scene: Scene, facts: Facts, include: Include, made: bool) -> Iterator[Problem]:
    hard = Severity.BLOCKS if made else Severity.LOOK
    looker = SceneCheck(film, scene, facts, hard)
    yield from _standing(scene, include)
    yield from _lock(scene, facts, Severity.BLOCKS if include is Include.LOCKED else Severity.LOOK)
    yield from looker.media()
    yield from looker.gaps()
    yield from looker.clips()
    yield from looker.sounds()


def _aside(film: Film, entry: Scene | Card, facts: Facts) -> Iterator[Problem]:
    """Yield what could be in the way of putting an entry back: its media and its lock."""
    if isinstance(entry, Card):
        yield from _card_picture(entry, facts, Severity.LOOK)
        return
    yield from _lock(entry, facts, Severity.LOOK)
    yield from SceneCheck(film, entry, facts, Severity.LOOK).media()


def _standing(scene: Scene, include: Include) -> Iterator[Problem]:
    """Yield whether a scene is finished, and what it is for."""
    if not scene.content.clips:
        what = "a slate stands in for it" if include is Include.SLATES else "it is left out"
        advice = "Add footage, or set it aside."
        yield _look(scene, f"It has no clips yet, so {what}.", advice, "scene.empty")
    elif scene.lock is None:
        what = {
            Include.LOCKED: "It is not locked, so it is left out.",
            Include.ALL: "It is not locked, and goes in as a draft.",
            Include.SLATES: "It is not locked, so a slate stands in for it.",
        }[include]
        yield _look(scene, what, "Lock it once it is proofed.", "scene.unlocked")
    if not scene.purpose.strip():
        told = "It has no purpose, so it is the first to question."
        yield _look(scene, told, "Write what changes because of it, or set it aside.", "scene.no-purpose")


def _lock(scene: Scene, facts: Facts, severity: Severity) -> Iterator[Problem]:
    if scene.lock is None:
        return
    current = {
        media.path: (known.size_bytes, known.sample_hash) if isinstance(known, MediaFacts) else None
        for media in scene.lock.media
        if (known := facts.get(media.path)) is not None
    }
    if reasons := broken(scene, current):
        yield Problem(
            severity=severity,
            place=scene.id,
            subject=sentence(entry_name(scene)),
            sentence=f"Its lock is broken: {'; '.join(uncapped(reason)[:-1] for reason in reasons)}.",
            advice="Bring back what was locked, or unlock it, proof it and lock it again.",
            code="lock.broken",
        )


def _card(film: Film, card: Card, facts: Facts) -> Iterator[Problem]:
    yield from _card_picture(card, facts, Severity.BLOCKS)
    if is_empty(card):
        yield _look(
            card, "It is empty, so it is left out.", "Write what it says, or delete it.", "card.empty"
        )
    elif card.motion is Motion.HOLD and card.length_frames is not None:
        needed = reading_frames(card_text(card), film.rate)
        if card.length_frames < needed:
            told = f"It stands {counted(card.length_frames, 'frame')}, and reading it takes {needed:,}."
            advice = "Let it stand longer, or shorten its text."
            yield _look(card, told, advice, "card.too-short")


def _card_picture(card: Card, facts: Facts, severity: Severity) -> Iterator[Problem]:
    trouble = trouble_with(card.picture, facts) if card.picture else None
    if trouble and trouble.code != _STILL:
        yield Problem(
            severity=severity,
            place=card.id,
            subject=sentence(entry_name(card)),
            sentence=told_of(card.picture, trouble),
            advice=trouble.advice,
            code=trouble.code,
        )


def _joins(film: Film, layout: Layout, facts: Facts) -> Iterator[Problem]:
    """Yield joins that find too little of their neighbours, or of the footage beyond the cut."""
    lengths = {
        path: known.picture.seconds
        for path, known in facts.items()
        if isinstance(known, MediaFacts) and known.picture
    }
    previous = CUT
    for outgoing, incoming in pairwise(layout.slots):
        join = outgoing.join
        if join.kind is not JoinKind.CUT:
            room = join_room(outgoing, incoming, previous, film.rate, lengths)
            yield from chain(
                _meets_black(outgoing, incoming, join, room),
                _too_long(outgoing, incoming, join, room),
                _handles(outgoing, incoming, join, room),
            )
        previous = join


def _meets_black(outgoing: Slot, incoming: Slot, join: Join, room: JoinRoom) -> Iterator[Problem]:
    """Yield a join that needs a clip right after the cut, where a scene begins with black."""
    if not room.gap_frames or not (join.kind is JoinKind.DISSOLVE or join.after_frames):
        return
    black = counted(room.gap_frames, "frame")
    name = sentence(entry_name(incoming.entry))
    told = f"{name} begins with {black} of black, and the {join_name(join)} needs a clip there."
    fits = _fitting(join, room)
    advice = "Close the gap before its first clip, or make it a cut."
    if fitting_join(join, room).kind is not JoinKind.CUT:
        advice = f"Close the gap before its first clip. As it is, {uncapped(fits)}"
    yield _join_problem(outgoing, incoming, told, advice, "join.gap")


def _too_long(outgoing: Slot, incoming: Slot, join: Join, room: JoinRoom) -> Iterator[Problem]:
    over = []
    for frames, most, slot, end in (
        (join.before_frames, room.before, outgoing, "end"),
        (0 if room.gap_frames else join.after_frames, room.after, incoming, "beginning"),
    ):
        if frames > max(0, most):
            name = entry_name(slot.entry)
            over.append(
                f"it takes {counted(frames, 'frame')} from the {end} of {name}, which leaves {max(0, most):,}"
            )
    if over:
        told = f"The {join_name(join)} does not fit: {'; '.join(over)}."
        yield _join_problem(outgoing, incoming, told, _fitting(join, room), "join.too-long")


def _handles(outgoing: Slot, incoming: Slot, join: Join, room: JoinRoom) -> Iterator[Problem]:
    if join.kind is not JoinKind.DISSOLVE:
        return
    short = []
    for frames, handle, slot, where in (
        (0 if room.gap_frames else join.before_frames, room.head_handle, incoming, "before the head"),
        (join.after_frames, room.tail_handle, outgoing, "after the tail"),
    ):
        have = frames if handle is None else max(0, handle)
        if have < frames:
            few = counted(frames - have, "frame")
            short.append(f"{few} too few {where} of {entry_name(slot.entry)} ({have:,} of {frames:,})")
    if short:
        told = f"The handles are too short for the dissolve: {listed(short)}."
        yield _join_problem(outgoing, incoming, told, _fitting(join, room), "join.handles")


def _fitting(join: Join, room: JoinRoom) -> str:
    fits = fitting_join(join, room)
    if fits.kind is JoinKind.CUT:
        return "Only a cut fits; trim the clips to make room."
    sides = f"{fits.before_frames:,} before the cut and {fits.after_frames:,} after it"
    return f"A {join_name(join)} of {counted(fits.length_frames, 'frame')} fits: {sides}."


def _join_problem(outgoing: Slot, incoming: Slot, told: str, advice: str, code: str) -> Problem:
    return Problem(
        severity=Severity.BLOCKS,
        place=outgoing.entry.id,
        subject=f"Join of {entry_name(outgoing.entry)} and {entry_name(incoming.entry)}",
        sentence=told,
        advice=advice,
        code=code,
    )


def _fades(film: Film, layout: Layout) -> Iterator[Problem]:
    """Yield the film's own fades where the first or last entry is too short for them."""
    if not layout.slots:
        return
    first, last = layout.slots[0], layout.slots[-1]
    before = layout.slots[-2].join.after_frames if len(layout.slots) > 1 else film.fade_in_frames
    for name, frames, slot, most in (
        ("fade in", film.fade_in_frames, first, first.length_frames - first.join.before_frames),
        ("fade out", film.fade_out_frames, last, last.length_frames - before),
    ):
        if frames > max(0, most):
            leaves = f"and {entry_name(slot.entry)} leaves {max(0, most):,}"
            yield Problem(
                severity=Severity.BLOCKS,
                place=slot.entry.id,
                subject=f"The film's {name}",
                sentence=f"It takes {counted(frames, 'frame')}, {leaves}.",
                advice=f"Make it {counted(max(0, most), 'frame')} or shorter.",
                code="fade.too-long",
            )


def _credits(layout: Layout) -> Iterator[Problem]:
    """Yield music and effects that have to be credited, where no card of the assembly names them."""
    cards = " ".join(card_text(slot.entry) for slot in layout.slots if isinstance(slot.entry, Card))
    written = " ".join(cards.casefold().split())
    playing = [slot.entry for slot in layout.slots if isinstance(slot.entry, Scene) and not slot.slate]
    unnamed = [
        quoted(rights.title or file.rpartition("/")[2])
        for scene in playing
        for rights, file in _sounds_of(scene)
        if has_to_be_credited(rights) and not _is_named(rights, written)
    ]
    if unnamed:
        names = list(dict.fromkeys(unnamed))
        them = "it" if len(names) == 1 else "them"
        yield Problem(
            severity=Severity.LOOK,
            place="",
            subject="The credits",
            sentence=f"{listed(names)} {'has' if len(names) == 1 else 'have'} to be credited, and no card "
            f"names {them}.",
            advice=f"Have a credit card add {them} by itself, or write {them} there. {NO_LEGAL_ADVICE}",
            code="credits.missing",
        )


def _sounds_of(scene: Scene) -> Iterator[tuple[Rights, str]]:
    """Yield what is known of the music and the effects that sound in a scene, and their files."""
    for cue in scene.content.cues:
        if cue.choice is not None:
            yield cue.choice.rights, cue.choice.file
    for spot in scene.content.spots:
        yield spot.rights, spot.file


def _is_named(rights: Rights, written: str) -> bool:
    """Return whether cards have the words that are asked for, or title and author."""
    words = [rights.required_credit] if rights.required_credit.strip() else [rights.title, rights.author]
    wanted = [" ".join(word.casefold().split()).rstrip(".") for word in words if word.strip()]
    return bool(wanted) and all(word in written for word in wanted)


def _look(entry: Scene | Card, told: str, advice: str, code: str) -> Problem:
    return Problem(
        severity=Severity.LOOK,
        place=entry.id,
        subject=sentence(entry_name(entry)),
        sentence=told,
        advice=advice,
        code=code,
    )
