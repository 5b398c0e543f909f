"""What is said of cues, of what is tried for them, and of spots."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from desk.film.lanes import sounding_parts
from desk.film.media import MediaFacts
from desk.film.model import Candidate, Cue, Film, Rights, Scene, SceneContent, Spot
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.film.rights import music_credits
from desk.film.timecode import format_label, format_length
from desk.film.timing import Include, Slot, content_frames, lay_out
from desk.film.wording import counted, entry_name
from desk.ui.scene.clip_facts import file_name, gain_text

NEAR_FRAMES = 1
"""Music that is so much longer or shorter than its cue fits."""


def cue_name(cue: Cue) -> str:
    """Return what a cue is called."""
    return cue.label or cue.id


def music_name(candidate: Candidate) -> str:
    """Return what a piece of music is called: its title, or its file."""
    return candidate.rights.title or file_name(candidate.file)


def cue_heading(film: Film, scene: Scene, cue: Cue) -> str:
    """Return where a cue stands in its scene, and how long it is."""
    rate = film.rate
    start = format_length(cue.start_frames, rate)
    words = f"{cue_name(cue)}: from {start}, {format_length(cue.length_frames, rate)} long"
    if beyond := beyond_frames(scene, cue):
        words += f", {format_length(beyond, rate)} of it after the scene's end"
    return words


def cue_end(cue: Cue) -> int:
    """Return the frame after a cue's last, from the scene's start."""
    return cue.start_frames + cue.length_frames


def film_place(film: Film, scene_start: int | None, start_frames: int) -> str:
    """Return the film's timecode of a place in a scene; "" where it has none.

    Args:
        film: The film.
        scene_start: The scene's first frame in the film, or None where it is set aside.
        start_frames: The place, from the scene's start.
    """
    if scene_start is None or scene_start + start_frames < 0:
        return ""
    frame = film.start_frames + scene_start + start_frames
    return f"film {format_label(frame, film.rate, drop_frame=film.drop_frame)}"


def beyond_frames(scene: Scene, cue: Cue) -> int:
    """Return how much of a cue lies after the end of its scene's picture, 0 or more."""
    if not scene.content.clips:
        return 0
    return max(0, min(cue_end(cue) - content_frames(scene.content), cue.length_frames))


def slots_after(film: Film, scene: Scene) -> Sequence[Slot]:
    """Return what is in the film, for `runs_on`; nothing where no cue of the scene runs on."""
    if any(beyond_frames(scene, cue) for cue in scene.content.cues):
        return lay_out(film, Include.ALL).slots
    return ()


def runs_on(film: Film, scene: Scene, cue: Cue, slots: Sequence[Slot]) -> str:
    """Return in words how a cue goes on after the end of its scene; "" where it does not.

    Args:
        film: The film.
        scene: The scene.
        cue: One of its cues.
        slots: As `slots_after` gives them, once for all cues.
    """
    beyond = beyond_frames(scene, cue)
    if not beyond:
        return ""
    place = next((at for at, slot in enumerate(slots) if slot.entry.id == scene.id), None)
    told = format_length(beyond, film.rate)
    if place is None:
        return f"{told} of it lie after the end of the scene."
    if place == len(slots) - 1:
        return f"{told} of it lie after the end of the film, where nothing is heard."
    following, names, left = slots[place + 1 :], [], beyond
    for slot in following:
        names.append(entry_name(slot.entry))
        left -= slot.length_frames
        if left <= 0:
            break
    onto = names[0] if len(names) == 1 else f"{names[0]} and as far as {names[-1]}"
    return f"It runs on over the cut into {onto}, for {told}."


def how_it_sounds(candidate: Candidate, rate: Rate, facts: Facts) -> str:
    """Return in point, gain, fades and parts of a piece of music, and how long its file is."""
    return " · ".join(_sounding(candidate, rate, facts))


def spot_rate(spot: Spot, rate: Rate) -> str:
    """Return how often a spot sounds, in words."""
    if not spot.repeats:
        return "once"
    return f"{spot.repeats + 1} times, every {format_length(spot.every_frames, rate)}"


