"""The files of a scene, each as one row: what it is, how long it is, and how often the scene uses it."""

import dataclasses
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from pathlib import Path, PurePosixPath

from desk.film.media import MediaFacts
from desk.film.model import SceneContent, SoundKind
from desk.film.paths import content_paths
from desk.film.problem import MediaTrouble
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.wording import counted, quoted
from desk.footage.order import SOUND_SUFFIXES, in_natural_order
from desk.footage.recordings import recordings
from desk.ui.cutting.footage.folder import RAW_SUFFIXES
from desk.ui.scene.clip_facts import NOT_READ, file_name, shown_rate

Known = Mapping[str, MediaFacts | MediaTrouble]


class FootageKind(Enum):
    """What a file is; the value is what it is called."""

    PICTURE = "picture"
    SOUND = "sound"
    NEITHER = "can't be read"


@dataclass(frozen=True, slots=True, kw_only=True)
class FootageRow:
    """One file of a scene.

    Attributes:
        path: As the film names it.
        kind: What it is.
        uses: How often the scene uses it.
        length: How long it is, or "" where that is not known.
        format: Size and rate of the picture, or what the sound is, in short.
        origin: Camera, or where the file lies when that is not the scene's folder, in short.
        seconds: How long it is, 0 where that is not known.
        trouble: What is wrong with it in a few words, or "".
        told: What is wrong with it, and what to do, in sentences.
        marked: How much of it is marked, or "" where all of it is wanted.
        is_known: Whether it was looked at and can be used.
        is_added: Whether the person put it on the list, and the scene does not use it.
    """

    path: str
    kind: FootageKind
    uses: int = 0
    length: str = ""
    format: str = ""
    origin: str = ""
    seconds: Fraction = Fraction(0)
    trouble: str = ""
    told: str = ""
    marked: str = ""
    is_known: bool = False
    is_added: bool = False

    @property
    def name(self) -> str:
        """Name of the file."""
        return file_name(self.path)

    @property
    def format_words(self) -> str:
        """Size and rate of the picture, or, where a part of it is marked, how long that is."""
        return f"marked {self.marked}" if self.marked else self.format

    @property
    def use_words(self) -> str:
        """How often the scene uses it, in words."""
        return f"used {self.uses}×" if self.uses else "not used"

    @property
    def spoken(self) -> str:
        """All of it for the ear."""
        used = f"used {'once' if self.uses == 1 else counted(self.uses, 'time')}" if self.uses else "not used"
        kind = "" if self.kind is FootageKind.PICTURE else self.kind.value
        marked = f"{self.marked} of it marked" if self.marked else ""
        parts = (self.name, kind, self.trouble, self.length, marked, self.format, self.origin, used)
        return ", ".join(part for part in parts if part)


class FootageRows:
    """Makes the rows of scenes. What an edit does not touch is made once."""

    def __init__(self) -> None:
        self._made: dict[str, tuple[object, str, Rate, FootageRow]] = {}
        self._ordered: tuple[tuple[str, ...], object, tuple[str, ...]] = ((), None, ())

    def of(
        self,
        content: SceneContent,
        *,
        folder: str,
        files: tuple[str, ...],
        added: Iterable[str],
        known: Known,
        rate: Rate,
    ) -> tuple[FootageRow, ...]:
        """Return the files of a scene: its folder's as they were shot, its sounds, those from elsewhere.

        Args:
            content: What the scene uses.
            folder: Its folder, as the film has it, or "".
            files: What lies there.
            added: What the person put on the list beside it.
            known: What was read of each file; another mapping when anything of it is another.
            rate: The film's.
        """
        if self._ordered[0] != files or self._ordered[1] is not known:
            self._ordered = (files, known, shot_order(files, known))
        uses = _uses(content)
        listed = dict.fromkeys(self._ordered[2])
        used = dict.fromkeys(
            path for path in content_paths(content, every_candidate=True) if path not in listed
        )
        by_person = [path for path in added if path not in listed]
        elsewhere = shot_order(dict.fromkeys((*used, *by_person)), known)
        only_added = set(by_person) - used.keys()
        before, self._made = self._made, {}
        for path in (*listed, *elsewhere):
            facts = known.get(path)
            made = before.get(path)
            if made is None or made[0] is not facts or made[1:3] != (folder, rate):
                made = (facts, folder, rate, _row(path, folder, facts, rate))
            row = made[3]
            if (row.uses, row.is_added) != (uses[path], path in only_added):
                row = dataclasses.replace(row, uses=uses[path], is_added=path in only_added)
            self._made[path] = (facts, folder, rate, row)
        rows = [made[3] for made in self._made.values()]
        rows.sort(key=lambda row: (row.path not in listed, row.kind is FootageKind.SOUND))
        return tuple(rows)


