"""The player: what is shown, on which frame it stands, and playing it."""

import time

from PySide6.QtCore import QObject, QTimer, Signal

from desk.cards.fonts import prepare_drawing
from desk.film.cut_view import cuts
from desk.film.media import MediaFacts
from desk.film.model import Size
from desk.film.timing import Include, lay_out
from desk.ui.bench import Bench
from desk.ui.cutting.cut import Loop, Trial
from desk.ui.viewer.clock import Now
from desk.ui.viewer.course import Course
from desk.ui.viewer.decoding import Decoding
from desk.ui.viewer.kits import Kits, Showings
from desk.ui.viewer.metering import Metering
from desk.ui.viewer.pictures import MakeMaker, Picture
from desk.ui.viewer.playing import MakeOutput, Playing
from desk.ui.viewer.sides import CutLook
from desk.ui.viewer.sound_output import open_output
from desk.ui.viewer.stage import Stage
from desk.ui.viewer.stills import Lag, Stills
from desk.ui.viewer.subject import Kind, Subject

AROUND_SECONDS = 2
"""So much before and after a cut is played around it (common practice, no source)."""

NOT_DOWN_YET = "Listening for voices. Until then the music does not go down."
"""Said while `Player.is_listening`."""

_SEEK_MS = 150
"""Where the playhead is dragged while playing, playing goes on when it has stood for so long."""


