"""Edits of a cut that first ask: for a number, a gain, a speed, or the file of a spot or cue."""

import contextlib
import functools
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QWidget

from desk.errors import EditError, MediaError, OutputError, TimecodeError
from desk.film import edits
from desk.film.edit import find_open_scene
from desk.film.edits import Edit
from desk.film.media import MediaFacts
from desk.film.model import Film, Scene
from desk.film.rates import Rate
from desk.film.timecode import format_length, parse_label
from desk.film.timing import content_frames
from desk.film.wording import counted, sentence, shown_number
from desk.footage.first_film import film_path_of
from desk.footage.probing import ProbeCache, probe_all
from desk.jobs import CancelToken, ProgressListener
from desk.store.folder import desk_folder
from desk.ui.cutting.keys.aim import Kind, Thing, clip_of, extent, things
from desk.ui.cutting.keys.grips import held_name
from desk.ui.cutting.keys.nudging import CutNudges
from desk.ui.cutting.keys.sound_edits import gain_of, with_gain
from desk.ui.cutting.keys.value_dialog import Take, ValueDialog
from desk.ui.fields import attempt
from desk.ui.figures import parse_length, parse_number, parse_speed
from desk.ui.session import MakeEdit

_SOUNDS = "Sound (*.wav *.flac *.aif *.aiff *.mp3 *.m4a *.ogg *.opus *.mov *.mp4 *.mkv);;All files (*)"
_EVERY_FRAME = "every frame"


