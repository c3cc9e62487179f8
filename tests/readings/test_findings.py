"""What readings of any kind say, in one shape, for every kind."""

import numpy as np
import pytest

from simulate.readings.findings import BY_KIND, findings
from simulate.readings.table.demo import DEMOS, demo_path
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import KINDS


def test_every_kind_of_readings_has_findings():
    assert set(BY_KIND) == set(KINDS)


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_file_is_told_in_sentences_and_in_a_table(name):
    assert "nvented" in demo_path(name).read_text().splitlines()[0]
    found = findings(read_readings(demo_path(name)))
    assert found.source == name and found.sentences and found.rows and found.next is not None
    assert all(len(row) == len(found.heading) for row in found.rows)
    assert all(len(row) == len(found.detail_heading) for row in found.detail_rows)
    assert all(np.isfinite(one.gain_bits) for one in found.next.options)
    assert "nan" not in " ".join((*found.sentences, *found.hidden, *found.cut, *found.cautions))


def test_something_else_than_readings_is_refused_in_a_sentence():
    with pytest.raises(ValueError, match="table is a str; it must be what read_readings gives."):
        findings("bars.csv")


def test_a_spread_that_is_assumed_is_never_said_to_be_found():
    told = findings(read_readings(MIXED_LANDS))
    assert told.sd_from == "assumed" and "was assumed" in told.cautions[0]
    assert (
        "The repeatability of a reading is assumed, so the sum of squares of 1 redundant reading says nothing yet"
        in " ".join(told.sentences)
    )
    assert "was found from" not in " ".join(told.sentences)


MIXED_LANDS = b"""gauge,left_mm,middle_mm,right_mm,proud_um,proud_at_least_um,proud_at_most_um
long,0,200,400,3,,
long,0,200,400,,-2.5,2.5
small,0,100,200,1,,
small,200,300,400,1,,
"""
