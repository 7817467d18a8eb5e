"""Triangle meshes: the checked container, how faces hang together, and what can be measured."""

from geometry.mesh.edge_walk import NoPathError
from geometry.mesh.measure import (
    angles_around,
    corner_angles,
    edge_lengths,
    enclosed_volume,
    face_areas,
    face_normals,
    vertex_normals,
)
from geometry.mesh.nearest import Nearest, NearestPoint, nearest_points
from geometry.mesh.paths import PathFinder, SurfacePath, SurfacePoint, shortest_path
from geometry.mesh.sections import section
from geometry.mesh.topology import (
    EdgeTable,
    NonManifoldError,
    NotOrientableError,
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
    typical_edge_length,
)
from geometry.mesh.tri_mesh import BadMeshError, TriMesh

__all__ = [
    "BadMeshError",
    "EdgeTable",
    "Nearest",
    "NearestPoint",
    "NoPathError",
    "NonManifoldError",
    "NotOrientableError",
    "PathFinder",
    "SurfacePath",
    "SurfacePoint",
    "TriMesh",
    "angles_around",
    "check_manifold",
    "corner_angles",
    "edge_lengths",
    "edge_table",
    "enclosed_volume",
    "euler_characteristic",
    "face_areas",
    "face_normals",
    "handles",
    "is_disk",
    "is_oriented",
    "loop_length",
    "nearest_points",
    "non_manifold_edges",
    "non_manifold_vertices",
    "oriented_faces",
    "part_of_mesh",
    "piece_of_face",
    "rims",
    "section",
    "shortest_path",
    "typical_edge_length",
    "vertex_normals",
]
