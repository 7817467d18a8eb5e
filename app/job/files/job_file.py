"""The job file: a zip of `job.json` and plain `.npy` arrays; its side file, kept until all is safe.

Decisions and the scan are kept; results are not: they are made again, and come out the same.
"""

import errno
import io
import json
import os
import re
import struct
import sys
import tempfile
import uuid
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

import numpy as np

from app.job.choices import (
    BlankChoice,
    BreakUp,
    Directions,
    JobState,
    MetalChoice,
    RestOfTank,
    ScanFile,
    SizeChoice,
)
from app.job.files import strict_json as strict
from app.job.files.choices_json import (
    allowance,
    choices_facts,
    datum_choice,
    line_choice,
    optional,
    sides_choice,
    tidy_choice,
)
from app.job.files.paper_json import paper_choices, paper_facts
from app.job.files.plain_json import facts_of, value_of
from app.job.files.seams_json import (
    break_up,
    breakup_facts,
    check_twins,
    note_facts,
    panel_name,
    seam_facts,
    seam_line,
    seam_note,
)
from app.job.files.strict_json import BadFieldError
from geometry.blank import Work, WorkChoiceError
from geometry.datum import TAPE_KINDS, Tape
from geometry.progress import Report, silent
from geometry.scan import MM_PER_UNIT, RawScan, read_scan

SCHEMA = 8
"""Number of the file's own schema. A newer one is refused; older ones go through `MIGRATIONS`."""


def _with_exact(found: dict[str, Any]) -> dict[str, Any]:
    """Add whether the numbers of a work were set by hand: no file of schema 1 says so."""
    blanks = found.get("blanks")
    if isinstance(blanks, list):
        blanks = [
            {**blank, "exact": False} if isinstance(blank, dict) else blank for blank in blanks
        ]
    return {**found, "exact": False, "blanks": blanks}


