"""One voice of a scene at a time: how loud it is, what is done to it, and listening to it."""

import itertools
from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from desk.film.model import Film, Scene
from desk.film.timing import clip_starts
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.labels import heading, label
from desk.ui.scene.voices.chain_panel import ChainPanel
from desk.ui.scene.voices.rows import VoiceRow, figure, loudness_of
from desk.ui.sheet.picks import Picks
from desk.ui.viewer.player import AROUND_SECONDS, Player
from desk.ui.viewer.subject import Kind

_NO_VOICES = "Say who speaks in some clips; then each voice can be cleaned up here, in all of its clips."
_NOT_HEARD = "The viewer is not there."


class VoiceSection(QWidget):
    """The voices of a scene, of which one is shown.

    Attributes:
        pick: Which voice is shown.
        told: How loud it is.
        chain: What is done to it.
    """

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._player: Player | None = None
        self._is_listening = False
        self._voice = ""
        self._scene_id = ""
        self._voices: tuple[tuple[str, str], ...] = ()
        self._rows: tuple[VoiceRow, ...] = ()
        self._reason = ""
        self.heading = heading("One voice", self)
        self.empty = label(_NO_VOICES, self, kind="dim", wraps=True)
        self.pick = Picks("Which voice", (), self)
        self.pick.picked.connect(self.choose)
        self.told = ElidedLabel("", self)
        self.told.setProperty("kind", "dim")
        self.chain = ChainPanel(bench, self)
        self.chain.listen_asked.connect(self._on_listen)
        self.chain.plain_asked.connect(self._on_plain)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.pick, 0, Qt.AlignmentFlag.AlignLeft)
        row.addWidget(self.told, 1)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addWidget(self.heading)
        page.addWidget(self.empty)
        page.addLayout(row)
        page.addWidget(self.chain)

    @property
    def voice(self) -> str:
        """Id of the voice that is shown, or ""."""
        return self._voice

    def attach(self, player: Player) -> None:
        """Let voices be heard through a player."""
        self._player = player
        player.played.connect(self._on_played)
        player.subject_changed.connect(self._show_listening)
        self._show_listening()

    def show_scene(self, film: Film, scene: Scene, rows: Sequence[VoiceRow], reason: str) -> None:
        """Show the voices of a scene.

        Args:
            film: The film.
            scene: The scene.
            rows: What is known of its clips.
            reason: Why nothing can be changed, or "".
        """
        if scene.id != self._scene_id:
            self.leave()
        self._scene_id, self._rows, self._reason = scene.id, tuple(rows), reason
        names = {voice.id: voice.name for voice in film.voices}
        used = dict.fromkeys(
            itertools.chain(
                (row.voice for row in rows), (chain.voice for chain in scene.content.voice_chains)
            )
        )
        voices = tuple((names[voice], voice) for voice in used if voice in names)
        if voices != self._voices:
            self._voices = voices
            self.pick.offer(voices)
        if self._voice not in (voice for _, voice in voices):
            self._take(voices[0][1] if voices else "")
        self._show(film, scene)

    def choose(self, voice: str) -> None:
        """Show another voice of the scene; one that it does not have is left alone."""
        scene = self._scene()
        if scene is not None and voice != self._voice and voice in (item for _, item in self._voices):
            self._take(voice)
            self._show(self._bench.session.film, scene)

    def leave(self) -> None:
        """Hear all voices as they are again, and stop what is listened to."""
        if self._player is not None:
            if self._is_listening:
                self._player.pause()
            self._player.hear_plain("")
        self._is_listening = False
        self._show_listening()

    def let_go(self) -> None:
        """Hear nothing any more: the player is at its end."""
        self._player = None

    def _take(self, voice: str) -> None:
        if self._player is not None and self._player.plain_voice:
            self._player.hear_plain(voice)
        self._voice = voice

    def _scene(self) -> Scene | None:
        scenes = self._bench.session.film.scenes
        return next((scene for scene in scenes if scene.id == self._scene_id), None)

    def _show(self, film: Film, scene: Scene) -> None:
        is_there = bool(self._voices)
        self.empty.setVisible(not is_there)
        for widget in (self.pick, self.told, self.chain):
            widget.setVisible(is_there)
        if not is_there:
            return
        self.pick.show_value(self._voice)
        self.told.say(self._words())
        self.chain.show_voice(film, scene, self._voice, self._reason)
        self._show_listening()

    def _words(self) -> str:
        own = [row for row in self._rows if row.voice == self._voice]
        loudness = loudness_of(own)
        if not own:
            return "speaks in no clip of this scene now"
        clips = counted(len(own), "clip")
        if loudness is None:
            return clips
        seconds = sum(row.level.speech.seconds for row in own if row.level)
        return f"{figure(loudness)} LUFS, {clips}, {seconds:.0f} s of speech"

    def _range(self, scene: Scene) -> tuple[int, int] | None:
        """Return from where to where the clip of the voice at the playhead is played, or the first one."""
        places = [
            (start, start + clip.length_frames)
            for clip, start in zip(scene.content.clips, clip_starts(scene.content), strict=True)
            if clip.sound.voice == self._voice
        ]
        if not places:
            return None
        frame = self._bench.cut.frame
        start, end = next((place for place in places if place[0] <= frame < place[1]), places[0])
        reach = round(AROUND_SECONDS * self._bench.session.film.rate.fraction)
        # At the head of a clip, what comes before it is no help in judging a voice.
        return (max(start, frame - reach) if start <= frame < end else start), end

    def _on_listen(self) -> None:
        player, scene = self._player, self._scene()
        if player is None or scene is None:
            return
        if self._is_listening and player.is_playing:
            player.pause()
            return
        if (place := self._range(scene)) is None:
            return
        if player.kind is not Kind.SCENE:
            player.show_scene()
        player.play_range(*place)
        self._is_listening = player.is_playing
        self._show_listening()

    def _on_plain(self, is_plain: bool) -> None:
        if self._player is not None:
            self._player.hear_plain(self._voice if is_plain else "")
        self._show_listening()

    def _on_played(self, is_playing: bool) -> None:
        if not is_playing:
            self._is_listening = False
        self._show_listening()

    def _show_listening(self) -> None:
        player, scene = self._player, self._scene()
        if player is None:
            why_not = _NOT_HEARD
        elif scene is None or self._range(scene) is None:
            why_not = "It speaks in no clip of this scene."
        else:
            why_not = ""
        is_plain = player is not None and bool(self._voice) and player.plain_voice == self._voice
        self.chain.show_playing(is_playing=self._is_listening, is_plain=is_plain, why_not=why_not)
