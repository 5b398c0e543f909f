"""Numbered footage, films made of it, and what each frame of theirs has to show by the rule alone.

The rule: frame k of a clip shows the source frame on screen at t0 + k · speed / rate. Source frames of
constant rate come on screen at i / rate, others at their own times; the last one stays. In exact fractions,
and without any of `desk.render`.
"""

import bisect
import dataclasses
import functools
import itertools
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from desk.assembly.review import Assembly, Order, assemble
from desk.cards import drawing
from desk.cards.fonts import prepare_drawing
from desk.ffmpeg.program import Program
from desk.film.model import (
    CUT,
    Card,
    Clip,
    ClipSound,
    Film,
    Join,
    JoinKind,
    Placement,
    Scene,
    SceneContent,
    Size,
    SoundKind,
)
from desk.film.rates import Rate
from desk.film.timing import Include
from desk.store.project import new_project, open_film
from desk.store.save import save_film
from tests.making import Picture, make_numbered, read_pictures

SIZE = Size(128, 72)
SILENT = ClipSound(kind=SoundKind.SILENCE)
RATES = (Rate(24000, 1001), Rate(25), Rate(30000, 1001), Rate(50))

_ids = itertools.count(1)


@dataclass(frozen=True, slots=True)
class Source:
    """Numbered footage: when each frame comes on screen, from the first one on, and the first number."""

    path: Path
    times: tuple[Fraction, ...]
    first_number: int

    def number_at(self, seconds: Fraction) -> int:
        """Return the number of the frame on screen."""
        return self.first_number + max(bisect.bisect_right(self.times, seconds) - 1, 0)

    def frame_seconds(self, index: int, *, into: Fraction = Fraction(0)) -> Fraction:
        """Return a place on which a frame is on screen; `into` is how far into it, 0 to below 1."""
        index %= len(self.times)
        end = self.times[index + 1] if index + 1 < len(self.times) else self.times[-1] + Fraction(1, 1000)
        return self.times[index] + into * (end - self.times[index])


def _uneven(frames: int, ticks_hz: int, steps: Sequence[int]) -> tuple[Fraction, ...]:
    """Return times that follow each other in steps of so many ticks, again and again."""
    walked = itertools.accumulate(itertools.islice(itertools.cycle(steps), frames - 1), initial=0)
    return tuple(Fraction(tick, ticks_hz) for tick in walked)


# Phones record like this: 33.3 and 41.7 ms mixed, and now and then a frame is missing.
_PHONE_90000 = _uneven(180, 90_000, (3000, 3000, 3750, 3000, 3750, 3750, 3000, 6000))
_PHONE_MS = _uneven(180, 1000, (33, 34, 41, 33, 42, 41, 33, 67))

FOOTAGE: Mapping[str, Mapping[str, Any]] = {
    "mp4 25": {"rate": Rate(25), "frames": 320, "bframes": 3},
    "mov 23.976": {"rate": Rate(24000, 1001), "frames": 120, "gop": 24, "name": "-é 'A' #1 50%02d;x.mov"},
    "mkv 29.97": {"rate": Rate(30000, 1001), "frames": 150, "gop": 15, "suffix": "mkv"},
    "ts 25": {"rate": Rate(25), "frames": 160, "gop": 250, "suffix": "ts"},
    "avi 25": {"rate": Rate(25), "frames": 100, "codec": "mpeg4", "suffix": "avi",
               "extra": ("-q:v", "2", "-bf", "2")},
    "intra 25": {"rate": Rate(25), "frames": 60, "codec": "mjpeg", "suffix": "mov", "extra": ("-q:v", "2"),
                 "full_range": True, "pixel_format": "yuvj420p"},
    "mp4 50": {"rate": Rate(50), "frames": 200, "gop": 50},
    "mov 100": {"rate": Rate(100), "frames": 240, "gop": 100},
    "mp4 120": {"rate": Rate(120), "frames": 240, "gop": 60},
    "phone mp4": {"variable_times": _PHONE_90000, "frames": 180, "rate": Rate(30), "gop": 30},
    "phone mkv": {"variable_times": _PHONE_MS, "frames": 180, "rate": Rate(30), "gop": 30, "suffix": "mkv"},
    "hevc 10": {"rate": Rate(25), "frames": 60, "codec": "libx265", "pixel_format": "yuv420p10le", "gop": 20},
    # Leading frames of an open group of pictures refer to the group before it.
    "open mp4": {"rate": Rate(25), "frames": 90, "bframes": 3, "gop": 15,
                 "extra": ("-x264-params", "open-gop=1:b-adapt=0")},
    "open ts": {"rate": Rate(25), "frames": 90, "bframes": 3, "gop": 15, "suffix": "ts",
                "extra": ("-x264-params", "open-gop=1:b-adapt=0")},
    "open hevc": {"rate": Rate(25), "frames": 90, "codec": "libx265", "gop": 20,
                  "extra": ("-x265-params", "open-gop=1:log-level=error:bframes=4:b-adapt=0")},
    "late mp4": {"rate": Rate(25), "frames": 60, "start_seconds": Fraction(2)},
    "mpeg2 ts": {"rate": Rate(25), "frames": 90, "codec": "mpeg2video", "gop": 15, "suffix": "ts",
                 "extra": ("-q:v", "2", "-bf", "2")},
    "vp9 webm": {"rate": Rate(30), "frames": 60, "codec": "libvpx-vp9", "suffix": "webm",
                 "extra": ("-deadline", "realtime", "-cpu-used", "8", "-b:v", "0", "-crf", "20")},
    # One key frame in 24 s, in a container without an index.
    "slow ts": {"rate": Rate(5), "frames": 150, "gop": 120, "suffix": "ts"},
}  # fmt: skip
"""What the footage of a test session is like; each is made when a test first asks for it."""


