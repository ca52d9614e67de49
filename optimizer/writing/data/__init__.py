"""Answers for other programs: JSON and CSV."""
