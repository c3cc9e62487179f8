"""What is told of readings hangs neither on the order of their rows nor on how large they are."""

import re
from dataclasses import replace

import aligned_read as aligned
import lines_read as lines
import numpy as np
import pytest
from scipy.stats import t

from simulate.core.number_format import with_sign
from simulate.readings.adjustment.ranges import half_range
from simulate.readings.edge.edge_findings import solve_edge
from simulate.readings.findings import findings


def shuffled(table, rng):
    order = rng.permutation(len(table))
    each = {name: v[order] for name, v in vars(table).items() if isinstance(v, np.ndarray) and v.size}
    return replace(table, **each, line=tuple(table.line[k] for k in order) if table.line else ())


def ranges_by_place(solved):
    heights = solved.heights
    at = np.lexsort((heights.network.y_mm, heights.network.x_mm, heights.network.body))
    return np.stack([heights.height_um, heights.low_95_um, heights.high_95_um])[:, at]


@pytest.mark.parametrize("seed", range(3))
def test_ranges_of_points_are_those_of_student_and_the_same_in_any_order_of_rows(seed):
    # by draws, each in the order of the rows, they were up to 8 % of themselves apart
    rng = np.random.default_rng(seed)
    table = lines.edge(rng, lines.face(rng), lines=lines.NET, stations=5)
    found = solve_edge(table)
    half = (found.heights.high_95_um - found.heights.low_95_um) / 2
    by_student = t.ppf(0.975, found.heights.spreads.dof[0]) * found.heights.sd_um
    np.testing.assert_allclose(half, by_student, rtol=1e-6)
    mixed = solve_edge(shuffled(table, rng))
    np.testing.assert_allclose(ranges_by_place(mixed), ranges_by_place(found), atol=1e-6)


def test_a_sum_of_two_errors_with_unsure_spreads_is_held_95_in_100():
    # against a million draws of each sum
    rng = np.random.default_rng(2)
    dof = np.array([3.0, 8.0, np.inf])
    share = np.array([[1.0, 0.2, 0.0], [1.0, 1.0, 0.5], [0.0, 1.0, 0.5]])
    each = np.stack([rng.standard_t(3, 10**6), rng.standard_t(8, 10**6), rng.standard_normal(10**6)])
    drawn = [np.quantile(np.abs(np.sqrt(share[:, k]) @ each), 0.95) for k in range(3)]
    np.testing.assert_allclose(half_range(share, dof), drawn, rtol=0.01)


def test_an_axis_more_than_a_millimetre_out_is_told_in_plain_figures():
    # "set it over by +1.17e+03 um" stood there
    rng = np.random.default_rng(1)
    truth = {(axis, plane): (1700.0, 0.4) for axis in ("head", "tail") for plane in ("upright", "level")}
    truth["tail", "level"] = (-1900.0, 0.1)
    found = findings(aligned.head(rng, truth))
    told = [*found.sentences, *found.cut, *(cell for row in (*found.rows, *found.detail_rows) for cell in row)]
    assert any("set it over by -36" in one or "-36" in one for one in told), told
    assert not [one for one in told if re.search(r"\de[+-]?\d", one)]


def test_a_figure_with_its_sign_is_never_a_power_of_ten_and_nought_is_not_below_itself():
    # "horizontal plane, over 300 mm -0 um" stood there
    assert [with_sign(v) for v in (1171.0, -0.5, 0.0, -1e-9)] == ["+1170", "-0.5", "+0", "+0"]
