"""What stands in the way of one scene, or deserves a look in it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from desk.film.framing import enlargement
from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts, PictureFacts
from desk.film.model import Clip, Cue, Film, Rights, Scene, SoundKind, Spot
from desk.film.problem import Facts, Problem, Severity, trouble_with
from desk.film.rights import missing, terms_of
from desk.film.timing import content_frames, tail_handle_frames
from desk.film.wording import counted, entry_name, listed, quoted, sentence

LEAST_ENLARGEMENT = Fraction(101, 100)
"""Enlargement that is spoken of; less is rounding."""

OWN_SOUND_SLACK_SECONDS = Fraction(1, 10)
"""What a camera's sound may be shorter than its picture without a word (common practice, no source)."""

HDR_TRANSFERS = frozenset({"smpte2084", "arib-std-b67"})
"""Transfer functions of HDR, PQ and HLG, by their names in FFmpeg (ITU-R BT.2100)."""

_NO_LEGAL_ADVICE = "What you enter is kept and shown; this is no legal advice."


@dataclass(frozen=True, slots=True)
class SceneCheck:
    """Looks at one scene.

    Attributes:
        film: The film.
        scene: The scene.
        facts: What is known of each file.
        hard: What it means when the scene can't be made as it stands.
    """

    film: Film
    scene: Scene
    facts: Facts
    hard: Severity

    def media(self) -> Iterator[Problem]:
        """Yield files that are missing or can't be used."""
        used, tried = self._uses()
        for path, users in (*used.items(), *tried.items()):
            if trouble := trouble_with(path, self.facts):
                severity = self.hard if path in used else Severity.LOOK
                told = (
                    f"{quoted(path)}: {trouble.sentence}"
                    if path not in trouble.sentence
                    else trouble.sentence
                )
                yield self._problem(severity, listed(users), told, trouble.advice, trouble.code)
        for index, clip in enumerate(self.scene.content.clips):
            known = self.facts.get(clip.source)
            if isinstance(known, MediaFacts) and known.picture is None:
                yield self._problem(
                    self.hard,
                    f"clip {index + 1}",
                    f"Its source {quoted(clip.source)} has no picture.",
                    "Choose footage with a picture; this file can serve as a recording, music or effect.",
                    "media.no-picture",
                )
        for path, users in used.items():
            known = self.facts.get(path)
            heard = [user for user in users if not user.startswith("clip")]
            if heard and isinstance(known, MediaFacts) and known.sound is None:
                yield self._problem(
                    self.hard,
                    listed(heard),
                    f"{quoted(path)} has no sound.",
                    "Choose another file.",
                    "media.no-sound",
                )

    def gaps(self) -> Iterator[Problem]:
        """Yield where black stands in the scene."""
        for index, clip in enumerate(self.scene.content.clips):
            if clip.gap_frames:
                verb = "stands" if clip.gap_frames == 1 else "stand"
                yield self._problem(
                    Severity.LOOK,
                    f"clip {index + 1}",
                    f"{counted(clip.gap_frames, 'frame')} of black {verb} before it.",
                    "Close the gap, or put a clip there.",
                    "clip.gap",
                )

    def clips(self) -> Iterator[Problem]:
        """Yield what is the matter with clips whose footage is there."""
        for index, clip in enumerate(self.scene.content.clips):
            known = self.facts.get(clip.source)
            if not isinstance(known, MediaFacts) or known.picture is None:
                continue
            subject = f"clip {index + 1}"
            yield from self._overrun(subject, clip, known.picture)
            yield from self._framing(subject, clip, known.picture)
            if clip.speed != 1 and clip.sound.kind is SoundKind.OWN and known.sound:
                direction = "higher" if clip.speed > 1 else "lower"
                yield self._problem(
                    Severity.LOOK,
                    subject,
                    f"Its own sound runs at {clip.speed} times its speed, and is {direction} by as much.",
                    "Silence it, or lay a separate recording or an effect.",
                    "sound.pitch",
                )
        yield from self._kinds_of_footage()

    def sounds(self) -> Iterator[Problem]:
        """Yield sounds that run beyond their files or lie outside the scene, and what music lacks."""
        content = self.scene.content
        # Of a spot that repeats, all times sound alike.
        heard = {span.owner: span for span in reversed(spans(content, self.film.rate))}
        for index, clip in enumerate(content.clips):
            whole = clip.sound.lead_frames + clip.length_frames + clip.sound.lag_frames
            yield from self._short_sound(f"clip {index + 1}", heard.get(clip.id), whole)
        length_frames = content_frames(content)
        items: tuple[Cue | Spot, ...] = (*content.cues, *content.spots)
        for item in items:
            name = _sound_name(item)
            yield from self._short_sound(name, heard.get(item.id), item.length_frames)
            last = item.repeats * item.every_frames if isinstance(item, Spot) else 0
            whole = last + item.length_frames
            if length_frames and not -whole < item.start_frames < length_frames:
                when = (
                    "ends before the scene begins"
                    if item.start_frames < 0
                    else "begins after the scene's end"
                )
                yield self._problem(
                    Severity.LOOK, name, f"It {when}.", "Move it, or take it out.", "sound.outside"
                )
        yield from self._rights()

    def _rights(self) -> Iterator[Problem]:
        """Yield sounds whose terms are not entered, or do not allow them in a film."""
        content = self.scene.content
        for cue in content.cues:
            if (choice := cue.choice) is not None:
                name = quoted(choice.rights.title or choice.file)
                yield from self._terms(_sound_name(cue), "music", f"music {name}", choice.rights)
        told = set()
        for spot in content.spots:
            # Of most effects nothing is entered, since the makers recorded them: of those nothing is said.
            if spot.rights != Rights() and spot.rights not in told:
                told.add(spot.rights)
                name = quoted(spot.rights.title or spot.file)
                yield from self._terms(_sound_name(spot), "effect", f"sound {name}", spot.rights)

    def _terms(self, subject: str, kind: str, name: str, rights: Rights) -> Iterator[Problem]:
        terms, lacking = terms_of(rights), missing(rights)
        if "licence" in lacking:
            yield self._problem(
                Severity.LOOK,
                subject,
                f"No licence is entered for its {name}.",
                f"Enter who made it and on what terms you may use it. {_NO_LEGAL_ADVICE}",
                f"{kind}.no-licence",
            )
        elif terms.credit and lacking:
            yield self._problem(
                Severity.LOOK,
                subject,
                f"Its {name} has to be credited, and lacks its {listed(lacking)}.",
                f"Enter what is missing, or the credit that its maker asks for. {_NO_LEGAL_ADVICE}",
                f"{kind}.no-credit",
            )
        if terms.no_derivatives:
            other = "other music" if kind == "music" else "another sound"
            yield self._problem(
                Severity.LOOK,
                subject,
                f"The licence of its {name} allows no adaptation; setting it to picture is one.",
                f"Ask its maker, or take {other}. {_NO_LEGAL_ADVICE}",
                f"{kind}.no-derivatives",
            )

    def _uses(self) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
        """Return what uses each file, and what uses those that were only tried or are only for the eye."""
        content = self.scene.content
        used: dict[str, list[str]] = {}
        tried: dict[str, list[str]] = {}
        for index, clip in enumerate(content.clips):
            used.setdefault(clip.source, []).append(f"clip {index + 1}")
            if clip.sound.kind is SoundKind.SEPARATE:
                used.setdefault(clip.sound.file, []).append(f"separate recording of clip {index + 1}")
        for cue in content.cues:
            for candidate in cue.candidates:
                chosen = candidate.id == cue.chosen
                (used if chosen else tried).setdefault(candidate.file, []).append(_sound_name(cue))
        for spot in content.spots:
            used.setdefault(spot.file, []).append(_sound_name(spot))
        return used, {path: users for path, users in tried.items() if path not in used}

    def _overrun(self, subject: str, clip: Clip, picture: PictureFacts) -> Iterator[Problem]:
        beyond = -tail_handle_frames(clip, self.film.rate, picture.seconds)
        if beyond <= 0:
            return
        if beyond >= clip.length_frames:
            told, advice = "It begins beyond the end of its footage.", "Set its in point earlier."
        else:
            told = f"It runs {counted(beyond, 'frame')} beyond the end of its footage."
            advice = f"Trim {counted(beyond, 'frame')} off its tail, or use longer footage."
        yield self._problem(self.hard, subject, f"{told[:-1]} {quoted(clip.source)}.", advice, "clip.overrun")

    def _framing(self, subject: str, clip: Clip, picture: PictureFacts) -> Iterator[Problem]:
        factor = enlargement(clip.framing, picture.upright_size, self.film.size)
        if factor < LEAST_ENLARGEMENT:
            return
        percent = math.floor((factor - 1) * 100 + Fraction(1, 2))
        yield self._problem(
            Severity.LOOK,
            subject,
            f"Its framing enlarges the picture by {percent} % beyond its own pixels, at {self.film.size}.",
            "Scale it down, make the film smaller, or accept a softer picture.",
            "framing.enlarges",
        )

    def _kinds_of_footage(self) -> Iterator[Problem]:
        pictures = {
            clip.source: known.picture
            for clip in self.scene.content.clips
            if isinstance(known := self.facts.get(clip.source), MediaFacts) and known.picture
        }
        for told, advice, code, holds in _KINDS:
            paths = [quoted(path) for path, picture in pictures.items() if holds(picture)]
            if paths:
                yield self._problem(Severity.LOOK, "", f"It uses {told}: {listed(paths)}.", advice, code)

    def _short_sound(self, subject: str, span: Span | None, whole_frames: int) -> Iterator[Problem]:
        """Yield where a file has no sound for the first or last frames of what uses it."""
        known = self.facts.get(span.file) if span else None
        if span is None or not isinstance(known, MediaFacts) or known.sound is None:
            return
        rate = self.film.rate
        late = whole_frames - span.length_frames
        if span.parts:
            yield from self._short_parts(subject, span, known.sound.seconds)
            return
        end = span.in_seconds + rate.seconds(span.length_frames) * span.speed
        missing_seconds = (end - known.sound.seconds) / span.speed
        slack = OWN_SOUND_SLACK_SECONDS if span.kind == "dialogue" else 0
        early = min(span.length_frames, math.floor(missing_seconds * rate.fraction))
        for frames, where in ((late, "first"), (early if missing_seconds > slack else 0, "last")):
            if frames > 0:
                yield self._problem(
                    Severity.LOOK,
                    subject,
                    f"{quoted(span.file)} has no sound for its {where} {counted(frames, 'frame')}.",
                    "Trim it, move its in point, or use a longer file.",
                    "sound.short",
                )

    def _short_parts(self, subject: str, span: Span, sound_seconds: Fraction) -> Iterator[Problem]:
        """Yield where music in parts reaches beyond its file, or does not fill its cue."""
        rate = self.film.rate
        beyond = [part for part in span.parts if part.in_seconds + part.length_seconds > sound_seconds]
        if beyond:
            yield self._problem(
                Severity.LOOK,
                subject,
                f"{counted(len(beyond), 'part')} of its music {'goes' if len(beyond) == 1 else 'go'} "
                f"beyond the end of {quoted(span.file)}.",
                "Fit the music to the cue again.",
                "sound.short",
            )
        filled = sum((part.length_seconds for part in span.parts), Fraction(0))
        empty = math.floor((rate.seconds(span.length_frames) - filled) * rate.fraction)
        if empty:
            yield self._problem(
                Severity.LOOK,
                subject,
                f"The parts of its music leave its last {counted(empty, 'frame')} silent.",
                "Fit the music to the cue again, or trim the cue.",
                "sound.short",
            )

    def _problem(self, severity: Severity, subject: str, told: str, advice: str, code: str) -> Problem:
        name = sentence(entry_name(self.scene))
        return Problem(
            severity=severity,
            place=self.scene.id,
            subject=f"{name}, {subject}" if subject else name,
            sentence=told,
            advice=advice,
            code=code,
        )


_KINDS = (
    (
        "footage of variable frame rate",
        "Each of its frames is shown at its own time; see whether movement is even.",
        "media.variable-rate",
        lambda picture: picture.variable,
    ),
    (
        "interlaced footage",
        "Its lines may comb where things move; make a progressive copy of it and use that.",
        "media.interlaced",
        lambda picture: picture.interlaced,
    ),
    (
        "HDR footage",
        "It is shown without a conversion and looks flat; make a BT.709 copy of it and use that.",
        "media.hdr",
        lambda picture: picture.transfer in HDR_TRANSFERS,
    ),
    (
        "footage without colour tags, so that its colours are guessed",
        "Compare it with the camera's own player.",
        "media.untagged",
        lambda picture: not (picture.matrix and picture.primaries and picture.transfer),
    ),
)


def _sound_name(item: Cue | Spot) -> str:
    kind = "cue" if isinstance(item, Cue) else "spot"
    return f"{kind} {item.label or item.id}"
