"""Every edit of a scene's cut as something that a key or a menu can ask for.

What is meant is what is selected, or else the clip at the playhead. Where playhead and selection stand after:

- Split: the playhead stays, and the second part is selected.
- Trimmed, or a cut moved: the playhead is on the new first frame of a head, the new last frame of a tail, or
  the first frame after a cut. To the playhead: what was brought there is there, and the playhead with it.
- Moved to another place: the playhead stays on the picture that it was on.
- Removed: the clip that took the place is selected, and the playhead is on its first frame, where the two
  sides meet. With black left: the playhead stays, and the clip after the black is selected.
- Black closed: the clip after it is selected, and the playhead is on its first frame.
- Pasted: what was pasted is selected, and the playhead is on its first frame.
- A spot or cue added: it is selected; taken away: the next in its lane is. The playhead stays.
- Gain, fades, lead and lag: nothing moves.
"""

import functools
from collections.abc import Sequence

from PySide6.QtCore import QObject

from desk.errors import EditError, FilmFileError
from desk.film import edits
from desk.film.edits import CopiedClips, Edit
from desk.film.model import Film, Scene
from desk.film.wording import counted, entry_name, sentence, shown_number
from desk.ui.bench import Bench
from desk.ui.cutting.keys.aim import (
    Kind,
    Thing,
    black_at,
    clip_at,
    extent,
    lane_of,
    things,
)
from desk.ui.cutting.keys.asking import CutAsks
from desk.ui.cutting.keys.copying import clips_of_clipboard, put_on_clipboard
from desk.ui.cutting.keys.grips import all_of
from desk.ui.cutting.keys.nudging import CutNudges
from desk.ui.cutting.keys.sound_edits import LEAST_GAIN_DB, MOST_GAIN_DB, louder, silenced
from desk.ui.cutting.keys.stepping import CutSteps
from desk.ui.session import MakeEdit