class Footage:
    """The numbered footage of a session. Several processes may make it in one folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._made: dict[str, Source] = {}

    def __getitem__(self, name: str) -> Source:
        if name not in self._made:
            self._made[name] = self._make(name, dict(FOOTAGE[name]))
        return self._made[name]

    def _make(self, name: str, options: dict[str, Any]) -> Source:
        suffix = options.pop("suffix", name.split()[0] if name.split()[0] in ("mp4", "mov") else "mp4")
        path = self.folder / options.pop("name", f"{name.replace(' ', '-')}.{suffix}")
        first = 1000 * (1 + list(FOOTAGE).index(name))
        rate, frames = options["rate"], options["frames"]
        make_once(path, size=(SIZE.width, SIZE.height), start=first, **options)
        times = options.get("variable_times") or tuple(rate.seconds(index) for index in range(frames))
        return Source(path, tuple(times), first)


def make_once(path: Path, **options: Any) -> Path:
    """Make numbered footage where it is not there yet; seen by others only when it is whole."""
    if not path.exists():
        part = path.with_name(f"part-{os.getpid()}{path.suffix}")
        make_numbered(part, **options)
        part.replace(path)
    return path


def session_folder(factory: pytest.TempPathFactory, name: str) -> Path:
    """Return a folder that all processes of a test session share."""
    base = factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / name
    folder.mkdir(exist_ok=True)
    return folder


# -- films


def clip(
    source: Source | Path,
    in_seconds: Fraction | int = 0,
    frames: int = 10,
    speed: Fraction | int = 1,
    *,
    sound: ClipSound = SILENT,
    **fields: Any,
) -> Clip:
    """Return a clip; its source is made relative when the film goes into a folder."""
    path = source.path if isinstance(source, Source) else source
    return Clip(
        id=f"c{next(_ids)}",
        source=str(path),
        in_seconds=Fraction(in_seconds),
        length_frames=frames,
        speed=Fraction(speed),
        sound=sound,
        **fields,
    )


def scene(*clips: Clip, number: str = "", **content: Any) -> Scene:
    """Return a draft with these clips."""
    name = next(_ids)
    return Scene(id=f"s{name}", number=number or str(name), content=SceneContent(clips=clips, **content))


def make_film(
    rate: Rate,
    *entries: Scene | Card,
    joins: Mapping[int, Join] | None = None,
    size: Size = SIZE,
    **fields: Any,
) -> Film:
    """Return a film of entries in order; `joins` has those that are not cuts, by the entry before."""
    return Film(
        title=fields.pop("title", "The Late Ferry"),
        rate=rate,
        size=size,
        start_frames=3600 * rate.nominal,
        scenes=tuple(entry for entry in entries if isinstance(entry, Scene)),
        cards=tuple(entry for entry in entries if isinstance(entry, Card)),
        order=tuple(
            Placement(entry=entry.id, join=(joins or {}).get(index, CUT))
            for index, entry in enumerate(entries)
        ),
        next_id=1_000_000,
        **fields,
    )


def dissolve(before: int, after: int) -> Join:
    """Return a dissolve."""
    return Join(kind=JoinKind.DISSOLVE, before_frames=before, after_frames=after)


def through_black(before: int, after: int) -> Join:
    """Return a fade through black."""
    return Join(kind=JoinKind.THROUGH_BLACK, before_frames=before, after_frames=after)


def put(folder: Path, film: Film) -> Film:
    """Save a film in a project folder, new or not, with paths relative to it; returns it as saved."""
    film = _relative(film, folder)
    if (folder / "film.json").exists():
        opened = open_film(folder)
        return save_film(opened, dataclasses.replace(film, review_copies=opened.film.review_copies)).film
    return new_project(folder, film).film


def relative_to(folder: Path, path: Path) -> str:
    """Return a path as a film in a project folder has it."""
    return os.path.relpath(path, folder).replace(os.sep, "/")


def _relative(film: Film, folder: Path) -> Film:
    def moved(path: str) -> str:
        return relative_to(folder, Path(path)) if path.startswith("/") else path

    def moved_content(content: SceneContent) -> SceneContent:
        clips = tuple(
            dataclasses.replace(
                item,
                source=moved(item.source),
                sound=dataclasses.replace(item.sound, file=moved(item.sound.file)),
            )
            for item in content.clips
        )
        cues = tuple(
            dataclasses.replace(
                cue,
                candidates=tuple(
                    dataclasses.replace(tried, file=moved(tried.file)) for tried in cue.candidates
                ),
            )
            for cue in content.cues
        )
        spots = tuple(dataclasses.replace(spot, file=moved(spot.file)) for spot in content.spots)
        return dataclasses.replace(content, clips=clips, cues=cues, spots=spots)

    scenes = tuple(dataclasses.replace(one, content=moved_content(one.content)) for one in film.scenes)
    cards = tuple(dataclasses.replace(card, picture=moved(card.picture)) for card in film.cards)
    return dataclasses.replace(film, scenes=scenes, cards=cards)


def run_assembly(folder: Path, program: Program, film: Film | None = None, **order: Any) -> Assembly:
    """Assemble a project's film, drafts too; `film` is put there first."""
    if film is not None:
        put(folder, film)
    prepare_drawing()
    progress, cancel = order.pop("progress", None), order.pop("cancel", None)
    asked = {"out": folder / "out", "include": Include.ALL, "workers": 2, **order}
    told = {"progress": progress} if progress else {}
    return assemble(Order(folder=folder, program=program, drawer=drawing, **asked), cancel=cancel, **told)


