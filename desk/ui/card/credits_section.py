"""The part of a card's sheet with names and roles."""

from PySide6.QtWidgets import QCheckBox, QPushButton, QWidget

from desk.film.filling import playing_scenes
from desk.film.model import Card, CreditBlock, Film
from desk.film.rights import effect_credits, music_credits
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.card.sections import CardSection
from desk.ui.labels import say
from desk.ui.sheet.credits import (
    credit_rows_of,
    credits_of_rows,
    music_credits_of,
    rows_of_credits,
    with_filling,
)
from desk.ui.sheet.page import row_of
from desk.ui.sheet.row_table import RowTable
from desk.ui.sheet.rows import Row, Rows


class CreditsSection(CardSection):
    """Names and roles, in blocks under headings."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Names and roles", bench, parent)
        self._taken: tuple[CreditBlock, ...] = ()
        self._reason = ""
        self.table = RowTable(
            "Names and roles",
            ("Role", "Names, separated by commas"),
            self._take,
            bench.theme,
            self,
            noun="a row",
            has_headings=True,
        )
        self.table.settled.connect(bench.session.end_gesture)
        self.body.addWidget(self.table)
        self.people = self._button("Take the film's people")
        self.people.clicked.connect(self.take_people)
        self.music = self._button("Take the film's music")
        self.music.clicked.connect(self.take_music)
        self.body.addLayout(row_of(self.people, self.music, spacing_px=4))
        self.fills = QCheckBox("Add the music of the film by itself", self)
        self.fills.setAccessibleName("Add the music of the film by itself")
        self.fills.setAccessibleDescription(
            "Names the music that is in the film whenever the card is shown, also after music has changed."
        )
        self.fills.clicked.connect(self._on_fills)
        self.body.addWidget(self.fills)
        self.filled = self.add_note(indented=False)
        self.fills_effects = QCheckBox("Add by itself the effects that have to be credited", self)
        self.fills_effects.setAccessibleName("Add by itself the effects that have to be credited")
        self.fills_effects.setAccessibleDescription(
            "Names the effects of the film whose licence or maker asks for it whenever the card is shown."
        )
        self.fills_effects.clicked.connect(self._on_fills_effects)
        self.body.addWidget(self.fills_effects)
        self.filled_effects = self.add_note(indented=False)
        self._told = self.add_note(indented=False)

    def fill(self, card: Card, film: Film, anew: bool) -> None:
        if anew:
            self._taken = ()
        rows = rows_of_credits(card.credits)
        self.table.show_rows(rows, anew=anew)
        no_people = no_music = ""
        if not film.people:
            no_people = "The film's people are entered on the film's own sheet."
        elif not credit_rows_of(film.people, rows):
            no_people = "All of the film's people stand here."
        if not music_credits_of(film, rows):
            no_music = "No music of the film is left to be named here."
        for button, why in ((self.people, no_people), (self.music, no_music)):
            button.setEnabled(not (why or self._reason))
            button.setToolTip(self._reason or why)
        is_filled = any(block.fills == "music" for block in card.credits)
        self.fills.setChecked(is_filled)
        say(self.filled, _filled_words(film) if is_filled else "")
        has_effects = any(block.fills == "effects" for block in card.credits)
        self.fills_effects.setChecked(has_effects)
        say(self.filled_effects, _effects_words(film) if has_effects else "")
        say(self._told, f"{no_people} {no_music}".strip())

    def set_read_only(self, reason: str) -> None:
        self._reason = reason
        for box in (self.fills, self.fills_effects):
            box.setEnabled(not reason)
            box.setToolTip(reason)
        self.table.set_read_only(reason)

    def take_people(self) -> None:
        """Put the film's people in, in a block of their own or in the empty one that is chosen."""
        rows = self.table.rows
        new = credit_rows_of(self.bench.session.film.people, rows)
        first, count = self.table.view.chosen()
        is_empty_block = (
            count == 1 and rows[first].is_heading and (first + 1 == len(rows) or rows[first + 1].is_heading)
        )
        if is_empty_block:
            self.table.put_in(new)
        else:
            self._put_last((Row(is_heading=True), *new))

    def take_music(self) -> None:
        """Put the music that is really in the film in, in blocks of its own."""
        self._taken = music_credits_of(self.bench.session.film, self.table.rows)
        self._put_last(rows_of_credits(self._taken))

    def _on_fills(self, fills: bool) -> None:
        self._fill_with("music", self.fills, fills)

    def _on_fills_effects(self, fills: bool) -> None:
        self._fill_with("effects", self.fills_effects, fills)

    def _fill_with(self, what: str, box: QCheckBox, fills: bool) -> None:
        self.bench.session.end_gesture()
        card = next((card for card in self.bench.session.film.cards if card.id == self.card_id), None)
        if card is not None and self.change("", credits=with_filling(card.credits, what, fills=fills)):
            box.setChecked(not fills)

    def _put_last(self, rows: Rows) -> None:
        self.table.view.clearSelection()
        if self.table.rows:
            self.table.view.go_to(len(self.table.rows) - 1)
        self.table.put_in(rows)

    def _button(self, text: str) -> QPushButton:
        button = QPushButton(text, self)
        button.setAccessibleName(text)
        return button

    def _take(self, rows: Rows) -> str:
        card = next((card for card in self.bench.session.film.cards if card.id == self.card_id), None)
        known = (*self._taken, *(card.credits if card else ()))
        return self.change("credits", credits=credits_of_rows(rows, known))


def _filled_words(film: Film) -> str:
    """Return what the music of the film comes to on the card."""
    scenes = playing_scenes(film)
    rows = music_credits(scenes).rows
    chosen = [cue.choice for scene in scenes for cue in scene.content.cues if cue.choice]
    unnamed = len([choice for choice in chosen if not (choice.rights.title or choice.rights.author)])
    told = f"It names {counted(len(rows), 'piece')} of music now: see the picture above."
    if not rows:
        told = "No music in the film has a title or a composer yet."
    if unnamed:
        told += f" {counted(unnamed, 'piece')} without either can't be named: say in the scenes who made it."
    return told


def _effects_words(film: Film) -> str:
    """Return what the effects of the film come to on the card."""
    rows = effect_credits(playing_scenes(film)).rows
    if not rows:
        return "No effect in the film has to be credited, as far as its rights are entered."
    return f"It names {counted(len(rows), 'effect')} now: see the picture above."
