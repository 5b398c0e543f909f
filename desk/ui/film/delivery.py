"""The part of the film's sheet that says what goes out: how large, how loud, and what a lock asks for."""

import dataclasses

from PySide6.QtWidgets import QWidget

from desk.film.model import Compression, Film
from desk.render.placing import review_size
from desk.sound.master import target_of, targets
from desk.ui.bench import Bench
from desk.ui.fields import LineField, NumberField
from desk.ui.film.section import FilmSection
from desk.ui.labels import say
from desk.ui.level_words import plain_level
from desk.ui.sheet.page import boxed
from desk.ui.sheet.picks import Alternatives, Picks

_OWN_LOUDNESS = "Own values: type the loudness and the ceiling that you were asked for."
_TOLD_LOUDNESS = {
    "online": "About what sites for online video play at; they turn down what is louder.",
    "EBU R 128": "What broadcasters in Europe ask for.",
    "ATSC A/85": "What broadcasters in North America ask for.",
}
_UNITS = {"ATSC A/85": "LKFS"}
"""What a standard calls it; one LKFS is one LUFS."""

_HEIGHTS = (("1080 lines", 1080), ("720 lines", 720), ("540 lines", 540))
_COMPRESSION = (("off", Compression.OFF), ("gentle", Compression.GENTLE), ("firm", Compression.FIRM))
_TOLD_COMPRESSION = {
    Compression.OFF: "Loud and soft stay as far apart as you mixed them.",
    Compression.GENTLE: "Loud places come a little nearer to soft ones: for a living room.",
    Compression.FIRM: "Loud and soft come close together: for telephones and noisy rooms.",
}
_TOLD_VOICES = (
    "How loud speech is in the mix, which levelling brings it to; the master then goes to its target."
)


class DeliverySection(FilmSection):
    """What goes out."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Delivery", bench, parent)
        self.height_pick = Picks("Height of review copies, common ones", _HEIGHTS, self)
        self.review_height = NumberField("Height of review copies", self._height, self, unit="lines", step=2)
        self.loudness = Picks("Loudness target, common ones", common_targets(), self)
        self.lufs = NumberField("Loudness target", self._lufs, self, unit="LUFS", step=0.5, whole=False)
        self.dbtp = NumberField("True-peak ceiling", self._dbtp, self, unit="dBTP", step=0.1, whole=False)
        self.voices = NumberField(
            "Loudness of voices", self._voices, self, unit="LUFS", step=0.5, whole=False
        )
        self.compression = Alternatives("Compression of the master", _COMPRESSION, self)
        self.proofs = NumberField(
            "Proofs that a lock asks for", self._proofs, self, unit="since the last change"
        )
        self._lay()
        self.height_pick.picked.connect(self._pick_height)
        self.loudness.picked.connect(self._pick_loudness)
        self.compression.picked.connect(self._pick_compression)
        for field in self._fields():
            field.left.connect(bench.session.end_gesture)

    def show_film(self, film: Film) -> None:
        delivery = film.delivery
        self.height_pick.show_value(delivery.review_height)
        self.review_height.show_number(delivery.review_height)
        size = review_size(film.size, delivery.review_height)
        say(self._copy_size, f"A review copy is {size.width} × {size.height} pixels.")
        target = (delivery.integrated_lufs, delivery.true_peak_dbtp)
        self.loudness.show_value(target)
        self.lufs.show_number(delivery.integrated_lufs)
        self.dbtp.show_number(delivery.true_peak_dbtp)
        say(self._told_loudness, _TOLD_LOUDNESS.get(target_of(delivery).name, _OWN_LOUDNESS))
        self.voices.show_number(delivery.voices_lufs)
        self.compression.show_value(delivery.compression)
        say(self._told_compression, _TOLD_COMPRESSION[delivery.compression])
        self.proofs.show_number(delivery.proofs_needed)

    def set_read_only(self, reason: str) -> None:
        for field in self._fields():
            field.set_read_only(reason)
        for picks in (self.height_pick, self.loudness, self.compression):
            picks.set_read_only(reason)
        for button, (_, value) in zip(self.compression.buttons, _COMPRESSION, strict=True):
            button.setAccessibleDescription(_TOLD_COMPRESSION[value])
            button.setToolTip(reason or _TOLD_COMPRESSION[value])

    def _lay(self) -> None:
        self.add_form().add("review copies", boxed(self.height_pick, self.review_height))
        self._copy_size = self.add_note()
        form = self.add_form()
        form.add("loudness", self.loudness)
        form.addRow("", boxed(self.lufs, self.dbtp))
        self._told_loudness = self.add_note()
        self.add_form().add("voices at", self.voices)
        say(self.add_note(), _TOLD_VOICES)
        self.add_form().add("compression", self.compression)
        self._told_compression = self.add_note()
        self.add_form().add("proofs needed", self.proofs)

    def _fields(self) -> tuple[LineField, ...]:
        return self.review_height, self.lufs, self.dbtp, self.voices, self.proofs

    def _deliver(self, merge: str, **fields: object) -> str:
        delivery = dataclasses.replace(self.bench.session.film.delivery, **fields)  # type: ignore[arg-type]
        return self.change(merge, delivery=delivery)

    def _pick_height(self, lines: int) -> None:
        self._deliver("", review_height=lines)

    def _pick_loudness(self, target: tuple[float, float]) -> None:
        self._deliver("", integrated_lufs=target[0], true_peak_dbtp=target[1])

    def _pick_compression(self, compression: Compression) -> None:
        self._deliver("", compression=compression)

    def _height(self, lines: float) -> str:
        return self._deliver("review height", review_height=int(lines))

    def _lufs(self, value: float) -> str:
        return self._deliver("loudness", integrated_lufs=value)

    def _dbtp(self, value: float) -> str:
        return self._deliver("peak", true_peak_dbtp=value)

    def _voices(self, value: float) -> str:
        return self._deliver("voices", voices_lufs=value)

    def _proofs(self, count: float) -> str:
        return self._deliver("proofs", proofs_needed=int(count))


def common_targets() -> list[tuple[str, tuple[float, float]]]:
    """Return the targets in common use, by what a person calls them: loudness and ceiling of each."""
    return [
        (
            f"{target.name}: {plain_level(target.integrated_lufs)} {_UNITS.get(target.name, 'LUFS')}, "
            f"{plain_level(target.true_peak_dbtp)} dBTP",
            (target.integrated_lufs, target.true_peak_dbtp),
        )
        for target in targets()
    ]
