"""The root of every error the shaper can act on; its kinds live in the folders that raise them."""

from typing import Any


class GeometryError(Exception):
    """Something in the input that the shaper can mend; subclasses carry where and how much.

    They travel between processes with all they carry, whatever their `__init__` asks for.
    """

    def __reduce__(self) -> tuple[Any, ...]:
        return _brought_back, (type(self), self.args, dict(self.__dict__))


def _brought_back(
    kind: type[GeometryError], args: tuple[Any, ...], fields: dict[str, Any]
) -> GeometryError:
    """Return an error as it was raised, without asking its `__init__` again."""
    error = kind.__new__(kind)
    error.args = args
    error.__dict__.update(fields)
    return error
