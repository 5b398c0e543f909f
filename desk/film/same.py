"""A frozen value as a key of a cache."""

from typing import Generic, TypeVar

_Value = TypeVar("_Value")


class Same(Generic[_Value]):
    """A frozen value as a key that is itself alone, since comparing two would take longer than the work."""

    __slots__ = ("value",)

    def __init__(self, value: _Value) -> None:
        self.value = value

    def __hash__(self) -> int:
        return id(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.value is other.value