class Player(QObject):
    """Shows one thing: the scene that is cut, the whole film with its drafts, or a file of footage.

    Its frame is the playhead: of `bench.cut` for the scene, of `bench.choice` for the film.

    Signals:
        subject_changed: Something else is shown, or it is another one after an edit.
        pictured: Another picture is on; a `Picture`, or None where there is none to show.
        moved: It stands on another frame, from the start of what is shown.
        played: It began to play (True) or stands (False).
        looked: The frames beside a cut that is worked at; a `CutLook`, or None when that is over.
        lagged: The picture that is on is not the frame that is stood on, or is again; a `Lag`.
        adjusted: Loop, volume or muting was changed.
        listened: What is shown is being listened to for speech now (True), or is not any more.

    Attributes:
        kits: What pieces are made with.
        playing: Plays; tells what was dropped and how loud it is.
        metering: What the meters show of it.
    """

    subject_changed = Signal()
    pictured = Signal(object)
    moved = Signal(int)
    played = Signal(bool)
    looked = Signal(object)
    lagged = Signal(object)
    adjusted = Signal()
    listened = Signal(bool)

    def __init__(
        self,
        bench: Bench,
        parent: QObject | None = None,
        *,
        make_maker: MakeMaker | None = None,
        make_output: MakeOutput = open_output,
        now: Now = time.monotonic,
    ) -> None:
        """Show the scene that is being cut.

        Args:
            bench: The film and all that shows it.
            parent: Who owns it.
            make_maker: Makes what makes pictures; None for what shows an assembly's.
            make_output: Opens the sound device.
            now: The machine's clock, in seconds.
        """
        super().__init__(parent)
        prepare_drawing()
        self._bench = bench
        self._stage = Stage(bench, self)
        self.kits = Kits(bench.session.folder)
        self._decoding = Decoding(self.kits, make_maker or Showings(bench.proxies), self)
        self._stills = Stills(bench, self._stage, self._decoding, self)
        self.playing = Playing(self._decoding, self, make_output=make_output, now=now)
        self.metering = Metering(self.playing, self, now=now)
        self._frame = self._stage.playhead()
        self._return_to: int | None = None
        self._until: int | None = None
        self._is_looping = False
        self._seeking = QTimer(self, singleShot=True, interval=_SEEK_MS)
        self._seeking.timeout.connect(self._go_on)
        self._follow()
        self._ask()

    # -- what is shown

    @property
    def subject(self) -> Subject:
        """What is shown."""
        return self._stage.subject

    @property
    def kind(self) -> Kind:
        """What kind of thing is shown."""
        return self._stage.kind

    @property
    def picture(self) -> Picture | None:
        """The picture that is on."""
        return self._stills.picture

    @property
    def look(self) -> CutLook | None:
        """The frames beside the cut that is worked at, or None."""
        return self._stills.look

    @property
    def lag(self) -> Lag:
        """How the picture that is on is not the frame that is stood on."""
        return self._stills.lag

    @property
    def frames(self) -> int:
        """How long what is shown is."""
        return self.subject.frames

    @property
    def frame(self) -> int:
        """On which frame it stands, from the start of what is shown."""
        return self._frame

    @property
    def film_frame(self) -> int | None:
        """The place of that frame in the running order, or None where it has none."""
        return self._stage.film_frame(self._frame)

    @property
    def is_listening(self) -> bool:
        """Whether music does not go down under speech yet, since that is still being listened for."""
        return self._stage.is_listening

    @property
    def plain_voice(self) -> str:
        """Id of the voice of the scene that is heard without what is done to it, or ""."""
        return self._stage.plain_voice

    def hear_plain(self, voice: str) -> None:
        """Let a voice of the scene be heard without what is done to it, for comparing; nothing is edited.

        Args:
            voice: Its id, or "" for all as they are.
        """
        self._stage.hear_plain(voice)

    def show_scene(self) -> None:
        """Show the scene that is being cut."""
        self.pause()
        self._stage.show_scene()

    def show_film(self) -> None:
        """Show the whole film with its drafts, where the playhead stands."""
        self.pause()
        self._stage.show_film()

    def show_footage(self, path: str, facts: MediaFacts, frame: int = 0) -> None:
        """Show a file of footage as it is.

        Args:
            path: The file, as the film has it, or absolute.
            facts: What was read of it.
            frame: The frame to stand on, at the film's rate.
        """
        self.pause()
        self._stage.show_footage(path, facts)
        self.go_to(frame)

    def set_size(self, who: str, size: Size | None) -> None:
        """Say how large a view shows the frame; pictures are made for the largest.

        Args:
            who: Name of the view.
            size: In pixels of the screen, or None for a view that is gone.
        """
        before = self._stills.size
        self._stills.set_size(who, size)
        after = self._stills.size
        if after != before:
            self.playing.resize(after.width, after.height)
            self._ask()

    # -- standing and going

    @property
    def is_playing(self) -> bool:
        """Whether it plays."""
        return self.playing.is_on or self._seeking.isActive()

    @property
    def is_looping(self) -> bool:
        """Whether playing goes on with the range of the cut, or with all of it, again and again."""
        return self._is_looping

    @property
    def loop(self) -> Loop | None:
        """What plays again and again, within what is shown, or None."""
        if not self._is_looping:
            return None
        loop = self._bench.cut.loop if self.kind is Kind.SCENE else None
        if self.kind is Kind.FOOTAGE and (marked := self._bench.cut.marks.of(self.subject.name)) is not None:
            loop = Loop(marked.first, marked.end)
        if loop is None or loop.first >= self.frames:
            return Loop(0, self.frames)
        return Loop(loop.first, min(loop.end, self.frames))

    @property
    def dropped(self) -> int:
        """How many pictures could not be shown in time since it last began to play."""
        return self.playing.dropped

    @property
    def shown(self) -> int:
        """How many pictures were shown since it last began to play."""
        return self.playing.shown

    def play(self) -> None:
        """Play from where it stands; from the start where that is the last frame."""
        if self.is_playing or not self.frames:
            return
        is_last = self._frame >= self.frames - 1
        self._begin(self._course_from(0 if is_last and not self._is_looping else self._frame))

    def pause(self) -> None:
        """Stand on the frame that is on."""
        if not self.is_playing:
            return
        self._seeking.stop()
        self.playing.stop()
        self._return_to = self._until = None
        self.played.emit(False)
        self._ask()

    def toggle(self) -> None:
        """Play, or stand."""
        if self.is_playing:
            self.pause()
        else:
            self.play()

    def play_around(self, frame: int | None = None) -> None:
        """Play from two seconds before a frame to two seconds after it, then go back to where it stood.

        Args:
            frame: The frame; None for the one it stands on.
        """
        if not self.frames:
            return
        around = self._frame if frame is None else max(0, min(frame, self.frames))
        reach = round(AROUND_SECONDS * self.subject.rate.fraction)
        self.play_range(around - reach, around + reach)

    def play_range(self, start: int, end: int) -> None:
        """Play from one frame to before another, as far as they are there, then go back to where it stood."""
        back = self._frame if self._return_to is None else self._return_to
        start, end = max(0, start), min(self.frames, end)
        if start < end:
            self._begin(Course(rate=self.subject.rate, start=start, end=end))
            self._return_to, self._until = back, end

    def go_to(self, frame: int) -> None:
        """Stand on a frame, or on the nearest there is; playing goes on from there."""
        self._return_to = self._until = None
        self._move(frame)
        self._arrive()

    def step(self, frames: int) -> None:
        """Stand so many frames later, or earlier for a negative number."""
        self.pause()
        self.go_to(self._frame + frames)

    def go_to_cut(self, direction: int) -> None:
        """Stand on the next place at which something else comes on, or on the one before.

        Args:
            direction: 1 for the next, -1 for the one before; beyond the last it is the last frame.
        """
        places = (0, *self._cuts(), self.frames - 1)
        if direction > 0:
            self.go_to(min((place for place in places if place > self._frame), default=self._frame))
        else:
            self.go_to(max((place for place in places if place < self._frame), default=self._frame))

    def set_looping(self, is_looping: bool) -> None:
        """Play the range of the cut, or all, again and again; or once."""
        if is_looping != self._is_looping:
            self._is_looping = is_looping
            self.adjusted.emit()
            if self.is_playing:
                self._go_on()

    def set_volume(self, volume: float) -> None:
        """Play louder or softer, and be heard.

        Args:
            volume: From 0 to 1.
        """
        self.playing.set_volume(volume)
        self.playing.set_muted(False)
        self.adjusted.emit()

    def set_muted(self, is_muted: bool) -> None:
        """Let nothing be heard, or let it be heard again."""
        self.playing.set_muted(is_muted)
        self.adjusted.emit()

    def ask_again(self) -> None:
        """Have the frame shown again, as after its piece was made."""
        self._ask()

    def look_again(self) -> None:
        """Show from the pieces that there are now, as after an assembly."""
        self.kits.look_again()
        self._decoding.renew()
        self._ask()

    def close(self) -> None:
        """Stop, and end all threads."""
        self._stills.close()
        self._seeking.stop()
        self.metering.follow(False)
        self.playing.close()
        self._decoding.close()
        self.kits.close()

    # -- inside

    def _follow(self) -> None:
        self._stage.replaced.connect(self._on_replaced)
        self._stage.renewed.connect(self._on_renewed)
        self._stage.playhead_moved.connect(self._on_playhead_moved)
        self._stage.listened.connect(self.listened)
        self._bench.cut.looped.connect(self._on_looped)
        self._bench.cut.marks.changed.connect(self._on_marked)
        self._bench.cut.tried.connect(self._on_tried)
        self._stills.pictured.connect(self.pictured)
        self._stills.looked.connect(self.looked)
        self._stills.lagged.connect(self.lagged)
        self.playing.showed.connect(self._stills.put)
        self.playing.reached.connect(self._move)
        self.playing.ended.connect(self._on_ended)
        self.played.connect(self.metering.follow)

    def _cuts(self) -> tuple[int, ...]:
        subject = self.subject
        if subject.kind is Kind.SCENE and subject.frames:
            return cuts(subject.film.scene(subject.name).content)
        if subject.kind is Kind.FILM:
            return tuple(slot.start_frames for slot in lay_out(subject.film, Include.ALL).slots)
        return ()

    def _move(self, frame: int) -> None:
        """Stand on a frame, and take the playhead along."""
        frame = max(0, min(frame, self.frames - 1))
        is_other, self._frame = frame != self._frame, frame
        self._stage.lead(frame)
        if is_other:
            self.moved.emit(frame)

    def _arrive(self) -> None:
        """Show the frame that it stands on; go on playing from there when it has stood for a moment."""
        if self.is_playing:
            self.playing.stop()
            self._seeking.start()
        self._ask()

    def _ask(self) -> None:
        """Have the frame shown that it stands on; nothing while it plays."""
        if not self.playing.is_on:
            self._stills.want(self._frame)

    def _course_from(self, frame: int) -> Course:
        rate, loop = self.subject.rate, self.loop
        if self._until is not None and frame < min(self._until, self.frames):
            return Course(rate=rate, start=frame, end=min(self._until, self.frames))
        if loop is None:
            return Course(rate=rate, start=min(frame, self.frames - 1), end=self.frames)
        start = frame if loop.first <= frame < loop.end else loop.first
        return Course(rate=rate, start=start, end=loop.end, again=loop.first)

    def _begin(self, course: Course) -> None:
        was_playing = self.is_playing
        self._seeking.stop()
        self._return_to = self._until = None
        self._stills.rest()
        size = self._stills.size
        self.playing.begin(self.subject, course, size.width, size.height)
        if not was_playing:
            self.played.emit(True)

    def _go_on(self) -> None:
        """Play what is shown now from where it stands."""
        if not self.frames:
            self.pause()
            return
        self._seeking.stop()
        self._stills.rest()
        size = self._stills.size
        self.playing.go_on(self.subject, self._course_from(self._frame), size.width, size.height)

    def _on_replaced(self) -> None:
        self.pause()
        self._frame = self._stage.playhead()
        self._ask()
        self.subject_changed.emit()
        self.moved.emit(self._frame)

    def _on_renewed(self) -> None:
        self._ask()
        self.subject_changed.emit()
        if self._bench.cut.trial is None:
            self._move(self._frame)
        if self.playing.is_on:
            self._go_on()

    def _on_playhead_moved(self, frame: int) -> None:
        if frame != self._frame:
            self._frame = frame
            self._return_to = self._until = None
            self.moved.emit(frame)
            self._arrive()

    def _on_looped(self, loop: Loop | None) -> None:
        self._is_looping = loop is not None
        self.adjusted.emit()
        if self.is_playing and self.kind is Kind.SCENE:
            self._go_on()

    def _on_marked(self, path: str) -> None:
        if self.kind is Kind.FOOTAGE and path == self.subject.name and self._is_looping:
            self.adjusted.emit()
            if self.is_playing:
                self._go_on()

    def _on_tried(self, trial: Trial | None) -> None:
        if self.kind is Kind.SCENE:
            if trial is not None:
                self.pause()
            self._ask()

    def _on_ended(self) -> None:
        back, self._return_to, self._until = self._return_to, None, None
        self.played.emit(False)
        if back is not None:
            self._move(back)
        self._ask()
