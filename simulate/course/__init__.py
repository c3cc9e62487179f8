"""What makes a course of the lessons: how one starts, what it asks, what is handed in, what the instructor plans by."""

from simulate.core.lazy import attach

_HOMES = {
    "simulate.course.exercise.pre_question": ["Before"],
    "simulate.course.exercise.exercise": ["Exercise"],
    "simulate.course.glossary.terms": ["Glossary"],
    "simulate.course.exercise.hand_in": ["hand_in"],
    "simulate.course.notebook.map_page": ["course_map"],
    "simulate.course.opening.lesson_start": ["start"],
    "simulate.course.teaching.teaching_panel": ["TeachingPlan"],
    "simulate.course.wall.wall_sentences": ["LessonPlan"],
}

__getattr__, __dir__, __all__ = attach(__name__, _HOMES)
