"""Why a file cannot be read as a scan: one class for each thing the shaper would do differently."""

from pathlib import Path

from geometry.errors import GeometryError


class UnreadableScanError(GeometryError):
    """A file that cannot be taken as a scan.

    Attributes
    ----------
    path : Path
        The file.
    """

    def __init__(self, path: Path, message: str) -> None:
        self.path = path
        super().__init__(f"{path.name}: {message}")


class MissingFileError(UnreadableScanError):
    """There is no such file."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "no such file")


class NotAFileError(UnreadableScanError):
    """The name is that of a folder, or of something else that is not a file."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "a folder, not a file")


class NoPermissionError(UnreadableScanError):
    """The file may not be opened."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "not allowed to open it")


class DiskError(UnreadableScanError):
    """The disk or network gave up while the file was read.

    Attributes
    ----------
    reason : str
        What the system said.
    """

    def __init__(self, path: Path, reason: str) -> None:
        self.reason = reason
        super().__init__(path, f"could not be read: {reason}")


class EmptyFileError(UnreadableScanError):
    """The file holds not one byte."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "the file is empty")


class UnknownKindError(UnreadableScanError):
    """The name does not end like a scan that can be read.

    Attributes
    ----------
    suffix : str
        How it ends, lower case, with its dot; may be empty.
    known : tuple of str
        The endings that can be read.
    """

    def __init__(self, path: Path, suffix: str, known: tuple[str, ...]) -> None:
        self.suffix, self.known = suffix, known
        super().__init__(path, f"cannot read '{suffix}', only {', '.join(known)}")


class WrongContentError(UnreadableScanError):
    """What is inside is not what the name says.

    Attributes
    ----------
    expected : str
        What the name promises, such as "STL".
    found : str
        What is there, in a phrase.
    """

    def __init__(self, path: Path, expected: str, found: str) -> None:
        self.expected, self.found = expected, found
        super().__init__(path, f"named as {expected}, but {found}")


class TruncatedScanError(UnreadableScanError):
    """The file holds fewer, or more, things than it says it does.

    Attributes
    ----------
    declared : int
        How many it says.
    found : int
        How many whole ones fit in its size.
    thing : str
        What is counted: "triangles", "vertices", "faces".
    """

    def __init__(self, path: Path, declared: int, found: int, thing: str = "triangles") -> None:
        self.declared, self.found, self.thing = declared, found, thing
        super().__init__(path, f"declares {declared} {thing}, holds {found}")


class BadLineError(UnreadableScanError):
    """A line of a text file that cannot be understood.

    Attributes
    ----------
    line : int
        Its number, from 1.
    text : str
        Its beginning.
    """

    def __init__(self, path: Path, line: int, text: str) -> None:
        self.line, self.text = line, text
        super().__init__(path, f"line {line} cannot be understood: {text}")


class DecimalCommaError(BadLineError):
    """A line that writes numbers with a decimal comma."""


class NotFiniteScanError(UnreadableScanError):
    """Coordinates that are not numbers, or endless.

    Attributes
    ----------
    count : int
        How many vertices have one.
    """

    def __init__(self, path: Path, count: int) -> None:
        self.count = count
        super().__init__(path, f"{count} vertices are not finite numbers")


class OutsizeScanError(UnreadableScanError):
    """Coordinates too large to be a scan in any unit.

    Attributes
    ----------
    largest : float
        The largest coordinate, without its sign.
    count : int
        How many vertices lie beyond the limit.
    """

    def __init__(self, path: Path, largest: float, count: int) -> None:
        self.largest, self.count = largest, count
        super().__init__(path, f"coordinates as large as {largest:g}, at {count} vertices")


class BadIndexError(UnreadableScanError):
    """Faces that name a vertex which is not in the file.

    Attributes
    ----------
    count : int
        How many faces do.
    vertices : int
        How many vertices the file has.
    """

    def __init__(self, path: Path, count: int, vertices: int) -> None:
        self.count, self.vertices = count, vertices
        super().__init__(path, f"{count} faces name a vertex beyond the file's {vertices}")


class PointsOnlyError(UnreadableScanError):
    """The file holds points that are not joined to a surface.

    Attributes
    ----------
    points : int
        How many.
    """

    def __init__(self, path: Path, points: int) -> None:
        self.points = points
        super().__init__(path, f"{points} points and no faces")


class NoSurfaceError(UnreadableScanError):
    """The file is well formed and holds no triangle with an area."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "no triangles in it")
