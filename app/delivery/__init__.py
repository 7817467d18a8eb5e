"""From a job to what leaves the program: a folder of files, written whole or not at all."""

from app.delivery.breaks import (
    BREAKS_JSON,
    BREAKS_PDF,
    BREAKS_SEAMS,
    breaks_files,
    breaks_result,
    tank_of,
)
from app.delivery.composed import Composed, composed, whole_job
from app.delivery.deliver import deliver, deliver_single
from app.delivery.findings import Json
from app.delivery.flanges import FLANGES_JSON, flanges_told
from app.delivery.folder import (
    SUMMARY,
    NoFolderError,
    ResultExistsError,
    check_folder,
    write_result,
)
from app.delivery.frame_fit import FIT_JSON, frame_told
from app.delivery.fuel import CAPACITY_JSON, capacity_json, fittings_json
from app.delivery.gauges import GAUGES_JSON, gauges_told
from app.delivery.lots import FilesToMake, MadeFiles
from app.delivery.one_step import files_of_step
from app.delivery.record import earlier_prints
from app.delivery.rest import (
    REST,
    RestKind,
    kinds_made,
    rest_files,
    rest_json,
    rest_sheaves,
)
from app.delivery.rest_job import RestJob, rest_job, whole_tank
from app.delivery.results import (
    SCHEMA,
    blank_result,
    json_text,
    summary_result,
)
from app.delivery.seat import SEAT_JSON, seat_told
from app.delivery.sheets import (
    NotReadyError,
    copied_from,
    job_facts,
    job_sheets,
    panel_sheet,
    tank_model,
    unit_words,
)
from app.delivery.single import SinglePanel, single_blank, single_panel, single_sheet, single_sure
from app.delivery.standing import (
    datum_json,
    datum_result,
    lines_result,
    scan_result,
    standing_json,
    tank_holes_json,
)
from app.delivery.stems import panel_stems
from app.delivery.tunnel import (
    TUNNEL_JSON,
    tunnel_files_alone,
    tunnel_json,
    typed_facts,
)
from app.delivery.usual import usual_fractions, usual_output

__all__ = [
    "BREAKS_JSON",
    "BREAKS_PDF",
    "BREAKS_SEAMS",
    "CAPACITY_JSON",
    "FIT_JSON",
    "FLANGES_JSON",
    "GAUGES_JSON",
    "REST",
    "SCHEMA",
    "SEAT_JSON",
    "SUMMARY",
    "TUNNEL_JSON",
    "Composed",
    "FilesToMake",
    "Json",
    "MadeFiles",
    "NoFolderError",
    "NotReadyError",
    "RestJob",
    "RestKind",
    "ResultExistsError",
    "SinglePanel",
    "blank_result",
    "breaks_files",
    "breaks_result",
    "capacity_json",
    "check_folder",
    "composed",
    "copied_from",
    "datum_json",
    "datum_result",
    "deliver",
    "deliver_single",
    "earlier_prints",
    "files_of_step",
    "fittings_json",
    "flanges_told",
    "frame_told",
    "gauges_told",
    "job_facts",
    "job_sheets",
    "json_text",
    "kinds_made",
    "lines_result",
    "panel_sheet",
    "panel_stems",
    "rest_files",
    "rest_job",
    "rest_json",
    "rest_sheaves",
    "scan_result",
    "seat_told",
    "single_blank",
    "single_panel",
    "single_sheet",
    "single_sure",
    "standing_json",
    "summary_result",
    "tank_holes_json",
    "tank_model",
    "tank_of",
    "tunnel_files_alone",
    "tunnel_json",
    "typed_facts",
    "unit_words",
    "usual_fractions",
    "usual_output",
    "whole_job",
    "whole_tank",
    "write_result",
]
