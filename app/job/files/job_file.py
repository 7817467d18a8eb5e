"""The job file: a zip of `job.json` and plain `.npy` arrays.

Decisions and the scan are kept; results are not: they are made again, and come out the same.
"""

import errno
import json
import re
import struct
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

import numpy as np

from app.job.choices import JobState, ScanFile
from app.job.files import strict_json as strict
from app.job.files.decisions_json import decisions, job_decided, migrated
from app.job.files.job_file_faults import BrokenJobFileError, NotAJobFileError
from app.job.files.strict_json import BadFieldError
from app.job.files.whole_file import written_whole
from geometry.progress import Report, silent
from geometry.scan import MM_PER_UNIT, RawScan, read_scan

SUFFIX = ".lowcrown"

LARGEST_JSON = 32 * 2**20

LARGEST_ARRAY = 4 * 2**30

ALWAYS = (1980, 1, 1, 0, 0, 0)
"""The date of every entry, so that the same job is the same bytes."""

DAMAGE = (
    zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, ValueError, struct.error,
)  # fmt: skip
"""What reading the entries of a damaged zip raises."""

ARRAY_MAGIC = b"\x93NUMPY\x01\x00"

ARRAY_HEADER = re.compile(
    rb"\{'descr': '<(?P<kind>[fi])(?P<bytes>[48])', 'fortran_order': False, "
    rb"'shape': \((?P<rows>\d{1,12}), 3\), \} *\n"
)
"""The one way an array's header is written here: nothing else is read, nothing is evaluated."""


def read_scan_file(path: Path, *, report: Report = silent) -> ScanFile:
    """Return a scan read from disk, with the hash of its bytes; the file is only read."""
    raw = read_scan(path, report=report)
    digest = sha256()
    with path.open("rb") as file:
        while block := file.read(2**20):
            digest.update(block)
    return ScanFile(path.name, digest.hexdigest(), raw)


def save_job(state: JobState, path: Path) -> None:
    """Write a job: beside, flushed, then moved over what was there."""
    written_whole(path, lambda file: _write(state, file))


def _write(state: JobState, file: IO[bytes]) -> None:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        text = json.dumps(decisions(state), indent=1, ensure_ascii=False).encode()
        archive.writestr(zipfile.ZipInfo("job.json", ALWAYS), text)
        for folder, scan in (("scan", state.scan), ("frame_scan", state.frame_scan)):
            if scan is not None:
                _write_scan(archive, folder, scan.raw)


def _write_scan(archive: zipfile.ZipFile, folder: str, raw: RawScan) -> None:
    for name, array in (("vertices", raw.vertices), ("faces", raw.faces)):
        entry = zipfile.ZipInfo(f"{folder}/{name}.npy", ALWAYS)
        with archive.open(entry, "w", force_zip64=True) as out:
            np.lib.format.write_array(out, _plain(array), allow_pickle=False)