def ask_for_sound(parent: QWidget | None, title: str, start: Path) -> Path | None:
    """Ask for a file with sound and return it, or None."""
    chosen, _ = QFileDialog.getOpenFileName(parent, title, str(start), _SOUNDS)
    return Path(chosen) if chosen else None


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A spot or cue whose file is being read.

    Attributes:
        kind: Which of them.
        scene_id: Its scene.
        file: The file.
        path: The same as the film has it.
        start_frames: Where it begins.
        most_frames: How long it may be, or None for as long as the file.
    """

    kind: Kind
    scene_id: str
    file: Path
    path: str
    start_frames: int
    most_frames: int | None


class CutAsks(QObject):
    """Asks over a window, and makes the edit when there is an answer."""

    def __init__(self, nudges: CutNudges) -> None:
        super().__init__(nudges)
        self._nudges = nudges
        self._bench = nudges.bench
        self._window: QWidget | None = None

    def set_window(self, window: QWidget) -> None:
        """Open dialogs over a window from now on."""
        self._window = window

    def number(self) -> None:
        """Ask by how far to move what is held; or, where nothing is held, where to put the playhead."""
        scene, held = self._nudges.scene(), self._nudges.held
        if scene is None:
            return
        rate = self._bench.session.film.rate
        if held is None:
            start = format_length(self._bench.cut.frame, rate)
            hint = "A place in the scene such as 0:04:12, a count of frames, or a timecode of the film."
            self._open("Put the playhead at", "Go there", hint, self._take_place, start)
            return
        is_order = held.grip.name == "PLACE" and things(scene.content)[held.main].kind is Kind.CLIP
        what = "places" if is_order else "frames"
        others = "" if is_order else ", seconds such as 1.5 s, or a length such as 0:01:12"
        hint = f"A count of {what}{others}; with a minus, earlier."
        title = f"Move {held_name(scene.content, held)} by how many {what}?"
        self._open(title, "Move it", hint, self._take_move, "")

    def gain(self) -> None:
        """Ask for the gain of what is selected."""
        self._nudges.end()
        chosen, main = self._nudges.meant(), self._nudges.main() if self._bench.cut.selection else None
        main = main or next(iter(chosen), None)
        scene = self._bench.cut.scene
        if main is None or scene is None or not self._is_open(scene):
            return
        name = main.name if len(chosen) == 1 else counted(len(chosen), "thing")
        ids = tuple(thing.id for thing in chosen)
        self._open(
            f"Gain of {name}, in dB",
            "Set the gain",
            "0 as it was recorded, 6 about twice as high, −6 half.",
            functools.partial(self._take_gain, scene.id, ids),
            shown_number(gain_of(scene, main)),
        )

    def speed(self) -> None:
        """Ask for the speed of the clip that is selected, or of the one at the playhead."""
        self._nudges.end()
        main, scene = self._nudges.main(), self._bench.cut.scene
        if main is None or scene is None or not self._is_open(scene):
            return
        if main.kind is not Kind.CLIP:
            self._bench.messages.notice(
                f"{sentence(main.name)} has no speed: only clips have. Select a clip."
            )
            return
        self._open(
            f"Speed of {main.name}",
            "Set the speed",
            f"A fraction such as 1/2, a share such as 50 %, or “{_EVERY_FRAME}”. It goes on showing the same "
            "stretch of its footage.",
            functools.partial(self._take_speed, scene.id, main.id),
            shown_number(clip_of(scene.content, main.id).speed),
        )

    def add_spot(self) -> None:
        """Ask for a sound effect, and put it at the playhead."""
        self._nudges.end()
        scene = self._nudges.scene()
        if scene is not None and self._is_open(scene):
            self._ask_for_file(scene, Kind.SPOT, "Choose a sound effect", self._bench.cut.frame, None)

    def add_cue(self) -> None:
        """Ask for music, and put a cue over the loop, or what is selected, or from the playhead on."""
        self._nudges.end()
        scene = self._nudges.scene()
        if scene is None or not self._is_open(scene):
            return
        cut = self._bench.cut
        if cut.loop is not None:
            first, end = cut.loop.first, cut.loop.end
        elif cut.selection:
            found = things(scene.content)
            first, end = extent(found[item] for item in cut.selection)
        else:
            first, end = cut.frame, content_frames(scene.content)
        self._ask_for_file(scene, Kind.CUE, "Choose the music", first, max(1, end - first) if end else None)

    def _is_open(self, scene: Scene) -> bool:
        """Return whether the scene can be edited, and say why not, before anything is asked."""
        session = self._bench.session
        if session.read_only:
            self._bench.messages.notice(f"Nothing was changed. {session.read_only}", urgent=True)
            return False
        try:
            find_open_scene(session.film, scene.id)
        except EditError as error:
            self._bench.messages.refusal(error)
            return False
        return True

    def _open(self, title: str, verb: str, hint: str, take: Take, start: str) -> None:
        ValueDialog(title, verb, hint, take, self._window, start=start).open()

    def _take_place(self, text: str) -> str:
        film, cut = self._bench.session.film, self._bench.cut
        try:
            if text.count(":") + text.count(";") == 3:
                if cut.film_frame is None:
                    return "The scene is set aside, so it has no timecode in the film."
                frame = parse_label(text, film.rate)[0] - film.start_frames - cut.film_frame
            else:
                frame = parse_length(text, film.rate)
        except (ValueError, TimecodeError) as error:
            return str(error)
        length = content_frames(cut.content)
        if not 0 <= frame < length:
            return f"That is outside the scene, which is {format_length(length, film.rate)} long."
        cut.go_to(frame)
        return ""

    def _take_move(self, text: str) -> str:
        try:
            frames = parse_move(text, self._bench.session.film.rate)
        except ValueError as error:
            return str(error)
        refused = self._nudges.refusal(frames)
        if not refused:
            self._nudges.move_held(frames)
        return refused

    def _take_gain(self, scene_id: str, ids: tuple[str, ...], text: str) -> str:
        try:
            gain_db = parse_number(text.removesuffix("dB").removesuffix("db"), whole=False)
        except ValueError as error:
            return str(error)
        return self._attempt(functools.partial(_with_gain, scene_id, ids, gain_db))

    def _take_speed(self, scene_id: str, clip_id: str, text: str) -> str:
        scene = self._bench.cut.scene
        if scene is None or clip_id not in things(scene.content):
            return "The clip is not in the scene any more."
        known = self._nudges.known(scene).picture_seconds
        if text.casefold() != _EVERY_FRAME:
            try:
                speed = parse_speed(text)
            except ValueError as error:
                return str(error)
            make: MakeEdit = functools.partial(
                edits.set_speed, scene_id=scene_id, clip_id=clip_id, speed=speed, source_seconds=known
            )
            return self._attempt(make)
        facts = self._bench.media.facts.get(clip_of(scene.content, clip_id).source)
        if not isinstance(facts, MediaFacts) or facts.picture is None:
            return "Its footage was not read yet, so how many frames it has is not known. Try again soon."
        if facts.picture.variable:
            return "The frames of its footage are not evenly spaced. Give it a speed as a fraction."
        make = functools.partial(
            edits.show_every_frame,
            scene_id=scene_id,
            clip_id=clip_id,
            source_rate=facts.picture.rate,
            source_seconds=known,
        )
        return self._attempt(make)

    def _attempt(self, make: MakeEdit) -> str:
        self._nudges.end()
        return attempt(self._bench.session, make)

    def _ask_for_file(
        self, scene: Scene, kind: Kind, title: str, start_frames: int, most_frames: int | None
    ) -> None:
        session = self._bench.session
        file = ask_for_sound(self._window, title, session.folder)
        if file is None:
            return
        try:
            path = film_path_of(file, file.parent, session.folder)
        except MediaError as error:
            self._bench.messages.fault(error)
            return
        wanted = _Wanted(kind, scene.id, file, path, start_frames, most_frames)
        job = self._bench.jobs.start("read a sound", functools.partial(_read, wanted, session.folder))
        job.succeeded.connect(self._on_read)
        job.failed.connect(self._bench.messages.fault)

    def _on_read(self, read: object) -> None:
        assert isinstance(read, tuple)
        wanted, seconds = read
        assert isinstance(wanted, _Wanted)
        before = self._bench.cut.selection
        known = set(things(self._bench.cut.content))
        self._nudges.end()
        if not self._bench.session.do(functools.partial(_added, wanted, seconds)):
            return
        if self._bench.cut.scene_id == wanted.scene_id:
            new = things(self._bench.cut.content).keys() - known
            self._bench.cut.select(new or before)


def parse_move(text: str, rate: Rate) -> int:
    """Return by how many frames something is to move: a length as fields take it, with a sign or none.

    Raises:
        ValueError: with a sentence, when the text is none.
    """
    text = text.strip().replace("−", "-")
    sign = -1 if text.startswith("-") else 1
    return sign * parse_length(text.lstrip("+-"), rate)


def _with_gain(scene_id: str, ids: tuple[str, ...], gain_db: float, film: Film) -> Edit:
    found = things(film.scene(scene_id).content)
    chosen: tuple[Thing, ...] = tuple(found[item] for item in ids if item in found)
    if not chosen:
        raise EditError(
            "What the gain was for is not in the scene any more.",
            advice="Select it anew.",
            code="edit.unknown",
        )
    return with_gain(film, scene_id, chosen, gain_db)


def _added(wanted: _Wanted, seconds: Fraction, film: Film) -> Edit:
    length = max(1, int(seconds * film.rate.fraction))
    if wanted.most_frames is not None:
        length = min(length, wanted.most_frames)
    if wanted.kind is Kind.SPOT:
        label = wanted.file.stem
        return edits.add_spot(film, wanted.scene_id, wanted.path, wanted.start_frames, length, label=label)
    return edits.add_cue(film, wanted.scene_id, wanted.start_frames, length, file=wanted.path)


def _read(
    wanted: _Wanted, folder: Path, progress: ProgressListener, cancel: CancelToken
) -> tuple[_Wanted, Fraction]:
    """Return what was wanted, with how long its file sounds.

    Raises:
        MediaError: when it can't be read, or has no sound.
        Cancelled: when stopped on request.
    """
    cache = ProbeCache(desk_folder(folder) / "probes.json")
    probed = probe_all([wanted.file], cache=cache, progress=progress, cancel=cancel)
    # A project on a read-only disk is read anew each time.
    with contextlib.suppress(OutputError):
        cache.save()
    if probed.problems:
        raise probed.problems[0]
    sound = probed.facts[wanted.file].sound
    if sound is None:
        raise MediaError(
            f"“{wanted.file.name}” has no sound.",
            advice="Choose a file with sound.",
            code="media.no-sound",
            path=wanted.file,
        )
    return wanted, sound.seconds