def with_paths(folder: Path, footage: Footage) -> list[Source]:
    """Return a session's footage under the paths that a film in a project folder has."""
    return [
        dataclasses.replace(footage[name], path=Path(relative_to(folder, footage[name].path)))
        for name in FOOTAGE
    ]


# -- what it has to show


@dataclass(frozen=True, slots=True)
class Shown:
    """What a film frame has to show.

    Attributes:
        number: The frame's number, or None where it is a mix of two, a card or black.
        share: How much of it is there, the rest being black.
        black: Whether there is nothing but black.
    """

    number: int | None
    share: Fraction = Fraction(1)
    black: bool = False


def expected(film: Film, sources: Sequence[Source]) -> list[Shown]:
    """Return what each frame of an assembly of all entries shows, by the rule. Cards need a length."""
    by_path = {str(source.path): source for source in sources}
    entries = film.entries()
    shown: list[Shown] = []
    places = []
    for placement in film.order:
        entry = entries[placement.entry]
        places.append(len(shown))
        if isinstance(entry, Card):
            assert entry.length_frames is not None
            shown += [Shown(None)] * entry.length_frames
            continue
        for item in entry.content.clips:
            source = by_path[item.source]
            shown += [Shown(None, black=True)] * item.gap_frames
            shown += [
                Shown(source.number_at(item.in_seconds + frame * item.speed / film.rate.fraction))
                for frame in range(item.length_frames)
            ]
    places.append(len(shown))
    for placement, cut in zip(film.order[:-1], places[1:], strict=False):
        join = placement.join
        if join.kind is JoinKind.DISSOLVE:
            for frame in range(cut - join.before_frames, cut + join.after_frames):
                shown[frame] = Shown(None)
        elif join.kind is JoinKind.THROUGH_BLACK:
            _fade(shown, cut - join.before_frames, join.before_frames, out=True)
            _fade(shown, cut, join.after_frames, out=False)
    _fade(shown, 0, film.fade_in_frames, out=False)
    _fade(shown, len(shown) - film.fade_out_frames, film.fade_out_frames, out=True)
    return shown


