"""A fingerprint of a value of the film, which stays when a later version adds fields."""

import dataclasses
import hashlib
import json
from enum import Enum
from fractions import Fraction
from typing import Any

from desk.film.rates import Rate


def fingerprint(value: object) -> str:
    """Return 32 hex digits that change when anything in a frozen value of the film changes.

    A field at its default is left out, so that a field added later, at its default, changes no fingerprint.

    Args:
        value: A dataclass, or a tuple, list or dict of plain values and dataclasses.
    """
    text = json.dumps(
        canonical(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def canonical(value: object) -> Any:  # noqa: ANN401 - JSON is any
    """Return plain JSON values for a value of the film.

    Raises:
        TypeError: for a value that has no such form.
    """
    match value:
        case Enum():
            return value.value
        case None | bool() | int() | str():
            return value
        case float():
            # A whole number comes back from a file as 3.0 where 3 was given: both are the same value.
            return int(value) if value.is_integer() else repr(value)
        case Fraction() | Rate():
            return str(value)
        case tuple() | list():
            return [canonical(item) for item in value]
        case dict():
            return {str(key): canonical(item) for key, item in value.items()}
    if dataclasses.is_dataclass(value):
        return {
            field.name: canonical(item)
            for field in dataclasses.fields(value)
            if (item := getattr(value, field.name)) != field.default or field.default is dataclasses.MISSING
        }
    raise TypeError(f"no fingerprint of {type(value).__name__}")
