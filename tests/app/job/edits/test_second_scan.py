"""The second scan of a job: kept in it as the first is, so that the job needs its file no more."""

import json
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
import trimesh

from app.job import (
    BrokenJobFileError,
    FrameFit,
    FrameFitChoice,
    JobState,
    PlacedSpot,
    SecondScan,
    SideFile,
    TankSpot,
    carried_through,
    made,
    open_job,
    read_scan_file,
    recoverable,
    recovered,
    save_job,
    task_for,
    with_name,
    with_rest,
    with_result,
    with_second_read,
    with_second_scan,
)
from app.job.edits.prints import digest_of, paper_digest
from app.job.files.decisions_json import SCHEMA, decisions
from app.job.files.job_file import ALWAYS
from geometry.scan import MissingFileError
from tests.app.job.small_tank import decided

PLACE = PlacedSpot((0.0, 0.0, 60.0), TankSpot(0.0, 0.0, 41.9))


@pytest.fixture
def frame_file(tmp_path: Path) -> Path:
    """Return a scan of a bar across, 60 to 64 up: 10 over the dome's top, 9.2 over the metal."""
    bar = trimesh.creation.box((4.0, 60.0, 4.0))
    bar.apply_translation([0.0, 0.0, 62.0])
    path = tmp_path / "frame.stl"
    bar.export(path)
    return path


def fitted(state: JobState) -> FrameFit:
    state = carried_through(carried_through(state, "Surface"), "Stood")
    task = task_for(state, "Frame fit")
    assert task is not None
    found: FrameFit = made(with_result(state, task, task.run()), "Frame fit")
    return found


def test_gaps_to_a_scan_kept_are_measured_without_its_file(
    frame_file: Path, tmp_path: Path
) -> None:
    state = with_second_scan(decided(), read_scan_file(frame_file))
    path = tmp_path / "tank.lowcrown"
    save_job(state, path)
    frame_file.unlink()
    opened = open_job(path)
    assert opened.frame_scan is not None
    assert opened.frame_scan.file_name == "frame.stl"
    assert (opened.frame_scan.raw.vertices == state.frame_scan.raw.vertices).all()  # type: ignore[union-attr]
    (gap,) = fitted(opened).gaps
    assert gap.gap_mm == pytest.approx(9.2, abs=0.02)
    save_job(opened, tmp_path / "again.lowcrown")
    assert (tmp_path / "again.lowcrown").read_bytes() == path.read_bytes()
    assert str(tmp_path) not in zipfile.ZipFile(path).read("job.json").decode()


def test_a_scan_named_by_its_path_is_read_and_kept(frame_file: Path) -> None:
    named = FrameFitChoice(second=SecondScan(str(frame_file), "mm", (PLACE,)))
    state = with_second_read(with_rest(decided(), frame_fit=named))
    assert state.rest.frame_fit is not None
    assert state.rest.frame_fit.second == SecondScan("frame.stl", "mm", (PLACE,))
    assert with_second_read(state) is state
    assert with_second_read(decided()).frame_scan is None
    gone = FrameFitChoice(second=SecondScan("gone.stl"))
    with pytest.raises(MissingFileError):
        with_second_read(with_rest(decided(), frame_fit=gone))


def test_places_stay_with_a_file_of_the_same_name_only(frame_file: Path) -> None:
    scan = read_scan_file(frame_file)
    named = FrameFitChoice(second=SecondScan("frame.stl", "cm", (PLACE,)))
    again = with_second_scan(with_rest(decided(), frame_fit=named), scan).rest.frame_fit
    assert again is not None
    assert again.second == SecondScan("frame.stl", "cm", (PLACE,))
    other = replace(scan, file_name="other.stl")
    changed = with_second_scan(with_rest(decided(), frame_fit=named), other).rest.frame_fit
    assert changed is not None
    assert changed.second == SecondScan("other.stl", "cm", ())


def test_it_goes_with_the_decision_to_hold_the_tank_against_it(frame_file: Path) -> None:
    state = with_second_scan(decided(), read_scan_file(frame_file))
    assert with_rest(state, frame_fit=None).frame_scan is None
    assert with_rest(state, frame_fit=FrameFitChoice()).frame_scan is None
    assert with_rest(state, seat=None).frame_scan is state.frame_scan


def test_a_job_from_before_has_no_scan_kept_and_opens(frame_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "tank.lowcrown"
    named = FrameFitChoice(second=SecondScan(str(frame_file)))
    save_job(with_rest(decided(), frame_fit=named), path)
    with zipfile.ZipFile(path) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    facts = json.loads(entries["job.json"])
    del facts["frame_scan"]
    facts["schema"] = SCHEMA - 1
    entries["job.json"] = json.dumps(facts).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in entries.items():
            archive.writestr(zipfile.ZipInfo(name, ALWAYS), data)
    opened = open_job(path)
    assert opened.frame_scan is None
    assert opened.rest.frame_fit == named
    assert fitted(opened).gaps[0].gap_mm == pytest.approx(9.2, abs=0.02)


def test_a_job_whose_second_scan_is_cut_short_is_not_trusted(
    frame_file: Path, tmp_path: Path
) -> None:
    path = tmp_path / "tank.lowcrown"
    save_job(with_second_scan(decided(), read_scan_file(frame_file)), path)
    with zipfile.ZipFile(path) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    del entries["frame_scan/faces.npy"]
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in entries.items():
            archive.writestr(zipfile.ZipInfo(name, ALWAYS), data)
    with pytest.raises(BrokenJobFileError, match="frame_scan"):
        open_job(path)


def test_unsaved_work_brings_the_second_scan_back(frame_file: Path, tmp_path: Path) -> None:
    side = SideFile(tmp_path / "unsaved")
    state = decided()
    side.keep(state)
    state = with_second_scan(state, read_scan_file(frame_file))
    side.keep(state)
    side.keep(with_name(state, "renamed"))
    assert side._lock is not None
    side._lock.close()  # as when the program ends by itself
    (left,) = recoverable(tmp_path / "unsaved")
    back, _ = recovered(left)
    assert back.name == "renamed"
    assert back.frame_scan is not None
    assert back.frame_scan.sha256 == state.frame_scan.sha256  # type: ignore[union-attr]


def test_what_was_printed_holds_until_there_is_a_second_scan(frame_file: Path) -> None:
    state = decided()
    before = {name: value for name, value in decisions(state).items() if name != "frame_scan"}
    assert digest_of(before) == paper_digest(state)
    assert paper_digest(with_second_scan(state, read_scan_file(frame_file))) != paper_digest(state)
