"""Collapsing short edges of a net, as many at once as do not touch one another."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.surface.net import (
    FIXED,
    ON_LINE,
    Edges,
    Net,
    agreement,
    columns_of,
    compacted,
    edges_of,
    evenness,
    expanded,
    lengths_between,
    line_of,
    rings,
    with_lines,
)

TOO_SHORT = 4.0 / 5.0
_LEAST_AGREEMENT = 0.3
_LEAST_EVENNESS = 0.15
_HARDLY_ANY = 5e-4


Shortness = Callable[[Net, IntArray], FloatArray]
"""Says of (k, 2) edges of a net how short they are; those below a limit are drawn together."""


def share_of_size(net: Net, ends: IntArray) -> FloatArray:
    """Return the lengths of edges over the size wanted there."""
    start, end = np.ascontiguousarray(ends.T)
    length = lengths_between(columns_of(net.vertices), start, end)
    return np.asarray(length / ((net.size[start] + net.size[end]) / 2.0))


def with_short_edges_collapsed(
    net: Net,
    *,
    below: float = TOO_SHORT,
    shortness: Shortness = share_of_size,
    max_rounds: int = 12,
) -> Net:
    """Return the net with edges shorter than `below` times the size wanted drawn together.

    It stops when a round changes hardly anything (one face in 2000): call it again if that matters.

    A vertex on a line only moves along it; a fixed one stays. What would fold the net, tie it to
    itself or leave a long edge is not done.
    """
    refused = np.empty((0, 2), np.int64)
    for _ in range(max_rounds):
        edges = edges_of(net.faces)
        candidate = _candidates(net, edges, shortness(net, edges.ends) - below, refused)
        if not len(candidate):
            break
        chosen = _apart(candidate, edges, len(net.vertices))
        before = len(net.faces)
        net, refused = _collapse(net, edges, chosen, refused)
        if 0 < before - len(net.faces) < _HARDLY_ANY * before:
            break
    return compacted(net)


def _candidates(net: Net, edges: Edges, excess: FloatArray, refused: IntArray) -> IntArray:
    """Return edges of negative excess that are allowed to go, the least first."""
    ends = edges.ends
    short = np.flatnonzero(excess < 0.0)
    kinds = net.kind[ends[short]]
    on_line = line_of(net, ends[short]) >= 0
    lined = (kinds >= ON_LINE).all(axis=1)
    allowed = ~(kinds == FIXED).all(axis=1) & (~lined | on_line)
    short = short[allowed]
    if len(refused):
        span = len(net.vertices) + 1
        key = ends[short, 0] * span + ends[short, 1]
        known = np.sort(refused[:, 0] * span + refused[:, 1])
        place = np.minimum(np.searchsorted(known, key), len(known) - 1)
        short = short[known[place] != key]
    return np.asarray(short[np.argsort(excess[short], kind="stable")])


def _apart(candidate: IntArray, edges: Edges, vertex_count: int) -> IntArray:
    """Return candidates, first come first served, none of whose ends neighbours another's.

    Each round takes every candidate that comes first in all of its neighbourhood, and strikes out
    what is near those taken.
    """
    ends = edges.ends
    in_play = np.zeros(vertex_count, bool)
    in_play[ends[candidate]] = True
    between = ends[in_play[ends[:, 0]] & in_play[ends[:, 1]]]  # no other edge says anything here
    never = len(candidate)
    taken: list[IntArray] = []
    blocked = np.zeros(vertex_count, bool)
    rank = np.arange(len(candidate))
    while len(rank):
        first = np.full(vertex_count, never, np.int64)
        pair = ends[candidate[rank]]
        np.minimum.at(first, pair[:, 0], rank)
        np.minimum.at(first, pair[:, 1], rank)
        near = _spread(first, between, np.minimum)
        won = (near[pair] == rank[:, None]).all(axis=1)
        taken.append(candidate[rank[won]])
        touched = np.zeros(vertex_count, bool)
        touched[pair[won]] = True
        blocked |= _spread(touched, between, np.logical_or)
        rank = rank[~blocked[pair].any(axis=1)]
    return np.concatenate(taken)


def _spread(value: IntArray, ends: IntArray, join: np.ufunc) -> IntArray:
    """Return at every vertex the join of its own value and its neighbours'."""
    out = value.copy()
    join.at(out, ends[:, 0], value[ends[:, 1]])
    join.at(out, ends[:, 1], value[ends[:, 0]])
    return out


