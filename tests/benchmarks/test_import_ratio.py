"""What an import costs, as a ratio of processor time to what it rests on; the least of several fresh processes each."""

import subprocess
import sys

import pytest

pytestmark = pytest.mark.ratio
TIMES = 7


def cost(code: str) -> float:
    """Processor seconds that the code takes in a fresh Python, the start of Python itself left out."""
    ask = f"import time; start = time.process_time(); {code}; print(time.process_time() - start)"
    return float(subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True).stdout)


@pytest.mark.parametrize(
    "code, beside, most",
    [
        ("import simulate", "import numpy", 1.5),
        ("from simulate import straightness, three_bars", "import numpy", 2.0),
        ("from simulate.show import ThreeBarsPanel", "import ipywidgets, matplotlib.figure", 1.5),
    ],
)
def test_an_import_costs_little_more_than_what_it_rests_on(code, beside, most):
    ours, theirs = [], []
    for _ in range(TIMES):  # in turns, so that a busy machine is busy for both
        ours.append(cost(code))
        theirs.append(cost(beside))
    ratio = min(ours) / min(theirs)
    print(f"\n{code}: {1e3 * min(ours):.0f} ms, {ratio:.2f} times {beside} ({1e3 * min(theirs):.0f} ms)")
    assert ratio <= most
