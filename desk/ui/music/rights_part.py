"""Fields about who made a piece of music or an effect and on what terms, and what follows from them."""

import dataclasses
import re
from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from desk.film.model import Rights
from desk.film.rights import NO_LEGAL_ADVICE, Kind, missing, obligations, terms_of
from desk.film.wording import listed
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.fields import LineField
from desk.ui.labels import note, say
from desk.ui.session import MakeEdit
from desk.ui.sheet.picks import Picks
from desk.ui.text_field import TextField

_COMMONS = tuple(f"CC {kind} 4.0" for kind in ("BY", "BY-SA", "BY-NC", "BY-ND", "BY-NC-SA", "BY-NC-ND"))
_BOUGHT, _OTHER, _NONE = "bought", "other", ""
_LICENCES = (
    ("not entered", _NONE),
    *((name, name) for name in _COMMONS),
    ("CC0 1.0 (given to the public)", "CC0 1.0"),
    ("public domain", "public domain"),
    ("own work", "own work"),
    ("bought, with a receipt", _BOUGHT),
    ("other terms", _OTHER),
)
_RECEIPT = re.compile(r"bought(?:, receipt (.*))?", re.DOTALL)

MakeRights = Callable[[Rights], MakeEdit]
"""Gives the edit that puts rights where they belong."""


