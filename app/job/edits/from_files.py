"""Changes that files say: seams from a seams file, a stand from a datum file."""

from dataclasses import replace

from app.job.choices import DatumChoice, Directions, JobState, PanelName, ScanFile, SeamLine
from app.job.edits.seam_notes import with_breakups_added
from app.job.files import KIND, BadFileError, DatumFile, SeamsFile
from geometry.datum import Point3
from geometry.scan import MM_PER_UNIT


def with_seams_file(state: JobState, file: SeamsFile, mm_per_unit: float) -> JobState:
    """Return the job with a seams file's seams, names and directions.

    Parameters
    ----------
    state : JobState
    file : SeamsFile
    mm_per_unit : float
        Millimetres for one unit of the scan, which may be another than the seams file's.
    """
    factor = MM_PER_UNIT[file.unit] / mm_per_unit

    def moved(point: Point3) -> Point3:
        return point if factor == 1.0 else (point[0] * factor, point[1] * factor, point[2] * factor)

    def drawn(seams: tuple[SeamLine, ...]) -> tuple[SeamLine, ...]:
        return tuple(replace(s, points=tuple(map(moved, s.points))) for s in seams)

    def named(names: tuple[PanelName, ...]) -> tuple[PanelName, ...]:
        return tuple(replace(n, inside=moved(n.inside)) for n in names)

    breakups = tuple(
        replace(each, seams=drawn(each.seams), panel_names=named(each.panel_names))
        for each in file.breakups
    )
    return replace(
        with_breakups_added(state, breakups),
        seams=drawn(file.seams),
        panel_names=named(file.panel_names),
        seam_notes=file.notes,
        directions=Directions(
            file.directions.front or state.directions.front,
            file.directions.top or state.directions.top,
        ),
    )


def with_datum_file(state: JobState, file: DatumFile, mm_per_unit: float) -> JobState:
    """Return the job standing as a datum file says; `mm_per_unit` is the scan's.

    Raises
    ------
    BadFileError
        It names another scan than the job's.
    """
    _check_scan(file, state.scan)
    x, y, z = (value / mm_per_unit for value in file.point)
    choice = DatumChoice(
        "given", plane=((x, y, z), file.normal), level="given", up=file.up, front=file.front
    )
    return replace(state, datum=choice)


def _check_scan(file: DatumFile, scan: ScanFile | None) -> None:
    """Refuse a datum found on another scan; one that names none is taken."""
    if file.scan is None or scan is None:
        return
    if file.scan.sha256.lower() == scan.sha256.lower():
        return
    here = len(scan.raw.faces)
    count = f"{file.scan.triangles:,} triangles where this has {here:,}"
    if file.scan.triangles == here:
        count = f"{here:,} triangles as well, but not the same"
    reason = f'is another than "{scan.file_name}": it has {count}'
    raise BadFileError(KIND, file.path, "scan", reason)
