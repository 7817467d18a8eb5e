"""Cutting files read back group by group, and with libraries that did not write them."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pyogrio
import shapely
from pyogrio.raw import read
from scipy.interpolate import BSpline
from svgelements import Path as SvgPath

from geometry.arrays import FloatArray

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(eq=False)
class Entity:
    """An entity of a DXF as its groups say: a code and a value each."""

    kind: str
    groups: list[tuple[int, str]]
    corners: list["Entity"] = field(default_factory=list)

    def first(self, code: int, otherwise: str = "") -> str:
        return next((value for found, value in self.groups if found == code), otherwise)

    def numbers(self, code: int) -> FloatArray:
        return np.array([float(value) for found, value in self.groups if found == code])

    @property
    def layer(self) -> str:
        return self.first(8)

    @property
    def closed(self) -> bool:
        return bool(int(self.first(70, "0")) & 1)

    @property
    def points(self) -> FloatArray:
        """(k, 2) corners of a polyline, control points of a spline."""
        if self.kind == "POLYLINE":
            return np.array([[c.numbers(10)[0], c.numbers(20)[0]] for c in self.corners])
        return np.stack([self.numbers(10), self.numbers(20)], axis=1)

    @property
    def bulges(self) -> FloatArray:
        """(k,) after each corner; a corner without one has 0."""
        if self.kind == "POLYLINE":
            return np.array([float(corner.first(42, "0")) for corner in self.corners])
        found: list[float] = []
        for code, value in self.groups:
            if code == 10:
                found.append(0.0)
            elif code == 42:
                found[-1] = float(value)
        return np.array(found)

    @property
    def length(self) -> float:
        """Of arcs by their radius and angle, of a spline by quadrature knot by knot."""
        if self.kind == "SPLINE":
            return _spline_length(self.points, self.numbers(40))
        points, bulges = self.points, self.bulges
        ends = np.roll(points, -1, axis=0)
        if not self.closed:
            points, ends, bulges = points[:-1], ends[:-1], bulges[:-1]
        chords = np.hypot(*(ends - points).T)
        angle = 4.0 * np.arctan(np.abs(bulges))
        arcs = angle / np.where(angle > 0.0, 2.0 * np.sin(angle / 2.0), 1.0)
        return float((chords * np.where(angle > 0.0, arcs, 1.0)).sum())


def _spline_length(points: FloatArray, knots: FloatArray) -> float:
    speed = BSpline(knots, points, 3).derivative()
    nodes, weights = np.polynomial.legendre.leggauss(40)
    ends = np.unique(knots)
    total = 0.0
    for low, high in pairwise(ends):
        at = low + (nodes + 1.0) / 2.0 * (high - low)
        total += float(np.hypot(*speed(at).T) @ weights) * (high - low) / 2.0
    return total


def dxf_groups(content: bytes) -> list[tuple[int, str]]:
    lines = content.decode("utf-8").splitlines()
    return [(int(lines[i]), lines[i + 1].strip()) for i in range(0, len(lines) - 1, 2)]


def dxf_entities(content: bytes) -> list[Entity]:
    """Return the entities of a file; corners of an old polyline are kept with it."""
    groups = dxf_groups(content)
    start = groups.index((2, "ENTITIES"))
    found: list[Entity] = []
    for code, value in groups[start + 1 :]:
        if code == 0 and value == "ENDSEC":
            break
        if code == 0:
            found.append(Entity(value, []))
        else:
            found[-1].groups.append((code, value))
    whole: list[Entity] = []
    for entity in found:
        if entity.kind == "VERTEX":
            whole[-1].corners.append(entity)
        elif entity.kind != "SEQEND":
            whole.append(entity)
    return whole


def dxf_table(content: bytes, table: str) -> dict[str, dict[int, str]]:
    """Return the rows of a table (LAYER, LTYPE) by name."""
    groups = dxf_groups(content)
    start = next(i for i, g in enumerate(groups) if g == (2, table) and groups[i - 1][1] == "TABLE")
    rows: dict[str, dict[int, str]] = {}
    row: dict[int, str] = {}
    for code, value in groups[start + 1 :]:
        if code == 0:
            if 2 in row:
                rows[row[2]] = row
            row = {}
            if value == "ENDTAB":
                break
        row.setdefault(code, value)
    return rows


@dataclass(frozen=True, eq=False)
class Drawn:
    """What GDAL makes of an entity."""

    layer: str
    line_type: str
    text: str
    shape: Any  # a geometry of shapely


@contextmanager
def _arcs_every(degrees: float) -> Iterator[None]:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": degrees})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})


def gdal_entities(content: bytes, *, degrees: float = 4.0) -> list[Drawn]:
    """Return what GDAL reads, arcs as chords each of which turns by so much."""
    with _arcs_every(degrees):
        facts, _, shapes, columns = read(io.BytesIO(content))
    by_name = dict(zip(facts["fields"], columns, strict=True))
    return [
        Drawn(str(layer), str(line_type), "" if text is None else str(text), shape)
        for layer, line_type, text, shape in zip(
            by_name["Layer"],
            by_name["Linetype"],
            by_name["Text"],
            shapely.from_wkb(shapes),
            strict=True,
        )
    ]


def gdal_length(content: bytes, layer: str) -> float:
    """Return the length of what is on a layer, by chords of 0.02 and of 0.01 degrees.

    Chords of an arc come short by their angle squared over 24; so a third of what halving the
    angle gains is still missing (Richardson).
    """
    coarse, fine = (
        sum(
            found.shape.length
            for found in gdal_entities(content, degrees=step)
            if found.layer == layer
        )
        for step in (0.02, 0.01)
    )
    return float(fine + (fine - coarse) / 3.0)


@dataclass(frozen=True, eq=False)
class Group:
    """A group of an SVG: what it says and its paths."""

    name: str
    label: str
    facts: dict[str, str]
    paths: list[SvgPath]


def svg_root(content: bytes) -> ElementTree.Element:
    return ElementTree.fromstring(content.decode("utf-8"))


def svg_groups(content: bytes) -> dict[str, Group]:
    """Return the groups of an SVG by name, paths read by svgelements, in the file's own unit."""
    groups = {}
    for group in svg_root(content).iter(f"{SVG}g"):
        title = group.find(f"{SVG}title")
        paths = [SvgPath(path.get("d")) for path in group.iter(f"{SVG}path")]
        name = group.get("id", "")
        label = "" if title is None else title.text or ""
        groups[name] = Group(name, label, dict(group.attrib), paths)
    return groups


def svg_length(path: SvgPath) -> float:
    """Return a path's length; svgelements measures arcs exactly, cubics by halving."""
    return float(sum(piece.length(error=1e-11, min_depth=6) for piece in path))
