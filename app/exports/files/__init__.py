"""One writer for each kind of file; each only draws what was composed."""

from app.exports.files.csv import csv_bytes
from app.exports.files.dxf import NothingToCutError, dxf_bytes
from app.exports.files.pdf import pdf_bytes

__all__ = [
    "NothingToCutError",
    "csv_bytes",
    "dxf_bytes",
    "pdf_bytes",
]
