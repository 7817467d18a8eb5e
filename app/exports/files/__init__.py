"""One writer for each kind of file; each only draws what was composed."""

from app.exports.files.csv import csv_bytes
from app.exports.files.dxf import dxf_bytes
from app.exports.files.page_count import page_count
from app.exports.files.pdf import pdf_bytes
from app.exports.files.svg import svg_bytes

__all__ = [
    "csv_bytes",
    "dxf_bytes",
    "page_count",
    "pdf_bytes",
    "svg_bytes",
]
