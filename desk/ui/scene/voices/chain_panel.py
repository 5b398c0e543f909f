"""What is done to one voice of a scene: low cut, bands, compression, and hearing it with and without."""

import dataclasses
import functools
from typing import TypedDict, Unpack

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLayout, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Band, Compression, Film, Scene, VoiceChain
from desk.sound.chain import presets
from desk.ui.bench import Bench
from desk.ui.fields import NumberField, attempt
from desk.ui.labels import label, note, say
from desk.ui.look.icons import icon
from desk.ui.scene.voices.bands import Bands
from desk.ui.scene.voices.curve import Curve
from desk.ui.sheet.picks import Alternatives, Picks

_COMPRESSIONS = (
    ("off", Compression.OFF),
    ("gentle", Compression.GENTLE),
    ("firm", Compression.FIRM),
)
_COMPRESSED = {
    Compression.OFF: "Loud and soft words stay as they were spoken.",
    Compression.GENTLE: "Brings loud words down to half of what they rise, so that soft ones are followed.",
    Compression.FIRM: "Brings loud words down to a quarter, quickly. Breath and room come up with levelling.",
}
_NOTHING = "nothing"
_OWN = "own settings"
_NOTHING_TOLD = "The voice is heard as it was recorded."
_OWN_TOLD = "Set by hand. A preset takes the place of all of it."
_PLAIN_TOLD = "For comparing by ear alone; nothing is changed."


class ChainFields(TypedDict, total=False):
    """What may be changed of a chain."""

    on: bool
    low_cut_hz: float
    bands: tuple[Band, ...]
    compression: Compression


class _Presets(Picks):
    OTHER = _OWN


