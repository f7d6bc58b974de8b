"""The study: one place, one client, one file, validated whole before anything runs."""

from darkspell.study.loader import load_study, study_from
from darkspell.study.model import Study

__all__ = ["Study", "load_study", "study_from"]
