"""The film file's form: JSON, indented, in the order of the model's fields, with a newline at the end.

    {"format": 1, "written_by": "assembly-desk 0.1.0", "film": {…}}

Exact numbers are text (`"in_seconds": "7/2"`, `"rate": "30000/1001"`), choices are their words, tuples are
lists. A field at its default is left out, so that the file stays short and shows what was set; hence a
default may only change together with the format number (see `desk.store.migrate`).

Reading is strict: one place that is wrong makes the whole file wrong, and the error names that place.
"""

import dataclasses
import functools
import json
import math
import re
import types
import typing
from collections.abc import Callable, Hashable, Iterator
from enum import Enum
from fractions import Fraction
from pathlib import Path
from typing import Any

import msgspec

from desk import __version__
from desk.errors import FilmFileError
from desk.film.faults import Fault, faults
from desk.film.model import Film, Scene
from desk.film.rates import Rate
from desk.film.same import Same
from desk.store.folder import LIMIT_BYTES, shown
from desk.store.migrate import FORMAT, migrate

LARGEST_INT = 2**53
"""Largest whole number written or read: above it, JSON readers in other languages lose digits."""

_EXACT = re.compile(r"-?[0-9]{1,100}(/[0-9]{1,100})?")
_EXPECTED = re.compile(r"Expected `(?P<wanted>[^`]+)`(?: of length (?P<length>\d+))?, got `?(?P<got>[^`]+)`?")
_WORDS = {
    "int": "a whole number",
    "float": "a number",
    "str": "text",
    "bool": "true or false",
    "array": "a list",
    "object": "an object",
    "null": "null",
}
_CORRECT = "Correct it there."

Check = Callable[[Film], tuple[Fault, ...]]
"""Tells what is illegal in a film."""

_Place = tuple["_Place", str] | None
"""A place in the file as a chain from the inside out; made into text only when something is wrong there."""


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a film file says.

    Attributes:
        film: The film.
        unknown: Places of fields that this version does not know and has left out of `film`.
        newer: Who wrote it in a format above the one known here, or "".
        base: For a journal, the revision of the film file that its edits began from; else "".
    """

    film: Film
    unknown: tuple[str, ...] = ()
    newer: str = ""
    base: str = ""


class _Repeated(dict[str, Any]):
    """An object of a file in which a name stands more than once."""

    name = ""


@dataclasses.dataclass(frozen=True, slots=True)
class _Refused:
    """A number of a file that no field can hold, with what is to be said of it."""

    sentence: str


class _PlaceError(Exception):
    """Something is wrong at a place."""

    def __init__(self, place: str, sentence: str) -> None:
        super().__init__(place, sentence)
        self.place = place
        self.sentence = sentence


def encode(film: Film, path: Path, *, base: str = "") -> bytes:
    """Return the bytes of a film file.

    Does not promise that the film is legal; `decode` of the result says so.

    Args:
        film: The film.
        path: The file that they are for, named in errors.
        base: For a journal, the revision of the film file that its edits began from.

    Raises:
        FilmFileError: when the film holds text or numbers that a file can't hold.
    """
    tree: dict[str, Any] = {"format": FORMAT, "written_by": f"assembly-desk {__version__}"}
    if base:
        tree["base"] = base
    try:
        tree["film"] = _plain(film)
        data = msgspec.json.format(msgspec.json.encode(tree), indent=2) + b"\n"
    except (UnicodeEncodeError, OverflowError) as error:
        place = next(_unwritable(film, "film"), "film")
        raise FilmFileError(
            f"“{path}” was not written: {place} holds text or a number that a film file can't hold.",
            advice="Undo the last change, or give the file a name that is plain text.",
            code="film.unwritable",
            path=path,
            detail=str(error),
        ) from error
    if len(data) > LIMIT_BYTES:
        raise FilmFileError(
            f"“{path}” was not written: it would be larger than a film file can be ({LIMIT_BYTES >> 20} MB).",
            advice="Undo the last change, or make two films of it.",
            code="film.unwritable",
            path=path,
        )
    return data


def decode(data: bytes, path: Path, *, check: Check = faults, journal: bool = False) -> Reading:
    """Return what the bytes of a film file say.

    Args:
        data: The bytes.
        path: The file that they come from, named in errors.
        check: Tells what is illegal in a film.
        journal: Whether they are a journal's, which says where its edits began.

    Raises:
        FilmFileError: when they are not a whole, legal film; code `film.newer` when they may well be one to a
            newer version of the program.
    """
    tree = _parsed(data, path)
    try:
        number = _format_number(tree)
        newer = str(tree.get("written_by") or "") if number > FORMAT else ""
        newer = shown(newer) or ("a newer program" if number > FORMAT else "")
    except _PlaceError as error:
        raise _wrong_place(path, error) from error
    try:
        if number < FORMAT:
            tree = migrate(tree)
        return dataclasses.replace(_read(tree, check, journal), newer=newer)
    except (_PlaceError, FilmFileError) as error:
        if newer:
            raise FilmFileError(
                f"“{path}” was written by {newer} in film format {number}, and this version knows no format "
                f"above {FORMAT}.",
                advice="Open it with that version or a later one.",
                code="film.newer",
                path=path,
                detail=str(error),
            ) from error
        if isinstance(error, FilmFileError):
            raise FilmFileError(f"“{path}”: {error.message}", path=path, detail=error.detail) from error
        raise _wrong_place(path, error) from error


def _plain(value: object) -> Any:  # noqa: ANN401 - JSON is any
    kind = type(value)
    if value is None or kind is str or kind is bool:
        return value
    if kind is int or kind is float:
        if not _is_number(value):
            raise OverflowError(value)
        return value
    if kind is Fraction or kind is Rate:
        return str(value)
    if kind is tuple:
        return [_plain(item) for item in typing.cast(tuple[object, ...], value)]
    if isinstance(value, Enum):
        return value.value
    if kind is Scene:
        return _encoded(Same(typing.cast(Scene, value)))
    return _plain_fields(value)


def _plain_fields(value: object) -> dict[str, Any]:
    return {
        name: _plain(item)
        for name, default in _defaults(typing.cast(Hashable, type(value)))
        if (item := getattr(value, name)) is not default and item != default
    }


@functools.lru_cache(maxsize=1024)
def _encoded(same: Same[Scene]) -> msgspec.Raw:
    """Return the bytes of a scene, unformatted: an edit leaves most scenes as they are."""
    return msgspec.Raw(msgspec.json.encode(_plain_fields(same.value)))


@functools.cache
def _defaults(kind: type) -> tuple[tuple[str, object], ...]:
    return tuple((field.name, field.default) for field in dataclasses.fields(kind))


@functools.cache
def _kinds(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _unwritable(value: object, place: str) -> Iterator[str]:
    """Yield the places of what JSON can't hold: halves of surrogate pairs, endless and over-long numbers."""
    if isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _unwritable(item, f"{place}[{index}]")
    elif isinstance(value, str):
        if not _is_text(value):
            yield place
    elif isinstance(value, int | float):
        if not _is_number(value):
            yield place
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _unwritable(getattr(value, field.name), f"{place}.{field.name}")