def music_length(candidate: Candidate, facts: Facts) -> Fraction | None:
    """Return how much music there is from the in point on, in seconds; None where it is not known."""
    if candidate.parts:
        return sum((part.length_seconds for part in candidate.parts), Fraction(0))
    known = facts.get(candidate.file)
    if not isinstance(known, MediaFacts) or known.sound is None:
        return None
    return max(Fraction(0), known.sound.seconds - candidate.in_seconds)


def spare_frames(cue: Cue, candidate: Candidate, rate: Rate, facts: Facts) -> int | None:
    """Return by how many frames music is longer than its cue; below 0, shorter; None if unknown."""
    seconds = music_length(candidate, facts)
    if seconds is None:
        return None
    return int(seconds * rate.fraction + Fraction(1, 2)) - cue.length_frames


def fit_words(cue: Cue, candidate: Candidate, rate: Rate, facts: Facts) -> tuple[str, str]:
    """Return how a piece of music fits its cue, as a sentence, and the kind of the label that says it."""
    seams = seam_frames(cue, candidate, rate)
    if candidate.parts:
        told = f"It plays in {counted(len(seams) + 1, 'part')}, with {counted(len(seams), 'seam')}"
        told += f": {_listed(seams, rate)}." if seams else "."
        spare = spare_frames(cue, candidate, rate, facts) or 0
        if spare < -NEAR_FRAMES:
            told += f" The cue has become {format_length(-spare, rate)} longer since: fit it again."
            return told, "open"
        return told, "dim"
    length = spare_frames(cue, candidate, rate, facts)
    if length is None:
        return "How long the music is, is not known yet.", "dim"
    if length < -NEAR_FRAMES:
        return f"The music is {format_length(-length, rate)} too short for the cue.", "open"
    if length > NEAR_FRAMES:
        told = format_length(length, rate)
        return f"The music is {told} longer than the cue, which ends before it does.", "dim"
    return "The music is as long as the cue.", "dim"


def seam_frames(cue: Cue, candidate: Candidate, rate: Rate) -> tuple[int, ...]:
    """Return where the parts of a piece of music meet, in frames from the start of its cue."""
    parts = sounding_parts(candidate.parts, rate.seconds(cue.length_frames))
    found, reached = [], Fraction(0)
    for part in parts[:-1]:
        reached += part.length_seconds
        found.append(int(reached * rate.fraction + Fraction(1, 2)))
    return tuple(found)


def credited(candidate: Candidate) -> str:
    """Return how the credits of the film name a piece of music; "" where they can't."""
    cue = Cue(id="", length_frames=1, candidates=(candidate,), chosen=candidate.id)
    block = music_credits([Scene(id="", number="", content=SceneContent(cues=(cue,)))])
    return " ".join(", ".join(part for part in (row.role, *row.names) if part) for row in block.rows)


def known_rights(film: Film, file: str) -> Rights:
    """Return what the film says elsewhere of who made a file and on what terms."""
    for scene in film.scenes:
        for cue in scene.content.cues:
            for candidate in cue.candidates:
                if candidate.file == file and candidate.rights != Rights():
                    return candidate.rights
        for spot in scene.content.spots:
            if spot.file == file and spot.rights != Rights():
                return spot.rights
    return Rights()


def _sounding(candidate: Candidate, rate: Rate, facts: Facts) -> Iterator[str]:
    seconds = f"{float(candidate.in_seconds):.2f}".rstrip("0").rstrip(".")
    yield f"in at {seconds} s"
    yield gain_text(candidate.gain_db)
    if candidate.fade_in_frames or candidate.fade_out_frames:
        yield f"fades {candidate.fade_in_frames} / {candidate.fade_out_frames}"
    if candidate.parts:
        yield counted(len(candidate.parts), "part")
    known = facts.get(candidate.file)
    if isinstance(known, MediaFacts) and known.sound:
        yield f"{format_length(int(known.sound.seconds * rate.fraction), rate)} in all"


def _listed(frames: tuple[int, ...], rate: Rate) -> str:
    most = 6
    named = ", ".join(format_length(frame, rate) for frame in frames[:most])
    return named if len(frames) <= most else f"{named} and {len(frames) - most} more"
