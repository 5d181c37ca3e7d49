"""A value told from others by being that very object: for what is too large to compare."""

from typing import Generic, TypeVar

T = TypeVar("T")


class Same(Generic[T]):
    """Stands for a value as the key of what is known about it."""

    __slots__ = ("value",)

    def __init__(self, value: T) -> None:
        self.value = value

    def __hash__(self) -> int:
        return id(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.value is other.value
