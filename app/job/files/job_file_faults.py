"""Why a job file cannot be opened."""

from pathlib import Path


class JobFileError(Exception):
    """A job file cannot be opened.

    Attributes
    ----------
    path : Path
    """

    def __init__(self, path: Path, message: str) -> None:
        self.path = path
        super().__init__(message)


class NotAJobFileError(JobFileError):
    """The file is something else, or nothing of it is left."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, f"{path} is not a job file")


class BrokenJobFileError(JobFileError):
    """The file is a job file, but what it holds cannot be trusted.

    Attributes
    ----------
    reason : str
    """

    def __init__(self, path: Path, reason: str) -> None:
        self.reason = reason
        super().__init__(path, f"{path}: {reason}")


class NewerJobFileError(JobFileError):
    """The file was written by a later version.

    Attributes
    ----------
    schema : int
    """

    def __init__(self, path: Path, schema: int) -> None:
        self.schema = schema
        super().__init__(path, f"{path} has schema {schema}, newer than is known")
