"""The part of the clip sheet about framing: how a clip's picture sits in the film's frame."""

import functools
import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Unpack

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QWidget

from desk.film.framing import enlargement
from desk.film.media import MediaFacts
from desk.film.model import Clip, Fit, Framing, Size
from desk.film.problem import Facts
from desk.film.scene_checks import LEAST_ENLARGEMENT
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.fields import SharedPicks, show_common
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown, common
from desk.ui.cutting.clip_sheet.sheet_edits import FramingFields
from desk.ui.fields import NumberField
from desk.ui.labels import note, say

WHOLE = Framing()
_FITS = (("whole picture", Fit.FIT), ("fill the frame", Fit.FILL))
_FIT_TIP = (
    "Whole: all of it is seen, with black beside it where its shape is another. Fill: the rest is cut off."
)


class FramingPart(SheetPart):
    """Fit, scale and place.

    Signals:
        framing_asked: The person wants to frame in the viewer, or to leave that.
    """

    framing_asked = Signal(bool)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "Framing")
        self._size = Size(2, 2)
        self._reason = ""
        self.fit = SharedPicks("How the picture meets the frame", _FITS, self)
        self.fit.setMinimumContentsLength(8)
        self.fit.setToolTip(_FIT_TIP)
        self.fit.picked.connect(self._on_fit)
        self.scale = NumberField("Scale", self._take_scale, self, unit="%", whole=False)
        self.across = NumberField("Moved to the right", self._take_x, self, unit="px right", whole=False)
        self.down = NumberField("Moved down", self._take_y, self, unit="px down", whole=False)
        self.frame = QPushButton("Frame…", self)
        self.frame.setCheckable(True)
        self.frame.setAccessibleName("Frame in the viewer")
        self.frame.clicked.connect(self.framing_asked)
        self.back = QPushButton("Back to whole", self)
        self.back.clicked.connect(self._on_back)
        self.enlarged = note("small", self)
        self.add("fit", self.fit)
        self.add("scale", self.scale)
        self.add("moved", self.across)
        self.add("", self.down)
        self.add_wide(self.enlarged)
        self.add_line(self.frame, self.back)

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        return tuple(clip.id for clip in shown.clips)

    def fill(self, shown: Shown, anew: bool) -> None:
        clips = shown.clips
        self._size = size = shown.film.size
        fit = common(clips, lambda clip: clip.framing.fit)
        self.fit.show_value(fit)
        for field, value in (
            (self.scale, common(clips, lambda clip: clip.framing.scale * 100)),
            (self.across, common(clips, lambda clip: clip.framing.x * size.width)),
            (self.down, common(clips, lambda clip: clip.framing.y * size.height)),
        ):
            show_common(field, None if value is None else number_text(value), anew=anew)
        worst = most_enlarged(clips, shown.facts, size)
        text, kind = enlargement_words(worst, are_several=len(clips) > 1) if worst else ("", "")
        say(self.enlarged, text, kind)
        is_whole = all(clip.framing == WHOLE for clip in clips)
        self.back.setEnabled(not is_whole and not self._reason)
        self.frame.setEnabled(len(clips) == 1 and not self._reason)
        about = "Drag the picture in the viewer, and its corners to scale it. Escape leaves."
        if len(clips) > 1:
            about = "Select one clip to frame it in the viewer."
        self.frame.setToolTip(self._reason or about)

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self._reason = reason
        self.fit.set_read_only(reason)
        if not reason:
            self.fit.setToolTip(_FIT_TIP)
        self.back.setToolTip(reason or "The whole picture, in the middle of the frame.")

    def show_framing(self, is_on: bool) -> None:
        """Show whether framing in the viewer is on."""
        self.frame.setChecked(is_on)
        self.frame.setText("Stop framing" if is_on else "Frame…")

    def _reframe(self, what: str, **fields: Unpack[FramingFields]) -> str:
        make = functools.partial(
            sheet_edits.set_framings, scene_id=self.scene_id, clip_ids=self.ids, **fields
        )
        return self.change(what, make)

    def _on_fit(self, fit: Fit) -> None:
        self.scale.tell(self._reframe("", fit=fit))

    def _take_scale(self, percent: float) -> str:
        return self._reframe("scale", scale=percent / 100)

    def _take_x(self, px: float) -> str:
        return self._reframe("x", x=px / self._size.width)

    def _take_y(self, px: float) -> str:
        return self._reframe("y", y=px / self._size.height)

    def _on_back(self) -> None:
        self.scale.tell(self._reframe("", fit=WHOLE.fit, scale=WHOLE.scale, x=WHOLE.x, y=WHOLE.y))


def most_enlarged(clips: Sequence[Clip], facts: Facts, size: Size) -> Fraction | None:
    """Return how many frame pixels a source pixel is stretched over in the clip where it is most."""
    factors = [
        enlargement(clip.framing, known.picture.upright_size, size)
        for clip in clips
        if isinstance(known := facts.get(clip.source), MediaFacts) and known.picture
    ]
    return max(factors, default=None)


def enlargement_words(factor: Fraction, *, are_several: bool = False) -> tuple[str, str]:
    """Return how large a picture is shown against its own pixels, and the role of those words."""
    percent = math.floor(factor * 100 + Fraction(1, 2))
    upto = "up to " if are_several else ""
    if factor >= LEAST_ENLARGEMENT:
        return f"Enlarged to {upto}{percent} % of its own pixels: it will look soft.", "open"
    return f"Shown at {upto}{percent} % of its own pixels.", "small"


def framing_words(framing: Framing, factor: Fraction | None, size: Size) -> str:
    """Return how a picture is framed, in words.

    Args:
        framing: Fit, scale and place.
        factor: How much it is enlarged, or None where that is not known.
        size: The film's frame.
    """
    parts = [f"{number_text(framing.scale * 100)} %"]
    for px, forward, back in (
        (framing.x * size.width, "right", "left"),
        (framing.y * size.height, "down", "up"),
    ):
        if round(px):
            parts.append(f"{abs(round(px)):,} px {forward if px > 0 else back}")
    told = enlargement_words(factor)[0] if factor is not None else ""
    return f"{', '.join(parts)}. {told}".strip()


def number_text(value: float) -> str:
    """Return a number with at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text.replace("-", "−")
