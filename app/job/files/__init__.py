"""What a job is kept in and told by, read strictly: its own file, seams, datum, metals, specs."""

from app.job.files.datum_file import KIND, DatumFile, read_datum
from app.job.files.decisions_json import decisions
from app.job.files.grid_words import ReadingWordsError, lengths_typed, reading_typed
from app.job.files.job_file import SUFFIX, open_job, read_decisions, read_scan_file, save_job
from app.job.files.job_file_faults import (
    BrokenJobFileError,
    JobFileError,
    NewerJobFileError,
    NotAJobFileError,
)
from app.job.files.metals_file import (
    Metals,
    bent_as_known,
    keep_own_metal,
    known_metals,
    metal_named,
    metal_or_none,
    own_metals_file,
    read_metals,
)
from app.job.files.plain_json import Written, facts_of, value_of
from app.job.files.rest_file import read_rest, read_tunnel
from app.job.files.seams_file import SeamsFile, read_seams, save_seams, seams_bytes
from app.job.files.side_file import SideFile, discard, recoverable, recovered
from app.job.files.strict_json import BadFileError
from app.job.files.whole_file import written_whole

__all__ = [
    "KIND",
    "SUFFIX",
    "BadFileError",
    "BrokenJobFileError",
    "DatumFile",
    "JobFileError",
    "Metals",
    "NewerJobFileError",
    "NotAJobFileError",
    "ReadingWordsError",
    "SeamsFile",
    "SideFile",
    "Written",
    "bent_as_known",
    "decisions",
    "discard",
    "facts_of",
    "keep_own_metal",
    "known_metals",
    "lengths_typed",
    "metal_named",
    "metal_or_none",
    "open_job",
    "own_metals_file",
    "read_datum",
    "read_decisions",
    "read_metals",
    "read_rest",
    "read_scan_file",
    "read_seams",
    "read_tunnel",
    "reading_typed",
    "recoverable",
    "recovered",
    "save_job",
    "save_seams",
    "seams_bytes",
    "value_of",
    "written_whole",
]
