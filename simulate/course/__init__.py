"""What makes a course of the lessons: how one starts, what it asks, what is handed in, what the instructor plans by."""

from simulate.core.lazy import attach

_HOMES = {
    "simulate.show.before": ["Before"],
    "simulate.show.exercise": ["Exercise"],
    "simulate.show.given": ["hand_in"],
    "simulate.show.lesson": ["start"],
    "simulate.show.wall_words": ["LessonPlan"],
}

__getattr__, __dir__, __all__ = attach(__name__, _HOMES)
