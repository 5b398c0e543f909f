"""What may be done with music and effects that somebody made, and how they are credited.

The terms are those of the Creative Commons licences. Their legal code 4.0, section 1(a), says that a musical
work or a sound recording which is synchronised in timed relation with a moving image is always adapted
material: so without permission to adapt it may not be used, its share-alike binds the film, and its
non-commercial bars earning with the film. Credits follow Creative Commons' recommended practice: title,
author, source, licence, and whether it was changed. None of this is legal advice.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from desk.film.model import Candidate, CreditBlock, CreditRow, Rights, Scene, Spot

NO_LEGAL_ADVICE = "This is no legal advice: the licence itself counts."

MUSIC_HEADING = "Music"
EFFECTS_HEADING = "Effects"


class Kind(StrEnum):
    """What kind of terms something is under."""

    CREATIVE_COMMONS = "Creative Commons"
    DEDICATED = "dedicated to the public"
    PUBLIC_DOMAIN = "public domain"
    OWN = "own work"
    OTHER = "other terms"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What a licence says.

    Attributes:
        kind: What kind it is.
        name: What to call it: `CC BY-SA 4.0`, or the words that were entered.
        link: Its address, where it is known, or "".
        credit: Whether it has to be credited.
        share_alike: Whether what is made with it has to be under the same terms.
        non_commercial: Whether it bars commercial use.
        no_derivatives: Whether it may not be adapted.
    """

    kind: Kind
    name: str = ""
    link: str = ""
    credit: bool = False
    share_alike: bool = False
    non_commercial: bool = False
    no_derivatives: bool = False


_COMMONS = re.compile(
    r"creative\s*commons|creativecommons\.org/licenses|\bcc\b|\bcc[-_ ]?(?=by\b)", re.IGNORECASE
)
_ZERO = re.compile(r"\bcc[-_ ]?(?:0|zero)\b|publicdomain/zero", re.IGNORECASE)
_VERSION = re.compile(r"(?<![\d.])([1-4]\.[05])(?![\d.])")
_PUBLIC = re.compile(r"public[\s-]*domain|\bno known copyright\b", re.IGNORECASE)
_OWN = re.compile(
    r"(?:my |our )?own(?: (?:work|music|recording|composition))?|self[- ]made|made for this film",
    re.IGNORECASE,
)
_ELEMENTS = (
    ("BY", re.compile(r"(?:\b|_|cc)by\b|attribution", re.IGNORECASE)),
    ("NC", re.compile(r"\bnc\b|non[\s-]*commercial", re.IGNORECASE)),
    ("ND", re.compile(r"\bnd\b|no[\s-]*deriv", re.IGNORECASE)),
    ("SA", re.compile(r"\bsa\b|share[\s-]*alike", re.IGNORECASE)),
)


def terms_of(rights: Rights) -> Terms:
    """Return what is known of the terms that something is under, read from its licence and the link to it.

    Args:
        rights: What was entered.
    """
    words, link = " ".join(rights.licence.split()), rights.licence_link.strip()
    both = f"{words} {link}".strip()
    if not both:
        return Terms(kind=Kind.UNKNOWN)
    # Where the words say one licence and the link that nothing is asked for, the words count.
    says_more = any(pattern.search(words) for _, pattern in _ELEMENTS)
    if _ZERO.search(words) or (_ZERO.search(link) and not says_more):
        known = "https://creativecommons.org/publicdomain/zero/1.0/"
        return Terms(kind=Kind.DEDICATED, name="CC0 1.0", link=link or known)
    if _COMMONS.search(both) or re.search(r"\battribution\b.*\d\.\d", words, re.IGNORECASE):
        found = _commons(both, link)
        if found is not None:
            return found
    if _PUBLIC.search(both):
        return Terms(kind=Kind.PUBLIC_DOMAIN, name="public domain", link=link)
    if _OWN.fullmatch(words.rstrip(".")):
        return Terms(kind=Kind.OWN, name="own work")
    return Terms(kind=Kind.OTHER, name=words or link, link=link)


def obligations(rights: Rights, noun: str = "music") -> tuple[str, ...]:
    """Return in plain words what using a sound in a film asks for; `NO_LEGAL_ADVICE` goes with it.

    Args:
        rights: What is known of it.
        noun: What it is: `music`, `effect`.
    """
    return tuple(_obligations(terms_of(rights), noun))


def has_to_be_credited(rights: Rights) -> bool:
    """Return whether the film has to name something: its licence or its maker asks for it."""
    return bool(rights.required_credit.strip()) or terms_of(rights).credit


def missing(rights: Rights) -> tuple[str, ...]:
    """Return what is not entered and should be, in words: `licence`, `author`.

    Args:
        rights: What is known of it.
    """
    terms = terms_of(rights)
    if terms.kind is Kind.OWN:
        return ()
    wanted = {"title": rights.title, "author": rights.author}
    if terms.credit and not rights.required_credit.strip():
        wanted |= {"source": rights.source, "link to the licence": terms.link}
    wanted["licence"] = terms.name
    if rights.required_credit.strip():
        del wanted["title"], wanted["author"]
    return tuple(name for name, value in wanted.items() if not value.strip())


