"""Answers as plain text, 80 columns wide."""