def _is_number(value: object) -> bool:
    if isinstance(value, float):
        return math.isfinite(value)
    return isinstance(value, int) and abs(value) <= LARGEST_INT


def _is_text(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _parsed(data: bytes, path: Path) -> dict[str, Any]:
    """Return the object that a file holds.

    Raises:
        FilmFileError: when it is not JSON, or JSON of another kind.
    """
    try:
        # Some editors put a byte order mark first; it means nothing and is not written again.
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where = _line_and_column(data[: error.start].decode(errors="replace"))
        raise FilmFileError(
            f"“{path}” holds bytes that are not UTF-8 text at {where}.", advice=_CORRECT, path=path
        ) from error
    if not text.strip():
        raise FilmFileError(f"“{path}” is empty.", advice="Put the right file in its place.", path=path)
    try:
        tree = json.loads(
            text,
            object_pairs_hook=_object,
            parse_constant=_finite,
            parse_float=_finite,
            parse_int=_whole,
        )
    except json.JSONDecodeError as error:
        where = _line_and_column(text[: error.pos])
        what = "breaks off" if error.pos >= len(text.rstrip()) else "is not JSON"
        raise FilmFileError(
            f"“{path}” {what} at {where}.", advice=_CORRECT, path=path, detail=error.msg
        ) from error
    except RecursionError as error:
        raise FilmFileError(
            f"“{path}” is nested more deeply than a film file can be.",
            advice="Put the right file in its place.",
            path=path,
        ) from error
    if not isinstance(tree, dict) or "film" not in tree:
        raise FilmFileError(
            f"“{path}” holds JSON but no film.", advice="Put the right file in its place.", path=path
        )
    return tree


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    tree = dict(pairs)
    if len(tree) == len(pairs):
        return tree
    names = [name for name, _ in pairs]
    repeated = _Repeated(tree)
    repeated.name = next(name for name in names if names.count(name) > 1)
    return repeated


def _finite(text: str) -> object:
    value = float(text)
    return value if math.isfinite(value) else _Refused(f"holds {shown(text)}, which is no finite number")


def _whole(text: str) -> object:
    # The length first: turning a very long text into a number takes very long.
    if len(text) > 20 or abs(int(text)) > LARGEST_INT:
        return _Refused(f"holds {shown(text)}, and whole numbers end at {LARGEST_INT}")
    return int(text)


def _line_and_column(before: str) -> str:
    return f"line {before.count(chr(10)) + 1}, column {len(before) - before.rfind(chr(10))}"


def _format_number(tree: dict[str, Any]) -> int:
    if isinstance(tree, _Repeated):
        raise _PlaceError(shown(tree.name), "stands twice")
    number = tree.get("format")
    if type(number) is not int or number < 1:
        raise _PlaceError("format", "must be a whole number from 1")
    return number


def _read(tree: dict[str, Any], check: Check, journal: bool) -> Reading:
    """Return what a tree in the present format, or one tried as if it were, says."""
    words = ("written_by", "base") if journal else ("written_by",)
    unknown = [shown(name) for name in tree if name not in ("format", "film", *words)]
    for name in words:
        if not isinstance(tree.get(name, ""), str):
            raise _PlaceError(name, "must be text")
    ready = _prepared(tree["film"], Film, (None, "film"), unknown)
    try:
        film = msgspec.convert(ready, Film)
    except msgspec.ValidationError as error:
        raise _translated(str(error)) from error
    found = check(film)
    if found:
        more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
        raise _PlaceError(f"film.{found[0].place}{more}:", shown(found[0].sentence, most=400))
    return Reading(film=film, unknown=tuple(unknown), base=tree.get("base", "") if journal else "")


def _prepared(tree: Any, kind: Any, place: _Place, unknown: list[str]) -> Any:  # noqa: ANN401 - JSON is any
    """Return a tree with exact values for their texts, without unknown fields; the places of those are noted.

    A value of another type than the model's passes as it is: the conversion that follows says what is wrong.
    """
    if isinstance(kind, types.UnionType):
        if tree is None:
            return None
        kind = next(item for item in typing.get_args(kind) if item is not types.NoneType)
    if isinstance(tree, _Refused):
        raise _PlaceError(_said(place), tree.sentence)
    if (kind is Rate or kind is Fraction) and not isinstance(tree, str):
        raise _PlaceError(_said(place), "must be a fraction written as text, such as “30000/1001”")
    if isinstance(tree, list):
        if typing.get_origin(kind) is not tuple:
            return tree
        # A tuple of fixed length holds plain numbers; all others hold one kind.
        inner = typing.get_args(kind)[0]
        return [_prepared(item, inner, (place, f"[{index}]"), unknown) for index, item in enumerate(tree)]
    if isinstance(tree, str):
        return _text(tree, kind, place)
    if isinstance(tree, dict) and dataclasses.is_dataclass(kind):
        if isinstance(tree, _Repeated):
            raise _PlaceError(_said((place, f".{shown(tree.name)}")), "stands twice")
        kinds = _kinds(typing.cast(type, kind))
        ready = {}
        for name, item in tree.items():
            inside = (place, f".{name}")
            if name in kinds:
                ready[name] = _prepared(item, kinds[name], inside, unknown)
            else:
                unknown.append(_said((place, f".{shown(name)}")))
        return ready
    return tree


def _text(text: str, kind: Any, place: _Place) -> object:  # noqa: ANN401 - a type of the model
    if not _is_text(text):
        raise _PlaceError(_said(place), "holds half of a surrogate pair, which is no text")
    if kind is str:
        return text
    if kind is Rate or kind is Fraction:
        try:
            # The look first: Fraction takes exponents, and "1e999999999" would fill the memory.
            value = Fraction(text if _EXACT.fullmatch(text) else "")
            return Rate.of(value) if kind is Rate else value
        except (ValueError, ZeroDivisionError) as error:
            wanted = "a frame rate such as “30000/1001”" if kind is Rate else "a fraction such as “7/2”"
            raise _PlaceError(_said(place), f"must be {wanted}, not “{shown(text)}”") from error
    if isinstance(kind, type) and issubclass(kind, Enum) and text not in [item.value for item in kind]:
        allowed = ", ".join(f"“{item.value}”" for item in kind)
        raise _PlaceError(_said(place), f"must be one of {allowed}, not “{shown(text)}”")
    return text


def _said(place: _Place) -> str:
    parts = []
    while place:
        place, part = place
        parts.append(part)
    return "".join(reversed(parts))


def _translated(message: str) -> _PlaceError:
    """Return msgspec's finding in the words of this program."""
    finding, _, where = message.partition(" - at `$")
    place = "film" + where.rstrip("`")
    if match := _EXPECTED.fullmatch(finding):
        wanted = " or ".join(_WORDS.get(word, word) for word in match["wanted"].split(" | "))
        if match["length"]:
            return _PlaceError(place, f"must be a list of {match['length']}, not of {match['got']}")
        got = "a decimal number" if match["got"] == "float" else _WORDS.get(match["got"], match["got"])
        return _PlaceError(place, f"must be {wanted}, not {got}")
    if match := re.fullmatch(r"Object missing required field `(\w+)`", finding):
        return _PlaceError(f"{place}.{match[1]}", "is missing")
    return _PlaceError(place, f"is wrong: {finding[:1].lower()}{finding[1:]}")


def _wrong_place(path: Path, error: _PlaceError) -> FilmFileError:
    sentence = error.sentence.rstrip(".")
    return FilmFileError(f"In “{path}”, {error.place} {sentence}.", advice=_CORRECT, path=path)
