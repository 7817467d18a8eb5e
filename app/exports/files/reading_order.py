"""Words whose letters run from right to left, in the order a line of print needs them."""

import unicodedata

_MIRRORED = str.maketrans("()[]{}<>\u00ab\u00bb", ")(][}{><\u00bb\u00ab")
_NUMBER = frozenset({"EN", "AN", "ES", "ET", "CS"})


def printed_order(text: str) -> str:
    r"""Return text as it stands on the line from left to right, for writers that only set signs.

    Runs from the first to the last letter that is written from right to left are turned round,
    figures within them back again, brackets exchanged. The line as a whole runs to the right.
    Own, plain part of the rules for mixed writing; letters are not joined.

    >>> printed_order("tank \u05d0\u05d1\u05d2 7") == "tank \u05d2\u05d1\u05d0 7"
    True
    >>> printed_order("\u05d0\u05d1 12 (\u05d2\u05d3) end") == "(\u05d3\u05d2) 12 \u05d1\u05d0 end"
    True
    """
    kinds = [unicodedata.bidirectional(sign) for sign in text]
    leftward = [index for index, kind in enumerate(kinds) if kind in {"R", "AL"}]
    if not leftward:
        return text
    parts, done = [], 0
    for first, end in _runs(kinds, leftward):
        last = _with_bracket(text, first, end)
        parts += [text[done:first], _turned(text[first : last + 1])]
        done = last + 1
    return "".join([*parts, text[done:]])


def _runs(kinds: list[str], leftward: list[int]) -> list[tuple[int, int]]:
    """Return first and last of each run of letters to the left, none to the right between."""
    runs = [(leftward[0], leftward[0])]
    for index in leftward[1:]:
        first, last = runs[-1]
        if "L" in kinds[last:index]:
            runs.append((index, index))
        else:
            runs[-1] = (first, index)
    return runs


def _with_bracket(text: str, first: int, last: int) -> int:
    """Return the last of a run, the bracket right after it among it if it opens within."""
    after = text[last + 1 : last + 2]
    pairs = dict(zip(")]}>\u00bb", "([{<\u00ab", strict=True))
    if after in pairs and after:
        run = text[first : last + 1]
        if run.count(pairs[after]) > run.count(after):
            return last + 1
    return last


def _turned(run: str) -> str:
    """Return a run turned round, its figures as they were."""
    parts: list[str] = []
    number = ""
    for sign in reversed(run.translate(_MIRRORED)):
        if unicodedata.bidirectional(sign) in _NUMBER:
            number = sign + number
        else:
            parts += [number, sign]
            number = ""
    return "".join([*parts, number])
