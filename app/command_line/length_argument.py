"""A length as an option takes it."""

import argparse
import re

from app.units import NotALengthError, length_text, parse_length

_LONGEST_MM = 5000.0


def length_argument(words: str) -> float:
    """Return a length in mm.

    >>> length_argument("75mm"), length_argument("1/2in")
    (75.0, 12.7)
    """
    try:
        length_mm = parse_length(words)
    except NotALengthError as error:
        raise argparse.ArgumentTypeError(f'"{words}" is not a length: {error.reason}') from None
    if not length_mm <= _LONGEST_MM:
        most = length_text(_LONGEST_MM)
        raise argparse.ArgumentTypeError(f'"{words}" is more than {most}')
    return length_mm


def length_with_unit(words: str, what: str) -> float:
    """Return a length in mm, refused without its unit; `what` names it."""
    if not re.search(r"[a-z#\"'\u2032\u2033]", words.lower()):
        raise argparse.ArgumentTypeError(f'{what} "{words}" needs its unit, as 1.6mm or 1/16in')
    try:
        return parse_length(words)
    except NotALengthError as error:
        raise argparse.ArgumentTypeError(
            f'{what} "{words}" cannot be read: {error.reason}'
        ) from None