class CutEdits(QObject):
    """The edits of the scene that is being cut. There is one for each bench: see `of`.

    Attributes:
        nudges: What is held, and the edits that repeat.
        steps: What moves the playhead and the selection.
        asks: The edits that first ask for a value or a file.
    """

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.nudges = CutNudges(bench, self)
        self.steps = CutSteps(self.nudges)
        self.asks = CutAsks(self.nudges)

    @classmethod
    def of(cls, bench: Bench) -> "CutEdits":
        """Return the edits of a bench; what is held is held for all who ask."""
        found = bench.cut.findChild(cls)
        return found if found is not None else cls(bench, bench.cut)

    def split(self) -> None:
        """Split the clip at the playhead; while something is held, only let go of it."""
        if self.nudges.held is not None:
            self.nudges.let_go()
            return
        scene = self._scene()
        frame = self.bench.cut.frame
        if scene is None or not self._has_clips(scene):
            return
        if self.bench.session.do(functools.partial(_split, scene.id, frame)):
            second = clip_at(self.bench.cut.content, frame)
            self.bench.cut.select((second.id,) if second else ())

    def remove(self) -> None:
        """Take out what is selected, and close the gap."""
        scene = self._scene()
        chosen = self.nudges.meant() if scene else ()
        if scene is not None and chosen:
            self._remove(scene, chosen, close=True)

    def remove_leaving_black(self) -> None:
        """Take out what is selected, and leave black, so that nothing after it moves."""
        scene = self._scene()
        chosen = self.nudges.meant() if scene else ()
        if scene is not None and chosen:
            self._remove(scene, chosen, close=False)

    def has_gap(self) -> bool:
        """Return whether there is black that `close_gap` would close."""
        scene = self.bench.cut.scene
        return scene is not None and bool(self._after_gap(scene))

    def close_gap(self) -> None:
        """Close the black at the playhead, or else the black before what is selected."""
        scene = self._scene()
        if scene is None:
            return
        clip = self._after_gap(scene)
        if not clip:
            self.bench.messages.notice(
                "There is no black at the playhead, and none before a clip that is selected."
            )
        elif self.bench.session.do(functools.partial(_close_gap, scene.id, clip)):
            self._show(clip)

    def copy(self) -> bool:
        """Copy the clips that are selected; returns whether there were any."""
        scene = self._scene()
        chosen = self.nudges.meant() if scene else ()
        clips = [thing.id for thing in chosen if thing.kind is Kind.CLIP]
        if scene is None or not chosen:
            return False
        if not clips:
            self.bench.messages.notice("Only clips can be copied. Select a clip first.")
            return False
        film = self.bench.session.film
        try:
            put_on_clipboard(edits.copy_clips(film, scene.id, clips), film, self.bench.session.folder)
        except (EditError, FilmFileError) as error:
            self.bench.messages.refusal(error)
            return False
        beside = " Spots and cues stay with their scene." if len(chosen) > len(clips) else ""
        self.bench.messages.notice(f"{counted(len(clips), 'clip')} copied.{beside}")
        return True

    def cut_out(self) -> None:
        """Copy the clips that are selected, and take them out."""
        scene = self._scene()
        if scene is None or not self.copy():
            return
        clips = tuple(thing for thing in self.nudges.meant() if thing.kind is Kind.CLIP)
        self._remove(scene, clips, close=True)

    def paste(self) -> None:
        """Paste copied clips at the playhead; a clip that is there is split."""
        scene, copied = self._scene(), self._copied()
        if scene is None or copied is None:
            return
        frame = self.bench.cut.insertion_frame
        make = functools.partial(_paste_at, scene.id, copied, frame)
        if self.bench.session.do(make):
            clips = lane_of(self.bench.cut.content, Kind.CLIP)
            first = next(index for index, clip in enumerate(clips) if clip.start_frames >= frame)
            self._show_pasted(first, len(copied.clips))

    def paste_after(self) -> None:
        """Paste copied clips after the last clip that is selected, or after the one at the playhead."""
        scene, copied = self._scene(), self._copied()
        if scene is None or copied is None:
            return
        index = 0
        if scene.content.clips:
            clips = {thing.id for thing in self.nudges.meant() if thing.kind is Kind.CLIP}
            if not clips:
                return
            index = 1 + max(place for place, clip in enumerate(scene.content.clips) if clip.id in clips)
        if self.bench.session.do(functools.partial(_paste, scene.id, copied, index)):
            self._show_pasted(index, len(copied.clips))

    def change_gain(self, by_db: float) -> None:
        """Make what is selected louder or quieter; again the same merges into one step of undoing."""
        self.nudges.let_go()
        chosen, scene = self.nudges.meant(), self.bench.cut.scene
        if not chosen or scene is None:
            return
        session, key = self.bench.session, ",".join((scene.id, *(thing.id for thing in chosen)))
        before = session.film
        if (
            self.nudges.repeat(f"cut.gain.{key}", functools.partial(_louder, scene.id, chosen, by_db))
            and session.film is before
        ):
            self.bench.messages.notice(
                f"A gain goes from {shown_number(LEAST_GAIN_DB)} to {MOST_GAIN_DB:g} dB."
            )

    def silence(self) -> None:
        """Silence the clips that are selected, or give them their sound back where all are silent."""
        scene = self._scene()
        chosen = self.nudges.meant() if scene else ()
        clips = [thing.id for thing in chosen if thing.kind is Kind.CLIP]
        if scene is not None and clips:
            self.bench.session.do(functools.partial(_silenced, scene.id, clips))
        elif chosen:
            self.bench.messages.notice(
                "Only clips can be silenced. Remove a spot or cue, or lower its gain, instead."
            )

    def loop_selection(self) -> None:
        """Let what is selected play again and again."""
        chosen = self.nudges.meant()
        if chosen:
            first, end = extent(chosen)
            self.bench.cut.set_loop(first, end)
            if self.bench.cut.loop is None:
                self.bench.messages.notice(
                    "What is selected sounds outside the scene's picture: no loop is set."
                )

    def clear_loop(self) -> None:
        """Let nothing play again and again."""
        if self.bench.cut.loop is None:
            self.bench.messages.notice("No loop is set.")
        self.bench.cut.clear_loop()

    def _scene(self) -> Scene | None:
        """Return the scene, after letting go of what was held: each edit is a step of its own."""
        self.nudges.end()
        return self.nudges.scene()

    def _after_gap(self, scene: Scene) -> str:
        """Return the clip after the black at the playhead, or a selected one with black before it, or ""."""
        cut = self.bench.cut
        selected = (clip.id for clip in scene.content.clips if clip.id in cut.selection and clip.gap_frames)
        return black_at(scene.content, cut.frame) or next(selected, "")

    def _has_clips(self, scene: Scene) -> bool:
        if not scene.content.clips:
            self.bench.messages.notice(f"{sentence(entry_name(scene))} has no clips yet.")
        return bool(scene.content.clips)

    def _copied(self) -> CopiedClips | None:
        session = self.bench.session
        try:
            return clips_of_clipboard(session.film, session.folder)
        except EditError as error:
            self.bench.messages.refusal(error)
            return None

    def _remove(self, scene: Scene, chosen: Sequence[Thing], *, close: bool) -> None:
        """Take things out; what takes their place is selected."""
        clips = [thing for thing in chosen if thing.kind is Kind.CLIP]
        first = clips[0] if clips else chosen[0]
        lane = lane_of(scene.content, first.kind)
        gone = {thing.id for thing in chosen}
        place = lane.index(first)
        seam = first.start_frames
        if first.kind is Kind.CLIP:
            seam -= scene.content.clips[place].gap_frames
        left = [thing.id for thing in lane if thing.id not in gone]
        if not self.bench.session.do(functools.partial(_remove, scene.id, tuple(chosen), close)):
            return
        self.bench.cut.select(left[place : place + 1] or left[-1:])
        if clips and close:
            self.bench.cut.go_to(seam)

    def _show(self, clip_id: str) -> None:
        """Select a clip and put the playhead on its first frame."""
        cut = self.bench.cut
        cut.select((clip_id,))
        cut.go_to(things(cut.content)[clip_id].start_frames)

    def _show_pasted(self, index: int, count: int) -> None:
        cut = self.bench.cut
        pasted = lane_of(cut.content, Kind.CLIP)[index : index + count]
        cut.select((clip.id for clip in pasted), main=pasted[0].id)
        cut.go_to(pasted[0].start_frames)