def _with_choices(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is decided between scan and seams: as every file of schema 2 was made."""
    return {**found, **kept_values(choices_facts(JobState()))}


def _with_paper(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is decided for paper: as every file of schema 3 was printed, nothing on record."""
    return {**found, **kept_values(paper_facts(JobState()))}


def _with_bends(found: dict[str, Any]) -> dict[str, Any]:
    """Add the radius a metal of the maker's own is bent over: no file of schema 4 kept one."""
    metal = found.get("metal")
    return (
        {**found, "metal": {**metal, "bend_radius_mm": None}} if isinstance(metal, dict) else found
    )


def _with_seam_notes(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is said of seams and the break-ups kept: no file of schema 5 has any."""
    return {**found, "seam_notes": [], "breakups": []}


def _with_rest(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is decided besides the panels: in no file of schema 6 is anything."""
    return {**found, "rest": {}}


def _with_frame_scan(found: dict[str, Any]) -> dict[str, Any]:
    """Add the second scan: no file of schema 7 keeps one."""
    return {**found, "frame_scan": None}


MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {
    1: _with_exact,
    2: _with_choices,
    3: _with_paper,
    4: _with_bends,
    5: _with_seam_notes,
    6: _with_rest,
    7: _with_frame_scan,
}
"""From schema k to schema k + 1, one function each."""

_TAPE_FIELDS = ("start", "end", "length_mm", "over")
_LAID_FIELDS = ("kind", "points", "towards")
"""Of a tape round the tank, or along it through many points."""

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
        super().__init__(path, f"{path} has schema {schema}, newer than {SCHEMA}")


# ---- the customer's scan


def read_scan_file(path: Path, *, report: Report = silent) -> ScanFile:
    """Return a scan read from disk, with the hash of its bytes; the file is only read."""
    raw = read_scan(path, report=report)
    digest = sha256()
    with path.open("rb") as file:
        while block := file.read(2**20):
            digest.update(block)
    return ScanFile(path.name, digest.hexdigest(), raw)


# ---- writing


def save_job(state: JobState, path: Path) -> None:
    """Write a job: beside, flushed, then moved over what was there."""
    written_whole(path, lambda file: _write(state, file))


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


def decisions(state: JobState) -> dict[str, Any]:
    """Return everything decided in a job as plain JSON values, schema number first."""
    found = {
        "schema": SCHEMA,
        "name": state.name,
        "scan": _scan_facts(state.scan),
        "frame_scan": _scan_facts(state.frame_scan),
        "unit": state.size.unit,
        "rescale": state.size.rescale,
        "tapes": [_tape_facts(tape) for tape in state.size.tapes],
        **choices_facts(state),
        "metal": vars(state.metal),
        "front": state.directions.front,
        "top": state.directions.top,
        "seams": [seam_facts(seam) for seam in state.seams],
        "panels": [vars(name) for name in state.panel_names],
        "seam_notes": [note_facts(note) for note in state.seam_notes],
        "breakups": [breakup_facts(each) for each in state.breakups],
        "work": vars(state.work),
        "exact": state.exact,
        "blanks": [
            {"panel": c.panel, "work": vars(c.work), "exact": c.exact} for c in state.blank_choices
        ],
        "marked_face": state.marked_face,
        "trim_mm": state.trim_mm,
        "revision": state.revision,
        **paper_facts(state),
        "rest": facts_of(state.rest),
    }
    kept: dict[str, Any] = kept_values(found)
    return kept


def _scan_facts(scan: ScanFile | None) -> dict[str, Any] | None:
    if scan is None:
        return None
    return {
        "file_name": scan.file_name,
        "sha256": scan.sha256,
        "kind": scan.raw.kind,
        "remarks": list(scan.raw.remarks),
        "unit": scan.raw.unit,
    }


def kept_values(value: Any) -> Any:
    """Return JSON values with every text such that it is taken again when read."""
    if isinstance(value, str):
        return strict.keepable(value)
    if isinstance(value, dict):
        return {name: kept_values(item) for name, item in value.items()}
    return [kept_values(item) for item in value] if isinstance(value, list | tuple) else value


# ---- reading


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
        return _with_scans(_state(found), found, archive)


def read_decisions(path: Path) -> tuple[JobState, dict[str, Any]]:
    """Return the job kept in a file without its scan, quickly, and its decisions as plain values.

    Raises
    ------
    OSError, NotAJobFileError, BrokenJobFileError, NewerJobFileError
    """
    with _trusted(path) as archive:
        found = _decisions_in(archive, path)
        return _state(found), found


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
    return _migrated(strict.parsed(archive.read("job.json")), path)


def _migrated(value: Any, path: Path) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise BadFieldError("job.json", "is not an object with fields in braces { }")
    found: dict[str, Any] = value
    schema = strict.whole(found.get("schema"), "schema")
    if schema > SCHEMA:
        raise NewerJobFileError(path, schema)
    while schema < SCHEMA:
        if schema not in MIGRATIONS:
            raise BadFieldError("schema", f"is {schema}, which was never written")
        found = dict(MIGRATIONS[schema](found))
        schema += 1
    return found


def _state(found: dict[str, Any]) -> JobState:
    """Return the job without its scan from checked JSON fields."""
    needed = list(decisions(JobState()))
    strict.fields(found, "", needed)
    units = [*MM_PER_UNIT, None]
    return JobState(
        name=strict.text(found["name"], "name"),
        size=SizeChoice(
            strict.one_of(found["unit"], "unit", units),
            strict.items(found["tapes"], "tapes", _tape),
            strict.flag(found["rescale"], "rescale"),
            allowance(found["allowed"]),
        ),
        tidy=tidy_choice(found["tidy"]),
        datum=datum_choice(found["datum"]),
        sides=sides_choice(found["sides"]),
        lines=strict.items(found["lines"], "lines", line_choice),
        find_lines=strict.flag(found["find_lines"], "find_lines"),
        metal=_metal(found["metal"]),
        directions=Directions(
            optional(found["front"], "front", strict.direction),
            optional(found["top"], "top", strict.direction),
        ),
        seams=strict.items(found["seams"], "seams", seam_line),
        panel_names=strict.items(found["panels"], "panels", panel_name),
        seam_notes=strict.items(found["seam_notes"], "seam_notes", seam_note),
        breakups=_breakups(found["breakups"]),
        work=_work(found["work"], "work"),
        exact=strict.flag(found["exact"], "exact"),
        blank_choices=strict.items(found["blanks"], "blanks", _blank_choice),
        marked_face=strict.one_of(found["marked_face"], "marked_face", ("inside", "outside")),
        trim_mm=strict.not_below_nothing(found["trim_mm"], "trim_mm"),
        revision=strict.whole(found["revision"], "revision"),
        **paper_choices(found),
        rest=value_of(RestOfTank, found["rest"], "rest"),
    )


def _breakups(value: Any) -> tuple[BreakUp, ...]:
    found = strict.items(value, "breakups", break_up)
    check_twins([each.name for each in found], "breakups")
    return found


def _tape_facts(tape: Tape) -> dict[str, Any]:
    """Return a tape as plain values; one between two points is written as it always was."""
    found = {name: getattr(tape, name) for name in _TAPE_FIELDS}
    if tape.points:
        found |= {name: getattr(tape, name) for name in _LAID_FIELDS}
    return found


def _tape(value: Any, where: str) -> Tape:
    found = strict.fields(value, where, _TAPE_FIELDS, _LAID_FIELDS)
    try:
        return Tape(
            strict.point(found["start"], f"{where}.start"),
            strict.point(found["end"], f"{where}.end"),
            strict.positive(found["length_mm"], f"{where}.length_mm"),
            strict.flag(found["over"], f"{where}.over"),
            strict.one_of(found.get("kind", "straight"), f"{where}.kind", TAPE_KINDS),
            strict.items(found.get("points", []), f"{where}.points", strict.point),
            optional(found.get("towards"), f"{where}.towards", strict.direction),
        )
    except ValueError as error:
        raise BadFieldError(where, f"does not hold together: {error}") from error


def _metal(value: Any) -> MetalChoice:
    names = ["thickness_mm", "alloy", "face", "paint_mm", "bend_radius_mm"]
    found = strict.fields(value, "metal", names)
    return MetalChoice(
        strict.not_below_nothing(found["thickness_mm"], "metal.thickness_mm"),
        strict.text(found["alloy"], "metal.alloy"),
        strict.one_of(found["face"], "metal.face", ("outside", "middle")),
        strict.not_below_nothing(found["paint_mm"], "metal.paint_mm"),
        optional(found["bend_radius_mm"], "metal.bend_radius_mm", strict.not_below_nothing),
    )


def _blank_choice(value: Any, where: str) -> BlankChoice:
    found = strict.fields(value, where, ["panel", "work", "exact"])
    return BlankChoice(
        strict.text(found["panel"], f"{where}.panel"),
        _work(found["work"], f"{where}.work"),
        strict.flag(found["exact"], f"{where}.exact"),
    )


def _work(value: Any, where: str) -> Work:
    found = strict.fields(value, where, ["measure", "weight", "hardening", "bias"])
    try:
        return Work(
            measure=strict.one_of(found["measure"], f"{where}.measure", ("von_mises", "hencky")),
            weight=strict.one_of(found["weight"], f"{where}.weight", ("blank", "formed")),
            hardening=strict.number(found["hardening"], f"{where}.hardening"),
            bias=strict.number(found["bias"], f"{where}.bias"),
        )
    except WorkChoiceError as error:
        raise BadFieldError(where, str(error)) from error


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


# ---- the side file


class SideFile:
    """The unsaved work of one open job, rewritten after every change until `forget`.

    Scans are written once per scan, the decisions every time, so that a change costs little.
    While the owner lives it holds a lock; a side file without a living owner is `recoverable`.

    Parameters
    ----------
    folder : Path
        Where side files are kept.
    """

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._base = folder / uuid.uuid4().hex
        self._scans: tuple[ScanFile | None, ScanFile | None] = (None, None)
        self._lock = _locked_file(self._base.with_suffix(".lock"))

    def keep(self, state: JobState, path: Path | None = None) -> None:
        """Write what stands now; `path` is where the job was last saved, if it was."""
        scans = (state.scan, state.frame_scan)
        if not self._job_file.exists() or scans != self._scans:
            save_job(state, self._job_file)
            self._scans = scans
        text = json.dumps({"path": path and str(path), "job": decisions(state)}).encode()
        written_whole(self._base.with_suffix(".json"), lambda file: _put(file, text))

    def forget(self) -> None:
        """Remove the side file: the job is safe, or its maker let it go."""
        if self._lock is not None:
            self._lock.close()
        self._lock = None
        _remove(self._base)

    @property
    def _job_file(self) -> Path:
        return self._base.with_suffix(SUFFIX)


def recoverable(folder: Path) -> tuple[Path, ...]:
    """Return the side files whose owner is gone, newest first, to be read with `recovered`."""
    found = []
    for path in folder.glob("*.lock"):
        lock = _locked_file(path)
        if lock is None:
            continue
        lock.close()
        if path.with_suffix(SUFFIX).exists():
            found.append(path.with_suffix(SUFFIX))
        else:
            _remove(path.with_suffix(""))
    return tuple(sorted(found, key=lambda path: (-path.stat().st_mtime, path.name)))


def recovered(side_file: Path) -> tuple[JobState, Path | None]:
    """Return the job in a side file, as it last stood, and where it had been saved.

    Raises
    ------
    NotAJobFileError, BrokenJobFileError, NewerJobFileError
    """
    kept = open_job(side_file)
    newest = side_file.with_suffix(".json")
    if not newest.exists():
        return kept, None
    try:
        found = strict.fields(strict.parsed(newest.read_bytes()), "", ["path", "job"])
        decided = _migrated(found["job"], newest)
        state = _state(decided)
        path = optional(found["path"], "path", _path)
    except BadFieldError as error:
        raise BrokenJobFileError(newest, str(error)) from error
    before = decisions(kept)
    if any(decided[name] != before[name] for name in ("scan", "frame_scan")):
        return kept, None  # it ended between the two writes of `keep`
    return replace(state, scan=kept.scan, frame_scan=kept.frame_scan), path


def _path(value: Any, where: str) -> Path:
    if not isinstance(value, str) or not value or "\0" in value:
        raise BadFieldError(where, "is not the name of a file")
    return Path(value)


def discard(side_file: Path) -> None:
    """Remove a side file that was recovered, or is not wanted."""
    _remove(side_file.with_suffix(""))


def _put(file: IO[bytes], data: bytes) -> None:
    file.write(data)


def _remove(base: Path) -> None:
    for suffix in (SUFFIX, ".json", ".lock"):
        base.with_suffix(suffix).unlink(missing_ok=True)


def _locked_file(path: Path) -> io.BufferedRandom | None:
    """Return a file held for as long as it is open, or None when somebody else holds it."""
    file = path.open("a+b")
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        file.close()
        return None
    return file
