import numpy as np
import pytest

from geometry.mesh import (
    NonManifoldError,
    NotOrientableError,
    TriMesh,
    check_manifold,
    edge_table,
    euler_characteristic,
    handles,
    is_disk,
    is_oriented,
    loop_length,
    non_manifold_edges,
    non_manifold_vertices,
    oriented_faces,
    part_of_mesh,
    piece_of_face,
    rims,
)
from tests.geometry.mesh.small_meshes import (
    book_of_three,
    bow_tie,
    mesh_of,
    moebius_strip,
    octahedron,
    plane,
    torus,
    tube,
)

BODIES = {  # body: Euler number, rims, handles (textbook values)
    "disk": (plane(), 1, 1, 0),
    "tube": (tube(), 0, 2, 0),
    "sphere": (octahedron(2), 2, 0, 0),
    "torus": (torus(), 0, 0, 1),
}


def side_by_side(*meshes: TriMesh) -> TriMesh:
    offsets = np.cumsum([0] + [len(mesh.vertices) for mesh in meshes])
    vertices = np.concatenate(
        [m.vertices + np.array([100.0 * i, 0, 0]) for i, m in enumerate(meshes)]
    )
    faces = [m.faces + o for m, o in zip(meshes, offsets, strict=False)]
    return TriMesh(vertices, np.concatenate(faces))


@pytest.mark.parametrize("body", BODIES)
def test_euler_number_rims_and_handles_are_the_textbooks(body: str) -> None:
    mesh, euler, rim_count, handle_count = BODIES[body]
    assert euler_characteristic(mesh.faces) == euler
    assert len(rims(mesh)) == rim_count
    assert handles(mesh) == handle_count
    assert is_disk(mesh) == (body == "disk")


@pytest.mark.parametrize("body", BODIES)
def test_sound_bodies_pass_as_manifold_and_oriented(body: str) -> None:
    mesh = BODIES[body][0]
    check_manifold(mesh)
    assert is_oriented(mesh.faces)


def test_edge_table_lists_each_edge_once_with_both_its_faces() -> None:
    mesh = torus()
    table = edge_table(mesh.faces)
    assert len(table.edges) == 3 * len(mesh.faces) / 2
    assert (table.face_count == 2).all()
    assert len(np.unique(table.edges, axis=0)) == len(table.edges)
    sides = np.stack([mesh.faces, np.roll(mesh.faces, -1, axis=1)], axis=2)
    assert (np.sort(sides, axis=2) == table.edges[table.edge_of_side]).all()
    assert ((sides[..., 0] < sides[..., 1]) == table.side_runs_forward).all()
    for of_edge in table.faces_of_edge.T:
        assert (table.edge_of_side[of_edge] == np.arange(len(of_edge))[:, None]).any(axis=1).all()


def test_a_rim_edge_has_one_face_and_no_second() -> None:
    table = edge_table(plane(3, 3).faces)
    on_rim = table.face_count == 1
    assert on_rim.sum() == 8
    assert (table.faces_of_edge[on_rim, 1] == -1).all()
    assert (table.faces_of_edge[~on_rim] >= 0).all()


def test_an_empty_mesh_has_no_edges_rims_or_pieces() -> None:
    empty = TriMesh(np.empty((0, 3)), np.empty((0, 3), np.int64))
    assert len(edge_table(empty.faces).edges) == 0
    assert rims(empty) == ()
    assert not is_disk(empty)
    check_manifold(empty)


def test_three_faces_on_an_edge_are_reported_with_the_place() -> None:
    mesh = book_of_three()
    assert non_manifold_edges(mesh.faces).tolist() == [[0, 1]]
    with pytest.raises(NonManifoldError) as caught:
        check_manifold(mesh)
    assert caught.value.edges.tolist() == [[0, 1]]
    assert caught.value.points[0].tolist() == [0.0, 0.0, 0.5]


def test_fans_that_touch_at_a_vertex_are_reported_with_the_place() -> None:
    mesh = bow_tie()
    assert non_manifold_vertices(mesh.faces, 5).tolist() == [0]
    with pytest.raises(NonManifoldError) as caught:
        check_manifold(mesh)
    assert caught.value.vertices.tolist() == [0]
    assert caught.value.points.tolist() == [[0.0, 0.0, 0.0]]
    with pytest.raises(NonManifoldError):
        rims(mesh)


