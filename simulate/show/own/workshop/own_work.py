"""The learner's own plate, bed, headstock, square and piece: one panel, opened on its kind by its lesson."""

from __future__ import annotations

from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel


class OwnEdgePanel(OwnWorkshopPanel):
    """Readings of a straightedge along lines of a plate in; heights, twist, where to scrape, what hides; a logbook."""

    opens_on, photographs = "edge", ()


class OwnBedPanel(OwnWorkshopPanel):
    """Readings of a bed or of two bed parts in; ways, twist, offset of the joint, shims, what hides; a logbook."""

    opens_on, photographs = "bed", ()


class OwnHeadPanel(OwnWorkshopPanel):
    """Readings of a test bar in headstock and tailstock, or a cross slide, in; how they run, shims, swing; a log."""

    opens_on, photographs = "head", ()


class OwnOneSquarePanel(OwnWorkshopPanel):
    """Readings that prove one square in; its angle, its grade, where to file it, what hides; a logbook."""

    opens_on, photographs = "one square", ()


class OwnFacesPanel(OwnWorkshopPanel):
    """Readings of a piece by micrometer and square in; parallel, square, where metal comes off; a logbook."""

    opens_on, photographs = "thickness", ()
