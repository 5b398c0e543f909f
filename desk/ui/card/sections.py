"""The parts of a card's sheet: what it says, what is behind it, and how long it stands or rolls."""

import functools
import os
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QWidget

from desk.cards.colours import LEAST_CONTRAST, contrast, parse_colour
from desk.errors import MediaError
from desk.film import edits
from desk.film.edits import CardFields, Edit
from desk.film.model import Card, CardKind, Film
from desk.film.reading import kind_name
from desk.footage.first_film import film_path_of
from desk.ui.bench import Bench
from desk.ui.card.colour_field import ColourField
from desk.ui.fields import LineField, attempt
from desk.ui.labels import say
from desk.ui.sheet.page import GAP_PX, Section
from desk.ui.sheet.picks import Alternatives, PathLabel
from desk.ui.text_field import TextField

PICTURE_SUFFIXES = frozenset({".bmp", ".gif", ".jfif", ".jpeg", ".jpg", ".png", ".tif", ".tiff", ".webp"})
"""Files that can be a picture behind a card."""


class CardSection(Section):
    """A part of a card's sheet."""

    def __init__(self, title: str, bench: Bench, parent: QWidget) -> None:
        super().__init__(title, parent)
        self.bench = bench
        self.card_id = ""

    def show_card(self, card: Card, film: Film, *, anew: bool) -> None:
        """Show a card as it is now.

        Args:
            card: The card.
            film: The film.
            anew: Whether it is another card than before, so that nothing typed is kept.
        """
        self.card_id = card.id
        self.fill(card, film, anew)

    def fill(self, card: Card, film: Film, anew: bool) -> None:
        """Show a card in the fields."""
        raise NotImplementedError

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why."""
        raise NotImplementedError

    def change(self, merge: str = "", **fields: object) -> str:
        """Change the card; returns why that is refused, or "".

        Args:
            merge: Names the gesture that it belongs to; "" for a step of its own.
            **fields: As in `desk.film.edits.edit_card`.
        """
        make = functools.partial(_edited, self.card_id, fields)
        return attempt(self.bench.session, make, merge=f"card {self.card_id} {merge}" if merge else "")


def _edited(card_id: str, fields: dict[str, object], film: Film) -> Edit:
    allowed: CardFields = fields  # type: ignore[assignment]
    return edits.edit_card(film, card_id, **allowed)


class WordsSection(CardSection):
    """Its name, its kind and its lines."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("What it says", bench, parent)
        self.kind = Alternatives(
            "Kind of card", (("Title", CardKind.TITLE), ("Credits", CardKind.CREDITS)), self
        )
        self.name = LineField("Name of the card", self._name, self)
        self.lines = TextField("Text of the card", self._lines, self, hint="The first line is the largest.")
        form = self.add_form()
        form.add("kind", self.kind)
        form.add("name", self.name)
        form.add("text", self.lines)
        self.kind.picked.connect(self._pick_kind)
        for field in (self.name, self.lines):
            field.left.connect(bench.session.end_gesture)

    def fill(self, card: Card, film: Film, anew: bool) -> None:
        self.kind.show_value(card.kind)
        self.name.edit.setPlaceholderText(kind_name(Card(id="", kind=card.kind)))
        self.name.show_text(card.name, anew=anew)
        self.lines.show_text("\n".join(card.lines), anew=anew)

    def set_read_only(self, reason: str) -> None:
        self.kind.set_read_only(reason)
        self.name.set_read_only(reason)
        self.lines.set_read_only(reason)

    def _pick_kind(self, kind: CardKind) -> None:
        self.change(kind=kind)

    def _name(self, text: str) -> str:
        return self.change("name", name=text.strip())

    def _lines(self, text: str) -> str:
        text = text.rstrip("\n")
        return self.change("lines", lines=tuple(text.split("\n")) if text else ())


class BehindSection(CardSection):
    """The picture or colour behind, and the ink."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Behind the text", bench, parent)
        self.dialog: QFileDialog | None = None
        self.path = PathLabel(self)
        row = QHBoxLayout()
        row.setSpacing(4)
        self.choose = self.add_button("Choose…", row, name="Choose a picture behind the text")
        self.remove = self.add_button("Remove", row, name="Remove the picture behind the text")
        self.choose.clicked.connect(self.open_dialog)
        self.remove.clicked.connect(self._remove)
        picture = QWidget(self)
        inside = QHBoxLayout(picture)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.setSpacing(GAP_PX)
        inside.addWidget(self.path, 1)
        inside.addLayout(row)
        self.background = ColourField("Colour behind", self._background, bench.theme, self)
        self.ink = ColourField("Ink", self._ink, bench.theme, self)
        for field in (self.background, self.ink):
            field.left.connect(bench.session.end_gesture)
        self.add_form().add("picture", picture)
        self.fault = self.add_note("fault")
        form = self.add_form()
        form.add("colour behind", self.background)
        form.add("ink", self.ink)
        self.contrast = self.add_note()

    def fill(self, card: Card, film: Film, anew: bool) -> None:
        self.path.show_path(card.picture or "none; drop one on this sheet")
        self.remove.setVisible(bool(card.picture))
        self.background.show_text(card.background, anew=anew)
        self.ink.show_text(card.ink, anew=anew)
        if anew:
            say(self.fault, "")
        ratio = contrast(parse_colour(card.ink), parse_colour(card.background))
        # Rounded down, so that what is too little never looks like enough.
        told = f"{int(ratio * 10) / 10:g}:1"
        if ratio < LEAST_CONTRAST:
            text = f"The ink is hard to read on the colour behind: {told}; {LEAST_CONTRAST:g}:1 is the least."
            say(self.contrast, text, "fault")
        elif card.picture:
            say(
                self.contrast,
                f"Contrast {told}. The picture is veiled with the colour as far as the ink needs.",
                "small",
            )
        else:
            say(self.contrast, f"Contrast {told}.", "small")

    def set_read_only(self, reason: str) -> None:
        for field in (self.background, self.ink):
            field.set_read_only(reason)
        for button in (self.choose, self.remove):
            button.setEnabled(not reason)
            button.setToolTip(reason)

    def open_dialog(self) -> None:
        """Ask for a picture."""
        kinds = " ".join(sorted(f"*{suffix}" for suffix in PICTURE_SUFFIXES))
        folder = self.bench.session.folder
        dialog = QFileDialog(self, "Choose a picture behind the text", str(folder), f"Pictures ({kinds})")
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self.take_picture)
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def take_picture(self, name: str) -> None:
        """Put a picture behind the text.

        Args:
            name: Its path on this machine.
        """
        path = Path(os.path.abspath(name))  # noqa: PTH100 - a link keeps its own name
        try:
            told = film_path_of(path, path.parent, self.bench.session.folder)
        except MediaError as error:
            say(self.fault, str(error))
            return
        say(self.fault, self.change(picture=told))

    def _remove(self) -> None:
        say(self.fault, self.change(picture=""))
        self.choose.setFocus()

    def _background(self, text: str) -> str:
        return self.change("background", background=text)

    def _ink(self, text: str) -> str:
        return self.change("ink", ink=text)