def test_rims_of_a_book_of_three_are_refused_not_looped_for_ever() -> None:
    with pytest.raises(NonManifoldError):
        rims(book_of_three())


@pytest.mark.parametrize("body", BODIES)
def test_faces_turned_at_random_come_back_facing_one_way(body: str) -> None:
    mesh = BODIES[body][0]
    faces = mesh.faces.copy()
    turned = np.random.default_rng(1).random(len(faces)) < 0.4
    turned[0] = False  # the first face of a piece keeps its direction
    faces[turned] = faces[turned][:, ::-1]
    assert not is_oriented(faces)
    back = oriented_faces(TriMesh(mesh.vertices, faces))
    assert is_oriented(back)
    smallest_first = [np.stack([np.roll(f, -f.argmin()) for f in g]) for g in (back, mesh.faces)]
    assert (smallest_first[0] == smallest_first[1]).all()


def test_each_piece_follows_its_own_first_face() -> None:
    mesh = side_by_side(plane(), octahedron(1), tube())
    faces = mesh.faces.copy()
    piece = piece_of_face(faces)
    faces[piece == piece[0]] = faces[piece == piece[0]][:, ::-1]
    faces[-1] = faces[-1][::-1]
    back = oriented_faces(TriMesh(mesh.vertices, faces))
    assert is_oriented(back)
    assert (back[:-1] == faces[:-1]).all()
    assert set(back[-1]) == set(faces[-1])


def test_two_faces_back_to_back_are_turned_to_close_the_pillow() -> None:
    pillow = mesh_of([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2], [0, 1, 2]])
    assert is_oriented(oriented_faces(pillow))


def test_a_moebius_strip_is_refused_with_the_place() -> None:
    strip = moebius_strip()
    assert euler_characteristic(strip.faces) == 0
    with pytest.raises(NotOrientableError) as caught:
        oriented_faces(strip)
    assert len(caught.value.edges) >= 1
    middles = strip.vertices[caught.value.edges].mean(axis=1)
    assert (caught.value.points == middles).all()


def test_an_outer_rim_runs_counter_clockwise_and_a_hole_clockwise() -> None:
    square = plane(7, 7)
    centre = square.vertices[square.faces].mean(axis=1)
    hole = (np.abs(centre[:, :2] - 3) < 1).all(axis=1)
    mesh, _ = part_of_mesh(square, np.flatnonzero(~hole))
    outer, inner = rims(mesh)

    def signed_area(loop: np.ndarray) -> float:
        x, y = mesh.vertices[loop, :2].T
        return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)

    assert signed_area(outer) == pytest.approx(36.0)
    assert signed_area(inner) == pytest.approx(-4.0)


def test_rims_come_longest_first_and_start_at_their_smallest_vertex() -> None:
    mesh = side_by_side(plane(3, 3), plane(9, 9), plane(5, 5))
    loops = rims(mesh)
    lengths = [loop_length(mesh.vertices, loop) for loop in loops]
    assert lengths == pytest.approx([32.0, 16.0, 8.0])
    assert all(loop[0] == loop.min() for loop in loops)


def test_pieces_are_numbered_from_the_one_with_most_faces() -> None:
    mesh = side_by_side(plane(3, 3), tube(), plane(5, 5))
    count = np.bincount(piece_of_face(mesh.faces))
    assert count.tolist() == [len(tube().faces), 32, 8]


def test_faces_at_a_crowded_edge_are_one_piece() -> None:
    book = book_of_three()
    assert piece_of_face(side_by_side(plane(2, 2), book).faces).tolist() == [1, 1, 0, 0, 0]


def test_a_part_keeps_order_and_points_back_to_its_vertices() -> None:
    mesh = torus()
    chosen = np.array([40, 3, 17])
    part, vertex_of_part_vertex = part_of_mesh(mesh, chosen)
    assert (vertex_of_part_vertex[part.faces] == mesh.faces[chosen]).all()
    assert (part.vertices == mesh.vertices[vertex_of_part_vertex]).all()
