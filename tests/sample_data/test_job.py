"""The shipped job is the one made from the shipped scan, tapes and seams."""

from hashlib import sha256

import numpy as np

import sample_data
from app.command_line.size_arguments import tape
from app.job import open_job, read_seams
from geometry.datum import Tape
from geometry.scan import MM_PER_UNIT


def test_the_job_holds_the_scan_unchanged() -> None:
    state = open_job(sample_data.job_path())
    assert state.scan is not None
    assert state.scan.sha256 == sha256(sample_data.scan_path().read_bytes()).hexdigest()
    assert state.scan.file_name == sample_data.scan_path().name


def test_the_job_holds_the_tapes_and_the_seams_of_the_files() -> None:
    state = open_job(sample_data.job_path())
    told = [tape(words) for words in sample_data.tapes()]
    assert state.size.tapes == tuple(Tape(*words) for words in told)
    file = read_seams(sample_data.seams_path())
    assert file.unit == "in"
    assert MM_PER_UNIT[file.unit] == 25.4
    assert [seam.name for seam in state.seams] == [seam.name for seam in file.seams]
    for mine, theirs in zip(state.seams, file.seams, strict=True):
        np.testing.assert_allclose(mine.points, theirs.points, atol=1e-9)
    assert state.panel_names == file.panel_names
    assert state.directions == file.directions


def test_all_of_the_sample_is_well_under_15_megabytes() -> None:
    folder = sample_data.scan_path().parent
    assert sum(path.stat().st_size for path in folder.iterdir() if path.is_file()) < 12e6