def _fade(shown: list[Shown], first: int, frames: int, *, out: bool) -> None:
    for frame in range(frames):
        part = Fraction(frame + 1, frames + 1)
        old = shown[first + frame]
        shown[first + frame] = dataclasses.replace(old, share=1 - part if out else part)


# -- what it does show


@dataclass(frozen=True, slots=True)
class Decoded:
    """All frames of a file, as PyAV decodes them.

    Attributes:
        seconds: When each is shown.
        frames: The frames, Y, U and V as they are.
    """

    seconds: tuple[Fraction, ...]
    frames: tuple[tuple[Picture, Picture, Picture], ...]

    @property
    def luma(self) -> list[Picture]:
        """The Y of each frame."""
        return [frame[0] for frame in self.frames]


def decode_copy(path: Path) -> Decoded:
    """Decode every frame of a review copy."""
    seconds, frames = [], []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "NONE"
        for frame in container.decode(stream):
            assert frame.format.name == "yuv420p"
            assert frame.pts is not None
            assert stream.time_base is not None
            seconds.append(frame.pts * stream.time_base)
            frames.append(planes_of(frame))
    return Decoded(tuple(seconds), tuple(frames))


def planes_of(frame: av.VideoFrame) -> tuple[Picture, Picture, Picture]:
    """Return the planes of a yuv420p frame."""
    width, height = frame.width, frame.height
    flat = frame.to_ndarray().ravel()
    area, quarter = width * height, (width // 2) * (height // 2)
    shapes = ((0, area, height, width), (area, quarter, height // 2, width // 2),
              (area + quarter, quarter, height // 2, width // 2))  # fmt: skip
    luma, blue, red = (flat[at : at + size].reshape(high, wide) for at, size, high, wide in shapes)
    return luma, blue, red


def assert_shows(decoded: Decoded, wanted: Sequence[Shown], rate: Rate) -> None:
    """Compare every decoded frame, and its time, with what it has to be."""
    assert len(decoded.frames) == len(wanted)
    assert list(decoded.seconds) == [rate.seconds(frame) for frame in range(len(wanted))]
    readings = read_pictures(decoded.luma)
    wrong: list[tuple[int, int | str, object]] = []
    for frame, (reading, shown) in enumerate(zip(readings, wanted, strict=True)):
        if shown.black:
            # Limited range, ITU-R BT.709-6: black is Y 16, U and V 128.
            ends = [(int(plane.min()), int(plane.max())) for plane in decoded.frames[frame]]
            if ends != [(16, 16), (128, 128), (128, 128)]:
                wrong.append((frame, "black", ends))
            continue
        if shown.number is None or shown.share < Fraction(1, 3):
            continue  # mixed with another, or too dark to read
        if reading.number != shown.number:
            wrong.append((frame, shown.number, reading.number))
    assert not wrong, f"(film frame, number wanted, number shown): {wrong[:20]}, {len(wrong)} in all"


@functools.cache
def sound_of(path: Path) -> NDArray[np.float32]:
    """Return a file's sound as PyAV decodes it: 48 kHz stereo, from the file's time 0."""
    blocks: list[NDArray[np.float32]] = []
    at = 0
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        for frame in container.decode(stream):
            assert frame.pts is not None
            assert frame.sample_rate == 48_000
            start = round(frame.pts * Fraction(stream.time_base or 1) * 48_000)
            block = frame.to_ndarray().T.astype(np.float32)
            if start > at:
                blocks.append(np.zeros((start - at, block.shape[1]), np.float32))
                at = start
            blocks.append(block[max(0, at - start) :])
            at += len(blocks[-1])
    return np.concatenate(blocks)