def shot_order(files: Iterable[str], known: Known) -> tuple[str, ...]:
    """Return files in natural order, with the chapters of a recording one after the other."""
    paths = {Path(path): path for path in files}
    facts = {path: read for path, name in paths.items() if isinstance(read := known.get(name), MediaFacts)}
    if not any(read.picture for read in facts.values()):
        return tuple(paths[path] for path in in_natural_order(paths))
    return tuple(paths[path] for found in recordings(paths, facts) for path in found.files)


def kind_of(path: str, known: MediaFacts | MediaTrouble | None) -> FootageKind:
    """Return what a file is, from its name until more is known."""
    suffix = PurePosixPath(path).suffix.lower()
    if suffix in RAW_SUFFIXES:
        return FootageKind.NEITHER
    if suffix in SOUND_SUFFIXES:
        return FootageKind.SOUND
    if isinstance(known, MediaFacts) and known.picture is None:
        return FootageKind.SOUND if known.sound else FootageKind.NEITHER
    return FootageKind.PICTURE


def matches(row: FootageRow, text: str, *, unused_only: bool) -> bool:
    """Return whether a row is shown: every word is found in it, and it is not used yet where that is asked.

    Args:
        row: The row.
        text: Words to find in its path, camera and format.
        unused_only: Whether only what the scene does not use is shown.
    """
    if unused_only and row.uses:
        return False
    if not text:
        return True
    searched = f"{row.path} {row.format} {row.origin}".casefold()
    return all(word in searched for word in text.casefold().split())


def _uses(content: SceneContent) -> Counter[str]:
    uses: Counter[str] = Counter(clip.source for clip in content.clips)
    uses.update(clip.sound.file for clip in content.clips if clip.sound.kind is SoundKind.SEPARATE)
    uses.update(spot.file for spot in content.spots)
    uses.update(cue.choice.file for cue in content.cues if cue.choice)
    return uses


def _row(path: str, folder: str, known: MediaFacts | MediaTrouble | None, rate: Rate) -> FootageRow:
    """Return a file that is not used."""
    kind = kind_of(path, known)
    trouble, told = _trouble(path, kind, known)
    seconds = Fraction(0)
    length = shape = ""
    origin = _place(path, folder)
    if isinstance(known, MediaFacts) and not trouble:
        if kind is FootageKind.PICTURE and known.picture:
            seconds = known.picture.seconds
            width, height = known.picture.upright_size
            rate_words = "varying" if known.picture.variable else shown_rate(known.picture.rate)
            shape = f"{round(width)}×{round(height)} · {rate_words}"
            origin = origin or known.camera
        elif known.sound:
            seconds = known.sound.seconds
            layout = known.sound.layout or _channels(known.sound.channels)
            shape = f"{known.sound.sample_rate_hz / 1000:g} kHz · {layout}"
        length = format_length(math.ceil(seconds * rate.fraction), rate)
    return FootageRow(
        path=path,
        kind=kind,
        length=length,
        format=shape if known or trouble else NOT_READ,
        origin=origin,
        seconds=seconds,
        trouble=trouble,
        told=told,
        is_known=isinstance(known, MediaFacts) and not trouble,
    )


def _trouble(path: str, kind: FootageKind, known: MediaFacts | MediaTrouble | None) -> tuple[str, str]:
    """Return what is wrong with a file in a few words, and in sentences."""
    name, suffix = quoted(file_name(path)), PurePosixPath(path).suffix
    if suffix.lower() in RAW_SUFFIXES:
        return "raw, can't be read", (
            f"{name} holds the raw picture data of a camera, which can't be read here. Make a .mov or .mxf "
            "of it with the camera maker's own program, and put that into the folder."
        )
    if isinstance(known, MediaTrouble):
        few = "missing" if known.code == "media.missing" else "can't be read"
        return few, f"{known.sentence} {known.advice}".strip()
    if isinstance(known, MediaFacts) and known.picture is None and known.sound is None:
        return "no picture, no sound", f"{name} has neither picture nor sound that can be read."
    if isinstance(known, MediaFacts) and kind is FootageKind.SOUND and known.sound is None:
        return "no sound", f"{name} has no sound that can be read."
    return "", ""


def _place(path: str, folder: str) -> str:
    """Return the folder of a file inside the scene's, or, for one from elsewhere, the last of its folders."""
    parent = PurePosixPath(path).parent
    if folder and parent.is_relative_to(folder):
        inside = parent.relative_to(folder)
        return "" if inside == PurePosixPath() else f"in {inside}"
    return f"from {parent.name or 'the project folder'}"


def _channels(count: int) -> str:
    return {1: "mono", 2: "stereo"}.get(count, counted(count, "channel"))
