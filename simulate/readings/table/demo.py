"""Invented readings that come with the course, to try before one's own."""

from __future__ import annotations

from pathlib import Path

from simulate.core import checks

DEMOS = (
    "demo_bars.csv",
    "demo_bars_light.csv",
    "demo_survey.csv",
    "demo_squares.csv",
    "demo_lands.csv",
    "demo_plates.csv",
    "demo_wedge.csv",
    "demo_surveys.csv",
    "demo_plates_rounds.csv",
    "demo_level.csv",
    "demo_edge.csv",
    "demo_bed.csv",
    "demo_joint.csv",
    "demo_head.csv",
    "demo_cross_slide.csv",
    "demo_one_square.csv",
    "demo_thickness.csv",
    "demo_faces.csv",
)


def demo_path(name: str = "demo_bars.csv") -> Path:
    """Return where a demo file lies.

    Parameters
    ----------
    name : str
        ``"demo_bars.csv"`` (a dial's point readings), ``"demo_bars_light.csv"`` (feelers and light),
        ``"demo_survey.csv"`` (a plate along eight lines), ``"demo_squares.csv"`` (squares blade to blade),
        ``"demo_lands.csv"`` (land gauges laid along a bar), ``"demo_plates.csv"`` (three plates, turned and slid),
        ``"demo_wedge.csv"`` (a wedge test of an eye), ``"demo_surveys.csv"`` (a plate surveyed three times while it
        is scraped), ``"demo_plates_rounds.csv"`` (three plates read three times while they are scraped),
        ``"demo_level.csv"`` (a level along and across two ways of a bed), ``"demo_edge.csv"`` (a straightedge with
        feelers and a dial along lines of a plate), ``"demo_bed.csv"`` (a bed by straightedge, level, strips and dial),
        ``"demo_joint.csv"`` (two bed parts bolted together), ``"demo_head.csv"`` (a test bar in headstock and
        tailstock), ``"demo_cross_slide.csv"`` (a cross slide over a square), ``"demo_one_square.csv"`` (a square by
        light on both sides of a strip), ``"demo_thickness.csv"`` (a plate by micrometer) or ``"demo_faces.csv"`` (a bar
        by micrometer, with a square on its corners).

    Returns
    -------
    pathlib.Path

    Raises
    ------
    ValueError
        Where there is no such demo.

    Examples
    --------
    >>> demo_path().name
    'demo_bars.csv'
    """
    return Path(__file__).with_name(str(checks.choice(name, "name", DEMOS)))
