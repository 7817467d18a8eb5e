"""Flipping edges of a net: away from thin triangles, and on to creases rather than across them."""

from dataclasses import replace

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.surface.net import (
    Columns,
    Edges,
    Net,
    agreement,
    columns_of,
    edges_of,
    evenness,
    line_of,
)

_BETTER_FIT = 0.01
_LEAST_AGREEMENT = 0.3
_STEEPEST_FACING = 3.0
_FIT_FIRST = 1e6
_HARDLY_ANY = 5e-4
_EAR = 0.1


def with_edges_flipped(net: Net, *, max_rounds: int = 8) -> Net:
    """Return the net with edges flipped until the angles facing each add up to at most 180 degrees.

    No edge on a line is flipped, and none whose flip would make the two faces fit the surface's
    normals worse; one is also flipped where its faces then fit clearly better.
    """
    for _ in range(max_rounds):
        edges = edges_of(net.faces)
        chosen, gain = _wanted(net, edges)
        if not len(chosen):
            break
        chosen = chosen[np.argsort(-gain, kind="stable")]
        chosen = _on_own_faces(chosen, edges, len(net.faces))
        chosen = _not_there_yet(chosen, edges, len(net.vertices))
        if not len(chosen):
            break
        net = _flip(net, edges, chosen)
        if len(chosen) < _HARDLY_ANY * len(net.faces):
            break
    return net


def without_ears(net: Net) -> Net:
    """Return the net without faces that lie along a line: their side off it is flipped.

    Such a face has all its corners on a line and hardly any area; the flip that mends it may fit
    the normals a little worse, which is why it is not done otherwise.
    """
    edges = edges_of(net.faces)
    on_line = line_of(net, edges.ends)[edges.of_side] >= 0
    ear = (on_line.sum(axis=1) == 2) & (evenness(net.vertices, net.faces) < _EAR)
    side = edges.of_side[ear, np.argmin(on_line[ear], axis=1)]
    side = side[~edges.is_rim[side]]
    first, second = edges.opposite[side].T
    chosen = side[first != second]
    chosen = _on_own_faces(chosen, edges, len(net.faces))
    chosen = _not_there_yet(chosen, edges, len(net.vertices))
    return _flip(net, edges, chosen) if len(chosen) else net


def _wanted(net: Net, edges: Edges) -> tuple[IntArray, FloatArray]:
    """Return the edges worth flipping and how much each gains, radians."""
    inner = np.flatnonzero(~edges.is_rim)
    a, b = edges.ends[inner].T
    c, d = edges.opposite[inner].T
    x = columns_of(net.vertices)
    facing = _cotangent(x, c, a, b) + _cotangent(x, d, a, b)  # below 0: over 180 degrees
    fit = agreement(net.vertices, net.normals, net.faces)
    old = fit[edges.faces[inner]].min(axis=1)
    maybe = (facing < -1e-6) | (old < 0.999)
    inner, a, b, c, d = inner[maybe], a[maybe], b[maybe], c[maybe], d[maybe]
    old, facing = old[maybe], facing[maybe]
    new = _pair_fit(net, np.stack([d, c, a], 1), np.stack([c, d, b], 1))
    rounder = (facing < -1e-6) & (new >= np.minimum(old - _BETTER_FIT, 1.0 - _BETTER_FIT))
    rounder &= new > np.minimum(_LEAST_AGREEMENT, old)
    fitter = (new > old + 2.0 * _BETTER_FIT) & (facing < _STEEPEST_FACING)
    wanted = (rounder | fitter) & (new > 0.0) & (c != d)
    wanted &= line_of(net, edges.ends[inner]) < 0
    gain = -facing + np.where(fitter, _FIT_FIRST, 0.0)
    return inner[wanted], gain[wanted]


def _cotangent(places: Columns, at: IntArray, one: IntArray, other: IntArray) -> FloatArray:
    """Return the cotangents of the angles at vertices between two others."""
    dot, u_square, v_square = np.zeros(len(at)), np.zeros(len(at)), np.zeros(len(at))
    for place in places:
        middle = place[at]
        u, v = place[one] - middle, place[other] - middle
        dot += u * v
        u_square += u * u
        v_square += v * v
    square = u_square * v_square - dot * dot
    return np.asarray(dot / np.sqrt(np.maximum(square, 1e-24)))


def _pair_fit(net: Net, first: IntArray, second: IntArray) -> FloatArray:
    """Return the worse agreement of two faces with the surface's normals."""
    return np.minimum(
        agreement(net.vertices, net.normals, first), agreement(net.vertices, net.normals, second)
    )


def _on_own_faces(chosen: IntArray, edges: Edges, face_count: int) -> IntArray:
    """Return those that come first, of all chosen, at both of their faces."""
    rank = np.arange(len(chosen))
    first = np.full(face_count, len(chosen), np.int64)
    faces = edges.faces[chosen]
    np.minimum.at(first, faces[:, 0], rank)
    np.minimum.at(first, faces[:, 1], rank)
    alone = (first[faces] == rank[:, None]).all(axis=1)
    return np.asarray(chosen[alone])


def _not_there_yet(chosen: IntArray, edges: Edges, vertex_count: int) -> IntArray:
    """Return those whose new edge does not exist and is made only once."""
    new = np.sort(edges.opposite[chosen], axis=1)
    key = new[:, 0] * vertex_count + new[:, 1]
    known = edges.ends[:, 0] * vertex_count + edges.ends[:, 1]  # rising, as edges are
    place = np.minimum(np.searchsorted(known, key), len(known) - 1)
    there = known[place] == key
    once = np.zeros(len(key), bool)
    once[np.unique(key, return_index=True)[1]] = True
    return np.asarray(chosen[once & ~there])


def _flip(net: Net, edges: Edges, chosen: IntArray) -> Net:
    a, b = edges.ends[chosen].T
    c, d = edges.opposite[chosen].T
    faces = net.faces.copy()
    faces[edges.faces[chosen, 0]] = np.stack([c, a, d], 1)
    faces[edges.faces[chosen, 1]] = np.stack([d, b, c], 1)
    return replace(net, faces=faces)