class ChainPanel(QWidget):
    """Shows and changes the chain of a voice in a scene.

    Signals:
        listen_asked: The person wants to hear the voice, or to hear no more.
        plain_asked: The person wants to hear it without the chain (True), or as it is.
    """

    listen_asked = Signal()
    plain_asked = Signal(bool)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene_id = ""
        self._chain = VoiceChain(voice="")
        self._is_playing = False
        self.on = QCheckBox("Chain on", self)
        self.on.setToolTip("Whether what is set here is heard, and goes into the film.")
        self.on.clicked.connect(self._on_switched)
        self.listen = QPushButton("Listen to this voice", self)
        self.listen.clicked.connect(self.listen_asked)
        self.plain = QPushButton("Without the chain", self)
        self.plain.setCheckable(True)
        self.plain.setToolTip(_PLAIN_TOLD)
        self.plain.setAccessibleName("Hear it without the chain")
        self.plain.setAccessibleDescription(_PLAIN_TOLD)
        self.plain.clicked.connect(self.plain_asked)
        self._presets = {_NOTHING: VoiceChain(voice="")} | {item.name: item.chain("") for item in presets()}
        self._told = {_NOTHING: _NOTHING_TOLD} | {item.name: item.told for item in presets()}
        self.preset = _Presets("Preset", [(name, name) for name in self._presets], self)
        self.preset.picked.connect(self._on_preset)
        self.told = label("", self, kind="small", wraps=True)
        self.curve = Curve(bench.theme, self)
        self.low_cut = NumberField(
            "Low cut, in hertz; 0 for none",
            self._take_low_cut,
            self,
            unit="Hz, 0 for none",
            step=10,
            whole=False,
        )
        self.low_cut.left.connect(bench.session.end_gesture)
        self.compression = Alternatives("Compression", _COMPRESSIONS, self)
        self.compression.picked.connect(self._on_compression)
        self.compressed = label("", self, kind="small", wraps=True)
        self.bands = Bands(self._take_bands, bench.theme, self)
        self.bands.left.connect(bench.session.end_gesture)
        self.everywhere = QPushButton("The same in all drafts", self)
        self.everywhere.clicked.connect(self._on_everywhere)
        self.fault = note("fault", self)
        self._arrange()
        bench.theme.changed.connect(self._show_listening)
        self._show_listening()

    @property
    def voice(self) -> str:
        """Id of the voice that is shown, or ""."""
        return self._chain.voice

    def show_voice(self, film: Film, scene: Scene, voice: str, reason: str) -> None:
        """Show what is done to a voice.

        Args:
            film: The film.
            scene: The scene.
            voice: Id of one of the film's voices.
            reason: Why nothing can be changed, or "".
        """
        chain = chain_of(scene, voice)
        anew = (scene.id, voice) != (self._scene_id, self._chain.voice)
        self._scene_id, self._chain = scene.id, chain
        name = next((item.name for item in film.voices if item.id == voice), "")
        if anew:
            say(self.fault, "")
        self.on.setChecked(chain.on)
        self.on.setAccessibleName(f"Chain of {name} on")
        self.listen.setAccessibleName(f"Listen to {name}")
        held = dataclasses.replace(chain, voice="", on=True)
        shown = next((key for key, preset in self._presets.items() if preset == held), None)
        self.preset.show_value(shown)
        self.told.setText(self._told.get(shown or "", _OWN_TOLD))
        self.curve.show_chain(chain, is_heard=chain.on)
        self.low_cut.show_number(chain.low_cut_hz, anew=anew)
        self.compression.show_value(chain.compression)
        self.compressed.setText(_COMPRESSED[chain.compression])
        self.bands.show_bands(chain.bands, anew=anew)
        self.set_read_only(reason)

    def show_playing(self, *, is_playing: bool, is_plain: bool, why_not: str) -> None:
        """Show whether the voice is being listened to.

        Args:
            is_playing: Whether it plays.
            is_plain: Whether it is heard without the chain.
            why_not: Why it can't be listened to, or "".
        """
        self._is_playing = is_playing
        self.plain.setChecked(is_plain)
        self.listen.setEnabled(not why_not)
        self.plain.setEnabled(not why_not)
        self.listen.setToolTip(why_not or "Plays the clip of this voice at the playhead.")
        self._show_listening()

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back."""
        self.on.setEnabled(not reason)
        for fields in (self.low_cut, self.compression, self.bands, self.preset):
            fields.set_read_only(reason)

    def _arrange(self) -> None:
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addLayout(_line(self.on, self.listen, self.plain))
        page.addLayout(_line(label("Begin with", self, kind="dim"), self.preset))
        page.addWidget(self.told)
        page.addWidget(self.curve)
        page.addLayout(_line(label("Low cut", self, kind="dim"), self.low_cut))
        page.addWidget(self.low_cut.fault)
        page.addWidget(self.bands)
        page.addLayout(_line(label("Compression", self, kind="dim"), self.compression))
        page.addWidget(self.compressed)
        page.addLayout(_line(self.everywhere))
        page.addWidget(self.fault)

    def _show_listening(self) -> None:
        self.listen.setText("Stop listening" if self._is_playing else "Listen to this voice")
        self.listen.setIcon(icon("stop" if self._is_playing else "play", self._bench.theme))

    def _change(self, what: str, **fields: Unpack[ChainFields]) -> str:
        make = functools.partial(_changed, self._scene_id, self._chain.voice, fields)
        merge = f"chain {what} {self._scene_id} {self._chain.voice}" if what else ""
        return attempt(self._bench.session, make, merge=merge)

    def _on_switched(self, on: bool) -> None:
        if refused := self._change("", on=on):
            self.on.setChecked(not on)
            say(self.fault, refused)

    def _on_preset(self, name: str) -> None:
        chain = self._presets[name]
        say(
            self.fault,
            self._change(
                "", low_cut_hz=chain.low_cut_hz, bands=chain.bands, compression=chain.compression, on=True
            ),
        )

    def _take_low_cut(self, value: float) -> str:
        return self._change("low cut", low_cut_hz=value)

    def _take_bands(self, bands: tuple[Band, ...], what: str) -> str:
        return self._change(what, bands=bands)

    def _on_compression(self, value: Compression) -> None:
        say(self.fault, self._change("", compression=value))

    def _on_everywhere(self) -> None:
        make = functools.partial(edits.copy_voice_chain, scene_id=self._scene_id, voice_id=self._chain.voice)
        refused = attempt(self._bench.session, make)
        say(self.fault, refused)
        if not refused:
            self._bench.messages.notice(f"{self._bench.session.stack.undoText()}.")


def chain_of(scene: Scene, voice: str) -> VoiceChain:
    """Return what is done to a voice in a scene; one that does nothing where there is none."""
    chains = scene.content.voice_chains
    return next((chain for chain in chains if chain.voice == voice), VoiceChain(voice=voice))


def _changed(scene_id: str, voice: str, fields: ChainFields, film: Film) -> Edit:
    chain = dataclasses.replace(chain_of(film.scene(scene_id), voice), **fields)
    return edits.set_voice_chain(film, scene_id, chain)


def _line(*widgets: QWidget) -> QLayout:
    row = QHBoxLayout()
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(8)
    for widget in widgets:
        row.addWidget(widget)
    row.addStretch(1)
    return row
