"""A bundle judged: every limit recomputed from its parts, without the solver and without the search."""