def _collapse(net: Net, edges: Edges, chosen: IntArray, refused: IntArray) -> tuple[Net, IntArray]:
    """Do the sound ones among edges that are apart; add the others to the refused."""
    pair = edges.ends[chosen]
    kinds = net.kind[pair]
    swap = kinds[:, 1] > kinds[:, 0]  # the end that may do less is kept
    keep = np.where(swap, pair[:, 1], pair[:, 0])
    drop = np.where(swap, pair[:, 0], pair[:, 1])
    share = np.where(net.kind[keep] == net.kind[drop], 0.5, 0.0)[:, None]
    place = (1.0 - share) * net.vertices[keep] + share * net.vertices[drop]
    normal = (1.0 - share) * net.normals[keep] + share * net.normals[drop]
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
    sound = _links_hold(net, edges, chosen, keep, drop)
    sound[sound] = _stays_unfolded(net, keep[sound], drop[sound], place[sound], normal[sound])
    refused = np.concatenate([refused, pair[~sound]])
    keep, drop = keep[sound], drop[sound]
    target = np.arange(len(net.vertices))
    target[drop] = keep
    vertices, normals = net.vertices.copy(), net.normals.copy()
    vertices[keep], normals[keep] = place[sound], normal[sound]
    faces = target[net.faces]
    dead = _is_degenerate(faces)
    lines = target[net.line_edges]
    alive = lines[:, 0] != lines[:, 1]
    out = replace(
        net, vertices=vertices, normals=normals, faces=faces[~dead], guessed=net.guessed[~dead]
    )
    return with_lines(out, lines[alive], net.line_of_edge[alive]), refused


def _links_hold(
    net: Net, edges: Edges, chosen: IntArray, keep: IntArray, drop: IntArray
) -> BoolArray:
    """Return whether collapsing leaves the net a manifold of the same kind."""
    n = len(net.vertices)
    starts, ring = rings(edges.ends, n)
    first, owner_first = expanded(starts, ring, keep)
    second, owner_second = expanded(starts, ring, drop)
    both = np.concatenate([owner_first * n + first, owner_second * n + second])
    both.sort()
    common = both[1:][both[1:] == both[:-1]] // n
    shared = np.bincount(common, minlength=len(keep))
    opposite = edges.opposite[chosen]
    there = opposite >= 0
    valence = starts[1:] - starts[:-1]
    on_rim = np.zeros(n, bool)
    on_rim[edges.ends[edges.is_rim]] = True
    left = np.where(there, valence[opposite] - np.where(on_rim[opposite], 2, 3), 1)
    inner = there.all(axis=1)
    rim_tie = inner & on_rim[keep] & on_rim[drop]
    return np.asarray((shared == there.sum(axis=1)) & (left > 0).all(axis=1) & ~rim_tie)


def _stays_unfolded(
    net: Net,
    keep: IntArray,
    drop: IntArray,
    place: FloatArray,
    normal: FloatArray,
) -> BoolArray:
    """Return whether no face around folds over or turns into a needle, and no edge gets long."""
    owner = np.full(len(net.vertices), -1, np.int64)
    owner[keep] = owner[drop] = np.arange(len(keep))
    owner_of_corner = owner[net.faces]
    of_face = np.maximum(
        np.maximum(owner_of_corner[:, 0], owner_of_corner[:, 1]), owner_of_corner[:, 2]
    )
    hit = np.flatnonzero(of_face >= 0)
    who = of_face[hit]
    least_fit = _least(agreement(net.vertices, net.normals, net.faces[hit]), who, len(keep))
    least_even = _least(evenness(net.vertices, net.faces[hit]), who, len(keep))
    target = np.arange(len(net.vertices))
    target[drop] = keep
    faces = target[net.faces[hit]]
    alive = ~_is_degenerate(faces)
    who, faces = who[alive], faces[alive]
    vertices, normals = net.vertices.copy(), net.normals.copy()
    vertices[keep], normals[keep] = place, normal
    new_fit = agreement(vertices, normals, faces)
    bad = new_fit < np.minimum(_LEAST_AGREEMENT, least_fit[who])
    bad |= evenness(vertices, faces) < np.minimum(_LEAST_EVENNESS, least_even[who])
    places = columns_of(vertices)
    corners = np.ascontiguousarray(faces.T)
    moved = corners == keep[who]
    for one, other in ((0, 1), (1, 2), (2, 0)):
        start, end = corners[one], corners[other]
        size = (net.size[start] + net.size[end]) / 2.0
        grown = lengths_between(places, start, end) > 1.34 * size
        bad |= grown & (moved[one] | moved[other])
    sound = np.ones(len(keep), bool)
    sound[who[bad]] = False
    return sound


def _is_degenerate(faces: IntArray) -> BoolArray:
    a, b, c = faces.T
    return np.asarray((a == b) | (b == c) | (c == a))


def _least(value: FloatArray, who: IntArray, count: int) -> FloatArray:
    """Return the least value of each owner."""
    out = np.full(count, np.inf)
    np.minimum.at(out, who, value)
    return out
