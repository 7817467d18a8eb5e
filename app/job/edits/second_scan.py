"""The second scan of a job, of what the tank stands on: taken on, or read where it lies."""

from dataclasses import replace
from pathlib import Path

from app.job.choices import FrameFitChoice, JobState, PlacedSpot, ScanFile, SecondScan
from app.job.edits.rest import with_rest
from app.job.files import read_scan_file
from geometry.progress import Report, silent


def with_second_scan(state: JobState, scan: ScanFile) -> JobState:
    """Return the job with a second scan, kept in it as the first is.

    Places given for a file of the same name count for it too; others do not.
    """
    choice = state.rest.frame_fit or FrameFitChoice()
    before = choice.second
    places: tuple[PlacedSpot, ...] = ()
    if before is not None and Path(before.path).name == scan.file_name:
        places = before.places
    unit = scan.raw.unit or (before.unit if before is not None else "mm")
    second = SecondScan(scan.file_name, unit, places)
    return replace(with_rest(state, frame_fit=replace(choice, second=second)), frame_scan=scan)


def with_second_read(state: JobState, *, report: Report = silent) -> JobState:
    """Return the job with the second scan it names kept in it, read from where it lies.

    Raises
    ------
    UnreadableScanError
    """
    choice = state.rest.frame_fit
    if choice is None or choice.second is None or not choice.second.path:
        return state
    if state.frame_scan is not None:
        return state
    scan = read_scan_file(Path(choice.second.path), report=report)
    named = replace(choice.second, path=scan.file_name)
    state = with_rest(state, frame_fit=replace(choice, second=named))
    return replace(state, frame_scan=scan)
