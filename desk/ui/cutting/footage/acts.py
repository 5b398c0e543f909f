"""Does what is asked with the files of a scene: adds them to the cut, replaces sources, finds their uses."""

import functools
from collections.abc import Sequence

from desk.film import edits
from desk.film.model import Clip, Scene, SceneContent, SoundKind
from desk.film.timing import clip_starts
from desk.film.wording import quoted
from desk.ui.bench import Bench
from desk.ui.cutting.footage.adding import (
    add_as_cue,
    add_as_spot,
    add_at,
    add_at_end,
    add_in_order,
    left_out_words,
    new_ids,
)
from desk.ui.cutting.footage.menu import FootageCommand
from desk.ui.cutting.footage.rows import FootageKind, FootageRow
from desk.ui.scene.clip_facts import file_name
from desk.ui.scene.empty_scene import show_folder
from desk.ui.session import MakeEdit

_ADDING = (FootageCommand.ADD_IN_ORDER, FootageCommand.ADD_AT_PLAYHEAD, FootageCommand.ADD_AT_END)


class FootageActs:
    """What is done with files of one scene at a time. It changes the film through the session alone."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def clip_to_replace(self, scene: Scene) -> Clip | None:
        """Return the clip that was selected last, whose source can be replaced."""
        cut = self._bench.cut
        if cut.scene_id != scene.id:
            return None
        return next((clip for clip in scene.content.clips if clip.id == cut.main), None)

    def add(
        self, scene: Scene, rows: Sequence[FootageRow], command: FootageCommand, order: Sequence[str]
    ) -> bool:
        """Add footage to the cut; returns whether the film allowed it.

        Args:
            scene: The scene.
            rows: Files; what has sound alone is left out, and that is said.
            command: Where: in natural order, at the playhead, or at the end.
            order: The files of the scene as they were shot.
        """
        pictures = [row for row in rows if row.kind is FootageKind.PICTURE]
        sounds = [row.name for row in rows if row.kind is FootageKind.SOUND]
        if not pictures:
            told = (
                left_out_words(sounds) or "Nothing that is chosen can be added. Choose footage in the list."
            )
            self._bench.messages.notice(told, urgent=True)
            return False
        done = self._do(scene, self._adding(scene, [row.path for row in pictures], command, order))
        if done and command is FootageCommand.ADD_AT_PLAYHEAD:
            # What is added next comes after it, as typed letters follow each other.
            self._go_behind(scene.id)
        if done and sounds:
            self._bench.messages.notice(left_out_words(sounds))
        return done

    def add_sound(self, scene: Scene, path: str, *, as_cue: bool) -> bool:
        """Add a sound at the playhead, as a cue or as a spot; returns whether the film allowed it."""
        make = add_as_cue if as_cue else add_as_spot
        frame = self._frame(scene)
        return self._do(
            scene,
            functools.partial(make, scene_id=scene.id, path=path, known=self._bench.media.facts, frame=frame),
        )

    def replace(self, scene: Scene, path: str, *, from_start: bool) -> bool:
        """Show a file in the clip that was selected last; returns whether the film allowed it."""
        clip, marked = self.clip_to_replace(scene), self._bench.cut.marks.of(path)
        if clip is None:
            self._bench.messages.notice("Select the clip whose source is to be replaced.", urgent=True)
            return False
        make = functools.partial(
            edits.replace_source,
            scene_id=scene.id,
            clip_id=clip.id,
            source=path,
            in_seconds=self._bench.session.film.rate.seconds(marked.first if marked else 0)
            if from_start
            else None,
            source_seconds=self._bench.media.source_seconds(),
        )
        done = self._bench.session.do(make)
        if done and clip.sound.kind is SoundKind.SEPARATE and clip.source != path:
            self._bench.messages.notice(
                f"The clip keeps its recording {quoted(file_name(clip.sound.file))} with the offset of the "
                "footage before: see whether it still fits."
            )
        return done

    def select_uses(self, scene: Scene, path: str) -> None:
        """Select what uses a file in the scene, and put the playhead on the first of it."""
        cut = self._bench.cut
        cut.open(scene.id)
        cut.select(_users(scene.content, path))
        self._go_to_first(scene.content, cut.selection)

    def open_folder(self, path: str) -> None:
        """Show a file's folder in the system's own window."""
        folder = (self._bench.session.folder / path).parent
        if not show_folder(folder):
            self._bench.messages.notice(
                f"The folder of {quoted(file_name(path))} can't be opened. Connect its disk.", urgent=True
            )

    def _adding(
        self, scene: Scene, paths: Sequence[str], command: FootageCommand, order: Sequence[str]
    ) -> MakeEdit:
        assert command in _ADDING
        known, marks = self._bench.media.facts, self._bench.cut.marks.all
        if command is FootageCommand.ADD_AT_PLAYHEAD:
            make: MakeEdit = functools.partial(
                add_at,
                scene_id=scene.id,
                paths=paths,
                known=known,
                frame=self._insertion_frame(scene),
                marks=marks,
            )
        elif command is FootageCommand.ADD_AT_END:
            make = functools.partial(add_at_end, scene_id=scene.id, paths=paths, known=known, marks=marks)
        else:
            make = functools.partial(
                add_in_order, scene_id=scene.id, paths=paths, known=known, order=order, marks=marks
            )
        return make

    def _do(self, scene: Scene, make: MakeEdit) -> bool:
        """Make an edit that adds something, and select what came in."""
        if not self._bench.session.do(make):
            return False
        after = self._bench.session.film.scene(scene.id).content
        cut = self._bench.cut
        cut.open(scene.id)
        cut.select(new_ids(scene.content, after))
        self._go_to_first(after, cut.selection)
        return True

    def _frame(self, scene: Scene) -> int:
        cut = self._bench.cut
        return cut.frame if cut.scene_id == scene.id else 0

    def _insertion_frame(self, scene: Scene) -> int:
        cut = self._bench.cut
        return cut.insertion_frame if cut.scene_id == scene.id else 0

    def _go_behind(self, scene_id: str) -> None:
        """Put the playhead behind the clips that are selected."""
        cut, content = self._bench.cut, self._bench.session.film.scene(scene_id).content
        chosen = set(cut.selection)
        ends = (
            start + clip.length_frames
            for clip, start in zip(content.clips, clip_starts(content), strict=True)
            if clip.id in chosen
        )
        cut.go_to(max(ends, default=cut.frame))

    def _go_to_first(self, content: SceneContent, ids: Sequence[str]) -> None:
        pairs = zip(content.clips, clip_starts(content), strict=True)
        starts = {clip.id: start for clip, start in pairs}
        starts |= {cue.id: cue.start_frames for cue in content.cues}
        starts |= {spot.id: spot.start_frames for spot in content.spots}
        if ids:
            self._bench.cut.go_to(min(starts[item] for item in ids))


def _users(content: SceneContent, path: str) -> list[str]:
    clips = [
        clip.id
        for clip in content.clips
        if clip.source == path or (clip.sound.kind is SoundKind.SEPARATE and clip.sound.file == path)
    ]
    cues = [cue.id for cue in content.cues if cue.choice and cue.choice.file == path]
    return [*clips, *cues, *(spot.id for spot in content.spots if spot.file == path)]
