"""Files written whole or not at all."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import IO


def written_whole(path: Path, write: Callable[[IO[bytes]], None]) -> None:
    """Let `write` fill a file beside `path`, flush it to the disk and move it into place."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
