"""`Kept`: what was made from the same objects is the same object."""

from collections.abc import Callable
from typing import Any


class Kept:
    """Remembers the last thing made under each name, and what it was made from."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[tuple[Any, ...], Any]] = {}

    def of(self, name: str, key: tuple[Any, ...], make: Callable[..., Any]) -> Any:
        """Return what `make` makes of a key, made anew only when the key changed.

        Objects count by identity, numbers and words by value.
        """
        known = self._kept.get(name)
        if known is None or not same_key(known[0], key):
            known = (key, make(*key))
            self._kept[name] = known
        return known[1]


def same_key(one: tuple[Any, ...], other: tuple[Any, ...]) -> bool:
    """Return whether two keys are the same: objects by identity, numbers and words by value.

    >>> same_key((1.5, "a"), (1.5, "a")), same_key(([],), ([],))
    (True, False)
    """
    return len(one) == len(other) and all(
        a is b or (isinstance(a, float | int | str) and a == b)
        for a, b in zip(one, other, strict=True)
    )