def credit_line(rights: Rights, changed: str = "", noun: str = "music") -> str:
    """Return how something is credited: title, author, source, licence, and what was changed.

    Where its maker asks for a credit of certain words, those are it. What is not known is left out; "" where
    there is neither title nor author.

    Args:
        rights: What is known of it.
        changed: What was done to it: `shortened from the original`; "" for nothing.
        noun: What it is, where it has no title.
    """
    required = " ".join(rights.required_credit.split())
    if required:
        return _with_sentence(required, changed) if terms_of(rights).credit else required
    title, author = (" ".join(text.split()) for text in (rights.title, rights.author))
    if not title and not author:
        return ""
    terms = terms_of(rights)
    line = " by ".join(part for part in (f'"{title}"' if title else "", author) if part)
    if not title:
        line = f"{noun.capitalize()} by {author}"
    if rights.source.strip():
        line += f" ({rights.source.strip()})"
    match terms.kind:
        case Kind.CREATIVE_COMMONS:
            line += f", licensed under {terms.name}"
        case Kind.DEDICATED | Kind.PUBLIC_DOMAIN | Kind.OTHER:
            line += f", {terms.name}"
        case Kind.OWN | Kind.UNKNOWN:
            pass
    if terms.link and terms.link != terms.name:
        line += f" ({terms.link})"
    if changed and terms.kind is not Kind.OWN:
        line += f", {changed.rstrip('.')}"
    return f"{line}."


def change_words(candidate: Candidate) -> str:
    """Return what using a piece of music in a film did to it, as a credit says it."""
    if candidate.parts:
        return "edited from the original"
    return "shortened from the original" if candidate.in_seconds else "set to picture"


def music_credits(scenes: Iterable[Scene]) -> CreditBlock:
    """Return the credits of the music that sounds in scenes, each piece once, in the order of the film.

    Music that has to be credited gets a line of its own with all that is asked for; other music its title and
    author. Of music without either, nothing can be said.

    Args:
        scenes: The scenes that are in the film, in order.
    """
    rows = [
        row
        for scene in scenes
        for cue in scene.content.cues
        if (choice := cue.choice) and (row := _credit_row(choice))
    ]
    return CreditBlock(heading=MUSIC_HEADING, rows=tuple(dict.fromkeys(rows)))


def effect_credits(scenes: Iterable[Scene]) -> CreditBlock:
    """Return the credits of those effects that have to be credited, each once, in the order of the film.

    Args:
        scenes: The scenes that are in the film, in order.
    """
    lines = [effect_credit(spot) for scene in scenes for spot in scene.content.spots]
    rows = (CreditRow(names=(line,)) for line in dict.fromkeys(lines) if line)
    return CreditBlock(heading=EFFECTS_HEADING, rows=tuple(rows))


def effect_credit(spot: Spot) -> str:
    """Return how an effect is credited where that has to be, or ""."""
    changed = "shortened from the original" if spot.in_seconds else "set to picture"
    return credit_line(spot.rights, changed, "effect") if has_to_be_credited(spot.rights) else ""


def _credit_row(candidate: Candidate) -> CreditRow | None:
    rights = candidate.rights
    if has_to_be_credited(rights):
        line = credit_line(rights, change_words(candidate))
        return CreditRow(names=(line,)) if line else None
    title, author = rights.title.strip(), rights.author.strip()
    if not title and not author:
        return None
    return CreditRow(role=f"“{title}”" if title else "", names=(author,) if author else ())


def _commons(text: str, link: str) -> Terms | None:
    """Return the terms of a Creative Commons licence, or None where the text does not say which."""
    elements = [name for name, pattern in _ELEMENTS if pattern.search(text)]
    if "BY" not in elements and not {"NC", "ND", "SA"} & set(elements):
        return None
    if "BY" not in elements:
        elements.insert(0, "BY")
    kind = "-".join(elements)
    version = found.group(1) if (found := _VERSION.search(text)) else ""
    known = f"https://creativecommons.org/licenses/{kind.lower()}/{version}/" if version else ""
    return Terms(
        kind=Kind.CREATIVE_COMMONS,
        name=f"CC {kind} {version}".rstrip(),
        link=link or known,
        credit=True,
        share_alike="SA" in elements,
        non_commercial="NC" in elements,
        no_derivatives="ND" in elements,
    )


def _obligations(terms: Terms, noun: str) -> Iterator[str]:
    match terms.kind:
        case Kind.UNKNOWN:
            yield "Nothing is known of its terms: without permission it may not be used."
        case Kind.OTHER:
            yield f"Its terms are not known here: read whether they allow {_some(noun)} set to picture."
        case Kind.OWN:
            yield "It is your own: nothing is asked for, as long as all who made it agree."
        case Kind.PUBLIC_DOMAIN:
            yield "The work is free to use where it is in the public domain, which differs between countries."
            yield "A recording of it can have rights of its own: see that it is free too."
        case Kind.DEDICATED:
            yield "It is free to use, and needs no credit; naming its maker is kind."
    if terms.no_derivatives:
        asks = "is an adaptation: ask its maker first"
        yield f"It may not be adapted, and {_some(noun)} set to picture {asks}."
    if terms.credit:
        yield "Credit it: title, author, source and licence, and say that it was changed."
    if terms.share_alike:
        yield f"The whole film has to be given out under the same licence, since it adapts the {noun}."
    if terms.non_commercial:
        yield "It may not be used commercially: nothing may be earned with the film."


def _with_sentence(credit: str, changed: str) -> str:
    if not changed:
        return credit
    end = "" if credit.endswith((".", "!", "?")) else "."
    return f"{credit}{end} {changed[0].upper()}{changed[1:].rstrip('.')}."


def _some(noun: str) -> str:
    return noun if noun == "music" else f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"