def _plain(array: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Return the same numbers, in the same precision, as `ARRAY_HEADER` tells."""
    kind, size = array.dtype.kind, array.dtype.itemsize
    return np.ascontiguousarray(array, f"<{'f' if kind == 'f' else 'i'}{8 if size > 4 else 4}")


def open_job(path: Path) -> JobState:
    """Return the job kept in a file, all of it checked before it is trusted.

    Raises
    ------
    OSError
        The file cannot be read at all.
    NotAJobFileError, BrokenJobFileError, NewerJobFileError
    """
    with _trusted(path) as archive:
        found = _decisions_in(archive, path)
        return _with_scans(job_decided(found), found, archive)


def read_decisions(path: Path) -> tuple[JobState, dict[str, Any]]:
    """Return the job kept in a file without its scan, quickly, and its decisions as plain values.

    Raises
    ------
    OSError, NotAJobFileError, BrokenJobFileError, NewerJobFileError
    """
    with _trusted(path) as archive:
        found = _decisions_in(archive, path)
        return job_decided(found), found


@contextmanager
def _trusted(path: Path) -> Iterator[zipfile.ZipFile]:
    """Open a job file; whatever is wrong with it comes out as one of its errors."""
    with path.open("rb") as file:
        if not zipfile.is_zipfile(file):
            raise NotAJobFileError(path)
        try:
            with zipfile.ZipFile(file) as archive:
                _check_entries(archive, path)
                yield archive
        except BadFieldError as error:
            raise BrokenJobFileError(path, str(error)) from error
        except DAMAGE as error:
            raise BrokenJobFileError(path, "part of it is damaged") from error
        except OSError as error:
            if error.errno != errno.EINVAL:  # a place that cannot be in any file
                raise
            raise BrokenJobFileError(path, "part of it is damaged") from error


def _check_entries(archive: zipfile.ZipFile, path: Path) -> None:
    """Refuse names that lead outside, and packed entries: a small file could hold gigabytes."""
    for entry in archive.infolist():
        if entry.compress_type != zipfile.ZIP_STORED:
            raise BrokenJobFileError(path, "an entry is packed, as no job file is written")
        parts = entry.filename.replace("\\", "/").split("/")
        if entry.filename.startswith(("/", "\\")) or ".." in parts or ":" in entry.filename:
            raise BrokenJobFileError(path, "an entry's name leads outside the file")


def _decisions_in(archive: zipfile.ZipFile, path: Path) -> dict[str, Any]:
    if "job.json" not in archive.namelist():
        raise NotAJobFileError(path)
    if archive.getinfo("job.json").file_size > LARGEST_JSON:
        raise BrokenJobFileError(path, "its list of decisions is too large to be one")
    return migrated(strict.parsed(archive.read("job.json")), path)


def _with_scans(state: JobState, found: dict[str, Any], archive: zipfile.ZipFile) -> JobState:
    scan, frame = (_scan_in(found[name], archive, name) for name in ("scan", "frame_scan"))
    if scan is None and frame is None:
        return state
    return replace(state, scan=scan, frame_scan=frame)


def _scan_in(facts: Any, archive: zipfile.ZipFile, folder: str) -> ScanFile | None:
    """Return a scan kept in a job file: its arrays stand in a folder of their own."""
    if facts is None:
        return None
    scan = strict.fields(facts, folder, ["file_name", "sha256", "kind", "remarks"], ["unit"])
    vertices = _array(archive, f"{folder}/vertices.npy", "f")
    faces = _array(archive, f"{folder}/faces.npy", "i")
    if len(faces) and not (faces.min() >= 0 and faces.max() < len(vertices)):
        raise BadFieldError(f"{folder}/faces.npy", "names a vertex which is not there")
    if not np.isfinite(vertices).all():
        raise BadFieldError(f"{folder}/vertices.npy", "holds numbers that are not finite")
    file_name = strict.text(scan["file_name"], f"{folder}.file_name")
    raw = RawScan(
        vertices,
        faces,
        strict.text(scan["kind"], f"{folder}.kind"),
        strict.items(scan["remarks"], f"{folder}.remarks", strict.text),
        Path(file_name),
        strict.one_of(scan.get("unit"), f"{folder}.unit", [*MM_PER_UNIT, None]),
    )
    return ScanFile(file_name, strict.text(scan["sha256"], f"{folder}.sha256"), raw)


def _array(archive: zipfile.ZipFile, name: str, kind: str) -> np.ndarray[Any, Any]:
    """Return an (n, 3) array; its header is checked against its entry before it is unpacked."""
    try:
        entry = archive.getinfo(name)
    except KeyError:
        raise BadFieldError(name, "is missing") from None
    if entry.file_size > LARGEST_ARRAY:
        raise BadFieldError(name, "is too large")
    with archive.open(entry) as file:
        start = file.read(len(ARRAY_MAGIC) + 2)
        header = file.read(int.from_bytes(start[-2:], "little"))
        told = ARRAY_HEADER.fullmatch(header)
        if not start.startswith(ARRAY_MAGIC) or told is None or told["kind"] != kind.encode():
            raise BadFieldError(name, "is not a plain array of three numbers a row")
        dtype = np.dtype((b"<" + told["kind"] + told["bytes"]).decode())
        rows = int(told["rows"])
        if len(start) + len(header) + rows * 3 * dtype.itemsize != entry.file_size:
            raise BadFieldError(name, "is not as long as it says")
        data = file.read()
    if len(data) != rows * 3 * dtype.itemsize:
        raise BadFieldError(name, "is not as long as it says")
    return np.frombuffer(data, dtype).reshape(rows, 3)
