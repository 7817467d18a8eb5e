"""How the files of each panel start."""

from collections.abc import Sequence

from app.exports import file_stem


def panel_stems(names: Sequence[str]) -> list[str]:
    """Return how each panel's files start, no two alike.

    >>> panel_stems(["left side", "Left side", "top"])
    ['left side', 'Left side 2', 'top']
    """
    stems: list[str] = []
    taken: set[str] = set()
    for name in names:
        stem, number = file_stem(name), 2
        while stem.casefold() in taken:
            stem, number = f"{file_stem(name)} {number}", number + 1
        stems.append(stem)
        taken.add(stem.casefold())
    return stems
