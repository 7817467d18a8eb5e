"""The job board: every job file of a folder, its next step and what of it was printed.

Nothing is kept that is not in the files, and of a file only its decisions are read, so that a
board of many tanks with large scans comes up at once.
"""

from dataclasses import dataclass
from pathlib import Path

from app.job.choices import Print, next_step_words
from app.job.edits import is_print_current, superseded
from app.job.files import SUFFIX, JobFileError, read_decisions


@dataclass(frozen=True)
class BoardRow:
    """One job file on the board.

    Attributes
    ----------
    path : Path
    name, model : str
        Of the job; the file's name where it cannot be read.
    next_step : str
        Of the job card, in a phrase.
    latest : Print or None
        The last revision printed.
    superseded : tuple of Print
        Older ones: to be thrown away wherever they lie.
    has_changed : bool
        Whether what would be printed now differs from the last print.
    trouble : Exception or None
        Why the file cannot be read.
    """

    path: Path
    name: str
    model: str = ""
    next_step: str = ""
    latest: Print | None = None
    superseded: tuple[Print, ...] = ()
    has_changed: bool = False
    trouble: Exception | None = None

    @property
    def print_words(self) -> str:
        """Return what was printed and what it is worth now, in a phrase.

        >>> prints = Print(2, "2026-11-20", "a"), Print(3, "2026-11-26", "b")
        >>> BoardRow(Path("a"), "a", latest=prints[1], superseded=prints[:1]).print_words
        'rev 3 of 2026-11-26; rev 2 is superseded: throw it away'
        >>> BoardRow(Path("a"), "a", latest=prints[0], has_changed=True).print_words
        'rev 2 of 2026-11-20, changed since: print it again'
        """
        if self.latest is None:
            return "" if self.trouble else "not printed"
        said = f"rev {self.latest.revision} of {self.latest.dated}"
        if self.has_changed:
            said += ", changed since: print it again"
        old = [str(each.revision) for each in self.superseded]
        if len(old) == 1:
            said += f"; rev {old[0]} is superseded: throw it away"
        elif old:
            said += f"; rev {', '.join(old[:-1])} and {old[-1]} are superseded: throw them away"
        return said


def board(folder: Path) -> tuple[BoardRow, ...]:
    """Return every job file of a folder by name; one that cannot be read tells why in its row.

    Raises
    ------
    OSError
        The folder itself cannot be read.
    """
    paths = [path for path in folder.iterdir() if path.suffix.lower() == SUFFIX]
    return tuple(_row(path) for path in sorted(paths, key=lambda p: (p.name.casefold(), p.name)))


def _row(path: Path) -> BoardRow:
    try:
        state, decided = read_decisions(path)
    except (JobFileError, OSError) as error:
        return BoardRow(path, path.stem, trouble=error)
    latest = state.prints[-1] if state.prints else None
    return BoardRow(
        path,
        state.name,
        state.model,
        next_step_words(state.card),
        latest,
        superseded(state),
        latest is not None and not is_print_current(state, decided),
    )
