"""Threads against what two published tables give for each kind."""

import pytest

from geometry.tank import THREADS, NoThreadError, metric, thread_named

# Pipe thread by its turns: major and minor in mm, ISO 228-1 as a published pocket book (section
# 4.1.38) and a public tap chart give them.
G_PUBLISHED = {
    "G 1/8": (28, 0.907, 9.728, 8.566),
    "G 1/4": (19, 1.337, 13.157, 11.445),
    "G 3/8": (19, 1.337, 16.662, 14.950),
    "G 1/2": (14, 1.814, 20.955, 18.631),  # a table of a dealer in pipes, by ISO 228
}
# Tapping drills of two published tables that agree in all of these: a workshop page on taps of
# 13 parallel pipe sizes, and a table of drills before taps from M1.4 to G 3.
DRILLS_PUBLISHED = {
    "G 1/8": 8.8,
    "G 1/4": 11.8,
    "G 3/8": 15.25,
    "G 1/2": 19.0,
    "M5x0.8": 4.2,
    "M6x1": 5.0,
    "M8x1.25": 6.8,
    "M8x1": 7.0,
    "M10x1.5": 8.5,
    "M10x1.25": 8.8,
    "M10x1": 9.0,
    "M12x1.75": 10.2,
    "M12x1.5": 10.5,
    "M12x1.25": 10.8,
    "M14x1.5": 12.5,
    "M16x1.5": 14.5,
    "M18x1.5": 16.5,
    "M20x1.5": 18.5,
    "M22x1.5": 20.5,
}
# NPT: pitch line at the small end in inch, ASME B1.20.1 as two public thread charts give it.
NPT_PUBLISHED = {
    "NPT 1/8": (27, 10.287, 0.36351),
    "NPT 1/4": (18, 13.716, 0.47739),
    "NPT 3/8": (18, 17.145, 0.61201),
    "NPT 1/2": (14, 21.336, 0.75843),
}
# Metric female minor diameters of a public tap catalogue (form of ISO 724).
METRIC_PUBLISHED = {"M6x1": 4.917, "M8x1.25": 6.647, "M10x1.25": 8.647, "M10x1": 8.917}


@pytest.mark.parametrize("name", G_PUBLISHED)
def test_parallel_pipe_threads_are_the_published_ones(name: str) -> None:
    """The basic form too: depth 0.640327 of the pitch on each side, to the tables' rounding."""
    per_inch, pitch, major, minor = G_PUBLISHED[name]
    found = thread_named(name)
    assert found.per_inch == per_inch
    assert found.pitch_mm == pytest.approx(pitch, abs=5e-4)
    assert (found.major_mm, found.minor_mm) == (major, minor)


@pytest.mark.parametrize("name", [t.name for t in THREADS if t.kind == "BSP parallel"])
def test_the_depth_of_a_pipe_thread_follows_from_its_pitch(name: str) -> None:
    found = thread_named(name)
    assert found.major_mm - found.minor_mm == pytest.approx(
        2 * 0.640327 * found.pitch_mm, abs=1.5e-3
    )


@pytest.mark.parametrize("name", NPT_PUBLISHED)
def test_tapered_threads_are_the_published_ones(name: str) -> None:
    per_inch, pipe, pitch_line = NPT_PUBLISHED[name]
    found = thread_named(name)
    assert found.per_inch == per_inch
    assert found.major_mm == pytest.approx(pipe, abs=5e-4)
    assert found.minor_mm / 25.4 + 0.8 / per_inch == pytest.approx(pitch_line, abs=1e-5)


@pytest.mark.parametrize("name", METRIC_PUBLISHED)
def test_metric_minors_are_those_of_the_form(name: str) -> None:
    assert thread_named(name).minor_mm == pytest.approx(METRIC_PUBLISHED[name], abs=6e-4)


@pytest.mark.parametrize("name", DRILLS_PUBLISHED)
def test_drills_are_those_of_published_tables(name: str) -> None:
    assert thread_named(name).drill_mm == DRILLS_PUBLISHED[name]


def test_a_published_handbook_gives_the_same_metric_drills() -> None:
    """A public trainees' handbook of thread cutting: M22x1.5 20.5, M10x1.25 8.8, M10x1 9.0."""
    for (major, pitch), drill in {(22, 1.5): 20.5, (10, 1.25): 8.8, (10, 1.0): 9.0}.items():
        assert metric(major, pitch).drill_mm == drill


def test_every_drill_leaves_most_of_a_thread_and_never_binds_the_tap() -> None:
    """The share left is that of the depth: all at the minor diameter, none at the major."""
    for thread in THREADS:
        left = thread.depth_left
        if thread.kind == "NPT":
            assert left is None
            continue
        assert left is not None
        assert 0.75 < left < 1.0
        back = thread.major_mm - left * (thread.major_mm - thread.minor_mm)
        assert back == pytest.approx(thread.drill_mm)


def test_the_share_left_is_the_one_worked_by_hand() -> None:
    """G 1/8: (9.728 - 8.8) / (9.728 - 8.566); M22x1.5: pitch over 5/4 of the sharp height."""
    assert thread_named("G 1/8").depth_left == pytest.approx(0.928 / 1.162)
    assert thread_named("M22x1.5").depth_left == pytest.approx(1.0 / (1.25 * 3**0.5 / 2.0))


@pytest.mark.parametrize(
    ("asked", "name"),
    [("g1/4", "G 1/4"), ("1/4 BSP", "G 1/4"), ("3/8 npt", "NPT 3/8"), ("m22 x 1,5", "M22x1.5")],
)
def test_a_thread_is_found_however_it_is_written(asked: str, name: str) -> None:
    assert thread_named(asked).name == name


def test_a_thread_not_in_the_table_lists_near_ones() -> None:
    with pytest.raises(NoThreadError) as metric_one:
        thread_named("M10x0.75")
    assert {"M10x1.5", "M10x1.25", "M10x1"} <= set(metric_one.value.near)
    with pytest.raises(NoThreadError) as pipe:
        thread_named("G 5/8")
    assert "G 1/4" in pipe.value.near
    with pytest.raises(NoThreadError) as nothing:
        thread_named("spout")
    assert nothing.value.near
