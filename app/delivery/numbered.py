"""Files of pages and plates, with their numbers in a file that lists them all."""

from collections.abc import Sequence

from app.delivery.findings import Json
from app.delivery.results import SCHEMA, json_text
from app.exports import Output, Plate, Sheaf, files_of_plates, sheaf_bytes
from geometry.progress import Report, silent


def numbered_files(
    told: Json,
    result: str,
    sheaves: Sequence[Sheaf],
    plates: Sequence[Plate],
    *,
    output: Output | None = None,
    booklet: str = "",
    report: Report = silent,
) -> dict[str, bytes]:
    """Return files of pages and plates by name, and numbers in a file that lists them all.

    Parameters
    ----------
    told : JSON object
        The numbers, each under its key.
    result : str
        Name of their file.
    sheaves : sequence of Sheaf
    plates : sequence of Plate
    output : Output, optional
    booklet : str, optional
        As `files_of_plates` takes it.
    report : Report
    """
    files = {sheaf.name: sheaf_bytes(sheaf) for sheaf in sheaves}
    files |= files_of_plates(plates, output, booklet=booklet, report=report)
    found = {"schema": SCHEMA, **told, "files": sorted([*files, result])}
    files[result] = json_text(found).encode()
    report(1.0, result)
    return files
