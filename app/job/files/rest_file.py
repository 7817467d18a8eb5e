"""The files that say what a tank has besides its panels, in the maker's own unit and in degrees."""

from pathlib import Path

from app.job.choices import RestOfTank
from app.job.files.written_file import read_written
from geometry.tank import TunnelSpec


def read_rest(path: Path) -> RestOfTank:
    """Return what a file decides besides the panels; what it does not name is not begun.

    Raises
    ------
    OSError
    BadFileError
    """
    return read_written(path, RestOfTank, "a file of the rest of a tank")


def read_tunnel(path: Path) -> TunnelSpec:
    """Return what a file says of a tunnel; what it leaves out is as usual.

    Raises
    ------
    OSError
    BadFileError
    """
    return read_written(path, TunnelSpec, "a file of a tunnel")