class RightsPart(SheetPart):
    """Title, maker, source, licence, link and required credit; what is asked for, missing, and credited."""

    def __init__(self, bench: Bench, parent: QWidget, *, noun: str, maker: str, fills_credits: bool) -> None:
        """Make it.

        Args:
            bench: What it gets to work with.
            parent: Who owns it.
            noun: What it is about, such as `music`.
            maker: What who made it is called, such as `composer`.
            fills_credits: Whether credit cards name it by themselves.
        """
        super().__init__(bench, parent, "Rights")
        self._maker = maker
        self._noun = noun
        self._fills_credits = fills_credits
        self._rights = Rights()
        self._make: MakeRights | None = None
        self._other: str | None = None
        self.title = LineField(f"Title of the {noun}", self._take_title, self)
        self.author = LineField(f"{maker.capitalize()} of the {noun}", self._take_author, self)
        self.source = LineField(f"Source of the {noun}", self._take_source, self, hint="Where it is from")
        self.licence = Picks(f"Licence of the {noun}", _LICENCES, self)
        self.licence.picked.connect(self._on_licence)
        self.receipt = LineField(f"Receipt number of the {noun}", self._take_receipt, self)
        self.other = LineField(
            f"Terms of the {noun}", self._take_other, self, hint="What the licence is called"
        )
        self.link = LineField(f"Link to the licence of the {noun}", self._take_link, self, hint="https://…")
        self.credit = TextField(
            f"Required credit of the {noun}",
            self._take_credit,
            self,
            hint="Only where its maker asks for words",
        )
        self.fault = note("fault", self)
        self.asked = note("dim", self)
        self.lacking = note("open", self)
        self.line = note("", self)
        self.caution = note("small", self)
        for name, field in (
            ("title", self.title),
            (maker, self.author),
            ("source", self.source),
            ("licence", self.licence),
            ("receipt", self.receipt),
            ("terms", self.other),
            ("link", self.link),
            ("credit", self.credit),
        ):
            self.add(name, field)
        for words in (self.fault, self.lacking, self.asked, self.line, self.caution):
            self.add_wide(words)

    def show_rights(
        self, shown: Shown, item_id: str, rights: Rights, credited: str, make: MakeRights
    ) -> None:
        """Show the rights of something.

        Args:
            shown: The film and scene.
            item_id: What it is.
            rights: Its rights.
            credited: How the credits of the film name it, or "".
            make: Gives the edit that changes them.
        """
        anew = (shown.scene.id, (item_id,)) != (self.scene_id, self.ids)
        self.scene_id, self.ids = shown.scene.id, (item_id,)
        self._rights, self._make = rights, make
        if anew:
            self._other = None
            say(self.fault, "")
        self.title.show_text(rights.title, anew=anew)
        self.author.show_text(rights.author, anew=anew)
        self.source.show_text(rights.source, anew=anew)
        self.link.show_text(rights.licence_link, anew=anew)
        self.credit.show_text(rights.required_credit, anew=anew)
        kind = self._kind()
        self.licence.show_value(kind)
        self.show_row(self.receipt, kind == _BOUGHT)
        self.show_row(self.other, kind == _OTHER)
        self.receipt.show_text(receipt_of(rights), anew=anew)
        self.other.show_text(rights.licence if kind == _OTHER else "", anew=anew)
        self._show_what_follows(rights, credited)

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.licence.set_read_only(reason)

    def _show_what_follows(self, rights: Rights, credited: str) -> None:
        say(self.asked, "\n".join(obligations(rights, self._noun)))
        lacking = [self._maker if name == "author" else name for name in missing(rights)]
        say(self.lacking, f"Not entered yet: {listed(lacking, most=6)}." if lacking else "")
        say(self.line, self._credit_words(rights, credited))
        say(self.caution, NO_LEGAL_ADVICE)

    def _credit_words(self, rights: Rights, credited: str) -> str:
        if not self._fills_credits:
            return f"To be credited so: {credited} A card of credits can do it by itself." if credited else ""
        if credited:
            return f"In the credits: {credited}"
        is_own = terms_of(rights).kind is Kind.OWN
        return "" if is_own else "Nothing of it can stand in the credits yet."

    def _put(self, what: str, rights: Rights) -> str:
        if self._make is None:
            return ""
        return self.change(f"{what} of rights" if what else "", self._make(rights))

    def _take_title(self, text: str) -> str:
        return self._put("title", dataclasses.replace(self._rights, title=text))

    def _take_author(self, text: str) -> str:
        return self._put("author", dataclasses.replace(self._rights, author=text))

    def _take_source(self, text: str) -> str:
        return self._put("source", dataclasses.replace(self._rights, source=text))

    def _take_link(self, text: str) -> str:
        return self._put("link", dataclasses.replace(self._rights, licence_link=text.strip()))

    def _take_credit(self, text: str) -> str:
        return self._put("credit", dataclasses.replace(self._rights, required_credit=text))

    def _take_receipt(self, text: str) -> str:
        words = f"bought, receipt {text}" if text.strip() else "bought"
        return self._put("receipt", dataclasses.replace(self._rights, licence=words))

    def _take_other(self, text: str) -> str:
        self._other = text
        return self._put("terms", dataclasses.replace(self._rights, licence=text))

    def _on_licence(self, value: object) -> None:
        assert isinstance(value, str)
        before = self._other
        self._other = "" if value == _OTHER else None
        rights = dataclasses.replace(self._rights, licence="" if value == _OTHER else value)
        if _link_is_of(self._rights):
            # A link that came with another licence would say two things at once.
            rights = dataclasses.replace(rights, licence_link="")
        link = terms_of(dataclasses.replace(rights, licence_link="")).link
        if link and not rights.licence_link:
            rights = dataclasses.replace(rights, licence_link=link)
        refused = self._put("", rights)
        say(self.fault, refused)
        if refused:
            self._other = before
        kind = self._kind()
        self.licence.show_value(kind)
        self.show_row(self.other, kind == _OTHER)
        self.show_row(self.receipt, kind == _BOUGHT)

    def _kind(self) -> str:
        """Return which licence holds; what was typed as other terms stays so while it is typed."""
        if self._other is not None and self._other == self._rights.licence:
            return _OTHER
        return licence_kind(self._rights)


def licence_kind(rights: Rights) -> str:
    """Return which of the licences that are offered something is under; `other` where none of them fits."""
    words = rights.licence.strip()
    if not words:
        return _NONE
    if _RECEIPT.fullmatch(words):
        return _BOUGHT
    terms = terms_of(Rights(licence=words))
    if terms.kind is Kind.OWN:
        return "own work"
    known = {value for _, value in _LICENCES}
    # What is not told in the very words that are offered may say more than they do.
    return terms.name if terms.name in known and terms.name == words else _OTHER


def receipt_of(rights: Rights) -> str:
    """Return the receipt number in what is said of a licence that was bought, or ""."""
    match = _RECEIPT.fullmatch(rights.licence.strip())
    return (match[1] or "") if match else ""


def _link_is_of(rights: Rights) -> bool:
    """Return whether the link is the one that belongs to the licence, rather than one that was typed."""
    own = terms_of(Rights(licence=rights.licence)).link
    return bool(own) and rights.licence_link == own
