"""Deliberate errors in the rules, each caught by a case worked by hand; and every limit at its edge.

parts.py holds the worked bundle that all cases start from, change.py puts an error into the product, cases_*.py list
the errors with their cases. No expectation here comes from the product: each is a literal, derived in a comment.
"""
