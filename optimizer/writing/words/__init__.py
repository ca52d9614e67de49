"""The ground of writing: figures, tables, phrases, sentences; what text, pages and data have in common."""