def _split(scene_id: str, frame: int, film: Film) -> Edit:
    return edits.split(film, scene_id, frame)


def _close_gap(scene_id: str, clip_id: str, film: Film) -> Edit:
    return edits.set_gap(film, scene_id, clip_id, 0)


def _paste_at(scene_id: str, copied: CopiedClips, frame: int, film: Film) -> Edit:
    return edits.paste_clips_at(film, scene_id, copied, frame)


def _paste(scene_id: str, copied: CopiedClips, index: int, film: Film) -> Edit:
    return edits.paste_clips(film, scene_id, copied, index)


def _louder(scene_id: str, chosen: tuple[Thing, ...], by_db: float, film: Film) -> Edit:
    return louder(film, scene_id, chosen, by_db)


def _silenced(scene_id: str, clips: Sequence[str], film: Film) -> Edit:
    return silenced(film, scene_id, clips)


def _remove(scene_id: str, chosen: tuple[Thing, ...], close: bool, film: Film) -> Edit:
    ids = {kind: [thing.id for thing in chosen if thing.kind is kind] for kind in Kind}
    steps: list[MakeEdit] = []
    if ids[Kind.SPOT]:
        steps.append(functools.partial(edits.remove_spots, scene_id=scene_id, spot_ids=ids[Kind.SPOT]))
    if ids[Kind.CUE]:
        steps.append(functools.partial(edits.remove_cues, scene_id=scene_id, cue_ids=ids[Kind.CUE]))
    if ids[Kind.CLIP]:
        steps.append(
            functools.partial(edits.remove_clips, scene_id=scene_id, clip_ids=ids[Kind.CLIP], close=close)
        )
    scene = entry_name(film.scene(scene_id))
    return all_of(film, f"Remove {counted(len(chosen), 'thing')} in {scene}", steps)
