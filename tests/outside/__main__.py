"""Print every figure from outside, what the package gives for it, and where it comes from: ``python -m
tests.outside``."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # where the tests find this folder as `outside`

from outside.registry import ITEMS, line_of, summary  # noqa: E402


def main() -> None:
    """Print one line a figure, and a count."""
    for item in ITEMS:
        print(line_of(item))
    print(summary())


if __name__ == "__main__":
    main()
